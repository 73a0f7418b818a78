"""The solids of a box in a car: a wedge with an upright back and a sloping front, and blocks.

Coordinates in metres: x from left to right, y from the upright back towards the sloping front, z
up. The front is the plane y = a + b·z, so one shape covers wedges leaning either way and plain
rectangular boxes (b = 0). Volumes are exact.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from boxlab.base.checks import not_negative, number, positive, suspect

MM = 1e3


@dataclass(frozen=True)
class Block:
    """An upright rectangular solid: x0..x1, y0..y1, z0..z1 in m.

    >>> Block(0, 0.1, 0, 0.2, 0, 0.3, 'wheel arch').name
    'wheel arch'

    Parameters
    ----------
    x0, x1 : m, from the left
    y0, y1 : m, from the upright face
    z0, z1 : m, from the floor
    name : what stands there
    """

    x0: float
    x1: float
    y0: float
    y1: float
    z0: float
    z1: float
    name: str = "obstruction"

    @classmethod
    def at(cls, *, x=0.0, y=0.0, z=0.0, width, depth, height, name="obstruction"):
        """A block from its corner nearest left, back and floor, and its sizes."""
        x, y, z = (number(k, v) for k, v in (("x", x), ("y", y), ("z", z)))
        hint = f"Sizes of the {name} are in metres: boxlab.mm(150)."
        width, depth, height = (
            positive(k, v, hint)
            for k, v in (("width", width), ("depth", depth), ("height", height))
        )
        for k, v in (("width", width), ("depth", depth), ("height", height)):
            suspect(f"{name} {k}", v, 0, 3, hint)
        return cls(x, x + width, y, y + depth, z, z + height, name)

    def grown(self, by):
        """The block with every face moved outward by `by` m."""
        return Block(
            self.x0 - by, self.x1 + by, self.y0 - by, self.y1 + by, self.z0 - by, self.z1 + by,
            self.name,
        )  # fmt: skip

    def overlaps(self, other):
        """True where the two share any volume."""
        return all(
            getattr(self, a + "0") < getattr(other, a + "1")
            and getattr(other, a + "0") < getattr(self, a + "1")
            for a in "xyz"
        )


@dataclass(frozen=True)
class Wedge:
    """x0..x1, z0..z1, from the back y = y0 to the front y = a + b·z."""

    x0: float
    x1: float
    z0: float
    z1: float
    y0: float
    a: float
    b: float

    @classmethod
    def of(cls, width, height, depth_bottom, depth_top):
        """The wedge of these sizes with its left, back, bottom corner at the origin."""
        return cls(0.0, width, 0.0, height, 0.0, depth_bottom, (depth_top - depth_bottom) / height)

    @property
    def width(self):
        """Width, m."""
        return self.x1 - self.x0

    @property
    def height(self):
        """Height, m."""
        return self.z1 - self.z0

    @property
    def depth_bottom(self):
        """Depth at its floor, m."""
        return self.depth(self.z0)

    @property
    def depth_top(self):
        """Depth at its top, m."""
        return self.depth(self.z1)

    @property
    def lean(self):
        """Angle of the front from upright, degrees; positive where the top is the deeper end."""
        return math.degrees(math.atan(self.b))

    @property
    def stretch(self):
        """Length along the slope over height, 1/cos(lean)."""
        return math.hypot(1.0, self.b)

    @property
    def volume(self):
        """m³: width · height · mean depth."""
        return self.width * self.height * (self.depth_bottom + self.depth_top) / 2

    def depth(self, z):
        """Depth from back to front at height z, m."""
        return self.a + self.b * z - self.y0

    def inset(self, *, left=0.0, right=0.0, bottom=0.0, top=0.0, back=0.0, front=0.0, what="board"):
        """The wedge with its faces moved inward by these amounts, square to each face.

        Raises
        ------
        ValueError
            If nothing is left: it says in which direction and how many millimetres are missing.
        """
        inner = Wedge(
            self.x0 + left,
            self.x1 - right,
            self.z0 + bottom,
            self.z1 - top,
            self.y0 + back,
            self.a - front * self.stretch,
            self.b,
        )
        sizes = {
            "width": inner.width,
            "height": inner.height,
            "depth at the bottom": inner.depth_bottom,
            "depth at the top": inner.depth_top,
        }
        for name, size in sizes.items():
            if size <= 0:
                raise ValueError(
                    f"nothing is left inside: the {name} is short by {-size * MM:.1f} mm once "
                    f"the {what} is taken off. Use thinner board, a lower box or a wider gap; for "
                    "a wedge that runs to a point, make the box lower so that the thin end has "
                    "room."
                )
        return inner

    def contains(self, x, y, z):
        """True for points inside; arrays broadcast."""
        return (
            (x > self.x0) & (x < self.x1) & (z > self.z0) & (z < self.z1)
            & (y > self.y0) & (y < self.a + self.b * z)
        )  # fmt: skip

    def shared(self, blocks):
        """Volume in m³ of the wedge taken up by the blocks together (overlaps counted once).

        Exact: between the blocks' edges, and the heights at which the slope crosses them, the
        taken depth is linear in z, so the value at mid height is its mean.
        """
        if not blocks:
            return 0.0
        xs = _cuts(self.x0, self.x1, [e for k in blocks for e in (k.x0, k.x1)])
        edges = [e for k in blocks for e in (k.z0, k.z1)]
        if self.b:
            ys = [self.y0, *(e for k in blocks for e in (k.y0, k.y1))]
            edges += [(y - self.a) / self.b for y in ys]
        zs = _cuts(self.z0, self.z1, edges)
        total = 0.0
        for xa, xb in pairwise(xs):
            x = (xa + xb) / 2
            for za, zb in pairwise(zs):
                z = (za + zb) / 2
                here = [k for k in blocks if k.x0 < x < k.x1 and k.z0 < z < k.z1]
                total += (xb - xa) * (zb - za) * self._taken(here, z)
        return total

    def _taken(self, blocks, z):
        front = self.a + self.b * z
        reached, taken = self.y0, 0.0
        for y0, y1 in sorted((k.y0, min(k.y1, front)) for k in blocks):
            taken += max(0.0, y1 - max(y0, reached))
            reached = max(reached, y1)
        return taken

    def faces(self):
        """The six faces: name -> (corners (4, 3) in order round the face, inward unit normal)."""
        x0, x1, z0, z1, y0 = self.x0, self.x1, self.z0, self.z1, self.y0
        f0, f1 = y0 + self.depth_bottom, y0 + self.depth_top
        corners = {
            "left": [(x0, y0, z0), (x0, f0, z0), (x0, f1, z1), (x0, y0, z1)],
            "right": [(x1, y0, z0), (x1, f0, z0), (x1, f1, z1), (x1, y0, z1)],
            "bottom": [(x0, y0, z0), (x1, y0, z0), (x1, f0, z0), (x0, f0, z0)],
            "top": [(x0, y0, z1), (x1, y0, z1), (x1, f1, z1), (x0, f1, z1)],
            "back": [(x0, y0, z0), (x1, y0, z0), (x1, y0, z1), (x0, y0, z1)],
            "front": [(x0, f0, z0), (x1, f0, z0), (x1, f1, z1), (x0, f1, z1)],
        }
        normals = {
            "left": (1, 0, 0),
            "right": (-1, 0, 0),
            "bottom": (0, 0, 1),
            "top": (0, 0, -1),
            "back": (0, 1, 0),
            "front": (0, -1 / self.stretch, self.b / self.stretch),
        }
        return {k: (np.array(v, float), np.array(normals[k], float)) for k, v in corners.items()}


def _cuts(low, high, edges):
    return [low, *sorted({e for e in edges if low < e < high}), high]


def checked_wedge(
    width: float, height: float, depth_bottom: float, depth_top: float | None, hint: str
) -> Wedge:
    """A `Wedge` from typed sizes; depth_top None means a plain box.

    >>> round(checked_wedge(0.6, 0.36, 0.25, None, "").volume, 4)  # m³
    0.054

    Parameters
    ----------
    width, height, depth_bottom, depth_top : m
    hint : what to say of a wrong one
    """
    width = positive("width", width, hint)
    height = positive("height", height, hint)
    depth_bottom = not_negative("depth_bottom", depth_bottom, hint)
    depth_top = depth_bottom if depth_top is None else not_negative("depth_top", depth_top, hint)
    if depth_bottom == 0 and depth_top == 0:
        raise ValueError(f"depth_bottom and depth_top are both zero: there is no gap. {hint}")
    return Wedge.of(width, height, depth_bottom, depth_top)
