"""Leak, absorption and friction of a box, against the laws, ngspice, poles and energy."""

from dataclasses import replace

import numpy as np
import pytest
from independent import NGSPICE, circuit, matrix_solution, ngspice_solution
from test_independent_solutions import compare, demo

from boxlab import (
    Air,
    MixedRadiatorBox,
    Port,
    PortedBox,
    Radiator,
    RadiatorBox,
    SealedBox,
    solve,
    total_q,
    vent_q,
    with_vent_q,
)
from boxlab.model.port_loss import _with_friction

FREQUENCY = np.geomspace(8, 300, 50)
PORT = Port(0.0079, 0.31, 0.07)
RADIATOR = Radiator(sd=0.0335, mms=0.21, cms=3.1e-4, rms=1.3, xmax=0.02, added_mass=0.08)
BOXES = {
    "port, absorption": PortedBox(0.04, PORT, 2, qa=12.0),
    "port, friction": PortedBox(0.04, PORT, 2, qp=9.0),
    "port, all three": PortedBox(0.04, PORT, ql=7.0, qa=30.0, qp=15.0),
    "radiators, both": RadiatorBox(0.02, RADIATOR, 2, ql=9.0, qa=20.0),
}


def laws(box, air, **drive):
    """Plain numbers, with each loss by Small's own definition at the circuit's own tuning."""
    return circuit(demo(), box, air, **drive)


@pytest.mark.parametrize("box", BOXES.values(), ids=BOXES)
def test_each_loss_is_in_its_own_place(box):
    # derived: a matrix of the laws, each resistance in its own row
    air = Air(temperature=28.0)
    want = matrix_solution(laws(box, air), FREQUENCY)
    compare(demo(), box, FREQUENCY, want, 1e-9, air=air)


@pytest.mark.skipif(NGSPICE is None, reason="ngspice is not installed")
def test_against_ngspice():
    # reference program: ngspice, a resistor each for leak, absorption and friction
    box, air = BOXES["port, all three"], Air()
    want = ngspice_solution(laws(box, air), FREQUENCY)
    compare(demo(), box, FREQUENCY, want, 1e-6, air=air)


def test_unlike_radiators_absorb_as_well():
    box = MixedRadiatorBox.weighted(0.02, RADIATOR, [0.08, 0.0], qa=20.0)
    air = Air()
    want = matrix_solution(circuit(demo(), box, air), FREQUENCY)
    compare(demo(), box, FREQUENCY, want, 1e-9, air=air)


@pytest.mark.parametrize("ql, qa, qp", [(90, 140, 200), (np.inf, 80, np.inf), (60, np.inf, 60)])
def test_qs_add_up_as_their_inverses_to_the_q_of_the_ringing_box(ql, qa, qp):
    # derived: roots of the box with the cone held, Σ flows = 0, by numpy.roots; for small losses
    box, air = PortedBox(0.04, PORT, ql=ql, qa=qa, qp=qp), Air()
    c = box.volume / (air.density * air.speed_of_sound**2)
    m = air.density * (PORT.length + PORT.end_correction) / PORT.area
    wb = 1 / np.sqrt(m * c)
    leak, absorbed, friction = wb * c / ql, 1 / (wb * c * qa), 1 / (wb * c * qp)
    # leak + sC/(1 + sCRa) + 1/(Rp + sM) = 0, multiplied out
    poles = np.roots([
        leak * c * absorbed * m + c * m,
        leak * (m + c * absorbed * friction) + c * friction + c * absorbed,
        leak * friction + 1,
    ])  # fmt: skip
    ring = poles[poles.imag > 0][0]
    assert np.abs(ring) / (-2 * ring.real) == pytest.approx(total_q(box, air), rel=2e-3)
    # and the vent moves QB times what the cone does at the tuning
    r = solve(demo(), box, box.tuning(air), air=air)
    ratio = np.abs(r.vent_volume_velocity / r.cone_volume_velocity)
    assert ratio == pytest.approx(total_q(box, air), rel=2e-3)


def test_power_goes_into_the_absorption_too():
    # energy: |flow into the air|² times the resistance in series with it
    driver, box = demo(), PortedBox(0.04, PORT, ql=7.0, qa=30.0, qp=15.0)
    r = solve(driver, box, FREQUENCY, 10.0)
    spent = np.abs(r.current) ** 2 * driver.re + np.abs(r.cone_velocity) ** 2 * driver.rms
    spent = spent + np.abs(r.box_pressure) ** 2 * box.leak_conductance()
    spent = spent + np.abs(r.volume_velocity) ** 2 * box.absorption()
    spent = spent + np.abs(r.vent_volume_velocity) ** 2 * box.vent().resistance
    np.testing.assert_allclose(r.power, spent, rtol=1e-9)


def test_an_exact_null_stays_exact_with_absorption():
    exact = Radiator(sd=0.03125, mms=0.125, cms=1 / (0.125 * 128.0**2), rms=0.0)
    driver = replace(demo(), bl=16.0, sd=0.03125)
    r = solve(driver, RadiatorBox(0.02, exact, qa=20.0), 128.0 / (2 * np.pi))
    assert r.box_pressure == 0 and r.pressure == 0
    assert r.vent_volume_velocity == -r.cone_volume_velocity


def test_group_delay_is_the_slope_of_the_phase_with_absorption():
    # derived: central differences of the solved phase
    f, step = np.geomspace(12, 150, 40), 1e-5
    box = PortedBox(0.04, PORT, ql=7.0, qa=10.0, qp=15.0)
    ends = [solve(demo(), box, f * (1 + s), distance=1e-9) for s in (-step, step)]
    turn = np.angle(ends[1].pressure * np.conj(ends[0].pressure))
    want = -turn / (2 * np.pi * 2 * step * f)
    np.testing.assert_allclose(solve(demo(), box, f).group_delay, want, rtol=1e-5, atol=1e-8)


def test_no_loss_and_hardly_any_are_the_same():
    plain = solve(demo(), PortedBox(0.04, PORT, ql=7.0), FREQUENCY)
    hardly = solve(demo(), PortedBox(0.04, PORT, ql=7.0, qa=1e9, qp=1e9), FREQUENCY)
    np.testing.assert_allclose(hardly.pressure, plain.pressure, rtol=1e-6)
    designs = PortedBox(0.04, PORT, ql=7.0, qa=[np.inf, 20.0], qp=[np.inf, 30.0])
    both = solve(demo(), designs, FREQUENCY)
    np.testing.assert_allclose(both.pressure[0], plain.pressure, rtol=1e-14)
    one = solve(demo(), PortedBox(0.04, PORT, ql=7.0, qa=20.0, qp=30.0), FREQUENCY)
    np.testing.assert_allclose(both.pressure[1], one.pressure, rtol=1e-14)


def test_friction_turns_into_a_q_and_back():
    box = RadiatorBox(0.02, RADIATOR, 2)
    # by hand: ωb·C_AB of the box, and n frictions over the square of n areas
    turn = 2 * np.pi * box.tuning() * 0.02 / (Air().density * Air().speed_of_sound ** 2)
    want = 1 / (turn * 2 * 1.3 / (2 * 0.0335) ** 2)
    assert vent_q(box) == pytest.approx(want)
    assert with_vent_q(box, want).radiator.rms == pytest.approx(1.3)
    assert with_vent_q(PortedBox(0.04, PORT), 40).qp == 40
    assert vent_q(PortedBox(0.04, PORT)) == np.inf
    assert with_vent_q(box, np.inf).radiator.rms == 0


def test_a_port_that_loses_by_speed_keeps_its_other_losses():
    box = BOXES["port, all three"]
    air = _with_friction(box, 0.0, Air())
    np.testing.assert_allclose(
        solve(demo(), air, FREQUENCY).pressure, solve(demo(), box, FREQUENCY).pressure, rtol=1e-9
    )


def test_bad_losses_are_refused_in_words():
    with pytest.raises(ValueError, match=r"qa must be above zero.*QA is the absorption"):
        PortedBox(0.04, PORT, qa=0)
    with pytest.raises(ValueError, match="qp must be above zero"):
        PortedBox.tuned(0.04, 30, 0.004, qp=-5)
    with pytest.raises(ValueError, match="got SealedBox"):
        vent_q(SealedBox(0.02))
    with pytest.raises(ValueError, match="vents that are alike"):
        total_q(MixedRadiatorBox.weighted(0.02, RADIATOR, [0.08, 0.0]))
    with pytest.raises(ValueError, match="q must be above zero"):
        with_vent_q(RadiatorBox(0.02, RADIATOR), 0)
