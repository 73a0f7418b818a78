"""What must hold for any valid driver in any valid box (hypothesis)."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from strategies import airs, boxes, drivers, ported, sealed, spread, with_radiator

from boxlab import Air, Driver, Port, PortedBox, Radiator, RadiatorBox, SealedBox, solve

pytestmark = pytest.mark.filterwarnings("ignore::boxlab.base.checks.UnitWarning")
settings.register_profile("physics", max_examples=40, deadline=None, derandomize=True)
settings.load_profile("physics")

FREQUENCY = np.geomspace(4, 600, 70)
AIR = Air()
COMPLEX = ("impedance", "cone_velocity", "cone_volume_velocity", "vent_volume_velocity",
           "leak_volume_velocity", "box_pressure", "pressure")  # fmt: skip
REAL = ("spl", "cone_excursion", "vent_excursion", "vent_air_speed", "group_delay")
LINEAR = (*COMPLEX[1:], "cone_excursion", "vent_excursion", "vent_air_speed")


def plain_driver():
    return Driver(
        re=3.5, le=1e-3, bl=12.0, mms=0.12, cms=2.2e-4, rms=2.5, sd=0.033, xmax=0.012, pe=400.0
    )


def compliance(box, air=AIR):
    return box.volume / (air.density * air.speed_of_sound**2)


@given(driver=drivers(), box=boxes(), air=airs())
def test_finite_and_shaped_like_frequency(driver, box, air):
    r = solve(driver, box, FREQUENCY, air=air)
    for name in (*COMPLEX, *REAL):
        value = np.asarray(getattr(r, name))
        assert value.shape == FREQUENCY.shape, name
        assert np.all(np.isfinite(value)), name
        assert np.iscomplexobj(value) == (name in COMPLEX), name
    if isinstance(box, SealedBox):
        assert np.all(np.isnan(r.vent_phase)) and np.isnan(box.tuning(air))
        assert not np.any(r.vent_volume_velocity) and not np.any(r.vent_excursion)
        assert not np.any(r.vent_air_speed) and not np.any(r.leak_volume_velocity)
    else:
        assert np.all((r.vent_phase > -180) & (r.vent_phase <= 180))
        assert np.isfinite(box.tuning(air)) and box.tuning(air) > 0


@given(driver=drivers(), box=boxes(), volts=spread(1e-3, 200), factor=spread(1e-2, 100))
def test_scales_with_voltage(driver, box, volts, factor):
    a = solve(driver, box, FREQUENCY, voltage=volts)
    b = solve(driver, box, FREQUENCY, voltage=volts * factor)
    for name in LINEAR:
        np.testing.assert_allclose(
            getattr(b, name), factor * getattr(a, name), rtol=1e-10, err_msg=name
        )
    np.testing.assert_allclose(b.spl, a.spl + 20 * np.log10(factor), atol=1e-8)
    np.testing.assert_allclose(b.impedance, a.impedance, rtol=1e-12)
    np.testing.assert_allclose(b.group_delay, a.group_delay, rtol=1e-9, atol=1e-15)


@given(driver=drivers(), box=boxes(), ohms=spread(0.01, 10))
def test_source_resistance_divides_the_voltage(driver, box, ohms):
    # Thevenin: the box sees V Z/(Z + Rs) and its own impedance does not change
    a = solve(driver, box, FREQUENCY)
    b = solve(driver, box, FREQUENCY, source_resistance=ohms)
    np.testing.assert_allclose(b.impedance, a.impedance, rtol=1e-10)
    share = a.impedance / (a.impedance + ohms)
    for name in COMPLEX[1:]:
        np.testing.assert_allclose(
            getattr(b, name), share * getattr(a, name), rtol=1e-8, err_msg=name
        )


@given(driver=drivers(), box=boxes(), air=airs(), distance=spread(0.1, 100))
def test_far_field_of_the_summed_flow(driver, box, air, distance):
    r = solve(driver, box, FREQUENCY, air=air, distance=distance)
    total = r.cone_volume_velocity + r.vent_volume_velocity + r.leak_volume_velocity
    w = 2 * np.pi * FREQUENCY
    want = 1j * w * air.density * total / (2 * np.pi * distance)
    want = want * np.exp(-1j * w * distance / air.speed_of_sound)
    # cone and vent nearly cancel far below tuning: judge by the larger part
    scale = np.abs(r.cone_volume_velocity) * w * air.density / (2 * np.pi * distance)
    assert np.all(np.abs(r.pressure - want) <= 1e-10 * scale + 1e-12 * np.abs(want))
    np.testing.assert_allclose(r.spl, 20 * np.log10(np.abs(r.pressure) / 20e-6), atol=1e-9)
    np.testing.assert_allclose(r.cone_volume_velocity, driver.sd * r.cone_velocity, rtol=1e-12)


@given(driver=drivers(), box=boxes(), air=airs())
def test_what_flows_out_lowers_the_box_pressure(driver, box, air):
    r = solve(driver, box, FREQUENCY, air=air)
    total = r.cone_volume_velocity + r.vent_volume_velocity + r.leak_volume_velocity
    spring = -2j * np.pi * FREQUENCY * compliance(box, air) * r.box_pressure
    assert np.all(np.abs(total - spring) <= 1e-10 * np.abs(r.cone_volume_velocity))


@given(driver=drivers(), box=boxes())
def test_passive(driver, box):
    r = solve(driver, box, FREQUENCY)
    coil = driver.semi_k * (2j * np.pi * FREQUENCY) ** driver.semi_n
    floor = driver.re + coil.real
    assert np.all(r.impedance.real >= floor * (1 - 1e-12))
    # what the cone takes is what the motional part of the impedance takes
    current = 2.83 / r.impedance
    motional = (r.impedance - driver.re - coil).real * np.abs(current) ** 2
    force = (driver.bl * current * r.cone_velocity.conj()).real
    np.testing.assert_allclose(force, motional, rtol=1e-7, atol=1e-12 * np.max(motional))


@given(driver=drivers(), box=boxes())
def test_impedance_is_coil_plus_back_voltage(driver, box):
    r = solve(driver, box, FREQUENCY)
    current = 2.83 / r.impedance
    coil = driver.re + 2j * np.pi * FREQUENCY * driver.le
    coil = coil + driver.semi_k * (2j * np.pi * FREQUENCY) ** driver.semi_n
    back = driver.bl * r.cone_velocity
    np.testing.assert_allclose(coil * current + back, np.full(FREQUENCY.size, 2.83), rtol=1e-10)


@given(driver=drivers(le=0.0, semi=False), box=boxes())
def test_back_voltage_bounds_the_cone(driver, box):
    # derived: |Bl + Re Zm/Bl| >= Bl + Re rms/Bl because a passive Zm has a real part >= rms
    r = solve(driver, box, FREQUENCY)
    most = 2.83 * driver.bl / (driver.bl**2 + driver.re * driver.rms)
    assert np.all(np.abs(r.cone_velocity) <= most * (1 + 1e-12))
    slowest = np.sqrt(2) * most / (2 * np.pi * FREQUENCY)
    assert np.all(r.cone_excursion <= slowest * (1 + 1e-12))


@given(driver=drivers(le=0.0, semi=False), box=sealed())
def test_sealed_excursion_is_bounded_by_its_value_at_rest(driver, box):
    # derived: at DC the coil force meets both springs; above it at most Q^2/sqrt(Q^2 - 1/4) times
    stiffness = 1 / driver.cms + driver.sd**2 / compliance(box)
    static = np.sqrt(2) * 2.83 * driver.bl / driver.re / stiffness
    w = np.sqrt(stiffness / driver.mms)
    q = w * driver.mms / (driver.rms + driver.bl**2 / driver.re)
    peak = q**2 / np.sqrt(q**2 - 0.25) if q > np.sqrt(0.5) else 1.0
    r = solve(driver, box, np.geomspace(1e-3, 600, 200))
    assert np.all(r.cone_excursion <= peak * static * (1 + 1e-9))
    # a cone that does not resonate falls below its static value by the damping's corner
    corner = w * min(q, 1) / (2 * np.pi)
    low = solve(driver, box, [1e-4 * corner]).cone_excursion[0]
    assert low == pytest.approx(static, rel=1e-6)


@given(driver=drivers(le=0.0, semi=False), box=with_radiator(ql=st.just(np.inf)))
def test_static_springs_of_a_radiator_box(driver, box):
    # at DC the box air and the radiators' suspensions are in series, behind the cone's
    springs = box.count * box.radiator.sd**2 * box.radiator.cms
    behind = driver.sd**2 / (compliance(box) + springs)
    static = np.sqrt(2) * 2.83 * driver.bl / driver.re / (1 / driver.cms + behind)
    assert solve(driver, box, [1e-3]).cone_excursion[0] == pytest.approx(static, rel=1e-3)


@given(driver=drivers(), other=drivers(), box=ported() | with_radiator())
def test_vent_phase_does_not_depend_on_the_driver(driver, other, box):
    a, b = (solve(d, box, FREQUENCY).vent_phase for d in (driver, other))
    turn = np.angle(np.exp(1j * np.radians(a - b)))
    np.testing.assert_allclose(turn, 0, atol=1e-7)


@given(driver=drivers(), box=ported())
def test_vent_phase_of_a_port_in_closed_form(driver, box):
    # derived: U_vent/U_cone = -1/(1 - x^2 + jx/QL), x = f/fb
    x = FREQUENCY / box.tuning(AIR)
    ratio = -1 / (1 - x**2 + 1j * x / box.ql)
    got = solve(driver, box, FREQUENCY, air=AIR).vent_phase
    if np.isinf(box.ql):
        np.testing.assert_allclose(got, np.where(x < 1, 180.0, 0.0), atol=1e-9)
    else:
        np.testing.assert_allclose(got, np.degrees(np.angle(ratio)), atol=1e-6)
        at_tuning = solve(driver, box, [box.tuning(AIR)], air=AIR).vent_phase
        assert at_tuning[0] == pytest.approx(90, abs=1e-6)


@given(driver=drivers(), box=with_radiator(ql=spread(2, 100)))
def test_vent_phase_is_that_of_the_flows(driver, box):
    r = solve(driver, box, FREQUENCY)
    ratio = r.vent_volume_velocity / r.cone_volume_velocity
    turn = np.angle(np.exp(1j * np.radians(r.vent_phase)) / ratio)
    np.testing.assert_allclose(turn, 0, atol=1e-9)


@given(driver=drivers(), box=ported() | with_radiator())
def test_excursion_and_speed_of_one_vent(driver, box):
    r = solve(driver, box, FREQUENCY)
    area = box.port.area if isinstance(box, PortedBox) else box.radiator.sd
    speed = np.sqrt(2) * np.abs(r.vent_volume_velocity) / (box.count * area)
    np.testing.assert_allclose(r.vent_air_speed, speed, rtol=1e-12)
    np.testing.assert_allclose(r.vent_excursion, speed / (2 * np.pi * FREQUENCY), rtol=1e-12)
    np.testing.assert_allclose(
        r.cone_excursion, np.sqrt(2) * np.abs(r.cone_velocity) / (2 * np.pi * FREQUENCY), rtol=1e-12
    )


@given(driver=drivers(), box=boxes(), distance=spread(0.2, 20))
def test_group_delay_is_the_slope_of_phase_without_flight(driver, box, distance):
    # derived: central difference of the phase; the step is halved to judge its own error
    def slope(step):
        up, down = (
            solve(driver, box, FREQUENCY * (1 + sign * step), distance=distance).pressure
            for sign in (1, -1)
        )
        turn = np.angle(up / down)
        return -turn / (2 * np.pi * FREQUENCY * 2 * step) - distance / Air().speed_of_sound

    coarse, fine = slope(2e-5), slope(1e-5)
    got = solve(driver, box, FREQUENCY, distance=distance).group_delay
    room = 5 * np.abs(coarse - fine) + 1e-5 * np.abs(fine) + 1e-8 + 1e-4 / FREQUENCY / 100
    assert np.all(np.abs(got - fine) <= room)


@given(driver=drivers(), box=boxes())
def test_group_delay_does_not_depend_on_distance(driver, box):
    near, far = (solve(driver, box, FREQUENCY, distance=d).group_delay for d in (1.0, 50.0))
    np.testing.assert_allclose(near, far, rtol=1e-9, atol=1e-15)


@given(driver=drivers(), box=with_radiator())
def test_many_radiators_are_one_large_one(driver, box):
    n, one = box.count, box.radiator
    merged = replace(one, sd=n * one.sd, mms=n * one.moving_mass, cms=one.cms / n,
                     rms=n * one.rms, added_mass=0.0)  # fmt: skip
    same = RadiatorBox(box.volume, merged, 1, box.ql)
    a, b = solve(driver, box, FREQUENCY), solve(driver, same, FREQUENCY)
    for name in (*COMPLEX, "vent_excursion", "vent_phase", "group_delay"):
        np.testing.assert_allclose(
            getattr(a, name), getattr(b, name), rtol=1e-7, atol=1e-14, err_msg=name
        )
    assert same.tuning(AIR) == pytest.approx(box.tuning(AIR), rel=1e-12)


@given(driver=drivers(), box=ported())
def test_many_ports_are_one_of_their_area(driver, box):
    port = replace(box.port, area=box.count * box.port.area)
    same = PortedBox(box.volume, port, 1, box.ql)
    a, b = solve(driver, box, FREQUENCY), solve(driver, same, FREQUENCY)
    for name in (*COMPLEX, "vent_air_speed"):
        np.testing.assert_allclose(
            getattr(a, name), getattr(b, name), rtol=1e-7, atol=1e-14, err_msg=name
        )


@given(driver=drivers(), box=boxes(), factor=spread(0.3, 3))
def test_cone_area_is_a_transformer(driver, box, factor):
    # derived: scale the area by a, Bl by a, the mechanical impedance by a^2: the acoustic and
    # electrical sides cannot tell
    scaled = replace(
        driver, sd=driver.sd * factor, bl=driver.bl * factor, mms=driver.mms * factor**2,
        rms=driver.rms * factor**2, cms=driver.cms / factor**2,
    )  # fmt: skip
    a, b = solve(driver, box, FREQUENCY), solve(scaled, box, FREQUENCY)
    for name in ("impedance", "cone_volume_velocity", "vent_volume_velocity", "box_pressure"):
        np.testing.assert_allclose(getattr(a, name), getattr(b, name), rtol=1e-7, atol=1e-14)
    np.testing.assert_allclose(a.spl, b.spl, atol=1e-6)


@given(driver=drivers(le=0.0, semi=False), box=boxes(), factor=spread(0.5, 2))
def test_a_model_at_scale_sings_the_same_higher(driver, box, factor):
    # derived: frequencies times k; lengths over k, compliances and masses over k each:
    # jw m and 1/(jw c) are unchanged, so is every impedance
    k = factor
    smaller = replace(driver, mms=driver.mms / k, cms=driver.cms / k)
    if isinstance(box, SealedBox):
        little = SealedBox(box.volume / k)
    elif isinstance(box, PortedBox):
        port = Port(box.port.area, box.port.length / k, box.port.end_correction / k)
        little = PortedBox(box.volume / k, port, box.count, box.ql)
    else:
        one = box.radiator
        radiator = replace(one, mms=one.mms / k, cms=one.cms / k, added_mass=one.added_mass / k)
        little = RadiatorBox(box.volume / k, radiator, box.count, box.ql)
    a, b = solve(driver, box, FREQUENCY), solve(smaller, little, FREQUENCY * k)
    np.testing.assert_allclose(b.impedance, a.impedance, rtol=1e-7)
    np.testing.assert_allclose(b.cone_velocity, a.cone_velocity, rtol=1e-6, atol=1e-14)


@given(driver=drivers(le=0.0, semi=False), box=boxes())
def test_lossless_reactance_only_rises(driver, box):
    # Foster, Bell System Tech. J. 3 (1924) 259: the slope of a lossless reactance is positive
    driver = replace(driver, rms=0.0)
    if isinstance(box, RadiatorBox):
        box = RadiatorBox(box.volume, replace(box.radiator, rms=0.0), box.count)
    elif isinstance(box, PortedBox):
        box = PortedBox(box.volume, box.port, box.count)
    z = np.stack([solve(driver, box, FREQUENCY * m).impedance for m in (1, 1 + 1e-6)])
    assert np.all(np.abs(z.real - driver.re) <= 1e-9 * np.abs(z))
    low, high = z.imag
    rises = (high > low) | ((low > 0) & (high < 0))  # through a pole it comes back from below
    level = np.abs(high - low) <= 1e-12 * (np.abs(low) + np.abs(high))
    assert np.all(rises | level)


@given(driver=drivers(), box=ported())
def test_a_port_too_thin_to_breathe_is_a_sealed_box(driver, box):
    thin = PortedBox(box.volume, Port(1e-6, 3.0, 0.0), 1)
    f = FREQUENCY[FREQUENCY > 20]
    a, b = solve(driver, thin, f), solve(driver, SealedBox(box.volume), f)
    assume(thin.tuning(AIR) < 2)
    np.testing.assert_allclose(a.impedance, b.impedance, rtol=2e-2)


@given(driver=drivers(), box=boxes())
def test_a_box_too_large_to_matter_leaves_the_cone_free(driver, box):
    huge = SealedBox(1e6)
    np.testing.assert_allclose(
        solve(driver, huge, FREQUENCY).impedance,
        solve(driver, None, FREQUENCY).impedance,
        rtol=1e-3,
    )


@given(driver=drivers(), box=boxes(), volumes=st.lists(spread(3e-3, 0.25), min_size=2, max_size=4),
       le=st.lists(spread(1e-5, 3e-3), min_size=3, max_size=3))  # fmt: skip
def test_an_array_of_designs_is_a_loop_over_designs(driver, box, volumes, le):
    volumes, le = np.array(volumes)[:, None], np.array(le)
    many = replace(driver, le=le)
    r = solve(many, replace(box, volume=volumes), FREQUENCY)
    for i in range(volumes.size):
        for j in range(le.size):
            one = solve(replace(driver, le=le[j]), replace(box, volume=volumes[i, 0]), FREQUENCY)
            for name in (*COMPLEX, *REAL, "vent_phase"):
                array = np.broadcast_to(getattr(r, name), (volumes.size, le.size, FREQUENCY.size))
                np.testing.assert_allclose(
                    array[i, j], getattr(one, name), rtol=1e-11, atol=1e-15, err_msg=name
                )


@given(box=with_radiator())
def test_arrays_in_vents_and_air_are_loops_too(box):
    driver = plain_driver()
    mass = np.array([0.0, 0.1, 0.3])
    counts, ql = np.array([1, 2, 3]), np.array([7.0, np.inf, 20.0])
    air = Air(temperature=np.array([0.0, 20.0, 35.0]), humidity=0.4)
    many = RadiatorBox(box.volume, replace(box.radiator, added_mass=mass), counts, ql)
    r = solve(
        driver,
        many,
        FREQUENCY,
        voltage=np.array([1.0, 2.0, 3.0]),
        air=air,
        distance=np.array([1.0, 2.0, 4.0]),
        source_resistance=np.array([0.0, 0.1, 0.2]),
    )
    for i in range(3):
        alone = RadiatorBox(
            box.volume, replace(box.radiator, added_mass=mass[i]), int(counts[i]), ql[i]
        )
        at = Air(temperature=[0.0, 20.0, 35.0][i], humidity=0.4)
        one = solve(driver, alone, FREQUENCY, voltage=i + 1.0, air=at,
                    distance=[1.0, 2.0, 4.0][i], source_resistance=0.1 * i)  # fmt: skip
        assert many.tuning(air)[i] == pytest.approx(alone.tuning(at), rel=1e-12)
        for name in (*COMPLEX, *REAL, "vent_phase"):
            np.testing.assert_allclose(
                getattr(r, name)[i], getattr(one, name), rtol=1e-9, atol=1e-15, err_msg=name
            )


@given(
    volume=spread(3e-3, 0.2), fb=spread(15, 60), area=spread(5e-4, 0.03), count=st.integers(1, 4)
)
def test_tuned_ports_land_on_their_tuning(volume, fb, area, count):
    try:
        box = PortedBox.tuned(volume, fb, area, count=count, max_length=3)
    except ValueError as error:
        assert "fb" in str(error) or "long" in str(error)
        return
    assert box.tuning(AIR) == pytest.approx(fb, rel=1e-9)
    assert 0 <= box.port.length <= 3.0


@given(box=with_radiator(), share=st.floats(0.3, 0.999))
def test_tuned_radiators_land_on_their_tuning(box, share):
    bare = replace(box.radiator, added_mass=0.0)
    highest = RadiatorBox(box.volume, bare, box.count).tuning(AIR)
    tuned = RadiatorBox.tuned(box.volume, share * highest, bare, count=box.count)
    assert tuned.tuning(AIR) == pytest.approx(share * highest, rel=1e-9)
    assert tuned.radiator.added_mass > 0
    with pytest.raises(ValueError, match="out of reach"):
        RadiatorBox.tuned(box.volume, 1.01 * highest, bare, count=box.count)


@given(fs=spread(12, 90), qes=spread(0.15, 2), qms=spread(1.5, 20), vas=spread(2e-3, 0.4),
       sd=spread(5e-3, 0.12), re=spread(1, 10), air=airs())  # fmt: skip
def test_datasheet_figures_come_back(fs, qes, qms, vas, sd, re, air):
    d = Driver.from_datasheet(fs=fs, qes=qes, qms=qms, vas=vas, sd=sd, re=re, xmax=8e-3, pe=300.0,
                              air=air)  # fmt: skip
    assert (d.fs, d.qes, d.qms, d.vas(air)) == pytest.approx((fs, qes, qms, vas), rel=1e-10)
    assert d.qts == pytest.approx(qes * qms / (qes + qms), rel=1e-10)
    # Small 1972: 4 pi^2 fs^3 Vas / (c^3 Qes)
    want = 4 * np.pi**2 / air.speed_of_sound**3 * fs**3 * vas / qes
    assert d.reference_efficiency(air) == pytest.approx(want, rel=1e-10)


def test_reference_efficiency_is_that_of_the_solved_passband():
    # derived: radiated power over input power in re, in the mass-controlled band
    d = replace(plain_driver(), le=0.0)
    r = solve(d, SealedBox(0.2), [4000.0])
    power = np.abs(r.pressure) ** 2 * 2 * np.pi / (AIR.density * AIR.speed_of_sound)
    assert power[0] / (2.83**2 / d.re) == pytest.approx(d.reference_efficiency(AIR), rel=2e-3)


def test_semi_inductance_of_half_a_power_is_at_forty_five_degrees():
    # Leach, JAES 50 (2002) 442: K(jw)^n; n = 1/2 has 45 degrees and 3 dB per octave
    d = replace(plain_driver(), le=0.0, semi_k=0.1, semi_n=0.5, bl=1.0, rms=0.0, mms=2.9)
    f = np.array([500.0, 1000.0])
    z = solve(d, SealedBox(0.2), f).impedance - d.re
    assert np.degrees(np.angle(z)) == pytest.approx([45, 45], abs=0.05)
    assert 20 * np.log10(abs(z[1] / z[0])) == pytest.approx(10 * np.log10(2), abs=0.01)


def test_radiator_mass_sums():
    r = Radiator(sd=0.03, mms=0.1, cms=3e-4, rms=1.0, xmax=0.02, added_mass=0.05)
    assert r.moving_mass == pytest.approx(0.15)
