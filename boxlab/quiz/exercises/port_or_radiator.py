"""Exercises of the lesson "port or radiator": weights, port length, null, air speed."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace

import numpy as np

from boxlab.base.quantities import digits
from boxlab.base.units import (
    grams,
    litres,
    mm_per_newton,
    to_grams,
    to_mm_per_newton,
)
from boxlab.gear.scenario import TEN_INCH_RADIATOR
from boxlab.model.air import Air
from boxlab.model.enclosure import RadiatorBox
from boxlab.quiz.exercises import answers_of
from boxlab.quiz.exercises._ports import port_length, quiet_port, volume_text
from boxlab.quiz.task import Exercise, Step

__all__ = [
    "EXERCISES",
    "answer",
    "null",
    "port_length",
    "quiet_port",
    "softer",
    "weights",
]

RADIATOR = TEN_INCH_RADIATOR
_WHAT = (
    f"The demo radiator has Sd = {1e4 * RADIATOR.sd:.0f} cm², a moving mass of "
    f"{to_grams(RADIATOR.mms):.0f} g and a compliance of {to_mm_per_newton(RADIATOR.cms):g} mm/N."
)


def _draw_box(rng):
    return SimpleNamespace(volume=int(rng.integers(24, 40)) / 2, fb=int(rng.integers(36, 46)))


def _box(n):
    return RadiatorBox.tuned(litres(n.volume), n.fb, RADIATOR)


def _air_stiffness(n):
    return RADIATOR.sd**2 * Air().bulk_modulus / litres(n.volume)


def _weights_solution(n):
    k_air, k_own = _air_stiffness(n), 1 / RADIATOR.cms
    mass = to_grams(_box(n).radiator.moving_mass)
    return (
        f"The suspension gives 1/Cms = {digits(k_own)} N/m and the box air Sd²·ρc²/V = "
        f"{digits(k_air)} N/m; the radiator rests on both. ωb = 2π·{n.fb} = "
        f"{digits(2 * np.pi * n.fb)} rad/s, so the moving mass is k/ωb² = {digits(mass)} g, "
        f"and the weights are that less its own {to_grams(RADIATOR.mms):.0f} g: "
        f"**{digits(mass - to_grams(RADIATOR.mms))} g**."
    )


weights = Exercise(
    "port-or-radiator/weights",
    title="How much weight tunes this box?",
    draw=_draw_box,
    prompt=lambda n: (
        f"A ten-inch radiator is to tune {volume_text(n.volume)} net to {n.fb} Hz. {_WHAT} "
        "Take ρc² = 141 900 Pa for the air. How much weight goes on?"
    ),
    steps=(
        Step(
            "Stiffness of the suspension", lambda n: 1 / RADIATOR.cms, "N/m", formula="k1 = 1/Cms"
        ),
        Step(
            "Stiffness of the box air on the radiator",
            _air_stiffness,
            "N/m",
            formula="k2 = Sd²·ρc²/V",
            slips={
                "Sd counts twice: once for force from pressure, once for volume from travel.": (
                    lambda n: _air_stiffness(n) / RADIATOR.sd
                )
            },
        ),
        Step(
            "Moving mass needed",
            lambda n: to_grams(_box(n).radiator.moving_mass),
            "g",
            formula="m = (k1 + k2)/(2·π·fb)²",
            slips={
                "You left out the radiator's own suspension: it stiffens too.": (
                    lambda n: to_grams(_air_stiffness(n) / (2 * np.pi * n.fb) ** 2)
                )
            },
        ),
        Step(
            "Weights to bolt on",
            lambda n: to_grams(_box(n).radiator.added_mass),
            "g",
            formula="weights = m − Mms",
            tolerance=0.03,
            absolute=2.0,
            slips={
                "That is the whole moving mass; the radiator brings part of it itself.": (
                    lambda n: to_grams(_box(n).radiator.moving_mass)
                )
            },
        ),
    ),
    letters=lambda n: {
        "Cms": RADIATOR.cms,
        "Sd": RADIATOR.sd,
        "ρc": 141_900**0.5,
        "V": litres(n.volume),
        "fb": n.fb,
        "Mms": RADIATOR.mms,
    },
    hints=lambda n: (
        "The radiator rests on two springs at once. Find the stiffness of each, then "
        "ask which mass swings on both at the tuning.",
        "Suspension: 1/Cms. Box air: Sd²·ρc²/V, all in m² and m³. Mass: m = k/ωb², with "
        "ωb = 2π·fb.",
        f"Together they make {digits(1 / RADIATOR.cms + _air_stiffness(n))} N/m. Divide that, in "
        f"SI, by {digits((2 * np.pi * n.fb) ** 2)}, and take off {to_grams(RADIATOR.mms):.0f} g.",
    ),
    solution=_weights_solution,
)


def _draw_null(rng):
    weights = 5 * int(rng.integers(8, 40))
    if weights == round(to_grams(RADIATOR.mms)):
        weights += 5  # else to leave out the one or the other gives the same wrong answer
    return SimpleNamespace(weights=weights, softness=int(rng.integers(6, 24)) / 20)


def _loaded(n, **changes):
    radiator = replace(
        RADIATOR, cms=mm_per_newton(n.softness), added_mass=grams(n.weights), **changes
    )
    return radiator


null = Exercise(
    "port-or-radiator/null",
    title="At which frequency does this box go silent?",
    draw=_draw_null,
    prompt=lambda n: (
        f"A radiator with a moving mass of {to_grams(RADIATOR.mms):.0f} g and a compliance of "
        f"{n.softness:g} mm/N carries {n.weights} g of weights. The net volume is 14 L. Where is "
        "the null of the whole box?"
    ),
    answer=lambda n: float(_loaded(n).fp),
    unit="Hz",
    formula="fp = 1/(2·π·√(m·Cms)), m with the weights",
    letters=lambda n: {"m": RADIATOR.mms + grams(n.weights), "Cms": mm_per_newton(n.softness)},
    slips={
        "That is the tuning of the box. The null is lower: there the box air does not help the "
        "radiator's own suspension.": lambda n: float(RadiatorBox(litres(14), _loaded(n)).tuning()),
        "You left out the radiator's own moving mass.": lambda n: float(
            np.sqrt(_loaded(n).moving_mass / grams(n.weights)) * _loaded(n).fp
        ),
        "You left out the weights.": lambda n: float(_loaded(n).with_mass(0.0).fp),
    },
    hints=lambda n: (
        "The null does not ask about the box at all. What is left, if the box is taken away?",
        "It is the radiator's own resonance with its weights: f = 1/(2π·√(m·Cms)).",
        f"m = {to_grams(_loaded(n).moving_mass):.0f} g = {_loaded(n).moving_mass:.3f} kg and "
        f"Cms = {mm_per_newton(n.softness):g} m/N.",
    ),
    solution=lambda n: (
        f"m = {_loaded(n).moving_mass:.3f} kg and Cms = {mm_per_newton(n.softness):g} m/N, so "
        f"fp = 1/(2π·√(m·Cms)) = **{_loaded(n).fp:.1f} Hz**. The volume does not come into it; "
        f"the tuning, {RadiatorBox(litres(14), _loaded(n)).tuning():.1f} Hz, is another matter."
    ),
)


def _draw_softer(rng):
    now = int(rng.integers(18, 27))
    return SimpleNamespace(now=now, then=now - int(rng.integers(4, 9)), softness=0.3)


softer = Exercise(
    "port-or-radiator/softer",
    title="How soft must the suspension be?",
    draw=_draw_softer,
    prompt=lambda n: (
        f"A box has its null at {n.now} Hz, too close to the music. The radiator's compliance is "
        f"{n.softness:g} mm/N. With the moving mass left as it is, which compliance brings the "
        f"null down to {n.then} Hz?"
    ),
    answer=lambda n: n.softness * (n.now / n.then) ** 2,
    unit="mm/N",
    formula="Cms = C·(now/then)², C is the compliance now",
    letters=lambda n: {"C": mm_per_newton(n.softness), "now": n.now, "then": n.then},
    slips={
        "The frequency goes with the root of the compliance, so the ratio comes in squared.": (
            lambda n: n.softness * n.now / n.then
        ),
        "That is stiffer, and the null goes up. Which way round is the ratio?": (
            lambda n: n.softness * (n.then / n.now) ** 2
        ),
    },
    hints=lambda n: (
        "The null is a mass on a spring. Twice as soft a spring: how much lower does it swing?",
        "f goes as 1/√Cms, so Cms goes as 1/f².",
        f"Multiply {n.softness:g} mm/N by ({n.now}/{n.then})².",
    ),
    solution=lambda n: (
        f"Cms goes as 1/f²: {n.softness:g} · ({n.now}/{n.then})² = "
        f"**{n.softness * (n.now / n.then) ** 2:.2f} mm/N**."
    ),
)

answer = answers_of(__name__)
EXERCISES = (weights, port_length, quiet_port, null, softer)
