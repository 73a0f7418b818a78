"""What a small speaker leaves of a bass line, measured against a box and against silence."""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from boxlab.base.units import mm
from boxlab.draw.scene import Explainer, Line, Mark, Number, Scene, Slider
from boxlab.explainers import _shared as shared
from boxlab.explainers._music import rated
from boxlab.explainers._shared import against_frequency, inches_text
from boxlab.explainers.bass_line_through_boxes import TONES, line
from boxlab.gear import shelf
from boxlab.gear.demo_listening import box_of, small_speaker
from boxlab.model.limits import max_output
from boxlab.model.response import solve
from boxlab.sound.hearing import threshold
from boxlab.sound.programme import E1

GRID = np.geomspace(20, 1000, 241)
WATTS, BOX_WATTS = 2.0, 300.0  # amplifiers, into 8 Ω and into the coil's resistance
EAR = threshold(GRID)
TOP = 1000.0  # Hz: where the small speaker is taken to play in full


def box_ceiling(distance):
    """The job's box, or the class's ten-inch radiator box, at its limits: GRID and E1, dB."""
    driver, job = shelf.the_driver(), shelf.current()
    if job is None:
        return _ceiling(driver, box_of("radiator"), BOX_WATTS, driver.re, distance)
    if job.amplifier is None:  # travel and heat alone set its limit
        return _ceiling(driver, job.box, None, None, distance)
    return _ceiling(driver, job.box, rated(job, job.load), job.load, distance)


@lru_cache(maxsize=16)
def _ceiling(driver, box, watts, load, distance):
    f = np.append(GRID, E1)
    return max_output(driver, box, f, power=watts, load=load, distance=distance).spl


def _box(words):
    """The class's box in these words, or the job's."""
    return words if shelf.current() is None else "your box"


def scene(resonance, cone, travel, distance) -> Scene:
    """A small speaker: mounted resonance in Hz, cone and travel in mm, heard at `distance` m."""
    speaker = small_speaker(resonance, mm(cone), mm(travel))
    f = np.append(GRID, E1)
    small = max_output(speaker, None, f, power=WATTS, load=8.0, distance=distance)
    box = box_ceiling(distance)
    fall = solve(speaker, None, f, 1.0).spl - float(solve(speaker, None, [TOP], 1.0).spl[0])
    sent = line()
    kept = sent.share * 10 ** (_fall(speaker, sent.frequency) / 10)
    lost = -10 * np.log10(kept.sum())
    # The fundamentals end a little above the highest note, the next harmonics begin below 73 Hz.
    low = sent.frequency < TONES[-1] * 1.04
    share = 100 * float(kept[low].sum() / kept.sum())
    before = 100 * float(sent.share[low].sum())
    over = float(small.spl[-1] - threshold(E1))
    gap = float(box[-1] - small.spl[-1])
    return Scene(
        shows={"speaker": shared.state(speaker, None)},
        title=f"A {cone:g} mm speaker and a bass line",
        plots=(_loudest(small, box, distance), _line_plot(fall)),
        readout=(
            f"Its loudest {E1:.0f} Hz is {small.spl[-1]:.0f} dB at {distance:g} m: {_heard(over)}, "
            f"and {gap:.0f} dB below {_box('the ten-inch box')}.",
            f"Of the bass line this speaker loses {lost:.0f} dB. On its lowest E, "
            f"{E1:.1f} Hz, it plays {-fall[-1]:.0f} dB below full.",
            f"Fundamentals carry {before:.0f} % of the line's power as sent and {share:.1f} % of "
            "what is left.",
        ),
        numbers=(
            Number("bass line, lost in all", f"{lost:.1f} dB"),
            Number("lowest E, below full", f"{-fall[-1]:.1f} dB"),
            Number("fundamentals' share of the power, as sent", f"{before:.0f} %"),
            Number("fundamentals' share of what is left", f"{share:.1f} %"),
            Number("its loudest lowest E", f"{small.spl[-1]:.1f} dB"),
            Number("threshold of hearing there", f"{threshold(E1):.1f} dB"),
            Number(f"{_box('ten-inch radiator box')}, its loudest", f"{box[-1]:.1f} dB"),
        ),
        caption=(
            f"An invented small speaker, {cone:g} mm ({inches_text(cone)}) wide, {travel:g} mm of "
            f"travel, resonance {resonance:g} Hz, heard at {distance:g} m. Left, the loudest tone "
            f"it and {_box('a ten-inch radiator box')} can play, over the threshold of hearing. "
            "Right, how far it falls below its full level."
        ),
        alt=(
            "Two plots against frequency, 20 to 1000 Hz, log axis. Left: level in dB re 20 µPa, 0 "
            "to 130; the box at about 115, the small speaker far below it and falling towards low "
            f"notes, the threshold of hearing rising to meet it; at {E1:.0f} Hz they are "
            f"{abs(over):.0f} dB apart. Right: response of the small speaker in dB, −80 to 10."
        ),
        code=(
            "from boxlab import mm\n"
            "from boxlab.gear.demo_listening import small_speaker\n"
            "from boxlab.sound.hearing import threshold\n"
            "from boxlab.model.limits import max_output\n"
            f"speaker = small_speaker({resonance:g}, mm({cone:g}), mm({travel:g}))\n"
            f"top = max_output(speaker, None, [41.2], power={WATTS:g}, load=8, "
            f"distance={distance:g})\n"
            "print(top.spl, threshold(41.2))"
        ),
    )


def _heard(over):
    if abs(over) < 1:
        return "just at the threshold of hearing"
    return f"{abs(over):.0f} dB {'above' if over > 0 else 'below'} the threshold of hearing"


def _fall(speaker, frequency):
    """Level against that at TOP for the same volts, dB."""
    return solve(speaker, None, np.append(frequency, TOP), 1.0).spl[:-1] - float(
        solve(speaker, None, [TOP], 1.0).spl[0]
    )


def _loudest(small, box, distance):
    return against_frequency(
        f"Loudest tone at {distance:g} m, half space",
        "level, dB re 20 µPa",
        (0, 130),
        (
            Line(GRID, box[:-1], "sum", _box("ten-inch radiator box"), "radiator"),
            Line(GRID, small.spl[:-1], "cone", "small speaker"),
            Line(GRID, EAR, "quiet", "threshold of hearing"),
        ),
        (Mark(E1, "lowest E"),),
        xlim=(20, 1000),
    )


def _line_plot(fall):
    return against_frequency(
        "The small speaker, same volts",
        "level, dB re its level at 1 kHz",
        (-80, 10),
        (Line(GRID, fall[:-1], "cone", "small speaker"),),
        (Mark(TONES[0], "fundamentals"), Mark(TONES[-1], ""), Mark(4 * TONES[-1], "4th harmonic")),
        xlim=(20, 1000),
    )


EXPLAINERS = (
    Explainer(
        name="what_a_small_speaker_loses",
        question="Why can a laptop or a phone not play you a bass line?",
        controls=(
            Slider("resonance", "Resonance, mounted", 80, 500, 450, 10, "Hz"),
            Slider("cone", "Cone, across", 25, 120, 28, 1, "mm"),
            Slider("travel", "Travel, one way", 0.2, 5, 0.6, 0.1, "mm"),
            Slider("distance", "You sit at", 0.2, 3, 0.5, 0.1, "m"),
        ),
        scene=scene,
        lesson="09-how-loud-how-long.ipynb",
        anchor="Why-can-my-laptop-not-play-it",
        answer=(
            "A cone of an inch with half a millimetre of travel moves too little air. Its loudest "
            "41 Hz at arm's length is about the faintest that anybody hears. What you hear of a "
            "bass line from it are the harmonics."
        ),
        presets={
            "laptop": {},
            "desk speaker": {"resonance": 100.0, "cone": 100.0, "travel": 4.0, "distance": 1.0},
        },
    ),
)
