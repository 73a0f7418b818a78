"""What stands beside a ±, held to the count of how often twice the ± held the true value."""

import json
from pathlib import Path

import coverage_table
import numpy as np
import pytest
from troubled_sweeps import TROUBLES, specimen

from boxlab.measure import find_tuning
from boxlab.measure.fit.doubts import PLUS_MINUS

LESSON = Path(__file__).resolve().parents[1] / "lessons" / "05-reading-a-sweep.ipynb"
NAMED = {"creep": "creeps", "bump": "bump", "leak": "leaks"}  # all: each of them


@pytest.fixture(scope="module")
def rows():
    return coverage_table.kept()[1]


def test_all_troubles_were_tried_on_enough_sweeps(rows):
    assert {row[1] for row in rows} == set(TROUBLES)
    assert {row[0].split()[0] for row in rows} == {"tuning", "driver", "box"}
    seeds = sum(max(row[-1] for row in rows if row[1] == trouble) for trouble in TROUBLES)
    assert 8 * seeds >= 300  # four sweeps of either build


def test_without_troubles_twice_the_doubt_holds_19_times_in_20(rows):
    """Within what so many can tell: two standard errors, the values of a specimen as one."""
    for kind in ("tuning", "driver", "box"):
        part = [row for row in rows if row[1] == "none" and row[0].startswith(kind)]
        held = np.average([row[3] for row in part], weights=[row[-1] for row in part])
        assert held >= 95 - 200 * np.sqrt(0.95 * 0.05 / (2 * max(row[-1] for row in part))), kind


def test_what_is_held_less_often_than_nine_times_in_ten_is_named_beside_it(rows):
    poor = {row[1] for row in rows if row[3] < 90} - {"none"}
    for trouble in poor - {"all"}:
        assert NAMED[trouble] in PLUS_MINUS, trouble
    assert min(row[3] for row in rows) < 50 and "more often than not" in PLUS_MINUS


def test_every_answer_with_a_doubt_carries_the_words():
    """Seen red: nothing beside a ± said that creep, a bump and a leaking test box are not in it."""
    made = specimen(5, "none")
    driver = coverage_table.driver_of(made, "mass")
    box = coverage_table.box_of(made, driver)
    for found in (driver, box):
        assert PLUS_MINUS in found.words and found.markdown().rstrip().endswith(PLUS_MINUS)
    for name in ("free", "box"):
        assert PLUS_MINUS in find_tuning(coverage_table.as_sweep(made, name)).words


def test_the_lesson_shows_the_table_as_it_was_counted():
    text = "".join(
        "".join(cell["source"]) + "\n"
        for cell in json.loads(LESSON.read_text(encoding="utf-8"))["cells"]
    )
    assert coverage_table.in_short() in text
    seeds = coverage_table.kept()[0].split("seeds ")[1].split(":")[0]
    assert f"seeds {seeds}" in text
