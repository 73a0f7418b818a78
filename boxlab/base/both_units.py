"""Metric words with inches, cubic feet and the like beside them."""

from __future__ import annotations

import re

from boxlab.base import units

_NUMBER = r"[−-]?\d+(?:[ \u202f]\d{3})*(?:\.\d+)?"
# unit -> (function to SI, function to inch unit, inch unit)
_PAIRS = {
    "L": (units.litres, units.to_cubic_feet, "ft³"),
    "mm": (units.mm, units.to_inches, "in"),
    "cm": (units.cm, units.to_inches, "in"),
    "m": (float, units.to_feet, "ft"),
    "cm²": (units.cm2, units.to_square_inches, "in²"),
    "m³": (float, units.to_cubic_feet, "ft³"),
    "m²": (float, lambda area: area / units.FOOT**2, "ft²"),
    "g": (units.grams, units.to_ounces, "oz"),
    "kg": (float, units.to_pounds, "lb"),
    "m/s": (float, units.to_feet, "ft/s"),
    "m/s²": (float, units.to_feet, "ft/s²"),
    "°C": (float, lambda celsius: 1.8 * celsius + 32, "°F"),
}
_QUANTITY = re.compile(
    rf"(?<![\w.,])(?<!e-)((?:{_NUMBER}, )*(?={_NUMBER} (?:and|or) )"
    rf"{_NUMBER}(?: and | or ){_NUMBER}|"
    rf"{_NUMBER}(?:(?: to | and | or |–| × | ± ){_NUMBER})*)"
    rf"[ \u00a0]({'|'.join(sorted(_PAIRS, key=len, reverse=True))})"
    r"(?![\w/²³·⁴°])(?! ?=)(?! \([^()]*\d (?:in|ft|oz|lb|°F)(?![a-z]))"
)


def both_units(text: str) -> str:
    """A sentence with inches, cubic feet and the like added behind each metric quantity.

    A quantity is left alone where the bracket behind it says it already.

    >>> both_units("Net 14 L; the cone moves 8 to 12 mm at 45 Hz.")
    'Net 14 L (0.49 ft³); the cone moves 8 to 12 mm (0.31 to 0.47 in) at 45 Hz.'
    >>> both_units("A port of 4 L (0.14 ft³), 3 mm/N.")
    'A port of 4 L (0.14 ft³), 3 mm/N.'
    >>> both_units("one of 14 L (grey)")
    'one of 14 L (0.49 ft³) (grey)'
    >>> both_units("It moves 160 ± 6 g, and is shaken with 9.9 m/s².")
    'It moves 160 ± 6 g (5.64 ± 0.21 oz), and is shaken with 9.9 m/s² (32 ft/s²).'
    >>> both_units("Net 31.200 ± 0.025 L")  # value and doubt to one digit
    'Net 31.200 ± 0.025 L (1.10182 ± 0.00088 ft³)'
    """
    return _QUANTITY.sub(_with_other, text)


def factors() -> dict[str, list]:
    """For a page that changes units itself: metric unit -> [other unit, factor, zero].

    >>> factors()["°C"]
    ['°F', 1.8, 32.0]
    """
    found = {}
    for metric, (into, out_of, unit) in _PAIRS.items():
        zero = float(out_of(into(0.0)))
        found[metric] = [unit, round(float(out_of(into(1.0))) - zero, 10), zero]
    return found


def _with_other(match) -> str:
    into, out_of, unit = _PAIRS[match[2]]
    zero = out_of(into(0.0))  # of a temperature, a doubt has no zero of its own

    def other_of(found):
        less = zero if found[1] else 0.0
        return (found[1] or "") + _converted(found[2], lambda v: out_of(into(v)) - less)

    def doubted(found):
        doubt = other_of(re.match("(± )(.*)", found[2]))
        places = len(doubt.partition(".")[2])
        return f"{out_of(into(_plain(found[1]))):.{places}f} {doubt}".replace("-", "−")

    pairs = rf"({_NUMBER}) (± {_NUMBER})"
    other = "".join(
        re.sub(pairs, doubted, part) if re.fullmatch(pairs, part)
        else re.sub(rf"(± )?({_NUMBER})", other_of, part)
        for part in re.split(rf"({_NUMBER} ± {_NUMBER})", match[1])
    )  # fmt: skip
    return f"{match[0]} ({other} {unit})"


def _converted(number: str, convert) -> str:
    """The number converted, with about as many digits as it had: two at least, three at most."""
    value = convert(_plain(number))
    digits = len(re.sub(r"\D", "", number).lstrip("0"))
    shown = f"{value:#.{min(3, max(2, digits))}g}".rstrip(".")
    return (f"{value:.0f}" if "e" in shown else shown).replace("-", "−")


def _plain(number):
    return float(re.sub(r"[ \u202f]", "", number).replace("−", "-"))
