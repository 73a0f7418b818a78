"""Which cable, by drop and by heat, and which fuse before it."""

from __future__ import annotations

import math
from types import MappingProxyType

import numpy as np

from boxlab.ampacity import AMBIENT, FUSES, INSULATION, ON_SALE, ampacity, least_fuse, size_cable
from boxlab.cable import supply_current
from boxlab.cautions import words
from boxlab.scene import Choice, Explainer, Line, Mark, Number, Plot, Scene, Slider
from boxlab.units import feet, to_feet

LENGTHS = np.linspace(0, 8, 81)  # m
MOST = 600.0  # A; as a maker's rating it says nothing


def scene(
    power, efficiency, length, drop, family, fuse, rating, voltage, music, insulation, ambient,
    bundled,
) -> Scene:  # fmt: skip
    """Supply of an amplifier of `power` W: drop, current, cable and fuse."""
    cables = ON_SALE[family]
    full = supply_current(power, voltage, efficiency / 100)
    average = supply_current(power * music / 100, voltage, efficiency / 100)
    heat = {"insulation": insulation, "ambient": ambient, "bundled": int(bundled)}
    least = rating if rating < MOST else math.inf
    warnings, plan = [], None
    try:
        plan = size_cable(full, length, drop, cables, fuse=fuse, rating=least, **heat)
    except ValueError as refused:
        warnings.append(_sentence(refused))
    carried = np.array([min(ampacity(c, **heat), least) for c in cables])
    order = _said(full, fuse, plan)
    title = "No cable listed holds" if plan is None else f"{plan.label} behind {fuse:g} A"
    return Scene(
        title=f"{title}: {full:.0f} A over {length:g} m",
        plots=(
            _by_area(cables, full, length, drop, plan),
            _by_heat(cables, carried, full, fuse, plan),
            _by_length(plan or None, cables, full, average, length, drop),
            _order(full, average, fuse, plan),
        ),
        readout=_readout(power, full, average, length, drop, fuse, plan, voltage, heat),
        numbers=_numbers(full, average, length, fuse, plan, voltage),
        caption=(
            f"{power:g} W at {efficiency:g} % from {voltage:g} V draw {full:.0f} A at full power, "
            f"over {length:g} m ({to_feet(length):.0f} ft) out and the same back. The cable has to "
            f"hold twice: lose no more than {drop:g} V, and carry what the fuse lets through at "
            f"{ambient:g} °C around it. {order}"
        ),
        alt=(
            "Four plots. Upper left: volts lost, 0.01 to 10, against cross-section, 1 to 120 mm², "
            "both log; points for the cables on sale, falling, and the volts accepted. Upper "
            "right: amperes a cable may carry, 10 to 500, against cross-section, both log; points, "
            "rising, with the fuse and the current as lines. Lower left: volts lost against length "
            "one way, 0 to 8 m, straight lines at full power and on music. Lower right: amperes on "
            "a log axis, 1 to 500, current on music, at full power, fuse and cable from bottom to "
            f"top. {order}"
        ),
        code=(
            "from boxlab.ampacity import ON_SALE, size_cable\n"
            "from boxlab.cable import supply_current\n"
            f"current = supply_current({power:g}, {voltage:g}, {efficiency / 100:g})\n"
            f"plan = size_cable(current, {length:g}, {drop:g}, "
            f"ON_SALE[{family!r}], fuse={fuse:g},\n"
            f"                  {_conditions(heat, least)})\n"
            "print(plan.label, plan.fuse, plan.carries, plan.decided_by)"
        ),
        warnings=tuple(warnings),
        cautions=words("supply", "far battery", "split", "licence"),
    )


def _conditions(heat, rating):
    told = heat if math.isinf(rating) else heat | {"rating": rating}
    return ", ".join(f"{name}={value:g}" for name, value in told.items())


def _sentence(refused):
    text = str(refused)
    return text[0].upper() + text[1:]


def _said(full, fuse, plan):
    if plan is None:
        return f"With a fuse of {fuse:g} A, no single cable listed here holds."
    return (
        f"Current {full:.0f} A, fuse {fuse:g} A, {plan.label} {plan.carries:.0f} A: "
        "current < fuse < cable."
    )


def _by_area(cables, full, length, drop, plan):
    area = np.array([1e6 * c.area for c in cables])
    lost = np.array([c.drop(full, length) for c in cables])
    marks = [Mark(drop, f"accepted {drop:g} V", "limit", "y")]
    if plan:
        marks.append(Mark(1e6 * plan.cable.area, plan.label))
    return Plot(
        "Volts lost, by cable",
        "cross-section of the copper, mm²",
        "drop out and back, V",
        (1, 120),
        (0.01, 10),
        (Line(area, lost, "electrical", "cables on sale", kind="points"),),
        tuple(marks),
        yscale="log",
    )


def _by_heat(cables, carried, full, fuse, plan):
    area = np.array([1e6 * c.area for c in cables])
    marks = [Mark(fuse, f"fuse {fuse:g} A", "limit", "y"), Mark(full, "full power", "quiet", "y")]
    if plan:
        marks.append(Mark(1e6 * plan.cable.area, plan.label))
    return Plot(
        "What a cable may carry",
        "cross-section of the copper, mm²",
        "continuous current, A",
        (1, 120),
        (5, 500),
        (Line(area, carried, "electrical", "cables on sale", kind="points"),),
        tuple(marks),
        yscale="log",
    )


def _by_length(plan, cables, full, average, length, drop):
    cable = plan.cable if plan else cables[-1]
    return Plot(
        f"Volts lost by {cable.label}, by length",
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


def _order(full, average, fuse, plan):
    steps = [("on music", average), ("full", full), ("fuse", fuse)]
    marks = [Mark(full, f"full {full:.0f} A"), Mark(fuse, f"fuse {fuse:g} A", "vent")]
    if plan:
        steps.append(("cable", plan.carries))
        marks.append(Mark(plan.carries, f"cable {plan.carries:.0f} A", "limit"))
    value = np.array([amperes for _, amperes in steps])
    place = np.arange(1.0, len(steps) + 1)
    return Plot(
        "Current < fuse < cable",
        "amperes",
        "from bottom to top",
        (1, 500),
        (0, 5),
        (
            Line(value, place, "electrical", "amperes", kind="points"),
            Line(value, place, "quiet", ""),
        ),
        tuple(marks),
        yticks=tuple(range(1, len(steps) + 1)),
        ynames=tuple(name for name, _ in steps),
    )


def _readout(power, full, average, length, drop, fuse, plan, voltage, heat):
    draw = f"{power:g} W draw {full:.0f} A at full power, {average:.0f} A on music."
    where = f"{heat['insulation']:g} °C insulation in {heat['ambient']:g} °C"
    if plan is None:
        return (
            f"{draw} No single cable listed here holds behind a fuse of {fuse:g} A.",
            f"Asked for: {drop:g} V over {length:g} m ({to_feet(length):.0f} ft), {where}.",
        )
    lost = plan.cable.drop(full, length)
    either = (
        f"By drop alone {plan.by_drop.label} would do, by heat alone {plan.by_heat.label}: "
        f"{'heat' if plan.decided_by == 'heat' else 'the drop'} decides."
    )
    if plan.by_drop == plan.by_heat:
        either = f"Drop and heat ask for the same, {plan.label}."
    small = least_fuse(full)
    spare = f" A fuse of {small:g} A would already do." if small < fuse else ""
    return (
        f"{draw} {plan.label} ({1e6 * plan.cable.area:.1f} mm²) behind a fuse of {fuse:g} A.",
        either,
        f"It may carry {plan.carries:.0f} A: {where}, in free air." + spare,
        f"It loses {lost:.2f} V over {length:g} m ({to_feet(length):.0f} ft) out and back at full "
        f"power, {100 * lost / voltage:.1f} % of {voltage:g} V, and warms by "
        f"{full**2 * plan.cable.per_metre:.1f} W a metre.",
    )


def _numbers(full, average, length, fuse, plan, voltage):
    rows = [
        Number("supply current at full power", f"{full:.1f} A"),
        Number("supply current on music", f"{average:.1f} A"),
        Number("length one way", f"{length:.1f} m", f"{to_feet(length):.1f} ft"),
        Number("fuse", f"{fuse:g} A"),
    ]
    if plan is None:
        return (*rows, Number("cable", "none listed holds"))
    cable, lost = plan.cable, plan.cable.drop(full, length)
    return (
        *rows,
        Number("cable", f"{1e6 * cable.area:.1f} mm²", cable.label),
        Number("it may carry", f"{plan.carries:.0f} A"),
        Number("by drop alone", f"{1e6 * plan.by_drop.area:.1f} mm²", plan.by_drop.label),
        Number("by heat alone", f"{1e6 * plan.by_heat.area:.1f} mm²", plan.by_heat.label),
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
            Slider("power", "Amplifier, all channels", 50, 4000, 500, 10, "W"),
            Slider(
                "length", "Cable one way", 0.2, 8, 5, 0.1, "m",
                imperial=lambda metres: f"{to_feet(metres):.1f} ft",
            ),
            Slider("drop", "Drop you accept", 0.1, 2, 0.5, 0.05, "V"),
            Choice("family", "Sold by", tuple(ON_SALE), "AWG"),
            Slider("fuse", "Fuse", FUSES[0], FUSES[-1], 60, 5, "A"),
            Slider(
                "ambient", "Warmth where it lies", 20, 90, AMBIENT, 5, "°C",
                imperial=lambda celsius: f"{1.8 * celsius + 32:.0f} °F",
                help="50 °C: a car that stood in the sun. More beside an engine.",
            ),
            Slider(
                "insulation", "Its insulation bears", 60, 200, INSULATION, 5, "°C", more=True,
                help="As printed on the cable. 70 where nothing is known.",
            ),
            Slider(
                "rating", "Its maker's rating, if that is less", 5, MOST, MOST, 5, "A", more=True,
                help="Only a lower rating counts: nothing goes above what the tables allow.",
            ),
            Slider("bundled", "Loaded cables side by side", 1, 6, 1, 1, "", more=True),
            Slider("efficiency", "Amplifier efficiency", 40, 95, 75, 1, "%", more=True),
            Slider("voltage", "Supply", 11, 15, 13.8, 0.1, "V", more=True),
            Slider("music", "Average on music, of the rating", 2, 100, 15, 1, "%", more=True),
        ),
        scene=scene,
        lesson="07-power-and-wiring.ipynb",
        anchor="How-thick-a-cable-and-which-fuse",
        answer=(
            "Thick enough twice over: for the volts it loses and for the heat it bears. 500 W at "
            "75 % draw 48 A: over 5 m half a volt of loss takes 4 AWG (21 mm²); over half a metre "
            "the heat behind a 60 A fuse still takes 6 AWG. The fuse sits next to the battery and "
            "is never above what the cable may carry."
        ),
        presets=MappingProxyType(
            {
                "300 W": {"power": 300.0, "fuse": 40.0},
                "half a metre": {"length": 0.5},
                "1200 W": {"power": 1200.0, "fuse": 125.0},
            }
        ),
    ),
)  # fmt: skip
