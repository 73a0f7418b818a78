"""Every explainer at the ends of its sliders, and its panel moved there as a page moves it.

Explainers are found, not listed, so a new one is tried here without being named. What the readout
of a panel says at each end is kept in `panel_ends.txt`; after a change that is meant to alter it,
run this file: .venv/bin/python tests/test_panels_driven.py
"""

import itertools
import os
import random
import re
import warnings
from pathlib import Path

import numpy as np
import pytest
from remembering import remembering

from boxlab.base.checks import UnitWarning
from boxlab.draw.scene import Choice, Scene
from boxlab.explainers import all_explainers
from boxlab.panel.live_panel import Panel
from boxlab.panel.self_drive import drive_text, driven

KEPT = Path(__file__).with_name("panel_ends.txt")
# of the space of all sliders, for each explainer beside those of one control; always the same
CORNERS = int(os.environ.get("BOXLAB_CORNERS", "16"))

# How Python and numpy speak when something went wrong unforeseen.
INTERNAL = re.compile(
    r"broadcast|operand|cannot convert|NoneType|truth value|math domain|zero-size"
)
NOT_FINITE = re.compile(r"(?<!\w)(nan|inf)(?!\w)")


def ends(control):
    """The settings to try: both ends of a slider, each option of a choice."""
    return control.options if isinstance(control, Choice) else (control.low, control.high)


def edge_states(explainer):
    """Each control at each end with the rest at its start, then corners of the whole space."""
    for control in explainer.controls:
        for value in ends(control):
            yield {control.name: value}
    yield from map(dict, explainer.presets.values())
    names = [control.name for control in explainer.controls]
    for pick in (0, -1):
        yield {control.name: ends(control)[pick] for control in explainer.controls}
    dice = random.Random(explainer.name)
    for _ in range(CORNERS):
        yield {
            name: dice.choice(ends(c)) for name, c in zip(names, explainer.controls, strict=True)
        }


def words(scene):
    """All text that a person reads."""
    numbers = ((n.name, n.metric, n.imperial) for n in scene.numbers)
    marks = (mark.label for plot in scene.plots for mark in plot.marks)
    lines = (line.label for plot in scene.plots for line in plot.lines)
    plain = (scene.title, scene.caption, scene.alt, *scene.readout, *scene.warnings)
    return (*plain, *itertools.chain.from_iterable(numbers), *marks, *lines)


def faults(scene):
    """What is not finite, or not sane, in a scene."""
    for text in words(scene):
        if NOT_FINITE.search(text):
            yield f"says {text!r}"
    for plot in scene.plots:
        for low, high in (plot.xlim, plot.ylim):
            if not (np.isfinite([low, high]).all() and low != high):
                yield f"{plot.title}: limits {low} to {high}"
        for scale, (low, _) in ((plot.xscale, plot.xlim), (plot.yscale, plot.ylim)):
            if scale == "log" and low <= 0:
                yield f"{plot.title}: a log axis from {low}"
        for mark in plot.marks:
            if not np.isfinite(mark.at):
                yield f"{plot.title}: mark {mark.label!r} at {mark.at}"
        for line in plot.lines:
            x, y = np.asarray(line.x, float), np.asarray(line.y, float)
            if x.shape != y.shape:
                yield f"{plot.title}: line {line.label!r} has {x.shape} x, {y.shape} y"
            # NaN lifts the pen; infinity has no place on any plot
            elif np.isinf(x).any() or np.isinf(y).any():
                yield f"{plot.title}: line {line.label!r} is infinite"


def talks_of_units(words):
    return "is implausible" in words or "boxlab." in words


def test_ends_of_every_slider_are_finite_sane_and_talk_of_no_units(item):
    """What is said at a corner is about the box, and not about units that nobody has typed."""
    answered = 0
    for state in edge_states(item):
        with warnings.catch_warnings(record=True) as caught:
            warnings.simplefilter("always")
            try:
                scene = item(**state)
            except ValueError as refusal:
                scene, said = None, [str(refusal)]
                assert len(said[0]) > 40 and not INTERNAL.search(said[0]), (state, said)
        assert all(issubclass(each.category, UnitWarning) for each in caught), (state, caught)
        if scene is not None:
            answered += 1
            assert isinstance(scene, Scene)
            wrong = list(faults(scene))
            assert not wrong, f"{state}: {wrong}"
            compile(scene.code, item.name, "exec")
            said = [*scene.warnings, *scene.readout]
        for words in (*said, *(str(each.message) for each in caught)):
            assert not talks_of_units(words), (state, words)
    assert answered > len(item.controls), "nearly all of its ends are refused"


@pytest.fixture(scope="module", params=all_explainers(), ids=lambda item: item.name)
def item(request):
    """One explainer after the other, with all tests of it, so that they share its states."""
    return remembering(request.param)


def said(item):
    """A line for each control: what the panel says at both ends. Raises if anything goes wrong."""
    return drive_text(item, list(driven(Panel(item)))) + "\n"


def kept():
    parts = KEPT.read_text(encoding="utf-8").split("\n\n")
    return {part.partition("\n")[0]: part.rstrip("\n") + "\n" for part in parts}


def test_every_control_reaches_its_ends_and_the_picture_follows(item):
    now = said(item)
    assert now == kept()[now.partition("\n")[0]]


def test_nothing_is_kept_of_a_question_that_is_gone():
    asked = {f"Every control at its ends: {item.question}" for item in all_explainers()}
    assert set(kept()) == asked


if __name__ == "__main__":
    KEPT.write_text("\n".join(map(said, all_explainers())), encoding="utf-8")
