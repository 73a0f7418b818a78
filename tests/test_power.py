"""Programme, real power, clipping and limits, against time-domain runs and closed forms."""

import numpy as np
import pytest
from scipy.signal import lsim
from scipy.stats import norm

from boxlab.base.checks import UnitWarning
from boxlab.car import power
from boxlab.car.wiring import Amplifier
from boxlab.model.air import Air
from boxlab.model.driver import Driver
from boxlab.model.enclosure import PortedBox, RadiatorBox, SealedBox
from boxlab.model.radiator import Radiator
from boxlab.model.response import solve
from boxlab.sound import programme

DRIVER = Driver.from_datasheet(
    fs=30, qes=0.5, qms=5, vas=0.04, sd=0.035, re=3.5, xmax=0.01, pe=300, le=1.5e-3
)
BOX = SealedBox(0.020)
AMP = Amplifier({4: 200, 2: 350})
RADIATOR = Radiator(sd=0.035, mms=0.12, cms=4e-4, rms=2.0, xmax=0.015, added_mass=0.1)


def test_pattern_power_against_the_circuit_in_time():
    # The coil, cone and box as differential equations, driven by the looping bass line.
    rate, signal = programme.RATE, programme.bass_line()
    spectrum = programme.spectrum_of(signal)
    got = power.on_programme(DRIVER, BOX, AMP, 4, spectrum)
    volts = np.tile(signal, 3) * got.voltage / np.sqrt(np.mean(signal**2))
    air, d = Air(), DRIVER
    stiffness = 1 / d.cms + air.density * air.speed_of_sound**2 * d.sd**2 / BOX.volume
    a = [
        [-d.re / d.le, 0, -d.bl / d.le],
        [0, 0, 1],
        [d.bl / d.mms, -stiffness / d.mms, -d.rms / d.mms],
    ]
    system = (a, [[1 / d.le], [0], [0]], [[1, 0, 0]], [[0]])
    _, current, _ = lsim(system, volts, np.arange(volts.size) / rate)
    last = slice(-signal.size, None)  # the first rounds let it settle
    average = np.mean(volts[last] * current[last])
    heat = np.mean(current[last] ** 2) * d.re
    assert got.average == pytest.approx(average, rel=0.01)
    assert got.heat == pytest.approx(heat, rel=0.01)
    assert got.heat < got.average


def test_a_resistor_leaves_only_the_crest_factor():
    # Derived: a sine-rated amplifier delivers 2/CF² of its rating:
    # 6 dB 50 %, 12 dB 12.6 %, 18 dB 3.2 %.
    stiff = Driver(re=4, le=0, bl=1e-1, mms=1.0, cms=1e-3, rms=50, sd=0.03, xmax=0.01, pe=300)
    for crest, share in ((6.0206, 0.5), (12, 0.126), (18, 0.032)):
        got = power.on_programme(stiff, BOX, AMP, 4, programme.pink_noise(crest=crest))
        assert got.share == pytest.approx(share, rel=0.01)
        assert got.by_crest == pytest.approx(share, rel=0.01)


def test_impedance_takes_more_off_than_the_crest_factor():
    got = power.on_programme(DRIVER, BOX, AMP, 4, programme.programme_noise())
    assert got.share < got.by_crest
    assert got.headroom == pytest.approx(got.crest - 3.0103)
    assert "it delivers" in got.sentence


def test_real_power_is_the_energy_of_the_circuit():
    f = np.geomspace(15, 200, 30)
    for box in (
        BOX,
        PortedBox.tuned(0.03, 35, 0.004, max_length=3),
        RadiatorBox(0.02, RADIATOR, 2),
    ):
        r = solve(DRIVER, box, f, 10.0)
        assert power.real_power(DRIVER, box, f, 10.0) == pytest.approx(r.power)


def test_limits_by_hand():
    f = np.geomspace(15, 200, 200)
    box = RadiatorBox(0.02, RADIATOR, 1)
    limits = power.power_limits(DRIVER, box, f)
    at_heat = solve(DRIVER, box, f[100:101], limits.heat_voltage[100])
    assert abs(at_heat.current) ** 2 * DRIVER.re == pytest.approx(DRIVER.pe)
    assert at_heat.power == pytest.approx(limits.heat_power[100])
    at_stop = solve(DRIVER, box, f[20:21], limits.excursion_voltage[20])
    used = max(at_stop.cone_excursion[0] / DRIVER.xmax, at_stop.vent_excursion[0] / RADIATOR.xmax)
    assert used == pytest.approx(1)
    assert limits.stops[0] == "excursion" and limits.stops[-1] == "heat"
    assert limits.changeover.size % 2 == 1


def test_a_radiator_at_its_stop_counts_as_excursion():
    short = Radiator(sd=0.035, mms=0.12, cms=4e-4, rms=2.0, xmax=0.004, added_mass=0.1)
    box = RadiatorBox(0.02, short, 1)
    limits = power.power_limits(DRIVER, box, [36.0])
    moved = solve(DRIVER, box, [36.0], limits.excursion_voltage[0])
    assert moved.vent_excursion[0] == pytest.approx(short.xmax)
    assert moved.cone_excursion[0] < DRIVER.xmax


def test_clipped_sine_against_the_integral():
    # Derived: a sine of amplitude a > 1 cut at 1 spends 4·asin(1/a) of each cycle off the rails.
    t = np.arange(100_000) / 100_000
    for overdrive in (0, 3, 6, 20):
        a = 10 ** (overdrive / 20)
        corner = np.arcsin(1 / a)
        mean = 2 / np.pi * (a**2 * (corner / 2 - np.sin(2 * corner) / 4) + np.pi / 2 - corner)
        got = power.clipping(np.sin(2 * np.pi * 5 * t), overdrive)
        assert got.sine == pytest.approx(2 * mean, rel=1e-3)
    assert power.clipping(np.sin(2 * np.pi * 5 * t), 60).sine == pytest.approx(2, rel=2e-3)


def test_clipped_gaussian_noise():
    # Derived: Gaussian noise cut at ±2σ has rms 0.95945σ and crest 6.38 dB.
    x = norm.ppf((np.arange(200_000) + 0.5) / 200_000)
    cut = np.clip(x, -2, 2)
    assert np.sqrt(np.mean(cut**2)) == pytest.approx(0.95945, abs=2e-5)
    past = 20 * np.log10(np.abs(x).max() / 2)
    assert power.clipping(x, past).crest == pytest.approx(6.38, abs=0.005)
    assert power.clipping(x, past).clipped == pytest.approx(2 * norm.sf(2), abs=1e-4)


def test_turning_music_up_past_clip_multiplies_heat():
    line = programme.bass_line_with_crest(12)
    gains = [power.clipping(line, db).power for db in (0, 3, 6, 12)]
    assert gains[0] == 1 and np.all(np.diff(gains) > 0)
    assert gains[-1] > 4  # more than four times the heat


def test_bass_line_states_its_crest():
    for crest in (10.0, 12.0, 14.0):
        assert programme.crest_factor(programme.bass_line_with_crest(crest)) == pytest.approx(
            crest, abs=0.05
        )
    line = programme.bass_line()
    assert np.abs(line).max() == pytest.approx(1)
    assert abs(line[0] - line[-1]) < 0.02  # no seam


def test_known_crests():
    # Derived: sine 3.01 dB, two equal sines 6.02 dB.
    t = np.arange(10_000) / 10_000
    two = np.cos(2 * np.pi * 10 * t) + np.cos(2 * np.pi * 30 * t)
    assert programme.crest_factor(two) == pytest.approx(6.02, abs=0.01)


def test_spectra_hold_all_the_power():
    signal = programme.bass_line()
    assert programme.spectrum_of(signal).share.sum() == pytest.approx(1)
    pink = programme.pink_noise(20, 160)
    assert pink.share[pink.frequency < 40].sum() == pytest.approx(
        1 / 3, abs=0.01
    )  # one octave of 3
    noise = programme.programme_noise()
    assert noise.share[noise.frequency > 63].sum() > 0.6


def test_spectrum_of_two_sines_knows_their_powers():
    t = np.arange(8000) / 8000
    s = programme.spectrum_of(2 * np.sin(2 * np.pi * 40 * t) + np.sin(2 * np.pi * 80 * t))
    assert s.frequency == pytest.approx([40, 80])
    assert s.share == pytest.approx([0.8, 0.2])


def test_the_last_line_of_a_spectrum_counts_once():
    # A sine of power 1 and an alternating ±1, also of power 1, at half the sampling rate.
    n = np.arange(800)
    s = programme.spectrum_of(np.sqrt(2) * np.sin(2 * np.pi * n / 20) + (-1.0) ** n, 800)
    assert s.frequency == pytest.approx([40, 400])
    assert s.share == pytest.approx([0.5, 0.5])


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (
            lambda: power.on_programme(DRIVER, BOX, AMP, 1, programme.pink_noise()),
            "least rated load",
        ),
        (lambda: power.clipping(np.zeros(10), 3), "silent"),
        (lambda: power.clipping(np.ones(10), -3), "zero or more"),
        (lambda: power.clipping([1, np.nan], 3), "holds NaN"),
        (lambda: power.clip(np.ones(10), np.nan), "overdrive holds NaN"),
        (lambda: power.clip(["loud"], 3), "not a number"),
        (lambda: programme.bass_line_with_crest(2), "can have"),
        (lambda: programme.pink_noise(200, 20), "must be below"),
        (lambda: programme.crest_factor(np.zeros(5)), "silent"),
    ],
)
def test_bad_input_says_what_to_do(call, words):
    with pytest.raises(ValueError, match=words):
        call()


def test_a_factor_in_place_of_decibels_is_doubted():
    with pytest.warns(UnitWarning, match="dB past"):
        power.clipping(np.sin(np.arange(50)), 100)
