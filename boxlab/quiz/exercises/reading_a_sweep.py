"""Exercises of the lesson "reading a sweep": added mass, tuning, faults, volume, weights."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np

from boxlab.base.quantities import digits
from boxlab.base.units import cm2, grams, litres, to_cubic_feet, to_litres, to_ounces
from boxlab.measure.fit.budget import added_mass_budget
from boxlab.model.air import Air
from boxlab.quiz.exercises import answers_of
from boxlab.quiz.exercises._sweep_boxes import three_peaks, volume
from boxlab.quiz.exercises._sweep_weights_faults import NAMES, fault, weights
from boxlab.quiz.task import Exercise, Step

_MODULUS = Air().bulk_modulus


# Added mass, step by step.


def _draw_driver(rng):
    fs, mms = int(rng.integers(48, 76)) / 2, int(rng.integers(70, 160))
    added = 5 * round(mms * float(rng.uniform(0.4, 0.7)) / 5)
    return SimpleNamespace(
        fs=fs,
        added=added,
        loaded=round(fs / np.sqrt(1 + added / mms), 1),
        sd=5 * int(rng.integers(40, 100)),
    )


def _mms(n):
    return n.added / ((n.fs / n.loaded) ** 2 - 1)


def _cms(n):
    return 1e3 / ((2 * np.pi * n.fs) ** 2 * _mms(n) / 1e3)  # mm/N


def _vas(n):
    return float(to_litres(_MODULUS * cm2(n.sd) ** 2 * _cms(n) / 1e3))


added_mass = Exercise(
    "reading-a-sweep/added-mass",
    title="What does the cone weigh, and how soft does it hang?",
    draw=_draw_driver,
    prompt=lambda n: (
        f"A driver in free air resonates at {n.fs:g} Hz. With {n.added} g of modelling clay "
        f"({to_ounces(grams(n.added)):.1f} oz) on the cone it resonates at {n.loaded:g} Hz. Its "
        f"cone area is {n.sd} cm². Find moving mass, compliance and Vas. Take ρc², the stiffness "
        "of air, as 141 900 Pa."
    ),
    steps=(
        Step(
            "The ratio r of the two frequencies, squared",
            lambda n: (n.fs / n.loaded) ** 2,
            "",
            tolerance=0.005,
            formula="r = (fs/f1)², f1 with the clay",
            slips={
                "That is the ratio itself. Mass goes with the square of frequency.": (
                    lambda n: n.fs / n.loaded
                ),
                "The other way up: the loaded cone is the slower one.": (
                    lambda n: (n.loaded / n.fs) ** 2
                ),
            },
        ),
        Step(
            "Moving mass",
            _mms,
            "g",
            tolerance=0.03,
            formula="Mms = clay/(r − 1)",
            slips={
                "That is the mass with the clay on: take the clay off again.": (
                    lambda n: _mms(n) + n.added
                ),
                "You divided by r instead of by r − 1.": lambda n: n.added / (n.fs / n.loaded) ** 2,
            },
        ),
        Step(
            "Compliance",
            _cms,
            "mm/N",
            tolerance=0.03,
            formula="Cms = 1/((2·π·fs)²·Mms)",
            slips={
                "You left out the 2π: ω = 2π·fs.": lambda n: _cms(n) * (2 * np.pi) ** 2,
            },
        ),
        Step(
            "Vas",
            _vas,
            "L",
            tolerance=0.04,
            formula="Vas = ρc²·Sd²·Cms",
            slips={
                "The area counts twice: once for force from pressure, once for volume from "
                "travel.": lambda n: _vas(n) / cm2(n.sd),
            },
        ),
    ),
    letters=lambda n: {
        "fs": n.fs,
        "f1": n.loaded,
        "clay": grams(n.added),
        "ρc": 141_900**0.5,
        "Sd": cm2(n.sd),
    },
    hints=lambda n: (
        "The suspension is the same both times. So frequency squared times mass is too.",
        "r = (fs/fs′)², Mms = Δm/(r − 1), Cms = 1/((2π·fs)²·Mms), Vas = ρc²·Sd²·Cms, all in kg, "
        "m² and m/N.",
        f"r − 1 = {(n.fs / n.loaded) ** 2 - 1:.3f}; (2π·fs)² = {digits((2 * np.pi * n.fs) ** 2)}.",
    ),
    solution=lambda n: (
        f"r = ({n.fs:g}/{n.loaded:g})² = {(n.fs / n.loaded) ** 2:.4f}, so Mms = clay/(r − 1) = "
        f"**{digits(_mms(n))} g**. Cms = 1/((2π·{n.fs:g})²·Mms) = **{_cms(n):.3f} mm/N**, "
        f"and Vas = ρc²·Sd²·Cms = **{_vas(n):.1f} L** "
        f"({to_cubic_feet(litres(_vas(n))):.2f} ft³)."
    ),
)


# What a reading error does.


def _draw_budget(rng):
    mms = 5 * int(rng.integers(14, 32))
    return SimpleNamespace(
        mms=mms,
        added=round(mms * float(rng.uniform(0.06, 0.25))),
        error=int(rng.integers(3, 9)) / 10,
    )


def _budget(n, added=None):
    added = n.added if added is None else added
    share = added_mass_budget(grams(added), grams(n.mms), n.error / 100).total
    return 100 * float(share)


too_small = Exercise(
    "reading-a-sweep/too-small",
    title="How sure is a mass found with too little clay?",
    draw=_draw_budget,
    prompt=lambda n: (
        f"A cone moves about {n.mms} g. You put {n.added} g on it, and read each resonance to "
        f"{n.error:g} % (one standard uncertainty). To how many per cent do you then know the "
        "moving mass?"
    ),
    answer=_budget,
    unit="%",
    formula="error = 2·√2·ε·(1 + Mms/Δm)",
    letters=lambda n: {"ε": n.error / 100, "Mms": grams(n.mms), "Δm": grams(n.added)},
    tolerance=0.05,
    slips={
        "That is for one of the two resonances; both are uncertain, and they add as squares.": (
            lambda n: _budget(n) / np.sqrt(2)
        ),
        "Frequency enters squared, which doubles its error.": lambda n: _budget(n) / 2,
        "You forgot the small difference: divide by r − 1, which is Δm/Mms.": lambda n: (
            2 * np.sqrt(2) * n.error
        ),
    },
    hints=lambda n: (
        "The mass comes from r − 1, the small difference of two nearly equal numbers.",
        "δM/M = 2·√2·ε·(1 + Mms/Δm), with ε the error of one resonance.",
        f"1 + Mms/Δm = {1 + n.mms / n.added:.2f}.",
    ),
    solution=lambda n: (
        f"δM/M = 2·√2·{n.error:g} %·(1 + {n.mms}/{n.added}) = **{_budget(n):.1f} %**. With half "
        f"the moving mass on the cone it would be {_budget(n, n.mms / 2):.1f} %."
    ),
)


__all__ = [
    "EXERCISES",
    "NAMES",
    "added_mass",
    "answer",
    "fault",
    "three_peaks",
    "too_small",
    "volume",
    "weights",
]

answer = answers_of(__name__)
EXERCISES = (added_mass, too_small, three_peaks, volume, weights, fault)
