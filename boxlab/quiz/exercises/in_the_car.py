"""Exercises of the lesson "in the car": modes, lift, level at the seat, walls."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np

from boxlab.base.units import to_feet
from boxlab.car.vehicle import Cabin, cabin_lift, pressure_lift
from boxlab.model.air import Air
from boxlab.quiz.exercises import answers_of
from boxlab.quiz.exercises._car_measuring import measured, wall
from boxlab.quiz.task import Exercise, Step

__all__ = ["EXERCISES", "answer", "corner", "lift", "measured", "mode", "seat", "wall"]

SPEED = Air().speed_of_sound


def _feet(metres):
    return f"{metres:.2f} m ({to_feet(metres):.1f} ft)"


def _draw_mode(rng):
    return SimpleNamespace(
        length=int(rng.integers(38, 80)) / 20,
        width=float(rng.choice([1.33, 1.43, 1.57])),
    )


mode = Exercise(
    "in-the-car/mode",
    title="Where is the first length mode?",
    draw=_draw_mode,
    prompt=lambda n: (
        f"A cabin is {_feet(n.length)} long and {_feet(n.width)} wide inside. Take c = 343 m/s. "
        "Where is its first mode?"
    ),
    answer=lambda n: SPEED / (2 * n.length),
    unit="Hz",
    formula="f = c/(2·L)",
    letters=lambda n: {"c": 343.0, "L": round(n.length, 2)},
    slips={
        "A whole wave fits at twice that. The first mode is half a wave.": lambda n: (
            SPEED / n.length
        ),
        "That is a quarter wave: a tube open at one end. A shut cabin is closed at both.": (
            lambda n: SPEED / (4 * n.length)
        ),
        "You took the width. The longest side has the lowest mode.": lambda n: (
            SPEED / (2 * n.width)
        ),
    },
    hints=lambda n: (
        "Pressure is high at both ends and nothing in the middle. How much of a wave is that?",
        "Half a wave: the wavelength is 2·L, and f = c/λ.",
        f"λ = {2 * n.length:.2f} m.",
    ),
    solution=lambda n: (
        f"Half a wave is {n.length:.2f} m, so f = c/(2·L) = "
        f"**{SPEED / (2 * n.length):.0f} Hz**. Half of it, {SPEED / (4 * n.length):.0f} Hz, is "
        "where we let the pressure zone end."
    ),
)


def _draw_lift(rng):
    return SimpleNamespace(
        length=int(rng.integers(42, 70)) / 20,
        width=int(rng.integers(27, 32)) / 20,
        height=int(rng.integers(22, 26)) / 20,
        frequency=int(rng.integers(14, 26)),
    )


def _cabin(n):
    return Cabin(n.length, n.width, n.height)


def _unity(volume):
    return SPEED / (2 * np.pi) * np.sqrt(2 * np.pi / volume)


def _rigid(n):
    return 20 * np.log10(abs(pressure_lift(n.frequency, _cabin(n).volume)))


lift = Exercise(
    "in-the-car/lift",
    title="What does the textbook's cabin add?",
    draw=_draw_lift,
    prompt=lambda n: (
        f"A cabin of {n.length:g} × {n.width:g} × {n.height:g} m "
        f"({to_feet(n.length):.1f} × {to_feet(n.width):.1f} × {to_feet(n.height):.1f} ft), three "
        "quarters of it air. If it were sealed and rigid, by how much would it lift "
        f"{n.frequency} Hz over the same box outdoors at 1 m? Take c = 343 m/s."
    ),
    steps=(
        Step(
            "Air in the cabin",
            lambda n: _cabin(n).volume,
            "m³",
            slips={
                "Seats and people take a quarter of it.": lambda n: _cabin(n).volume / 0.75,
            },
            formula="V = 3/4·l·w·h",
        ),
        Step(
            "Frequency where the lift is 0 dB",
            lambda n: _unity(_cabin(n).volume),
            "Hz",
            slips={
                "The volume goes in with its air only, not the whole brick.": lambda n: _unity(
                    _cabin(n).volume / 0.75
                ),
            },
            formula="f0 = c/(2·π)·√(2·π·r/V), r = 1 m",
        ),
        Step(
            "Lift",
            _rigid,
            "dB",
            absolute=0.3,
            slips={
                "That is 6 dB per octave. The pressure of a shut room rises by 12.": lambda n: (
                    _rigid(n) / 2
                ),
            },
            formula="lift = 40·log(f0/f)",
        ),
    ),
    letters=lambda n: {
        "l": n.length,
        "w": n.width,
        "h": n.height,
        "c": 343.0,
        "r": 1.0,
        "f": n.frequency,
    },
    hints=lambda n: (
        "Find the frequency where the room gives as much as the open air, and go down from there.",
        "f₀ = (c/2π)·√(2π·r/V) with r = 1 m; lift = 40·log10(f₀/f).",
        f"f₀/f is about {_unity(_cabin(n).volume) / n.frequency:.2f}, or "
        f"{np.log2(_unity(_cabin(n).volume) / n.frequency):.2f} octaves.",
    ),
    solution=lambda n: (
        f"V = 0.75·{n.length:g}·{n.width:g}·{n.height:g} = **{_cabin(n).volume:.2f} m³**. f₀ = "
        f"(343/2π)·√(2π/{_cabin(n).volume:.2f}) = **{_unity(_cabin(n).volume):.0f} Hz**. Lift = "
        f"40·log10({_unity(_cabin(n).volume):.0f}/{n.frequency}) = **{_rigid(n):.1f} dB**. A real "
        "one leaks and gives: count on less."
    ),
)


def _draw_seat(rng):
    return SimpleNamespace(
        outdoors=int(rng.integers(78, 95)),
        frequency=int(rng.integers(16, 31)),
        length=int(rng.integers(42, 64)) / 20,
    )


def _edges(n):
    band = cabin_lift(Cabin(n.length), float(n.frequency))
    return float(band.low[0]), float(band.high[0])


seat = Exercise(
    "in-the-car/seat",
    title="What may you promise at the seat?",
    draw=_draw_seat,
    prompt=lambda n: (
        f"A box gives {n.outdoors} dB at {n.frequency} Hz outdoors at 1 m. In a cabin of "
        f"{_feet(n.length)} the band of lift at that note is {_edges(n)[0]:.1f} to "
        f"{_edges(n)[1]:.1f} dB. Which level at the seat can you stand by, however the car turns "
        "out within that band?"
    ),
    answer=lambda n: n.outdoors + _edges(n)[0],
    unit="dB",
    formula="level = outdoors + low, low is the lower edge of the band",
    letters=lambda n: {"outdoors": n.outdoors, "low": round(_edges(n)[0], 1)},
    absolute=0.3,
    slips={
        "That is the high edge, of a tight and rigid car. You cannot promise it.": lambda n: (
            n.outdoors + _edges(n)[1]
        ),
        "That is the middle. Half of all cars may be below it.": lambda n: (
            n.outdoors + sum(_edges(n)) / 2
        ),
        "The cabin adds, it does not take away.": lambda n: n.outdoors - _edges(n)[0],
    },
    hints=lambda n: (
        "A promise holds in the worst case too.",
        "Lifts in dB add to levels in dB.",
        f"Of {_edges(n)[0]:.1f} and {_edges(n)[1]:.1f} dB, take the one that is there in a leaky "
        "car as well.",
    ),
    solution=lambda n: (
        f"{n.outdoors} + {_edges(n)[0]:.1f} = **{n.outdoors + _edges(n)[0]:.1f} dB**. It may turn "
        f"out {_edges(n)[1] - _edges(n)[0]:.0f} dB louder. Better: measure."
    ),
)


def _draw_corner(rng):
    low = int(rng.integers(18, 26))
    return SimpleNamespace(low=low, high=2 * low, slope=int(rng.integers(15, 24)))


def _net(n):
    return n.slope - 12.0


corner = Exercise(
    "in-the-car/slope",
    title="How fast does it still fall?",
    draw=_draw_corner,
    prompt=lambda n: (
        f"Outdoors a box falls by {n.slope} dB from {n.high} to {n.low} Hz. In a sealed and rigid "
        "cabin, with both notes in its pressure zone, by how much does it fall over the same "
        "octave?"
    ),
    answer=_net,
    unit="dB",
    formula="fall = outdoors − 12, for each octave",
    letters=lambda n: {"outdoors": n.slope},
    absolute=0.3,
    slips={
        "The lift grows as the note gets lower: it works against the fall.": lambda n: n.slope + 12,
        "A shut room's pressure goes as one over frequency squared: 12 dB per octave, not 6.": (
            lambda n: n.slope - 6
        ),
    },
    hints=lambda n: (
        f"How much more does the cabin lift {n.low} Hz than {n.high} Hz?",
        "12 dB for each octave down, in the textbook's cabin.",
        f"Take what the cabin gives back from the {n.slope} dB.",
    ),
    solution=lambda n: (
        f"{n.slope} − 12 = **{_net(n):.0f} dB**. A box with a second-order fall, a sealed one, "
        "would be left with none; a leaky cabin gives less back."
    ),
)


answer = answers_of(__name__)
EXERCISES = (lift, mode, seat, corner, wall, measured)
