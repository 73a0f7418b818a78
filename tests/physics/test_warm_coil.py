"""The warm coil against printed decibels, a closed form, and integration over time."""

import numpy as np
import pytest
from alignments import published
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

from boxlab import Driver, SealedBox, UnitWarning, solve
from boxlab.gear.scenario import TEN_INCH_DRIVER, TEN_INCH_RADIATOR
from boxlab.model.coil_heat import CoilHeat, heated, usual_heat
from boxlab.model.enclosure import PortedBox, RadiatorBox
from boxlab.model.several import together
from boxlab.model.warm_coil import (
    coil_power,
    level_lost,
    lost_midband,
    resistance_of_rating,
    settled,
    settled_alone,
    warmed,
    warming,
)

BOX = RadiatorBox.tuned(0.014, 45, TEN_INCH_RADIATOR, ql=7)
HEAT = CoilHeat(1.4, 1.0, 10.0, 1500.0)
BLOCKED = Driver(re=3.5, le=0, bl=15, mms=0.9, cms=1e-4, rms=5, sd=0.05)  # it hardly moves at 5 kHz


@pytest.mark.parametrize("row", published("warm_coil"), ids=lambda r: f"{r['kelvin']:g} K")
def test_printed_decibels(row):
    for metal in ("copper", "aluminium"):
        assert lost_midband(row["kelvin"], metal) == pytest.approx(row[metal], abs=0.0051)


def test_the_driver_says_so_too_where_its_mass_rules():
    # far above resonance in free air, without inductance, solve() itself loses the same
    driver = Driver(re=3.4, le=0, bl=15, mms=0.115, cms=2.2e-4, rms=4.5, sd=0.0335)
    f = np.array([2000.0])
    got = solve(driver, None, f).spl - solve(warmed(driver, 100), None, f).spl
    assert got[0] == pytest.approx(2.88, abs=0.01)
    assert level_lost(driver, None, f, 100)[0] == pytest.approx(got[0], abs=1e-9)


def test_power_and_temperature_meet():
    # from the sources' table: 3.5 ohm, 20 V, 1.5 K/W, copper: 117 K, 78 W (cold 114 W), 3.3 dB
    kelvin = settled_alone(20**2 / 3.5, 1.5)
    assert kelvin == pytest.approx(117, abs=0.5)
    assert kelvin / 1.5 == pytest.approx(78, abs=0.5)
    assert lost_midband(kelvin) == pytest.approx(3.3, abs=0.02)
    # the same with a driver that does not move, by the general route
    warm = settled(BLOCKED, None, CoilHeat(1.0, 0.5, 10, 1500), 5000.0, 20.0)
    assert warm.kelvin == pytest.approx(kelvin, rel=1e-3)
    assert warm.watts == pytest.approx(78, abs=0.5)
    assert warm.magnet == pytest.approx(0.5 * warm.watts)


@pytest.mark.parametrize("frequency", [25.0, 45.0, 90.0])
def test_a_tone_by_root_finding(frequency):
    # independent route: scipy's brentq on the current that solve() gives
    def excess(kelvin):
        hot = warmed(TEN_INCH_DRIVER, kelvin)
        return HEAT.total * abs(solve(hot, BOX, frequency, 25.0).current) ** 2 * hot.re - kelvin

    want = brentq(excess, 0, 299, xtol=1e-10)
    got = settled(TEN_INCH_DRIVER, BOX, HEAT, frequency, 25.0)
    assert got.kelvin == pytest.approx(want, rel=1e-9)
    assert got.re == pytest.approx(TEN_INCH_DRIVER.re * (1 + 0.00393 * want))


def test_a_programme_is_its_lines_together():
    f, share = np.array([30.0, 60.0, 120.0]), np.array([0.5, 0.3, 0.2])
    got = coil_power(TEN_INCH_DRIVER, BOX, f, 10.0, share)
    alone = [coil_power(TEN_INCH_DRIVER, BOX, each, 10.0) for each in f]
    assert got == pytest.approx(share @ alone)
    warm = settled(TEN_INCH_DRIVER, BOX, HEAT, f, 30.0, share)
    hot = warmed(TEN_INCH_DRIVER, warm.kelvin)
    again = coil_power(hot, BOX, f, 30.0, share)
    assert HEAT.total * again == pytest.approx(warm.kelvin, rel=1e-9)


def test_many_assumptions_and_tones_are_one_call():
    heat = usual_heat(TEN_INCH_DRIVER).all
    tones = np.array([25.0, 45.0, 70.0, 110.0])
    many = CoilHeat(*(np.asarray(getattr(heat, n))[:, None] for n in
                      ("coil", "magnet", "coil_time", "magnet_time")))  # fmt: skip
    got = settled(TEN_INCH_DRIVER, BOX, many, tones, 20.0).kelvin
    assert got.shape == (3, 4)
    for i, name in enumerate(("low", "typical", "high")):
        for k, tone in enumerate(tones):
            one = settled(
                TEN_INCH_DRIVER, BOX, getattr(usual_heat(TEN_INCH_DRIVER), name), tone, 20.0
            )
            assert got[i, k] == pytest.approx(one.kelvin, rel=1e-9)


def ladder(heat, power):
    """The two stages as differential equations, for scipy."""
    c1, c2 = heat.coil_time / heat.coil, heat.magnet_time / heat.magnet

    def slope(t, state):
        flow = (state[0] - state[1]) / heat.coil
        return [(power(state[0]) - flow) / c1, (flow - state[1] / heat.magnet) / c2]

    return slope


TIME = np.array([1.0, 5.0, 20.0, 100.0, 600.0, 3000.0, 20000.0])


def test_the_step_answer_by_integration():
    # independent route: scipy's Radau on the ladder's equations
    got = heated(HEAT, 50.0, TIME)
    want = solve_ivp(
        ladder(HEAT, lambda kelvin: 50.0), (0, 2e4), [0, 0], "Radau", TIME, rtol=1e-9, atol=1e-9
    ).y
    np.testing.assert_allclose(got[0], want[0], atol=1e-4)
    np.testing.assert_allclose(got[1], want[1], atol=1e-4)


def test_warming_at_constant_voltage_by_integration():
    def power(kelvin):
        hot = warmed(TEN_INCH_DRIVER, max(kelvin, 0.0))
        return abs(solve(hot, BOX, 90.0, 25.0).current) ** 2 * hot.re

    time = np.geomspace(0.3, 2e4, 60)
    got = warming(TEN_INCH_DRIVER, BOX, HEAT, time, 90.0, 25.0)
    want = solve_ivp(ladder(HEAT, power), (0, 2e4), [0, 0], "Radau", time, rtol=1e-8, atol=1e-8).y
    assert want[0][-1] > 80
    np.testing.assert_allclose(got.kelvin, want[0], rtol=5e-3, atol=0.05)
    np.testing.assert_allclose(got.magnet, want[1], rtol=5e-3, atol=0.05)
    rest = settled(TEN_INCH_DRIVER, BOX, HEAT, 90.0, 25.0)
    assert got.kelvin[-1] == pytest.approx(rest.kelvin, rel=1e-3)


def test_the_assumed_range_holds_all_between_at_every_moment():
    three = usual_heat(TEN_INCH_DRIVER)
    got = warming(TEN_INCH_DRIVER, BOX, three.all, np.geomspace(0.1, 1e4, 40), 60.0, 25.0).kelvin
    assert got.shape == (3, 40)
    assert (np.diff(got, axis=0) > 0).all()
    assert (np.diff(got, axis=1) > 0).all()
    assert "from memory" in three.why


def test_coils_that_share_the_watts_share_the_heat():
    two = together(TEN_INCH_DRIVER, 2)
    box = SealedBox(0.028)
    pair = settled(two, box, usual_heat(two, 2).typical, 80.0, 20.0)
    one = settled(TEN_INCH_DRIVER, SealedBox(0.014), usual_heat(TEN_INCH_DRIVER).typical, 80.0, 20)
    assert pair.kelvin == pytest.approx(one.kelvin, rel=1e-9)


@settings(max_examples=60, deadline=None)
@given(
    st.floats(1, 280), st.floats(12, 300), st.floats(0, 0.004), st.sampled_from([BOX, None]),
    st.floats(0, 2),
)  # fmt: skip
def test_no_warm_coil_is_louder_and_none_loses_more_than_midband(kelvin, f, le, box, source):
    driver = Driver(re=3.4, le=le, bl=15, mms=0.115, cms=2.2e-4, rms=4.5, sd=0.0335)
    lost = level_lost(driver, box, np.array([f]), kelvin, source_resistance=source)[0]
    assert -1e-9 <= lost <= lost_midband(kelvin) + 1e-9


def test_little_is_lost_at_an_impedance_peak_and_qes_rises_with_re():
    driver = TEN_INCH_DRIVER
    f = np.linspace(50, 100, 501)
    box = SealedBox(0.014)
    lost = level_lost(driver, box, f, 150)
    peak = np.argmax(np.abs(solve(driver, box, f).impedance))
    assert lost[peak] < 0.6 < 2.5 < lost_midband(150)
    assert warmed(driver, 150).qes / driver.qes == pytest.approx(1 + 0.00393 * 150)


def test_the_loss_is_finite_at_an_exact_null():
    port = PortedBox.tuned(0.03, 40.0, 0.005, max_length=3)
    lost = level_lost(TEN_INCH_DRIVER, port, np.array([port.tuning()]), 100)
    assert np.isfinite(lost).all()


def test_what_is_printed_of_compression_fits_a_coil_that_its_rating_warms_by_100_to_200_k():
    # from memory: 3 to 6 dB for long at full rating, 0.5 to 1 dB at a tenth of it
    for kelvin in (100, 150, 200):
        resistance = resistance_of_rating(350, kelvin)
        assert settled_alone(350, resistance) == pytest.approx(kelvin)
        full, tenth = (lost_midband(settled_alone(w, resistance)) for w in (350, 35))
        assert 2.8 < full < 6
        assert 0.4 < tenth < 1.1


@pytest.mark.parametrize(
    ("call", "said"),
    [
        (lambda: warmed(TEN_INCH_DRIVER, 50, "gold"), "copper or aluminium"),
        (lambda: warmed(TEN_INCH_DRIVER, -5), "kelvin must be zero or more"),
        (lambda: lost_midband("hot"), "kelvin"),
        (lambda: settled_alone(100, 0), "K/W"),
        (lambda: resistance_of_rating(0), "rating in watts"),
        (lambda: CoilHeat(1, 1, 0, 100), "coil_time must be above zero"),
        (lambda: CoilHeat(1, 1, 100, 10), "a coil warms in seconds"),
        (lambda: usual_heat(TEN_INCH_DRIVER, 0), "count"),
        (lambda: usual_heat(warmed(TEN_INCH_DRIVER, [1, 2]).__class__(
            re=3, le=0, bl=10, mms=0.1, cms=2e-4, rms=3, sd=[0.03, 0.03])), "one driver"),
        (lambda: coil_power(TEN_INCH_DRIVER, BOX, [30, 60], 10, [0.5]), "one share"),
        (lambda: coil_power(TEN_INCH_DRIVER, BOX, [30, 60], 10, [0.5, 0.2]), "expected 1"),
        (lambda: coil_power(TEN_INCH_DRIVER, BOX, 30, -1), "voltage"),
        (lambda: warming(TEN_INCH_DRIVER, BOX, HEAT, [2, 1], 30, 10), "time must rise"),
        (lambda: heated(HEAT, 50, -1), "time must be zero or more"),
    ],
)  # fmt: skip
def test_bad_input_is_refused_in_words(call, said):
    with pytest.raises(ValueError, match=said):
        call()


def test_what_is_implausible_is_doubted():
    with pytest.warns(UnitWarning, match="K/W"):
        CoilHeat(300, 1, 10, 1000)
