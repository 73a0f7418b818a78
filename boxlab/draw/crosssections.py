"""Three boxes cut open: sealed, ported, with a radiator. A drawing of what moves and on what."""

from __future__ import annotations

from matplotlib.figure import Figure

from boxlab.draw.palette import COLOURS, INK, PAPER

ALT = (
    "Three boxes cut open, side by side, each with the same driver in its upper front. Sealed: "
    "only the cone moves, on the spring of the box air. Port: below the cone a pipe; the air in it "
    "is a second moving mass on the same spring. Radiator: in place of the pipe a weighted plate; "
    "it is a second moving mass too, on the box air and on a suspension of its own."
)
CAPTION = (
    "Figure: what moves in each box. The cone is blue, the vent orange. The zigzag is a spring: "
    "the air in the box for all three, and for the radiator a suspension as well."
)
NAMES = ("Sealed", "Port", "Radiator")


def draw(ax, kind):
    """Draw one box, "Sealed", "Port" or "Radiator", on matplotlib Axes; returns the Axes.

    Raises
    ------
    ValueError
        For any other kind.
    """
    if kind not in NAMES:
        raise ValueError(f"kind = {kind!r}: choose one of {', '.join(NAMES)}")
    ax.set(xlim=(-1.2, 7.4), ylim=(-1.3, 7.4), aspect="equal")
    ax.axis("off")
    ax.set_title(kind, loc="left", fontsize=11, fontweight="bold", color=INK)
    _walls(ax, gap=kind != "Sealed")
    _cone(ax)
    _spring(ax, 0.5, 3.4, 4.8, INK)
    ax.text(0.5, 5.3, "box air", fontsize=9, color=INK)
    if kind == "Port":
        _port(ax)
    if kind == "Radiator":
        _radiator(ax)
    return ax


def figure():
    """All three side by side, as a matplotlib Figure of lesson width."""
    sheet = Figure(figsize=(8.2, 2.9), dpi=100, facecolor=PAPER, layout="constrained")
    for ax, kind in zip(sheet.subplots(1, 3), NAMES, strict=True):
        draw(ax, kind)
    return sheet


def _walls(ax, gap):
    """Back, top and floor; the front has a hole for the driver, and one for the vent."""
    wall = {"color": INK, "linewidth": 3, "solid_capstyle": "butt"}
    ax.plot([5, 0, 0, 5], [7, 7, 0, 0], **wall)
    ax.plot([5, 5], [7, 6.5], **wall)
    if gap:
        ax.plot([5, 5], [3.1, 2.4], **wall)
        ax.plot([5, 5], [0.6, 0], **wall)
    else:
        ax.plot([5, 5], [3.1, 0], **wall)


def _cone(ax):
    colour = COLOURS["cone"]
    ax.fill([5, 4, 4, 5], [6.4, 5.3, 4.3, 3.2], facecolor=colour, alpha=0.25, edgecolor=colour)
    ax.fill([4, 3.3, 3.3, 4], [5.4, 5.4, 4.2, 4.2], facecolor="none", edgecolor=INK)
    _arrow(ax, 4.8, colour)
    ax.text(6.8, 5.3, "cone", fontsize=9, color=colour, ha="right")


def _port(ax):
    colour = COLOURS["vent"]
    ax.plot([5.1, 1.4], [2.4, 2.4], color=INK, linewidth=2)
    ax.plot([5.1, 1.4], [0.6, 0.6], color=INK, linewidth=2)
    ax.fill([5, 1.5, 1.5, 5], [2.25, 2.25, 0.75, 0.75], facecolor=colour, alpha=0.25)
    ax.text(3.2, 1.5, "mass of air", fontsize=9, color=INK, ha="center", va="center")
    _arrow(ax, 1.5, colour)
    ax.text(0, -0.9, "one mass, one spring", fontsize=9, color=INK)


def _radiator(ax):
    colour = COLOURS["vent"]
    ax.fill([5, 4.75, 4.75, 5], [2.3, 2.3, 0.7, 0.7], facecolor=colour, alpha=0.5, edgecolor=colour)
    ax.fill([4.7, 4.2, 4.2, 4.7], [1.8, 1.8, 1.2, 1.2], facecolor=INK)
    ax.text(4.05, 1.5, "weights", fontsize=9, color=INK, ha="right", va="center")
    ax.plot([2.6, 2.6], [2.45, 3.05], color=INK, linewidth=2)
    _spring(ax, 2.6, 4.75, 2.75, colour)
    ax.text(2.45, 2.75, "suspension", fontsize=9, color=INK, ha="right", va="center")
    ax.plot([4.85, 4.85], [2.75, 2.3], color=colour, linewidth=1.5)
    ax.plot([4.75, 4.85], [2.75, 2.75], color=colour, linewidth=1.5)
    _arrow(ax, 1.5, colour)
    ax.text(0, -0.9, "one mass, two springs", fontsize=9, color=INK)


def _spring(ax, start, end, y, colour):
    step = (end - start) / 8
    x = [start] + [start + step * (k + 0.5) for k in range(8)] + [end]
    ax.plot(x, [y, *(y + 0.28 * (-1) ** k for k in range(8)), y], color=colour, linewidth=1.3)


def _arrow(ax, y, colour):
    ax.annotate(
        "", (6.8, y), (5.3, y), arrowprops={"arrowstyle": "<->", "color": colour, "linewidth": 1.6}
    )
