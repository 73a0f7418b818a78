"""Sliders at their ends: what is said is about the box, and not about units nobody has typed."""

import itertools
import warnings

from boxlab.draw.scene import Choice
from boxlab.explainers import explainer


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
