"""Where a fitted curve turns and where its phase is zero, with or without coil and losses."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from boxlab.measure.fit.estimate import Estimate
from boxlab.measure.fit.least_squares import Fit
from boxlab.measure.fit.motional import NO_INDUCTANCE, fitted
from boxlab.measure.read.value import Sweep

_NAN = float("nan")


def turning_points(
    fit: Fit, low: float, high: float, keep_coil: bool = True, keep_loss: bool = True
) -> tuple[float, float, float]:
    """Lower peak, least magnitude and upper peak of a `fit`'s curve, Hz; NaN where not there.

    Looked for between `low` and `high`, Hz. Without `keep_coil` the curve is that of a coil that
    has resistance alone, without `keep_loss` that of a box and vent without losses.

    >>> box = {"re": 3.4, "le": 2e-3, "fs": 32.0, "qms": 5.0, "qes": 0.5, "alpha": 2.0, "fb": 35.0}
    >>> [round(f, 1) for f in turning_points(_Values(box), 10.0, 150.0)]
    [17.7, 33.4, 63.1]
    >>> [round(f, 1) for f in turning_points(_Values(box), 10.0, 150.0, keep_coil=False)]
    [17.7, 35.0, 63.1]
    """
    v = dict(fit.values)
    if not keep_coil:
        v |= NO_INDUCTANCE
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


# The tuning of a box against its driver's resonance. No box lies outside; a panel that rings or a
# cone that breaks up does. Our own bracket: no published source.
TUNED = (0.2, 5.0)


def vented(fit: Fit) -> bool:
    """True if the two resonances of a `fit`, fs and fb, can be a driver and the vent of its box.

    >>> vented(_Values({"fs": 32.0, "fb": 35.0})), vented(_Values({"fs": 32.0, "fb": 400.0}))
    (True, False)
    """
    v = fit.values
    return TUNED[0] < v["fb"] / v["fs"] < TUNED[1]


def within(resonance: Estimate, sweep: Sweep) -> bool:
    """True if a fitted `resonance`, Hz, lies in the `sweep`, with a peak clear of its scatter.

    >>> sweep = Sweep([20.0, 32.0, 60.0], [4.6, 38.0, 4.1])
    >>> [bool(within(Estimate(f, 0.5, "Hz"), sweep)) for f in (32.0, 70.0)]
    [True, False]
    """
    low, high = sweep.frequency[0], sweep.frequency[-1]
    return (
        low * 0.8 < resonance < high * 1.05
        and resonance.u < 0.25 * resonance
        and np.max(sweep.magnitude) > 1.1 * np.min(sweep.magnitude)
    )


def shoulder(fits: dict[int, Fit], ease: dict[int, float], part: Sweep) -> float | None:
    """The tuning, Hz, of a second resonance that shows no peak of its own; None if there is none.

    It has to describe the data far better, lie within the sweep, and change the curve by more than
    the few per cent that creep or a leak may. `fits` and `ease` are those of one resonance and of
    two to `part` of a sweep, as `candidates` gives them.

    >>> one = {"re": 3.4, "fs": 45.0, "qms": 4.0, "qes": 0.5}
    >>> fits = {1: _Values(one), 2: _Values(one | {"alpha": 0.8, "fb": 30.0, "leak": 0.5})}
    >>> part = Sweep(np.geomspace(10, 200, 50), np.ones(50))
    >>> shoulder(fits, {1: 500.0, 2: 90.0}, part), shoulder(fits, {1: 500.0, 2: 480.0}, part)
    (30.0, None)
    """
    if 1 not in fits or ease[2] > ease[1] - 50:
        return None
    fb = fits[2].values["fb"]
    one, two = (np.abs(fitted(fits[n], part.frequency)) for n in (1, 2))
    change = np.max(np.abs(np.log(two / one)))
    inside = part.frequency[0] * 1.2 < fb < part.frequency[-1] * 0.8
    return float(fb) if inside and change > 0.05 else None


def shows_two(fit: Fit, part: Sweep) -> bool:
    """True if the curve of a `fit` has two peaks that the data could show, `part` of a sweep.

    >>> from types import SimpleNamespace
    >>> box = {"re": 3.4, "fs": 32.0, "qms": 5.0, "qes": 0.5, "alpha": 2.0, "fb": 35.0}
    >>> fit, f = SimpleNamespace(values=box, scatter=(0.01,)), np.geomspace(10, 200, 50)
    >>> [bool(shows_two(fit, Sweep(f * above, np.ones(50)))) for above in (1, 4)]
    [True, False]
    """
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


def zero_phase(fit: Fit, low: float, high: float, keep_coil: bool = True) -> float:
    """Where the reactance of a `fit`'s curve rises through zero, Hz; NaN if it does not.

    Between `low` and `high`, Hz; without `keep_coil` as if the coil had no inductance.

    >>> box = {"re": 3.4, "le": 2e-3, "fs": 32.0, "qms": 5.0, "qes": 0.5, "alpha": 2.0, "fb": 35.0}
    >>> [round(zero_phase(_Values(box), 25.0, 50.0, keep_coil=each), 1) for each in (True, False)]
    [33.1, 35.0]
    """
    v = dict(fit.values) if keep_coil else fit.values | NO_INDUCTANCE
    f = np.geomspace(low, high, 4000)
    reactance = fitted(_Values(v), f).imag
    rising = np.flatnonzero((reactance[:-1] < 0) & (reactance[1:] >= 0))
    if len(rising) == 0:
        return _NAN
    i = rising[0]
    share = reactance[i] / (reactance[i] - reactance[i + 1])
    return float(f[i] * (f[i + 1] / f[i]) ** share)
