"""What stands out in a curve before any fit: peaks, valley, zero phase, jagged places."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from boxlab.measure.fit.shape import extreme, peaks
from boxlab.measure.read.value import Sweep

_NAN = float("nan")
_ODD = 4.5  # a third difference this many times the usual one is odd


@dataclass(frozen=True)
class Landmarks:
    """Two peaks and the valley between them, Hz and Ω; NaN where there is none.

    `fz` is where the phase rises through zero between the peaks, Hz.
    """

    fl: float = _NAN
    zl: float = _NAN
    fm: float = _NAN
    zm: float = _NAN
    fh: float = _NAN
    zh: float = _NAN
    fz: float = _NAN


def landmarks(frequency: ArrayLike, impedance: ArrayLike) -> Landmarks:
    """Landmarks of a smooth computed curve: frequency, Hz, and complex impedance, Ω, shape (n,).

    The two tallest maxima of the magnitude count as the peaks. Turning points are sharpened by a
    parabola through three points, the phase by a straight line through two.

    Parameters
    ----------
    frequency : Hz, shape (n,)
    impedance : Ω, complex, shape (n,)

    >>> from boxlab.measure.fit import motional
    >>> f = np.geomspace(10, 150, 300)
    >>> z = motional.impedance(f, 3.4, fs=32.0, qms=5.0, qes=0.5, alpha=2.0, fb=35.0, leak=0.1)
    >>> found = landmarks(f, z)
    >>> round(found.fl, 1), round(found.fm, 1), round(found.fh, 1), round(found.zm, 2)
    (17.7, 34.8, 63.3, 3.77)
    """
    f, z = np.asarray(frequency, dtype=float), np.asarray(impedance)
    level = np.log(np.abs(z))
    tops = sorted(_turns(level), key=lambda i: -level[i])[:2]
    if len(tops) < 2:
        return Landmarks()
    low, high = sorted(tops)
    dip = low + int(np.argmin(level[low:high]))
    reactance = z.imag[low : high + 1]
    rising = np.flatnonzero((reactance[:-1] < 0) & (reactance[1:] >= 0))
    fz = _NAN
    if len(rising):
        i = low + rising[0]
        share = z.imag[i] / (z.imag[i] - z.imag[i + 1])
        fz = float(f[i] * (f[i + 1] / f[i]) ** share)
    (fl, zl), (fm, zm), (fh, zh) = (_sharpened(f, level, i) for i in (low, dip, high))
    return Landmarks(fl, zl, fm, zm, fh, zh, fz)


def _turns(level):
    inner = (level[1:-1] > level[:-2]) & (level[1:-1] >= level[2:])
    return np.flatnonzero(inner) + 1


def _sharpened(f, level, i):
    if not 0 < i < len(f) - 1:
        return float(f[i]), float(np.exp(level[i]))
    x = np.log(f[i - 1 : i + 2]) - np.log(f[i])
    curve = np.polyfit(x, level[i - 1 : i + 2], 2)
    at = -curve[1] / (2 * curve[0]) if curve[0] else 0.0
    return float(f[i] * np.exp(at)), float(np.exp(np.polyval(curve, at)))


def seen(sweep: Sweep) -> Landmarks:
    """Landmarks of a measured `sweep` with its scatter; `fz` is left out.

    A peak is one that stands clear of the scatter. With one peak only, `fh` and `zh` are its.

    >>> f = np.geomspace(10, 150, 200)
    >>> found = seen(Sweep(f, 3.4 + 30 / (1 + 25 * (f / 32 - 32 / f) ** 2)))
    >>> found.fl, round(found.fh, 1), round(found.zh, 1)
    (nan, 32.0, 33.4)
    """
    tops = sorted(peaks(sweep, limit=2)[0])
    if not tops:
        return Landmarks()
    if len(tops) == 1:
        top = extreme(sweep, tops[0] / 1.5, tops[0] * 1.5, 1)
        return Landmarks(fh=float(top.frequency), zh=float(top.magnitude))
    low, high = tops
    middle = float(np.sqrt(low * high))
    a = extreme(sweep, low / 2, middle, 1)
    b = extreme(sweep, low, high, -1)
    c = extreme(sweep, middle, high * 1.5, 1)
    return Landmarks(*(float(v) for e in (a, b, c) for v in (e.frequency, e.magnitude)))


def jagged(sweep: Sweep) -> list[tuple[float, float]]:
    """Stretches of a `sweep` where several points stand off a smooth curve: [(low, high)] in Hz.

    Third differences leave little of a smooth curve. One odd point, as mains hum leaves them,
    upsets four of them; a stretch counts from five on.

    >>> ohms = 5 + 0.01 * np.random.default_rng(1).normal(size=100)
    >>> ohms[50:60] += (-1) ** np.arange(10)
    >>> jagged(Sweep(np.arange(20.0, 120.0), ohms))  # the shaken ones run from 70 to 79 Hz
    [(69.0, 80.0)]
    """
    steps = np.abs(np.diff(np.log(sweep.magnitude), 3))
    if len(steps) < 12:
        return []
    odd = np.flatnonzero(steps > _ODD * np.median(steps))
    runs = np.split(odd, np.flatnonzero(np.diff(odd) > 2) + 1)
    f = sweep.frequency
    return [(float(f[r[0] + 2]), float(f[r[-1] + 1])) for r in runs if len(r) >= 5]
