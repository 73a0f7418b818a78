"""What `what_heat_takes` says: its readout, its numbers, and where a coil would fail."""

from __future__ import annotations

import numpy as np

from boxlab.draw.scene import Number
from boxlab.model.warm_coil import resistance_of_rating

GLUE = 200.0  # K above 20 °C: hot for a coil (common practice, no published source)


def span(values, places):
    """The least and the most of three, as text; one number where both read the same."""
    low, high = f"{np.min(values):.{places}f}", f"{np.max(values):.{places}f}"
    return low if low == high else f"{low} to {high}"


def readout(f, driver, heat, text, rating, load, frequency):
    """Sentences, most important first."""
    low, high = heat.low, heat.high
    return (
        f"{text} Typical are {f['celsius'][1]:.0f} °C and {f['most'][1]:.1f} dB.",
        f"At {frequency:g} Hz it costs {span(f['here'], 1)} dB: less than the most wherever the "
        "impedance is high, because there the coil's own ohms count for little.",
        f"{rating:g} W into {load} on {f['plays']} put {f['cold']:.0f} W of heat into the cold "
        f"coil and {span(f['watts'], 0)} W into the warm one.",
        f"Half of the typical rise has come after {_moment(f['half'])}; after the first minute it "
        f"is {span(f['minute'], 0)} K.",
        f"Assumed, not measured, and no promise: {low.coil:.2g} to {high.coil:.2g} K/W from coil "
        f"to magnet and {low.magnet:.2g} to {high.magnet:.2g} K/W from there to the air "
        f"({heat.why.partition(',')[0]}, from memory). Air that the cone moves past the coil "
        "cools it further.",
        *_label(driver, heat),
    )


def _label(driver, heat):
    if not np.isfinite(driver.pe):
        return ()
    needed = float(resistance_of_rating(driver.pe, GLUE))
    beside = (
        "less than is assumed here even at the coolest, as fast air or a hopeful label would have"
        if needed < heat.low.total
        else "within what is assumed here"
        if needed < heat.high.total
        else "so the label is careful"
    )
    return (
        f"If its {driver.pe:g} W were heat that the coil bears for hours, {GLUE:.0f} K warm, it "
        f"would have {needed:.1f} K/W to the air: {beside}.",
    )


def _moment(seconds):
    return f"{seconds:.0f} s" if seconds < 90 else f"{seconds / 60:.0f} minutes"


def numbers(f, driver, frequency):
    """Rows of the table."""
    low, high = (1.8 * (each(f["celsius"])) + 32 for each in (np.min, np.max))
    return (
        Number("coil, after hours", f"{span(f['celsius'], 0)} °C", f"{low:.0f} to {high:.0f} °F"),
        Number("resistance, cold", f"{driver.re:.2f} Ω"),
        Number("resistance, after hours", f"{span(f['re'], 2)} Ω"),
        Number("heat in the coil, cold", f"{f['cold']:.0f} W"),
        Number("heat in the coil, after hours", f"{span(f['watts'], 0)} W"),
        Number("most that is lost", f"{span(f['most'], 1)} dB"),
        Number(f"lost at {frequency:g} Hz", f"{span(f['here'], 1)} dB"),
    )


def warnings(kelvin):
    """Whether the coil would fail before it came to rest; kelvin of the three cases."""
    if np.max(kelvin) <= GLUE:
        return ()
    sure = "Under every assumption" if np.min(kelvin) > GLUE else "Under the hottest assumption"
    return (
        f"{sure} the coil gets more than {GLUE:.0f} K above the room, which few last for long: it "
        "would fail before it came to rest.",
    )
