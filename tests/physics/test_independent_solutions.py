"""The solved response against routes that share none of its algebra.

A matrix of Kirchhoff's and Newton's laws, ngspice on a netlist of the same circuit, and an
integration in time that settles to the same amplitudes and phases.
"""

import numpy as np
import pytest
from independent import (
    NGSPICE,
    circuit,
    matrix_solution,
    netlist,
    ngspice_solution,
    settled_solution,
)

from boxlab import Air, Driver, Port, PortedBox, Radiator, RadiatorBox, SealedBox, solve

FIELDS = (
    "impedance",
    "cone_velocity",
    "cone_volume_velocity",
    "vent_volume_velocity",
    "leak_volume_velocity",
    "box_pressure",
    "pressure",
)


def compare(driver, box, frequency, want, tolerance, *, air, **drive):
    """Every complex quantity, so magnitude and phase at once."""
    r = solve(driver, box, frequency, air=air, **drive)
    # Where vent and cone cancel, the sum is judged against its parts: no route keeps more.
    parts = sum(np.abs(want[k]) for k in FIELDS[2:5])
    scale = 2 * np.pi * np.abs(frequency) * air.density / (2 * np.pi) * parts
    for field in FIELDS:
        got = np.asarray(getattr(r, field))
        reference = np.abs(want[field])
        if field == "pressure":
            reference = np.maximum(reference, 1e-3 * scale)
        error = np.abs(got - want[field])
        worst = np.max(error - tolerance * reference)
        assert worst <= 0, f"{field}: off by {np.max(error / np.maximum(reference, 1e-300)):.2e}"


def random_case(rng):
    """A driver from a four-inch to an eighteen-inch, in any of the three boxes."""
    log = lambda low, high: float(np.exp(rng.uniform(np.log(low), np.log(high))))  # noqa: E731
    driver = Driver(
        re=log(1.5, 8), le=log(1e-5, 4e-3) * rng.integers(2), bl=log(4, 30), mms=log(8e-3, 0.5),
        cms=log(5e-5, 1.5e-3), rms=log(0.3, 12), sd=log(5e-3, 0.12), xmax=0.01, pe=300.0,
        semi_k=log(1e-3, 0.3) * rng.integers(2), semi_n=rng.uniform(0.45, 0.95),
    )  # fmt: skip
    volume, ql = log(4e-3, 0.2), rng.choice([np.inf, log(3, 50)])
    count = int(rng.integers(1, 5))
    kind = rng.integers(3)
    if kind == 0:
        box = SealedBox(volume)
    elif kind == 1:
        box = PortedBox(volume, Port(log(1e-3, 0.03), log(0.05, 0.9), log(0.01, 0.1)), count, ql)
    else:
        radiator = Radiator(
            sd=log(8e-3, 0.12), mms=log(0.03, 0.8), cms=log(8e-5, 3e-3), rms=log(0.2, 8),
            xmax=0.02, added_mass=log(1e-3, 0.8) * rng.integers(2),
        )  # fmt: skip
        box = RadiatorBox(volume, radiator, count, ql)
    air = Air(temperature=rng.uniform(-5, 40), humidity=rng.uniform(0, 1))
    drive = {
        "voltage": log(0.1, 60),
        "source_resistance": log(0.01, 1.0) * float(rng.integers(2)),
    }
    return driver, box, air, drive


@pytest.mark.filterwarnings("ignore::boxlab.base.checks.UnitWarning")
@pytest.mark.parametrize("seed", range(20))
def test_against_a_matrix_of_the_laws(seed):
    # derived: numpy.linalg.solve of the laws themselves, 400 random boxes
    rng = np.random.default_rng(seed)
    frequency = np.geomspace(5, 500, 60)
    for _ in range(20):
        driver, box, air, drive = random_case(rng)
        want = matrix_solution(circuit(driver, box, air, **drive), frequency)
        compare(driver, box, frequency, want, 1e-9, air=air, **drive)


def demo(semi_k=0.0):
    return Driver(
        re=3.4, le=1.1e-3, bl=11.5, mms=0.125, cms=2.1e-4, rms=2.4, sd=0.0335, xmax=0.012, pe=400.0,
        semi_k=semi_k, semi_n=0.62,
    )  # fmt: skip


RADIATOR = Radiator(sd=0.0335, mms=0.21, cms=3.1e-4, rms=1.3, xmax=0.02, added_mass=0.08)
BOXES = {
    "sealed": SealedBox(0.0142),
    "ported": PortedBox(0.0401, Port(0.0079, 0.31, 0.07), ql=7.0),
    "two ports": PortedBox(0.0401, Port(0.0046, 0.33, 0.05), count=2),
    "radiator": RadiatorBox(0.0142, RADIATOR, ql=12.0),
    "two radiators": RadiatorBox(0.0198, RADIATOR, count=2),
}


@pytest.mark.skipif(
    NGSPICE is None, reason="ngspice is not installed (Debian: apt install ngspice)"
)
@pytest.mark.parametrize("semi_k", [0.0, 0.05], ids=["coil L", "coil L and semi-inductance"])
@pytest.mark.parametrize("name", BOXES)
def test_against_ngspice(name, semi_k):
    # reference program: ngspice, AC analysis of the circuit as a netlist
    driver, box, air = demo(semi_k), BOXES[name], Air(temperature=25.0)
    frequency = np.geomspace(8, 400, 40)
    drive = {"voltage": 7.3, "source_resistance": 0.12}
    want = ngspice_solution(circuit(driver, box, air, **drive), frequency)
    compare(driver, box, frequency, want, 1e-6, air=air, **drive)


def test_netlist_has_one_branch_for_each_vent():
    text = netlist(circuit(demo(), BOXES["two radiators"], Air()), [40.0], "out")
    assert text.count("\nLp") == 2 and text.count("\nCp") == 2


@pytest.mark.parametrize("frequency", [24.0, 61.0])
@pytest.mark.parametrize("name", ["sealed", "ported", "radiator"])
def test_against_integration_in_time(name, frequency):
    # reference: scipy.integrate.solve_ivp of the equations of motion, until only the sine is left
    driver, box, air = demo(), BOXES[name], Air()
    c = circuit(driver, box, air, voltage=5.0)
    want = settled_solution(c, frequency, seconds=2.0)
    at = np.array([frequency])
    compare(driver, box, at, {k: np.atleast_1d(v) for k, v in want.items()}, 1e-6, air=air,
            voltage=5.0)  # fmt: skip
