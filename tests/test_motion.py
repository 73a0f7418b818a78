"""Cone and vent in time, phase at tuning, bursts, and what a camera sees."""

import math
from dataclasses import replace

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from boxlab import Air, Driver, PortedBox, RadiatorBox, SealedBox, solve
from boxlab.gear.scenario import TEN_INCH_DRIVER, TEN_INCH_RADIATOR
from boxlab.model.camera import apparent_frequency, film, leader, shutter_gain, wrap
from boxlab.model.motion import (
    burst,
    delays,
    envelope,
    lateness,
    phase_at_tuning,
    phase_views,
    phasors,
    steady,
)
from boxlab.model.random_designs import random_designs

AIR = Air()
DRIVER = replace(TEN_INCH_DRIVER, le=1e-3)
PORTED = PortedBox.tuned(0.03, 35.0, 0.006, ql=7, max_length=3)
RADIATOR = RadiatorBox.tuned(0.014, 36.0, TEN_INCH_RADIATOR, ql=7)


# --- phase


def test_phase_at_tuning_is_a_quarter_cycle_whatever_the_leak():
    for ql in (0.5, 3, 7, 30, 1e4):
        assert phase_at_tuning(DRIVER, replace(PORTED, ql=ql)) == pytest.approx(90, abs=1e-6)


def test_phase_at_tuning_with_leak_and_friction():
    """Derived from the vent's equation of motion: 90° + atan(1/(QL + QR))."""
    for ql, rms in ((3, 20), (7, 1.5), (20, 8), (math.inf, 8), (7, 0)):
        box = replace(RADIATOR, ql=ql, radiator=replace(RADIATOR.radiator, rms=rms))
        wb = 2 * np.pi * box.tuning(AIR)
        friction = rms / (box.count * box.radiator.sd**2)
        qr = 1 / (wb * box.compliance(AIR) * friction) if friction else math.inf
        expected = 90 + math.degrees(math.atan(1 / (ql + qr)))
        assert phase_at_tuning(DRIVER, box) == pytest.approx(expected, abs=1e-6)


def test_phase_at_tuning_stays_within_ten_degrees_of_a_quarter_cycle():
    """20,000 boxes of each kind with leaks QL 5 to 50 and radiator Q 3 to 20."""
    for kind, widest in (("ported", 1e-6), ("radiator", 10)):
        d = random_designs(kind, 20_000, seed=3, lossless=0)
        phase = phase_at_tuning(d.driver, d.box)
        assert np.all(phase >= 90 - 1e-6)
        assert phase.max() < 90 + widest
    assert 91 < np.median(phase) < 93  # of the radiators
    assert phase.max() > 97


def test_phase_at_tuning_is_undefined_without_loss_or_vent():
    assert np.isnan(phase_at_tuning(DRIVER, SealedBox(0.02)))


def test_phase_far_below_and_well_above_tuning():
    below, above = solve(DRIVER, PORTED, [3.5, 350.0]).vent_phase
    assert abs(below) > 175 and 0 < above < 5


def test_views_of_the_same_motion():
    f = np.geomspace(10, 150, 60)
    r = solve(DRIVER, RADIATOR, f)
    views = phase_views(r)
    flows = r.cone_volume_velocity, r.vent_volume_velocity
    np.testing.assert_allclose(
        wrap(views.front - np.angle(flows[1] / flows[0], deg=True)), 0, atol=1e-9
    )
    np.testing.assert_allclose(
        wrap(views.rear - np.angle(-flows[1] / flows[0], deg=True)), 0, atol=1e-9
    )
    np.testing.assert_allclose(wrap(views.total - views.cone_total - views.front), 0, atol=1e-9)
    at = phase_views(solve(DRIVER, PORTED, PORTED.tuning()))
    # a quarter cycle ahead of the front is a quarter cycle behind the rear, and nearly in step
    # with what is heard, since the vent makes nearly all of it
    assert at.front == pytest.approx(90) and at.rear == pytest.approx(-90)
    assert abs(at.total) < 15


def test_cone_least_at_tuning_and_vent_largest_share():
    """In nine boxes of ten the cone moves least within 2 % of tuning; the vent peaks elsewhere.

    At one voltage the vent's travel is largest a little below tuning. What is largest at tuning is
    the vent's flow over the cone's.
    """
    grid = np.exp(np.linspace(np.log(0.6), np.log(1.6), 500))
    d = random_designs("ported", 1000, seed=3, lossless=0)
    r = solve(d.driver, d.box, d.box.tuning()[:, None] * grid)
    near = (grid > 0.8) & (grid < 1.25)
    cone = grid[near][np.argmin(r.cone_excursion[:, near], axis=1)]
    assert np.mean(np.abs(cone - 1) < 0.02) > 0.9
    share = np.abs(r.vent_volume_velocity / r.cone_volume_velocity)
    assert np.abs(grid[np.argmax(share, axis=1)] - 1).max() < 0.02
    largest = grid[np.argmax(r.vent_excursion, axis=1)]
    assert np.median(largest) < 0.97 and largest.max() < 1.06


# --- steady motion


def test_steady_motion_has_the_solved_amplitude_and_phase():
    at = phasors(DRIVER, RADIATOR, 36.0, 10.0).turned_to("cone")
    m = steady(at, cycles=3, samples=360)
    r = solve(DRIVER, RADIATOR, 36.0, 10.0)
    assert m.cone.max() == pytest.approx(r.cone_excursion, rel=1e-4)
    assert m.vent.max() == pytest.approx(r.vent_excursion, rel=1e-4)
    assert m.time[-1] == pytest.approx(3 / 36)
    # samples are degrees: the vent's crest comes its lead before the cone's
    lead = 360 - np.argmax(m.vent[:360])  # the cone's second crest is sample 360
    assert np.argmax(m.cone[180:540]) == 180
    assert lead == pytest.approx(r.vent_phase, abs=1)


def test_phasors_want_one_design_and_one_frequency():
    with pytest.raises(ValueError, match="one frequency"):
        phasors(DRIVER, PORTED, [20.0, 30.0])
    d = random_designs("ported", 3)
    with pytest.raises(ValueError, match="one design"):
        phasors(d.driver, d.box, 30.0)


def test_a_whole_cycle_late_looks_the_same_in_a_steady_sine():
    t = np.linspace(0, 0.1, 500)
    wave = np.cos(2 * np.pi * 40 * t + np.radians(90))
    for late in delays(90, 40.0):
        np.testing.assert_allclose(np.cos(2 * np.pi * 40 * (t - late)), wave, atol=1e-12)
    assert delays(90, 40.0) * 40 == pytest.approx([0.75, 1.75, 2.75])


# --- bursts


def integrated(driver, box, b):
    """Newton and Kirchhoff stepped through the burst's own drive: shares nothing with the FFT."""
    stiffness = 1 / box.compliance(AIR)
    if isinstance(box, PortedBox):
        area, spring, friction = box.port.area, 0.0, 0.0
        mass = AIR.density * area * box.port.effective_length
    else:
        area, spring = box.radiator.sd, 1 / box.radiator.cms
        mass, friction = box.radiator.moving_mass, box.radiator.rms
    leak = box.leak_conductance(AIR)

    def slope(t, y):
        i, x, v, xv, vv, leaked = y
        p = -stiffness * (driver.sd * x + area * xv + leaked)
        e = np.interp(t, b.time, b.drive)
        return [
            (e - driver.re * i - driver.bl * v) / driver.le,
            v,
            (driver.bl * i + driver.sd * p - driver.rms * v - x / driver.cms) / driver.mms,
            vv,
            (area * p - friction * vv - spring * xv) / mass,
            p * leak,
        ]

    run = solve_ivp(
        slope,
        (b.time[0], b.time[-1]),
        np.zeros(6),
        t_eval=b.time,
        rtol=1e-7,
        atol=1e-10,
        max_step=2 * (b.time[1] - b.time[0]),
    )
    _, x, _, xv, _, leaked = run.y
    net = driver.sd * x + area * xv + leaked  # volume out of the box
    sound = AIR.density / (2 * np.pi) * np.gradient(np.gradient(net, b.time), b.time)
    return x, xv, sound


@pytest.mark.parametrize("box", [PORTED, RADIATOR], ids=["ported", "radiator"])
@pytest.mark.parametrize("window", ["hard", "soft"])
def test_burst_against_time_integration(box, window):
    b = burst(DRIVER, box, 35.0, 5, window=window, tail=6, rate=128)
    cone, vent, sound = integrated(DRIVER, box, b)
    assert b.cone == pytest.approx(cone, abs=4e-3 * np.abs(cone).max())
    assert b.vent == pytest.approx(vent, abs=4e-3 * np.abs(vent).max())
    if window == "soft":
        assert b.sound == pytest.approx(sound, abs=1e-2 * np.abs(sound).max())


def test_burst_is_silent_before_it_starts_and_rings_after():
    b = burst(DRIVER, PORTED, 35.0, 8, voltage=10.0)
    before = b.time < -1e-9
    assert np.abs(b.vent[before]).max() < 2e-3 * np.abs(b.vent).max()
    after = b.time > 8 / 35
    assert np.abs(b.vent[after]).max() > 0.2 * np.abs(b.vent).max()
    assert np.all(b.drive[after] == 0)
    # settled in the middle of a long one to the steady sine
    long = burst(DRIVER, PORTED, 35.0, 40, voltage=10.0)
    late = (long.time > 25 / 35) & (long.time < 39 / 35)
    steady_state = solve(DRIVER, PORTED, 35.0, 10.0)
    assert long.vent[late].max() == pytest.approx(steady_state.vent_excursion, rel=2e-3)


def test_lateness_of_the_sound_is_the_group_delay_weighted_by_energy():
    for box in (PORTED, RADIATOR):
        b = burst(DRIVER, box, 40.0, 10, window="soft", tail=70)
        f = np.linspace(20, 70, 4000)
        step = b.time[1] - b.time[0]
        spectrum = np.array(
            [np.sum(b.sound * np.exp(-2j * np.pi * x * b.time)) * step for x in f[::8]]
        )
        delay = solve(DRIVER, box, f[::8]).group_delay
        mean = np.sum(np.abs(spectrum) ** 2 * delay) / np.sum(np.abs(spectrum) ** 2)
        assert lateness(b.time, b.sound, b.drive) == pytest.approx(mean, rel=5e-3)


def test_vent_of_a_long_burst_at_tuning_follows_the_cone_by_ql_over_pi_cycles():
    """Derived: −d(phase)/dω of 1/(1 − x² + jx/QL) at tuning is 2QL/ωb, so QL/π cycles."""
    for ql in (3, 5, 7):
        b = burst(DRIVER, replace(PORTED, ql=ql), 35.0, 80, window="soft", tail=60)
        assert lateness(b.time, b.vent, b.cone) * 35 == pytest.approx(ql / np.pi, rel=0.02)


def test_envelope_of_a_known_signal():
    t = np.arange(4000) / 1000
    shape = np.exp(-(((t - 2) / 0.4) ** 2))
    np.testing.assert_allclose(envelope(shape * np.sin(2 * np.pi * 50 * t)), shape, atol=1e-6)


def test_burst_refuses_nonsense():
    with pytest.raises(ValueError, match="choose hard or soft"):
        burst(DRIVER, PORTED, 35.0, window="square")


# --- the camera


@pytest.mark.parametrize(
    ("frequency", "rate", "seen"),
    [
        (31, 30, 1),
        (29, 30, -1),
        (60, 30, 0),
        (45, 30, 15),
        (44, 60, -16),
        (35, 240, 35),
        (50, 60, -10),
    ],
)
def test_apparent_frequency(frequency, rate, seen):
    assert apparent_frequency(frequency, rate) == pytest.approx(seen)


def fitted_phase(f, positions):
    """Phase of a slow sine fitted to samples, by least squares; nothing known of the true tone."""
    basis = np.column_stack(
        [
            np.cos(2 * np.pi * abs(f.frequency) * f.time),
            np.sin(2 * np.pi * abs(f.frequency) * f.time),
        ]
    )
    c, s = np.linalg.lstsq(basis, positions, rcond=None)[0]
    return np.degrees(np.arctan2(-s, c))


def test_order_flips_exactly_where_the_apparent_frequency_is_negative():
    at = phasors(DRIVER, PORTED, PORTED.tuning())
    checked = 0
    for rate in (24, 30, 60, 240):
        for tone in np.arange(20.25, 90, 1.5):
            f = film(tone, rate, at.cone, at.vent, frames=240)
            fitted = wrap(fitted_phase(f, f.second) - fitted_phase(f, f.first))
            assert wrap(fitted - f.phase) == pytest.approx(0, abs=1e-4)
            assert f.leads == str(leader(fitted))
            assert f.flipped == (apparent_frequency(tone, rate) < 0)
            checked += f.flipped
    assert checked > 30


def test_no_order_in_a_film_that_stands_still_or_only_blinks():
    for tone in (30.0, 45.0, 60.0):
        f = film(tone, 30.0, 1.0, 1j)
        assert f.orderless and f.leads == "neither" and not f.flipped
    assert np.ptp(film(30.0, 30.0, 1.0, 1j).first) < 1e-9


def test_shutter_blur_against_an_average_over_the_open_time():
    tone, rate, shutter = 41.0, 30.0, 1 / 48
    f = film(tone, rate, 2e-3, 1e-3j, frames=20, shutter=shutter)
    inside = np.linspace(-shutter / 2, shutter / 2, 2001)
    mean = (
        np.trapezoid(2e-3 * np.cos(2 * np.pi * tone * (f.time[:, None] + inside)), inside) / shutter
    )
    np.testing.assert_allclose(f.first, mean, atol=1e-9)
    assert shutter_gain(50.0, 0.02) == pytest.approx(0, abs=1e-12)


def test_rolling_shutter_turns_the_lower_piston():
    """Each line is its own moment: compare with the true motion at those moments."""
    tone, rate, line = 38.0, 60.0, 15e-6
    f = film(tone, rate, 1.0, 1j, frames=90, line_time=line, rows=(200, 900))
    moments = f.time + 900 * line
    np.testing.assert_allclose(f.second, np.cos(2 * np.pi * tone * moments + np.pi / 2), atol=1e-12)
    fitted = wrap(fitted_phase(f, f.second) - fitted_phase(f, f.first))
    assert fitted == pytest.approx(wrap(-90 - 360 * tone * 700 * line), abs=1e-4)
    # enough lines apart, the shutter alone flips the order, at a frame rate that would keep it
    assert not film(31.0, 30.0, 1.0, 1j).flipped
    for rows, flipped in (((0, 400), False), ((0, 700), True), ((400, 0), False), ((900, 0), True)):
        assert film(31.0, 30.0, 1.0, 1j, line_time=15e-6, rows=rows).flipped is flipped


def test_film_refuses_a_shutter_longer_than_a_frame():
    with pytest.raises(ValueError, match="1/60, not 60"):
        film(40.0, 30.0, 1.0, 1j, shutter=60)


def test_driver_alone_has_no_vent_to_film():
    bare = Driver(re=3.5, le=0.0, bl=12, mms=0.1, cms=3e-4, rms=3, sd=0.035, xmax=0.01, pe=200)
    assert phasors(bare, SealedBox(0.02), 40.0).vent == 0
