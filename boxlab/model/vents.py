"""What lets a box breathe: a port, or a passive radiator.

Both are a moving mass that the box pressure pushes. A port is a radiator without a suspension;
`Vent` is the one acoustic element that the model sees for either.

End corrections: 8a/(3π) for a flanged end (Rayleigh's piston value) and 0.6127a for a free end
(Levine and Schwinger, Phys. Rev. 73 (1948) 383; evaluated from their integral, and usually printed
as 0.613a).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from boxlab.base.array_types import Values
from boxlab.base.checks import Record, not_negative, positive, same_shape, suspect
from boxlab.base.units import disc_area
from boxlab.model import cards
from boxlab.model.air import Air

FLANGED_END = 8 / (3 * math.pi)  # times the port's radius
FREE_END = 0.6127  # times the port's radius

# Peak air speed in a port, m/s, above which noise and compression are likely: 5 % of the speed of
# sound, after Small (Vented-box loudspeaker systems, part II, J. Audio Eng. Soc. 21 (1973) 438;
# from memory). Later work on flared ports quotes lower and higher figures; none is a sharp edge.
PORT_SPEED = 17.0

# What a moving part may be, of a driver or a radiator: m², and kg of it for each m².
WIDEST, DENSITY = 0.25, (0.05, 50)

_AREA_HINT = "Area is in m²: use boxlab.cm2(50) for 50 cm²."
_LENGTH_HINT = "Lengths are in metres: use boxlab.cm(20) or boxlab.inches(8)."


@dataclass(frozen=True)
class Vent:
    """All ports or radiators of a box as one acoustic branch from the box air to the outside.

    resistance Pa·s/m³, mass kg/m⁴, compliance m³/Pa (inf for a port), area m² of one, count.
    """

    resistance: float | np.ndarray
    mass: float | np.ndarray
    compliance: float | np.ndarray
    area: float | np.ndarray
    count: int | np.ndarray


@dataclass(frozen=True, eq=False)
class Port(cards.Shown, Record):
    """A straight port: area m², length m, and the length added by its ends, m.

    `end_correction` is the total for both ends. Left out, it is that of a round port of this area
    with one flanged and one free end: 1.4615 times the radius.

    >>> round(Port(area=0.0079, length=0.2).effective_length, 3)
    0.273

    Parameters
    ----------
    area : m², of one
    length : m
    end_correction : m, of both ends together

    Raises
    ------
    ValueError
        For an area that is not above zero, or a negative length or end correction.

    Warns
    -----
    UnitWarning
        For an area above 0.2 m² or a length above 3 m: most often a unit slip.
    """

    area: float | np.ndarray
    length: float | np.ndarray
    end_correction: float | np.ndarray | None = None

    def __post_init__(self):
        self._store("area", positive("port area", self.area, _AREA_HINT))
        self._store("length", not_negative("port length", self.length, _LENGTH_HINT))
        ends = self.end_correction
        ends = end_correction_of(self.area) if ends is None else ends
        self._store("end_correction", not_negative("end_correction", ends, _LENGTH_HINT))
        same_shape("Port", area=self.area, length=self.length, end_correction=self.end_correction)
        suspect("port area", self.area, 1e-6, 0.2, _AREA_HINT)
        suspect("port length", self.length, 0, 3, _LENGTH_HINT)

    @classmethod
    def round(cls, diameter, length, *, flanged_ends=1):
        """A round port of inside diameter m and length m, with 0, 1 or 2 flanged ends.

        >>> port = Port.round(0.1, 0.2)
        >>> round(port.end_correction / 0.05, 4)
        1.4615
        """
        diameter = positive("port diameter", diameter, _LENGTH_HINT)
        area = disc_area(diameter)
        return cls(area, length, end_correction_of(area, flanged_ends))

    @classmethod
    def slot(cls, width, height, length, *, flanged_ends=1):
        """A rectangular port; its ends are taken as those of a round port of the same area.

        That is fair for a slot up to about 4 : 1; a longer one is nearer to flanged all along.
        """
        width = positive("slot width", width, _LENGTH_HINT)
        height = positive("slot height", height, _LENGTH_HINT)
        for name, side in (("slot width", width), ("slot height", height)):
            suspect(name, side, 1e-3, 2, _LENGTH_HINT)
        area = width * height
        return cls(area, length, end_correction_of(area, flanged_ends))

    @property
    def effective_length(self):
        """Length with end correction, m."""
        return self.length + self.end_correction

    @property
    def volume(self):
        """Volume of air inside the straight part, m³ (without its walls)."""
        return self.area * self.length

    def first_pipe_resonance(self, air=None):
        """Lowest half-wave resonance of the open pipe, Hz.

        Formula: f = c/(2·(L + ends))
        """
        air = Air() if air is None else air
        return air.speed_of_sound / (2 * self.effective_length)

    def vent(self, count, air):
        """The acoustic branch of `count` such ports: mass ρ·L/(n·S) (kg/m⁴), no spring, no loss."""
        mass = air.density * self.effective_length / (self.area * count)
        return Vent(0.0, mass, math.inf, self.area, count)

    _card = cards.port


def end_correction_of(area: ArrayLike, flanged_ends: int = 1) -> Values:
    """Length that the ends of a round port of `area` m² add, one end flanged and one free, m.

    Formula: ends = 1.4615·√(S/π)

    With `flanged_ends` 0 or 2 instead of 1 the factor is 1.2254 or 1.6977.

    >>> round(float(end_correction_of(0.00785)), 4)  # m
    0.0731
    """
    if flanged_ends not in (0, 1, 2):
        raise ValueError(f"flanged_ends is 0, 1 or 2 (a port has two ends), got {flanged_ends!r}.")
    ends = flanged_ends * FLANGED_END + (2 - flanged_ends) * FREE_END
    return ends * np.sqrt(np.asarray(area) / np.pi)[()]
