"""Pictures in grey, as on a cheap print: curves are still told apart by shade, dash or sign."""

import itertools

import numpy as np
import pytest
from made_up import MADE_UP

from boxlab.draw import figures, plots
from boxlab.draw.palette import COLOURS, lightness
from boxlab.draw.scene import Choice, Line, Plot
from boxlab.explainers import all_explainers

F = np.geomspace(10, 200, 50)


def states(item):
    """The starting state, and each option of each choice."""
    yield {}
    for control in item.controls:
        if isinstance(control, Choice):
            yield from ({control.name: option} for option in control.options)


def twins(plot):
    """Pairs of the key that nothing but colour tells apart, signs counted."""
    signs = plots.signs(plot)
    for one, other in itertools.combinations(dict.fromkeys(plots.entries(plot)), 2):
        if plots.alike(one, other) and signs.get(one[1:]) == signs.get(other[1:]):
            yield one, other


def plot_of(*lines):
    return Plot("a", "b", "c", (10, 200), (0, 1), lines)


@pytest.mark.parametrize("item", all_explainers(), ids=lambda item: item.name)
def test_every_curve_of_an_explainer_is_told_apart_in_grey(item):
    for state in states(item):
        try:
            scene = item(**state)
        except ValueError:
            continue
        for plot in scene.plots:
            assert list(twins(plot)) == [], (state, plot.title)


def test_two_curves_of_one_look_would_be_found():
    lines = Line(F, F, "cone", "one"), Line(F, F, "cone", "other")
    assert len(list(twins(plot_of(*lines)))) == 1


def test_roles_of_one_shade_get_different_signs():
    plot = plot_of(*(Line(F, F, role, role) for role in COLOURS))
    assert list(twins(plot)) == []
    assert plots.signs(plot_of(Line(F, F, "cone", "c"), Line(F, F, "vent", "v"))) == {}
    dashed = plot_of(Line(F, F, "cone", "c", "ported"), Line(F, F, "limit", "l", "sealed"))
    assert plots.signs(dashed) == {}


def test_signs_are_drawn_on_the_curve_and_in_the_key():
    plot = plot_of(Line(F, F / 200, "cone", "cone"), Line(F, F / 300, "limit", "heat"))
    figure = figures.draw(plots_only(plot))
    curves = [line.get_marker() for line in figure.axes[0].lines]
    keys = [line.get_marker() for line in figure.axes[0].get_legend().get_lines()]
    assert curves == keys == ["o", "s"]


def plots_only(*some):
    from dataclasses import replace

    return replace(MADE_UP(), plots=some)


def test_lightness_is_that_of_the_grey_scale():
    # CIE 15: L* of 18 % reflectance is 49.5; sRGB 118 is close to it (IEC 61966-2-1), from memory
    assert lightness("#767676") == pytest.approx(49.6, abs=0.3)
    assert lightness("#000000") == 0
