"""From the figures that somebody has to all that the model needs, and how each is known.

A driver has few freedoms and a datasheet prints many figures, in any selection. Whatever follows
from what is given is worked out; what is needed and does not follow is assumed over a stated range;
what disagrees is shown with both values. Nothing is filled in silently.

The ranges of what is assumed are common practice with no published source.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from boxlab.base.checks import positive
from boxlab.model.air import Air
from boxlab.model.relations import (
    COIL,
    TAU,
    TOLERANCE,
    Contradiction,
    Known,
    complete,
    contradictions,
    driver_relations,
    radiator_relations,
    with_ranges,
)

# What is assumed where a figure that the model needs does not follow: value, low, high, why.
_QMS = Known(5.0, "assumed", 3.0, 10.0, "friction usually leaves a Qms of 3 to 10")
# A coil's inductance goes with its resistance: more turns bring more of both.
_LE = (0.35e-3, 0.1e-3, 0.9e-3, "coils of such drivers have 0.1 to 0.9 mH for each ohm")
# Nominal size is the frame's; the moving part reaches to the middle of the surround.
_PISTON = (0.82, 0.79, 0.86, "the piston is usually 79 to 86 % of the nominal size across")
_QMP = Known(8.0, "assumed", 4.0, 16.0, "radiators usually have a Qmp of 4 to 16")
# compliance of a radiator of which only area and mass are known, as its own resonance
_FP = (14.0, 8.0, 20.0, "bare radiators usually resonate between 8 and 20 Hz")


def _figures(given, names, owner):
    """`given` as `Known`, checked: every name is one of `names`, every value above zero."""
    unknown = sorted(set(given) - set(names))
    if unknown:
        raise ValueError(
            f"{owner} does not know {', '.join(unknown)}; known are {', '.join(names)}, all in SI "
            "(size in inches)."
        )
    found = {}
    for name, value in given.items():
        if value is None:
            continue
        if isinstance(value, Known):
            positive(f"{owner} {name}", value.value)
            found[name] = value
            continue
        checked = positive(f"{owner} {name}", value, infinite=name in ("qms", "qmp", "cms"))
        found[name] = Known(checked, "given")
    return found


def _piston(size, why):
    """Area of a piston of nominal `size` inches, assumed."""
    value, low, high = (math.pi / 4 * (size * 0.0254 * share) ** 2 for share in _PISTON[:3])
    return Known(value, "assumed", low, high, f"from the nominal size: {why}")


DRIVER_FIGURES = (
    "fs", "qts", "qes", "qms", "vas", "mms", "cms", "rms", "sd", "size", "re", "bl", "le",
    "semi_k", "semi_n", "l2", "r2", "xmax", "pe", "eta0",
)  # fmt: skip
RADIATOR_FIGURES = ("mms", "sd", "size", "fp", "cms", "vap", "rms", "qmp", "xmax")


@dataclass(frozen=True)
class Completed:
    """All figures found, what contradicts, and what is missing that nothing can stand in for."""

    known: Mapping[str, Known]
    contradictions: tuple[Contradiction, ...] = ()
    missing: tuple[str, ...] = ()  # each a sentence: what is missing, and what would do

    @property
    def assumed(self) -> dict[str, Known]:
        """What had to be assumed, by name."""
        return {name: known for name, known in self.known.items() if known.how == "assumed"}

    def insist(self, owner) -> Completed:
        """Itself, if a driver or radiator can be made of it.

        Raises
        ------
        ValueError
            Saying what is missing and what would do, or which figures cannot all be true.
        """
        if self.missing:
            raise ValueError(f"{owner}: " + " ".join(self.missing))
        if self.contradictions:
            raise ValueError(
                f"{owner}: these figures cannot all be true: "
                + "; ".join(map(str, self.contradictions))
                + f". They differ by more than {100 * TOLERANCE:g} %. Leave out the one you trust "
                "least; it then follows from the others."
            )
        return self


def complete_driver(air: Air | None = None, **given: float) -> Completed:
    """Complete a driver from any figures (SI; `size` in inches); see `DRIVER_FIGURES`.

    fs, one of vas, mms and cms, sd or size, re, and enough of qts, qes, qms, bl and rms are needed.
    Qms (3 to 10), Le and the area behind a nominal size are assumed where they do not follow.

    >>> from boxlab import cm2, litres, mm
    >>> found = complete_driver(fs=31, qts=0.36, vas=litres(65), sd=cm2(507), re=3.64, xmax=mm(14))
    >>> sorted(found.assumed)
    ['le', 'qms']

    Parameters
    ----------
    air : Air for which vas holds; 20 °C at sea level if left out
    given : figures by name, SI (`size` in inches)

    Returns
    -------
    Completed

    Raises
    ------
    ValueError
        If too few figures are given, or two contradict each other.
    """
    relations = driver_relations(air)
    figures = _figures(given, DRIVER_FIGURES, "Driver")
    fixed = {n: figures.pop(n) for n in ("size", *COIL, "xmax", "pe") if n in figures}
    clash = contradictions(figures, relations)
    known = complete(figures, relations)
    if "sd" not in known and "size" in fixed:
        figures["sd"] = _piston(fixed["size"].value, _PISTON[3])
        known = complete(figures, relations)
    if "qms" not in known and "rms" not in known and ("qts" in known or "qes" in known):
        figures["qms"] = _fit_qms(known)
        known = complete(figures, relations)
    if "le" not in fixed and "re" in known:
        value, low, high, why = _LE
        re = known["re"].value
        fixed["le"] = Known(value * re, "assumed", low * re, high * re, why)
    missing = tuple(_missing_driver(known))
    known = with_ranges(known, figures, relations)
    return Completed(MappingProxyType(known | fixed), clash, missing)


def _fit_qms(known):
    """The usual range of Qms, held above a Qts that is given."""
    least = 1.2 * known["qts"].value if "qts" in known and "qes" not in known else 0
    if least <= _QMS.low:
        return _QMS
    return Known(
        max(_QMS.value, 1.5 * least), "assumed", least, max(_QMS.high, 3 * least), _QMS.why
    )


def _missing_driver(known):
    if "fs" not in known:
        yield "fs is missing: give fs, or mms and cms."
    if "sd" not in known:
        yield "The area is missing: give sd, or size in inches."
    if "cms" not in known and "fs" in known and "sd" in known:
        yield "How stiff or heavy it is, is missing: give vas, mms or cms."
    if "re" not in known:
        yield "re is missing: the coil's resistance as a meter reads it."
    if not {"qts", "qes", "bl"} & set(known):
        yield "The motor is missing: give qts, qes or bl."
    elif "bl" not in known and {"fs", "sd", "cms", "re"} <= set(known):
        yield "The motor is missing: qts or qes does not lead to bl; qts must be below qms."


def complete_radiator(air: Air | None = None, **given: float) -> Completed:
    """Complete a bare radiator from any figures (SI; `size` in inches); see `RADIATOR_FIGURES`.

    mms and sd or size are needed (mms may follow). Compliance and friction are assumed where they
    do not follow.

    >>> found = complete_radiator(mms=0.23, sd=0.0507, xmax=0.018)
    >>> sorted(found.assumed)
    ['cms', 'qmp']

    Parameters
    ----------
    air : Air for which vap holds; 20 °C at sea level if left out
    given : figures by name, SI (`size` in inches)

    Returns
    -------
    Completed

    Raises
    ------
    ValueError
        If too few figures are given, or two contradict each other.
    """
    relations = radiator_relations(air)
    figures = _figures(given, RADIATOR_FIGURES, "Radiator")
    fixed = {name: figures.pop(name) for name in ("size", "xmax") if name in figures}
    clash = contradictions(figures, relations)
    known = complete(figures, relations)
    if "sd" not in known and "size" in fixed:
        figures["sd"] = _piston(fixed["size"].value, _PISTON[3])
        known = complete(figures, relations)
    if "cms" not in known and "mms" in known and "fp" not in known:
        value, low, high = (1 / ((TAU * f) ** 2 * known["mms"].value) for f in _FP[:3])
        figures["cms"] = Known(value, "assumed", high, low, _FP[3])
        known = complete(figures, relations)
    if "qmp" not in known and "rms" not in known:
        figures["qmp"] = _QMP
        known = complete(figures, relations)
    missing = []
    if "sd" not in known:
        missing.append("The area is missing: give sd, or size in inches.")
    if "mms" not in known:
        missing.append("The mass is missing: give mms, or fp and vap (or cms) with the area.")
    known = with_ranges(known, figures, relations)
    return Completed(MappingProxyType(known | fixed), clash, tuple(missing))
