"""Exercises of the lesson "port or radiator": weights, port length, null, air speed."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace

import numpy as np

from boxlab.air import Air
from boxlab.enclosure import RadiatorBox
from boxlab.exercise import Exercise, Step
from boxlab.portfit import usual_length
from boxlab.quantities import digits
from boxlab.reach import swept_volume
from boxlab.scenario import TEN_INCH_RADIATOR
from boxlab.units import (
    disc_area,
    grams,
    litres,
    mm,
    mm_per_newton,
    to_cm,
    to_cubic_feet,
    to_grams,
    to_inches,
    to_mm,
    to_mm_per_newton,
)
from boxlab.validity import PORT_SPEED

RADIATOR = TEN_INCH_RADIATOR
_WHAT = (
    f"The demo radiator has Sd = {1e4 * RADIATOR.sd:.0f} cm², a moving mass of "
    f"{to_grams(RADIATOR.mms):.0f} g and a compliance of {to_mm_per_newton(RADIATOR.cms):g} mm/N."
)


def _volume_text(volume):
    return f"{volume:g} L ({to_cubic_feet(litres(volume)):.2f} ft³)"


def _draw_box(rng):
    return SimpleNamespace(volume=int(rng.integers(24, 40)) / 2, fb=int(rng.integers(36, 46)))


def _box(n):
    return RadiatorBox.tuned(litres(n.volume), n.fb, RADIATOR)


def _air_stiffness(n):
    return RADIATOR.sd**2 * Air().bulk_modulus / litres(n.volume)


def _weights_solution(n):
    k_air, k_own = _air_stiffness(n), 1 / RADIATOR.cms
    mass = to_grams(_box(n).radiator.moving_mass)
    return (
        f"The suspension gives 1/Cms = {digits(k_own)} N/m and the box air Sd²·ρc²/V = "
        f"{digits(k_air)} N/m; the radiator rests on both. ωb = 2π·{n.fb} = "
        f"{digits(2 * np.pi * n.fb)} rad/s, so the moving mass is k/ωb² = {digits(mass)} g, "
        f"and the weights are that less its own {to_grams(RADIATOR.mms):.0f} g: "
        f"**{digits(mass - to_grams(RADIATOR.mms))} g**."
    )


weights = Exercise(
    "port-or-radiator/weights",
    title="How much weight tunes this box?",
    draw=_draw_box,
    prompt=lambda n: (
        f"A ten-inch radiator is to tune {_volume_text(n.volume)} net to {n.fb} Hz. {_WHAT} "
        "Take ρc² = 141 900 Pa for the air. How much weight goes on?"
    ),
    steps=(
        Step("Stiffness of the suspension", lambda n: 1 / RADIATOR.cms, "N/m"),
        Step(
            "Stiffness of the box air on the radiator",
            _air_stiffness,
            "N/m",
            slips={
                "Sd counts twice: once for force from pressure, once for volume from travel.": (
                    lambda n: _air_stiffness(n) / RADIATOR.sd
                )
            },
        ),
        Step(
            "Moving mass needed",
            lambda n: to_grams(_box(n).radiator.moving_mass),
            "g",
            slips={
                "You left out the radiator's own suspension: it stiffens too.": (
                    lambda n: to_grams(_air_stiffness(n) / (2 * np.pi * n.fb) ** 2)
                )
            },
        ),
        Step(
            "Weights to bolt on",
            lambda n: to_grams(_box(n).radiator.added_mass),
            "g",
            tolerance=0.03,
            absolute=2.0,
            slips={
                "That is the whole moving mass; the radiator brings part of it itself.": (
                    lambda n: to_grams(_box(n).radiator.moving_mass)
                )
            },
        ),
    ),
    hints=lambda n: (
        "The radiator rests on two springs at once. Find the stiffness of each in N/m, then "
        "ask which mass swings on both at the tuning.",
        "Suspension: 1/Cms. Box air: Sd²·ρc²/V, all in m² and m³. Mass: m = k/ωb², with "
        "ωb = 2π·fb.",
        f"Together they make {digits(1 / RADIATOR.cms + _air_stiffness(n))} N/m; divide by "
        f"{digits((2 * np.pi * n.fb) ** 2)} and take off {to_grams(RADIATOR.mms):.0f} g.",
    ),
    solution=_weights_solution,
)


def _draw_port(rng):
    return SimpleNamespace(
        volume=int(rng.integers(24, 40)) / 2,
        fb=int(rng.integers(38, 48)),
        diameter=5 * int(rng.integers(16, 23)),
    )


def _port_length(n):
    return to_cm(usual_length(litres(n.volume), n.fb, disc_area(mm(n.diameter))))


def _ends(n):
    return 1.4615 * n.diameter / 20  # cm


port_length = Exercise(
    "port-or-radiator/port-length",
    title="How long is the port that does the same?",
    draw=_draw_port,
    prompt=lambda n: (
        f"Instead of a radiator, a round port of {n.diameter} mm "
        f"({to_inches(mm(n.diameter)):.1f} in) inside is to tune {_volume_text(n.volume)} net to "
        f"{n.fb} Hz. How long must it be, by the usual formula? Take c = 343 m/s and ends of "
        "1.46 radii together. Would you get it in?"
    ),
    answer=_port_length,
    unit="cm",
    slips={
        "That is the length with its ends. The air just outside moves too and counts for "
        "1.46 radii; the pipe itself is shorter by that.": lambda n: _port_length(n) + _ends(n),
        "The diameter was used where the radius belongs.": lambda n: to_cm(
            usual_length(litres(n.volume), n.fb, disc_area(mm(2 * n.diameter)))
        ),
        "The ends were taken from the diameter instead of the radius.": lambda n: (
            _port_length(n) - _ends(n)
        ),
    },
    hints=lambda n: (
        "The air in the port is a mass on the spring of the box air. Which length gives it the "
        "right mass?",
        "L = S·c²/(V·ωb²) − 1.46·r, all in metres, square metres and cubic metres.",
        f"S = {1e4 * disc_area(mm(n.diameter)):.1f} cm², ωb = {2 * np.pi * n.fb:.0f} rad/s; "
        f"with its ends the length is {_port_length(n) + _ends(n):.1f} cm.",
    ),
    solution=lambda n: (
        f"S = {1e4 * disc_area(mm(n.diameter)):.1f} cm², so S·c²/(V·ωb²) = "
        f"{_port_length(n) + _ends(n):.1f} cm with its ends. Less 1.46·r = {_ends(n):.1f} cm that "
        f"is **{_port_length(n):.0f} cm**. An 8 : 6 : 5 box of that net volume is about "
        f"{to_cm(_edge(n)):.0f} cm long inside."
    ),
)


def _edge(n):
    from boxlab.validity import inside_edges

    return inside_edges(litres(n.volume))[0]


def _draw_null(rng):
    return SimpleNamespace(
        weights=5 * int(rng.integers(8, 40)), softness=int(rng.integers(6, 24)) / 20
    )


def _loaded(n, **changes):
    radiator = replace(
        RADIATOR, cms=mm_per_newton(n.softness), added_mass=grams(n.weights), **changes
    )
    return radiator


null = Exercise(
    "port-or-radiator/null",
    title="At which frequency does this box go silent?",
    draw=_draw_null,
    prompt=lambda n: (
        f"A radiator with a moving mass of {to_grams(RADIATOR.mms):.0f} g and a compliance of "
        f"{n.softness:g} mm/N carries {n.weights} g of weights. The net volume is 14 L. Where is "
        "the null of the whole box?"
    ),
    answer=lambda n: float(_loaded(n).fp),
    unit="Hz",
    slips={
        "That is the tuning of the box. The null is lower: there the box air does not help the "
        "radiator's own suspension.": lambda n: float(RadiatorBox(litres(14), _loaded(n)).tuning()),
        "You left out the radiator's own moving mass.": lambda n: float(
            np.sqrt(_loaded(n).moving_mass / grams(n.weights)) * _loaded(n).fp
        ),
        "You left out the weights.": lambda n: float(_loaded(n).with_mass(0.0).fp),
    },
    hints=lambda n: (
        "The null does not ask about the box at all. What is left, if the box is taken away?",
        "It is the radiator's own resonance with its weights: f = 1/(2π·√(m·Cms)).",
        f"m = {to_grams(_loaded(n).moving_mass):.0f} g = {_loaded(n).moving_mass:.3f} kg and "
        f"Cms = {mm_per_newton(n.softness):g} m/N.",
    ),
    solution=lambda n: (
        f"m = {_loaded(n).moving_mass:.3f} kg and Cms = {mm_per_newton(n.softness):g} m/N, so "
        f"fp = 1/(2π·√(m·Cms)) = **{_loaded(n).fp:.1f} Hz**. The volume does not come into it; "
        f"the tuning, {RadiatorBox(litres(14), _loaded(n)).tuning():.1f} Hz, is another matter."
    ),
)


def _draw_softer(rng):
    now = int(rng.integers(18, 27))
    return SimpleNamespace(now=now, then=now - int(rng.integers(4, 9)), softness=0.3)


softer = Exercise(
    "port-or-radiator/softer",
    title="How soft must the suspension be?",
    draw=_draw_softer,
    prompt=lambda n: (
        f"A box has its null at {n.now} Hz, too close to the music. The radiator's compliance is "
        f"{n.softness:g} mm/N. With the moving mass left as it is, which compliance brings the "
        f"null down to {n.then} Hz?"
    ),
    answer=lambda n: n.softness * (n.now / n.then) ** 2,
    unit="mm/N",
    slips={
        "The frequency goes with the root of the compliance, so the ratio comes in squared.": (
            lambda n: n.softness * n.now / n.then
        ),
        "That is stiffer, and the null goes up. Which way round is the ratio?": (
            lambda n: n.softness * (n.then / n.now) ** 2
        ),
    },
    hints=lambda n: (
        "The null is a mass on a spring. Twice as soft a spring: how much lower does it swing?",
        "f goes as 1/√Cms, so Cms goes as 1/f².",
        f"Multiply {n.softness:g} mm/N by ({n.now}/{n.then})².",
    ),
    solution=lambda n: (
        f"Cms goes as 1/f²: {n.softness:g} · ({n.now}/{n.then})² = "
        f"**{n.softness * (n.now / n.then) ** 2:.2f} mm/N**."
    ),
)


def _draw_speed(rng):
    return SimpleNamespace(fb=int(rng.integers(32, 47)), spl=int(rng.integers(100, 111)))


def _quiet(n, swept=1.0, speed=PORT_SPEED):
    flow = swept * 2 * np.pi * n.fb * swept_volume(n.fb, n.spl)
    return float(to_mm(np.sqrt(4 * flow / (np.pi * speed))))


quiet_port = Exercise(
    "port-or-radiator/quiet-port",
    title="How wide must a port be to keep quiet?",
    draw=_draw_speed,
    prompt=lambda n: (
        f"At its tuning of {n.fb} Hz a box is to give {n.spl} dB at 1 m (half space, a steady "
        "tone), and the port does all of it. That takes a peak volume displacement of "
        f"{1e3 * float(swept_volume(n.fb, n.spl)):.2f} L. Which inside diameter keeps the air "
        f"below {PORT_SPEED:g} m/s peak?"
    ),
    answer=_quiet,
    unit="mm",
    slips={
        "You took the displacement for the flow of one second; the flow is ω times it.": lambda n: (
            _quiet(n, 1 / (2 * np.pi * n.fb))
        ),
        "The flow came out 2π too small: ω = 2π·f.": lambda n: _quiet(n, 1 / (2 * np.pi)),
        "Peak for rms: the displacement given is a peak already.": lambda n: _quiet(n, np.sqrt(2)),
        "You stopped at a radius; the question asks for the diameter.": lambda n: _quiet(n) / 2,
    },
    hints=lambda n: (
        "Speed is flow through area. The displacement swings back and forth: how fast is it at "
        "its fastest?",
        f"Peak flow = 2π·f·displacement. Area = flow / {PORT_SPEED:g} m/s. Diameter = √(4·S/π).",
        f"Peak flow {1e3 * 2 * np.pi * n.fb * float(swept_volume(n.fb, n.spl)):.1f} L/s, so the "
        f"area is {1e4 * disc_area(mm(_quiet(n))):.0f} cm².",
    ),
    solution=lambda n: (
        f"Peak flow = 2π·{n.fb}·{1e3 * float(swept_volume(n.fb, n.spl)):.3f} L = "
        f"{1e3 * 2 * np.pi * n.fb * float(swept_volume(n.fb, n.spl)):.1f} L/s. Over "
        f"{PORT_SPEED:g} m/s that is {1e4 * disc_area(mm(_quiet(n))):.0f} cm², a diameter of "
        f"**{_quiet(n):.0f} mm** ({to_inches(mm(_quiet(n))):.1f} in)."
    ),
)

EXERCISES = (weights, port_length, quiet_port, null, softer)

_LINES = {  # prediction -> explainer, its settings, and the line of its readout that answers
    "above": ("port_or_radiator", {}, 0),
    "below": ("port_or_radiator", {}, 0),
    "null": ("null_of_the_radiator", {"softness": 1.2}, 0),
    "length": ("port_that_will_not_fit", {}, 1),
    "crossing": ("when_a_port_wins", {}, 0),
}
_RIGHT = {
    "above": "Neither, within half a decibel",
    "below": "The port",
    "null": "A softer suspension",
    "length": "About 70 cm (28 in)",
    "crossing": "About 28 L (1 ft³)",
}
_OTHERS = {
    "above": {
        "The radiator": "No. Above the tuning its suspension hardly counts, and what is left, a "
        "mass, is what a port has too.",
        "The port": "By 0.3 dB: the radiator's suspension and its friction. Without them, in the "
        "model, less than 0.01 dB is left.",
    },
    "below": {
        "The radiator: it goes deeper": "The true half: it lets a *small* box be tuned low. At "
        "the same tuning it gives less below, not more.",
    },
    "null": {
        "More weights": "They move it down, but the tuning goes with it: the two stay as many "
        "octaves apart as before.",
        "A larger box": "It lowers the tuning, towards the null. The null itself does not know "
        "the box.",
    },
    "length": {
        "About 20 cm (8 in)": "In a box of 1.5 cubic feet it would be. Length goes as area over "
        "volume.",
        "About 40 cm (16 in)": "One of 75 mm would be; at 20 V its air already reaches 20 m/s.",
    },
    "crossing": {
        "About 15 L (0.5 ft³)": "True at 10 V: played softly, a narrow port will do.",
        "About 70 L (2.5 ft³)": "That is on the safe side: there even 40 V is quiet at this "
        "tuning.",
    },
}


def answer(slug):
    """What `quiz.compare` needs for one prediction, the reason with numbers from the model.

    Kept here so that the lesson's own cells do not give answers away.
    """
    from boxlab.scenes import explainer

    name, settings, line = _LINES[slug]
    because = explainer(name)(**settings).readout[line]
    if slug == "null":
        because = "Twice as soft, 1.2 for 0.6 mm/N: " + because
    return {"right": _RIGHT[slug], "because": because, "others": _OTHERS[slug]}
