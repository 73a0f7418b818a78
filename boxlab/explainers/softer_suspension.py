"""A softer radiator suspension at the same tuning: what it buys, and what it costs."""

from __future__ import annotations

import warnings

import numpy as np

from boxlab.base.checks import UnitWarning
from boxlab.base.units import to_grams, to_mm
from boxlab.design.radiator_choices import softened
from boxlab.design.radiator_need import needed_ratio
from boxlab.draw.scene import Choice, Explainer, Line, Mark, Number, Plot, Scene, Slider
from boxlab.explainers import _shared as shared
from boxlab.explainers._cuts import cut
from boxlab.explainers._radiators import COUNTS, built
from boxlab.explainers._shared import against_frequency
from boxlab.gear.scenario import USUAL_QL
from boxlab.gear.shelf import DRIVERS, RADIATORS, leak
from boxlab.model.response import solve

VOLTS = 20.0
GRAVITY = 9.80665  # m/s²
FREQUENCY = np.geomspace(5, 200, 371)
SOFTER = np.geomspace(0.4, 10, 97)


def scene(size, softer, volume, fb, count) -> Scene:
    """The same box and tuning with suspensions `softer` times as compliant (litres, Hz)."""
    driver = DRIVERS[size]
    plain, warning = built(size, volume, fb, 1e3 * RADIATORS[size].xmax, count, leak(size))
    box = softened(plain, softer)
    tuned = float(box.tuning())
    before, after = (solve(driver, b, FREQUENCY, VOLTS) for b in (plain, box))
    halves = [solve(driver, b, tuned / 2, VOLTS).spl.item() for b in (plain, box)]
    with warnings.catch_warnings():  # the far ends of the curves are nobody's setting
        warnings.simplefilter("ignore", UnitWarning)
        many = softened(plain, SOFTER)
    null, old = float(box.radiator.fp), float(plain.radiator.fp)
    fitted = float(box.radiator.added_mass)
    need, had = (float(needed_ratio(driver, b).ratio) for b in (box, plain))
    below = [s.vent_excursion[tuned >= FREQUENCY].max() for s in (before, after)]
    change = round(halves[1] - halves[0], 1) + 0.0  # no −0.0
    return Scene(
        shows={"as it was": before, "softer": after},
        cutaway=cut(driver, box, tuned / 2, VOLTS),
        title=f"{softer:g} times as soft: null {null:.1f} Hz",
        plots=(
            _level(before, after, null, tuned),
            _nulls(many, softer, tuned),
            _weights(many, softer, fitted),
            _sags(many, softer, box),
        ),
        readout=(
            f"{softer:g} times as soft moves the null from {old:.1f} to {null:.1f} Hz and "
            f"leaves the tuning at {tuned:.1f} Hz; an octave below that it brings {_db(change)}.",
            f"Weights from {to_grams(plain.radiator.added_mass):.0f} to {to_grams(fitted):.0f} g "
            f"on each; needed ratio from {had:.2f} to {need:.2f}.",
            f"The cost: facing up or down it sags {to_mm(_sag(box)):.1f} mm of its "
            f"{to_mm(box.radiator.xmax):.0f} mm, before {to_mm(_sag(plain)):.1f} mm. Facing "
            "sideways it does not sag.",
        ),
        numbers=(
            shared.hertz("tuning", tuned),
            shared.hertz("null before", old),
            shared.hertz("null now", null),
            Number("level an octave below the tuning, before", f"{halves[0]:.1f} dB"),
            Number("level an octave below the tuning, now", f"{halves[1]:.1f} dB"),
            shared.mass_number("weights on each, before", float(plain.radiator.added_mass)),
            shared.mass_number("weights on each, now", fitted),
            Number("Vap of the radiators over net volume", f"{_springs(box):.1f}"),
            Number("needed ratio before", f"{had:.2f}"),
            Number("needed ratio now", f"{need:.2f}"),
            shared.travel_number("sag facing up or down, before", _sag(plain)),
            shared.travel_number("sag facing up or down, now", _sag(box)),
            shared.travel_number("largest travel up to the tuning, before", float(below[0])),
            shared.travel_number("largest travel up to the tuning, now", float(below[1])),
        ),
        caption=(
            f"The same {volume:g} L ({shared.cubic_feet_text(volume)}) at {tuned:.1f} Hz with the "
            f"suspension {softer:g} times as soft and the weights adjusted (solid, the original in "
            "grey). The null goes down with the root of the compliance; the tuning stays, and the "
            "radiator needs fewer weights. It sags more if it faces up or down."
        ),
        alt=(
            "Four plots. Upper left: sound level in dB re 20 µPa, 40 to 120, against frequency, 5 "
            f"to 200 Hz, before (null {old:.1f} Hz) and now (null {null:.1f} Hz); above the tuning "
            "they lie together. Upper right: tuning and null in Hz, 0 to 60, against how many "
            "times as soft, 0.4 to 10, log axis: the tuning flat, the null falling. Lower left: "
            "weights on each in grams, 0 to 600, falling and levelling off. Lower right: sag in "
            "mm, 0 to 20, rising."
        ),
        code=(
            "from boxlab import RadiatorBox, litres\n"
            "from boxlab.design.radiator_choices import softened\n"
            "from boxlab.gear.scenario import RADIATORS\n"
            f"box = RadiatorBox.tuned(litres({volume:g}), {fb:g}, RADIATORS[{size!r}], "
            f"count={COUNTS[count]}, ql={USUAL_QL:g})\n"
            f"soft = softened(box, {softer:g})\n"
            "print(soft.tuning(), soft.radiator.fp, soft.radiator.added_mass)"
        ),
        warnings=(warning,) if warning else (),
    )


def _db(change):
    return f"{change:+.1f} dB".replace("-", "−") if change else "0 dB"


def _sag(box):
    """How far gravity shifts a radiator that faces up or down, m."""
    return GRAVITY * box.radiator.moving_mass * box.radiator.cms


def _springs(box):
    return box.count * box.radiator.vap() / box.volume


def _level(before, after, null, tuned):
    return against_frequency(
        "Sound level at 1 m, half space",
        "level, dB re 20 µPa",
        (40, 120),
        (
            Line(FREQUENCY, before.spl, "quiet", "as it is"),
            Line(FREQUENCY, after.spl, "sum", "softer", "radiator"),
        ),
        (Mark(null, f"null {null:.1f} Hz", "vent"), Mark(tuned, f"tuning {tuned:.1f} Hz")),
        xlim=(5, 200),
    )


def _nulls(many, softer, tuned):
    return Plot(
        "The null goes, the tuning stays",
        "times as soft",
        "frequency, Hz",
        (0.4, 10),
        (0, 60),
        (
            Line(SOFTER, np.full_like(SOFTER, tuned), "quiet", "tuning"),
            Line(SOFTER, many.radiator.fp, "vent", "null", "radiator"),
        ),
        (Mark(softer, f"{softer:g} times"),),
    )


def _weights(many, softer, fitted):
    return Plot(
        "Fewer weights for the same tuning",
        "times as soft",
        "weights on each, g",
        (0.4, 10),
        (0, 600),
        (Line(SOFTER, to_grams(many.radiator.added_mass), "vent", "", "radiator"),),
        (Mark(softer, f"{to_grams(fitted):.0f} g"),),
    )


def _sags(many, softer, box):
    return Plot(
        "The cost: sag, if it faces up or down",
        "times as soft",
        "sag, mm",
        (0.4, 10),
        (0, 20),
        (Line(SOFTER, to_mm(_sag(many)), "vent", "", "radiator"),),
        (
            Mark(softer, f"{to_mm(_sag(box)):.1f} mm"),
            Mark(float(to_mm(box.radiator.xmax)) / 10, "a tenth of its travel", "limit", "y"),
        ),
    )


EXPLAINERS = (
    Explainer(
        name="softer_suspension",
        question="Is a softer radiator suspension better?",
        controls=(
            Choice("size", "Driver and radiator", tuple(DRIVERS), "ten-inch"),
            Slider("softer", "Compliance, times the demo radiator's", 0.5, 8, 2, 0.1, ""),
            Slider("volume", "Net volume", 8, 24, 14, 0.5, "L"),
            Slider("fb", "Tuning", 28, 44, 36, 0.5, "Hz"),
            Choice("count", "Radiators", ("one", "two"), "one"),
        ),
        scene=scene,
        lesson="04-how-much-radiator.ipynb",
        anchor="Is-softer-better",
        answer=(
            "Mostly. At the same tuning a softer suspension puts the null lower, gives a little "
            "more below the tuning and needs fewer weights; the swept volume it needs hardly "
            "changes. What it costs is sag when the radiator faces up or down."
        ),
        presets={
            "stiff": {"softer": 0.5},
            "as it is": {"softer": 1.0},
            "very soft": {"softer": 8.0},
        },
    ),
)
