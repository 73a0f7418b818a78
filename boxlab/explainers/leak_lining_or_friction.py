"""Leak, lining, friction in the vent: what each loss of a vented box takes, and where it shows."""

from __future__ import annotations

from dataclasses import replace
from types import MappingProxyType

import numpy as np

from boxlab.base.units import disc_area, litres, mm, to_mm
from boxlab.draw.scene import Choice, Explainer, Line, Mark, Number, Plot, Scene, Slider
from boxlab.explainers import _shared as shared
from boxlab.explainers._cuts import cut
from boxlab.explainers._shared import FREQUENCY, against_frequency
from boxlab.gear.shelf import DRIVERS, RADIATORS, radiator_count
from boxlab.model.enclosure import PortedBox, RadiatorBox
from boxlab.model.losses import total_q, with_vent_q
from boxlab.model.response import solve

BUILDS = ("ported", "radiator")
# place of the loss -> (role of its curve, as it is called in a sentence)
PLACES = MappingProxyType(
    {
        "leak": ("leak", "a leak"),
        "absorption": ("rear", "a lining"),
        "friction": ("vent", "friction"),
    }
)
FINE = np.geomspace(10, 200, 1601)  # Hz, for the height of a peak
QS = np.geomspace(2, 200, 61)
NONE = 1e9  # a Q that is as good as no loss


def box_of(size, build, volume, fb, port=75.0):
    """A box of `volume` litres tuned to `fb` Hz without any loss; its port is `port` mm wide."""
    if build == "ported":
        return PortedBox.tuned(litres(volume), fb, disc_area(mm(port)), max_length=3)
    box = RadiatorBox.tuned(litres(volume), fb, RADIATORS[size], count=radiator_count(size))
    return with_vent_q(box, NONE)


def lossy(bare, ql=np.inf, qa=np.inf, qp=np.inf):
    """The box with these losses; each Q at the tuning."""
    box = replace(bare, ql=ql, qa=qa)
    return with_vent_q(box, qp) if np.all(np.isfinite(qp)) else box


def alone(bare, ql, qa, qp):
    """Three boxes, each with one loss only, by its place."""
    each = {"leak": {"ql": ql}, "absorption": {"qa": qa}, "friction": {"qp": qp}}
    return {place: lossy(bare, **one) for place, one in each.items()}


def scene(size, build, volume, fb, ql, qa, qp, port, drive) -> Scene:
    """A driver in a box of `volume` litres at `fb` Hz with losses QL, QA and QP; `drive` in V."""
    f = facts(size, build, volume, fb, ql, qa, qp, port, drive)
    told = _readout(f, fb, drive)
    return Scene(
        shows={"box": f["r"]},
        cutaway=cut(f["driver"], f["box"], fb, drive),
        title=f"Losses of a {build} box of {volume:g} L at {fb:g} Hz",
        headline=told[0],
        plots=(_impedance(f, fb), _lost(f, fb), _level(f, fb, build), _against_q(f, ql, qa, qp)),
        readout=told,
        numbers=_numbers(f),
        caption=(
            f"A {build} box of {volume:g} L ({shared.cubic_feet_text(volume)}) tuned to {fb:g} Hz. "
            f"{told[0]} The coloured curves put the same loss in one place each: a leak beside the "
            f"air, a lining in the air, friction in the vent. {told[2]}"
        ),
        alt=(
            "Four plots. Upper left: size of the impedance, 0 to 60 Ω, against frequency, 10 to "
            "200 Hz, with the same loss all as a leak, all as a lining, all as friction. Upper "
            "right: level lost in each of these cases, −2 to 8 dB. Lower left: level, 60 to 120 dB "
            "re 20 µPa, without loss and as it is. Lower right: level lost at the tuning, 0 to 10 "
            f"dB, against the Q of one loss, 2 to 200, log axis, falling. {told[0]} {told[2]}"
        ),
        code=_code(size, build, volume, fb, ql, qa, qp, port),
    )


def facts(size, build, volume, fb, ql, qa, qp, port, drive):
    """The box as it is, without loss, with one loss at a time, and with all of it in one place."""
    driver, bare = DRIVERS[size], box_of(size, build, volume, fb, port)
    box = lossy(bare, ql, qa, qp)
    qb = float(total_q(box))
    moved = alone(bare, qb, qb, qb)
    r0, r = (solve(driver, each, FREQUENCY, drive) for each in (bare, box))
    places = {name: solve(driver, each, FREQUENCY, drive) for name, each in moved.items()}

    def lost(each):
        quiet, loud = (solve(driver, b, fb, drive).spl for b in (each, bare))
        return float(loud - quiet)

    still = {n: float(to_mm(solve(driver, b, fb, drive).cone_excursion)) for n, b in
             (("without", bare), ("with", box))}  # fmt: skip
    return {
        "driver": driver, "bare": bare, "box": box, "qb": qb, "r0": r0, "r": r, "places": places,
        "lost": lost(box), "each": {n: lost(b) for n, b in alone(bare, ql, qa, qp).items()},
        "peaks": {n: _peaks(driver, b, fb) for n, b in {"none": bare, **moved}.items()},
        "still": still, "against": {n: _over_q(driver, bare, n, fb) for n in PLACES},
        "qs": (ql, qa, qp),
    }  # fmt: skip


def _peaks(driver, box, fb):
    """Ohms of the lower and of the upper peak."""
    size = np.abs(solve(driver, box, FINE).impedance)
    return float(size[fb > FINE].max()), float(size[fb < FINE].max())


def _over_q(driver, bare, place, fb):
    """Level that one loss alone takes at the tuning, dB, for each of `QS`."""
    box = alone(bare, QS, QS, QS)[place]
    return solve(driver, bare, fb).spl - solve(driver, box, fb).spl


def _least(f, peak):
    """In which place the same loss leaves the lower (0) or upper (1) peak lowest, in words."""
    return PLACES[min(PLACES, key=lambda place: f["peaks"][place][peak])][1]


def _readout(f, fb, drive):
    ql, qa, qp = f["qs"]
    each = f["each"]
    heights = "; ".join(
        f"all of it {PLACES[n][1]}, {f['peaks'][n][0]:.1f} and {f['peaks'][n][1]:.1f} Ω"
        for n in PLACES
    )
    return (
        f"QL {ql:g}, QA {qa:g} and QP {qp:g} make a QB of {f['qb']:.1f}: {f['lost']:.1f} dB lost "
        f"at the tuning.",
        f"Each alone would take {each['leak']:.1f} dB (leak), {each['absorption']:.1f} dB "
        f"(lining) and {each['friction']:.1f} dB (friction).",
        f"The peaks tell them apart: the lower one suffers most from {_least(f, 0)}, the upper one "
        f"from {_least(f, 1)}.",
        f"With the same QB the peaks are, {heights}; without loss {f['peaks']['none'][0]:.1f} and "
        f"{f['peaks']['none'][1]:.1f} Ω.",
        f"At {fb:g} Hz and {drive:g} V the cone moves {f['still']['with']:.2f} mm, without loss "
        f"{f['still']['without']:.2f} mm.",
    )


def _level(f, fb, build):
    lines = (
        Line(FREQUENCY, f["r0"].spl, "quiet", "no loss", build),
        Line(FREQUENCY, f["r"].spl, "sum", "as it is", build),
    )
    mark = (Mark(fb, f"tuning {fb:g} Hz"),)
    return against_frequency(
        "Sound level at 1 m, half space", "level, dB re 20 µPa", (60, 120), lines, mark
    )


def _each(f, curve):
    return tuple(
        Line(FREQUENCY, curve(r), PLACES[n][0], f"all {PLACES[n][1].removeprefix('a ')}")
        for n, r in f["places"].items()
    )


def _impedance(f, fb):
    return against_frequency(
        "Impedance, the same loss in one place each",
        "size of the impedance, Ω",
        (0, 60),
        _each(f, lambda r: np.abs(r.impedance)),
        (Mark(fb, f"tuning {fb:g} Hz"),),
    )


def _lost(f, fb):
    return against_frequency(
        "Level that it takes, in one place each",
        "level lost, dB",
        (-2, 8),
        _each(f, lambda r: f["r0"].spl - r.spl),
        (Mark(fb, f"tuning {fb:g} Hz"),),
    )


def _against_q(f, *qs):
    lines = tuple(
        Line(QS, f["against"][n], role, f"{said.removeprefix('a ')} alone")
        for n, (role, said) in PLACES.items()
    )
    marks = tuple(Mark(q, f"{name} {q:g}") for name, q in zip(("QL", "QA", "QP"), qs, strict=True))
    return Plot(
        "Level lost at the tuning by one loss alone",
        "its Q, more is better",
        "level lost, dB",
        (2, 200),
        (0, 10),
        lines,
        marks,
    )


def _numbers(f):
    peaks = f["peaks"]
    return (
        Number("all together, QB", f"{f['qb']:.1f}"),
        Number("lost at the tuning, all", f"{f['lost']:.1f} dB"),
        *(Number(f"lost at the tuning, {n} alone", f"{f['each'][n]:.1f} dB") for n in PLACES),
        *(Number(f"lower peak, all of it {n}", f"{peaks[n][0]:.1f} Ω") for n in PLACES),
        *(Number(f"upper peak, all of it {n}", f"{peaks[n][1]:.1f} Ω") for n in PLACES),
        Number("peaks without loss", f"{peaks['none'][0]:.1f}, {peaks['none'][1]:.1f} Ω"),
    )


def _code(size, build, volume, fb, ql, qa, qp, port):
    return (
        "from boxlab import solve, total_q\n"
        "from boxlab.explainers import leak_lining_or_friction as losses\n"
        f"driver = losses.DRIVERS[{size!r}]\n"
        f"bare = losses.box_of({size!r}, {build!r}, {volume:g}, {fb:g}, {port:g})\n"
        f"box = losses.lossy(bare, {ql:g}, {qa:g}, {qp:g})\n"
        "print(total_q(box), "
        f"solve(driver, bare, {fb:g}).spl - solve(driver, box, {fb:g}).spl)"
    )


EXPLAINERS = (
    Explainer(
        name="leak_lining_or_friction",
        question="A leak, a lining or a rough vent: which loss takes what?",
        controls=(
            Choice("size", "Driver", tuple(DRIVERS), "ten-inch"),
            Choice("build", "Vent", BUILDS, BUILDS[0]),
            Slider("ql", "Leak, QL", 3, 200, 7, 0.5, ""),
            Slider("qa", "Lining, QA", 3, 200, 70, 0.5, ""),
            Slider("qp", "Friction in the vent, QP", 3, 200, 60, 0.5, ""),
            Slider("volume", "Net volume", 14, 80, 30, 0.5, "L", more=True),
            Slider("fb", "Tuning", 28, 50, 36, 0.5, "Hz", more=True),
            Slider("port", "Port diameter", 50, 120, 75, 1, "mm", more=True),
            Slider("drive", "Drive", 1, 40, 2.83, 0.01, "V", more=True),
        ),
        scene=scene,
        lesson="05-reading-a-sweep.ipynb",
        anchor="A-leak-a-lining-or-a-rough-vent",
        answer=(
            "At the tuning they cost the same: only 1/QL + 1/QA + 1/QP counts. Elsewhere friction "
            "in the vent takes the lower peak of the impedance, a lining the upper one, and a leak "
            "some of both. So a sweep can tell them apart, and a level at the tuning cannot."
        ),
        presets={
            "sharp port at 17 m/s": {"qp": 7.0},
            "stuffed": {"qa": 12.0},
            "gasket gone": {"ql": 3.0},
            "radiator": {"build": "radiator"},
        },
    ),
)
