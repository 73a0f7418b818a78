"""Predictions and exercises of the lesson "measure it yourself"."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np

from boxlab.base.quantities import digits
from boxlab.quiz.exercises import answers_of
from boxlab.quiz.task import Exercise, Step


def _draw_ratio(rng):
    return SimpleNamespace(
        resistor=float(rng.choice([4.7, 10.0, 22.0])),
        share=round(float(rng.uniform(0.56, 0.85)), 2),
    )


def _ohms(n):
    return n.resistor * n.share / (1 - n.share)


ratio = Exercise(
    "measure-it-yourself/ratio",
    title="How many ohms is that?",
    draw=_draw_ratio,
    prompt=lambda n: (
        f"In series stands {n.resistor:g} Ω. At one frequency the device channel has {n.share:g} "
        "of the voltage of the total channel, in step with it. What is the impedance there?"
    ),
    answer=_ohms,
    unit="Ω",
    formula="Z = R·x/(1 − x)",
    letters=lambda n: {"R": n.resistor, "x": n.share},
    slips={
        "That is the resistor's share against the device: turn the fraction over.": lambda n: (
            n.resistor * (1 - n.share) / n.share
        ),
        "That takes the total for the voltage across the resistor; it is what is left of it.": (
            lambda n: n.resistor * n.share
        ),
    },
    hints=lambda n: (
        "The same current flows through both: their voltages go as their ohms.",
        "The resistor has what the device leaves: 1 − x of the whole. So Z = R·x/(1 − x).",
        f"x is {n.share:g}, so 1 − x is {1 - n.share:.2f}, and R is {n.resistor:g} Ω.",
    ),
    solution=lambda n: (
        f"Z = {n.resistor:g}·{n.share:g}/{1 - n.share:.2f} = **{digits(_ohms(n))} Ω**."
    ),
)


def _draw_port(rng):
    return SimpleNamespace(cone=10 * int(rng.integers(20, 51)), port=5 * int(rng.integers(6, 21)))


def _less(n):
    return 10 * float(np.log10(n.cone / n.port))


port = Exercise(
    "measure-it-yourself/port",
    title="By how much is the port turned down?",
    draw=_draw_port,
    prompt=lambda n: (
        f"A cone of {n.cone} cm² and a port of {n.port} cm², both heard from close by at one "
        "recording level. By how many decibels is the port turned down against the cone before the "
        "two are added?"
    ),
    steps=(
        Step(
            "Turned down by",
            _less,
            "dB",
            absolute=0.15,
            slips={
                "That is by the area; it is the root of the area that counts.": lambda n: (
                    2 * _less(n)
                ),
                "That is the root once too often.": lambda n: _less(n) / 2,
            },
            formula="down = 10·log(cone/port)",
        ),
    ),
    letters=lambda n: {"cone": n.cone / 1e4, "port": n.port / 1e4},
    hints=lambda n: (
        "Pressure close to a piston, carried to afar, goes with its radius.",
        "Radius goes with the root of the area: 20·log10 of the root is 10·log10 of the area.",
        f"10·log10({n.cone}/{n.port}).",
    ),
    solution=lambda n: f"10·log10({n.cone}/{n.port}) = **{digits(_less(n))} dB**.",
)

answer = answers_of(__name__)
EXERCISES = (ratio, port)
