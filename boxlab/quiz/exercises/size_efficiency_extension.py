"""Exercises of the lesson on size, efficiency and extension."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np

from boxlab.base.quantities import digits
from boxlab.base.units import litres, to_cm2, to_cubic_inches, to_litres, to_mm
from boxlab.design.swept_volume import equalise, rate, swept_volume
from boxlab.gear.scenario import DRIVERS
from boxlab.model.air import Air
from boxlab.model.enclosure import SealedBox
from boxlab.model.response import P_REF
from boxlab.quiz.exercises import answers_of
from boxlab.quiz.exercises._ports import volume_text
from boxlab.quiz.exercises._size_claims import carton, deeper, size
from boxlab.quiz.task import Exercise, Step

__all__ = ["EXERCISES", "answer", "boost", "carton", "deeper", "size", "travel", "two"]

# --- travel


def _draw_travel(rng):
    return SimpleNamespace(
        size=str(rng.choice(list(DRIVERS))),
        f=int(rng.integers(25, 51)),
        spl=int(rng.integers(92, 103)),
    )


def _pressure(n):
    return P_REF * 10 ** (n.spl / 20)


def _swept(n):
    return float(to_litres(swept_volume(n.f, n.spl)))


def _travel(n):
    return float(to_mm(litres(_swept(n)) / DRIVERS[n.size].sd))


travel = Exercise(
    "size-efficiency-extension/travel",
    title="How far must the cone travel?",
    draw=_draw_travel,
    prompt=lambda n: (
        f"A sealed {n.size} demo driver, Sd = {to_cm2(DRIVERS[n.size].sd):.0f} cm², is to give "
        f"{n.spl} dB at {n.f} Hz, 1 m, on the ground. Volume swept one way: V = √2·p·2πr/(ρ·ω²), "
        f"p in Pa rms, ρ = {Air().density:.3f} kg/m³, ω = 2πf. How far does the cone travel, one "
        "way from rest?"
    ),
    steps=(
        Step(
            "Sound pressure p, rms",
            _pressure,
            "Pa",
            formula="p = 0.00002·10^(level/20)",
        ),
        Step(
            "Volume swept, one way",
            _swept,
            "L",
            tolerance=0.03,
            slips={
                "ω is squared: the lower the note, the more by its square.": lambda n: (
                    _swept(n) * 2 * np.pi * n.f
                )
            },
            formula="V = √2·p·2·π·r/(ρ·(2·π·f)²), r = 1 m",
        ),
        Step(
            "Travel, one way",
            _travel,
            "mm",
            tolerance=0.03,
            slips={
                "That is peak to peak; Xmax is one way.": lambda n: 2 * _travel(n),
                "Sd has to be in m² before you divide: 1 m² is 10 000 cm².": lambda n: (
                    _travel(n) / 1e4
                ),
            },
            formula="x = V/Sd",
        ),
    ),
    letters=lambda n: {
        "level": n.spl,
        "r": 1.0,
        "ρ": round(Air().density, 3),
        "f": n.f,
        "Sd": round(float(to_cm2(DRIVERS[n.size].sd))) / 1e4,
    },
    hints=lambda n: (
        "Level to pressure, pressure to volume, volume to travel: three small steps.",
        "p = 20 µPa·10^(dB/20). Then the formula for V. Travel = V/Sd, with V in m³ and Sd in m².",
        f"ω = {2 * np.pi * n.f:.1f} rad/s, so ρ·ω² = "
        f"{digits(Air().density * (2 * np.pi * n.f) ** 2)}; Sd = {DRIVERS[n.size].sd:.4f} m².",
    ),
    solution=lambda n: (
        f"p = {_pressure(n):.3f} Pa, V = {digits(_swept(n))} L "
        f"({to_cubic_inches(litres(_swept(n))):.0f} in³), and over {DRIVERS[n.size].sd:.4f} m² "
        f"that is **{_travel(n):.1f} mm**. Its Xmax is {to_mm(DRIVERS[n.size].xmax):g} mm: "
        + ("it can." if _travel(n) <= to_mm(DRIVERS[n.size].xmax) else "it cannot.")
    ),
)


# --- what equalising costs


def _draw_boost(rng):
    return SimpleNamespace(
        volume=int(rng.integers(10, 31)),
        f3=int(rng.integers(22, 41)),
        spl=int(rng.integers(90, 99)),
    )


def _equalised(n):
    eq = equalise(DRIVERS["ten-inch"], SealedBox(litres(n.volume)), n.f3, n.spl, [n.f3])
    return round(float(eq.boost[0]), 1), float(f"{eq.plain_power[0]:.2g}")


def _boosted(n, per=10):
    boost, watts = _equalised(n)
    return watts * 10 ** (boost / per)


boost = Exercise(
    "size-efficiency-extension/boost",
    title="How many watts does the boost cost?",
    draw=_draw_boost,
    prompt=lambda n: (
        f"The ten-inch driver sealed in {volume_text(n.volume)}, played at {n.spl} dB, draws "
        f"{_equalised(n)[1]:g} W at {n.f3} Hz. To be 3 dB down there and no more, it needs "
        f"{_equalised(n)[0]:.1f} dB of boost. How many watts does it draw then?"
    ),
    answer=_boosted,
    unit="W",
    formula="P = watts·10^(boost/10)",
    letters=lambda n: {"watts": _equalised(n)[1], "boost": _equalised(n)[0]},
    slips={
        "That is the ratio of the volts. Watts go as their square: 10^(dB/10).": lambda n: _boosted(
            n, 20
        ),
        "That is what the boost adds, without what was drawn before.": lambda n: (
            _boosted(n) - _equalised(n)[1]
        ),
    },
    hints=lambda n: (
        "The boost raises the volts. What do twice the volts do to the watts?",
        "Watts times 10^(dB/10).",
        f"10^({_equalised(n)[0]:.1f}/10) is {10 ** (_equalised(n)[0] / 10):.2f}.",
    ),
    solution=lambda n: (
        f"{_equalised(n)[1]:g} W · 10^({_equalised(n)[0]:.1f}/10) = **{digits(_boosted(n))} W**. "
        f"The travel goes up by {10 ** (_equalised(n)[0] / 20):.1f} times."
    ),
)


# --- two boxes


def _draw_two(rng):
    return SimpleNamespace(
        volume=int(rng.integers(10, 31)),
        f=int(rng.integers(35, 56)),
        power=25 * int(rng.integers(4, 9)),
    )


TWELVE = DRIVERS["twelve-inch"]


def _one(n):
    box = SealedBox(litres(n.volume))
    top = rate("", TWELVE, box, frequency=[n.f], power=n.power, load=TWELVE.re)
    return round(float(top.spl[0]), 1)


def _two(n, count=2):
    box = SealedBox(litres(n.volume))
    top = rate("", TWELVE, box, count, frequency=[n.f], power=n.power / 2, load=TWELVE.re)
    return float(top.spl[0])


two = Exercise(
    "size-efficiency-extension/two",
    title="What does a second box bring on the same watts?",
    draw=_draw_two,
    prompt=lambda n: (
        f"On a {n.power} W amplifier a twelve-inch driver sealed in {volume_text(n.volume)} "
        f"gives {_one(n):.1f} dB at {n.f} Hz, and the amplifier is what stops it. You add a second "
        "box just like it, close by, and share the same watts equally. What is the level now?"
    ),
    answer=_two,
    unit="dB",
    formula="level = one + 10·log(1/2) + 20·log(2)",
    letters=lambda n: {"one": _one(n)},
    tolerance=0.0,
    absolute=0.3,
    slips={
        "Twice the sources are 6 dB only if each keeps its watts; here each has half.": lambda n: (
            _two(n) + 10 * np.log10(2)
        ),
        "Half the watts each is 3 dB less, but there are two of them, and pressures add.": (
            lambda n: _two(n) - 20 * np.log10(2)
        ),
        "Close together their pressures add, not their powers.": lambda n: (
            _two(n) - 10 * np.log10(2)
        ),
    },
    hints=lambda n: (
        "Two things happen: each box gets fewer watts, and there are two of them. Take one at a "
        "time.",
        "Half the watts: 10·log(1/2). Two pressures in step: 20·log(2).",
        f"10·log(1/2) is {10 * np.log10(0.5):.2f} dB and 20·log(2) is {20 * np.log10(2):.2f} dB; "
        f"add both to {_one(n):.1f} dB.",
    ),
    solution=lambda n: (
        f"{_one(n):.1f} − 3.0 + 6.0 = **{_two(n):.1f} dB**. Twice the box, twice the efficiency, "
        "the same f3: k has not moved."
    ),
)

answer = answers_of(__name__)
EXERCISES = (carton, size, deeper, travel, boost, two)
