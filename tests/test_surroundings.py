"""Cutaways where a box, a cabin, a wall or a cable is meant, and that they are to scale."""

from __future__ import annotations

import numpy as np
import pytest

from boxlab.base.units import disc_area, mm
from boxlab.draw.cutaway import beside
from boxlab.draw.surroundings import cabin_cut, cable_cut, wall_cut
from boxlab.explainers import all_explainers, explainer
from boxlab.explainers._cuts import cut
from boxlab.gear.demo_boxes import SHELF

# What has none: no box of anybody's is meant, or the picture itself is the drawing to scale.
WITHOUT = {
    "ceiling_of_k": "thousands of boxes on paper",
    "pick_two": "no driver is meant, so no size of a cone",
    "weights_for_a_tuning": "the size of the box is not asked for",
    "does_it_go_in": "its first two plots are the drawing",
    "gap_to_volume": "its first two plots are the drawing",
    "how_long_is_allowed": "a level, whatever makes it",
    "what_dba_hides": "a level, whatever makes it",
    "what_a_small_speaker_loses": "a speaker without a box",
    "unequal_inputs": "an impedance, of whatever",
}


def size(shape):
    return np.ptp(np.asarray(shape.points), axis=0)


@pytest.mark.parametrize("item", all_explainers(), ids=lambda item: item.name)
def test_a_cutaway_stands_wherever_a_thing_is_meant(item):
    assert (item().cutaway is None) == (item.name in WITHOUT)


def test_a_cabin_is_to_scale_with_box_and_head_where_they_are():
    frame, air, box, head = cabin_cut(2.6, 1.15, 0.95, 0.45).shapes
    assert size(air) == pytest.approx([2600, 1150])
    assert size(frame)[0] > 2600
    assert np.asarray(head.points).mean(axis=0)[0] == pytest.approx(0.45 * 2600, abs=5)
    right = np.asarray(box.points).max(axis=0)[0]
    assert 0 < right <= 2600 and right == pytest.approx(0.95 * (2600 - 350) + 350)


@pytest.mark.parametrize(("count", "walls"), [(1, 1), (2, 2), (3, 2)])
def test_a_box_stands_as_far_from_the_walls_as_is_said(count, walls):
    *drawn, box = wall_cut(count, 0.5).shapes
    assert len(drawn) == walls
    assert np.asarray(box.points).mean(axis=0) == pytest.approx([500, 500])
    assert all(np.asarray(each.points).min() < 0 for each in drawn)


def test_a_cable_is_as_thick_as_its_copper():
    (disc,) = cable_cut(("4 AWG", disc_area(mm(5.2)))).shapes
    assert size(disc) == pytest.approx([5.2, 5.2], rel=0.01)


def test_boxes_side_by_side_bear_their_names_under_them():
    boxes = [SHELF[name].contender(name) for name in ("small sealed", "small radiator")]
    cuts = [cut(each.driver, each.box, 40) for each in boxes]
    both = beside(*cuts, names=("one", "other"))
    (left, one), (right, other) = both.names
    assert (one, other) == ("one", "other")
    assert both.limits[0] < left < right < both.limits[1]
    assert beside(*cuts).names == ()


def test_two_small_boxes_and_one_are_three():
    assert [name for _, name in explainer("one_or_two")().cutaway.names] == [
        "one of two", "the other", "one box",
    ]  # fmt: skip
