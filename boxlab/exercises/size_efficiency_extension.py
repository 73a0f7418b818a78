"""Exercises of the lesson on size, efficiency and extension."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np

from boxlab.air import Air
from boxlab.bargain import efficiency_of, pick_two
from boxlab.enclosure import SealedBox
from boxlab.exercise import Exercise, Step
from boxlab.quantities import digits
from boxlab.reach import equalise, rate, swept_volume
from boxlab.response import P_REF
from boxlab.scenario import DRIVERS
from boxlab.tradeoff import CEILINGS
from boxlab.units import litres, to_cm2, to_cubic_feet, to_cubic_inches, to_litres, to_mm

FULL = pick_two(volume=1.0, f3=1.0, constant=1.0).level()  # dB for 1 W at 100 % efficiency
VENTED, SEALED = CEILINGS["ported"], CEILINGS["sealed"]


def _volume_text(volume):
    return f"{volume:g} L ({to_cubic_feet(litres(volume)):.2f} ft³)"


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
        f"A carton says: ported box, {_volume_text(n.volume)} net, flat to {n.f3} Hz (−3 dB), "
        f"{n.claim} dB for 1 W at 1 m on the ground. Take the vented ceiling k = 3.9e-6 s³/m³; a "
        f"box of 100 % efficiency would give {FULL:.1f} dB. By how much is the claim too high?"
    ),
    steps=(
        Step(
            "f3³·V, in m³/s³",
            lambda n: n.f3**3 * litres(n.volume),
            "",
            slips={"f3 comes in cubed, not squared.": lambda n: n.f3**2 * litres(n.volume)},
        ),
        Step(
            "Largest efficiency",
            lambda n: 100 * _best(n).efficiency,
            "%",
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
            tolerance=0.0,
            absolute=0.3,
        ),
    ),
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
    slips={
        "The efficiency went in as per cent; 0.5 % is 0.005.": lambda n: 100 * _size(n),
        "f3 comes in cubed, not squared.": lambda n: _size(n) * n.f3,
        "That is with the vented ceiling; this box is sealed.": lambda n: _size(n, VENTED),
    },
    hints=lambda n: (
        "You have efficiency and extension. Turn the relation round for the third.",
        "V = η0/(k·f3³), in m³; a thousand litres are one m³.",
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
        Step("Sound pressure p, rms", _pressure, "Pa"),
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
        ),
    ),
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
        f"The ten-inch driver sealed in {_volume_text(n.volume)}, played at {n.spl} dB, draws "
        f"{_equalised(n)[1]:g} W at {n.f3} Hz. To be 3 dB down there and no more, it needs "
        f"{_equalised(n)[0]:.1f} dB of boost. How many watts does it draw then?"
    ),
    answer=_boosted,
    unit="W",
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


def _one(n):
    box = SealedBox(litres(n.volume))
    top = rate("", DRIVERS["twelve-inch"], box, frequency=[n.f], power=n.power)
    return round(float(top.spl[0]), 1)


def _two(n, count=2):
    box = SealedBox(litres(n.volume))
    top = rate("", DRIVERS["twelve-inch"], box, count, frequency=[n.f], power=n.power / 2)
    return float(top.spl[0])


two = Exercise(
    "size-efficiency-extension/two",
    title="What does a second box bring on the same watts?",
    draw=_draw_two,
    prompt=lambda n: (
        f"On a {n.power} W amplifier a twelve-inch driver sealed in {_volume_text(n.volume)} "
        f"gives {_one(n):.1f} dB at {n.f} Hz, and the amplifier is what stops it. You add a second "
        "box just like it, close by, and share the same watts equally. What is the level now?"
    ),
    answer=_two,
    unit="dB",
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

EXERCISES = (carton, size, deeper, travel, boost, two)
