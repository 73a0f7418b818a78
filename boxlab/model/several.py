"""Several equal drivers in one box, as the one driver that they act as together.

`together` is for drivers side by side, each with its own face to the outside; `isobaric` for a pair
one behind the other, of which only one has. A driver between two chambers (band-pass) is out of the
scope of this library: its solve has one volume of air.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
from numpy.typing import ArrayLike

from boxlab.base.array_types import Values
from boxlab.base.checks import positive, whole
from boxlab.model.air import Air
from boxlab.model.driver import Driver

WIRINGS = ("parallel", "series", "series-parallel")


def together(driver: Driver, count: int, wiring: str = "parallel") -> Driver:
    """Equal drivers that share a box and a signal, as one driver.

    Areas, masses and friction add up, and so do the watts; suspensions stand side by side. In
    parallel the coils share the current, in series the voltage. fs and the Qs stay; Vas and Sd are
    `count` times one driver's, so the box has to be, too, to act the same on each.

    Formula: Vas_n = n·Vas

    Parameters
    ----------
    driver : one of them
    count : int
    wiring : "parallel" or "series", from driver to driver; "series-parallel" is √count strings
        side by side of √count drivers each (2 × 2 for 4), and has the ohms of one

    Raises
    ------
    ValueError
        For another wiring or count, or a count that is no square in series-parallel.

    >>> from boxlab import Driver
    >>> one = Driver(re=3.4, le=0, bl=15, mms=0.1, cms=2e-4, rms=4, sd=0.03, xmax=0.01, pe=300)
    >>> two = together(one, 2)
    >>> [round(float(x), 2) for x in (two.re, two.fs / one.fs, two.qes / one.qes)]
    [1.7, 1.0, 1.0]
    >>> together(one, 4, "series-parallel").re
    3.4
    """
    n = whole("count", count)
    in_series = _in_series(n, wiring)
    if n == 1:
        return driver
    return _wired(
        driver,
        n,
        in_series,
        cms=driver.cms / n,
        sd=n * driver.sd,
        name=f"{n} × {driver.name}, in {wiring}",
    )


def isobaric(driver: Driver, wiring: str = "parallel") -> Driver:
    """Two equal drivers one behind the other, a sealed space between them, as one driver.

    Both cones move as one: the masses and frictions of two on the area of one, with suspensions
    side by side. fs, the Qs and Xmax stay those of one, Vas is half, and so is the box for the same
    answer. At the same volts across each it is as loud as one, for twice the watts: 3 dB less
    efficient. Its limit of power is twice one driver's.

    Formula: Vas_pair = Vas/2

    The air between is taken as stiff and its mass as nothing (derived). It is stiff enough while
    its volume is small beside Vas, and the pair is one piston up to where the two cones resonate on
    it: see `between`. The driver that faces the box has to be joined with its sign turned where the
    two stand face to face.

    Parameters
    ----------
    driver : one of the two
    wiring : "parallel" or "series"

    Raises
    ------
    ValueError
        For another wiring.

    >>> from boxlab import Driver
    >>> one = Driver(re=3.4, le=0, bl=15, mms=0.1, cms=2e-4, rms=4, sd=0.03, xmax=0.01, pe=300)
    >>> pair = isobaric(one)
    >>> [round(float(x), 3) for x in (pair.fs / one.fs, pair.qts / one.qts, pair.vas() / one.vas())]
    [1.0, 1.0, 0.5]
    """
    if wiring not in WIRINGS[:2]:
        raise ValueError(f"wiring = {wiring!r}: a pair is wired in parallel or in series.")
    return _wired(
        driver,
        2,
        _in_series(2, wiring),
        cms=driver.cms / 2,
        sd=driver.sd,
        name=f"isobaric pair of {driver.name}, in {wiring}",
    )


def between(driver: Driver, volume: ArrayLike, air: Air | None = None) -> Values:
    """Frequency up to which an isobaric pair is one piston, Hz: where its cones resonate on the air
    between them, against each other.

    Formula: f = √(2·Sd²·ρ·c²/V/Mms)/(2·π)

    Derived: each cone on twice the stiffness of the air of `volume` m³ between them, suspensions
    left out. A quarter of it is a careful bound.

    >>> from boxlab import Driver, litres
    >>> one = Driver(re=3.4, le=0, bl=15, mms=0.1, cms=2e-4, rms=4, sd=0.03, xmax=0.01, pe=300)
    >>> round(float(between(one, litres(2))))
    180

    Parameters
    ----------
    driver : one of the two
    volume : m³, of the air between the cones
    air : Air; 20 °C at sea level if left out
    """
    air = Air() if air is None else air
    hint = "Volume is in m³: for 2 L use boxlab.litres(2)."
    volume = positive("volume between the cones", volume, hint)
    stiffness = 2 * np.square(driver.sd) * air.bulk_modulus / volume
    return np.sqrt(stiffness / driver.mms) / (2 * np.pi)


def _in_series(n, wiring):
    """How many coils share the voltage."""
    if wiring not in WIRINGS:
        raise ValueError(f"wiring = {wiring!r}: choose one of {', '.join(WIRINGS)}")
    if wiring != "series-parallel":
        return n if wiring == "series" else 1
    root = math.isqrt(n)
    if root * root != n:
        raise ValueError(
            f"{n} drivers cannot be wired in series-parallel here: that is for 4, 9 or 16, as many "
            "strings as drivers in each. Choose parallel or series."
        )
    return root


def _wired(driver, n, in_series, *, cms, sd, name):
    """`n` equal motors on one moving part: `in_series` in each string, strings in parallel."""
    ways = in_series if in_series == n else in_series**2 / n  # of the impedance
    return replace(
        driver,
        **driver.coil_times(ways),
        bl=driver.bl * in_series,
        mms=n * driver.mms,
        cms=cms,
        rms=n * driver.rms,
        sd=sd,
        pe=n * driver.pe,
        name=name,
    )
