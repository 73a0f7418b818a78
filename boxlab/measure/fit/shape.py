"""Peaks and valleys of a noisy curve, and where a noisy phase goes through zero."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from boxlab.measure.fit.estimate import Estimate
from boxlab.measure.fit.least_squares import noise
from boxlab.measure.read.value import Sweep

AT_ONCE = 2_000_000  # weights held at a time: a sweep of any length fits into memory


@dataclass(frozen=True)
class Extreme:
    """A peak or a valley: frequency (Hz) and |Z| (Ω) there, as Estimates."""

    frequency: Estimate
    magnitude: Estimate


def smooth(sweep: Sweep) -> tuple[np.ndarray, np.ndarray, float]:
    """A `sweep`'s magnitude on an even logarithmic grid: (Hz, log|Z|, relative scatter left).

    The smoothing widens with the scatter, from a fiftieth to a seventh of an octave.

    >>> f = np.geomspace(20, 200, 300)
    >>> rough = Sweep(f, 8 * (1 + 0.05 * np.sin(np.arange(300.0) ** 2)))
    >>> grid, level, left = smooth(rough)
    >>> grid.shape, round(float(np.exp(level).max()), 1), round(float(rough.magnitude.max()), 1)
    ((318,), 8.1, 8.4)
    """
    scatter = noise(sweep)[0]
    octaves = np.log2(sweep.frequency)
    span = octaves[-1] - octaves[0]
    count = int(np.clip(span * 96, 16, 4000))
    grid = np.linspace(octaves[0], octaves[-1], count)
    level = _without_spikes(sweep)
    width = np.clip(0.02 + 2 * scatter, 0.02, 0.15)
    rows = max(1, AT_ONCE // len(octaves))
    parts = [_smooth_part(grid[i : i + rows], octaves, level, width) for i in range(0, count, rows)]
    curve, inside = (np.concatenate(part) for part in zip(*parts, strict=True))
    left = scatter / np.sqrt(max(float(np.median(inside)), 1.0))
    return 2**grid, curve, left


def _smooth_part(grid, octaves, level, width):
    """The smoothed level at a stretch of the grid, and how many points each value rests on."""
    # Eight widths away a point weighs 1e-14: leave those out, so that long sweeps stay quick.
    near = slice(*np.searchsorted(octaves, (grid[0] - 8 * width, grid[-1] + 8 * width)))
    curve = np.interp(grid, octaves, level)
    octaves, level = octaves[near], level[near]
    weights = np.exp(-0.5 * ((grid[:, None] - octaves[None, :]) / width) ** 2)
    inside = weights.sum(axis=1)
    dense = inside > 1.5  # where points lie apart, join them; do not smooth over the gap
    sums = weights[dense]
    if dense.any():  # local straight lines, so that slopes and ends are not pulled
        x = octaves[None, :] - grid[dense][:, None]
        s0, s1, s2 = sums.sum(1), (sums * x).sum(1), (sums * x * x).sum(1)
        t0, t1 = sums @ level, (sums * x) @ level
        det = s0 * s2 - s1**2
        safe = det > 1e-9 * s0**2 * width**2
        line = np.where(safe, (s2 * t0 - s1 * t1) / np.where(safe, det, 1), t0 / s0)
        curve[dense] = line
    return curve, inside


def _without_spikes(sweep):
    """log|Z| with single points replaced that stand far off their close neighbours (hum)."""
    level, octaves = np.log(sweep.magnitude), np.log2(sweep.frequency)
    if len(level) < 5:
        return level
    place = np.arange(len(level))
    span = octaves[np.minimum(place + 2, place[-1])] - octaves[np.maximum(place - 2, 0)]
    padded = np.pad(level, 2, mode="reflect", reflect_type="odd")
    windows = np.lib.stride_tricks.sliding_window_view(padded, 5)
    middle = np.median(windows, axis=1)
    off = level - middle
    limit = 6 * 1.4826 * np.median(np.abs(off)) + 0.1
    return np.where((np.abs(off) > limit) & (span < 0.35), middle, level)


def peaks(sweep: Sweep, limit: int = 4) -> tuple[list[float], bool]:
    """Frequencies of the peaks inside the `sweep`, Hz, the `limit` most prominent of them first.

    A peak must rise above both its sides by 3 % and by five times the scatter that is left after
    smoothing. The answer also tells whether the curve falls from its low end, as it does when the
    lower peak lies below the sweep: `(peaks, falls_from_the_start)`.

    >>> f = np.geomspace(10, 150, 200)
    >>> found, falls = peaks(Sweep(f, 3.4 + 30 / (1 + 25 * (f / 32 - 32 / f) ** 2)))
    >>> [round(at) for at in found], falls
    ([32], False)
    """
    frequency, level, left = smooth(sweep)
    need = max(0.03, 5 * left)
    found = []
    inner = np.flatnonzero((level[1:-1] > level[:-2]) & (level[1:-1] >= level[2:])) + 1
    for i in inner:
        before = level[:i][::-1]
        after = level[i + 1 :]
        drop = min(_drop(before, level[i]), _drop(after, level[i]))
        if drop > need:
            found.append((drop, float(frequency[i])))
    falls = _drop(level[1:], level[0]) > need
    return [f for _, f in sorted(found, reverse=True)[:limit]], bool(falls)


def _drop(side, top):
    """How far the curve falls on one side before it rises above `top` again."""
    higher = np.flatnonzero(side > top)
    reach = side[: higher[0]] if len(higher) else side
    return top - float(reach.min()) if len(reach) else 0.0


def extreme(sweep: Sweep, low: float, high: float, sign: int) -> Extreme:
    """The peak (`sign` 1) or valley (−1) of a `sweep` from `low` to `high`, Hz, by the data alone.

    A cubic in log frequency through the points near the top, in 1/|Z|² (|Z|² for a valley), which a
    single resonance bends into a parabola; the uncertainty is that of the cubic's turning point.
    Fewer than five points give the highest point and the gap to its neighbours.

    >>> f = np.geomspace(10, 150, 200)
    >>> top = extreme(Sweep(f, 3.4 + 30 / (1 + 25 * (f / 32 - 32 / f) ** 2)), 20.0, 50.0, 1)
    >>> round(top.frequency, 2), round(top.magnitude, 2)
    (32.0, 33.42)
    """
    keep = (sweep.frequency >= low) & (sweep.frequency <= high)
    f, level = sweep.frequency[keep], _without_spikes(sweep)[keep] * sign
    if len(f) == 0:
        return Extreme(Estimate(np.nan, unit="Hz"), Estimate(np.nan, unit="Ω"))
    scatter = noise(sweep)[0]
    top = _rough_top(np.log(f), level)
    depth = max(0.15, 6 * scatter)
    span = level.max() - np.median(level)
    near = _run_around(level > level[top] - min(depth, max(0.6 * span, 3 * scatter)), top)
    for _ in range(12):
        if near.sum() >= 5 or near.all():
            break
        near = near | np.append(near[1:], False) | np.append(False, near[:-1])
    x, y = np.log(f[near]), -0.5 * np.exp(-2 * (level[near] - level[top]))
    if len(x) < 5:
        gap = np.ptp(x) / 2 if len(x) > 1 else 0.1
        return Extreme(
            Estimate(f[top], f[top] * gap / 2, "Hz"),
            Estimate(np.exp(sign * level[top]), np.exp(sign * level[top]) * scatter, "Ω"),
        )
    centre, half = x.mean(), np.ptp(x) / 2
    t = (x - centre) / half
    order = 3 if len(x) > 6 else 2
    matrix = np.vander(t, order + 1, increasing=True)
    beta, _, _, _ = np.linalg.lstsq(matrix, y, rcond=None)
    misfit = y - matrix @ beta
    variance = max(float(misfit @ misfit) / max(len(x) - order - 1, 1), scatter**2)
    covariance = variance * np.linalg.pinv(matrix.T @ matrix)
    at = _turning(beta)
    if at is None:
        gap = half / 2
        return Extreme(
            Estimate(f[top], f[top] * gap, "Hz"),
            Estimate(np.exp(sign * level[top]), np.exp(sign * level[top]) * scatter, "Ω"),
        )
    powers = np.arange(order + 1)
    bend = float(np.sum(beta[2:] * (powers * (powers - 1))[2:] * at ** (powers[2:] - 2)))
    slope = np.where(powers > 0, powers * at ** np.maximum(powers - 1, 0), 0.0)
    u = np.sqrt(slope @ covariance @ slope) / max(abs(bend), 1e-9) * half
    row = at**powers
    level_u = np.sqrt(row @ covariance @ row)
    height = level[top] - 0.5 * np.log(max(-2 * float(row @ beta), 1e-9))
    if not level[top] - depth < height < level[top] + 0.1:  # too few points to carry a cubic
        gap = np.ptp(x) / len(x)
        rough = np.exp(sign * level[top])
        return Extreme(Estimate(f[top], f[top] * gap, "Hz"), Estimate(rough, rough * 0.1, "Ω"))
    where, value = np.exp(centre + at * half), np.exp(sign * height)
    return Extreme(
        Estimate(where, where * min(u, half), "Hz"), Estimate(value, value * level_u, "Ω")
    )


def _rough_top(x, level):
    """Index of the highest point of the curve averaged over three neighbours."""
    if len(level) < 5:
        return int(np.argmax(level))
    calm = np.convolve(np.pad(level, 1, mode="edge"), [0.25, 0.5, 0.25], mode="valid")
    return int(np.argmax(calm))


def _run_around(mask, at):
    """The run of True that holds index `at`; a gap of one or two points does not break it."""
    whole = np.convolve(mask, [1, 1, 1, 1, 1], mode="same") > 0
    run = np.zeros(len(mask), dtype=bool)
    left = at
    while left > 0 and whole[left - 1]:
        left -= 1
    right = at
    while right < len(mask) - 1 and whole[right + 1]:
        right += 1
    run[left : right + 1] = True
    return run & mask | (np.arange(len(mask)) == at)


def _turning(beta):
    """Highest turning point of the polynomial within −1 … 1, or None."""
    slopes = beta[1:] * np.arange(1, len(beta))
    roots = np.roots(slopes[::-1])
    real = roots[np.abs(roots.imag) < 1e-9].real
    inside = real[np.abs(real) <= 1.0]
    if len(inside) == 0:
        return None
    values = np.polynomial.polynomial.polyval(inside, beta)
    best = float(inside[np.argmax(values)])
    bend = np.polynomial.polynomial.polyval(best, slopes[1:] * np.arange(1, len(slopes)))
    return best if bend < 0 else None


def zero_crossing(sweep: Sweep, low: float, high: float) -> Estimate:
    """Frequency, Hz, at which the phase of a `sweep` rises through zero between `low` and `high`.

    A straight line or cubic in log frequency through the phases near the crossing. NaN where the
    phase is not measured or does not come up through zero there.

    >>> f = np.geomspace(20, 60, 80)
    >>> round(zero_crossing(Sweep(f, np.full(80, 5.0), 90 * np.log(f / 35)), 22.0, 55.0), 2)
    35.0
    """
    nothing = Estimate(np.nan, unit="Hz", note="the phase does not rise through zero there")
    if sweep.phase is None:
        return Estimate(np.nan, unit="Hz", note="no phase in this sweep")
    keep = (sweep.frequency > low) & (sweep.frequency < high)
    x, y = np.log(sweep.frequency[keep]), sweep.phase[keep]
    if len(x) < 4:
        return nothing
    # The crossing that splits the run best into negative before and positive after.
    balance = np.cumsum(np.sign(y))
    at = int(np.argmin(balance))
    if balance[at] >= 0 or at >= len(x) - 1:
        return nothing
    near = np.abs(y) < 0.5 * np.percentile(np.abs(y), 90)
    near = _run_around(near, at)
    grow = near
    while grow.sum() < 6 and not grow.all():
        grow = np.convolve(grow, [1, 1, 1], mode="same") > 0
    x, y = x[grow], y[grow]
    centre, half = x.mean(), max(np.ptp(x) / 2, 1e-9)
    t = (x - centre) / half
    order = min(3 if len(x) > 8 else 1, len(x) - 2)
    matrix = np.vander(t, order + 1, increasing=True)
    weight = np.ones(len(x))
    for _ in range(3):
        beta, _, _, _ = np.linalg.lstsq(matrix * weight[:, None], y * weight, rcond=None)
        off = y - matrix @ beta
        spread = max(1.4826 * float(np.median(np.abs(off))), 1e-9)
        weight = np.sqrt(1 / (1 + (off / (_CAUCHY * spread)) ** 2))
    variance = float(np.sum((weight * off) ** 2)) / max(len(x) - order - 1, 1) * 1.1
    covariance = variance * np.linalg.pinv(
        (matrix * weight[:, None]).T @ (matrix * weight[:, None])
    )
    roots = np.roots(beta[::-1])
    roots = roots[(np.abs(roots.imag) < 1e-9) & (np.abs(roots.real) <= 1.2)].real
    slope_of = np.polynomial.polynomial.polyder(beta)
    roots = [r for r in roots if np.polynomial.polynomial.polyval(r, slope_of) > 0]
    if not roots:
        return nothing
    root = min(roots, key=abs)
    row = root ** np.arange(order + 1)
    slope = float(np.polynomial.polynomial.polyval(root, slope_of))
    u = np.sqrt(row @ covariance @ row) / slope * half
    where = np.exp(centre + root * half)
    return Estimate(where, where * u, "Hz")


_CAUCHY = 2.385
