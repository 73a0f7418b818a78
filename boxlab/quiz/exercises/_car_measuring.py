"""Two exercises of the lesson "in the car": walls outdoors, and what a measurement tells."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np

from boxlab.base.quantities import digits
from boxlab.car.vehicle import boundary_loading, pressure_lift
from boxlab.quiz.task import Exercise


def _draw_wall(rng):
    return SimpleNamespace(distance=5 * int(rng.integers(4, 13)), walls=int(rng.choice([2, 3])))


def _loading(n):
    near = [0.0] * n.walls
    return float(boundary_loading(30.0, near) - boundary_loading(30.0, 0.0))


wall = Exercise(
    "in-the-car/wall",
    title="What does the corner bring?",
    draw=_draw_wall,
    prompt=lambda n: (
        "Outdoors, a box is pushed from the open floor right against "
        + (
            "a big hard wall that stands on it"
            if n.walls == 2
            else "a corner of two big hard walls"
        )
        + ". By how many dB does its power go up at low notes?"
    ),
    answer=_loading,
    unit="dB",
    formula="more = 10·log(2)·walls, those beyond the floor",
    letters=lambda n: {"walls": n.walls - 1},
    absolute=0.3,
    slips={
        "You counted the floor, which these pages have already, or took 6 dB for a wall: that is "
        "the level out in front, not the power.": lambda n: _loading(n) + 3.01,
    },
    hints=lambda n: (
        "Each hard wall halves the space that the sound has to fill.",
        "Half the space: twice the power, or 10·log10(2) in dB. The floor is counted already.",
        f"{n.walls - 1} more {'wall' if n.walls == 2 else 'walls'} than the floor.",
    ),
    solution=lambda n: (
        f"{n.walls - 1} · 3 dB = **{_loading(n):.1f} dB** of power. (The level in the space that "
        "is left rises by twice that.) In a shut cabin below its first mode this is in the lift "
        "already; adding it again is a common mistake."
    ),
)


def _draw_measured(rng):
    volume = int(rng.integers(24, 40)) / 10
    frequency = int(rng.integers(18, 26))
    rigid = 20 * np.log10(abs(pressure_lift(frequency, volume)))
    return SimpleNamespace(
        volume=volume, frequency=frequency, lost=int(rng.integers(3, 8)), rigid=float(rigid)
    )


measured = Exercise(
    "in-the-car/measured",
    title="How tight is this car?",
    draw=_draw_measured,
    prompt=lambda n: (
        f"You measure the same box at the same volts twice, at {n.frequency} Hz: outdoors at 1 m, "
        f"and at the seat. The textbook's cabin of {n.volume:g} m³ would add {n.rigid:.1f} dB; you "
        f"find {n.rigid - n.lost:.1f} dB. If panels that give were the only cause, how much would "
        "they give, as a multiple of what the air itself does?"
    ),
    answer=lambda n: 10 ** (n.lost / 20) - 1,
    unit="",
    formula="give = 10^((would − found)/20) − 1",
    letters=lambda n: {"would": round(n.rigid, 1), "found": round(n.rigid - n.lost, 1)},
    tolerance=0.04,
    slips={
        "That is the panels and the air together. Take off the air's own share, 1.": lambda n: (
            10 ** (n.lost / 20)
        ),
        "Pressure goes with 20 log, not with 10.": lambda n: 10 ** (n.lost / 10) - 1,
    },
    hints=lambda n: (
        "What yields twice as much has half the pressure.",
        "Pressure goes as 1/(1 + give), so the loss is 20·log10(1 + give).",
        f"The loss is {n.lost} dB; 10^({n.lost}/20) is the air and the panels together.",
    ),
    solution=lambda n: (
        f"1 + give = 10^({n.lost}/20) = {digits(10 ** (n.lost / 20))}, so the panels give "
        f"**{10 ** (n.lost / 20) - 1:.2f}** times what the air does. Leaks would have done it too; "
        "a second note tells them apart, because leaks take more the lower it is."
    ),
)
