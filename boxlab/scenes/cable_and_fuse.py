"""Which cable by voltage drop, and whether fuse, cable and current stand in the right order."""

from __future__ import annotations

from types import MappingProxyType

import numpy as np

from boxlab.cable import (
    awg_cables,
    check_fuse,
    metric_cables,
    size_cable,
    supply_current,
)
from boxlab.scene import Choice, Explainer, Line, Mark, Number, Plot, Scene, Slider
from boxlab.units import feet, to_feet

SHOP = ("18", "16", "14", "12", "10", "8", "6", "4", "2", "0", "2/0", "3/0", "4/0")
FAMILIES = MappingProxyType(
    {
        "AWG": tuple(c for c in awg_cables() if c.label.split()[0] in SHOP),
        "mm²": metric_cables(),
    }
)
LENGTHS = np.linspace(0, 8, 81)  # m


def scene(power, efficiency, length, drop, family, fuse, rating, voltage, music) -> Scene:
    """Supply of an amplifier of `power` W: drop, current, cable and fuse."""
    cables = FAMILIES[family]
    full = supply_current(power, voltage, efficiency / 100)
    average = supply_current(power * music / 100, voltage, efficiency / 100)
    warnings = []
    try:
        cable = size_cable(full, length, drop, cables)
    except ValueError as refused:
        cable = cables[-1]
        warnings.append(_sentence(refused))
    lost = cable.drop(full, length)
    try:
        check_fuse(fuse, rating, full)
        order = (
            f"Current {full:.0f} A, fuse {fuse:g} A, cable {rating:g} A: the right order, if its "
            f"maker says {rating:g} A."
        )
    except ValueError as refused:
        warnings.append(_sentence(refused))
        order = f"Current {full:.0f} A, fuse {fuse:g} A, cable {rating:g} A: not the right order."
    return Scene(
        title=f"{cable.label} for {full:.0f} A over {length:g} m",
        plots=(
            _by_area(cables, full, length, drop, cable),
            _by_length(cable, full, average, length, drop),
            _by_power(power, efficiency / 100, voltage),
            _order(full, average, fuse, rating),
        ),
        readout=_readout(power, full, average, length, drop, cable, lost, order, voltage),
        numbers=_numbers(power, full, average, length, cable, lost, voltage, efficiency),
        caption=(
            f"{power:g} W at {efficiency:g} % from {voltage:g} V draw {full:.0f} A at full power. "
            f"Over {length:g} m ({to_feet(length):.0f} ft) out and the same back, {cable.label} "
            f"loses {lost:.2f} V. By drop only: what the cable may carry is its maker's to say. "
            f"{order}"
        ),
        alt=(
            "Four plots. Upper left: volts lost, 0.01 to 10, against cross-section, 0.5 to "
            "120 mm², both log; points for the cables on sale, falling, and the volts accepted. "
            "Upper right: volts lost against length one way, 0 to 8 m, straight lines at full "
            "power and on music. Lower left: amperes from the battery against watts given, 0 to "
            "1200 W. Lower right: amperes on a log axis, 1 to 500, current on music, at full "
            f"power, fuse and cable from bottom to top. {order}"
        ),
        code=(
            "from boxlab.cable import awg_cables, metric_cables, size_cable, supply_current\n"
            f"current = supply_current({power:g}, {voltage:g}, {efficiency / 100:g})\n"
            f"cable = size_cable(current, {length:g}, {drop:g}, "
            f"{'awg_cables()' if family == 'AWG' else 'metric_cables()'})\n"
            f"print(current, cable, cable.drop(current, {length:g}))"
        ),
        warnings=tuple(warnings),
    )


def _sentence(refused):
    text = str(refused)
    return text[0].upper() + text[1:]


def _by_area(cables, full, length, drop, cable):
    area = np.array([1e6 * c.area for c in cables])
    lost = np.array([c.drop(full, length) for c in cables])
    return Plot(
        "Volts lost, by cable",
        "cross-section of the copper, mm²",
        "drop out and back, V",
        (0.5, 120),
        (0.01, 10),
        (Line(area, lost, "electrical", "cables on sale", kind="points"),),
        (
            Mark(drop, f"accepted {drop:g} V", "limit", "y"),
            Mark(1e6 * cable.area, cable.label),
        ),
        yscale="log",
    )


def _by_length(cable, full, average, length, drop):
    return Plot(
        "Volts lost, by length",
        "length one way, m",
        "drop out and back, V",
        (0, 8),
        (0, 2),
        (
            Line(LENGTHS, np.array([cable.drop(full, x) for x in LENGTHS]), "electrical", "full"),
            Line(LENGTHS, np.array([cable.drop(average, x) for x in LENGTHS]), "quiet", "on music"),
        ),
        (Mark(length, f"{length:g} m"), Mark(drop, f"accepted {drop:g} V", "limit", "y")),
        xscale="linear",
    )


def _by_power(power, efficiency, voltage):
    watts = np.linspace(0, 1200, 61)
    amperes = np.array([supply_current(w, voltage, efficiency) for w in watts])
    return Plot(
        "Amperes from the battery",
        "average power given, W",
        "supply current, A",
        (0, 1200),
        (0, 200),
        (Line(watts, amperes, "electrical", "supply current"),),
        (Mark(power, f"{power:g} W"),),
        xscale="linear",
    )


def _order(full, average, fuse, rating):
    steps = (("on music", average), ("full", full), ("fuse", fuse), ("cable", rating))
    return Plot(
        "Must lean to the right all the way",
        "amperes",
        "from bottom to top",
        (1, 500),
        (0, 5),
        (
            Line(
                np.array([value for _, value in steps]),
                np.arange(1.0, 5.0),
                "electrical",
                "amperes",
                kind="points",
            ),
            Line(np.array([value for _, value in steps]), np.arange(1.0, 5.0), "quiet", ""),
        ),
        (
            Mark(full, f"full {full:.0f} A"),
            Mark(fuse, f"fuse {fuse:g} A", "vent"),
            Mark(rating, f"cable {rating:g} A", "limit"),
        ),
        yticks=(1, 2, 3, 4),
        ynames=tuple(name for name, _ in steps),
    )


def _readout(power, full, average, length, drop, cable, lost, order, voltage):
    return (
        f"{power:g} W draw {full:.0f} A at full power, {average:.0f} A on music. By drop: "
        + (
            f"{cable.label} ({1e6 * cable.area:.1f} mm²)."
            if lost <= drop
            else f"none is enough; {cable.label} is the thickest."
        ),
        f"It loses {lost:.2f} V over {length:g} m ({to_feet(length):.0f} ft) out and back at full "
        f"power, {100 * lost / voltage:.1f} % of {voltage:g} V.",
        order,
        f"At full power each metre of it makes {full**2 * cable.per_metre:.1f} W of heat. What it "
        "may carry depends on insulation, bundling and where it lies: set the rating to what its "
        "maker says of this very cable. The vehicle maker and local codes go first.",
    )


def _numbers(power, full, average, length, cable, lost, voltage, efficiency):
    return (
        Number("supply current at full power", f"{full:.1f} A"),
        Number("supply current on music", f"{average:.1f} A"),
        Number("length one way", f"{length:.1f} m", f"{to_feet(length):.1f} ft"),
        Number("cable, by drop only", f"{1e6 * cable.area:.1f} mm²", cable.label),
        Number(
            "its resistance at 20 °C",
            f"{1e3 * cable.per_metre:.3f} mΩ/m",
            f"{1e3 * cable.per_metre * feet(1):.3f} mΩ/ft",
        ),
        Number("volts lost at full power", f"{lost:.2f} V"),
        Number("watts lost in the cable", f"{lost * full:.0f} W"),
        Number("heat in each metre", f"{full**2 * cable.per_metre:.1f} W"),
        Number("left at the amplifier", f"{voltage - lost:.2f} V"),
    )


EXPLAINERS = (
    Explainer(
        name="cable_and_fuse",
        question="How thick a cable, and which fuse?",
        controls=(
            Slider("power", "Amplifier, all channels", 50, 1200, 500, 10, "W"),
            Slider(
                "length", "Cable one way", 0.5, 8, 5, 0.1, "m",
                imperial=lambda metres: f"{to_feet(metres):.1f} ft",
            ),
            Slider("drop", "Drop you accept", 0.1, 2, 0.5, 0.05, "V"),
            Choice("family", "Sold by", tuple(FAMILIES), "AWG"),
            Slider("fuse", "Fuse", 10, 200, 60, 5, "A"),
            Slider(
                "rating", "Cable's rating, from its maker", 10, 300, 100, 5, "A",
                help="Not worked out here: it depends on insulation and on where it lies.",
            ),
            Slider("efficiency", "Amplifier gives, of its intake", 40, 95, 75, 1, "%", more=True),
            Slider("voltage", "Supply", 11, 15, 13.8, 0.1, "V", more=True),
            Slider("music", "Average on music, of the rating", 2, 100, 15, 1, "%", more=True),
        ),
        scene=scene,
        lesson="07-power-and-wiring.ipynb",
        anchor="How-thick-a-cable-and-which-fuse?",
        answer=(
            "By drop: amperes times ohms, out and back. 500 W at 75 % draw 48 A; over 5 m, half a "
            "volt of loss takes 4 AWG (21 mm²). The fuse sits next to the battery and is never "
            "above what the cable's maker allows."
        ),
        presets=MappingProxyType({"300 W": {"power": 300.0, "fuse": 40.0}}),
    ),
)  # fmt: skip
