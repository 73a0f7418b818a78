"""Sliders at their ends: what is said is about the box, and not about units nobody has typed."""

import itertools
import random
import warnings

import pytest

from boxlab.draw.scene import Choice
from boxlab.explainers import all_explainers, explainer

CORNERS = 40  # of each explainer beside those of one control; the same ones each time


def ends(control):
    return control.options if isinstance(control, Choice) else (control.low, control.high)


def said(item, state):
    """Warnings and readout, or why it cannot be built."""
    with warnings.catch_warnings(record=True) as caught:
        warnings.simplefilter("always")
        try:
            scene = item(**state)
        except ValueError as refusal:
            return [str(refusal)]
    return [*scene.warnings, *scene.readout, *(str(each.message) for each in caught)]


def talks_of_units(words):
    return "is implausible" in words or "boxlab." in words


@pytest.mark.parametrize("item", all_explainers(), ids=lambda item: item.name)
def test_no_corner_talks_of_units(item):
    alone = [{control.name: end} for control in item.controls for end in ends(control)]
    dice = random.Random(item.name)
    corners = [
        {control.name: dice.choice(ends(control)) for control in item.controls}
        for _ in range(CORNERS)
    ]
    for state in (*alone, *corners, *map(dict, item.presets.values())):
        for words in said(item, state):
            assert not talks_of_units(words), (state, words)


def test_two_of_three_at_their_ends():
    """Boxes on paper of any size: a word about the size, and nothing about litres and grams."""
    item = explainer("pick_two")
    sliders = [control for control in item.controls if not isinstance(control, Choice)]
    values = itertools.product(*((c.low, c.start, c.high) for c in sliders))
    far = 0
    for left, corner in itertools.product(item.controls[0].options, list(values)):
        state = {"left": left} | dict(zip([c.name for c in sliders], corner, strict=True))
        words = said(item, state)
        assert not any(map(talks_of_units, words)), state
        far += any("off the end of what a bass box is" in each for each in words)
    assert far > 10
    assert not any("off the end" in each for each in said(item, {}))
