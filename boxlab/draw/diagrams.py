"""A box with a radiator as a circuit: pressure for voltage, flow for current.

Colours are the roles of all pictures: cone, vent, leak; ink for the rest. Every arrow
points the way that counts as positive: out of the box.
"""

from __future__ import annotations

import numpy as np
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from boxlab.draw.palette import COLOURS, INK, PAPER

ALT = (
    "A circuit of four branches between two rails, box air above and outside air below. Cone: the "
    "push of the motor in series with losses, moving mass and suspension. Box air: a capacitor. "
    "Leaks: a resistor. Radiator: losses, moving mass and suspension in series, like the cone but "
    "with nothing that pushes. Arrows for the flows of cone, leaks and radiator point outward."
)
CAPTION = (
    "Figure: the box with a radiator as a circuit; pressure stands for voltage and flow for "
    "current. A wire in place of the radiator's suspension makes it a port. Cut its whole branch, "
    "and the box is sealed."
)
CONE, VENT, LEAK = (COLOURS[role] for role in ("cone", "vent", "leak"))
WORDS = 9.5  # points: readable at lesson width


def sheet(width: float = 8.2, height: float = 3.7) -> Figure:
    """A figure of lesson width with one empty axes, for a drawing."""
    figure = Figure(figsize=(width, height), dpi=100, facecolor=PAPER)
    FigureCanvasAgg(figure)
    figure.add_axes((0.01, 0.01, 0.98, 0.98))
    return figure


def figure() -> Figure:
    """The circuit as a matplotlib Figure of lesson width."""
    page = sheet()
    circuit(page.axes[0])
    return page


def _say(ax, x, y, words, colour=INK, ha="left", va="center") -> None:
    ax.text(x, y, words, fontsize=WORDS, color=colour, ha=ha, va=va, linespacing=1.25)


def _arrow(ax, start, end, colour) -> None:
    ax.annotate(
        "", end, start, zorder=4,
        arrowprops={"arrowstyle": "-|>", "color": colour, "lw": 2.2, "mutation_scale": 15,
                    "shrinkA": 0, "shrinkB": 0},
    )  # fmt: skip


def circuit(ax):
    """Draw the circuit on matplotlib Axes; returns the Axes.

    All branches run from the box air at the top to the outside air at the foot, so every flow is
    counted outward and their sum with the flow that squeezes the box air is nothing.
    """
    ax.set(xlim=(0, 16), ylim=(0, 7.2), aspect="equal")
    ax.axis("off")
    top, foot = 6.2, 0.7
    cone = [("source", "push of the motor"), ("resistor", "$R_{AD}$ losses, brake"),
            ("coil", "$M_{AD}$ moving mass"), ("plates", "$C_{AD}$ suspension")]  # fmt: skip
    vent = [("resistor", "$R_{AP}$ losses"), ("coil", "$M_{AP}$ moving mass"),
            ("plates", "$C_{AP}$ suspension\n(for a port: a wire)")]  # fmt: skip
    branches = [
        (1.6, cone, CONE, "$U_D$"),
        (5.2, [("plates", "$C_{AB}$ box air")], INK, ""),
        (8.6, [("resistor", "$R_{AL}$ leaks")], LEAK, "$U_L$"),
        (12.0, vent, VENT, "$U_P$"),
    ]
    rail = {"color": INK, "lw": 1.8, "solid_capstyle": "round"}
    for y in (top, foot):
        ax.plot([branches[0][0], branches[-1][0]], [y, y], **rail)
    _say(ax, branches[0][0], top + 0.5, "box air, pressure $p_B$")
    _say(ax, branches[0][0], foot - 0.42, "outside air, no pressure: every flow $U$ runs outward")
    for x, parts, colour, flow in branches:
        _branch(ax, x, top, foot, parts, colour)
        for y in (top, foot):
            ax.plot(x, y, "o", color=INK, ms=5, zorder=5)
        if flow:
            _arrow(ax, (x - 0.7, top - 0.2), (x - 0.7, top - 1.1), colour)
            _say(ax, x - 0.9, top - 0.65, flow, colour, ha="right")
    return ax


def _branch(ax, x, top, foot, parts, colour) -> None:
    """Symbols in series down from the rail, spread evenly, each with its name beside it."""
    centres = np.linspace(top, foot, len(parts) + 2)[1:-1]
    half = 0.42
    y = top
    for centre, (symbol, name) in zip(centres, parts, strict=True):
        ax.plot([x, x], [y, centre + half], color=colour, lw=1.8)
        _SYMBOLS[symbol](ax, x, centre, half, colour)
        _say(ax, x + 0.55, centre, name, colour)
        y = centre - half
    ax.plot([x, x], [y, foot], color=colour, lw=1.8)


def _resistor(ax, x, y, half, colour) -> None:
    ax.fill(
        x + np.array([-0.17, 0.17, 0.17, -0.17]), y + half * np.array([1, 1, -1, -1]),
        fc=PAPER, ec=colour, lw=1.8,
    )  # fmt: skip


def _coil(ax, x, y, half, colour) -> None:
    turn = np.linspace(0, np.pi, 24)
    for bump in range(3):
        middle = y + half * (2 - 2 * bump) / 3
        ax.plot(x + 0.24 * np.sin(turn), middle + half / 3 * np.cos(turn), color=colour, lw=1.8)


def _plates(ax, x, y, half, colour) -> None:
    for side in (1, -1):
        ax.plot([x, x], [y + side * half, y + side * 0.1], color=colour, lw=1.8)
        ax.plot([x - 0.35, x + 0.35], [y + side * 0.1] * 2, color=colour, lw=2.4)


def _source(ax, x, y, half, colour) -> None:
    turn = np.linspace(0, 2 * np.pi, 60)
    ax.fill(x + half * np.cos(turn), y + half * np.sin(turn), fc=PAPER, ec=colour, lw=1.8)
    wave = np.linspace(-0.26, 0.26, 30)
    ax.plot(x + wave, y + 0.13 * np.sin(wave * 2 * np.pi / 0.52), color=colour, lw=1.5)


_SYMBOLS = {"resistor": _resistor, "coil": _coil, "plates": _plates, "source": _source}
