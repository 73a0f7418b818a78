"""What one setting does over a band, and what a supply that sags leaves, by plain loops."""

import itertools
import math
import warnings

import numpy as np
import pytest
from scipy.optimize import brentq

from boxlab import (
    Amplifier,
    Chain,
    Driver,
    HighPass,
    Peak,
    Port,
    PortedBox,
    PowerStage,
    Radiator,
    RadiatorBox,
    SealedBox,
    Supply,
    first_stop,
    max_output,
    solve,
)
from boxlab.base.units import disc_area, litres
from boxlab.car.cable import Cable
from boxlab.car.supply import supply_by_cable
from boxlab.model.limits import AMPLIFIER, CONE, CURRENT, SUPPLY
from boxlab.model.vents import PORT_SPEED

F = np.geomspace(14, 120, 61)
DRIVER = Driver(
    re=3.4, le=1.1e-3, bl=11.5, mms=0.125, cms=2.1e-4, rms=2.4, sd=0.0335, xmax=0.012, pe=400.0
)
RADIATOR = Radiator(sd=0.0335, mms=0.21, cms=3.1e-4, rms=1.3, xmax=0.016, added_mass=0.08)
BOXES = {
    "sealed": SealedBox(litres(20)),
    "ported": PortedBox(litres(40), Port(0.0079, 0.31, 0.07), ql=7.0),
    "radiator": RadiatorBox(litres(14), RADIATOR, ql=10.0),
}
CHAINS = {
    "none": None,
    "high-pass": Chain(HighPass(26, order=4)),
    "boost": Chain((HighPass(22, order=3), Peak(38, 7, 1.2))),
}
PAIRS = list(itertools.product(BOXES, CHAINS))
STAGES = {
    "rating": None,
    "sag": PowerStage(40, 17, Supply(13.2, 0.03), efficiency=0.7),
    "current": PowerStage(55, 5, Supply(13.2, 0.01), efficiency=0.7),
    "held": PowerStage(55, supply=Supply(13.2, 0.3), efficiency=0.7, regulated=True, share=0.8),
    "shuts down": PowerStage(55, supply=Supply(13.2, 0.1, least=11.5), efficiency=0.7),
}
MET = {"sag": AMPLIFIER, "current": CURRENT, "held": SUPPLY, "shuts down": SUPPLY}


def over(box, frequency, volts, chain, stage):
    """Whether a setting is past any stop at one frequency, from the answers of `solve` alone."""
    r = solve(DRIVER, box, frequency, volts, chain=chain, source_resistance=0.05)
    gain = 1.0 if chain is None else abs(chain.response(frequency))
    e, i = volts * gain, abs(r.current)
    found = [r.cone_excursion > DRIVER.xmax, i**2 * DRIVER.re > DRIVER.pe]
    if isinstance(box, RadiatorBox):
        found.append(r.vent_excursion > RADIATOR.xmax)
    if isinstance(box, PortedBox):
        found.append(r.vent_air_speed > PORT_SPEED)
    if stage is None:
        return any([*found, e > math.sqrt(250 * 4)])
    drawn = (r.power + 0.05 * i**2) * stage.share / stage.efficiency
    v0, ohms = stage.supply.voltage, stage.supply.resistance
    if drawn > v0**2 / 4 / ohms:  # more than the supply can give
        return True
    volts = v0
    for _ in range(400):  # the supply's own fixed point, step by step
        volts += 0.1 * (v0 - ohms * drawn / volts - volts)
    rail = stage.rail / math.sqrt(2) * (1 if stage.regulated else volts / stage.rated_at)
    off = volts < stage.supply.least
    return any([*found, math.sqrt(2) * i > stage.current, e > rail, off])


@pytest.mark.parametrize(("box", "chain"), PAIRS)
@pytest.mark.parametrize("stage", STAGES)
def test_ceilings_are_where_turning_up_by_hand_ends(box, chain, stage):
    # derived: bisection of the setting, each limit asked of `solve` or of the supply's own steps
    box, chain, name, stage = BOXES[box], CHAINS[chain], stage, STAGES[stage]
    caps = {"power": 250, "load": 4} if stage is None else {"stage": stage}
    few = F[::12]
    top = max_output(DRIVER, box, few, chain=chain, source_resistance=0.05, **caps)
    for f, got in zip(few, top.voltage, strict=True):
        low, high = 0.0, 1000.0
        for _ in range(45):
            mid = (low + high) / 2
            low, high = (low, mid) if over(box, float(f), mid, chain, stage) else (mid, high)
        assert got == pytest.approx(low, rel=1e-6)
    assert MET.get(name, AMPLIFIER) in top.limit


@pytest.mark.parametrize(("box", "chain"), PAIRS)
def test_first_stop_is_the_lowest_of_a_plain_loop(box, chain):
    # derived: a loop over frequencies, one tone after the other
    box, chain = BOXES[box], CHAINS[chain]
    got = first_stop(DRIVER, box, F, chain, power=250, load=4)
    alone = [max_output(DRIVER, box, float(f), power=250, load=4, chain=chain) for f in F]
    n = min(range(F.size), key=lambda k: alone[k].voltage)
    assert got.voltage == pytest.approx(alone[n].voltage) and got.at == F[n]
    assert got.limit == alone[n].limit and got.headroom[n] == 0 == got.headroom.min()
    level = solve(DRIVER, box, F, got.voltage, chain=chain).spl
    np.testing.assert_allclose(got.spl, level, atol=1e-9)


@pytest.mark.parametrize("box", BOXES)
def test_a_filter_moves_the_setting_and_not_the_loudest_tone(box):
    # derived: what the filter takes is turned up again
    box, chain = BOXES[box], CHAINS["boost"]
    plain = max_output(DRIVER, box, F, power=250, load=4)
    filtered = max_output(DRIVER, box, F, power=250, load=4, chain=chain)
    np.testing.assert_allclose(filtered.spl, plain.spl, atol=1e-9)
    np.testing.assert_array_equal(filtered.limit, plain.limit)
    np.testing.assert_allclose(filtered.source_voltage, plain.voltage, rtol=1e-12)
    level = solve(DRIVER, box, F[:, None], filtered.voltage, chain=chain).spl[:, 0]
    np.testing.assert_allclose(level, filtered.spl, atol=1e-9)


def test_what_a_high_pass_saves_and_a_boost_costs():
    box = BOXES["radiator"]
    plain = first_stop(DRIVER, box, F, power=1000, load=4)
    cut = first_stop(DRIVER, box, F, Chain(HighPass(30, order=4)), power=1000, load=4)
    assert plain.limit == CONE and plain.at < 20 < cut.at
    assert cut.voltage > 1.5 * plain.voltage
    # where the boost's own frequency is the stop, it costs its gain to the last decibel
    at = float(cut.at)
    boosted = Chain((HighPass(30, order=4), Peak(at, 6, 1)))
    dear = first_stop(DRIVER, box, F, boosted, power=1000, load=4)
    assert 20 * np.log10(cut.voltage / dear.voltage) == pytest.approx(6, abs=0.1)


def test_designs_lead():
    boxes = RadiatorBox(litres(np.array([[10.0], [14.0], [20.0]])), RADIATOR)
    chain = Chain(HighPass([20.0, 30.0], order=4))
    sagging = PowerStage(55, 17, Supply(13.2, [0.01, 0.03]))
    got = first_stop(DRIVER, boxes, F, chain, stage=sagging)
    assert got.voltage.shape == got.limit.shape == got.at.shape == (3, 2)
    assert got.spl.shape == (3, 2, F.size)
    one = first_stop(
        DRIVER, RadiatorBox(litres(14), RADIATOR), F, Chain(HighPass(30.0, order=4)),
        stage=PowerStage(55, 17, Supply(13.2, 0.03)),
    )  # fmt: skip
    assert got.voltage[1, 1] == pytest.approx(one.voltage)
    assert (got.limit[1, 1], got.at[1, 1]) == (one.limit, one.at)


def test_lost_volts_are_lost_decibels():
    # computed: 20·log10(12.0/13.8) = −1.214 dB; power goes with the square, 0.756
    stiff = PowerStage(50)
    load = DRIVER.re
    sag = Supply(13.8, 1.8 / (50**2 / 2 * (12 / 13.8) ** 2 / load / 0.75 / 12.0))
    weak = PowerStage(50, supply=sag)
    assert weak.supply_voltage(1 / load) == pytest.approx(12.0)
    volts = weak.rail_voltage(1 / load), stiff.rail_voltage(1 / load)
    assert 20 * np.log10(volts[0] / volts[1]) == pytest.approx(-1.214, abs=5e-4)
    assert (volts[0] / volts[1]) ** 2 == pytest.approx((12.0 / 13.8) ** 2)


@pytest.mark.parametrize("regulated", [False, True])
@pytest.mark.parametrize("share", [0.15, 1.0])
def test_where_a_supply_settles_solves_its_own_equation(regulated, share):
    # reference program: scipy.optimize.brentq of V = V0 − R·P/(V·η), P by the rails at V
    for rail, v0, ohms, g in itertools.product((20, 45), (12.6, 14.0), (0.004, 0.03), (0.05, 0.3)):
        stage = PowerStage(rail, supply=Supply(v0, ohms), regulated=regulated, share=share)

        def left(volts, rail=rail, v0=v0, ohms=ohms, g=g):
            scale = 1.0 if regulated else volts / 13.8
            drawn = (rail * scale) ** 2 / 2 * g * share / 0.75
            return v0 - ohms * drawn / volts - volts

        got = stage.supply_voltage(g)
        if regulated and left(v0 / 2) < 0:  # below its largest power there is no such voltage
            assert np.isnan(got)
            assert stage.supply_limit(g) < stage.rail_voltage(g)
            continue
        assert got == pytest.approx(brentq(left, v0 / 2 if regulated else 1e-6, v0), rel=1e-9)


def test_the_supply_s_own_quadratic():
    # derived: V² − V0·V + R·P = 0, by numpy.roots; most power at half the open voltage
    supply = Supply(13.8, 0.03)
    for power in (0, 100, 800, 1500):
        assert supply.under(power) == pytest.approx(max(np.roots([1, -13.8, 0.03 * power]).real))
    v = np.linspace(0, 13.8, 100001)
    assert supply.most == pytest.approx(np.max(v * (13.8 - v) / 0.03), rel=1e-6)
    assert Supply(13.8, 0.03, least=10.5).most == pytest.approx(10.5 * 3.3 / 0.03)
    assert Supply(13.8, 0.0).most == math.inf and Supply(13.8, 0.0).under(500) == 13.8


def test_each_stop_of_an_amplifier_is_named():
    def limits(**stage):
        return set(max_output(DRIVER, BOXES["sealed"], F, stage=PowerStage(**stage)).limit)

    assert AMPLIFIER in limits(rail=20)
    assert CURRENT in limits(rail=200, current=3)
    weak = Supply(13.8, 0.5)
    assert SUPPLY in limits(rail=200, supply=weak, regulated=True)
    assert SUPPLY in limits(rail=60, supply=Supply(13.8, 0.1, least=12))


def test_the_lowest_of_rating_voltage_and_stage_counts():
    def volts(**caps):
        return max_output(DRIVER, BOXES["sealed"], [100.0], **caps).voltage[0]

    stage = PowerStage(10 * math.sqrt(2))
    assert volts(stage=stage) == pytest.approx(10)
    assert volts(stage=stage, voltage=8) == pytest.approx(8)
    assert volts(stage=stage, voltage=12, power=1000, load=4) == pytest.approx(10)


def test_cable_and_battery_make_the_supply():
    # derived: Ohm's law over battery, two leads and joints
    cable = Cable("16 mm²", 16e-6, 1.21e-3)
    supply = supply_by_cable(13.8, 0.008, cable, 4, joints=0.002, return_per_metre=0.5e-3)
    assert supply.resistance == pytest.approx(0.008 + 4 * 1.71e-3 + 0.002)
    assert supply.voltage == 13.8
    amplifier = Amplifier({4: 200, 2: 320}, rail=45, current=18, efficiency=0.8)
    stage = amplifier.stage(2, supply)
    assert stage.rail == pytest.approx(math.sqrt(2 * 320 * 2))
    assert (stage.current, stage.efficiency, stage.supply) == (18, 0.8, supply)
    assert amplifier != Amplifier({4: 200, 2: 320}) and amplifier.stage(4).rail == 40


BAD = [
    (lambda: Supply(0, 0.01), "voltage must be above zero"),
    (lambda: Supply(13.8, -0.01), "resistance must be zero or more"),
    (lambda: Supply(float("nan"), 0.01), "voltage holds NaN"),
    (lambda: Supply(13.8, 0.01, least=14), "would never start"),
    (lambda: Supply(13.8, 0.05).under(2000), "more than this supply can give: 952.2 W, at 6.9 V"),
    (lambda: PowerStage(-40), "rail must be above zero"),
    (lambda: PowerStage(40, 0), "current must be above zero"),
    (lambda: PowerStage(40, float("nan")), "current holds NaN"),
    (lambda: PowerStage(40, efficiency=75), "efficiency = 75: give output over input"),
    (lambda: PowerStage(40, share=0), "share must be above zero"),
    (lambda: PowerStage(40, supply=13.8), "supply must be a Supply or None, got float"),
    (lambda: Amplifier({4: 100}, rail=0), "rail must be above zero"),
    (lambda: Amplifier({4: 100}, current=-1), "current must be above zero"),
    (lambda: supply_by_cable(13.8, -1, Cable("x", 16e-6, 1e-3), 4), "battery must be zero or more"),
    (lambda: max_output(DRIVER, None, [40.0], stage=Amplifier({4: 100})), "stage must be a Power"),
    (lambda: first_stop(DRIVER, None, 40.0), "one tone, not a band"),
    (lambda: first_stop(DRIVER, None, [0.0, 40.0]), "frequency must be above zero"),
    (lambda: first_stop(DRIVER, None, F, HighPass(30)), "chain must be a Chain or None"),
]


@pytest.mark.parametrize(("wrong", "words"), BAD, ids=[words for _, words in BAD])
def test_the_impossible_is_refused_in_words(wrong, words):
    with pytest.raises(ValueError, match=words):
        wrong()


def test_what_is_far_out_is_doubted():
    with pytest.warns(UserWarning, match="resistance = 20 is implausible"):
        Supply(13.8, 20)
    with pytest.warns(UserWarning, match="voltage = 138 is implausible"):
        Supply(138, 0.02)


def test_a_cone_that_stands_still_meets_no_stop_and_warns_of_nothing():
    # a port without loss, exactly at its tuning: the cone does not move there
    box = PortedBox.tuned(litres(14), 45.0, disc_area(0.05), max_length=3)
    assert solve(DRIVER, box, 45.0).cone_excursion == 0
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        top = max_output(DRIVER, box, [45.0, 90.0], power=300, load=4)
    assert np.isfinite(top.voltage).all() and np.isinf(top.voltages["cone excursion"][0])
