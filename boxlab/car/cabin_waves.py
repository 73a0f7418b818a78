"""Waves in a rigid brick: how the pressure at a seat differs from that of an even pressure zone."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import ArrayLike

from boxlab.base.array_types import Values
from boxlab.base.checks import not_negative, number, positive
from boxlab.model.air import Air

if TYPE_CHECKING:
    from boxlab.car.vehicle import Cabin

# π times the half waves across width and height, and how often each shape counts.
_ORDERS = np.array(list(np.ndindex(4, 4)))
_HALF_WAVES = np.pi * _ORDERS
_TWICE = 2.0 ** np.count_nonzero(_ORDERS, axis=-1)


def along_the_cabin(
    frequency: ArrayLike, length: float, box: ArrayLike, seat: ArrayLike, loss: float = 0.2,
    air: Air | None = None,
) -> Values:  # fmt: skip
    """Pressure at the seat over that of an even pressure zone, for waves along the length only.

    A tube with hard ends, a box at one place and a seat at another:
    kL·cos(kx)·cos(k(L − x′))/sin(kL), x the nearer to the front, x′ the other. Derived from the
    one-dimensional wave equation. It tends to 1 towards 0 Hz: there it does not matter where you
    sit. A real cabin has seats, glass and two more directions.

    >>> float(abs(along_the_cabin(66, 2.6, 2.5, 1.3)).round(2))  # near its first mode
    1.56

    Parameters
    ----------
    frequency : array, Hz
    length : m
    box, seat : m from the front end; arrays go with `frequency` by numpy's rules
    loss : share of energy lost per radian, as 1/Q of each mode (0.2: our own choice)

    Returns
    -------
    complex array, of frequency, box and seat together

    Raises
    ------
    ValueError
        If box or seat lies outside the cabin.
    """
    length = positive("length", length, "Metres: boxlab.feet(8) for 8 ft.")
    for name, place in (("box", box), ("seat", seat)):
        outside = np.atleast_1d(number(name, place))
        outside = outside[(outside < 0) | (outside > length)]
        if len(outside):
            raise ValueError(
                f"{name} = {outside[0]:g} m lies outside a cabin of {length:g} m; count from the "
                "front"
            )
    return _tube(_wave(frequency, positive("loss", loss), air), length, box, seat)


def in_the_cabin(
    frequency: ArrayLike, cabin: Cabin, box: Sequence[float], seat: Sequence[float],
    loss: float = 0.0, air: Air | None = None,
) -> Values:  # fmt: skip
    """Pressure at the seat over that of an even pressure zone, for waves all ways in a rigid brick.

    As `along_the_cabin`, summed over the shapes across width and height; those die away along the
    length, so the first four each way do where box and seat are a seventh of it apart.

    Parameters
    ----------
    frequency : array, Hz
    cabin : Cabin
    box, seat : shares (0 to 1) of length from the front, of width, of height from the floor
    loss : as for `along_the_cabin`; with none, keep below the first mode

    Returns
    -------
    complex array, shape (n,)

    >>> from boxlab.car.vehicle import Cabin
    >>> here = in_the_cabin([20.0, 30.0], Cabin(), box=(0.9, 0.5, 0.1), seat=(0.4, 0.25, 0.7))
    >>> np.real(here).round(2)
    array([1.08, 1.21])
    """
    wave = np.asarray(_wave(frequency, not_negative("loss", loss), air))[..., None]
    (from_front, *box), (head, *seat) = box, seat
    shape = np.prod(np.cos(_HALF_WAVES * box) * np.cos(_HALF_WAVES * seat), axis=-1)
    along = np.sqrt(wave**2 - np.sum((_HALF_WAVES / (cabin.width, cabin.height)) ** 2, axis=-1))
    tube = _tube(along, cabin.length, from_front * cabin.length, head * cabin.length)
    return np.sum(_TWICE * shape * (wave / along) ** 2 * tube, axis=-1)


def _wave(frequency, loss, air):
    """Complex wave number, 1/m."""
    air = Air() if air is None else air
    frequency = np.asarray(positive("frequency", frequency, "Give hertz."))
    return 2 * np.pi * frequency / air.speed_of_sound * np.sqrt(1 - 1j * loss)


def _tube(wave, length, box, seat):
    near, far = np.minimum(box, seat), np.maximum(box, seat)
    spread = np.cos(wave * near) * np.cos(wave * (length - far))
    return wave * length * spread / np.sin(wave * length)
