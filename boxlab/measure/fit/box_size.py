"""What a fitted box's ratios come to in litres, grams and mm/N, once a volume is known."""

from __future__ import annotations

from collections.abc import Callable, Mapping

import numpy as np

from boxlab.base.checks import positive
from boxlab.measure.fit.estimate import Estimate, uncertain
from boxlab.measure.fit.least_squares import Fit

KNOWN = ("fs", "qms", "qes")  # of the driver, beside its Vas


def hanging(
    fit: Fit | None,
    priors: Mapping[str, tuple[float, float]],
    joint: np.ndarray | None,
    function: Callable[[dict], float],
    power: float,
) -> float:
    """What it adds to the relative variance that what is known of a driver hangs together.

    A fit takes fs, Qms and Qes each with its own ±, and Vas comes from outside of it. By the
    driver's sweeps they are off together: an fs that is too high makes Vas too large, and the α of
    the box too small.

    Parameters
    ----------
    fit : the box's `Fit`
    priors : as it had them, name -> (value, u)
    joint : covariance of the logarithms of KNOWN and Vas, or None
    function : of the fitted values, what `power` of Vas is multiplied by
    power : of Vas

    >>> hanging(None, {}, None, lambda values: 1 / values["alpha"], 1)  # a driver from a datasheet
    0.0
    """
    if joint is None:
        return 0.0
    pull = np.array([*(_pull(fit, priors, function, name) for name in KNOWN), power])
    return float(pull @ (joint - np.diag(np.diag(joint))) @ pull)


def _pull(fit, priors, function, name):
    """How ln(function) follows ln of what was known of `name`, 0 to its own slope."""
    if name not in priors or name not in fit.names:
        return 0.0
    centre, u = priors[name]
    row = fit.covariance[fit.names.index(name)] / fit.widened**2
    return float(fit.slope(lambda v: np.log(function(v))) @ row) / (u / centre) ** 2


def volume_of(alpha, vas, volume, more=0.0):
    """Net volume, m³: the one given, or Vas/α where Vas is (value, u).

    `more` is what `hanging` adds to its relative variance.
    """
    if volume is not None:
        centre, u = uncertain(volume)
        positive("volume", centre, "Volume is in m³: use boxlab.litres(14).")
        return Estimate(centre, u, "m³", "given")
    if vas is None or not np.isfinite(alpha) or alpha <= 0:
        return Estimate(np.nan, unit="m³", note="not identifiable from this sweep: Vas is needed")
    value = vas[0] / alpha
    return Estimate(
        value, value * _root((vas[1] / vas[0]) ** 2, (alpha.u / alpha) ** 2, more), "m³"
    )


def _root(one, other, more):
    """Square root of two variances and what hangs together; at least half of what it was."""
    return float(np.sqrt(max(one + other + more, (one + other) / 4)))


def moving_part(fit, vas, volume, area, count, air, priors=None, joint=None):
    """Mass and compliance of one radiator: M = n·Sd²ρc²/(Vb(ωb² − ωp²)), C = 1/(M·ωp²)."""
    if area is None or (vas is None and volume is None):
        why = "its area" if area is None else "the volume of the box or Vas of the driver"
        nothing = Estimate(np.nan, note=f"not identifiable from this sweep: {why} is needed")
        return nothing, nothing
    given, given_u = uncertain(volume) if volume is not None else vas

    def mass(v):
        size = given if volume is not None else given / v["alpha"]
        air_stiffness = count * area**2 * air.bulk_modulus / size
        return air_stiffness / ((2 * np.pi) ** 2 * (v["fb"] ** 2 - v["fp"] ** 2))

    def spring(v):
        return 1 / (mass(v) * (2 * np.pi * v["fp"]) ** 2)

    told = []
    for function, unit, power in ((mass, "kg", -1), (spring, "m/N", 1)):
        inside = fit.estimate(function, unit)
        more = 0.0 if volume is not None else hanging(fit, priors or {}, joint, function, power)
        u = inside * _root((inside.u / inside) ** 2, (given_u / given) ** 2, more)
        told.append(Estimate(inside, u, unit))
    return tuple(told)
