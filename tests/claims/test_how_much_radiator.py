"""What the lesson "how much radiator" says, asked of the library."""

from dataclasses import replace

import numpy as np
import pytest
from said import about, claim, read

from boxlab import PortedBox, RadiatorBox, cm2, litres, mm, solve, to_cubic_inches
from boxlab.design.radiator_choices import programme_limit, softened, variants
from boxlab.design.radiator_need import equal_sound, factors, in_use, most_needed, needed_ratio
from boxlab.design.radiator_study import PROGRAMMES, retuned, smooth, study
from boxlab.explainers import explainer
from boxlab.gear.scenario import TEN_INCH_DRIVER as DRIVER
from boxlab.gear.scenario import TEN_INCH_RADIATOR as RADIATOR
from boxlab.model.passband import passband
from boxlab.model.random_designs import random_designs, take
from boxlab.model.recoil import recoil
from boxlab.quiz.exercises import how_much_radiator as tasks
from boxlab.sound.hearing import allowed_time, weighting

BOX = RadiatorBox.tuned(litres(14), 36.0, RADIATOR, ql=7)
CHEAP = replace(RADIATOR, xmax=mm(13))


@pytest.fixture(scope="module")
def crowd():
    return study()


@pytest.fixture(scope="module")
def choices():
    return {
        v.name: v
        for v in variants(DRIVER, litres(14), 36.0, CHEAP, ql=7, power=500, load=DRIVER.re)
    }


def middle(values):
    return float(np.median(values))


# The ratio and its spread


def test_the_drivers_swept_volume():
    claim("ten-inch driver sweeps {} cm³ ({} in³): {} cm² times {} mm", 1e6 * DRIVER.vd,
          to_cubic_inches(DRIVER.vd), 1e4 * DRIVER.sd, 1e3 * DRIVER.xmax)  # fmt: skip
    claim("f3 is where the sound has fallen by {} dB", 10 * np.log10(2))


def test_two_to_one_is_the_middle_of_a_wide_spread(crowd):
    assert len(crowd.need.ratio) == 8756
    assert crowd.quartiles == pytest.approx((1.64, 2.12, 2.83), abs=0.005)
    assert crowd.share_above(2) == pytest.approx(0.56, abs=0.005)
    assert crowd.share_above(3) == pytest.approx(0.21, abs=0.005)
    served = [1 - crowd.share_above(ratio) for ratio in (2, 2.5, 3, 4)]
    percent = [100 * share for share in served]
    claim("Fit two, and {} % of these boxes are served; 2.5 serves {} %, three {} %, four {} %",
          *percent)  # fmt: skip
    claim("It is enough for {} % of them", percent[0])
    claim("half of thousands of boxes need {} to {} times", *crowd.quartiles[::2])
    claim("half of thousands of boxes need {} to {}, and more than half need over two",
          *crowd.quartiles[::2])  # fmt: skip
    claim("half of {} boxes need {} to {}, the middle {}, more than half over two",
          len(crowd.need.ratio), crowd.quartiles[0], crowd.quartiles[2], crowd.quartiles[1]
    )  # fmt: skip
    assert crowd.share_above(2) > 0.5


@pytest.mark.parametrize(
    ("peak", "sag", "expected"), [(0.5, 0.5, 1.85), (1, 1.5, 2.12), (3, 3, 2.46), (99, 99, 2.69)]
)
def test_other_ideas_of_smooth_move_the_middle_a_little(peak, sag, expected):
    drawn = random_designs("radiator", 20_000, lossless=0.0)
    found = passband(drawn.driver, drawn.box)
    keep = smooth(found, peak, sag)
    some, f3 = drawn[keep], take(found, keep, 20_000).f3
    low = np.minimum(f3, some.box.tuning())
    found = middle(needed_ratio(some.driver, some.box, low).ratio)
    assert found == pytest.approx(expected, abs=0.01)
    assert 1.8 < found < 2.7


def test_another_throw_of_the_dice_gives_the_same(crowd):
    assert study(seed=7).quartiles == pytest.approx(crowd.quartiles, rel=0.03)


def test_what_other_definitions_give():
    middles = {name: study(**options).quartiles[1] for name, options in PROGRAMMES.items()}
    assert middles == pytest.approx(
        {
            "from f3 or tuning up": 2.12,
            "from f3 up only": 0.52,
            "from 0.6 of that up": 1.37,
            "3 dB into a cone limiter": 2.89,
            "6 dB into a cone limiter": 3.70,
            "any tone, cone at its Xmax": 4.88,
            "equalised flat": 3.26,
        },
        abs=0.006,
    )
    assert study(equalised=True).quartiles[::2] == pytest.approx((2.70, 3.65), abs=0.005)
    assert 1 - study(equalised=True).share_above(4) > 0.95


def test_most_of_the_boxes_are_tuned_below_their_f3(crowd):
    assert np.mean(crowd.designs.box.tuning() < crowd.found.f3) > 0.8


def test_below_the_tuning_the_knob_comes_down(crowd):
    below = study(band=0.6)
    down = 20 * np.log10(crowd.need.voltage / below.need.voltage)
    claim("and the whole box plays {} dB softer", middle(down))
    claim("A high-pass filter at the tuning buys those {} dB back", middle(down))
    claim("The knob must come down by {} dB", middle(down))
    claim("tuned half an octave lower, {} times, by weights", 2**-0.5)
    assert np.mean(below.need.cone_at < 1.01 * below.low) > 0.6  # the cone, at the lowest note
    assert np.all(down > -1e-9)


def test_retuning_alone_hardly_changes_the_need(crowd):
    d = crowd.designs

    def needs(times, **options):
        box = retuned(d.box, times)
        return needed_ratio(d.driver, box, box.tuning(), **options).ratio

    now, lower = needs(1), needs(0.7)
    assert (middle(now), middle(lower)) == pytest.approx((2.11, 2.07), abs=0.006)
    assert np.quantile(np.abs(lower / now - 1), 0.9) < 0.25
    assert middle(needs(0.7, equalised=True)) == pytest.approx(3.26, abs=0.006)
    # the crowd's low tunings are in its large boxes
    size = d.driver.vas() / d.box.volume
    low = d.box.tuning() / d.driver.fs < 0.7
    assert middle(size[low]) < 0.3 < 1 < middle(size[~low])


def test_it_is_the_size_that_counts(crowd):
    size = crowd.designs.driver.vas() / crowd.designs.box.volume
    small, roomy = crowd.need.ratio[size > 4], crowd.need.ratio[size < 0.5]
    assert (middle(roomy), middle(small)) == pytest.approx((3.13, 1.48), abs=0.01)
    assert np.mean(small <= 2) > 0.9  # "two serves nine in ten"


def test_losses_ask_for_less_and_eat_the_sound(crowd):
    d = crowd.designs

    def leaky(ql):
        return middle(needed_ratio(d.driver, replace(d.box, ql=ql), crowd.low).ratio)

    assert (leaky(3), leaky(7)) == pytest.approx((1.73, 2.02), abs=0.006)
    levels = [solve(DRIVER, replace(BOX, ql=ql), 36.0).spl.item() for ql in (3.0, 7.0)]
    claim("for the leak eats the sound: {} dB at the tuning", levels[1] - levels[0])


def test_a_limiter_keeps_the_cone_and_works_the_radiator():
    plain, pushed = in_use(DRIVER, BOX), in_use(DRIVER, BOX, headroom=6)
    assert pushed.cone.max() == pytest.approx(1) and plain.cone.max() == pytest.approx(1)
    assert pushed.vent.max() > 1.5 * plain.vent.max()


# Where two comes from


def test_four_to_one_for_equal_sound():
    """Derived: the cone sweeps x(1 − x) with x = fb²/f², a quarter at most; the vent x²."""
    x = np.linspace(0.01, 1, 9901)
    assert (x * (1 - x)).max() == pytest.approx(0.25)
    assert 1 / x[np.argmax(x * (1 - x))] == pytest.approx(2)
    for volume, fb in ((0.02, 45.0), (0.1, 25.0)):
        box = PortedBox.tuned(volume, fb, cm2(40), max_length=9)
        r = solve(DRIVER, box, fb * np.array([1.2, 2.0, 3.0]))
        x = 1 / np.array([1.2, 2.0, 3.0]) ** 2
        share = np.abs(r.cone_volume_velocity / r.volume_velocity)
        assert share == pytest.approx(1 - x)
        ratio = (r.vent_volume_velocity / r.cone_volume_velocity).real
        assert ratio == pytest.approx(x / (1 - x))
        assert needed_ratio(DRIVER, box, fb, equalised=True).ratio == pytest.approx(4, rel=1e-3)


def test_the_demo_box_for_equal_sound():
    lossless = RadiatorBox.tuned(litres(14), 36.0, replace(RADIATOR, rms=0.0))
    for ratio in (
        equal_sound(lossless),
        needed_ratio(DRIVER, lossless, 36.0, equalised=True).ratio,
    ):
        assert ratio == pytest.approx(3.76, abs=0.005)
    flat = needed_ratio(DRIVER, BOX, 36.0, equalised=True).ratio
    assert flat == pytest.approx(3.67, abs=0.005)


def test_the_bound_from_two_levels(crowd):
    d = crowd.designs
    used = needed_ratio(d.driver, d.box, d.box.tuning()).ratio / most_needed(d.driver, d.box)
    assert used.max() < 1
    claim("half of them need between {} % and {} % of it", *100 * np.quantile(used, (0.25, 0.75)))
    six = 4 * 10 ** (-6 / 20)
    assert six == pytest.approx(2, rel=0.01)


def test_boxes_smaller_than_vas_are_quieter_at_their_tuning(crowd):
    d = crowd.designs
    small = d.driver.vas() / d.box.volume > 1
    drop = -20 * np.log10(most_needed(d.driver, d.box)[small] / 4)
    claim("smaller than Vas are typically {} to {} dB quieter", *np.quantile(drop, (0.25, 0.75)))
    claim("about {} to {} dB quieter at its tuning than half", *np.quantile(drop, (0.25, 0.75)))


def test_the_account_has_nothing_left_over(crowd):
    parts = factors(crowd.designs.driver, crowd.designs.box, crowd.need)
    assert parts.product() == pytest.approx(crowd.need.ratio)
    roomy = explainer("radiator_need")(volume=42.0, fb=27.0)
    assert roomy.readout[0].startswith("This box needs 3.00 times")


# Two radiators


def test_the_cheap_radiator_and_three_ways_out(choices):
    one, long, big, two = choices.values()
    fitted = [v.swept_ratio for v in choices.values()]
    assert fitted == pytest.approx([1.13, 2.26, 1.58, 2.26], abs=0.005)
    assert one.needed == pytest.approx(2.10, abs=0.005)
    assert [v.enough for v in choices.values()] == [False, True, False, True]
    weights = [1e3 * v.added_mass for v in choices.values()]
    assert weights == pytest.approx([175, 175, 368, 418], abs=0.6)
    assert two.moving_mass / long.moving_mass == pytest.approx(3.76, abs=0.01)
    assert big.moving_mass / one.moving_mass == pytest.approx(1.85, abs=0.01)
    assert big.added_mass / one.added_mass > 2  # twice the weights
    assert two.recoil / long.recoil == pytest.approx(1.88, abs=0.02)
    claim("moves the null from {} to {} Hz, which makes the box {} dB louder an octave below",
          one.null, big.null, big.octave_below - one.octave_below)  # fmt: skip
    assert two.null == pytest.approx(9.0, abs=0.05)
    claim("better radiator: {} mm (0.95 in) to cover", one.needed / one.swept_ratio * 13)
    larger = big.swept_ratio / one.swept_ratio
    claim("one a size larger, {} times the area", larger)
    claim("A size larger gives {} times, here not enough", larger)
    claim("You double its travel, from {} to {} mm", 13, 26)


def test_two_are_neither_necessary_nor_always_enough():
    long, short = replace(RADIATOR, xmax=mm(26)), replace(RADIATOR, xmax=mm(6))
    assert variants(DRIVER, litres(14), 36.0, long, ql=7)[0].enough
    claim("Not necessary: one with 26 mm does it")
    claim("Not always enough either: set Xmax to 6 mm, and two have")
    pair = variants(DRIVER, litres(14), 36.0, short, ql=7)[3]
    assert pair.swept_ratio == pytest.approx(1.04, abs=0.005)
    assert not pair.enough
    small = programme_limit(DRIVER, replace(BOX, radiator=CHEAP_LOADED), power=150, load=DRIVER.re)
    assert small[1] == ["amplifier"]


# The stop

CHEAP_LOADED = CHEAP.with_mass(BOX.radiator.added_mass)


def test_what_two_means():
    """Where the class looks: the weights and the moving mass of each, alone and as one of two."""
    one, *_, two, moves, _, _, pair = read("radiator_choices", 2)
    assert (moves - one, pair - two) == (1e3 * CHEAP.mms, 1e3 * CHEAP.mms)
    assert two > 2 * one  # so each carries more than twice what one alone does
    assert one == pytest.approx(1e3 * BOX.radiator.added_mass, abs=0.5)


def gain(power):
    """What double travel buys the cheap radiator's programme, dB."""
    has = CHEAP.vd / DRIVER.vd
    box = replace(BOX, radiator=CHEAP_LOADED)
    volts, _ = programme_limit(DRIVER, box, [has, 2 * has], power=power, load=DRIVER.re)
    return 20 * np.log10(volts[1] / volts[0])


def test_double_travel_buys_what_the_amplifier_leaves():
    asked, told = 300, 500
    claim("but {} W into the coil's resistance, the programme", asked)
    claim("With {} W the radiator still stops the programme first. You double its travel", asked)
    claim("With {} W the amplifier is at its end sooner", asked)
    claim("the coil's Re from {} W to {} W and down", asked, 2 * told)
    assert 0 < gain(asked) < 0.5 < 2 < gain(told) < 3
    assert gain(500) == pytest.approx(2.5, abs=0.06)
    assert gain(1000) == pytest.approx(5.4, abs=0.06)
    assert gain(150) == pytest.approx(0, abs=1e-9)


def test_beyond_the_useful_ratio_nothing_is_bought():
    box = replace(BOX, radiator=CHEAP_LOADED)
    volts, limit = programme_limit(DRIVER, box, [0.76, 1.51, 1.53, 6.0], power=500, load=DRIVER.re)
    buys = 20 * np.log10(volts[1] / volts[0])
    claim("to the needed ratio each doubling buys {} dB; beyond it nothing", buys)
    claim("ratio each doubling of swept volume buys {} dB; beyond it nothing", buys)
    claim("and never at {} Hz", 80)
    assert list(limit[2:]) == ["amplifier"] * 2
    small = explainer("radiator_stop")(power=150.0)
    assert "0.83 would do" in small.readout[0]


def test_the_cone_to_its_end_takes_a_kilowatt():
    volts = needed_ratio(DRIVER, BOX).voltage
    claim("here that takes {} V, {} W into the coil's", volts, volts**2 / DRIVER.re)
    claim("So it would be with {} W, nearly", about(volts**2 / DRIVER.re))
    claim("Set 150 W, then {} W", about(volts**2 / DRIVER.re))


def test_at_the_tuning_the_cone_rests_while_the_radiator_is_at_its_stop():
    stopped = programme_limit(
        DRIVER, replace(BOX, radiator=CHEAP_LOADED), power=500, load=DRIVER.re
    )[0]
    r = solve(DRIVER, BOX, 36.0, stopped[0])
    assert r.vent_excursion.item() == pytest.approx(mm(13), rel=1e-3)
    assert r.cone_excursion.item() / DRIVER.xmax == pytest.approx(0.2, abs=0.02)


# Recoil and suspension


def test_the_radiators_shake_the_box_at_the_tuning():
    at = solve(DRIVER, BOX, [36.0, 72.0], 20.0)
    beside, away = recoil(at), recoil(at, radiators=-1)
    assert at.spl[0] == pytest.approx(100.2, abs=0.05)
    assert beside == pytest.approx([119, 148], abs=1)
    assert away[0] == pytest.approx(120, abs=1)
    claim("An octave higher it does, from {} to {} N", beside[1], away[1])
    claim("the cone's share is {} N of {}", recoil(at, radiators=0)[0], beside[0])
    assert beside[0] == pytest.approx(12 * 9.80665, rel=0.02)  # the weight of the box
    pair = RadiatorBox.tuned(litres(14), 36.0, RADIATOR, count=2, ql=7)
    opposed = recoil(solve(DRIVER, pair, [36.0, 72.0], 20.0), radiators=0)
    assert recoil(at, radiators=0)[0] < 0.1 * beside[0] and opposed[0] < 0.1 * beside[0]
    claim(
        "At the tuning it is the radiators, not the cone. Two on opposite faces cancel each other "
        "and leave the cone's recoil. One on the face opposite the cone does not help there, for "
        "the two are {} cycle apart",
        about(at.vent_phase[0] / 360),
    )


def test_two_beside_push_more_and_two_opposed_hardly():
    one = solve(DRIVER, BOX, 36.0, 20.0)
    pair = RadiatorBox.tuned(litres(14), 36.0, RADIATOR, count=2, ql=7)
    same = solve(DRIVER, pair, 36.0, 20.0)
    same = solve(DRIVER, pair, 36.0, 20.0 * float(abs(one.pressure / same.pressure)))
    assert same.spl == pytest.approx(one.spl)
    assert recoil(same) == pytest.approx(224, abs=1)
    claim("Two on opposite faces leave {} N", recoil(same, radiators=0))


def test_weights_pull_with_many_times_their_weight(choices):
    two = choices["two the same"]
    claim("{} g on a radiator that swings 12 mm at 36 Hz pull with some {} times their",
          1e3 * two.added_mass, about((2 * np.pi * 36) ** 2 * mm(12) / 9.80665))  # fmt: skip


def test_softer_is_better_but_sags():
    def fall(box):
        return 1e3 * 9.80665 * box.radiator.moving_mass * box.radiator.cms

    many = {s: softened(BOX, s) for s in (1, 2, 4, 8)}
    below = {s: solve(DRIVER, box, 18.0, 20.0).spl.item() for s, box in many.items()}
    claim("the null out of the way, {} dB more an octave below", below[2] - below[1])
    claim("four times as soft gives {} dB, eight times {} dB. What you pay is sag: {} mm becomes "
          "{} mm", below[4] - below[1], below[8] - below[1], *(fall(many[s]) for s in (1, 2))
    )  # fmt: skip
    assert fall(many[8]) > 10  # more than half of 20 mm
    assert needed_ratio(DRIVER, many[2]).ratio == pytest.approx(2.12, abs=0.005)
    assert 1e3 * many[2].radiator.added_mass == pytest.approx(159, abs=0.6)
    f = np.geomspace(5, 36, 4001)
    swing = [1e3 * solve(DRIVER, many[s], f, 20.0).vent_excursion.max() for s in (1, 2)]
    assert swing == pytest.approx([17.5, 20.8], abs=0.06)


def test_hearing():
    assert allowed_time(100.0) == pytest.approx(900)
    assert weighting(40.0) == pytest.approx(-35, abs=0.5)
    loud = solve(DRIVER, BOX, 72.0, 30.8).spl.item()
    claim("The demo box makes {} dB at 1 m before the cabin adds", (loud - 1, loud))


# Exercises


def test_the_answer_on_retuning_gives_the_computed_medians():
    assert "from 2.11 to 2.07" in tasks.answer("lower")["because"]
