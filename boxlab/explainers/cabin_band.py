"""How much a cabin lifts the lowest notes: a band, and where the picture stops."""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from boxlab.base.units import to_cubic_feet
from boxlab.car.vehicle import LEAKY, MIDDLING, TIGHT, Cabin, cabin_lift, even_lift, pressure_lift
from boxlab.draw.scene import Explainer, Line, Mark, Number, Plot, Scene, Slider
from boxlab.draw.surroundings import cabin_cut
from boxlab.explainers import _cars as cars
from boxlab.explainers import _shared as shared
from boxlab.explainers._cars import FREQUENCY
from boxlab.explainers._shared import against_frequency

LENGTHS = np.linspace(1.0, 6.5, 23)  # m
ROOF, ROOFED = 35.0, 40.0  # Hz: a panel with a resonance in the band, and a note above it


def scene(length, width, height, frequency, leak, give, filled) -> Scene:
    """The lift of a cabin of these sizes (m), as a band, with a middle guess of your own."""
    cabin = Cabin(length, width, height, filled / 100)
    lift = cabin_lift(cabin, FREQUENCY, middling=(leak, give))
    rigid = 20 * np.log10(np.abs(pressure_lift(FREQUENCY, cabin.volume)))
    low, mid, high, sealed = (
        shared.at(FREQUENCY, curve, frequency) for curve in (lift.low, lift.mid, lift.high, rigid)
    )
    first, end = float(cabin.first_mode()), lift.valid[1]
    roof = 20 * np.log10(abs(pressure_lift(ROOFED, cabin.volume, 1.0, 0.0, give, panel=ROOF)))
    added = float(roof - 20 * np.log10(abs(pressure_lift(ROOFED, cabin.volume))))
    return Scene(
        cutaway=cabin_cut(length, height),
        title=f"{cabin.volume:.1f} m³ of air: {low:.0f} to {high:.0f} dB at {frequency:g} Hz",
        plots=(
            _lift(lift, rigid, first, frequency),
            _slope(cabin, (leak, give), lift),
            _modes(cabin),
            _sizes(cabin, frequency, leak, give),
        ),
        readout=_readout(cabin, frequency, (low, mid, high, sealed), first, end, give, added),
        numbers=_numbers(cabin, frequency, (low, mid, high, sealed), first, end),
        caption=(
            f"A cabin of {cars.sizes_text(cabin)}, {cabin.volume:.1f} m³ of air. Upper left, what "
            "it adds to the level of the same box outdoors: between the lowest and the highest "
            f"line, at {frequency:g} Hz {low:.0f} to {high:.0f} dB, in the front three fifths. "
            "Red, the textbook's sealed and rigid cabin. The bracket is ours; measure your own car."
        ),
        alt=(
            "Four plots. Upper left: lift in dB, 0 to 40, against frequency, 10 to 200 Hz: low, "
            "middle and high edge of a band 10 dB wide and more, and a red line of "
            "12 dB per octave. Upper right: slope of the three in dB per octave, −14 to 0. Lower "
            f"left: modes of the cabin by frequency and direction, the first at {first:.0f} Hz. "
            f"Lower right: lift at {frequency:g} Hz against air in the cabin, 0 to 12 m³, falling."
        ),
        code=(
            "from boxlab.car.vehicle import Cabin, cabin_lift\n"
            f"cabin = Cabin({length:g}, {width:g}, {height:g}, {filled / 100:g})\n"
            f"lift = cabin_lift(cabin, [{frequency:g}], middling=({leak:g}, {give:g}))\n"
            "print(lift.low, lift.mid, lift.high, cabin.first_mode(), lift.assumptions)"
        ),
        warnings=(
            (
                f"{frequency:g} Hz is above {end:.0f} Hz, where the pressure zone ends: here "
                "modes make peaks and dips, and the band only marks the trend.",
            )
            if frequency > end
            else ()
        ),
    )


def _lift(lift, rigid, first, frequency):
    return against_frequency(
        "Lift over the same box outdoors",
        "lift, dB re half space at 1 m",
        (0, 40),
        (
            Line(FREQUENCY, rigid, "limit", "textbook: sealed, rigid"),
            Line(FREQUENCY, lift.high, "sum", "high: tight"),
            Line(FREQUENCY, lift.mid, "quiet", "your guess"),
            Line(FREQUENCY, lift.low, "leak", "low: leaky"),
        ),
        (
            Mark(lift.valid[1], f"zone ends {lift.valid[1]:.0f} Hz", "limit"),
            Mark(first, f"first mode {first:.0f} Hz"),
        ),
    )


def slope(frequency, curve):
    """dB per octave of a curve in dB, shape (n,)."""
    return np.gradient(curve, np.log2(frequency))


def _slope(cabin, guess, lift):
    def line(car, role, label):
        return Line(FREQUENCY, slope(FREQUENCY, even_lift(cabin, FREQUENCY, car)), role, label)

    return against_frequency(
        "How steep it is, even pressure",
        "slope, dB per octave",
        (-14, 0),
        (
            line(TIGHT, "sum", "tight"),
            line(guess, "quiet", "your guess"),
            line(LEAKY, "leak", "leaky"),
        ),
        (
            Mark(-12.0, "textbook −12", "limit", "y"),
            Mark(lift.valid[1], f"zone ends {lift.valid[1]:.0f} Hz", "limit"),
        ),
    )


def _modes(cabin):
    modes = cabin.modes(10)
    where = [1 + order.index(max(order)) if sum(map(bool, order)) == 1 else 4 for _, order in modes]
    return against_frequency(
        "Modes of an empty brick of that size",
        "along",
        (0.5, 4.5),
        (
            Line(
                np.array([f for f, _ in modes]),
                np.array(where, dtype=float),
                "sum",
                "first ten modes",
                kind="points",
            ),
        ),
        (Mark(modes[0][0], f"first {modes[0][0]:.0f} Hz"),),
        yticks=(1, 2, 3, 4),
        ynames=("length", "width", "height", "mixed"),
        xlim=(10, 400),
    )


@lru_cache(32)  # it does not hang on the cabin's own length, which a hand moves first
def _lifts(width, height, filled, frequency, leak, give):
    cabins = [Cabin(length, width, height, filled) for length in LENGTHS]
    return cabins, [cabin_lift(each, frequency, middling=(leak, give)) for each in cabins]


def _sizes(cabin, frequency, leak, give):
    cabins, lifts = _lifts(cabin.width, cabin.height, cabin.filled, frequency, leak, give)
    air = np.array([each.volume for each in cabins])
    return Plot(
        "Lift at that note, cabin short to long",
        "air in the cabin, m³",
        "lift, dB re half space at 1 m",
        (0, 12),
        (0, 40),
        (
            Line(air, np.array([each.high[0] for each in lifts]), "sum", "high"),
            Line(air, np.array([each.mid[0] for each in lifts]), "quiet", "your guess"),
            Line(air, np.array([each.low[0] for each in lifts]), "leak", "low"),
        ),
        (Mark(cabin.volume, f"this one, {cabin.volume:.1f} m³"),),
        xscale="linear",
    )


def _readout(cabin, frequency, levels, first, end, give, added):
    low, mid, high, sealed = levels
    return (
        f"At {frequency:g} Hz the cabin adds {low:.0f} to {high:.0f} dB, a band "
        f"{high - low:.0f} dB wide; your guess says {mid:.0f}.",
        f"The textbook's sealed and rigid cabin says {sealed:.1f} dB, the same at every seat. "
        "Leaks, and panels below their own resonance, take away; where box and head are counts "
        "both ways.",
        f"The first length mode is at {first:.0f} Hz. The pressure zone ends at about "
        f"{end:.0f} Hz.",
        f"No edge covers a panel above its own resonance: a roof of {ROOF:g} Hz that gives "
        f"{give:g} times the air changes {ROOFED:g} Hz by {added:+.0f} dB.".replace("-", "−"),
        f"{cabin.volume:.1f} m³ of air, doors and windows shut. The bracket is ours: no published "
        "set of values was found. Measure your own car.",
    )


def _numbers(cabin, frequency, levels, first, end):
    low, mid, high, sealed = levels
    return (
        Number(
            "air in the cabin",
            f"{cabin.volume:.2f} m³",
            f"{to_cubic_feet(cabin.volume):.0f} ft³",
        ),
        shared.hertz("first length mode, c/2L", first),
        shared.hertz("end of the pressure zone", end),
        Number(f"lift at {frequency:g} Hz, low edge", f"{low:.1f} dB"),
        Number(f"lift at {frequency:g} Hz, your guess", f"{mid:.1f} dB"),
        Number(f"lift at {frequency:g} Hz, high edge", f"{high:.1f} dB"),
        Number("textbook: sealed, rigid", f"{sealed:.1f} dB"),
        *(
            shared.hertz(f"mode {k + 1}: half waves along l, w, h {order}", f)
            for k, (f, order) in enumerate(cabin.modes(4))
        ),
    )


EXPLAINERS = (
    Explainer(
        name="cabin_band",
        gear=False,
        question="How much does a cabin lift the lowest notes?",
        controls=(
            cars.metre_slider("length", "Cabin length inside", 1.6, 5.0, 2.6),
            cars.metre_slider("width", "Width", 1.1, 2.0, 1.45),
            cars.metre_slider("height", "Height", 0.9, 1.9, 1.15),
            Slider("frequency", "Look at", 12, 100, 25, 1, "Hz"),
            Slider(
                "leak", "Your guess: leak corner", 0.5, 40, MIDDLING[0], 0.5, "Hz",
                help="Below it the air escapes faster than the cone pumps.",
            ),
            Slider(
                "give", "Your guess: panels give", 0, 2, MIDDLING[1], 0.05, "× the air",
                help="How much the panels yield, as a share of what the air itself does.",
            ),
            Slider("filled", "Share of the brick that is air", 50, 100, 75, 1, "%", more=True),
        ),
        scene=scene,
        lesson="08-in-the-car.ipynb",
        anchor="See",
        answer=(
            "Below half the first length mode a shut cabin lifts the lowest notes, the more the "
            "lower, but by a band and not by 12 dB an octave: at 25 Hz in a middling car some 9 "
            "to 22 dB. Leaks, giving panels and your seat set where in the band."
        ),
        presets={"a van": {"length": 4.2, "width": 1.65, "height": 1.45}},
    ),
)  # fmt: skip
