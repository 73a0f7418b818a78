"""What the explainer of cable and fuse says: its readout, its numbers, and why it refuses."""

from __future__ import annotations

from boxlab.base.units import feet, to_feet
from boxlab.car.ampacity import CLOSED, OPEN, ampacity, least_fuse, tabled
from boxlab.car.cable import supply_current
from boxlab.draw.scene import Number
from boxlab.gear import shelf
from boxlab.gear.job_cable import REST, feed_of


def sentence(refused):
    """What was refused, as a sentence."""
    text = str(refused)
    return text[0].upper() + text[1:]


def other_fuse(full, fuse, behind):
    """Why the answer is for another fuse than the one asked for, if it is."""
    if fuse < full:
        return [
            f"A fuse of {fuse:g} A would open in use, at {full:.0f} A. The answer is for the next "
            f"size that holds, {behind:g} A."
        ]
    if behind != fuse:
        return [f"A fuse of {fuse:g} A is no usual size. The answer is for {behind:g} A."]
    return []


def place(heat):
    """How hot it may get, and how warm it is around it."""
    return f"{heat['insulation']:g} °C insulation in {heat['ambient']:g} °C"


def none(fuse):
    """That nothing listed holds."""
    return f"no single cable listed here holds behind a fuse of {fuse:g} A."


def named(plan):
    """The cable in both ways of naming it, with its fuse."""
    both = "" if plan.label.endswith("mm²") else f" ({1e6 * plan.cable.area:.1f} mm²)"
    return f"{plan.label}{both} behind a fuse of {plan.fuse:g} A."


def on_what(plan, power, length, laid, voltage, efficiency):
    """Cable and fuse of the open job, with what they hang on, in one sentence; "" without."""
    job = shelf.current()
    if plan is None or job is None:
        return ""
    share = efficiency / 100
    draws = f"{supply_current(power, voltage, share):.0f} A at {voltage:g} V and {efficiency:g} %"
    feed = feed_of(job)
    if feed is not None and feed.may_rest:
        draws += f" ({supply_current(power, REST, share):.0f} A at {REST:g} V, rails held)"
    cable, _, fuse = named(plan)[:-1].partition(" behind a ")
    return f"{cable}, {fuse.replace(' of', '')}, for {length:.3g} m {laid}: {draws}."


def said(full, fuse, plan):
    """The order of current, fuse and cable, in one sentence."""
    if plan is None:
        return f"With a fuse of {fuse:g} A, no single cable listed here holds."
    return (
        f"Current {full:.0f} A, fuse {fuse:g} A, {plan.label} {plan.carries:.0f} A: "
        "current < fuse < cable."
    )


def readout(full, length, plan, voltage, heat, least):
    """What decides, what the cable may carry, and what it loses."""
    lost = plan.cable.drop(full, length)
    either = f"The drop decides: for the heat alone {plan.by_heat.label} would do."
    if plan.decided_by == "heat":  # what is too thin is not named, lest somebody take it
        either = "Heat decides: what would do for the drop alone grows too hot behind that fuse."
    if plan.by_drop == plan.by_heat:
        either = f"Drop and heat ask for the same, {plan.label}."
    closed = min(ampacity(plan.cable, **heat | {"laid": CLOSED}), least)
    carries = f"{OPEN} ({plan.carries:.0f} A); {CLOSED}, {closed:.0f} A"
    if heat["laid"] == CLOSED:
        carries = f"{CLOSED} ({plan.carries:.0f} A)"
    told = "" if tabled(plan.cable) else (
        f" {plan.label} is not in the table; read between its neighbours there."
    )  # fmt: skip
    small = least_fuse(full)
    spare = f" A fuse of {small:g} A would already do." if small < plan.fuse else ""
    return (
        either,
        f"What it may carry, with {place(heat)}: {carries}.{told}{spare}",
        f"It loses {lost:.2f} V over {length:g} m ({to_feet(length):.0f} ft) out and back at full "
        f"power, {100 * lost / voltage:.1f} % of {voltage:g} V, and warms by "
        f"{full**2 * plan.cable.per_metre:.1f} W a metre.",
    )


def numbers(full, average, length, fuse, plan, voltage):
    """The rows of the numbers table."""
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
        _size("cable", cable),
        Number("it may carry", f"{plan.carries:.0f} A"),
        Number("by drop alone", "too thin for the heat")
        if plan.decided_by == "heat"
        else _size("by drop alone", plan.by_drop),
        _size("by heat alone", plan.by_heat),
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


def _size(name, cable):
    gauge = cable.label if cable.label.endswith("AWG") else ""
    return Number(name, f"{1e6 * cable.area:.1f} mm²", gauge)
