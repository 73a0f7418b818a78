"""Resonance, total Q and rated impedance by the definitions of the measuring standard.

After IEC 60268-5 (from memory; its text was not at hand): the resonance is the lowest frequency at
which |Z| has a maximum, the total Q follows from two frequencies of equal magnitude on either side
of it, and the lowest magnitude in the rated range may not fall below 80 % of the rated impedance.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from boxlab.base.checks import positive
from boxlab.measure.fit.estimate import Amount, Estimate, uncertain
from boxlab.measure.fit.least_squares import noise
from boxlab.measure.fit.shape import extreme, peaks
from boxlab.measure.fit.tuning import as_sweep

# Values of rated impedance in common use, Ω (common practice, no published source).
USUAL = (1, 2, 3, 4, 6, 8, 12, 16, 24, 32)


@dataclass(frozen=True)
class Resonance:
    """Resonance fs and Q by three frequencies; frequencies in Hz, Qs without unit, as Estimates."""

    fs: Estimate
    r0: Estimate  # highest magnitude over coil resistance
    f1: Estimate
    f2: Estimate
    qms: Estimate
    qes: Estimate
    qts: Estimate
    balance: float  # √(f1·f2)/fs, 1 where the peak is symmetrical
    words: tuple[str, ...]


def resonance_of(sweep: object, re: Amount, level: float | None = None) -> Resonance:
    """Resonance and Q of the first peak, from the magnitude alone.

    Qts = √((r0² − r1²)/(r1² − 1))/r0 · fs/(f2 − f1), with r0 = |Z|max/Re and r1 the magnitude over
    Re at f1 and f2; Qms = r0·Qts and Qes = Qms/(r0 − 1). `level` is r1; the default √r0 makes
    Qms = √r0·fs/(f2 − f1). Exact for a resistance and a parallel resonance; coil
    inductance biases it.

    Parameters
    ----------
    sweep : Sweep with one peak (a driver in free air, or a sealed box), or a table of it
    re : coil resistance, Ω, by a meter

    >>> f = np.geomspace(10, 150, 300)
    >>> z = 3.4 + 34 / (1 + 5j * (f / 32 - 32 / f))  # Qms 5, Qes 0.5
    >>> found = resonance_of(np.column_stack([f, np.abs(z)]), 3.4)
    >>> round(found.fs, 1), round(found.qms, 2), round(found.qes, 2), round(found.qts, 3)
    (32.0, 5.0, 0.5, 0.455)

    Raises
    ------
    ValueError
        If there is no peak, or the sweep does not reach down to the level on both sides.
    """
    sweep = as_sweep(sweep)
    re, re_u = uncertain(re)
    positive("re", re, "Coil resistance is in ohms, by a meter.")
    found, _ = peaks(sweep)
    if not found:
        raise ValueError("there is no peak inside this sweep: measure from half of it upwards.")
    first = min(found)
    top = extreme(sweep, first / 1.4, first * 1.4, 1)
    fs, zmax = top.frequency, top.magnitude
    r0 = zmax / re
    if r0 <= 1.02:
        raise ValueError(
            f"the peak, {zmax:.3g} Ω, does not rise above re = {re:.3g} Ω: check re, in ohms."
        )
    r1 = np.sqrt(r0) if level is None else float(level)
    if not 1 < r1 < r0:
        raise ValueError(f"level = {r1:g} must lie between 1 and r0 = {r0:.3g} (a ratio to re).")
    f1, f2 = (_reach(sweep, fs, r1 * re, side) for side in (-1, 1))
    width = f2 - f1
    shape = np.sqrt((r0**2 - r1**2) / (r1**2 - 1)) / r0
    qts = shape * fs / width
    r0_u = r0 * np.hypot(zmax.u / zmax, re_u / re)
    relative = np.sqrt((fs.u / fs) ** 2 + (f1.u**2 + f2.u**2) / width**2)
    qts_u = qts * np.hypot(relative, r0_u / r0)
    qms_u = r0 * qts * np.hypot(relative, 0.5 * r0_u / r0)
    qms = Estimate(r0 * qts, qms_u)
    qes = Estimate(qms / (r0 - 1), qms / (r0 - 1) * np.hypot(relative, r0_u / (r0 - 1)))
    balance = float(np.sqrt(f1 * f2) / fs)
    words = [f"Resonance {fs}, Qts {Estimate(qts, qts_u)} by three frequencies."]
    if abs(balance - 1) > 0.02:
        words.append(
            f"√(f1·f2) is {100 * (balance - 1):+.1f} % off the peak: the peak is lopsided (coil "
            "inductance, a second resonance, or a suspension that changes with level)."
        )
    return Resonance(
        fs, Estimate(r0, r0_u), f1, f2, qms, qes, Estimate(qts, qts_u), balance, tuple(words)
    )


def _reach(sweep, fs, level, side):
    """Where the magnitude falls to `level` on one side of the peak, by a line through its logs."""
    f, z = sweep.frequency, sweep.magnitude
    there = f < fs if side < 0 else f > fs
    order = np.argsort(np.abs(np.log(f[there] / fs)))
    x, y = np.log(f[there][order]), np.log(z[there][order] / level)
    calm = y if len(y) < 5 else np.convolve(np.pad(y, 1, mode="edge"), [1 / 3] * 3, "valid")
    below = np.flatnonzero(calm <= 0)
    if len(below) == 0:
        raise ValueError(
            f"the sweep does not fall to {level:.3g} Ω {'below' if side < 0 else 'above'} the peak "
            f"at {fs:.4g} Hz: measure further, or give a higher level."
        )
    at = int(below[0])
    near = slice(max(at - 3, 0), at + 3)
    xs, ys = x[near], y[near]
    if len(xs) < 2:
        return Estimate(np.exp(x[at]), np.exp(x[at]) * 0.05, "Hz")
    slope = np.polyfit(ys, xs, 1 if len(xs) < 5 else 2)
    where = float(np.exp(slope[-1]))
    scatter = noise(sweep)[0] / np.sqrt(max(len(xs) / 2, 1))
    return Estimate(where, where * abs(slope[-2]) * scatter, "Hz")


@dataclass(frozen=True)
class Rated:
    """Least magnitude (Ω) above the resonance, where it is (Hz), and the ratings it allows."""

    least: Estimate
    at: Estimate
    highest: float  # the highest rating the least magnitude allows, Ω: |Z|min / 0.8
    usual: float  # the next usual rating at or below it, Ω; NaN below 1 Ω
    words: str


def rated_impedance(
    sweep: object, rated: float | None = None, low: float | None = None, high: float | None = None
) -> Rated:
    """The rated impedance that the 80 % rule allows in the range `low` … `high`, Hz.

    Without a range, from the highest peak upwards. `rated` is the value on the label, Ω, to be
    checked. The coil's DC resistance may lie lower still; the standard then wants it stated.

    >>> text = "20 5\\n30 9\\n40 30\\n50 9\\n60 5\\n80 3.9\\n100 3.5\\n120 3.4\\n150 3.6\\n"
    >>> rated_impedance(text, rated=4).usual
    4

    Raises
    ------
    ValueError
        If no point of the sweep lies in the range.
    """
    sweep = as_sweep(sweep)
    found, _ = peaks(sweep)
    low = (max(found) if found else 0.0) if low is None else low
    high = np.inf if high is None else high
    part = sweep.between(low, high)
    if len(part) == 0:
        raise ValueError(f"the sweep has no point from {low:g} to {high:g} Hz.")
    bottom = extreme(part, 0, np.inf, -1)
    least = bottom.magnitude
    highest = least / 0.8
    fits = [value for value in USUAL if value <= highest * (1 + 2 * least.u / least)]
    usual = fits[-1] if fits else float("nan")
    words = (
        f"The least magnitude is {least} at {bottom.frequency}; a rating of up to {highest:.3g} Ω "
        f"keeps the 80 % rule."
    )
    if rated is not None:
        share = least / positive("rated", rated)
        verdict = "keeps" if share + 2 * least.u / rated >= 0.8 else "breaks"
        words += f" {rated:g} Ω on the label {verdict} it: the least is {100 * share:.0f} % of it."
    return Rated(least, bottom.frequency, highest, usual, words)
