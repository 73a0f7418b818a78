"""What lets a box breathe: a port, or a passive radiator.

Both are a moving mass that the box pressure pushes. A port is a radiator without a suspension;
`Vent` is the one acoustic element that the model sees for either.

End corrections: 8a/(3π) for a flanged end (Rayleigh's piston value) and 0.6127a for a free end
(Levine and Schwinger, Phys. Rev. 73 (1948) 383; evaluated from their integral, and usually printed
as 0.613a).
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace

import numpy as np

from boxlab.base.checks import Record, not_negative, positive, same_shape, suspect
from boxlab.base.units import disc_area
from boxlab.model import cards
from boxlab.model.air import Air
from boxlab.model.completion import complete_radiator

FLANGED_END = 8 / (3 * math.pi)  # times the port's radius
FREE_END = 0.6127  # times the port's radius

# Peak air speed in a port, m/s, above which noise and compression are likely: 5 % of the speed of
# sound, after Small (Vented-box loudspeaker systems, part II, J. Audio Eng. Soc. 21 (1973) 438;
# from memory). Later work on flared ports quotes lower and higher figures; none is a sharp edge.
PORT_SPEED = 17.0

# What a moving part may be, of a driver or a radiator: m², and kg of it for each m².
WIDEST, DENSITY = 0.25, (0.05, 50)

_AREA_HINT = "Area is in m²: use boxlab.cm2(50) for 50 cm²."
_SHEET_HINTS = {
    "fp": "Resonance is in hertz.",
    "qmp": "",
    "vap": "Vap is in m³: use boxlab.litres(80) for 80 L.",
    "sd": "Area is in m²: use boxlab.cm2(350) for 350 cm².",
    "size": "The nominal size is in inches.",
    "mms": "Mass is in kilograms: use boxlab.grams(60) for 60 g.",
    "cms": "Compliance is in m/N: use boxlab.mm_per_newton(0.3) for 0.3 mm/N.",
    "xmax": "Excursion is in metres, one way: use boxlab.mm(15) for 15 mm.",
}
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
class Port(Record):
    """A straight port: area m², length m, and the length added by its ends, m.

    `end_correction` is the total for both ends. Left out, it is that of a round port of this area
    with one flanged and one free end: 1.4615 times the radius.

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

    def _repr_html_(self):
        return cards.port(self)


def end_correction_of(area, flanged_ends=1):
    """Length that the ends of a round port of `area` m² add, one end flanged and one free, m.

    Formula: ends = 1.4615·√(S/π)

    With `flanged_ends` 0 or 2 instead of 1 the factor is 1.2254 or 1.6977.
    """
    if flanged_ends not in (0, 1, 2):
        raise ValueError(f"flanged_ends is 0, 1 or 2 (a port has two ends), got {flanged_ends!r}.")
    ends = flanged_ends * FLANGED_END + (2 - flanged_ends) * FREE_END
    return ends * np.sqrt(np.asarray(area) / np.pi)[()]


@dataclass(frozen=True, eq=False)
class Radiator(Record):
    """A passive radiator: a driver's moving part without the motor.

    Parameters
    ----------
    sd : effective area, m²
    mms : moving mass with its air load and no weights added, kg
    cms : suspension compliance, m/N
    rms : suspension friction, N·s/m
    xmax : largest excursion, one way from rest, m; inf where it is not known
    added_mass : weights bolted on, kg
    name : what to call it
    known : name -> (value, how it is known), of the bare radiator, from `from_datasheet`

    Raises
    ------
    ValueError
        For a value that is not a number or not above zero where it must be.
    """

    sd: float | np.ndarray
    mms: float | np.ndarray
    cms: float | np.ndarray
    rms: float | np.ndarray
    xmax: float | np.ndarray = np.inf
    added_mass: float | np.ndarray = 0.0
    name: str = ""
    known: Mapping = field(default_factory=dict, compare=False, repr=False)

    def __post_init__(self):
        mass_hint = "Mass is in kilograms: use boxlab.grams(60) for 60 g."
        area_hint = "Area is in m²: use boxlab.cm2(350) for 350 cm²."
        travel_hint = "Excursion is in metres, one way: use boxlab.mm(15) for 15 mm."
        spring_hint = (
            "Compliance is in m/N: use boxlab.mm_per_newton(0.3) for 0.3 mm/N; inf for none."
        )
        clean = {
            "sd": positive("radiator sd", self.sd, area_hint),
            "mms": positive("radiator mms", self.mms, mass_hint),
            "cms": positive("radiator cms", self.cms, spring_hint, infinite=True),
            "rms": not_negative("radiator rms", self.rms, "Friction is in N·s/m."),
            "xmax": positive("radiator xmax", self.xmax, travel_hint, infinite=True),
            "added_mass": not_negative("added_mass", self.added_mass, mass_hint),
        }
        same_shape("Radiator", **clean)
        for name, value in clean.items():
            self._store(name, value)
        suspect("radiator sd", self.sd, 1e-4, WIDEST, area_hint)
        suspect("radiator mms", self.mms, 1e-4, 5, mass_hint)
        suspect("radiator mms per sd, kg/m²,", self.mms / self.sd, DENSITY[0], math.inf, mass_hint)
        if np.all(self.rms) and np.all(np.isfinite(self.cms)):
            suspect("Qmp", self.qmp, 0.1, math.inf, "Check rms, mms and cms.")
        finite = np.where(np.isinf(self.cms), 1e-3, self.cms)
        suspect("radiator cms", finite, 1e-6, 0.05, spring_hint)
        finite = np.where(np.isinf(self.xmax), 0.01, self.xmax)
        suspect("radiator xmax", finite, 1e-4, 0.15, travel_hint)
        suspect("added_mass", self.added_mass, 0, 5, mass_hint)

    @classmethod
    def from_datasheet(cls, *, added_mass=0.0, air=None, name="", **figures):
        """Make a radiator of any sufficient set of figures, in SI; `known` says how each is known.

        Parameters
        ----------
        figures : mms (kg, no weights) and sd (m²) or size (inches); fp (Hz, no weights), cms (m/N)
            or vap (m³); rms (N·s/m) or qmp; xmax (m). Arrays: fp, qmp, vap and sd, and xmax
        added_mass : weights bolted on, kg

        Formulas: Cmp = Vap/(ρc²Sp²), Mmp = 1/((2πfp)²Cmp), Rmp = 2πfp·Mmp/Qmp. What does not
        follow is assumed over a usual range: a bare resonance of 8 to 20 Hz, a Qmp of 4 to 16, the
        piston behind a nominal size. Without `xmax` it has no stop, and what asks for it says so.

        >>> r = Radiator.from_datasheet(mms=0.23, sd=0.0507, xmax=0.018)
        >>> r.known["mms"].how, r.known["fp"].low, r.known["fp"].high
        ('given', 8.0, 20.0)

        Raises
        ------
        ValueError
            If something needed is missing (says what would do), is not known here or not above
            zero, or if figures contradict each other by more than 5 % (says which, both values).
        """
        given = {n: v for n, v in figures.items() if v is not None}
        for each, hint in _SHEET_HINTS.items():
            if each in given:
                positive(f"radiator {each}", given[each], hint, infinite=each in ("cms", "qmp"))
        if "qmp" in given:
            suspect("qmp", given["qmp"], 0.1, 1000, "It has no unit; 3 to 15 is usual.")
        if any(np.ndim(value) for value in given.values()):
            return cls(**_of_arrays(given, air), added_mass=added_mass, name=name)
        done = complete_radiator(air, **given).insist("Radiator.from_datasheet")
        values = {n: k.value for n, k in done.known.items()}
        made = cls(
            **{n: values[n] for n in ("sd", "mms", "cms", "rms")},
            xmax=values.get("xmax", math.inf), added_mass=added_mass, name=name,
        )  # fmt: skip
        object.__setattr__(made, "known", done.known)
        return made

    @property
    def moving_mass(self):
        """Moving mass with the weights bolted on, kg."""
        return self.mms + self.added_mass

    @property
    def fp(self):
        """The radiator's own resonance with its weights, Hz: the box's output has its null here.

        Formula: fp = 1/(2·π·√(Mmp·Cmp))
        """
        with np.errstate(divide="ignore"):
            return 1 / (2 * np.pi * np.sqrt(self.moving_mass * self.cms))

    @property
    def qmp(self):
        """Mechanical Q at fp (no unit; inf where there is no friction).

        Formula: Qmp = ωp·Mmp/Rmp
        """
        with np.errstate(divide="ignore"):
            return np.divide(2 * np.pi * self.fp * self.moving_mass, self.rms)[()]

    @property
    def vd(self):
        """Peak volume it can displace one way, m³: Sd·Xmax."""
        return self.sd * self.xmax

    def vap(self, air=None):
        """Volume of air as stiff as the radiator's suspension, m³.

        Formula: Vap = ρ·c²·Sp²·Cmp
        """
        air = Air() if air is None else air
        return air.bulk_modulus * np.square(self.sd) * self.cms

    def with_mass(self, added_mass):
        """The same radiator with `added_mass` kg of weights in place of those it has."""
        return replace(self, added_mass=added_mass)

    def vent(self, count, air=None):
        """The acoustic branch of `count` such radiators moving as one."""
        square = np.square(self.sd) * count
        return Vent(
            self.rms / square,
            self.moving_mass / square,
            self.cms * square,
            self.sd,
            count,
        )

    def _repr_html_(self):
        return cards.radiator(self)


def _of_arrays(figures, air):
    """Parameters of many radiators from the classic set: fp, qmp, vap, sd."""
    missing = [n for n in ("fp", "qmp", "vap", "sd") if n not in figures]
    others = [n for n in figures if n not in ("fp", "qmp", "vap", "sd", "xmax")]
    if missing or others:
        raise ValueError(
            "Radiator.from_datasheet with arrays takes fp, qmp, vap, sd and xmax: "
            f"{', '.join(missing) or 'none'} missing, {', '.join(others) or 'none'} too many."
        )
    same_shape("Radiator.from_datasheet", **{n: np.asarray(v, float) for n, v in figures.items()})
    fp, qmp, vap, sd = (np.asarray(figures[n], float)[()] for n in ("fp", "qmp", "vap", "sd"))
    cms = vap / ((air or Air()).bulk_modulus * np.square(sd))
    mms = 1 / (np.square(2 * np.pi * fp) * cms)
    found = {"sd": sd, "mms": mms, "cms": cms, "rms": 2 * np.pi * fp * mms / qmp}
    return found | {"xmax": figures.get("xmax", math.inf)}
