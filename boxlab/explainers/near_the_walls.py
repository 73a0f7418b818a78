"""Boundary loading: what one, two or three hard walls near a box do."""

from __future__ import annotations

from types import MappingProxyType

import numpy as np

from boxlab.car.vehicle import boundary_loading
from boxlab.draw.scene import Choice, Explainer, Line, Mark, Number, Plot, Scene, Slider
from boxlab.draw.surroundings import wall_cut
from boxlab.explainers import _cars as cars
from boxlab.explainers import _shared as shared
from boxlab.explainers._cars import FREQUENCY
from boxlab.explainers._shared import against_frequency

COUNT = MappingProxyType({"one: floor": 1, "two: floor and wall": 2, "three: a corner": 3})
DISTANCES = np.linspace(0.05, 3.0, 119)  # m


def over_floor(frequency, distances):
    """dB over a box standing on the floor alone: what half space has already is taken off."""
    return boundary_loading(frequency, distances) - boundary_loading(frequency, 0.0)


def scene(walls, distance, frequency) -> Scene:
    """A box at `distance` m from each of so many walls, one of them the floor."""
    count = COUNT[walls]
    curve = over_floor(FREQUENCY, [distance] * count)
    # Only frequency times distance counts: one call at 1 m serves all distances.
    by_place = over_floor(frequency * DISTANCES, [1.0] * count)
    now = float(over_floor(frequency, [distance] * count))
    most = float(over_floor(frequency, [0.0] * count))
    quarter = 343.2 / (4 * distance)
    return Scene(
        cutaway=wall_cut(count, distance),
        title=f"{walls}, {distance:g} m: {_signed(now)} dB at {frequency:g} Hz",
        plots=(_by_frequency(curve, frequency), _by_distance(by_place, distance)),
        readout=(
            f"At {frequency:g} Hz and {distance:g} m the power is {_signed(now)} dB against a box "
            "on the floor.",
            f"Right at the walls it would be {_signed(most)} dB. "
            + (
                "The floor alone is what every level here starts from: nothing to add."
                if count == 1
                else "Each further wall close by gives 3 dB of power, and 6 dB of level in the "
                f"space that is left: {count - 1} here."
            ),
            f"A quarter wave is {distance:g} m at {quarter:.0f} Hz; from there up the walls stop "
            "helping.",
            "Big hard walls outdoors or in a house. In a shut cabin below its first mode the lift "
            "has the walls in it already: never add the two.",
        ),
        numbers=(
            Number("walls, floor included", f"{count}"),
            Number("distance to each", f"{distance:.2f} m", cars.feet_text(distance)),
            Number(f"over a box on the floor, {frequency:g} Hz", f"{_signed(now)} dB"),
            Number("right at the walls", f"{_signed(most)} dB"),
            shared.hertz("distance is a quarter wave at", quarter),
        ),
        caption=(
            f"A small box {distance:g} m ({cars.feet_text(distance)}) from {count} hard "
            f"{'wall' if count == 1 else 'walls'} at right angles. Left, its power against the "
            f"same box on the floor, over frequency; right, at {frequency:g} Hz over distance."
        ),
        alt=(
            "Two plots of power in dB re a box on the floor, −10 to 10. Left: over frequency, 10 "
            f"to 200 Hz, from {_signed(float(curve[0]))} dB at 10 Hz, falling, with ripples. "
            f"Right: at {frequency:g} Hz over the distance from the walls, 0 to 3 m, falling from "
            f"{_signed(most)} dB."
        ),
        code=(
            "from boxlab.car.vehicle import boundary_loading\n"
            f"f, walls, floor = {frequency:g}, [{distance:g}] * {count}, 0.0\n"
            "print(boundary_loading(f, walls) - boundary_loading(f, floor))"
        ),
    )


def _signed(value):
    return f"{value + 0.0:+.1f}".replace("-", "−").replace("−0.0", "0.0").replace("+0.0", "0.0")


def _by_frequency(curve, frequency):
    return against_frequency(
        "Power, against a box on the floor",
        "power, dB re on the floor",
        (-10, 10),
        (Line(FREQUENCY, curve, "sum", "at that distance"),),
        (Mark(frequency, f"{frequency:g} Hz"), Mark(0.0, "", "quiet", "y")),
    )


def _by_distance(by_place, distance):
    return Plot(
        "At that note, nearer and further",
        "distance to each, m",
        "power, dB re on the floor",
        (0, 3),
        (-10, 10),
        (Line(DISTANCES, by_place, "sum", "that note"),),
        (Mark(distance, f"{distance:g} m"), Mark(0.0, "", "quiet", "y")),
        xscale="linear",
    )


EXPLAINERS = (
    Explainer(
        name="near_the_walls",
        gear=False,
        question="What does a wall near the box do?",
        controls=(
            Choice("walls", "Hard walls", tuple(COUNT), "three: a corner"),
            cars.metre_slider("distance", "Distance to each", 0.05, 3.0, 0.3),
            Slider("frequency", "Look at", 15, 160, 40, 1, "Hz"),
        ),
        scene=scene,
        lesson="08-in-the-car.ipynb",
        anchor="What-does-a-wall-near-the-box-do",
        answer=(
            "Each big hard wall much nearer than a quarter wave doubles the power, 3 dB, and puts "
            "6 dB on the level in the space that is left. Half space counts the floor already, so "
            "a corner is 6 dB more power. In a shut cabin it is in the lift: do not add it."
        ),
        presets={"free of the corner": {"distance": 1.5}},
    ),
)
