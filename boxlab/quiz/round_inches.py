"""Round inch numbers for paper: 0.69 ft³ in place of 0.6886, where the answer hardly moves."""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from types import SimpleNamespace

from boxlab.base.quantities import digits, find_unit
from boxlab.quiz import inch_units
from boxlab.quiz.task import Exercise

NEAR = (0.02, 0.01, 0.005, 0.002)  # of a number: how far rounding may move it, tried in this order
SAME = 0.001  # how far a number that every draw has may be moved: nobody works it out again
SPENT = 0.4  # of what an answer may be off: how much of it rounding may take


def sayer(exercise: Exercise, numbers) -> Callable[[str], str]:
    """A function that says texts of this exercise in inch units, in numbers as round as can be.

    They are rounded as far as no answer moves by more than `SPENT` of what still counts as right,
    so a sheet's answers are right in the lesson too, which has the numbers of the draw itself.
    """
    for near in NEAR:
        swaps = _swaps(exercise, numbers, near)
        if swaps:
            return lambda words: _swapped(inch_units.text(words), swaps)
    return inch_units.text


def rounded(number: float, near: float) -> float:
    """The number with as few digits as leave it within the share `near` of itself.

    >>> rounded(0.6886, 0.01), rounded(0.6886, 0.02), rounded(54.25, 0.002)
    (0.69, 0.7, 54.2)
    """
    for places in (1, 2, 3):
        short = float(f"{number:.{places}g}")
        if abs(short - number) <= near * abs(number):
            return short
    return number


def _swaps(exercise, numbers, near):
    """Exact text -> round text for each inch number of the prompt; {} where an answer moves."""
    drawn = {k: v for k, v in vars(numbers).items() if isinstance(v, int | float)}
    moved, swaps = vars(numbers).copy(), {}
    for plain, symbol in inch_units.quantities(exercise.prompt(numbers)):
        exact = inch_units.value(plain, symbol)
        in_si = find_unit(symbol).into_si(plain)
        names = [
            name for name, value in drawn.items()
            if any(math.isclose(value, each, rel_tol=1e-9) for each in (plain, in_si))
        ]  # fmt: skip
        short = rounded(exact, near if names else SAME)
        if digits(short) != digits(exact):
            swaps[digits(exact)] = digits(short)
            moved.update({name: drawn[name] * short / exact for name in names})
    try:
        off = [
            abs(float(step.answer(SimpleNamespace(**moved))) - float(step.answer(numbers)))
            for step in exercise.blanks
        ]
    except (TypeError, ValueError, ArithmeticError, LookupError):
        return {}
    allowed = [SPENT * step.allowed(numbers) for step in exercise.blanks]
    return swaps if all(a <= b for a, b in zip(off, allowed, strict=True)) else {}


def _swapped(text, swaps):
    found = "|".join(re.escape(exact) for exact in sorted(swaps, key=len, reverse=True))
    return re.sub(rf"(?<![\w.,])(?:{found})(?![\w]|[.,]\d)", lambda m: swaps[m[0]], text)
