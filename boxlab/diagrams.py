"""Two drawings for the "why" of a lesson: a box cut open, and the same box as a circuit.

Colours are the roles of all pictures: cone, vent, leak; ink for the rest. Every arrow
points the way that counts as positive: out of the box.
"""

from __future__ import annotations

import numpy as np
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from boxlab.inks import COLOURS, INK, PAPER

BUILDS = ("sealed", "ported", "radiator")
CONE, VENT, LEAK = (COLOURS[role] for role in ("cone", "vent", "leak"))
WORDS = 9.5  # points: readable at lesson width


def sheet(width: float = 8.2, height: float = 3.7) -> Figure:
    """A figure of lesson width with one empty axes, for either drawing."""
    figure = Figure(figsize=(width, height), dpi=100, facecolor=PAPER)
    FigureCanvasAgg(figure)
    figure.add_axes((0.01, 0.01, 0.98, 0.98))
    return figure


def _known(build: str) -> None:
    if build not in BUILDS:
        raise ValueError(f"build = {build!r}: choose one of {', '.join(BUILDS)}")


def _say(ax, x, y, words, colour=INK, ha="left", va="center") -> None:
    ax.text(x, y, words, fontsize=WORDS, color=colour, ha=ha, va=va, linespacing=1.25)


def _arrow(ax, start, end, colour) -> None:
    ax.annotate(
        "", end, start, zorder=4,
        arrowprops={"arrowstyle": "-|>", "color": colour, "lw": 2.2, "mutation_scale": 15,
                    "shrinkA": 0, "shrinkB": 0},
    )  # fmt: skip


def cross_section(ax, build: str = "radiator"):
    """Draw a box cut open on `ax`: what moves, what is a spring, which way is positive.

    Parameters
    ----------
    build : "sealed", "ported" or "radiator"

    Raises
    ------
    ValueError
        For any other build.
    """
    _known(build)
    ax.set(xlim=(0, 16), ylim=(0, 7.2), aspect="equal")
    ax.axis("off")
    left, right, low, high = 3.2, 9.6, 0.5, 6.7
    ax.fill([left, right, right, left], [low, low, high, high], facecolor=INK, alpha=0.06, lw=0)
    holes = {"sealed": [], "ported": [(1.0, 2.4)], "radiator": [(0.85, 2.65)]}[build]
    wall = {"color": INK, "lw": 4, "solid_capstyle": "projecting", "zorder": 3}
    ax.plot([right, left, left], [high, high, 4.75], **wall)  # the gap at 4.55..4.75 is the leak
    ax.plot([left, left, right], [4.5, low, low], **wall)
    front = low
    for start, end in [*holes, (3.35, 5.95)]:
        ax.plot([right, right], [front, start], **wall)
        front = end
    ax.plot([right, right], [front, high], **wall)

    # The driver: cone, surround and motor, with its own suspension.
    ax.fill([right, 8.4, 8.4, right], [5.75, 4.95, 4.35, 3.55], fc=CONE, ec=CONE, alpha=0.35)
    for sign in (1, -1):
        ax.plot([right, 9.45, right], 4.65 + sign * np.array([1.1, 1.2, 1.3]), color=CONE, lw=2)
    ax.fill([8.4, 7.5, 7.5, 8.4], [5.2, 5.2, 4.1, 4.1], fc=PAPER, ec=INK, lw=1.6)
    _say(ax, 7.3, 5.55, "motor", ha="right")
    _arrow(ax, (9.75, 4.65), (11.4, 4.65), CONE)
    _say(ax, 11.6, 4.65, "cone flow $U_D$\nmass and suspension\nof the driver", CONE)

    if build == "ported":
        for y in (1.0, 2.4):
            ax.plot([right, 5.6], [y, y], color=INK, lw=2.4, zorder=3)
        ax.fill([right, 5.7, 5.7, right], [1.08, 1.08, 2.32, 2.32], fc=VENT, alpha=0.35, lw=0)
        _say(ax, 7.6, 1.7, "the air in the port: a mass", ha="center")
        _arrow(ax, (9.75, 1.7), (11.4, 1.7), VENT)
        _say(ax, 11.6, 1.7, "vent flow $U_P$\na mass, no spring\nof its own", VENT)
    elif build == "radiator":
        ax.fill([9.3, 9.55, 9.55, 9.3], [1.2, 1.2, 2.3, 2.3], fc=VENT, ec=VENT, alpha=0.7)
        for sign in (1, -1):
            ax.plot(
                [9.42, 9.3, 9.45, right], 1.75 + sign * np.array([0.55, 0.7, 0.8, 0.9]),
                color=VENT, lw=2,
            )  # fmt: skip
        ax.fill([9.3, 8.7, 8.7, 9.3], [1.5, 1.5, 2.0, 2.0], fc=INK, lw=0)
        _say(ax, 8.5, 1.75, "added weights", ha="right")
        _arrow(ax, (9.75, 1.75), (11.4, 1.75), VENT)
        _say(ax, 11.6, 1.75, "vent flow $U_P$\na mass and a suspension\nof its own", VENT)
    else:
        _say(ax, 11.6, 1.75, "no second way out", COLOURS["quiet"])

    x = np.linspace(3.9, 6.9, 200)
    ax.plot(x, 3.9 + 0.3 * np.sin((x - 3.9) * 2 * np.pi / 0.5), color=INK, lw=1.8)
    _say(ax, 3.75, 3.05, "box air: a spring\nat pressure $p_B$")
    _arrow(ax, (3.0, 4.62), (1.7, 4.62), LEAK)
    _say(ax, 1.5, 4.62, "leaks\n$U_L$", LEAK, ha="right")
    _say(ax, 11.6, 6.5, "arrows: outward is positive", INK)
    return ax


def circuit(ax, build: str = "radiator"):
    """Draw the same box as a circuit on `ax`: pressure for voltage, volume flow for current.

    All branches run from the box air at the top to the outside air at the foot, so every flow is
    counted outward and their sum with the flow that squeezes the box air is nothing.

    Raises
    ------
    ValueError
        For an unknown build.
    """
    _known(build)
    ax.set(xlim=(0, 16), ylim=(0, 7.2), aspect="equal")
    ax.axis("off")
    top, foot = 6.2, 0.7
    cone = [("source", "push of the motor"), ("resistor", "$R_{AD}$ losses, brake"),
            ("coil", "$M_{AD}$ moving mass"), ("plates", "$C_{AD}$ suspension")]  # fmt: skip
    vent = {
        "sealed": [],
        "ported": [("coil", "$M_{AP}$ air in port")],
        "radiator": [("resistor", "$R_{AP}$ losses"), ("coil", "$M_{AP}$ moving mass"),
                     ("plates", "$C_{AP}$ suspension")],
    }[build]  # fmt: skip
    branches = [
        (1.6, cone, CONE, "$U_D$"),
        (5.2, [("plates", "$C_{AB}$ box air")], INK, ""),
        (8.6, [("resistor", "$R_{AL}$ leaks")], LEAK, "$U_L$"),
    ]
    if vent:
        branches.append((12.0, vent, VENT, "$U_P$"))
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
