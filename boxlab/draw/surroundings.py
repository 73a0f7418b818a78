"""What is round a box, to scale, as cutaways that stand still: a cabin, walls, a cable end on."""

from __future__ import annotations

import math

import numpy as np

from boxlab.base.units import disc_diameter, to_mm
from boxlab.draw.outlines import Cutaway, Shape

_BOARD = 60.0  # mm: walls and cabins are drawn as thick
_BOX = (350.0, 300.0)  # mm, across and high: a box as one stands in a car
_HEAD, _EAR = 110.0, 0.75  # mm, radius; share of the cabin's height


def cabin_cut(length, height, box=1.0, seat=None) -> Cutaway:
    """A cabin of `length` and `height` m from the side, its front on the left.

    `box` and `seat` are where the box and a head are, as shares of the length from the front.
    """
    wide, high = 1e3 * length, 1e3 * height
    left = box * (wide - _BOX[0])
    shapes = [
        Shape(_rectangle(-_BOARD, -_BOARD, wide + _BOARD, high + _BOARD), "metal", True),
        Shape(_rectangle(0, 0, wide, high), "air", True),
        Shape(_rectangle(left, 0, left + _BOX[0], _BOX[1]), "wood", True),
    ]
    words = f"A cabin from the side, to scale: {length:g} m long and {height:g} m high inside"
    if seat is not None:
        shapes.append(Shape(_circle(seat * wide, _EAR * high, _HEAD), "quiet"))
        words += f", a box at {100 * box:.0f} % of its length and a head at {100 * seat:.0f} %"
    return Cutaway(
        tuple(shapes), (-120.0, wide + 120, -120.0, high + 120), f"{words}. It is a plain brick."
    )


def wall_cut(count, distance) -> Cutaway:
    """A box `distance` m from each of `count` large walls, the first of them the floor.

    Its middle is what has that distance. Of a corner, the third wall lies behind.
    """
    at, far = 1e3 * distance, 1e3 * distance + 600
    walls = [_rectangle(-_BOARD, -_BOARD, far, 0)]
    if count > 1:
        walls.append(_rectangle(-_BOARD, -_BOARD, 0, far))
    across, high = (min(each, 2 * at) for each in _BOX)
    body = _rectangle(at - across / 2, at - high / 2, at + across / 2, at + high / 2)
    named = ("the floor", "the floor and a wall", "the floor and two walls, one of them behind it")
    words = f"A box from the side, to scale, its middle {distance:g} m from {named[count - 1]}."
    return Cutaway(
        (*(Shape(each, "metal", True) for each in walls), Shape(body, "wood", True)),
        (-_BOARD - 20, far + 20, -_BOARD - 20, far + 20),
        words,
    )


def cable_cut(*cables) -> Cutaway:
    """Cables end on, side by side: pairs of a name and the area of their copper in m²."""
    shapes, names, left, most = [], [], 0.0, 0.0
    for name, area in cables:
        across = float(to_mm(disc_diameter(area)))
        shapes.append(Shape(_circle(left + across / 2, across / 2, across / 2), "metal", True))
        names.append((left + across / 2, name))
        left, most = left + across + 8, max(most, across)
    sizes = " and ".join(f"{name}, {1e6 * area:.1f} mm²" for name, area in cables)
    return Cutaway(
        tuple(shapes), (-4.0, left - 4, -2.0, most + 2),
        f"The copper end on, to scale, as one round wire: {sizes}.", names=tuple(names),
    )  # fmt: skip


def _rectangle(left, bottom, right, top):
    return ((left, bottom), (right, bottom), (right, top), (left, top))


def _circle(x, y, radius):
    turn = np.linspace(0, 2 * math.pi, 41)
    points = zip(x + radius * np.cos(turn), y + radius * np.sin(turn), strict=True)
    return tuple((float(a), float(b)) for a, b in points)
