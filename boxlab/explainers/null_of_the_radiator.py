"""The null of a radiator box: where it lies, why, and what moves it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from boxlab.base.units import cm2, grams, litres, mm_per_newton
from boxlab.draw.scene import Explainer, Line, Mark, Number, Plot, Scene, Slider
from boxlab.explainers import _shared as shared
from boxlab.explainers._cuts import cut
from boxlab.explainers._shared import FREQUENCY, against_frequency
from boxlab.gear.shelf import leak, radiator_count, the_driver, the_radiator
from boxlab.model.enclosure import PortedBox, RadiatorBox
from boxlab.model.response import solve

VOLTS = 20.0
WEIGHTS = np.linspace(0, 300, 151)  # g
SOFTNESS = np.geomspace(0.1, 3.0, 151)  # mm/N


def scene(softness, weights, volume, friction) -> Scene:
    """One radiator box for compliance mm/N, weights g, net volume L and friction N·s/m."""
    driver, net = the_driver(), litres(volume)
    radiator = replace(
        the_radiator(),
        cms=mm_per_newton(softness),
        rms=friction,
        added_mass=grams(weights),
    )
    box = RadiatorBox(net, radiator, radiator_count(), leak())
    fb, null = float(box.tuning()), float(radiator.fp)
    ported = PortedBox.tuned(net, fb, cm2(40), ql=leak(), max_length=3)
    r = solve(driver, box, FREQUENCY, VOLTS)
    port = solve(driver, ported, FREQUENCY, VOLTS)
    at_null, at_half = (solve(driver, box, f, VOLTS).spl.item() for f in (null, fb / 2))
    drop = solve(driver, ported, null, VOLTS).spl.item() - at_null
    below = solve(driver, ported, fb / 2, VOLTS).spl.item() - at_half
    springs = float(radiator.vap() / net)
    return Scene(
        shows={"radiator": r, "port": port},
        cutaway=cut(driver, box, null, VOLTS),
        title=f"Null {null:.1f} Hz, tuning {fb:.1f} Hz",
        plots=(
            _level(r, port, fb, null),
            _flows(r, fb, null),
            _against_weights(radiator, net, weights),
            _against_softness(radiator, net, softness),
        ),
        headline=(
            f"This box goes silent at {null:.1f} Hz, {np.log2(fb / null):.1f} octaves below its "
            f"tuning of {fb:.1f} Hz."
        ),
        readout=(
            f"Null {null:.1f} Hz, tuning {fb:.1f} Hz: {np.log2(fb / null):.1f} octaves apart.",
            f"The suspension is {springs:.1f} times as soft as the box air, and "
            f"fb/fp = √(1 + {springs:.1f}) = {np.sqrt(1 + springs):.2f}.",
            f"{_at_the_null(drop)}; an octave below "
            f"tuning, {abs(below):.1f} dB {'under' if below >= 0 else 'over'} it.",
        ),
        numbers=(
            shared.hertz("null, the radiator's own resonance", null),
            shared.hertz("tuning", fb),
            Number("octaves from null to tuning", f"{np.log2(fb / null):.2f}"),
            shared.volume_number("net volume", net),
            shared.volume_number("Vap, air as soft as the suspension", float(radiator.vap())),
            Number("Vap over net volume", f"{springs:.2f}"),
            shared.mass_number("moving mass with weights", float(radiator.moving_mass)),
            Number("level at the null", f"{at_null:.1f} dB re 20 µPa" if friction else "nothing"),
            Number("under the port at the null", f"{drop:.1f} dB" if friction else "all of it"),
            Number("under the port an octave below tuning", f"{below:.1f} dB"),
            Number("Q of the radiator", f"{radiator.qmp:.1f}" if friction else "no friction"),
        ),
        caption=(
            f"A ten-inch radiator of {softness:g} mm/N with {weights:g} g of weights in "
            f"{volume:g} L ({shared.cubic_feet_text(volume)}) at {VOLTS:g} V. At its own "
            f"resonance, {null:.1f} Hz, it gives back exactly what the cone pushes out, and the "
            "sum vanishes. Weights lower tuning and null together; a softer suspension lowers the "
            "null and hardly moves the tuning."
        ),
        alt=(
            "Four plots. Upper left: level in dB re 20 µPa, 40 to 120, against frequency, 10 to "
            "200 Hz, for the radiator box and the same box with a port; the radiator's curve has a "
            f"notch at {null:.1f} Hz. Upper right: volume flow of cone and radiator in litres a "
            "second, 0 to 100, and of what is left; cone and radiator meet at the null, where "
            "nothing is left. Lower left: tuning and null in Hz, "
            "0 to 100, against weights, 0 to 300 g: both fall. Lower right: the same against "
            "compliance, 0.1 to 3 mm/N, log axis: the tuning levels off while the null keeps "
            "falling."
        ),
        code=(
            "from dataclasses import replace\n"
            "from boxlab import RadiatorBox, grams, litres, mm_per_newton\n"
            "from boxlab.gear.scenario import TEN_INCH_RADIATOR\n"
            f"radiator = replace(TEN_INCH_RADIATOR, cms=mm_per_newton({softness:g}), "
            f"added_mass=grams({weights:g}))\n"
            f"print(radiator.fp, RadiatorBox(litres({volume:g}), radiator).tuning())"
        ),
    )


def _at_the_null(drop):
    # without friction the sum is zero, or what rounding leaves of it
    if drop > 200:
        return "At the null nothing is left: the radiator has no friction"
    return f"At the null the box is {drop:.0f} dB under the same box with a port"


def _level(r, port, fb, null):
    return against_frequency(
        "Sound level at 1 m, half space",
        "level, dB re 20 µPa",
        (40, 120),
        (
            Line(FREQUENCY, port.spl, "sum", "port", "ported"),
            Line(FREQUENCY, r.spl, "sum", "radiator", "radiator"),
        ),
        (Mark(null, f"null {null:.1f} Hz", "vent"), Mark(fb, f"tuning {fb:.1f} Hz")),
    )


def _flows(r, fb, null):
    cone, vent = (1e3 * np.abs(u) for u in (r.cone_volume_velocity, r.vent_volume_velocity))
    return against_frequency(
        "Air moved: equal and opposite at the null",
        "volume flow, L/s rms",
        (0, 100),
        (
            Line(FREQUENCY, cone, "cone", "cone"),
            Line(FREQUENCY, vent, "vent", "radiator"),
            Line(FREQUENCY, 1e3 * np.abs(r.volume_velocity), "sum", "what is left"),
        ),
        (Mark(null, "null", "vent"), Mark(fb, "tuning")),
    )


def _against_weights(radiator, net, weights):
    loaded = radiator.with_mass(grams(WEIGHTS))
    return Plot(
        "More weights: both go down",
        "weights on the radiator, g",
        "frequency, Hz",
        (0, 300),
        (0, 100),
        (
            Line(WEIGHTS, RadiatorBox(net, loaded, radiator_count()).tuning(), "quiet", "tuning"),
            Line(WEIGHTS, loaded.fp, "vent", "null"),
        ),
        (Mark(weights, f"{weights:g} g"),),
        xscale="linear",
    )


def _against_softness(radiator, net, softness):
    softer = replace(radiator, cms=mm_per_newton(SOFTNESS))
    return Plot(
        "Softer: the null goes, the tuning stays",
        "compliance of the suspension, mm/N",
        "frequency, Hz",
        (0.1, 3),
        (0, 100),
        (
            Line(SOFTNESS, RadiatorBox(net, softer, radiator_count()).tuning(), "quiet", "tuning"),
            Line(SOFTNESS, softer.fp, "vent", "null"),
        ),
        (Mark(softness, f"{softness:g} mm/N"),),
    )


EXPLAINERS = (
    Explainer(
        name="null_of_the_radiator",
        question="Where does a radiator box go silent, and what moves that null?",
        controls=(
            Slider("softness", "Compliance of the suspension", 0.2, 2.0, 0.6, 0.05, "mm/N"),
            Slider("weights", "Weights on the radiator", 0, 300, 75, 5, "g"),
            Slider("volume", "Net volume", 10, 40, 14, 0.5, "L"),
            Slider("friction", "Friction of the suspension", 0.0, 6.0, 1.5, 0.5, "N s/m"),
        ),
        scene=scene,
        lesson="01-port-or-radiator.ipynb",
        anchor="Where-does-a-radiator-box-go-silent",
        answer=(
            "At the radiator's own resonance, with its weights, in free air: there the radiator "
            "takes in what the cone pushes out. A softer suspension moves the null down and away "
            "and leaves the tuning nearly where it was; weights move both."
        ),
        presets={
            "stiff": {"softness": 0.2, "weights": 100.0},
            "usual": {},
            "soft": {"softness": 2.0, "weights": 65.0},
        },
    ),
)
