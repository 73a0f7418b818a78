"""Two drawings for the lessons about the car: coils with their supply, and a cabin seen from the
side. Nothing in them is to scale."""

from __future__ import annotations

import numpy as np
from matplotlib.figure import Figure
from matplotlib.patches import Circle, Rectangle

from boxlab.draw.palette import COLOURS, INK, PAPER

SUPPLY_ALT = (
    "Three sketches. Left: two coils of 4 ohms one after the other, − of the first to + of the "
    "second, 8 ohms. Middle: two coils of 4 ohms side by side, + to + and − to −, 2 ohms. Right: "
    "battery, directly beside its + the fuse, then the cable, the amplifier, the coils in their "
    "box, and the return to the battery."
)
SUPPLY_CAPTION = (
    "Figure: coils and supply. In series the same current goes through both coils and their ohms "
    "add; in parallel both see the same volts and the ohms halve. Mind + and − of each coil. On "
    "the right the fuse sits next to the battery, before the cable passes any metal, because it "
    "protects the cable."
)
CABIN_ALT = (
    "Two sketches of a cabin from the side with a box at the rear and a seat in front. Upper: the "
    "pressure is the same everywhere, drawn as one level line; a gap lets air out and a panel "
    "gives. Lower: the first length mode, pressure high at both ends with opposite signs and none "
    "in the middle."
)
CABIN_CAPTION = (
    "Figure: a cabin from the side, not to scale. Above, the pressure zone: for long waves the "
    "pressure is the same at every seat, less what leaks out and what the panels give. Below, the "
    "first length mode: half a wave fits, loud at both ends and silent in the middle."
)


def supply():
    """Coils in series, coils in parallel, and the way from battery to box, as a Figure."""
    sheet = Figure(figsize=(8.2, 2.7), dpi=100, facecolor=PAPER, layout="constrained")
    sheet.get_layout_engine().set(h_pad=0.1)  # inches, for the titles
    axes = sheet.subplots(1, 3, width_ratios=(1, 1, 1.9))
    for ax, title in zip(
        axes, ("Series: 4 + 4 = 8 Ω", "Parallel: 4 / 2 = 2 Ω", "From battery to box"), strict=True
    ):
        ax.set_title(title, loc="left", fontsize=10, fontweight="bold", color=INK)
        ax.axis("off")
        ax.set_aspect("equal")
    _series(axes[0])
    _parallel(axes[1])
    _path(axes[2])
    return sheet


def _wire(ax, *points, colour=INK, width=1.4):
    x, y = zip(*points, strict=True)
    ax.plot(x, y, color=colour, linewidth=width, solid_capstyle="round")


def _coil(ax, x, y, text="4 Ω"):
    """An upright coil one unit high, from (x, y) down to (x, y − 1)."""
    turn = np.linspace(0, np.pi, 30)
    for k in range(4):
        top = y - 0.25 * k
        ax.plot(
            x + 0.18 * np.sin(turn),
            top - 0.125 + 0.125 * np.cos(turn),
            color=COLOURS["electrical"],
            linewidth=1.8,
        )
    ax.text(x + 0.3, y - 0.5, text, fontsize=9, color=INK, va="center")
    for height, sign in ((y - 0.08, "+"), (y - 0.92, "−")):
        ax.text(x - 0.16, height, sign, fontsize=9, color=INK, va="center", ha="center")


def _ends(ax):
    for y, sign in ((3, "+"), (0, "−")):
        ax.add_patch(Circle((0, y), 0.08, color=INK))
        ax.text(-0.35, y, sign, fontsize=10, color=INK, va="center", ha="center")


def _series(ax):
    ax.set(xlim=(-0.6, 2.6), ylim=(-0.4, 3.3))
    _ends(ax)
    _wire(ax, (0, 3), (1.2, 3), (1.2, 2.7))
    _coil(ax, 1.2, 2.7)
    _wire(ax, (1.2, 1.7), (1.2, 1.3))
    _coil(ax, 1.2, 1.3)
    _wire(ax, (1.2, 0.3), (1.2, 0), (0, 0))


def _parallel(ax):
    ax.set(xlim=(-0.6, 2.8), ylim=(-0.4, 3.3))
    _ends(ax)
    _wire(ax, (0, 3), (1.9, 3), (1.9, 2))
    _wire(ax, (0.8, 3), (0.8, 2))
    _coil(ax, 0.8, 2)
    _coil(ax, 1.9, 2)
    _wire(ax, (0.8, 1), (0.8, 0))
    _wire(ax, (1.9, 1), (1.9, 0), (0, 0))


def _block(ax, x, y, width, height, text):
    ax.add_patch(Rectangle((x, y), width, height, facecolor="none", edgecolor=INK, linewidth=1.6))
    ax.text(x + width / 2, y + height / 2, text, fontsize=9, color=INK, ha="center", va="center")


def _path(ax):
    ax.set(xlim=(-0.2, 9.2), ylim=(-0.9, 3.6))
    _block(ax, 0, 0.6, 1.7, 1.7, "battery")
    for x, y, sign in ((0.4, 2.08, "+"), (0.8, 0.8, "−")):
        ax.text(x, y, sign, fontsize=9, color=INK, ha="center", va="center")
    _wire(ax, (0.4, 2.3), (0.4, 2.8), (0.7, 2.8))
    ax.add_patch(
        Rectangle((0.7, 2.6), 1.0, 0.4, facecolor="none", edgecolor=COLOURS["limit"], linewidth=1.8)
    )
    ax.text(1.2, 3.15, "fuse", fontsize=9, color=COLOURS["limit"], ha="center")
    _wire(ax, (1.7, 2.8), (4.9, 2.8), (4.9, 2.3), colour=COLOURS["limit"], width=2.4)
    ax.text(3.3, 3.0, "cable", fontsize=9, color=INK, ha="center")
    _block(ax, 4.0, 0.6, 1.8, 1.7, "amplifier")
    _wire(ax, (5.8, 1.9), (6.6, 1.9))
    _wire(ax, (5.8, 1.0), (6.6, 1.0))
    _block(ax, 6.6, 0.6, 2.2, 1.7, "coils, box")
    _wire(ax, (4.9, 0.6), (4.9, 0), (0.8, 0), (0.8, 0.6))
    ax.text(2.85, -0.5, "and back: counts too", fontsize=9, color=INK, ha="center")


def cabin():
    """The pressure zone and the first length mode in a cabin, as a Figure."""
    sheet = Figure(figsize=(8.2, 4.2), dpi=100, facecolor=PAPER, layout="constrained")
    upper, lower = sheet.subplots(2, 1)
    for ax, title in ((upper, "Pressure zone: long waves"), (lower, "First length mode: f = c/2L")):
        ax.set_title(title, loc="left", fontsize=10, fontweight="bold", color=INK)
        ax.set(xlim=(-0.4, 10.6), ylim=(-0.5, 3.4), aspect="equal")
        ax.axis("off")
        _shell(ax)
    x = np.linspace(1.0, 9.0, 80)
    upper.plot(x, np.full_like(x, 2.2), color=COLOURS["sum"], linewidth=2.3)
    upper.text(5.0, 2.35, "same pressure everywhere", fontsize=9, color=INK, ha="center")
    upper.annotate(
        "leak", (-0.35, 0.35), (0.75, 0.35), fontsize=9, color=COLOURS["leak"], va="center",
        arrowprops={"arrowstyle": "->", "color": COLOURS["leak"], "linewidth": 1.6},
    )  # fmt: skip
    upper.annotate(
        "", (6.2, 3.4), (6.2, 2.75),
        arrowprops={"arrowstyle": "<->", "color": COLOURS["leak"], "linewidth": 1.6},
    )  # fmt: skip
    upper.text(6.45, 3.2, "panel gives", fontsize=9, color=COLOURS["leak"], va="center")
    swing = 0.6 * np.cos(np.pi * (x - 1) / 8)
    lower.plot(x, 1.95 + swing, color=COLOURS["sum"], linewidth=2.3)
    lower.plot([1, 9], [1.95, 1.95], color=COLOURS["quiet"], linewidth=1.0)
    lower.text(5.2, 2.1, "none here", fontsize=9, color=INK)
    return sheet


def _shell(ax):
    """A plain cabin, a seat, and the box at the rear."""
    _wire(ax, (0, 0), (10, 0), (10, 1.2), (8.8, 3), (1.4, 3), (0, 1.4), (0, 0), width=2.0)
    _wire(ax, (2.9, 0.1), (4.2, 0.5), (4.7, 1.6), colour=INK, width=2.4)
    ax.text(3.5, 0.85, "seat", fontsize=9, color=INK, ha="right")
    ax.add_patch(Rectangle((8.1, 0.1), 1.5, 1.1, facecolor="none", edgecolor=INK, linewidth=1.6))
    ax.text(8.85, 0.65, "box", fontsize=9, color=INK, ha="center", va="center")
