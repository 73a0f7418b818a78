"""Exercises on a wedge for the lesson "fitting the space": volume, bevel, the magnet's rim."""

from __future__ import annotations

import math
from types import SimpleNamespace

from boxlab.base.units import litres, mm, to_inches, to_litres, to_mm
from boxlab.car.clearance import depth_behind, place
from boxlab.car.joinery import Carcass, Gap
from boxlab.gear.demo_parts import DRIVER_PARTS
from boxlab.quiz.task import Exercise, Step

PART = DRIVER_PARTS["ten-inch"]
SLACK = 3  # mm


def inch(millimetres):
    """Millimetres as text in inches, for a prompt."""
    return f"{to_inches(mm(millimetres)):.1f} in"


def _draw_wedge(rng):
    return SimpleNamespace(
        width=10 * int(rng.integers(50, 81)),
        height=10 * int(rng.integers(30, 41)),
        bottom=10 * int(rng.integers(22, 31)),
        top=10 * int(rng.integers(13, 19)),
        board=int(rng.choice([12, 15, 18])),
    )


def _box(n):
    return Carcass(Gap(mm(n.width), mm(n.height), mm(n.bottom), mm(n.top)), mm(n.board))


def _net(n):
    return to_litres(_box(n).shares(driver=PART.displacement(mm(n.board))).net)


def _driver(n):
    return to_litres(PART.displacement(mm(n.board)))


def _mean_depth(n):
    inner = _box(n).inner
    return to_mm((inner.depth_bottom + inner.depth_top) / 2)


def _off(n):
    """Slack and board on one side, mm."""
    return SLACK + n.board


_NO_SLACK = f"The slack is missing: {SLACK} mm stay free on either side of the box."

net_volume = Exercise(
    "fitting-the-space/net-volume",
    title="How much air is left in this wedge?",
    draw=_draw_wedge,
    prompt=lambda n: (
        f"A gap is {n.width} mm wide ({inch(n.width)}), {n.height} mm high ({inch(n.height)}), "
        f"{n.bottom} mm deep at the bottom and {n.top} mm at the top ({inch(n.bottom)} and "
        f"{inch(n.top)}). Board is {n.board} mm; {SLACK} mm stay free on every side. The driver "
        f"takes {_driver(n):.2f} L. There are no braces. How much net volume?"
    ),
    steps=(
        Step(
            "Inside width",
            lambda n: to_mm(_box(n).inner.width),
            "mm",
            formula="w = width − 2·(board + slack)",
            tolerance=0.005,
            slips={
                "You took board and slack off once; there are two sides.": (
                    lambda n: n.width - _off(n)
                ),
                _NO_SLACK: lambda n: n.width - 2 * n.board,
            },
        ),
        Step(
            "Inside height",
            lambda n: to_mm(_box(n).inner.height),
            "mm",
            formula="h = height − 2·(board + slack)",
            tolerance=0.005,
            slips={_NO_SLACK: lambda n: n.height - 2 * n.board},
        ),
        Step(
            "Mean inside depth",
            _mean_depth,
            "mm",
            formula="d = (bottom + top)/2 − 2·(board + slack)",
            tolerance=0.02,
            slips={
                "That is the depth at the bottom; take the mean of both.": (
                    lambda n: n.bottom - 2 * _off(n)
                )
            },
        ),
        Step(
            "Gross volume",
            lambda n: to_litres(_box(n).gross),
            "L",
            tolerance=0.03,
            formula="gross = w·h·d",
        ),
        Step(
            "Net volume",
            _net,
            "L",
            formula="net = gross − driver",
            tolerance=0.03,
            slips={
                "The driver itself is still in the way: take its volume off.": (
                    lambda n: to_litres(_box(n).gross)
                )
            },
        ),
    ),
    letters=lambda n: {
        "width": mm(n.width),
        "height": mm(n.height),
        "bottom": mm(n.bottom),
        "top": mm(n.top),
        "board": mm(n.board),
        "slack": mm(SLACK),
        "driver": litres(_driver(n)),
    },
    hints=lambda n: (
        "Take slack and board off every side first, then think of a plain box as deep as the wedge "
        "is on average.",
        "Inside width = width − 2·(board + slack), likewise the height. Mean depth = "
        "(bottom + top)/2 − 2·(board + slack), minus a small correction for the slope. Multiply "
        "the three, all in one unit of length.",
        f"Board and slack are {_off(n)} mm on each side; the mean of the two depths is "
        f"{(n.bottom + n.top) / 2:g} mm before they are taken off.",
    ),
    solution=lambda n: (
        f"Inside {to_mm(_box(n).inner.width):.0f} × {to_mm(_box(n).inner.height):.0f} mm, and "
        f"{_mean_depth(n):.1f} mm deep on average (measured level, the sloping board is "
        f"{_box(n).outer.stretch:.3f} times as thick): gross {to_litres(_box(n).gross):.2f} L. "
        f"Less {_driver(n):.2f} L for the driver: **{_net(n):.1f} L**."
    ),
)


def _bevel(n):
    return abs(_box(n).outer.lean)


bevel = Exercise(
    "fitting-the-space/bevel",
    title="At which angle is the saw set?",
    draw=_draw_wedge,
    prompt=lambda n: (
        f"The gap is {n.height} mm high ({inch(n.height)}), {n.bottom} mm deep at the bottom and "
        f"{n.top} mm at the top. Floor and lid get a bevel along the front so that the leaning "
        "front closes on them. What bevel, in degrees from square?"
    ),
    answer=_bevel,
    unit="deg",
    formula="bevel = atan((bottom − top)/height)·180/π",
    letters=lambda n: {"bottom": mm(n.bottom), "top": mm(n.top), "height": mm(n.height)},
    tolerance=0.01,
    absolute=0.2,
    slips={
        "That is the angle from the floor. A saw set square reads 0°, so take it from upright.": (
            lambda n: 90 - _bevel(n)
        ),
        "You divided by half the height; the depth changes over all of it.": lambda n: math.degrees(
            math.atan(2 * (n.bottom - n.top) / n.height)
        ),
    },
    hints=lambda n: (
        "How far does the front lean over, from bottom to top?",
        "tan(bevel) = (depth at the bottom − depth at the top) / height.",
        f"It leans {n.bottom - n.top} mm over {n.height} mm of height.",
    ),
    solution=lambda n: (
        f"tan(bevel) = {n.bottom - n.top}/{n.height}, so the bevel is **{_bevel(n):.1f}°**. Cut it "
        "in scrap first, and lay the scrap in the car."
    ),
)


def _draw_rim(rng):
    return SimpleNamespace(
        bottom=10 * int(rng.integers(22, 29)),
        top=10 * int(rng.integers(9, 13)),
        magnet=10 * int(rng.integers(13, 19)),
    )


def steep(n):
    """The steep wedge of the exercise on the rim."""
    return Carcass(Gap(0.6, 0.4, mm(n.bottom), mm(n.top), slack=0.0), 0.018)


def _middle(n):
    box = steep(n)
    return float(to_mm(place(box)[1] - box.inner.y0))


def _behind(n, diameter=None):
    box = steep(n)
    across = n.magnet if diameter is None else diameter
    return to_mm(depth_behind(box, place(box), mm(across)))


rim = Exercise(
    "fitting-the-space/rim",
    title="How deep is it behind the rim of the magnet?",
    draw=_draw_rim,
    prompt=lambda n: (
        f"The front of a wedge leans back by {abs(steep(n).outer.lean):.1f}° towards the top. "
        f"Measured level, it is {_middle(n):.1f} mm from the inside of the front, at its middle, "
        f"to the upright wall behind. A driver sits there with a magnet {n.magnet} mm "
        f"({inch(n.magnet)}) across. How deep is it, square to the front, behind the part of the "
        "magnet that has least?"
    ),
    answer=_behind,
    unit="mm",
    formula="depth = d/cos(lean) − r·tan(lean)",
    letters=lambda n: {
        "d": mm(round(_middle(n), 1)),
        "r": mm(n.magnet) / 2,
        "lean": math.radians(round(abs(steep(n).outer.lean), 1)),
    },
    tolerance=0.01,
    absolute=1.0,
    slips={
        "That is behind the middle of the magnet. Its upper rim is nearer to the wall.": (
            lambda n: _behind(n, 0)
        ),
        "You took the whole width of the magnet; its rim is one radius from the middle.": (
            lambda n: _behind(n, 0) - 2 * (_behind(n, 0) - _behind(n))
        ),
        "That is the lower rim, which has most room.": lambda n: 2 * _behind(n, 0) - _behind(n),
    },
    hints=lambda n: (
        "The magnet goes in square to the front, not level. And which edge of it comes closest to "
        "the wall?",
        "Depth = d/cos(lean) − r·tan(lean), with d the level depth in the middle and r the radius "
        "of the magnet.",
        f"d/cos(lean) is {_behind(n, 0):.1f} mm; r is {n.magnet / 2:g} mm and tan(lean) "
        f"{abs(steep(n).outer.b):.3f}.",
    ),
    solution=lambda n: (
        f"{_middle(n):.1f}/cos − {n.magnet / 2:g}·tan = {_behind(n, 0):.1f} − "
        f"{_behind(n, 0) - _behind(n):.1f} = **{_behind(n):.1f} mm**. Measured at the middle alone "
        f"you would have promised {_behind(n, 0) - _behind(n):.0f} mm too much."
    ),
)
