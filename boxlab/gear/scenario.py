"""The invented gear of an invented evening class, used for all demonstrations.

The Tuesday class of the Mill Lane community workshop exists only here, and so does its gear. The
values are plausible for gear of these sizes and belong to no product.
"""

from __future__ import annotations

from types import MappingProxyType

from boxlab.base.units import cm2, grams, litres, mh, mm, mm_per_newton
from boxlab.model.driver import Driver
from boxlab.model.radiator import Radiator

CLASS = "the Tuesday evening class of the Mill Lane community workshop (invented)"

EIGHT_INCH_DRIVER = Driver(
    re=3.4,
    le=mh(0.9),
    bl=10.5,
    mms=grams(60),
    cms=mm_per_newton(0.28),
    rms=2.6,
    sd=cm2(215),
    xmax=mm(9),
    pe=200,
    name="eight-inch shallow demo driver (invented)",
)

TEN_INCH_DRIVER = Driver(
    re=3.4,
    le=mh(1.2),
    bl=15.0,
    mms=grams(115),
    cms=mm_per_newton(0.22),
    rms=4.5,
    sd=cm2(335),
    xmax=mm(12),
    pe=350,
    name="ten-inch shallow demo driver (invented)",
)

TWELVE_INCH_DRIVER = Driver(
    re=3.4,
    le=mh(1.6),
    bl=18.0,
    mms=grams(190),
    cms=mm_per_newton(0.18),
    rms=6.0,
    sd=cm2(490),
    xmax=mm(14),
    pe=500,
    name="twelve-inch demo driver (invented)",
)

EIGHT_INCH_RADIATOR = Radiator(
    sd=cm2(225),
    mms=grams(60),
    cms=mm_per_newton(0.7),
    rms=1.0,
    xmax=mm(15),
    name="eight-inch demo radiator (invented)",
)

TEN_INCH_RADIATOR = Radiator(
    sd=cm2(350),
    mms=grams(100),
    cms=mm_per_newton(0.6),
    rms=1.5,
    xmax=mm(20),
    name="ten-inch demo radiator (invented)",
)

TWELVE_INCH_RADIATOR = Radiator(
    sd=cm2(520),
    mms=grams(180),
    cms=mm_per_newton(0.6),
    rms=2.2,
    xmax=mm(22),
    name="twelve-inch demo radiator (invented)",
)

DRIVERS = MappingProxyType(
    {
        "eight-inch": EIGHT_INCH_DRIVER,
        "ten-inch": TEN_INCH_DRIVER,
        "twelve-inch": TWELVE_INCH_DRIVER,
    }
)

RADIATORS = MappingProxyType(
    {
        "eight-inch": EIGHT_INCH_RADIATOR,
        "ten-inch": TEN_INCH_RADIATOR,
        "twelve-inch": TWELVE_INCH_RADIATOR,
    }
)

AIR_BEHIND = 0.42  # m: the class gives every cone a column of air of its own area, this long


def class_volume(driver):
    """Net volume of the class's box for a driver, m³: `AIR_BEHIND` of air, to the whole litre.

    A rule of the class's own, so that the three sizes can be compared; no rule of the trade.

    >>> [round(1e3 * class_volume(driver), 6) for driver in DRIVERS.values()]
    [9.0, 14.0, 21.0]
    """
    return litres(round(1e3 * driver.sd * AIR_BEHIND))


CLASS_VOLUMES = MappingProxyType({size: class_volume(driver) for size, driver in DRIVERS.items()})

USUAL_QL = 7.0  # leakage loss of a well-made small box (Small 1973: a usual starting point)
