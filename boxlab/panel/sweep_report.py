"""A measured sweep, alone or against the box it was meant to be: fit, picture, words, tables.

Alone it tells its tuning, and no value of ours stands in for what only its owner knows.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from boxlab.base.units import litres
from boxlab.draw.scene import Line, Mark, Number, Plot, Scene
from boxlab.measure import BoxFit, Sweep, Tuning, find_tuning, fit_box
from boxlab.measure.fit import faults
from boxlab.measure.fit.landmarks import landmarks
from boxlab.measure.fit.tuning_found import bare
from boxlab.panel.sweep_plan import Plan

# How far a driver's printed values may be off when the box is fitted (our own assumption).
_TRUST = {"fs": 0.05, "qms": 0.2, "qes": 0.08}
TWO_FITS = (
    "So far the design's driver and vent were taken to be near their printed values. From here on "
    "the curve speaks alone, and all losses count as one leak: its tuning and QL may differ a "
    "little from those above."
)


ALONE = (
    "So far this is the sweep alone: it tells the tuning. Volume and mass need the driver: put it "
    "and the box under “the box as designed” and press compare, or keep it all in a job file."
)


@dataclass(frozen=True, eq=False)
class Report:
    """What a sweep says, and how it differs from the plan."""

    sweep: Sweep
    plan: Plan | None
    tuning: Tuning
    fit: BoxFit | None
    model: Sweep | None = field(repr=False)
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
    """What a Sweep tells alone or, with a Plan, how it differs from that.

    Raises
    ------
    ValueError
        If the sweep has too few points, or the plan cannot be built.
    """
    if plan is None:
        return Report(sweep, None, find_tuning(sweep), None, None, (ALONE,))
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
    if report.plan is None:
        return ()
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
    curves = {"measured": report.sweep, "fitted": report.tuning.curve}
    curves |= {} if report.model is None else {"designed": report.model}
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
    drawn = [sweep] if report.model is None else [sweep, report.model]
    top = 10 * np.ceil(1.08 * max(c.between(low, high).magnitude.max() for c in drawn) / 10)
    marks = [Mark(float(t.fb), f"tuning {t.fb:.1f} Hz", "vent")] if t.peaks == 2 else []
    lines = [
        Line(sweep.frequency, t.curve.magnitude, "limit", "fitted"),
        Line(sweep.frequency, sweep.magnitude, "electrical", "measured", kind="points"),
    ]
    if plan is not None:
        lines.insert(
            0, Line(sweep.frequency, report.model.magnitude, "quiet", "as designed", plan.build)
        )
    where = f"{t.fb} tuning" if t.peaks == 2 else f"{t.resonance} resonance"
    said = [*report.words, *t.words]
    return Scene(
        title=f"{_drawn(sweep.name) or 'sweep'}: {where}",
        plots=(
            Plot(
                "Measured and fitted" if plan is None else "Measured, fitted, designed",
                "frequency, Hz", "magnitude of impedance, Ω",
                (low, high), (0, float(top)), tuple(lines), tuple(marks),
            ),
            *_difference(report, low, high),
        ),
        readout=tuple(said),
        numbers=tuple(
            Number(f"{label}, {unit}", f"{bare(value)}, designed {meant:.2f}")
            for label, value, meant, unit in _found(report)
        ),
        caption=(
            f"Points: {_drawn(sweep.name) or 'the sweep'}. Red: the circuit fitted to it."
            + ("" if plan is None else
               f" Grey: the {plan.build} box of {plan.volume:g} L as designed. Right: measured "
               "over designed.")
        ),
        alt=(
            f"{'One plot' if plan is None else 'Two plots'} against frequency, {low:.0f} to "
            f"{high:.0f} Hz. {'M' if plan is None else 'Left: m'}agnitude of impedance, 0 to "
            f"{top:.0f} Ω, measured{' and' if plan is None else ','} fitted"
            + (f"; {where}." if plan is None else
               f" and as designed; {where}. Right: the ratio of measured to designed in dB, −12 to "
               "12.")
        ),
        code=(
            "from boxlab.measure import read_sweep\n"
            "from boxlab.panel.sweep_plan import Plan\n"
            "from boxlab.panel.sweep_report import report\n"
            f"plan = {plan!r}\n"
            "print(report(read_sweep('my-sweep.csv'), plan).markdown())"
        ),
    )  # fmt: skip


def _difference(report, low, high):
    """The plot of measured over designed, where there is a design."""
    if report.plan is None:
        return ()
    ratio = 20 * np.log10(report.sweep.magnitude / report.model.magnitude)
    line = Line(report.sweep.frequency, ratio, "limit", "difference")
    return (
        Plot(
            "Measured over designed", "frequency, Hz", "ratio of magnitudes, dB re 1",
            (low, high), (-12, 12), (line,),
        ),
    )  # fmt: skip


def _drawn(name):
    """A file name that the font of our pictures has, and nothing in it that reads as a formula."""
    known = (c if c.isprintable() and ord(c) < 0x370 and c not in "$\\" else "_" for c in name)
    return "".join(known)[:60]
