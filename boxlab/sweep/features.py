"""Where a fitted curve turns and where its phase is zero, with or without coil and losses."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from boxlab.sweep.resonance import fitted

_NAN = float("nan")


def turning_points(fit, low, high, keep_coil=True, keep_loss=True):
    """Lower peak, least magnitude and upper peak of the fitted curve, Hz; NaN where not there."""
    v = dict(fit.values)
    if not keep_coil:
        v |= {"le": 0.0, "semi_k": 0.0}
    if not keep_loss:
        v |= {"leak": 0.0, "drag": 0.0}
    f = np.geomspace(low, high, 4000)
    level = np.log(np.abs(fitted(_Values(v), f)))
    tops = _turns(f, level)
    fb = v["fb"]
    below, above = [t for t in tops if t[0] < fb], [t for t in tops if t[0] > fb]
    # With losses the least magnitude may slip past the tuning, and so may a low, flat peak.
    if not below or not above:
        if len(tops) < 2:
            return _NAN, _NAN, _NAN
        lower, upper = sorted(tops, key=lambda t: -t[1])[:2]
        below, above = [min(lower, upper)], [max(lower, upper)]
    fl, fh = max(below, key=lambda t: t[1])[0], max(above, key=lambda t: t[1])[0]
    dips = [t for t in _turns(f, -level) if fl < t[0] < fh]
    return fl, (max(dips, key=lambda t: t[1])[0] if dips else _NAN), fh


@dataclass(frozen=True)
class _Values:
    values: dict


def _turns(f, level):
    """Local maxima on a fine grid, (frequency, level), sharpened by a parabola."""
    x = np.log(f)
    found = []
    for i in np.flatnonzero((level[1:-1] > level[:-2]) & (level[1:-1] >= level[2:])) + 1:
        a, b, c = level[i - 1], level[i], level[i + 1]
        bend = a - 2 * b + c
        shift = 0.5 * (a - c) / bend if bend else 0.0
        found.append((float(np.exp(x[i] + shift * (x[1] - x[0]))), float(b)))
    return found


def shows_two(fit, part):
    """True if the fitted curve has two peaks that the data could show."""
    v = fit.values
    low, high = part.frequency[0], part.frequency[-1]
    if not (low * 0.8 < v["fb"] < high):
        return False
    fl, fm, fh = turning_points(fit, low / 3, high * 1.2)
    if not np.isfinite(fl + fm + fh) or fl < low / 2.2 or fm < low or fh > high:
        return False
    z = np.abs(fitted(fit, [fl, fm, fh]))
    if fl < low:
        z[0] = np.abs(fitted(fit, [low]))[0]
    return min(z[0], z[2]) / z[1] > 1 + max(0.03, 3 * fit.scatter[0] / np.sqrt(5))


def zero_phase(fit, low, high, keep_coil=True):
    """Where the reactance of the fitted curve rises through zero, Hz; NaN if it does not."""
    v = dict(fit.values) if keep_coil else fit.values | {"le": 0.0, "semi_k": 0.0}
    f = np.geomspace(low, high, 4000)
    reactance = fitted(_Values(v), f).imag
    rising = np.flatnonzero((reactance[:-1] < 0) & (reactance[1:] >= 0))
    if len(rising) == 0:
        return _NAN
    i = rising[0]
    share = reactance[i] / (reactance[i] - reactance[i + 1])
    return float(f[i] * (f[i + 1] / f[i]) ** share)
