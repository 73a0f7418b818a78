"""What the explainers share: the frequency grid, and numbers as text in both unit systems, code to
paste."""

from __future__ import annotations

import numpy as np

from boxlab.base import units
from boxlab.draw.scene import Number, Plot
from boxlab.gear.scenario import USUAL_QL
from boxlab.model.response import solve

# 10 to 200 Hz, even on a log axis; fine enough that a notch is drawn where it is.
FREQUENCY = np.geomspace(10, 200, 321)
FREQUENCY.flags.writeable = False


def against_frequency(title, ylabel, ylim, lines=(), marks=(), xlim=(10, 200), **more):
    """A plot over frequency on a log axis, Hz."""
    return Plot(title, "frequency, Hz", ylabel, xlim, ylim, lines, marks, **more)


def cubic_feet_text(volume_litres):
    """Litres as "0.50 ft³", for beside a slider."""
    return f"{units.to_cubic_feet(units.litres(volume_litres)):.2f} ft³"


def one(size: str) -> str:
    """A size with the word before it: "an eight-inch", "a ten-inch", "your"."""
    if size in ("own", "your"):
        return "your"
    return f"{'an' if size[0] in 'aeiou' else 'a'} {size}"


def inches_text(millimetres):
    """Millimetres as "4.0 in", for beside a slider."""
    return f"{units.to_inches(units.mm(millimetres)):.1f} in"


def ounces_text(grams):
    """Grams as "2.6 oz", for beside a slider."""
    return f"{units.to_ounces(units.grams(grams)):.1f} oz"


def volume_number(name, volume):
    """A row for a volume, m³."""
    return Number(
        name, f"{units.to_litres(volume):.1f} L", f"{units.to_cubic_feet(volume):.2f} ft³"
    )


def length_number(name, length):
    """A row for a length of the size of a box, m."""
    return Number(name, f"{units.to_cm(length):.1f} cm", f"{units.to_inches(length):.1f} in")


def travel_number(name, length):
    """A row for an excursion, m."""
    return Number(name, f"{units.to_mm(length):.1f} mm", f"{units.to_inches(length):.2f} in")


def mass_number(name, mass):
    """A row for a mass, kg."""
    return Number(name, f"{units.to_grams(mass):.0f} g", f"{units.to_ounces(mass):.1f} oz")


def port_code(size, volume, fb, drive, speed):
    """Python that prints the largest port to fit a box (L, Hz) and the smallest that is quiet."""
    return (
        "from boxlab.model.port_equivalent import largest_that_fits, smallest_quiet\n"
        "from boxlab.gear.scenario import DRIVERS\n"
        "from boxlab.base.units import litres\n"
        f"print(largest_that_fits(litres({volume:g}), {fb:g}))\n"
        f"print(smallest_quiet(DRIVERS[{size!r}], litres({volume:g}), {fb:g}, {drive:g}, "
        f"speed={speed:g}, ql={USUAL_QL:g}))"
    )


def hertz(name, frequency):
    """A row for a frequency, Hz."""
    return Number(name, f"{frequency:.1f} Hz")


def state(driver, box, volts=1.0, air=None):
    """The answer for `Scene.shows` of one box: over `FREQUENCY`, at the drive in V.

    One volt, where the picture is about no one drive, passes no limit that comes with level.
    """
    return solve(driver, box, FREQUENCY, volts, air)


def at(frequency, curve, where):
    """A curve's value at one frequency, read between the points of a log axis."""
    return float(np.interp(np.log(where), np.log(frequency), curve))


def spans(frequency, condition):
    """The stretches of a log grid where a condition holds, as (low, high) in Hz."""
    edges = np.flatnonzero(np.diff(np.concatenate(([0], condition.astype(int), [0]))))
    return [
        (float(frequency[a]), float(frequency[b - 1]))
        for a, b in zip(edges[::2], edges[1::2], strict=True)
    ]
