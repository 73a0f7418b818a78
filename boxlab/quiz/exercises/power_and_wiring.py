"""Exercises of the lesson "power and wiring": load, watts on music, headroom, cable, fuse."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np

from boxlab.base.quantities import digits
from boxlab.car.wiring import Amplifier, networks
from boxlab.quiz.exercises import answers_of
from boxlab.quiz.exercises._supply_tasks import cable, fuse
from boxlab.quiz.task import Exercise, Step


def _draw_load(rng):
    series = bool(rng.integers(2))
    coil = int(rng.choice([2, 4] if series else [4, 8]))
    most = 2 if coil == 4 and not series else 4  # keeps the load at 1 Ω or more
    return SimpleNamespace(
        coil=coil,
        series=series,
        drivers=int(rng.integers(2, most + 1)),
        rating=10 * int(rng.integers(30, 71)),
    )


def _network(n):
    """Coils of a driver in series or parallel, then the drivers side by side."""
    inside = 2 if n.series else 1
    return next(
        way
        for way in networks(n.coil, 2, n.drivers)
        if way.coils_in_series == inside and way.drivers_in_series == 1
    )


def _one(n):
    return n.coil * 2 if n.series else n.coil / 2


def _amplifier(n):
    return Amplifier({_network(n).load: n.rating})


load = Exercise(
    "power-and-wiring/load",
    title="What load, how many volts, and watts for each?",
    draw=_draw_load,
    prompt=lambda n: (
        f"{n.drivers} drivers, each with two coils of {n.coil} Ω. In each driver the coils are in "
        f"{'series' if n.series else 'parallel'}; the drivers are side by side, in parallel. The "
        f"amplifier is rated {n.rating} W at the load they make."
    ),
    steps=(
        Step(
            "Load of one driver",
            _one,
            "Ω",
            formula="R1 = k·coil, k = 2 in series, 1/2 in parallel",
            slips={
                "That is the other way round: series adds, parallel divides.": lambda n: (
                    n.coil / 2 if n.series else n.coil * 2
                ),
            },
        ),
        Step(
            "Load on the amplifier",
            lambda n: _network(n).load,
            "Ω",
            formula="R = R1/drivers",
            slips={
                "That is the drivers in series: side by side they divide.": lambda n: (
                    _one(n) * n.drivers
                ),
            },
        ),
        Step(
            "Sine voltage of the rating, rms",
            lambda n: _amplifier(n).voltage(_network(n).load),
            "V",
            formula="V = √(P·R)",
            slips={
                "You took one driver's load; the amplifier sees them all.": lambda n: float(
                    np.sqrt(n.rating * _one(n))
                ),
            },
        ),
        Step(
            "Watts of that rating for each driver",
            lambda n: n.rating / n.drivers,
            "W",
            formula="each = P/drivers",
            slips={
                "That is shared by coil; the question asks by driver.": lambda n: (
                    n.rating / n.drivers / 2
                ),
            },
        ),
    ),
    letters=lambda n: {
        "k": 2 if n.series else 0.5,
        "coil": n.coil,
        "drivers": n.drivers,
        "P": n.rating,
    },
    hints=lambda n: (
        "Work from the inside out: first one driver, then all of them.",
        "Two equal coils: twice in series, half in parallel. N equal drivers in parallel: one "
        "divided by N. Then V = √(P·R).",
        f"V² is {n.rating} W times the load; and the drivers share the watts evenly.",
    ),
    solution=lambda n: (
        f"One driver: {digits(_one(n))} Ω. {n.drivers} in parallel: {digits(_one(n))}/{n.drivers} "
        f"= **{digits(_network(n).load)} Ω**. V = √({n.rating}·{digits(_network(n).load)}) = "
        f"**{digits(_amplifier(n).voltage(_network(n).load))} V**. Each driver gets "
        f"{n.rating}/{n.drivers} = **{digits(n.rating / n.drivers)} W**, if the amplifier allows "
        "that load at all."
    ),
)


def _draw_music(rng):
    return SimpleNamespace(rating=50 * int(rng.integers(4, 21)), crest=int(rng.integers(9, 17)))


music = Exercise(
    "power-and-wiring/music",
    title="How many watts does music leave?",
    draw=_draw_music,
    prompt=lambda n: (
        f"An amplifier of {n.rating} W plays music with a crest factor of {n.crest} dB, its peaks "
        "just at clip, into a plain resistor of the rated load. What is the average power?"
    ),
    answer=lambda n: n.rating * 2 / 10 ** (n.crest / 10),
    unit="W",
    formula="P = rating·2/10^(crest/10)",
    letters=lambda n: {"rating": n.rating, "crest": n.crest},
    tolerance=0.03,
    slips={
        "The rating is already an average, that of a sine. A sine has 3 dB of crest itself, so "
        "only the rest counts.": lambda n: n.rating / 10 ** (n.crest / 10),
        "These are decibels of power here: 10 of them are a factor of ten.": lambda n: (
            n.rating * 2 / 10 ** (n.crest / 20)
        ),
    },
    hints=lambda n: (
        "A sine of the same peak has a crest factor of 3 dB and draws the rating. How far is the "
        "music below that?",
        "Share = 2/CF², with CF² = 10^(crest/10).",
        f"The music is {n.crest} − 3 = {n.crest - 3} dB below the rating.",
    ),
    solution=lambda n: (
        f"CF² = 10^({n.crest}/10) = {10 ** (n.crest / 10):.1f}, so {n.rating}·2/"
        f"{10 ** (n.crest / 10):.1f} = **{n.rating * 2 / 10 ** (n.crest / 10):.1f} W**. A box "
        "takes less still."
    ),
)


def _draw_meter(rng):
    return SimpleNamespace(
        volts=int(rng.integers(12, 31)),
        ohms=int(rng.integers(11, 30)) / 2,
        angle=5 * int(rng.integers(4, 12)),
        rated=int(rng.choice([2, 4])),
    )


def _real(n):
    return n.volts**2 / n.ohms * float(np.cos(np.radians(n.angle)))


meter = Exercise(
    "power-and-wiring/real-power",
    title="What does the box really take?",
    draw=_draw_meter,
    prompt=lambda n: (
        f"A sine of {n.volts} V rms drives a box rated {n.rated} Ω. At this note its impedance is "
        f"{n.ohms:g} Ω with a phase of {n.angle}°. What is the real power?"
    ),
    answer=_real,
    unit="W",
    formula="P = V²/Z·cos(φ)",
    letters=lambda n: {"V": n.volts, "Z": n.ohms, "φ": float(np.radians(n.angle))},
    slips={
        "That is volts squared over the label. The label is not what the box has at this note.": (
            lambda n: n.volts**2 / n.rated
        ),
        "That is volts times amperes. Part of it comes back: only the share in phase is power.": (
            lambda n: n.volts**2 / n.ohms
        ),
    },
    hints=lambda n: (
        "First the current. Then ask how much of volts times amperes is in phase.",
        "I = V/|Z|, and P = V·I·cos φ.",
        f"I = {n.volts / n.ohms:.3g} A, cos {n.angle}° = {np.cos(np.radians(n.angle)):.3f}.",
    ),
    solution=lambda n: (
        f"I = {n.volts}/{n.ohms:g} = {n.volts / n.ohms:.3g} A. P = {n.volts}·"
        f"{n.volts / n.ohms:.3g}·{np.cos(np.radians(n.angle)):.3f} = **{_real(n):.1f} W**. The "
        f"label would have said {n.volts**2 / n.rated:.0f} W."
    ),
)


def _draw_headroom(rng):
    return SimpleNamespace(
        rating=50 * int(rng.integers(3, 9)), more=int(rng.choice([2, 4, 5, 7, 8]))
    )


headroom = Exercise(
    "power-and-wiring/headroom",
    title="How large an amplifier for that much more?",
    draw=_draw_headroom,
    prompt=lambda n: (
        f"An amplifier of {n.rating} W just clips. You want to play {n.more} dB louder without "
        "clipping, on the same box. What rating does that take, at the same load?"
    ),
    answer=lambda n: n.rating * 10 ** (n.more / 10),
    unit="W",
    formula="P = rating·10^(more/10)",
    letters=lambda n: {"rating": n.rating, "more": n.more},
    slips={
        "Watts go with 10 log, volts with 20 log.": lambda n: n.rating * 10 ** (n.more / 20),
        "Decibels do not add to watts: they multiply them.": lambda n: n.rating * (1 + n.more / 10),
    },
    hints=lambda n: (
        "3 dB is twice the watts, 10 dB ten times. Where does this lie?",
        "Ratio of watts = 10^(dB/10).",
        f"10^({n.more}/10) = {10 ** (n.more / 10):.3f}.",
    ),
    solution=lambda n: (
        f"{n.rating}·10^({n.more}/10) = **{n.rating * 10 ** (n.more / 10):.0f} W**. The heat in "
        "the coil goes up by the same factor."
    ),
)


__all__ = ["EXERCISES", "answer", "cable", "fuse", "headroom", "load", "meter", "music"]

answer = answers_of(__name__)
EXERCISES = (load, music, meter, headroom, cable, fuse)
