"""A passive radiator: a driver's moving part without the motor, and its weights."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace

import numpy as np

from boxlab.base.checks import Record, not_negative, positive, same_shape, suspect
from boxlab.model import cards
from boxlab.model.air import Air
from boxlab.model.completion import complete_radiator
from boxlab.model.vents import DENSITY, WIDEST, Vent

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


@dataclass(frozen=True, eq=False)
class Radiator(cards.Shown, Record):
    """A passive radiator: a driver's moving part without the motor.

    >>> radiator = Radiator(sd=0.035, mms=0.1, cms=0.3e-3, rms=3.0, xmax=0.02)
    >>> round(float(radiator.fp), 1), round(float(radiator.with_mass(0.1).fp), 1)
    (29.1, 20.5)

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

    _card = cards.radiator


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
