"""Four ways to mount radiators, seen from above: which pushes on the box add and which cancel."""

from __future__ import annotations

from matplotlib.figure import Figure

from boxlab.draw.palette import COLOURS, INK, PAPER

ALT = (
    "Four boxes seen from above, each with the driver in its front, at the foot of the drawing. "
    "One radiator beside the cone: its push on the box points back. One on the opposite face: its "
    "push points forward. Two beside the cone: two pushes the same way. Two on the left and right "
    "faces: two pushes that point at each other and cancel."
)
CAPTION = (
    "Figure: boxes from above, the listener at the foot. Blue is the cone, orange the radiators; "
    "an arrow is the push that a radiator gives the box while it is thrown outward. At the tuning "
    "the cone's own push is small and a quarter cycle away. Only the last mounting cancels."
)
# name -> each radiator's place (x, y) on the wall and the way out of the box there
PLACES = {
    "One beside the cone": (((3.1, 0.0), (0, -1)),),
    "One opposite the cone": (((2.0, 3.0), (0, 1)),),
    "Two beside the cone": (((0.8, 0.0), (0, -1)), ((3.2, 0.0), (0, -1))),
    "Two on opposite faces": (((0.0, 1.5), (-1, 0)), ((4.0, 1.5), (1, 0))),
}
CONES = {"One beside the cone": 1.1}  # x of the cone, where it is not in the middle


def draw(ax, name):
    """Draw one mounting, a name of `PLACES`, on matplotlib Axes; returns the Axes.

    Raises
    ------
    ValueError
        For any other name.
    """
    if name not in PLACES:
        raise ValueError(f"name = {name!r}: choose one of {', '.join(PLACES)}")
    ax.set(xlim=(-0.5, 4.5), ylim=(-0.4, 3.4), aspect="equal")
    ax.axis("off")
    ax.set_title(name, loc="left", fontsize=10, fontweight="bold", color=INK)
    ax.plot([0, 4, 4, 0, 0], [0, 0, 3, 3, 0], color=INK, linewidth=3, solid_joinstyle="miter")
    x = CONES.get(name, 2.0)
    cone = COLOURS["cone"]
    half = 0.55 if name == "Two beside the cone" else 0.75
    ax.fill(
        [x - half, x + half, x + 0.25, x - 0.25],
        [0, 0, 0.55, 0.55],
        facecolor=PAPER,
        edgecolor=cone,
        linewidth=2,
    )
    for place, out in PLACES[name]:
        _radiator(ax, place, out)
    return ax


def _radiator(ax, place, out):
    """A plate in the wall, and the push it gives the box while it moves outward."""
    colour = COLOURS["vent"]
    (x, y), (right, up) = place, out
    half = 0.6
    ax.plot(
        [x - half * abs(up), x + half * abs(up)],
        [y - half * abs(right), y + half * abs(right)],
        color=colour,
        linewidth=7,
        solid_capstyle="butt",
    )
    ax.annotate(
        "",
        (x - 1.6 * right, y - 1.6 * up),
        (x - 0.15 * right, y - 0.15 * up),
        arrowprops={"arrowstyle": "-|>", "color": colour, "linewidth": 2.2, "mutation_scale": 14},
    )


def figure():
    """All four side by side, as a matplotlib Figure of lesson width."""
    sheet = Figure(figsize=(8.2, 2.1), dpi=100, facecolor=PAPER, layout="constrained")
    for ax, name in zip(sheet.subplots(1, 4), PLACES, strict=True):
        draw(ax, name)
    return sheet
