"""The house stands on floors: imports lead downward only, and nothing lies between the floors."""

import ast
from functools import cache
from itertools import pairwise
from pathlib import Path

HOUSE = Path(__file__).resolve().parents[1] / "boxlab"
FLOORS = (  # from the ground up
    "base", "model", "measure", "sound", "car", "design", "gear", "draw", "explainers", "panel",
    "quiz", "publish",
)  # fmt: skip
FRONT_DOOR = {"__init__.py", "__main__.py", "start.py"}
FILES = sorted(HOUSE.rglob("*.py"))


def place(path):
    return path.relative_to(HOUSE).as_posix()


def floor_of(path):
    """0 for the ground floor; one above all floors for the front door."""
    first = path.relative_to(HOUSE).parts[0]
    return FLOORS.index(first) if first in FLOORS else len(FLOORS)


def imported(source):
    """Every module of ours that a text imports, at its top or inside a function."""
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Import):
            yield from (name.name for name in node.names if name.name.startswith("boxlab."))
        elif isinstance(node, ast.ImportFrom) and (node.module or "").split(".")[0] == "boxlab":
            for name in node.names:
                yield f"{node.module}.{name.name}"


def upward(source, floor):
    """Imports of a text on `floor` that lead to a floor above it."""
    for name in imported(source):
        first = name.split(".")[1]
        if first in FLOORS and FLOORS.index(first) > floor:
            yield name


def test_the_top_holds_the_front_door_and_the_floors():
    top = {path.name for path in HOUSE.iterdir() if path.name != "__pycache__"}
    assert top == FRONT_DOOR | set(FLOORS)


def test_imports_lead_downward_only():
    found = {
        place(path): list(upward(path.read_text(encoding="utf-8"), floor_of(path)))
        for path in FILES
    }
    assert len(found) > 300
    assert {path: wrong for path, wrong in found.items() if wrong} == {}


def test_an_upward_import_would_be_seen():
    for source in (
        "from boxlab.panel import share_text",
        "def f():\n    import boxlab.panel.live_panel",
        "from boxlab import panel",
    ):
        assert list(upward(source, FLOORS.index("model")))
    assert list(upward("from boxlab.base import units", FLOORS.index("model"))) == []


@cache
def modules():
    names = {place(path).removesuffix(".py").replace("/", "."): path for path in FILES}
    return {name.removesuffix(".__init__"): path for name, path in names.items()}


def at_the_top(path):
    """Modules that are imported as soon as this one is: a circle of these cannot be loaded."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    bare = [node for node in tree.body if isinstance(node, ast.Import | ast.ImportFrom)]
    text = "\n".join(ast.unparse(node) for node in bare)
    known = modules()
    for name in imported(text):
        inner = name.split(".", 1)[1]
        while inner and inner not in known:
            inner = inner.rpartition(".")[0]
        if inner:
            yield inner


def test_no_imports_go_in_a_circle():
    known = modules()
    needs = {name: set(at_the_top(path)) - {name} for name, path in known.items()}
    # a package's own first page may look into its rooms, and they at it, as Python allows
    done, left = set(), dict(needs)
    while left:
        free = [name for name, wants in left.items() if wants <= done]
        if not free:
            break
        done.update(free)
        for name in free:
            del left[name]
    packages = {name for name in left if known[name].name == "__init__.py"}
    circle = {name: wants - done for name, wants in left.items() if not wants & packages}
    assert not {n: w for n, w in circle.items() if w <= set(circle)}


def test_no_two_rooms_differ_by_an_ending_only():
    names = sorted({path.stem.lstrip("_") for path in FILES if "explainers" not in path.parts})
    for one, other in pairwise(names):
        assert not (other.startswith(one) and other[len(one) :] in ("s", "ed", "er", "ing")), (
            one,
            other,
        )
