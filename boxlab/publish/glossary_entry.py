"""What an entry of the glossary is, and how its value on the demo gear is worked out."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cache

import numpy as np

from boxlab.base.quantities import digits, find_unit
from boxlab.base.units import disc_area, inches, litres
from boxlab.design.radiator_need import needed_ratio
from boxlab.gear import scenario
from boxlab.model.enclosure import PortedBox, RadiatorBox
from boxlab.model.limits import max_output
from boxlab.model.response import solve

FB = 36.0  # Hz, tuning of the example


@dataclass(frozen=True)
class Term:
    """A term of the trade.

    Parameters
    ----------
    anchor : str
        What a link to it ends in. It never changes.
    name, meaning : str
        As printed, in Markdown.
    unit, inch : str
        Its units, metric and inch; "" where it has none, or both systems use the same.
    value : callable, optional
        The demo gear's value in SI. A level stays in dB.
    place : str
        Where the library has it, such as "model.driver.Driver.fs".
    """

    anchor: str
    name: str
    meaning: str
    unit: str = ""
    inch: str = ""
    value: Callable[[], float] | None = None
    place: str = ""

    @property
    def example(self) -> str:
        """The value in both unit systems, or ""."""
        if self.value is None:
            return ""
        value = float(self.value())
        other = f" ({text(value, self.inch)})" if self.inch else ""
        return text(value, self.unit) + other


def text(value: float, symbol: str) -> str:
    """A value in SI as text with three digits in the unit `symbol`."""
    shown = float(f"{value / find_unit(symbol).size:.3g}")
    space = "" if symbol == "°" else " "
    return f"{digits(shown)}{space}{symbol}".rstrip().replace("-", "−")


@cache
def gear():
    """The example: ten-inch demo driver, its radiator box of 14 L, its port box."""
    driver, volume = scenario.TEN_INCH_DRIVER, litres(14)
    radiator = RadiatorBox.tuned(volume, FB, scenario.TEN_INCH_RADIATOR, ql=scenario.USUAL_QL)
    ported = PortedBox.tuned(volume, FB, disc_area(inches(3)), ql=scenario.USUAL_QL, max_length=3)
    return driver, radiator, ported


def of_driver(name):
    """A parameter of the example's driver, as a function without arguments."""
    return lambda: getattr(gear()[0], name)


def of_radiator(name):
    """A parameter of its radiator."""
    return lambda: getattr(gear()[1].radiator, name)


def solved_at(name, frequency=FB):
    """What `solve` says of it at one frequency."""
    return lambda: getattr(solve(gear()[0], gear()[1], np.array([frequency])), name)[0]


def loudest():
    """The loudest level of the example at its tuning, dB."""
    rating = 300.0  # W into the coil's resistance
    return max_output(gear()[0], gear()[1], np.array([FB]), power=rating, load=gear()[0].re).spl[0]


def needed():
    """Swept volume its radiator needs over the driver's."""
    return float(needed_ratio(gear()[0], gear()[1]).ratio)


def friction():
    """QR of its radiator in its box."""
    box = gear()[1]
    flow = box.radiator.rms / box.radiator.sd**2  # Pa·s/m³
    return 1 / (2 * np.pi * FB * box.compliance() * flow)


def lower_peak():
    """The lower peak of its impedance, Hz."""
    f = np.geomspace(10, FB, 2001)
    return f[abs(solve(gear()[0], gear()[1], f).impedance).argmax()]
