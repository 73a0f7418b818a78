"""A moving-coil driver by its small-signal parameters.

The lumped model is Small's (Direct-radiator loudspeaker system analysis, J. Audio Eng. Soc. 20
(1972) 383): coil resistance and inductance, force factor, and a moving mass on a suspension with
friction. The optional semi-inductance is Leach's (Loudspeaker voice-coil inductance losses,
J. Audio Eng. Soc. 50 (2002) 442): an impedance K(jω)ⁿ in series with the coil. A second inductance
with a resistance across it is the other usual way to write the same losses.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from types import MappingProxyType

import numpy as np
from numpy.typing import ArrayLike

from boxlab.base.array_types import Values
from boxlab.base.checks import Record, not_negative, number, positive, same_shape, suspect
from boxlab.model import cards
from boxlab.model.air import Air
from boxlab.model.completion import complete_driver
from boxlab.model.relations import COIL, Known
from boxlab.model.vents import DENSITY, WIDEST


@dataclass(frozen=True, eq=False)
class Driver(cards.Shown, Record):
    """A driver. Any number may be an array, one value for each design.

    >>> from boxlab import cm2, grams, mm
    >>> driver = Driver(3.4, 1.2e-3, 15, grams(115), 0.22e-3, 4.5, cm2(335), mm(12), 350)
    >>> round(float(driver.fs), 1), round(float(driver.qts), 2)
    (31.6, 0.32)

    Parameters
    ----------
    re : coil resistance, Ω
    le : coil inductance, H (0 for none)
    bl : force factor, T·m
    mms : moving mass with its air load, kg
    cms : suspension compliance, m/N
    rms : suspension friction, N·s/m
    sd : effective cone area, m²
    xmax : largest linear excursion, one way from rest, m; inf where it is not known
    pe : power the coil can take as heat for long, W; inf where it is not known
    name : what to call it
    semi_k, semi_n : semi-inductance K(jω)ⁿ in series with the coil; K in Ω·sⁿ, n from 0 to 1
    l2, r2 : a second inductance, H (0 for none), with R2, Ω, across it, in series with the coil
    known : name -> (value, how it is known), from `from_datasheet`

    Raises
    ------
    ValueError
        For a value that is not a number, NaN, or not above zero where it must be.

    Warns
    -----
    UnitWarning
        For a value no real driver has; the message says which unit slip is likely.
    """

    re: float | np.ndarray
    le: float | np.ndarray
    bl: float | np.ndarray
    mms: float | np.ndarray
    cms: float | np.ndarray
    rms: float | np.ndarray
    sd: float | np.ndarray
    xmax: float | np.ndarray = np.inf
    pe: float | np.ndarray = np.inf
    name: str = ""
    semi_k: float | np.ndarray = 0.0
    semi_n: float | np.ndarray = 0.7
    l2: float | np.ndarray = 0.0
    r2: float | np.ndarray = np.inf
    known: Mapping = field(default_factory=dict, compare=False, repr=False)

    def __post_init__(self):
        clean = {
            name: positive(name, getattr(self, name), hint, infinite=name in ("xmax", "pe"))
            for name, hint in _HINTS.items()
        }
        clean["le"] = not_negative("le", self.le, "Inductance is in henries; 0 means none.")
        clean["rms"] = not_negative("rms", self.rms, "Friction is in N·s/m.")
        clean["semi_k"] = not_negative("semi_k", self.semi_k)
        clean["l2"] = not_negative("l2", self.l2, "L2 is in henries; 0 means none.")
        clean["r2"] = positive("r2", self.r2, "R2 is in ohms.", infinite=True)
        clean["semi_n"] = number("semi_n", self.semi_n)
        if ((np.asarray(clean["semi_n"]) < 0) | (np.asarray(clean["semi_n"]) > 1)).any():
            raise ValueError(f"semi_n must lie between 0 and 1, got {self.semi_n}.")
        same_shape("Driver", **clean)
        for name, value in clean.items():
            self._store(name, value)
        for name, limits in PLAUSIBLE.items():
            if name in clean and np.isfinite(clean[name]).all():
                suspect(name, clean[name], *limits)
        for each, per, low, high in (("mms", "sd", *DENSITY), ("pe", "sd", 20, 1e7)):
            ratio, hint = clean[each] / clean[per], f"{_HINTS[each]} {_HINTS[per]}"
            ratio = np.where(np.isinf(ratio), high, ratio)[()]
            suspect(f"{each} per {per}, {_PER[each]},", ratio, low, high, hint)
        suspect("Qts", self.qts, 0.02, 3, "Check bl, mms and re: one of them has a wrong unit.")
        suspect("fs", self.fs, 4, 500, "Check mms (kg, not g) and cms (m/N, not mm/N).")

    @classmethod
    def from_datasheet(cls, *, air=None, name="", coils=None, **figures):
        """Make a driver from any sufficient set of figures, in SI; `known` says how each is known.

        Parameters
        ----------
        figures : fs (Hz); qts, qes, qms; vas (m³), mms (kg) or cms (m/N); sd (m²) or size (inches);
            re (Ω), bl (T·m), le (H), semi_k, semi_n, l2, r2; rms (N·s/m); xmax (m), pe (W), eta0
        coils : how many there are; `re` is of the whole driver as wired, so it changes nothing

        Formulas: Cms = Vas/(ρc²Sd²), Mms = 1/((2πfs)²Cms), Rms = 2πfs·Mms/Qms and
        Bl = √(2πfs·Mms·Re/Qes) (Small 1972). What does not follow is assumed over a usual range:
        Qms from 3 to 10 where only Qts is given, and the piston behind a nominal size. Le is 0 if
        it is not given. Without `xmax` or `pe` the driver has none, and what asks for them says so.

        >>> d = Driver.from_datasheet(fs=30, qts=0.4, vas=0.04, sd=0.035, re=3.5)
        >>> value, how = d.known["qms"]
        >>> value, how, d.known["qms"].low, d.known["qms"].high
        (5.0, 'assumed', 3.0, 10.0)
        >>> round(float(d.fs), 6), round(float(d.qts), 6), round(float(d.vas()), 6)
        (30.0, 0.4, 0.04)

        Raises
        ------
        ValueError
            If something needed is missing (says what would do), is not known here or not above
            zero, or if figures contradict each other by more than 5 % (says which, both values).
        """
        given = {n: v for n, v in figures.items() if v is not None}
        for each in sorted(set(given) & set(_SHEET_HINTS)):
            positive(each, given[each], _SHEET_HINTS[each], infinite=each == "qms")
        if "vas" in given:
            suspect("vas", given["vas"], *PLAUSIBLE["vas"])
        if "qms" in given:
            suspect("Qms", given["qms"], 0.3, 60, "Is it Qes or Qts that was meant?")
        aside = {n: given.pop(n) for n in (*COIL, "xmax", "pe") if n in given}
        if any(np.ndim(value) for value in given.values()):
            return cls(**_of_arrays(given, air), **aside, name=name)
        done = complete_driver(air, **given).insist("Driver.from_datasheet")
        values = {n: done.known[n].value for n in ("re", "bl", "mms", "cms", "rms", "sd")}
        made = cls(**values, **{"le": 0.0} | aside, name=name)
        known = dict(done.known) | {n: Known(v, "given") for n, v in aside.items()}
        if "le" not in aside:
            known["le"] = _replace_value(known["le"], 0.0)
        object.__setattr__(made, "known", MappingProxyType(known))
        return made

    def coil_times(self, ratio):
        """Resistance and inductances, name -> value, of a coil with `ratio` times the impedance.

        Parameters
        ----------
        ratio : no unit; may be an array
        """
        return {n: getattr(self, n) * ratio for n in ("re", "le", "semi_k", "l2", "r2")}

    @property
    def without_inductance(self):
        """The same driver with nothing but resistance in its coil."""
        return replace(self, le=0.0, semi_k=0.0, l2=0.0)

    @property
    def fs(self):
        """Resonance in free air, Hz.

        Formula: fs = 1/(2·π·√(Mms·Cms))
        """
        return 1 / (2 * np.pi * np.sqrt(self.mms * self.cms))

    @property
    def qes(self):
        """Electrical Q at fs (no unit).

        Formula: Qes = ωs·Mms·Re/Bl²
        """
        return 2 * np.pi * self.fs * self.mms * self.re / self.bl**2

    @property
    def qms(self):
        """Mechanical Q at fs (no unit; inf where there is no friction).

        Formula: Qms = ωs·Mms/Rms
        """
        with np.errstate(divide="ignore"):
            return np.divide(2 * np.pi * self.fs * self.mms, self.rms)[()]

    @property
    def qts(self):
        """Total Q at fs, of Qes and Qms in parallel (no unit).

        Formula: Qts = Qes·Qms/(Qes + Qms)
        """
        return self.qes / (1 + self.qes / self.qms)

    @property
    def vd(self):
        """Peak volume the cone can displace one way, m³.

        Formula: Vd = Sd·Xmax
        """
        return self.sd * self.xmax

    def vas(self, air=None):
        """Volume of air as stiff as the suspension, m³.

        Formula: Vas = ρ·c²·Sd²·Cms
        """
        air = Air() if air is None else air
        return air.bulk_modulus * np.square(self.sd) * self.cms

    def reference_efficiency(self, air=None):
        """Reference efficiency into half space, a ratio (Small 1972).

        Formula: η0 = 4·π²·fs³·Vas/(c³·Qes)
        """
        air = Air() if air is None else air
        return 4 * np.pi**2 / air.speed_of_sound**3 * self.fs**3 * self.vas(air) / self.qes

    _card = cards.driver


def _of_arrays(figures, air):
    """Parameters of many designs from the classic set: fs, qes, qms, vas, sd, re."""
    missing = [n for n in ("fs", "qes", "qms", "vas", "sd", "re") if n not in figures]
    others = [n for n in figures if n not in ("fs", "qes", "qms", "vas", "sd", "re")]
    if missing or others:
        raise ValueError(
            "Driver.from_datasheet with arrays takes fs, qes, qms, vas, sd and re: "
            f"{', '.join(missing) or 'none'} missing, {', '.join(others) or 'none'} too many."
        )
    same_shape("Driver.from_datasheet", **{n: np.asarray(v, float) for n, v in figures.items()})
    fs, qes, qms, vas, sd, re = (
        np.asarray(figures[n], float)[()] for n in ("fs", "qes", "qms", "vas", "sd", "re")
    )
    ws = 2 * np.pi * fs
    cms = vas / ((air or Air()).bulk_modulus * np.square(sd))
    mms = 1 / (ws**2 * cms)
    bl = np.sqrt(ws * mms * re / qes)
    return {"re": re, "bl": bl, "mms": mms, "cms": cms, "rms": ws * mms / qms, "sd": sd}


def _replace_value(known: Known, value: float) -> Known:
    """The same `Known` with another value."""
    return Known(value, known.how, min(value, known.low), known.high, known.why)


def beside(value: ArrayLike, omega: ArrayLike) -> Values:
    """Shape a design's value to broadcast with frequency, which is the last axis if it has one.

    >>> beside(np.array([1.0, 2.0]), np.ones(3)).shape
    (2, 1)

    Parameters
    ----------
    value : number, or array of designs
    omega : rad/s
    """
    if np.ndim(value) == 0 or np.ndim(omega) == 0:
        return value
    return np.asarray(value)[..., None]


_HINTS = {
    "re": "Coil resistance is in ohms.",
    "bl": "Force factor is in T·m (the same as N/A).",
    "mms": "Moving mass is in kilograms: use boxlab.grams(60) for 60 g.",
    "cms": "Compliance is in m/N: use boxlab.mm_per_newton(0.3) for 0.3 mm/N.",
    "sd": "Cone area is in m²: use boxlab.cm2(350) for 350 cm².",
    "xmax": "Excursion is in metres, one way: use boxlab.mm(10) for 10 mm.",
    "pe": "Power is in watts.",
}

_SHEET_HINTS = {
    "fs": "Resonance is in hertz.",
    "qes": "",
    "qms": "",
    "qts": "",
    "vas": "Vas is in m³: use boxlab.litres(40) for 40 L.",
    "size": "The nominal size is in inches.",
} | {name: _HINTS[name] for name in ("re", "bl", "mms", "cms", "sd")}

_PER = {"mms": "kg/m²", "pe": "W/m²"}

# What real drivers have: name -> (least, most, what to do when a figure lies outside).
PLAUSIBLE = {
    "sd": (1e-4, WIDEST, "Cone area is in m²: for 350 cm² use boxlab.cm2(350)."),
    "re": (0.1, 200, "Coil resistance is in ohms, as a DC meter reads it."),
    "le": (0, 0.05, "Inductance is in henries: for 2.5 mH use boxlab.mh(2.5)."),
    "bl": (0.1, 200, "Force factor is in T·m."),
    "mms": (1e-4, 1, "Moving mass is in kilograms: for 60 g use boxlab.grams(60)."),
    "cms": (1e-6, 0.02, "Compliance is in m/N: for 0.3 mm/N use boxlab.mm_per_newton(0.3)."),
    "vas": (1e-5, 0.7, "Vas is in m³: for 40 L use boxlab.litres(40)."),
    "xmax": (1e-4, 0.1, "Excursion is in metres, one way: for 10 mm use boxlab.mm(10)."),
    "pe": (0.05, 2e4, "Power is in watts."),
}
