"""Exercises of the lesson "phase at tuning": phase from losses, being late, what a film shows."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np

from boxlab.base.units import disc_area, litres, mm
from boxlab.explainers._one_box import box_of
from boxlab.gear.scenario import TEN_INCH_DRIVER
from boxlab.model.enclosure import PortedBox
from boxlab.model.motion import delays, phase_at_tuning
from boxlab.model.response import solve
from boxlab.quiz.exercises import answers_of
from boxlab.quiz.exercises._camera_tasks import film, set_rate, shutter
from boxlab.quiz.task import Exercise

__all__ = ["EXERCISES", "answer", "away", "film", "late", "losses", "set_rate", "shutter"]


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
    formula="late = (360 − lead)/360/fb",
    letters=lambda n: {"lead": n.lead, "fb": n.fb},
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
    formula="angle = 90 + atan(1/(QL + QR))·180/π",
    letters=lambda n: {"QL": n.ql, "QR": n.qr},
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
    formula="angle = 180 − atan2(x/QL, 1 − x²)·180/π",
    letters=lambda n: {"x": n.part, "QL": n.ql},
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


answer = answers_of(__name__)
EXERCISES = (film, late, losses, away, shutter, set_rate)
