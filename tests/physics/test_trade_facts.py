"""What the trade knows, from the invented demo gear: common practice, no published source."""

import numpy as np
import pytest
from alignments import AIR, qb3

from boxlab import PortedBox, RadiatorBox, cubic_feet, grams, litres, max_output, solve
from boxlab.gear.scenario import (
    CLASS_VOLUMES,
    DRIVERS,
    EIGHT_INCH_RADIATOR,
    RADIATORS,
    TEN_INCH_DRIVER,
    TEN_INCH_RADIATOR,
    TWELVE_INCH_DRIVER,
    TWELVE_INCH_RADIATOR,
)

HALF = cubic_feet(0.5)
# Check values only: common practice, no published source. The class has volumes of its own.
TRADE_VOLUMES = {
    "eight-inch": cubic_feet(0.4),
    "ten-inch": cubic_feet(0.5),
    "twelve-inch": cubic_feet(0.7),
}


@pytest.mark.parametrize(
    ("radiator", "volume", "tunings", "lightest", "heaviest"),
    [
        (TEN_INCH_RADIATOR, cubic_feet(0.5), (45.0,), 100, 300),
        (TWELVE_INCH_RADIATOR, cubic_feet(0.7), (38.0, 40.0), 200, 500),
        (EIGHT_INCH_RADIATOR, cubic_feet(0.4), (45.0, 50.0), 50, 150),
    ],
    ids=["ten-inch", "twelve-inch", "eight-inch"],
)
def test_usual_boxes_tune_with_plausible_moving_masses(
    radiator, volume, tunings, lightest, heaviest
):
    # common practice, no published source
    for fb in tunings:
        box = RadiatorBox.tuned(volume, fb, radiator)
        assert box.tuning(AIR) == pytest.approx(fb, rel=1e-9)
        total = box.radiator.mms + box.radiator.added_mass
        assert grams(lightest) < total < grams(heaviest)
        # weights a bolt can carry: some, and not more than about the cone itself again
        assert 0 < box.radiator.added_mass < 1.3 * radiator.mms
        # the null lies an octave or more below tuning, out of the working band
        assert box.radiator.fp < fb / 2


@pytest.mark.parametrize("size", list(DRIVERS))
def test_the_class_keeps_volumes_of_its_own(size):
    # 42 cm of air behind each cone, to the whole litre: 9, 14 and 21 L (derived)
    want = {"eight-inch": 0.42 * 0.0215, "ten-inch": 0.42 * 0.0335, "twelve-inch": 0.42 * 0.049}
    assert CLASS_VOLUMES[size] == pytest.approx(want[size], abs=0.0005)
    # and each radiator is no smaller than the cone it serves
    assert RADIATORS[size].sd >= DRIVERS[size].sd


@pytest.mark.parametrize("size", list(DRIVERS))
def test_usual_box_works_from_its_tuning_up(size):
    # common practice, no published source: such a box is for 35 or 45 Hz and up
    fb = {"eight-inch": 50.0, "ten-inch": 45.0, "twelve-inch": 39.0}[size]
    driver = DRIVERS[size]
    box = RadiatorBox.tuned(TRADE_VOLUMES[size], fb, RADIATORS[size], ql=7.0)
    f = np.geomspace(0.5 * fb, 120, 400)
    spl = solve(driver, box, f, air=AIR).spl
    top = spl[f > fb].max()
    assert np.all(spl[f > 1.1 * fb] > top - 10)
    assert spl[0] < top - 20
    # the cone moves least within a few percent of tuning
    cone = solve(driver, box, f, air=AIR).cone_excursion
    band = f < 1.6 * fb
    assert f[band][np.argmin(cone[band])] == pytest.approx(fb, rel=0.05)


def small_vent_area(driver, fb):
    """Small, JAES 21 (1973) 438 (from memory): S_V >= 0.8 fb V_D in SI, air under 5 % of c."""
    return 0.8 * fb * driver.sd * driver.xmax


def longest_inside(volume, shape=(1, 1, 2)):
    """Longest inside dimension of a box of these proportions."""
    return max(shape) * (volume / np.prod(shape)) ** (1 / 3)


def test_port_with_enough_area_is_longer_than_the_half_cubic_foot_box():
    # common practice, no published source; the area by Small's rule
    port = PortedBox.tuned(HALF, 45.0, small_vent_area(TEN_INCH_DRIVER, 45.0), max_length=3).port
    assert longest_inside(HALF) == pytest.approx(0.384, abs=0.001)
    assert port.length > 3 * longest_inside(HALF)
    # it would also take more room than the box has
    assert port.volume > HALF
    # and hum as a pipe inside the bass or low voice band
    assert AIR.speed_of_sound / 2 / port.effective_length < 200


def test_port_chosen_by_air_speed_is_longer_than_the_box_too():
    # the same fact by air speed: the least port that keeps to 17 m/s at full power at tuning
    driver, f = TEN_INCH_DRIVER, np.array([45.0])
    for area in np.geomspace(1e-4, 5e-2, 120):
        total = area * AIR.speed_of_sound**2 / HALF / (2 * np.pi * 45.0) ** 2
        box = PortedBox.tuned(HALF, 45.0, area, ql=7.0, max_length=10.0, end_correction=0.1 * total)
        ceiling = max_output(
            driver, box, f, power=driver.pe, load=driver.re, air_speed=None, air=AIR
        )
        speed = solve(driver, box, f, voltage=ceiling.voltage[0], air=AIR).vent_air_speed[0]
        if speed <= 17.0:
            break
    else:
        pytest.fail("no port area reached 17 m/s")
    assert box.port.length > longest_inside(HALF)


def test_a_port_that_fits_the_box_is_too_fast():
    # the other way round: a port bent to no more than the box's length
    driver, f = TEN_INCH_DRIVER, np.array([45.0])
    fitting = None
    for area in np.geomspace(1e-4, 5e-2, 400):
        total = area * AIR.speed_of_sound**2 / HALF / (2 * np.pi * 45.0) ** 2
        if total <= longest_inside(HALF):
            fitting = area
    box = PortedBox.tuned(HALF, 45.0, fitting, ql=7.0, end_correction=0.0, max_length=3)
    ceiling = max_output(driver, box, f, power=driver.pe, load=driver.re, air_speed=None, air=AIR)
    r = solve(driver, box, f, voltage=ceiling.voltage[0], air=AIR)
    assert r.vent_air_speed[0] > 17.0
    assert fitting < 0.5 * small_vent_area(driver, 45.0)


def test_two_and_a_half_cubic_feet_for_a_ported_twelve_is_on_the_big_side():
    # common practice, no published source
    driver, volume, fb = TWELVE_INCH_DRIVER, cubic_feet(2.5), 34.0
    assert volume > 3 * cubic_feet(0.7)  # the radiator build of the same size
    # the flattest box with usual losses (QL = 7, derived) is far smaller, and its tuning is near
    h, alpha = qb3(driver.qts, 7.0, start=(0.366 / driver.qts, 8.24 * (0.2 / driver.qts) ** 2.6))
    flat = driver.vas(AIR) / alpha
    assert volume > 2 * flat
    assert h * driver.fs == pytest.approx(fb, rel=0.1)
    # the port itself, by Small's rule, is long but fits such a box
    port = PortedBox.tuned(volume, fb, small_vent_area(driver, fb), max_length=3).port
    assert 0.3 < port.length < longest_inside(volume)
    assert litres(5) < port.volume < 0.25 * volume


def test_the_radiator_build_gives_away_little_for_its_size():
    # computed: at and above 40 Hz the 0.7 cubic foot build, a quarter of the volume, stays near
    driver = TWELVE_INCH_DRIVER
    f = np.array([40.0, 50.0, 60.0])
    large = PortedBox.tuned(
        cubic_feet(2.5), 34.0, small_vent_area(driver, 34.0), ql=7.0, max_length=3
    )
    little = RadiatorBox.tuned(cubic_feet(0.7), 39.0, TWELVE_INCH_RADIATOR, ql=7.0)
    gap = solve(driver, large, f, air=AIR).spl - solve(driver, little, f, air=AIR).spl
    assert np.all(gap < 8) and gap[0] > 0
