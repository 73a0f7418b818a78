"""Millimetres typed where metres belong, in the gap, the box and what is bolted into it."""

import math
import warnings

import pytest

from boxlab import UnitWarning
from boxlab.car.bracing import braced_mode, panel_mode
from boxlab.car.clearance import Mounting, clearances, spacing, travel_clearance
from boxlab.car.cut_list import weight
from boxlab.car.joinery import Carcass, Gap
from boxlab.car.solids import Block
from boxlab.design.swept_volume import swept_volume

OUTLINE = {"outer": 0.265, "cutout": 0.232, "depth": 0.085}
PART = Mounting("ten", **OUTLINE, magnet=0.15, magnet_depth=0.03, travel=0.016)
BOX = Carcass(Gap(0.6, 0.36, 0.3, 0.2))


def gap(**given):
    return Gap(**{"width": 0.6, "height": 0.36, "depth_bottom": 0.2, **given})


def part(**given):
    return Mounting("ten", **OUTLINE, **given)


SLIPS = {
    "depth_top": lambda: gap(depth_top=130),
    "slack": lambda: gap(slack=3),
    "block width": lambda: Block.at(width=150, depth=0.16, height=0.14),
    "block depth": lambda: Block.at(width=0.15, depth=160, height=0.14),
    "block height": lambda: Block.at(width=0.15, depth=0.16, height=140),
    "travel": lambda: part(travel=16),
    "proud": lambda: part(proud=12),
    "rear": lambda: part(rear=40),
    "volume": lambda: part(volume=1.2),
    "mass": lambda: part(mass=4200),
    "space": lambda: travel_clearance(PART, 30),
    "margin": lambda: travel_clearance(PART, 0.03, margin=5),
    "distance": lambda: spacing(PART, PART, 270),
    "breathing": lambda: clearances(BOX, PART, breathing=10),
    "length": lambda: panel_mode(400, 0.3, 0.018),
    "width": lambda: panel_mode(0.4, 300, 0.018),
    "panel": lambda: panel_mode(400, 300, 0.018),
    "braced": lambda: braced_mode(400, 300, 0.018),
    "hardware": lambda: weight(BOX, hardware=4200),
}


@pytest.mark.parametrize("slip", SLIPS.values(), ids=SLIPS)
def test_millimetres_or_grams_are_doubted(slip):
    with pytest.warns(UnitWarning, match="implausible"):
        slip()


@pytest.mark.parametrize(
    "name, slip",
    [
        ("spl", lambda: swept_volume(30.0, math.nan)),
        ("frequency", lambda: swept_volume(math.nan, 94.0)),
        ("distance", lambda: swept_volume(30.0, 94.0, math.nan)),
        ("depth_top", lambda: gap(depth_top=math.nan)),
        ("margin", lambda: travel_clearance(PART, 0.03, margin=math.nan)),
        ("margin", lambda: travel_clearance(PART, 0.03, margin=-0.005)),
        ("hardware", lambda: weight(BOX, hardware=-1.0)),
        ("openings", lambda: weight(BOX, openings=-0.04)),
    ],
)
def test_no_number_and_less_than_nothing_are_refused(name, slip):
    with pytest.raises(ValueError, match=name):
        slip()


def test_sizes_as_they_are_pass_without_a_word():
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        gap(depth_top=0.13), gap(depth_top=None), gap(depth_top=0.0), gap(slack=0)
        Block.at(width=0.15, depth=0.16, height=0.14)
        part(travel=0.016, proud=0.012, rear=0.04, volume=0.0012, mass=4.2)
        travel_clearance(PART, 0.03), spacing(PART, PART, 0.27), clearances(BOX, PART)
        panel_mode(0.4, 0.3, 0.018), weight(BOX, hardware=4.2, openings=0.04)
