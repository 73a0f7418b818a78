"""What a camera sees of cone and vent: frame rate, read-out and exposure."""

from __future__ import annotations

import numpy as np

from boxlab.draw.scene import Choice, Explainer, Line, Mark, Number, Plot, Scene, Slider
from boxlab.explainers import _camera_words as said
from boxlab.explainers import _shared as shared
from boxlab.explainers._camera_words import FRAMES, GUESSES, HIDDEN, LIFE
from boxlab.explainers._one_box import START_FB, box_of, build_code, cut_of
from boxlab.gear.shelf import the_driver
from boxlab.model.camera import apparent_frequency, film, seen_phase, shutter_gain
from boxlab.model.motion import phasors
from boxlab.model.response import solve

TONES = np.linspace(15, 100, 1701)
LINES = 1000  # of the sensor; the picture's height


def filmed(tone, rate, fb, readout, place, exposure):
    """Film of the box at one tone: `readout` and `exposure` in ms, `place` in % of the picture.

    Cone and radiator are drawn to their own size, so both have a peak of one.
    """
    at = phasors(the_driver(), box_of("radiator", fb), tone).turned_to("cone")
    frame = 1e3 / rate
    return film(
        tone,
        rate,
        1.0,
        at.vent / abs(at.vent),
        FRAMES + 1,
        shutter=min(exposure, frame) / 1e3,
        line_time=min(readout, frame) / 1e3 / LINES,
        rows=(0, place / 100 * LINES),
    )


def scene(tone, rate, guess, readout, place, exposure, fb) -> Scene:
    """A film at `rate` frames a second of the box playing one tone (Hz)."""
    f = filmed(tone, rate, fb, readout, place, exposure)
    hidden = guess == HIDDEN
    frame = 1e3 / rate
    later = min(readout, frame) * place / 100  # ms
    blur = float(shutter_gain(tone, min(exposure, frame) / 1e3))
    return Scene(
        shows={"radiator": shared.state(the_driver(), box_of("radiator", fb))},
        cutaway=cut_of(the_driver(), "radiator", fb, tone=tone),
        title=f"{tone:g} Hz filmed at {rate:g} frames a second",
        plots=(
            _life(f, tone, rate, later),
            _film(f, blur, hidden),
            _folded(tone, rate, hidden),
            _order(f, tone, rate, fb, later, hidden),
        ),
        readout=said.hidden_words(tone, rate, f)
        if hidden
        else said.words(f, tone, rate, guess, later, blur),
        numbers=()
        if hidden
        else (
            Number("apparent frequency", f"{f.frequency:.2f} Hz"),
            Number("one cycle on film takes", said.period(f)),
            Number("slower than life by", said.slower(f, tone)),
            Number("radiator against cone in life", f"{f.true_phase:.1f}°"),
            Number("radiator against cone on film", f"{f.phase:.1f}°"),
            Number("turned by the read-out", f"{0.36 * tone * later:.1f}°"),
            Number("motion left by the exposure", f"{100 * abs(blur):.0f} %"),
        ),
        caption=said.caption(f, tone, rate, fb, hidden),
        alt=said.alt(f, tone, rate, hidden),
        code=build_code("radiator", fb, 7, 37)
        + "from boxlab.model.camera import film\n"
        + "from boxlab.model.motion import phasors\n"
        + f"at = phasors(TEN_INCH_DRIVER, box, {tone:g})\n"
        + f"f = film({tone:g}, {rate:g}, at.cone, at.vent, "
        f"line_time={min(readout, frame) / 1e3 / LINES:g}, rows=(0, {place / 100 * LINES:g}))\n"
        + "print(f.frequency, f.true_phase, f.phase, f.leads)",
        warnings=said.warnings(rate, readout, exposure),
        right=GUESSES[guess] == f.leads if guess in GUESSES else None,
    )


def _life(f, tone, rate, later):
    frames = np.linspace(0, LIFE, 601)
    swing = 2 * np.pi * tone * frames / rate
    ahead = np.radians(f.true_phase)
    shift = later / 1e3 * rate  # frames
    seen = np.arange(LIFE + 1)
    turn = 2 * np.pi * tone * seen / rate
    return Plot(
        "In life; dots where a frame is taken",
        "time, frames of the film",
        "out, as a part of its peak",
        (0, LIFE),
        (-1.5, 1.5),
        (
            Line(frames, np.cos(swing + ahead), "vent", "radiator"),
            Line(frames, np.cos(swing), "cone", "cone"),
            Line(
                seen + shift,
                np.cos(turn + ahead + 2 * np.pi * tone * later / 1e3),
                "vent",
                kind="points",
            ),
            Line(seen, np.cos(turn), "cone", kind="points"),
        ),
        xscale="linear",
        yticks=(-1, 0, 1),
    )


def _film(f, blur, hidden):
    # the slow cosine through the frames, so that the eye need not join the dots
    frames = np.linspace(0, FRAMES, 901)
    swing = 2 * np.pi * f.frequency / f.rate * frames
    back = -1 if f.frequency < 0 else 1
    lines = (
        Line(frames, blur * np.cos(swing + np.radians(back * f.phase)), "vent", "radiator"),
        Line(frames, blur * np.cos(swing), "cone", "cone"),
        Line(f.time * f.rate, f.second, "vent", kind="points"),
        Line(f.time * f.rate, f.first, "cone", kind="points"),
    )
    if hidden:
        nothing = np.empty(0)
        lines = tuple(Line(nothing, nothing, p.role, p.label, p.build, p.kind) for p in lines)
    return Plot(
        "On film: hidden until you predict" if hidden else "On film",
        "time, frames of the film",
        "out, as a part of its peak",
        (0, FRAMES),
        (-1.5, 1.5),
        lines,
        xscale="linear",
        yticks=(-1, 0, 1),
    )


def _folded(tone, rate, hidden):
    seen = apparent_frequency(TONES, rate)
    seen = np.where(np.append(np.abs(np.diff(seen)) > rate / 2, False), np.nan, seen)
    lines = () if hidden else (Line(TONES, seen, "sum"),)
    if not hidden:
        now = np.array([float(apparent_frequency(tone, rate))])
        lines += (Line(np.array([tone]), now, "sum", kind="points"),)
    return Plot(
        "Which frequency the film shows",
        "tone, Hz",
        "apparent, Hz (minus: backwards)",
        (15, 100),
        (-60, 100),
        lines,
        (Mark(0, "", "limit", "y"), Mark(tone, "tone")),
        xscale="linear",
        yticks=(-50, 0, 50, 100),
    )


def _order(f, tone, rate, fb, later, hidden):
    true = solve(the_driver(), box_of("radiator", fb), TONES).vent_phase
    seen = seen_phase(TONES, rate, true, later / 1e3)
    seen = np.where(np.append(np.abs(np.diff(seen)) > 10, False), np.nan, seen)
    lines = (Line(TONES, true, "quiet", "in life"),)
    if not hidden:
        lines += (
            Line(TONES, seen, "vent", "on film"),
            Line(np.array([tone]), np.array([f.phase]), "vent", kind="points"),
        )
    return Plot(
        "Radiator against cone",
        "tone, Hz",
        "phase, ° (minus: cone leads)",
        (15, 100),
        (-200, 200),
        lines,
        (Mark(0, "", "limit", "y"), Mark(tone, "tone")),
        xscale="linear",
        yticks=(-180, -90, 0, 90, 180),
    )


EXPLAINERS = (
    Explainer(
        name="what_a_camera_sees",
        question="You film cone and radiator at the tuning. Can you believe what you see?",
        controls=(
            Slider("tone", "Tone", 20, 100, START_FB, 0.5, "Hz"),
            Slider("rate", "Frames a second", 10, 240, 60, 1, ""),
            Choice("guess", "Prediction", ("show me", HIDDEN, *GUESSES), "show me", hides=HIDDEN),
            Slider("readout", "Sensor read-out, top to bottom", 0, 30, 0, 1, "ms", more=True),
            Slider(
                "place",
                "Radiator below the cone, of the picture",
                -100,
                100,
                60,
                5,
                "%",
                more=True,
                help="Counts only with a read-out time.",
            ),
            Slider("fb", "Tuning", 28, 45, START_FB, 0.5, "Hz", more=True),
            Slider("exposure", "Exposure", 0, 33, 0, 1, "ms", more=True),
        ),
        scene=scene,
        lesson="02-phase-at-tuning.ipynb",
        anchor="What-does-a-camera-see",
        answer=(
            "Not without the frame rate. Where the tone less the nearest multiple of the frame "
            "rate is negative, the film runs backwards and the order is turned round: 36 Hz does "
            "so at 60 frames a second, not at 30 or 240."
        ),
        presets={
            "30 a second": {"rate": 30},
            "60 a second": {"rate": 60},
            "240 a second": {"rate": 240},
            "slow motion": {"rate": 30, "fb": 30.0, "tone": 31.0},
            "slow and backwards": {"rate": 30, "fb": 30.0, "tone": 29.0},
        },
    ),
)
