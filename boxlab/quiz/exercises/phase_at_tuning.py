"""Exercises of the lesson "phase at tuning": phase from losses, being late, what a film shows."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np

from boxlab.base.units import disc_area, litres, mm
from boxlab.explainers._one_box import box_of
from boxlab.gear.scenario import TEN_INCH_DRIVER
from boxlab.model.camera import apparent_frequency, seen_phase
from boxlab.model.enclosure import PortedBox
from boxlab.model.motion import delays, phase_at_tuning
from boxlab.model.response import solve
from boxlab.quiz.exercises import answers_of
from boxlab.quiz.task import Exercise, Step


def _draw_film(rng):
    rate = int(rng.choice([24, 25, 30, 50, 60]))
    times = int(rng.integers(1, 3)) if rate < 40 else 1
    off = int(rng.integers(1, 5)) * (1 if rng.random() < 0.4 else -1)
    return SimpleNamespace(
        rate=rate, tone=rate * times + off, nearest=rate * times, lead=int(rng.integers(90, 96))
    )


def _apparent(n):
    return float(apparent_frequency(n.tone, n.rate))


def _seen(n):
    return float(seen_phase(n.tone, n.rate, n.lead))


film = Exercise(
    "phase/film",
    title="What will the film show?",
    draw=_draw_film,
    prompt=lambda n: (
        f"A box plays {n.tone} Hz at its tuning. In life the radiator is {n.lead}° ahead of the "
        f"front of the cone. You film both, side by side, at {n.rate} frames a second. What does "
        "the film show?"
    ),
    steps=(
        Step("Nearest whole multiple of the frame rate", lambda n: n.nearest, "Hz", 0.001),
        Step(
            "Apparent frequency (minus: runs backwards)",
            _apparent,
            "Hz",
            slips={
                "That takes away one frame rate; take the nearest multiple.": lambda n: (
                    n.tone - n.rate if n.nearest != n.rate else n.tone
                ),
            },
        ),
        Step(
            "One cycle on film takes",
            lambda n: 1 / abs(_apparent(n)),
            "s",
            slips={"That is a cycle in life.": lambda n: 1 / n.tone},
        ),
        Step(
            "Radiator against cone on film (minus: behind)",
            _seen,
            "deg",
            absolute=0.5,
            slips={
                "Look at the sign of the apparent frequency: a film that runs backwards turns "
                "the order round.": lambda n: -_seen(n),
            },
        ),
    ),
    hints=lambda n: (
        "A film cannot tell a tone from the same tone with whole cycles added or taken away "
        "between two frames. Which multiple of the frame rate lies nearest?",
        "Apparent frequency = tone − nearest multiple. One cycle takes 1 over its size. Below "
        "zero the film runs backwards, and every phase changes its sign.",
        f"{n.tone} / {n.rate} = {n.tone / n.rate:.2f}. Round that to a whole number, multiply it "
        f"by {n.rate}, and take the result away from {n.tone}.",
    ),
    solution=lambda n: (
        f"{n.tone} − {n.nearest} = **{_apparent(n):g} Hz**: each cycle takes "
        f"{1 / abs(_apparent(n)):.2f} s"
        + (
            f" and the film runs backwards, so the radiator seems to be behind: "
            f"**{_seen(n):.0f}°**."
            if _apparent(n) < 0
            else f" and the order is the true one: **{_seen(n):.0f}°** ahead."
        )
    ),
)


def _draw_late(rng):
    return SimpleNamespace(fb=int(rng.integers(28, 46)), lead=int(rng.integers(90, 97)))


late = Exercise(
    "phase/late",
    title="If it must be late, by how much?",
    draw=_draw_late,
    prompt=lambda n: (
        f"A steady tone of {n.fb} Hz at the tuning; the radiator is {n.lead}° ahead of the front "
        "of the cone. A forum insists that it must be late, for it cannot know what is coming. "
        "What is the smallest lateness, in ms, that the steady motion allows?"
    ),
    answer=lambda n: float(delays(n.lead, n.fb)[0] * 1e3),
    unit="ms",
    slips={
        "That is how much it is early. Late is the rest of the cycle.": lambda n: (
            n.lead / 360 / n.fb * 1e3
        ),
        "That is a whole cycle: it would put the two in step.": lambda n: 1e3 / n.fb,
        "That is allowed too, but one cycle less is as well.": lambda n: float(
            delays(n.lead, n.fb)[1] * 1e3
        ),
    },
    hints=lambda n: (
        "A steady tone repeats. Being early by a part of a cycle is being late by the rest.",
        f"The rest is 360° − {n.lead}°. What part of a cycle is that, and how long is a cycle?",
        f"{360 - n.lead}/360 of {1e3 / n.fb:.1f} ms.",
    ),
    solution=lambda n: (
        f"(360 − {n.lead})/360 of a cycle of {1e3 / n.fb:.2f} ms: "
        f"**{delays(n.lead, n.fb)[0] * 1e3:.1f} ms**, or whole cycles more. Three quarters of a "
        "cycle, never a whole one."
    ),
)


def _draw_losses(rng):
    return SimpleNamespace(ql=int(rng.integers(3, 9)), qr=int(rng.integers(9, 20)))


def _tuned_phase(n):
    return float(phase_at_tuning(TEN_INCH_DRIVER, box_of("radiator", 36, n.ql, n.qr)))


losses = Exercise(
    "phase/losses",
    title="How far from a quarter cycle can losses push it?",
    draw=_draw_losses,
    prompt=lambda n: (
        f"A radiator box leaks with QL = {n.ql}, and its radiator rubs with QR = {n.qr}. What is "
        "the phase of the radiator against the front of the cone at the tuning, in degrees?"
    ),
    answer=_tuned_phase,
    unit="deg",
    tolerance=0.001,
    absolute=0.2,
    slips={
        "That is how far it is from 90°.": lambda n: _tuned_phase(n) - 90,
        "The other way: losses push it above 90°.": lambda n: 180 - _tuned_phase(n),
        "You used the leak alone; friction counts with it, as QL + QR.": lambda n: (
            90 + np.degrees(np.arctan(1 / n.ql))
        ),
        "You used the friction alone; the leak counts with it, as QL + QR.": lambda n: (
            90 + np.degrees(np.arctan(1 / n.qr))
        ),
        # an arc tangent left in radians would be within the tolerance of this
        "That is without losses. Leak and friction together push it off.": lambda n: 90.0,
    },
    hints=lambda n: (
        "With no loss but the leak it is 90° exactly. Friction and leak together add a little.",
        "90° + atan(1/(QL + QR)).",
        f"atan(1/{n.ql + n.qr}), in degrees, on top of 90°.",
    ),
    solution=lambda n: (
        f"90° + atan(1/({n.ql} + {n.qr})) = **{_tuned_phase(n):.1f}°**. Even a box as poor as this "
        "is a quarter cycle to within a few degrees."
    ),
)


def _draw_away(rng):
    tenths = int(rng.choice([6, 7, 8, 9, 11, 12, 13, 15]))
    return SimpleNamespace(part=tenths / 10, ql=int(rng.integers(3, 12)))


def _away(n):
    box = PortedBox.tuned(litres(14), 36, disc_area(mm(75)), ql=n.ql, max_length=3)
    return float(solve(TEN_INCH_DRIVER, box, n.part * 36).vent_phase)


away = Exercise(
    "phase/away",
    title="And away from the tuning?",
    draw=_draw_away,
    prompt=lambda n: (
        f"A ported box with QL = {n.ql} and no other loss plays a tone of {n.part:g} times its "
        "tuning. What is the phase of the port's air against the front of the cone, in degrees?"
    ),
    answer=_away,
    unit="deg",
    absolute=1.0,
    slips={
        "That is the phase against the rear of the cone.": lambda n: _away(n) - 180,
        "A half turn too many: mind the sign of 1 − x².": lambda n: _away(n) + 180,
        "That is how far it is from 180°.": lambda n: 180 - _away(n),
    },
    hints=lambda n: (
        "Vent over cone is −1/(1 − x² + j·x/QL), with x the tone over the tuning. Below the "
        "tuning expect more than 90°, above it less.",
        f"1 − x² = {1 - n.part**2:.2f} and x/QL = {n.part / n.ql:.3f}. Which angle has that "
        "number in the plane?",
        "The phase is 180° less the angle of (1 − x² + j·x/QL). Mind the half turn where 1 − x² "
        "is below zero.",
    ),
    solution=lambda n: (
        f"The angle of {1 - n.part**2:.2f} + {n.part / n.ql:.3f}j is {180 - _away(n):.1f}°, so the "
        f"phase is 180° − {180 - _away(n):.1f}° = **{_away(n):.1f}°**."
    ),
)


def _draw_shutter(rng):
    return SimpleNamespace(
        tone=int(rng.integers(28, 46)),
        readout=int(rng.integers(8, 28)),
        share=5 * int(rng.integers(6, 18)),
    )


def _turned(n, share=True):
    return 360 * n.tone * n.readout / 1e3 * (n.share / 100 if share else 1)


shutter = Exercise(
    "phase/shutter",
    title="How much does the sensor turn it?",
    draw=_draw_shutter,
    prompt=lambda n: (
        f"A phone reads its picture from top to bottom in {n.readout} ms. The radiator sits below "
        f"the cone, by {n.share} % of the picture's height. At {n.tone} Hz, by how many degrees "
        "does that alone put the radiator ahead (in life's order, before any film runs backwards)?"
    ),
    answer=_turned,
    unit="deg",
    slips={
        "You took the whole picture's time; the two are only part of it apart.": lambda n: _turned(
            n, share=False
        ),
        "That is in cycles, not in degrees.": lambda n: _turned(n) / 360,
    },
    hints=lambda n: (
        "The radiator's lines are read later. In that time it moves on. How much later?",
        f"{n.share} % of {n.readout} ms. Which part of a cycle of {n.tone} Hz is that?",
        f"{n.share * n.readout / 100:.1f} ms · {n.tone} Hz = "
        f"{n.share * n.readout * n.tone / 1e5:.3f} cycles; a cycle is 360°.",
    ),
    solution=lambda n: (
        f"{n.share} % of {n.readout} ms is {n.share * n.readout / 100:.1f} ms, in which "
        f"{n.tone} Hz turns **{_turned(n):.0f}°**"
        + (
            ": enough to turn a quarter cycle's order round."
            if 90 < _turned(n) % 360 < 270
            else "."
        )
    ),
)


def _draw_rate(rng):
    return SimpleNamespace(fb=int(rng.integers(28, 46)), seconds=int(rng.choice([2, 4, 5])))


set_rate = Exercise(
    "phase/set-rate",
    title="Which frame rate shows the truth, slowly?",
    draw=_draw_rate,
    prompt=lambda n: (
        f"Your box is tuned to {n.fb} Hz and plays that. An app lets you choose any frame rate. "
        f"You want one frame a cycle or so, each cycle on film to take {n.seconds} s, and the "
        "order true. How many frames a second?"
    ),
    answer=lambda n: n.fb - 1 / n.seconds,
    tolerance=1e-4,
    absolute=0.02,
    slips={
        "That shows the same slow motion, but backwards.": lambda n: n.fb + 1 / n.seconds,
        "At that rate the film stands still.": lambda n: n.fb,
        "The apparent frequency is one over the seconds of a cycle.": lambda n: n.fb - n.seconds,
    },
    hints=lambda n: (
        "The apparent frequency is the tone less the frame rate. How large should it be, and of "
        "which sign?",
        f"A cycle of {n.seconds} s is {1 / n.seconds:g} Hz; above zero for the true order.",
        f"Tone less rate = +{1 / n.seconds:g} Hz.",
    ),
    solution=lambda n: (
        f"{n.fb} − {1 / n.seconds:g} = **{n.fb - 1 / n.seconds:g} frames a second**. A little "
        "slower than the tone, never faster."
    ),
)

answer = answers_of(__name__)
EXERCISES = (film, late, losses, away, shutter, set_rate)
