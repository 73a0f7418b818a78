"""A port that loses by its speed, against printed Q and the flow followed through time."""

import math
from functools import cache

import numpy as np
import pytest
from alignments import published
from scipy.integrate import solve_ivp

from boxlab import Air, Driver, Port, PortedBox, SealedBox
from boxlab.model.port_loss import (
    ROUNDED,
    SHARP,
    lost_in_port,
    port_q,
    speed_in_words,
    stroke,
)

DRIVER = Driver(re=3.4, le=0, bl=15, mms=0.115, cms=2.2e-4, rms=4.5, sd=0.0335)
BOX = PortedBox.tuned(0.03, 38.0, 0.006, max_length=3)
AIR = Air()


@pytest.mark.parametrize("row", published("port_q"), ids=lambda r: f"{r['speed']:g} m/s")
def test_printed_q_and_stroke(row):
    port = Port(0.005, 0.3, 0.0)
    assert port_q(port, 30, row["speed"]) == pytest.approx(row["q"], abs=0.051)
    assert 100 * stroke(30, row["speed"]) == pytest.approx(row["stroke_cm"], abs=0.051)


@cache
def by_time(frequency, voltage, k):
    """Fundamental of cone and port flow together, and of the port's air speed, by integration.

    Derived, apart from the library: Newton for cone and port air, with K/2 rho u |u| in the port.
    """
    port, w = BOX.port, 2 * np.pi * frequency
    compliance = BOX.volume / (AIR.density * AIR.speed_of_sound**2)
    mass = AIR.density * port.effective_length / port.area

    def slope(t, state):
        x, v, p, flow = state.tolist()
        current = (math.sqrt(2) * voltage * math.cos(w * t) - DRIVER.bl * v) / DRIVER.re
        force = DRIVER.bl * current - x / DRIVER.cms - DRIVER.rms * v + DRIVER.sd * p
        u = flow / port.area
        lost = k / 2 * AIR.density * u * abs(u)
        return [v, force / DRIVER.mms, -(DRIVER.sd * v + flow) / compliance, (p - lost) / mass]

    cycles, points = 60, 400
    t = np.arange((cycles - 10) * points, cycles * points) / points / frequency
    got = solve_ivp(slope, (0, cycles / frequency), [0] * 4, t_eval=t, rtol=1e-7, atol=1e-9).y
    turn = 2 * np.exp(-1j * w * t) / t.size
    return abs((DRIVER.sd * got[1] + got[3]) @ turn), abs(got[3] @ turn) / port.area


@pytest.mark.parametrize("frequency", [30.0, 38.0])
@pytest.mark.parametrize("k", [ROUNDED, SHARP])
def test_level_and_speed_by_integration_over_time(frequency, k):
    loss = lost_in_port(DRIVER, BOX, [frequency], 20.0, k=(k, k))
    smooth, _ = by_time(frequency, 20.0, 0.0)
    rough, speed = by_time(frequency, 20.0, k)
    # harmonics, which the fundamental of u |u| leaves out, cost a little
    assert loss.speed[0] == pytest.approx(speed, rel=0.02)
    assert loss.least[0] == pytest.approx(20 * np.log10(smooth / rough), abs=0.12)


def test_more_drive_costs_more_and_a_band_has_its_ends():
    f = np.geomspace(20, 120, 30)
    soft, loud = (lost_in_port(DRIVER, BOX, f, volts) for volts in (5.0, 20.0))
    assert (soft.most >= soft.least).all()
    near = np.argmin(abs(f - 38))
    assert 0 < soft.least[near] < loud.least[near] < loud.most[near] < 6
    assert abs(loud.most[-1]) < 0.1  # far above the tuning the port does nothing
    assert (loud.q < soft.q).all()


def test_where_it_stops_is_said():
    assert "no jet forms" in " ".join(lost_in_port(DRIVER, BOX, [38.0], 3.0).limits)
    assert "past the 30 m/s" in " ".join(lost_in_port(DRIVER, BOX, [38.0], 60.0).limits)
    assert lost_in_port(DRIVER, BOX, [30.0, 38.0], 20.0).limits == ()


@pytest.mark.parametrize(
    ("speed", "said"),
    [(5, "careful"), (10, "careful"), (14, "usual"), (20, "hear it"), (28, "loud"), (40, "beyond")],
)
def test_speeds_in_words(speed, said):
    assert said in speed_in_words(speed)


@pytest.mark.parametrize(
    ("call", "said"),
    [
        (lambda: lost_in_port(DRIVER, SealedBox(0.03), [38], 20), "PortedBox"),
        (lambda: lost_in_port(DRIVER, BOX, [0], 20), "Frequency is in hertz"),
        (lambda: lost_in_port(DRIVER, BOX, [38], 0), "Voltage is in volts"),
        (lambda: lost_in_port(DRIVER, BOX, [38], 20, k=(0, 1)), "1 to 1.5"),
        (lambda: lost_in_port(DRIVER, PortedBox([0.03, 0.04], BOX.port), [38], 20), "one driver"),
        (lambda: port_q(BOX.port, 38, 0), "m/s peak"),
        (lambda: speed_in_words(-3), "m/s peak"),
        (lambda: stroke(0, 3), "hertz"),
    ],
)
def test_bad_input_is_refused_in_words(call, said):
    with pytest.raises(ValueError, match=said):
        call()
