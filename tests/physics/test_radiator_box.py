"""What a radiator box does that a port does not, and where the two agree.

Small, "Passive-radiator loudspeaker systems", JAES 22 (1974) 592 and 683, gives the circuit.
The relations are derived from it here: alpha = C_AS/C_AB, delta = C_AP/C_AB, and the notch
fp = fb/sqrt(1 + delta).
"""

from dataclasses import replace

import numpy as np
import pytest
from alignments import AIR, published
from scipy.optimize import brentq

from boxlab import Driver, Port, PortedBox, Radiator, RadiatorBox, SealedBox, solve

RHO_C2 = AIR.density * AIR.speed_of_sound**2
DRIVER = Driver(
    re=3.5, le=0.0, bl=12.0, mms=0.12, cms=2.2e-4, rms=2.5, sd=0.033, xmax=0.012, pe=400.0
)
VOLUME = 0.0142


def radiator_of(fb, delta, volume=VOLUME, sd=0.033, rms=0.0):
    """A radiator of compliance ratio delta whose mass tunes the volume to fb, solved here."""
    box_compliance = volume / RHO_C2
    mass = (1 + 1 / delta) / ((2 * np.pi * fb) ** 2 * box_compliance) * sd**2
    return Radiator(sd=sd, mms=mass, cms=delta * box_compliance / sd**2, rms=rms, xmax=0.02)


@pytest.mark.parametrize("delta", [0.6, 2.0, 5.0])
@pytest.mark.parametrize("count", [1, 2, 4])
def test_tuning_and_notch(delta, count):
    # derived: fb = fp sqrt(1 + C_AP/C_AB), C_AP of all radiators together
    radiator = radiator_of(45.0, delta)
    box = RadiatorBox(VOLUME, radiator, count=count)
    fp = 1 / (2 * np.pi * np.sqrt(radiator.mms * radiator.cms))
    assert radiator.fp == pytest.approx(fp, rel=1e-12)
    assert box.tuning(AIR) == pytest.approx(fp * np.sqrt(1 + count * delta), rel=1e-12)
    if count == 1:
        assert box.tuning(AIR) == pytest.approx(45.0, rel=1e-12)
        assert fp == pytest.approx(45.0 / np.sqrt(1 + delta), rel=1e-12)


@pytest.mark.parametrize("delta", [0.6, 2.0, 5.0])
def test_exact_null_at_the_radiators_own_resonance(delta):
    radiator = radiator_of(45.0, delta)
    fp = radiator.fp
    f = fp * np.array([0.99, 1 - 1e-6, 1.0, 1 + 1e-6, 1.01])
    p = np.abs(solve(DRIVER, RadiatorBox(VOLUME, radiator), f, air=AIR).pressure)
    passband = np.abs(solve(DRIVER, RadiatorBox(VOLUME, radiator), [400.0], air=AIR).pressure)
    assert p[2] < 1e-12 * passband
    # a simple zero: ten thousand times nearer, ten thousand times quieter, and it changes sign
    assert p[1] / p[0] == pytest.approx(1e-4, rel=0.05)
    assert p[3] / p[4] == pytest.approx(1e-4, rel=0.05)
    below, above = solve(DRIVER, RadiatorBox(VOLUME, radiator), f[[1, 3]], air=AIR).pressure
    assert (above / below).real < 0
    assert abs((above / below).imag) < 1e-3


def test_at_the_null_radiator_and_cone_cancel_and_the_box_air_is_still():
    radiator = radiator_of(45.0, 3.0)
    r = solve(DRIVER, RadiatorBox(VOLUME, radiator), [radiator.fp], air=AIR)
    np.testing.assert_allclose(r.vent_volume_velocity, -r.cone_volume_velocity, rtol=1e-10)
    assert abs(r.box_pressure[0]) < 1e-9
    # nothing but its own suspension holds the cone: free-air impedance
    w = 2 * np.pi * radiator.fp
    free = DRIVER.rms + 1j * (w * DRIVER.mms - 1 / (w * DRIVER.cms))
    np.testing.assert_allclose(r.impedance, DRIVER.re + DRIVER.bl**2 / free, rtol=1e-10)


def test_friction_fills_the_null_without_moving_it_far():
    depths = []
    for rms in (0.0, 0.3, 1.0, 3.0):
        radiator = radiator_of(45.0, 3.0, rms=rms)
        f = np.linspace(0.8, 1.2, 2001) * radiator.fp
        spl = solve(DRIVER, RadiatorBox(VOLUME, radiator), f, air=AIR).spl
        depths.append(np.min(spl))
        if rms in (0.3, 1.0):
            assert f[np.argmin(spl)] == pytest.approx(radiator.fp, rel=0.02)
    assert np.all(np.diff(depths) > 3)


@pytest.mark.parametrize("ql", [np.inf, 7.0])
@pytest.mark.parametrize("count", [1, 3])
def test_port_is_a_radiator_without_suspension(ql, count):
    area, length = 0.0081, 0.34
    f = np.geomspace(8, 400, 120)
    port = PortedBox(0.03, Port(area, length, 0.06), count=count, ql=ql)
    slug = Radiator(sd=area, mms=AIR.density * area * 0.40, cms=np.inf, rms=0.0, xmax=0.02)
    free = RadiatorBox(0.03, slug, count=count, ql=ql)
    a, b = solve(DRIVER, port, f, air=AIR), solve(DRIVER, free, f, air=AIR)
    for name in ("impedance", "cone_velocity", "vent_volume_velocity", "leak_volume_velocity",
                 "box_pressure", "pressure", "spl", "vent_excursion", "vent_air_speed",
                 "vent_phase", "group_delay"):  # fmt: skip
        np.testing.assert_allclose(getattr(a, name), getattr(b, name), rtol=1e-10, err_msg=name)
    assert port.tuning(AIR) == pytest.approx(free.tuning(AIR), rel=1e-12)


def test_softer_suspension_brings_the_radiator_box_to_the_port():
    f = np.geomspace(20, 400, 60)
    port = solve(DRIVER, ported_at(45.0), f, air=AIR)
    gaps = []
    for delta in (1.0, 5.0, 50.0, 500.0):
        r = solve(DRIVER, RadiatorBox(VOLUME, radiator_of(45.0, delta)), f, air=AIR)
        gaps.append(np.max(np.abs(r.pressure - port.pressure)) / np.max(np.abs(port.pressure)))
    assert np.all(np.diff(gaps) < 0)
    assert gaps[-1] < 0.12 * gaps[-2] and gaps[-1] < 4e-3


def ported_at(fb, volume=VOLUME, area=0.002, ql=np.inf):
    total = RHO_C2 * area / AIR.density / volume / (2 * np.pi * fb) ** 2
    return PortedBox(volume, Port(area, 0.8 * total, 0.2 * total), ql=ql)


def slope(box, low, high):
    """dB per octave between two frequencies."""
    spl = solve(DRIVER, box, np.array([low, high]), air=AIR).spl
    return np.diff(spl)[0] / np.log2(high / low)


@pytest.mark.parametrize("delta", [1.0, 3.0, 6.0])
def test_cut_off_is_steeper_than_a_ports(delta):
    fb = 45.0
    radiator = radiator_of(fb, delta)
    for low, high in ((1.05 * radiator.fp, 1.2 * radiator.fp), (0.75 * fb, 0.95 * fb)):
        if low < radiator.fp:
            continue
        steeper = slope(RadiatorBox(VOLUME, radiator), low, high)
        assert steeper > slope(ported_at(fb), low, high) + 1


def test_far_below_the_null_the_slope_is_a_sealed_boxs():
    # below fp springs hold the radiator: the box gives way by a fixed share, as a softer sealed box
    radiator = radiator_of(45.0, 2.0)
    low = radiator.fp / 100
    assert slope(RadiatorBox(VOLUME, radiator), low, 2 * low) == pytest.approx(12, abs=0.2)
    assert slope(SealedBox(VOLUME), low, 2 * low) == pytest.approx(12, abs=0.2)
    assert slope(ported_at(45.0), low, 2 * low) == pytest.approx(24, abs=0.2)


def test_softer_suspension_moves_the_null_down_and_away():
    deltas = np.array([0.5, 1, 2, 4, 8, 16])
    nulls = [radiator_of(45.0, d).fp for d in deltas]
    assert np.all(np.diff(nulls) < 0)
    levels = [
        solve(DRIVER, RadiatorBox(VOLUME, radiator_of(45.0, d)), [36.0], air=AIR).spl[0]
        for d in deltas[2:]
    ]
    assert np.all(np.diff(levels) > 0)


def test_mass_moves_tuning_and_null_together():
    radiator = radiator_of(45.0, 3.0)
    heavy = replace(radiator, added_mass=3 * radiator.mms)
    assert heavy.fp == pytest.approx(radiator.fp / 2)
    assert RadiatorBox(VOLUME, heavy).tuning(AIR) == pytest.approx(45.0 / 2)


def lossless_peaks(driver, box, fb):
    """fL, the frequency between, and fH, where the lossless motional reactance turns over."""
    driver = replace(driver, rms=0.0)

    def motional(f):
        # back voltage against the voltage left for the coil: finite at a lossless pole
        r = solve(driver, box, np.array([f]), voltage=1.0, air=AIR)
        return r.cone_velocity[0], (1.0 - driver.bl * r.cone_velocity[0])

    def reactance(f):
        velocity, coil_voltage = motional(f)
        return (velocity / coil_voltage).imag

    def susceptance(f):
        velocity, coil_voltage = motional(f)
        return (coil_voltage / velocity).imag

    middle = brentq(reactance, 0.98 * fb, 1.02 * fb, xtol=1e-10)
    low = brentq(susceptance, 0.1 * fb, 0.999 * middle, xtol=1e-10)
    high = brentq(susceptance, 1.001 * middle, 20 * fb, xtol=1e-10)
    return low, middle, high


@pytest.mark.parametrize("row", published("two_peaks"), ids=lambda r: f"{r['fs']:.0f} Hz")
def test_two_impedance_peaks_of_a_ported_box(row):
    # derived; the identities are in Small, JAES 21 (1973) 363 (from memory)
    fs, fb, alpha = row["fs"], row["fb"], row["alpha"]
    driver = Driver.from_datasheet(
        fs=fs, qes=0.4, qms=5, vas=0.05, sd=0.033, re=3.5, xmax=0.01, pe=300.0, air=AIR
    )
    low, middle, high = lossless_peaks(driver, ported_at(fb, 0.05 / alpha), fb)
    assert middle == pytest.approx(fb, rel=1e-9)
    assert low == pytest.approx(row["fl"], abs=6e-6)
    assert high == pytest.approx(row["fh"], abs=6e-6)
    fc2 = fs**2 * (1 + alpha)
    assert np.sqrt(fc2) == pytest.approx(row["fc"], abs=6e-6)
    assert low**2 + high**2 - fc2 == pytest.approx(fb**2, rel=1e-9)
    assert low * high == pytest.approx(fs * fb, rel=1e-9)
    assert (high**2 - fb**2) * (fb**2 - low**2) / (high * low) ** 2 == pytest.approx(
        alpha, rel=1e-9
    )


@pytest.mark.parametrize("delta", [1.0, 3.0, 10.0])
@pytest.mark.parametrize("fb", [34.0, 45.0])
def test_two_impedance_peaks_of_a_radiator_box(fb, delta):
    # derived: the sum keeps its form, the product gains sqrt(1 + alpha/(1 + delta))
    low, middle, high = lossless_peaks(DRIVER, RadiatorBox(VOLUME, radiator_of(fb, delta)), fb)
    alpha = RHO_C2 * DRIVER.sd**2 * DRIVER.cms / VOLUME
    fs = 1 / (2 * np.pi * np.sqrt(DRIVER.mms * DRIVER.cms))
    assert middle == pytest.approx(fb, rel=1e-9)
    assert low**2 + high**2 == pytest.approx(fb**2 + fs**2 * (1 + alpha), rel=1e-9)
    assert low * high == pytest.approx(fs * fb * np.sqrt(1 + alpha / (1 + delta)), rel=1e-9)


def test_closed_form_of_the_whole_response():
    # derived from the circuit, s in units of ws:
    # G = s2 (s2 + h2/(1+d)) / [(s2 + s/QT + 1)(s2 + h2) + a (s2 + h2/(1+d))]
    delta, fb = 3.0, 41.0
    f = np.geomspace(4, 600, 200)
    fs, qt = DRIVER.fs, DRIVER.qts
    alpha, h = RHO_C2 * DRIVER.sd**2 * DRIVER.cms / VOLUME, fb / DRIVER.fs
    s, notch = 1j * f / fs, h**2 / (1 + delta)
    want = s**2 * (s**2 + notch)
    want = want / ((s**2 + s / qt + 1) * (s**2 + h**2) + alpha * (s**2 + notch))
    r = solve(DRIVER, RadiatorBox(VOLUME, radiator_of(fb, delta)), f, voltage=1.0, air=AIR)
    passband = AIR.density * DRIVER.sd * DRIVER.bl / (2 * np.pi * DRIVER.re * DRIVER.mms)
    flight = np.exp(2j * np.pi * f / AIR.speed_of_sound)
    np.testing.assert_allclose(r.pressure * flight / passband, want, rtol=1e-9)
