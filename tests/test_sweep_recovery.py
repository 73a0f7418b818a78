"""Known boxes, measured with scatter, come back; and the stated uncertainties are honest.

The sweeps are made by `solve`, which shares no formula with the circuit that is fitted.
"""

from dataclasses import replace

import class_recordings
import numpy as np
import pytest
from troubled_sweeps import specimen

from boxlab.base.units import cm2, litres
from boxlab.measure import Sweep, find_tuning, fit_driver
from boxlab.model.driver import Driver
from boxlab.model.enclosure import PortedBox, RadiatorBox, SealedBox
from boxlab.model.radiator import Radiator
from boxlab.model.response import solve

F = np.geomspace(8, 500, 120)
BOXES = 68  # for each level of noise


def a_driver(rng):
    return Driver.from_datasheet(
        fs=rng.uniform(24, 42),
        qes=rng.uniform(0.3, 0.7),
        qms=rng.uniform(3, 8),
        vas=litres(rng.uniform(15, 60)),
        sd=cm2(rng.uniform(200, 500)),
        re=rng.uniform(1.8, 7),
        le=rng.uniform(0.2, 2) * 1e-3,
        xmax=0.01,
        pe=200,
    )


def a_box(rng, driver, radiator):
    volume = driver.vas() / rng.uniform(0.8, 4)
    fb, ql = rng.uniform(28, 48), rng.uniform(5, 20)
    if not radiator:
        return PortedBox.tuned(volume, fb, cm2(20), ql=ql, max_length=50)
    area, modulus = cm2(350), 1.42e5  # m², and ρc² of the air, Pa
    ratio = rng.uniform(3, 10)  # compliance of the suspension over that of the box air
    cms = ratio * volume / (modulus * area**2)
    mms = 1 / (cms * (2 * np.pi * 0.7 * fb) ** 2)  # bare, it resonates at 0.7 fb
    light = Radiator(area, mms, cms, rng.uniform(0.5, 2), 0.02)
    return RadiatorBox.tuned(volume, fb, light, ql=ql)


def measured(driver, box, noise, rng, phase=True):
    scatter = rng.standard_normal(len(F)) + 1j * rng.standard_normal(len(F))
    z = solve(driver, box, F).impedance * np.exp(noise * scatter)
    return Sweep.from_impedance(F, z) if phase else Sweep(F, np.abs(z))


@pytest.fixture(scope="module")
def trials():
    """Relative error and stated uncertainty of the tuning, for each level of noise."""
    found = {}
    for noise in (0.001, 0.01, 0.03):
        rng = np.random.default_rng(int(noise * 1e4))
        rows = []
        for i in range(BOXES):
            driver = a_driver(rng)
            box = a_box(rng, driver, radiator=i % 3 == 2)
            tuning = find_tuning(measured(driver, box, noise, rng, phase=i % 2 == 0))
            assert tuning.peaks == 2, (driver, box)
            true = box.tuning()
            rows.append((tuning.fb / true - 1, tuning.fb.u / true))
        found[noise] = np.array(rows)
    return found


def test_median_error_of_the_tuning(trials):
    limits = {0.001: 0.0005, 0.01: 0.003, 0.03: 0.006}
    for noise, limit in limits.items():
        assert np.median(np.abs(trials[noise][:, 0])) < limit


def test_no_tuning_is_far_off(trials):
    for noise, rows in trials.items():
        assert np.abs(rows[:, 0]).max() < 0.004 + 0.8 * noise


def test_the_95_per_cent_intervals_cover_as_often_as_they_say(trials):
    inside = [np.abs(rows[:, 0]) < 1.96 * rows[:, 1] for rows in trials.values()]
    assert 0.90 <= np.mean(inside) <= 0.99
    for one in inside:
        assert np.mean(one) >= 0.86  # 68 trials each: two standard errors below 93 %


def test_the_uncertainty_is_no_larger_than_it_need_be(trials):
    for rows in trials.values():
        pull = rows[:, 0] / rows[:, 1]
        assert 0.7 < np.median(np.abs(pull)) / 0.6745 < 1.35


def test_driver_parameters_cover_too():
    rng = np.random.default_rng(5)
    inside = {"fs": [], "qms": [], "qes": [], "mms": [], "bl": [], "re": []}
    for i in range(24):
        driver = a_driver(rng)
        mass = 0.5 * driver.mms
        heavy = replace(driver, mms=driver.mms + mass)
        fit = fit_driver(
            measured(driver, None, 0.01, rng, phase=i % 2 == 0),
            sd=driver.sd,
            added_mass=(measured(heavy, None, 0.01, rng, phase=i % 2 == 0), mass),
        )
        for name, hits in inside.items():
            value = getattr(fit, name)
            hits.append(abs(value - getattr(driver, name)) < 1.96 * value.u)
    together = np.mean(list(inside.values()))
    assert 0.89 <= together <= 0.995
    assert all(np.mean(hits) >= 0.75 for hits in inside.values())


def test_one_peak_is_told_from_two():
    rng = np.random.default_rng(8)
    for i in range(20):
        driver = a_driver(rng)
        box = SealedBox(litres(rng.uniform(8, 40))) if i % 2 else None
        found = find_tuning(measured(driver, box, 0.02, rng), fs=driver.fs)
        assert found.peaks == 1
        assert np.isnan(found.fb)
        true = driver.fs * np.sqrt(1 + driver.vas() / box.volume) if box else driver.fs
        assert found.resonance == pytest.approx(true, rel=0.02)
        assert found.box == ("free air" if box is None else "sealed")


def test_the_pull_would_show_a_wrong_model():
    """Proof that the checks above can fail: a tuning read at the least magnitude is not covered."""
    rng = np.random.default_rng(3)
    misses = 0
    for _ in range(12):
        driver = a_driver(rng)
        box = a_box(rng, driver, radiator=False)
        found = find_tuning(measured(driver, box, 0.001, rng))
        misses += abs(found.fm - box.tuning()) > 1.96 * found.fb.u
    assert misses >= 10


def test_coils_with_lossy_cores_are_covered_too():
    """Sweeps that start at 20 Hz, coils part inductance and part power law, friction and leaks."""
    rng = np.random.default_rng(7)
    f = np.geomspace(20, 500, 110)
    errors = []
    for i in range(24):
        driver = a_driver(rng)
        driver = replace(
            driver, le=0.3e-3, semi_k=rng.uniform(0.002, 0.008) * driver.re, semi_n=0.68
        )
        box = a_box(rng, driver, radiator=i % 2 == 1)
        scatter = rng.standard_normal(len(f)) + 1j * rng.standard_normal(len(f))
        z = solve(driver, box, f).impedance * np.exp(0.01 * scatter)
        found = find_tuning(Sweep.from_impedance(f, z))
        if found.peaks == 2:
            errors.append((found.fb / box.tuning() - 1, found.fb.u / box.tuning()))
    error, u = np.array(errors).T
    assert len(error) >= 21
    assert np.median(np.abs(error)) < 0.003
    assert np.mean(np.abs(error) < 1.96 * u) >= 0.85


@pytest.mark.parametrize("build", ["ported", "radiator"])
def test_a_creeping_suspension_is_taken_into_the_circuit(build):
    # seen red: with the leaking circuit alone 1 of 8 (ported) and 5 of 8 (radiator) were inside
    inside = []
    for seed in range(8):
        made = specimen(seed, "creep", build)
        found = find_tuning(Sweep(made.frequency, *made.sweeps["box"]))
        inside.append(abs(found.fb - made.box["fb"]) < 2 * found.fb.u)
    assert sum(inside) >= 6


def a_class_box(seed):
    """A radiator box of the class's kind, all figures drawn anew, as a recording would show it."""
    rng = np.random.default_rng([seed, 412])
    base = class_recordings.box()
    span = {"spring": (0.7, 1.6), "mass": (0.6, 1.3), "vent_spring": (0.4, 2), "leak": (0.7, 3),
            "vent_friction": (0.5, 2), "le": (0.3, 1.5)}  # fmt: skip
    thing = replace(base, **{n: getattr(base, n) * rng.uniform(*each) for n, each in span.items()})
    f, noise = np.geomspace(6, 300, 170), 10 ** rng.uniform(-3.7, -2.7)
    scatter = rng.standard_normal(len(f)) + 1j * rng.standard_normal(len(f))
    return thing, Sweep.from_impedance(f, thing.impedance(f) * np.exp(noise * scatter))


def test_a_radiator_is_found_where_scatter_is_small():
    # seen red: in 3 of 20 the fit stopped before it had found the radiator, and a circuit was
    # taken that did not describe the sweep; the class's recordings were up to 4.9 u off by it
    pulls = []
    for seed in range(100, 120):
        thing, sweep = a_class_box(seed)
        found = find_tuning(sweep)
        assert found.fit.widened < 1.6, seed
        pulls.append(abs(found.fb - thing.tuning) / found.fb.u)
    assert max(pulls) < 2.6 and np.mean(np.array(pulls) < 2) >= 0.9
