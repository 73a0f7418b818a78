"""Texts and values in inch units, for paper where they are chosen."""

from __future__ import annotations

import re
from collections.abc import Iterator

from boxlab.base.quantities import digits, find_unit

# what a metric unit becomes; a gauge of wire and electrical units stay
INSTEAD = {
    "mm": "in", "cm": "in", "m": "ft", "cm²": "in²", "m²": "ft²", "L": "ft³", "m³": "ft³",
    "cm³": "in³", "g": "oz", "kg": "lb", "N/m": "lbf/in", "mm/N": "in/lbf", "m/N": "in/lbf",
    "N": "lbf", "Pa": "psi", "m/s": "ft/s", "m/s²": "ft/s²", "km/h": "mph", "°C": "°F",
}  # fmt: skip
INTO = {
    "length": "m", "area": "m²", "volume": "m³", "mass": "kg", "stiffness": "N/m",
    "compliance": "m/N", "force": "N", "pressure": "Pa", "speed": "m/s",
}  # fmt: skip
_NUMBER = r"[−-]?\d{1,3}(?:[   ]\d{3})+(?:\.\d+)?|[−-]?\d+(?:\.\d+)?"
_UNITS = "|".join(sorted(map(re.escape, INSTEAD), key=len, reverse=True))
# sides share one unit, "600 × 300 mm"; but of "2 × 300 cm²" the 2 is a number of things
_SHARED = rf"(?:{_NUMBER})(?:(?: ×| and| to) (?:{_NUMBER}))*(?=\** ?(?:mm|cm|m)(?![\w²³]))"
_METRIC = re.compile(
    rf"(?<![\w.,·/^])({_SHARED}|(?:{_NUMBER})(?:(?: and| to) (?:{_NUMBER}))*)"
    rf"(\**) ?({_UNITS})(?![\w²³/·])"
)
_ALSO = re.compile(r" \((?=[^)]*[a-z])(?:[\d.×−\s]|and|by|in|ft|oz|lb|[²³])+\)")


def unit(symbol: str) -> str:
    """The unit to print in place of `symbol`.

    >>> unit("g"), unit("Hz")
    ('oz', 'Hz')
    """
    return INSTEAD.get(symbol, symbol)


def value(number: float, symbol: str) -> float:
    """`number`, given in the unit `symbol`, in `unit(symbol)`."""
    return find_unit(unit(symbol)).from_si(find_unit(symbol).into_si(number))


def text(words: str) -> str:
    """A text with its metric values in inch units; values in both are left in one.

    >>> text("15 L (0.53 ft³) and 100 g on 0.6 mm/N")
    '0.5297 ft³ and 3.527 oz on 0.1051 in/lbf'
    """
    return _METRIC.sub(_converted, _ALSO.sub("", words))


def quantities(words: str) -> Iterator[tuple[float, str]]:
    """Each metric value of a text that `text` changes, and its unit.

    >>> list(quantities("15 L (0.53 ft³) and 600 × 300 mm"))
    [(15.0, 'L'), (600.0, 'mm'), (300.0, 'mm')]
    """
    for found in _METRIC.finditer(_ALSO.sub("", words)):
        if found[0] != "1 m":
            for number in re.findall(_NUMBER, found[1]):
                yield float(re.sub(r"[   ]", "", number).replace("−", "-")), found[3]


def _converted(found: re.Match) -> str:
    if found[0] == "1 m":
        return found[0]  # where levels are stated, in every country

    def one(match):
        plain = re.sub(r"[   ]", "", match[0]).replace("−", "-")
        return digits(value(float(plain), found[3]))

    return f"{re.sub(_NUMBER, one, found[1])}{found[2]} {unit(found[3])}"


def into_si(words: str) -> str:
    """The values of a text that inch units stand for, each in inch units and in SI, as a sentence.

    >>> into_si("15 L (0.53 ft³) and 100 g")
    'In SI: 0.5297 ft³ = 0.015 m³, 3.527 oz = 0.1 kg. '
    """
    pairs = []
    for plain, symbol in quantities(words):
        here, there = find_unit(symbol), find_unit(unit(symbol))
        if here.kind in INTO:
            inch, si = digits(value(plain, symbol)), digits(here.into_si(plain))
            pairs.append(f"{inch} {there.symbol} = {si} {INTO[here.kind]}")
    return f"In SI: {', '.join(dict.fromkeys(pairs))}. " if pairs else ""


def table(symbols) -> str:
    """The factors from inch units to SI that formulas with these units need, on one line."""
    units = [find_unit(symbol) for symbol in dict.fromkeys(symbols)]
    return ", ".join(f"1 {u.symbol} = {digits(u.size)} {INTO[u.kind]}" for u in units)
