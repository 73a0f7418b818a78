"""What has to find room: the port's tube, every radiator, its weights; and what gravity takes."""

import math

import pytest

from boxlab import RadiatorBox, disc_area, grams, litres, mm
from boxlab.car.arrangement import all_placed, arranged, sag, washers_stack, weights_and_sag
from boxlab.car.clearance import Mounting
from boxlab.car.compare_builds import compare_builds
from boxlab.car.joinery import Carcass, Gap
from boxlab.gear.demo_parts import DRIVER_PARTS, PLACES, RADIATOR_PARTS
from boxlab.gear.scenario import RADIATORS, TEN_INCH_DRIVER
from boxlab.model.port_equivalent import folded, tube_volume


def built(place, kind, **changes):
    where = PLACES[place]
    given = {
        "fb": 45.0, "port_area": disc_area(mm(75)), "radiator": RADIATORS["ten-inch"],
        "radiator_part": RADIATOR_PARTS["ten-inch"], "driver_at": where.driver_at,
        "radiator_at": where.radiator_at, "radiator_face": where.radiator_face,
    } | changes  # fmt: skip
    found = compare_builds(where.carcass(0.018), TEN_INCH_DRIVER, DRIVER_PARTS["ten-inch"], **given)
    return next(build for build in found if build.kind == kind)


def test_a_port_thicker_than_the_box_does_not_fit():
    # under the seat: 108 mm inside, and a 110 mm port is 116 mm outside
    build = built("under the seat", "ported", fb=60.0, port_area=disc_area(mm(110)))
    (tube,) = [c for c in build.fits if c.what == "port tube between the walls"]
    assert not tube.fits
    assert (tube.available, tube.needed) == (pytest.approx(0.108), pytest.approx(0.116))


def test_three_frames_of_315_mm_do_not_fit_in_a_gap_of_686_mm():
    part = Mounting("twelve", mm(315), mm(282), mm(50), travel=mm(26), count=3)
    carcass = Carcass(Gap(mm(686), mm(400), mm(300)))
    row = all_placed(carcass, part, 3, (mm(-160), 0.0))
    assert not row.fits and "2 of them find room" in row.what


@pytest.mark.parametrize("count", [2, 3, 4])
def test_frames_that_are_placed_keep_apart_and_on_the_face(count):
    part = Mounting("eight", mm(212), mm(184), mm(50), count=count)
    carcass = Carcass(Gap(mm(700), mm(480), mm(300)))
    taken = ((mm(-200), mm(100), mm(212)),)
    spots = arranged(carcass, part, count, (mm(200), mm(-100)), taken)
    assert len(spots) == count
    circles = [(u, v, part.outer) for u, v in spots] + list(taken)
    for i, (a, b, d) in enumerate(circles):
        assert abs(a) + d / 2 <= mm(700) / 2 and abs(b) + d / 2 <= mm(480) / 2
        for u, v, other in circles[i + 1 :]:
            assert math.hypot(a - u, b - v) >= (d + other) / 2 - 1e-9


def test_a_build_with_more_radiators_than_room_is_not_buildable():
    part = RADIATOR_PARTS["ten-inch"]
    three = type(part)(**{**part.__dict__, "count": 3})
    build = built("behind the seat", "radiator", radiator_part=three, fb=60.0)
    assert any("3 × ten-inch radiator" in c.what and not c.fits for c in build.fits)


def test_a_tall_stack_of_weights_is_checked():
    height, count = washers_stack(grams(600))
    # by hand: M16 washers, 30 and 17 mm across, 3 mm thick, of steel
    each = math.pi / 4 * (0.030**2 - 0.017**2) * 0.003 * 7850
    assert count >= 0.6 / each - 1 and height == pytest.approx(3e-3 * 0.6 / each, rel=0.1)
    box = RadiatorBox(litres(20), RADIATORS["ten-inch"].with_mass(grams(600)))
    carcass = PLACES["under the seat"].carcass(0.018)
    (stack, *_) = weights_and_sag(carcass, RADIATOR_PARTS["ten-inch"], box.radiator, "top", mm(108))
    assert not stack.fits and "washers" in stack.what


def test_sag_of_a_radiator_that_lies_flat():
    heavy = RADIATORS["twelve-inch"].with_mass(grams(400))
    assert sag(heavy) == pytest.approx(0.58 * 9.80665 * 0.6e-3)  # m·g·Cms: 3.4 mm
    carcass = PLACES["under the seat"].carcass(0.018)
    part = RADIATOR_PARTS["twelve-inch"]
    flat = weights_and_sag(carcass, part, heavy, "top", mm(300))
    assert "sag" in flat[-1].what and flat[-1].fits
    soft = type(heavy)(**{**heavy.__dict__, "cms": 1.5e-3})
    assert not weights_and_sag(carcass, part, soft, "bottom", mm(300))[-1].fits
    upright = weights_and_sag(carcass, part, soft, "front", mm(300))
    assert all("sag" not in c.what for c in upright)


def test_a_folded_tube_is_measured_along_its_centre_line():
    area, length, edge = disc_area(mm(80)), 0.45, 0.28
    legs, leg = folded(area, length, edge)
    outer = 0.086
    assert legs * leg + (legs - 1) * math.pi * outer / 2 == pytest.approx(length)
    assert leg + outer <= edge + 1e-9
    assert folded(area, 0.15, edge) == (1, 0.15)
    assert tube_volume(area, length) == pytest.approx(math.pi / 4 * outer**2 * length)
    with pytest.raises(ValueError, match="does not turn"):
        folded(disc_area(mm(300)), 1.0, 0.28)
