"""Names the mistake behind a wrong number, where the ratio of wrong to right gives it away."""

from __future__ import annotations

import math

from boxlab.base.quantities import UNITS, Unit, digits
from boxlab.base.typed_values import Reading

_SIGN = "The size is right, the sign is not. Which direction counts as positive?"
# What swings about zero has peaks; what lies in space has diameters; an ounce has neither.
_SWINGS = {
    "length", "voltage", "current", "pressure", "speed", "force", "acceleration", "volume",
    "volume velocity",
}  # fmt: skip
_ROUND = {"length", "area", "volume"}


def _doubled(kind):
    """(wrong / right, what to say) for twos and fours, by the kind of quantity."""
    of_two = [
        *(["peak-to-peak for one way"] if kind in _SWINGS else []),
        *(["a diameter for a radius"] if kind == "length" else []),
    ]
    of_half = [
        *(["one way for peak-to-peak"] if kind in _SWINGS else []),
        *(["a radius for a diameter"] if kind == "length" else []),
    ]
    two = " or ".join(of_two) or "is something counted twice"
    half = " or ".join(of_half) or "is one of two left out"
    yield 2.0, f"It is twice too large: {two}?"
    yield 0.5, f"It is half of what is wanted: {half}?"
    if kind in _ROUND:
        yield 4.0, "It is four times too large. Was a diameter used where the radius is squared?"
        yield 0.25, "It is a quarter of what is wanted. Was a radius used for the diameter?"
    else:
        yield 4.0, "It is four times too large. Is a factor of two squared somewhere?"
        yield 0.25, "It is a quarter of what is wanted. Is a factor of two squared somewhere?"
    if kind in _SWINGS:
        root = math.sqrt(2)
        yield root, "It is too large by √2. That is a peak value for an rms one."
        yield 1 / root, "It is too small by √2. That is an rms value for a peak one."
        yield 2 * root, "It is too large by 2√2. That is peak-to-peak for rms."
        yield 1 / (2 * root), "It is too small by 2√2. That is rms for peak-to-peak."


# (wrong / right, what to say). Ratios here hold for any kind of quantity but a level.
_FACTORS = (
    (-1.0, _SIGN),
    (2 * math.pi, "It is too large by 2π. That happens between Hz and rad/s: ω = 2πf."),
    (1 / (2 * math.pi), "It is too small by 2π. That happens between Hz and rad/s: ω = 2πf."),
    ((2 * math.pi) ** 2, "It is too large by (2π)². Is there an f² where ω² belongs?"),
    ((2 * math.pi) ** -2, "It is too small by (2π)². Is there an ω² where f² belongs?"),
    (math.pi, "It is too large by π. An area of a circle is π·r², with π once."),
    (1 / math.pi, "It is too small by π. An area of a circle is π·r²."),
)
_DECIBELS = (
    (6.02, "It is 6 dB too high: a factor of two in pressure or volts, counted once too often?"),
    (-6.02, "It is 6 dB too low: a factor of two in pressure or volts is missing."),
    (3.01, "It is 3 dB too high: a factor of two in power, or peak for rms?"),
    (-3.01, "It is 3 dB too low: a factor of two in power, or rms for peak?"),
)
_LENGTHS = (10.0, 100.0, 1000.0, 12.0, 25.4, 2.54)


def find_slip(
    typed: Reading, given: Unit, asked: Unit, value: float, answer: float, allowed: float
) -> str:
    """Name the mistake that turns `answer` into `value`, or say nothing."""
    if asked.kind == "level":
        return _level_slip(value, answer, allowed)
    if asked.kind == "angle":
        return _angle_slip(typed, given, asked, value, answer, allowed)
    if not answer or not value:
        return ""
    ratio = value / answer
    slack = min(max(allowed / abs(answer), 0.005), 0.03)
    return (
        _unit_slip(typed, given, asked, ratio, slack)
        or _pick(_powers(asked), ratio, slack)
        or _upside_down(asked, value, answer, slack)
        or _pick((*_doubled(asked.kind), *_FACTORS), ratio, slack)
        or _point(ratio, slack)
    )


def _unit_slip(typed, given, asked, ratio, slack) -> str:
    """The typed digits are right, in some other unit than the one they are taken to be in."""
    near = [
        (abs(math.log(ratio * other.size / given.size)), other)
        for other in UNITS[asked.kind]
        if ratio > 0 and abs(math.log(other.size / given.size)) > 0.03
    ]
    if not near or min(near, key=lambda pair: pair[0])[0] > slack:
        return ""
    other = min(near, key=lambda pair: pair[0])[1]
    here, there = given.symbol or "plain numbers", other.symbol or "plain numbers"
    start = f"{digits(typed.value)} would be right in {there}"
    if typed.unit is None:
        start += f". The answer is wanted in {asked.symbol or 'plain numbers'}"
    else:
        start += f", not in {here}"
    big, small = (given, other) if given.size > other.size else (other, given)
    if "%" in (big.symbol, small.symbol):
        return f"{start}: a fraction of 1 is 100 %."
    return f"{start}: 1 {big.symbol} = {digits(big.size / small.size)} {small.symbol}."


def _powers(asked: Unit):
    """Slips of a length's factor in areas and volumes."""
    if asked.kind == "area":
        for f in _LENGTHS:
            message = f"The length's factor of {f:g} was used once; areas take it squared."
            yield from ((f, message), (1 / f, message))
    if asked.kind == "volume":
        message = "A length's factor was not cubed; volumes take it three times."
        for f in _LENGTHS:
            yield from ((ratio, message) for ratio in (f, 1 / f, f**2, 1 / f**2))


def _upside_down(asked: Unit, value: float, answer: float, slack: float) -> str:
    wrong = asked.kind == "number" and abs(value * answer * asked.size**2 - 1) < slack
    return "The fraction is upside down." if wrong else ""


def _pick(table, ratio: float, slack: float) -> str:
    """The message of the closest factor in the table, if one is within `slack`."""
    best = min(
        (
            (abs(math.log(ratio / factor)), message)
            for factor, message in table
            if ratio / factor > 0
        ),
        default=(math.inf, ""),
        key=lambda pair: pair[0],
    )
    return best[1] if best[0] <= slack else ""


def _point(ratio: float, slack: float) -> str:
    if ratio <= 0:
        return ""
    places = round(math.log10(ratio))
    if not places or abs(math.log(ratio / 10.0**places)) > slack:
        return ""
    side = "large" if places > 0 else "small"
    return (
        f"The digits are right; the decimal point is not: {10 ** abs(places):,} times too {side}. "
        "Is a kilo, a milli or a centi lost?"
    )


def _level_slip(value: float, answer: float, allowed: float) -> str:
    near = min(allowed, 0.5)
    if abs(answer) > 4 * near:
        if abs(value + answer) <= near:
            return _SIGN
        if abs(value - 2 * answer) <= 2 * near:
            return (
                "It is twice too many dB: 20·log10 is for pressure and volts, 10·log10 for power."
            )
        if abs(value - answer / 2) <= near:
            return "It is half the dB: 10·log10 for power, 20·log10 for pressure and volts."
    for offset, message in _DECIBELS:
        if abs(value - answer - offset) <= near:
            return message
    return ""


def _angle_slip(typed, given, asked, value, answer, allowed) -> str:
    turn = 360 / asked.size
    for wrong, message in (
        (-answer, "The size is right, the sign is not: which of the two leads?"),
        (answer + turn, "It is one whole turn too much."),
        (answer - turn, "It is one whole turn too little."),
        (answer + turn / 2, "It is half a turn out: a lost minus sign, or rear for front?"),
        (answer - turn / 2, "It is half a turn out: a lost minus sign, or rear for front?"),
    ):
        if abs(value - wrong) <= allowed:
            return message
    if answer and value:
        return _unit_slip(typed, given, asked, value / answer, 0.02)
    return ""
