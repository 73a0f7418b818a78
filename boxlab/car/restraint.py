"""What holding a box takes when the car stops short: a force, in newtons and in kilograms' weight.

In a crash the car stops and a loose box does not. Whatever holds it must give it the deceleration
of the car, and more where it is slack and the box arrives late. Rules for securing loads differ
from country to country; the vehicle maker says which points of the body may be used.
"""

from __future__ import annotations

from numpy.typing import ArrayLike

from boxlab.base.array_types import Values
from boxlab.base.checks import positive, suspect

GRAVITY = 9.80665  # m/s², standard

# Kept as a round figure to design for. From memory: United States rule 49 CFR 571.207 asks seats
# to bear 20 times their own weight.
CRASH = 20 * GRAVITY  # m/s²
_SPEED = "It is in m/s: 50 km/h is 50 / 3.6."
_DISTANCE = "It is in metres: how far the car's front crushes."


def mean_deceleration(speed: ArrayLike, distance: ArrayLike) -> Values:
    """Mean deceleration, m/s², of a stop from `speed` m/s within `distance` m.

    Formula: a = v²/(2·s)

    Derived: constant deceleration. The peak of a real crash is higher.

    >>> round(mean_deceleration(50 / 3.6, 0.6) / GRAVITY, 1)
    16.4
    """
    speed = positive("speed", speed, _SPEED)
    distance = positive("distance", distance, _DISTANCE)
    suspect("speed", speed, 0.5, 45, _SPEED)
    suspect("distance", distance, 0.02, 10, _DISTANCE)
    return speed**2 / (2 * distance)


def holding_force(mass: ArrayLike, deceleration: ArrayLike = CRASH) -> Values:
    """Force, N, that gives `mass` kg this deceleration in m/s²; 20 times gravity if left out.

    >>> round(holding_force(16))
    3138

    Parameters
    ----------
    mass : kg
    deceleration : m/s²
    """
    mass = positive("mass", mass, "Mass is in kg.")
    suspect("mass", mass, 0.1, 500, "Mass is in kg.")
    deceleration = positive("deceleration", deceleration, "It is in m/s²; one g is 9.81.")
    suspect("deceleration", deceleration, 2, 2000, "It is in m/s²; 20 times gravity is 196.")
    return mass * deceleration
