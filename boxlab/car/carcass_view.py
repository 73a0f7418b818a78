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
_PAPER, _LEFT, _BETWEEN, _RIGHT, _FOOT, _HEAD = 208.0, 16.0, 18.0, 8.0, 15.0, 9.0  # mm of paper


def sheet(carcass: Carcass, parts: Sequence[Mounting] = (), on_paper: bool = True) -> Figure:
    """Both views side by side at one scale, with the gap's sizes in mm and inches.

    The figure is 208 mm wide; printed at that width it is to the scale in its title. Where it is
    not `on_paper` of that width for certain, the title says "to scale" and no more. `carcass` and
    `parts` are as for `outlines`.

    >>> from boxlab.car.joinery import Gap
    >>> [ax.get_title(loc="left") for ax in sheet(Carcass(Gap(0.6, 0.36, 0.25))).axes]
    ['Side, 1 : 10', 'Front, 1 : 10']

    Raises
    ------
    ValueError
        If the gap is too wide for the smallest scale.
    """
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    gap = carcass.gap.wedge
    deepest = max(gap.depth_bottom, gap.depth_top)
    room = _PAPER - _LEFT - _BETWEEN - _RIGHT - 6
    fitting = [n for n in SCALES if 1e3 * (gap.width + deepest) / n <= room]
    if not fitting:
        raise ValueError(f"a gap {gap.width + deepest:.1f} m wide and deep: too large to draw")
    scale = fitting[0]
    sizes = {"side": 1e3 * deepest / scale + 3, "front": 1e3 * gap.width / scale + 3}
    tall = 1e3 * gap.height / scale + 3
    paper = tall + _FOOT + _HEAD
    figure = Figure(figsize=(_PAPER / 25.4, paper / 25.4), dpi=100, facecolor="#ffffff")
    FigureCanvasAgg(figure)
    left = _LEFT
    for which, wide in sizes.items():
        ax = figure.add_axes((left / _PAPER, _FOOT / paper, wide / _PAPER, tall / paper))
        draw_box(ax, carcass, which, parts)
        ax.set_xlim(-1.5 * scale, (wide - 1.5) * scale)
        ax.set_ylim(-1.5 * scale, (tall - 1.5) * scale)
        drawn = f"1 : {scale}" if on_paper else "to scale"
        ax.set_title(f"{which.capitalize()}, {drawn}", loc="left", fontsize=9, color=_INK)
        ax.tick_params(labelsize=8)
        ax.spines[["top", "right"]].set_visible(False)
        left += wide + _BETWEEN
    side, front = figure.axes
    side.set_xlabel(
        f"depth {_both(gap.depth_bottom)} below,\n{_both(gap.depth_top)} above", fontsize=8
    )
    side.set_ylabel(f"height {_both(gap.height)}", fontsize=8)
    front.set_xlabel(f"width {_both(gap.width)}", fontsize=8)
    front.set_ylabel("")
    for text in [*side.texts]:  # seen from the side they lie on top of each other
        text.remove()
    for text in front.texts:
        text.set_fontsize(8)
    return figure


def _both(length):
    return f"{length * 1e3:.0f} mm ({length / 0.0254:.1f} in)"
