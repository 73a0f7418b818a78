"""What the lesson "compare boxes fairly" says, asked of the library."""

from dataclasses import replace

import numpy as np
import pytest
from said import about, claim

from boxlab import cubic_feet, disc_area, mm, solve, to_cubic_feet
from boxlab.design.fair_comparison import CLOSE, stand
from boxlab.explainers import explainer
from boxlab.explainers.one_page import SPACES, contenders, footing_of
from boxlab.explainers.the_winner_changes import LOWS, by_lowest_note, leads
from boxlab.gear.demo_boxes import SHELF
from boxlab.gear.demo_sweeps import PORTED_BOX
from boxlab.quiz.exercises import compare_boxes as tasks
from boxlab.sound.hearing import allowed_time

FOOTING = footing_of(300, 30, 80, 2.83, 17)


def standing(name):
    return stand(SHELF[name].contender(name), FOOTING)


def test_three_footings_no_common_winner():
    got = {n: standing(n) for n in ("small radiator", "small sealed", "small ported")}
    radiator, sealed, ported = got.values()
    assert 0 < ported.at_voltage - radiator.at_voltage < 1
    lead = radiator.average - sealed.average
    assert radiator.average - ported.average == pytest.approx(lead, abs=0.1)
    _, until, stop = ported.stops[0]
    assert stop == "air speed"
    claim("the radiator leads both by {} dB on average: the port's air is at its limit up to {} Hz",
          lead, until)  # fmt: skip
    claim("At the weakest note, {} Hz, the sealed box leads by {} dB",
          sealed.weakest[0], sealed.weakest[1] - radiator.weakest[1])  # fmt: skip
    claim("On average the radiator leads by {} dB; at the weakest note", lead)
    litre = [1e3 * s.contender.space for s in got.values()]
    assert litre[0] == pytest.approx(litre[1])
    claim("the ported box was built larger, {} L against {} L outside", litre[2], litre[0])
    claim("Three boxes of about a cubic foot ({} L) outside", 1e3 * cubic_feet(1))
    for s in got.values():
        assert to_cubic_feet(s.contender.space) == pytest.approx(1, abs=0.1)


def test_the_claim_nobody_can_take_apart():
    radiator, sealed = standing("small radiator"), standing("small sealed")
    assert radiator.weakest[2] == "cone excursion"
    claim("\"From {} to {} Hz with {} W at {} Ω, the radiator box averages {} dB at {} m in half "
          "space, steady tones; its weakest note is {} Hz, {} dB, where the cone is at Xmax. It "
          "takes {} L outside. The sealed box of the same size: {} dB, and {} dB at {} Hz",
          FOOTING.low, FOOTING.high, FOOTING.amplifier.ratings[4], 4, radiator.average, 1,
          *radiator.weakest[:2], 1e3 * radiator.contender.space, sealed.average,
          sealed.weakest[1], sealed.weakest[0])  # fmt: skip
    claim("Comparing by ear at {} dB", about(radiator.average, 0.01))


def test_the_twin():
    found, _ = leads("small radiator", "two-ohm twin", 30, 300)
    assert found == pytest.approx((0, -3.0, -1.6, 0, -1.6), abs=0.05)
    volts, amplifier = -found[1], -found[2]
    claim(
        "Same voltage: {} dB. The twin draws twice the power at every note, up to {} W "
        "against {} W",
        volts,
        standing("two-ohm twin").watts,
        standing("small radiator").watts,
    )
    claim(
        "| {} dB at the same voltage, less with one amplifier, nothing where travel is used up",
        volts,
    )
    claim("Half the coil resistance is {} dB at the same voltage", volts)
    claim("Half the resistance: {} the power, {} dB, from the same setting", 2, 10 * np.log10(2))
    ratings = [n for load in (4, 2) for n in (FOOTING.amplifier.ratings[load], load)]
    claim("Both get the same amplifier: {} W at {} Ω, {} W at {} Ω", *ratings)
    claim("Same amplifier, {} W at {} Ω and {} W at {} Ω: {} dB on average", *ratings, amplifier)
    claim("That an amplifier gives about {} times its {} Ω power at {} Ω",
          ratings[2] / ratings[0], ratings[1], ratings[3])  # fmt: skip
    for name in ("small radiator", "two-ohm twin"):
        hertz, _, stop = standing(name).weakest
        assert (hertz, stop) == (pytest.approx(30), "cone excursion")
        assert standing(name).stops[1][0::2] == (pytest.approx(30, abs=0.3), "radiator excursion")


def test_the_twin_draws_twice_the_power_at_every_note_and_never_more_than_said():
    f = np.geomspace(20, 200, 60)
    watts = {}
    for name in ("small radiator", "two-ohm twin"):
        c = SHELF[name].contender(name)
        watts[name] = np.real(2.83**2 / solve(c.driver, c.box, f, 2.83).impedance)
        assert watts[name].max() < standing(name).watts
    assert watts["two-ohm twin"] == pytest.approx(2 * watts["small radiator"], rel=0.01)


def test_current_and_power_of_the_amplifier():
    volts = {load: FOOTING.amplifier.voltage(load) for load in (4, 2)}
    claim("the price is {} times the current", (volts[2] / 2) / (volts[4] / 4))
    assert FOOTING.amplifier.ratings == pytest.approx({4: 300, 2: 480})
    watts = FOOTING.amplifier.ratings
    assert 10 * np.log10(watts[2] / watts[4]) == pytest.approx(2, abs=0.05)  # the option "2 dB"


def test_radiator_or_sealed_by_the_lowest_note():
    _, weakest = by_lowest_note("small radiator", "small sealed", 300)
    begins, ends = LOWS[weakest > -CLOSE][0], LOWS[weakest >= CLOSE][0]
    claim("the sealed one leads if the band begins below {} Hz, it is a draw up to {} Hz, and the "
          "radiator leads above", begins, ends)  # fmt: skip
    assert (np.diff(weakest[(begins - 3 < LOWS) & (ends + 3 > LOWS)]) > 0).all()
    claim("crosses from one side of the draw to the other between {} and {} Hz",
          (begins - 2.5, begins), (ends, ends + 1.5))  # fmt: skip


def test_a_lead_under_a_decibel_is_called_a_draw_in_every_place():
    claim('Under {} dB say "a draw"', CLOSE)
    claim("A lead under {} dB counts as a draw", CLOSE)
    claim("is why a lead under {} dB is called a draw here", CLOSE)
    claim("A lead under {} dB is a draw", CLOSE)
    claim("The uncertainties of the fits are far below {} dB in level", CLOSE)
    claim("the louder box wins nearly every time, even by {} dB", CLOSE)


def test_small_and_large():
    found, (problem,) = leads("small radiator", "large ported", 30, 300)
    small, large = standing("small radiator"), standing("large ported")
    room = 1e3 * large.contender.space
    assert np.isnan(found[4]) and "cannot be built in 26 L" in problem
    claim("has a twelve-inch driver and takes {} L (3.2 ft³) outside, {} times what the small "
          "radiator box takes. It leads on every footing so far: {} dB at the same voltage, {} dB "
          "at the weakest note", room, large.contender.space / small.contender.space, -found[1],
          -found[3])  # fmt: skip
    claim("Build that large ported design into the {} L (0.9 ft³) of", 1e3 * small.contender.space)
    claim("A driver and a port for {} L do not shrink with the box", room)
    volumes = large.contender.box.volume / small.contender.box.volume
    assert volumes == pytest.approx(4, abs=0.3)
    claim("a box of {} times the net volume may be {} dB louder", volumes, 10 * np.log10(volumes))
    claim("Twice the volume at the same $f_3$ is worth {} dB", 10 * np.log10(2))
    claim("head start: {} dB for each doubling of volume", 10 * np.log10(2))
    claim("the frequency at which the response has fallen {} dB, Hz", 10 * np.log10(2))
    assert large.f3 < small.f3


def test_in_one_space_all_take_that_space():
    boxes = contenders(["small radiator", "small sealed", "small ported"], SPACES[1])
    assert {round(1e6 * c.space) for c in boxes} == {26000}


def test_what_an_error_in_area_or_stop_is_worth():
    c = SHELF["small sealed"].contender("x")
    claim(
        "{} % in cone area is up to half a decibel, and an Xmax stated {} times as large is {} dB",
        5,
        1.4,
        20 * np.log10(1.4),
    )
    more = replace(c.driver, sd=c.driver.sd * 1.05)
    gap = solve(more, c.box, [40, 60, 80]).spl - solve(c.driver, c.box, [40, 60, 80]).spl
    assert (np.abs(gap) < 0.5).all() and gap.max() > 0.4


def test_width_of_the_demo_port():
    wide = 1e3 * np.sqrt(4 * PORTED_BOX.port.area / np.pi)
    claim("the port's width ({} mm, {} in) added by hand", wide, wide / 25.4)
    assert disc_area(mm(87)) == pytest.approx(PORTED_BOX.port.area, rel=0.01)


def test_space_of_the_swept_boxes():
    """26 L and 48 L outside hold what the class's boxes hold, to an eighth, in 18 mm board."""
    from boxlab.gear.demo_sweeps import RADIATOR_BOX

    assert SHELF["small radiator"].box(26).volume == pytest.approx(RADIATOR_BOX.volume, rel=0.12)
    ported = replace(SHELF["small ported"], size="ten-inch", fb=32, port=87).box(48)
    assert ported.volume == pytest.approx(PORTED_BOX.volume, rel=0.10)


def test_the_eight_inch_can_keep_up_in_a_higher_band():
    high = footing_of(300, 40, 80, 2.83, 17)
    names = ("eight-inch radiator", "small sealed", "small ported")
    eight, *others = (stand(SHELF[n].contender(n), high) for n in names)
    for measure in (lambda s: s.at_voltage, lambda s: s.average, lambda s: s.weakest[1]):
        assert measure(eight) > min(measure(s) for s in others)


def test_a_quarter_of_an_hour_at_100_dba():
    claim("By the NIOSH rule {} dBA is {} of an hour a day", 100, allowed_time(100) / 3600)


def test_the_reasons_say_what_is_called_right():
    assert (
        "voltage −3.0 dB; same amplifier −1.6 dB; at the weakest note 0.0 dB"
        in tasks.answer("twin")["because"]
    )
    assert "cannot be built" in tasks.answer("space")["because"]
    said = tasks.answer("weakest")["because"]
    assert said == "Same voltage: a draw; amplifier: small radiator; weakest note: small sealed."


@pytest.mark.parametrize("name", ["one_page", "the_winner_changes"])
def test_the_same_box_twice_is_refused_in_words(name):
    with pytest.raises(ValueError, match="choose two different boxes"):
        settings = {"third": "none"} if name == "one_page" else {}
        explainer(name)(first="small sealed", second="small sealed", **settings)
