"""The first experiment: weights tune a box, and the cone moves least at the tuning."""

from __future__ import annotations

import numpy as np

from boxlab.base.units import grams, litres, to_mm
from boxlab.draw.scene import Choice, Explainer, Line, Mark, Number, Scene, Slider
from boxlab.explainers import _shared as shared
from boxlab.explainers._cuts import cut
from boxlab.explainers._shared import FREQUENCY, against_frequency
from boxlab.gear.shelf import DRIVERS, RADIATORS, leak, radiator_count
from boxlab.model.enclosure import RadiatorBox
from boxlab.model.response import solve

VOLTS = 20.0
FINE = np.geomspace(20, 120, 3001)  # Hz, for the place where the cone moves least


def scene(weights, volume, driver, radiator) -> Scene:
    """Demo gear of these sizes in `volume` L with `weights` g on the radiator."""
    sizes, unit = (driver, radiator), RADIATORS[radiator]
    driver = DRIVERS[driver]
    n, net = radiator_count(radiator), litres(volume)
    box = RadiatorBox(net, unit.with_mass(grams(weights)), n, leak(radiator))
    bare = RadiatorBox(net, unit, n)
    fb = float(box.tuning())
    swept = n * unit.sd * unit.xmax / driver.vd
    r = solve(driver, box, FREQUENCY, VOLTS)
    near = FINE[np.abs(FINE / fb - 1) < 0.3]
    if not len(near):
        near = fb * np.geomspace(0.7, 1.3, 401)
    travel = solve(driver, box, near, VOLTS).cone_excursion
    least, rest = float(near[travel.argmin()]), float(to_mm(travel.min()))
    an_octave = float(to_mm(solve(driver, box, fb / 2, VOLTS).cone_excursion.item()))
    return Scene(
        shows={"radiator": r},
        cutaway=cut(driver, box, fb, VOLTS),
        title=f"{volume:g} L with {weights:g} g on the radiator",
        plots=(
            against_frequency(
                "How far they move",
                "excursion, mm peak",
                (0, 25),
                (
                    Line(FREQUENCY, to_mm(r.cone_excursion), "cone", "cone"),
                    Line(FREQUENCY, to_mm(r.vent_excursion), "vent", "radiator"),
                ),
                (Mark(fb, "tuning"),),
            ),
            against_frequency(
                "How loud",
                "level at 1 m, dB re 20 µPa",
                (60, 120),
                (Line(FREQUENCY, r.spl, "sum", "box", "radiator"),),
                (Mark(fb, f"tuning {fb:.1f} Hz"),),
            ),
        ),
        readout=(
            f"This box is tuned to {fb:.1f} Hz. The cone moves least at {least:.1f} Hz: "
            f"{rest:.1f} mm. An octave lower it moves {an_octave:.1f} mm, "
            f"both at {VOLTS:g} V.",
        ),
        numbers=(
            shared.volume_number("net volume", box.volume),
            shared.mass_number("weights on the radiator", grams(weights)),
            shared.hertz("tuning", fb),
            shared.hertz("tuning with no weights", float(bare.tuning())),
            shared.hertz("cone moves least at", least),
            shared.travel_number("cone travel there", rest / 1e3),
            shared.travel_number("cone travel an octave below tuning", an_octave / 1e3),
            Number("radiator's Sd·Xmax over the driver's", f"{swept:.2f}"),
            Number("drive", f"{VOLTS:g} V"),
        ),
        caption=(
            f"{shared.one(sizes[0]).capitalize()} driver and {shared.one(sizes[1])} radiator in "
            f"{volume:g} L ({shared.cubic_feet_text(volume)}) at {VOLTS:g} V, with {weights:g} g "
            f"({shared.ounces_text(weights)}) of weights on the radiator. The cone moves least at "
            f"the tuning, {fb:.1f} Hz, where the radiator does the work."
        ),
        alt=(
            "Two plots against frequency, 10 to 200 Hz, log axis. Left: excursion in millimetres, "
            "0 to 25, of cone and radiator; the cone's curve has a deep dip at the tuning, "
            f"{fb:.1f} Hz. Right: level in dB re 20 µPa, 60 to 120, rising from the left and flat "
            "further up."
        ),
        code=(
            "from boxlab import RadiatorBox, grams, litres\n"
            "from boxlab.gear.scenario import RADIATORS\n"
            f"radiator = RADIATORS[{sizes[1]!r}].with_mass(grams({weights:g}))\n"
            f"print(RadiatorBox(litres({volume:g}), radiator).tuning())"
        ),
    )


EXPLAINERS = (
    Explainer(
        name="first_experiment",
        question="How do weights tune a box, and where does its cone rest?",
        controls=(
            Slider("weights", "Weights on the radiator", 0, 300, 75, 5, "g"),
            Slider("volume", "Net volume", 8, 40, 14, 0.5, "L"),
            Choice("driver", "Driver", tuple(DRIVERS), "ten-inch", more=True),
            Choice("radiator", "Radiator", tuple(RADIATORS), "ten-inch", more=True),
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
