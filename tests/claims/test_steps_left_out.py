"""What the steps say that a class may leave out: filters, supply, warm coil, slot, weight, cold."""

import json
import re
from pathlib import Path

import numpy as np
import pytest

from boxlab import Air, Port, PortedBox, SealedBox, cm2, disc_area, litres, mm
from boxlab.base.units import to_cm, to_cm2
from boxlab.explainers import explainer
from boxlab.explainers.slot_or_tube import shape_of
from boxlab.quiz.exercises import in_the_car, port_or_radiator, power_and_wiring, reading_a_sweep

LESSONS = Path(__file__).resolve().parents[2] / "lessons"


def prose(name):
    cells = json.loads((LESSONS / f"{name}.ipynb").read_text(encoding="utf-8"))["cells"]
    text = " ".join("".join(c["source"]) for c in cells if c["cell_type"] == "markdown")
    return re.sub(r"\s+", " ", text)


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
    assert f"{cost:g} dB of {first:g}" in prose("07-power-and-wiring")
    assert int(watts[1]) / int(watts[2]) == pytest.approx(4, abs=0.05)
    start = explainer("what_a_high_pass_saves").start
    assert (start["high_pass"], start["order"], start["boost"], start["boost_at"]) == (
        36, "24 dB/octave", 6, 48,
    )  # fmt: skip


def test_a_gentle_high_pass_low_down_leaves_three_decibels():
    assert saved(high_pass=20.0, order="12 dB/octave", boost=0.0)[0] == pytest.approx(3, abs=0.2)
    assert "20 Hz with 12 dB per octave" in wrong(power_and_wiring, "filter", "About 3 dB")


# Supply


def test_volts_lost_as_decibels():
    assert 20 * np.log10(12.0 / 13.8) == pytest.approx(-1.2, abs=0.05)
    assert 10 * np.log10(12.0 / 13.8) == pytest.approx(-0.6, abs=0.05)  # the option "0.6"
    assert "sags to 9.8 V" in wrong(power_and_wiring, "supply", "About 3 dB")
    assert 20 * np.log10(9.8 / 13.8) == pytest.approx(-3, abs=0.05)
    # the rated supply of the panel, which the question speaks of
    assert explainer("what_a_weak_supply_costs").start["rated_at"] == 13.8


# Warm coil


def lost(**changes):
    words = explainer("what_heat_takes")(**changes).readout[0]
    return [float(x) for x in re.search(r"([\d.]+) to ([\d.]+) dB is lost", words).groups()]


def test_a_warm_coil_on_music_and_on_a_tone():
    low, high = lost()
    assert 0.8 < low < 1.2
    assert 1.8 < high < 2.2
    assert 5 < lost(signal="steady tone")[1] < 6.5  # "that is a steady tone, hottest"
    start = explainer("what_heat_takes").start
    assert (start["rating"], start["load"], start["crest"]) == (300, "2 Ω", 12)


# Slot


def tuning(length):
    """Of the box of that step with the slot `length` m long."""
    slot = shape_of("slot on a wall", litres(28), disc_area(mm(90)), mm(30), mm(20)).port
    port = Port(slot.area, length, end_correction=slot.end_correction)
    return float(PortedBox(litres(28), port).tuning())


def test_a_slot_half_as_long_or_longer():
    said = prose("01-port-or-radiator")
    assert "A round tube of 64 cm² (9.9 in²) that tunes 28 L (0.99 ft³) to 38 Hz is 40 cm" in said
    assert to_cm2(disc_area(mm(90))) == pytest.approx(64, abs=0.5)
    assert cm2(64) == pytest.approx(9.9 * 0.0254**2, rel=0.005)
    shapes = {
        kind: explainer("slot_or_tube")(shape=kind).readout[0]
        for kind in ("round tube", "slot on a wall")
    }
    long = {kind: float(re.search(r"([\d.]+) cm long", w)[1]) for kind, w in shapes.items()}
    assert long["round tube"] == pytest.approx(40, abs=0.5)
    assert abs(long["slot on a wall"] - long["round tube"]) < 2
    whole = long["slot on a wall"] / 100
    assert tuning(whole) == pytest.approx(38, abs=0.3)
    assert tuning(whole / 2) == pytest.approx(50, abs=1)
    assert 34 < tuning(whole + 0.10) < 35
    assert "34 and 35 Hz" in wrong(port_or_radiator, "slot", "10 cm longer")
    assert "about 50 Hz" in wrong(port_or_radiator, "slot", "Half as long")
    low, high = re.search(
        r"from ([\d.]+) to ([\d.]+) Hz", " ".join(explainer("slot_or_tube")().readout)
    ).groups()
    assert float(high) - float(low) == pytest.approx(1, abs=0.3)
    assert to_cm(whole) == pytest.approx(long["slot on a wall"])


# A lost weight


def test_a_lost_weight_makes_a_third_peak_and_equal_ones_two():
    item = explainer("a_lost_weight")
    assert (item.start["fitted"], item.start["left"]) == (150, 0)
    assert "with 150 g (5.3 oz) on each" in prose("05-reading-a-sweep")
    assert "three peaks" in " ".join(item().readout)
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
    port, radiator = moved(altitude=0.0)
    assert port > 4 and radiator < 1
    port, radiator = moved(temperature=20.0)
    assert port < 0.3 and radiator > 5
    assert "height" in wrong(in_the_car, "cold", "The port's")
    # the spring of the air goes with its pressure alone
    low = Air.at_altitude(1500, temperature=20)
    box = SealedBox(litres(14))
    assert box.compliance(low) / box.compliance(Air()) == pytest.approx(
        Air().pressure / low.pressure, rel=1e-3
    )
