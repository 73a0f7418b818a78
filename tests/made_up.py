"""An explainer of plain maths, for tests of pictures and panels that must not lean on the model."""

from __future__ import annotations

import warnings

import numpy as np

from boxlab.draw.scene import Choice, Explainer, Line, Mark, Number, Plot, Scene, Slider

FREQUENCY = np.geomspace(10, 200, 400)


def hump(f0, q, order):
    """Gain of a resonant high-pass of a made-up order, in dB."""
    ratio = (FREQUENCY / f0) ** 2
    gain = ratio / np.sqrt((1 - ratio) ** 2 + ratio / q**2)
    return 20 * np.log10(gain) * order / 2


def scene(volume=14.0, tuning=45.0, q=0.7, drive=4.0, limit=8.0, slope=4, box="radiator"):
    if volume * tuning > 5000:
        raise ValueError(f"volume = {volume:g} L: no <made-up> box holds that with {tuning:g} Hz")
    if q > 1.8:
        warnings.warn("q is past what the made-up maths means", UserWarning, stacklevel=2)
    total = 90 + 5 * np.log10(volume) + hump(tuning, q, slope)
    still = 90 + 5 * np.log10(volume) + hump(1.3 * tuning, q, 2)
    motion = drive / (1 + (FREQUENCY / tuning - 1) ** 2 * 6)
    other = drive / (0.4 + (FREQUENCY / tuning) ** 3)
    ohms = 4 + 30 / (1 + 20 * np.log(FREQUENCY / tuning / 0.6) ** 2)
    phase = 180 / (1 + (FREQUENCY / tuning) ** 4)
    f = FREQUENCY
    sides = {"xlabel": "frequency, Hz", "xlim": (10, 200)}
    return Scene(
        title="A made-up box",
        plots=(
            Plot("How loud", ylabel="level, dB re 20 µPa", ylim=(60, 120), **sides,
                 lines=(Line(f, total, "sum", box, box if box != "none" else ""),
                        Line(f, still, "quiet", "sealed, same volume", "sealed")),
                 marks=(Mark(tuning, f"tuning {tuning:.1f} Hz", "vent"),
                        Mark(tuning * 0.8, f"null {tuning * 0.8:.1f} Hz", "quiet"))),
            Plot("How far it moves", ylabel="excursion, mm peak", ylim=(0, 20), **sides,
                 lines=(Line(f, motion, "cone", "cone"),
                        Line(f, other, "vent", "radiator", box if box != "none" else "")),
                 marks=(Mark(limit, f"limit {limit:g} mm", "limit", "y"),
                        Mark(tuning, "tuning", "vent"))),
            Plot("Impedance", ylabel="impedance, Ω", ylim=(1, 100), yscale="log", **sides,
                 lines=(Line(f, ohms, "electrical", "magnitude"),
                        Line(f[::20], ohms[::20] * 1.1, "limit", "measured", "", "points"))),
            Plot("Phase, vent against cone", ylabel="phase, degrees", ylim=(-30, 210), **sides,
                 yticks=(0, 45, 90, 135, 180), lines=(Line(f, phase, "vent", "vent"),),
                 marks=(Mark(90, "a quarter cycle", "quiet", "y"),)),
        ),
        readout=(f"Tuning {tuning:.1f} Hz in {volume:g} L.", f"Peak at {q * 2:.2f} < 9 & rising."),
        numbers=(Number("net volume", f"{volume:.1f} L", f"{volume / 28.3168:.2f} ft³"),
                 Number("tuning", f"{tuning:.1f} Hz")),
        caption="The level falls below tuning. All numbers are made up.",
        alt="Four plots against frequency from 10 to 200 Hz: level, excursion, impedance, phase.",
        code=f"made_up(volume={volume:g})",
        warnings=("Made-up limits reached.",) if drive > 9 else (),
    )  # fmt: skip


MADE_UP = Explainer(
    name="made-up",
    question="What does a made-up box do?",
    controls=(
        Slider("volume", "Net volume", 5, 80, 14.0, 0.5, "L"),
        Slider("tuning", "Tuning frequency", 20, 90, 45.0, 0.5, "Hz"),
        Slider("q", "Sharpness with a rather long label that must not be cut off", 0.3, 2, 0.7,
               0.05, ""),
        Slider("drive", "Drive", 1, 10, 4.0, 0.1, "mm"),
        Choice("box", "Box", ("radiator", "ported", "sealed"), "radiator"),
        Slider("limit", "Stop", 2, 15, 8.0, 0.5, "mm", more=True),
        Slider("slope", "Order", 2, 6, 4, 1, "", more=True),
    ),
    scene=scene,
    lesson="01-made-up.ipynb",
    anchor="why",
    answer="Nothing real: it is made up.",
    presets={"small": {"volume": 7.0}, "large": {"volume": 40.0, "tuning": 30.0}},
)  # fmt: skip
