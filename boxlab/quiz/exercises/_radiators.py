"""Exercises on the radiators themselves: a pair, a softer suspension, recoil."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np

from boxlab.base.quantities import digits
from boxlab.base.units import (
    grams,
    litres,
    mm,
    to_cubic_feet,
    to_grams,
    to_inches,
    to_mm_per_newton,
)
from boxlab.design.radiator_choices import softened
from boxlab.gear.scenario import TEN_INCH_RADIATOR
from boxlab.model.enclosure import RadiatorBox
from boxlab.model.recoil import shake
from boxlab.quiz.task import Exercise, Step

RADIATOR = TEN_INCH_RADIATOR


def _volume_text(volume):
    return f"{volume:g} L ({to_cubic_feet(litres(volume)):.2f} ft³)"


# --- two instead of one


def _draw_pair(rng):
    return SimpleNamespace(volume=int(rng.integers(24, 40)) / 2, fb=int(rng.integers(34, 43)))


def _tuned(n, count):
    return RadiatorBox.tuned(litres(n.volume), n.fb, RADIATOR, count=count).radiator


pair = Exercise(
    "how-much-radiator/pair",
    title="How much weight on each of two?",
    draw=_draw_pair,
    prompt=lambda n: (
        f"{_volume_text(n.volume)} net is tuned to {n.fb} Hz by one ten-inch radiator "
        f"(Sd {1e4 * RADIATOR.sd:.0f} cm², moving mass {to_grams(RADIATOR.mms):.0f} g, compliance "
        f"{to_mm_per_newton(RADIATOR.cms):g} mm/N) with {to_grams(_tuned(n, 1).added_mass):.0f} g "
        "of weights. You fit a second one of the same kind. How much weight goes on each, for the "
        "same tuning? Take ρc² = 141 900 Pa."
    ),
    answer=lambda n: to_grams(_tuned(n, 2).added_mass),
    unit="g",
    formula="weights = (1/Cms + 2·Sd²·ρc²/V)/(2·π·fb)² − Mms",
    letters=lambda n: {
        "Cms": RADIATOR.cms,
        "Sd": RADIATOR.sd,
        "ρc": 141_900**0.5,
        "V": litres(n.volume),
        "fb": n.fb,
        "Mms": RADIATOR.mms,
    },
    tolerance=0.03,
    slips={
        "Halving the weights goes the wrong way: two areas on one box air make it stiffer, so "
        "each must be heavier.": lambda n: to_grams(_tuned(n, 1).added_mass) / 2,
        "As with one: that tunes the box higher, for the air is pushed by two.": lambda n: to_grams(
            _tuned(n, 1).added_mass
        ),
        "That is the whole moving mass; each brings part of it itself.": lambda n: to_grams(
            _tuned(n, 2).moving_mass
        ),
    },
    hints=lambda n: (
        "Each radiator rests on its own suspension and on its share of the box air. With two of "
        "them, what does the box air push back with when both move out together?",
        "For each: k = 1/Cms + 2·Sd²·ρc²/V, and m = k/ωb². Take off its own mass.",
        f"k = {digits(1 / RADIATOR.cms)} + {digits(_air(n, 2))} N/m; ωb = 2π·{n.fb} rad/s.",
    ),
    solution=lambda n: (
        f"k = {digits(1 / RADIATOR.cms)} + {digits(_air(n, 2))} N/m, over ωb² = "
        f"{digits((2 * np.pi * n.fb) ** 2)} is {digits(to_grams(_tuned(n, 2).moving_mass))} g, "
        f"less {to_grams(RADIATOR.mms):.0f} g: **{digits(to_grams(_tuned(n, 2).added_mass))} g** "
        f"on each, against {to_grams(_tuned(n, 1).added_mass):.0f} g on one alone."
    ),
)


def _air(n, count):
    """Stiffness of the box air on one of `count` radiators that move together, N/m."""
    return count * RADIATOR.sd**2 * 141_900 / litres(n.volume)


# --- null and recoil


def _draw_soft(rng):
    return SimpleNamespace(
        volume=int(rng.integers(24, 36)) / 2,
        fb=int(rng.integers(34, 43)),
        softer=float(rng.choice([1.5, 2.0, 3.0, 4.0])),
    )


def _soft(n):
    box = RadiatorBox.tuned(litres(n.volume), n.fb, RADIATOR)
    return box, softened(box, n.softer)


null = Exercise(
    "how-much-radiator/null",
    title="Where does a softer suspension put the null?",
    draw=_draw_soft,
    prompt=lambda n: (
        f"{_volume_text(n.volume)} is tuned to {n.fb} Hz by a radiator whose suspension is as soft "
        f"as {1e3 * RADIATOR.vap():.0f} L of air (Vap). It is replaced by one {n.softer:g} times "
        "as soft, with the weights adjusted for the same tuning. Where is the null now?"
    ),
    answer=lambda n: float(_soft(n)[1].radiator.fp),
    unit="Hz",
    formula="fp = fb/√(1 + softer·Vap/V)",
    letters=lambda n: {
        "fb": n.fb,
        "softer": n.softer,
        "Vap": round(1e3 * float(RADIATOR.vap())) / 1e3,
        "V": litres(n.volume),
    },
    tolerance=0.01,
    slips={
        "That is the null before the change.": lambda n: float(_soft(n)[0].radiator.fp),
        "The 1 under the root is the box air; it counts too.": lambda n: (
            n.fb / np.sqrt(n.softer * RADIATOR.vap() / litres(n.volume))
        ),
        "Softer means more Vap, not less.": lambda n: (
            n.fb / np.sqrt(1 + RADIATOR.vap() / litres(n.volume) / n.softer)
        ),
    },
    hints=lambda n: (
        "Tuning and null are tied by how soft the suspension is against the box air.",
        "fb = fp·√(1 + Vap/V), with the new Vap.",
        f"Vap = {n.softer:g} · {1e3 * RADIATOR.vap():.0f} L; over {n.volume:g} L that is "
        f"{n.softer * RADIATOR.vap() / litres(n.volume):.1f}.",
    ),
    solution=lambda n: (
        f"fp = {n.fb} / √(1 + {n.softer * RADIATOR.vap() / litres(n.volume):.1f}) = "
        f"**{_soft(n)[1].radiator.fp:.1f} Hz**; before it was {_soft(n)[0].radiator.fp:.1f} Hz."
    ),
)


def _draw_recoil(rng):
    return SimpleNamespace(
        mass=5 * int(rng.integers(40, 110)),
        travel=int(rng.integers(5, 15)),
        fb=int(rng.integers(30, 44)),
        weight=int(rng.integers(9, 19)),
    )


def _pushes(n):
    return 2 * grams(n.mass) * (2 * np.pi * n.fb) ** 2 * mm(n.travel)


recoil = Exercise(
    "how-much-radiator/recoil",
    title="How hard do two radiators shake the box?",
    draw=_draw_recoil,
    prompt=lambda n: (
        f"Two radiators on the same face, each with {n.mass} g moving, travel {n.travel} mm "
        f"({to_inches(mm(n.travel)):.2f} in) one way at the tuning of {n.fb} Hz. The whole box "
        f"weighs {n.weight} kg."
    ),
    steps=(
        Step(
            "Peak force on the box",
            _pushes,
            "N",
            slips={"That is one of the two.": lambda n: _pushes(n) / 2},
            formula="F = 2·m·(2·π·fb)²·X",
        ),
        Step(
            "Peak acceleration of the box, free to move",
            lambda n: float(shake(_pushes(n), n.weight)),
            "m/s²",
            slips={
                "That is in g; the question asks for m/s².": lambda n: (
                    float(shake(_pushes(n), n.weight)) / 9.80665
                )
            },
            formula="a = F/M",
        ),
    ),
    letters=lambda n: {"m": grams(n.mass), "fb": n.fb, "X": mm(n.travel), "M": n.weight},
    hints=lambda n: (
        "What pushes the radiators out pushes the box back: force is mass times acceleration. "
        "What is the acceleration of something that swings?",
        "Peak acceleration is ω²·X, with ω = 2π·f. Two masses. Then a = F/m for the box.",
        f"ω² = {digits((2 * np.pi * n.fb) ** 2)}; ω²·X = "
        f"{digits((2 * np.pi * n.fb) ** 2 * mm(n.travel))} m/s².",
    ),
    solution=lambda n: (
        f"F = 2 · {grams(n.mass):g} kg · {digits((2 * np.pi * n.fb) ** 2)} · {n.travel}·10⁻³ m = "
        f"**{_pushes(n):.0f} N**; over {n.weight} kg that is "
        f"**{shake(_pushes(n), n.weight):.1f} m/s²** ({shake(_pushes(n), n.weight) / 9.80665:.1f} "
        "g). On opposite faces: nothing."
    ),
)
