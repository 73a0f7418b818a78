"""What the lesson "power and wiring" says, asked of the library."""

import re

import numpy as np
import pytest
from said import about, claim

from boxlab import solve
from boxlab.car import power
from boxlab.car.ampacity import (
    CLOSED,
    GAUGES_75,
    HOTTEST,
    METRIC_70,
    ON_SALE,
    RACEWAY_75,
    TABLE_AMBIENT,
    ampacity,
    size_cable,
)
from boxlab.car.cable import (
    COPPER,
    NEAR,
    PER_KELVIN,
    awg_area,
    awg_cables,
    cable_by_drop,
    check_fuse,
    supply_current,
)
from boxlab.car.wiring import Amplifier, networks
from boxlab.explainers import _music as music
from boxlab.explainers import explainer
from boxlab.model.coil_heat import usual_heat
from boxlab.model.limits import max_output
from boxlab.model.warm_coil import warmed
from boxlab.quiz.exercises import power_and_wiring as tasks
from boxlab.sound import programme
from boxlab.sound.hearing import weighting

RATING, LOAD = 300.0, 2.0
AMP = Amplifier({2: RATING, 4: 180})
DRIVER, BOX = music.driver_of(LOAD), music.box_of("radiator")
METER = explainer("meter_on_music")


def reading(crest=12.0, past=0.0, window=0.3, build="radiator", hotter=0.0):
    volts = music.at_the_rails(crest, RATING, LOAD, past)
    return music.read(music.driver_of(LOAD, hotter=hotter), music.box_of(build), volts, window)


# The meter


def test_300_watts_read_as_25():
    got = reading()
    claim("About {} W ¶ No: {} or {} Ω ¶ The cone's travel", got.average,
          *(n.load for n in networks(4, coils=2)))  # fmt: skip
    claim("between the rails at ±{} V. Fourth plot", np.abs(got.volts).max())
    claim("over the whole loop, between nothing and {} W, with the rating of {} W",
          got.highest, RATING)  # fmt: skip
    assert got.watts.max() == pytest.approx(427, abs=1)


def test_music_and_box_multiply():
    line = programme.spectrum_of(music.line_of(12))
    radiator, sealed = (
        power.on_programme(DRIVER, music.box_of(build), AMP, LOAD, line)
        for build in ("radiator", "sealed")
    )
    by_crest = radiator.by_crest
    assert by_crest == pytest.approx(sealed.by_crest)
    assert by_crest == pytest.approx(2 / (10 ** (12 / 20)) ** 2, rel=0.01)
    claim("At {} dB of crest its average is {} % of a full sine's, into a resistor: {} W",
          12, 100 * by_crest, by_crest * RATING)  # fmt: skip
    whole = (20 * np.log10(factor) for factor in (2, 4, 8))  # plain ratios, so easy at a board
    claim("Do 2/CF² at the board for {}, {} and {} dB", *whole)
    claim("a plain ratio: {} dB is {}, so {} %", 12, 10 ** (12 / 20), 100 * by_crest)
    claim("Of what a resistor would take this box takes {} %", 100 * radiator.share / by_crest)
    claim("right among these notes, takes {} %", 100 * sealed.share / by_crest)
    sine, least, most = (20 * np.log10(factor) for factor in (np.sqrt(2), 4, 10))
    claim("in dB: {} dB for a sine, usually {} to {} dB for music", sine, least, most)
    claim(
        "Crest factors of music, {} to {} dB: factors of {} to {} in the glossary of Hansen Media; "
        "the sine's {} dB",
        least,
        most,
        4,
        10,
        sine,
    )


def test_the_two_ways_to_the_average_agree():
    for build in music.BUILDS:
        line = programme.spectrum_of(music.line_of(12))
        by_lines = power.on_programme(DRIVER, music.box_of(build), AMP, LOAD, line)
        assert reading(build=build).average == pytest.approx(by_lines.average, rel=1e-4)
        both = music.averages(DRIVER, music.box_of(build), music.at_the_rails(12, RATING, LOAD))
        assert both == pytest.approx((by_lines.average, by_lines.heat), rel=1e-4)


def test_other_meters_say_other_things():
    got = reading()
    claim("Volts squared over the label says {} W. Volts times amperes, from two meters, says {} W",
          np.mean(got.volts**2) / LOAD, got.apparent)  # fmt: skip
    claim("for an instant {} W really do pass", got.watts.max())
    claim("Why does my 300 W amplifier show {} W?", got.average)
    claim("A 300 W amplifier that shows {} W on music", got.average)
    claim("So {} W become {} W", RATING, got.average)
    claim("It says {} watts into two ohms", RATING)
    claim("that shows 25 W on music, or does not pass {} W", RATING / 2)
    claim("That it meets the {} W of the claim so well is luck", RATING / 2)


def test_where_half_the_rating_comes_from():
    squeezed = reading(crest=6.0)
    claim(
        "Set the crest factor to {} dB, as in test noise or in a track squeezed flat. Then the {} "
        "s meter goes up to {} W, and the average is {} W",
        6,
        0.3,
        squeezed.highest,
        squeezed.average,
    )
    assert reading(past=6).highest == pytest.approx(153, abs=0.5)
    assert reading(past=12).average == pytest.approx(151, abs=0.6)
    both = reading(crest=9.0, past=6)
    assert (round(both.average), round(both.highest)) == (148, 264)


@pytest.mark.parametrize("crest", [7, 9, 12, 15, 18])
@pytest.mark.parametrize("build", music.BUILDS)
def test_no_unclipped_music_reaches_half_the_rating(crest, build):
    assert reading(crest=float(crest), build=build).highest < RATING / 2


def test_noise_and_a_hot_coil():
    watts = [
        power.on_programme(DRIVER, BOX, AMP, LOAD, spectrum).average
        for spectrum in (programme.pink_noise(), programme.programme_noise())
    ]
    claim("average {} W (pink, 20 to 200 Hz) and {} W", *watts)
    claim("a hot coil takes less: {} K above room temperature", 100)
    claim("its resistance is {} % up, and the average falls from {} W to {} W",
          100 * (warmed(DRIVER, 100).re / DRIVER.re - 1), reading().average,
          reading(hotter=100.0).average)  # fmt: skip


@pytest.mark.parametrize(("crest", "share"), [(9, 0.25), (12, 0.13), (18, 0.032)])
def test_crest_leaves_a_few_per_cent_to_a_quarter(crest, share):
    got = power.on_programme(DRIVER, BOX, AMP, LOAD, programme.pink_noise(crest=crest))
    assert got.by_crest == pytest.approx(share, abs=0.005)
    assert got.share < got.by_crest


def test_a_coil_warms_in_seconds_and_a_magnet_in_many_minutes():
    claim("a real one warms with the music, in seconds, and its magnet in many minutes")
    found = usual_heat(DRIVER)
    for heat_of in (found.low, found.high):
        assert heat_of.coil_time < 60 and heat_of.magnet_time >= 600


def test_load_does_not_matter_where_the_rating_follows_it():
    assert METER(load="4 Ω").readout[0].replace("4 Ω", "2 Ω") == METER().readout[0]


# Coils


def test_two_coils_of_four_ohms_never_make_four():
    low, high = (n.load for n in networks(4, coils=2))
    claim("Two of 4 Ω: {} or {} Ω, never 4", low, high)
    claim("Two coils of {} Ω make {} or {} Ω, never {}", 4, low, high, 4)
    claim("Series adds: {} Ω", high)
    claim("Parallel divides: {} Ω. Four ohms would need coils of {} or of {} Ω", low, 4 / 2, 4 * 2)
    assert 4.0 in [n.load for n in networks(4, coils=2, drivers=2)]
    for coil in (2, 8):
        assert 4.0 in [n.load for n in networks(coil, coils=2)]


def test_the_label_is_one_point_of_a_curve():
    z = np.abs(solve(DRIVER, BOX, np.geomspace(10, 200, 321)).impedance)
    claim("it swings from {} to {} Ω around a label of 2 Ω", z.min(), z.max())


def test_below_the_least_load_the_panel_refuses_in_words():
    wired = explainer("coil_wiring")
    refused = wired(coil="2 Ω", way="all in parallel")
    assert "do not connect it" in refused.readout[0]
    assert "least rated load of 2 Ω" in refused.warnings[0]
    assert "rated 1000 W" in wired(least="4 Ω", coil="8 Ω", at_least=1000).readout[0]


# Heat and travel


def test_thirty_hertz_is_travel():
    limits = power.power_limits(DRIVER, BOX, [30.0])
    assert limits.stops[0] == "excursion"
    claim(
        "The {} W driver (radiator box, {} Hz) on {} W, a steady note at {} Hz. What stops it",
        DRIVER.pe,
        BOX.tuning(),
        RATING,
        30,
    )
    claim("At 30 Hz {} W are enough", limits.excursion_power[0])
    assert limits.heat_power[0] == pytest.approx(597, abs=1)
    assert solve(DRIVER, BOX, [30.0], np.sqrt(600)).power[0] == pytest.approx(100, abs=0.6)
    sealed = power.power_limits(DRIVER, music.box_of("sealed"), [30.0])
    claim("the same driver stands {} W at 30 Hz", sealed.excursion_power[0])


def test_travel_low_heat_high_and_heat_at_the_tuning():
    f = np.geomspace(15, 150, 241)
    limits = power.power_limits(DRIVER, BOX, f)
    claim("From about {} Hz up it is the other way", about(limits.changeover[-1], 0.01))
    assert set(limits.stops[f < 40]) == {"excursion"} and set(limits.stops[f > 91]) == {"heat"}
    low, high = 20, 100
    claim("Walk the cursor from {} to {} Hz", low, high)
    claim("At {} Hz you would be right, given a larger amplifier", high)
    assert list(power.power_limits(DRIVER, BOX, [low, high]).stops) == ["excursion", "heat"]
    assert limits.stops[np.argmin(np.abs(f - 45))] == "heat"


def level_at_the_tuning():
    return max_output(DRIVER, BOX, [45.0], power=RATING, load=LOAD).spl[0]


def test_level_at_the_tuning():
    claim("makes more than {} dB at 1 m at its tuning", np.floor(level_at_the_tuning()))
    assert weighting(45.0) < -30  # what dBA hides of it


# Clipping


def heat(past, crest=12.0, rating=RATING):
    return music.averages(DRIVER, BOX, music.at_the_rails(crest, rating, LOAD, past))[1]


def test_ten_decibels_past_clip_is_five_times_the_heat():
    assert (round(heat(0)), round(heat(10))) == (19, 95)
    assert heat(10) / heat(0) == pytest.approx(5.0, abs=0.05)
    claim("gets {} W instead of {}", heat(0, rating=3000.0), heat(10))
    claim("takes {} W in place of {}", 10 * RATING, RATING)


def test_clipping_is_hardly_dc_and_little_treble():
    cut = power.clip(music.line_of(12), 10)
    lines = music.powers(cut)
    f = np.fft.rfftfreq(cut.size, 1 / programme.RATE)
    assert lines.sum() == pytest.approx(np.mean(cut**2))
    assert lines[0] / lines.sum() < 1e-4
    claim("about {} % lies above 225 Hz", 100 * lines[f > 225].sum() / lines.sum())


def test_towards_twice_the_rating():
    sine = np.sin(2 * np.pi * np.arange(1000) / 100)
    assert power.clipping(sine, 6).sine > 1.5
    assert power.clipping(sine, 40).sine == pytest.approx(2, abs=0.05)


def test_a_small_amplifier_in_hard_clip():
    small = heat(16, rating=100.0)
    claim("100 W, 16 dB past, makes {} W of heat, {} times",
          small, small / heat(0, rating=100.0))  # fmt: skip
    assert heat(12.5, crest=9.0) < 200 < heat(13.5, crest=9.0)
    claim("over its rating from about {} dB past clip", 13)


def test_panel_of_clipping_says_the_same():
    scene = explainer("clipping_and_heat")()
    bands = scene.plots[2].lines[0].x
    claim("third-octave levels, {} to {} Hz, clean and clipped", bands.min(), bands.max())
    assert "At clip 19 W heat the coil; 10 dB past it 95 W" in scene.readout[0]
    assert "takes 3000 W of rating, and 188 W of heat" in scene.readout[3]
    burnt = explainer("clipping_and_heat")(crest=9.0, overdrive=14)
    assert "more than the 200 W" in burnt.warnings[0]


# Supply


def test_cable_for_500_watts():
    current = supply_current(500)
    assert current == pytest.approx(48.3, abs=0.05)
    by_gauge = {c.label: c.drop(current, 5) for c in awg_cables()}
    assert by_gauge["4 AWG"] < 0.5 < by_gauge["6 AWG"]
    claim("the loss is {} of a volt", about(by_gauge["0 AWG"], 0.08))
    four = size_cable(current, 5, 0.5, ON_SALE["AWG"])
    assert four.label == "4 AWG"
    area = 1e6 * awg_area(4)
    claim("{} AWG ({} mm²) ¶ About", 4, area)
    claim(
        "{} W at {} % draw {} A: over {} m half a volt of loss takes {} AWG ({} mm²); over half a "
        "metre the heat behind a {} A fuse still takes {} AWG",
        500,
        75,
        current,
        5,
        4,
        area,
        60,
        *map(float, re.findall(r"^(\d+) AWG", explainer("cable_and_fuse")(length=0.5).title)),
    )
    claim("length of 10 and of {} AWG", 4)
    claim("Cable of 10 and of {} AWG ({} and {} mm²)", 4, 1e6 * awg_area(10), area)
    claim("$\\rho$ of copper, {} Ω·mm²/m", 1e6 * COPPER)
    assert by_gauge["10 AWG"] > 1.5
    assert size_cable(current, 5, 0.5, ON_SALE["mm²"]).label == "25 mm²"
    assert cable_by_drop(current, 1, 0.5, ON_SALE["AWG"]).label == "10 AWG"
    claim("over 1 m the drop alone would be content with 10 AWG")
    claim("The drop is for {} A over 5 m and back", current)


def test_what_10_awg_may_carry_and_what_a_fuse_of_60_amperes_asks_for():
    ten = next(c for c in awg_cables() if c.label == "10 AWG")
    bears, warm = 70, 50
    warm_f = 32 + 1.8 * warm
    claim("take {} °C ({} °F); in a car that stood in the sun, take {} °C",
          bears, 32 + 1.8 * bears, warm)  # fmt: skip
    claim("take {} °C ({} °F). Then 10 AWG may carry {} A, and behind a fuse of 60 A heat asks for "
          "{} AWG", warm, warm_f, ampacity(ten, bears, warm), 6)  # fmt: skip
    claim("with {} °C ({} °F) insulation at {} °C ({} °F), in free air",
          bears, 32 + 1.8 * bears, warm, warm_f)  # fmt: skip
    near = explainer("cable_and_fuse")(length=0.5)
    assert near.title.startswith("6 AWG behind 60 A") and "Heat decides" in near.readout[1]


def test_standards_of_copper_and_cable():
    """As published. IEC 60028 (from memory): 58 MS/m and 0.393 % per kelvin, at 20 °C."""
    siemens, share, kelvin = 58, 0.393, 20
    assert pytest.approx(1 / (siemens * 1e6)) == COPPER and pytest.approx(share / 100) == PER_KELVIN
    claim("copper at {} MS/m and {} % per kelvin", siemens, share)
    claim("solid annealed copper at {} °C ({} °F)", kelvin, 32 + 1.8 * kelvin)
    gauge, metric = (
        next(c for c in ON_SALE[f] if c.label == n)
        for f, n in (("AWG", "4 AWG"), ("mm²", "25 mm²"))
    )
    assert ampacity(gauge, 75, TABLE_AMBIENT) == pytest.approx(
        GAUGES_75["4"]
    )  # the table's own insulation
    assert ampacity(gauge, 75, TABLE_AMBIENT, laid=CLOSED) == pytest.approx(RACEWAY_75["4"])
    assert ampacity(metric, 70, TABLE_AMBIENT) == pytest.approx(METRIC_70[25])
    claim(
        "chapter 3 (gauges, {} °C); DIN VDE 0298-4, Table 11 (mm², {} °C); closed in, NEC 2023, "
        "Table 310.16 ({} °C). Checked against 33 CFR 183.425, Table 5 ({} °C)",
        75,
        70,
        75,
        HOTTEST,
    )
    boats, trailers = NEAR / 0.0254, 18  # NEC 552.10(E)(4)
    claim("33 CFR 183.455 ({} in, boats), NEC 552.10(E)(4) ({} in, park trailers)", boats, trailers)
    claim(
        "allow {} to {} in ({} to {} mm) of cable before it",
        boats,
        trailers,
        25.4 * boats,
        25.4 * trailers,
    )


def test_closed_in_a_cable_carries_about_a_third_less():
    for cable in ON_SALE["AWG"]:
        left = ampacity(cable, laid="closed in") / ampacity(cable)
        assert 1 - left == pytest.approx(1 / 3, abs=0.05)


def test_heat_in_a_metre_of_cable():
    current = supply_current(500)
    cables = {c.label: c for c in awg_cables()}
    watts = [current**2 * cables[label].per_metre for label in ("10 AWG", "4 AWG")]
    claim("in which {} A make {} W of heat in each metre; in 4 AWG they make {} W",
          current, *watts)  # fmt: skip


def test_fuse_above_the_cable_is_refused():
    with pytest.raises(ValueError, match="the cable burns"):
        check_fuse(120, 100, 48)
    scene = explainer("cable_and_fuse")(fuse=250)
    claim("Set the fuse to {} A in the panel", 250)
    assert scene.title.startswith("No cable listed holds")
    assert "may carry what a fuse of 250 A lets through" in scene.warnings[0]
    assert any("next to the battery" in note for note in check_fuse(60, 100, 48))


def test_ways_of_the_readout_to_refuse():
    assert "would open in use" in explainer("cable_and_fuse")(power=1000).warnings[0]
    starved = explainer("cable_and_fuse")(power=1200, length=8, drop=0.1, fuse=150)
    assert "No cable" in starved.warnings[0]
    assert starved.readout[0].endswith("no single cable listed here holds behind a fuse of 150 A.")


# Predictions and exercises


def test_cable_exercise_against_the_formula():
    n = tasks.cable.numbers("demo")
    amperes = n.power / (13.8 * 0.75)
    area = amperes * 2 * n.length / 58 / n.drop  # copper at 58 MS/m, mm²
    assert tasks.cable.blanks[2].answer(n) == pytest.approx(area)


@pytest.mark.parametrize("word", ["demo", "ada", "bo", "cy", "di", "eve"])
def test_the_cable_of_the_exercise_holds_by_its_own_list(word):
    n = tasks.cable.numbers(word)
    text = tasks.cable.prompt(n)
    fuse = float(re.search(r"The fuse will be (\S+) A", text)[1])
    listed = [
        (float(area), float(amperes))
        for area, amperes in re.findall(r"\((\d[\d.]*) mm²\) (\d+) A", text)
    ]
    least = n.power / (13.8 * 0.75) * 2 * n.length / 58 / n.drop
    want = min(area for area, amperes in listed if area >= least and amperes >= fuse)
    assert tasks.cable.blanks[3].answer(n) == pytest.approx(want)


@pytest.mark.parametrize("word", ["demo", "ada", "bo", "cy", "di", "eve"])
def test_the_cable_of_the_fuse_exercise_may_carry_what_is_said(word):
    n = tasks.fuse.numbers(word)
    cable = next(c for c in awg_cables() if c.label == n.cable)
    assert n.power / (13.8 * 0.75) <= tasks.fuse.answer(n) <= n.rating <= ampacity(cable)
