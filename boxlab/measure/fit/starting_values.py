"""Where a fit begins: the part of a sweep to fit, and rough values read off the curve."""

from __future__ import annotations

import numpy as np

from boxlab.measure.read.value import Sweep


def around(sweep, low, high, reach=12.0):
    """The part of the sweep that the resonances shape: up to `reach` times the highest of them.

    Far above, only the coil speaks, and no simple coil model holds over ten octaves.
    """
    part = sweep.between(low / 20, high * reach)
    return part if len(part) >= 12 else sweep


def thinned(sweep, most=300):
    """Every k-th point, so that no more than about `most` are left: enough to choose by.

    >>> from boxlab.gear.demo_sweeps import demo_table
    >>> from boxlab.measure.read.sweep import read_sweep
    >>> sweep = read_sweep(demo_table('free air'))
    >>> len(thinned(sweep, 50).frequency) <= 60
    True

    Parameters
    ----------
    sweep : Sweep
    most : points
    """
    step = max(len(sweep) // most, 1)
    if step == 1:
        return sweep
    phase = None if sweep.phase is None else sweep.phase[::step]
    return Sweep(
        sweep.frequency[::step], sweep.magnitude[::step], phase, sweep.name, common=sweep.common
    )


def condensed(sweep, most=3000):
    """Neighbouring points averaged, so that no more than about `most` are left.

    What a mean says is as sharp as its points together, so a fit loses nothing by it.
    """
    step = -(-len(sweep) // most)
    if step <= 1:
        return sweep
    edges = np.arange(0, len(sweep), step)
    count = np.diff([*edges, len(sweep)])

    def mean(values):
        return np.add.reduceat(values, edges) / count

    f = np.exp(mean(np.log(sweep.frequency)))
    if sweep.phase is None:
        return Sweep(f, mean(sweep.magnitude), None, sweep.name, sweep.notes, common=sweep.common)
    z = mean(sweep.impedance)
    return Sweep(
        f, np.abs(z), np.degrees(np.angle(z)), sweep.name, sweep.notes, common=sweep.common
    )


def start_coil(sweep, top, kind):
    """Starting values for the coil from the upper end of the sweep."""
    f, z = sweep.frequency[-1], sweep.magnitude[-1]
    floor = float(np.min(sweep.magnitude[sweep.frequency > top], initial=z))
    rise = np.sqrt(max(z**2 - floor**2, (0.02 * z) ** 2))
    inductance = rise / (2 * np.pi * f)
    if kind == "le":
        return {"le": inductance}
    if kind == "semi":
        return {"semi_k": inductance * (2 * np.pi * f) ** 0.3, "semi_n": 0.7}
    if kind == "both":
        return {
            "le": inductance / 2,
            "semi_k": inductance / 2 * (2 * np.pi * f) ** 0.3,
            "semi_n": 0.6,
        }
    if kind == "shunted":  # the two part about halfway between the peak and the end
        part = np.sqrt(f * top)
        return {"le": inductance / 2, "l2": 2 * inductance, "r2": 4 * np.pi * part * inductance}
    return {}


def _level(sweep, f):
    return float(np.exp(np.interp(np.log(f), np.log(sweep.frequency), np.log(sweep.magnitude))))


def start_resistance(sweep):
    """A first guess at the coil resistance: a little below the least magnitude.

    >>> from boxlab.gear.demo_sweeps import demo_table
    >>> from boxlab.measure.read.sweep import read_sweep
    >>> sweep = read_sweep(demo_table('free air'))
    >>> round(float(start_resistance(sweep)), 1)  # Ω
    4.3

    Parameters
    ----------
    sweep : Sweep
    """
    return 0.97 * float(np.percentile(sweep.magnitude, 2))


def start_one(sweep, peak, re):
    """Starting values for a peak at `peak` Hz: Qs by the width at √(r0)."""
    ratio = max(_level(sweep, peak) / re, 1.05)
    f, z = sweep.frequency, sweep.magnitude
    inside = (z > re * np.sqrt(ratio)) & (f > peak / 3) & (f < peak * 3)
    width = max(np.ptp(f[inside]) if inside.sum() > 1 else 0.0, 0.03 * peak)
    qms = float(np.clip(peak * np.sqrt(ratio) / width, 0.5, 40))
    return {"fs": peak, "qms": qms, "qes": qms / (ratio - 1)}


def start_two(sweep, lower, upper, re):
    """Starting values for peaks at `lower` and `upper` Hz (lossless relations of a vented box)."""
    f, z = sweep.frequency, sweep.magnitude
    between = (f > lower) & (f < upper)
    fb = float(f[between][np.argmin(z[between])]) if between.any() else np.sqrt(lower * upper)
    fb = float(np.clip(fb, lower * 1.05, upper / 1.05))
    alpha = (upper**2 - fb**2) * (fb**2 - lower**2) / (upper * lower) ** 2
    one = start_one(sweep, upper, re)
    fs = lower * upper / fb
    share = max(np.sqrt(1 + alpha), 1.0)
    return {
        "fs": fs,
        "qms": max(one["qms"] / share, 1.0),
        "qes": float(np.clip(one["qes"] / share, 0.1, 3)),
        "alpha": float(np.clip(alpha, 0.05, 30)),
        "fb": fb,
        "leak": 0.12,
    }


def with_radiator(values, share):
    """Values for a radiator whose own resonance is `share` of the tuning, from those of a port.

    The curve stays the same but for losses: fs²(1 + α) and fs²(1 + α·share²) are held, and the Qs
    go with fs (derived from the relations at the head of `box_fit`). Begun at the port's own
    values instead, a fit has a long narrow valley to walk, and may stop in it.
    """
    part = share**2 / (1 - share**2)
    squared = max(1 - values["alpha"] * part, 0.3)  # of fs over the port's, a radiator's at least
    pull = np.sqrt(squared)
    return values | {
        "fs": values["fs"] * pull,
        "qms": values["qms"] * pull,
        "qes": values["qes"] * pull,
        "alpha": (1 + values["alpha"]) / squared - 1,
        "fp_share": share,
    }
