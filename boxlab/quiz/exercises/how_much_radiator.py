"""Exercises of the lesson "how much radiator": swept volumes, what they must be, and the stop."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np

from boxlab.base.quantities import digits
from boxlab.base.units import cm2, mm, to_inches
from boxlab.design.radiator_need import needed_ratio
from boxlab.design.radiator_study import retuned, study
from boxlab.design.swept_volume import swept_volume
from boxlab.model.response import P_REF
from boxlab.quiz.exercises import answers_of
from boxlab.quiz.exercises._radiators import null, pair, recoil
from boxlab.quiz.task import Exercise, Step

__all__ = ["EXERCISES", "amplifier", "answer", "bound", "null", "pair", "ratio", "recoil", "stop"]

NUMBERS = ("", "one", "two", "three")


def _travel_text(travel):
    return f"{travel:g} mm ({to_inches(mm(travel)):.2f} in)"


# --- swept volumes


def _draw_ratio(rng):
    return SimpleNamespace(
        sd=10 * int(rng.integers(22, 50)),
        xmax=int(rng.choice([8, 9, 11, 12, 13, 14])),
        area=10 * int(rng.integers(24, 56)),
        travel=int(rng.integers(16, 25)),
        count=int(rng.integers(2, 4)),
        need=int(rng.integers(17, 32)) / 10,
    )


def _driver_sweeps(n):
    return 1e6 * cm2(n.sd) * mm(n.xmax)


def _radiators_sweep(n):
    return 1e6 * n.count * cm2(n.area) * mm(n.travel)


def _travel_wanted(n):
    return n.need * _driver_sweeps(n) / (n.count * n.area) * 10


ratio = Exercise(
    "how-much-radiator/ratio",
    title="Are these radiators enough?",
    draw=_draw_ratio,
    prompt=lambda n: (
        f"A driver has Sd = {n.sd} cm² and Xmax = {_travel_text(n.xmax)} one way. The box has "
        f"{NUMBERS[n.count]} radiators, each with Sd = {n.area} cm² and Xmax = "
        f"{_travel_text(n.travel)} one way. For the programme it is meant for, the box needs "
        f"{n.need:g} times the driver's swept volume."
    ),
    steps=(
        Step(
            "Swept volume of the driver, one way",
            _driver_sweeps,
            "cm³",
            formula="driver = Sd·Xmax",
        ),
        Step(
            "Swept volume of all radiators, one way",
            _radiators_sweep,
            "cm³",
            formula="radiators = n·Sp·Xp",
            slips={
                "That is one of them; the box has more.": lambda n: _radiators_sweep(n) / n.count
            },
        ),
        Step(
            "Ratio fitted",
            lambda n: _radiators_sweep(n) / _driver_sweeps(n),
            "",
            formula="ratio = radiators/driver",
            slips={
                "That is the driver's over the radiators'; the ratio is the other way up.": (
                    lambda n: _driver_sweeps(n) / _radiators_sweep(n)
                ),
                "Those are the areas alone; travel counts as much.": (
                    lambda n: n.count * n.area / n.sd
                ),
            },
        ),
        Step(
            "Xmax that each radiator needs, one way",
            _travel_wanted,
            "mm",
            formula="X = need·driver/(n·Sp)",
            slips={
                "That is for one radiator alone; they share it.": lambda n: (
                    n.count * _travel_wanted(n)
                )
            },
        ),
    ),
    letters=lambda n: {
        "Sd": cm2(n.sd),
        "Xmax": mm(n.xmax),
        "n": n.count,
        "Sp": cm2(n.area),
        "Xp": mm(n.travel),
        "need": n.need,
    },
    hints=lambda n: (
        "Swept volume is a piston's area times how far it goes. Which of these parts add up?",
        "Sd·Xmax for the driver; number times Sd·Xmax for the radiators, with area and travel in "
        "one unit of length. For the last: needed ratio times the driver's, shared by their area.",
        f"Driver: {n.sd} cm² × {n.xmax} mm. Radiators: {n.count} × {n.area} cm² × {n.travel} mm. "
        f"Travel: {n.need:g} × the driver's, over {n.count} × {n.area} cm².",
    ),
    solution=lambda n: (
        f"Driver {n.sd} cm² × {n.xmax} mm = {digits(_driver_sweeps(n))} cm³; radiators "
        f"{n.count} × {n.area} cm² × {n.travel} mm = {digits(_radiators_sweep(n))} cm³; ratio "
        f"**{_radiators_sweep(n) / _driver_sweeps(n):.2f}**, "
        f"{'enough' if _radiators_sweep(n) >= n.need * _driver_sweeps(n) else 'not enough'} for "
        f"{n.need:g}. Just enough would be **{_travel_wanted(n):.1f} mm** each."
    ),
)


# --- most that a box can need, and what an amplifier leaves of it


def _draw_drop(rng):
    return SimpleNamespace(drop=int(rng.integers(4, 16)) / 2, fb=int(rng.integers(28, 46)))


bound = Exercise(
    "how-much-radiator/bound",
    title="How much can a box need at most?",
    draw=_draw_drop,
    prompt=lambda n: (
        f"You measure a box outdoors at the same voltage: at its tuning, {n.fb} Hz, it plays "
        f"{n.drop:g} dB quieter than at 1.41 times that, {np.sqrt(2) * n.fb:.0f} Hz. What is the "
        "most its radiators can need, over the driver's swept volume, for a programme of the same "
        "voltage down to the tuning?"
    ),
    answer=lambda n: 4 * 10 ** (-n.drop / 20),
    formula="most = 4·10^(−D/20)",
    letters=lambda n: {"D": n.drop},
    slips={
        "That is four times the power ratio; travel goes with pressure, 20 log.": lambda n: (
            4 * 10 ** (-n.drop / 10)
        ),
        "The tuning is the quieter one, so the need is under four.": lambda n: (
            4 * 10 ** (n.drop / 20)
        ),
        "That is the level ratio alone; for equal sound it would be four.": lambda n: (
            10 ** (-n.drop / 20)
        ),
    },
    hints=lambda n: (
        "Begin with a box that is equally loud at both: what would it need? Then ask what less "
        "sound at the tuning does to the radiator's travel.",
        "Equal sound: four. Travel goes with pressure, and pressure ratio = 10^(−D/20).",
        f"10^(−{n.drop:g}/20) = {10 ** (-n.drop / 20):.3f}; times four.",
    ),
    solution=lambda n: (
        f"4 · 10^(−{n.drop:g}/20) = **{4 * 10 ** (-n.drop / 20):.2f}**. Losses take off some more, "
        "usually a seventh to a third."
    ),
)


def _draw_amplifier(rng):
    return SimpleNamespace(
        need=int(rng.integers(17, 30)) / 10,
        volts=int(rng.integers(46, 66)),
        re=float(rng.choice([1.7, 3.4, 6.4])),
        power=50 * int(rng.integers(2, 7)) if rng.uniform() < 0.5 else 25 * int(rng.integers(3, 9)),
    )


def _leaves(n):
    return n.need * min(1.0, np.sqrt(n.power * n.re) / n.volts)


amplifier = Exercise(
    "how-much-radiator/amplifier",
    title="How much radiator does a small amplifier leave in use?",
    draw=_draw_amplifier,
    prompt=lambda n: (
        f"Turned up until the cone reaches Xmax a box needs {n.need:g} times the driver's swept "
        f"volume, at {n.volts} V. The amplifier gives {n.power} W into the coil's {n.re:g} Ω. What "
        "ratio does it leave in use?"
    ),
    answer=_leaves,
    formula="ratio = need·min(√(P·R)/V, 1)",
    letters=lambda n: {"need": n.need, "P": n.power, "R": n.re, "V": n.volts},
    slips={
        "Travel goes with the volts, not with the watts: take the root.": lambda n: (
            n.need * n.power * n.re / n.volts**2
        ),
        "The amplifier's volts are √(P·R), not √(P/R).": lambda n: (
            n.need * np.sqrt(n.power / n.re) / n.volts
        ),
    },
    hints=lambda n: (
        "How many volts has the amplifier? All travels go with the volts.",
        "V = √(P·R). The ratio shrinks as the amplifier's volts over the volts needed.",
        f"√({n.power} · {n.re:g}) = {np.sqrt(n.power * n.re):.1f} V, against {n.volts} V.",
    ),
    solution=lambda n: (
        f"√({n.power} W · {n.re:g} Ω) = {np.sqrt(n.power * n.re):.1f} V of {n.volts} V: "
        f"{n.need:g} · {np.sqrt(n.power * n.re) / n.volts:.2f} = **{_leaves(n):.2f}**. More "
        "radiator than that this amplifier never asks for."
    ),
)


# --- the stop


def _draw_stop(rng):
    return SimpleNamespace(
        area=10 * int(rng.integers(24, 56)),
        travel=int(rng.integers(8, 24)),
        fb=int(rng.integers(28, 46)),
    )


def _at_stop(n, share=1.0):
    swept = share * cm2(n.area) * mm(n.travel)
    return 20 * np.log10(float(swept / swept_volume(n.fb, 100.0))) + 100


stop = Exercise(
    "how-much-radiator/stop",
    title="How loud is the tuning, at the radiator's stop?",
    draw=_draw_stop,
    prompt=lambda n: (
        f"At the tuning of {n.fb} Hz nearly all the sound is the radiator's: Sd = {n.area} cm², "
        f"Xmax = {_travel_text(n.travel)} one way. How loud is a steady tone there, at 1 m in half "
        "space, when it just reaches its stop?"
    ),
    answer=_at_stop,
    unit="dB",
    formula="level = 20·log(p/0.00002), p = ρ·(2·π·fb)²·Sd·X/(2·π·r·√2)",
    letters=lambda n: {"ρ": 1.2, "fb": n.fb, "Sd": cm2(n.area), "X": mm(n.travel), "r": 1.0},
    absolute=0.3,
    slips={
        "Travel is given as a peak; the level wants the rms, √2 less.": lambda n: _at_stop(
            n, np.sqrt(2)
        ),
        "ω = 2π·f, and it comes in squared.": lambda n: _at_stop(n, 1 / (2 * np.pi) ** 2),
        "That is the sound into a whole sphere; a floor doubles the pressure.": lambda n: _at_stop(
            n, 0.5
        ),
    },
    hints=lambda n: (
        "Sound at low frequencies goes with the volume that is swept, and with the frequency "
        "squared.",
        "p = ρ·ω²·Sd·X/(2π·r), with X/√2 for the rms, ρ = 1.2 kg/m³; level = 20·log10(p/20 µPa).",
        f"Sd·X = {1e6 * cm2(n.area) * mm(n.travel):.0f} cm³, ω = {2 * np.pi * n.fb:.0f} rad/s: "
        f"p = {P_REF * 10 ** (_at_stop(n) / 20):.2f} Pa.",
    ),
    solution=lambda n: (
        f"p = 1.2 · ({2 * np.pi * n.fb:.0f})² · {1e6 * cm2(n.area) * mm(n.travel):.0f}·10⁻⁶ / "
        f"(2π·√2) = {P_REF * 10 ** (_at_stop(n) / 20):.2f} Pa rms: **{_at_stop(n):.1f} dB**. "
        "Twice the travel, or a second radiator: 6 dB more."
    ),
)


def _medians():
    """Median need of the crowd as it is, and retuned half an octave lower; both same voltage."""
    crowd = study().designs
    now, lower = (
        np.median(needed_ratio(crowd.driver, box, box.tuning()).ratio)
        for box in (crowd.box, retuned(crowd.box, 0.7))
    )
    return {"now": now, "lower": lower}


answer = answers_of(__name__, {"lower": _medians})
EXERCISES = (ratio, bound, amplifier, pair, stop, null, recoil)
