"""What each loss takes, and what a pair one behind the other buys: their pictures against routes of
their own."""

import re
import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from boxlab import Air, PortedBox, RadiatorBox, SealedBox, litres, solve, with_vent_q
from boxlab.explainers import explainer
from boxlab.gear.scenario import TEN_INCH_DRIVER

sys.path.insert(0, str(Path(__file__).parent / "physics"))

from independent import circuit, matrix_solution

NUMBER = re.compile(r"[-−]?\d+(?:\.\d+)?")


def row(scene, name):
    """The number of a row of the table, by the start of its name."""
    (found,) = (each for each in scene.numbers if each.name == name)
    return float(NUMBER.search(found.metric)[0].replace("−", "-"))


def by_matrix(box, frequency, volts=2.83):
    c = circuit(TEN_INCH_DRIVER, box, Air(), voltage=volts)
    wb = 2 * np.pi * c.tuning
    c = replace(c, absorption=1 / (wb * c.box_compliance * box.qa))
    if np.isfinite(getattr(box, "qp", np.inf)):
        c = replace(c, vent_rms=wb * c.vent_mass / box.qp)
    return matrix_solution(c, np.atleast_1d(np.asarray(frequency, float)))


def level(box, frequency):
    return 20 * np.log10(np.abs(by_matrix(box, frequency)["pressure"]))


def box_of(build, volume, fb):
    """The explainer's own box without loss."""
    from boxlab.explainers import leak_lining_or_friction as room

    return with_vent_q(
        replace(room.box_of("ten-inch", build, volume, fb), ql=np.inf, qa=np.inf), 1e9
    )


@pytest.mark.parametrize("build", ["ported", "radiator"])
def test_what_each_loss_takes_is_what_a_matrix_of_the_laws_gives(build):
    scene = explainer("leak_lining_or_friction")(build=build, ql=7.0, qa=20.0, qp=12.0)
    bare = box_of(build, 30.0, 36.0)
    alone = {
        "leak": replace(bare, ql=7.0),
        "absorption": replace(bare, qa=20.0),
        "friction": with_vent_q(bare, 12.0),
    }
    fb = float(bare.tuning())
    whole = with_vent_q(replace(bare, ql=7.0, qa=20.0), 12.0)
    lost = level(bare, fb) - level(whole, fb)
    assert row(scene, "lost at the tuning, all") == pytest.approx(float(lost[0]), abs=0.051)
    for name, box in alone.items():
        lost = float((level(bare, fb) - level(box, fb))[0])
        assert row(scene, f"lost at the tuning, {name} alone") == pytest.approx(lost, abs=0.051)
    # derived: the three add up as conductances do
    assert row(scene, "all together, QB") == pytest.approx(1 / (1 / 7 + 1 / 20 + 1 / 12), abs=0.051)


@pytest.mark.parametrize("build", ["ported", "radiator"])
def test_one_loss_in_three_places_is_told_apart_by_the_peaks(build):
    scene = explainer("leak_lining_or_friction")(build=build, ql=14.0, qa=14.0, qp=200.0)
    bare, q = box_of(build, 30.0, 36.0), 1 / (2 / 14 + 1 / 200)
    each = {
        "leak": replace(bare, ql=q),
        "absorption": replace(bare, qa=q),
        "friction": with_vent_q(bare, q),
    }
    f = np.geomspace(12, 120, 4000)
    fb = float(bare.tuning())
    heights = {}
    for name, box in each.items():
        size = np.abs(by_matrix(box, f)["impedance"])
        low, high = (float(size[side].max()) for side in (f < fb, f > fb))
        assert row(scene, f"lower peak, all of it {name}") == pytest.approx(low, abs=0.2)
        assert row(scene, f"upper peak, all of it {name}") == pytest.approx(high, abs=0.2)
        heights[name] = (low, high)
    # the claim of the answer: friction takes the lower peak, a lining the upper
    assert heights["friction"][0] < heights["leak"][0] < heights["absorption"][0]
    assert heights["absorption"][1] < heights["leak"][1] < heights["friction"][1]
    same = [float(level(box, fb)[0]) for box in each.values()]
    assert np.ptp(same) < 0.2  # and at the tuning nobody can tell them apart


def test_a_box_without_a_loss_has_lost_nothing():
    scene = explainer("leak_lining_or_friction")(ql=200.0, qa=200.0, qp=200.0)
    small = explainer("leak_lining_or_friction")(ql=3.0, qa=200.0, qp=200.0)
    assert 0 < row(scene, "lost at the tuning, all") < 0.5 < row(small, "lost at the tuning, all")


@pytest.mark.parametrize("frequency", [25.0, 40.0, 80.0])
def test_a_pair_in_half_the_box_is_3_dB_less_for_each_watt(frequency):
    # derived, and the classic statement: as loud at the volts of one, for twice the watts
    scene = explainer("one_behind_the_other")(frequency=frequency)
    assert row(scene, "pair over one, for each watt") == pytest.approx(-3.0, abs=0.051)
    assert row(scene, "pair over one, same volts on each") == pytest.approx(0.0, abs=0.051)
    assert row(scene, "the pair: f3") == pytest.approx(row(scene, "one driver: f3"), abs=0.051)
    assert "3.0 dB less" in scene.readout[0]


def test_a_pair_in_the_same_box_is_two_motors_on_one_air_by_the_laws():
    # a matrix with both cones as one moving part of twice the mass, twice the stiffness and Bl·i of
    # two coils: written out here, not taken from `isobaric`
    scene = explainer("one_behind_the_other")(share="the same box", frequency=40.0)
    d, air = TEN_INCH_DRIVER, Air()
    s = 2j * np.pi * 40.0
    coil = d.re + s * d.le + (d.semi_k * s**d.semi_n if d.semi_k else 0)
    spring = d.sd**2 * air.bulk_modulus / litres(14)

    def velocity(motors):
        moving = motors * (s * d.mms + d.rms + 1 / (s * d.cms)) + spring / s
        return motors * d.bl * 2.83 / coil / (moving + motors * d.bl**2 / coil)

    one, two = velocity(1), velocity(2)
    gap = 20 * np.log10(abs(two) / abs(one))
    watts = [n * ((2.83 - d.bl * v) / coil).real * 2.83 for n, v in ((1, one), (2, two))]
    for_watt = gap - 10 * np.log10(watts[1] / watts[0])
    assert row(scene, "pair over one, same volts on each") == pytest.approx(gap, abs=0.051)
    assert row(scene, "pair over one, for each watt") == pytest.approx(for_watt, abs=0.051)


def test_the_ohms_of_a_pair_and_the_air_between_are_said():
    parallel, series = (
        explainer("one_behind_the_other")(wiring=way, space=2.0) for way in ("parallel", "series")
    )
    assert row(parallel, "the pair: Re") == pytest.approx(1.7)
    assert row(series, "the pair: Re") == pytest.approx(6.8)
    # derived: two masses on the air between, each on twice its stiffness
    spring = 2 * TEN_INCH_DRIVER.sd**2 * Air().bulk_modulus / 2e-3
    ring = np.sqrt(spring / TEN_INCH_DRIVER.mms) / 2 / np.pi
    assert row(parallel, "cones ring on the air between") == pytest.approx(ring, abs=0.6)
    large = explainer("one_behind_the_other").told(space=8.0)
    assert any("one piston" in words for words in large.warnings)
    assert parallel.cautions  # two motors on one amplifier, wired by hand


def test_the_pair_is_drawn_face_to_face_and_goes_one_way():
    cut = explainer("one_behind_the_other")().cutaway
    cones = [s for s in cut.shapes if s.role == "cone" and not s.shares]
    assert len(cones) == 3  # two of the pair, one of the single driver beside it
    pair = [s for s in cones if s.moves == cones[0].moves]
    assert len(pair) == 2
    (ax, _), (bx, _) = (np.ptp(np.asarray(s.points), axis=0) for s in pair)
    assert ax == pytest.approx(bx)  # of one size, and one the other's mirror image
    first, second = (np.asarray(s.points) for s in pair)
    np.testing.assert_allclose(first[:, 0] + second[:, 0], first[0, 0] + second[0, 0])
    assert "face to face" in cut.words


def test_boxes_shown_are_the_boxes_meant():
    scene = explainer("one_behind_the_other")(volume=20.0)
    volumes = sorted(float(r.box.volume) for r in scene.shows.values())
    assert volumes == pytest.approx([litres(10), litres(20)])
    assert all(isinstance(r.box, SealedBox) for r in scene.shows.values())
    shown = explainer("leak_lining_or_friction")(build="ported").shows
    assert all(isinstance(r.box, PortedBox) for r in shown.values())
    shown = explainer("leak_lining_or_friction")(build="radiator").shows
    assert all(isinstance(r.box, RadiatorBox) for r in shown.values())


def test_python_beside_the_picture_gives_its_numbers(capsys):
    for name in ("one_behind_the_other", "leak_lining_or_friction"):
        scene = explainer(name)()
        exec(scene.code, {})
        said = [float(each) for each in NUMBER.findall(capsys.readouterr().out)]
        assert said
    lost = row(scene, "lost at the tuning, all")
    assert any(each == pytest.approx(lost, abs=0.051) for each in said)


def test_solve_takes_the_losses_that_are_shown():
    r = explainer("leak_lining_or_friction")(build="ported", ql=9.0, qa=40.0, qp=25.0).shows
    (box,) = {id(each.box): each.box for each in r.values()}.values()
    assert (box.ql, box.qa, box.qp) == (9.0, 40.0, 25.0)
    assert solve(TEN_INCH_DRIVER, box, 36.0).spl == pytest.approx(
        float(level(box, 36.0)[0] - 20 * np.log10(20e-6)), abs=1e-6
    )
