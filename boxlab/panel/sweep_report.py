"""A measured sweep against the box it was meant to be: fit, picture, sentences, tables to keep."""

from __future__ import annotations

from dataclasses import dataclass, field, fields

import numpy as np

from boxlab.base.units import cm2, grams, litres, mh, mm, mm_per_newton
from boxlab.draw.scene import Line, Mark, Number, Plot, Scene
from boxlab.gear.scenario import TEN_INCH_RADIATOR
from boxlab.measure import BoxFit, Sweep, Tuning, find_tuning, fit_box
from boxlab.measure.fit import faults
from boxlab.measure.fit.landmarks import landmarks
from boxlab.measure.fit.tuning_found import bare
from boxlab.model.driver import Driver
from boxlab.model.enclosure import PortedBox, RadiatorBox, SealedBox
from boxlab.model.radiator import Radiator
from boxlab.model.response import solve

BUILDS = ("radiator", "ported", "sealed")
# How far a driver's printed values may be off when the box is fitted (our own assumption).
_TRUST = {"fs": 0.05, "qms": 0.2, "qes": 0.08}
TWO_FITS = (
    "So far the design's driver and vent were taken to be near their printed values. From here on "
    "the curve speaks alone, and all losses count as one leak: its tuning and QL may differ a "
    "little from those above."
)


@dataclass(frozen=True)
class Plan:
    """The box as designed, in the units of the workshop; the start is the class's own box.

    Ω, mH, Hz, litres, cm², grams, mm/N. `mass` is a radiator's moving mass without weights.
    """

    build: str = "radiator"
    re: float = 3.4
    le: float = 1.2
    fs: float = 31.6
    qes: float = 0.345
    qms: float = 5.1
    vas: float = 35.0
    sd: float = 335.0
    volume: float = 14.2
    fb: float = 34.0
    ql: float = 7.0
    radiator_sd: float = 350.0
    mass: float = 100.0
    compliance: float = 0.6

    def __post_init__(self):
        if self.build not in BUILDS:
            raise ValueError(f"build = {self.build!r}: choose one of {', '.join(BUILDS)}.")
        for each in fields(self):
            value = getattr(self, each.name)
            if each.name not in ("build", "le") and not value > 0:
                raise ValueError(f"{each.name} = {value!r}: give a number above zero.")
            if each.name not in ("build", "le") and not 1e-3 <= value <= 1e6:
                raise ValueError(
                    f"{each.name} = {value:g}: expected 0.001 to 1 000 000, in the unit that "
                    "stands beside it."
                )
        if not 0 <= self.le <= 1e3:
            raise ValueError(f"le = {self.le!r}: give zero or more, in mH, up to 1000.")

    @property
    def driver(self):
        """The driver, by its printed values; excursion and power do not matter here."""
        return Driver.from_datasheet(
            fs=self.fs,
            qes=self.qes,
            qms=self.qms,
            vas=litres(self.vas),
            sd=cm2(self.sd),
            re=self.re,
            le=mh(self.le),
            xmax=mm(5),
            pe=50,
        )

    @property
    def radiator(self):
        """The radiator without weights; its friction is that of the demo radiator."""
        return Radiator(
            cm2(self.radiator_sd),
            grams(self.mass),
            mm_per_newton(self.compliance),
            TEN_INCH_RADIATOR.rms,
            mm(10),
        )

    @property
    def box(self):
        """The box; ValueError, with what to change, if the vent cannot be tuned so."""
        net = litres(self.volume)
        if self.build == "sealed":
            return SealedBox(net)
        if self.build == "ported":
            return PortedBox.tuned(net, self.fb, cm2(10), ql=self.ql, max_length=1e3)
        return RadiatorBox.tuned(net, self.fb, self.radiator, ql=self.ql)

    def curve(self, frequency):
        """Impedance of the design, a Sweep, at the frequencies, Hz."""
        z = solve(self.driver, self.box, frequency).impedance
        return Sweep.from_impedance(frequency, z, "as designed")


@dataclass(frozen=True, eq=False)
class Report:
    """What a sweep says, and how it differs from the plan."""

    sweep: Sweep
    plan: Plan
    tuning: Tuning
    fit: BoxFit | None
    model: Sweep = field(repr=False)
    words: tuple[str, ...] = ()
    fault: str = ""  # of the wiring or the weights; said before any number

    def markdown(self):
        """The whole as Markdown, to paste into a forum or a notebook."""
        return _markdown(self)

    def csv(self):
        """Measured, fitted and designed curves as one table with commas."""
        return _csv(self)

    def scene(self):
        """The picture: measured points, the fit, and the design."""
        return _scene(self)


def report(sweep, plan=None):
    """Fit a Sweep and hold it against a Plan.

    Raises
    ------
    ValueError
        If the sweep has too few points, or the plan cannot be built.
    """
    plan = plan or Plan()
    model = plan.curve(sweep.frequency)
    tuning = find_tuning(sweep, fs=plan.fs)
    two = plan.build != "sealed"
    fit, words = None, []
    measured = faults.resistance_of(sweep, tuning.fit)
    fault = faults.coil_fault(measured, plan.re)
    if not fault and not tuning.peaks:
        fault = faults.opposed(measured, plan.re)
    if fault:
        words.append("No box is fitted until that is put right: its numbers would all be wrong.")
    elif (tuning.peaks == 2) != two:
        words.append(
            f"The sweep shows {tuning.peaks} peak{'s' * (tuning.peaks > 1)}, and a {plan.build} "
            f"box has {2 if two else 1}. Wrong box, wrong sweep, or it starts too high."
        )
    else:
        near = {n: (getattr(plan, n), share * getattr(plan, n)) for n, share in _TRUST.items()}
        try:
            fit = fit_box(
                sweep,
                build=plan.build,
                vas=litres(plan.vas),
                radiator=plan.radiator if plan.build == "radiator" else None,
                count=1,  # a plan has one
                **near,
            )
            words += fit.against(plan.box)
            if two:
                words.append(TWO_FITS)
        except ValueError as trouble:
            words.append(f"The box could not be fitted: {trouble}")
    return Report(sweep, plan, tuning, fit, model, tuple(words), fault)


def _found(report):
    """(name, measured, designed, unit) for the places that both curves have."""
    t = report.tuning
    fine = np.geomspace(*report.sweep.frequency[[0, -1]], 1500)
    curve = report.plan.curve(fine)
    if t.peaks == 2 and report.plan.build != "sealed":
        m = landmarks(fine, curve.impedance)
        return (
            ("tuning", t.fb, float(report.plan.box.tuning()), "Hz"),
            ("lower peak", t.fl, m.fl, "Hz"),
            ("lowest between", t.fm, m.fm, "Hz"),
            ("upper peak", t.fh, m.fh, "Hz"),
            ("lower peak", t.zl, m.zl, "Ω"),
            ("lowest between", t.zm, m.zm, "Ω"),
            ("upper peak", t.zh, m.zh, "Ω"),
        )
    if t.peaks == 1 and report.plan.build == "sealed":
        low = curve.between(0, 5 * report.plan.fs)
        top = int(np.argmax(low.magnitude))
        return (
            ("resonance", t.resonance, float(low.frequency[top]), "Hz"),
            ("peak", t.peak_impedance, float(low.magnitude[top]), "Ω"),
        )
    return ()


def _markdown(report):
    name = report.sweep.name or "sweep"
    rows = [f"### {name}", ""] + ([f"**{report.fault}**", ""] if report.fault else [])
    found = _found(report)
    if found:
        rows += ["| | measured | as designed | off by |", "|---|---|---|---|"]
        for label, value, meant, unit in found:
            off = f"{100 * (value / meant - 1):+.1f} %".replace("-", "−")
            rows.append(f"| {label}, {unit} | {bare(value)} | {meant:.2f} | {off} |")
        rows.append("")
    rows += [f"- {words}" for words in (*report.words, *report.tuning.words)]
    if report.tuning.routes:
        rows += ["", "Tuning by several routes:", "", report.tuning.markdown()]
    if report.fit is not None:
        rows += ["", "The box as fitted:", "", report.fit.markdown()]
    if report.sweep.notes:
        rows += ["", "How the table was read: " + "; ".join(report.sweep.notes) + "."]
    return "\n".join(rows).rstrip() + "\n"


def _csv(report):
    curves = {"measured": report.sweep, "fitted": report.tuning.curve, "designed": report.model}
    head, columns = ["frequency (Hz)"], [report.sweep.frequency]
    for name, curve in curves.items():
        head.append(f"{name} magnitude (ohm)")
        columns.append(curve.magnitude)
        if curve.phase is not None:
            head.append(f"{name} phase (deg)")
            columns.append(curve.phase)
    rows = [",".join(f"{value:.6g}" for value in row) for row in zip(*columns, strict=True)]
    return "\n".join([",".join(head), *rows]) + "\n"


def _scene(report):
    sweep, t, plan = report.sweep, report.tuning, report.plan
    low, high = float(sweep.frequency[0]), float(sweep.frequency[-1])
    high = min(high, max(500.0, 2 * low))
    part = sweep.between(low, high).magnitude
    top = 10 * np.ceil(1.08 * max(part.max(), report.model.between(low, high).magnitude.max()) / 10)
    marks = [Mark(float(t.fb), f"tuning {t.fb:.1f} Hz", "vent")] if t.peaks == 2 else []
    ratio = 20 * np.log10(sweep.magnitude / report.model.magnitude)
    lines = (
        Line(sweep.frequency, report.model.magnitude, "quiet", "as designed", plan.build),
        Line(sweep.frequency, t.curve.magnitude, "limit", "fitted"),
        Line(sweep.frequency, sweep.magnitude, "electrical", "measured", kind="points"),
    )
    where = f"{t.fb} tuning" if t.peaks == 2 else f"{t.resonance} resonance"
    said = [*report.words, *t.words]
    return Scene(
        title=f"{_drawn(sweep.name) or 'sweep'}: {where}",
        plots=(
            Plot(
                "Measured, fitted, designed", "frequency, Hz", "magnitude of impedance, Ω",
                (low, high), (0, float(top)), lines, tuple(marks),
            ),
            Plot(
                "Measured over designed", "frequency, Hz", "ratio of magnitudes, dB re 1",
                (low, high), (-12, 12), (Line(sweep.frequency, ratio, "limit", "difference"),),
            ),
        ),
        readout=tuple(said),
        numbers=tuple(
            Number(f"{label}, {unit}", f"{bare(value)}, designed {meant:.2f}")
            for label, value, meant, unit in _found(report)
        ),
        caption=(
            f"Points: {_drawn(sweep.name) or 'the sweep'}. Red: the circuit fitted to it. Grey: "
            f"the {plan.build} box of {plan.volume:g} L as designed. Right: measured over designed."
        ),
        alt=(
            f"Two plots against frequency, {low:.0f} to {high:.0f} Hz. Left: magnitude of "
            f"impedance, 0 to {top:.0f} Ω, measured, fitted and as designed; {where}. Right: the "
            "ratio of measured to designed in dB, −12 to 12."
        ),
        code=(
            "from boxlab.measure import read_sweep\n"
            "from boxlab.panel.sweep_report import Plan, report\n"
            f"print(report(read_sweep('my-sweep.csv'), {plan!r}).markdown())"
        ),
    )  # fmt: skip


def _drawn(name):
    """A file name that the font of our pictures has, and nothing in it that reads as a formula."""
    known = (c if c.isprintable() and ord(c) < 0x370 and c not in "$\\" else "_" for c in name)
    return "".join(known)[:60]
