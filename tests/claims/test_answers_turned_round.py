"""One-line answers that say which way something goes: the words are held, and so is the way."""

from dataclasses import replace

import numpy as np
import pytest
from said import about, claim, read

from boxlab import RadiatorBox, litres, solve
from boxlab.car.power import power_limits
from boxlab.car.vehicle import pressure_lift
from boxlab.explainers import _cars as cars
from boxlab.explainers import _music as music
from boxlab.explainers import explainer
from boxlab.explainers.port_or_radiator import trio
from boxlab.explainers.where_is_the_tuning import offsets
from boxlab.gear.scenario import RADIATORS, TEN_INCH_DRIVER

RADIATOR = RADIATORS["ten-inch"].with_mass(0.075)
BOXES = trio("ten-inch", 14, 45, 100, 0.6, "one", 7)


def test_weight_and_volume_tune_lower():
    usual = RadiatorBox(litres(14), RADIATOR).tuning()
    assert RadiatorBox(litres(14), RADIATORS["ten-inch"].with_mass(0.15)).tuning() < usual
    assert RadiatorBox(litres(20), RADIATOR).tuning() < usual
    claim("More weight or more volume tunes a radiator box lower")


def test_a_softer_suspension():
    soft = replace(RADIATOR, cms=2 * RADIATOR.cms)
    ratio = RadiatorBox(litres(14), soft).tuning() / RadiatorBox(litres(14), RADIATOR).tuning()
    assert 0.95 < ratio < 1 and soft.fp / RADIATOR.fp == pytest.approx(np.sqrt(0.5))
    claim("A softer suspension moves the null down and away and leaves the tuning nearly where")
    fb = RadiatorBox(litres(14), RADIATOR).tuning()
    one, two = (RadiatorBox.tuned(litres(14), fb, each, ql=7) for each in (RADIATOR, soft))
    low = [solve(TEN_INCH_DRIVER, box, fb / 2, 20.0).spl.item() for box in (one, two)]
    assert two.radiator.fp < one.radiator.fp and low[1] > low[0]
    assert two.radiator.added_mass < one.radiator.added_mass
    claim("a softer suspension puts the null lower, gives a little more below the tuning and needs "
          "fewer weights")  # fmt: skip


def test_below_the_tuning_a_radiator_falls_faster():
    radiator, port = (
        solve(TEN_INCH_DRIVER, box, [22.5, 45.0], 20.0).spl
        for box in (BOXES.radiator, BOXES.ported)
    )
    assert np.diff(radiator) > np.diff(port) + 2
    claim(
        "Above the tuning a radiator does what a port does; below it the radiator falls off faster"
    )


def test_two_radiators_move_nearly_four_times_the_mass():
    moving = read("radiator_choices", 2)[4:]
    claim("two need nearly {} times the moving mass", (2 * moving[3] / moving[0], 4))
    assert 2 * moving[3] / moving[0] > 3.5


def test_what_pulls_the_lowest_point():
    found, _, _, coil, loss = offsets("radiator", 14, 45, 1.2, 7.0)
    assert found.zl > found.zh and max(coil) < 0 and loss[0] < 0  # the lower peak is the taller
    claim("coil inductance pulls that point down, and losses pull it towards the taller peak")


def test_a_lost_weight():
    lower, upper, _, _, equal, _ = read("a_lost_weight")
    assert lower < equal < upper
    claim("The box tunes higher, so it is quieter below, and gets a second, low tuning")


def test_faults():
    peak, now, valley, then, other, left = read("faults_in_a_sweep", 1)
    assert now < peak and left < other and then > valley
    claim("Losses lower the peaks and lift the valley, masses and volumes move things sideways")


def test_what_a_gap_loses():
    gap, net, *_ = read("gap_to_volume")
    claim("board, slack and the driver itself take about {}", about(1 - net / gap, 0.12))


def test_power():
    driver, box = music.driver_of(2.0), music.box_of("radiator")
    assert list(power_limits(driver, box, [20, 100]).stops) == ["excursion", "heat"]
    claim("Low notes run out of travel long before the coil is hot; high ones the other way round")
    clipped, clean = (
        music.averages(driver, box, music.at_the_rails(12, rating, 2.0, past))[1]
        for rating, past in ((300, 10), (3000, 0))
    )
    assert clean > clipped
    claim("A larger amplifier with the knob at the same place heats more, not less")
    claim("Music has peaks {} times its average and more", 10 ** (12 / 20))
    claim("at its own frequency, and {} times the watts for each {} dB", 10**0.6, 20 * np.log10(2))


def test_sealed_and_stopped_by_travel_both_are_as_loud():
    few, many = (
        explainer("small_or_large")(amplifier=watts).readout[0] for watts in (50.0, 1000.0)
    )
    assert few.endswith("apart.") and many.endswith("the same.")
    claim("Sealed and stopped by the cone's travel, both are equally loud: the small box pays in "
          "watts, not in decibels")  # fmt: skip


def test_cars():
    small, large = (cars.CARS[name].volume for name in ("small hatchback", "estate"))
    lift = abs(pressure_lift(25.0, small)), abs(pressure_lift(25.0, large))
    assert small < large and lift[0] > lift[1]
    claim("Less air in the cabin, more lift")


def test_unequal_inputs():
    _, _, off = read("unequal_inputs")
    assert 10 < off < 100
    claim("Tenths of a decibel between two inputs make tens of per cent on a tall peak")
