"""Many designs in blocks: the same answers as one by one, in the same shapes, in little memory."""

import tracemalloc
from dataclasses import replace

import numpy as np
import pytest

from boxlab import Driver, Port, PortedBox, Radiator, RadiatorBox, SealedBox, solve
from boxlab.model import blocks
from boxlab.model.response import Response

DRIVER = Driver(
    re=3.4, le=1.1e-3, bl=11.5, mms=0.125, cms=2.1e-4, rms=2.4, sd=0.0335, xmax=0.012, pe=400.0,
    semi_k=0.02,
)  # fmt: skip
RADIATOR = Radiator(sd=0.0335, mms=0.21, cms=3.1e-4, rms=1.3, xmax=0.02, added_mass=0.08)
PORT = Port(0.0079, 0.31, 0.07)
FIVE = np.linspace(0.8, 1.3, 5)
FREQUENCY = np.geomspace(8, 400, 37)
QUANTITIES = [n for n, v in vars(Response).items() if hasattr(v, "func")]

BOXES = {
    "free air": None,
    "sealed": SealedBox(0.014),
    "five sealed": SealedBox(0.014 * FIVE),
    "ported": PortedBox(0.04, PORT, ql=7.0),
    "five radiator boxes": RadiatorBox(0.014 * FIVE, RADIATOR, count=[1, 2, 3, 1, 2], ql=7.0),
}
GIVEN = {
    "nothing else": {},
    "drivers": {"driver": replace(DRIVER, mms=0.125 * FIVE[:, None], semi_n=0.6)},
    "voltages": {"voltage": 2.83 * FIVE},
    "drivers by voltages": {"driver": replace(DRIVER, sd=0.03 * FIVE[:, None]), "voltage": FIVE},
    "cables": {"source_resistance": 0.1 * FIVE[:, None]},
    "distances": {"distance": FIVE},
    "grids": {"frequency": FREQUENCY * FIVE[:, None]},
    "a frequency": {"frequency": 33.0},
    "a frequency and drivers": {"driver": replace(DRIVER, sd=0.03 * FIVE), "frequency": 33.0},
}


@pytest.mark.parametrize("block", [10, 50])
@pytest.mark.parametrize("given", GIVEN)
@pytest.mark.parametrize("box", BOXES)
def test_blocks_change_nothing(box, given, block, monkeypatch):
    asked = {"driver": DRIVER, "box": BOXES[box], "frequency": FREQUENCY} | GIVEN[given]
    whole = solve(**asked)
    want = {name: getattr(whole, name) for name in QUANTITIES}
    monkeypatch.setattr(blocks, "BLOCK", block)
    one_by_one, together = solve(**asked), solve(**asked).together(*QUANTITIES)
    for name, got in zip(QUANTITIES, together, strict=True):
        for answer in (got, getattr(one_by_one, name)):
            assert np.shape(answer) == np.shape(want[name]), name
            assert np.asarray(answer).dtype == np.asarray(want[name]).dtype, name
            np.testing.assert_allclose(answer, want[name], rtol=1e-14, err_msg=name)


@pytest.mark.parametrize("shape", [(7,), (1000,), (3, 1, 40), (40, 3), (2, 100)])
def test_blocks_cover_each_point_once(shape, monkeypatch):
    monkeypatch.setattr(blocks, "BLOCK", 60)
    seen = np.zeros(shape, int)
    for block in blocks.blocks(shape):
        assert seen[block].size <= 60
        seen[block] += 1
    assert np.all(seen == 1)


def memory_beside_the_answer(count):
    """Bytes, at most at once, that are not part of the answer."""
    box = SealedBox(np.linspace(0.01, 0.02, count))
    tracemalloc.start()
    answer = solve(DRIVER, box, FREQUENCY).impedance
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    return peak - answer.nbytes


def test_memory_grows_by_the_answers_alone():
    few, many = memory_beside_the_answer(2_000), memory_beside_the_answer(20_000)
    # beside the answer, one number or two for each design; the grid has 37 complex ones
    assert many - few < 18_000 * 16 * 4
    assert many < 20_000 * FREQUENCY.size * 16


def test_a_grid_of_frequencies_that_does_not_fit_is_named():
    with pytest.raises(ValueError, match=r"frequency has shape \(4, 37\).* shape \(5,\)"):
        solve(DRIVER, SealedBox(0.014 * FIVE), np.tile(FREQUENCY, (4, 1)))
    with pytest.raises(ValueError, match=r"distance \(4,\)"):
        solve(DRIVER, SealedBox(0.014 * FIVE), FREQUENCY, distance=np.ones(4))


@pytest.mark.filterwarnings("ignore::boxlab.base.checks.UnitWarning")
def test_group_delay_at_an_exact_null_is_not_a_number():
    # a lossless radiator whose own resonance comes out at exactly ω = 1
    radiator = replace(RADIATOR, mms=4.0, cms=0.25, rms=0.0, added_mass=0.0)
    r = solve(DRIVER, RadiatorBox(0.014, radiator), [1 / (2 * np.pi), 40.0])
    assert r.pressure[0] == 0 and r.spl[0] == -np.inf
    assert np.isnan(r.group_delay[0]) and np.isfinite(r.group_delay[1])
