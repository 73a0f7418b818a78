"""A third resonance in the sweep of a box with radiators: they do not carry the same.

Radiators that are alike act as one mass on one spring. Where they differ, one goes in while the
other goes out somewhere between their own resonances, and a small bump stands in the sweep there
that no box with one such mass has (derived: see `model.mixed_radiators`).
"""

from __future__ import annotations

import numpy as np

from boxlab.measure.fit.least_squares import Fit, noise
from boxlab.measure.fit.motional import fitted
from boxlab.measure.read.value import Sweep

# Our own choices, from sweeps made for it: how much of the misfit, in squares of the scatter, the
# bump has to take away, and how high it has to be, so that a suspension that creeps is no bump.
CLEAR, HIGH = 40.0, 0.007
_WHERE, _SHARP = np.geomspace(0.7, 1.25, 30), (3.0, 6.0, 12.0)


def third_peak(sweep: Sweep, fit: Fit) -> float:
    """Where it stands, Hz; NaN where the sweep shows none.

    Parameters
    ----------
    sweep : Sweep of the box
    fit : the `Fit` of a box with radiators taken as alike; its `fp` is their own resonance

    >>> from boxlab.gear.demo_sweeps import demo_table
    >>> from boxlab.measure import find_tuning, read_sweep
    >>> sweep = read_sweep(demo_table("ported"))
    >>> third_peak(sweep, find_tuning(sweep).fit)  # a port: no radiator, and so no third peak
    nan
    """
    fp = fit.values.get("fp", np.nan)
    near = (sweep.frequency > 0.45 * fp) & (sweep.frequency < 1.6 * fp)
    if near.sum() < 12:
        return np.nan
    f = sweep.frequency[near]
    z = fitted(fit, f)
    scatter = noise(sweep)
    rows = [np.log(sweep.magnitude[near] / np.abs(z)) / scatter[0]]
    sizes = [scatter[0]]
    if sweep.phase is not None:
        turn = np.angle(np.exp(1j * np.radians(sweep.phase[near])) / z)
        rows.append(turn / scatter[-1])
        sizes.append(scatter[-1])
    x = np.log(f / fp)
    smooth = np.stack([x**0, x, x**2, x**3])
    best, at, tall = 0.0, np.nan, 0.0
    left = _left(rows, [smooth] * len(rows))
    for where in _WHERE * fp:
        if not f[0] * 1.05 < where < f[-1] / 1.05:
            continue
        for sharp in _SHARP:
            bump = 1 / (1 + 1j * sharp * (f / where - where / f))
            # ln Z gains A·bump: its real part shows in the magnitude, its imaginary in the phase
            parts = [np.stack([bump.real, -bump.imag]), np.stack([bump.imag, bump.real])]
            gained, height = _with_bump(rows, smooth, parts, sizes)
            if left - gained > best and height > HIGH:
                best, at, tall = left - gained, float(where), height
    # at an end of where it was sought it may be something broader, unless it is very high
    inside = _WHERE[0] * 1.02 < at / fp < _WHERE[-1] / 1.02 or tall > 4 * HIGH
    return at if best > CLEAR and inside else np.nan


def _left(rows, bases):
    """Squares that are left of each row once the smooth part is taken out."""
    total = 0.0
    for row, base in zip(rows, bases, strict=True):
        total += float(np.sum((row - base.T @ np.linalg.lstsq(base.T, row, rcond=None)[0]) ** 2))
    return total


def _with_bump(rows, smooth, parts, sizes):
    """What is left with the bump as well, and how high that is, as a share."""
    n, k = smooth.shape[1], smooth.shape[0]
    base = np.zeros((len(rows) * n, len(rows) * k + 2))
    for i, (part, size) in enumerate(zip(parts, sizes, strict=False)):
        base[i * n : (i + 1) * n, i * k : (i + 1) * k] = smooth.T
        base[i * n : (i + 1) * n, -2:] = part.T / size
    whole = np.concatenate(rows)
    found = np.linalg.lstsq(base, whole, rcond=None)[0]
    return float(np.sum((whole - base @ found) ** 2)), float(np.hypot(*found[-2:]))
