"""What the lesson "how loud, how long" says, asked of the library."""

import re

import numpy as np
import pytest

from boxlab.base.units import litres, mm
from boxlab.explainers import bass_line_through_boxes as through
from boxlab.explainers import explainer
from boxlab.explainers.how_long_at_this_box import BANDS, PLACES, PROGRAMMES, at_seat, both
from boxlab.gear.demo_listening import box_of, shelf, small_speaker
from boxlab.gear.scenario import RADIATORS, TEN_INCH_DRIVER
from boxlab.model.enclosure import RadiatorBox
from boxlab.model.limits import max_output
from boxlab.model.response import solve
from boxlab.quiz.exercises import how_loud_how_long as tasks
from boxlab.sound.hearing import HOUR, NIOSH, OSHA, allowed_time, clock, dose, threshold, weighting
from boxlab.sound.listening import audition, loudness, sweep
from boxlab.sound.players import Players
from boxlab.sound.programme import E1, NOTES, bass_line

START = ("ten-inch", "radiator", PLACES[0], PROGRAMMES[0], 2.6)
SEAT = at_seat(*START)


# What dBA leaves out


def test_a_hides_35_db_at_40_hz():
    # IEC 61672-1, table at the exact centre 39.81 Hz: A −34.6, C −2.0.
    assert -weighting(40) == pytest.approx(34.6, abs=0.1)
    assert 120 + weighting(40) == pytest.approx(85.5, abs=0.05)
    assert 120 + weighting(40, "C") == pytest.approx(118.0, abs=0.05)
    said = explainer("what_dba_hides")()
    assert said.readout[0].startswith("120 dB at 40 Hz reads 85.5 dBA and 118.0 dBC")
    assert "7 h 11 min by the dBA reading; by the dBC reading it would be 14 s" in said.readout[1]
    assert weighting(100) == pytest.approx(-19, abs=0.5)


def test_the_two_times_meet_at_1_khz_and_part_below():
    times = explainer("what_dba_hides")(level=85.0).plots[1].lines
    by_a, by_c = times[0].y, times[1].y
    f = times[0].x
    assert by_a[f.searchsorted(1000)] == pytest.approx(by_c[f.searchsorted(1000)], rel=0.02)
    assert (by_a[f < 500] > 1.5 * by_c[f < 500]).all()
    assert "no table" in explainer("what_dba_hides")(frequency=15.0).warnings[0]


def test_the_wrong_options_are_what_they_are_said_to_be():
    assert 120 + weighting(100) == pytest.approx(100, abs=1)
    assert allowed_time(97) == 30 * 60
    assert allowed_time(100) == 15 * 60
    assert allowed_time(100, OSHA) == 2 * HOUR


def test_peak_limit_of_140_dbc_is_a_tone_of_138_6_db():
    level = 140 - 10 * np.log10(2) - weighting(45, "C")
    assert level == pytest.approx(138.6, abs=0.05)
    competition = explainer("what_dba_hides")
    assert "reads 107.8 dBA" in competition(**competition.presets["competition"]).readout[0]
    # A single ten-inch box stays below it: loudest tone, in the tight cabin.
    lift = SEAT.high - SEAT.mid
    loud = max_output(
        TEN_INCH_DRIVER, box_of("radiator"), SEAT.frequency, power=300, load=TEN_INCH_DRIVER.re
    ).spl
    outdoors = at_seat("ten-inch", "radiator", PLACES[1], PROGRAMMES[0], 2.6).mid
    seat = loud + (SEAT.mid - outdoors) + lift
    heard = SEAT.frequency > 20
    assert (seat + 3.01 + weighting(SEAT.frequency, "C"))[heard].max() < 138


def test_a_tenth_of_a_volt_passes_the_threshold_at_40_hz():
    assert threshold(40) == pytest.approx(51.1)
    assert solve(TEN_INCH_DRIVER, box_of("radiator"), 40.0, 0.1).spl.item() > threshold(40)


# The rules


def test_eight_hours_at_82_dba_use_half_of_niosh():
    assert dose(82, 8 * HOUR) == pytest.approx(50)
    assert dose(70, 8 * HOUR) == 0
    day = explainer("how_long_is_allowed")
    assert day().readout[0].startswith("This day makes 250 % of the allowance by NIOSH and 58 %")
    assert "7 min 30 s left by NIOSH and 1 h 20 min left by OSHA" in day().readout[2]
    assert "15 min left by NIOSH" in day(other=70.0).readout[2]
    assert "100 %" in day(**day.presets["a drive home"]).readout[0]


def test_a_demonstration_of_ten_minutes_at_90_dba():
    assert dose(90, 10 * 60) == pytest.approx(7, abs=0.5)


def test_niosh_is_the_stricter_from_78_dba_up():
    levels = np.arange(78, 120)
    assert (allowed_time(levels) < allowed_time(levels, OSHA)).all()
    assert allowed_time(77) > allowed_time(77, OSHA)


def test_three_decibels_are_half_the_time_for_the_same_energy():
    energy = allowed_time(np.array([85.0, 88, 100])) * 10 ** (np.array([85.0, 88, 100]) / 10)
    assert energy == pytest.approx(energy[0], rel=0.02)


def test_dose_curve_ends_at_the_dose():
    plot = explainer("how_long_is_allowed")(minutes=60.0).plots[1]
    for line, rule in zip(plot.lines, (NIOSH, OSHA), strict=True):
        assert line.y[-1] == pytest.approx(dose([82, 100], [8 * HOUR, HOUR], rule))


# This box in a cabin


def test_allowed_time_at_the_level_of_this_box():
    box = explainer("how_long_at_this_box")
    assert "105 dB, which reads 88.7 dBA and 103.6 dBC" in box().readout[0]
    assert "NIOSH allows 3 h 24 min and OSHA 9 h 35 min" in box().readout[1]
    assert "3 h 50 min" in box(drive=5.0).readout[1] and "24 min" in box(drive=5.0).readout[1]
    assert "2 h 53 min" in box(drive=15.0).readout[1] and "2 min 56 s" in box(drive=15.0).readout[1]
    assert 20 * np.log10(15 / 5) == pytest.approx(9.5, abs=0.05)
    assert box().warnings == ()


def test_muting_the_bass_hardly_moves_the_dba_reading():
    box = explainer("how_long_at_this_box")()
    assert "falls by 0.7 dB, to 88; the level itself falls by 17 dB" in box.readout[2]
    assert SEAT.reading(10, "A") < 88 < SEAT.reading(10, "C")


def test_the_reading_is_that_of_the_solved_box():
    """Independent: solve each line at its own voltage, add powers, then the cabin's lift."""
    from boxlab.car.vehicle import Cabin, cabin_lift
    from boxlab.sound.programme import spectrum_of

    sent = spectrum_of(bass_line())
    lift = cabin_lift(Cabin(), sent.frequency).mid
    spl = [
        solve(TEN_INCH_DRIVER, box_of("radiator"), f, 10 * np.sqrt(share)).spl.item()
        for f, share in zip(sent.frequency[::50], sent.share[::50], strict=True)
    ]
    assert SEAT.mid[::50] + 20 == pytest.approx(np.array(spl) + lift[::50])
    power = 10 ** ((SEAT.mid + 20 + weighting(SEAT.frequency)) / 10)
    assert SEAT.reading(10, "A") == pytest.approx(10 * np.log10(power.sum()))


def test_third_octaves_hold_all_of_the_bass():
    whole = 10 * np.log10(np.sum(10 ** (SEAT.bands(10) / 10)))
    assert whole == pytest.approx(SEAT.reading(10, "Z"), abs=0.05)
    assert BANDS[np.argmax(SEAT.bands(10))] == pytest.approx(50, abs=1)


def test_two_readings_together():
    assert both(80, 80) == pytest.approx(83.01, abs=0.01)
    assert both(80, -100) == pytest.approx(80)


def test_pushing_past_limits_is_said():
    box = explainer("how_long_at_this_box")
    assert "without clipping" in box(drive=30.0).warnings[0].lower()
    assert any(
        "Xmax" in note for note in box(size="eight-inch", drive=30.0, build="sealed").warnings
    )
    assert any("115 dBA" in note for note in explainer("how_long_is_allowed")(level=118.0).warnings)


def test_a_setting_at_which_muting_does_move_the_reading():
    box = explainer("how_long_at_this_box")(drive=15.0, rest=80.0)
    fall = float(re.search(r"falls by ([\d.]+) dB", box.readout[2]).group(1))
    assert fall == pytest.approx(6, abs=1)


# What it sounds like


def test_notes_of_the_line():
    assert through.TONES[0] == pytest.approx(36.7, abs=0.05)
    assert through.TONES[-1] == pytest.approx(61.7, abs=0.05)
    # ISO 16: A4 is 440 Hz. D1, E1, G1, A1 and B1 lie 43, 41, 38, 36 and 34 semitones below it.
    tempered = [440 * 2 ** (-steps / 12) for steps in (43, 41, 38, 36, 34)]
    assert list(through.TONES) == pytest.approx(tempered)
    assert {semitones for _, _, semitones in NOTES} == set(through.NAMES)


def test_matched_boxes_lie_close_together():
    tones = {b: through.matched("ten-inch", b, 14, 45, "C").tones for b in through.ORDER}
    apart = np.abs(tones["ported"] - tones["radiator"])
    assert apart[0] == pytest.approx(0.6, abs=0.05)
    assert (apart[1:] < 0.25).all()
    every = np.array(list(tones.values()))
    assert np.ptp(every, axis=0).max() == pytest.approx(2.0, abs=0.1)
    assert max(tones, key=lambda build: tones[build][0]) == "sealed"


def test_at_the_same_volts_it_is_another_story():
    now = {b: through.matched("ten-inch", b, 14, 45, "C") for b in through.ORDER}
    assert now["radiator"].loudness - now["sealed"].loudness == pytest.approx(2.5, abs=0.05)
    low = {b: now[b].tones[0] + now[b].loudness for b in now}
    assert low["radiator"] - low["sealed"] == pytest.approx(0.5, abs=0.1)
    assert max(low, key=low.get) == "ported"


def test_the_picture_is_of_what_is_played():
    """Independent: the fundamental's Fourier lines in the rendered sound, against the panel."""
    heard = audition(shelf(), rate=4000)
    levels = [loudness(sound, heard.rate, "C") for sound in heard.sounds.values()]
    assert np.ptp(levels) < 1e-9
    f = np.fft.rfftfreq(heard.sounds["sealed"].size, 1 / 4000)
    lines = {name: np.abs(np.fft.rfft(sound)) for name, sound in heard.sounds.items()}
    for k, tone in enumerate(through.TONES):
        at = np.abs(f - tone).argmin()
        for build in through.ORDER:
            played = 20 * np.log10(lines[build][at] / lines["as played"][at])
            drawn = through.matched("ten-inch", build, litres(14) * 1e3, 45, "C").tones[k]
            assert played == pytest.approx(drawn, abs=0.35)


def test_the_page_stays_small():
    heard = audition(shelf(), rate=4000)
    swept = audition(shelf(), sweep(20, 160, 3.0, rate=4000, rest=0.25), rate=4000)
    line = Players(heard, ("as played", "sealed", "radiator", "ported"), "A bass line")
    rise = Players(swept, ("sealed", "radiator"), "A sweep")
    assert line.size + rise.size < 300_000


def test_the_radiator_comes_in_later_and_faster():
    swept = audition(shelf(), sweep(20, 160, 3.0, rate=4000, rest=0.25), rate=4000)
    first = slice(400, 1000)  # 0.1 to 0.25 s: 21 to 24 Hz
    quiet = {n: np.sqrt(np.mean(swept.sounds[n][first] ** 2)) for n in ("sealed", "radiator")}
    assert quiet["sealed"] > 2 * quiet["radiator"]


def test_where_no_weights_reach_the_tuning_the_bare_radiator_is_drawn():
    scene = explainer("bass_line_through_boxes")(volume=40.0)
    bare = float(RadiatorBox(litres(40), RADIATORS["ten-inch"], ql=7.0).tuning())
    assert f"{bare:.1f} Hz" in scene.warnings[0]
    assert explainer("bass_line_through_boxes")().warnings == ()


# The small speaker


def test_a_laptop_plays_41_hz_at_the_threshold_of_hearing():
    top = max_output(small_speaker(), None, [E1], power=2, load=8, distance=0.5).spl.item()
    assert top == pytest.approx(threshold(E1), abs=1)
    # derived: the far field of a piston at its travel, p = ρSxω²/(2πr√2)
    p = 1.2041 * np.pi * 0.014**2 * 0.0006 * (2 * np.pi * E1) ** 2 / (2 * np.pi * 0.5 * np.sqrt(2))
    assert top == pytest.approx(20 * np.log10(p / 20e-6), abs=0.1)
    box = max_output(
        TEN_INCH_DRIVER, box_of("radiator"), [E1], power=300, load=TEN_INCH_DRIVER.re, distance=0.5
    ).spl.item()
    assert box - top == pytest.approx(61, abs=0.5)


def test_what_is_left_of_the_line_is_harmonics():
    laptop = explainer("what_a_small_speaker_loses")
    assert "loses 29 dB" in laptop().readout[1]
    assert "carry 79 %" in laptop().readout[2] and "9.3 % of what is left" in laptop().readout[2]
    desk = laptop(**laptop.presets["desk speaker"])
    assert "31 dB below the ten-inch box" in desk.readout[0]
    assert "loses 8 dB" in desk.readout[1]


def test_half_the_frequency_takes_four_times_the_travel():
    speaker = small_speaker()
    a, b = (solve(speaker, None, [f], 1.0) for f in (41.0, 82.0))
    per_metre = [r.spl[0] - 20 * np.log10(r.cone_excursion[0]) for r in (a, b)]
    assert np.diff(per_metre) == pytest.approx(20 * np.log10(4), abs=0.01)


# Predictions and exercises


def test_small_speaker_exercise_against_the_formula():
    n = tasks.small.numbers("demo")
    area, omega = np.pi * (n.cone / 2000) ** 2, 2 * np.pi * n.hertz
    p = 1.204 * area * mm(n.tenths / 10) * omega**2 / (2 * np.pi * 0.5 * np.sqrt(2))
    assert tasks.small.answer(n) == pytest.approx(20 * np.log10(p / 20e-6), abs=0.02)


def test_day_exercise_against_the_formula():
    n = tasks.day.numbers("demo")
    times = [480 / 2 ** ((level - 85) / 3) for level in (n.loud, n.rest)]
    whole = 100 * (n.minutes / times[0] + 60 * n.hours / times[1])
    assert tasks.day.blanks[2].answer(n) == pytest.approx(whole)
    assert clock(60 * times[0]).split()[0] in clock(60 * tasks.day.blanks[0].answer(n))
