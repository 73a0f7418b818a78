"""Public functions of the physics floors: type hints, every parameter named, and an example."""

import ast
import re
from pathlib import Path

import pytest

HOUSE = Path(__file__).resolve().parents[1] / "boxlab"
FLOORS = ("model", "measure", "car", "sound", "design")


def functions(floor):
    """(place, node) of each public function of a floor."""
    for path in sorted((HOUSE / floor).rglob("*.py")):
        for node in ast.parse(path.read_text(encoding="utf-8")).body:
            if isinstance(node, ast.FunctionDef) and not node.name.startswith("_"):
                yield f"{path.relative_to(HOUSE).as_posix()} {node.name}", node


def lacking(node):
    """What a function lacks of "hints", "parameters" and "example"."""
    doc = ast.get_docstring(node) or ""
    a = node.args
    takes = [*a.posonlyargs, *a.args, *a.kwonlyargs, *filter(None, (a.vararg, a.kwarg))]
    if not node.returns or not all(each.annotation for each in takes):
        yield "hints"
    told = [each.arg for each in takes if each.arg != "air"]  # what air is, every reader knows
    if not all(re.search(rf"\b{name}\b", doc) for name in told):
        yield "parameters"
    if ">>> " not in doc:
        yield "example"


@pytest.mark.parametrize("floor", FLOORS)
def test_every_public_function_is_documented(floor):
    assert [f"{what}: {place}" for place, node in functions(floor) for what in lacking(node)] == []


def test_a_bare_function_would_be_seen():
    bare = ast.parse("def f(x, air=None):\n    '''Nothing of note.'''").body[0]
    assert list(lacking(bare)) == ["hints", "parameters", "example"]
    good = "def f(x: float) -> float:\n    '''Twice `x`.\n\n    >>> f(1)\n    2\n    '''"
    assert list(lacking(ast.parse(good).body[0])) == []
