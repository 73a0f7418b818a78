"""Draws one `Plot` on matplotlib axes: the frame that stays, the curves and marks that move.

Colour says what a curve is and keeps that meaning everywhere. Dash says which kind of box it
belongs to. Both differ, so that a grey print and a colour-blind eye still tell curves apart.
"""

from __future__ import annotations

import numpy as np
from matplotlib import rc_context
from matplotlib.lines import Line2D
from matplotlib.patches import Patch, Polygon
from matplotlib.ticker import FixedLocator, FuncFormatter, MaxNLocator, NullFormatter, NullLocator

from .inks import AXIS, COLOURS, FAINT, GHOST, GRID, INK, PAPER
from .scene import Line, Plot

WIDTHS = {"sum": 2.3, "limit": 1.7, "quiet": 1.4}  # points; the others are 1.9
DASHES = {"": "solid", "radiator": "solid", "ported": (0, (5, 1.8)), "sealed": (0, (1.2, 1.3))}

STYLE = {
    "font.family": "sans-serif",
    "font.sans-serif": ["DejaVu Sans"],
    "font.size": 9.0,
    "mathtext.fontset": "dejavusans",
    "axes.unicode_minus": True,
    "svg.hashsalt": "boxlab",
    "svg.fonttype": "path",
    "path.simplify": True,
}


def stroke(line: Line, ghost: bool = False) -> dict:
    """Colour, width and dash of a line, as matplotlib keywords."""
    width = WIDTHS.get(line.role, 1.9)
    return {
        "color": GHOST if ghost else COLOURS[line.role],
        "linewidth": 1.6 if ghost else width,
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


def key_handles(labels) -> list:
    handles = []
    for label, role, build, kind in dict.fromkeys(labels):
        line = Line(np.empty(0), np.empty(0), role, label, build, kind)
        if kind == "fill":
            handles.append(Patch(facecolor=COLOURS[role], alpha=0.25, label=label))
        elif kind == "points":
            handles.append(
                Line2D([], [], color=COLOURS[role], marker="o", ms=4, ls="", label=label)
            )
        else:
            handles.append(Line2D([], [], label=label, **stroke(line)))
    return handles


def frame(ax, plot: Plot, key: bool = True) -> None:
    """Everything of a plot that does not move: limits, ticks, grid, titles and the key."""
    ax.set_xscale(plot.xscale)
    ax.set_yscale(plot.yscale)
    ax.set_xlim(plot.xlim)
    ax.set_ylim(plot.ylim)
    _scale(ax.xaxis, plot.xscale, plot.xlim)
    _scale(ax.yaxis, plot.yscale, plot.ylim, plot.yticks)
    ax.set_axisbelow(True)
    ax.grid(True, which="major", color=GRID, linewidth=0.8)
    ax.grid(True, which="minor", color=FAINT, linewidth=0.6)
    ax.tick_params(which="both", color=AXIS, labelcolor=INK, labelsize=8.5, length=3)
    ax.tick_params(which="minor", length=0)
    for side, spine in ax.spines.items():
        spine.set_visible(side in ("left", "bottom"))
        spine.set_color(AXIS)
    ax.set_xlabel(plot.xlabel, fontsize=8.5, color=INK, labelpad=2)
    ax.set_ylabel(plot.ylabel, fontsize=8.5, color=INK, labelpad=3)
    labels = dict.fromkeys(entries(plot)) if key else {}
    rows = 0
    if labels:
        # The key sits above the axes, where no curve can run under it.
        columns, rows = _key_shape([label[0] for label in labels], ax)
        ax.legend(
            handles=key_handles(labels), loc="lower left", bbox_to_anchor=(-0.01, 1.0),
            ncols=columns, frameon=False, fontsize=8.5, labelcolor=INK, handlelength=2.4,
            handletextpad=0.5, columnspacing=1.3, borderpad=0.1, borderaxespad=0.15,
            labelspacing=0.25,
        )  # fmt: skip
    ax.set_title(
        plot.title, loc="left", fontsize=9.5, fontweight="bold", color=INK, pad=5 + 13.0 * rows
    )


def _key_shape(labels, ax) -> tuple[int, int]:
    """Columns and rows of a key that keeps within the width of its axes."""
    room = ax.get_position().width * ax.figure.get_figwidth() * 72 * 1.08
    for columns in range(len(labels), 1, -1):
        widths = [max(len(text) for text in labels[start::columns]) for start in range(columns)]
        if sum(4.9 * width + 36 for width in widths) <= room:
            return columns, -(-len(labels) // columns)
    return 1, len(labels)


class Drawn:
    """The moving part of one plot: its curves and marks, kept and updated in place.

    `artists` are what an update may change. Names of marks are placed clear of each other.
    """

    def __init__(self, ax, plot: Plot, ghost: bool = False):
        self.ax, self.ghost = ax, ghost
        self.curves: list = []
        self.rules: list = []
        self.names: list = []
        self.update(plot)

    @property
    def artists(self) -> list:
        return [*self.rules, *self.curves, *self.names]

    def update(self, plot: Plot) -> None:
        """Show the lines and marks of `plot`; the axes' frame must be that of `plot` already."""
        for index, line in enumerate(plot.lines):
            kind = Polygon if line.kind == "fill" else Line2D
            if index == len(self.curves):
                self.curves.append(self._curve(kind))
            elif not isinstance(self.curves[index], kind):
                self.curves[index].remove()
                self.curves[index] = self._curve(kind)
            self._set(self.curves[index], line, index)
        for spare in self.curves[len(plot.lines) :]:
            spare.set_visible(False)
        self._mark(() if self.ghost else plot.marks)

    def _curve(self, kind):
        if kind is Polygon:
            return self.ax.add_patch(Polygon(np.zeros((1, 2)), closed=True, linewidth=0))
        return self.ax.add_line(Line2D([], []))

    def _set(self, artist, line: Line, index: int) -> None:
        artist.set_visible(True)
        artist.set_zorder((1.5 if self.ghost else 2.5) + 0.001 * index)
        style = stroke(line, self.ghost)
        if line.kind == "fill":
            x, y = np.asarray(line.x, float), np.asarray(line.y, float)
            # On a log axis zero is out of sight; the foot of the axis stands for it.
            foot = max(0.0, self.ax.get_ylim()[0]) if self.ax.get_yscale() == "log" else 0.0
            artist.set_xy(
                np.column_stack([np.r_[x[:1], x, x[-1:]], np.r_[[foot] * bool(x.size), y, foot]])
                if x.size
                else np.zeros((1, 2))
            )
            artist.set(facecolor=style["color"], alpha=0.25)
            return
        artist.set_data(line.x, line.y)
        if line.kind == "points":
            artist.set(linestyle="", marker="o", markersize=4, color=style["color"])
        else:
            artist.set(marker="", drawstyle="steps-mid" if line.kind == "steps" else "default")
            artist.set(dash_capstyle="butt", solid_joinstyle="round", **style)

    def _mark(self, marks) -> None:
        inside = []
        for mark in marks:
            low, high = sorted(self.ax.get_xlim() if mark.axis == "x" else self.ax.get_ylim())
            if np.isfinite(mark.at) and low <= mark.at <= high:
                inside.append(mark)
        while len(self.rules) < len(inside):
            self.rules.append(self.ax.add_line(Line2D([], [], linewidth=1.0, zorder=2)))
            self.names.append(
                self.ax.text(
                    0,
                    0,
                    "",
                    fontsize=8,
                    zorder=4,
                    # Inches of paper: the same place at any resolution.
                    transform=self.ax.figure.dpi_scale_trans,
                    clip_on=False,
                    bbox={"facecolor": PAPER, "edgecolor": "none", "alpha": 0.82, "pad": 0.6},
                )
            )
        for spare in self.rules[len(inside) :] + self.names[len(inside) :]:
            spare.set_visible(False)
        taken: list[tuple[float, float, float, float]] = []
        for mark, rule, name in zip(inside, self.rules, self.names, strict=False):
            colour = COLOURS[mark.role]
            upright = mark.axis == "x"
            rule.set_transform(
                self.ax.get_xaxis_transform() if upright else self.ax.get_yaxis_transform()
            )
            ends = ([mark.at] * 2, [0, 1]) if upright else ([0, 1], [mark.at] * 2)
            rule.set(data=ends, color=colour, visible=True, linestyle=(0, (7, 2, 1.5, 2)))
            name.set(text=mark.label, color=colour, visible=bool(mark.label))
            if mark.label:
                self._place(mark, name, taken)

    def _place(self, mark, name, taken) -> None:
        """Put a mark's name beside its line, at the first spot that no other name has."""
        figure, box = self.ax.figure, self.ax.bbox
        point = figure.dpi / 72
        renderer = figure.canvas.get_renderer()
        width, height, _ = renderer.get_text_width_height_descent(
            mark.label, name.get_fontproperties(), False
        )
        gap, row = 3 * point, 12 * point
        if mark.axis == "x":
            at = self.ax.transData.transform((mark.at, self.ax.get_ylim()[0]))[0]
            tops = [box.y1 - row * (step + 1) + gap for step in range(4)] + [box.y0 + gap]
            right, left = at + gap, at - gap - width
            sides = (
                [left] if right + width > box.x1 else [right, left] if left > box.x0 else [right]
            )
            spots = [(x, y) for y in tops for x in sides]
        else:
            at = self.ax.transData.transform((self.ax.get_xlim()[0], mark.at))[1]
            over, under = at + gap * 0.8, at - gap * 0.5 - height
            heights = [over, under] if over + height < box.y1 else [under]
            spots = [(x, y) for x in (box.x1 - width - gap, box.x0 + gap) for y in heights]
        areas = [(x, y, x + width, y + height) for x, y in spots]
        free = (a for a in areas if not any(_overlap(a, other) for other in taken))
        area = next(free, areas[0])
        taken.append(area)
        name.set_position((area[0] / figure.dpi, area[1] / figure.dpi))
        name.set(ha="left", va="bottom")


def _overlap(a, b) -> bool:
    return a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]


def draw_plot(ax, plot: Plot, key: bool = True) -> Drawn:
    """Draw one plot on the axes given; its moving part comes back, to `update` in place."""
    with rc_context(STYLE):
        frame(ax, plot, key)
        return Drawn(ax, plot)
