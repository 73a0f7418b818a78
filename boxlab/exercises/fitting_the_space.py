"""Exercises of the lesson "fitting the space": volume, bevel, rim, brace, front, crash."""

from __future__ import annotations

import math
from types import SimpleNamespace

import numpy as np

from boxlab.bracing import braced_mode, panel_mode
from boxlab.choosing import front as on_front
from boxlab.demo_parts import DRIVER_PARTS
from boxlab.exercise import Exercise, Step
from boxlab.fitting import depth_behind, place
from boxlab.joinery import Carcass, Gap
from boxlab.restraint import GRAVITY, holding_force, mean_deceleration
from boxlab.units import mm, to_inches, to_litres, to_mm

PART = DRIVER_PARTS["ten-inch"]
SLACK = 3  # mm


def _inch(millimetres):
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
    return to_litres(_box(n).shares(driver=PART.displacement).net)


def _mean_depth(n):
    inner = _box(n).inner
    return to_mm((inner.depth_bottom + inner.depth_top) / 2)


def _off(n):
    """Slack and board on one side, mm."""
    return SLACK + n.board


net_volume = Exercise(
    "fitting-the-space/net-volume",
    title="How much air is left in this wedge?",
    draw=_draw_wedge,
    prompt=lambda n: (
        f"A gap is {n.width} mm wide ({_inch(n.width)}), {n.height} mm high ({_inch(n.height)}), "
        f"{n.bottom} mm deep at the bottom and {n.top} mm at the top ({_inch(n.bottom)} and "
        f"{_inch(n.top)}). Board is {n.board} mm; {SLACK} mm stay free on every side. The driver "
        f"takes {to_litres(PART.displacement):.2f} L. There are no braces. How much net volume?"
    ),
    steps=(
        Step(
            "Inside width",
            lambda n: to_mm(_box(n).inner.width),
            "mm",
            tolerance=0.005,
            slips={
                "You took board and slack off once; there are two sides.": (
                    lambda n: n.width - _off(n)
                )
            },
        ),
        Step("Inside height", lambda n: to_mm(_box(n).inner.height), "mm", tolerance=0.005),
        Step(
            "Mean inside depth",
            _mean_depth,
            "mm",
            tolerance=0.02,
            slips={
                "That is the depth at the bottom; take the mean of both.": (
                    lambda n: n.bottom - 2 * _off(n)
                )
            },
        ),
        Step("Gross volume", lambda n: to_litres(_box(n).gross), "L", tolerance=0.03),
        Step(
            "Net volume",
            _net,
            "L",
            tolerance=0.03,
            slips={
                "The driver itself is still in the way: take its volume off.": (
                    lambda n: to_litres(_box(n).gross)
                )
            },
        ),
    ),
    hints=lambda n: (
        "Take slack and board off every side first, then think of a plain box as deep as the wedge "
        "is on average.",
        "Inside width = width − 2·(board + slack), likewise the height. Mean depth = "
        "(bottom + top)/2 − 2·(board + slack), less a trifle for the slope. Multiply in decimetres "
        "to get litres.",
        f"Board and slack are {_off(n)} mm on each side; the mean of the two depths is "
        f"{(n.bottom + n.top) / 2:g} mm before they are taken off.",
    ),
    solution=lambda n: (
        f"Inside {to_mm(_box(n).inner.width):.0f} × {to_mm(_box(n).inner.height):.0f} mm, and "
        f"{_mean_depth(n):.1f} mm deep on average (measured level, the sloping board is "
        f"{_box(n).outer.stretch:.3f} times as thick): gross {to_litres(_box(n).gross):.2f} L. "
        f"Less {to_litres(PART.displacement):.2f} L for the driver: **{_net(n):.1f} L**."
    ),
)


def _bevel(n):
    return abs(_box(n).outer.lean)


bevel = Exercise(
    "fitting-the-space/bevel",
    title="At which angle is the saw set?",
    draw=_draw_wedge,
    prompt=lambda n: (
        f"The gap is {n.height} mm high ({_inch(n.height)}), {n.bottom} mm deep at the bottom and "
        f"{n.top} mm at the top. Floor and lid get a bevel along the front so that the leaning "
        "front closes on them. What bevel, in degrees from square?"
    ),
    answer=_bevel,
    unit="deg",
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


def _steep(n):
    return Carcass(Gap(0.6, 0.4, mm(n.bottom), mm(n.top), slack=0.0), 0.018)


def _middle(n):
    box = _steep(n)
    return float(to_mm(place(box)[1] - box.inner.y0))


def _behind(n, diameter=None):
    box = _steep(n)
    across = n.magnet if diameter is None else diameter
    return to_mm(depth_behind(box, place(box), mm(across)))


rim = Exercise(
    "fitting-the-space/rim",
    title="How deep is it behind the rim of the magnet?",
    draw=_draw_rim,
    prompt=lambda n: (
        f"The front of a wedge leans back by {abs(_steep(n).outer.lean):.1f}° towards the top. "
        f"Measured level, it is {_middle(n):.1f} mm from the inside of the front, at its middle, "
        f"to the upright wall behind. A driver sits there with a magnet {n.magnet} mm "
        f"({_inch(n.magnet)}) across. How deep is it, square to the front, behind the part of the "
        "magnet that has least?"
    ),
    answer=_behind,
    unit="mm",
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
        f"{abs(_steep(n).outer.b):.3f}.",
    ),
    solution=lambda n: (
        f"{_middle(n):.1f}/cos − {n.magnet / 2:g}·tan = {_behind(n, 0):.1f} − "
        f"{_behind(n, 0) - _behind(n):.1f} = **{_behind(n):.1f} mm**. Measured at the middle alone "
        f"you would have promised {_behind(n, 0) - _behind(n):.0f} mm too much."
    ),
)


def _draw_panel(rng):
    return SimpleNamespace(
        length=10 * int(rng.integers(50, 71)),
        width=10 * int(rng.integers(30, 41)),
        board=int(rng.choice([12, 15, 18])),
    )


def _mode(n, braces=0):
    sides = mm(n.length), mm(n.width), mm(n.board)
    return braced_mode(*sides, braces) if braces else panel_mode(*sides)


brace = Exercise(
    "fitting-the-space/brace",
    title="How far up does one brace push a panel?",
    draw=_draw_panel,
    prompt=lambda n: (
        f"A panel of {n.length} × {n.width} mm ({_inch(n.length)} × {_inch(n.width)}), its edges "
        f"hinged, resonates first at {_mode(n):.0f} Hz. One stiff brace across the middle parts "
        "its long side. Where is the first resonance of each half?"
    ),
    answer=lambda n: _mode(n, 1),
    unit="Hz",
    tolerance=0.015,
    slips={
        "Only the long side is halved; the short one stays.": lambda n: 4 * _mode(n),
        "You halved the short side. A brace belongs across the long one.": lambda n: (
            _mode(n) * (1 / n.length**2 + 4 / n.width**2) / (1 / n.length**2 + 1 / n.width**2)
        ),
    },
    hints=lambda n: (
        "Same board, same edges: only the sizes change. How does the resonance go with them?",
        "It goes as 1/a² + 1/b². Put half the long side in for a.",
        f"Multiply {_mode(n):.0f} Hz by (4/{n.length}² + 1/{n.width}²) / "
        f"(1/{n.length}² + 1/{n.width}²).",
    ),
    solution=lambda n: (
        f"The ratio is {_mode(n, 1) / _mode(n):.2f}, so **{_mode(n, 1):.0f} Hz**: further above "
        "the band that a bass box plays, where nothing drives it."
    ),
)


def _draw_crash(rng):
    return SimpleNamespace(
        mass=int(rng.integers(12, 31)),
        speed=int(rng.choice([40, 50, 60])),
        distance=int(rng.integers(10, 17)) / 20,
    )


def _force(n):
    return holding_force(n.mass, mean_deceleration(n.speed / 3.6, n.distance))


crash = Exercise(
    "fitting-the-space/crash",
    title="What must hold this box in a crash?",
    draw=_draw_crash,
    prompt=lambda n: (
        f"A car stops from {n.speed} km/h within {n.distance:g} m, evenly. In it is a box of "
        f"{n.mass} kg ({n.mass / 0.45359237:.0f} lb). What force must its fastenings give, on "
        "average?"
    ),
    answer=_force,
    unit="N",
    tolerance=0.02,
    slips={
        "The speed must be in metres a second: divide km/h by 3.6.": lambda n: _force(n) * 3.6**2,
        "An even stop takes v²/(2·s), not v²/s.": lambda n: 2 * _force(n),
        "That is its weight at rest.": lambda n: n.mass * GRAVITY,
    },
    hints=lambda n: (
        "Force is mass times deceleration. How hard does the car brake if it stops in that length?",
        "a = v²/(2·s) with v in m/s, and F = m·a.",
        f"v = {n.speed / 3.6:.2f} m/s, so a = "
        f"{mean_deceleration(n.speed / 3.6, n.distance):.0f} m/s².",
    ),
    solution=lambda n: (
        f"a = {mean_deceleration(n.speed / 3.6, n.distance):.0f} m/s², which is "
        f"{mean_deceleration(n.speed / 3.6, n.distance) / GRAVITY:.0f} g, and F = "
        f"**{_force(n):.0f} N**: as much as {_force(n) / GRAVITY:.0f} kg at rest. "
        "The peak is higher than the mean."
    ),
)


def _draw_boxes(rng):
    f3 = np.sort(rng.choice(np.arange(34, 60), 6, replace=False))
    return SimpleNamespace(
        f3=[int(v) for v in f3],
        spl=[int(v) for v in rng.choice(np.arange(95, 110), 6, replace=False)],
        litres=[int(v) for v in rng.choice(np.arange(10, 40), 6, replace=False)],
    )


def _beaten(n):
    costs = np.column_stack([n.f3, [-v for v in n.spl], n.litres])
    return int(np.count_nonzero(~on_front(costs)))


pareto = Exercise(
    "fitting-the-space/front",
    title="Which boxes can be thrown out?",
    draw=_draw_boxes,
    prompt=lambda n: (
        "Six boxes: "
        + "; ".join(
            f"{name}: f3 {f} Hz, {s} dB, {v} L"
            for name, f, s, v in zip("ABCDEF", n.f3, n.spl, n.litres, strict=True)
        )
        + ". Lower f3, more dB and fewer litres are better. How many of the six are beaten by "
        "another in all three?"
    ),
    answer=_beaten,
    unit="",
    tolerance=0.0,
    absolute=0.4,
    hints=lambda n: (
        "They are sorted by f3, so a box can only be beaten by one that stands before it.",
        "For each box, look whether one before it has both more dB and fewer litres.",
        "A is safe, whatever the others do: nothing goes as low.",
    ),
    solution=lambda n: (
        f"Going through them from A to F, **{_beaten(n)}** have one before them that is louder and "
        "smaller too. The others are the front: which to build depends on what you value."
    ),
)

EXERCISES = (net_volume, bevel, rim, brace, crash, pareto)

_LINES = {  # prediction -> explainer, its settings, and the line of its readout that answers
    "left": ("gap_to_volume", {}, 0),
    "spare": ("does_it_go_in", {}, None),
    "weakest": ("builds_for_the_gap", {}, 0),
    "fill": ("brace_and_fill", {}, 2),
    "best": ("pick_from_the_front", {}, 2),
}
_RIGHT = {
    "left": "About half, 19 L",
    "spare": "About 35 mm (1.4 in)",
    "weakest": "Sealed",
    "fill": "It goes up by about 1 Hz",
    "best": "About one in ten",
}
_OTHERS = {
    "left": {
        "Nearly all, 32 L": "That is the gap without the bracket and the slack. Then come a third "
        "of it for board, and the driver.",
        "About 70 %, 25 L": "That is about what a deep box of the same material keeps. A shallow "
        "one has more wall for its air.",
    },
    "spare": {
        "About 80 mm (3.1 in)": "That is the middle of the gap less the driver. Slack, two boards "
        "and breathing room behind the magnet still come off, and the rim sits higher up.",
        "It does not go in": "A driver that is 40 mm deeper would not.",
    },
    "weakest": {
        "Ported": "With no limit on its air it would draw level. The port that fits here is "
        "stopped by its own air at 94 dB.",
        "With a radiator": "True from about 34 Hz up, and on average over the band. At 30 Hz it is "
        "already falling towards its null.",
    },
    "fill": {
        "It goes down by about 5 Hz": "In a box with a boomy, high Q fill would lower f3. This one "
        "is well damped already.",
        "It stays as it is": "Nearly. It acts larger, so it is damped more and sags earlier.",
    },
    "best": {
        "Exactly one": "Only if you name one thing that counts. With depth, loudness and size "
        "there is no one best box.",
        "About half": "Most boxes are beaten by another in all three at once: too light, too heavy "
        "or too small a radiator.",
    },
}


def answer(slug):
    """What `quiz.compare` needs for one prediction, the reason with numbers from the model."""
    from boxlab.scenes import explainer

    name, settings, line = _LINES[slug]
    scene = explainer(name)(**settings)
    if line is None:
        row = next(number for number in scene.numbers if number.name.startswith("magnet"))
        because = f"From the magnet to the wall behind: {row.metric} ({row.imperial}) to spare."
    else:
        because = scene.readout[line]
    return {"right": _RIGHT[slug], "because": because, "others": _OTHERS[slug]}


# Text alternative and caption of the scaled drawing.
DRAWING = (
    "Two outline drawings at 1 to 5. Side: a wedge 200 mm deep below and 130 above, 360 high, "
    "board 18 mm thick, driver and radiator in its leaning front, a bracket in the lower corner at "
    "the back. Front: 600 mm wide, driver on the left, radiator on the right, the bracket in the "
    "lower right corner.",
    "Figure: the box in its gap at 1 : 5 when the picture is printed 208 mm wide. Dashed: the gap. "
    "Grey: board. Hatched: the bracket. Dotted: driver and radiator.",
)
