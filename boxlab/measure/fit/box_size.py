"""What a fitted box's ratios come to in litres, grams and mm/N, once a volume is known."""

from __future__ import annotations

from collections.abc import Callable, Mapping

import numpy as np

from boxlab.base.checks import positive
from boxlab.measure.fit.estimate import Amount, Estimate, uncertain
from boxlab.measure.fit.least_squares import Fit
from boxlab.model.air import Air

KNOWN = ("fs", "qms", "qes")  # of the driver, beside its Vas


def hanging(
    fit: Fit | None, priors: Mapping[str, tuple[float, float]], joint: np.ndarray | None,
    function: Callable[[dict], float], power: float,
) -> float:  # fmt: skip
    """What it adds to the relative variance that what is known of a driver hangs together.

    A fit takes fs, Qms and Qes each with its own ±, and Vas comes from outside of it. By the
    driver's sweeps they are off together: an fs that is too high makes Vas too large, and the α of
    the box too small.

    Parameters
    ----------
    fit : the box's `Fit`
    priors : as it had them, name -> (value, u)
    joint : covariance of the logarithms of KNOWN and Vas, or None
    function, power : of the fitted values, what this power of Vas is multiplied by

    >>> hanging(None, {}, None, lambda values: 1.0, 1)  # nothing was known of the driver
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


def volume_of(
    alpha: Estimate, vas: tuple[float, float] | None, volume: Amount | None, more: float = 0.0
) -> Estimate:
    """Net `volume`, m³: the one given, or Vas/α from the ratio `alpha` and `vas`, (value, u) in m³.

    `more` is what `hanging` adds to its relative variance.

    >>> print(volume_of(Estimate(2.0, 0.1), (0.035, 0.001), None).scaled(1e3, "L"))
    17.5 ± 1.0 L
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


def moving_part(
    fit: Fit, vas: Amount | None, volume: Amount | None, area: float | None, count: int, air: Air,
    priors: Mapping[str, tuple[float, float]] | None = None, joint: np.ndarray | None = None,
) -> tuple[Estimate, Estimate]:  # fmt: skip
    """Mass and compliance of one radiator: M = n·Sd²ρc²/(Vb(ωb² − ωp²)), C = 1/(M·ωp²).

    Parameters
    ----------
    fit : with fb and fp, Hz, and alpha among its values
    vas, volume : Vas of the driver and net volume, m³; of the two Vas may be None, or the volume
    area : effective area of one radiator, m²; None gives NaN, with the reason in `.note`
    count, air : how many radiators there are, and the air of the box
    priors, joint : as for `hanging`, where there are some

    >>> known = {"fb": 40.0, "fp": 20.0, "alpha": 2.0}
    >>> fit = Fit((), known, np.zeros(0), np.zeros((0, 0)), 0.0, (), 0, 0, 1.0)
    >>> mass, compliance = moving_part(fit, None, (0.014, 0.0), 0.035, 2, Air())
    >>> print(mass.scaled(1e3, "g"), "and", compliance.scaled(1e3, "mm/N"))
    524.1 g (given) and 0.1208 mm/N (given)
    """
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
