"""The units that an answer may be given in, and the many ways in which people spell them."""

from __future__ import annotations

import math
import re
import unicodedata
from dataclasses import dataclass

from boxlab.base.units import FOOT, INCH, OUNCE, POUND


@dataclass(frozen=True)
class Unit:
    """One unit: how it is printed, what kind of quantity it measures, its size in SI."""

    symbol: str
    kind: str
    size: float
    zero: float = 0.0  # where the unit's own zero lies, in SI

    def into_si(self, value):
        """A value in this unit, in SI."""
        return value * self.size + self.zero

    def from_si(self, value):
        """A value in SI, in this unit."""
        return (value - self.zero) / self.size


POUND_FORCE = POUND * 9.80665  # N, by definition

# kind -> (symbol, size in SI, further spellings, and where its zero lies if it lies elsewhere).
# Spelling ignores spaces, dots, "^" and "·".
_TABLE: dict[str, tuple[tuple, ...]] = {
    "number": (
        ("", 1.0, "x × times time fold"),
        ("%", 0.01, "percent pct /cent"),
    ),
    "length": (
        ("m", 1.0, "metre metres meter meters"),
        ("cm", 1e-2, "centimetre centimetres centimeter centimeters"),
        ("mm", 1e-3, "millimetre millimetres millimeter millimeters"),
        ("µm", 1e-6, "micron microns micrometre micrometer"),
        ("in", INCH, "inch inches \" ′′ '' ”"),
        ("ft", FOOT, "foot feet ' ′ ’"),
    ),
    "area": (
        ("m²", 1.0, "sqm squaremetre squaremetres squaremeter squaremeters"),
        ("cm²", 1e-4, "sqcm squarecentimetres squarecentimeters"),
        ("mm²", 1e-6, "sqmm squaremillimetres squaremillimeters"),
        ("in²", INCH**2, "sqin squareinch squareinches sqinch sqinches"),
        ("ft²", FOOT**2, "sqft squarefoot squarefeet"),
    ),
    "volume": (
        ("m³", 1.0, "cubicmetre cubicmetres cubicmeter cubicmeters"),
        ("L", 1e-3, "litre litres liter liters dm³ ltr"),
        ("mL", 1e-6, "millilitre millilitres milliliter milliliters"),
        ("cm³", 1e-6, "cc ccm cubiccentimetre cubiccentimetres cubiccentimeters"),
        ("in³", INCH**3, "cuin cubicinch cubicinches"),
        ("ft³", FOOT**3, "cuft cf cubicfoot cubicfeet"),
    ),
    "mass": (
        ("kg", 1.0, "kilo kilos kilogram kilograms kilogramme"),
        ("g", 1e-3, "gram grams gramme grammes gr"),
        ("mg", 1e-6, "milligram milligrams"),
        ("lb", POUND, "lbs pound pounds"),
        ("oz", OUNCE, "ounce ounces"),
    ),
    "frequency": (
        ("Hz", 1.0, "hertz cps 1/s"),
        ("kHz", 1e3, "kilohertz"),
        ("rad/s", 1 / (2 * math.pi), "rad/sec radians/s radians/second"),
    ),
    "time": (
        ("s", 1.0, "sec secs second seconds"),
        ("ms", 1e-3, "msec millisecond milliseconds"),
        ("µs", 1e-6, "usec microsecond microseconds"),
        ("min", 60.0, "minute minutes"),
        ("h", 3600.0, "hour hours"),
    ),
    "angle": (
        ("°", 1.0, "deg degree degrees"),
        ("rad", 180 / math.pi, "radian radians"),
        ("cycle", 360.0, "cycles turn turns period periods"),
    ),
    "level": (("dB", 1.0, "decibel decibels dBspl dBA dBC dBZ dB(A) dB(C)"),),
    "slope": (("dB/octave", 1.0, "dB/oct"),),
    "speed": (
        ("m/s", 1.0, "m/sec mps metres/second meters/second"),
        ("cm/s", 1e-2, ""),
        ("km/h", 1 / 3.6, "kph kmh"),
        ("ft/s", FOOT, "fps ft/sec feet/second"),
        ("mph", 0.44704, ""),
    ),
    "acceleration": (("m/s²", 1.0, ""), ("ft/s²", FOOT, "")),
    "volume velocity": (("m³/s", 1.0, ""), ("L/s", 1e-3, "")),
    "force": (("N", 1.0, "newton newtons"), ("lbf", POUND_FORCE, "")),
    "pressure": (
        ("Pa", 1.0, "pascal pascals N/m²"),
        ("kPa", 1e3, ""),
        ("hPa", 1e2, "mbar"),
        ("psi", 6894.757293168, ""),
    ),
    "voltage": (("V", 1.0, "volt volts Vrms"), ("mV", 1e-3, "millivolt millivolts")),
    "current": (("A", 1.0, "amp amps ampere amperes"), ("mA", 1e-3, "")),
    "power": (("W", 1.0, "watt watts"), ("kW", 1e3, "kilowatt"), ("mW", 1e-3, "milliwatt")),
    "resistance": (
        ("Ω", 1.0, "ohm ohms"),
        ("mΩ", 1e-3, "mohm mohms milliohm milliohms"),
        ("kΩ", 1e3, "kohm kohms"),
    ),
    "inductance": (("H", 1.0, "henry"), ("mH", 1e-3, ""), ("µH", 1e-6, "")),
    "capacitance": (("F", 1.0, "farad"), ("µF", 1e-6, ""), ("mF", 1e-3, "")),
    "force factor": (("T m", 1.0, "N/A"),),
    "compliance": (
        ("m/N", 1.0, ""),
        ("mm/N", 1e-3, ""),
        ("µm/N", 1e-6, ""),
        ("in/lbf", INCH / POUND_FORCE, "in/lb"),
    ),
    "stiffness": (
        ("N/m", 1.0, ""),
        ("N/mm", 1e3, ""),
        ("lbf/in", POUND_FORCE / INCH, "lb/in lbs/in"),
    ),
    "mechanical resistance": (("N s/m", 1.0, "kg/s"),),
    "acoustic compliance": (("m³/Pa", 1.0, "m⁵/N"), ("cm³/Pa", 1e-6, ""), ("L/Pa", 1e-3, "")),
    "acoustic mass": (("kg/m⁴", 1.0, "Pas²/m³"),),
    "acoustic resistance": (("Pa s/m³", 1.0, "Ns/m⁵ kg/m⁴/s"),),
    "density": (("kg/m³", 1.0, ""), ("g/cm³", 1e3, "")),
    "temperature": (
        ("°C", 1.0, "C degC celsius"),
        ("°F", 5 / 9, "degF fahrenheit", -160 / 9),
    ),
    "gauge": (("AWG", 1.0, "gauge ga"),),
}


def _spelling(text: str) -> str:
    text = unicodedata.normalize("NFKC", text.strip()).replace("μ", "u")
    text = re.sub(r"\bper\b", "/", text)
    text = re.sub(r"\b(sq|cu)\b\.?", r"\1", text)
    return re.sub(r"[\s.^·⋅*]", "", text)


# kind -> its units in order, and every spelling -> unit
UNITS: dict[str, tuple[Unit, ...]] = {
    kind: tuple(Unit(symbol, kind, size, *zero) for symbol, size, _, *zero in rows)
    for kind, rows in _TABLE.items()
}
_SPELLINGS: dict[str, Unit] = {}
for _kind, _rows in _TABLE.items():
    for _unit, (_symbol, _, _more, *_) in zip(UNITS[_kind], _rows, strict=True):
        for _name in (_symbol, *_more.split()):
            _SPELLINGS[_spelling(_name)] = _unit

# Where only the capitals differ from a known spelling and nothing else fits, it is meant.
_LOOSE: dict[str, Unit | None] = {}
for _name, _unit in _SPELLINGS.items():
    _low = _name.casefold()
    _LOOSE[_low] = _unit if _LOOSE.get(_low, _unit) == _unit else None


def find_unit(text: str) -> Unit | None:
    """The unit that `text` spells, or None.

    >>> find_unit("cm^2").symbol, find_unit("cubic feet").symbol, find_unit("hz").symbol
    ('cm²', 'ft³', 'Hz')
    """
    name = _spelling(text)
    return _SPELLINGS.get(name) or _LOOSE.get(name.casefold())


_RAISED = str.maketrans("-0123456789", "⁻⁰¹²³⁴⁵⁶⁷⁸⁹")


def digits(value: float) -> str:
    """A value for people: four digits, and no power of ten where zeros do as well.

    >>> digits(10000.0), digits(0.014158423), digits(6.022e23)
    ('10 000', '0.01416', '6.022×10²³')
    """
    if value and not 1e-4 <= abs(value) < 1e7:
        number, _, power = f"{value:.3e}".partition("e")
        raised = str(int(power)).translate(_RAISED)
        return f"{number.rstrip('0').rstrip('.')}×10{raised}"
    text = f"{float(f'{value:.4g}'):.12f}".rstrip("0").rstrip(".")
    return (
        f"{int(text):,}".replace(",", " ")
        if text.lstrip("-").isdigit() and abs(value) >= 1e4
        else text
    )


def span(low: float, high: float, unit: str, places: int = 0) -> str:
    """From one value to another in words, once where both read alike.

    >>> span(28.6, 35.2, "Hz"), span(28.6, 29.4, "Hz")
    ('29 to 35 Hz', '29 Hz')
    """
    ends = dict.fromkeys(f"{each:.{places}f}" for each in (low, high))
    return f"{' to '.join(ends)} {unit}".rstrip()
