"""A tone that starts and stops: here being late can be seen."""

from __future__ import annotations

import numpy as np

from boxlab.draw.scene import Choice, Explainer, Line, Mark, Number, Plot, Scene, Slider
from boxlab.explainers import _shared as shared
from boxlab.explainers._one_box import (
    BUILD_CONTROL,
    FB_CONTROL,
    QL_CONTROL,
    QR_CONTROL,
    START_FB,
    box_of,
    build_code,
    cut_of,
    folded,
    mover,
    volume_text,
)
from boxlab.gear.shelf import remembered, the_driver
from boxlab.model.motion import burst, envelope, lateness
from boxlab.model.response import solve

VOLTS = 10.0
SHOWN = 20  # cycles of the tone, from one before it starts
WINDOWS = ("hard", "soft")


@remembered(32)
def played(tone, cycles, window, fb, ql, qr, build):
    """The burst through the box, with a long tail for the measures."""
    box = box_of(build, fb, ql, qr)
    return burst(the_driver(), box, tone, cycles, voltage=VOLTS, window=window, lead=1, tail=60)


def measures(tone, cycles, window, fb, ql, qr, build):
    """How late each part is, in cycles of the tone, and how the first cycle compares."""
    b = played(tone, cycles, window, fb, ql, qr, build)
    r = solve(the_driver(), box_of(build, fb, ql, qr), tone, VOLTS)
    first = (b.time >= 0) & (b.time < 1 / tone)
    after = b.time > cycles / tone
    ringing = envelope(b.vent)[after] / envelope(b.vent).max()
    last = np.flatnonzero(ringing > 0.1)
    return {
        "sound": tone * lateness(b.time, b.sound, b.drive),
        "vent": tone * lateness(b.time, b.vent, b.drive),
        "cone": tone * lateness(b.time, b.cone, b.drive),
        "group": tone * float(r.group_delay),
        "cone_first": float(np.abs(b.cone[first]).max() / r.cone_excursion),
        "vent_first": float(np.abs(b.vent[first]).max() / r.vent_excursion),
        "ring": float(last[-1] / 64) if last.size else 0.0,
    }


def scene(tone, cycles, ql, fb, window, build, qr) -> Scene:
    """A burst of `cycles` cycles of a tone (Hz), switched hard or faded in and out."""
    cycles = round(cycles)
    settings = tone, cycles, window, fb, ql, qr, build
    b, m, name = played(*settings), measures(*settings), mover(build)
    middle = cycles / 2
    tall = 8 if build == "radiator" else 80
    return Scene(
        shows={build: shared.state(the_driver(), box_of(build, fb, ql, qr), VOLTS)},
        cutaway=cut_of(the_driver(), build, fb, ql, qr, tone, VOLTS),
        title=f"{cycles} cycles of {tone:g} Hz, tuning {fb:g} Hz",
        plots=(
            _wave(b, 1e3 * b.cone, tone, "Cone", "out, mm", 7, "cone", middle + m["cone"]),
            _wave(
                b,
                1e3 * b.vent,
                tone,
                name.capitalize(),
                "out, mm",
                tall,
                "vent",
                middle + m["vent"],
            ),
            _wave(b, b.drive, tone, "Drive", "volts", 20, "electrical", middle),
            _wave(
                b,
                b.sound,
                tone,
                "Sound at 1 m, less its time of travel",
                "pressure, Pa",
                5,
                "sum",
                middle + m["sound"],
            ),
        ),
        headline=(
            f"The sound of {tone:g} Hz comes {m['sound']:.2f} cycles "
            f"({1e3 * m['sound'] / tone:.1f} ms) after the drive."
        ),
        readout=(
            f"The sound comes {m['sound']:.2f} cycles ({1e3 * m['sound'] / tone:.1f} ms) after the "
            f"drive, the {name} {m['vent']:.2f} cycles after it, between the middles of their "
            f"energy. The group delay at this tone is {m['group']:.2f} cycles.",
            *_edges(m, name, window),
        ),
        numbers=(
            Number("sound behind drive", f"{m['sound']:.2f} cycles"),
            Number("the same in time", f"{1e3 * m['sound'] / tone:.1f} ms"),
            Number("vent behind drive", f"{m['vent']:.2f} cycles"),
            Number("cone behind drive", f"{m['cone']:.2f} cycles"),
            Number(f"group delay at {tone:g} Hz", f"{m['group']:.2f} cycles"),
            Number("cone's first swing over its settled one", f"{m['cone_first']:.2f}"),
            Number("vent's first swing over its settled one", f"{m['vent_first']:.2f}"),
        ),
        caption=(
            f"{cycles} cycles of {tone:g} Hz, {window} edges, into {volume_text()} "
            f"tuned to {fb:g} Hz, QL {ql:g}, at {VOLTS:g} V. The marks "
            f"stand at the middle of each one's energy. The sound is {m['sound']:.2f} cycles late: "
            "not a whole one, and nothing that a steady tone would show."
        ),
        alt=(
            f"Four plots against time in cycles of the tone, −1 to {SHOWN - 1}. Upper left: the "
            f"cone in mm, ±7. Upper right: the {name} in mm, ±{tall}. Lower left: the drive, "
            f"{cycles} cycles, ±20 volts. Lower right: sound pressure in Pa, ±5. A mark in each at "
            f"the middle of its energy: drive {middle:.1f}, cone {middle + m['cone']:.1f}, sound "
            f"{middle + m['sound']:.1f}, {name} {middle + m['vent']:.1f} cycles."
        ),
        code=build_code(build, fb, ql, qr)
        + "from boxlab.model.motion import burst, lateness\n"
        + f"b = burst(TEN_INCH_DRIVER, box, {tone:g}, {cycles}, voltage={VOLTS:g}, "
        f"window={window!r}, lead=1, tail=60)\n"
        + f"print({tone:g} * lateness(b.time, b.vent, b.cone), "
        f"{tone:g} * lateness(b.time, b.sound, b.drive))",
    )


def _wave(b, wave, tone, title, unit, tall, role, middle):
    part = slice(0, SHOWN * 64 + 1)
    return Plot(
        title,
        "time, cycles of the tone",
        unit,
        (-1, SHOWN - 1),
        (-tall, tall),
        (Line(b.time[part] * tone, wave[part], role),),
        (Mark(middle, f"its middle, {middle:.1f}", role),),
        xscale="linear",
    )


def _edges(m, name, window):
    if window == "soft":
        when = "early" if m["cone"] < 0 else "late"
        return (
            f"The middle of the cone's motion is {abs(m['cone']):.2f} cycles {when}: near the "
            f"tuning the {name} holds it still as soon as it has got going.",
        )
    return (
        f"The cone starts outward and the {name} inward. In its first cycle the cone swings "
        f"{m['cone_first']:.1f} times as far as it will once settled, the {name} "
        f"{m['vent_first']:.1f} times.",
        f"After the drive has stopped, the {name} swings on for {m['ring']:.1f} cycles until a "
        "tenth is left.",
    )


EXPLAINERS = (
    Explainer(
        name="tone_burst",
        question="What is really late when a tone starts and stops?",
        controls=(
            Slider("tone", "Tone", 25, 70, START_FB, 0.5, "Hz"),
            Slider("cycles", "Length", 2, 14, 12, 1, "cycles"),
            QL_CONTROL,
            Choice("window", "Edges", WINDOWS, WINDOWS[0]),
            folded(FB_CONTROL),
            folded(BUILD_CONTROL),
            folded(QR_CONTROL),
        ),
        scene=scene,
        lesson="02-phase-at-tuning.ipynb",
        anchor="Is-it-a-cycle-late",
        answer=(
            "At the start cone and vent go opposite ways, and the cone swings several times as far "
            "as later; after about two cycles both have settled. At the tuning the sound is about "
            "half a cycle late, its group delay. Nothing is one cycle late."
        ),
    ),
)
