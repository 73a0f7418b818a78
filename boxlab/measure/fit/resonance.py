"""The one-peak and the two-peak model of a sweep, each fitted from its own starting points."""

from __future__ import annotations

import numpy as np

from boxlab.measure.fit.least_squares import least_squares, noise
from boxlab.measure.fit.motional import NO_INDUCTANCE, coil, impedance
from boxlab.measure.fit.shape import peaks
from boxlab.measure.fit.starting_values import (
    around,
    condensed,
    start_coil,
    start_one,
    start_resistance,
    start_two,
    thinned,
    with_radiator,
)
from boxlab.model.relations import COIL

_TREND = 1.15  # `Fit.widened` from which another coil is tried (our own choice)


def single(frequency):
    """The model function of one sweep, values -> [Z], for `fitting.least_squares`."""

    def model(values):
        return [impedance(frequency, **values)]

    return model


def fit_curve(sweep, start, fixed=None, priors=None, semi=None, shunted=True):
    """Fit the impedance of one sweep; the coil model is chosen by the data unless `semi` says.

    `semi` True fits Leach's semi-inductance (with an inductance in series), False an inductance
    alone; None takes whichever describes the data better for the parameters it costs, and where
    none does, and `shunted` allows it, a second inductance with a resistance across it. Returns
    (fit, coil kind).
    """
    model, few = single(sweep.frequency), thinned(sweep)
    trial = single(few.frequency)
    fixed = dict(fixed or {})
    top = start.get("fb", start.get("fs", fixed.get("fs")))
    if set(fixed) & set(NO_INDUCTANCE):
        kinds = ["none"]
    else:
        kinds = {True: ["semi", "both"], False: ["le"], None: ["le", "semi", "both"]}[semi]
    tried = {}
    scatter = noise(sweep)
    for kind in kinds:
        if (
            kind == "both"
            and "le" in tried
            and ("semi" not in tried or _second_is_worse(sweep, tried, model))
        ):
            continue
        begin = start | start_coil(sweep, top, kind)
        if kind == "both" and "semi" in tried:
            begin = tried["semi"].values | {"le": 0.0}
        begin = {k: v for k, v in begin.items() if k not in fixed}
        try:
            fit = least_squares(trial, [few], begin, fixed, priors, rough=True, scatter=scatter)
        except ValueError:
            if tried:
                continue
            raise
        tried[kind] = fit
    # Semi-inductance must earn its parameters by a clear margin, in units of the best fit's
    # scatter. Once it has, some plain inductance stays beside it: a power law alone, bent to do
    # for both, pulls the tuning aside by more than its uncertainty says.
    best = kinds[0]
    ease = _ease(sweep, tried, model)
    if best == "le" and "semi" in tried and ease["semi"] < ease["le"] - 6:
        best = "semi"
    if best == "semi" and "both" in tried and ease["both"] < ease["semi"] + 10:
        best = "both"
    begin = {name: tried[best].values[name] for name in tried[best].names}
    fit = least_squares(model, [sweep], begin, fixed, priors, warm=True)
    if shunted and semi is None and best != "none" and fit.widened > _TREND:
        try:
            begin = {n: v for n, v in fit.values.items() if n in start and n in fit.names}
            begin |= start_coil(sweep, top, "shunted")
            other = least_squares(model, [sweep], begin, fixed, priors, warm=True)
        except (ValueError, np.linalg.LinAlgError):
            other = fit
        ease_of = _ease(sweep, {best: fit, "shunted": other}, model)
        if ease_of["shunted"] < ease_of[best] - 10 and _explained(fit, other):
            return other, "shunted"
    near = [tried[kind] for kind in tried if ease[kind] < ease[best] + 10]
    for name in ("fs", "fb"):
        _doubt(fit, name, tried[best], near)
    return fit, best


def _explained(before, after):
    """Whether another coil takes away most of a trend; of a part only it is the wrong one."""
    return after.widened - 1 < 0.5 * (before.widened - 1)


def _second_is_worse(sweep, tried, model):
    ease = _ease(sweep, tried, model)
    return ease["semi"] > ease["le"]


def _doubt(fit, name, best, near):
    """Let the uncertainty of a frequency hold what circuits that fit about as well make of it."""
    if name in fit.names:
        spread = max(abs(np.log(other.values[name] / best.values[name])) for other in near)
        at = fit.names.index(name)
        fit.covariance[at, at] += (0.6 * spread) ** 2


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


def fit_tuned(sweep, start, fixed=None, priors=None, semi=None, kinds=tuple(VENTS)):
    """Fit a box with two peaks by the circuit that the data prefer. Returns (fit, kind).

    The plainest is preferred unless a richer one is clearly better. Where another describes the
    data about as well, the greater part of the difference between their tunings joins the
    uncertainty: the sweep does not tell the circuits apart.
    """
    base, coil_kind = fit_curve(sweep, start, fixed, priors, semi, shunted=False)
    fixed = dict(fixed or {})
    model = single(sweep.frequency)
    own = {n: base.values[n] for n in base.names}
    fits = _each_vent(sweep, base, own, fixed, priors, kinds)
    # A trend that no vent explains may be the coil's; a suspension that creeps has had its turn.
    chosen = _plainest(_ease(sweep, fits, model), list(fits))
    if semi is None and coil_kind != "none" and fits[chosen].widened > _TREND:
        top = own.get("fb", fixed.get("fb"))
        other = {n: v for n, v in own.items() if n not in COIL} | start_coil(sweep, top, "shunted")
        try:
            base = least_squares(model, [sweep], other, fixed, priors, warm=True)
        except (ValueError, np.linalg.LinAlgError):
            base = fits[kinds[0]]
        own = {n: base.values[n] for n in base.names}
        more = _each_vent(sweep, base, own, fixed, priors, kinds)
        told = _plainest(_ease(sweep, more, model), list(more))
        if _explained(fits[chosen], more[told]):
            fits |= {f"{kind}, lossy coil": fit for kind, fit in more.items()}
    ease = _ease(sweep, fits, model)
    chosen = _plainest(ease, list(fits))
    near = [kind for kind in fits if ease[kind] < ease[chosen] + 10]
    fit = fits[chosen]
    _doubt(fit, "fb", fit, [fits[kind] for kind in near])
    return fit, chosen.partition(",")[0]


def _each_vent(sweep, base, own, fixed, priors, kinds):
    """The fit of each circuit that may describe the sweep, from where `base` ended."""
    model, few, scatter = single(sweep.frequency), thinned(sweep), noise(sweep)
    fits, rough = {kinds[0]: base}, {kinds[0]: base}
    for kind in kinds:
        more, prior = VENTS[kind]
        if not more or set(more) & set(fixed):
            continue
        if kind == "creep and radiator":  # only where creep alone has shown itself
            ease = _ease(sweep, rough, model)
            if "creep" not in rough or ease["creep"] > min(ease.values()) + 6:
                continue
        begin = own | more
        if "fp_share" in more and not {"fs", "qms", "qes", "alpha"} & set(fixed):
            begin = with_radiator(begin, more["fp_share"])
        try:
            both = (priors or {}) | prior
            rough[kind] = least_squares(
                single(few.frequency), [few], begin, fixed, both, rough=True, scatter=scatter
            )
        except ValueError:
            continue
    ease = _ease(sweep, rough, model)
    chosen = _plainest(ease, list(rough))
    near = [kind for kind in rough if ease[kind] < ease[chosen] + 10]
    for kind in near:
        if kind not in fits:
            begin = {n: rough[kind].values[n] for n in rough[kind].names}
            prior = (priors or {}) | VENTS[kind][1]
            fits[kind] = least_squares(model, [sweep], begin, fixed, prior, warm=True)
    # Rough fits stop early, and where the scatter is small that hides what a circuit can do.
    return {kind: fits[kind] for kind in rough if kind in near}


def _plainest(ease, kinds):
    """The first of these circuits, unless a later, richer one is clearly better."""
    chosen = kinds[0]
    for kind in kinds:
        if ease[kind] < ease[chosen] - 6:
            chosen = kind
    return chosen


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
    part = condensed(around(sweep, min(tops), max(tops)))
    model, few, scatter = single(part.frequency), thinned(part), noise(part)
    trial = single(few.frequency)
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
                    fit = least_squares(
                        trial, [few], begin, own, priors, rough=True, scatter=scatter
                    )
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
    its = {n: fit.values[n] for n in ("re", *COIL) if n in fit.values}
    return coil(np.asarray(frequency, dtype=float), **its)
