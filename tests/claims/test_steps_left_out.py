"""What the steps say that a class may leave out: filters, supply, warm coil, slot, weight, cold."""

import re

import numpy as np
import pytest
from said import about, claim, figures, read

from boxlab import Air, Port, PortedBox, SealedBox, disc_area, litres, mm
from boxlab.base.units import to_cm, to_cm2
from boxlab.explainers import explainer
from boxlab.explainers.slot_or_tube import KINDS, shape_of
from boxlab.quiz.exercises import in_the_car, power_and_wiring, reading_a_sweep


def wrong(room, slug, option):
    return room.answer(slug)["others"][option]


# Filters and boost


def saved(**changes):
    words = explainer("what_a_high_pass_saves")(**changes).readout
    return float(re.search(r"room for ([\d.]+) dB more", words[0])[1]), words


def test_a_boost_takes_back_what_the_filter_saved():
    first, words = saved()
    cost = float(re.search(r"leaves ([\d.]+) dB less", words[3])[1])
    watts = re.search(r"takes (\d+) W there instead of (\d+) W", words[2])
    claim("the boost takes back what the filter had saved, {} dB of {}", cost, first)
    assert int(watts[1]) / int(watts[2]) == pytest.approx(4, abs=0.05)
    start = explainer("what_a_high_pass_saves").start
    slope = figures(start["order"])[0]
    assert slope == pytest.approx(20 * 4 * np.log10(2), abs=0.1)  # fourth order
    claim(
        "gets music from {} to {} Hz on the {} W. A high-pass of {} dB per octave goes in at {} "
        "Hz, and then a boost of {} dB at {} Hz",
        start["lowest"],
        figures(words[0])[-1],
        start["rating"],
        slope,
        start["high_pass"],
        start["boost"],
        start["boost_at"],
    )


def test_a_gentle_high_pass_low_down_leaves_three_decibels():
    assert saved(high_pass=20.0, order="12 dB/octave", boost=0.0)[0] == pytest.approx(3, abs=0.2)
    assert "20 Hz with 12 dB per octave" in wrong(power_and_wiring, "filter", "About 3 dB")


# Supply


def test_volts_lost_as_decibels():
    rated = explainer("what_a_weak_supply_costs").start["rated_at"]
    left = 12.0
    lost = -20 * np.log10(left / rated)
    assert read("what_a_weak_supply_costs", 3)[3:] == pytest.approx([left, rated, -lost], abs=0.05)
    claim("finds {} V where it was rated at {} V", left, rated)
    claim("A steady tone at full output, {} V instead of {} V: how much", left, rated)
    claim("supply's volts: {} V for {} V is {} dB less, on a tone", left, rated, lost)
    claim("so {} V lost of {} V are {} dB. That is on", rated - left, rated, lost)
    assert 10 * np.log10(left / rated) == pytest.approx(-0.6, abs=0.05)  # the option "0.6"
    claim("It takes a supply that sags to {} V", rated * np.sqrt(0.5))
    low, high = (about(x, 0.15) for x in lost_to_heat())
    claim("About {} dB ¶ About {} dB ¶ About {} to {} dB", saved()[0], lost, low, high)


# Warm coil


def lost_to_heat(**changes):
    words = explainer("what_heat_takes")(**changes).readout[0]
    return [float(x) for x in re.search(r"at most ([\d.]+) to ([\d.]+) dB is lost", words).groups()]


def test_a_warm_coil_on_music_and_on_a_tone():
    low, high = lost_to_heat()
    assert 0.8 < low < 1.2
    assert 1.8 < high < 2.2
    assert 5 < lost_to_heat(signal="steady tone")[1] < 6.5  # "that is a steady tone, hottest"
    start = explainer("what_heat_takes").start
    assert start["load"] == "2 Ω"
    pushed = [lost_to_heat(crest=6.0), lost_to_heat(signal="steady tone")]
    claim(
        "On music with {} dB of crest, {} W cost about {} to {} dB; pushed into clipping, or on a "
        "steady tone, {} to {} dB",
        start["crest"],
        start["rating"],
        about(low, 0.15),
        about(high, 0.15),
        about(min(each[0] for each in pushed), 0.25),
        max(each[1] for each in pushed),
    )


# Slot


def tuning(length):
    """Of the box of that step with the slot `length` m long."""
    slot = shape_of("slot on a wall", litres(28), disc_area(mm(90)), mm(30), mm(20)).port
    port = Port(slot.area, length, end_correction=slot.end_correction)
    return float(PortedBox(litres(28), port).tuning())


def test_a_slot_half_as_long_or_longer():
    shapes = {
        kind: explainer("slot_or_tube")(shape=kind).readout[0]
        for kind in ("round tube", "slot on a wall")
    }
    long = {kind: float(re.search(r"([\d.]+) cm long", w)[1]) for kind, w in shapes.items()}
    start = explainer("slot_or_tube").start
    claim(
        "A round tube of {} cm² (9.9 in²) that tunes {} L (0.99 ft³) to {} Hz is {} cm (16 in) "
        "long",
        to_cm2(disc_area(mm(start["diameter"]))),
        start["volume"],
        start["fb"],
        long["round tube"],
    )
    apart = abs(long["slot on a wall"] - long["round tube"])
    claim("As long, within {} cm", (apart, 2))
    whole = long["slot on a wall"] / 100
    assert tuning(whole) == pytest.approx(38, abs=0.3)
    claim("it would tune this box to about {} Hz", about(tuning(whole / 2), 0.02))
    longer = tuning(whole + 0.10)
    claim("it would tune this box to between {} and {} Hz", np.floor(longer), np.ceil(longer))
    low, high = re.search(
        r"from ([\d.]+) to ([\d.]+) Hz", " ".join(explainer("slot_or_tube")().readout)
    ).groups()
    apart = float(high) - float(low)
    claim("how open an end stands moves the tuning by about {} Hz here", apart)
    claim("How open its ends stand moves a tuning of {} Hz by about {} Hz", start["fb"], apart)
    made = [
        float(re.search(r"([\d.]+) cm long", explainer("slot_or_tube")(shape=kind).readout[0])[1])
        - long["round tube"]
        for kind in KINDS
    ]
    claim("a slot, a fold or a flare comes out {} to {} cm longer than", min(made), max(made))
    assert to_cm(whole) == pytest.approx(long["slot on a wall"])


# A lost weight


def test_a_lost_weight_makes_a_third_peak_and_equal_ones_two():
    item = explainer("a_lost_weight")
    assert (item.start["fitted"], item.start["left"]) == (150, 0)
    claim("with {} g (5.3 oz) on each", item.start["fitted"])
    peaks = item().readout[3]
    assert "three peaks" in peaks
    claim("How many peaks has the impedance of that box below {} Hz", figures(peaks)[0])
    equal = " ".join(item(left=150).readout)
    assert "three peaks" not in equal
    assert wrong(reading_a_sweep, "lost", "One")


# Cold and height


def test_height_moves_the_radiator_and_cold_the_port():
    item = explainer("cold_or_high_up")
    assert (item.start["temperature"], item.start["altitude"]) == (-10, 1500)

    def moved(**changes):
        words = item(**changes).readout[0].replace("−", "-")
        port, radiator = re.findall(r"by ([+-]?[\d.]+) %", words)
        return abs(float(port)), abs(float(radiator))

    port, radiator = moved()
    assert radiator > port
    port, none = moved(altitude=0.0)
    still, radiator = moved(temperature=20.0)
    assert none < 1 and still < 0.3
    claim(
        "Cold lowers the tuning of a port, {} % at −{} °C, and hardly that of a radiator; height "
        "lowers that of a radiator, some {} % at {} m",
        port,
        10,
        radiator,
        1500,
    )
    claim("plays at −{} °C ({} °F) on a pass", 10, 32 - 10 * 9 / 5)
    assert "height" in wrong(in_the_car, "cold", "The port's")
    # the spring of the air goes with its pressure alone
    low = Air.at_altitude(1500, temperature=20)
    box = SealedBox(litres(14))
    assert box.compliance(low) / box.compliance(Air()) == pytest.approx(
        Air().pressure / low.pressure, rel=1e-3
    )
