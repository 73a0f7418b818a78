"""What lessons 03 and 05 say of a pair one behind the other, and of leak, lining and friction."""

import pytest
from said import claim, pages

from boxlab import to_litres
from boxlab.explainers import explainer
from boxlab.explainers import leak_lining_or_friction as losses
from boxlab.explainers import one_behind_the_other as pairs
from boxlab.model.passband import passband
from boxlab.model.port_loss import port_q
from boxlab.model.several import between
from boxlab.publish.terms import TERMS

ITEM = explainer("one_behind_the_other")


def sides(**changes):
    state = ITEM.start | changes
    names = ("size", "volume", "share", "build", "wanted", "amplifier", "fb")
    return pairs.sides(*(state[name] for name in names))


def test_half_the_box_for_3_dB():
    two, one = sides()
    volts, watt = pairs.gains(two, one, 40.0)
    assert volts == pytest.approx(0, abs=0.01) and watt == pytest.approx(-3.01, abs=0.01)
    claim("It costs twice the watts, so {} dB for each watt", -watt)
    claim("¶ {} dB less ¶ less than", -watt)  # the option that is right
    claim("Half the box, as low; {} dB less for each watt", -watt)
    claim("half the box at the same f3, for {} dB less on the same watts", -watt)
    claim("{} L (0.25 ft³) for the pair is what {} L (0.49 ft³) is for one",
          to_litres(two.volume), to_litres(one.volume))  # fmt: skip
    assert two.f3 == pytest.approx(one.f3)
    half = passband(two.driver, two.box).efficiency / passband(one.driver, one.box).efficiency
    claim("half the box at the same f3 has {} the efficiency", half)


def test_where_travel_is_the_limit_nothing_is_gained():
    for frequency in (20.0, 25.0):
        two, one = sides(amplifier=3000.0)
        assert two.stopped_by(frequency) == one.stopped_by(frequency) == "cone excursion"
        assert two.at("loudest", frequency) == pytest.approx(one.at("loudest", frequency), abs=0.05)


def test_the_air_between():
    two, one = sides()
    start = ITEM.start["space"]
    ring = float(between(one.driver, start / 1e3))
    claim("With {} L (0.07 ft³) of it the pair takes {} L (0.32 ft³) in all",
          start, to_litres(two.volume) + start)  # fmt: skip
    claim("the two cones ring on it at {} Hz. Up to a quarter of that, {} Hz", ring, ring / 4)
    claim("with {} L (0.28 ft³) only up to {} Hz", ITEM.presets["more air between"]["space"],
          float(between(one.driver, 8e-3)) / 4)  # fmt: skip


def test_peaks_tell_a_loss_and_the_tuning_does_not():
    f = losses.facts(**explainer("leak_lining_or_friction").start)
    lower, upper = ({n: f["peaks"][n][i] for n in losses.PLACES} for i in (0, 1))
    assert min(lower, key=lower.get) == "friction" and min(upper, key=upper.get) == "absorption"
    assert lower["friction"] < lower["leak"] < f["peaks"]["none"][0]
    assert upper["absorption"] < upper["leak"] < f["peaks"]["none"][1]
    claim("friction takes the lower one, a lining the upper one, a leak some of both")
    claim("friction in the lower one, a lining in the upper one, a leak in both")
    claim("friction in the vent takes the lower peak of the impedance, a lining the upper one")


def test_friction_of_a_port_grows_with_its_speed():
    start = explainer("leak_lining_or_friction").start
    box = losses.box_of("ten-inch", "ported", start["volume"], start["fb"], start["port"])
    loud = float(port_q(box.port, start["fb"], 17.0))
    claim("one with sharp edges, as here, has a QP of {} at {} m/s by the usual estimate", loud, 17)
    assert explainer("leak_lining_or_friction").presets["sharp port at 17 m/s"]["qp"] == round(loud)
    assert port_q(box.port, start["fb"], 0.1) > 1000  # in a sweep: next to none


def test_band_pass_is_said_to_be_out_of_scope():
    lesson = pages()["03-size-efficiency-extension.ipynb"]
    assert "band-pass boxes are out of its scope" in lesson
    (term,) = (t for group in TERMS.values() for t in group if t.anchor == "band-pass")
    assert "Out of the scope of this library" in term.meaning
