"""Ports of a cutaway, to scale: tubes, flares and slots, turned or folded where they have to be."""

from __future__ import annotations

import math

import numpy as np

from boxlab.base.units import disc_diameter, to_mm
from boxlab.draw.outlines import Shape
from boxlab.model.ports_built import Flare, Slot


def width_of(box, built=None) -> float:
    """How wide one port is from the side, mm: the height of a slot, else across its mouth."""
    if isinstance(built, Slot):
        return float(to_mm(built.height))
    across = built.mouth if isinstance(built, Flare) else disc_diameter(box.port.area)
    return float(to_mm(across))


def ports(box, size, moves, upright, built=None) -> list[Shape]:
    """Each port along the longer side, folded as it is built, or turned where it is too long.

    `size` is the depth and height inside and the board, mm; `moves` the place of the air's swing.
    A slot that lies on a wall of the box lies on the one it runs along. What does not go into the
    box is drawn as what is over a limit.
    """
    deep, high, thick = size
    far, room = (high, deep) if upright else (deep, high)
    wide = width_of(box, built)
    on_wall = isinstance(built, Slot) and built.walls > 0
    bore = float(to_mm(built.diameter)) if isinstance(built, Flare) else wide
    length = float(to_mm(box.port.length if built is None else built.length))
    folded = isinstance(built, Slot) and built.corners == 2
    shapes = []

    def shape(points, *rest):
        """From (along the port from its mouth, from its wall) to the place in the box."""
        if upright:  # up from the floor, along the back
            points = [(deep - y, x) for x, y in points]
        shapes.append(Shape(tuple((float(x), float(y)) for x, y in points), *rest))

    for i in range(box.count):
        y = wide / 2 if on_wall else wide * (0.6 + 1.2 * i)
        run = float(to_mm(built.run)) if isinstance(built, Flare) else 0.0
        path, inside = _path(length, y, bore, far, room, thick, folded, run)
        half = _half(built, bore, length)
        for side in (-1, 1):
            if on_wall and side < 0 and not folded and len(path) == 2:
                continue  # that side is the wall of the box
            for role, start, end in (("vent", 0.0, inside), ("limit", inside, length)):
                if end - start > 0.5:
                    shape(_wall(path, half, side, start, end), role)
        straight = path[1][0] - path[0][0]
        for part in (0.25, 0.5, 0.75):  # slices of the air, to see it go
            x, reach = -thick + part * straight, 0.4 * bore
            shape(((x, y - reach), (x, y + reach)), "vent", False, moves)
    return shapes


def _path(length, y, bore, far, room, thick, folded, flare):
    """The centre line from the mouth, right-angled, mm; and how far along it leaves the box.

    What is turned is long enough for its corner, and for a flare of that length after it.
    """
    mouth, board = (-thick, y), thick
    rise = bore + board
    if folded and length > rise:
        # the way back ends as far before the front as the slot is high
        run = min((length - rise + thick + bore) / 2, far + thick - bore / 2)
        turn, back = run - thick, length - run - rise
        path = [mouth, (turn, y), (turn, y + rise), (turn - back, y + rise)]
        return path, min(length, run + rise + max(turn, 0.0))
    run = min(length, far + thick - bore / 2)
    if length - run < 0.5:
        return [mouth, (run - thick, y)], length
    run = max(min(run, length - bore - flare), bore)
    path = [mouth, (run - thick, y), (run - thick, y + length - run)]
    return path, min(length, run + max(room - y, 0.0))


def _half(built, bore, length):
    """Half the width of a port at some way from its mouth, mm, as a function."""
    if not isinstance(built, Flare):
        return lambda way: bore / 2
    more, run = float(to_mm(built.mouth - built.diameter)) / 2, float(to_mm(built.run))

    def half(way):
        near = min([way, length - way][: built.flares])
        left = 1 - near / run if near < run else 0.0
        wider = left if built.shape == "cone" else 1 - math.sqrt(1 - left**2)
        return bore / 2 + more * wider

    return half


def _wall(path, half, side, start, end):
    """Points of one wall from `start` to `end` along the centre line; `side` is 1 or -1."""
    corners = np.concatenate([[0.0], np.cumsum(np.abs(np.diff(path, axis=0)).sum(axis=1))])
    ways = {start, end, *(way for way in corners[1:-1] if start < way < end)}
    if half(0.0) != half(corners[-1] / 2):  # a flare: as many points as its curve needs
        ways |= {way for way in np.linspace(0, corners[-1], 81) if start < way < end}
    points = []
    for way in sorted(ways):
        leg = min(int(np.searchsorted(corners, way, "left")) or 1, len(path) - 1)
        (ax, ay), (bx, by) = path[leg - 1], path[leg]
        long = abs(bx - ax) + abs(by - ay)
        tx, ty = (bx - ax) / long, (by - ay) / long
        on = np.array([ax + tx * (way - corners[leg - 1]), ay + ty * (way - corners[leg - 1])])
        out = np.array([-ty, tx])
        if leg < len(path) - 1 and way == corners[leg]:  # a corner has the walls of both legs
            (cx, cy) = path[leg + 1]
            next_long = abs(cx - bx) + abs(cy - by)
            out = out + np.array([-(cy - by) / next_long, (cx - bx) / next_long])
        points.append(tuple(on + side * half(way) * out))
    return points
