"""A page shows one plot at a time, others on buttons: no words there speak of another layout."""

import json
import re
from pathlib import Path

import pytest

from boxlab.draw.stage.state import Pool
from boxlab.draw.stage.state import state as made
from boxlab.explainers import all_explainers, explainer

LESSONS = sorted((Path(__file__).resolve().parents[1] / "lessons").glob("*.ipynb"))
LAYOUT = re.compile(
    r"\b(upper|lower) (left|right|row|two|plots?)\b|\bboth halves\b|\bon the (left|right)\b"
    r"|\b(two|four|all) plots in mind\b|(^|[.;:] |Figure: )(left|right)( plot)?[:,]"
    r"|(^|[.;:] |Figure: )(above|below)(,|: )",
    re.IGNORECASE,
)
PANEL = re.compile(r"Panel\(")


def spoken(text):
    """The words of a layout in a text, with what stands round each."""
    text = re.sub(r"[\s*]+", " ", text)
    return [text[max(0, m.start() - 30) : m.end() + 30] for m in LAYOUT.finditer(text)]


@pytest.mark.parametrize("item", all_explainers(), ids=lambda item: item.name)
def test_a_panel_speaks_of_plots_as_it_shows_them(item):
    told = [text for control in item.controls for text in (control.label, control.help)]
    for preset in ({}, *item.presets.values()):
        live = made(item(**preset), Pool(), [])
        told += [live["h"], *live["r"], live["cap"], live["alt"], *live.get("w", ())]
    assert [found for text in told for found in spoken(text or "")] == []


@pytest.mark.parametrize("path", LESSONS, ids=lambda path: path.stem)
def test_a_lesson_speaks_of_plots_as_its_panels_show_them(path):
    cells = [
        (cell["cell_type"], "".join(cell["source"]))
        for cell in json.loads(path.read_text(encoding="utf-8"))["cells"]
    ]
    found = []
    for (kind, text), (_, before) in zip(cells[1:], cells, strict=False):
        still = text.startswith("*Figure") and not PANEL.search(before)  # of a picture that stays
        if kind == "markdown" and not still:
            found += spoken(text)
    assert found == []


def test_the_first_experiment_opens_on_the_curve_that_is_asked_about():
    first = explainer("first_experiment")().plots[0]
    assert [line.role for line in first.lines] == ["cone", "vent"]
    text = "".join("".join(c["source"]) for c in json.loads(LESSONS[0].read_text())["cells"])
    assert "Watch the blue curve" in re.sub(r"\s+", " ", text)
