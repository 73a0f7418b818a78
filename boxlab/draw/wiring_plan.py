"""How coils and drivers are joined, as a plan: drivers as frames, their coils, and the wires."""

from __future__ import annotations

from boxlab.car.wiring import Network
from boxlab.draw.outlines import Cutaway, Shape

_COIL, _TURN = 34.0, 5.0  # how long a coil is drawn, and how far it swings to either side
_APART, _IN = 26.0, 12.0  # between wires side by side; between a driver's frame and its coils
_GAP = 16.0  # between drivers


def wiring_cut(network: Network) -> Cutaway:
    """The plan of a network: + on the left, − on the right. It is not to scale.

    Drivers in series stand in one row, rows are in parallel; so are a driver's own coils.
    """
    n = network
    rows, across = n.drivers // n.drivers_in_series, n.drivers_in_series
    lanes = n.coils // n.coils_in_series
    wide = 2 * _IN + n.coils_in_series * (_COIL + _IN) - _IN
    tall = lanes * _APART
    whole = across * (wide + _GAP) + _GAP
    shapes, middles = [], []
    for row in range(rows):
        middle = -(row + 0.5) * (tall + _GAP)
        middles.append(middle)
        for place in range(across):
            left = _GAP + place * (wide + _GAP)
            low, high = middle - tall / 2, middle + tall / 2
            frame = (
                (left, low),
                (left + wide, low),
                (left + wide, high),
                (left, high),
                (left, low),
            )
            shapes.append(Shape(frame, "quiet"))
            shapes.append(Shape(((left - _GAP, middle), (left, middle)), "sum"))
            shapes += _driver(left, middle, wide, lanes, n.coils_in_series)
        shapes.append(Shape(((whole - _GAP, middle), (whole, middle)), "sum"))
    for x in (0.0, whole):  # the wires that join the rows, and what comes from the amplifier
        out = -_GAP if x == 0 else _GAP
        shapes.append(Shape(((x, middles[0]), (x, middles[-1])), "sum"))
        middle = (middles[0] + middles[-1]) / 2
        shapes.append(Shape(((x, middle), (x + out, middle)), "sum"))
    for x, sign in ((-_GAP, "+"), (whole + _GAP, "−")):
        shapes += _sign(x, middle + 12, sign)
    bottom = middles[-1] - tall / 2 - 6
    words = (
        f"A plan, not to scale, of how the coils are joined: {n.words}. Frames are drivers, "
        "zigzags are coils; + of the amplifier is on the left, − on the right."
    )
    limits = (-_GAP - 8, whole + _GAP + 8, bottom, 4.0)
    names = ((whole / 2, f"{n.load:.3g} Ω"),)
    return Cutaway(tuple(shapes), limits, words, names=names, plan=True)


def _sign(x, y, sign):
    """A + or − with its middle at (x, y)."""
    strokes = [((x - 4, y), (x + 4, y))]
    if sign == "+":
        strokes.append(((x, y - 4), (x, y + 4)))
    return [Shape(points, "limit") for points in strokes]


def _driver(left, middle, wide, lanes, series):
    """The coils in one frame and the wires to them."""
    shapes, ends = [], (left + _IN / 2, left + wide - _IN / 2)
    heights = [middle + (lane - (lanes - 1) / 2) * _APART for lane in range(lanes)]
    for y in heights:
        x = ends[0]
        for _ in range(series):
            start = x + (_IN / 2 if x == ends[0] else _IN)
            shapes.append(Shape(((x, y), (start, y)), "sum"))
            shapes.append(Shape(_zigzag(start, y), "electrical"))
            x = start + _COIL
        shapes.append(Shape(((x, y), (ends[1], y)), "sum"))
    for out, end in zip((left, left + wide), ends, strict=True):
        shapes.append(Shape(((out, middle), (end, middle)), "sum"))
        if lanes > 1:
            shapes.append(Shape(((end, heights[0]), (end, heights[-1])), "sum"))
    return shapes


def _zigzag(x, y):
    step = _COIL / 12
    turns = [(x + step * (2 * k + 1), y + _TURN * (-1) ** k) for k in range(6)]
    return ((x, y), *turns, (x + _COIL, y))
