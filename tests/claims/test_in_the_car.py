"""What the lesson "in the car" says, asked of the library."""

import numpy as np
import pytest

from boxlab import litres, solve
from boxlab.car.vehicle import LEAKY, TIGHT, at_seat, boundary_loading, cabin_lift, pressure_lift
from boxlab.explainers import _cars as cars
from boxlab.explainers import _music as music
from boxlab.explainers import explainer
from boxlab.explainers.at_the_seat import corner, even
from boxlab.explainers.cabin_band import slope
from boxlab.explainers.near_the_walls import over_floor
from boxlab.explainers.where_you_sit import at_seat as along
from boxlab.explainers.where_you_sit import seats_apart
from boxlab.gear.scenario import DRIVERS
from boxlab.model.air import Air
from boxlab.quiz.exercises import in_the_car as tasks
from boxlab.sound.hearing import allowed_time, weighting

SALOON, HATCH, ESTATE = (cars.CARS[name] for name in ("saloon", "small hatchback", "estate"))
DRIVER = DRIVERS["ten-inch"]
GRID = cars.FREQUENCY


def level(build, frequency=GRID):
    return solve(DRIVER, music.box_of(build), frequency, 10.0)


# Lift


def test_band_at_25_hz():
    lift = cabin_lift(SALOON, 25.0)
    assert (round(lift.low[0]), round(lift.high[0])) == (9, 22)
    assert SALOON.volume == pytest.approx(3.25, abs=0.005)
    assert SALOON.first_mode() == pytest.approx(66, abs=0.1)
    assert TIGHT == (1.0, 0.0) and LEAKY == (20.0, 1.0)


def test_textbook_is_twelve_decibels_an_octave_and_seats_pass_it_by_little():
    rigid = 20 * np.log10(abs(pressure_lift(GRID, SALOON.volume)))
    assert slope(GRID, rigid) == pytest.approx(-12.04, abs=0.01)
    inside = SALOON.first_mode() / 4 > GRID
    lift = cabin_lift(SALOON, GRID)
    assert (lift.high[inside] > rigid[inside]).all()
    assert (lift.high[inside] < rigid[inside] + 1.0).all()
    assert (lift.high - rigid)[GRID <= 33].max() == pytest.approx(4.0, abs=0.1)
    assert (lift.low[inside] < lift.high[inside] - 10).all()


def test_leaks_bend_the_slope_and_panels_do_not():
    f = np.array([12.0, 24.0])
    tight, leaky, soft = (
        np.abs(pressure_lift(f, 3.25, leak=leak, give=give))
        for leak, give in ((0, 0), (20, 0), (0, 1))
    )
    assert soft / tight == pytest.approx([0.5, 0.5])
    assert leaky[0] / tight[0] < leaky[1] / tight[1] < 1


def test_a_panel_above_its_resonance_adds():
    roof = abs(pressure_lift(40.0, SALOON.volume, give=0.3, panel=35.0))
    rigid = abs(pressure_lift(40.0, SALOON.volume))
    assert round(float(20 * np.log10(roof / rigid))) == 9
    assert "changes 40 Hz by +9 dB" in explainer("cabin_band")().readout[3]


def test_formula_of_the_lesson():
    """Derived: G = 2πr·c²/(ω²V(1 + g)√(1 + (fl/f)²))."""
    f, leak, give, c = 20.0, 8.0, 0.3, Air().speed_of_sound
    gain = 2 * np.pi * c**2 / ((2 * np.pi * f) ** 2 * 3.25 * (1 + give))
    gain /= np.sqrt(1 + (leak / f) ** 2)
    assert abs(pressure_lift(f, 3.25, leak=leak, give=give)) == pytest.approx(gain)


def test_cabin_is_soft_against_the_box():
    assert SALOON.volume / litres(14) > 200


# Boxes at the seat


def test_the_cabin_adds_the_same_to_all():
    lifts = [at_seat(level(build), SALOON).mid - level(build).spl for build in music.BUILDS]
    for lift in lifts[1:]:
        assert lift == pytest.approx(lifts[0])


def test_sealed_comes_out_flat_in_the_middle_of_the_band():
    part = GRID <= 80
    mid = at_seat(level("sealed"), SALOON).mid[part]
    assert np.ptp(mid) == pytest.approx(1.0, abs=0.25)


def test_how_deep_each_box_reaches():
    reach = {
        build: [corner(even(level(build), SALOON, car)) for car in (LEAKY, TIGHT)]
        for build in music.BUILDS
    }
    assert reach["sealed"] == pytest.approx([13, 10], abs=0.6)
    assert reach["ported"] == pytest.approx([32, 21], abs=0.6)
    assert reach["radiator"] == pytest.approx([34, 27], abs=0.6)
    van = even(level("sealed"), cars.CARS["van"], LEAKY)
    assert corner(van) == pytest.approx(38, abs=0.6)


def test_flat_is_not_loud():
    spl = {build: level(build, [25.0, 45.0, 50.0]).spl for build in music.BUILDS}
    for build in ("radiator", "ported"):
        more = spl[build][1:] - spl["sealed"][1:]
        assert (more > 3).all() and (more < 4.5).all()
    assert spl["sealed"][0] - spl["radiator"][0] == pytest.approx(8, abs=0.5)
    outdoors = level("ported", [10.0, 20.0]).spl
    assert outdoors[1] - outdoors[0] > 20


# Two cars


def test_size_and_tightness():
    one, two = (at_seat(level("radiator", [25.0]), cabin) for cabin in (HATCH, ESTATE))
    assert (one.mid - two.mid)[0] == pytest.approx(4.4, abs=0.05)
    assert (round((one.low - two.high)[0]), round((one.high - two.low)[0])) == (-9, 17)
    assert (one.high - one.low)[0] == pytest.approx(11.5, abs=0.1)
    tight, leaky = (even(level("radiator", [25.0]), HATCH, car)[0] for car in (TIGHT, LEAKY))
    assert tight - leaky == pytest.approx(8, abs=0.1)
    assert (HATCH.volume, ESTATE.volume) == pytest.approx((2.45, 4.13), abs=0.005)


# Modes


def test_the_middle_is_quiet_at_the_first_mode():
    places = np.linspace(0, 100, 101)
    levels = [along(66.0, 2.6, 95, place, 0.3) for place in places]
    assert places[np.argmin(levels)] == pytest.approx(50, abs=3)
    assert along(66.0, 2.6, 95, 30, 0.3) - along(66.0, 2.6, 95, 45, 0.3) == pytest.approx(
        7, abs=0.5
    )


def test_heads_differ_even_at_half_the_first_mode():
    assert seats_apart(33.0, 2.6, 95, 0.3) == pytest.approx(6, abs=0.2)
    assert seats_apart(16.5, 2.6, 95, 0.3) == pytest.approx(1.3, abs=0.05)


def test_width_and_height():
    modes = {order: f for f, order in SALOON.modes(8)}
    assert round(modes[0, 1, 0]) == 118 and round(modes[0, 0, 1]) == 149


def test_a_note_of_25_hz_is_14_metres_long():
    assert Air().speed_of_sound / 25 == pytest.approx(14, abs=0.5)


# Walls


def test_each_wall_is_three_decibels_and_half_space_has_one():
    assert boundary_loading(20.0, 0.0) == pytest.approx(3.01, abs=0.01)
    assert over_floor(20.0, [0.0, 0.0]) == pytest.approx(3.01, abs=0.01)
    assert over_floor(20.0, [0.0] * 3) == pytest.approx(6.02, abs=0.01)
    assert over_floor(40.0, [0.3] * 3) == pytest.approx(5.8, abs=0.05)
    assert "never add the two" in explainer("near_the_walls")().readout[3]


def test_the_level_in_front_rises_by_twice_the_power():
    """Derived: the same pumping into half the space, p = jωρU/(Ωr), is twice the pressure."""
    for walls in (2, 3):
        space = 4 * np.pi / 2**walls
        level = 20 * np.log10(2 * np.pi / space)
        assert level == pytest.approx(6.02 * (walls - 1), abs=0.01)
        assert level == pytest.approx(2 * over_floor(20.0, [0.0] * walls), abs=0.01)
    assert "3 dB of power, and 6 dB of level" in explainer("near_the_walls")().readout[1]


def test_beyond_a_quarter_wave_walls_stop_helping():
    quarter = Air().speed_of_sound / 4 / 40
    assert over_floor(40.0, [quarter, 0.0]) < 0.6 * over_floor(40.0, [0.0, 0.0])


def test_hearing_figures():
    assert allowed_time(94) == 3600 and allowed_time(100) == 900
    assert weighting(25.0) == pytest.approx(-45, abs=0.5)


# Panels, predictions and exercises


@pytest.mark.parametrize("name", list(cars.CARS))
def test_every_band_is_ten_decibels_wide_and_more(name):
    lift = cabin_lift(cars.CARS[name], GRID)
    wide = (lift.high - lift.low)[lift.inside]
    assert wide.min() > 10 and wide.max() < 18


def test_panel_warns_above_the_zone():
    assert explainer("cabin_band")(frequency=30).warnings == ()
    assert "modes" in explainer("cabin_band")(frequency=60).warnings[0]


def test_right_answers_are_the_models():
    assert "adds 9 to 22 dB" in tasks.answer("lift")["because"]
    assert "−9 to +17 dB" in tasks.answer("cars")["because"]
