"""How much radiator: needed swept volume, choices of radiators, and what shakes the box."""

import math
from dataclasses import replace

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from boxlab import Air, PortedBox, Radiator, RadiatorBox, SealedBox, max_output, solve
from boxlab.design.radiator_choices import programme_limit, softened, variants
from boxlab.design.radiator_need import (
    equal_sound,
    factors,
    in_use,
    most_needed,
    need_in,
    needed_ratio,
    working_low,
)
from boxlab.design.radiator_study import PROGRAMMES, retuned, smooth, study
from boxlab.gear.scenario import TEN_INCH_DRIVER as DRIVER
from boxlab.gear.scenario import TEN_INCH_RADIATOR as RADIATOR
from boxlab.model.passband import passband
from boxlab.model.random_designs import random_designs
from boxlab.model.recoil import recoil, shake

AIR = Air()
BOX = RadiatorBox.tuned(0.014, 36.0, RADIATOR, ql=7)


@pytest.fixture(scope="module")
def crowd():
    return study()


def lossless_b4(box_like=PortedBox):
    """The maximally flat fourth-order box, no losses: Qts 0.38268, α = √2, h = 1."""
    fs, qt = 40.0, 1 / math.sqrt(4 + 2 * math.sqrt(2))
    driver = replace(DRIVER, le=0.0, rms=0.0, mms=0.1, cms=1 / ((2 * np.pi * fs) ** 2 * 0.1))
    driver = replace(driver, bl=np.sqrt(2 * np.pi * fs * 0.1 * driver.re / qt))
    return driver, PortedBox.tuned(driver.vas(AIR) / math.sqrt(2), fs, 0.01, max_length=3)


def test_need_of_the_maximally_flat_box_against_its_closed_form():
    """Lossless B4. Derived: k_P = 7.17 makes the cone's largest travel above f3 √0.0592 of its
    static one (k_P = (4π³ρ/c)/|X|², ρ = 1.18, c = 345), and at f3 the port alone makes the −3 dB
    output, so the need is √½/0.2433 = 2.906."""
    cone = math.sqrt(4 * np.pi**3 * 1.18 / 345 / 7.17)
    need = needed_ratio(*lossless_b4(), low=40.0)
    assert need.ratio == pytest.approx(math.sqrt(0.5) / cone, rel=2e-3)
    assert need.radiator_at == pytest.approx(40.0)


def test_need_against_a_plain_search_of_the_solved_response():
    """The same definition written out slowly for one box."""
    f = np.linspace(33, 140, 20001)
    r = solve(DRIVER, BOX, f, 1.0)
    volts = DRIVER.xmax / r.cone_excursion.max()
    radiator = volts * r.vent_excursion.max() * RADIATOR.sd
    need = needed_ratio(DRIVER, BOX, 33.0, 140.0, points=400)
    assert need.ratio == pytest.approx(radiator / (DRIVER.sd * DRIVER.xmax), rel=1e-4)
    assert need.voltage == pytest.approx(volts, rel=1e-4)
    # with a limiter and headroom: each frequency at the lower of knob and cone limit
    pushed = np.minimum(2 * volts, DRIVER.xmax / r.cone_excursion)
    radiator = (pushed * r.vent_excursion).max() * RADIATOR.sd
    need = needed_ratio(DRIVER, BOX, 33.0, 140.0, points=4000, headroom=20 * np.log10(2))
    assert need.ratio == pytest.approx(radiator / (DRIVER.sd * DRIVER.xmax), rel=1e-3)


def test_need_agrees_with_which_limit_stops_first():
    """With just the swept volume it needs, radiator and cone reach their ends at one setting."""
    need = needed_ratio(DRIVER, BOX)
    f = np.geomspace(float(need.cone_at) / 2, 140, 3000)
    f = f[f >= working_low(DRIVER, BOX)]
    for factor, stopped in ((0.98, "radiator excursion"), (1.02, "cone excursion")):
        xmax = factor * need.ratio * DRIVER.vd / RADIATOR.sd
        box = replace(BOX, radiator=replace(BOX.radiator, xmax=float(xmax)))
        top = max_output(replace(DRIVER, pe=2e4), box, f)
        assert top.limit[np.argmin(top.voltage)] == stopped


def test_quartiles_of_the_needed_ratio(crowd):
    """Two to one comes out as the middle of a wide spread, not as a law."""
    assert crowd.quartiles == pytest.approx((1.64, 2.12, 2.83), abs=0.05)
    assert crowd.share_above(2) == pytest.approx(0.56, abs=0.02)
    assert crowd.share_above(3) == pytest.approx(0.21, abs=0.02)
    assert len(crowd.designs) > 8000
    assert np.all(smooth(crowd.found))
    again = study(seed=2)
    assert again.quartiles == pytest.approx(crowd.quartiles, rel=0.03)


def test_small_boxes_need_less_and_low_tuning_more(crowd):
    d, ratio = crowd.designs, crowd.need.ratio
    alpha = d.driver.vas() / d.box.volume
    assert np.median(ratio[alpha > 4]) < 1.6  # boxes much smaller than Vas
    assert np.median(ratio[alpha < 0.5]) > 2.9
    tuned = d.box.tuning() / d.driver.fs
    assert np.median(ratio[tuned < 0.7]) > 2.6 > 1.9 > np.median(ratio[tuned > 1.1])


def test_retuned_is_as_a_change_of_weights():
    heavier = BOX.radiator.with_mass(BOX.radiator.moving_mass / 0.7**2 - RADIATOR.mms)
    by_weight, by_area = replace(BOX, radiator=heavier), retuned(BOX, 0.7)
    assert by_area.tuning() == pytest.approx(0.7 * 36.0)
    f = [15.0, 25.0, 60.0]
    assert solve(DRIVER, by_area, f).spl == pytest.approx(solve(DRIVER, by_weight, f).spl)


def test_more_loss_needs_less_radiator(crowd):
    d = crowd.designs[:2000]
    medians = [
        np.median(needed_ratio(d.driver, replace(d.box, ql=ql), crowd.low[:2000]).ratio)
        for ql in (3, 7, 15, np.inf)
    ]
    assert np.all(np.diff(medians) > 0.05)


def test_programme_below_tuning_stops_the_cone_first():
    """Half an octave and more below tuning the cone runs out, so the ratio falls, not the need."""
    at, below = study(6000), study(6000, band=0.6)
    assert below.quartiles[1] < 1.5 < 2 < at.quartiles[1]
    assert np.mean(below.need.cone_at < 1.01 * below.low) > 0.6
    # and the same knob setting is no longer reached: less voltage in every box
    assert np.all(below.need.voltage <= at.need.voltage * (1 + 1e-6))


def test_headroom_with_a_limiter_asks_for_more():
    plain, three, six = (study(6000, headroom=h).quartiles[1] for h in (0, 3, 6))
    assert plain < 2.2 < 2.7 < three < six - 0.5


def test_need_of_an_unknown_corner_is_unknown():
    """A box whose f3 lies off the grid gives NaN and leaves the others alone."""
    d = random_designs("radiator", 3, seed=1)
    need = needed_ratio(d.driver, d.box, low=passband(d.driver, d.box).f3)
    assert np.isfinite(need.ratio).all()
    with pytest.raises(ValueError, match="above low"):
        needed_ratio(DRIVER, BOX, 60.0, 40.0)


# --- where the ratio comes from


def test_flat_sound_without_losses_needs_exactly_four():
    """Derived: cone (1 − fb²/f²)/f² at most 1/(4fb²), at √2·fb; vent 1/fb² at fb. Any driver."""
    for driver, volume, fb in ((DRIVER, 0.014, 36.0), (lossless_b4()[0], 0.05, 20.0)):
        box = PortedBox.tuned(volume, fb, 0.005, max_length=9)
        need = needed_ratio(driver, box, fb, equalised=True, points=801)
        assert need.ratio == pytest.approx(4, rel=1e-4)
        assert need.cone_at == pytest.approx(math.sqrt(2) * fb, rel=2e-3)
        assert need.radiator_at == pytest.approx(fb)


@pytest.mark.parametrize(("cms", "volume"), [(0.2e-3, 0.014), (0.6e-3, 0.014), (0.6e-3, 0.05)])
def test_a_suspension_takes_off_from_four(cms, volume):
    """Against a search of the solved response; no losses in box or radiator."""
    radiator = replace(RADIATOR, cms=cms, rms=0.0)
    box = RadiatorBox.tuned(volume, 36.0, radiator)
    f = np.geomspace(36, 144, 8001)
    r = solve(DRIVER, box, f, 1.0)
    cone, vent = (
        np.abs(flow / r.volume_velocity) / f**2
        for flow in (r.cone_volume_velocity, r.vent_volume_velocity)
    )
    assert equal_sound(box) == pytest.approx(vent.max() / cone.max(), rel=1e-5)
    assert equal_sound(box) < 3.9
    assert needed_ratio(DRIVER, box, 36.0, equalised=True, points=801).ratio == pytest.approx(
        equal_sound(box), rel=1e-4
    )


def test_equalised_need_against_a_search_of_the_solved_response():
    f = np.geomspace(33, 132, 4001)
    r = solve(DRIVER, BOX, f, 1.0)
    sound = 1 / np.abs(r.pressure)
    volts = DRIVER.xmax / (r.cone_excursion * sound).max()
    radiator = volts * (r.vent_excursion * sound).max() * RADIATOR.sd
    need = needed_ratio(DRIVER, BOX, 33.0, equalised=True, points=801)
    assert need.ratio == pytest.approx(radiator / DRIVER.vd, rel=1e-4)
    at = solve(DRIVER, BOX, need.cone_at, need.voltage)
    assert at.cone_excursion.item() == pytest.approx(DRIVER.xmax, rel=1e-6)


def test_factors_multiply_to_the_ratio(crowd):
    d = crowd.designs
    parts = factors(d.driver, d.box, crowd.need)
    assert parts.product() == pytest.approx(crowd.need.ratio, rel=1e-9)


def test_most_needed_is_an_upper_bound(crowd):
    d = crowd.designs
    most = most_needed(d.driver, d.box)
    assert np.all(most > needed_ratio(d.driver, d.box, d.box.tuning()).ratio)
    assert np.shape(most_needed(DRIVER, BOX)) == ()


def test_programmes_of_one_box_and_of_the_study_agree():
    for options in PROGRAMMES.values():
        many = study(300, **options)
        one = many.designs[5]
        assert need_in(one.driver, one.box, **options).ratio == pytest.approx(many.need.ratio[5])
    with pytest.raises(ValueError, match="choose one of lower, f3, tuning"):
        study(300, edge="bottom")


def test_use_keeps_the_cone_within_its_end():
    for headroom in (0, 6, math.inf):
        use = in_use(DRIVER, BOX, headroom=headroom)
        assert use.cone.max() == pytest.approx(1)
        driven = solve(DRIVER, BOX, use.frequency, 1.0)
        assert use.cone == pytest.approx(driven.cone_excursion * use.voltage / DRIVER.xmax)
    assert np.all(use.cone == pytest.approx(1))  # any tone, the cone always at its end


# --- choices


@pytest.fixture(scope="module")
def choices():
    found = variants(
        DRIVER, 0.014, 36.0, replace(RADIATOR, xmax=0.016), ql=7, power=500, load=DRIVER.re
    )
    return {v.name: v for v in found}


def test_variants_share_the_tuning_and_the_box(choices):
    for v in choices.values():
        assert v.box.tuning(AIR) == pytest.approx(36.0)
        assert v.box.volume == 0.014
    assert choices["one"].null == pytest.approx(choices["double travel"].null)


def test_double_travel_and_two_the_same_sweep_the_same(choices):
    one, long, two = (choices[n] for n in ("one", "double travel", "two the same"))
    assert long.swept_ratio == pytest.approx(2 * one.swept_ratio)
    assert two.swept_ratio == pytest.approx(long.swept_ratio)
    # but two need more than three times the moving mass, and shake the box harder
    assert two.moving_mass > 3 * long.moving_mass
    assert two.recoil > 1.5 * long.recoil
    # and have the lower null, with more output an octave below tuning
    assert two.null < long.null
    assert two.octave_below > long.octave_below


def test_two_radiators_are_neither_necessary_nor_always_enough(choices):
    assert not choices["one"].enough and choices["double travel"].enough
    short = replace(RADIATOR, xmax=0.006)
    pair = variants(DRIVER, 0.014, 36.0, short, ql=7)[3]
    assert pair.name == "two the same" and not pair.enough


def test_the_stop_of_the_radiator_sets_the_loudness(choices):
    """Where the radiator's stop is the limit, its travel alone sets the level."""
    one, long = choices["one"], choices["double travel"]
    stop = one.limit == "radiator excursion"
    assert stop.any()
    gained = long.spl - one.spl
    assert np.all(gained[stop] > 0) and np.all(gained <= 6.03)
    assert gained[~stop] == pytest.approx(0, abs=1e-9)


def test_more_radiator_than_needed_buys_no_loudness():
    """Below the need loudness goes with the swept volume; above it the cone sets it."""
    need = needed_ratio(DRIVER, BOX)
    volts, limit = programme_limit(DRIVER, BOX, np.array([0.25, 0.5, 0.99, 1.01, 2]) * need.ratio)
    assert list(limit) == ["radiator excursion"] * 3 + ["cone excursion"] * 2
    assert volts[:3] == pytest.approx(need.voltage * np.array([0.25, 0.5, 0.99]), rel=1e-6)
    assert volts[3:] == pytest.approx(need.voltage, rel=1e-6)
    volts, limit = programme_limit(DRIVER, BOX, power=10, load=DRIVER.re)
    assert limit == ["amplifier"] and volts == pytest.approx(math.sqrt(10 * DRIVER.re))


def test_sag_and_mass_of_a_variant(choices):
    v = choices["a size larger"]
    assert v.moving_mass == pytest.approx(RADIATOR.mms * 1.4 + v.added_mass)
    assert v.sag == pytest.approx(v.moving_mass * 9.80665 * RADIATOR.cms)
    assert v.panel_area == pytest.approx(1.4 * RADIATOR.sd)


def test_softer_suspension_moves_the_null_down_and_away():
    nulls, levels = [], []
    for softer in (1, 2, 4):
        box = softened(BOX, softer)
        stiffness = box.radiator.vap() / box.volume
        assert box.tuning() == pytest.approx(36.0)
        # fb = fp·√(1 + C_AP/C_AB) (Small 1974)
        assert box.radiator.fp == pytest.approx(36.0 / math.sqrt(1 + stiffness))
        nulls.append(box.radiator.fp)
        levels.append(solve(DRIVER, box, 22.0).spl)
    assert np.all(np.diff(nulls) < 0) and np.all(np.diff(levels) > 0)


# --- recoil


def test_recoil_is_the_momentum_of_both_pistons():
    """A box free to slide, both pistons on one face, integrated in time: force = mass × its own
    acceleration. Box much heavier than the pistons, as the model assumes."""
    f, volts = 50.0, 10.0
    box = replace(BOX, ql=math.inf)
    d, p = replace(DRIVER, le=0.0), box.radiator
    k = 1 / box.compliance(AIR)
    heavy = 1e5

    def slope(t, y):
        x, v, xr, vr, _, _ = y
        pressure = -k * (d.sd * x + p.sd * xr)
        current = (math.sqrt(2) * volts * math.cos(2 * np.pi * f * t) - d.bl * v) / d.re
        on_cone = d.bl * current + d.sd * pressure - d.rms * v - x / d.cms
        on_radiator = p.sd * pressure - p.rms * vr - xr / p.cms
        return [
            v,
            on_cone / d.mms,
            vr,
            on_radiator / p.moving_mass,
            y[5],
            -(on_cone + on_radiator) / heavy,
        ]  # Newton's third law, on frame and walls

    t = np.linspace(2.9, 3.0, 4001)
    run = solve_ivp(slope, (0, 3.0), np.zeros(6), t_eval=t, rtol=1e-9, atol=1e-12, max_step=5e-4)
    moved = np.gradient(run.y[5], t)[5:-5] * heavy
    expected = recoil(solve(d, box, f, volts))
    assert np.ptp(moved) / 2 == pytest.approx(expected, rel=2e-3)
    assert shake(expected, 12.0) == pytest.approx(expected / 12)


def test_opposed_mounting_cancels():
    pair = RadiatorBox.tuned(0.014, 36.0, RADIATOR, count=2, ql=7)
    r = solve(DRIVER, pair, [20.0, 36.0, 50.0], 10.0)
    assert np.all(recoil(r, cone=0, radiators=0) == 0)
    only_cone = math.sqrt(2) * DRIVER.mms * 2 * np.pi * r.frequency * np.abs(r.cone_velocity)
    assert recoil(r, radiators=0) == pytest.approx(only_cone)
    # at tuning nearly all the shaking is the radiators', so pairing them removes nearly all
    assert recoil(r, radiators=0)[1] < 0.25 * recoil(r)[1]


def test_recoil_of_a_sealed_box_and_refusal_of_a_port():
    r = solve(DRIVER, SealedBox(0.02), 40.0, 10.0)
    assert recoil(r) == pytest.approx(DRIVER.mms * (2 * np.pi * 40) ** 2 * r.cone_excursion)
    with pytest.raises(ValueError, match="moves air"):
        recoil(solve(DRIVER, PortedBox.tuned(0.03, 35.0, 0.004), 40.0))


def test_a_radiator_without_suspension_is_a_port_in_need_too():
    driver, port = lossless_b4()
    mass = port.port.vent(1, AIR).mass * 0.05**2
    free = RadiatorBox(port.volume, Radiator(sd=0.05, mms=mass, cms=np.inf, rms=0.0, xmax=0.02))
    assert needed_ratio(driver, free, 40.0).ratio == pytest.approx(
        needed_ratio(driver, port, 40.0).ratio, rel=1e-9
    )
