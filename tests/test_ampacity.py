"""A cable by drop and by heat: published tables, and the calls that once named too thin a cable."""

import math
import re

import numpy as np
import pytest

from boxlab.base.checks import UnitWarning
from boxlab.car.ampacity import FUSES, ampacity, least_fuse, size_cable, tabled
from boxlab.car.cable import Cable, awg_area, awg_cables, metric_cables, resistance_per_metre
from boxlab.draw.scene import Choice
from boxlab.explainers import explainer


def gauge(name):
    return Cable(f"{name} AWG", awg_area(name), resistance_per_metre(awg_area(name)))


def metric(mm2):
    return next(cable for cable in metric_cables() if cable.label == f"{mm2:g} mm²")


# 33 CFR 183.425, Table 5, and ABYC E-11, Table VI, as reprinted: 105 °C insulation, 30 °C around,
# no more than two loaded conductors together, A.
BOAT_105 = {14: 35, 12: 45, 10: 60, 8: 80, 6: 120, 4: 160, 2: 210, "1/0": 285, "4/0": 445}
# NEC 2023, Table 310.16: 60 °C, at most three in a raceway, 30 °C around, A.
RACEWAY_60 = {14: 15, 12: 20, 10: 30, 8: 40, 6: 55, 4: 70, 2: 95, "1/0": 125, "4/0": 195}
# Kuphaldt, Lessons in Electric Circuits, Reference, ch. 3: free air, 30 °C, A at 60 and 90 °C.
FREE_60_90 = {4: (105, 140), 2: (140, 190), "1/0": (195, 260), "4/0": (300, 405)}
# DIN VDE 0298-4, factors for 70 °C cable at 40, 50 and 60 °C around.
VDE_FACTORS = {40: 0.87, 50: 0.71, 60: 0.50}


@pytest.mark.parametrize(("size", "amps"), BOAT_105.items())
def test_scaled_to_105_degrees_it_is_the_table_for_boats(size, amps):
    assert ampacity(gauge(size), 105, 30) == pytest.approx(amps, rel=0.10)


@pytest.mark.parametrize("size", BOAT_105)
def test_what_is_assumed_of_unknown_cable_lies_between_raceway_and_boat(size):
    assert RACEWAY_60[size] < ampacity(gauge(size)) < BOAT_105[size]


@pytest.mark.parametrize(("size", "pair"), FREE_60_90.items())
def test_other_insulation_as_printed(size, pair):
    for degrees, amps in zip((60, 90), pair, strict=True):
        assert ampacity(gauge(size), degrees, 30) == pytest.approx(amps, rel=0.05)


@pytest.mark.parametrize(("around", "factor"), VDE_FACTORS.items())
def test_a_warm_place_takes_the_printed_share(around, factor):
    share = ampacity(metric(16), 70, around) / ampacity(metric(16), 70, 30)
    assert share == pytest.approx(factor, abs=0.01)


def test_the_square_root_of_the_warmth_by_hand():
    assert ampacity(metric(25), 70, 50) == pytest.approx(129 * math.sqrt(20 / 40))


def test_bundles_take_the_published_shares():
    shares = [ampacity(gauge(4), bundled=n) / ampacity(gauge(4)) for n in (1, 2, 3, 5, 12)]
    assert shares == pytest.approx([1, 1, 0.7, 0.6, 0.5])
    with pytest.raises(ValueError, match="end at 24"):
        ampacity(gauge(4), bundled=25)


def test_no_size_is_named_where_no_table_reaches():
    assert math.isnan(ampacity(gauge(16)))
    assert all(math.isnan(ampacity(cable)) for cable in awg_cables() if cable.area < 2e-6)


# what was named for these before: 16 AWG for 116 A, and 14 AWG for 48 A
@pytest.mark.parametrize(
    ("current", "length", "drop", "least"), [(115.94, 0.5, 2.0, 0), (48.31, 0.5, 0.5, 6)]
)
def test_a_short_run_is_sized_by_heat(current, length, drop, least):
    plan = size_cable(current, length, drop)
    assert plan.decided_by == "heat"
    assert plan.label == f"{least} AWG"
    assert current <= plan.fuse <= plan.carries


def test_a_long_run_is_sized_by_drop():
    plan = size_cable(48.31, 5, 0.5)
    assert (plan.label, plan.decided_by) == ("4 AWG", "drop")
    assert plan.cable.drop(48.31, 5) <= 0.5


@pytest.mark.parametrize("cables", [awg_cables(), metric_cables()])
@pytest.mark.parametrize("length", [0.2, 1, 3, 8])
@pytest.mark.parametrize("fuse", [10, 25, 60, 100, 150, 200])
@pytest.mark.parametrize("rating", [20.0, 90.0, 600.0])
def test_nothing_under_the_heat_limit_is_ever_named(cables, length, fuse, rating):
    try:
        plan = size_cable(0.9 * fuse, length, 2.0, cables, fuse=fuse, rating=rating)
    except ValueError:
        return
    assert fuse <= plan.carries <= min(rating, ampacity(plan.cable))


def test_a_high_rating_typed_changes_nothing_and_a_low_one_does():
    typed = size_cable(48, 0.5, rating=5000.0)
    assert typed == size_cable(48, 0.5)
    with pytest.raises(ValueError, match="the most is 40 A"):
        size_cable(48, 0.5, rating=40)


def test_the_panel_names_no_thin_cable_whatever_is_typed():
    scene = explainer("cable_and_fuse")(power=1200, length=0.5, drop=2, fuse=200, rating=300)
    assert scene.title.startswith("3/0 AWG behind 200 A")
    short = explainer("cable_and_fuse")(power=500, length=0.5)
    assert "6 AWG" in short.readout[0] and "Heat decides" in short.readout[1]
    for shown in (scene, short):
        said = " ".join([shown.title, *shown.readout, shown.caption, shown.alt])
        said += " ".join(n.metric + n.imperial for n in shown.numbers)
        assert not re.search(r"\b1[0-9] AWG", said)


def test_a_fuse_that_opens_and_a_current_beyond_all_fuses_are_refused():
    with pytest.raises(ValueError, match=r"would open in use\. Take the next size, 50 A"):
        size_cable(48, 5, fuse=40)
    with pytest.raises(ValueError, match="above the largest fuse"):
        least_fuse(FUSES[-1] + 1)
    with pytest.raises(ValueError, match="separate cables"):
        size_cable(290, 5, fuse=300)


def test_a_place_as_hot_as_the_insulation_is_refused():
    with pytest.raises(ValueError, match="may carry nothing there"):
        ampacity(gauge(4), 60, 60)
    with pytest.warns(UnitWarning, match="insulation"):
        ampacity(gauge(4), 343, 30)


# NEC 2023, Table 310.16: 75 °C, at most three in a raceway, 30 °C around, A.
RACEWAY_75 = {14: 20, 12: 25, 10: 35, 8: 50, 6: 65, 4: 85, 2: 115, "1/0": 150, "4/0": 230}


@pytest.mark.parametrize(("size", "amps"), RACEWAY_75.items())
def test_closed_in_it_is_the_table_for_raceways(size, amps):
    assert ampacity(gauge(size), 75, 30, laid="closed in") == pytest.approx(amps)


def test_closed_in_a_metric_cable_loses_as_much_as_the_gauges_beside_it():
    share = ampacity(metric(25), laid="closed in") / ampacity(metric(25))
    assert 115 / 170 <= share <= 85 / 125  # 2 and 4 AWG
    with pytest.raises(ValueError, match="in free air or closed in"):
        ampacity(metric(25), laid="anyhow")


def test_a_size_read_between_two_in_the_table_says_so():
    assert tabled(gauge(4)) and tabled(gauge("1/0")) and tabled(metric(16))
    assert not tabled(gauge("3/0")) and not tabled(gauge(3))
    far = explainer("cable_and_fuse")(power=1200, length=0.5, drop=2, fuse=200)
    assert "3/0 AWG is not in the table; read between its neighbours there" in far.readout[2]
    near = explainer("cable_and_fuse")(power=500, length=0.5)
    assert "not in the table" not in " ".join(near.readout)


def test_the_readout_says_what_it_may_carry_under_a_carpet():
    four = explainer("cable_and_fuse")()
    assert "in free air (84 A); closed in, 57 A" in four.readout[2]
    under = explainer("cable_and_fuse")(laid="closed in")
    assert under.title.startswith("2 AWG behind 60 A")
    assert "closed in" in under.readout[2] and "free air" not in under.readout[2]


def test_a_fuse_that_opens_is_answered_with_the_next_one_and_its_cable():
    scene = explainer("cable_and_fuse")(power=1200, fuse=60)
    assert scene.title.startswith("0 AWG behind 125 A")
    assert "60 A would open in use" in scene.warnings[0] and "125 A" in scene.warnings[0]


def test_a_fuse_nobody_sells_becomes_the_next_one_on_sale():
    scene = explainer("cable_and_fuse")(fuse=65)
    assert "behind 70 A" in scene.title and "65 A is no usual size" in scene.warnings[0]


@pytest.mark.parametrize(
    ("settings", "way"),
    [
        ({"fuse": 250}, "Behind 50 A, the smallest fuse that holds, it is 4 AWG."),
        ({"power": 3000}, "On 2 cables, each with its own fuse of 150 A, it is 0 AWG."),
        ({"power": 4000, "length": 8, "drop": 0.1}, "licensed"),
        ({"ambient": 90, "insulation": 80}, "licensed"),
    ],
)
def test_where_nothing_holds_the_panel_says_what_would(settings, way):
    scene = explainer("cable_and_fuse")(**settings)
    assert scene.title.startswith("No cable listed holds")
    assert way in scene.readout[2]
    assert not any("AWG" in plot.title for plot in scene.plots)


def test_the_panel_answers_every_setting_and_never_names_less_than_the_heat_asks():
    item, rng = explainer("cable_and_fuse"), np.random.default_rng(7)
    for _ in range(150):
        state = {
            c.name: rng.choice(c.options)
            if isinstance(c, Choice)
            else c.low + c.step * rng.integers(0, round((c.high - c.low) / c.step) + 1)
            for c in item.controls
        }
        rows = {n.name: n.metric for n in item(**state).numbers}
        if "it may carry" in rows:
            full, fuse, carries = (
                float(rows[name].split()[0])
                for name in ("supply current at full power", "fuse", "it may carry")
            )
            assert full <= fuse + 0.05 and fuse <= carries + 0.5 and fuse in FUSES


def test_no_credit_is_given_above_the_hottest_table():
    assert ampacity(gauge(4), 150, 50) == ampacity(gauge(4), 105, 50)
    with pytest.raises(ValueError, match="what is credited here, 105 °C"):
        ampacity(gauge(4), 150, 110)


def test_the_old_place_of_the_name_gives_the_safe_answer():
    from boxlab.car import cable

    assert cable.size_cable is size_cable
    plan = cable.size_cable(115.94, 0.5, 2.0)
    assert plan.label == "0 AWG" and plan.drop(115.94, 0.5) == plan.cable.drop(115.94, 0.5)
    with pytest.raises(AttributeError, match="no attribute 'size_cables'"):
        _ = cable.size_cables
