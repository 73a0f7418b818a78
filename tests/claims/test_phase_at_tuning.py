"""What the lesson on phase at tuning says, held to the library."""

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
from said import claim, read

from boxlab import Air, PortedBox, SealedBox, disc_area, litres, mm, solve
from boxlab.explainers import explainer
from boxlab.explainers._one_box import box_of
from boxlab.explainers.least_and_most import extremes
from boxlab.explainers.phase_at_tuning import edges, joined
from boxlab.explainers.tone_burst import measures
from boxlab.explainers.what_a_camera_sees import filmed
from boxlab.gear.scenario import DRIVERS, TEN_INCH_DRIVER, TEN_INCH_RADIATOR
from boxlab.model.camera import apparent_frequency, leader, seen_phase
from boxlab.model.motion import burst, delays, envelope, lateness, phase_at_tuning, phase_views
from boxlab.model.random_designs import random_designs
from boxlab.panel.live_panel import Panel
from boxlab.quiz.exercises import phase_at_tuning as tasks
from boxlab.sound.hearing import allowed_time, weighting

BOX = box_of("radiator", 36)
PORTED = PortedBox.tuned(litres(14), 36, disc_area(mm(75)), ql=7, max_length=3)
EXPLAINERS = (
    "phase_at_tuning",
    "phasors",
    "least_and_most",
    "tone_burst",
    "what_a_camera_sees",
)


# --- the box of the lesson


def test_the_box_is_the_demo_box():
    """QR 37 is the demo radiator's own friction, and the port with friction is a port."""
    radiator = BOX.radiator
    assert radiator.rms == pytest.approx(TEN_INCH_RADIATOR.rms, rel=0.02)
    assert replace(radiator, rms=1.5, added_mass=0) == TEN_INCH_RADIATOR
    claim("one box: {} L (0.49 ft³), tuned to {} Hz", 1e3 * BOX.volume, BOX.tuning())
    f = np.geomspace(10, 200, 30)
    smooth = solve(TEN_INCH_DRIVER, box_of("port", 36, 7, 1e9), f)
    assert smooth.spl == pytest.approx(solve(TEN_INCH_DRIVER, PORTED, f).spl, abs=1e-6)


def test_friction_and_leak_are_what_their_sliders_say():
    """Derived from the vent's equation of motion: 90° + atan(1/(QL + QR))."""
    for build in ("radiator", "port"):
        for ql, qr in ((2, 2), (7, 37), (30, 5)):
            phase = phase_at_tuning(TEN_INCH_DRIVER, box_of(build, 36, ql, qr))
            assert phase == pytest.approx(90 + np.degrees(np.arctan(1 / (ql + qr))), abs=1e-6)


# --- phase


def test_a_quarter_cycle_at_the_tuning_opposite_below_in_step_above():
    below, at, above = phase_views(solve(TEN_INCH_DRIVER, BOX, [18, 36, 72])).front
    claim("{}° at 18 Hz, {}° at 36 Hz, {}° at 72 Hz; from the sound", below, at, above)
    claim("The radiator is {}° ahead. How can it", at)
    claim("Ahead by {}° is the same motion as behind by {}°", at, 360 - at)
    claim("ahead of the cone's front: {}° in our box", at)
    claim("360° is a whole cycle, 90° a quarter. In phase is 0°: in step. Out of phase is 180°")


def test_the_driver_has_no_part_in_it():
    f = np.geomspace(10, 200, 50)
    curves = [solve(driver, BOX, f).vent_phase for driver in DRIVERS.values()]
    for other in curves[1:]:
        np.testing.assert_allclose(other, curves[0], atol=1e-9)


def test_a_wreck_is_14_degrees_off_and_ours_1_3():
    wreck = phase_at_tuning(TEN_INCH_DRIVER, box_of("radiator", 36, 2, 2))
    assert wreck - 90 == pytest.approx(14, abs=0.1)
    assert phase_at_tuning(TEN_INCH_DRIVER, BOX) - 90 == pytest.approx(1.3, abs=0.05)


def test_twenty_thousand_boxes():
    d = random_designs("radiator", 20_000, seed=3, lossless=0)
    phase = phase_at_tuning(d.driver, d.box)
    claim("{}° to {}° in {} others", (phase.min() - 1, phase.min()),
          (phase.max(), phase.max() + 1), phase.size)  # fmt: skip
    d = random_designs("ported", 20_000, seed=3, lossless=0)
    np.testing.assert_allclose(phase_at_tuning(d.driver, d.box), 90, atol=1e-6)


def test_where_the_phase_is_near_a_quarter_cycle():
    opposite, low, high, step = edges(TEN_INCH_DRIVER, BOX)
    claim("within 45° of a quarter cycle only from {} to {} Hz", low, high)
    phase = solve(TEN_INCH_DRIVER, BOX, [opposite, low, high, step]).vent_phase
    assert phase == pytest.approx([150, 135, 45, 30], abs=0.05)


def test_rear_view_and_the_count_behind_the_claim():
    """Behind the front: half a cycle for the rear, and what the vent adds."""
    at, above, far = phase_views(solve(TEN_INCH_DRIVER, BOX, [36, 72, 1000])).rear
    claim("{}° behind at 36 Hz: 180° for the rear and {}° for the vent. At 72 Hz {}°: 180° and {}°",
          180 - at, -at, 180 - above, -above)  # fmt: skip
    assert 180 - far == pytest.approx(360, abs=1)
    below = phase_views(solve(TEN_INCH_DRIVER, BOX, 18)).rear
    assert 180 - below == pytest.approx(180, abs=5)


def test_the_vent_goes_with_the_sound():
    f = np.linspace(18, 100, 200)
    total = phase_views(solve(TEN_INCH_DRIVER, BOX, f)).total
    most = np.abs(total).max()
    claim("From 18 to 100 Hz the radiator is never more than {}° from the sound", (most, most + 1))
    claim("For a port without friction it is 0° exactly, at every tone")
    at = phase_views(solve(TEN_INCH_DRIVER, BOX, [18, 36, 72])).total
    claim("from the sound {}°, {}° and {}°", *at)
    # for a port without friction exactly, at every tone, for any leak
    for ql in (0.5, 7, 1e6):
        r = solve(TEN_INCH_DRIVER, replace(PORTED, ql=ql), np.geomspace(5, 500, 100))
        np.testing.assert_allclose(phase_views(r).total, 0, atol=1e-9)
    # but not below the null of a radiator
    assert BOX.radiator.fp < 13
    assert abs(phase_views(solve(TEN_INCH_DRIVER, BOX, 10)).total) > 150


def test_it_is_the_cone_that_changes_sides():
    low, at, high = phase_views(solve(TEN_INCH_DRIVER, BOX, [18, 36, 72])).cone_total
    assert abs(low) > 170 and abs(at) == pytest.approx(90, abs=1) and abs(high) < 7


def test_at_the_tuning_the_cone_pushes_in_what_leaks_out():
    r = solve(TEN_INCH_DRIVER, PORTED, 36)
    assert r.leak_volume_velocity == pytest.approx(-r.cone_volume_velocity, rel=1e-9)
    assert r.vent_volume_velocity / r.cone_volume_velocity == pytest.approx(7j, rel=1e-9)
    rough = solve(TEN_INCH_DRIVER, box_of("port", 36, 7, 100), 36)
    assert abs(rough.leak_volume_velocity) == pytest.approx(
        abs(rough.cone_volume_velocity), rel=0.08
    )


def test_the_formula_of_the_lesson():
    claim("$$\\varphi = 90° + \\arctan\\frac{1}{Q_L +")  # see "what their sliders say" above
    claim("phase at the tuning as far from 90° as you can")
    claim("ahead of the front of the cone: 90° for any leak")
    claim("a quarter cycle ahead at the tuning (90°, a degree or two more")
    x = np.array([0.2, 0.7, 1.0, 1.4, 4.0])
    r = solve(TEN_INCH_DRIVER, PORTED, 36 * x)
    expected = -1 / (1 - x**2 + 1j * x / 7)
    np.testing.assert_allclose(r.vent_volume_velocity / r.cone_volume_velocity, expected, rtol=1e-9)


def test_curves_are_drawn_in_one_piece_and_gaps_are_jumps():
    assert joined(np.array([178.0, 179, -179, -178])).tolist() == [178, 179, 181, 182]
    for ql, qr in ((2, 2), (7, 37), (30, 100)):
        scene = explainer("phase_at_tuning")(ql=ql, qr=qr)
        for line in scene.plots[0].lines[1:4]:
            assert np.nanmax(np.abs(line.y)) <= 200
            assert np.nanmax(np.abs(np.diff(line.y))) < 60


# --- travel


def test_cone_least_near_the_tuning_in_nine_boxes_of_ten():
    grid = np.geomspace(0.8, 1.25, 500)
    d = random_designs("ported", 2000, seed=5, lossless=0)
    r = solve(d.driver, d.box, d.box.tuning()[:, None] * grid)
    least = grid[np.argmin(r.cone_excursion, axis=1)]
    assert np.mean(np.abs(least - 1) < 0.02) > 0.9
    claim("in more than nine of ten random ported boxes the cone's least travel is within 2 % of")


def test_what_is_left_of_the_air_an_octave_down():
    tone = 36 / 2
    front, radiator, _, left = read("phasors", tone=tone)
    claim("At {} Hz, an octave below the tuning, the front of the cone moves {} L/s of air and the "
          "radiator {} L/s", tone, front, radiator)  # fmt: skip
    claim("About {} L/s ¶ Below the tuning", left)
    claim("Set Tone to {} Hz and read what is left", tone)


def test_travel_of_the_demo_box():
    f = extremes(TEN_INCH_DRIVER, BOX)
    assert f["cone"] == pytest.approx(36.3, abs=0.05)
    assert f["ratio"] == pytest.approx(36, rel=0.01) and f["times"] == pytest.approx(5.9, abs=0.05)
    assert f["flow"] < 0.8 * 36 and f["half"] > 1.9 * f["at"]
    leaky = extremes(TEN_INCH_DRIVER, box_of("radiator", 36, 2, 37))
    claim("with QL 2 it is {} % off", 100 * (leaky["cone"] / 36 - 1))


# --- delay


def test_how_late_a_quarter_cycle_early_is():
    phase = float(phase_at_tuning(TEN_INCH_DRIVER, BOX))
    assert 1e3 * delays(phase, 36) == pytest.approx([20.7, 48.5, 76.3], abs=0.05)
    assert 36 * delays(phase, 36) == pytest.approx([0.75, 1.75, 2.75], abs=0.005)


def test_the_start_is_opposite_and_the_end_is_its_negative():
    b = burst(TEN_INCH_DRIVER, BOX, 36, 12, voltage=10, tail=30)
    first = (b.time >= 0) & (b.time < 0.4 / 36)
    assert b.cone[first].min() > -1e-6 and b.cone[first].max() > 3e-3
    assert b.vent[first].max() < 1e-5 and b.vent[first].min() < -1e-3
    settled = solve(TEN_INCH_DRIVER, BOX, 36, 10)
    third = (b.time >= 2 / 36) & (b.time < 3 / 36)
    assert np.ptp(b.cone[third]) / 2 == pytest.approx(settled.cone_excursion, rel=0.05)
    assert np.ptp(b.vent[third]) / 2 == pytest.approx(settled.vent_excursion, rel=0.05)
    # superposition: twelve cycles are a tone that starts, less the same tone started later
    long = burst(TEN_INCH_DRIVER, BOX, 36, 30, voltage=10, tail=12)
    shift = 12 * 64
    rest = long.cone[shift : shift + 600] - long.cone[:600]
    assert b.cone[shift : shift + 600] == pytest.approx(rest, abs=2e-5)


def test_measures_of_the_burst():
    m = measures(36, 12, "hard", 36, 7, 37, "radiator")
    claim("The sound is {} cycles late, about {} ms", m["sound"], 1e3 * m["sound"] / 36)
    assert m["cone_first"] == pytest.approx(5.2, abs=0.05)
    assert m["ring"] == pytest.approx(1.2, abs=0.06)
    soft = measures(36, 12, "soft", 36, 7, 37, "radiator")
    assert soft["cone"] < -1 and 0.4 < soft["vent"] < 0.5


def test_no_box_of_the_panel_is_a_cycle_late_and_leak_shortens_it():
    late = [
        36 * solve(TEN_INCH_DRIVER, box_of("radiator", 36, ql), 36).group_delay for ql in (2, 7, 30)
    ]
    assert late == sorted(late) and late[-1] < 0.5
    b = burst(TEN_INCH_DRIVER, box_of("radiator", 36, 30, 100), 36, 40, window="soft", tail=60)
    assert 36 * lateness(b.time, b.sound, b.drive) < 0.5
    assert envelope(b.sound).max() > 0


# --- the camera


@pytest.mark.parametrize(
    ("rate", "bands"),
    [(30, [(15, 30), (45, 60), (75, 90)]), (60, [(30, 60), (90, 120)]), (240, [])],
)
def test_where_a_film_turns_the_order_round(rate, bands):
    tones = np.arange(15.25, 120, 0.5)
    if rate == 30:
        tones = tones[tones < 105]
    claim("30 a second that is 15 to 30, 45 to 60 and 75 to 90 Hz; at 60 a second, 30 to 60 and "
          "90 to 120; at 240 nothing below 120 Hz")  # fmt: skip
    inside = np.array([any(low < tone < high for low, high in bands) for tone in tones])
    assert np.array_equal(apparent_frequency(tones, rate) < 0, inside)
    order = leader(seen_phase(tones, rate, 91.3))
    assert np.array_equal(order == "first", inside)


def test_36_hertz_at_three_settings():
    films = [filmed(36, rate, 36, 0, 0, 0) for rate in (30, 60, 240)]
    assert [f.frequency for f in films] == [6, -24, 36]
    assert [f.leads for f in films] == ["second", "first", "second"]


def test_29_and_31_hertz_at_30_frames():
    assert filmed(29, 30, 30, 0, 0, 0).leads == "first"
    assert filmed(31, 30, 30, 0, 0, 0).leads == "second"
    assert filmed(30, 30, 30, 0, 0, 0).orderless and filmed(45, 30, 30, 0, 0, 0).orderless


def test_rolling_shutter_turns_the_order_round():
    turned = 360 * 36 * 20e-3 * 0.6
    claim("Read out in 20 ms and 60 % of the picture apart, it is {} ms later, and at 36 Hz that "
          "turns it by {}°", 20 * 0.6, turned)  # fmt: skip
    claim("in 10 to 30 ms (common practice, no published source)")
    claim("and radiator are the same size and 180° apart")
    claim("Set Frames a second to 30 in the panel")
    claim("Use 240 frames a second, or a tone 1 or 2 Hz above a multiple")
    claim("Raise the tone by 2 Hz, across the multiple")
    f = filmed(36, 30, 36, 20, 60, 0)
    assert f.flipped and not filmed(36, 30, 36, 0, 60, 0).flipped
    # held upside down the same read-out turns it the other way, to the same wrong order
    other = filmed(36, 30, 36, 20, -60, 0)
    assert (f.phase + other.phase - 2 * f.true_phase) % 360 == pytest.approx(0, abs=1e-6)
    claim("36 Hz of our example are then {}° behind instead of {}°", -other.phase, -f.phase)
    assert f.leads == other.leads == "first"
    # a quarter turn brings both onto the same lines
    assert filmed(36, 30, 36, 20, 0, 0).leads == "second"
    # and the frame rate does not care which way up
    assert filmed(36, 60, 36, 0, -60, 0).flipped and filmed(36, 60, 36, 0, 60, 0).flipped


def test_the_prediction_is_judged_by_the_film():
    ask = explainer("what_a_camera_sees")
    for tone in (29.0, 31.0, 30.0, 45.0):
        right = {"first": "cone leads", "second": "radiator leads", "neither": "no order"}
        truth = right[filmed(tone, 30, 30, 0, 60, 0).leads]
        for guess in right.values():
            said = ask(tone=tone, rate=30, fb=30, guess=guess).readout[0]
            assert said.endswith("Right.") == (guess == truth)
    hidden = ask(guess="hide it, I predict first")
    assert not hidden.numbers
    assert all(line.x.size == 0 for line in hidden.plots[1].lines)
    assert len(hidden.plots[2].lines) == 0 and len(hidden.plots[3].lines) == 1


def test_what_cannot_be_exposed_is_said():
    scene = explainer("what_a_camera_sees")(rate=240, readout=30, exposure=33)
    assert len(scene.warnings) == 2 and "4.2 ms" in scene.warnings[0]


# --- the shop


def test_wave_and_weighting():
    wave = Air().speed_of_sound / 36
    claim("at 36 Hz a wave is {} m (31 ft) long: 30 cm (12 in) of box are {}° of it",
          wave, 360 * 0.3 / wave)  # fmt: skip
    claim("NIOSH allows an hour a day at 94 dBA and a quarter of one at 100 dBA; a dBA reading "
          "takes {} dB off at 36 Hz", -weighting(36.0))  # fmt: skip
    assert (allowed_time(94), allowed_time(100)) == (3600, 900)
    claim("which moves the standstill by {} Hz", 30 * 0.001)


# --- the pictures


@pytest.mark.parametrize("name", EXPLAINERS)
def test_every_panel_can_be_driven(name, capsys):
    Panel(explainer(name)).drive()
    assert "refused" not in capsys.readouterr().out


@pytest.mark.parametrize("name", EXPLAINERS)
def test_the_code_to_paste_runs(name, capsys):
    for state in ({}, {"build": "port"} if name != "what_a_camera_sees" else {"rate": 30}):
        exec(explainer(name)(**state).code, {})
        assert capsys.readouterr().out.strip()


def test_arrows_have_true_angles_and_add_up():
    from boxlab.draw.figures import draw

    scene = explainer("phasors")(tone=30, moment=0.2)
    plot = scene.plots[0]
    tips = {line.role: complex(line.x[1], line.y[1]) for line in plot.lines[1:]}
    assert tips["cone"] + tips["vent"] + tips["leak"] == pytest.approx(tips["sum"])
    assert tips["rear"] == pytest.approx(-tips["cone"])
    figure = draw(scene)
    figure.canvas.draw()
    corner, across, up = figure.axes[0].transData.transform([(0, 0), (10, 0), (0, 10)])
    assert across[0] - corner[0] == pytest.approx(up[1] - corner[1])
    # the shadow on the level axis is the flow now
    wave = next(line for line in scene.plots[1].lines if line.role == "vent")
    assert np.interp(0.2, wave.x, wave.y) == pytest.approx(tips["vent"].real, rel=1e-3)


# --- the exercises


def test_forgetting_that_a_film_runs_backwards_is_recognised():
    n = SimpleNamespace(rate=30, tone=29, nearest=30, lead=92)
    assert tasks.film.check("-92", n, step=3).right
    said = tasks.film.check("92", n, step=3)
    assert not said.right and "runs backwards" in said.message
    assert tasks.film.check("1", n, step=1).right is False
    assert tasks.set_rate.check("35.5", SimpleNamespace(fb=36, seconds=2)).right
    late = tasks.late.check("6.94", SimpleNamespace(fb=36, lead=90))
    assert not late.right and "early" in late.message
    assert tasks.late.check("20.83 ms", SimpleNamespace(fb=36, lead=90)).right


def test_a_sealed_box_has_nothing_to_compare():
    assert np.isnan(phase_at_tuning(TEN_INCH_DRIVER, SealedBox(litres(14))))
