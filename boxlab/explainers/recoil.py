"""What shakes the box: the recoil of cone and radiators, and where to mount them."""

from __future__ import annotations

from types import MappingProxyType

import numpy as np

from boxlab.base.cautions import words
from boxlab.base.units import to_feet, to_grams, to_pounds
from boxlab.draw.scene import Choice, Explainer, Line, Mark, Number, Scene, Slider
from boxlab.explainers import _shared as shared
from boxlab.explainers._cuts import cut, shaken
from boxlab.explainers._radiators import built
from boxlab.explainers._shared import FREQUENCY, against_frequency
from boxlab.gear.scenario import USUAL_QL
from boxlab.gear.shelf import DRIVERS, RADIATORS, leak
from boxlab.model.recoil import recoil, shake
from boxlab.model.response import solve

# name -> how many radiators, and the share of their recoil along the cone's axis
MOUNTINGS = MappingProxyType(
    {
        "one, beside the cone": ("one", 1.0),
        "one, on the opposite face": ("one", -1.0),
        "two, beside the cone": ("two", 1.0),
        "two, on opposite faces": ("two", 0.0),
    }
)
FACES = MappingProxyType(  # of each radiator, as the cutaway shows them
    {
        "one, beside the cone": ("front",),
        "one, on the opposite face": ("back",),
        "two, beside the cone": ("front", "front"),
        "two, on opposite faces": ("top", "bottom"),
    }
)
GRAVITY = 9.80665  # m/s²
NEWTONS_PER_POUND = 4.4482216  # force


def scene(mounting, size, volume, fb, drive, weight) -> Scene:
    """One way of mounting the radiators; litres, Hz, V, and the whole box's mass in kg."""
    driver = DRIVERS[size]
    count, share = MOUNTINGS[mounting]
    travel = 1e3 * RADIATORS[size].xmax
    box, warning = built(size, volume, fb, travel, count, leak(size))
    tuned = float(box.tuning())
    r = solve(driver, box, FREQUENCY, drive)
    whole = recoil(r, radiators=share)
    at = solve(driver, box, [tuned, 2 * tuned], drive)
    (both, high), (cone, cone_high) = recoil(at, radiators=share), recoil(at, radiators=0)
    vent = recoil(at, cone=0)[0]
    shaken = float(shake(both, weight))
    opposed = f"each radiator with {vent / 2:.0f} N, against the other"
    others = {}
    for name, (number, way) in MOUNTINGS.items():
        other, _ = built(size, volume, fb, travel, number, leak(size))
        level = solve(driver, other, tuned, drive)
        scaled = at.pressure[0] / level.pressure
        others[name] = float((recoil(level, radiators=way) * np.abs(scaled)).item())
    return Scene(
        shows={"radiator": r},
        cutaway=_cutaway(driver, box, tuned, drive, FACES[mounting], weight),
        title=f"Recoil, {mounting}: {both:.0f} N at the tuning",
        plots=(
            _force(r, whole, share, tuned),
            _acceleration(whole, weight, tuned),
            _phase(r, tuned),
            _level(r, tuned),
        ),
        headline=(
            f"At its tuning, {tuned:.1f} Hz, this box is shaken with {both:.0f} N "
            f"while it plays {at.spl[0]:.1f} dB."
        ),
        readout=(
            f"At the tuning, {tuned:.1f} Hz, {at.spl[0]:.1f} dB: {both:.0f} N peak (cone alone "
            f"{cone:.0f} N, {f'radiators alone {vent:.0f} N' if share else opposed}). An octave "
            f"higher {high:.0f} N.",
            f"A box of {weight:g} kg, free to move, is shaken with {shaken:.1f} m/s², "
            f"{shaken / GRAVITY:.2f} times gravity"
            + (": face up, it hops." if shaken > GRAVITY else "."),
            f"For the same {at.spl[0]:.1f} dB at the tuning: "
            + ", ".join(f"{name} {force:.0f} N" for name, force in others.items())
            + ".",
            f"There the radiators are {r_phase(at):.0f}° from the cone, so no mounting lets them "
            "cancel the cone; two on opposite faces cancel each other, and the cone is left.",
        ),
        numbers=(
            Number("level at the tuning", f"{at.spl[0]:.1f} dB"),
            _newtons("together at the tuning", both),
            _newtons("cone alone at the tuning", cone),
            _newtons("radiators alone, all one way", vent),
            _newtons("together an octave higher", high),
            _newtons("cone alone an octave higher", cone_high),
            Number(
                "shaking of the free box at the tuning",
                f"{shaken:.1f} m/s²",
                f"{to_feet(shaken):.0f} ft/s²",
            ),
            Number("the same, as times gravity", f"{shaken / GRAVITY:.2f}"),
            Number("mass of the box", f"{weight:g} kg", f"{to_pounds(weight):.0f} lb"),
            Number(
                "moving mass of the radiators",
                f"{to_grams(box.count * box.radiator.moving_mass):.0f} g",
                shared.ounces_text(to_grams(box.count * box.radiator.moving_mass)),
            ),
            Number("radiator against cone at the tuning", f"{r_phase(at):.0f}°"),
            *(_newtons(f"same level: {name}", force) for name, force in others.items()),
        ),
        caption=(
            f"Peak force on a {volume:g} L box ({shared.cubic_feet_text(volume)}) tuned to "
            f"{tuned:.1f} Hz at {drive:g} V, radiators mounted as: {mounting}. At the tuning "
            + ("the radiators push" if share else "the radiators push against each other")
            + f" with {vent if share else vent / 2:.0f} N{'' if share else ' each'} and the cone "
            f"with {cone:.0f} N. Two radiators on "
            "opposite faces cancel each other at all frequencies; one opposite the cone cancels "
            "nothing at the tuning and much of the cone's push above it."
        ),
        alt=(
            "Four plots against frequency, 10 to 200 Hz, log axis. Upper left: peak force in "
            f"newtons, 0 to 400, of cone, radiators and both as mounted, {both:.0f} N at the "
            f"tuning. Upper right: acceleration of a free box of {weight:g} kg in times gravity, "
            "0 to 4. Lower left: phase of the radiator against the cone, 0 to 180 degrees, 90 near "
            "the tuning. Lower right: sound level in dB re 20 µPa, 60 to 120, the same for any "
            "mounting of the same radiators."
        ),
        code=(
            "from boxlab import RadiatorBox, litres, solve\n"
            "from boxlab.model.recoil import recoil\n"
            "from boxlab.gear.scenario import DRIVERS, RADIATORS\n"
            + (  # where it cannot be tuned so low or so high it is taken without weights
                f"box = RadiatorBox(litres({volume:g}), RADIATORS[{size!r}], "
                if warning
                else f"box = RadiatorBox.tuned(litres({volume:g}), {fb:g}, RADIATORS[{size!r}], "
            )
            + f"count={box.count}, ql={USUAL_QL:g})\n"
            f"print(recoil(solve(DRIVERS[{size!r}], box, {fb:g}, {drive:g}), radiators={share:g}))"
        ),
        warnings=(warning,) if warning else (),
        cautions=words("loose box"),
    )


def _cutaway(driver, box, tone, drive, faces, weight):
    seen = cut(driver, box, tone, drive, faces=faces)
    each = box.radiator.moving_mass * len(faces) / len(set(faces))
    return shaken(seen, [driver.mms, *[each] * len(set(faces))], weight)


def r_phase(response):
    """Degrees between radiator and cone at the first frequency, both outward."""
    return float(np.abs(response.vent_phase[0]))


def _newtons(name, force):
    return Number(name, f"{force:.0f} N", f"{force / NEWTONS_PER_POUND:.1f} lbf")


def _force(r, whole, share, tuned):
    return against_frequency(
        "Force on the box along the cone's axis",
        "force, N peak",
        (0, 400),
        (
            Line(FREQUENCY, recoil(r, radiators=0), "cone", "cone"),
            Line(FREQUENCY, recoil(r, cone=0, radiators=share), "vent", "radiators", "radiator"),
            Line(FREQUENCY, whole, "sum", "both"),
        ),
        (Mark(tuned, f"tuning {tuned:.1f} Hz"),),
    )


def _acceleration(whole, weight, tuned):
    return against_frequency(
        "Shaking of the box, free to move",
        "acceleration, times gravity, peak",
        (0, 4),
        (
            Line(np.array([10.0, 200.0]), np.ones(2), "limit", "its own weight"),
            Line(FREQUENCY, shake(whole, weight) / GRAVITY, "sum", "the box"),
        ),
        (Mark(tuned, "tuning"),),
    )


def _phase(r, tuned):
    return against_frequency(
        "Radiator against cone, both outward",
        "phase, degrees",
        (0, 180),
        (Line(FREQUENCY, np.abs(r.vent_phase), "vent", "", "radiator"),),
        (Mark(tuned, "tuning"), Mark(90, "quarter cycle", "quiet", "y")),
        yticks=(0, 45, 90, 135, 180),
    )


def _level(r, tuned):
    return against_frequency(
        "Sound level: no mounting changes it",
        "level, dB re 20 µPa, 1 m",
        (60, 120),
        (Line(FREQUENCY, r.spl, "sum", "", "radiator"),),
        (Mark(tuned, "tuning"),),
    )


EXPLAINERS = (
    Explainer(
        name="recoil",
        question="What shakes the box, and which mounting stops it?",
        controls=(
            Choice("mounting", "Radiators", tuple(MOUNTINGS), "one, beside the cone"),
            Choice("size", "Driver and radiator", tuple(DRIVERS), "ten-inch"),
            Slider("volume", "Net volume", 8, 24, 14, 0.5, "L"),
            Slider("fb", "Tuning", 28, 44, 36, 0.5, "Hz"),
            Slider("drive", "Drive", 2, 40, 20, 1, "V"),
            Slider("weight", "Mass of the whole box", 5, 40, 12, 0.5, "kg"),
        ),
        scene=scene,
        lesson="04-how-much-radiator.ipynb",
        anchor="What-shakes-the-box",
        answer=(
            "At the tuning it is the radiators, not the cone. Two on opposite faces cancel each "
            "other and leave the cone's recoil. One on the face opposite the cone does not help "
            "there, for the two are a quarter cycle apart."
        ),
        presets={
            "opposite the cone": {"mounting": "one, on the opposite face"},
            "opposed pair": {"mounting": "two, on opposite faces"},
        },
    ),
)
