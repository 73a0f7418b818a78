"""Exercises of the lesson "fitting the space": volume, bevel, rim, brace, crash, front."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np

from boxlab.base.units import mm
from boxlab.car.bracing import braced_mode, panel_mode
from boxlab.car.restraint import GRAVITY, holding_force, mean_deceleration
from boxlab.design.pareto import front as on_front
from boxlab.quiz.exercises import answers_of
from boxlab.quiz.exercises._wedge_tasks import bevel, inch, net_volume, rim
from boxlab.quiz.task import Exercise

__all__ = ["DRAWING", "EXERCISES", "answer", "bevel", "net_volume", "rim"]


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
        f"A panel of {n.length} × {n.width} mm ({inch(n.length)} × {inch(n.width)}), its edges "
        f"hinged, resonates first at {_mode(n):.0f} Hz. One stiff brace across the middle parts "
        "its long side. Where is the first resonance of each half?"
    ),
    answer=lambda n: _mode(n, 1),
    unit="Hz",
    formula="f = f1·(4/a² + 1/b²)/(1/a² + 1/b²)",
    letters=lambda n: {"f1": round(float(_mode(n))), "a": mm(n.length), "b": mm(n.width)},
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
    formula="F = m·v²/(2·s), v in m/s",
    letters=lambda n: {"m": n.mass, "v": n.speed / 3.6, "s": n.distance},
    tolerance=0.02,
    slips={
        "The speed must be in metres a second: divide km/h by 3.6.": lambda n: _force(n) * 3.6**2,
        "The speed must be in metres a second: multiply mph by 0.447.": lambda n: (
            _force(n) / 0.44704**2
        ),
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
        f"{mean_deceleration(n.speed / 3.6, n.distance) / GRAVITY:.0f} times gravity, and F = "
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
        + ". Lower f3, more dB and a smaller volume are better. How many of the six are beaten by "
        "another in all three?"
    ),
    answer=_beaten,
    unit="",
    tolerance=0.0,
    absolute=0.4,
    hints=lambda n: (
        "They are sorted by f3, so a box can only be beaten by one that stands before it.",
        "For each box, look whether one before it has both more dB and less volume.",
        "A is safe, whatever the others do: nothing goes as low.",
    ),
    solution=lambda n: (
        f"Going through them from A to F, **{_beaten(n)}** have one before them that is louder and "
        "smaller too. The others are the front: which to build depends on what you value."
    ),
)

answer = answers_of(__name__)
EXERCISES = (net_volume, bevel, rim, brace, crash, pareto)

# Text alternative and caption of the scaled drawing.
DRAWING = (
    "Two outline drawings at 1 to 5. Side: a wedge 200 mm deep below and 130 above, 360 high, "
    "board 18 mm thick, driver and radiator in its leaning front, a bracket in the lower corner at "
    "the back. Front: 600 mm wide, driver on the left, radiator on the right, the bracket in the "
    "lower right corner.",
    "Figure: the box in its gap at 1 : 5 when the picture is printed 208 mm wide. Dashed: the gap. "
    "Grey: board. Hatched: the bracket. Dotted: driver and radiator.",
)
