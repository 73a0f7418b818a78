"""Does a datasheet agree with itself?

A datasheet prints more figures than a driver has freedoms. Each relation between them is a check;
this room says which relations fail, by how much, and which single figure, if it were wrong, would
explain it.
"""

from __future__ import annotations

import html
import math
from dataclasses import dataclass

from boxlab.base.checks import positive, suspect
from boxlab.model.air import Air
from boxlab.model.driver import PLAUSIBLE

FIGURES = {
    "fs": ("Hz", 1.0),
    "qes": ("", 1.0),
    "qms": ("", 1.0),
    "qts": ("", 1.0),
    "vas": ("L", 1e-3),
    "sd": ("cm²", 1e-4),
    "re": ("Ω", 1.0),
    "bl": ("T·m", 1.0),
    "mms": ("g", 1e-3),
    "cms": ("mm/N", 1e-3),
    "rms": ("N·s/m", 1.0),
    "eta0": ("%", 1e-2),
}  # name -> (unit for people, its size in SI)


def _relations(air):
    """Each relation: what it is called, its figure, and how the others give that figure (SI)."""
    modulus, c = air.bulk_modulus, air.speed_of_sound
    tau = 2 * math.pi
    return (
        ("Qts from Qes and Qms", "qts", lambda qes, qms: qes * qms / (qes + qms)),
        ("fs from Mms and Cms", "fs", lambda mms, cms: 1 / (tau * math.sqrt(mms * cms))),
        ("Qms from fs, Mms and Rms", "qms", lambda fs, mms, rms: tau * fs * mms / rms),
        ("Qes from fs, Mms, Re and Bl", "qes", lambda fs, mms, re, bl: tau * fs * mms * re / bl**2),
        ("Vas from Sd and Cms", "vas", lambda sd, cms: modulus * sd**2 * cms),
        (
            "Vas from fs, Sd and Mms",
            "vas",
            lambda fs, sd, mms: modulus * sd**2 / ((tau * fs) ** 2 * mms),
        ),
        (
            "η0 from fs, Vas and Qes",
            "eta0",
            lambda fs, vas, qes: 4 * math.pi**2 / c**3 * fs**3 * vas / qes,
        ),
    )


@dataclass(frozen=True)
class Finding:
    """One relation tried: the printed figure, what the others make it, and the ratio of the two."""

    relation: str
    figure: str
    printed: float  # SI
    computed: float  # SI
    inputs: tuple[str, ...]

    @property
    def excess(self):
        """How far the printed figure lies above the computed one, as a fraction."""
        return self.printed / self.computed - 1


@dataclass(frozen=True)
class DatasheetReport:
    """What `check_datasheet` found. Print it, or let a notebook show it as a table."""

    findings: tuple[Finding, ...]
    tolerance: float
    suspects: tuple[tuple[str, float], ...]  # (figure, the value that would mend all, SI)
    unused: tuple[str, ...]  # printed figures that no relation could test

    @property
    def disagreements(self):
        """The findings that are off by more than the tolerance, worst first."""
        wrong = [f for f in self.findings if abs(math.log1p(f.excess)) > math.log1p(self.tolerance)]
        return tuple(sorted(wrong, key=lambda f: -abs(math.log1p(f.excess))))

    @property
    def consistent(self):
        """True if at least one relation could be tried and none fails."""
        return bool(self.findings) and not self.disagreements

    def lines(self):
        """The report as sentences."""
        if not self.findings:
            return ("Nothing to check: no relation has all its figures. Add more from the sheet.",)
        out = [
            f"{f.relation}: printed {_show(f.figure, f.printed)}, the others make "
            f"{_show(f.figure, f.computed)} ({_percent(f.excess)})"
            f"{'' if f not in self.disagreements else ' - disagrees'}."
            for f in self.findings
        ]
        if self.consistent:
            out.append(f"All within {100 * self.tolerance:g} %: the sheet agrees with itself.")
        elif self.suspects:
            options = ", or ".join(f"{name} = {_show(name, v)}" for name, v in self.suspects)
            out.append(f"One changed figure would mend it: {options}.")
        elif self.disagreements:
            out.append("No single figure explains it: measure the driver rather than trust this.")
        if self.unused:
            out.append(f"Not tested by any relation: {', '.join(self.unused)}.")
        return tuple(out)

    def __str__(self):
        return "\n".join(self.lines())

    def _repr_html_(self):
        items = "".join(f"<li>{html.escape(line)}</li>" for line in self.lines())
        return f"<ul>{items}</ul>"


def check_datasheet(
    *, tolerance: float = 0.05, air: Air | None = None, **figures: float
) -> DatasheetReport:
    """Compare the figures of a datasheet with each other.

    Parameters
    ----------
    tolerance : a relation off by more than this fraction counts as a disagreement
    air : Air for which vas holds; 20 °C at sea level if left out
    figures : any of fs (Hz), qes, qms, qts, vas (m³), sd (m²), re (Ω), bl (T·m), mms (kg),
        cms (m/N), rms (N·s/m), eta0 (a ratio), all SI

    Formulas: the definitions of Small (J. Audio Eng. Soc. 20 (1972) 383).

    >>> report = check_datasheet(qes=0.5, qms=5, qts=0.60)
    >>> print(report)
    Qts from Qes and Qms: printed 0.6, the others make 0.4545 (+32.0 %) - disagrees.
    One changed figure would mend it: qes = 0.6818, or qts = 0.4545.

    Raises
    ------
    ValueError
        For an unknown name or a figure that is not above zero.
    """
    air = Air() if air is None else air
    unknown = set(figures) - set(FIGURES)
    if unknown:
        raise ValueError(
            f"unknown figure {', '.join(sorted(unknown))}; known are {', '.join(FIGURES)}, in SI."
        )
    figures = {name: positive(name, value) for name, value in figures.items()}
    for name, (low, high, hint) in PLAUSIBLE.items():
        if name in figures:
            suspect(name, figures[name], low, high, hint)
    findings = _findings(figures, air)
    used = {f.figure for f in findings} | {i for f in findings for i in f.inputs}
    report = DatasheetReport(findings, tolerance, (), tuple(sorted(set(figures) - used)))
    if not report.disagreements:
        return report
    suspects = []
    for name in sorted({n for f in report.disagreements for n in (f.figure, *f.inputs)}):
        value = _mend(name, figures, air, tolerance)
        if value is not None:
            suspects.append((name, value))
    return DatasheetReport(findings, tolerance, tuple(suspects), report.unused)


def _findings(figures, air):
    found = []
    for relation, target, rule in _relations(air):
        inputs = rule.__code__.co_varnames[: rule.__code__.co_argcount]
        if target in figures and all(name in figures for name in inputs):
            computed = rule(*(figures[name] for name in inputs))
            found.append(Finding(relation, target, figures[target], computed, inputs))
    return tuple(found)


def _mend(name, figures, air, tolerance):
    """The value of one figure that brings every relation within tolerance, or None.

    Searches for the value at which the worst log error is least, on a grid of factors from 1/1000
    to 1000 and then finer: the relations are smooth and few.
    """

    def worst(log_factor):
        changed = figures | {name: figures[name] * math.exp(log_factor)}
        return max(abs(math.log1p(f.excess)) for f in _findings(changed, air))

    centre, half_width = 0.0, math.log(1000)
    for _ in range(12):
        grid = [centre + half_width * (i / 40 - 1) for i in range(81)]
        centre = min(grid, key=worst)
        half_width /= 10
    return figures[name] * math.exp(centre) if worst(centre) <= math.log1p(tolerance) else None


def _percent(fraction):
    rounded = round(100 * fraction, 1) + 0.0  # no "-0.0"
    return f"{rounded:+.1f} %" if rounded else "the same"


def _show(name, value):
    unit, size = FIGURES[name]
    return f"{value / size:.4g} {unit}".rstrip()
