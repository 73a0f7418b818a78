"""Air, Helmholtz resonance and end corrections against published values and libraries."""

import numpy as np
import pytest
from alignments import published
from scipy import integrate, special

from boxlab import Air, Driver, Port, PortedBox, SealedBox, solve


@pytest.mark.parametrize(
    "row", published("air"), ids=lambda r: f"{r['source']} {r['temperature']:g} C {r['humidity']:g}"
)
def test_air_table(row):
    air = Air(row["temperature"], row["pressure"], row["humidity"])
    if row["density"] is not None:
        assert air.density == pytest.approx(row["density"], rel=5e-4)
    if row["source"] == "CIPM-2007":
        assert air.density == pytest.approx(row["density"], rel=2e-6)
    if row["speed_of_sound"] is not None:
        exact = row["source"] == "ISO 9613-1"
        assert air.speed_of_sound == pytest.approx(
            row["speed_of_sound"], rel=2e-6 if exact else 1e-3
        )


def test_default_air_is_dry_at_twenty_degrees():
    assert Air() == Air(20.0, 101325.0, 0.0)
    assert Air().density == pytest.approx(1.2046, rel=1e-4)
    assert Air().speed_of_sound == pytest.approx(343.2, rel=1e-6)


@pytest.mark.parametrize("temperature", [-10.0, 5.0, 20.0, 40.0])
@pytest.mark.parametrize("pressure", [80e3, 101325.0])
@pytest.mark.parametrize("humidity", [0.0, 0.5, 1.0])
def test_density_against_coolprop(temperature, pressure, humidity):
    # reference library: CoolProp; 1/Vha is the density of the humid air (Vda: per kg of dry air)
    coolprop = pytest.importorskip("CoolProp.CoolProp", reason="CoolProp is not installed")
    want = 1 / coolprop.HAPropsSI("Vha", "T", temperature + 273.15, "P", pressure, "R", humidity)
    # ice instead of water sets the vapour pressure below freezing, hence the wider tolerance
    tolerance = 5e-4 if temperature < 0 else 1.5e-4
    assert Air(temperature, pressure, humidity).density == pytest.approx(want, rel=tolerance)


@pytest.mark.parametrize("temperature", [-10.0, 0.0, 20.0, 40.0])
def test_dry_speed_of_sound_against_coolprop(temperature):
    # reference library: CoolProp (Lemmon's equation of state); standard formulae spread by 0.3 %
    coolprop = pytest.importorskip("CoolProp.CoolProp", reason="CoolProp is not installed")
    want = coolprop.PropsSI("A", "T", temperature + 273.15, "P", 101325.0, "Air")
    assert Air(temperature).speed_of_sound == pytest.approx(want, rel=1e-3)


@pytest.mark.parametrize("temperature", [0.0, 10.0, 20.0, 30.0])
def test_humid_speed_of_sound_against_cramer(temperature):
    # Cramer, JASA 93 (1993) 2510; coefficients from memory, 400 ppm CO2. Damp air is faster.
    t, p, xc = temperature, 101325.0, 400e-6

    def cramer(humidity):
        kelvin = t + 273.15
        saturation = np.exp(
            1.2811805e-5 * kelvin**2 - 1.9509874e-2 * kelvin + 34.04926034 - 6.3536311e3 / kelvin
        )
        xw = humidity * (1.00062 + 3.14e-8 * p + 5.6e-7 * t**2) * saturation / p
        return (
            331.5024 + 0.603055 * t - 0.000528 * t**2
            + (51.471935 + 0.1495874 * t - 0.000782 * t**2) * xw
            + (-1.82e-7 + 3.73e-8 * t - 2.93e-10 * t**2) * p
            + (-85.20931 - 0.228525 * t + 5.91e-5 * t**2) * xc
            - 2.835149 * xw**2 - 2.15e-13 * p**2 + 29.179762 * xc**2 + 0.000486 * xw * p * xc
        )  # fmt: skip

    for humidity in (0.0, 0.5, 1.0):
        got = Air(temperature, p, humidity).speed_of_sound
        assert got == pytest.approx(cramer(humidity), rel=1e-3)
    gain = Air(t, p, 1.0).speed_of_sound / Air(t, p, 0.0).speed_of_sound
    # what moisture does, apart from the 0.1 % spread between dry formulae
    assert gain == pytest.approx(cramer(1.0) / cramer(0.0), abs=3e-4)
    assert gain > 1


def added_radii(**kind):
    """End correction of the library's round port, in radii."""
    return Port.round(0.1, 0.2, **kind).end_correction / 0.05


def levine_schwinger():
    """Their low-frequency end correction: (1/pi) int_0^inf ln[1/(2 I1 K1)] dx/x^2, in radii."""

    def integrand(x):
        return -np.log(2 * special.ive(1, x) * special.kve(1, x)) / x**2

    # below `small` the series 2 I1 K1 = 1 + x^2 (1/8 + (2g - 1)/4 + ln(x/2)/2) is exact enough
    small = 1e-3
    head = -small * (1 / 8 + (2 * np.euler_gamma - 1) / 4 + (np.log(small / 2) - 1) / 2)
    spans = ((small, 1), (1, 50), (50, np.inf))
    return (head + sum(integrate.quad(integrand, *span, epsabs=1e-10)[0] for span in spans)) / np.pi


def test_end_corrections():
    known = {row["case"]: row["radii"] for row in published("end_corrections")}
    # flanged: a rigid piston's mass, 8/(3 pi) radii (exact)
    assert added_radii(flanged_ends=2) == pytest.approx(2 * 8 / (3 * np.pi), rel=1e-12)
    # unflanged: Levine and Schwinger, Phys. Rev. 73 (1948) 383, by quadrature here
    integral = levine_schwinger()
    assert integral == pytest.approx(known["unflanged_derived"], abs=3e-5)
    assert added_radii(flanged_ends=0) == pytest.approx(2 * integral, rel=2e-4)
    # ... and as printed in the literature
    assert added_radii(flanged_ends=0) / 2 == pytest.approx(known["unflanged"], rel=2e-3)
    assert added_radii() == pytest.approx(known["piston_flanged"] + integral, rel=2e-4)


def test_end_correction_left_out_is_one_flanged_and_one_free():
    assert Port(np.pi * 0.05**2, 0.2).end_correction == pytest.approx(0.05 * 1.4615, rel=2e-4)
    assert Port(np.pi * 0.05**2, 0.2, 0.0).effective_length == pytest.approx(0.2)


def test_helmholtz_resonance():
    # derived from the textbook formula w = c sqrt(S / (V L))
    air = Air(12.0)
    box = PortedBox(0.03, Port(0.005, 0.2, 0.06), count=3)
    want = air.speed_of_sound / (2 * np.pi) * np.sqrt(3 * 0.005 / (0.03 * 0.26))
    assert box.tuning(air) == pytest.approx(want, rel=1e-12)


@pytest.mark.parametrize("row", published("course_vented_box"), ids=lambda r: r["length_mm"])
def test_worked_example_of_a_course(row):
    # DTU course 34870, preparation note of Lab D: 20.1 L, vent radius 17.5 mm, c = 343 m/s
    air = Air()
    scale = 343 / air.speed_of_sound
    radius, length = 0.0175, row["length_mm"] / 1000
    box = PortedBox(0.0201, Port(np.pi * radius**2, length, 1.46 * radius))
    assert box.tuning(air) * scale == pytest.approx(row["fb_derived"], rel=2e-4)
    assert box.tuning(air) * scale == pytest.approx(row["fb_printed"], abs=0.06)


def test_worked_example_closed_box():
    # the same note: fs 40 Hz and Vas 25 L in 20.1 L resonate at 59.9 Hz; Zmax/RE = 1 + Qms/Qes
    air = Air()
    driver = Driver.from_datasheet(
        fs=40, qes=0.45, qms=4, vas=0.025, sd=0.022, re=6.0, xmax=0.005, pe=50.0, air=air
    )
    f = np.linspace(59, 61, 20001)
    z = np.abs(solve(driver, SealedBox(0.0201), f, air=air).impedance)
    assert f[np.argmax(z)] == pytest.approx(59.917, abs=0.002)
    free = solve(driver, None, np.array([40.0]), air=air).impedance[0]
    assert abs(free) == pytest.approx(59.3, abs=0.05)


def test_worked_example_with_wider_ends():
    # a course homework (Musical Acoustics, Politecnico di Milano): D 70 mm, L 247 mm, 20 L,
    # c = 343 m/s, end correction 0.85 D
    air = Air()
    box = PortedBox(0.02, Port(np.pi * 0.035**2, 0.247, 0.85 * 0.07))
    assert box.tuning(air) * 343 / air.speed_of_sound == pytest.approx(43.25, abs=0.01)


@pytest.mark.parametrize(
    ("frequency", "level"), [(20, 100.587), (30, 107.631), (40, 112.628), (50, 116.505)]
)
def test_one_litre_peak_displacement_at_one_metre(frequency, level):
    # derived: p = rho f U / r into half space, density 1.2041 kg/m3
    driver = Driver(
        re=3.5, le=0.0, bl=12.0, mms=0.12, cms=2.2e-4, rms=2.5, sd=0.033, xmax=0.012, pe=400.0
    )
    air = Air()
    r = solve(driver, SealedBox(0.03), np.array([float(frequency)]), air=air)
    litre_peak = r.cone_excursion[0] * driver.sd / 1e-3
    got = r.spl[0] - 20 * np.log10(litre_peak) - 20 * np.log10(air.density / 1.2041)
    assert got == pytest.approx(level, abs=1e-3)


def test_tuned_port_is_the_inverse_of_tuning():
    air = Air(25.0, 95e3, 0.3)
    for area in (0.002, 0.008):
        box = PortedBox.tuned(0.03, 40.0, area, max_length=3, air=air)
        assert box.tuning(air) == pytest.approx(40.0, rel=1e-12)
        # and its length is the textbook one: L = c^2 S / (V w^2) - ends
        radius = np.sqrt(area / np.pi)
        want = air.speed_of_sound**2 * area / (0.03 * (80 * np.pi) ** 2)
        assert box.port.length == pytest.approx(
            want - (8 / (3 * np.pi) + 0.6127) * radius, rel=1e-4
        )


def test_vent_length_rule_in_millimetres():
    # Lv = 2350 Dv^2/(Vb fB^2) - 0.73 Dv, from memory; the constant is
    # c^2/(16 pi) with c = 343.7 m/s, so the length without ends agrees to 0.4 %
    box = PortedBox.tuned(0.05, 35.0, np.pi * 0.05**2, end_correction=0.0, max_length=3)
    assert box.port.length * 1e3 == pytest.approx(2350 * 100**2 / (50 * 35**2), rel=4e-3)
    ends = PortedBox.tuned(0.05, 35.0, np.pi * 0.05**2, max_length=3).port.end_correction
    assert ends * 1e3 == pytest.approx(0.73 * 100, rel=2e-3)


def test_a_slot_is_taken_as_the_round_port_of_its_area():
    slot = Port.slot(0.12, 0.03, 0.2)
    tube = Port.round(2 * np.sqrt(0.12 * 0.03 / np.pi), 0.2)
    assert slot.area == pytest.approx(0.0036)
    assert slot.effective_length == pytest.approx(tube.effective_length)
