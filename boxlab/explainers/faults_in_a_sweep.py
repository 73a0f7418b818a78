"""What a leak, a loose radiator, stuffing or a rattle does to a sweep; and cases to find it in."""

from __future__ import annotations

import numpy as np

from boxlab.draw.scene import Choice, Explainer, Line, Number, Scene, Slider
from boxlab.explainers._cuts import cut
from boxlab.explainers._shared import against_frequency
from boxlab.gear.demo_sweeps import CASES, FAULTS, measure, riddle, with_fault
from boxlab.gear.shelf import remembered
from boxlab.measure.fit.landmarks import jagged, seen

IN_ORDER = "none: the box is in order"
CASE_COUNT = 24
_LAYOUT = "160 points, 10 Hz to 1 kHz, scatter 0.5 %, mains hum at 50 Hz; invented"


@remembered(64)
def _pair(fault, size):
    """The box in order, measured, and the same with the fault."""
    case = CASES["radiator"]
    after = case if fault == IN_ORDER else with_fault(case, fault, size)
    return measure(case, seed=41), measure(after, seed=42)


@remembered(64)
def case(number):
    """The riddle of that number, 1 to 24: the sweeps are those that the panel shows."""
    return riddle(int(number))


@remembered(64)
def facts(number):
    """Landmarks of the sweep before and of the faulty sweep of a case, and its jagged stretches."""
    one = case(number)
    return seen(one.sound), seen(one.faulty), tuple(jagged(one.faulty))


def faults_scene(fault, size) -> Scene:
    """A named fault, `size` times as bad as usual, beside the box in order."""
    before, after = _pair(fault, size)
    words = FAULTS.get(fault, "Two sweeps of one box in order differ by their scatter alone.")
    return _scene(
        before,
        after,
        f"Fault: {fault}",
        words,
        'from boxlab.gear.demo_sweeps import CASES, measure, with_fault\ncase = CASES["radiator"]\n'
        + ("" if fault == IN_ORDER else f"case = with_fault(case, {fault!r}, {size:g})\n")
        + "from boxlab.measure.fit.landmarks import seen\nprint(seen(measure(case, seed=42)))",
    )


def riddle_scene(number) -> Scene:
    """Case `number`: what was measured, without the answer."""
    one = case(number)
    return _scene(
        one.sound,
        one.faulty,
        f"Case {number:g}: what is wrong with this box?",
        "",
        "from boxlab.explainers.faults_in_a_sweep import facts\n"
        f"for landmarks in facts({number:g}):\n    print(landmarks)",
    )


def _scene(before, after, title, words, code):
    a, b, rough = seen(before), seen(after), jagged(after)
    return Scene(
        cutaway=cut(CASES["radiator"].driver, CASES["radiator"].box, a.fm),
        title=title,
        plots=(_curves(before, after), _ratio(before, after)),
        headline=_headline(a, b),
        readout=_readout(a, b, rough, words),
        numbers=_numbers(a, b),
        caption=(
            "A radiator box measured while it was in order (thin, grey) and now (points). Right: "
            f"now over before, in dB; zero where nothing has changed. {_LAYOUT}."
        ),
        alt=(
            "Two plots against frequency, 10 to 400 Hz. Left: magnitude of impedance, 0 to 40 Ω, "
            f"of the box in order with peaks at {a.fl:.1f} and {a.fh:.1f} Hz, and of the box now "
            f"with peaks at {b.fl:.1f} and {b.fh:.1f} Hz. Right: the ratio of the two in dB, −12 "
            "to 12."
        ),
        code=code,
    )


def _curves(before, after):
    return against_frequency(
        "Impedance, before and now",
        "magnitude of impedance, Ω",
        (0, 40),
        (
            Line(before.frequency, before.magnitude, "quiet", "before"),
            Line(after.frequency, after.magnitude, "electrical", "now", kind="points"),
        ),
        xlim=(10, 400),
    )


def _ratio(before, after):
    change = 20 * np.log10(after.magnitude / before.magnitude)
    return against_frequency(
        "What has changed",
        "now over before, dB re 1",
        (-12, 12),
        (Line(after.frequency, change, "limit", "now over before"),),
        xlim=(10, 400),
    )


def _moved(name, before, now):
    percent = 100 * (now / before - 1)
    if abs(percent) < 1:
        return f"{name} stays"
    return f"{name} {'up' if percent > 0 else 'down'} {abs(percent):.0f} %"


def _headline(a, b):
    """What has changed most of the two peaks and the valley, in words that give no fault away."""
    parts = {"lower peak": ("fl", "zl"), "valley": ("fm", "zm"), "upper peak": ("fh", "zh")}
    changes = [
        (abs(np.log(getattr(b, key) / getattr(a, key))), name, key, unit)
        for name, keys in parts.items()
        for key, unit in zip(keys, ("Hz", "Ω"), strict=True)
    ]
    most, name, key, unit = max(changes)
    before, now = getattr(a, key), getattr(b, key)
    if most < 0.02:
        return f"Both peaks and the valley are where they were, the valley at {b.fm:.1f} Hz."
    way = "up" if now > before else "down"
    return f"Most has changed at the {name}: it is {way} from {before:.1f} to {now:.1f} {unit}."


def _readout(a, b, rough, words):
    moved = ", ".join(
        _moved(name, getattr(a, key), getattr(b, key))
        for name, key in (("fL", "fl"), ("valley", "fm"), ("fH", "fh"))
    )
    heights = ", ".join(
        f"{name} {getattr(a, key):.1f} → {getattr(b, key):.1f} Ω"
        for name, key in (("lower peak", "zl"), ("valley", "zm"), ("upper peak", "zh"))
    )
    stretches = " and ".join(f"{low:.0f} to {high:.0f} Hz" for low, high in rough)
    jags = f"Jagged from {stretches}." if rough else "Nowhere jagged, single points apart."
    lines = (f"Where: {moved}.", f"How high: {heights}.", jags)
    return (*lines, words) if words else lines


def _numbers(a, b):
    def row(name, key, unit):
        return Number(name, f"{getattr(a, key):.1f} → {getattr(b, key):.1f} {unit}")

    return (
        row("lower peak, Hz", "fl", "Hz"),
        row("valley, Hz", "fm", "Hz"),
        row("upper peak, Hz", "fh", "Hz"),
        row("lower peak, Ω", "zl", "Ω"),
        row("valley, Ω", "zm", "Ω"),
        row("upper peak, Ω", "zh", "Ω"),
    )


EXPLAINERS = (
    Explainer(
        name="faults_in_a_sweep",
        question="What does a fault in a box look like in its sweep?",
        controls=(
            Choice("fault", "Fault", (IN_ORDER, *FAULTS), "leak"),
            Slider("size", "How bad, 1 is usual", 0.25, 2.0, 1.0, 0.25, "×"),
        ),
        scene=faults_scene,
        lesson="05-reading-a-sweep.ipynb",
        anchor="What-does-a-fault-look-like",
        answer=(
            "Losses lower the peaks and lift the valley, masses and volumes move things sideways, "
            "and what rattles makes points jagged."
        ),
    ),
    Explainer(
        name="spot_the_fault",
        question="Spot the fault: what is wrong with this box?",
        controls=(Slider("number", "Case", 1, CASE_COUNT, 1, 1, ""),),
        scene=riddle_scene,
        lesson="05-reading-a-sweep.ipynb",
        anchor="Spot-the-fault",
        answer="Each case hides one fault; where the peaks went and how high they are tells which.",
    ),
)
