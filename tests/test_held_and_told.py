"""Advice on a wrong number fits its kind of quantity; captions and readouts do not mislead."""

import pytest

from boxlab.explainers import explainer
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
