"""Air at a height, and what it does to a tuning."""

import numpy as np
import pytest
from alignments import published
from scipy.integrate import solve_ivp

import boxlab
from boxlab import Air, Port, PortedBox, Radiator, RadiatorBox, UnitWarning
from boxlab.model.air import standard_pressure


@pytest.mark.parametrize("row", published("standard_atmosphere"), ids=lambda r: r["height"])
def test_the_standard_atmosphere(row):
    air = Air.at_altitude(row["height"])
    assert air.pressure == pytest.approx(row["pressure"], abs=1)
    assert air.temperature == pytest.approx(row["temperature"], abs=1e-9)
    if row["density"] is not None:
        # the standard's air is an ideal gas, ours CIPM-2007: they differ by 5e-4 (see Air)
        assert air.density == pytest.approx(row["density"], rel=6e-4)
        assert air.speed_of_sound == pytest.approx(row["speed_of_sound"], rel=1e-3)


def test_the_pressure_carries_the_air_above():
    # independent route: dp/dh = -g p/(R T), integrated; g 9.80665, R 287.05287 (standard's own)
    def slope(h, p):
        return -9.80665 * p / (287.05287 * (288.15 - 0.0065 * h))

    heights = np.array([500.0, 1500.0, 3000.0, 4500.0, 10000.0])
    got = solve_ivp(slope, (0, 10000), [101325.0], t_eval=heights, rtol=1e-10, atol=1e-6)
    np.testing.assert_allclose(standard_pressure(heights), got.y[0], rtol=2e-6)


def test_a_height_for_each_design_and_a_temperature_of_its_own():
    air = Air.at_altitude([0.0, 1000.0, 2000.0], temperature=20)
    assert np.shape(air.density) == (3,)
    assert air.speed_of_sound == pytest.approx(343.2)
    assert Air.at_altitude(0, temperature=20) == Air()


PORTED = PortedBox(0.03, Port(0.005, 0.2))
RADIATED = RadiatorBox(
    0.02, Radiator(sd=0.035, mms=0.2, cms=6e-4, rms=1.5, xmax=0.02, added_mass=0.1)
)


def test_cold_moves_a_port_and_height_does_not():
    cold, high = Air(-20.0), Air.at_altitude(3000, temperature=20)
    want = np.sqrt((273.15 - 20) / 293.15)  # derived: fb goes as the speed of sound
    assert PORTED.tuning(cold) / PORTED.tuning() == pytest.approx(want, rel=1e-6)
    assert PORTED.tuning(high) / PORTED.tuning() == pytest.approx(1, rel=1e-9)


def test_height_moves_a_radiator_and_cold_hardly():
    # derived: the air's spring is gamma p, whatever the temperature (an ideal gas), and the
    # suspension's stays: fb^2 = (1/Cmp + Sp^2 K/V)/Mmp/(2 pi)^2
    radiator = RADIATED.radiator
    high = Air.at_altitude(3000, temperature=20)
    assert RADIATED.tuning(Air(-20.0)) / RADIATED.tuning() == pytest.approx(1, abs=1e-3)

    def tuning(pressure):
        stiffness = 1 / radiator.cms + radiator.sd**2 * 1.4 * pressure / 0.02
        return np.sqrt(stiffness / radiator.moving_mass) / 2 / np.pi

    want = tuning(70109) / tuning(101325)
    assert want < 0.9
    assert RADIATED.tuning(high) / RADIATED.tuning() == pytest.approx(want, rel=1e-3)


@pytest.mark.parametrize("height", [-501, 12000, np.array([0.0, 20000.0])])
def test_a_height_with_no_such_air_is_refused(height):
    with pytest.raises(ValueError, match="outside −500 to 11 000 m"):
        Air.at_altitude(height)


@pytest.mark.parametrize("height", ["high", None, np.nan, True])
def test_a_height_that_is_no_number_is_refused(height):
    with pytest.raises(ValueError, match="altitude"):
        Air.at_altitude(height)


def test_feet_given_as_metres():
    with pytest.warns(UnitWarning, match=r"boxlab\.feet"):
        Air.at_altitude(7500)
    assert Air.at_altitude(boxlab.feet(5000)).pressure == pytest.approx(84307, abs=5)
