"""The numbers in the glossary's sentences: what each value is worked out at, and definitions."""

import re

import numpy as np
import pytest
from said import claim, pages

from boxlab.base.units import disc_area, inches, litres
from boxlab.car.cable import PER_KELVIN, awg_area
from boxlab.car.vehicle import Cabin
from boxlab.model.air import Air
from boxlab.model.chain import Chain
from boxlab.model.enclosure import PortedBox
from boxlab.model.filters import HighPass, Peak
from boxlab.model.limits import max_output
from boxlab.model.mixed_radiators import MixedRadiatorBox
from boxlab.model.port_ends import corner_cut
from boxlab.model.response import solve
from boxlab.model.validity import PORT_SPEED, inside_edges
from boxlab.publish.glossary_entry import FB, gear
from boxlab.publish.terms import TERMS
from boxlab.sound.hearing import dose, weighting

DRIVER, RADIATOR_BOX, PORTED = gear()
HALF, TWICE = 10 * np.log10(2), 20 * np.log10(2)  # dB: twice the power, twice the pressure


def value(anchor):
    (term,) = (t for terms in TERMS.values() for t in terms if t.anchor == anchor)
    return float(term.value())


def at(frequency, volts, name):
    return float(getattr(solve(DRIVER, RADIATOR_BOX, np.array([frequency]), volts), name)[0])


def test_driver_and_box():
    hotter = 100
    claim("The value is the most that {} K cost", hotter)
    assert value("warm-coil") == pytest.approx(20 * np.log10(1 + PER_KELVIN * hotter))
    wide = 3  # in
    port = PortedBox.tuned(litres(14), FB, disc_area(inches(wide)), ql=7, max_length=3).port
    claim("The value is the length of a round {} in port for the box here", wide)
    claim("The value is that of the {} in port", wide)
    assert value("port") == pytest.approx(port.length)
    assert value("end-correction") == pytest.approx(port.end_correction)
    assert value("pipe") == pytest.approx(343.2 / 2 / (port.length + port.end_correction), rel=1e-3)
    volume, on = 20, 150  # L, g
    two = MixedRadiatorBox.weighted(litres(volume), RADIATOR_BOX.radiator, [on / 1e3, 0.0])
    claim("the upper tuning of two in {} L, {} g on one and nothing on the other", volume, on)
    assert value("unequal") == pytest.approx(two.tuning(Air()))
    net = 14
    claim("The value is for {} L of usual shape", net)
    edge = inside_edges(litres(net))[0]
    assert value("standing-wave") == pytest.approx(Air().speed_of_sound / 2 / edge)
    claim("stays within {} dB of what it is higher up. The value is that of the radiator box", HALF)


def test_response():
    volts, near = 2.83, 1
    claim(
        "{} dB is twice the pressure. The value is at the tuning, at {} V and {} m",
        TWICE,
        volts,
        near,
    )
    assert value("spl") == pytest.approx(at(FB, volts, "spl"), abs=0.01)
    claim("Levels here are for that, {} m away", near)
    hertz = 50
    claim("The value is at {} Hz and {} V", hertz, volts)
    assert value("excursion") == pytest.approx(at(hertz, volts, "cone_excursion"), rel=1e-3)
    loud = 20
    claim(
        "Above about {} m/s it may be heard (Small 1973; the figure from memory). The value is at "
        "the tuning and {} V",
        PORT_SPEED,
        loud,
    )
    assert value("air-speed") == pytest.approx(
        solve(DRIVER, PORTED, np.array([FB]), loud).vent_air_speed[0]
    )
    claim("A quarter cycle is {}°", 360 / 4)
    watts = 300
    claim("the loudest steady tone at the tuning with {} W into Re", watts)
    top = max_output(DRIVER, RADIATOR_BOX, np.array([FB]), power=watts, load=DRIVER.re).spl[0]
    assert value("limit") == pytest.approx(top)


def test_amplifier_and_cable():
    sine, music = (20 * np.log10(n) for n in (np.sqrt(2), 4))  # 4 to 10: Hansen Media
    claim("Music has {} dB or more, a sine {} dB", music, sine)
    first, fourth = (
        Chain(HighPass(1000.0, order=n)).gain_db(np.array([5.0, 10.0, 1000.0])) for n in (1, 4)
    )
    claim(
        "its corner, where it takes {} dB. Order 1 falls {} dB an octave beyond it, order 4 falls "
        "{}",
        -first[2],
        first[1] - first[0],
        fourth[1] - fourth[0],
    )
    corner, note = 30, 20
    claim(
        "The value is what {} dB an octave at {} Hz takes at {} Hz",
        fourth[1] - fourth[0],
        corner,
        note,
    )
    gone = -10 * np.log10(1 + (corner / note) ** 8)  # Butterworth, order 4
    assert value("high-pass") == pytest.approx(gone)
    middle = 40
    claim(
        "{} dB are twice the volts and four times the watts. The value is the width of one at {} "
        "Hz",
        TWICE,
        middle,
    )
    f = np.linspace(10, 160, 15001)
    db = Chain(Peak(middle, 6.0, 1.0)).gain_db(f)
    assert value("boost") == pytest.approx(np.ptp(f[db > db.max() / 2]), abs=0.05)
    left, rated = 12.0, 13.8
    claim("The value is {} V left of {} V", left, rated)
    assert value("supply-sag") == pytest.approx(20 * np.log10(left / rated))
    gauge = 4
    claim("The value is the copper of {} AWG", gauge)
    assert value("awg") == pytest.approx(awg_area(gauge))
    long = 2.6
    claim("The value is for {} m inside", long)
    assert value("first-mode") == pytest.approx(Cabin(length=long).first_mode())
    level = 94
    claim("The value is {} an hour at {} dBA by NIOSH", 0.5, level)
    assert value("dose") == pytest.approx(dose(level, 0.5 * 3600) / 100)
    tone = 40
    claim("The value is what the A curve takes from a {} Hz tone", tone)
    assert value("dba") == pytest.approx(weighting(tone))


def test_start_page_and_formula_sheet():
    claim("dB re 20 µPa | | {} dB is twice the pressure", TWICE)
    claim("Levels are for a point {} m away with the box on", 1)
    claim("First plot: level in dB re 20 µPa at {} m. Second plot", 1)
    claim("loudest steady tone in dB re 20 µPa at {} m against", 1)
    claim("the loudest level in dB re 20 µPa at {} m, with this", 1)
    claim("the loudest steady tone at {} m before", 1)
    claim("cone and port from close by, carried to {} m", 1)
    claim("a slope of {} dB for each doubling", TWICE)
    here, pushed = (
        solve(DRIVER, RADIATOR_BOX, 40.0),
        solve(DRIVER, RADIATOR_BOX, 40.0, distance=1.0),
    )
    assert here.spl == pytest.approx(pushed.spl)
    claim("High-pass of `order`, −{} dB at `frequency` Hz", HALF)
    claim("f3 corner at −{} dB", HALF)
    assert Chain(HighPass(50.0, order=3)).gain_db(50.0) == pytest.approx(-HALF)
    claim("What a sharp corner of {}° takes off", np.degrees(np.pi / 2))
    assert corner_cut(0.1) == pytest.approx(0.2 * np.log(2) / np.pi)
    cold = 20  # °C: copper's resistance is stated for it (IEC 60028, from memory)
    claim("when nothing moves, in K above {} °C", cold)
    claim("ΔT coil above {} °C", cold)


def test_a_cone_at_its_stop_is_never_said_of_one_at_its_xmax():
    """Stop: where a suspension ends. What the model counts for a cone is Xmax, before that."""
    said = re.compile(
        r"cones?\b(?: (?:and|or) radiators?)? (?:is|are|at)(?: at)? (?:its|their) stops?"
    )
    assert [(name, said.findall(text)) for name, text in pages().items() if said.search(text)] == []
