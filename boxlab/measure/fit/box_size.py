"""What a fitted box's ratios come to in litres, grams and mm/N, once a volume is known."""

from __future__ import annotations

import numpy as np

from boxlab.base.checks import positive
from boxlab.measure.fit.estimate import Amount, Estimate, uncertain
from boxlab.measure.fit.least_squares import Fit
from boxlab.model.air import Air


def volume_of(alpha: Estimate, vas: tuple[float, float] | None, volume: Amount | None) -> Estimate:
    """Net `volume`, m³: the one given, or Vas/α from the ratio `alpha` and `vas`, (value, u) in m³.

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
    return Estimate(value, value * np.hypot(vas[1] / vas[0], alpha.u / alpha), "m³")


def moving_part(
    fit: Fit, vas: Amount | None, volume: Amount | None, area: float | None, count: int, air: Air
) -> tuple[Estimate, Estimate]:
    """Mass and compliance of one radiator: M = n·Sd²ρc²/(Vb(ωb² − ωp²)), C = 1/(M·ωp²).

    Parameters
    ----------
    fit : with fb and fp, Hz, and alpha among its values
    vas, volume : Vas of the driver and net volume, m³; of the two Vas may be None, or the volume
    area : effective area of one radiator, m²; None gives NaN, with the reason in `.note`
    count, air : how many radiators there are, and the air of the box

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

    inside = fit.estimate(mass, "kg")
    u = float(np.hypot(inside.u, inside * given_u / given))
    spring = fit.estimate(lambda v: 1 / (mass(v) * (2 * np.pi * v["fp"]) ** 2), "m/N")
    spring_u = float(np.hypot(spring.u, spring * given_u / given))
    return Estimate(inside, u, "kg"), Estimate(spring, spring_u, "m/N")
