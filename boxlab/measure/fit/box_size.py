"""What a fitted box's ratios come to in litres, grams and mm/N, once a volume is known."""

from __future__ import annotations

import numpy as np

from boxlab.base.checks import positive
from boxlab.measure.fit.estimate import Estimate, uncertain


def volume_of(alpha, vas, volume):
    """Net volume, m³: the one given, or Vas/α where Vas is (value, u)."""
    if volume is not None:
        centre, u = uncertain(volume)
        positive("volume", centre, "Volume is in m³: use boxlab.litres(14).")
        return Estimate(centre, u, "m³", "given")
    if vas is None or not np.isfinite(alpha) or alpha <= 0:
        return Estimate(np.nan, unit="m³", note="not identifiable from this sweep: Vas is needed")
    value = vas[0] / alpha
    return Estimate(value, value * np.hypot(vas[1] / vas[0], alpha.u / alpha), "m³")


def moving_part(fit, vas, volume, area, count, air):
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

    inside = fit.estimate(mass, "kg")
    u = float(np.hypot(inside.u, inside * given_u / given))
    spring = fit.estimate(lambda v: 1 / (mass(v) * (2 * np.pi * v["fp"]) ** 2), "m/N")
    spring_u = float(np.hypot(spring.u, spring * given_u / given))
    return Estimate(inside, u, "kg"), Estimate(spring, spring_u, "m/N")
