"""Where the model ends: each bound is a fraction of something that can be worked out alone."""

import numpy as np
import pytest
from scipy.optimize import brentq

from boxlab import Air, PortedBox, RadiatorBox, SealedBox, solve
from boxlab.base.units import cubic_feet, disc_area
from boxlab.gear.scenario import TEN_INCH_DRIVER, TEN_INCH_RADIATOR
from boxlab.model.validity import beyond, bounds, inside_edges

VOLUME = cubic_feet(0.5)
PORTED = PortedBox.tuned(VOLUME, 45, disc_area(0.1), ql=7, max_length=3)


def test_inside_edges_hold_the_volume_in_their_proportion():
    a, b, c = inside_edges(VOLUME)
    assert a * b * c == pytest.approx(VOLUME)
    assert (a / b, b / c) == (pytest.approx(8 / 6), pytest.approx(6 / 5))


def test_cone_bound_is_where_ka_is_one():
    (cone,) = [b for b in bounds(TEN_INCH_DRIVER, None) if b.part == "cone"]
    k = 2 * np.pi * cone.frequency / Air().speed_of_sound
    assert k * np.sqrt(TEN_INCH_DRIVER.sd / np.pi) == pytest.approx(1)


def test_box_bound_is_where_a_closed_duct_is_a_fifth_softer_than_a_spring():
    # derived: a closed duct of length L has stiffness kL·cot(kL) of the simple spring's
    (box,) = [b for b in bounds(TEN_INCH_DRIVER, SealedBox(VOLUME)) if b.part == "box"]
    kl = 2 * np.pi * box.frequency / Air().speed_of_sound * inside_edges(VOLUME)[0]
    assert 1 - kl / np.tan(kl) == pytest.approx(0.2, abs=0.03)


def test_port_bound_is_below_the_pipe_resonance():
    (port,) = [b for b in bounds(TEN_INCH_DRIVER, PORTED) if b.part == "port"]
    # derived: an open pipe's mass rises as tan(kL)/(kL); at this bound it is about a quarter up
    half_wave = PORTED.port.first_pipe_resonance()
    kl = brentq(lambda x: np.tan(x) / x - 4 / np.pi, 0.1, 1.5)
    assert port.frequency == pytest.approx(half_wave * kl / np.pi)


def test_bounds_come_lowest_first_and_say_why():
    found = bounds(TEN_INCH_DRIVER, PORTED)
    assert [b.frequency for b in found] == sorted(b.frequency for b in found)
    assert all(b.because for b in found)


def test_beyond_names_what_is_overdriven_and_where():
    frequency = np.geomspace(10, 100, 60)
    quiet = solve(TEN_INCH_DRIVER, PORTED, frequency, 1)
    assert beyond(quiet) == ()
    loud = beyond(solve(TEN_INCH_DRIVER, PORTED, frequency, 80))
    assert any(note.startswith("Cone past Xmax, its clean travel, from") for note in loud)
    assert any("Port air" in note for note in loud)
    assert any("Coil past its rated power Pe" in note for note in loud)
    box = RadiatorBox.tuned(VOLUME, 45, TEN_INCH_RADIATOR)
    notes = beyond(solve(TEN_INCH_DRIVER, box, frequency, 60))
    assert any("Radiator past" in note for note in notes)
