"""What a learner is told to type is understood, and every source of a page has a name."""

import json
import re

import pytest
from said import ROOT

from boxlab.base.typed_values import in_unit, read

LESSONS = sorted((ROOT / "lessons").glob("*.ipynb"))
# "a thesis", "course notes": nobody can look these up
VAGUE = re.compile(
    r"\b(?:audio|public|flute|online) (?:glossar\w+|tables?|thesis|notes|course notes)\b|"
    r"\b(?:a|the) (?:\w+ )?thesis\b|\bconference paper\b|\bcourse notes\b|\bnotes page\b",
    re.IGNORECASE,
)


def prose(path):
    cells = json.loads(path.read_text(encoding="utf-8"))["cells"]
    return "\n".join("".join(c["source"]) for c in cells if c["cell_type"] == "markdown")


def test_the_examples_of_typed_numbers_are_understood():
    (page,) = (path for path in LESSONS if path.name.startswith("00"))
    (told,) = re.findall(r"with or without a unit: (.*?) are all understood", prose(page))
    examples = re.findall(r"`([^`]+)`", told)
    found = [read(each) for each in examples]
    assert len(found) == 5 and sum(bool(each.unit) for each in found) == 4
    assert in_unit("1 1/4 in", "mm") == pytest.approx((1.25 * 25.4,))
    assert "1 1/4 in" in examples


def test_no_source_is_without_a_name():
    paths = [*LESSONS, *(ROOT / "lessons").glob("*.md"), *(ROOT / "boxlab").rglob("*.py")]
    found = []
    for path in (*paths, *(ROOT / "tests" / "published").glob("*.*")):
        text = prose(path) if path.suffix == ".ipynb" else path.read_text(encoding="utf-8")
        text = re.sub(r"\s*\n[#\s]*", " ", text)
        found += [f"{path.name}: {m[0]}" for m in VAGUE.finditer(text)]
    assert not found
