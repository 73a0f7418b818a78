"""One radiator, one with double travel, one a size larger, two the same: what each gives and costs.

All in the same box at the same tuning.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from boxlab.base.units import litres, mm, to_grams, to_inches, to_mm, to_ounces
from boxlab.design.radiator_choices import variants
from boxlab.draw.scene import Choice, Explainer, Line, Mark, Number, Scene, Slider
from boxlab.explainers import _shared as shared
from boxlab.explainers._cuts import shown
from boxlab.explainers._shared import against_frequency
from boxlab.explainers._stops import coloured, pieces
from boxlab.gear.scenario import USUAL_QL
from boxlab.gear.shelf import DRIVERS, RADIATORS, remembered
from boxlab.model.validity import inside_edges

FREQUENCY = np.geomspace(8, 200, 345)
GAP = "  |  "


@remembered(64)
def four(size, volume, fb, travel, larger, ql, power):
    """The four choices for settings as the panel gives them (litres, Hz, mm, area ratio, QL, W)."""
    return variants(
        DRIVERS[size],
        litres(volume),
        fb,
        replace(RADIATORS[size], xmax=mm(travel)),
        larger=larger,
        ql=ql,
        power=power,
        load=DRIVERS[size].re,
        frequency=FREQUENCY,
    )


def scene(size, volume, fb, travel, power, larger, ql) -> Scene:
    """The four choices side by side."""
    found = four(size, volume, fb, travel, larger, ql, power)
    one, long, big, two = found
    near = [int(np.argmin(np.abs(FREQUENCY - f))) for f in (fb, 1.25 * fb)]
    enough = [v.name for v in found if v.enough]
    gains = ", ".join(f"{v.name} {_most(v, one, fb):+.1f} dB" for v in (long, big, two))
    return Scene(
        **shown({v.name: shared.state(DRIVERS[size], v.box) for v in found}, fb),
        title=f"Four ways to radiators in {volume:g} L at {fb:g} Hz",
        plots=tuple(_plot(v, one, fb) for v in found),
        headline=(
            f"This box needs {one.needed:.1f} times the driver's swept volume: {_suffice(enough)}."
        ),
        readout=(
            f"Needed ratio {one.needed:.2f} to {two.needed:.2f}; fitted "
            + ", ".join(f"{v.name} {v.swept_ratio:.2f}" for v in found)
            + f". Enough: {', '.join(enough) or 'none'}.",
            f"Most gained over one, from the tuning up: {gains}.",
            f"Weights on each: {_each(found, lambda v: v.added_mass)}. Moving mass of each: "
            f"{_each(found, lambda v: v.moving_mass / v.box.count)}.",
            f"Null: {GAP.join(f'{v.name} {v.null:.1f} Hz' for v in found)}.",
            f"One stops by: {pieces(FREQUENCY, one.limit, 0.9 * fb, 120)}. Two the same: "
            f"{pieces(FREQUENCY, two.limit, 0.9 * fb, 120)}.",
        ),
        numbers=_numbers(found, near, volume),
        caption=(
            f"The loudest steady tone at each frequency, {volume:g} L "
            f"({shared.cubic_feet_text(volume)}) tuned to {fb:g} Hz, {power:g} W amplifier; the "
            f"colour says what stops it. One radiator has {one.swept_ratio:.2f} times the driver's "
            f"swept volume and needs {one.needed:.2f} (level programme from f3 or the tuning up). "
            "Double travel changes nothing but the stop; more area costs mass and moves the null "
            "down."
        ),
        alt=(
            "Four plots of the loudest steady tone in dB re 20 µPa at 1 m, 70 to 125, against "
            "frequency, 8 to 200 Hz, log axis, coloured by what stops it, for "
            + "; ".join(
                f"{v.name}: from {0.9 * fb:.0f} Hz up {pieces(FREQUENCY, v.limit, 0.9 * fb, 120)}, "
                f"null at {v.null:.1f} Hz"
                for v in found
            )
            + ". One radiator's curve is behind each in grey."
        ),
        code=(
            "from dataclasses import replace\n"
            "from boxlab import litres, mm\n"
            "from boxlab.design.radiator_choices import variants\n"
            "from boxlab.gear.scenario import DRIVERS, RADIATORS\n"
            f"radiator = replace(RADIATORS[{size!r}], xmax=mm({travel:g}))\n"
            f"for v in variants(DRIVERS[{size!r}], litres({volume:g}), {fb:g}, radiator, "
            f"larger={larger:g}, ql={ql:g}, power={power:g}, load=DRIVERS[{size!r}].re):\n"
            "    print(v.name, v.swept_ratio, v.needed, v.moving_mass, v.null, v.spl)"
        ),
        warnings=_warnings(found),
    )


def _suffice(enough):
    """Which of the four are enough, as the end of a sentence."""
    if len(enough) == 4:
        return "each of the four is enough"
    named = " and ".join(filter(None, (", ".join(enough[:-1]), *enough[-1:])))
    return f"{named or 'none of the four'} {'are' if len(enough) > 1 else 'is'} enough"


def _each(found, mass):
    return GAP.join(f"{v.name} {to_grams(mass(v)):.0f} g" for v in found)


def _most(v, one, fb):
    """Largest gain over one radiator from the tuning up, dB."""
    band = fb <= FREQUENCY
    return float((v.spl - one.spl)[band].max())


def _plot(v, one, fb):
    ghost = Line(FREQUENCY, one.spl, "quiet", "one radiator")
    return against_frequency(
        v.name.capitalize(),
        "loudest, dB re 20 µPa, 1 m",
        (70, 125),
        (ghost, *coloured(FREQUENCY, v.spl, v.limit)),
        (Mark(v.null, f"null {v.null:.1f} Hz", "vent"), Mark(fb, f"tuning {fb:g} Hz")),
        xlim=(8, 200),
    )


def _numbers(found, near, volume):
    edges = inside_edges(litres(volume))
    walls = 2 * (edges[0] * edges[1] + edges[1] * edges[2] + edges[0] * edges[2])

    def row(name, text, inch=None):
        other = GAP.join(map(inch, found)) if inch else ""
        return Number(name, GAP.join(map(text, found)), other)

    def ounces(value):
        return f"{to_ounces(value):.1f} oz"

    def inches(length):
        return lambda v: f"{to_inches(length(v)):.2f} in"

    return (
        Number("choice", GAP.join(v.name for v in found)),
        row("fitted ratio", lambda v: f"{v.swept_ratio:.2f}"),
        row("needed ratio", lambda v: f"{v.needed:.2f}"),
        row("null", lambda v: f"{v.null:.1f} Hz"),
        row("an octave below the tuning", lambda v: f"{v.octave_below:.1f} dB"),
        row("loudest at the tuning", lambda v: f"{v.spl[near[0]]:.1f} dB"),
        row("loudest at 1.25 times it", lambda v: f"{v.spl[near[1]]:.1f} dB"),
        row(
            "moving mass, together",
            lambda v: f"{to_grams(v.moving_mass):.0f} g",
            lambda v: ounces(v.moving_mass),
        ),
        row(
            "weights on each",
            lambda v: f"{to_grams(v.added_mass):.0f} g",
            lambda v: ounces(v.added_mass),
        ),
        row("travel needed, one way", lambda v: f"{to_mm(_travel(v)):.1f} mm", inches(_travel)),
        row(
            "cone area, together",
            lambda v: f"{1e4 * v.panel_area:.0f} cm²",
            lambda v: f"{v.panel_area / 0.0254**2:.0f} in²",
        ),
        row("share of the box's inside walls", lambda v: f"{100 * v.panel_area / walls:.0f} %"),
        row("holes to cut", lambda v: f"{v.box.count}"),
        row(
            "sag if it faces up or down",
            lambda v: f"{to_mm(v.sag):.1f} mm",
            inches(lambda v: v.sag),
        ),
        row("recoil for 100 dB at the tuning", lambda v: f"{2 * v.recoil:.0f} N"),
    )


def _travel(v):
    """Xmax that just covers the need, m."""
    return v.needed / v.swept_ratio * v.box.radiator.xmax


def _warnings(found):
    heavy = [v.name for v in found if v.added_mass > 2 * v.box.radiator.mms]
    if not heavy:
        return ()
    return (
        f"{', '.join(heavy)}: weights over twice the radiator's own moving mass. Many suspensions "
        "sag or rock under that (common practice, no published source).",
    )


EXPLAINERS = (
    Explainer(
        name="radiator_choices",
        question="Two radiators, a larger one, or one with more travel?",
        controls=(
            Choice("size", "Driver and radiator", tuple(DRIVERS), "ten-inch"),
            Slider("volume", "Net volume", 8, 24, 14, 0.5, "L"),
            Slider("fb", "Tuning", 28, 44, 36, 0.5, "Hz"),
            Slider("travel", "Xmax of the one radiator", 5, 40, 13, 0.5, "mm"),
            Slider("power", "Amplifier, into the coil's Re", 50, 1000, 500, 25, "W"),
            Slider(
                "larger",
                "A size larger: times the area",
                1.2,
                2.0,
                1.4,
                0.05,
                "",
                help="From ten to twelve inches is about 1.4 times the area.",
            ),
            Slider("ql", "Leakage loss QL", 3, 30, USUAL_QL, 0.5, "", more=True),
        ),
        scene=scene,
        lesson="04-how-much-radiator.ipynb",
        anchor="Do-you-need-two-radiators",
        answer=(
            "What counts is swept volume, area times travel, not the number. Two radiators and one "
            "with double travel sweep the same; two need nearly four times the moving mass for the "
            "same tuning, and in return put the null lower and can be mounted to cancel their "
            "recoil."
        ),
        presets={
            "ten-inch, 14 L": {},
            "short travel": {"travel": 8.0},
            "long travel": {"travel": 30.0},
        },
    ),
)
