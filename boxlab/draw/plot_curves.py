"""Curves and marks of a plot, on its axes."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from matplotlib import rc_context
from matplotlib.backends.backend_agg import RendererAgg
from matplotlib.font_manager import FontProperties
from matplotlib.lines import Line2D
from matplotlib.patches import Polygon

from boxlab.draw.palette import COLOURS, PAPER
from boxlab.draw.plots import STYLE, frame, signs, stroke
from boxlab.draw.scene import Line, Mark, Plot

NAME_SIZE = 8  # points, of the names of marks
SIGNS = 8  # on a curve that carries a sign
SPARSE = 200  # points that a curve needs for its course between them to be known
FEW = 2  # points of curves that a name may hide
NAME_BOX = {"facecolor": PAPER, "edgecolor": "none", "alpha": 0.82, "pad": 0.6}


def draw_curves(ax, plot: Plot) -> None:
    """Curves and marks of `plot` on axes whose frame is drawn; names stand clear of each other."""
    needed = signs(plot)
    curves = []
    for index, line in enumerate(plot.lines):
        sign = needed.get((line.role, line.build, line.kind), "")
        curves.append(_curve(ax, line, 2.5 + 0.001 * index, sign))
    _mark(ax, plot.marks, curves)


def _curve(ax, line: Line, level: float, sign: str):
    style = stroke(line)
    if line.kind == "fill":
        colour = style["color"]
        return ax.add_patch(
            Polygon(
                _outline(ax, line), closed=True, linewidth=0, zorder=level,
                facecolor=colour, alpha=0.25,
            )
        )  # fmt: skip
    if line.kind in ("points", "dots"):
        dots = {"color": style["color"], "linestyle": "", "marker": sign or "o"}
        dots |= {"markersize": 4} if line.kind == "points" else {"markersize": 1.1, "mew": 0}
        # Thousands of dots would make an SVG of megabytes; there they are a small picture.
        dots |= {"rasterized": line.kind == "dots"}
        if sign and line.kind == "dots":
            dots |= {"markevery": _places(len(line.x))}
        return ax.add_line(Line2D(line.x, line.y, zorder=level, **dots))
    steps = "steps-mid" if line.kind == "steps" else "default"
    marks = {"marker": sign, "markersize": 4.5, "markevery": _places(len(line.x))} if sign else {}
    return ax.add_line(
        Line2D(
            line.x, line.y, zorder=level, drawstyle=steps, dash_capstyle="butt",
            solid_joinstyle="round", **style, **marks,
        )
    )  # fmt: skip


def _outline(ax, line: Line) -> np.ndarray:
    x, y = np.asarray(line.x, float), np.asarray(line.y, float)
    if not x.size:
        return np.zeros((1, 2))
    # On a log axis zero is out of sight; the foot of the axis stands for it.
    foot = ax.get_ylim()[0] if ax.get_yscale() == "log" else 0.0
    return np.column_stack([np.r_[x[0], x, x[-1]], np.r_[foot, y, foot]])


def _mark(ax, marks, curves) -> None:
    taken: list[tuple[float, float, float, float]] = []
    trail = None
    for mark in marks:
        if not _in_sight(ax, mark):
            continue
        upright, colour = mark.axis == "x", COLOURS[mark.role]
        place = ([mark.at] * 2, [0, 1]) if upright else ([0, 1], [mark.at] * 2)
        across = ax.get_xaxis_transform() if upright else ax.get_yaxis_transform()
        rule = {"lw": 1, "ls": (0, (7, 2, 1.5, 2)), "zorder": 2, "color": colour}
        ax.add_line(Line2D(*place, transform=across, **rule))
        if mark.label:
            trail = _trail(ax, curves) if trail is None else trail
            # Names stand at inches of paper: the same place at any resolution.
            ax.text(
                *_place(ax, mark, taken, trail), mark.label, color=colour, fontsize=NAME_SIZE,
                zorder=4, ha="left", va="bottom", transform=ax.figure.dpi_scale_trans,
                bbox=NAME_BOX,
            )  # fmt: skip


def _in_sight(ax, mark: Mark) -> bool:
    low, high = sorted(ax.get_xlim() if mark.axis == "x" else ax.get_ylim())
    return bool(np.isfinite(mark.at)) and low <= mark.at <= high


def _trail(ax, curves) -> np.ndarray:
    """Where the curves run, as pixels (x, y) close enough together not to slip past a name."""
    lines = (curve.get_xydata() for curve in curves if isinstance(curve, Line2D))
    runs = [np.empty((0, 2))]
    with np.errstate(all="ignore"):
        for line in lines:
            run = ax.transData.transform(line)
            runs.append(run)
            if 1 < len(run) < SPARSE:
                at = np.linspace(0, len(run) - 1, SPARSE)
                runs.append(np.stack([np.interp(at, range(len(run)), c) for c in run.T], 1))
    return np.concatenate(runs)


def _place(ax, mark: Mark, taken: list, trail: np.ndarray) -> tuple[float, float]:
    """Inches of paper for a name: beside its line, clear of other names, off the curves.

    The first spot is kept while it hides little of a curve, so that names of pictures that differ
    a little stand in the same places.
    """
    box, dpi = ax.bbox, ax.figure.dpi
    point = dpi / 72
    width, height = (side * point for side in extent(mark.label))
    gap, row = 3 * point, 12 * point
    if mark.axis == "x":
        at = ax.transData.transform((mark.at, ax.get_ylim()[0]))[0]
        tops = [box.y1 - row * (step + 1) + gap for step in range(4)] + [box.y0 + gap]
        right, left = at + gap, at - gap - width
        sides = [x for x in (right, left) if box.x0 <= x and x + width <= box.x1] or [right]
        spots = [(x, y) for y in tops for x in sides]
    else:
        at = ax.transData.transform((ax.get_xlim()[0], mark.at))[1]
        over, under = at + gap * 0.8, at - gap * 0.5 - height
        heights = [over, under] if over + height < box.y1 else [under]
        spots = [(x, y) for x in (box.x1 - width - gap, box.x0 + gap) for y in heights]
    areas = [(x, y, x + width, y + height) for x, y in spots]
    free = [a for a in areas if not any(_overlap(a, other) for other in taken)] or areas[:1]
    hidden = [_inside(trail, area) for area in free]
    area = free[0] if hidden[0] <= FEW else free[hidden.index(min(hidden))]
    taken.append(area)
    return area[0] / dpi, area[1] / dpi


def _inside(points: np.ndarray, area) -> int:
    x, y = points.T
    return np.count_nonzero((x > area[0]) & (x < area[2]) & (y > area[1]) & (y < area[3]))


def _places(count: int) -> tuple[int, int]:
    """Where a curve of `count` points carries its sign: the first point that does, and each nth."""
    step = max(1, count // SIGNS)
    return step // 2, step


@lru_cache(maxsize=4096)
def extent(label: str) -> tuple[float, float]:
    """Width and height of a name, in points. Kept, for measuring text takes long."""
    with rc_context(STYLE):
        renderer = RendererAgg(8, 8, 72)
        font = FontProperties(size=NAME_SIZE)
        width, height, _ = renderer.get_text_width_height_descent(label, font, False)
    return width, height


def _overlap(a, b) -> bool:
    return a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]


def draw_plot(ax, plot: Plot, key: bool = True) -> None:
    """Draw one plot on the axes given: frame, curves and marks."""
    with rc_context(STYLE):
        frame(ax, plot, key)
        draw_curves(ax, plot)
