"""How far off an impedance is that two unequal inputs and one resistor tell."""

from __future__ import annotations

import numpy as np

from boxlab.base import cautions
from boxlab.draw.scene import Explainer, Line, Mark, Number, Plot, Scene, Slider
from boxlab.measure.record.impedance import read_as

OHMS = np.geomspace(1, 100, 161)
RESISTORS = np.geomspace(1, 100, 161)
COIL, PEAK = 3.4, 40.0  # Ω: the class's coil, and a usual peak


def scene(apart, resistor, leads, measured) -> Scene:
    """Inputs `apart` dB, series `resistor` Ω, `leads` mΩ, and a thing of `measured` Ω."""
    wire = leads / 1e3
    coil, peak, here = (
        float(read_as(z, resistor, apart, wire)) for z in (COIL, PEAK, float(measured))
    )
    against_ohms = 100 * (read_as(OHMS, resistor, apart, wire) / OHMS - 1)
    against_resistor = 100 * (read_as(measured, RESISTORS, apart, wire) / measured - 1)
    return Scene(
        title=f"{PEAK:g} Ω read as {_ohms(peak)}",
        plots=(
            _plot("By what is measured", "true impedance, Ω", OHMS, against_ohms, measured),
            _plot(
                "By the resistor", "resistor in series, Ω", RESISTORS, against_resistor, resistor
            ),
        ),
        headline=f"Inputs {_db(apart)} apart read a peak of {PEAK:g} Ω as {_ohms(peak)}.",
        readout=(
            f"A peak of {PEAK:g} Ω is read as {_ohms(peak)}, {_off(peak, PEAK)}.",
            f"A coil of {COIL:g} Ω is read as {_ohms(coil)}, {_off(coil, COIL)}.",
            "Record both inputs on one node first: the difference is then known, and taken off.",
        ),
        numbers=(
            Number("difference of the inputs", _db(apart)),
            Number("in series", f"{resistor:g} Ω"),
            Number("leads", f"{leads:g} mΩ"),
            Number(f"what is measured, {measured:g} Ω, is read as", _ohms(here)),
            Number(f"{COIL:g} Ω is read as", _ohms(coil)),
            Number(f"{PEAK:g} Ω is read as", _ohms(peak)),
        ),
        caption=(
            f"What an impedance is read as with {resistor:g} Ω in series, where the input across "
            f"the device is {_db(apart)} louder than the other and {leads:g} mΩ of leads are "
            "counted in. Values far above the resistor are off by the most."
        ),
        alt=(
            "Two line plots, error in per cent, −50 to 100. Left, against the true impedance, 1 to "
            "100 Ω, log axis: the larger the impedance, the larger the error; "
            f"{_off(peak, PEAK)} at {PEAK:g} Ω. Right, against the resistor in series, 1 to "
            "100 Ω: the larger the resistor, the smaller the error."
        ),
        code=(
            f"x = 10 ** ({apart:g} / 20) * {measured:g} / ({resistor:g} + {measured:g})\n"
            f"print({resistor:g} * x / (1 - x))"
        ),
        cautions=cautions.words("sound card", "test signal"),
    )


def _plot(title, label, x, y, at):
    return Plot(
        title, label, "error of the reading, %", (1, 100), (-50, 100),
        (Line(x, np.clip(y, -60, 120), "electrical", "reads"),),
        (Mark(at, f"{at:g} Ω"), Mark(0.0, "right", axis="y")),
    )  # fmt: skip


def _db(apart):
    return f"{apart:.1f} dB".replace("-", "−")


def _ohms(value):
    return f"{value:.1f} Ω" if np.isfinite(value) else "no impedance at all"


def _off(value, true):
    if not np.isfinite(value):
        return "more than the whole voltage"
    return f"{100 * (value / true - 1):+.0f} %".replace("-", "−")


EXPLAINERS = (
    Explainer(
        name="unequal_inputs",
        question="How far off is an impedance read with two unequal inputs and one resistor?",
        controls=(
            Slider("apart", "Difference of the inputs", -1.0, 1.0, 0.3, 0.05, "dB"),
            Slider("resistor", "Resistor in series", 1.0, 50.0, 10.0, 0.5, "Ω"),
            Slider("leads", "Leads", 0, 300, 0, 10, "mΩ"),
            Slider("measured", "What is measured", 1.0, 80.0, 40.0, 1.0, "Ω"),
        ),
        scene=scene,
        lesson="12-measure-it-yourself.ipynb",
        anchor="See",
        answer=(
            "Tenths of a decibel between two inputs make tens of per cent on a tall peak. Record "
            "both inputs on one node first and divide it out, and check the bench on a known "
            "resistor."
        ),
        presets={
            "compared": {"apart": 0.0},
            "unequal": {},
            "small resistor": {"resistor": 1.0},
            "long leads": {"apart": 0.0, "leads": 200, "measured": 3.0},
        },
        gear=False,
    ),
)
