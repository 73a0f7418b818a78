"""A scaled drawing of a carcass: outlines as plain data, and a function that draws them on Axes.

Lengths in mm. No physics here: every line comes from the carcass and the parts.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from boxlab.fitting import place

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


def outlines(carcass, view="side", parts=()):
    """Outlines of one view, from the back of the drawing to the front.

    Parameters
    ----------
    carcass : Carcass
    view : "side" (depth across, height up) or "front" (width across, height up)
    parts : sequence of (Mounting, point) with the point from `boxlab.fitting.place`, or None for
        the middle of the baffle

    Raises
    ------
    ValueError
        For a view it does not know.
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
_INK, _MID = "#26262c", "#7d8194"
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


def draw_box(ax, carcass, view="side", parts=()):
    """Draw one view to scale on matplotlib Axes, in mm, with its main sizes; returns the Axes."""
    from matplotlib.patches import Polygon

    found = outlines(carcass, view, parts)
    for outline in found:
        ax.add_patch(
            Polygon(outline.points, closed=True, label=outline.name, **_STYLES[outline.kind])
        )
        if outline.kind in ("notch", "part"):
            ax.annotate(outline.name, outline.points.mean(axis=0), ha="center", va="center")
    everything = np.concatenate([outline.points for outline in found])
    low, high = everything.min(axis=0), everything.max(axis=0)
    pad = 0.06 * (high - low).max()
    ax.set_xlim(low[0] - pad, high[0] + pad)
    ax.set_ylim(low[1] - pad, high[1] + pad)
    ax.set_aspect("equal")
    ax.set_xlabel("depth from the upright face, mm" if view == "side" else "width, mm")
    ax.set_ylabel("height, mm")
    return ax


def draw_front(ax, candidates):
    """Draw a search (`boxlab.choosing.Candidates`): cutoff across, loudness up, size as the dot.

    Candidates off the front are small and pale. Returns the Axes.
    """
    on = candidates.front
    litres = candidates.volume * 1e3
    ax.scatter(candidates.f3[~on], candidates.loudness[~on], s=6, color="#b4b6c0", label="others")
    ax.scatter(
        candidates.f3[on],
        candidates.loudness[on],
        s=8 + 4 * litres[on],
        facecolor="none",
        edgecolor=_INK,
        label="front; larger dot, larger box",
    )
    ax.set_xlabel("cutoff f3, Hz")
    ax.set_ylabel("loudest at its weakest note, dB re 20 µPa at 1 m")
    ax.legend(frameon=False)
    return ax
