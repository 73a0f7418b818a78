"""A radiator on its own: its mass and compliance from two tunings, and the weights for a third.

The same box is measured as it is and with a known mass added to each radiator. The stiffness is the
same, so fb²·(M + Δm) is too, and M = Δm·f₂²/(f₁² − f₂²). Taking the box air's part from the
stiffness leaves the suspension's. Where the box air is much the stiffer, little is left, and the
uncertainty says so. (Derived: one mass on one stiffness.)
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from boxlab.base.checks import counted, positive
from boxlab.measure.fit.estimate import Amount, Estimate, uncertain
from boxlab.measure.fit.washers import (
    BOLT,
    INCH_WASHERS,
    ONE_SIZE,
    in_inch_washers,
    in_washers,
    in_words,
)
from boxlab.model.air import Air

if TYPE_CHECKING:
    from boxlab.measure.fit.box_found import BoxFit
    from boxlab.measure.fit.tuning_found import Tuning


@dataclass(frozen=True)
class RadiatorFound:
    """A radiator from two tunings: values of one radiator, as Estimates in SI units."""

    mass: Estimate  # moving mass without the weights of the second tuning, kg
    fp: Estimate  # own resonance, Hz
    cms: Estimate  # compliance, m/N
    stiffness: Estimate  # suspension and box air together, N/m
    words: tuple[str, ...]


def radiator_from_tunings(
    first: Amount | Tuning | BoxFit, second: Amount | Tuning | BoxFit, added_mass: Amount, *,
    volume: Amount | None = None, area: Amount | None = None, count: int | None = None,
    air: Air | None = None,
) -> RadiatorFound:  # fmt: skip
    """Mass, resonance and compliance of a radiator from the tuning without and with added mass.

    Parameters
    ----------
    first, second : tuning without and with the mass, Hz: a number, an Estimate, or what
        `find_tuning` or `fit_box` returned
    added_mass : mass put on each radiator for the second, kg
    volume, area : net volume, m³, and effective area of one radiator, m², for compliance and
        resonance; without them only the mass is found
    count : how many radiators the box has, wanted with volume and area: the air pushes on all

    >>> found = radiator_from_tunings(40.0, 32.0, 0.060)
    >>> round(found.mass, 4)
    0.1067

    Raises
    ------
    ValueError
        If the tuning did not fall with the added mass.
    """
    air = Air() if air is None else air
    (f1, u1), (f2, u2) = (uncertain(getattr(f, "fb", f)) for f in (first, second))
    dm, dm_u = uncertain(added_mass)
    positive("first", f1, "Tunings are in hertz.")
    positive("second", f2, "Tunings are in hertz.")
    positive("added_mass", dm, "Mass is in kilograms: use boxlab.grams(60) for 60 g.")
    if f2 >= f1:
        raise ValueError(
            f"the tuning must fall with added mass, but went from {f1:.4g} to {f2:.4g} Hz. Are the "
            "two swapped, or did the weights sit loose?"
        )
    pair = np.array([f1, f2, dm])
    spread = np.array([u1, u2, dm_u])
    mass = _carry(lambda p: p[2] * p[1] ** 2 / (p[0] ** 2 - p[1] ** 2), pair, spread, "kg")

    def stiff(p):
        return p[2] * (2 * np.pi) ** 2 / (1 / p[1] ** 2 - 1 / p[0] ** 2)

    whole_stiffness = _carry(stiff, pair, spread, "N/m")
    words = [f"Moving mass of each radiator without the weights: {mass.scaled(1e3, 'g')}."]
    shift = 1 - f2 / f1
    if shift < 0.15:
        words.append(
            f"The tuning fell by {100 * shift:.2g} % only; each 1 % of error in one of them makes "
            f"{2 / (1 - (f2 / f1) ** 2):.0f} % in the mass. Add more."
        )
    if volume is None or area is None:
        note = "the volume of the box and the area of the radiator are needed"
        nothing = Estimate(np.nan, note=note)
        return RadiatorFound(mass, nothing, nothing, whole_stiffness, tuple(words))
    count = counted("count", count, "radiators share the box")
    (v, v_u), (s, s_u) = uncertain(volume), uncertain(area)
    positive("volume", v, "Volume is in m³: use boxlab.litres(14).")
    positive("area", s, "Area is in m²: use boxlab.cm2(350).")
    point, spread = np.array([*pair, v, s]), np.array([*spread, v_u, s_u])

    def suspension(p):
        return stiff(p) - count * p[4] ** 2 * air.bulk_modulus / p[3]

    spring = _carry(suspension, point, spread, "N/m")
    share = spring / whole_stiffness
    if spring <= 2 * spring.u or spring <= 0:
        note = (
            "not identifiable from this sweep: the box air is so much stiffer than the suspension"
        )
        cms = fp = Estimate(np.nan, note=note)
        words.append(
            f"Of the stiffness {100 * share:.0f} ± {100 * spring.u / whole_stiffness:.0f} % would "
            "be the suspension's: its compliance and resonance are not identifiable from these "
            "tunings. "
            "A larger box, or the radiator tapped in free air, shows them."
        )
    else:
        cms = _carry(lambda p: 1 / suspension(p), point, spread, "m/N")
        fp = _carry(
            lambda p: (
                np.sqrt(suspension(p) * (p[0] ** 2 - p[1] ** 2) / (p[2] * p[1] ** 2)) / (2 * np.pi)
            ),
            point,
            spread,
            "Hz",
        )
        words.append(f"Own resonance {fp}, compliance {cms.scaled(1e3, 'mm/N')}.")
    return RadiatorFound(mass, fp, cms, whole_stiffness, tuple(words))


def _carry(function, point, spread, unit):
    """Value and uncertainty of a function of independent uncertain numbers, to first order."""
    slopes = []
    for i, x in enumerate(point):
        step = np.zeros(len(point))
        step[i] = abs(x) * 1e-6
        slopes.append((function(point + step) - function(point - step)) / (2 * step[i]))
    return Estimate(function(point), float(np.hypot.reduce(np.array(slopes) * spread)), unit)


def mass_to_add(wanted: float, tuning: Amount | Tuning | BoxFit, moving_mass: Amount) -> Estimate:
    """Mass to add to each radiator, kg, to bring the tuning from `tuning` to `wanted`, Hz.

    M·((f/f_wanted)² − 1): negative if mass has to come off. An Estimate.

    >>> round(mass_to_add(32.0, 40.0, 0.1067), 4)
    0.06

    Parameters
    ----------
    wanted, tuning : Hz
    moving_mass : kg, of one radiator as it is now

    Raises
    ------
    ValueError
        If a value is not above zero.
    """
    wanted = positive("wanted", wanted, "Tunings are in hertz.")
    f, f_u = uncertain(getattr(tuning, "fb", tuning))
    m, m_u = uncertain(moving_mass)
    positive("tuning", f, "Tunings are in hertz.")
    positive("moving_mass", m, "Mass is in kilograms: use boxlab.grams(120).")
    return _carry(
        lambda p: p[1] * ((p[0] / wanted) ** 2 - 1), np.array([f, m]), np.array([f_u, m_u]), "kg"
    )


def mass_table(
    tuning: Amount | Tuning | BoxFit,
    moving_mass: Amount,
    wanted: Iterable[float],
    sizes: Iterable[str] = ONE_SIZE,
) -> str:
    """A table to print: wanted tuning, grams and ounces to add to each radiator, and washers.

    Parameters
    ----------
    tuning : present tuning, Hz
    moving_mass : present moving mass of one radiator, kg
    wanted : tunings, Hz
    sizes : washers at hand, by name; all of a weight are of one of them

    Returns Markdown text.

    >>> print(mass_table(40.0, 0.107, [32.0, 45.0]).split("\\n\\n")[0])
    | tuning, Hz | add to each radiator, g | oz | in steel washers | or inch ones |
    |---|---|---|---|---|
    | 32 | 60 | 2.1 | 17 × M10 | 5 × 5/8 in |
    | 45 | take off 22 | 0.8 | – | – |
    """
    rows = [
        "| tuning, Hz | add to each radiator, g | oz | in steel washers | or inch ones |",
        "|---|---|---|---|---|",
    ]
    for f in wanted:
        mass = mass_to_add(f, tuning, moving_mass)
        grams, ounces = mass * 1e3, mass / 0.028349523125
        if mass < -1e-4:
            rows.append(f"| {f:g} | take off {-grams:.0f} | {-ounces:.1f} | – | – |")
            continue
        spread = f" ± {mass.u * 1e3:.0f}" if mass.u > 0 else ""
        mass = max(mass, 0.0)
        metric, inch = in_words(in_washers(mass, sizes)), in_words(in_inch_washers(mass))
        rows.append(f"| {f:g} | {grams:.0f}{spread} | {ounces:.1f} | {metric} | {inch} |")
    rows.append("")
    each = ", ".join(f"{n} {w.mass / 0.028349523125:.2f} oz" for n, w in INCH_WASHERS.items())
    rows.append(
        "Washer masses from nominal sizes, ISO 7089 and ASME B18.22.1 narrow (both from memory), "
        f"and 7850 kg/m³; of the inch ones {each} each. Weigh yours. "
        f"{BOLT} "
        "Centre the weights, lock the nut, and share them evenly among the radiators."
    )
    return "\n".join(rows) + "\n"
