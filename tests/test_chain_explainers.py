"""What the explainers of filters and supply say, against sums of their own."""

import math
import re

import numpy as np
import pytest

from boxlab import explainer
from boxlab.car.ampacity import ON_SALE, ampacity, least_fuse
from boxlab.car.cable import supply_current
from boxlab.explainers import _music as music
from boxlab.model.response import solve


def rows(scene):
    return {row.name: row.metric for row in scene.numbers}


def amount(text):
    return float(re.match(r"[−-]?[+]?[\d.]+", text)[0].replace("−", "-"))


def test_a_boost_costs_four_times_the_watts_for_6_db():
    # derived: 10^(6/10) times the watts and 10^(6/20) times the travel at the boost's own frequency
    scene = explainer("what_a_high_pass_saves")(rating=1000.0)
    found = rows(scene)
    plain = amount(found["watts at 48 Hz, same volume, high-pass"])
    boosted = amount(found["watts at 48 Hz, same volume, and boost"])
    assert boosted / plain == pytest.approx(10**0.6, rel=0.02)
    travel = re.search(r"(\d\.\d) mm \([^)]*\) of travel instead of (\d\.\d) mm", scene.readout[2])
    assert float(travel[1]) / float(travel[2]) == pytest.approx(2, rel=0.06)


def test_the_room_that_a_high_pass_leaves_is_that_of_a_plain_loop():
    # derived: turn up by hand, each frequency alone, until cone, radiator, coil or amplifier stops
    scene = explainer("what_a_high_pass_saves")(boost=0.0)
    driver, box = music.driver_of(2.0, "ten-inch"), music.box_of("radiator", "ten-inch")
    settings = []
    for filtered in (False, True):
        least = math.inf
        for f in np.geomspace(20, 120, 150):
            gain = 1 / math.sqrt(1 + (36 / f) ** 8) if filtered else 1.0
            r = solve(driver, box, float(f), 1.0)
            allowed = (
                driver.xmax / r.cone_excursion, box.radiator.xmax / r.vent_excursion,
                math.sqrt(driver.pe / driver.re) / abs(r.current), math.sqrt(300 * 2),
            )  # fmt: skip
            least = min(least, min(allowed) / gain)
        settings.append(least)
    want = 20 * math.log10(settings[1] / settings[0])
    assert amount(rows(scene)["high-pass: room on the volume"].lstrip("+")) == pytest.approx(
        want, abs=0.2
    )


def test_a_high_pass_above_the_tuning_is_warned_of():
    assert (
        "above the tuning of 45 Hz"
        in explainer("what_a_high_pass_saves")(high_pass=55.0).warnings[0]
    )
    assert explainer("what_a_high_pass_saves")().warnings == ()


def test_what_a_weak_supply_leaves_is_ohm_s_law():
    # derived: V = V0 − R·I, I = P/(V·η), P as the square of the volts
    found = rows(explainer("what_a_weak_supply_costs")(loop=60.0))
    volts = amount(found["supply at the amplifier, steady tone"])
    current = amount(found["from the supply, steady tone"])
    watts = amount(found["watts at 50 Hz, this supply"])
    full = amount(found["watts at 50 Hz, rated volts held"])
    assert volts == pytest.approx(13.8 - 0.060 * current, abs=0.01)
    assert current == pytest.approx(watts / 0.75 / volts, rel=0.01)
    assert watts / full == pytest.approx((volts / 13.8) ** 2, rel=0.01)
    lost = amount(found["against the rating, steady tone"])
    assert lost == pytest.approx(20 * math.log10(volts / 13.8), abs=0.06)


@pytest.mark.parametrize("rating", [100, 300, 500, 1000, 2000])
@pytest.mark.parametrize("rails", ["follow the supply", "are held"])
def test_no_cable_is_named_that_does_not_bear_the_heat(rating, rails):
    # the rule of the house: nothing smaller than the limit by heat is named, behind its own fuse
    scene = explainer("what_a_weak_supply_costs")(rating=rating, rails=rails)
    fuse = least_fuse(supply_current(rating, 13.8, 0.75))
    bears = {c.label: ampacity(c) >= fuse for c in ON_SALE["mm²"]}
    named = re.findall(r"[\d.]+ mm²", " ".join([*scene.readout, scene.caption]))
    named += [mark.label for mark in scene.plots[3].marks if "mm²" in mark.label]
    assert all(bears[label] for label in named)
    assert named or "No single cable" in " ".join(scene.readout)


def test_where_travel_stops_first_the_supply_costs_nothing():
    scene = explainer("what_a_weak_supply_costs")(frequency=25)
    assert "there the supply costs nothing" in scene.readout[2]
    found = rows(scene)
    assert found["loudest at 25 Hz, this supply"] == found["loudest at 25 Hz, rated volts held"]


def test_an_amplifier_short_of_current_is_said():
    assert "runs out of current" in explainer("what_a_weak_supply_costs")(current=10).warnings[0]
    assert explainer("what_a_weak_supply_costs")().warnings == ()
