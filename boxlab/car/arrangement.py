"""Where several frames go on one face of a box, and what weights and gravity do to a radiator."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

import numpy as np

from boxlab.base.checks import not_negative, whole
from boxlab.car.clearance import Clearance, Mounting, place
from boxlab.car.joinery import Carcass
from boxlab.measure.fit.washers import ONE_SIZE, WASHERS, Washer, in_washers
from boxlab.model.radiator import Radiator

GRAVITY = 9.80665  # m/s²
STEP = 0.005  # m between the places that are tried
KEPT = 0.005  # m before the weights at the end of their travel, as before a cone and its grille
# Most of the travel that a radiator lying flat may lose to its own weight: our own limit, no
# published source. It sags the same way for years, and creeps further.
SAG = 0.25


def arranged(
    carcass: Carcass, part: Mounting, count: int, first: tuple[float, float],
    taken: Sequence[tuple] = (),
) -> list[tuple[float, float]]:  # fmt: skip
    """Places for `count` equal frames on a face, as many as there is room for.

    Parameters
    ----------
    carcass : Carcass whose `baffle` is that face
    part : Mounting
    first : (along, up), m from the middle of the face, of the first
    taken : (along, up, diameter), m, of what is on the face already

    Returns
    -------
    list of (along, up), the first of them `first`

    >>> from boxlab.car.joinery import Gap
    >>> from boxlab.gear.demo_parts import DRIVER_PARTS
    >>> carcass = Carcass(Gap(0.6, 0.36, 0.25))
    >>> np.round(arranged(carcass, DRIVER_PARTS["eight-inch"], 9, (-0.15, 0.0)), 3)  # two find room
    array([[-0.15 ,  0.   ],
           [ 0.054, -0.071]])
    """
    count = whole("count", count)
    corners, _ = carcass.outer.faces()[carcass.baffle]
    middle = place(carcass)
    along = corners[1] - corners[0]
    along = along / np.linalg.norm(along)
    up = corners[3] - corners[0] - along * ((corners[3] - corners[0]) @ along)
    up = up / np.linalg.norm(up)
    spans = [((corners - middle) @ axis) for axis in (along, up)]
    radius = part.outer / 2
    grid = [np.arange(span.min() + radius, span.max() - radius + 1e-9, STEP) for span in spans]
    found = [tuple(first)]
    kept = [*taken, (*first, part.outer)]
    for u in grid[0]:
        for v in grid[1]:
            if len(found) == count:
                return found
            clear = all(math.hypot(u - a, v - b) >= (part.outer + d) / 2 - 1e-9 for a, b, d in kept)
            if clear:
                found.append((float(u), float(v)))
                kept.append((float(u), float(v), part.outer))
    return found


def all_placed(
    carcass: Carcass, part: Mounting, count: int, first: tuple[float, float],
    taken: Sequence[tuple] = (),
) -> Clearance:  # fmt: skip
    """Whether all `count` frames find a place: a `Clearance` in lengths of face, as in one row.

    `carcass`, `part`, `first` and `taken` are as for `arranged`.

    >>> from boxlab.car.joinery import Gap
    >>> from boxlab.gear.demo_parts import DRIVER_PARTS
    >>> found = all_placed(Carcass(Gap(0.6, 0.36, 0.25)), DRIVER_PARTS["eight-inch"], 3, (0.0, 0.0))
    >>> found.what, found.fits
    ('3 × eight-inch driver on the front (1 of them find room)', False)
    """
    found = arranged(carcass, part, count, first, taken)
    there, needed = len(found) * part.outer, count * part.outer
    where = f"{count} × {part.name} on the {carcass.baffle} ({len(found)} of them find room)"
    return Clearance(where, there, needed)


def washers_stack(
    mass: float, sizes: Sequence[str] = ONE_SIZE, washers: Mapping[str, Washer] = WASHERS
) -> tuple[float, int]:
    """Height, m, of a stack of plain steel washers of `mass` kg, and how many they are.

    >>> height, count = washers_stack(0.6)
    >>> round(1e3 * height), count
    (159, 53)

    Parameters
    ----------
    mass : kg
    sizes : names of washers, of which one is chosen for all
    washers : name -> Washer, the table
    """
    counts = in_washers(not_negative("mass", mass, "Mass is in kilograms."), sizes, washers)
    height = sum(n * washers[name].thickness for name, n in counts.items())
    return float(height), sum(counts.values())


def sag(radiator: Radiator) -> float:
    """How far a radiator that faces up or down hangs from its rest, m: m·g·Cms.

    Formula: x = m·g·Cms

    >>> from boxlab.gear.scenario import TEN_INCH_RADIATOR
    >>> round(1e3 * sag(TEN_INCH_RADIATOR), 1)  # mm
    0.6
    """
    return float(radiator.moving_mass * GRAVITY * radiator.cms)


def weights_and_sag(
    carcass: Carcass, part: Mounting, radiator: Radiator, face: str, *depths: float
) -> tuple[Clearance, ...]:
    """What each radiator's weights need behind it, and what gravity takes of its travel.

    Parameters
    ----------
    carcass, part : Carcass, and the radiator's Mounting
    radiator : Radiator with its weights
    face : where it is mounted
    depths : free depth behind the face, m, at the place of each radiator

    Returns
    -------
    tuple of Clearance

    >>> from boxlab.car.joinery import Gap
    >>> from boxlab.gear.demo_parts import RADIATOR_PARTS
    >>> from boxlab.gear.scenario import TEN_INCH_RADIATOR
    >>> radiator, part = TEN_INCH_RADIATOR.with_mass(0.1), RADIATOR_PARTS["ten-inch"]
    >>> stack, sags = weights_and_sag(Carcass(Gap(0.6, 0.36, 0.25)), part, radiator, "top", 0.3)
    >>> print(stack.sentence, sags.what, sep="\\n")
    ten-inch radiator: 9 washers, 27 mm, and its travel: fits, with 266.0 mm to spare.
    ten-inch radiator: facing up it sags 1.2 mm, 6 % of its travel, of 25 % allowed
    """
    height, count = washers_stack(radiator.added_mass)
    travel = float(min(radiator.xmax, part.travel or radiator.xmax))
    stacks = tuple(
        Clearance(
            f"{part.name}: {count} washers, {height * 1e3:.0f} mm, and its travel"
            + (f" (number {number})" if number > 1 else ""),
            carcass.thickness(face) + not_negative("depth", depth),
            max(height, part.rear) + travel + KEPT,
        )
        for number, depth in enumerate(depths, 1)
    )
    if face not in ("top", "bottom") or not math.isfinite(radiator.xmax):
        return stacks
    hangs, facing = sag(radiator), "up" if face == "top" else "down"
    words = (
        f"{part.name}: facing {facing} it sags {hangs * 1e3:.1f} mm, "
        f"{100 * hangs / radiator.xmax:.0f} % of its travel, of {100 * SAG:.0f} % allowed"
    )
    return (*stacks, Clearance(words, SAG * float(radiator.xmax), hangs))
