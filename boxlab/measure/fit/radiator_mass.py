"""A radiator on its own: its mass and compliance from two tunings, and the weights for a third.

The same box is measured as it is and with a known mass added to each radiator. The stiffness is the
same, so fb²·(M + Δm) is too, and M = Δm·f₂²/(f₁² − f₂²). Taking the box air's part from the
stiffness leaves the suspension's. Where the box air is much the stiffer, little is left, and the
uncertainty says so. (Derived: one mass on one stiffness.)
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from boxlab.base.checks import counted, positive
from boxlab.measure.fit.estimate import Estimate, uncertain
from boxlab.model.air import Air

STEEL = 7850.0  # kg/m³, plain carbon steel (common practice, no published source)


@dataclass(frozen=True)
class Washer:
    """A flat washer by its size: hole and rim diameter and thickness, m, and density, kg/m³."""

    name: str
    hole: float
    rim: float
    thickness: float
    density: float = STEEL

    @property
    def mass(self):
        """Mass, kg: the ring's volume times its density.

        >>> round(WASHERS["M8"].mass * 1e3, 2)
        1.83
        """
        return self.density * math.pi / 4 * (self.rim**2 - self.hole**2) * self.thickness


def _washer(name, hole, rim, thickness):
    return Washer(name, hole / 1e3, rim / 1e3, thickness / 1e3)


# Nominal sizes of plain steel washers, normal series, ISO 7089 (from memory). Real ones are often
# some 10 % lighter: weigh a handful.
WASHERS = {
    w.name: w
    for w in (
        _washer("M4", 4.3, 9, 0.8),
        _washer("M5", 5.3, 10, 1.0),
        _washer("M6", 6.4, 12, 1.6),
        _washer("M8", 8.4, 16, 1.6),
        _washer("M10", 10.5, 20, 2.0),
        _washer("M12", 13, 24, 2.5),
        _washer("M16", 17, 30, 3.0),
        _washer("M20", 21, 37, 3.0),
    )
}

# Narrow plain washers, ASME B18.22.1 (from memory), in inches.
INCH_WASHERS = {
    f"{bolt} in": Washer(f"{bolt} in", *(0.0254 * size for size in sizes))
    for bolt, *sizes in (
        ("1/4", 0.281, 0.625, 0.065),
        ("3/8", 0.406, 0.812, 0.065),
        ("1/2", 0.531, 1.062, 0.095),
        ("5/8", 0.656, 1.312, 0.095),
    )
}

ONE_SIZE = ("M16", "M12", "M10", "M8", "M6", "M5")  # of which one is chosen: they go on one bolt
NEAR, NEAREST = 0.03, 0.001  # of the mass, and kg: how near whole washers have to come
BOLT = (
    "Weigh the bolt and its nut as well, and leave out as many washers as they weigh; trim the "
    "rest by the bolt's length or a second nut."
)


@dataclass(frozen=True)
class RadiatorFound:
    """A radiator from two tunings: values of one radiator, as Estimates in SI units."""

    mass: Estimate  # moving mass without the weights of the second tuning, kg
    fp: Estimate  # own resonance, Hz
    cms: Estimate  # compliance, m/N
    stiffness: Estimate  # suspension and box air together, N/m
    words: tuple[str, ...]


def radiator_from_tunings(
    first, second, added_mass, *, volume=None, area=None, count=None, air=None
):
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


def mass_to_add(wanted, tuning, moving_mass):
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


def in_washers(mass, sizes=ONE_SIZE, washers=WASHERS):
    """Whole washers that come near to a mass, kg, all of one size for one bolt: {name: count}.

    Of the largest size that comes within 3 % of the mass, or within 1 g; where none does, of the
    size that comes nearest. Bolt and nut are not counted: see `BOLT`.

    >>> in_washers(0.300)
    {'M16': 27}

    Parameters
    ----------
    mass : kg
    sizes : names of washers in the table, in any order; one of them is chosen
    washers : name -> Washer, the table

    Raises
    ------
    ValueError
        For a negative mass, or a size that is not in the table.
    """
    if not mass >= 0:
        raise ValueError(f"mass must be zero or more, got {mass:g} kg: washers can only add.")
    unknown = [s for s in sizes if s not in washers]
    if unknown:
        raise ValueError(f"no washer {unknown[0]!r}; there are {', '.join(washers)}.")
    ordered = sorted(sizes, key=lambda s: -washers[s].mass)
    counts = {size: round(float(mass) / washers[size].mass) for size in ordered}
    off = {size: abs(n * washers[size].mass - float(mass)) for size, n in counts.items()}
    near = [size for size in ordered if off[size] <= max(NEAR * float(mass), NEAREST)]
    chosen = near[0] if near else min(ordered, key=off.get)
    return {chosen: counts[chosen]} if counts[chosen] else {}


def in_inch_washers(mass):
    """As `in_washers`, for an inch bolt.

    >>> in_inch_washers(0.300)
    {'5/8 in': 24}
    """
    return in_washers(mass, tuple(INCH_WASHERS), INCH_WASHERS)


def in_words(counts) -> str:
    """Washers as `in_washers` counts them: "27 × M16", or "none"."""
    return " + ".join(f"{n} × {name}" for name, n in counts.items()) or "none"


def mass_table(tuning, moving_mass, wanted, sizes=ONE_SIZE):
    """A table to print: wanted tuning, grams and ounces to add to each radiator, and washers.

    Parameters
    ----------
    tuning : present tuning, Hz
    moving_mass : present moving mass of one radiator, kg
    wanted : tunings, Hz
    sizes : washers at hand, by name; all of a weight are of one of them

    Returns Markdown text.
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
