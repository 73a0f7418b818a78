"""The look of all plots, and the part of a plot that does not move: its frame and its key.

Colour says what a curve is and keeps that meaning everywhere. Dash says which kind of box it
belongs to. Both differ, so that a grey print and a colour-blind eye still tell curves apart.
"""

from __future__ import annotations

import numpy as np
from matplotlib.lines import Line2D
from matplotlib.patches import Patch
from matplotlib.ticker import (
    FixedFormatter,
    FixedLocator,
    FuncFormatter,
    MaxNLocator,
    NullFormatter,
    NullLocator,
)

from boxlab.draw.palette import AXIS, COLOURS, FAINT, GRID, INK, lightness
from boxlab.draw.scene import Line, Plot

# In grey some colours are one. A curve that could then be taken for another one of its plot, as
# their dashes are the same, carries the sign of its role.
SIGNS = {
    "cone": "o", "vent": "^", "limit": "s", "electrical": "D", "leak": "v", "rear": "P",
    "sum": "", "quiet": "",
}  # fmt: skip
APART = 18.0  # of 100 from black to white: steps of grey that an eye still tells apart on a print
WIDTHS = {"sum": 2.3, "limit": 1.7, "quiet": 1.4}  # points; the others are 1.9
DASHES = {"": "solid", "radiator": "solid", "ported": (0, (5, 1.8)), "sealed": (0, (1.2, 1.3))}

STYLE = {
    "font.family": "sans-serif",
    "font.sans-serif": ["DejaVu Sans"],
    "font.size": 9.0,
    "mathtext.fontset": "dejavusans",
    "text.parse_math": False,  # a $ in a name somebody gave is a $
    "axes.unicode_minus": True,
    "svg.hashsalt": "boxlab",
    "svg.fonttype": "path",
    "path.simplify": True,
}


def stroke(line: Line) -> dict:
    """Colour, width and dash of a line, as matplotlib keywords."""
    width = WIDTHS.get(line.role, 1.9)
    return {
        "color": COLOURS[line.role],
        "linewidth": width,
        "linestyle": DASHES[line.build],
    }


def plain(value: float) -> str:
    """A number as people write it: 20, 0.5, 1000.

    >>> plain(20.0), plain(0.5), plain(-12)
    ('20', '0.5', '−12')
    """
    return f"{value:.10g}".replace("-", "−")


def ticks_125(low: float, high: float) -> list[float]:
    """Values 1, 2, 5, 10, ... from `low` to `high`; only 1, 10, ... over three decades or more.

    >>> ticks_125(10, 200)
    [10.0, 20.0, 50.0, 100.0, 200.0]
    """
    steps = (1, 2, 5) if high / low < 1000 else (1,)
    first, last = int(np.floor(np.log10(low))), int(np.ceil(np.log10(high)))
    values = [step * 10.0**power for power in range(first, last + 1) for step in steps]
    return [value for value in values if low * (1 - 1e-9) <= value <= high * (1 + 1e-9)]


def _scale(axis, scale: str, limits: tuple[float, float], ticks=()) -> None:
    if scale == "log":
        low, high = limits
        axis.set_major_locator(FixedLocator(list(ticks) or ticks_125(low, high)))
        decades = range(int(np.floor(np.log10(low))), int(np.ceil(np.log10(high))) + 1)
        minor = [digit * 10.0**power for power in decades for digit in range(1, 10)]
        axis.set_minor_locator(FixedLocator([value for value in minor if low < value < high]))
    else:
        few = MaxNLocator(nbins=6, steps=[1, 2, 5, 10], min_n_ticks=4)
        axis.set_major_locator(FixedLocator(list(ticks)) if ticks else few)
        axis.set_minor_locator(NullLocator())
    axis.set_major_formatter(FuncFormatter(lambda value, _: plain(value)))
    axis.set_minor_formatter(NullFormatter())


def entries(plot: Plot) -> tuple[tuple[str, str, str, str], ...]:
    """What the key of a plot must explain: label, role, build and kind, each once, in order."""
    found = {
        line.label: (line.label, line.role, line.build, line.kind) for line in plot.lines[::-1]
    }
    return tuple(found[line.label] for line in plot.lines if line.label and found.get(line.label))


def one_key(plots) -> bool:
    """Whether one key serves all plots of a picture, being the same for each."""
    return len(plots) > 1 and len({entries(plot) for plot in plots}) == 1


def alike(one, other) -> bool:
    """Whether two entries of a key cannot be told apart in grey by line, dash and shade."""
    drawn = "line", "steps"
    if {one[3], other[3]} <= set(drawn):
        if DASHES[one[2]] != DASHES[other[2]]:
            return False
    elif one[3] != other[3]:
        return False
    return abs(lightness(COLOURS[one[1]]) - lightness(COLOURS[other[1]])) < APART


def signs(plot: Plot) -> dict[tuple[str, str, str], str]:
    """The signs that curves of a plot need in grey: (role, build, kind) -> marker."""
    shown = list(dict.fromkeys(entries(plot)))
    return {
        one[1:]: SIGNS[one[1]]
        for one in shown
        if SIGNS[one[1]] and any(other[1:] != one[1:] and alike(one, other) for other in shown)
    }


def key_handles(plot: Plot) -> list:
    """What the key of a plot shows, one handle for each label."""
    handles, needed = [], signs(plot)
    for label, role, build, kind in dict.fromkeys(entries(plot)):
        line = Line(np.empty(0), np.empty(0), role, label, build, kind)
        sign = needed.get((role, build, kind), "")
        if kind == "fill":
            handles.append(Patch(facecolor=COLOURS[role], alpha=0.25, label=label))
        elif kind in ("points", "dots"):
            look = {"color": COLOURS[role], "marker": sign or "o", "ms": 4, "ls": ""}
            handles.append(Line2D([], [], label=label, **look))
        else:
            look = {"marker": sign, "ms": 4.5, "markevery": [0]} if sign else {}
            handles.append(Line2D([], [], label=label, **look, **stroke(line)))
    return handles


def frame(ax, plot: Plot, key: bool = True) -> None:
    """Everything of a plot that does not move: limits, ticks, grid, titles and the key."""
    ax.set_xscale(plot.xscale)
    ax.set_yscale(plot.yscale)
    ax.set_xlim(plot.xlim)
    ax.set_ylim(plot.ylim)
    if plot.equal:
        ax.set_aspect("equal", anchor="W")
    _scale(ax.xaxis, plot.xscale, plot.xlim)
    _scale(ax.yaxis, plot.yscale, plot.ylim, plot.yticks)
    if plot.ynames:
        ax.yaxis.set_major_formatter(FixedFormatter(plot.ynames))
    ax.set_axisbelow(True)
    ax.grid(True, which="major", color=GRID, linewidth=0.8)
    ax.grid(True, which="minor", color=FAINT, linewidth=0.6)
    ax.tick_params(which="both", color=AXIS, labelcolor=INK, labelsize=8.5, length=3)
    ax.tick_params(which="minor", length=0)
    for side, spine in ax.spines.items():
        spine.set_visible(side in ("left", "bottom"))
        spine.set_color(AXIS)
    ax.set_xlabel(plot.xlabel, fontsize=8.5, color=INK, labelpad=2, parse_math=False)
    ax.set_ylabel(plot.ylabel, fontsize=8.5, color=INK, labelpad=3, parse_math=False)
    labels = dict.fromkeys(entries(plot)) if key else {}
    rows = 0
    if labels:
        # The key sits above the axes, where no curve can run under it.
        columns, rows = key_shape([label[0] for label in labels], _inches(ax, ax.get_position()))
        ax.legend(
            handles=key_handles(plot), loc="lower left", bbox_to_anchor=(-0.01, 1.0),
            ncols=columns, frameon=False, fontsize=8.5, labelcolor=INK, handlelength=2.4,
            handletextpad=0.5, columnspacing=1.3, borderpad=0.1, borderaxespad=0.15,
            labelspacing=0.25,
        )  # fmt: skip
    ax.set_title(  # y is given: matplotlib would look for a place anew each time it draws
        plot.title, loc="left", y=1.0, pad=5 + 13.0 * rows,
        fontsize=9.5, fontweight="bold", color=INK, parse_math=False,
    )  # fmt: skip


def _inches(ax, position) -> float:
    return position.width * ax.figure.get_figwidth()


def key_room(ax) -> float:
    """Inches that axes of a grid were given for their key, before they made room for labels."""
    return _inches(ax, ax.get_subplotspec().get_position(ax.figure))


def key_shape(labels, room: float) -> tuple[int, int]:
    """Columns and rows of a key that keeps within `room` inches, the width of its axes."""
    for columns in range(len(labels), 1, -1):
        widths = [max(len(text) for text in labels[start::columns]) for start in range(columns)]
        if sum(4.9 * width + 36 for width in widths) <= 72 * 1.08 * room:
            return columns, -(-len(labels) // columns)
    return 1, len(labels)
