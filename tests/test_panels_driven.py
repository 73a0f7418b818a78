"""Every panel, moved from outside as a page moves it: each control to its ends and back.

What its readout says there is kept in `panel_ends.txt`; after a change that is meant to alter it,
run this file: .venv/bin/python tests/test_panels_driven.py
"""

from pathlib import Path

import pytest

from boxlab.explainers import all_explainers
from boxlab.panel.live_panel import Panel
from boxlab.panel.self_drive import drive_text, driven

KEPT = Path(__file__).with_name("panel_ends.txt")


def said(item):
    """A line for each control: what the panel says at both ends. Raises if anything goes wrong."""
    return drive_text(item, list(driven(Panel(item)))) + "\n"


def kept():
    parts = KEPT.read_text(encoding="utf-8").split("\n\n")
    return {part.partition("\n")[0]: part.rstrip("\n") + "\n" for part in parts}


@pytest.mark.parametrize("item", all_explainers(), ids=lambda item: item.name)
def test_every_control_reaches_its_ends_and_the_picture_follows(item):
    now = said(item)
    assert now == kept()[now.partition("\n")[0]]


def test_nothing_is_kept_of_a_question_that_is_gone():
    asked = {f"Every control at its ends: {item.question}" for item in all_explainers()}
    assert set(kept()) == asked


if __name__ == "__main__":
    KEPT.write_text("\n".join(map(said, all_explainers())), encoding="utf-8")
