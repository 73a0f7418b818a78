"""A warm coil inside `solve`, `max_output` and `first_stop`: the laws, and printed losses."""

from dataclasses import replace

import numpy as np
import pytest
from independent import circuit, matrix_solution

from boxlab import Air, Driver, PortedBox, SealedBox, cm2, first_stop, litres, max_output, solve

DRIVER = Driver(
    re=3.4, le=1.1e-3, bl=11.5, mms=0.125, cms=2.1e-4, rms=2.4, sd=0.0335, xmax=0.012, pe=400.0
)
BOX = PortedBox.tuned(litres(40), 36, cm2(90), ql=7)
FREQUENCY = np.geomspace(12, 200, 40)
ALPHA = {"copper": 0.00393, "aluminium": 0.00403}  # per kelvin from 20 °C, from memory


@pytest.mark.parametrize("metal", ALPHA)
def test_a_warm_coil_is_more_ohms_in_a_matrix_of_the_laws(metal):
    hot = replace(DRIVER, re=DRIVER.re * (1 + ALPHA[metal] * 120.0))
    want = matrix_solution(circuit(hot, BOX, Air(), voltage=10.0), FREQUENCY)
    got = solve(DRIVER, BOX, FREQUENCY, 10.0, kelvin=120.0, metal=metal)
    for name in ("impedance", "cone_velocity", "vent_volume_velocity", "pressure"):
        np.testing.assert_allclose(getattr(got, name), want[name], rtol=1e-9)
    assert solve(DRIVER, BOX, FREQUENCY, 10.0, kelvin=0.0).spl == pytest.approx(
        solve(DRIVER, BOX, FREQUENCY, 10.0).spl, abs=0
    )


@pytest.mark.parametrize("metal, kelvin, lost", [
    ("copper", 50, 1.56), ("copper", 100, 2.88), ("copper", 150, 4.03), ("copper", 200, 5.04),
    ("aluminium", 50, 1.59), ("aluminium", 100, 2.94), ("aluminium", 200, 5.13),
])  # fmt: skip
def test_where_mass_rules_a_stiff_source_loses_20_lg_of_the_ohms(metal, kelvin, lost):
    # derived, for the α from memory: 20·lg(1 + α·ΔT), where the motor brakes hardly at all
    weak = replace(DRIVER, le=0.0, bl=3.0, rms=12.0)
    cold, warm = (
        solve(weak, SealedBox(0.03), 5000.0, kelvin=k, metal=metal).spl for k in (0.0, kelvin)
    )
    assert cold - warm == pytest.approx(lost, abs=0.006)


def test_many_temperatures_are_designs():
    kelvin = np.array([0.0, 60.0, 150.0])
    many = solve(DRIVER, BOX, FREQUENCY, kelvin=kelvin).spl
    assert many.shape == (3, FREQUENCY.size)
    for one, k in zip(many, kelvin, strict=True):
        np.testing.assert_allclose(one, solve(DRIVER, BOX, FREQUENCY, kelvin=float(k)).spl)


def test_what_stops_it_first_with_a_warm_coil():
    cold, warm = (
        max_output(DRIVER, BOX, FREQUENCY, power=300, load=4, kelvin=k) for k in (0.0, 150.0)
    )
    weak = cold.limit == "amplifier"
    assert weak.any() and (warm.limit[weak] == "amplifier").all()
    # the amplifier's volts stay what they are, so the level falls by what `solve` says
    fall = solve(DRIVER, BOX, FREQUENCY).spl - solve(DRIVER, BOX, FREQUENCY, kelvin=150.0).spl
    np.testing.assert_allclose((cold.spl - warm.spl)[weak], fall[weak], atol=1e-9)
    # travel: as loud as before, for more volts
    stiff = (cold.limit == "cone excursion") & (warm.limit == "cone excursion")
    assert stiff.any()
    np.testing.assert_allclose(cold.spl[stiff], warm.spl[stiff], atol=1e-9)
    assert (warm.voltage[stiff] > cold.voltage[stiff]).all()
    # heat: as many watts in more ohms
    hot = max_output(DRIVER, BOX, 100.0, kelvin=150.0)
    assert str(hot.limit) == "heat"
    r = solve(DRIVER, BOX, 100.0, float(hot.voltage), kelvin=150.0)
    watts = abs(r.current) ** 2 * DRIVER.re * (1 + ALPHA["copper"] * 150.0)
    assert watts == pytest.approx(DRIVER.pe)


def test_one_setting_over_a_band_knows_the_warm_coil_too():
    band = np.geomspace(20, 100, 101)
    cold, warm = (first_stop(DRIVER, BOX, band, power=20, load=4, kelvin=k) for k in (0.0, 100.0))
    assert str(cold.limit) == str(warm.limit) == "amplifier"
    assert (warm.spl < cold.spl).all()


def test_what_is_no_warmth_is_refused():
    with pytest.raises(ValueError, match="kelvin"):
        solve(DRIVER, BOX, FREQUENCY, kelvin=-5.0)
    with pytest.raises(ValueError, match="copper or aluminium"):
        solve(DRIVER, BOX, FREQUENCY, kelvin=50.0, metal="gold")
    with pytest.raises(ValueError, match="copper or aluminium"):
        max_output(DRIVER, BOX, FREQUENCY, metal="gold")
