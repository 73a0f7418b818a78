"""Steel washers as weights: what one has to hand, and how many of one size make a mass."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

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

# By the nominal sizes of the wide series in ASME B18.22.1 (from memory): 1.4 times for 1/4 in, 2.1
# for 3/8 and 1/2 in, 2.8 for 5/8 in.
NARROW = (
    "The inch washers are the narrow (small) ones; the wide ones, sold as USS, weigh about twice "
    "as much (from memory; 5/8 in nearly three times): weigh yours."
)


def in_washers(
    mass: float, sizes: Iterable[str] = ONE_SIZE, washers: Mapping[str, Washer] = WASHERS
) -> dict[str, int]:
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


def in_inch_washers(mass: float) -> dict[str, int]:
    """As `in_washers` for a `mass`, kg, on an inch bolt.

    >>> in_inch_washers(0.300)
    {'5/8 in': 24}
    """
    return in_washers(mass, tuple(INCH_WASHERS), INCH_WASHERS)


def in_words(counts: Mapping[str, int]) -> str:
    """Washers as `in_washers` counts them, or "none".

    >>> in_words({"M16": 27})
    '27 × M16'
    """
    return " + ".join(f"{n} × {name}" for name, n in counts.items()) or "none"
