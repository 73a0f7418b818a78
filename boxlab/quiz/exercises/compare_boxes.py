"""Exercises of the lesson "compare boxes fairly": voltage, power, distance, band, space."""

from __future__ import annotations

from math import log10, sqrt
from types import SimpleNamespace

import numpy as np

from boxlab.car.wiring import Amplifier
from boxlab.design.fair_comparison import CLOSE
from boxlab.quiz.exercises import answers_of
from boxlab.quiz.task import Exercise, Step


def _draw_coils(rng):
    return SimpleNamespace(
        one=int(rng.integers(30, 40)) / 10,
        two=int(rng.integers(14, 22)) / 10,
        lead=int(rng.integers(20, 45)) / 10,
        volts=2.83,
    )


def _watts(n, which):
    return n.volts**2 / (n.one if which == 1 else n.two)


same_voltage = Exercise(
    "compare-boxes/same-voltage",
    title="How much of that lead is only power?",
    draw=_draw_coils,
    prompt=lambda n: (
        f"At {n.volts:g} V box B measures {n.lead:g} dB louder than box A. The coil of A has "
        f"{n.one:g} Ω, that of B {n.two:g} Ω. What is left of the lead of B if both are given the "
        "same power into their coils?"
    ),
    steps=(
        Step("Power into the coil of A", lambda n: _watts(n, 1), "W", formula="PA = V²/RA"),
        Step(
            "Power into the coil of B",
            lambda n: _watts(n, 2),
            "W",
            slips={"That is the power in A's coil.": lambda n: _watts(n, 1)},
            formula="PB = V²/RB",
        ),
        Step(
            "What that is in decibels",
            lambda n: 10 * log10(n.one / n.two),
            "dB",
            absolute=0.1,
            slips={
                "That is 20 log of the ratio; powers take 10 log.": (
                    lambda n: 20 * log10(n.one / n.two)
                )
            },
            formula="more = 10·log(PB/PA)",
        ),
        Step(
            "Lead of B at the same power",
            lambda n: n.lead - 10 * log10(n.one / n.two),
            "dB",
            absolute=0.15,
            formula="left = lead − more",
        ),
    ),
    letters=lambda n: {"V": n.volts, "RA": n.one, "RB": n.two, "lead": n.lead},
    hints=lambda n: (
        "At the same voltage the lower resistance draws more. How much more, and what is that in "
        "decibels?",
        "P = V²/Re for each, then 10·log(P of B / P of A), and take it off the lead.",
        f"The ratio of the powers is {n.one / n.two:.3f}.",
    ),
    solution=lambda n: (
        f"{_watts(n, 1):.2f} W against {_watts(n, 2):.2f} W is {10 * log10(n.one / n.two):.2f} dB. "
        f"Of the {n.lead:g} dB that leaves **{n.lead - 10 * log10(n.one / n.two):.1f} dB**."
    ),
)


def _draw_distance(rng):
    return SimpleNamespace(
        spl=int(rng.integers(98, 112)),
        distance=int(rng.integers(4, 11)) / 2,
        volts=int(rng.integers(8, 25)),
    )


def _at_metre(n):
    return n.spl + 20 * log10(n.distance)


def _sensitivity(n):
    return _at_metre(n) + 20 * log10(2.83 / n.volts)


footing = Exercise(
    "compare-boxes/footing",
    title="What is that number at 2.83 V and 1 m?",
    draw=_draw_distance,
    prompt=lambda n: (
        f"Somebody posts {n.spl} dB at 50 Hz, measured outdoors on the ground {n.distance:g} m "
        f"({n.distance / 0.3048:.0f} ft) away, with {n.volts} V on the box. What would it be at "
        "1 m and 2.83 V?"
    ),
    answer=_sensitivity,
    unit="dB",
    formula="level = posted + 20·log(distance) + 20·log(2.83/volts)",
    letters=lambda n: {"posted": n.spl, "distance": n.distance, "volts": n.volts},
    tolerance=0.0,
    absolute=0.3,
    slips={
        "You corrected the distance only. The voltage counts too.": _at_metre,
        "You corrected the voltage only. The distance counts too.": lambda n: (
            n.spl + 20 * log10(2.83 / n.volts)
        ),
        "The wrong way round with the distance: nearer is louder.": lambda n: (
            _sensitivity(n) - 40 * log10(n.distance)
        ),
    },
    hints=lambda n: (
        "Pressure goes as voltage, and as one over the distance. What is each in decibels?",
        "Add 20·log(distance/1 m), and 20·log(2.83/voltage), which is negative here.",
        f"The distance adds {20 * log10(n.distance):.1f} dB and the voltage takes off "
        f"{-20 * log10(2.83 / n.volts):.1f} dB.",
    ),
    solution=lambda n: (
        f"{n.spl} + {20 * log10(n.distance):.1f} − {-20 * log10(2.83 / n.volts):.1f} = "
        f"**{_sensitivity(n):.1f} dB**. The rule for the distance holds outdoors, and far "
        "enough away that the box looks small."
    ),
)


def _draw_amplifier(rng):
    four = 25 * int(rng.integers(6, 15))
    return SimpleNamespace(four=four, two=int(four * rng.choice([1.5, 1.6, 1.7])))


def _gain(n):
    amplifier = Amplifier({4: n.four, 2: n.two})
    return 20 * log10(sqrt(2) * amplifier.voltage(2) / amplifier.voltage(4))


amplifier = Exercise(
    "compare-boxes/amplifier",
    title="What does the two-ohm coil gain on this amplifier?",
    draw=_draw_amplifier,
    prompt=lambda n: (
        f"An amplifier is rated {n.four} W at 4 Ω and {n.two} W at 2 Ω. Two boxes differ in one "
        "thing: the coil of the second is rewound from 4 Ω to 2 Ω, with the same motor strength, "
        "so that both make the same level from the same power. How much louder is the second on "
        "this amplifier, where only the amplifier stops it?"
    ),
    answer=_gain,
    unit="dB",
    formula="gain = 10·log(P2/P4)",
    letters=lambda n: {"P2": n.two, "P4": n.four},
    tolerance=0.0,
    absolute=0.1,
    slips={
        "That would need an amplifier that holds its voltage and doubles its power.": (
            lambda n: 10 * log10(2)
        ),
        "You took 20 log of a ratio of powers.": lambda n: 2 * _gain(n),
    },
    hints=lambda n: (
        "Same motor, same level from the same power. So only the ratio of the powers counts.",
        "10·log(power at 2 Ω / power at 4 Ω).",
        f"The ratio is {n.two / n.four:.2f}.",
    ),
    solution=lambda n: (
        f"10·log({n.two}/{n.four}) = **{_gain(n):.1f} dB**, and nothing at all where cone or "
        "radiator have no travel left."
    ),
)


def _draw_band(rng):
    one = [int(v) for v in np.sort(rng.integers(92, 112, 5))]
    two = [int(v) for v in np.sort(rng.integers(96, 108, 5))]
    return SimpleNamespace(one=one, two=two)


def _lead(n):
    return float(np.mean(n.one) - np.mean(n.two))


band = Exercise(
    "compare-boxes/band",
    title="Which is louder on average over the band?",
    draw=_draw_band,
    prompt=lambda n: (
        "Loudest levels with the same amplifier at 31.5, 40, 50, 63 and 80 Hz. A: "
        + ", ".join(f"{v}" for v in n.one)
        + " dB. B: "
        + ", ".join(f"{v}" for v in n.two)
        + " dB. What is the lead of A on average, octaves weighed alike? (Negative if B leads.)"
    ),
    answer=_lead,
    unit="dB",
    formula="lead = A/5 − B/5, A and B are the sums",
    letters=lambda n: {"A": sum(n.one), "B": sum(n.two)},
    tolerance=0.0,
    absolute=0.1,
    hints=lambda n: (
        "The five frequencies are a third of an octave apart, so each weighs the same.",
        "Mean of the five levels of A, less the mean of the five of B.",
        f"The five of A add up to {sum(n.one)}, those of B to {sum(n.two)}.",
    ),
    solution=lambda n: (
        f"{sum(n.one) / 5:.1f} − {sum(n.two) / 5:.1f} = **{_lead(n):.1f} dB**. "
        + (
            "A decibel or less: call it a draw. "
            if abs(_lead(n)) <= CLOSE
            else "That is the average. "
        )
        + f"At 31.5 Hz, the weakest note here, the lead of A is {n.one[0] - n.two[0]} dB."
    ),
)  # fmt: skip


def _draw_space(rng):
    small = int(rng.integers(18, 36))
    return SimpleNamespace(small=small, large=int(small * rng.choice([1.5, 2.0, 2.5, 3.0])))


space = Exercise(
    "compare-boxes/space",
    title="What may the larger box do, just for being larger?",
    draw=_draw_space,
    prompt=lambda n: (
        "Small's relation says that for a given kind of box, efficiency goes as f3³ times volume. "
        f"One box has {n.small} L net, another of the same kind {n.large} L, and the same f3. How "
        "much louder from the same power may the larger be, by its size alone?"
    ),
    answer=lambda n: 10 * log10(n.large / n.small),
    unit="dB",
    formula="more = 10·log(large/small)",
    letters=lambda n: {"large": n.large / 1e3, "small": n.small / 1e3},
    tolerance=0.0,
    absolute=0.1,
    slips={
        "Efficiency is a ratio of powers, so it takes 10 log.": (
            lambda n: 20 * log10(n.large / n.small)
        )
    },
    hints=lambda n: (
        "With f3 the same, only the volume is left in the relation.",
        "10·log of the ratio of the volumes.",
        f"The ratio is {n.large / n.small:.2f}.",
    ),
    solution=lambda n: (
        f"10·log({n.large}/{n.small}) = **{10 * log10(n.large / n.small):.1f} dB**. A lead smaller "
        "than that comes from the larger box's size alone."
    ),
)

answer = answers_of(__name__)
EXERCISES = (same_voltage, footing, amplifier, band, space)
