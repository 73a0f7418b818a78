"""Radiators that differ, against a matrix of the laws, ngspice, energy and exact limits."""

from dataclasses import replace

import numpy as np
import pytest
from independent import NGSPICE, circuit, matrix_solution, ngspice_solution
from test_independent_solutions import compare, demo, random_case

from boxlab import (
    Air,
    MixedRadiatorBox,
    PortedBox,
    Radiator,
    RadiatorBox,
    SealedBox,
    each_radiator,
    max_output,
    solve,
)
from boxlab.model.blocks import BLOCK
from boxlab.model.recoil import recoil

RADIATOR = Radiator(sd=0.0335, mms=0.21, cms=3.1e-4, rms=1.3, xmax=0.02, added_mass=0.08)
SMALL = Radiator(sd=0.021, mms=0.09, cms=4.4e-4, rms=0.8, xmax=0.012)
PAIR = MixedRadiatorBox(0.0198, (RADIATOR, RADIATOR.with_mass(0.0)), ql=9.0)
THREE = MixedRadiatorBox(0.03, (RADIATOR, RADIATOR.with_mass(0.02), SMALL), ql=14.0)
FREQUENCY = np.geomspace(8, 400, 60)


def lossless(*added):
    free = replace(RADIATOR, rms=0.0)
    return MixedRadiatorBox.weighted(0.02, free, list(added))


def each_flow(r):
    return np.stack([m.radiator.sd * m.velocity for m in each_radiator(r)], axis=-1)


@pytest.mark.filterwarnings("ignore::boxlab.base.checks.UnitWarning")
@pytest.mark.parametrize("seed", range(6))
def test_against_a_matrix_of_the_laws(seed):
    # derived: numpy.linalg.solve, a row for each law and each radiator; the leak by brentq's tuning
    rng = np.random.default_rng(seed)
    for _ in range(10):
        driver, _, air, drive = random_case(rng)
        radiators = tuple(
            Radiator(
                sd=rng.uniform(0.008, 0.1), mms=rng.uniform(0.03, 0.8),
                cms=rng.choice([np.inf, rng.uniform(1e-4, 2e-3)]), rms=rng.uniform(0, 6),
                added_mass=rng.uniform(0, 0.4),
            )
            for _ in range(rng.integers(2, 5))
        )  # fmt: skip
        box = MixedRadiatorBox(rng.uniform(0.008, 0.15), radiators, rng.choice([np.inf, 8.0]))
        c = circuit(driver, box, air, **drive)
        want = matrix_solution(c, FREQUENCY)
        compare(driver, box, FREQUENCY, want, 1e-8, air=air, **drive)
        got = each_flow(solve(driver, box, FREQUENCY, air=air, **drive))
        np.testing.assert_allclose(got, want["each_vent"], rtol=1e-8, atol=1e-15)
        turn = want["vent_volume_velocity"] * np.conj(want["cone_volume_velocity"])
        r = solve(driver, box, FREQUENCY, air=air, **drive)
        off = np.angle(turn * np.exp(-1j * np.radians(r.vent_phase)))
        assert np.max(np.abs(off)) < 1e-6


@pytest.mark.skipif(NGSPICE is None, reason="ngspice is not installed")
@pytest.mark.parametrize("box", [PAIR, THREE], ids=["lost weight", "three"])
def test_against_ngspice(box):
    # reference program: ngspice, one branch for each radiator
    driver, air = demo(0.05), Air(temperature=25.0)
    drive = {"voltage": 7.3, "source_resistance": 0.12}
    c = circuit(driver, box, air, **drive)
    want = ngspice_solution(c, FREQUENCY)
    compare(driver, box, FREQUENCY, want, 1e-6, air=air, **drive)
    got = each_flow(solve(driver, box, FREQUENCY, air=air, **drive))
    np.testing.assert_allclose(got, want["each_vent"], rtol=1e-6)


def test_equal_radiators_answer_to_the_bit_as_a_radiator_box():
    same = MixedRadiatorBox(0.02, (RADIATOR, replace(RADIATOR, name="the other")), ql=9.0)
    plain = RadiatorBox(0.02, RADIATOR, 2, 9.0)
    a, b = solve(demo(), same, FREQUENCY), solve(demo(), plain, FREQUENCY)
    for name in ("pressure", "impedance", "vent_excursion", "vent_phase", "group_delay"):
        assert np.array_equal(getattr(a, name), getattr(b, name), equal_nan=True), name
    assert same.tuning() == plain.tuning()
    one = each_radiator(a)[1]
    np.testing.assert_allclose(one.excursion, b.vent_excursion, rtol=1e-13)
    np.testing.assert_allclose(one.phase, b.vent_phase, rtol=1e-9)


def test_nearly_equal_radiators_come_to_the_same():
    near = MixedRadiatorBox.weighted(0.02, RADIATOR, [0.08, 0.08 * (1 + 1e-9)], ql=9.0)
    plain = RadiatorBox(0.02, RADIATOR, 2, 9.0)
    a, b = solve(demo(), near, FREQUENCY), solve(demo(), plain, FREQUENCY)
    np.testing.assert_allclose(a.pressure, b.pressure, rtol=1e-6)
    np.testing.assert_allclose(a.group_delay, b.group_delay, rtol=1e-5, atol=1e-7)
    np.testing.assert_allclose(near.tuning(), plain.tuning(), rtol=1e-8)


def test_designs_where_some_are_equal_and_some_are_not():
    added = np.array([0.0, 0.08])  # the second design has two equal radiators
    box = MixedRadiatorBox(0.02, (RADIATOR, RADIATOR.with_mass(added)), ql=9.0)
    r = solve(demo(), box, FREQUENCY)
    assert r.spl.shape == (2, FREQUENCY.size) and box.tunings().shape == (2, 2)
    one = solve(demo(), MixedRadiatorBox.weighted(0.02, RADIATOR, [0.08, 0.0], ql=9.0), FREQUENCY)
    np.testing.assert_allclose(r.pressure[0], one.pressure, rtol=1e-12)
    same = solve(demo(), RadiatorBox(0.02, RADIATOR, 2, 9.0), FREQUENCY)
    np.testing.assert_allclose(r.pressure[1], same.pressure, rtol=1e-12)


def test_many_designs_are_worked_out_in_blocks_to_the_same():
    frequency = np.geomspace(10, 200, 64)
    volume = np.linspace(0.01, 0.05, BLOCK // 64 + 40)
    radiators = (RADIATOR, RADIATOR.with_mass(0.0))
    r = solve(demo(), MixedRadiatorBox(volume, radiators, 9.0), frequency)
    assert r.spl.size > BLOCK
    last = solve(demo(), MixedRadiatorBox(volume[-1], radiators, 9.0), frequency)
    for name in ("spl", "vent_excursion", "vent_phase", "group_delay"):
        np.testing.assert_allclose(getattr(r, name)[-1], getattr(last, name), rtol=1e-12)


@pytest.mark.parametrize("added", [(0.08, 0.0), (0.3, 0.1, 0.0)])
def test_tunings_and_nulls_take_turns_and_are_where_the_solved_box_has_them(added):
    # derived: roots interlace (a stiffness of rank one is added); a null is silent, at a tuning the
    # cone stands still, and the coil is left with its own resistance
    box = lossless(*added)
    nulls, tunings = box.nulls, box.tunings()
    both = np.column_stack([nulls, tunings]).ravel()
    assert np.all(np.diff(both) > 0)
    driver = demo()
    usual = np.abs(solve(driver, SealedBox(0.02), 40.0).pressure)
    assert np.all(np.abs(solve(driver, box, nulls).pressure) < 1e-9 * usual)
    assert np.all(np.abs(solve(driver, box, tunings).cone_velocity) < 1e-9)
    quiet = replace(driver, le=0.0)
    np.testing.assert_allclose(solve(quiet, box, tunings).impedance, driver.re, rtol=1e-8)


def test_at_an_exact_null_the_light_radiator_takes_all():
    # a radiator whose resonance is exact in floats: mass and stiffness make ω = 128 rad/s
    exact = Radiator(sd=0.03125, mms=0.125, cms=1 / (0.125 * 128.0**2), rms=0.0)
    box = MixedRadiatorBox(0.02, (exact, exact.with_mass(0.125)))
    driver = replace(demo(), bl=16.0, sd=0.03125)
    r = solve(driver, box, 128.0 / (2 * np.pi))
    assert r.box_pressure == 0 and r.pressure == 0 and r.spl == -np.inf
    light, heavy = each_radiator(r)
    assert heavy.velocity == 0
    assert light.radiator.sd * light.velocity == -r.cone_volume_velocity
    assert light.phase == 180


def test_two_unlike_radiators_at_one_resonance_share_its_null_by_their_mass():
    # the exact point is the limit from either side
    exact = Radiator(sd=0.03125, mms=0.125, cms=1 / (0.125 * 128.0**2), rms=0.0)
    double = replace(exact, mms=0.25, cms=exact.cms / 2)
    box = MixedRadiatorBox(0.02, (exact, double))
    driver = replace(demo(), bl=16.0, sd=0.03125)
    f = 128.0 / (2 * np.pi) * np.array([1 - 1e-7, 1.0, 1 + 1e-7])
    r = solve(driver, box, f)
    assert r.box_pressure[1] == 0 and np.isfinite(r.impedance).all()
    one, two = each_radiator(r)
    np.testing.assert_allclose(np.abs(one.velocity / two.velocity), 2, rtol=1e-6)
    np.testing.assert_allclose(one.excursion, one.excursion[1], rtol=1e-5)


def test_power_goes_where_there_is_friction():
    # energy: watts in = coil + suspension of cone + leak + friction of each radiator
    driver = demo()
    r = solve(driver, THREE, FREQUENCY, 10.0)
    spent = np.abs(r.current) ** 2 * driver.re + np.abs(r.cone_velocity) ** 2 * driver.rms
    spent = spent + np.real(np.conj(r.box_pressure) * r.leak_volume_velocity)
    for m in each_radiator(r):
        spent = spent + np.abs(m.velocity) ** 2 * m.radiator.rms
    np.testing.assert_allclose(r.power, spent, rtol=1e-9)
    flow = r.cone_volume_velocity + r.vent_volume_velocity + r.leak_volume_velocity
    np.testing.assert_allclose(r.volume_velocity, flow, rtol=1e-9, atol=1e-12)


@pytest.mark.parametrize("box", [PAIR, THREE])
def test_group_delay_is_the_slope_of_the_phase(box):
    # derived: central differences of the solved phase
    f, step = np.geomspace(12, 150, 40), 1e-5
    ends = [solve(demo(0.03), box, f * (1 + s), distance=1e-9) for s in (-step, step)]
    turn = np.angle(ends[1].pressure * np.conj(ends[0].pressure))
    want = -turn / (2 * np.pi * 2 * step * f)
    got = solve(demo(0.03), box, f).group_delay
    np.testing.assert_allclose(got, want, rtol=1e-5, atol=1e-8)


def test_largest_travel_and_the_stop_are_of_the_radiator_that_meets_it_first():
    r = solve(demo(), THREE, FREQUENCY, 10.0)
    travel = np.stack([m.excursion for m in each_radiator(r)])
    np.testing.assert_allclose(r.vent_excursion, travel.max(axis=0), rtol=1e-12)
    top = max_output(replace(demo(), xmax=0.1), THREE, FREQUENCY)
    at = FREQUENCY[top.limit == "radiator excursion"]
    assert at.size
    volts = top.voltage[top.limit == "radiator excursion"]
    for f, voltage in zip(at, volts, strict=True):
        moving = each_radiator(solve(demo(), THREE, f, voltage))
        assert max(float(m.excursion / m.radiator.xmax) for m in moving) == pytest.approx(1)


def test_recoil_adds_what_each_radiator_has():
    r = solve(demo(), PAIR, FREQUENCY)
    jw = 2j * np.pi * FREQUENCY
    want = demo().mms * jw * r.cone_velocity
    for m in each_radiator(r):
        want = want + m.radiator.moving_mass * jw * m.velocity
    np.testing.assert_allclose(recoil(r), np.sqrt(2) * np.abs(want), rtol=1e-12)


@pytest.mark.parametrize(
    "radiators, words",
    [
        ((), "one for each"),
        (RADIATOR, "must be a tuple of Radiator"),
        ((RADIATOR, 0.08), "holds a float"),
    ],
)
def test_no_radiators_or_others_are_refused(radiators, words):
    with pytest.raises(ValueError, match=words):
        MixedRadiatorBox(0.02, radiators)


def test_bad_input_is_refused_in_words():
    with pytest.raises(ValueError, match="RadiatorBox"):
        MixedRadiatorBox.weighted(0.02, RADIATOR, 0.08)
    with pytest.raises(ValueError, match="added_mass"):
        MixedRadiatorBox.weighted(0.02, RADIATOR, [0.08, -0.01])
    with pytest.raises(ValueError, match="must be a Radiator, got float"):
        MixedRadiatorBox.weighted(0.02, 0.08, [0.08, 0.0])
    with pytest.raises(ValueError, match="ql"):
        MixedRadiatorBox(0.02, (RADIATOR,), ql=0)
    with pytest.raises(ValueError, match="volume"):
        MixedRadiatorBox(-0.02, (RADIATOR,))
    with pytest.raises(ValueError, match="do not broadcast"):
        MixedRadiatorBox([0.01, 0.02], (RADIATOR, RADIATOR.with_mass([0.0, 0.1, 0.2])))
    with pytest.raises(ValueError, match="no single vent"):
        PAIR.vent()
    with pytest.raises(ValueError, match="this is for PortedBox"):
        each_radiator(solve(demo(), PortedBox.tuned(0.03, 40, 0.006, max_length=3), FREQUENCY))
