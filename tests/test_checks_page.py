"""The page that says which result is checked by which route: whole, and true of the tests."""

import ast
import re
from functools import cache
from pathlib import Path

import pytest

from boxlab import public_names
from boxlab.model.response import Response
from boxlab.publish.formulas import PAGE as FORMULAS

ROOT = Path(__file__).resolve().parents[1]
PAGE = ROOT / "lessons" / "checks.md"
ROUTES = (
    "closed form", "matrix", "ngspice", "integration in time", "energy", "eigenvalues", "roots",
    "counting points", "modes", "differences", "another library", "quadrature", "plain loop",
)  # fmt: skip
NO_VALUE = "none found"


def rows():
    """(results, routes, published, tests) of each row of each table."""
    found = []
    for line in PAGE.read_text(encoding="utf-8").splitlines():
        cells = [cell.strip() for cell in line.strip().strip("|").split("|")]
        if line.startswith("|") and len(cells) == 4 and not set(cells[0]) <= set("-: "):
            found.append(cells)
    return [each for each in found if each[0] != "Result"]


@cache
def named_in(name):
    """The tests in a file of tests/, by name."""
    (path,) = (ROOT / "tests").rglob(f"{name}.py")
    return {n.name for n in ast.walk(ast.parse(path.read_text("utf-8")))
            if isinstance(n, ast.FunctionDef)}  # fmt: skip


def test_there_are_rows():
    assert len(rows()) > 25


@pytest.mark.parametrize("row", rows(), ids=lambda row: re.sub(r"\W+", " ", row[0])[:50])
def test_a_row_names_routes_values_and_tests_that_there_are(row):
    _, routes, published, tests = row
    assert any(route in routes for route in ROUTES), routes
    assert published == NO_VALUE or re.search(r"\b(19|20)\d\d\b|derived|from memory", published)
    named = re.findall(r"`(test_\w+)\.(test_\w+)`", tests)
    assert named and not re.sub(r"`test_\w+\.test_\w+`|[,; ]", "", tests), tests
    for file, test in named:
        assert test in named_in(file), f"{file}.{test}"


def test_every_answer_of_the_model_is_in_it():
    said = set(re.findall(r"`(\w+)`", " ".join(row[0] for row in rows())))
    names = {name for name, room in public_names() if room.startswith("boxlab.model")
             or room.startswith("model.")}  # fmt: skip
    names -= {"check_datasheet", "Response", "Ceiling"}  # words, and what others return
    answers = {n for n, f in vars(Response).items() if hasattr(f, "func") and not n.startswith("_")}
    assert answers and names
    assert said >= names | answers, sorted((names | answers) - said)
    assert said <= names | answers, sorted(said - names - answers)


def test_readers_are_led_to_it():
    for path in (FORMULAS, ROOT / "README.md"):
        assert "checks.md" in path.read_text(encoding="utf-8"), path.name
