"""Moves every control of a panel through its range, and checks that the picture follows."""

from __future__ import annotations

import warnings

import numpy as np

from .scene import Choice


def driven(panel):
    """Yield (control, value, first words of the readout) at both ends of each control and back.

    Values go in through the real widgets. Every option of a choice is taken in turn.

    Raises
    ------
    AssertionError
        If a value does not land, or the curves on the figure are not those of the scene.
    Exception
        Whatever the explainer raised, other than a ValueError: that is an answer, in words.
    """
    panel.reset()
    for control in panel.explainer.controls:
        choice = isinstance(control, Choice)
        for value in (*(control.options if choice else (control.low, control.high)), control.start):
            panel.face.handles[control.name].value = value
            panel.flush()
            if panel.fault:
                raise panel.fault
            if panel.state[control.name] != value:
                raise AssertionError(f"{control.name} was set to {value!r} and did not land")
            if panel.refused:
                words = f"refused: {panel.refused}"
            else:
                check_picture(panel)
                words = panel.scene.readout[0]
            yield control.name, value, words
    panel.reset()
    if panel.state != panel.explainer.start:
        raise AssertionError("the panel did not come back to its starting state")


def check_picture(panel) -> None:
    """Raise AssertionError unless the curves on the figure are those the explainer gives."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", UserWarning)
        scene = panel.explainer(**panel.state)
    for drawn, plot in zip(panel.sheet.drawn, scene.plots, strict=True):
        shown = drawn.curves[: len(plot.lines)]
        for curve, line in zip(shown, plot.lines, strict=True):
            if line.kind == "fill":
                same = np.array_equal(curve.get_xy()[1 : len(line.x) + 1, 1], line.y, True)
            else:
                same = np.array_equal(curve.get_data(), (line.x, line.y), True)
            if not (same and curve.get_visible()):
                raise AssertionError(f"{plot.title}: the picture does not show {line.label!r}")
