"""What a box loses where: told where a sweep can, against sweeps by a circuit of its own.

`python tests/loss_sweeps.py 70` counts over hundreds; here are a few of each kind.
"""

import numpy as np
import pytest
from loss_sweeps import BESIDE, PARTS, counted, fitted, load, right
from troubled_sweeps import a_cone

from boxlab import PortedBox, solve
from boxlab.base.units import disc_area
from boxlab.gear.scenario import TEN_INCH_DRIVER
from boxlab.measure.fit.box_fit import fit_box
from boxlab.measure.fit.estimate import Estimate
from boxlab.measure.fit.loss_parts import _as_q
from boxlab.measure.fit.motional import motional
from boxlab.measure.read.value import Sweep
from boxlab.model.losses import total_q


def test_the_fits_circuit_is_the_independent_one_open_and_blocked():
    cone = a_cone(np.random.default_rng(3), "none")
    f, true = np.geomspace(8, 300, 200), cone.truth()
    volume = true["vas"] / 1.7
    own = {n: true[n] for n in ("re", "fs", "qms", "qes")}
    for blocked in (False, True):
        behind = load(cone, f, volume, 37.0, 8.0, 25.0, 40.0, blocked)
        want = cone.bl**2 / (cone.mechanics(f) + behind)
        got = motional(f, **own, alpha=1.7, fb=37.0, leak=1 / 8, absorb=1 / 25, drag=1 / 40,
                       blocked=blocked)  # fmt: skip
        np.testing.assert_allclose(got, want, rtol=1e-6)


def test_the_box_alone_gives_the_sum_and_says_what_would_tell():
    q, losses = fitted(1, "nothing")
    assert losses.told == ()
    assert abs(1 / losses.total - sum(1 / each for each in q.values())) < (
        2 * losses.total.u / losses.total**2
    )
    assert "would tell" in losses.words[-1] and "blocked" in losses.words[-1]


def test_what_it_names_does_tell():
    assert set(fitted(1, "driver and blocked")[1].told) == set(PARTS)


def test_a_part_that_is_not_there_is_given_a_bound():
    losses = fitted(1, "driver and blocked", qa=1e9)[1]
    assert losses.qa > 100 or losses.qa.u > losses.qa / 3


@pytest.mark.parametrize("beside", BESIDE)
def test_what_is_told_is_right(beside):
    boxes, totals, told, good, _ = counted(range(4), beside)
    assert totals >= boxes - 1
    assert good >= told - 1
    assert (told == 0) == (beside == "nothing")


def test_what_is_told_of_a_radiator_box_is_right():
    """Its leak, its absorption and the friction of its suspension, from three sweeps."""
    boxes, totals, told, good, whole = counted(range(3), BESIDE[2], radiator=True)
    assert boxes == totals == whole == 3 and good >= told - 1


def test_a_creeping_suspension_is_not_taken_for_losses_of_the_box():
    boxes, _, told, _, _ = counted(range(2), "driver and blocked", "creep")
    assert boxes and told == 0


def test_losses_of_the_models_own_box_come_back():
    f = np.geomspace(8, 1000, 300)
    box = PortedBox.tuned(0.03, 38, disc_area(0.09), ql=9, qa=30, qp=40, max_length=3)
    shut = solve(TEN_INCH_DRIVER, box, f)
    found = fit_box(Sweep.from_impedance(f, shut.impedance, "made"), TEN_INCH_DRIVER,
                    build="ported")  # fmt: skip
    total = found.losses.total
    assert float(total_q(box)) == pytest.approx(float(total), abs=2 * total.u)


def test_a_radiator_box_alone_has_a_total_and_a_leak_within_their_doubts():
    """Seeds whose curve a port's circuit describes as well, with losses a tenth smaller."""
    for seed in (2, 8, 25, 28, 34, 35):
        q, losses = fitted(seed, "nothing", radiator=True)
        assert right(losses.total, total := 1 / sum(1 / each for each in q.values())), seed
        assert losses.total.u < 0.2 * total  # and still says something


@pytest.mark.parametrize("seed", [201, 212, 219])
def test_a_leak_alone_is_within_its_doubt_where_the_driver_is_not_known(seed, monkeypatch):
    found = []

    def noted(*args, **more):
        found.append(fit_box(*args, **more))
        return found[-1]

    monkeypatch.setattr("loss_sweeps.fit_box", noted)
    q, _ = fitted(seed, "nothing", radiator=True, qa=1e9, qp=1e9)
    assert right(found[-1].ql, q["ql"])


def test_of_a_radiator_box_no_vent_is_spoken_of():
    """Alone, and with the driver and a sweep of the same box with its radiators blocked."""
    _, alone = fitted(1, "nothing", radiator=True)
    _, told = fitted(1, BESIDE[2], radiator=True)
    words = " ".join((*alone.words, *told.words))
    assert "vent" not in words and "radiators' friction" in words
    assert "radiators blocked" in " ".join(alone.words)
    _, port = fitted(1, "nothing")
    assert "vent blocked" in " ".join(port.words) and "radiators" not in " ".join(port.words)


@pytest.mark.parametrize(
    ("least", "words"), [(1581.0, "above 1600"), (34.6, "above 35"), (4.44, "above 4.4")]
)
def test_a_bound_is_written_without_powers_of_ten(least, words):
    assert _as_q(Estimate(0.0, 0.5 / least), clear=True).note == words
