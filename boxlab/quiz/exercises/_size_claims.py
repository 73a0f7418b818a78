"""Exercises on size, efficiency and extension: the third number from the other two."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np

from boxlab.base.quantities import digits
from boxlab.base.units import litres, to_cubic_feet, to_litres
from boxlab.design.tradeoff_solver import efficiency_of, pick_two
from boxlab.model.passband import CEILINGS
from boxlab.quiz.exercises._ports import volume_text
from boxlab.quiz.task import Exercise, Step

FULL = pick_two(volume=1.0, f3=1.0, constant=1.0).level()  # dB for 1 W at 100 % efficiency
VENTED, SEALED = CEILINGS["ported"], CEILINGS["sealed"]


# --- the carton: is the claim possible?


def _draw_carton(rng):
    n = SimpleNamespace(volume=int(rng.integers(16, 61)) / 2, f3=int(rng.integers(28, 43)))
    n.claim = int(np.ceil(_best(n).level())) + int(rng.integers(2, 8))
    return n


def _best(n):
    return pick_two(volume=litres(n.volume), f3=n.f3, constant=VENTED)


carton = Exercise(
    "size-efficiency-extension/carton",
    title="Can the carton be true?",
    draw=_draw_carton,
    prompt=lambda n: (
        f"A carton says: ported box, {volume_text(n.volume)} net, flat to {n.f3} Hz (−3 dB), "
        f"{n.claim} dB for 1 W at 1 m on the ground. Take the vented ceiling k = 3.9e-6 s³/m³; a "
        f"box of 100 % efficiency would give {FULL:.1f} dB. By how much is the claim too high?"
    ),
    steps=(
        Step(
            "f3³·V, in m³/s³",
            lambda n: n.f3**3 * litres(n.volume),
            "",
            formula="x = f3³·V",
            slips={"f3 comes in cubed, not squared.": lambda n: n.f3**2 * litres(n.volume)},
        ),
        Step(
            "Largest efficiency",
            lambda n: 100 * _best(n).efficiency,
            "%",
            formula="η0 = k·x",
            tolerance=0.03,
            slips={
                "That is the sealed ceiling; this box has a port.": lambda n: (
                    100 * _best(n).efficiency * SEALED / VENTED
                )
            },
        ),
        Step(
            "Level of that for 1 W",
            lambda n: _best(n).level(),
            "dB",
            formula="level = full + 10·log(η0), full at 100 %",
            tolerance=0.0,
            absolute=0.3,
            slips={
                "Efficiency is a ratio of powers: 10·log, not 20·log.": lambda n: (
                    FULL + 20 * np.log10(_best(n).efficiency)
                )
            },
        ),
        Step(
            "The claim is too high by",
            lambda n: n.claim - _best(n).level(),
            "dB",
            formula="excess = claim − level",
            tolerance=0.0,
            absolute=0.3,
        ),
    ),
    letters=lambda n: {
        "f3": n.f3,
        "V": litres(n.volume),
        "k": 3.9e-6,
        "full": 112.2,
        "claim": n.claim,
    },
    hints=lambda n: (
        "Three numbers on the carton, and only two are free. Which third do the other two allow?",
        "η0 = k·f3³·V, with V in m³. Level for 1 W = level at 100 % + 10·log(η0).",
        f"f3³ is {n.f3**3} s⁻³ and V is {litres(n.volume):g} m³. With η0 as a ratio, not in %, "
        f"add 10·log(η0) to {FULL:.1f} dB, and take that from {n.claim} dB.",
    ),
    solution=lambda n: (
        f"f3³·V = {digits(n.f3**3 * litres(n.volume))} m³/s³, so η0 is at most "
        f"{digits(100 * _best(n).efficiency)} %, which is {_best(n).level():.1f} dB for 1 W. The "
        f"carton is **{n.claim - _best(n).level():.1f} dB** too high: it leaves out a car, a wall, "
        "an equaliser, or the truth."
    ),
)


# --- how big


def _draw_size(rng):
    return SimpleNamespace(f3=int(rng.integers(28, 46)), level=int(rng.integers(84, 91)))


def _size(n, constant=SEALED):
    deal = pick_two(efficiency=efficiency_of(n.level), f3=n.f3, constant=constant)
    return float(to_litres(deal.volume))


size = Exercise(
    "size-efficiency-extension/size",
    title="How big must the box be?",
    draw=_draw_size,
    prompt=lambda n: (
        f"A sealed box is to reach {n.f3} Hz (−3 dB) with {n.level} dB for 1 W at 1 m, on the "
        f"ground. That is an efficiency of {100 * efficiency_of(n.level):.3f} %. With the sealed "
        "ceiling k = 2.0e-6 s³/m³: how small can it be?"
    ),
    answer=_size,
    unit="L",
    formula="V = η0/(k·f3³)",
    letters=lambda n: {"η0": round(efficiency_of(n.level), 5), "k": 2.0e-6, "f3": n.f3},
    slips={
        "The efficiency went in as per cent; 0.5 % is 0.005.": lambda n: 100 * _size(n),
        "f3 comes in cubed, not squared.": lambda n: _size(n) * n.f3,
        "That is with the vented ceiling; this box is sealed.": lambda n: _size(n, VENTED),
    },
    hints=lambda n: (
        "You have efficiency and extension. Turn the relation round for the third.",
        "V = η0/(k·f3³), in m³.",
        f"k·f3³ = {digits(SEALED * n.f3**3)} per m³; divide {efficiency_of(n.level):.5f} by that.",
    ),
    solution=lambda n: (
        f"V = {efficiency_of(n.level):.5f}/(2.0e-6·{n.f3}³) = {_size(n) / 1000:.4f} m³ = "
        f"**{_size(n):.0f} L** ({to_cubic_feet(litres(_size(n))):.1f} ft³), and no real box "
        "reaches the ceiling."
    ),
)


# --- deeper in the same box


def _draw_deeper(rng):
    high = int(rng.integers(45, 66))
    return SimpleNamespace(high=high, low=high - int(rng.integers(12, 25)))


def _loss(n, times=30):
    return float(times * np.log10(n.high / n.low))


deeper = Exercise(
    "size-efficiency-extension/deeper",
    title="What does a deeper corner cost in the same box?",
    draw=_draw_deeper,
    prompt=lambda n: (
        f"The driver of a box with f3 = {n.high} Hz is swapped for one that brings the same box to "
        f"{n.low} Hz, with the same k. How many dB does it give less for each watt?"
    ),
    answer=_loss,
    unit="dB",
    formula="less = 30·log(high/low)",
    letters=lambda n: {"high": n.high, "low": n.low},
    tolerance=0.0,
    absolute=0.2,
    slips={
        "That is for an efficiency that goes as f3; it goes as the cube.": lambda n: _loss(n, 10),
        "The cube is right; efficiency is a ratio of powers, so 10·log of it and not 20.": (
            lambda n: _loss(n, 60)
        ),
        "The square of the ratio; it goes as the cube.": lambda n: _loss(n, 20),
    },
    hints=lambda n: (
        "Size and k stay. How does efficiency go with f3?",
        "η0 goes as f3³, and a ratio of powers is 10·log of it: 30·log of the frequencies.",
        f"The ratio of the frequencies is {n.high / n.low:.3f}; its cube is "
        f"{(n.high / n.low) ** 3:.2f}.",
    ),
    solution=lambda n: (
        f"10·log(({n.high}/{n.low})³) = 30·log({n.high / n.low:.3f}) = **{_loss(n):.1f} dB**. "
        "A whole octave would be 9.0 dB."
    ),
)
