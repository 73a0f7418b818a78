"""A radiator weighed by two tunings of its box, and the weights that bring a third."""

from __future__ import annotations

import numpy as np

from boxlab.base.units import grams, to_grams, to_ounces
from boxlab.draw.scene import Explainer, Line, Mark, Number, Plot, Scene, Slider
from boxlab.explainers import _shared as shared
from boxlab.measure.fit.estimate import Estimate
from boxlab.measure.fit.radiator_mass import BOLT, in_washers, mass_to_add, radiator_from_tunings

_GRAMS = np.linspace(0, 400, 101)
_FALLS = np.linspace(0.02, 0.4, 77)


def found(first, second, added, error):
    """The radiator from two tunings, each read to `error` per cent (Hz, Hz, g, %)."""
    tunings = (Estimate(f, f * error / 100, "Hz") for f in (first, second))
    return radiator_from_tunings(*tunings, grams(added))


def scene(first, second, added, wanted, error) -> Scene:
    """What the radiator weighs and what to add (Hz, Hz, g, Hz, per cent)."""
    radiator = found(first, second, added, error)
    mass = radiator.mass
    more = mass_to_add(wanted, Estimate(first, first * error / 100, "Hz"), mass)
    curve = first * np.sqrt(mass / (mass + grams(_GRAMS)))
    doubt = [
        float(found(first, first * (1 - fall), added, error).mass.u)
        / float(found(first, first * (1 - fall), added, error).mass)
        for fall in _FALLS
    ]
    fall = 1 - second / first
    warnings = ()
    if more > 2 * mass:
        warnings = (
            f"{to_grams(more):.0f} g is over twice what moves now; many suspensions sag or rock "
            "under that. Ask the radiator's maker.",
        )
    return Scene(
        title=f"{first:g} Hz to {wanted:g} Hz: {_amount(more)}",
        plots=(_tuning(curve, first, second, added, wanted, more), _doubt_plot(doubt, fall, error)),
        readout=_readout(mass, more, wanted, fall, error),
        numbers=_numbers(first, second, added, mass, more, radiator),
        caption=(
            f"The box tunes to {first:g} Hz, and to {second:g} Hz with {added:g} g more on each "
            "radiator. The two tell what moves, and what to add for any other tuning. "
            "Right: how well, against how far the tuning fell."
        ),
        alt=(
            "Two line plots. Left: tuning in hertz, 15 to 60, against grams added to each "
            f"radiator, 0 to 400: it falls from {first:g} Hz through {second:g} Hz at {added:g} g. "
            "Right: uncertainty of the moving mass in per cent, 0 to 50, against the fall of the "
            f"tuning in per cent, 2 to 40: it falls steeply; at {100 * fall:.0f} % it is "
            f"{100 * mass.u / mass:.0f} %."
        ),
        code=(
            "from boxlab import grams\n"
            "from boxlab.measure import Estimate, mass_to_add, radiator_from_tunings\n"
            f"first = Estimate({first:g}, {first * error / 100:g})\n"
            f"second = Estimate({second:g}, {second * error / 100:g})\n"
            f"found = radiator_from_tunings(first, second, grams({added:g}))\n"
            f"print(found.mass, mass_to_add({wanted:g}, first, found.mass))"
        ),
        warnings=warnings,
    )


def _amount(more):
    side = "add" if more >= 0 else "take off"
    return f"{side} {abs(to_grams(more)):.0f} g"


def _tuning(curve, first, second, added, wanted, more):
    marks = [Mark(wanted, f"wanted {wanted:g} Hz", "limit", "y")]
    if 0 <= to_grams(more) <= _GRAMS[-1]:
        marks.append(Mark(float(to_grams(more)), f"{to_grams(more):.0f} g"))
    return Plot(
        "Tuning against weights",
        "added to each radiator, g",
        "tuning, Hz",
        (0, 400),
        (15, 60),
        (
            Line(_GRAMS, curve, "vent", "tuning", "radiator"),
            Line(
                np.array([0, added]),
                np.array([first, second]),
                "sum",
                "the two tunings",
                kind="points",
            ),
        ),
        tuple(marks),
        xscale="linear",
    )


def _doubt_plot(doubt, fall, error):
    return Plot(
        "How well the mass is known",
        "fall of the tuning, %",
        "standard uncertainty, %",
        (2, 40),
        (0, 50),
        (
            Line(
                100 * _FALLS,
                100 * np.array(doubt),
                "vent",
                f"tunings read to {error:g} %",
                "radiator",
            ),
        ),
        (Mark(100 * fall, "now"),),
        xscale="linear",
    )


def _readout(mass, more, wanted, fall, error):
    lines = [
        f"Each radiator moves {to_grams(mass):.0f} ± {to_grams(mass.u):.0f} g. For {wanted:g} Hz "
        f"{_amount(more).removesuffix(' g')} ± {to_grams(more.u):.0f} g.",
        f"The tuning fell by {100 * fall:.0f} %. Read to {error:g} % each, that gives the mass to "
        f"{100 * mass.u / mass:.0f} %.",
    ]
    if more > 0:
        counts = in_washers(float(more))
        washers = " + ".join(f"{n} × {name}" for name, n in counts.items()) or "none"
        lines.append(f"In plain steel washers: {washers}. {BOLT}")
    else:
        lines.append("Washers only add: this tuning is higher than the bare one.")
    return tuple(lines)


def _numbers(first, second, added, mass, more, radiator):
    return (
        shared.hertz("tuning as it is", first),
        shared.hertz("tuning with the weights", second),
        shared.mass_number("weights on each radiator", grams(added)),
        shared.mass_number("moving mass of each", mass),
        Number("uncertain by", f"{to_grams(mass.u):.0f} g", f"{to_ounces(mass.u):.1f} oz"),
        Number("stiffness, suspension and box air", f"{radiator.stiffness:.0f} N/m"),
        shared.mass_number("to add for the wanted tuning", more),
    )


EXPLAINERS = (
    Explainer(
        name="weights_for_a_tuning",
        question="How much weight brings a radiator box to the tuning you want?",
        controls=(
            Slider("first", "Tuning as it is", 34.0, 55.0, 40.0, 0.1, "Hz"),
            Slider("second", "Tuning with the weights", 20.0, 33.9, 32.0, 0.1, "Hz"),
            Slider("added", "Weights for the second", 10, 200, 90, 1, "g"),
            Slider("wanted", "Wanted tuning", 20.0, 50.0, 36.0, 0.5, "Hz"),
            Slider("error", "Each tuning is read to", 0.1, 3.0, 0.5, 0.1, "%"),
        ),
        scene=scene,
        lesson="05-reading-a-sweep.ipynb",
        anchor="How-much-weight-for-the-tuning-you-want",
        answer=(
            "Measure the tuning, add a known weight, measure again: fb²·(mass) has not changed, "
            "so the two tell the mass and any third tuning."
        ),
    ),
)
