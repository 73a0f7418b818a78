"""Reads a number with its unit out of what somebody typed.

Decimal comma or point, thousands groups, powers of ten, fractions of an inch, "6 ft 3 in":
all become a plain value and a known unit. What cannot be read gets a clear word, never a guess.
"""

from __future__ import annotations

import math
import re
import unicodedata
from dataclasses import dataclass

from boxlab.base.quantities import Unit, digits, find_unit

LONGEST = 200  # characters; nobody needs more for one number


class UnreadableError(ValueError):
    """The text holds no single number; the message says what to type instead."""


@dataclass(frozen=True)
class Reading:
    """A number as typed, with its unit if one was given.

    `other` is the second way to read "1,234" (a thousands comma instead of a decimal one).
    """

    value: float
    unit: Unit | None = None
    other: float | None = None


_PREFACE = re.compile(
    r"^(?:[^=]*=)?\s*(?:about|approx(?:imately)?\.?|circa|ca\.?|roughly|[~≈≃])?\s*"
)
_FRACTION = re.compile(r"([+-]?)\s?(?:(\d++)[ -]+)?(\d++)\s*[/:]\s*(\d++)(?![.,]?\d)")
_RATIO = re.compile(r"([+-]?\d++(?:[.,]\d++)?)\s*[/:]\s*(\d++(?:[.,]\d++)?)")
_NUMBER = re.compile(r"([+-]?)\s?(\d++(?:[.,' ]\d++)*+[.,]?|[.,]\d++)")
_POWER = re.compile(r"\s*(?:[eE]|[x×·⋅*]\s*10\s*(?:\^|\*\*)?)\s*\(?([+-]?\d{1,4})\)?(?!\d)")
_TEN = re.compile(r"10\s?(?:\^|\*\*)\s?([+-]?\d{1,2})(?!\d)")
_FEET = re.compile(
    r"(?P<big>\d++)\s*(?P<u1>ft|feet|foot|'|′|’|lbs?|pounds?)\.?\s*[, -]?\s*"
    r"(?P<small>\d.*?)\s*(?P<u2>in|inch|inches|\"|′′|''|”|oz|ounces?)\.?$"
)


def _tidy(text: str) -> str:
    # Superscript powers of ten and vulgar fractions would lose their meaning below.
    text = re.sub(
        r"10([⁺⁻]?[⁰¹²³⁴⁵⁶⁷⁸⁹]+)",
        lambda m: "10^" + unicodedata.normalize("NFKC", m.group(1)),
        text,
    )
    text = "".join(
        " " + c if unicodedata.decomposition(c).startswith("<fraction>") else c for c in text
    )
    text = unicodedata.normalize("NFKC", text).replace("⁄", "/")
    text = re.sub(r"[−–—]", "-", text).replace("μ", "u")
    return re.sub(r"\s+", " ", text).strip()


def _plain(digits: str) -> tuple[float, float | None]:
    """Digits with separators -> the value, and the other way to read it if there is one."""
    thousands = re.fullmatch(r"\d{1,3}(?:([ '.,])\d{3})(?:\1\d{3})*(?:([.,])\d*)?", digits)
    if re.fullmatch(r"\d+|\d*[.]\d*|\d*,\d*", digits):
        value = float(digits.replace(",", ".") if digits.strip(".,") else "nan")
        both = re.fullmatch(r"[1-9]\d{0,2},\d{3}", digits)
        return value, float(digits.replace(",", "")) if both else None
    if thousands and thousands.group(1) != thousands.group(2):
        group, point = thousands.groups()
        whole = digits.replace(group, "")
        return float(whole.replace(point, ".") if point else whole), None
    raise UnreadableError(
        f'I cannot tell which number "{digits}" is. Type one number, such as 45,2 or 45.2.'
    )


def _value(text: str) -> tuple[float, float | None, str]:
    """The number at the start of `text`, its other reading, and the rest of the text."""
    if match := _FRACTION.match(text):
        sign, whole, top, bottom = match.groups()
        if int(bottom) == 0:
            raise UnreadableError("That fraction divides by zero.")
        value = int(whole or 0) + int(top) / int(bottom)
        return (-value if sign == "-" else value), None, text[match.end() :]
    if match := _RATIO.match(text):
        top, bottom = (float(part.replace(",", ".")) for part in match.groups())
        if bottom == 0:
            raise UnreadableError("That fraction divides by zero.")
        return top / bottom, None, text[match.end() :]
    if match := _TEN.match(text):
        return 10.0 ** int(match.group(1)), None, text[match.end() :]
    match = _NUMBER.match(text)
    if not match:
        raise UnreadableError("I find no number there. Type one, such as 45,2 or 45.2 or 1e-3.")
    sign, digits = match.groups()
    value, other = _plain(digits)
    rest = text[match.end() :]
    scale = -1.0 if sign == "-" else 1.0
    if power := _POWER.match(rest):
        rest = rest[power.end() :]
        try:
            scale *= 10.0 ** int(power.group(1))
        except OverflowError:
            raise UnreadableError("That number is too large to work with.") from None
    return scale * value, None if other is None else scale * other, rest


def read(text: str) -> Reading:
    """Read one number, with or without a unit.

    Parameters
    ----------
    text : str
        As typed: "45,2", "45.2 Hz", "0.5 ft3", "1 1/4 in", "2×10⁻³ m²", "fb = 45 Hz".

    Raises
    ------
    UnreadableError
        If there is no number, more than one, or a unit this module does not know.

    >>> read("45,2").value, read("0.5 cu ft").unit.symbol, read("6 ft 3 in").value
    (45.2, 'ft³', 6.25)
    """
    if len(text) > LONGEST:
        raise UnreadableError("That is very long. Type one number, with a unit if you like.")
    body = _tidy(text)
    if not body:
        raise UnreadableError("Nothing typed yet. Type a number, with a unit if you like.")
    body = body[_PREFACE.match(body).end() :]
    if match := _FEET.fullmatch(body):
        big, small = find_unit(match["u1"]), find_unit(match["u2"])
        part, _, rest = _value(match["small"])
        if rest or big.kind != small.kind:
            raise UnreadableError(f'I cannot read "{_short(text)}". Type one number and its unit.')
        return _finite(Reading(int(match["big"]) + part * small.size / big.size, big))
    value, other, rest = _value(body)
    rest = rest.strip()
    if not rest:
        return _finite(Reading(value, None, other))
    unit = find_unit(rest)
    if unit is None:
        if re.match(r"(?:to|and|or|bis|[-+±;,&])*\s*[-+]?\d", rest):
            raise UnreadableError("I find more than one number. Type just one.")
        raise UnreadableError(
            f'I read the number {digits(value)}, but I do not know the unit "{_short(rest)}".'
        )
    return _finite(Reading(value, unit, other))


def in_unit(text: str, unit: str) -> tuple[float, ...]:
    """What a typed number comes to in `unit`; two values where it can be read in two ways.

    Parameters
    ----------
    text : str
        As for `read`. Without a unit it is taken to be in `unit`; with one, it is converted and
        rounded to four digits.
    unit : str
        Any text. One that `boxlab.base.quantities` does not know may stand behind the number, and
        that is all.

    Raises
    ------
    UnreadableError
        If there is no single number, or its unit measures something else.

    >>> in_unit("0.6 ft3", "L"), in_unit("1,200", "W")
    ((16.99,), (1.2, 1200.0))
    """
    own = find_unit(unit)
    got = read(text if own else text.strip().removesuffix(unit))
    if got.unit in (None, own):
        return (got.value,) if got.other is None else (got.value, got.other)
    if own is None or got.unit.kind != own.kind:
        raise UnreadableError(f"The unit {got.unit.symbol} does not fit.")
    return (float(f"{own.from_si(got.unit.into_si(got.value)):.4g}"),)


def _short(text: str) -> str:
    text = text.strip()
    return text if len(text) <= 30 else text[:29] + "…"


def _finite(reading: Reading) -> Reading:
    if not math.isfinite(reading.value):
        raise UnreadableError("That is not a number I can work with. Type one such as 45,2.")
    return reading
