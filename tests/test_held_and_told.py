"""A held curve stays with its own axes; advice on a wrong number fits its kind of quantity."""

import numpy as np
import pytest

from boxlab.draw.raster import Sheet
from boxlab.draw.scene import Line, Plot, Scene
from boxlab.explainers import explainer
from boxlab.quiz.answers import judge


def scene(ylabel, value):
    x = np.linspace(10, 200, 50)
    plots = tuple(
        Plot("top" if i == 0 else "lower", "frequency, Hz", label, (10, 200), (0, 100),
             (Line(x, np.full(50, v), "cone", "a"),))
        for i, (label, v) in enumerate((("level, dB", 50.0), (ylabel, value)))
    )  # fmt: skip
    return Scene("t", plots, ("r",), (), "c", "alt", "code", columns=1)


def drawn(live, held):
    sheet = Sheet()
    sheet.hold(held)
    return sheet.render(live)


def test_held_millimetres_are_not_drawn_among_ohms():
    ohms, other = scene("impedance, Ω", 30.0), scene("travel, mm", 70.0)
    alone, mixed = drawn(ohms, None), drawn(ohms, other)
    half = alone.shape[0] // 2
    assert np.array_equal(alone[half:], mixed[half:])  # the lower plot shows nothing of the other
    same = drawn(ohms, scene("impedance, Ω", 70.0))
    assert not np.array_equal(alone[half:], same[half:])


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
