"""What the instructors' page says to expect of a bottle, a spring and washers."""

import numpy as np
from said import claim

from boxlab import disc_area, litres, mm
from boxlab.base.units import to_grams
from boxlab.car.restraint import GRAVITY
from boxlab.measure.fit.radiator_mass import WASHERS
from boxlab.model.port_equivalent import usual_length

BOTTLE, NECK, LONG = litres(0.75), disc_area(mm(18)), mm(80)


def note(volume):
    """Hz at which the neck is as long as a port tuned to it, by the model of a port."""
    f = np.linspace(20, 400, 38001)
    length = [usual_length(volume, each, NECK) for each in f]
    return float(np.interp(-LONG, -np.array(length), f))


def test_a_bottle_is_a_port_and_its_box():
    whole, half = note(BOTTLE), note(BOTTLE / 2)
    claim(
        "A wine bottle of {} L, its neck {} mm wide and {} mm long: blow across it, pour in water",
        0.75, 18, 80,
    )  # fmt: skip
    claim("About {} Hz; with half the air {} times that, {} Hz", whole, half / whole, half)
    # The resonator of Helmholtz, by hand, with 1.46 radii for the ends.
    by_hand = 343.4 / (2 * np.pi) * np.sqrt(NECK / (BOTTLE * (LONG + 1.4615 * mm(9))))
    assert abs(whole / by_hand - 1) < 0.005


def test_a_spring_swings_by_its_stretch_alone():
    """k·x = m·g, and T = 2π·√(m/k): the mass cancels."""
    ten = [20 * np.pi * np.sqrt(mm(x) / GRAVITY) for x in (50, 100)]
    claim("Hang washers on a spring until it is {} mm longer", 50)
    claim("Then twice the washers: {} mm", 2 * 50)
    claim("weights lower a tuning, by the root. {} s, then {} s, whatever the spring", *ten)


def test_washers_by_the_dozen():
    each = float(to_grams(WASHERS["M16"].mass))
    claim("come to about {} g each by the class's own figure", each)
    claim("{} g are {}, {} g are {}", 175, round(175 / each), 418, round(418 / each))
