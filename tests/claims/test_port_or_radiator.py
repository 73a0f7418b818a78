"""What the lesson "port or radiator" says, asked of the library."""

import re
from dataclasses import replace
from math import inf
from pathlib import Path

import nbformat
import numpy as np
import pytest

from boxlab import (
    Port,
    PortedBox,
    RadiatorBox,
    SealedBox,
    cubic_feet,
    disc_area,
    litres,
    mm,
    mm_per_newton,
    solve,
    to_cm,
    to_litres,
)
from boxlab.explainers import explainer
from boxlab.explainers.port_or_radiator import trio
from boxlab.gear.scenario import (
    RADIATORS,
    TEN_INCH_DRIVER,
    TWELVE_INCH_DRIVER,
    TWELVE_INCH_RADIATOR,
    USUAL_QL,
)
from boxlab.model.port_equivalent import (
    as_radiator,
    largest_that_fits,
    lowest_tuning,
    pipe_length,
    smallest_quiet,
    straight_room,
    tube_volume,
    usual_length,
    vent_flow,
)
from boxlab.quiz.exercises import port_or_radiator as tasks
from boxlab.sound.hearing import allowed_time, weighting

LESSON = Path(__file__).parents[2] / "lessons" / "01-port-or-radiator.ipynb"
NET, FB, VOLTS, QL = litres(14), 45.0, 20.0, 7.0
BOXES = trio("ten-inch", 14, 45, 100, 0.6, "one", QL)
GRID = np.geomspace(10, 200, 2001)


def levels(box, frequency):
    return solve(TEN_INCH_DRIVER, box, frequency, VOLTS).spl


def difference(frequency):
    """Port over radiator, dB."""
    return levels(BOXES.ported, frequency) - levels(BOXES.radiator, frequency)


# Same box, same tuning


def test_above_the_tuning_they_agree_within_half_a_decibel():
    assert np.abs(difference(GRID[GRID >= FB])).max() < 0.5
    assert difference(90.0).item() == pytest.approx(0.3, abs=0.05)


def test_what_is_left_above_is_suspension_and_friction():
    ideal = replace(BOXES.radiator.radiator, cms=mm_per_newton(20), rms=0.0)
    box = RadiatorBox.tuned(NET, FB, ideal, ql=QL)
    assert np.abs(levels(BOXES.ported, [45, 60, 90]) - levels(box, [45, 60, 90])).max() < 0.01


def test_below_the_tuning_the_radiator_gives_less():
    assert difference(22.5).item() == pytest.approx(5.5, abs=0.05)
    below = GRID[(GRID > 12) & (GRID < FB)]
    assert (difference(below) > 0).all()


def test_at_20_hz_sealed_is_above_both():
    radiator, port, sealed = (
        levels(b, 20.0).item() for b in (BOXES.radiator, BOXES.ported, BOXES.sealed)
    )
    assert sealed - radiator == pytest.approx(15, abs=0.5)
    assert sealed - port == pytest.approx(7, abs=0.5)


def test_cone_rest_and_the_sealed_cone():
    near = np.geomspace(35, 60, 1001)
    for box, travel in ((BOXES.radiator, 1.5), (BOXES.ported, 1.2)):
        cone = solve(TEN_INCH_DRIVER, box, near, VOLTS).cone_excursion
        assert near[cone.argmin()] == pytest.approx(FB, rel=0.01)
        assert 1e3 * cone.min() == pytest.approx(travel, abs=0.05)
    low = GRID[GRID < 30]
    sealed, *vented = (
        solve(TEN_INCH_DRIVER, b, low, VOLTS).cone_excursion
        for b in (BOXES.sealed, BOXES.radiator, BOXES.ported)
    )
    assert all((sealed < other).all() for other in vented)


def test_the_lower_the_note_the_more_the_radiator_moves():
    travel = solve(TEN_INCH_DRIVER, BOXES.radiator, GRID, VOLTS).vent_excursion
    assert (np.diff(travel) < 0).all()
    assert BOXES.radiator.radiator.xmax == mm(20)


def test_impedance_peaks_two_two_one():
    def peaks(box):
        z = np.abs(solve(TEN_INCH_DRIVER, box, GRID).impedance)
        return np.count_nonzero((z[1:-1] > z[:-2]) & (z[1:-1] > z[2:]))

    assert [peaks(b) for b in (BOXES.radiator, BOXES.ported, BOXES.sealed)] == [2, 2, 1]


def test_delay_at_the_tuning():
    delays = [
        1e3 * solve(TEN_INCH_DRIVER, b, FB).group_delay.item()
        for b in (BOXES.radiator, BOXES.ported, BOXES.sealed)
    ]
    assert delays == pytest.approx([11.5, 10.7, 3.8], abs=0.05)


def test_loudness_of_one_driver():
    assert levels(BOXES.radiator, GRID).max() == pytest.approx(109, abs=0.5)
    assert VOLTS**2 / TEN_INCH_DRIVER.re == pytest.approx(118, abs=0.5)
    assert 32**2 / TEN_INCH_DRIVER.re == pytest.approx(300, rel=0.01)
    assert 10**2 / TEN_INCH_DRIVER.re == pytest.approx(29, abs=0.5)


# The null


def test_null_is_exact_without_friction_and_lies_at_the_radiators_own_resonance():
    radiator = replace(BOXES.radiator.radiator, rms=0.0)
    box = RadiatorBox(NET, radiator, ql=QL)
    r = solve(TEN_INCH_DRIVER, box, radiator.fp, VOLTS)
    assert np.abs(r.volume_velocity).item() < 1e-9 * np.abs(r.cone_volume_velocity).item()


@pytest.mark.parametrize("weights", [0, 75, 300])
def test_weights_keep_the_distance(weights):
    radiator = RADIATORS["ten-inch"].with_mass(weights / 1e3)
    ratio = RadiatorBox(NET, radiator).tuning() / radiator.fp
    assert ratio == pytest.approx(np.sqrt(1 + radiator.vap() / NET))
    assert np.log2(ratio) == pytest.approx(1.5, abs=0.05)


def test_softer_moves_the_null_and_hardly_the_tuning():
    usual = explainer("null_of_the_radiator")()
    soft = explainer("null_of_the_radiator")(softness=1.2)
    assert usual.title == "Null 15.5 Hz, tuning 45.1 Hz"
    assert soft.title == "Null 11.0 Hz, tuning 43.8 Hz"


def test_vap_fifteen_times_the_box_is_two_octaves():
    radiator = BOXES.radiator.radiator
    assert RadiatorBox(radiator.vap() / 15, radiator).tuning() / radiator.fp == pytest.approx(4)
    assert radiator.vap() / NET == pytest.approx(7.4, abs=0.05)


def test_a_stiff_suspension_costs_16_db():
    stiff = explainer("null_of_the_radiator")(**explainer("null_of_the_radiator").presets["stiff"])
    assert "0.9 octaves apart" in stiff.readout[0]
    assert "2.5 times as soft" in stiff.readout[1]
    assert "an octave below tuning, 16.3 dB under it" in stiff.readout[2]


def test_null_does_not_know_the_box():
    radiator = BOXES.radiator.radiator
    for volume in (10, 14, 40):
        f = np.geomspace(10, 30, 4001)
        spl = levels(RadiatorBox(litres(volume), radiator, ql=QL), f)
        assert f[spl.argmin()] == pytest.approx(radiator.fp, rel=0.01)


# The port that will not fit


def test_length_of_the_port_both_ways():
    area = disc_area(mm(100))
    assert to_cm(usual_length(NET, FB, area)) == pytest.approx(75, abs=0.5)
    assert to_cm(pipe_length(NET, FB, area)) == pytest.approx(65, abs=0.5)
    assert usual_length(NET, FB, area) == pytest.approx(
        PortedBox.tuned(NET, FB, area, max_length=3).port.length
    )


@pytest.mark.parametrize("diameter, volume", [(0.03, 0.05), (0.05, 0.2)])
def test_a_short_port_is_one_mass(diameter, volume):
    area = disc_area(diameter)
    usual, pipe = (f(volume, 25.0, area) for f in (usual_length, pipe_length))
    assert pipe == pytest.approx(usual, abs=0.002)


def test_pipe_length_against_a_transmission_line():
    """Derived: the impedance of an open pipe, ρc/S·tan(kL), cancels that of the box air."""
    area, k = disc_area(mm(100)), 2 * np.pi * FB / 343.2
    whole = pipe_length(NET, FB, area) + Port(area, 0.0).end_correction
    assert np.tan(k * whole) / area == pytest.approx(1 / (k * NET), rel=1e-9)


def test_no_diameter_fits_and_keeps_quiet():
    scene = explainer("port_that_will_not_fit")()
    assert scene.readout[0].startswith("No diameter does both: straight it fits up to 64 mm")
    assert to_cm(usual_length(NET, FB, disc_area(mm(74)))) == pytest.approx(40, abs=1)
    assert "Air speed 20 m/s" in explainer("port_that_will_not_fit")(diameter=75).readout[1]
    large = usual_length(cubic_feet(1.5), FB, disc_area(mm(100)))
    assert to_cm(large) == pytest.approx(20, abs=0.5)


@pytest.mark.parametrize(
    "volts, diameter, length, share",
    [(20, 81, 45, 19), (32, 102, 67, 44)],
)
def test_what_folding_costs(volts, diameter, length, share):
    scene = explainer("port_that_will_not_fit")(drive=volts, diameter=diameter)
    assert f"17 m/s from {diameter} mm" in scene.readout[0]
    assert f"{length} cm with its air as a pipe" in scene.readout[1]
    assert f"({share} %, its wall included)" in scene.readout[2]
    by_hand = np.pi / 4 * (diameter + 6) ** 2 * 10 * length / 1e6 / (1e3 * NET)  # a 3 mm wall
    assert by_hand == pytest.approx(share / 100, abs=0.01)
    if volts == 32:
        assert "rings first at 229 Hz" in scene.readout[2]


def test_every_place_gives_one_cost_of_folding():
    """The lesson, both explainers and the short answer: each number is read out of its text."""
    told = " ".join(cell.source for cell in nbformat.read(LESSON, 4).cells)
    told = " ".join(told.split())
    found = (
        smallest_quiet(TEN_INCH_DRIVER, NET, FB, volts, speed=17, ql=USUAL_QL) for volts in (20, 32)
    )
    areas = [disc_area(round(float(diameter), 3)) for diameter in found]  # to the mm, as told
    quiet, loud = (round(100 * tube_volume(a, pipe_length(NET, FB, a)) / NET) for a in areas)
    here = explainer("port_that_will_not_fit")
    places = {
        "readout": re.findall(r"\((\d+) %, its wall", here(drive=32, diameter=102).readout[2]),
        "by size": re.findall(r"takes (\d+) % of the", explainer("when_a_port_wins")().readout[1]),
        "bend": re.findall(r"grows by (\d+) % to make room", told),
        "played loud": re.findall(r"takes (\d+) % on top", told),
        "table": re.findall(r"folded it wants (\d+) to (\d+) % of the box", told),
        "answer": re.findall(r"takes (\d+) to (\d+) % of the box", here.answer),
    }
    both = [(str(quiet), str(loud))]
    assert places == {
        "readout": [str(loud)], "by size": [str(quiet)], "bend": [str(quiet)],
        "played loud": [str(loud)], "table": both, "answer": both,
    }  # fmt: skip


def test_a_box_turned_into_pipe():
    assert lowest_tuning(NET, disc_area(mm(100))) == pytest.approx(46.2, abs=0.05)
    # derived: any split of the space into pipe and box tunes higher than that quarter wave
    area, share = disc_area(mm(100)), np.linspace(0.05, 0.95, 19)
    length = share * NET / area + Port(area, 0.0).end_correction
    k = np.linspace(1e-3, 3, 30001)[:, None]
    reactance = np.tan(k * length) * k * (1 - share) * NET / area
    tuned = k[np.argmax((reactance >= 1) | (k * length > np.pi / 2), axis=0), 0] * 343.2 / 2 / np.pi
    assert (tuned > 46.2).all()


def test_two_narrow_ports_are_no_way_out():
    two = PortedBox.tuned(NET, FB, disc_area(mm(100)) / 2, count=2, max_length=3)
    assert to_cm(two.port.length) == pytest.approx(77, abs=0.6)
    assert 1e3 * np.sqrt(4 * two.port.area / np.pi) == pytest.approx(71, abs=0.5)


def test_played_softly_a_port_fits():
    start = explainer("port_that_will_not_fit")(drive=10).readout[0]
    assert start.startswith("Any diameter from 57 to 64 mm")


def test_diameter_changes_nothing_in_the_response():
    narrow = PortedBox.tuned(NET, FB, disc_area(mm(60)), ql=QL, max_length=3)
    assert levels(narrow, GRID) == pytest.approx(levels(BOXES.ported, GRID), abs=1e-9)


def test_flow_is_that_of_the_tuned_port():
    r = solve(TEN_INCH_DRIVER, BOXES.ported, np.geomspace(0.7 * FB, 4 * FB, 120), VOLTS)
    flow = r.vent_air_speed.max() * BOXES.ported.port.area
    assert vent_flow(TEN_INCH_DRIVER, NET, FB, VOLTS, ql=QL) == pytest.approx(flow, rel=1e-9)


def test_quiet_port_keeps_its_speed():
    diameter = smallest_quiet(TEN_INCH_DRIVER, NET, FB, VOLTS, speed=12.0, ql=QL)
    box = PortedBox.tuned(NET, FB, disc_area(diameter), ql=QL, max_length=3)
    r = solve(TEN_INCH_DRIVER, box, np.geomspace(0.7 * FB, 4 * FB, 120), VOLTS)
    assert r.vent_air_speed.max() == pytest.approx(12.0, rel=1e-9)


def test_largest_that_fits_just_fits():
    volumes = litres(np.array([10.0, 14.0, 40.0]))
    widest = largest_that_fits(volumes, FB)
    assert (straight_room(volumes, FB, widest) >= 0).all()
    assert (straight_room(volumes, FB, widest + mm(1)) < 0).all()


# When a port is the better answer


@pytest.mark.parametrize("volts, volume", [(10, 11), (20, 28), (32, 48)])
def test_where_a_quiet_port_begins_to_fit(volts, volume):
    scene = explainer("when_a_port_wins")(drive=volts)
    assert f"fits from about {volume} L" in scene.readout[0]


def test_at_70_litres_even_40_volts_is_quiet():
    assert "from about 61 L" in explainer("when_a_port_wins")(drive=40).readout[0]


def test_a_cubic_foot_is_28_litres():
    assert to_litres(cubic_feet(1)) == pytest.approx(28, abs=0.5)


def test_the_large_twelve_inch_box():
    size = explainer("when_a_port_wins")
    scene = size(**size.presets["twelve-inch at 35 Hz"])
    assert "is 120 mm (4.7 in) wide and 33 cm long; it fits. It takes 6 %" in scene.readout[1]
    assert "one twelve-inch radiator is too heavy even without weights" in scene.readout[2]
    net = litres(64)
    assert RadiatorBox(net, TWELVE_INCH_RADIATOR).tuning() < 35
    assert RadiatorBox(net, TWELVE_INCH_RADIATOR, 2).tuning() > 35
    assert TWELVE_INCH_DRIVER.sd > TEN_INCH_DRIVER.sd


# One model, three boxes


def test_a_port_is_a_radiator_without_a_suspension():
    twin = RadiatorBox(NET, as_radiator(BOXES.ported.port), ql=QL)
    assert twin.radiator.cms == inf and twin.radiator.fp == 0
    assert levels(twin, GRID) == pytest.approx(levels(BOXES.ported, GRID), abs=1e-9)
    assert twin.tuning() == pytest.approx(BOXES.ported.tuning())


def test_a_vent_that_cannot_move_is_a_sealed_box():
    pinhole = PortedBox(NET, Port(disc_area(mm(2)), 1.0))
    close = levels(pinhole, GRID) - levels(SealedBox(NET), GRID)
    assert np.abs(close).max() < 0.02


def test_hearing_figures():
    assert allowed_time(94) == 3600 and allowed_time(100) == 900
    assert weighting(40.0) == pytest.approx(-35, abs=0.5)


# Predictions and exercises


def test_weights_exercise_against_the_formula():
    """Derived: the mass that swings at fb on both springs, less the radiator's own."""
    n = tasks.weights.numbers("demo")
    radiator = RADIATORS["ten-inch"]
    stiffness = 1 / radiator.cms + radiator.sd**2 * 141_880 / litres(n.volume)
    mass = stiffness / (2 * np.pi * n.fb) ** 2
    assert tasks.weights.blanks[3].answer(n) == pytest.approx(1e3 * (mass - radiator.mms), rel=1e-3)


def test_port_exercise_against_the_formula():
    n = tasks.port_length.numbers("demo")
    area = np.pi * (n.diameter / 2000) ** 2
    whole = area * 343.2**2 / (n.volume / 1000 * (2 * np.pi * n.fb) ** 2)
    assert tasks.port_length.answer(n) == pytest.approx(
        100 * (whole - 1.4615 * n.diameter / 2000), rel=1e-3
    )
