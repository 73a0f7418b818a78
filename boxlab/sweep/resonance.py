"""The one-peak and the two-peak model of a sweep, each fitted from its own starting points."""

from __future__ import annotations

import numpy as np

from boxlab.sweep.circuit import coil, impedance
from boxlab.sweep.fitting import least_squares, noise
from boxlab.sweep.shape import peaks

COILS = {
    "le": ("le",),
    "semi": ("semi_k", "semi_n"),
    "both": ("le", "semi_k", "semi_n"),
    "none": (),
}


def single(frequency, curve="le", **given):
    """The model function of one sweep, values -> [Z], for `fitting.least_squares`."""

    def model(values):
        return [impedance(frequency, **values)]

    return model


def around(sweep, low, high, reach=12.0):
    """The part of the sweep that the resonances shape: up to `reach` times the highest of them.

    Far above, only the coil speaks, and no simple coil model holds over ten octaves.
    """
    part = sweep.between(low / 20, high * reach)
    return part if len(part) >= 12 else sweep


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
    return {}


def _level(sweep, f):
    return float(np.exp(np.interp(np.log(f), np.log(sweep.frequency), np.log(sweep.magnitude))))


def start_resistance(sweep):
    """A first guess at the coil resistance: a little below the least magnitude."""
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


def fit_curve(sweep, start, fixed=None, priors=None, semi=None):
    """Fit the impedance of one sweep; the coil model is chosen by the data unless `semi` says.

    `semi` True fits Leach's semi-inductance, False a plain inductance; None takes whichever
    describes the data better for the parameters it costs. Returns (fit, coil kind).
    """
    model = single(sweep.frequency)
    fixed = dict(fixed or {})
    top = start.get("fb", start.get("fs", fixed.get("fs")))
    if set(fixed) & {"le", "semi_k"}:
        kinds = ["none"]
    else:
        kinds = {True: ["semi", "both"], False: ["le"], None: ["le", "semi", "both"]}[semi]
    tried = {}
    scatter = None
    for kind in kinds:
        if (
            kind == "both"
            and "le" in tried
            and _ease(sweep, tried, model)["semi"] > _ease(sweep, tried, model)["le"]
        ):
            continue
        begin = start | start_coil(sweep, top, kind)
        begin = {k: v for k, v in begin.items() if k not in fixed}
        try:
            fit = least_squares(model, [sweep], begin, fixed, priors, rough=True, scatter=scatter)
        except ValueError:
            if tried:
                continue
            raise
        tried[kind] = fit
    # A richer coil must earn its parameters by a clear margin, in units of the best fit's scatter.
    best = kinds[0]
    ease = _ease(sweep, tried, model)
    for kind in kinds[1:]:
        if kind in tried and ease[kind] < ease[best] - 6:
            best = kind
    begin = {name: tried[best].values[name] for name in tried[best].names}
    return least_squares(model, [sweep], begin, fixed, priors), best


# Circuits with two peaks, from the plainest: starting values and priors that each adds. A
# radiator's own resonance usually lies at a quarter to a half of the tuning (common practice, no
# published source), which is all that is known of it where the driver is not.
VENTS = {
    "leak": ({}, {}),
    "leak and friction": ({"drag": 0.02}, {}),
    "radiator": ({"drag": 0.02, "fp_share": 0.35}, {"fp_share": (0.35, 0.14)}),
}


def fit_tuned(sweep, start, fixed=None, priors=None, semi=None, kinds=tuple(VENTS)):
    """Fit a box with two peaks by the circuit that the data prefer. Returns (fit, kind).

    The plainest is preferred unless a richer one is clearly better. Where another describes the
    data about as well, the greater part of the difference between their tunings joins the
    uncertainty: the sweep does not tell the circuits apart.
    """
    base, _ = fit_curve(sweep, start, fixed, priors, semi)
    fixed = dict(fixed or {})
    model = single(sweep.frequency)
    own = {n: base.values[n] for n in base.names}
    fits = {kinds[0]: base}
    rough = {kinds[0]: base}
    for kind in kinds:
        more, prior = VENTS[kind]
        if not more or set(more) & set(fixed):
            continue
        try:
            rough[kind] = least_squares(
                model, [sweep], own | more, fixed, (priors or {}) | prior, rough=True
            )
        except ValueError:
            continue
    ease = _ease(sweep, rough, model)
    chosen = kinds[0]
    for kind in rough:
        if ease[kind] < ease[chosen] - 6:
            chosen = kind
    near = [kind for kind in rough if ease[kind] < ease[chosen] + 10]
    for kind in near:
        if kind not in fits:
            begin = {n: rough[kind].values[n] for n in rough[kind].names}
            prior = (priors or {}) | VENTS[kind][1]
            fits[kind] = least_squares(model, [sweep], begin, fixed, prior)
    fit = fits[chosen]
    spread = max(abs(np.log(fits[k].values["fb"] / fit.values["fb"])) for k in near)
    at = fit.names.index("fb")
    fit.covariance[at, at] += (0.6 * spread) ** 2
    return fit, chosen


def misfit(sweep, fit, model=None):
    """Robust size of the relative residuals of a fit: (per point, one number per channel)."""
    z = (model or single(sweep.frequency))({k: np.atleast_1d(v) for k, v in fit.values.items()})[0]
    parts = [np.log(np.abs(z)) - np.log(sweep.magnitude)]
    if sweep.phase is not None:
        parts.append(np.angle(z * np.exp(-1j * np.radians(sweep.phase))))
    return parts


def _ease(sweep, fits, model):
    """Bayes information criterion of each fit, with the scatter of the best of them."""
    sizes = {
        kind: [float(np.median(np.abs(p))) * 1.4826 for p in misfit(sweep, fit, model)]
        for kind, fit in fits.items()
    }
    channels = len(next(iter(sizes.values())))
    floor = noise(sweep)
    scale = [
        max(min(size[c] for size in sizes.values()), 0.7 * floor[min(c, len(floor) - 1)], 1e-6)
        for c in range(channels)
    ]
    ease = {}
    for kind, fit in fits.items():
        cost = 0.0
        for part, s in zip(misfit(sweep, fit, model), scale, strict=True):
            cost += float(np.sum(np.log1p((part / s / 2.385) ** 2))) * 2.385**2
        ease[kind] = cost + len(fit.names) * np.log(channels * len(sweep))
    return ease


_BOX = ("alpha", "fb", "leak", "drag", "fp", "fp_share")


def candidates(sweep, fixed=None, priors=None, semi=None):
    """Best rough one-peak and two-peak fits: {1: (part, fit), 2: (part, fit)}, and their ease."""
    fixed = dict(fixed or {})
    found, falls = peaks(sweep)
    re = fixed.get("re", start_resistance(sweep))
    lowest, highest = sweep.frequency[0], sweep.frequency[-1]
    tops = found or [
        float(sweep.frequency[np.argmax(sweep.magnitude[: max(len(sweep) * 3 // 4, 1)])])
    ]
    pairs = [(a, b) for a in found for b in found if a < b * 0.97]
    if falls and found:
        pairs += [(lowest * 0.8, b) for b in found[:2]]
    if not pairs:
        pairs = [(tops[0] / 2.5, tops[0]), (tops[0], min(tops[0] * 2.5, highest))]
    part = around(sweep, min(tops), max(tops))
    model = single(part.frequency)
    fits = {}
    for count, starts in (
        (1, [start_one(part, p, re) for p in tops[:2]]),
        (2, [start_two(part, a, b, re) for a, b in pairs[:4]]),
    ):
        own = fixed if count == 2 else {k: v for k, v in fixed.items() if k not in _BOX}
        tried = {}
        for kind in ("semi",) if semi else ("le",) if semi is False else ("le", "semi"):
            if "le" in tried:  # go on from the best place found with the plainer coil
                starts = [{n: v for n, v in tried["le"].values.items() if n not in ("re", "le")}]
            for start in starts:
                begin = {"re": re} | start_coil(part, max(tops), kind) | start
                begin = {k: v for k, v in begin.items() if k not in own}
                try:
                    fit = least_squares(model, [part], begin, own, priors, rough=True)
                except (ValueError, np.linalg.LinAlgError):
                    continue
                if kind not in tried or fit.score < tried[kind].score:
                    tried[kind] = fit
        if tried:
            ease = _ease(part, tried, model)
            fits[count] = tried[min(tried, key=ease.get)]
    if not fits:
        raise ValueError(
            f"{len(sweep)} points from {lowest:g} to {highest:g} Hz are too few to fit a "
            "resonance; measure some 40 points or more, from half the lowest peak to four times "
            "the highest."
        )
    return part, fits, _ease(part, fits, model)


def fitted(fit, frequency):
    """Impedance of the fit, Ω, at any frequencies, Hz."""
    return impedance(np.asarray(frequency, dtype=float), **fit.values)


def blocked(fit, frequency):
    """Impedance of the fit's coil alone, Ω."""
    v = fit.values
    return coil(
        np.asarray(frequency, dtype=float),
        v["re"],
        v.get("le", 0.0),
        v.get("semi_k", 0.0),
        v.get("semi_n", 0.7),
    )
