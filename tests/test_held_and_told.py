"""Advice on a wrong number fits its kind of quantity; captions and readouts do not mislead."""

import numpy as np
import pytest
from test_own_gear import TWELVE

from boxlab.explainers import explainer
from boxlab.explainers._own import with_job
from boxlab.explainers.recoil import MOUNTINGS
from boxlab.gear.job import read_job
from boxlab.quiz.answers import judge


@pytest.mark.parametrize(
    ("unit", "never"),
    [("oz", ("diameter", "radius", "peak")), ("", ("diameter", "peak")), ("Hz", ("diameter",))],
)
def test_twice_too_large_is_explained_by_the_kind_of_quantity(unit, never):
    said = judge("20", 10.0, unit).message
    assert "twice too large" in said
    assert not any(word in said for word in never)


def test_twice_a_length_may_be_a_diameter():
    assert "diameter" in judge("20", 10.0, "mm").message


@pytest.mark.parametrize("mounting", ["one, beside the cone", "two, on opposite faces"])
def test_recoil_does_not_contradict_the_opposed_pair(mounting):
    said = " ".join(explainer("recoil")(mounting=mounting).readout)
    assert "two on opposite faces cancel each other" in said
    assert "neither face lets" not in said


def test_no_caption_says_colour_of_a_black_line():
    for name in ("ten_or_twelve", "one_or_two", "small_or_large"):
        item = explainer(name)()
        assert "in colour" not in item.caption + item.alt


@pytest.mark.parametrize("mounting", list(MOUNTINGS))
def test_the_box_in_the_cutaway_is_shaken_with_the_force_that_is_said(mounting):
    """Mass times acceleration of the box that is drawn is the recoil, worked out another way."""
    scene = explainer("recoil")(mounting=mounting, weight=15)
    body = scene.cutaway.swings[-1]
    omega = 2 * np.pi * scene.cutaway.tone
    force = 15 * omega**2 * 1e-3 * np.hypot(body.dx, body.dy)
    told = next(row.metric for row in scene.numbers if row.name == "together at the tuning")
    assert force == pytest.approx(float(told.split()[0]), abs=0.6)
    fixed = [shape for shape in scene.cutaway.shapes if shape.role in ("wood", "air")]
    assert {shape.moves for shape in fixed} == {len(scene.cutaway.swings) - 1}
    assert "The box itself, free to move" in scene.cutaway.words


@pytest.mark.parametrize(
    "name", ["first_experiment", "radiator_stop", "what_heat_takes", "how_long_at_this_box"]
)
def test_captions_of_an_eight_inch_and_of_ones_own_driver_are_english(name, tmp_path):
    item = explainer(name)
    size = next(each.name for each in item.controls if "eight-inch" in getattr(each, "options", ()))
    assert "An eight-inch driver" in item(**{size: "eight-inch"}).caption
    path = tmp_path / "own.job.toml"
    path.write_text(TWELVE, encoding="utf-8")
    assert with_job(item, read_job(path))().caption.startswith("Your driver")
