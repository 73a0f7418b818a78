"""The boxes of the evening class's listening shelf (invented), each a recipe that fits any space.

A recipe says what goes in, not how large it is: so the same idea can be built as its owner built
it, or into the space of somebody else's.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import sqrt
from types import MappingProxyType

from boxlab.base.units import BOX_SHAPE, disc_area, litres, mm
from boxlab.car.compare_builds import port_in
from boxlab.car.joinery import Carcass, Gap
from boxlab.design.fair_comparison import Contender
from boxlab.gear.own_build import own_build
from boxlab.gear.scenario import USUAL_QL
from boxlab.gear.shelf import DRIVER_PARTS, DRIVERS, RADIATOR_PARTS, RADIATORS, Shelf
from boxlab.model.enclosure import PortedBox, RadiatorBox, SealedBox

BOARD = mm(18)


def rewound(driver, times):
    """The same motor with a coil of `times` the resistance: Bl²/Re and all else as before.

    Half the resistance with the same copper: Bl goes with its root, inductance with it.
    """
    return replace(driver, re=driver.re * times, bl=driver.bl * sqrt(times), le=driver.le * times)


@dataclass(frozen=True)
class Recipe:
    """What goes into a box: sizes in litres, Hz and mm, as people say them; load in Ω."""

    kind: str
    size: str
    space: float  # L outside, as its owner built it
    fb: float = 0.0
    port: float = 0.0  # mm inside
    load: float = 4.0

    @property
    def driver(self):
        """Its driver; below 4 Ω with a coil rewound to match."""
        return rewound(DRIVERS[self.size], self.load / 4.0)

    def box(self, space):
        """The box in `space` L outside, 18 mm board, sides as 8 : 6 : 5.

        Raises
        ------
        ValueError
            If it cannot be built in so little.
        """
        a, b, c = BOX_SHAPE
        unit = (litres(space) / (a * b * c)) ** (1 / 3)
        carcass = Carcass(Gap(a * unit, b * unit, c * unit, slack=0.0), BOARD)
        parts = {"driver": DRIVER_PARTS[self.size].displacement(BOARD)}
        if self.kind == "radiator":
            parts["radiator"] = RADIATOR_PARTS[self.size].displacement(BOARD)
        available = carcass.shares(**parts).net
        if self.kind == "sealed":
            return SealedBox(available)
        if self.kind == "radiator":
            return RadiatorBox.tuned(available, self.fb, RADIATORS[self.size], ql=USUAL_QL)
        area = disc_area(mm(self.port))
        net, _ = port_in(available, self.fb, area)
        return PortedBox.tuned(net, self.fb, area, ql=USUAL_QL, max_length=3)

    def contender(self, name, space=None):
        """The recipe as a `Contender`, in its own space or in `space` L."""
        space = self.space if space is None else space
        try:
            box, problem = self.box(space), ""
        except ValueError as error:
            box, problem = None, f"cannot be built in {space:.3g} L outside: {error}"
        return Contender(name, self.driver, box, self.load, litres(space), problem=problem)


_CLASS = MappingProxyType(
    {
        "small radiator": Recipe("radiator", "ten-inch", 26, fb=42),
        "two-ohm twin": Recipe("radiator", "ten-inch", 26, fb=42, load=2.0),
        "small sealed": Recipe("sealed", "ten-inch", 26),
        "small ported": Recipe("ported", "ten-inch", 30, fb=42, port=76),
        "large ported": Recipe("ported", "twelve-inch", 90, fb=34, port=110),
        "eight-inch radiator": Recipe("radiator", "eight-inch", 20, fb=42),
    }
)
SHELF = Shelf(_CLASS, own_build)
