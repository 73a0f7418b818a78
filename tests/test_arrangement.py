"""What has to find room: the port's tube, every radiator, its weights; and what gravity takes."""

import math

import pytest

from boxlab import RadiatorBox, disc_area, grams, litres, mm
from boxlab.car.arrangement import all_placed, arranged, sag, washers_stack, weights_and_sag
from boxlab.car.clearance import Mounting
from boxlab.car.compare_builds import compare_builds
from boxlab.car.joinery import Carcass, Gap
from boxlab.car.solids import Block
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


@pytest.mark.parametrize("share", [0.13, 0.3])
def test_sag_is_said_in_millimetres_and_as_a_share_of_the_travel(share):
    radiator = RADIATORS["twelve-inch"].with_mass(grams(400))
    cms = share * radiator.xmax / (radiator.moving_mass * 9.80665)  # m·g·Cms solved for Cms
    soft = type(radiator)(**{**radiator.__dict__, "cms": cms})
    carcass = PLACES["under the seat"].carcass(0.018)
    hangs = weights_and_sag(carcass, RADIATOR_PARTS["twelve-inch"], soft, "top", mm(300))[-1]
    told = f"{1e3 * share * radiator.xmax:.1f} mm, {100 * share:.0f} % of its travel"
    assert told in hangs.sentence and hangs.fits == (share <= 0.25)


def test_weights_keep_off_the_wall_and_are_checked_at_every_place():
    part = RADIATOR_PARTS["eight-inch"]
    radiator = RADIATORS["eight-inch"].with_mass(grams(300))
    carcass = Carcass(Gap(mm(700), mm(300), mm(320), mm(320)))
    (stack,) = weights_and_sag(carcass, part, radiator, "front", mm(200))
    height, _ = washers_stack(grams(300))
    assert stack.needed == pytest.approx(height + min(part.travel, radiator.xmax) + 0.005)
    step = Block.at(x=mm(400), y=0.0, z=0.0, width=mm(300), depth=mm(170), height=mm(300))
    stepped = Carcass(Gap(mm(700), mm(300), mm(320), mm(320), (step,)))
    two = type(part)(**{**part.__dict__, "count": 2})
    found = compare_builds(
        stepped, TEN_INCH_DRIVER, DRIVER_PARTS["eight-inch"], fb=45.0, port_area=disc_area(mm(50)),
        radiator=radiator, radiator_part=two, radiator_face="top", radiator_at=(mm(-220), 0.0),
    )  # fmt: skip
    radiators = next(build for build in found if build.kind == "radiator")
    stacks = [c for c in radiators.fits if "washers" in c.what]
    assert len(stacks) == 2


def lies_in(legs, straight, edge, outer, inside):
    """Whether so many legs, side by side, lie in an edge, by trying where the turns may stand.

    Mouth in the wall at 0, every far turn begins at r, every near one at one diameter from the
    wall, and a radius of air is kept before the inner end.
    """
    for r in (outer + (edge - 2 * outer) * i / 2000 for i in range(2001)):
        last = straight - r - (legs - 2) * (r - outer)
        room = r - inside / 2 if legs % 2 == 0 else edge - outer - inside / 2
        if -1e-9 <= last <= room + 1e-9:
            return True
    return False


@pytest.mark.parametrize("diameter, length", [(80, 0.44), (100, 0.653), (60, 0.9), (50, 1.2)])
def test_a_folded_tube_is_as_long_as_it_is_walked_and_lies_in_the_box(diameter, length):
    edges, outer = (0.348, 0.261, 0.218), mm(diameter + 6)
    legs, leg = folded(disc_area(mm(diameter)), length, edges)
    # walked along its centre line: straight legs, and half circles in which the legs touch
    assert legs * leg + (legs - 1) * math.pi * outer / 2 == pytest.approx(length)
    assert legs > 1 and lies_in(legs, legs * leg, edges[0], outer, mm(diameter))
    if legs > 2:
        straight = length - (legs - 2) * math.pi * outer / 2
        assert not lies_in(legs - 1, straight, edges[0], outer, mm(diameter))
    assert legs <= (edges[1] // outer) * (edges[2] // outer)


def test_a_tube_that_does_not_fold_into_the_box_is_refused():
    assert folded(disc_area(mm(80)), 0.15, (0.28, 0.25, 0.2)) == (1, 0.15)
    assert tube_volume(disc_area(mm(80)), 0.45) == pytest.approx(math.pi / 4 * 0.086**2 * 0.45)
    with pytest.raises(ValueError, match="side by side"):  # three legs of 106 mm, room for two
        folded(disc_area(mm(100)), 0.653, (0.348, 0.22, 0.2))
    with pytest.raises(ValueError, match="does not"):
        folded(disc_area(mm(300)), 1.0, (0.28, 0.25, 0.2))
