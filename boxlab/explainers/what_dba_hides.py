"""What a meter set to dBA leaves out of a bass tone, and what that does to the allowed time."""

from __future__ import annotations

import numpy as np

from boxlab.base.cautions import words
from boxlab.draw.scene import Explainer, Line, Mark, Number, Scene, Slider
from boxlab.explainers._shared import against_frequency
from boxlab.sound.hearing import (
    PEAK,
    above_ceiling,
    allowed_time,
    clock,
    exposure,
    in_hours,
    permitted,
    weighting,
)

GRID = np.geomspace(10, 2000, 301)


def scene(frequency, level) -> Scene:
    """A steady tone of `frequency` Hz at `level` dB, as a meter with each weighting reads it."""
    said = exposure([frequency], [level])
    hidden = level - said.dba
    return Scene(
        title=f"{level:g} dB at {frequency:g} Hz reads {said.dba:.0f} dBA",
        plots=(
            against_frequency(
                "What the weighting takes off",
                "weighting, dB re 1 kHz",
                (-75, 10),
                (
                    Line(GRID, weighting(GRID, "A"), "limit", "A"),
                    Line(GRID, weighting(GRID, "C"), "quiet", "C"),
                    Line(GRID, weighting(GRID, "Z"), "sum", "none (Z)"),
                ),
                (Mark(frequency, f"{frequency:g} Hz"),),
                xlim=(10, 2000),
            ),
            against_frequency(
                f"NIOSH time for {level:g} dB"
                + (": none at all" if said.peak >= PEAK else ", by frequency"),
                "allowed time in a day, h",
                (1e-3, 1e3),
                (
                    Line(GRID, _by_rule(level, said.peak), "limit", "if dBA counts, the rule"),
                    Line(GRID, _by_dbc(level, said.peak), "quiet", "if dBC counted, no rule"),
                ),
                (Mark(frequency, f"{frequency:g} Hz"), Mark(24, "a whole day", "quiet", "y")),
                yscale="log",
                xlim=(10, 2000),
            ),
        ),
        readout=(
            f"{level:g} dB at {frequency:g} Hz reads {said.dba:.1f} dBA and {said.dbc:.1f} dBC: "
            f"the A-weighting hides {hidden:.1f} dB.",
            _time_words(said),
            f"A tone of {said.dba:.1f} dB at 1 kHz gives the same dBA reading and so the same "
            "time, for a very different sound."
            if hidden > 10
            else "Here the weighting takes off little: dBA says nearly all there is to say.",
        ),
        numbers=(
            Number("unweighted", f"{level:.1f} dB"),
            Number("C-weighted", f"{said.dbc:.1f} dBC"),
            Number("A-weighted", f"{said.dba:.1f} dBA"),
            Number("hidden by A", f"{hidden:.1f} dB"),
            Number("NIOSH, from dBA", clock(said.niosh)),
            Number("OSHA, from dBA", clock(said.osha)),
            Number("NIOSH, if dBC counted (no rule)", clock(said.if_flat)),
        ),
        caption=(
            f"A tone of {level:g} dB at {frequency:g} Hz. Left, what each weighting takes off; A "
            f"takes {hidden:.0f} dB. Right, the time that NIOSH allows for this level at each "
            "frequency by its dBA reading, and the time if dBC counted."
        ),
        alt=(
            "Two plots against frequency, 10 to 2000 Hz, log axis. Left: weighting in dB, −75 to "
            "10; A falls from 0 at 1000 Hz to −19 at 100 Hz and −70 at 10 Hz, C stays within 3 dB "
            "down to 32 Hz. Right: allowed time in hours, 0.001 to 1000, log axis; "
            + (
                "no line, for no time is allowed."
                if said.peak >= PEAK
                else "from dBA it climbs steeply towards low frequency and stops where the "
                "reading passes 115 dBA, from dBC hardly."
            )
        ),
        code=(
            "from boxlab.sound.hearing import clock, exposure\n"
            f"said = exposure([{frequency:g}], [{level:g}])\n"
            "print(said.dba, said.dbc, clock(said.niosh), clock(said.if_flat))"
        ),
        warnings=_warnings(frequency, said),
        cautions=words("peak", "hearing") if said.peak >= PEAK else words("hearing"),
    )


def _time_words(said):
    if said.peak >= PEAK:
        return (
            f"No time at all without protection: the peaks reach {said.peak:.0f} dB, past the "
            f"limit of {PEAK:.0f} dB, and no dBA reading shows that."
        )
    return (
        f"NIOSH would allow {clock(said.niosh)} by the dBA reading; by the dBC reading it would be "
        f"{clock(said.if_flat)}."
    )


def _by_rule(level, peak):
    return in_hours(permitted(level + weighting(GRID), peak=peak))


def _by_dbc(level, peak):
    time = allowed_time(level + weighting(GRID, "C"))
    return in_hours(np.where(peak >= PEAK, 0.0, time))


def _warnings(frequency, said):
    notes = []
    if frequency < 20:
        notes.append(
            "Below 20 Hz A- and C-weighting are used outside what they were made for. Infrasound "
            "has a weighting of its own, G, and no table of allowed times here."
        )
    if above_ceiling(said.dba):
        notes.append("Above 115 dBA no unprotected time at all: OSHA's table ends there.")
    return tuple(notes)


EXPLAINERS = (
    Explainer(
        name="what_dba_hides",
        gear=False,
        question="How much of a bass tone does a dBA reading leave out?",
        controls=(
            Slider("frequency", "Tone", 10, 1000, 40, 1, "Hz"),
            Slider("level", "Level, unweighted", 70, 140, 120, 1, "dB"),
        ),
        scene=scene,
        lesson="09-how-loud-how-long.ipynb",
        anchor="See",
        answer=(
            "At 40 Hz the A-weighting takes off 35 dB: a tone of 120 dB reads 85 dBA. The reading "
            "is right by its standard and says little about bass. Read dBC beside it."
        ),
        presets={
            "40 Hz": {},
            "speech": {"frequency": 1000.0, "level": 85.0},
            "competition": {"frequency": 45.0, "level": 140.0},
        },
    ),
)
