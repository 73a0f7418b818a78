"""What ends, corners and flares add to a port's length, each as a length of the even part, m.

All are masses of a flow without swirl, as of a quiet port. What is derived here is solved from that
definition; numbers of circular ends are those of `vents`.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike

from boxlab.base.array_types import Values
from boxlab.base.checks import not_negative, positive, same_shape

_LENGTH = "Lengths are in metres: use boxlab.mm(40) or boxlab.inches(2)."


def rectangle_end(width: ArrayLike, height: ArrayLike) -> Values:
    """Length that one flanged end of a rectangular port adds, m; broadcasts.

    The mass of a rigid piston of that shape in a wall, as 8a/(3π) is that of a round one: the sum
    of 1/distance over all pairs of its points, over 2π·width·height (Rayleigh's potential; closed
    form derived). A square has 0.988 of the round end of its area, a slot of 10 : 1 0.742.

    >>> round(float(rectangle_end(0.1, 0.1)), 5), round(float(rectangle_end(0.3, 0.03)), 5)
    (0.04732, 0.0337)
    """
    w = positive("slot width", width, _LENGTH)
    h = positive("slot height", height, _LENGTH)
    same_shape("rectangle_end", width=w, height=h)
    pairs = 2 * (w**2 * h * np.arcsinh(h / w) + w * h**2 * np.arcsinh(w / h))
    pairs = pairs - 2 / 3 * (np.hypot(w, h) ** 3 - w**3 - h**3)
    return pairs / (2 * math.pi * w * h)


def step_end(height: ArrayLike, room: ArrayLike, thick: bool = False) -> Values:
    """What the inner end of a slot adds that lies on one wall and is as wide as the box, m.

    Air comes together from the whole inner height of the box into the slot at the wall: a flow in
    one plane.

    Parameters
    ----------
    height : of the slot, m; room : inner height of the box, slot and its board included, m
    thick : whether the board between is as good as a wall across the box; else it is thin

    Thin: −(h/π)·(1 − α)·(ln α + (1 − α)/α·ln(1 − α)) with α = h/room, by conformal mapping
    (derived). Thick: (2h/π)·((1 − α)²/(2α)·ln((1 + α)/(1 − α)) + ln((1 + α)²/(4α))), the step of
    waveguides (from memory). A board is between the two.

    >>> thin, thick = step_end(0.03, 0.3), step_end(0.03, 0.3, thick=True)
    >>> round(1e3 * float(thin), 1), round(1e3 * float(thick), 1)
    (27.9, 36.7)

    Raises
    ------
    ValueError
        If the slot is not lower than the room.
    """
    h, room = positive("slot height", height, _LENGTH), positive("room", room, _LENGTH)
    a = np.asarray(h / room)
    if (a >= 1).any():
        raise ValueError(
            f"room = {np.ravel(room)[0]:g} m must be more than the slot's height, "
            f"{np.ravel(h)[0]:g} m: it is the inner height of the box at the slot's inner end."
        )
    if thick:
        beside = (1 - a) ** 2 / (2 * a) * np.log((1 + a) / (1 - a))
        return (2 * h / math.pi * (beside + np.log((1 + a) ** 2 / (4 * a))))[()]
    return (-h / math.pi * (1 - a) * (np.log(a) + (1 - a) / a * np.log1p(-a)))[()]


def corner_cut(height: ArrayLike) -> Values:
    """What a sharp corner of 90° takes off the length along the centre line of a slot, m.

    Formula: cut = 0.44127·height

    Air cuts the corner: the square at it, whose centre line is one height long, counts as 0.5587
    of that: 1 − 2·ln(2)/π (conformal mapping; derived). Rounding it inside and outside brings the
    length back to the centre line.

    >>> round(float(corner_cut(0.04)), 4)
    0.0177
    """
    return 2 * math.log(2) * positive("slot height", height, _LENGTH) / math.pi


def arc_length(diameter: ArrayLike, mouth: ArrayLike, run: ArrayLike) -> Values:
    """An even tube as heavy as a flare whose wall is a quarter of an ellipse, m: ∫S0/S dx.

    Parameters
    ----------
    diameter, mouth : of throat and mouth, m
    run : the flare's length along the axis, m; (mouth − diameter)/2 is a quarter of a circle

    The wall leaves the tube along the axis and ends across it. Plane waves throughout (derived);
    near the mouth real ones bulge, by less than the doubt about the end itself.

    >>> round(float(arc_length(0.1, 0.15, 0.025)), 4)
    0.0209
    """
    a, grow, run = _flare(diameter, mouth, run)
    throat = a * (a + 2 * grow)  # (a + grow)² − grow²
    angle = 2 * np.arctan(np.sqrt((a + 2 * grow) / a)) / np.sqrt(throat)
    return run * (1 + grow * angle) * a / (a + 2 * grow)


def cone_length(diameter: ArrayLike, mouth: ArrayLike, run: ArrayLike) -> Values:
    """An even tube as heavy as a cone that widens over `run` m: ∫S0/S dx = run·d/d_mouth, m.

    Formula: even = run·d/d_mouth

    >>> round(float(cone_length(0.1, 0.15, 0.06)), 4)
    0.04

    Parameters
    ----------
    diameter, mouth : m, at the narrow and the wide end
    run : m
    """
    a, grow, run = _flare(diameter, mouth, run)
    return run * a / (a + grow)


def _flare(diameter, mouth, run):
    """Radius of the throat, growth to the mouth, and run, m."""
    d = positive("port diameter", diameter, _LENGTH)
    m, run = positive("mouth", mouth, _LENGTH), not_negative("run", run, _LENGTH)
    same_shape("flare", diameter=d, mouth=m, run=run)
    if np.any(np.asarray(m) < d):
        raise ValueError(
            f"mouth = {np.ravel(m)[0]:g} m is narrower than the port, {np.ravel(d)[0]:g} m: a "
            "flare widens towards its mouth. Give the diameter at the very end."
        )
    return d / 2, (m - d) / 2, run
