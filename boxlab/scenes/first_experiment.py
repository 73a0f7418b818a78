"""The first experiment: weights on a radiator tune a box, and the cone rests at the tuning."""

from __future__ import annotations

import numpy as np

from boxlab.enclosure import RadiatorBox
from boxlab.response import solve
from boxlab.scenario import TEN_INCH_DRIVER, TEN_INCH_RADIATOR, USUAL_QL
from boxlab.scene import Explainer, Line, Mark, Number, Plot, Scene, Slider
from boxlab.scenes import _shared as shared
from boxlab.scenes._shared import FREQUENCY
from boxlab.units import grams, litres, to_mm

VOLTS = 20.0
FINE = np.geomspace(20, 120, 3001)  # Hz, for the place where the cone moves least


def scene(volume, weights) -> Scene:
    """The ten-inch demo driver and radiator in `volume` L with `weights` g."""
    driver = TEN_INCH_DRIVER
    box = RadiatorBox(litres(volume), TEN_INCH_RADIATOR.with_mass(grams(weights)), ql=USUAL_QL)
    fb = float(box.tuning())
    r = solve(driver, box, FREQUENCY, VOLTS)
    near = FINE[np.abs(FINE / fb - 1) < 0.3]
    travel = solve(driver, box, near, VOLTS).cone_excursion
    least, rest = float(near[travel.argmin()]), float(to_mm(travel.min()))
    an_octave = float(to_mm(solve(driver, box, fb / 2, VOLTS).cone_excursion.item()))
    return Scene(
        title=f"{volume:g} L with {weights:g} g on the radiator",
        plots=(
            Plot(
                "How loud",
                "frequency, Hz",
                "level at 1 m, dB re 20 µPa",
                (10, 200),
                (60, 120),
                (Line(FREQUENCY, r.spl, "sum", "box", "radiator"),),
                (Mark(fb, f"tuning {fb:.1f} Hz"),),
            ),
            Plot(
                "How far they move",
                "frequency, Hz",
                "excursion, mm peak",
                (10, 200),
                (0, 25),
                (
                    Line(FREQUENCY, to_mm(r.cone_excursion), "cone", "cone"),
                    Line(FREQUENCY, to_mm(r.vent_excursion), "vent", "radiator"),
                ),
                (Mark(fb, "tuning"),),
            ),
        ),
        readout=(
            f"This box is tuned to {fb:.1f} Hz. The cone moves least at {least:.1f} Hz: "
            f"{rest:.1f} mm. An octave lower it moves {an_octave:.1f} mm.",
        ),
        numbers=(
            shared.volume_number("net volume", box.volume),
            shared.mass_number("weights on the radiator", grams(weights)),
            shared.hertz("tuning", fb),
            shared.hertz("cone moves least at", least),
            shared.travel_number("cone travel there", rest / 1e3),
            shared.travel_number("cone travel an octave below tuning", an_octave / 1e3),
            Number("drive", f"{VOLTS:g} V"),
        ),
        caption=(
            f"A ten-inch driver and a ten-inch radiator in {volume:g} L "
            f"({shared.cubic_feet_text(volume)}) at {VOLTS:g} V, with {weights:g} g "
            f"({shared.ounces_text(weights)}) of weights on the radiator. The cone has its rest at "
            f"the tuning, {fb:.1f} Hz, where the radiator does the work."
        ),
        alt=(
            "Two plots against frequency, 10 to 200 Hz, log axis. Left: level in dB re 20 µPa, 60 "
            "to 120, rising from the left and flat on the right. Right: excursion in millimetres, "
            "0 to 25, of cone and radiator; the cone's curve has a deep dip at the tuning, "
            f"{fb:.1f} Hz."
        ),
        code=(
            "from boxlab import RadiatorBox, grams, litres\n"
            "from boxlab.scenario import TEN_INCH_RADIATOR\n"
            f"radiator = TEN_INCH_RADIATOR.with_mass(grams({weights:g}))\n"
            f"print(RadiatorBox(litres({volume:g}), radiator).tuning())"
        ),
    )


EXPLAINERS = (
    Explainer(
        name="first_experiment",
        question="How do weights tune a box, and where does its cone rest?",
        controls=(
            Slider("weights", "Weights on the radiator", 0, 300, 75, 5, "g",
                   imperial=shared.ounces_text),
            Slider("volume", "Net volume", 8, 40, 14, 0.5, "L", imperial=shared.cubic_feet_text),
        ),
        scene=scene,
        lesson="00-start-here.ipynb",
        anchor="Your-first-experiment",
        answer=(
            "More weight or more volume tunes a radiator box lower. At the tuning the cone nearly "
            "stands still and the radiator does the work."
        ),
    ),
)  # fmt: skip
