"""Exercises of the lesson "how loud, how long": dose, weighting, turning down, small speakers."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np

from boxlab.base.quantities import digits
from boxlab.base.units import mm
from boxlab.gear.demo_listening import small_speaker
from boxlab.model.response import solve
from boxlab.quiz.exercises import answers_of
from boxlab.quiz.task import Exercise, Step
from boxlab.sound.hearing import HOUR, NIOSH, OSHA, allowed_time, clock, dose, threshold, weighting


def _minutes(level, rule=NIOSH):
    return float(allowed_time(level, rule)) / 60


def _draw_day(rng):
    return SimpleNamespace(
        loud=int(rng.integers(93, 103)),
        minutes=5 * int(rng.integers(2, 7)),
        rest=int(rng.choice([82, 83, 84, 86])),
        hours=int(rng.integers(3, 8)),
    )


def _dose(n, rule=NIOSH):
    return dose([n.loud, n.rest], [60 * n.minutes, HOUR * n.hours], rule)


day = Exercise(
    "how-loud/day",
    title="Was that day too loud?",
    draw=_draw_day,
    prompt=lambda n: (
        f"A learner drives for {n.minutes} minutes with {n.loud} dBA at the seat, and works "
        f"{n.hours} hours in a shop at {n.rest} dBA. What dose is that by NIOSH (8 hours at 85 "
        "dBA, half for every 3 dB more)?"
    ),
    steps=(
        Step(
            "Allowed time at the loud level",
            lambda n: _minutes(n.loud),
            "min",
            slips={
                "That is OSHA's rule: 90 dBA and 5 dB.": lambda n: _minutes(n.loud, OSHA),
            },
            formula="T1 = 8·3600/2^((loud − 85)/3)",
        ),
        Step(
            "Allowed time at the level of the shop",
            lambda n: _minutes(n.rest) / 60,
            "h",
            formula="T2 = 8·3600/2^((rest − 85)/3)",
        ),
        Step(
            "Dose of the whole day",
            _dose,
            "%",
            slips={
                "That is the loud part alone; the shop counts too.": lambda n: dose(
                    n.loud, 60 * n.minutes
                ),
                "That is OSHA's dose.": lambda n: _dose(n, OSHA),
            },
            formula="dose = C1/T1 + C2/T2, C is the time spent",
        ),
    ),
    letters=lambda n: {"loud": n.loud, "rest": n.rest, "C1": 60 * n.minutes, "C2": 3600 * n.hours},
    hints=lambda n: (
        "Each stretch uses up its share of the time allowed at its own level. Then add the shares.",
        "T = 8 h / 2^((L − 85)/3), and D = 100·(C₁/T₁ + C₂/T₂).",
        f"The loud part: ({n.loud} − 85)/3 = {(n.loud - 85) / 3:.2f} halvings of 8 hours. It uses "
        f"{dose(n.loud, 60 * n.minutes):.0f} % by itself.",
    ),
    solution=lambda n: (
        f"At {n.loud} dBA the day's allowance is {digits(_minutes(n.loud))} min, so "
        f"{n.minutes} min use {dose(n.loud, 60 * n.minutes):.0f} %. At {n.rest} dBA it is "
        f"{digits(_minutes(n.rest) / 60)} h, so {n.hours} h use "
        f"{dose(n.rest, HOUR * n.hours):.0f} %. Together **{_dose(n):.0f} %**; the limit is 100."
    ),
)


def _draw_tone(rng):
    step = int(rng.integers(-15, -10))  # third octaves from 1 kHz: 31.5 to 80 Hz
    return SimpleNamespace(step=step, level=int(rng.integers(122, 132)))


def _hertz(n):
    return 1000 * 10 ** (n.step / 10)


def _named(n):
    return (31.5, 40, 50, 63, 80)[n.step + 15]


def _reading(n):
    return n.level + float(weighting(_hertz(n)))


def _table(n, kind="A"):
    return f"{float(weighting(_hertz(n), kind)):.1f}".replace("-", "−")


tone = Exercise(
    "how-loud/tone",
    title="What does the meter read, and what does the rule make of it?",
    draw=_draw_tone,
    prompt=lambda n: (
        f"A box plays a steady tone of {_named(n):g} Hz, {n.level} dB at the seat. In the tables "
        f"the A-weighting there is {_table(n)} dB and C is {_table(n, 'C')} dB. What does a meter "
        "set to dBA read, and how long would NIOSH allow it?"
    ),
    steps=(
        Step(
            "Reading, A-weighted",
            _reading,
            "dB",
            absolute=0.15,
            slips={
                "That is the reading in dBC.": lambda n: n.level + float(weighting(_hertz(n), "C")),
                "The weighting is taken off, not added on.": lambda n: 2 * n.level - _reading(n),
            },
            formula="reading = level + weighting",
        ),
        Step(
            "Allowed time by that reading",
            lambda n: _minutes(_reading(n)),
            "min",
            tolerance=0.04,
            slips={
                "That is OSHA's time; NIOSH has 85 dBA and 3 dB.": lambda n: _minutes(
                    _reading(n), OSHA
                ),
            },
            formula="T = 8·3600/2^((reading − 85)/3)",
        ),
    ),
    letters=lambda n: {"level": n.level, "weighting": round(float(weighting(_hertz(n))), 1)},
    hints=lambda n: (
        "A weighting is a number of decibels added to the level at that frequency. In the bass it "
        "is far below zero.",
        "Reading = level + weighting. Then T = 8 h / 2^((L − 85)/3) with that reading as L.",
        f"{n.level} dB and {_table(n)} dB; the result is {_reading(n) - 85:+.1f} dB from "
        "the 85 dBA of eight hours.",
    ),
    solution=lambda n: (
        f"{n.level} − {_table(n)[1:]} = **{_reading(n):.1f} dBA**, for which NIOSH allows "
        f"**{clock(60 * _minutes(_reading(n)))}**. The ear still gets {n.level} dB."
    ),
)


def _draw_down(rng):
    return SimpleNamespace(level=int(rng.integers(96, 106)), hours=int(rng.integers(2, 6)))


def _down(n, rule=NIOSH):
    return rule.exchange * np.log2(n.hours * 60 / _minutes(n.level, rule))


down = Exercise(
    "how-loud/down",
    title="How far must it come down?",
    draw=_draw_down,
    prompt=lambda n: (
        f"On a drive of {n.hours} hours the meter at the seat reads {n.level} dBA. By how many "
        "decibels must it come down for the drive to use up one day's NIOSH allowance and no more?"
    ),
    answer=_down,
    unit="dB",
    formula="down = 3·log(drive/T)/log(2), T = 8·3600/2^((level − 85)/3)",
    letters=lambda n: {"drive": 3600 * n.hours, "level": n.level},
    tolerance=0.01,
    absolute=0.2,
    slips={
        "That would do for OSHA, the laxer rule.": lambda n: _down(n, OSHA),
        "You are one halving short: count them from the time allowed now.": lambda n: _down(n) - 3,
    },
    hints=lambda n: (
        f"How long is allowed at {n.level} dBA? Compare that with the length of the drive.",
        "Every doubling of the time costs 3 dB: ΔL = 3·log₂(wanted time / allowed time).",
        f"At {n.level} dBA it is {digits(_minutes(n.level))} min; the drive is "
        f"{digits(n.hours * 60 / _minutes(n.level))} times as long.",
    ),
    solution=lambda n: (
        f"{n.level} dBA allows {digits(_minutes(n.level))} min. The drive is "
        f"{digits(n.hours * 60 / _minutes(n.level))} times as long, which is "
        f"{_down(n) / 3:.2f} doublings of 3 dB: **{_down(n):.1f} dB**."
    ),
)


def _draw_two(rng):
    return SimpleNamespace(bass=int(rng.integers(78, 88)), rest=int(rng.integers(82, 92)))


def _together(n, factor=10):
    return factor * np.log10(10 ** (n.bass / factor) + 10 ** (n.rest / factor))


together = Exercise(
    "how-loud/together",
    title="What do bass and the rest read together?",
    draw=_draw_two,
    prompt=lambda n: (
        f"The bass alone reads {n.bass} dBA at the seat, the rest of the music alone {n.rest} dBA. "
        "What does the meter read with both?"
    ),
    answer=_together,
    unit="dB",
    formula="level = 10·log(10^(bass/10) + 10^(rest/10))",
    letters=lambda n: {"bass": n.bass, "rest": n.rest},
    tolerance=0.001,
    absolute=0.15,
    slips={
        "Decibels do not add like that: powers add.": lambda n: n.bass + n.rest,
        "That adds pressures. Different sounds add as powers, 10·log.": lambda n: _together(n, 20),
        "That is the louder one alone; the other still adds a little.": lambda n: max(
            n.bass, n.rest
        ),
    },
    hints=lambda n: (
        "Two different sounds add as powers. The sum is never more than 3 dB above the louder one.",
        "L = 10·log₁₀(10^(L₁/10) + 10^(L₂/10)).",
        f"The two are {abs(n.bass - n.rest)} dB apart, so the weaker has "
        f"{100 * 10 ** (-abs(n.bass - n.rest) / 10):.0f} % of the power of the louder.",
    ),
    solution=lambda n: (
        f"10·log₁₀(10^{n.bass / 10:g} + 10^{n.rest / 10:g}) = **{_together(n):.1f} dBA**."
    ),
)


def _draw_small(rng):
    return SimpleNamespace(
        cone=int(rng.integers(25, 41)),
        tenths=int(rng.integers(3, 11)),
        hertz=int(rng.integers(38, 51)),
    )


def _loudest(n, **changes):
    """Level in dB at 0.5 m with the cone at its travel: solved at 1 V, then scaled to the stop."""
    n = SimpleNamespace(**(vars(n) | changes))
    travel = mm(n.tenths / 10)
    r = solve(small_speaker(400.0, mm(n.cone), travel), None, [float(n.hertz)], 1.0, None, 0.5)
    return float(r.spl[0] + 20 * np.log10(travel / r.cone_excursion[0]))


small = Exercise(
    "how-loud/small",
    title="How loud can a small speaker play a low note?",
    draw=_draw_small,
    prompt=lambda n: (
        f"A speaker with a cone of {n.cone} mm ({n.cone / 25.4:.2f} in) can move "
        f"{n.tenths / 10:g} mm one way. How loud can it play {n.hertz} Hz at 0.5 m, in half "
        "space? Take ρ = 1.204 kg/m³."
    ),
    answer=_loudest,
    unit="dB",
    formula="level = 20·log(p/0.00002), S = π·(d/2)², p = ρ·S·x·(2·π·f)²/(2·π·r·√2)",
    letters=lambda n: {"ρ": 1.204, "x": mm(n.tenths / 10), "f": n.hertz, "r": 0.5, "d": mm(n.cone)},
    tolerance=0.001,
    absolute=0.5,
    slips={
        "Peak for rms: levels are rms, which is √2 less.": lambda n: _loudest(n) + 3.01,
        "The diameter was used where the radius belongs.": lambda n: _loudest(n) + 12.04,
        "That is at 1 m; at half of that it is 6 dB more.": lambda n: _loudest(n) - 6.02,
    },
    hints=lambda n: (
        "Sound pressure goes with the acceleration of the air that is moved: area times travel "
        "times ω squared.",
        "p = ρ·S·x·ω²/(2π·r·√2), in m², m and rad/s; then 20·log₁₀(p / 20 µPa).",
        f"S = {np.pi * (n.cone / 20) ** 2:.2f} cm², ω = {2 * np.pi * n.hertz:.0f} rad/s; p comes "
        f"out at {1e3 * 20e-6 * 10 ** (_loudest(n) / 20):.2f} mPa.",
    ),
    solution=lambda n: (
        f"p = {1e3 * 20e-6 * 10 ** (_loudest(n) / 20):.2f} mPa, which is **{_loudest(n):.0f} dB**. "
        f"The threshold of hearing at {n.hertz} Hz is {float(threshold(n.hertz)):.0f} dB."
    ),
)

answer = answers_of(__name__)
EXERCISES = (day, tone, down, together, small)
