"""Builds side by side, the port's own room, and the search with its trade-off front."""

import itertools
from dataclasses import replace

import numpy as np
import pytest

from boxlab.base.units import cm2, litres
from boxlab.car.build_value import verdict
from boxlab.car.clearance import Mounting
from boxlab.car.compare_builds import compare_builds, port_in
from boxlab.car.joinery import Carcass, Gap
from boxlab.design.pareto import front, search
from boxlab.gear.scenario import RADIATORS, TEN_INCH_DRIVER, TEN_INCH_RADIATOR
from boxlab.model.air import Air
from boxlab.model.enclosure import PortedBox, RadiatorBox
from boxlab.model.limits import max_output
from boxlab.model.response import solve
from boxlab.model.vents import Port

DRIVER_PART = Mounting("driver", 0.265, 0.232, 0.085, 0.15, 0.03, travel=0.018)
RADIATOR_PART = Mounting("radiator", 0.265, 0.232, 0.06, volume=litres(0.8), count=1)
CARCASS = Carcass(Gap(0.55, 0.36, 0.22, 0.16))


def builds(**changes):
    given = {
        "fb": 38.0, "port_area": cm2(35), "radiator": TEN_INCH_RADIATOR,
        "radiator_part": RADIATOR_PART, "power": 350, "load": 4,
    }  # fmt: skip
    found = compare_builds(CARCASS, TEN_INCH_DRIVER, DRIVER_PART, **(given | changes))
    return {build.kind: build for build in found}


def test_each_build_gets_the_air_that_is_left():
    got = builds()
    gross = CARCASS.gross
    assert got["sealed"].shares.net == pytest.approx(gross - DRIVER_PART.displacement(0.018))
    assert got["radiator"].shares.net == pytest.approx(
        gross - DRIVER_PART.displacement(0.018) - litres(0.8)
    )
    port = got["ported"].box.port
    outer = np.pi / 4 * (np.sqrt(4 * port.area / np.pi) + 0.006) ** 2
    assert got["ported"].shares.net + outer * port.length == pytest.approx(got["sealed"].shares.net)
    for kind in ("ported", "radiator"):
        assert got[kind].box.tuning() == pytest.approx(38.0)
        assert got[kind].box.volume == pytest.approx(got[kind].shares.net)


@pytest.mark.parametrize("available", [0.02, 0.03, 0.06])
@pytest.mark.parametrize("count", [1, 2])
def test_port_in_against_bisection(available, count):
    # Add tube, lose air, look at the tuning: bisect on the length.
    area, fb, low = cm2(35), 40.0, 0.0
    if available == 0.02:
        area *= 0.6  # two full ones would not go in
    outer = count * np.pi / 4 * (np.sqrt(4 * area / np.pi) + 0.006) ** 2
    high = min(2.9, 0.45 * available / outer)
    for _ in range(60):
        length = (low + high) / 2
        tuned = PortedBox(available - outer * length, Port(area, length), count).tuning()
        low, high = (length, high) if tuned > fb else (low, length)
    volume, found = port_in(available, fb, area, count)
    assert found == pytest.approx(length, rel=1e-6)
    assert volume == pytest.approx(available - outer * length)


def test_stops_cover_the_band_and_agree_with_the_limits():
    for build in builds().values():
        c = build.ceiling
        assert build.stops[0][0] == pytest.approx(25) and build.stops[-1][1] == pytest.approx(100)
        assert all(a[2] != b[2] for a, b in itertools.pairwise(build.stops))
        hz, spl, limit = build.weakest
        assert spl == c.spl.min() and limit in {s[2] for s in build.stops}
        again = max_output(TEN_INCH_DRIVER, build.box, [hz], power=350, load=4, air_speed=17.0)
        assert again.spl[0] == pytest.approx(spl) and again.limit[0] == limit


def test_f3_is_three_decibels_below_the_plateau():
    # Plateau of the driver without inductance: p = ρ·Sd·Bl·V/(2πr·Re·Mms) (Small 1972).
    d, air = replace(TEN_INCH_DRIVER, le=0.0), Air()
    plateau = air.density * d.sd * d.bl / (2 * np.pi * d.re * d.mms)
    for build in builds().values():
        level = 20 * np.log10(abs(solve(d, build.box, [build.f3], 1.0).pressure[0]) / plateau)
        assert level == pytest.approx(-3.01, abs=0.02)


def test_port_that_does_not_fit_is_told_in_millimetres():
    ported = builds(port_area=cm2(50))["ported"]
    straight = next(c for c in ported.fits if c.what == "straight port")
    diameter = 2 * np.sqrt(cm2(50) / np.pi)
    assert straight.needed == pytest.approx(ported.box.port.length + diameter)
    assert not ported.buildable and "mm short" in ported.words
    assert builds(fb=45.0, port_area=cm2(30))["ported"].buildable


def test_parts_are_tried_in_their_places():
    deep = Mounting("deep driver", 0.265, 0.232, 0.200, 0.15, 0.03)
    tried = compare_builds(CARCASS, TEN_INCH_DRIVER, deep, fb=45, port_area=cm2(30))
    assert not any(build.buildable for build in tried)
    assert "magnet to the wall behind: does not fit" in verdict(tried)[0]
    # Two 265 mm frames on a baffle 544 mm wide.
    beside = {"driver_at": (-0.137, 0.0), "radiator_face": "front", "radiator_at": (0.133, 0.0)}
    fits = {c.what: c for c in builds(**beside)["radiator"].fits}
    assert fits["driver beside radiator"].spare == pytest.approx(0.270 - 0.265)
    assert fits["radiator: frame on the baffle"].fits
    assert not builds(radiator_face="left")["radiator"].buildable


def test_what_cannot_be_built_is_kept_with_the_reason():
    hopeless = builds(fb=22.0, port_area=cm2(180))["ported"]
    assert hopeless.box is None and "eats the air" in hopeless.problem
    assert hopeless.words.startswith("Ported: cannot be built here.")
    stiff = builds(fb=95.0)["radiator"]
    assert stiff.box is None and "out of reach" in stiff.problem


def test_verdict_names_what_stands_out():
    found = tuple(builds(fb=45.0, port_area=cm2(30)).values())
    lines = verdict(found)
    assert len(lines) == 5
    deep = min(found, key=lambda b: b.f3)
    loud = max(found, key=lambda b: np.mean(b.ceiling.spl))
    sure = max(found, key=lambda b: b.ceiling.spl.min())
    assert f"Lowest cutoff: {deep.kind}." in lines[3]
    assert f"on average: {loud.kind}." in lines[3]
    assert f"weakest note: {sure.kind}." in lines[3]
    assert deep.kind != sure.kind
    only = verdict((builds(fb=22.0, port_area=cm2(180))["ported"],))
    assert only[-1].startswith("None of these fits")


def found():
    return search(
        TEN_INCH_DRIVER, RADIATORS, litres(np.array([10, 14, 20, 30])), (1, 2), power=350, load=4
    )


def test_front_against_every_pair():
    rng = np.random.default_rng(4)
    costs = np.round(rng.random((150, 3)), 1)  # rounding makes ties
    costs[7, 1] = np.nan
    costs = np.vstack((costs, costs))  # equal rows stay together
    keep = [
        np.isfinite(a).all()
        and not any(np.all(b <= a) and np.any(b < a) for b in costs if np.isfinite(b).all())
        for a in costs
    ]
    assert front(costs).tolist() == keep


def test_search_rows_agree_with_one_box_at_a_time():
    c = found()
    assert len(c) == 4 * 2 * 16 * len(RADIATORS)
    for i in (0, 77, len(c) - 1):
        radiator = RADIATORS[str(c.radiator[i])].with_mass(c.added_mass[i])
        box = RadiatorBox(c.volume[i], radiator, int(c.count[i]))
        assert c.tuning[i] == pytest.approx(box.tuning())
        f = np.geomspace(30, 80, 40)
        ceiling = max_output(TEN_INCH_DRIVER, box, f, power=350, load=4)
        assert c.loudness[i] == pytest.approx(ceiling.spl.min())
        assert c.limit[i] == ceiling.limit[np.argmin(ceiling.spl)]


def test_loudness_is_taken_where_it_is_least():
    c = search(TEN_INCH_DRIVER, RADIATORS, litres(20), (2,), band=(45, 120), power=30, load=4)
    f, inside = np.geomspace(45, 120, 40), 0
    for i in range(len(c)):
        radiator = RADIATORS[str(c.radiator[i])].with_mass(c.added_mass[i])
        box = RadiatorBox(c.volume[i], radiator, 2)
        ceiling = max_output(TEN_INCH_DRIVER, box, f, power=30, load=4)
        assert c.loudness[i] == pytest.approx(ceiling.spl.min())
        inside += np.argmin(ceiling.spl) > 0
    assert inside > 0


def test_what_you_value_moves_the_choice_along_the_front():
    c = found()
    small, loud, deep = c.best(0, 0, 1), c.best(0, 1, 0), c.best(1, 0, 0)
    assert c.front[[small, loud, deep]].all()
    assert c.volume[small] == c.volume.min()
    assert c.loudness[loud] == c.loudness[np.isfinite(c.f3)].max()
    assert c.f3[deep] == np.nanmin(c.f3)
    assert 3 <= c.front.sum() < len(c)
    assert "stopped there by" in c.words(loud)


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: builds(band=(100, 25)), "lowest and the highest"),
        (lambda: builds(radiator_part=None), "radiator_part"),
        (lambda: port_in(0.02, -40, cm2(35)), "above zero"),
        (lambda: port_in(0.06, 120, cm2(20)), "with no tube"),
        (lambda: search(TEN_INCH_DRIVER, {}, 0.014), "at least one"),
        (lambda: search(TEN_INCH_DRIVER, RADIATORS, -0.014), "above zero"),
        (
            lambda: search(TEN_INCH_DRIVER, RADIATORS, np.linspace(0.01, 0.1, 2000)),
            "combinations",
        ),
        (lambda: found().best(0, 0, 0), "what you value"),
        (lambda: found().best(-1), "zero or more"),
    ],
)
def test_bad_input_says_what_to_do(call, words):
    with pytest.raises(ValueError, match=words):
        call()
