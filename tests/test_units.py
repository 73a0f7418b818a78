"""Unit conversions: exact by definition, and each way back."""

import numpy as np
import pytest

import boxlab
from boxlab.base import units

# International yard and pound agreement (1959): 1 in = 25.4 mm, 1 lb = 0.45359237 kg, exactly.
EXACT = [
    (units.inches(1), 0.0254),
    (units.feet(1), 0.3048),
    (units.cubic_feet(1), 0.028316846592),
    (units.cubic_inches(1), 1.6387064e-5),
    (units.square_inches(1), 6.4516e-4),
    (units.pounds(1), 0.45359237),
    (units.ounces(16), 0.45359237),
    (units.litres(1), 1e-3),
    (units.cm2(1), 1e-4),
    (units.mm_per_newton(1), 1e-3),
]


@pytest.mark.parametrize(("got", "expected"), EXACT)
def test_definitions(got, expected):
    assert got == pytest.approx(expected, rel=1e-14)


PAIRS = [name for name in vars(units) if "to_" + name in vars(units)]


def test_every_conversion_has_its_inverse():
    assert {name for name in dir(boxlab) if "to_" + name in dir(boxlab)} == set(PAIRS) != set()
    for name in PAIRS:
        there, back = getattr(units, name), getattr(units, "to_" + name)
        assert back(there(7.3)) == pytest.approx(7.3, rel=1e-14)
        np.testing.assert_allclose(back(there(np.array([1.0, 2.0]))), [1, 2], rtol=1e-14)
        assert there.__name__ == name
        assert there.__doc__


def test_disc_round_trip():
    assert units.disc_diameter(units.disc_area(0.1)) == pytest.approx(0.1)
    assert units.disc_area(2) == pytest.approx(np.pi)
