"""Frames, magnets and gaps of the evening class's invented gear, for fitting it into a car.

Outlines are plausible for shallow gear of these sizes and belong to no product; nor do the gaps.
"""

from __future__ import annotations

from dataclasses import dataclass
from types import MappingProxyType

from boxlab.base.units import litres, mm
from boxlab.car.clearance import Mounting
from boxlab.car.joinery import Carcass, Gap
from boxlab.car.solids import Block


def _driver(size, outer, cutout, depth, magnet, magnet_depth, travel, mass):
    lengths = (mm(v) for v in (outer, cutout, depth, magnet, magnet_depth, travel, 12))
    return Mounting(f"{size} driver", *lengths, mass=mass)


def _radiator(size, outer, cutout, travel, rear, volume, mass):
    return Mounting(
        f"{size} radiator", mm(outer), mm(cutout), mm(50), travel=mm(travel), proud=mm(14),
        rear=mm(rear), volume=litres(volume), mass=mass,
    )  # fmt: skip


DRIVER_PARTS = MappingProxyType(
    {
        "eight-inch": _driver("eight-inch", 212, 184, 72, 120, 26, 12, 2.8),
        "ten-inch": _driver("ten-inch", 265, 232, 85, 150, 30, 16, 4.2),
        "twelve-inch": _driver("twelve-inch", 315, 282, 115, 180, 40, 19, 6.9),
    }
)

RADIATOR_PARTS = MappingProxyType(
    {
        "eight-inch": _radiator("eight-inch", 212, 184, 18, 18, 0.35, 0.6),
        "ten-inch": _radiator("ten-inch", 265, 232, 24, 20, 0.6, 0.9),
        "twelve-inch": _radiator("twelve-inch", 315, 282, 26, 22, 0.9, 1.4),
    }
)


@dataclass(frozen=True)
class Place:
    """A gap in a car, the face of the box that looks out of it, and where the parts go on it.

    `driver_at` and `radiator_at` are m from the middle of their face: along it, up it.
    """

    gap: Gap
    baffle: str
    driver_at: tuple[float, float]
    radiator_at: tuple[float, float]
    radiator_face: str
    words: str

    def carcass(self, board):
        """The bare box that fills the gap, in board of this thickness (m)."""
        return Carcass(self.gap, board, self.baffle)


_BRACKET = Block.at(x=mm(550), width=mm(50), depth=mm(80), height=mm(80), name="seat bracket")
_ARCH = Block.at(x=mm(300), width=mm(150), depth=mm(160), height=mm(140), name="wheel arch")

PLACES = MappingProxyType(
    {
        "behind the seat": Place(
            Gap(mm(600), mm(360), mm(200), mm(130), (_BRACKET,)),
            "front", (mm(-140), 0.0), (mm(140), 0.0), "front",
            "a wedge behind a seat back",
        ),
        "boot corner": Place(
            Gap(mm(450), mm(420), mm(330), mm(280), (_ARCH,)),
            "front", (mm(-40), mm(10)), (0.0, 0.0), "top",
            "a corner of the boot (trunk) with a wheel arch",
        ),
        "under the seat": Place(
            Gap(mm(640), mm(150), mm(400)),
            "top", (mm(-140), 0.0), (mm(140), 0.0), "top",
            "a flat space under a rear seat",
        ),
    }
)  # fmt: skip
