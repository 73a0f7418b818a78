"""One radiator without its weights beside others that have theirs: tunings, nulls, travel."""

from __future__ import annotations

import numpy as np

from boxlab.base.units import grams, litres, to_mm
from boxlab.draw.scene import Choice, Explainer, Line, Mark, Number, Plot, Scene, Slider
from boxlab.explainers import _lost_words as say
from boxlab.explainers import _shared as shared
from boxlab.explainers._cuts import cut
from boxlab.explainers._shared import FREQUENCY, against_frequency
from boxlab.gear.shelf import COUNTS, leak, the_driver, the_radiator
from boxlab.model.enclosure import RadiatorBox
from boxlab.model.mixed_radiators import MixedRadiatorBox, coupled_tunings, each_radiator
from boxlab.model.response import solve

LEFT = np.linspace(0, 400, 81)  # g
BAND = (FREQUENCY >= 15) & (FREQUENCY <= 120)  # where levels are compared


def scene(count, volume, fitted, left, drive) -> Scene:
    """`count` radiators with `fitted` g on each but one, which has `left` g; net volume L; V."""
    f = facts(count, volume, fitted, left, drive)
    return Scene(
        shows={"radiators": f["r"]},
        cutaway=cut(f["driver"], f["box"], f["worst"], drive),
        title=f"{fitted:g} g on each, {left:g} g on one",
        headline=say.headline(f),
        plots=(_level(f), _travel(f), _impedance(f), _against_left(f)),
        readout=say.readout(f),
        numbers=_numbers(f),
        caption=(
            f"A box of {volume:g} L ({shared.cubic_feet_text(volume)}) with {say.weights(f)}, at "
            f"{drive:g} V. Grey: with {fitted:g} g on all. {say.why(f)}"
        ),
        alt=(
            "Four plots. Upper left: level at 1 m, 40 to 120 dB re 20 µPa, against frequency, 10 "
            "to 200 Hz, with equal weights and as it is. Upper right: travel of the radiators, 0 "
            "to 40 mm peak, with Xmax. Lower left: size of the impedance, 0 to 60 Ω. Lower right: "
            "tunings and nulls, 0 to 100 Hz, against the weight on the one, 0 to 400 g. "
            f"{say.readout(f)[0]}"
        ),
        code=_code(f),
    )


def facts(count, volume, fitted, left, drive):
    """Both boxes and what is said of them."""
    driver, bare, n, net = the_driver(), the_radiator(alike=False), COUNTS[count], litres(volume)
    whole = RadiatorBox(net, bare.with_mass(grams(fitted)), n, leak())
    masses = [grams(left)] + [grams(fitted)] * (n - 1)
    box = MixedRadiatorBox.weighted(net, bare, masses)
    # the same leak as before, at another tuning
    ql = leak() * float(box.tuning() / whole.tuning())
    box = MixedRadiatorBox(net, box.radiators, ql)
    r0, r = (solve(driver, each, FREQUENCY, drive) for each in (whole, box))
    change = np.where(BAND, r.spl - r0.spl, 0.0)
    low = int(np.argmin(change))
    return {
        "driver": driver, "bare": bare, "n": n, "net": net, "whole": whole, "box": box,
        "fitted": fitted, "left": left, "drive": drive, "r0": r0, "r": r,
        "tunings": tunings(net, bare, n, fitted, left), "fb": float(whole.tuning()),
        "fp": float(whole.radiator.fp), "nulls": sorted({float(each) for each in box.nulls}),
        "worst": float(FREQUENCY[low]), "loss": float(-change[low]),
        "there": shared.at(FREQUENCY, r.spl - r0.spl, float(whole.tuning())),
        "moving": each_radiator(r), "peaks": [_peaks(each) for each in (r0, r)],
    }  # fmt: skip


def tunings(net, bare, n, fitted, left):
    """Tunings, Hz, that the cone can drive, in rising order; arrays with `left`, g."""
    light = bare.with_mass(grams(left))
    alone = RadiatorBox(net, light).tuning()
    if n == 1:
        return (alone,)
    heavy = bare.with_mass(grams(fitted))
    others = RadiatorBox(net, heavy, n - 1).tuning()
    low, high = coupled_tunings(alone, others, light.fp, heavy.fp)
    return (low, high) if np.ndim(left) or left != fitted else (high,)


def _peaks(r):
    """Where the size of the impedance has a maximum below 100 Hz, Hz."""
    size = np.abs(r.impedance)
    here = (size[1:-1] > size[:-2]) & (size[1:-1] > size[2:]) & (FREQUENCY[1:-1] < 100)
    return [float(each) for each in FREQUENCY[1:-1][here]]


def _plot(title, ylabel, ylim, lines, marks=()):
    return against_frequency(title, ylabel, ylim, lines, marks)


def _level(f):
    return _plot(
        "Sound level at 1 m, half space",
        "level, dB re 20 µPa",
        (40, 120),
        (
            Line(FREQUENCY, f["r0"].spl, "quiet", "equal weights", "radiator"),
            Line(FREQUENCY, f["r"].spl, "sum", "as it is", "radiator"),
        ),
        tuple(Mark(each, f"null {each:.1f} Hz", "vent") for each in f["nulls"]),
    )


def _travel(f):
    light, heavy, xmax = f["moving"][0], f["moving"][-1], float(to_mm(f["bare"].xmax))
    lines = [Line(FREQUENCY, to_mm(f["r0"].vent_excursion), "quiet", "equal weights")]
    lines.append(Line(FREQUENCY, to_mm(light.excursion), "vent", f"with {f['left']:g} g"))
    if f["n"] > 1:
        label = f"with {f['fitted']:g} g"
        lines.append(Line(FREQUENCY, to_mm(heavy.excursion), "rear", label))
    marks = (Mark(xmax, f"Xmax {xmax:g} mm", "limit", "y"),) if np.isfinite(xmax) else ()
    return _plot("Travel of each radiator", "excursion, mm peak", (0, 40), tuple(lines), marks)


def _impedance(f):
    return _plot(
        "Impedance: a peak for each tuning, and one more",
        "size of the impedance, Ω",
        (0, 60),
        (
            Line(FREQUENCY, np.abs(f["r0"].impedance), "quiet", "equal weights"),
            Line(FREQUENCY, np.abs(f["r"].impedance), "electrical", "as it is"),
        ),
        tuple(Mark(float(each), f"tuning {each:.1f} Hz") for each in f["tunings"]),
    )


def _against_left(f):
    light = f["bare"].with_mass(grams(LEFT))
    tuned = tunings(f["net"], f["bare"], f["n"], f["fitted"], LEFT)
    lines = [Line(LEFT, each, "quiet", "tuning" if each is tuned[-1] else "") for each in tuned]
    lines.append(Line(LEFT, light.fp, "vent", "null of the one"))
    if f["n"] > 1:
        lines.append(Line(LEFT, np.full(LEFT.shape, f["fp"]), "rear", "null of the rest"))
    return Plot(
        "Tunings and nulls take turns",
        "weight on the one, g",
        "frequency, Hz",
        (0, 400),
        (0, 100),
        tuple(lines),
        (Mark(f["left"], f"{f['left']:g} g"), Mark(f["fitted"], "as on the others")),
        xscale="linear",
    )


def _numbers(f):
    rows = [
        shared.hertz("tuning with equal weights", f["fb"]),
        shared.hertz("null with equal weights", f["fp"]),
    ]
    for name, found in (("tuning", f["tunings"]), ("null", f["nulls"])):
        for place, each in enumerate(found):
            words = ("lower ", "higher ")[place] if len(found) == 2 else ""
            rows.append(shared.hertz(f"{words}{name} as it is", float(each)))
    rows += [
        Number("most that it is quieter, 15 to 120 Hz", f"{f['loss']:.1f} dB"),
        shared.hertz("there", f["worst"]),
        Number("change at the tuning of equal weights", f"{f['there']:+.1f} dB"),
        shared.travel_number("radiators' travel with equal weights", say.most(f["r0"])[0]),
        shared.travel_number("travel of the one", say.most(f["moving"][0])[0]),
    ]
    if f["n"] > 1:
        rows.append(shared.travel_number("travel of the others", say.most(f["moving"][-1])[0]))
    rows.append(Number("peaks of the impedance", f"{len(f['peaks'][1])}"))
    return tuple(rows)


def _code(f):
    masses = ", ".join(
        [f"grams({f['left']:g})", *[f"grams({f['fitted']:g})"] * (f["n"] - 1)]
    )  # fmt: skip
    return (
        "from boxlab import MixedRadiatorBox, grams, litres\n"
        "from boxlab.gear.scenario import TEN_INCH_RADIATOR\n"
        f"box = MixedRadiatorBox.weighted(litres({f['net'] * 1e3:g}), TEN_INCH_RADIATOR,\n"
        f"                                [{masses}])\n"
        "print(box.tunings(), box.nulls)"
    )


EXPLAINERS = (
    Explainer(
        name="a_lost_weight",
        question="What does one lost weight do?",
        controls=(
            Choice("count", "Radiators", ("one", "two", "three", "four"), "two"),
            Slider("left", "Weight on one of them", 0, 400, 0, 5, "g"),
            Slider("fitted", "Weight on each other", 0, 400, 150, 5, "g"),
            Slider("volume", "Net volume", 10, 60, 20, 0.5, "L"),
            Slider("drive", "Drive", 2, 40, 15, 0.5, "V", more=True),
        ),
        scene=scene,
        lesson="05-reading-a-sweep.ipynb",
        anchor="What-does-one-lost-weight-do",
        answer=(
            "The box tunes higher, so it is quieter below, and gets a second, low tuning and a "
            "second null, one for each radiator. Near the low tuning one radiator goes in while "
            "the other goes out: much travel, little sound. The impedance shows a third peak. Put "
            "the same weight on all."
        ),
        presets={
            "half lost": {"left": 75.0},
            "one of four": {"count": "four", "volume": 40.0},
            "all alike": {"left": 150.0},
        },
    ),
)
