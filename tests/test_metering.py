"""A meter on music against the circuit in time, and against a resistor."""

import numpy as np
import pytest
from scipy.signal import lsim

from boxlab.base.checks import UnitWarning
from boxlab.car.metering import metered
from boxlab.car.wiring import at_load
from boxlab.gear.scenario import TEN_INCH_DRIVER
from boxlab.model.air import Air
from boxlab.model.driver import Driver
from boxlab.model.enclosure import SealedBox
from boxlab.model.response import solve
from boxlab.model.warm_coil import warmed
from boxlab.sound import programme

BOX, RATE = SealedBox(0.014), programme.RATE


def test_current_against_the_circuit_in_time():
    # Coil, cone and box as differential equations; three rounds let the start die away.
    volts, d, air = 10 * programme.bass_line(), TEN_INCH_DRIVER, Air()
    stiffness = 1 / d.cms + air.density * air.speed_of_sound**2 * d.sd**2 / BOX.volume
    a = [
        [-d.re / d.le, 0, -d.bl / d.le],
        [0, 0, 1],
        [d.bl / d.mms, -stiffness / d.mms, -d.rms / d.mms],
    ]
    signal = np.tile(volts, 3)
    system = (a, [[1 / d.le], [0], [0]], [[1, 0, 0]], [[0]])
    current = lsim(system, signal, np.arange(signal.size) / RATE)[1][-volts.size :]
    got = metered(d, BOX, volts, RATE)
    assert got.amperes == pytest.approx(current, abs=0.02 * np.abs(current).max())
    assert got.average == pytest.approx(np.mean(volts * current), rel=0.01)


def test_meter_is_a_plain_average_over_its_window():
    got = metered(TEN_INCH_DRIVER, BOX, programme.bass_line(), RATE, window=0.05)
    width = round(0.05 * RATE)
    for end in (width, 5000, got.watts.size):
        assert got.shown[end - 1] == pytest.approx(got.watts[end - width : end].mean(), abs=1e-12)
    around = np.concatenate((got.watts[-width + 1 :], got.watts[:1])).mean()
    assert got.shown[0] == pytest.approx(around, abs=1e-12)
    assert got.shown.mean() == pytest.approx(got.average)
    assert got.average < got.highest < got.watts.max()


def test_resistor_shows_volts_squared_over_ohms():
    stiff = Driver(re=4, le=0, bl=0.1, mms=1.0, cms=1e-3, rms=50, sd=0.03, xmax=0.01, pe=300)
    volts = 8 * programme.bass_line()
    got = metered(stiff, BOX, volts, RATE)
    assert got.average == pytest.approx(np.mean(volts**2) / 4, rel=1e-4)
    assert got.apparent == pytest.approx(got.average, rel=1e-4)


def test_a_warm_coil_takes_less():
    # IEC 60028 (from memory): 0.393 % per kelvin.
    hot = warmed(TEN_INCH_DRIVER, 100)
    assert hot.re == pytest.approx(1.393 * TEN_INCH_DRIVER.re)
    volts = 10 * programme.bass_line()
    cold_reading, hot_reading = (
        metered(d, BOX, volts, RATE).average for d in (TEN_INCH_DRIVER, hot)
    )
    assert hot_reading < cold_reading


@pytest.mark.parametrize("load", [1, 2, 8])
def test_another_load_is_the_same_driver(load):
    f = np.geomspace(10, 200, 50)
    other = at_load(TEN_INCH_DRIVER, 4, load)
    one, two = solve(TEN_INCH_DRIVER, BOX, f, 10.0), solve(other, BOX, f, 10 * np.sqrt(load / 4))
    assert two.impedance == pytest.approx(one.impedance * load / 4)
    assert two.spl == pytest.approx(one.spl)
    assert two.cone_excursion == pytest.approx(one.cone_excursion)


def test_two_coils_in_series_against_in_parallel():
    # Derived: parallel halves the turns in series, so Bl halves and Re and Le quarter.
    parallel, series = at_load(TEN_INCH_DRIVER, 4, 2), at_load(TEN_INCH_DRIVER, 4, 8)
    assert parallel.bl == pytest.approx(series.bl / 2)
    assert parallel.re == pytest.approx(series.re / 4)
    assert parallel.qes == pytest.approx(series.qes)


def test_a_window_longer_than_the_loop():
    with pytest.raises(ValueError, match="longer than the loop"):
        metered(TEN_INCH_DRIVER, BOX, np.ones(100), 100, window=2)


@pytest.mark.parametrize("volts", [[1.0, np.nan] * 50, "loud", [None] * 100])
def test_a_signal_that_is_no_number_is_refused(volts):
    with pytest.raises(ValueError, match="volts"):
        metered(TEN_INCH_DRIVER, BOX, volts, 100)


def test_a_coil_that_hot_has_burnt():
    with pytest.warns(UnitWarning, match="above 20 °C"):
        warmed(TEN_INCH_DRIVER, 1000)
