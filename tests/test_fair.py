"""Boxes on the same footing: the measures by hand, the verdict's words, boxes from fits."""

import math
from dataclasses import replace

import numpy as np
import pytest

from boxlab.base.units import cm2, litres
from boxlab.car.wiring import Amplifier
from boxlab.design.fair_comparison import CLOSE, Contender, Footing, box_from_fit, stand, verdict
from boxlab.explainers.one_page import page
from boxlab.gear.demo_boxes import SHELF, Recipe, rewound
from boxlab.gear.demo_sweeps import CASES, DRIVER, measure
from boxlab.gear.scenario import TEN_INCH_DRIVER, TEN_INCH_RADIATOR
from boxlab.measure import fit_box
from boxlab.model.enclosure import PortedBox, RadiatorBox, SealedBox
from boxlab.model.limits import max_output
from boxlab.model.response import solve

FOOTING = Footing(Amplifier({4: 300, 2: 480}))
BOX = SealedBox(litres(15))


def contender(name="A", box=BOX, driver=TEN_INCH_DRIVER, **more):
    return Contender(name, driver, box, **more)


def test_measures_by_hand():
    s = stand(contender(), FOOTING)
    f = FOOTING.frequency
    assert (f[0], f[-1]) == (pytest.approx(30), pytest.approx(80))
    assert s.at_voltage == pytest.approx(solve(TEN_INCH_DRIVER, BOX, f, 2.83).spl.mean())
    assert s.watts == pytest.approx(2.83**2 / TEN_INCH_DRIVER.re)
    again = max_output(TEN_INCH_DRIVER, BOX, f, power=300, load=4.0, air_speed=17)
    assert s.average == pytest.approx(again.spl.mean())
    assert s.weakest[1] == pytest.approx(again.spl.min())
    assert s.stops[0][2] == again.limit[0]


def test_the_amplifier_goes_by_the_rated_load():
    loud = Footing(Amplifier({4: 2, 2: 3}))  # so little that only the amplifier stops it
    four, two = (stand(contender(load=load), loud) for load in (4.0, 2.0))
    # derived: √(2·4) V against √(3·2) V on the same box
    assert two.average - four.average == pytest.approx(10 * math.log10(3 / 4), abs=1e-9)


def test_a_load_too_low_is_said_and_the_rest_still_compared():
    found = [stand(contender("A"), FOOTING), stand(contender("B", load=1.0), FOOTING)]
    assert math.isnan(found[1].average) and found[1].stops == ()
    said = verdict(found, FOOTING)
    assert said[0].startswith("B: load = 1 Ω is below this amplifier's least")
    assert any(line.startswith("Same voltage") for line in said)
    assert not any(line.startswith("Same amplifier") for line in said)


def test_alike_is_a_draw_and_a_decibel_is_not():
    other = replace(TEN_INCH_DRIVER, re=TEN_INCH_DRIVER.re * 0.8, bl=TEN_INCH_DRIVER.bl * 0.8**0.5)
    for driver, words in ((TEN_INCH_DRIVER, "too close to call between A and B"), (other, "")):
        found = [stand(contender("A"), FOOTING), stand(contender("B", driver=driver), FOOTING)]
        lead = found[1].at_voltage - found[0].at_voltage
        line = next(x for x in verdict(found, FOOTING) if x.startswith("Same voltage"))
        assert (words or "too close") in line
        assert abs(lead) < CLOSE
    twin = rewound(TEN_INCH_DRIVER, 0.5)
    found = [stand(contender("A"), FOOTING), stand(contender("B", driver=twin), FOOTING)]
    assert "B leads by" in verdict(found, FOOTING)[0]


def test_three_alike_are_named():
    found = [stand(contender(name), FOOTING) for name in "ABC"]
    assert "between A, B and C." in verdict(found, FOOTING)[0]


def test_space_is_stated():
    def said(*spaces):
        found = [
            stand(contender(n, space=litres(v)), FOOTING) for n, v in zip("AB", spaces, strict=True)
        ]
        return next(line for line in verdict(found, FOOTING) if line.startswith("Space"))

    assert "alike" in said(26, 27)
    assert "B takes 3.5 times that of A. A 26 L; B 91 L." in said(26, 91)
    assert "not known" in said(26, math.nan)


def test_rewound_makes_the_same_level_from_the_same_power():
    twin = rewound(TEN_INCH_DRIVER, 0.5)
    f = [20, 40, 60, 100, 200]
    one = solve(TEN_INCH_DRIVER, BOX, f, 4.0).spl
    assert solve(twin, BOX, f, 4.0 / math.sqrt(2)).spl == pytest.approx(one, abs=1e-9)
    assert twin.qts == pytest.approx(TEN_INCH_DRIVER.qts)


@pytest.mark.parametrize("name", SHELF)
def test_recipes_take_the_space_they_say(name):
    got = SHELF[name].contender(name)
    assert got.space == pytest.approx(litres(SHELF[name].space))
    assert got.box.volume < 0.8 * got.space
    if SHELF[name].fb:
        assert got.box.tuning() == pytest.approx(SHELF[name].fb)
    assert got.build == SHELF[name].kind


def test_recipe_net_volume_by_hand():
    # 8 : 6 : 5 outside, 18 mm board all round, less the driver
    recipe = Recipe("sealed", "ten-inch", 26)
    unit = (0.026 / 240) ** (1 / 3)
    gross = math.prod(k * unit - 0.036 for k in (8, 6, 5))
    from boxlab.gear.demo_parts import DRIVER_PARTS

    assert recipe.box(26).volume == pytest.approx(
        gross - DRIVER_PARTS["ten-inch"].displacement(0.018)
    )


def test_what_cannot_be_built_says_why():
    got = SHELF["large ported"].contender("large ported", 26)
    assert got.box is None and got.build == ""
    s = stand(got, FOOTING)
    assert math.isnan(s.at_voltage) and "its own tube eats the air" in s.problem
    with pytest.raises(ValueError, match="two or more"):
        verdict([s], FOOTING)


@pytest.mark.parametrize(
    "call, words",
    [
        (lambda: Footing(low=80, high=30), "swapped"),
        (lambda: Footing(voltage=0), "voltage"),
        (lambda: contender(load=-4), "Rated impedance"),
        (lambda: contender(space=-1.0), "space"),
        (lambda: verdict([stand(contender(), FOOTING)] * 2, FOOTING), "its own name"),
        (lambda: page([contender(n) for n in "ABCD"], FOOTING), "two or three"),
    ],
)
def test_bad_input_is_named(call, words):
    with pytest.raises(ValueError, match=words):
        call()


@pytest.fixture(scope="module")
def fits():
    """Fits with the driver's own parameters held, so that only the box is sought."""
    return {
        "radiator": fit_box(measure("radiator"), DRIVER, radiator=TEN_INCH_RADIATOR, count=1),
        "ported": fit_box(measure("ported"), DRIVER, build="ported"),
        "sealed": fit_box(measure("sealed"), DRIVER, build="sealed"),
    }


@pytest.mark.parametrize("kind", ["radiator", "ported", "sealed"])
def test_a_box_from_a_sweep_plays_like_the_box_it_was_taken_from(kind, fits):
    truth = CASES[kind].box
    if kind == "ported":
        box = box_from_fit(fits[kind], port_area=truth.port.area, count=1)
    else:
        box = box_from_fit(fits[kind], radiator=TEN_INCH_RADIATOR, count=1)
    assert type(box) is {"radiator": RadiatorBox, "ported": PortedBox, "sealed": SealedBox}[kind]
    f = np.geomspace(25, 100, 40)
    gap = solve(DRIVER, box, f).spl - solve(DRIVER, truth, f).spl
    assert np.abs(gap).max() < 0.15


def test_what_a_sweep_cannot_tell_is_asked_for(fits):
    with pytest.raises(ValueError, match="port_area is missing"):
        box_from_fit(fits["ported"], count=1)
    with pytest.raises(ValueError, match="radiator is missing"):
        box_from_fit(fits["radiator"], count=1)
    with pytest.raises(ValueError, match="say how many radiators it has"):
        box_from_fit(fits["radiator"], radiator=TEN_INCH_RADIATOR)
    with pytest.raises(ValueError, match="net volume is not known"):
        box_from_fit(fit_box(measure("sealed")))


def test_port_width_changes_the_ceiling_only(fits):
    wide, narrow = (box_from_fit(fits["ported"], port_area=cm2(a), count=1) for a in (80, 30))
    a, b = (
        stand(contender(n, x, DRIVER), FOOTING) for n, x in (("wide", wide), ("narrow", narrow))
    )
    assert a.at_voltage == pytest.approx(b.at_voltage, abs=1e-6)
    assert a.average > b.average + 1


def test_page_holds_what_the_verdict_says():
    scene = page([contender("A"), contender("B", SealedBox(litres(40)))], FOOTING)
    found = [stand(contender("A"), FOOTING), stand(contender("B", SealedBox(litres(40))), FOOTING)]
    assert scene.readout[1:] == verdict(found, FOOTING)
    assert [line.label for line in scene.plots[1].lines] == ["A", "B"]
    np.testing.assert_array_equal(scene.plots[1].lines[0].y, found[0].ceiling.spl)
