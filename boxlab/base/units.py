"""Unit conversions, for use at the edge: everything inside boxlab is SI.

Each pair reads the way it is said: `litres(14)` is fourteen litres as m³, and `to_litres(0.014)`
is that volume in litres. All take and return numbers or arrays. The inch (25.4 mm), the pound
(0.45359237 kg) and the foot (12 in) are exact by the international yard and pound agreement of
1959.

>>> round(to_litres(cubic_feet(0.5)), 3)
14.158
>>> round(to_inches(mm(254)), 6)
10.0
"""

from __future__ import annotations

import math

import numpy as np

from boxlab.base.checks import positive

INCH = 0.0254  # m
FOOT = 12 * INCH  # m
CUBIC_FOOT = FOOT**3  # m³
POUND = 0.45359237  # kg
OUNCE = POUND / 16  # kg


def _number(name, value):
    """The number, or the array of them; NaN passes, as a gap."""
    if type(value) is float:
        return value
    try:
        if np.asarray(value).dtype.kind in "fiu":
            return np.asarray(value) if isinstance(value, list | tuple) else value
    except ValueError:  # a list of lists of different lengths
        pass
    raise ValueError(f"{name}({value!r}): give a number, or an array of numbers: {name}(14).")


def _pair(name, factor, unit, si):
    def into_si(value):
        return _number(name, value) * factor

    def out_of_si(value):
        return _number(f"to_{name}", value) / factor

    into_si.__name__ = into_si.__qualname__ = name
    into_si.__doc__ = f"Convert {unit} to {si}."
    out_of_si.__name__ = out_of_si.__qualname__ = f"to_{name}"
    out_of_si.__doc__ = f"Convert {si} to {unit}."
    return into_si, out_of_si


litres, to_litres = _pair("litres", 1e-3, "litres", "m³")
cubic_feet, to_cubic_feet = _pair("cubic_feet", CUBIC_FOOT, "cubic feet", "m³")
cubic_inches, to_cubic_inches = _pair("cubic_inches", INCH**3, "cubic inches", "m³")
mm, to_mm = _pair("mm", 1e-3, "millimetres", "m")
cm, to_cm = _pair("cm", 1e-2, "centimetres", "m")
inches, to_inches = _pair("inches", INCH, "inches", "m")
feet, to_feet = _pair("feet", FOOT, "feet", "m")
cm2, to_cm2 = _pair("cm2", 1e-4, "square centimetres", "m²")
square_inches, to_square_inches = _pair("square_inches", INCH**2, "square inches", "m²")
grams, to_grams = _pair("grams", 1e-3, "grams", "kg")
ounces, to_ounces = _pair("ounces", OUNCE, "ounces", "kg")
pounds, to_pounds = _pair("pounds", POUND, "pounds", "kg")
mh, to_mh = _pair("mh", 1e-3, "millihenries", "H")
mm_per_newton, to_mm_per_newton = _pair("mm_per_newton", 1e-3, "mm/N", "m/N")
celsius_offset = 273.15  # K


def disc_area(diameter):
    """Area of a disc, m², from its diameter, m.

    >>> round(disc_area(inches(4)), 6)
    0.008107
    """
    return math.pi * _number("disc_area", diameter) ** 2 / 4


def disc_diameter(area):
    """Diameter of a disc, m, from its area, m² (a number or an array)."""
    return (4 * _number("disc_diameter", area) / math.pi) ** 0.5


# Inside edges of the box whose shape is assumed where only the volume is known.
BOX_SHAPE = (8, 6, 5)


def inside_edges(volume):
    """Inside edges, m, of a box of `volume` m³ shaped 8 : 6 : 5, longest first.

    >>> [round(100 * float(edge), 1) for edge in inside_edges(0.01416)]
    [31.1, 23.4, 19.5]
    """
    a, b, c = BOX_SHAPE
    unit = np.cbrt(np.asarray(positive("volume", volume, "Volume is in m³.")) / (a * b * c))
    return unit * a, unit * b, unit * c
