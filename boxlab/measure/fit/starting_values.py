"""Where a fit begins: the part of a sweep to fit, and rough values read off the curve."""

from __future__ import annotations

import numpy as np

from boxlab.measure.read.value import Sweep

# Circuits with two peaks, from the plainest: starting values and priors that each adds. Where the
# driver is not known, nothing in a sweep says where a radiator's own resonance lies. That it is at
# about a third of the tuning, give or take two fifths of that, is our own assumption: the invented
# boxes of this collection lie there. It rests on no source.
VENTS = {
    "leak": ({}, {}),
    "leak and friction": ({"drag": 0.02}, {}),
    "radiator": ({"drag": 0.02, "fp_share": 0.35}, {"fp_share": (0.35, 0.14)}),
    "creep": ({"creep": 0.05}, {}),
    "creep and radiator": (
        {"creep": 0.05, "drag": 0.02, "fp_share": 0.35},
        {"fp_share": (0.35, 0.14)},
    ),
}


def around(sweep: Sweep, low: float, high: float, reach: float = 12.0) -> Sweep:
    """The part of a `sweep` that resonances from `low` to `high`, Hz, shape: to `reach` times that.

    Far above, only the coil speaks, and no simple coil model holds over ten octaves.

    >>> f = np.geomspace(5, 20e3, 200)
    >>> around(Sweep(f, np.full(200, 5.0)), 25.0, 50.0).frequency[[0, -1]].round()
    array([  5., 579.])
    """
    part = sweep.between(low / 20, high * reach)
    return part if len(part) >= 12 else sweep


def thinned(sweep: Sweep, most: int = 300) -> Sweep:
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


def condensed(sweep: Sweep, most: int = 3000) -> Sweep:
    """Neighbouring points of a `sweep` averaged, so that no more than about `most` are left.

    What a mean says is as sharp as its points together, so a fit loses nothing by it.

    >>> condensed(Sweep([20.0, 21.0, 40.0, 42.0], [5.0, 6.0, 30.0, 34.0]), 2).magnitude
    array([ 5.5, 32. ])
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


def start_coil(sweep: Sweep, top: float, kind: str) -> dict[str, float]:
    """Starting values for the coil from the upper end of the sweep, above the peak at `top`, Hz.

    The `kind` of coil is "le", "semi", "both", "shunted" or "none", as in `fit_curve`.

    >>> f = np.geomspace(20, 2000, 100)
    >>> sweep = Sweep(f, np.hypot(3.4, 2 * np.pi * f * 1e-3))  # of 1 mH
    >>> round(float(start_coil(sweep, 50.0, "le")["le"]), 5)
    0.001
    """
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


def start_resistance(sweep: Sweep) -> float:
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


def start_one(sweep: Sweep, peak: float, re: float) -> dict[str, float]:
    """Starting values for a peak at `peak` Hz, `re` in Ω: Qs by the width at √(r0).

    >>> f = np.geomspace(10, 150, 300)
    >>> sweep = Sweep.from_impedance(f, 3.4 + 34 / (1 + 5j * (f / 32 - 32 / f)))  # Qms 5, Qes 0.5
    >>> {name: round(value, 1) for name, value in start_one(sweep, 32.0, 3.4).items()}
    {'fs': 32.0, 'qms': 5.1, 'qes': 0.5}
    """
    ratio = max(_level(sweep, peak) / re, 1.05)
    f, z = sweep.frequency, sweep.magnitude
    inside = (z > re * np.sqrt(ratio)) & (f > peak / 3) & (f < peak * 3)
    width = max(np.ptp(f[inside]) if inside.sum() > 1 else 0.0, 0.03 * peak)
    qms = float(np.clip(peak * np.sqrt(ratio) / width, 0.5, 40))
    return {"fs": peak, "qms": qms, "qes": qms / (ratio - 1)}


def start_two(sweep: Sweep, lower: float, upper: float, re: float) -> dict[str, float]:
    """Starting values for peaks of a `sweep` at `lower` and `upper` Hz by lossless relations.

    The relations are a vented box's; `re` is the coil's resistance, Ω.

    >>> from boxlab.measure.fit.motional import impedance
    >>> f = np.geomspace(10, 150, 300)
    >>> z = impedance(f, 3.4, fs=32.0, qms=5.0, qes=0.5, alpha=2.0, fb=35.0, leak=0.05)
    >>> begin = start_two(Sweep.from_impedance(f, z), 18.8, 59.5, re=3.4)
    >>> [round(float(begin[name]), 1) for name in ("fs", "alpha", "fb")]
    [32.1, 1.6, 34.9]
    """
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


def with_radiator(values: dict[str, float], share: float) -> dict[str, float]:
    """Values for a radiator whose own resonance is `share` of the tuning, from those of a port.

    The curve stays the same but for losses: fs²(1 + α) and fs²(1 + α·share²) are held, and the Qs
    go with fs (derived from the relations at the head of `box_fit`). Begun at the port's own
    values instead, a fit has a long narrow valley to walk, and may stop in it.

    >>> port = {"fs": 32.0, "qms": 5.0, "qes": 0.5, "alpha": 2.0, "fb": 35.0}
    >>> new = with_radiator(port, 0.35)
    >>> [round(float(new[name]), 2) for name in ("fs", "alpha", "fb")]
    [27.17, 3.16, 35.0]
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
