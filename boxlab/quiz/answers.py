"""Judges a typed answer against the right one, and says *how* it is off.

No physics here: the right value comes from the exercise. What this module knows is how answers
go wrong: another unit, a factor taken once instead of squared, both ways for one way, rms for
peak, a diameter for a radius, 10 log for 20 log, a lost sign, a slipped decimal point.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

from boxlab.base.quantities import UNITS, Unit, digits, find_unit
from boxlab.base.typed_values import UnreadableError, read
from boxlab.quiz.error_diagnosis import find_slip

# How a verdict opens. The word carries it; the sign and the colour only help.
MARKS = {
    "right": "✓ Right.",
    "near": "≈ Close.",
    "slip": "✗ Not yet.",
    "off": "✗ Not yet.",
    "kind": "? Another kind of quantity.",
    "unclear": "? I cannot read that.",
}
# dB and degrees are differences already, so a percentage of them means nothing.
WINDOWS = {"level": 0.5, "slope": 0.5, "angle": 2.0}
NEARBY = {"level": 1.5, "slope": 1.5, "angle": 8.0}  # below the first slip that has a name


@dataclass(frozen=True)
class Verdict:
    """What the check says about one answer.

    `kind` is a key of `MARKS`; `value` is what was typed, in the unit asked for, or None where
    nothing could be read.
    """

    kind: str
    message: str
    value: float | None = None

    @property
    def right(self) -> bool:
        """True for a right answer."""
        return self.kind == "right"

    def __str__(self):
        return f"{MARKS[self.kind]} {self.message}"


def window(answer: float, unit: Unit, tolerance: float, absolute: float | None) -> float:
    """How far from `answer` still counts as right, in `unit`."""
    if unit.kind in WINDOWS:
        return WINDOWS[unit.kind] / unit.size if absolute is None else absolute
    return max(tolerance * abs(answer), absolute or 0.0)


def judge(
    text: str,
    answer: float,
    unit: str,
    tolerance: float = 0.02,
    absolute: float | None = None,
    slips: Iterable[tuple[str, float]] = (),
) -> Verdict:
    """Judge what was typed.

    Parameters
    ----------
    text : str
        As typed. Without a unit it is taken to be in `unit`.
    answer : float
        The right answer, in `unit`.
    unit : str
        A unit that `boxlab.base.quantities` knows; "" for a plain number.
    tolerance : float
        Allowed relative error. Not used for dB and degrees.
    absolute : float, optional
        Allowed error in `unit`; the wider of the two counts. For dB 0.5 and for degrees 2 if
        not given.
    slips : pairs of (what to say, wrong answer in `unit`)
        Mistakes that belong to this question, tried before the general ones.

    Raises
    ------
    ValueError
        If `answer` is not finite, `unit` is unknown, or nothing at all would pass as right.

    >>> print(judge("350", 0.035, "m²"))
    ✗ Not yet. 350 would be right in cm². The answer is wanted in m²: 1 m² = 10 000 cm².
    """
    asked = find_unit(unit)
    if asked is None:
        raise ValueError(f"unit = {unit!r}: not a unit boxlab.base.quantities knows; add it there")
    if not math.isfinite(answer):
        raise ValueError(f"answer = {answer!r}: expected a finite number in {unit or 'plain'}")
    allowed = window(answer, asked, tolerance, absolute)
    if not allowed > 0:
        raise ValueError(
            f"answer = {answer:g} with tolerance = {tolerance:g}, absolute = {absolute}: "
            "nothing would pass; give absolute, the allowed error in the unit of the answer"
        )
    try:
        typed = read(text)
    except UnreadableError as unclear:
        return Verdict("unclear", f"{unclear}{_wanted(asked)}")
    given = typed.unit or asked
    if given.kind != asked.kind:
        return Verdict(
            "kind",
            f"{given.symbol or 'A plain number'} measures {_a(given.kind)}; "
            f"the question asks for {_a(asked.kind)}.{_wanted(asked)}",
        )
    value, other = (
        None if each is None else asked.from_si(given.into_si(each))
        for each in (typed.value, typed.other)
    )
    if other is not None and abs(other - answer) <= allowed:
        value = other
        return Verdict(
            "right", f"I read it as {digits(typed.other)}.{_exact(answer, asked)}", value
        )
    if not math.isfinite(value):
        return Verdict("unclear", "That number is too large to work with.")
    if abs(value - answer) <= allowed * (1 + 1e-9):
        return Verdict("right", _exact(answer, asked).strip(), value)
    known = [
        (abs(value - wrong), message)
        for message, wrong in slips
        # A wrong answer is rounded as a right one would be: its window goes with its own size.
        if abs(value - wrong)
        <= min(window(wrong, asked, tolerance, absolute), abs(answer - wrong) / 2)
    ]
    if known:
        return Verdict("slip", min(known)[1], value)
    if abs(value - answer) <= _nearby(answer, asked, allowed):
        side = "high" if value > answer else "low"
        by = (
            f"{abs(value - answer):.2g} {asked.symbol}"
            if asked.kind in WINDOWS or not answer
            else f"{100 * abs(value / answer - 1):.2g} %"
        )
        return Verdict(
            "near",
            f"You are {by} too {side}. The method looks right: carry more digits and round last.",
            value,
        )
    message = find_slip(typed, given, asked, value, answer, allowed)
    if message:
        return Verdict("slip", message, value)
    return Verdict("off", _how_far(value, answer, asked), value)


def _wanted(asked: Unit) -> str:
    others = [u.symbol for u in UNITS[asked.kind] if u.symbol]
    if not asked.symbol:
        return " Wanted here: a plain number, or one with %."
    return f" Wanted here: {asked.symbol}" + (
        f" ({', '.join(others)} also work)." if len(others) > 1 else "."
    )


def _a(kind: str) -> str:
    return f"{'an' if kind[0] in 'aeiou' else 'a'} {'plain ' if kind == 'number' else ''}{kind}"


def _exact(answer: float, asked: Unit) -> str:
    return f" Worked out, it is {digits(answer)} {asked.symbol}".rstrip() + "."


def _nearby(answer: float, asked: Unit, allowed: float) -> float:
    if asked.kind in WINDOWS:
        return max(allowed, min(3 * allowed, NEARBY[asked.kind] / asked.size))
    return max(min(2 * allowed, 0.25 * abs(answer)), 0.03 * abs(answer), allowed)


def _how_far(value: float, answer: float, asked: Unit) -> str:
    side = "high" if value > answer else "low"
    if asked.kind in WINDOWS or not answer or not value:
        return f"It is too {side}, and no common slip leads there. A hint may help."
    if value / answer < 0:
        return "It has the wrong sign and the wrong size. A hint may help."
    times = max(value / answer, answer / value)
    side = "large" if abs(value) > abs(answer) else "small"
    far = next(
        (words for limit, words in ((1.5, "less than half as much again"), (2, "a factor below 2"),
         (5, "a factor of 2 to 5"), (20, "a factor of 5 to 20")) if times < limit),
        "a factor of more than 20",
    )  # fmt: skip
    return f"It is too {side}, by {far}, and no common slip leads there. A hint may help."
