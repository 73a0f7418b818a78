"""Exercises on weights for a tuning and on faults in a sweep, for the lesson on sweeps."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np

from boxlab.base.quantities import digits
from boxlab.base.units import grams, to_grams, to_ounces
from boxlab.explainers.faults_in_a_sweep import CASE_COUNT, case, facts
from boxlab.gear.demo_sweeps import FAULTS
from boxlab.measure.fit.radiator_mass import mass_to_add, radiator_from_tunings
from boxlab.measure.fit.washers import WASHERS
from boxlab.quiz.task import Exercise, Step

# Weights for a tuning.


def _draw_weights(rng):
    first = int(rng.integers(76, 100)) / 2
    mass = int(rng.integers(110, 260))
    added = 10 * int(rng.integers(6, 12))
    return SimpleNamespace(
        first=first,
        added=added,
        second=round(first * float(np.sqrt(mass / (mass + added))), 1),
        wanted=round(first * float(rng.uniform(0.84, 0.93)) * 2) / 2,
    )


def _found(n):
    return radiator_from_tunings(n.first, n.second, grams(n.added)).mass


def _more(n):
    return float(to_grams(mass_to_add(n.wanted, n.first, _found(n))))


_M16 = float(to_grams(WASHERS["M16"].mass))

weights = Exercise(
    "reading-a-sweep/weights",
    title="How much weight, and how many washers?",
    draw=_draw_weights,
    prompt=lambda n: (
        f"A box with one radiator tunes to {n.first:g} Hz. With {n.added} g "
        f"({to_ounces(grams(n.added)):.1f} oz) more on the radiator it tunes to {n.second:g} Hz. "
        f"You want {n.wanted:g} Hz. Your M16 washers weigh {_M16:.1f} g each."
    ),
    steps=(
        Step(
            "What moves without the extra weights",
            lambda n: float(to_grams(_found(n))),
            "g",
            tolerance=0.03,
            slips={
                "That is with the extra weights on.": lambda n: (
                    float(to_grams(_found(n))) + n.added
                ),
                "Square the frequencies first.": lambda n: (
                    n.added * n.second / (n.first - n.second)
                ),
            },
            formula="M = Δm·f2²/(f1² − f2²)",
        ),
        Step(
            "To add for the wanted tuning, in place of the extra weights",
            _more,
            "g",
            tolerance=0.05,
            absolute=2.0,
            slips={
                "That is all that moves at the wanted tuning; part of it is there already.": (
                    lambda n: _more(n) + float(to_grams(_found(n)))
                ),
            },
            formula="more = M·((f1/f)² − 1)",
        ),
        Step(
            "Washers, to the nearest whole one",
            lambda n: float(round(_more(n) / _M16)),
            "",
            absolute=0.4,
            formula="washers = round(more/washer)",
        ),
    ),
    letters=lambda n: {
        "Δm": grams(n.added),
        "f1": n.first,
        "f2": n.second,
        "f": n.wanted,
        "washer": grams(round(_M16, 1)),
    },
    hints=lambda n: (
        "The springs are the same in all three cases, so frequency squared times mass is too.",
        "M = Δm·f₂²/(f₁² − f₂²); then M·((f₁/f)² − 1) for a wanted f.",
        f"f₁² = {digits(n.first**2)}, f₂² = {digits(n.second**2)} Hz²; "
        f"(f₁/f)² − 1 = {(n.first / n.wanted) ** 2 - 1:.3f}.",
    ),
    solution=lambda n: (
        f"M = {n.added}·{n.second:g}²/({n.first:g}² − {n.second:g}²) = "
        f"**{to_grams(_found(n)):.0f} g**. For {n.wanted:g} Hz add M·(({n.first:g}/{n.wanted:g})² "
        f"− 1) = **{_more(n):.0f} g**, which is **{round(_more(n) / _M16)}** M16 washers. Weigh "
        "yours; they are rarely all alike."
    ),
)


# Spot the fault.

NAMES = tuple(FAULTS)
_SAYS = {
    "leak": "A leak lowers both peaks and lifts the valley, with no jagged points and nothing "
    "moved sideways.",
    "loose radiator": "A loose radiator loses energy and buzzes just above the tuning: look for "
    "jagged points there.",
    "stuffing": "Stuffing makes the box act larger: the upper peak would have moved down.",
    "rattle": "A rattle far from the tuning leaves peaks and valley as they were.",
    "small volume": "A box too small moves the upper peak and the valley up.",
    "heavy radiator": "A heavy radiator moves valley and lower peak down, and hardly the upper "
    "one.",
    "rubbing coil": "A rubbing coil lowers both peaks but leaves the valley at its old depth.",
}


def _draw_case(rng):
    return SimpleNamespace(case=int(rng.integers(1, CASE_COUNT + 1)))


def _which(n):
    return NAMES.index(case(n.case).fault) + 1


def _table(n):
    a, b, rough = facts(n.case)
    rows = [
        f"- {name}: {getattr(a, f):.1f} Hz and {getattr(a, z):.1f} Ω before, now "
        f"{getattr(b, f):.1f} Hz and {getattr(b, z):.1f} Ω"
        for name, f, z in (
            ("lower peak", "fl", "zl"),
            ("valley", "fm", "zm"),
            ("upper peak", "fh", "zh"),
        )
    ]
    jags = ", ".join(f"{low:.0f} to {high:.0f} Hz" for low, high in rough)
    return "\n".join([*rows, f"- jagged: {jags or 'nowhere'}"])


def _slip(place):
    return lambda n: float(place) if place != _which(n) else -float(place)


fault = Exercise(
    "reading-a-sweep/fault",
    title="Spot the fault",
    draw=_draw_case,
    prompt=lambda n: (
        f"Set the panel above to **case {n.case}**. The radiator box was in order, tuned to 34 Hz; "
        "now something is wrong.\n\n"
        + _table(n)
        + "\n\nWhich is it? Type its number: "
        + ", ".join(f"**{i}** {name}" for i, name in enumerate(NAMES, 1))
        + "."
    ),
    answer=lambda n: float(_which(n)),
    unit="",
    absolute=0.3,
    slips={_SAYS[name]: _slip(place) for place, name in enumerate(NAMES, 1)},
    hints=lambda n: (
        "First ask: has anything moved sideways? Then: has it become lower and rounder? Last: "
        "are points jagged?",
        "Sideways is mass or volume. Lower peaks are losses: of the box if the valley is lifted, "
        "of the driver if it is not. Jagged is something that buzzes.",
        {
            True: "Something has moved sideways here.",
            False: "Nothing has moved sideways here.",
        }[case(n.case).fault in ("stuffing", "small volume", "heavy radiator")],
    ),
    solution=lambda n: f"It is **{_which(n)}, {case(n.case).fault}**. {case(n.case).reason}",
)
