"""A stick for laptops with no network, and laptops that start afresh."""

import json
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

from boxlab import start
from boxlab.__main__ import main
from boxlab.publish.workshop import afresh, bundle
from boxlab.quiz.handing_in import SHELF


def wheel(folder, name, version="1.0", *requires):
    """A made-up wheel with these requirements."""
    lines = ["Metadata-Version: 2.1", f"Name: {name}", f"Version: {version}"]
    lines += [f"Requires-Dist: {need}" for need in requires]
    folder.mkdir(parents=True, exist_ok=True)
    with zipfile.ZipFile(folder / f"{name}-{version}-py3-none-any.whl", "w") as archive:
        archive.writestr(f"{name}-{version}.dist-info/METADATA", "\n".join(lines))


SHELVES = {
    "main": ("2.0", "helper>=1", 'win-part; sys_platform == "win32"',
             'tests-only; extra == "test"', 'old-part; python_version < "3.12"'),
    "helper": ("1.5", 'mac_part; platform_system == "Darwin"'),
    "win_part": ("1.0", "deeper"), "deeper": ("1.0",), "mac_part": ("1.0",), "old_part": ("1.0",),
}  # fmt: skip


def shelf(requirements, system, python, wheels):
    """As pip would on Linux: what is asked for, without what is for another system only."""
    for need in requirements:
        name = need.split(">")[0].replace("-", "_")
        if name not in SHELVES:
            raise OSError(f"no wheel for {need}")
        wheel(wheels, name, *SHELVES[name])


@pytest.fixture
def small(tmp_path, monkeypatch):
    """A small project in place of the whole."""
    root = tmp_path / "project"
    (root / "lessons").mkdir(parents=True)
    (root / "boxlab" / "__pycache__").mkdir(parents=True)
    (root / "boxlab" / "__pycache__" / "x.pyc").write_bytes(b"x")
    (root / "boxlab" / "start.py").write_text("print(1)\n")
    book = {"cells": [], "metadata": {SHELF: {"results": {}}, "k": 1}, "nbformat": 4}
    (root / "lessons" / "01.ipynb").write_text(json.dumps(book))
    (root / "lessons" / "results-abc.json").write_text("{}")
    (root / "pyproject.toml").write_text("x")
    monkeypatch.setattr(bundle, "ROOT", root)
    monkeypatch.setattr(bundle, "TOP", ("boxlab", "lessons", "pyproject.toml"))
    monkeypatch.setattr(bundle, "needs", lambda: ["main>=1"])
    return root


@pytest.mark.parametrize(
    ("system", "python", "more"),
    [("linux", "3.12", set()), ("windows", "3.12", {"win_part", "deeper"}),
     ("macos", "3.11", {"mac_part", "old_part"})],
)  # fmt: skip
def test_what_another_machine_needs_besides_is_fetched_too(small, tmp_path, system, python, more):
    left = bundle.write(tmp_path / "stick", [system], [python], fetch=shelf)
    assert left == []
    wheels = tmp_path / "stick" / "boxlab" / "wheels"
    assert {p.name.split("-")[0] for p in wheels.glob("*.whl")} == {"main", "helper"} | more
    assert (wheels / "for.txt").read_text() == f"{system} {python}\n"
    assert f"{system} with Python {python}" in (tmp_path / "stick/read-me-first.html").read_text()


def test_a_stick_holds_nobodys_record_and_nothing_of_tools(small, tmp_path):
    bundle.write(tmp_path / "stick", fetch=shelf)
    bundle.write(tmp_path / "stick", fetch=shelf)  # again, over an older one
    names = {p.relative_to(tmp_path / "stick").as_posix() for p in (tmp_path / "stick").rglob("*")}
    assert "boxlab/lessons/01.ipynb" in names
    assert not [name for name in names if "results-" in name or "pycache" in name]
    book = json.loads((tmp_path / "stick" / "boxlab" / "lessons" / "01.ipynb").read_text())
    assert book["metadata"] == {"k": 1}


def test_what_cannot_be_had_is_named_and_bad_orders_are_refused(small, tmp_path, monkeypatch):
    monkeypatch.setattr(bundle, "needs", lambda: ["main>=1", "nowhere"])
    (said,) = bundle.write(tmp_path / "stick", ["linux"], ["3.12"], fetch=shelf)
    assert "linux, Python 3.12" in said and "nowhere" in said
    with pytest.raises(ValueError, match="expected one or more of windows, macos, linux"):
        bundle.write(tmp_path / "b", ["beos"], fetch=shelf)
    with pytest.raises(ValueError, match="lies in the project"):
        bundle.write(small / "stick", fetch=shelf)
    (tmp_path / "full").mkdir()
    (tmp_path / "full" / "mine.txt").write_text("x")
    with pytest.raises(ValueError, match="it holds other things"):
        bundle.write(tmp_path / "full", fetch=shelf)


def test_the_whole_project_is_taken():
    found = bundle.project()
    assert {"boxlab/start.py", "pyproject.toml", "README.md", "lessons/00-start-here.ipynb",
            "boxlab/draw/stage/stage.js"} <= set(found)  # fmt: skip
    assert not [name for name in found if name.startswith((".", "tests"))]


def test_a_laptop_installs_from_its_wheels(tmp_path, monkeypatch):
    monkeypatch.setattr(start, "WHEELS", tmp_path / "wheels")
    assert start.without_network((3, 12)) == ([], "")
    (tmp_path / "wheels").mkdir()
    kind = {"win32": "windows", "darwin": "macos"}.get(sys.platform, "linux")
    (tmp_path / "wheels" / "for.txt").write_text(f"{kind} 3.12\n{kind} 3.13\nother 3.14\n")
    options, problem = start.without_network((3, 12))
    assert options == ["--no-index", "--find-links", str(tmp_path / "wheels")] and not problem
    _, problem = start.without_network((3, 14))
    assert "for Python 3.12, 3.13; this is 3.14" in problem and "3.12 boxlab/start.py" in problem
    (tmp_path / "wheels" / "for.txt").write_text("other 3.14\n")
    assert "for other" in start.without_network((3, 14))[1]


@pytest.fixture
def used(tmp_path):
    """A laptop that came from a stick and was used in a class."""
    root, own = tmp_path / "laptop", tmp_path / "home" / "boxlab"
    (root / "wheels").mkdir(parents=True)
    (root / "lessons").mkdir()
    came = {"lessons/01.ipynb": b"as it came", "lessons/02.ipynb": b"two"}
    (root / "wheels" / "lessons.zip").write_bytes(bundle.zipped(came, ""))
    for name, data in came.items():
        (root / name).write_bytes(data)
    own.mkdir(parents=True)
    (own / "progress.json").write_text("theirs")
    (root / "lessons" / "01.ipynb").write_text("written on")
    (root / "lessons" / "results-abc.json").write_text("handed in")
    (root / "lessons" / "mine.ipynb").write_text("somebody's own")
    return root, own


def test_a_laptop_starts_afresh_and_nothing_is_lost(used):
    root, own = used
    said = " ".join(afresh.start(root, own))
    (aside,) = own.parent.iterdir()
    kept = {path.name: path.read_text() for path in aside.iterdir()}
    assert kept == {"progress.json": "theirs", "01.ipynb": "written on",
                    "results-abc.json": "handed in"}  # fmt: skip
    assert str(aside) in said and "01.ipynb" in said and "02.ipynb" not in said
    left = {path.name: path.read_text() for path in (root / "lessons").iterdir()}
    assert left == {"01.ipynb": "as it came", "02.ipynb": "two", "mine.ipynb": "somebody's own"}
    assert "nothing to put aside" in " ".join(afresh.start(root, own))


def test_afresh_with_git_and_with_neither(tmp_path, used):
    root, own = used
    (root / "wheels" / "lessons.zip").unlink()
    assert "stay as they are" in " ".join(afresh.start(root, own))
    assert (root / "lessons" / "01.ipynb").read_text() == "written on"
    for order in (["init", "-q"], ["add", "lessons/02.ipynb"],
                  ["-c", "user.name=a", "-c", "user.email=a@b", "commit", "-qm", "x"]):  # fmt: skip
        subprocess.run(["git", "-C", str(root), *order], check=True)
    (root / "lessons" / "02.ipynb").write_text("changed")
    afresh.start(root, own)
    assert (root / "lessons" / "02.ipynb").read_text() == "two"
    kept = [path.read_text() for path in Path(own.parent).rglob("02.ipynb")]
    assert kept == ["changed"]


def test_the_verbs(small, tmp_path, monkeypatch, capsys):
    monkeypatch.setattr(bundle, "_pip", shelf)
    order = ["bundle", "--for", "windows,linux", "--python", "3.12", "--to", str(tmp_path / "s")]
    assert main(order) == 0
    assert "read-me-first.html" in capsys.readouterr().out
    monkeypatch.setattr(afresh, "start", lambda: ["done"])
    assert main(["afresh"]) == 0
