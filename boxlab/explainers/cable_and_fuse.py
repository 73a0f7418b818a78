"""Which cable, by drop and by heat, and which fuse before it."""

from __future__ import annotations

import math

import numpy as np

from boxlab.base.cautions import words
from boxlab.base.units import to_feet
from boxlab.car.ampacity import (
    AMBIENT,
    FUSES,
    HOTTEST,
    INSULATION,
    LAID,
    ON_SALE,
    OPEN,
    ampacity,
    least_fuse,
    size_cable,
    way_out,
)
from boxlab.car.cable import supply_current
from boxlab.draw.scene import Choice, Explainer, Line, Mark, Plot, Scene, Slider
from boxlab.draw.surroundings import cable_cut
from boxlab.explainers import _cable_words as say

LENGTHS = np.linspace(0, 8, 81)  # m
MOST = 600.0  # A; as a maker's rating it says nothing


def scene(
    power, efficiency, length, drop, family, fuse, rating, voltage, music, insulation, ambient,
    bundled, laid,
) -> Scene:  # fmt: skip
    """Supply of an amplifier of `power` W: drop, current, cable and fuse."""
    cables = ON_SALE[family]
    full = supply_current(power, voltage, efficiency / 100)
    average = supply_current(power * music / 100, voltage, efficiency / 100)
    least = rating if rating < MOST else math.inf
    heat = {"insulation": insulation, "ambient": ambient, "bundled": int(bundled), "laid": laid}
    warnings, plan, behind = [], None, fuse
    try:
        behind = least_fuse(max(full, fuse))
        warnings += say.other_fuse(full, fuse, behind)
        plan = size_cable(full, length, drop, cables, fuse=behind, rating=least, **heat)
    except ValueError as refused:
        warnings.append(say.sentence(refused))
    carried = np.full(len(cables), np.nan)
    if ambient < insulation:
        carried = np.array([min(ampacity(c, **heat), least) for c in cables])
    order = say.said(full, behind, plan)
    title = "No cable listed holds" if plan is None else f"{plan.label} behind {behind:g} A"
    return Scene(
        cutaway=None if plan is None else cable_cut((plan.label, plan.cable.area)),
        title=f"{title}: {full:.0f} A over {length:g} m",
        plots=(
            _by_area(cables, full, length, drop, plan),
            _by_heat(cables, carried, full, behind, plan),
            _by_length(plan, cables, full, average, length, drop),
            _order(full, average, behind, plan),
        ),
        headline=say.on_what(plan, power, length, laid, voltage, efficiency),
        readout=(
            f"{power:g} W draw {full:.0f} A at full power, {average:.0f} A on music: "
            + (f"take {say.named(plan)}" if plan else say.none(behind)),
            *(
                say.readout(full, length, plan, voltage, heat, least)
                if plan
                else (
                    f"Asked for: {drop:g} V over {length:g} m ({to_feet(length):.0f} ft), "
                    f"{say.place(heat)}, {laid}.",
                    way_out(full, length, drop, cables, rating=least, **heat),
                )
            ),
        ),
        numbers=say.numbers(full, average, length, behind, plan, voltage),
        caption=(
            f"{power:g} W at {efficiency:g} % from {voltage:g} V draw {full:.0f} A at full power, "
            f"over {length:g} m ({to_feet(length):.0f} ft) out and the same back. The cable has to "
            f"hold twice: lose no more than {drop:g} V, and carry what the fuse lets through, "
            f"{laid} at {ambient:g} °C. {order}"
        ),
        alt=(
            "Four plots. Upper left: volts lost, 0.01 to 10, against cross-section, 1 to 120 mm², "
            "both log; points for the cables on sale, falling, and the volts accepted. Upper "
            "right: amperes a cable may carry, 5 to 500, against cross-section, both log; points, "
            "rising, with the fuse and the current as lines. Lower left: volts lost against length "
            "one way, 0 to 8 m, straight lines at full power and on music. Lower right: amperes on "
            "a log axis, 1 to 500, current on music, at full power, fuse and cable from bottom to "
            f"top. {order}"
        ),
        code=(
            "from boxlab.car.ampacity import ON_SALE, size_cable\n"
            "from boxlab.car.cable import supply_current\n"
            f"current = supply_current({power:g}, {voltage:g}, {efficiency / 100:g})\n"
            f"plan = size_cable(current, {length:g}, {drop:g}, "
            f"ON_SALE[{family!r}], fuse={behind:g},\n"
            f"                  {_conditions(heat, least)})\n"
            "print(plan.label, plan.fuse, plan.carries, plan.decided_by)"
        ),
        warnings=tuple(warnings),
        cautions=words("supply", "far battery", "split", "licence"),
    )


def _conditions(heat, rating):
    told = heat if math.isinf(rating) else heat | {"rating": rating}
    return ", ".join(
        f"{name}={value!r}" if isinstance(value, str) else f"{name}={value:g}"
        for name, value in told.items()
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
        f"Volts lost by {cable.label if plan else 'the thickest listed'}, by length",
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


EXPLAINERS = (
    Explainer(
        name="cable_and_fuse",
        gear=False,
        question="How thick a cable, and which fuse?",
        controls=(
            Slider("power", "Amplifier, all channels", 50.0, 4000, 500, 10, "W"),
            Slider(
                "length", "Cable one way", 0.2, 8, 5, 0.1, "m"
            ),
            Slider("drop", "Drop you accept", 0.1, 2, 0.5, 0.05, "V"),
            Choice("family", "Sold by", tuple(ON_SALE), "AWG"),
            Slider("fuse", "Fuse", float(FUSES[0]), FUSES[-1], 60, 5, "A"),
            Slider(
                "ambient", "Warmth where it lies", 20, 90, AMBIENT, 5, "°C",
                help="50 °C (122 °F): a car that stood in the sun. More beside an engine.",
            ),
            Slider(
                "insulation", "Its insulation bears", 60, HOTTEST, INSULATION, 5, "°C", more=True,
                help="As printed on the cable. 70 where nothing is known.",
            ),
            Slider(
                "rating", "Its maker's rating, if that is less", 5, MOST, MOST, 5, "A", more=True,
                help="Only a lower rating counts: nothing goes above what the tables allow.",
            ),
            Choice(
                "laid", "It lies", LAID, OPEN, more=True,
                help="Closed in: in a conduit, or under a carpet.",
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
        presets={
                "300 W": {"power": 300.0, "fuse": 40.0},
                "half a metre": {"length": 0.5},
                "1200 W": {"power": 1200.0, "fuse": 125.0},
            },
    ),
)  # fmt: skip
