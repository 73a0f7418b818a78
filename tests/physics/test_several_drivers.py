"""Drivers side by side and one behind the other, against closed forms and a matrix of the laws."""

from dataclasses import replace

import numpy as np
import pytest

from boxlab import Air, Driver, Port, PortedBox, SealedBox, isobaric, solve, together
from boxlab.model.several import between

ONE = Driver(
    re=3.4, le=1.1e-3, bl=11.5, mms=0.125, cms=2.1e-4, rms=2.4, sd=0.0335, xmax=0.012, pe=400.0,
    semi_k=0.02, semi_n=0.62,
)  # fmt: skip
FREQUENCY = np.geomspace(10, 200, 40)


@pytest.mark.parametrize("wiring, ohms", [("parallel", 1 / 2), ("series", 2)])
def test_an_isobaric_pair_has_half_the_vas_and_else_the_figures_of_one(wiring, ohms):
    # derived; the classic statement: fs and Qts the same, Vas half, moving mass double
    pair = isobaric(ONE, wiring)
    for name in ("fs", "qts", "qes", "qms", "sd", "xmax"):
        assert getattr(pair, name) == pytest.approx(getattr(ONE, name), rel=1e-12), name
    assert pair.vas() == pytest.approx(ONE.vas() / 2)
    assert (pair.mms, pair.pe) == (2 * ONE.mms, 2 * ONE.pe)
    assert (pair.re, pair.le) == (ONE.re * ohms, ONE.le * ohms)
    half = ONE.reference_efficiency(Air()) / 2  # 3 dB less: half the sound of each watt
    assert pair.reference_efficiency(Air()) == pytest.approx(half)


@pytest.mark.parametrize("wiring, volts, amps", [("parallel", 1, 2), ("series", 2, 1)])
def test_a_pair_in_half_the_box_is_as_loud_as_one_at_its_volts_for_twice_the_watts(
    wiring, volts, amps
):
    pair, alone = isobaric(ONE, wiring), solve(ONE, SealedBox(0.03), FREQUENCY, 10.0)
    both = solve(pair, SealedBox(0.015), FREQUENCY, 10.0 * volts)
    np.testing.assert_allclose(both.pressure, alone.pressure, rtol=1e-12)
    np.testing.assert_allclose(both.cone_excursion, alone.cone_excursion, rtol=1e-12)
    np.testing.assert_allclose(both.current, amps * alone.current, rtol=1e-12)
    np.testing.assert_allclose(both.power, 2 * alone.power, rtol=1e-12)


def two_cones_with_air_between(box, space, frequency):
    """Pressure in the far field of two cones in parallel, a volume between, by the laws alone.

    Unknowns: current and velocity of the outer and of the inner cone, pressure between, in the box.
    """
    air = Air()
    s = 2j * np.pi * frequency
    a = np.zeros((frequency.size, 6, 6), complex)
    coil = ONE.re + s * ONE.le + ONE.semi_k * s**ONE.semi_n
    moving = s * ONE.mms + ONE.rms + 1 / (s * ONE.cms)
    for row in (0, 1):  # outer, inner
        a[:, row, row], a[:, row, 2 + row] = coil, ONE.bl
        a[:, 2 + row, row], a[:, 2 + row, 2 + row] = ONE.bl, -moving
    a[:, 2, 4] = ONE.sd
    a[:, 3, 5], a[:, 3, 4] = ONE.sd, -ONE.sd
    # the air between swells as the outer goes out and the inner stays behind
    a[:, 4, 4], a[:, 4, 2], a[:, 4, 3] = s * space / air.bulk_modulus, ONE.sd, -ONE.sd
    a[:, 5, 5], a[:, 5, 3] = s * box / air.bulk_modulus, ONE.sd
    b = np.zeros((frequency.size, 6, 1), complex)
    b[:, 0] = b[:, 1] = 10.0
    flow = ONE.sd * np.linalg.solve(a, b)[:, 2, 0]
    return np.abs(s * air.density * flow / (2 * np.pi))


def test_a_pair_is_what_two_cones_with_little_air_between_come_to():
    # derived: a matrix with both cones and the air between; less air, nearer to one piston
    want = np.abs(solve(isobaric(ONE), SealedBox(0.015), FREQUENCY, 10.0).pressure)
    off = [
        np.max(np.abs(two_cones_with_air_between(0.015, space, FREQUENCY) / want - 1))
        for space in (2e-3, 2e-4, 2e-5)
    ]
    assert off[2] < 2e-3 and off[1] / off[2] == pytest.approx(10, rel=0.2)
    # up to a quarter of where the cones ring on it, two litres keep within half a decibel
    low = FREQUENCY[float(between(ONE, 2e-3)) / 4 > FREQUENCY]
    near = two_cones_with_air_between(0.015, 2e-3, low) / want[: low.size]
    assert low.size > 10 and np.max(np.abs(20 * np.log10(near))) < 0.5


def test_cones_ring_on_the_air_between_where_the_formula_says():
    # derived: two masses on one spring, by numpy's eigenvalues
    spring = ONE.sd**2 * Air().density * Air().speed_of_sound ** 2 / 2e-3
    square = np.linalg.eigvalsh(np.array([[spring, -spring], [-spring, spring]]) / ONE.mms)
    assert between(ONE, 2e-3) == pytest.approx(np.sqrt(square[-1]) / (2 * np.pi))
    with pytest.raises(ValueError, match="volume between the cones must be above zero"):
        between(ONE, 0.0)


@pytest.mark.parametrize("count", [2, 3, 4, 7])
def test_n_drivers_in_n_times_the_box_add_20_lg_n_at_one_voltage_and_10_lg_n_at_one_power(count):
    # derived: n equal flows add up; n times the watts in parallel at the same voltage
    port = Port(0.008, 0.3, 0.06)
    one = solve(ONE, PortedBox(0.03, port, ql=7), FREQUENCY, 5.0)
    many = PortedBox(0.03 * count, port, count, ql=7)
    r = solve(together(ONE, count), many, FREQUENCY, 5.0)
    np.testing.assert_allclose(r.spl - one.spl, 20 * np.log10(count), atol=1e-9)
    np.testing.assert_allclose(r.power, count * one.power, rtol=1e-9)
    same_watts = solve(together(ONE, count), many, FREQUENCY, 5.0 / np.sqrt(count))
    np.testing.assert_allclose(same_watts.power, one.power, rtol=1e-9)
    np.testing.assert_allclose(same_watts.spl - one.spl, 10 * np.log10(count), atol=1e-9)


def test_four_in_series_parallel_have_the_ohms_of_one_and_half_the_volts_on_each():
    four, one = together(ONE, 4, "series-parallel"), solve(ONE, SealedBox(0.02), FREQUENCY, 5.0)
    r = solve(four, SealedBox(0.08), FREQUENCY, 10.0)
    np.testing.assert_allclose(r.impedance, one.impedance, rtol=1e-12)
    np.testing.assert_allclose(r.cone_excursion, one.cone_excursion, rtol=1e-12)
    np.testing.assert_allclose(r.power, 4 * one.power, rtol=1e-12)
    # and as series of two of parallel pairs: any order of steps is the same
    steps = together(together(ONE, 2, "parallel"), 2, "series")
    for name in ("re", "le", "semi_k", "bl", "mms", "cms", "rms", "sd", "pe"):
        assert getattr(four, name) == pytest.approx(getattr(steps, name), rel=1e-12), name


def test_bad_wiring_is_refused_in_words():
    with pytest.raises(ValueError, match="4, 9 or 16"):
        together(ONE, 2, "series-parallel")
    with pytest.raises(ValueError, match="choose one of parallel, series, series-parallel"):
        together(ONE, 2, "star")
    with pytest.raises(ValueError, match="a pair is wired in parallel or in series"):
        isobaric(ONE, "series-parallel")
    with pytest.raises(ValueError, match="whole number"):
        together(ONE, 1.5)


def test_xmax_and_name_go_along():
    assert isobaric(replace(ONE, name="ten")).name == "isobaric pair of ten, in parallel"
    assert together(ONE, 4, "series-parallel").xmax == ONE.xmax
