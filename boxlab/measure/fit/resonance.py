"""The one-peak and the two-peak model of a sweep, each fitted from its own starting points."""

from __future__ import annotations

import numpy as np

from boxlab.measure.fit.least_squares import Fit, least_squares, noise
from boxlab.measure.fit.motional import NO_INDUCTANCE, impedance
from boxlab.measure.fit.shape import peaks
from boxlab.measure.fit.starting_values import (
    VENTS,
    around,
    condensed,
    start_coil,
    start_one,
    start_resistance,
    start_two,
    thinned,
    with_radiator,
)
from boxlab.measure.read.value import Sweep
from boxlab.model.relations import COIL

_TREND = 1.15  # `Fit.widened` from which another coil is tried (our own choice)
_BOX = ("alpha", "fb", "leak", "drag", "fp", "fp_share")


def _single(frequency):
    """The model function of one sweep, values -> [Z], for `least_squares`."""
    return lambda values: [impedance(frequency, **values)]


def fit_curve(
    sweep: Sweep, start: dict, fixed: dict | None = None, priors: dict | None = None,
    semi: bool | None = None, shunted: bool = True,
) -> tuple[Fit, str]:  # fmt: skip
    """Fit the impedance of one `sweep`; the coil model is chosen by the data unless `semi` says.

    `semi` True fits Leach's semi-inductance (with an inductance in series), False an inductance
    alone; None takes whichever describes the data better for the parameters it costs, and where
    none does, and `shunted` allows it, a second inductance with a resistance across it. Returns
    (fit, coil kind). `start`, `fixed` and `priors` are as in `least_squares`.

    >>> f = np.geomspace(10, 200, 40)
    >>> sweep = Sweep.from_impedance(f, impedance(f, 3.4, 1e-3, fs=32.0, qms=5.0, qes=0.5))
    >>> fit, kind = fit_curve(sweep, {"re": 4.0, "fs": 30.0, "qms": 4.0, "qes": 0.6})
    >>> round(fit["fs"], 3), round(fit["qes"], 3), kind
    (32.0, 0.5, 'le')
    """
    model, few = _single(sweep.frequency), thinned(sweep)
    trial = _single(few.frequency)
    fixed = dict(fixed or {})
    top = start.get("fb", start.get("fs", fixed.get("fs")))
    if set(fixed) & set(NO_INDUCTANCE):
        kinds = ["none"]
    else:
        kinds = {True: ["semi", "both"], False: ["le"], None: ["le", "semi", "both"]}[semi]
    tried = {}
    scatter = noise(sweep)
    for kind in kinds:
        if kind == "both" and "le" in tried and _second_is_worse(sweep, tried, model):
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
    return "semi" not in ease or ease["semi"] > ease["le"]


def _doubt(fit, name, best, near):
    """Let the uncertainty of a frequency hold what circuits that fit about as well make of it."""
    if name in fit.names:
        spread = max(abs(np.log(other.values[name] / best.values[name])) for other in near)
        at = fit.names.index(name)
        fit.covariance[at, at] += (0.6 * spread) ** 2


def fit_tuned(
    sweep: Sweep, start: dict, fixed: dict | None = None, priors: dict | None = None,
    semi: bool | None = None, kinds: tuple[str, ...] = tuple(VENTS),
) -> tuple[Fit, str]:  # fmt: skip
    """Fit a box with two peaks by that of the `kinds` the data prefer. Returns (fit, kind).

    The plainest is preferred unless a richer one is clearly better. Where another describes the
    data about as well, the greater part of the difference between their tunings joins the
    uncertainty: the sweep does not tell the circuits apart.
    `sweep`, `start`, `fixed`, `priors` and `semi` are as in `fit_curve`.

    >>> f = np.geomspace(10, 200, 40)
    >>> box = {"re": 3.4, "fs": 32.0, "qms": 5.0, "qes": 0.5, "alpha": 2.0, "fb": 35.0, "leak": 0.1}
    >>> sweep = Sweep.from_impedance(f, impedance(f, le=1e-3, **box))
    >>> fit, kind = fit_tuned(sweep, box | {"fb": 38.0}, semi=False, kinds=("leak", "creep"))
    >>> round(fit["fb"], 3), round(fit["leak"], 3), kind
    (35.0, 0.1, 'leak')
    """
    base, coil_kind = fit_curve(sweep, start, fixed, priors, semi, shunted=False)
    fixed = dict(fixed or {})
    model = _single(sweep.frequency)
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
    model, few, scatter = _single(sweep.frequency), thinned(sweep), noise(sweep)
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
                _single(few.frequency), [few], begin, fixed, both, rough=True, scatter=scatter
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


def _misfit(sweep, fit, model):
    """Robust size of the relative residuals of a fit: (per point, one number per channel)."""
    z = model({k: np.atleast_1d(v) for k, v in fit.values.items()})[0]
    parts = [np.log(np.abs(z)) - np.log(sweep.magnitude)]
    if sweep.phase is not None:
        parts.append(np.angle(z * np.exp(-1j * np.radians(sweep.phase))))
    return parts


def _ease(sweep, fits, model):
    """Bayes information criterion of each fit, with the scatter of the best of them."""
    sizes = {
        kind: [float(np.median(np.abs(p))) * 1.4826 for p in _misfit(sweep, fit, model)]
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
        for part, s in zip(_misfit(sweep, fit, model), scale, strict=True):
            cost += float(np.sum(np.log1p((part / s / 2.385) ** 2))) * 2.385**2
        ease[kind] = cost + len(fit.names) * np.log(channels * len(sweep))
    return ease


def candidates(
    sweep: Sweep, fixed: dict | None = None, priors: dict | None = None, semi: bool | None = None
) -> tuple[Sweep, dict[int, Fit], dict[int, float]]:
    """The part of a `sweep` to fit, its best rough fits of one and of two peaks, and their ease.

    `fixed`, `priors` and `semi` are as in `fit_curve`; the fit of less ease describes it better.

    >>> f = np.geomspace(10, 200, 40)
    >>> z = impedance(f, 3.4, 1e-3, fs=32.0, qms=5.0, qes=0.5, alpha=2.0, fb=35.0, leak=0.1)
    >>> part, fits, ease = candidates(Sweep.from_impedance(f, z), semi=False)
    >>> round(fits[1].values["fs"]), round(fits[2].values["fb"]), bool(ease[2] < ease[1])
    (18, 35, True)

    Raises
    ------
    ValueError
        If there are too few points for a resonance.
    """
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
    model, few, scatter = _single(part.frequency), thinned(part), noise(part)
    trial = _single(few.frequency)
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
