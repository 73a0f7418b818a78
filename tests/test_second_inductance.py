"""Coils with a second inductance and a resistance across it: solved, scaled and fitted.

The circuit that they are held against is `troubled_sweeps`', which uses nothing of boxlab.
"""

from dataclasses import replace

import numpy as np
import pytest
from loss_sweeps import load, right
from troubled_sweeps import a_cone, read

from boxlab import SealedBox, solve
from boxlab.base.units import disc_area
from boxlab.gear.scenario import TEN_INCH_DRIVER
from boxlab.measure.fit.box_fit import fit_box
from boxlab.measure.fit.doubts import PLUS_MINUS
from boxlab.measure.fit.driver_fit import fit_driver
from boxlab.measure.read.value import Sweep
from boxlab.model.enclosure import PortedBox
from boxlab.model.several import together

LOSSY = replace(TEN_INCH_DRIVER, le=0.8e-3, l2=1.8e-3, r2=11.0)
F = np.geomspace(8, 1000, 200)


def specimen(seed):
    """A cone with such a coil, and a generator of noise."""
    rng = np.random.default_rng([seed, 2])
    cone = replace(
        a_cone(rng, "none"), k=0.0, le=rng.uniform(0.3, 1) * 1e-3, l2=rng.uniform(0.8, 2.5) * 1e-3,
        r2=rng.uniform(4, 14),
    )  # fmt: skip
    return cone, rng, 10 ** rng.uniform(-3.3, -2.4)


def test_the_terminals_show_the_second_inductance():
    w = 2 * np.pi * F
    plain = solve(replace(LOSSY, l2=0.0), None, F).impedance
    want = plain + 1 / (1 / (1j * w * 1.8e-3) + 1 / 11.0)
    np.testing.assert_allclose(solve(LOSSY, None, F).impedance, want, rtol=1e-12)
    endless = solve(replace(LOSSY, r2=np.inf), None, F).impedance
    np.testing.assert_allclose(endless, plain + 1j * w * 1.8e-3, rtol=1e-12)


def test_its_group_delay_is_the_slope_of_its_phase():
    box = PortedBox.tuned(0.03, 38, disc_area(0.09), ql=9, max_length=3)
    f = np.linspace(15, 300, 20001)
    response = solve(LOSSY, box, f)
    slope = -np.gradient(np.unwrap(np.angle(response.pressure)), 2 * np.pi * f)
    found = response.group_delay
    way = slope - found  # to the listener, the same at all frequencies
    np.testing.assert_allclose(way[9:-9], np.median(way), atol=2e-5)


def test_two_in_series_and_an_array_of_coils():
    two = together(LOSSY, 2, "series")
    np.testing.assert_allclose(
        solve(two, None, F).impedance, 2 * solve(LOSSY, None, F).impedance, rtol=1e-12
    )
    many = replace(LOSSY, l2=np.array([0.0, 1.8e-3]), r2=np.array([5.0, 11.0]))
    rows = solve(many, SealedBox(0.02), F).impedance
    np.testing.assert_allclose(rows[1], solve(LOSSY, SealedBox(0.02), F).impedance, rtol=1e-12)


@pytest.mark.parametrize("seed", range(6))
def test_the_driver_is_found_behind_such_a_coil(seed):
    cone, rng, noise = specimen(seed)
    f, grams = np.geomspace(6, 3000, 240), 0.5 * cone.m
    free, heavy = (
        Sweep(f, *read(rng, cone.sweep(f, added=added), noise)) for added in (0.0, grams)
    )
    found = fit_driver(free, cone.sd, added_mass=(heavy, grams))
    true = cone.truth() | {"re": cone.re}
    for name in ("re", "fs", "qms", "qes", "vas"):
        value = getattr(found, name)
        assert abs(value - true[name]) < 3 * value.u, name
        assert value.u < 0.03 * true[name], name
    assert "not quite that of this circuit" not in " ".join(found.words)
    assert found.l2 == pytest.approx(cone.l2, rel=0.1)
    np.testing.assert_allclose(
        solve(found.driver, None, F).impedance, cone.sweep(F), rtol=0.01 + 3 * noise
    )


@pytest.mark.parametrize("seed", range(3))
def test_such_a_coil_is_not_taken_for_a_creeping_suspension_nor_for_another_box(seed):
    cone, rng, noise = specimen(seed)
    f, true = np.geomspace(6, 3000, 300), cone.truth()
    volume, losses = true["vas"] / 1.5, (37.0, 9.0, 40.0, 50.0)

    def swept(*box, **more):
        behind = load(cone, f, volume, *box, **more) if box else 0.0
        return Sweep(f, *read(rng, cone.sweep(f, behind), noise))

    driver = fit_driver(swept())
    box = fit_box(swept(*losses), driver, build="ported", blocked=swept(*losses, blocked=True))
    assert box.fb == pytest.approx(37.0, abs=3 * box.fb.u) and box.fb.u < 0.1
    assert box.alpha == pytest.approx(1.5, abs=3 * box.alpha.u)
    said = " ".join((*driver.words, *box.words)).replace(PLUS_MINUS, "")
    assert "creep" not in said and "not the same box" not in said
    assert right(box.losses.total, 1 / (1 / 9 + 1 / 40 + 1 / 50))


def test_a_plain_coil_is_not_given_a_second():
    rng = np.random.default_rng(5)
    cone = replace(a_cone(rng, "none"), k=0.0, le=1e-3)
    f = np.geomspace(6, 3000, 240)
    assert fit_driver(Sweep(f, *read(rng, cone.sweep(f), 0.002))).l2 == 0
