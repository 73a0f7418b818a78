"""A scaled drawing of a carcass: outlines as plain data, and a function that draws them on Axes.

Lengths in mm. No physics here: every line comes from the carcass and the parts.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from boxlab.car.clearance import Mounting, place
from boxlab.car.joinery import Carcass

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

VIEWS = ("side", "front")


@dataclass(frozen=True, eq=False)
class Outline:
    """A closed outline: its kind, its name and its points, (n, 2) in mm.

    Kinds: "gap", "board", "inside", "cover", "notch", "part". A "cover" is the board round an
    obstruction, as a rectangle: it ends at the slope.
    """

    kind: str
    name: str
    points: np.ndarray


def outlines(
    carcass: Carcass, view: str = "side", parts: Sequence[Mounting] = ()
) -> tuple[Outline, ...]:
    """Outlines of one view, from the back of the drawing to the front.

    Parameters
    ----------
    carcass : Carcass
    view : "side" (depth across, height up) or "front" (width across, height up)
    parts : sequence of (Mounting, point) with the point from `boxlab.car.clearance.place`, or None
        for the middle of the baffle

    Raises
    ------
    ValueError
        For a view it does not know.

    >>> from boxlab.car.joinery import Gap
    >>> gap, *_ = outlines(Carcass(Gap(0.6, 0.36, 0.25, 0.15)), "side")
    >>> gap.name, np.ptp(gap.points, axis=0).round()  # mm
    ('gap', array([250., 360.]))
    """
    if view not in VIEWS:
        raise ValueError(f"view = {view!r}: choose one of {', '.join(VIEWS)}")
    axes = (1, 2) if view == "side" else (0, 2)
    face = "left" if view == "side" else "back"
    found = [
        Outline(kind, name, wedge.faces()[face][0][:, axes] * 1e3)
        for kind, name, wedge in (
            ("gap", "gap", carcass.gap.wedge),
            ("board", "outside", carcass.outer),
            ("inside", "inside", carcass.inner),
        )
    ]
    inner = carcass.inner
    deepest = max(inner.depth_bottom, inner.depth_top)
    low = np.array([inner.x0, inner.y0, inner.z0])
    high = np.array([inner.x1, inner.y0 + deepest, inner.z1])
    for block in carcass.covers:
        ends = np.array([(block.x0, block.y0, block.z0), (block.x1, block.y1, block.z1)])
        corners = np.clip(ends, low, high)[:, axes]
        found.append(Outline("cover", f"board round {block.name}", _rectangle(corners) * 1e3))
    for block in carcass.gap.obstructions:
        corners = np.array([(block.x0, block.y0, block.z0), (block.x1, block.y1, block.z1)])[
            :, axes
        ]
        found.append(Outline("notch", block.name, _rectangle(corners) * 1e3))
    for part, point in parts:
        found.append(_part(carcass, part, point, axes))
    return tuple(found)


def _rectangle(corners):
    (a0, b0), (a1, b1) = corners
    return np.array([(a0, b0), (a1, b0), (a1, b1), (a0, b1)])


def _part(carcass, part, point, axes):
    """Silhouette of a part: the hull of its frame, basket and magnet, seen along the view."""
    from scipy.spatial import ConvexHull

    point = place(carcass) if point is None else np.asarray(point, float)
    corners, normal = carcass.inner.faces()[carcass.baffle]
    along = corners[1] - corners[0]
    along = along / np.linalg.norm(along)
    up = np.cross(normal, along)
    flange = point - carcass.thickness(carcass.baffle) * normal
    angle = np.linspace(0, 2 * np.pi, 49)[:-1]
    ring = np.cos(angle)[:, None] * along + np.sin(angle)[:, None] * up
    basket = part.depth - part.magnet_depth
    rings = [flange + part.outer / 2 * ring, flange + part.cutout / 2 * ring]
    rings += [flange + basket * normal + part.magnet / 2 * ring]
    rings += [flange + part.depth * normal + part.magnet / 2 * ring]
    flat = np.concatenate(rings)[:, axes]
    return Outline("part", part.name, flat[ConvexHull(flat).vertices] * 1e3)


# Greys and dashes only: colours belong to curves.
_INK, _MID = "#26262c", "#727587"
_STYLES = {
    "gap": {"facecolor": "none", "edgecolor": _MID, "linestyle": (0, (5, 3))},
    "board": {"facecolor": "#e1e2e8", "edgecolor": _INK, "linewidth": 1.4},
    "inside": {"facecolor": "#ffffff", "edgecolor": _INK},
    "cover": {"facecolor": "#e1e2e8", "edgecolor": _INK},
    "notch": {"facecolor": "#f0f1f4", "edgecolor": _MID, "hatch": "////"},
    "part": {
        "facecolor": "none",
        "edgecolor": _INK,
        "linestyle": (0, (1.2, 1.3)),
        "linewidth": 1.6,
    },
}


def draw_box(
    ax: Axes, carcass: Carcass, view: str = "side", parts: Sequence[Mounting] = ()
) -> Axes:
    """Draw one view to scale on matplotlib Axes `ax`, in mm, with its main sizes; returns the Axes.

    `carcass`, `view` and `parts` are as for `outlines`.

    >>> from matplotlib.figure import Figure
    >>> from boxlab.car.joinery import Gap
    >>> ax = draw_box(Figure().add_subplot(), Carcass(Gap(0.6, 0.36, 0.25)), "front")
    >>> ax.get_xlabel(), [patch.get_label() for patch in ax.patches]
    ('width, mm', ['gap', 'outside', 'inside'])
    """
    from matplotlib.patches import Polygon

    found = outlines(carcass, view, parts)
    for outline in found:
        ax.add_patch(
            Polygon(outline.points, closed=True, label=outline.name, **_STYLES[outline.kind])
        )
        if outline.kind in ("notch", "part"):
            words = outline.name.replace(" ", "\n") if outline.kind == "notch" else outline.name
            ax.annotate(
                words, outline.points.mean(axis=0), ha="center", va="center", parse_math=False
            )
    everything = np.concatenate([outline.points for outline in found])
    low, high = everything.min(axis=0), everything.max(axis=0)
    pad = 0.06 * (high - low).max()
    ax.set_xlim(low[0] - pad, high[0] + pad)
    ax.set_ylim(low[1] - pad, high[1] + pad)
    ax.set_aspect("equal")
    ax.set_xlabel("depth from the upright face, mm" if view == "side" else "width, mm")
    ax.set_ylabel("height, mm")
    return ax


SCALES = (2, 5, 10, 20)
_PAPER, _LEFT, _BETWEEN, _RIGHT, _FOOT, _HEAD = 208.0, 16.0, 18.0, 8.0, 16.0, 9.0  # mm of paper


def sheet(carcass: Carcass, parts: Sequence[Mounting] = ()) -> Figure:
    """Both views side by side at one scale, with the gap's sizes in mm and inches.

    The figure is 208 mm wide; printed at that width it is to the scale in its title. `carcass` and
    `parts` are as for `outlines`.

    >>> from boxlab.car.joinery import Gap
    >>> [ax.get_title(loc="left") for ax in sheet(Carcass(Gap(0.6, 0.36, 0.25))).axes]
    ['Side, 1 : 10', 'Front, 1 : 10']

    Raises
    ------
    ValueError
        If the gap is too wide for the smallest scale.
    """
    sizes = _sizes(carcass)
    room = _PAPER - _LEFT - _BETWEEN - _RIGHT - 6
    across = sizes["side"][0] + sizes["front"][0]
    fitting = [n for n in SCALES if across / n <= room]
    if not fitting:
        raise ValueError(f"a gap {across / 1e3:.1f} m wide and deep: too large to draw")
    scale = fitting[0]
    wide = [each[0] / scale + 3 for each in sizes.values()]
    tall = sizes["side"][1] / scale + 3
    figure = _paper(_PAPER, tall + _FOOT + _HEAD)
    for which, left, across in zip(VIEWS, (_LEFT, _LEFT + wide[0] + _BETWEEN), wide, strict=True):
        _placed(figure, carcass, which, parts, (left, across, tall), scale, f"1 : {scale}", 8)
    figure.axes[1].set_ylabel("")
    return figure


def views(carcass: Carcass, parts: Sequence[Mounting] = ()) -> list[Figure]:
    """The same two views as a figure each, for a screen, with words as large as on the page.

    Both are to one scale; neither is wider than a phone's screen is at 96 dots an inch.

    Parameters
    ----------
    carcass : Carcass
    parts : sequence of (Mounting, point), as for `outlines`

    >>> from boxlab.car.joinery import Gap
    >>> side, front = views(Carcass(Gap(0.6, 0.36, 0.2)))
    >>> side.axes[0].get_title(loc="left"), front.axes[0].get_xlabel()
    ('Side, to scale', 'width 600 mm (23.6 in)')
    """
    sizes = _sizes(carcass)
    scale = max(max(wide / _SCREEN[0], tall / _SCREEN[1]) for wide, tall in sizes.values())
    figures = []
    for which, (wide, tall) in sizes.items():
        wide, tall = max(wide / scale + 3, _LEAST[0]), max(tall / scale + 3, _LEAST[1])
        figure = _paper(_LEFT + wide + _RIGHT, tall + _FOOT + _HEAD)
        _placed(figure, carcass, which, parts, (_LEFT, wide, tall), scale, "to scale", 9)
        figures.append(figure)
    return figures


_SCREEN = (66.0, 75.0)  # mm, for the drawing itself
_LEAST = (50.0, 36.0)  # mm, what the words along it need


def _sizes(carcass):
    """How wide and how high each view of the gap is, mm."""
    gap = carcass.gap.wedge
    deepest, high = 1e3 * max(gap.depth_bottom, gap.depth_top), 1e3 * gap.height
    return {"side": (deepest, high), "front": (1e3 * gap.width, high)}


def _paper(wide, tall):
    """A figure of a size in mm."""
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    figure = Figure(figsize=(wide / 25.4, tall / 25.4), dpi=100, facecolor="#ffffff")
    FigureCanvasAgg(figure)
    return figure


def _placed(figure, carcass, which, parts, place, scale, drawn, size):
    """One view with the gap's sizes, at `place`: left, width and height in mm of the figure."""
    gap, (left, wide, tall) = carcass.gap.wedge, place
    whole, high = (25.4 * edge for edge in figure.get_size_inches())
    ax = figure.add_axes((left / whole, _FOOT / high, wide / whole, tall / high))
    draw_box(ax, carcass, which, parts)
    ax.set_xlim(-1.5 * scale, (wide - 1.5) * scale)
    ax.set_ylim(-1.5 * scale, (tall - 1.5) * scale)
    ax.set_title(f"{which.capitalize()}, {drawn}", loc="left", fontsize=9, color=_INK)
    ax.tick_params(labelsize=size)
    ax.spines[["top", "right"]].set_visible(False)
    across = f"width {_both(gap.width)}"
    if which == "side":
        across = f"depth {_both(gap.depth_bottom)} below,\n{_both(gap.depth_top)} above"
    ax.set_xlabel(across, fontsize=size)
    ax.set_ylabel(f"height {_both(gap.height)}", fontsize=size)
    for text in [*ax.texts]:
        if which == "side":  # seen from there they lie on top of each other
            text.remove()
        else:
            text.set_fontsize(size)


def _both(length):
    return f"{length * 1e3:.0f} mm ({length / 0.0254:.1f} in)"
