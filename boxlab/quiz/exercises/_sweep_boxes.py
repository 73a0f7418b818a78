"""Exercises on what three resonances and a sealed peak tell, for the lesson on sweeps."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np

from boxlab.base.quantities import digits
from boxlab.base.units import litres, to_cubic_feet
from boxlab.quiz.task import Exercise

# Tuning from three resonances.


def _draw_peaks(rng):
    fs = float(rng.uniform(26, 36))
    fb = fs * float(rng.uniform(1.12, 1.4))
    alpha = float(rng.uniform(1.2, 3.5))
    total, product = fb**2 + fs**2 * (1 + alpha), fs * fb
    root = np.sqrt(total**2 - 4 * product**2)
    return SimpleNamespace(
        fl=round(float(np.sqrt((total - root) / 2)), 1),
        fh=round(float(np.sqrt((total + root) / 2)), 1),
        fc=round(fs * float(np.sqrt(1 + alpha)), 1),
    )


def _sum(n):
    return float(np.sqrt(n.fl**2 + n.fh**2 - n.fc**2))


three_peaks = Exercise(
    "reading-a-sweep/three-peaks",
    title="Where is the tuning, by the three resonances?",
    draw=_draw_peaks,
    prompt=lambda n: (
        f"A ported box shows peaks at {n.fl:g} and {n.fh:g} Hz. With the port stopped by a board "
        f"it shows one peak, at {n.fc:g} Hz. Where is it tuned?"
    ),
    answer=_sum,
    unit="Hz",
    formula="fb = √(fL² + fH² − fC²)",
    letters=lambda n: {"fL": n.fl, "fH": n.fh, "fC": n.fc},
    tolerance=0.01,
    slips={
        "That is the middle of the two peaks on a log axis. The tuning is not there.": (
            lambda n: np.sqrt(n.fl * n.fh)
        ),
        "Take the root at the end: squares were added.": lambda n: _sum(n) ** 2,
        "The sealed peak has to be taken off, squared.": lambda n: np.hypot(n.fl, n.fh),
    },
    hints=lambda n: (
        "Three resonances of one box: two with the vent open, one with it shut.",
        "fb² = fL² + fH² − fC².",
        f"fL² + fH² = {digits(n.fl**2 + n.fh**2)} Hz², fC² = {digits(n.fc**2)} Hz².",
    ),
    solution=lambda n: (
        f"fb = √({n.fl:g}² + {n.fh:g}² − {n.fc:g}²) = **{_sum(n):.1f} Hz**. It needs no phase and "
        "no lowest point. The vent must be shut tight."
    ),
)


# What the build got wrong.


def _draw_volume(rng):
    drawn = int(rng.integers(24, 60)) / 2
    real = drawn * float(rng.uniform(0.78, 0.93))
    fs, vas = int(rng.integers(50, 72)) / 2, int(rng.integers(20, 60))
    return SimpleNamespace(
        drawn=drawn, fs=fs, vas=vas, fc=round(fs * float(np.sqrt(1 + vas / real)), 1)
    )


def _volume(n):
    return n.vas / ((n.fc / n.fs) ** 2 - 1)


volume = Exercise(
    "reading-a-sweep/volume",
    title="How large did the box come out?",
    draw=_draw_volume,
    prompt=lambda n: (
        f"A box was drawn for {n.drawn:g} L ({to_cubic_feet(litres(n.drawn)):.2f} ft³) net. The "
        f"driver has fs {n.fs:g} Hz and Vas {n.vas} L. With the radiator held still, the box "
        f"shows one peak, at {n.fc:g} Hz. What is the net volume really?"
    ),
    answer=_volume,
    unit="L",
    formula="Vb = Vas/((fc/fs)² − 1)",
    letters=lambda n: {"Vas": litres(n.vas), "fc": n.fc, "fs": n.fs},
    tolerance=0.02,
    slips={
        "You forgot to take 1 off: with no box at all the ratio would be 1.": (
            lambda n: n.vas / (n.fc / n.fs) ** 2
        ),
        "Square the ratio of the frequencies first.": lambda n: n.vas / (n.fc / n.fs - 1),
        "The other way round: a stiffer, smaller box raises the peak.": (
            lambda n: n.vas * ((n.fc / n.fs) ** 2 - 1)
        ),
    },
    hints=lambda n: (
        "The air of the box is a second spring beside the suspension. How much stiffer are both "
        "together than one?",
        "(fc/fs)² = 1 + Vas/Vb.",
        f"(fc/fs)² − 1 = {(n.fc / n.fs) ** 2 - 1:.3f}.",
    ),
    solution=lambda n: (
        f"Vas/Vb = ({n.fc:g}/{n.fs:g})² − 1 = {(n.fc / n.fs) ** 2 - 1:.3f}, so Vb = "
        f"**{_volume(n):.1f} L** ({to_cubic_feet(litres(_volume(n))):.2f} ft³), "
        f"{100 * (1 - _volume(n) / n.drawn):.0f} % less than drawn. Braces, the driver's back and "
        "the radiator's throat take room too."
    ),
)
