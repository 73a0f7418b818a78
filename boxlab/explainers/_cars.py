"""Cabins of no car in particular, and what the explainers of the cabin share."""

from __future__ import annotations

from types import MappingProxyType

import numpy as np

from boxlab.base.units import to_feet
from boxlab.car.vehicle import Cabin
from boxlab.draw.scene import Choice, Slider

# Inside length, width, height in m: invented, of plausible size.
CARS = MappingProxyType(
    {
        "small hatchback": Cabin(2.1, 1.35, 1.15),
        "saloon": Cabin(2.6, 1.45, 1.15),
        "estate": Cabin(3.3, 1.45, 1.15),
        "van": Cabin(4.2, 1.65, 1.45),
    }
)
TRADE_WORDS = "A saloon is a sedan, an estate a station wagon."
CAR = Choice("car", "Cabin (invented)", tuple(CARS), "saloon", help=TRADE_WORDS)
FREQUENCY = np.geomspace(10, 200, 241)  # Hz
FREQUENCY.flags.writeable = False


def feet_text(metres):
    """Metres as "8.5 ft", for beside a slider."""
    return f"{to_feet(metres):.1f} ft"


def sizes_text(cabin):
    """A cabin's sizes in both systems."""
    metres = " × ".join(f"{side:.2f}" for side in (cabin.length, cabin.width, cabin.height))
    inches = " × ".join(
        f"{to_feet(side):.1f}" for side in (cabin.length, cabin.width, cabin.height)
    )
    return f"{metres} m ({inches} ft)"


def metre_slider(name, label, low, high, start, step=0.05, **more):
    """A slider for a length of the size of a cabin."""
    return Slider(name, label, low, high, start, step, "m", **more)
