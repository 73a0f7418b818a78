"""Cabin lift against closed forms, a time-domain run and image sources."""

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from boxlab.base.checks import UnitWarning
from boxlab.car.cabin_waves import along_the_cabin
from boxlab.car.vehicle import (
    Cabin,
    at_seat,
    boundary_loading,
    cabin_lift,
    pressure_lift,
)
from boxlab.model.air import Air
from boxlab.model.driver import Driver
from boxlab.model.enclosure import SealedBox
from boxlab.model.response import solve

AIR = Air()  # 20 °C


@pytest.mark.parametrize(
    ("volume", "unity", "gain30"), [(2, 96.8, 20.35), (3, 79.05, 16.83), (4, 68.5, 14.33)]
)
def test_sealed_rigid_room(volume, unity, gain30):
    # Derived: 2πr·c²/(ω²V) for r = 1 m and c = 343.2 m/s; c at 20 °C differs by under 0.1 %.
    assert abs(pressure_lift(unity, volume, air=AIR)) == pytest.approx(1, rel=4e-3)
    assert 20 * np.log10(abs(pressure_lift(30.0, volume, air=AIR))) == pytest.approx(
        gain30, abs=0.03
    )
    octave = abs(pressure_lift(20.0, volume)) / abs(pressure_lift(40.0, volume))
    assert octave == pytest.approx(4)


def test_leaky_room_against_a_run_in_time():
    # dp/dt = ρc²/V·(U − p/R), with R from the leak corner, driven by a 12 Hz sine.
    volume, leak, f = 3.0, 8.0, 12.0
    bulk = AIR.density * AIR.speed_of_sound**2
    omega = 2 * np.pi * f

    def slope(t, p):
        return bulk / volume * np.sin(omega * t) - 2 * np.pi * leak * p

    t = np.linspace(2, 2 + 1 / f, 400)
    p = solve_ivp(slope, (0, t[-1]), [0.0], t_eval=t, rtol=1e-8, atol=1e-6).y[0]
    outdoors = AIR.density * omega / (2 * np.pi * 1.5)  # peak, per m³/s, at 1.5 m
    expected = np.ptp(p) / 2 / outdoors
    got = abs(pressure_lift(f, volume, 1.5, leak=leak, air=AIR))
    assert got == pytest.approx(expected, rel=1e-3)


def test_first_length_mode_and_brick_modes():
    # c/2L with c = 343.2 m/s: 2, 2.5, 3 and 4 m give 85.8, 68.64, 57.2 and 42.9 Hz.
    for length, f in ((2, 85.8), (2.5, 68.64), (3, 57.2), (4, 42.9)):
        assert Cabin(length, 1.4, 1.1).first_mode(AIR) == pytest.approx(f, rel=1e-3)


def test_modes_against_a_finite_difference_room():
    # The 1-D second difference with rigid ends, in each direction, knows nothing of the formula.
    cabin, n = Cabin(2.6, 1.45, 1.15), 200
    axes = []
    for size in (cabin.length, cabin.width, cabin.height):
        a = 2 * np.eye(n) - np.eye(n, k=1) - np.eye(n, k=-1)
        a[0, 0] = a[-1, -1] = 1
        axes.append(np.sort(np.linalg.eigvalsh(a))[:4] / (size / n) ** 2)
    k2 = (axes[0][:, None, None] + axes[1][:, None] + axes[2]).ravel()
    f = np.sort(np.sqrt(np.abs(k2)))[1:7] * AIR.speed_of_sound / (2 * np.pi)
    assert [m[0] for m in cabin.modes(6, AIR)] == pytest.approx(f, rel=1e-3)


def test_band_is_ordered_bounded_and_fades():
    f = np.geomspace(10, 300, 60)
    lift = cabin_lift(Cabin(), f)
    assert np.all(lift.low <= lift.mid) and np.all(lift.mid <= lift.high)
    assert np.all(lift.low >= 0)
    assert lift.high[-1] < 0.5 and lift.low[-1] == 0
    rigid = 20 * np.log10(abs(pressure_lift(f, Cabin().volume)))
    # 3.9 dB: π/2, a hard-ended tube from end to end at half its first mode (derived)
    assert np.all(lift.high <= np.maximum(rigid + 4, 0) + 3.02)
    assert lift.valid[1] == pytest.approx(Cabin().first_mode() / 2)
    assert lift.inside.any() and not lift.inside.all()
    assert any("measure your own car" in line for line in lift.assumptions)


def test_at_seat_adds_the_lift():
    driver = Driver.from_datasheet(
        fs=30, qes=0.5, qms=5, vas=0.04, sd=0.035, re=3.5, xmax=0.01, pe=300
    )
    f = np.geomspace(20, 100, 9)
    r = solve(driver, SealedBox(0.02), f, distance=2.0)
    seat = at_seat(r, Cabin())
    assert seat.mid - seat.outdoors == pytest.approx(cabin_lift(Cabin(), f, 2.0).mid)
    assert np.all(seat.high >= seat.low)


def test_walls_against_a_ring_of_far_points():
    # Mean intensity over directions from a source and its coherent images, integrated directly.
    rng = np.random.default_rng(2)
    way = rng.normal(size=(200_000, 3))
    way /= np.linalg.norm(way, axis=1)[:, None]
    f, walls = 60.0, (0.4, 0.7)
    k = 2 * np.pi * f / AIR.speed_of_sound
    p = np.cos(k * walls[0] * way[:, 0]) * np.cos(k * walls[1] * way[:, 1]) * 4
    # All images together fill the sphere; the real space is a quarter of it, and so is the power.
    expected = 10 * np.log10(np.mean(p**2) / 4)
    assert boundary_loading(f, walls, AIR) == pytest.approx(expected, abs=0.03)


def test_walls_close_by_and_far_off():
    assert boundary_loading(20.0, [0.0, 0.0, 0.0]) == pytest.approx(9.03, abs=0.01)
    assert boundary_loading(20.0, [0.0]) == pytest.approx(3.01, abs=0.01)
    assert boundary_loading(2000.0, [30.0]) == pytest.approx(0, abs=0.01)


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: Cabin(length=-2), "cabin length must be above zero"),
        (lambda: Cabin(filled=75), "share of length"),
        (lambda: pressure_lift(0, 3), "above zero"),
        (lambda: pressure_lift(30, 3, leak=-1), "zero or more"),
        (lambda: boundary_loading(30, [1, 1, 1, 1]), "1 to 3 walls"),
    ],
)
def test_bad_input_says_what_to_do(call, words):
    with pytest.raises(ValueError, match=words):
        call()


def test_litres_as_cubic_metres_are_suspected():
    with pytest.warns(UnitWarning, match="about 2 to 4"):
        pressure_lift(30, 3000)


def test_waves_along_the_cabin_against_a_sum_of_modes():
    # Derived: the Green's function of a hard-ended tube as 1 + Σ 2cos·cos·k²/(k² − kn²).
    length, box, seat, loss = 2.6, 2.4, 1.1, 0.2
    f = np.geomspace(5, 200, 40)
    k2 = (2 * np.pi * f / AIR.speed_of_sound) ** 2 * (1 - 1j * loss)
    n = np.arange(1, 4001)[:, None]
    kn = n * np.pi / length
    modes = 1 + np.sum(2 * np.cos(kn * box) * np.cos(kn * seat) * k2 / (k2 - kn**2), axis=0)
    got = along_the_cabin(f, length, box, seat, loss, AIR)
    assert np.abs(got - modes).max() < 2e-3 * np.abs(modes).max()
    assert abs(got[0]) == pytest.approx(1, abs=0.02)


def test_middle_of_the_cabin_does_not_hear_its_first_mode():
    first = Cabin(2.6).first_mode(AIR)
    ends = abs(along_the_cabin(first, 2.6, 2.6, 0.0, 0.05, AIR))
    middle = abs(along_the_cabin(first, 2.6, 2.6, 1.3, 0.05, AIR))
    assert ends > 10 and middle < 0.1 * ends


def test_a_seat_outside_is_refused():
    with pytest.raises(ValueError, match="outside a cabin"):
        along_the_cabin(30.0, 2.6, 2.0, 3.0)
    with pytest.raises(ValueError, match="seat = 3 m lies outside"):
        along_the_cabin(30.0, 2.6, 2.0, [1.0, 3.0])


def test_many_seats_at_once_are_the_seats_one_by_one():
    seats = np.array([0.3, 1.3, 2.4])
    one_by_one = [along_the_cabin(66.0, 2.6, 2.0, float(seat)) for seat in seats]
    assert np.allclose(along_the_cabin(66.0, 2.6, 2.0, seats), one_by_one, rtol=1e-12)
