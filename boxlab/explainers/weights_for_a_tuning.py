"""A radiator weighed by two tunings of its box, and the weights that bring a third."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from boxlab.base.units import grams, to_grams, to_ounces
from boxlab.draw.scene import Explainer, Line, Mark, Number, Plot, Scene, Slider
from boxlab.explainers import _shared as shared
from boxlab.gear import shelf
from boxlab.gear.job_crosscheck import tuning_apart
from boxlab.measure.fit.estimate import Estimate
from boxlab.measure.fit.radiator_mass import mass_to_add, radiator_from_tunings
from boxlab.measure.fit.washers import BOLT, in_inch_washers, in_washers, in_words
from boxlab.model.enclosure import RadiatorBox

_GRAMS = np.linspace(0, 400, 101)
_FALLS = np.linspace(0.02, 0.4, 77)


def found(first, second, added, error):
    """The radiator from two tunings, each read to `error` per cent (Hz, Hz, g, %)."""
    tunings = (Estimate(f, f * error / 100, "Hz") for f in (first, second))
    return radiator_from_tunings(*tunings, grams(added))


def of_the_job(first, second, added):
    """(moving mass, tuning, whether that is measured), kg and Hz, of the open job; else None.

    As long as both tunings are what follows from the job's parts, nobody has measured the second.
    """
    job = shelf.current()
    if job is None or not job.radiators or not isinstance(job.box, RadiatorBox):
        return None
    measured = job.known.get("box.fb")
    measured = measured.value if measured is not None and measured.how == "measured" else None
    if tuning_apart(job):  # it was measured with other weights than the parts have now
        measured = None
    box = replace(job, changes={}).box  # by which the settings start, whatever is assumed now
    unit = box.radiator
    fall = np.sqrt(unit.moving_mass / (unit.moving_mass + grams(added)))
    now = float(box.tuning()) if measured is None else measured
    if abs(first - now) > 0.06 or abs(second - now * fall) > 0.06:
        return None
    shelf.note(shelf.OWN)
    tuning = measured or float(job.box.tuning())
    return float(job.box.radiator.moving_mass), tuning, measured is not None


def by_parts(mass, tuning, measured, wanted, doubt) -> Scene:
    """What to add by the parts of a job: its range is that of what had to be assumed of them."""
    more = mass * ((tuning / wanted) ** 2 - 1)
    how = "as measured" if measured else "by its parts, not measured"
    now = f"{tuning:g}" if measured else "float(job.box.tuning())"
    readout = (
        f"Each radiator moves {to_grams(mass):.0f} g, and the box tunes to {tuning:.1f} Hz ({how})."
        f" For {wanted:g} Hz {_amount(more)}.",
        "Sweep the box as it is and with a known weight, and type both tunings here: that tells "
        "the mass to a few per cent, whatever the radiator is made of.",
    )
    return Scene(
        title=f"{tuning:.1f} Hz to {wanted:g} Hz: {_amount(more)}",
        plots=(_tuning(tuning * np.sqrt(mass / (mass + grams(_GRAMS))), (), wanted, more), doubt),
        readout=readout,
        numbers=(
            shared.hertz("tuning as it is", tuning),
            shared.mass_number("moving mass of each", mass),
            shared.mass_number("to add for the wanted tuning", more),
        ),
        caption=(
            f"{readout[0]} Left: the tuning against what is added to each radiator. Right: how "
            "well two tunings would tell the mass, against how far apart they are."
        ),
        alt=(
            "Two line plots. Left: tuning in hertz, 15 to 60, against grams added to each "
            f"radiator, 0 to 400: it falls from {tuning:.1f} Hz, and is {wanted:g} Hz at "
            f"{to_grams(more):.0f} g. Right: uncertainty of the moving mass in per cent, 0 to 50, "
            "against the fall of the tuning in per cent, 2 to 40: it falls steeply."
        ),
        code=(
            f"mass = job.box.radiator.moving_mass\nprint(mass * (({now} / {wanted:g}) ** 2 - 1))"
        ),
        warnings=_too_heavy(more, mass),
    )


def _too_heavy(more, mass):
    if more <= 2 * mass:
        return ()
    return (
        f"{to_grams(more):.0f} g is over twice what moves now; many suspensions sag or rock "
        "under that. Ask the radiator's maker.",
    )


def scene(first, second, added, wanted, error) -> Scene:
    """What the radiator weighs and what to add (Hz, Hz, g, Hz, per cent)."""
    if (parts := of_the_job(first, second, added)) is not None:
        return by_parts(*parts, wanted, _doubt_plot(first, None, added, error))
    radiator = found(first, second, added, error)
    mass = radiator.mass
    more = mass_to_add(wanted, Estimate(first, first * error / 100, "Hz"), mass)
    curve = first * np.sqrt(mass / (mass + grams(_GRAMS)))
    fall = 1 - second / first
    return Scene(
        title=f"{first:g} Hz to {wanted:g} Hz: {_amount(more)}",
        plots=(
            _tuning(curve, ((0, added), (first, second)), wanted, more),
            _doubt_plot(first, fall, added, error),
        ),
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
        warnings=_too_heavy(more, mass),
    )


def _amount(more):
    side = "add" if more >= 0 else "take off"
    return f"{side} {abs(to_grams(more)):.0f} g"


def _tuning(curve, points, wanted, more):
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
            *([Line(*map(np.array, points), "sum", "measured", kind="points")] if points else ()),
        ),
        tuple(marks),
        xscale="linear",
    )


def _doubt_plot(first, fall, added, error):
    masses = [found(first, first * (1 - each), added, error).mass for each in _FALLS]
    doubt = [float(mass.u) / float(mass) for mass in masses]
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
        () if fall is None else (Mark(100 * fall, "now"),),
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
        metric, inch = (in_words(f(float(more))) for f in (in_washers, in_inch_washers))
        lines.append(f"In plain steel washers: {metric}, or {inch}. {BOLT}")
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
