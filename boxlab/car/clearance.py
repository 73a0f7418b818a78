"""Does it go in? Clearances in millimetres for frames, magnets and moving parts.

Rays run inward from the baffle over the whole disc of the magnet and of the cutout, to the first
wall, slope or notch, so a magnet whose rim meets a sloping wall is caught though its centre clears.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from boxlab.base.checks import not_negative, positive, suspect, whole
from boxlab.car.joinery import Carcass

_HINT = "Sizes are in metres: boxlab.mm(120) or boxlab.inches(4.75)."
_MOST = {"travel": 0.1, "proud": 0.1, "rear": 0.4, "mass": 60.0}  # m and kg, of any real part


@dataclass(frozen=True)
class Mounting:
    """Outline of a driver or a passive radiator, m.

    >>> ten = Mounting('ten', outer=0.26, cutout=0.235, depth=0.09, magnet=0.15, magnet_depth=0.04)
    >>> round(1e3 * float(ten.displacement(0.018)), 2)  # L, in a baffle of 18 mm
    1.5

    Parameters
    ----------
    name : str
    outer : diameter over the frame
    cutout : diameter of the hole
    depth : mounting depth, from the back of the flange to the rearmost fixed part
    magnet, magnet_depth : diameter and length of the motor (0 for a radiator)
    travel : farthest the moving part goes, one way: past xmax, at its stops
    proud : how far surround or grille frame stands above the flange at rest
    rear : farthest moving part behind the flange at rest (a radiator's weights), 0 for none
    volume : displacement in m³ as the maker states it; estimated from the outline if left out
    mass : kg
    count : how many
    """

    name: str
    outer: float
    cutout: float
    depth: float
    magnet: float = 0.0
    magnet_depth: float = 0.0
    travel: float = 0.0
    proud: float = 0.0
    rear: float = 0.0
    volume: float | None = None
    mass: float = 0.0
    count: int = 1

    def __post_init__(self):
        for key in ("outer", "cutout", "depth"):
            positive(f"{self.name} {key}", getattr(self, key), _HINT)
            suspect(f"{self.name} {key}", getattr(self, key), 0.01, 0.7, _HINT)
        for key in ("magnet", "magnet_depth", "travel", "proud", "rear", "mass"):
            not_negative(f"{self.name} {key}", getattr(self, key), _HINT)
        for key, most in _MOST.items():
            hint = "Mass is in kg: boxlab.grams(900)." if key == "mass" else _HINT
            suspect(f"{self.name} {key}", getattr(self, key), 0, most, hint)
        if self.volume is not None:
            hint = "Give m³: boxlab.litres(1.2)."
            suspect("volume", not_negative(f"{self.name} volume", self.volume, hint), 0, 0.05, hint)
        whole(f"{self.name} count", self.count)
        if self.cutout > self.outer:
            raise ValueError(
                f"{self.name}: cutout {self.cutout * 1e3:.0f} mm is larger than the frame "
                f"{self.outer * 1e3:.0f} mm; it would fall through. Are the two swapped?"
            )
        if self.magnet > self.cutout or self.magnet_depth > self.depth:
            raise ValueError(
                f"{self.name}: the magnet ({self.magnet * 1e3:.0f} mm wide, "
                f"{self.magnet_depth * 1e3:.0f} mm long) does not pass the cutout "
                f"({self.cutout * 1e3:.0f} mm) or is longer than the mounting depth "
                f"({self.depth * 1e3:.0f} mm). Check the figures; all are in metres."
            )

    def displacement(self, board):
        """Volume all of them take inside the box, m³, without what sits in the baffle's hole.

        As stated by the maker, or what a cone frustum to the magnet and the magnet itself take
        behind a `board` of this thickness, m: the outline, so a little too much, since a frame is
        open.

        >>> part = Mounting("ten", 0.265, 0.232, 0.085, 0.15, 0.03)
        >>> [round(1e3 * part.displacement(board), 2) for board in (0.018, 0.0, 0.2)]
        [1.45, 2.13, 0.0]
        """
        board = not_negative("board", board, _HINT)
        if self.volume is not None:
            return self.volume * self.count
        basket = self.depth - self.magnet_depth
        small = self.magnet / 2
        deep = max(basket - board, 0.0)
        big = small + (self.cutout / 2 - small) * deep / basket if basket else small
        frustum = math.pi * deep * (big**2 + big * small + small**2) / 3
        left = min(self.magnet_depth, max(self.depth - board, 0.0))
        return self.count * (frustum + math.pi * small**2 * left)


@dataclass(frozen=True)
class Clearance:
    """Room there is and room it takes, m."""

    what: str
    available: float
    needed: float

    @property
    def spare(self):
        """Room left over, m; negative where it does not fit."""
        return self.available - self.needed

    @property
    def fits(self):
        """True where there is room, to a nanometre."""
        return self.spare >= -1e-9

    @property
    def sentence(self):
        """In words, with the millimetres."""
        if self.fits:
            return f"{self.what}: fits, with {abs(self.spare) * 1e3:.1f} mm to spare."
        return (
            f"{self.what}: does not fit, {-self.spare * 1e3:.1f} mm short "
            f"({self.available * 1e3:.1f} mm there, {self.needed * 1e3:.1f} mm needed)."
        )


def _space(name, value, most=3.0):
    """A distance kept free, m: not negative, and doubted where it is more than any car has."""
    clean = not_negative(name, value, _HINT)
    suspect(name, clean, 0, most, _HINT)
    return clean


def _axes(corners):
    """Centre and two unit vectors in the plane of a face: along its first side, and up."""
    along = corners[1] - corners[0]
    along = along / np.linalg.norm(along)
    up = corners[3] - corners[0]
    up = up - along * (up @ along)
    return corners.mean(axis=0), along, up / np.linalg.norm(up)


def place(carcass: Carcass, x: float = 0.0, y: float = 0.0) -> np.ndarray:
    """A point on the inside of a carcass's baffle, (3,), m: `x` along, `y` up it from its middle.

    >>> from boxlab.car.joinery import Carcass, Gap
    >>> place(Carcass(Gap(0.6, 0.36, 0.25))).shape
    (3,)
    """
    middle, along, up = _axes(carcass.inner.faces()[carcass.baffle][0])
    return middle + x * along + y * up


def _to_edges(corners, point):
    """Least distance from a point to the edges of the face it lies on; negative outside."""
    normal = np.cross(corners[1] - corners[0], corners[3] - corners[0])
    least = math.inf
    for start, end in zip(corners, np.roll(corners, -1, axis=0), strict=True):
        inward = np.cross(normal, end - start)
        least = min(least, float(inward @ (point - start) / np.linalg.norm(inward)))
    return least


def depth_behind(
    carcass: Carcass, point: ArrayLike, diameter: float, rings: int = 6, spokes: int = 48
) -> float:
    """Free depth in m behind a disc on the inside of the baffle, square to it.

    >>> from boxlab.car.joinery import Carcass, Gap
    >>> carcass = Carcass(Gap(0.6, 0.36, 0.25))
    >>> round(depth_behind(carcass, place(carcass), 0.2), 3)
    0.208

    Parameters
    ----------
    carcass, point : Carcass, and array (3,), from `place`
    diameter : m; 0 for the centre alone
    rings, spokes : how many circles of the disc, and points on each, are looked behind
    """
    corners, normal = carcass.inner.faces()[carcass.baffle]
    _, along, up = _axes(corners)
    radius = np.linspace(0, diameter / 2, rings + 1)[:, None]
    angle = np.linspace(0, 2 * np.pi, spokes, endpoint=False)[None, :]
    starts = (
        np.asarray(point)
        + (radius * np.cos(angle))[..., None] * along
        + (radius * np.sin(angle))[..., None] * up
    ).reshape(-1, 3)
    reach = np.full(len(starts), math.inf)
    for name, (wall, facing) in carcass.inner.faces().items():
        toward = float(normal @ facing)
        if name == carcass.baffle or toward > -1e-12:
            continue
        reach = np.minimum(reach, (starts - wall[0]) @ facing / -toward)
    for block in carcass.covers:
        reach = np.minimum(reach, _to_block(starts, normal, block))
    return float(max(0.0, reach.min()))


def _to_block(starts, direction, block):
    """Distance along `direction` from each start to a block; inf where it misses, 0 inside."""
    low = np.array([block.x0, block.y0, block.z0])
    high = np.array([block.x1, block.y1, block.z1])
    enter, leave = np.zeros(len(starts)), np.full(len(starts), math.inf)
    for axis in range(3):
        if abs(direction[axis]) < 1e-12:
            outside = (starts[:, axis] <= low[axis]) | (starts[:, axis] >= high[axis])
            leave[outside] = -math.inf
            continue
        a = (low[axis] - starts[:, axis]) / direction[axis]
        b = (high[axis] - starts[:, axis]) / direction[axis]
        enter = np.maximum(enter, np.minimum(a, b))
        leave = np.minimum(leave, np.maximum(a, b))
    return np.where(enter < leave, enter, math.inf)


def clearances(
    carcass: Carcass, part: Mounting, point: ArrayLike | None = None, breathing: float = 0.010
) -> tuple[Clearance, ...]:
    """Whether a part goes into the baffle and the box behind it: a tuple of `Clearance`.

    >>> from boxlab.gear.demo_parts import DRIVER_PARTS, PLACES
    >>> place = next(iter(PLACES.values()))
    >>> found = clearances(place.carcass(0.018), DRIVER_PARTS['ten-inch'])
    >>> len(found), type(found[0].fits).__name__
    (4, 'bool')

    Parameters
    ----------
    carcass, part : Carcass, and Mounting
    point : array (3,), from `place`; the middle of the baffle if left out
    breathing : m, kept free behind the rearmost part; a vented pole needs more: ask its maker.
    """
    point = place(carcass) if point is None else np.asarray(point, float)
    board = carcass.thickness(carcass.baffle)
    inner, normal = carcass.inner.faces()[carcass.baffle]
    front = carcass.outer.faces()[carcass.baffle][0]
    behind = f"{part.name}: magnet to the wall behind" if part.magnet else f"{part.name}: depth"
    fixed = part.depth + _space("breathing", breathing, 0.3)
    moving = part.rear + part.travel if part.rear else 0.0
    return (
        Clearance(
            f"{part.name}: frame on the baffle",
            2 * _to_edges(front, point - board * normal),
            part.outer,
        ),
        Clearance(f"{part.name}: hole between the walls", 2 * _to_edges(inner, point), part.cutout),
        Clearance(
            f"{part.name}: basket behind the hole",
            board + depth_behind(carcass, point, part.cutout),
            part.depth - part.magnet_depth,
        ),
        Clearance(
            behind,
            board + depth_behind(carcass, point, part.magnet or part.cutout),
            max(fixed, moving),
        ),
    )


def travel_clearance(
    part: Mounting, space: float, against: str = "the grille", margin: float = 0.005
) -> Clearance:
    """Whether a `part`'s cone at the end of its travel stays clear of a grille, seat or panel.

    `space` is the distance in m from the flange to what it is kept clear of, in words `against`;
    `margin`, m, is kept free besides.

    >>> from boxlab.gear.demo_parts import DRIVER_PARTS
    >>> travel_clearance(DRIVER_PARTS["ten-inch"], 0.05).fits
    True
    """
    return Clearance(
        f"{part.name}: travel to {against}",
        _space("space", space),
        part.proud + part.travel + _space("margin", margin, 0.1),
    )


def spacing(one: Mounting, other: Mounting, distance: float) -> Clearance:
    """Whether two frames on one baffle, with centres `distance` m apart, keep off each other.

    >>> part = Mounting("ten", outer=0.265, cutout=0.232, depth=0.085)
    >>> [spacing(part, part, distance).fits for distance in (0.26, 0.27)]
    [False, True]
    """
    return Clearance(
        f"{one.name} beside {other.name}",
        _space("distance", positive("distance", distance, _HINT)),
        (one.outer + other.outer) / 2,
    )
