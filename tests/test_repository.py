"""The house is in order: what lies where, what each import costs, and that the words are there."""

import ast
import doctest
import importlib
import inspect
import pkgutil
import re
import shutil
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

import boxlab
from boxlab import start
from boxlab.draw.scene import Explainer
from boxlab.explainers import all_explainers, explainer
from boxlab.publish import lesson_rules, pictures

ROOT = Path(__file__).resolve().parent.parent
MODULES = sorted(
    info.name
    for info in pkgutil.walk_packages(boxlab.__path__, "boxlab.")
    if not info.name.endswith("__main__")
)
FILES = sorted(ROOT.glob("boxlab/**/*.py"))
TOP = {
    "README.md", "DEVELOPERS.md", "pyproject.toml", "LICENSE", "lessons", "boxlab", "tests",
    "figures",
}  # fmt: skip
HEAVY = ("scipy", "matplotlib", "ipywidgets", "IPython", "PIL")


def short_name(path):
    return path.relative_to(ROOT).as_posix()


def tracked_by_git():
    done = subprocess.run(["git", "ls-files"], cwd=ROOT, capture_output=True, text=True)
    if done.returncode:
        pytest.skip("not a git clone")
    return done.stdout.split("\n")


def test_top_level_holds_only_what_belongs_there():
    names = {line.split("/")[0] for line in tracked_by_git() if line}
    assert {name for name in names if not name.startswith(".")} <= TOP


def test_nothing_made_by_tools_is_tracked():
    made = re.compile(r"__pycache__|\.ipynb_checkpoints|\.egg-info|\.hypothesis/|\.part$|\.pyc$")
    assert [line for line in tracked_by_git() if made.search(line)] == []


@pytest.mark.parametrize(
    "module", ["boxlab", "boxlab.model.response", "boxlab.model.limits", "boxlab.draw.scene"]
)
def test_import_stays_light(module):
    code = f"import sys, {module}; print([m for m in {HEAVY} if m in sys.modules])"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


@pytest.mark.parametrize("name", boxlab.__all__)
def test_every_name_a_lesson_imports_is_there(name):
    assert getattr(boxlab, name).__doc__


def public_things(module):
    """(name, thing) of the public classes and functions that `module` defines, and methods."""
    for name, thing in vars(module).items():
        if name.startswith("_") or getattr(thing, "__module__", "") != module.__name__:
            continue
        if inspect.isfunction(thing) or inspect.isclass(thing):
            yield name, thing
        if inspect.isclass(thing):
            for part, member in vars(thing).items():
                bare = getattr(member, "fget", None) or getattr(member, "func", None)
                bare = bare or getattr(member, "__func__", member)
                if not part.startswith("_") and inspect.isfunction(bare):
                    yield f"{name}.{part}", bare


def has_docstring(name, thing):
    # A dataclass without one is given its own signature for a docstring.
    return not (inspect.getdoc(thing) or f"{name}(").startswith(f"{name}(")


def test_everything_public_has_a_docstring():
    modules = [importlib.import_module(name) for name in MODULES]
    assert [module.__name__ for module in modules if not module.__doc__] == []
    assert [
        (module.__name__, name)
        for module in modules
        for name, thing in public_things(module)
        if not has_docstring(name, thing)
    ] == []


@pytest.mark.parametrize("module", MODULES)
def test_doctests_pass(module):
    assert doctest.testmod(importlib.import_module(module)).failed == 0


def test_there_are_doctests():
    finder = doctest.DocTestFinder(exclude_empty=True)
    found = [test for name in MODULES for test in finder.find(importlib.import_module(name))]
    assert sum(len(test.examples) for test in found) >= 10


def test_rooms_stay_small():
    lines = {path: len(path.read_text(encoding="utf-8").splitlines()) for path in FILES}
    assert len(lines) > 300
    assert [(short_name(path), count) for path, count in lines.items() if count > 300] == []


def test_no_room_hides_a_standard_module():
    # boxlab/start.py runs as a script, so its neighbours come before the standard library.
    rooms = [path for path in FILES if not path.stem.startswith("__")]
    assert [short_name(path) for path in rooms if path.stem in sys.stdlib_module_names] == []


def test_start_can_be_read_by_an_old_python():
    source = Path(start.__file__).read_text(encoding="utf-8")
    ast.parse(source, feature_version=(3, 7))
    imported = {
        name.name.split(".")[0]
        for node in ast.walk(ast.parse(source))
        if isinstance(node, ast.Import)
        for name in node.names
    }
    assert imported <= sys.stdlib_module_names
    assert "3.11 or newer; this is 3.9" in start.old_python((3, 9, 18))
    assert start.old_python((3, 11, 0)) == ""


def test_start_asks_for_the_python_that_the_project_needs():
    text = (ROOT / "pyproject.toml").read_text(encoding="utf-8")
    assert f'requires-python = ">={start.NEEDED[0]}.{start.NEEDED[1]}"' in text


def test_start_says_how_to_use_it(capsys):
    assert start.main([]) == 2
    assert start.main(["--help"]) == 0
    assert start.main(["lessons", "--help"]) == 0  # and installs nothing
    assert "python3 boxlab/start.py lessons" in capsys.readouterr().out


def test_start_installs_once(tmp_path, monkeypatch, capsys):
    calls = []
    monkeypatch.setattr(start, "VENV", tmp_path)
    monkeypatch.setattr(start, "venv_version", lambda: (3, 11))
    monkeypatch.setattr(start.subprocess, "call", lambda command: calls.append(command))
    monkeypatch.setattr(start, "here", lambda: "")
    assert start.install("[test]") == ""
    assert start.install("[test]") == ""
    assert start.install("") == ""
    assert len(calls) == 1
    monkeypatch.setattr(start, "wanted", lambda extra: "something else by now")
    assert start.install("") == ""
    assert len(calls) == 2


def test_start_leads_to_the_first_page_with_a_browser_and_without(monkeypatch):
    commands = []

    class Done:
        def __init__(self, command, cwd, env):
            commands.append(command)

        def wait(self):
            return 0

    monkeypatch.setattr(start, "install", lambda extra: "")
    monkeypatch.setattr(start.subprocess, "Popen", Done)
    assert start.main(["lessons", "--no-browser"]) == 0
    (command,) = commands
    assert (ROOT / start.START_PAGE).is_file()
    assert start.START_PAGE in command
    assert f"--LabApp.default_url=/lab/tree/{start.START_PAGE}" in command
    assert command[-1] == "--no-browser"


def test_tests_know_nothing_of_the_open_job_of_whoever_runs_them(monkeypatch):
    """Seen red: with a job open, the last cell of each lesson spoke of it."""
    homes = []

    class Done:
        def __init__(self, command, cwd, env):
            homes.append(env["BOXLAB_HOME"])
            assert "PYTHONDONTWRITEBYTECODE" not in env  # or every kernel compiles all modules

        def wait(self):
            assert Path(homes[-1]).is_dir()
            return 0

    monkeypatch.setattr(start, "install", lambda extra: "")
    monkeypatch.setattr(start.subprocess, "Popen", Done)
    monkeypatch.setenv("BOXLAB_HOME", "my own")
    monkeypatch.setenv("PYTHONDONTWRITEBYTECODE", "1")
    assert start.main(["tests"]) == start.main(["tests"]) == 0
    assert len(set(homes)) == 2 and "my own" not in homes and not Path(homes[0]).exists()


@pytest.mark.parametrize(
    "script", ["echo oops", "echo 3 eleven", "exit 3", "sleep 0; printf '\\377'"]
)
def test_a_broken_python_in_the_environment_is_said_plainly(script, tmp_path, monkeypatch):
    broken = tmp_path / "python"
    broken.write_text(f"#!/bin/sh\n{script}\n")
    broken.chmod(0o755)
    (tmp_path / "pyvenv.cfg").write_text("home = /usr/bin")
    monkeypatch.setattr(start, "PYTHON", broken)
    monkeypatch.setattr(start, "VENV", tmp_path)
    assert start.venv_version() == ()
    assert "Delete that folder" in start.here() or script.startswith("echo")
    monkeypatch.setattr(start.subprocess, "call", lambda command: 0)
    assert "does not run" in start.install("")


def test_a_moved_folder_needs_no_network(tmp_path, monkeypatch):
    calls = []
    monkeypatch.setattr(start, "VENV", tmp_path)
    monkeypatch.setattr(start, "venv_version", lambda: (3, 11))
    monkeypatch.setattr(start.subprocess, "call", lambda command: calls.append(command))
    monkeypatch.setattr(start, "here", lambda: "")
    assert start.install("") == ""
    shutil.copy(ROOT / "pyproject.toml", tmp_path / "pyproject.toml")
    monkeypatch.setattr(start, "ROOT", tmp_path)
    assert start.install("") == ""
    assert len(calls) == 1


def test_the_environment_finds_boxlab_where_it_is_now(tmp_path, monkeypatch):
    place = tmp_path / "site-packages"
    place.mkdir()
    fake = tmp_path / "python"
    fake.write_text(f"#!/bin/sh\necho {place}\n")
    fake.chmod(0o755)
    monkeypatch.setattr(start, "PYTHON", fake)
    assert start.here() == ""
    assert (place / "boxlab-is-here.pth").read_text(encoding="utf-8") == f"{ROOT}\n"


def test_a_home_that_cannot_be_written_does_not_stop_the_lessons(tmp_path, monkeypatch, capsys):
    monkeypatch.setattr(start.os, "access", lambda path, mode: False)
    monkeypatch.setattr(start, "HOME", tmp_path)
    monkeypatch.delenv("BOXLAB_HOME", raising=False)
    made = start.environment()
    assert made["JUPYTER_RUNTIME_DIR"].startswith(str(tmp_path))
    assert made["BOXLAB_HOME"].startswith(str(tmp_path))
    assert "cannot be written" in capsys.readouterr().out


def test_a_new_environment_takes_no_learner_record_with_it(tmp_path, monkeypatch):
    monkeypatch.setattr(start.os, "access", lambda path, mode: False)
    for name in ("BOXLAB_HOME", "JUPYTER_DATA_DIR"):
        monkeypatch.delenv(name, raising=False)
    made = start.environment()
    for name in ("BOXLAB_HOME", "JUPYTER_DATA_DIR"):
        assert ROOT in Path(made[name]).parents
        assert start.VENV not in Path(made[name]).parents  # that is cleared where it is broken
        ignored = Path(made[name]).relative_to(ROOT).parts[0]
        assert f"{ignored}/" in (ROOT / ".gitignore").read_text(encoding="utf-8").splitlines()


def test_a_user_without_a_home_can_start(monkeypatch):
    def homeless():
        raise RuntimeError("Could not determine home directory.")

    monkeypatch.setattr(start.Path, "home", homeless)
    assert "BOXLAB_HOME" in start.environment()


def test_a_folder_that_is_no_environment_is_not_cleared(tmp_path, monkeypatch):
    calls = []
    monkeypatch.setattr(start, "VENV", tmp_path)
    monkeypatch.setattr(start, "PYTHON", tmp_path / "bin/python")
    monkeypatch.setattr(start.subprocess, "call", lambda command: calls.append(command))
    (tmp_path / "notes").mkdir()
    (tmp_path / "notes/thesis.txt").write_text("years of work")
    assert "is no environment" in start.install("")
    assert calls == []
    (tmp_path / "pyvenv.cfg").write_text("home = /usr/bin")
    start.install("")
    assert "--clear" in calls[0]


def test_start_says_what_stopped_it(tmp_path, monkeypatch):
    monkeypatch.setattr(start, "VENV", tmp_path)
    monkeypatch.setattr(start.subprocess, "call", lambda command: 1)
    monkeypatch.setattr(start, "venv_version", lambda: (3, 11))
    assert "needs a network" in start.install("")
    monkeypatch.setattr(start, "venv_version", lambda: (3, 9))
    assert "a Python older than 3.11" in start.install("")
    monkeypatch.setattr(start, "venv_version", lambda: ())
    assert "Delete" in start.install("")
    monkeypatch.setattr(start.importlib.util, "find_spec", lambda name: None)
    assert "python3-venv" in start.install("")


@pytest.mark.parametrize("module", [name for name in MODULES if ".explainers." in name])
def test_every_explainer_is_offered(module):
    shared = module.split(".")[-1].startswith("_")
    module = importlib.import_module(module)
    offered = getattr(module, "EXPLAINERS", ())
    assert shared or offered
    made = [thing for thing in vars(module).values() if isinstance(thing, Explainer)]
    assert set(map(id, made)) <= set(map(id, offered))


@pytest.mark.parametrize("item", all_explainers(), ids=lambda item: item.name)
def test_an_explainer_can_be_linked_and_asked(item):
    assert re.fullmatch(r"[a-z0-9_]+", item.name)
    assert explainer(item.name) is item
    assert item.question.endswith("?")
    assert item.answer
    if item.lesson:
        lesson = ROOT / "lessons" / item.lesson
        assert lesson.is_file()
        assert not item.anchor or item.anchor in lesson_rules.anchors(lesson)


def test_figures_show_what_the_code_draws_now():
    assert pictures.stale() == []


GUIDE = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")


def lines_of(text):
    return "\n".join(line.strip() for line in text.splitlines())


@pytest.mark.parametrize(
    ("path", "sample"), re.findall(r"From\s`([^`]+)`:\n\n```python\n(.*?)```", GUIDE, re.S)
)
def test_samples_in_the_guide_are_from_the_code(path, sample):
    assert lines_of(sample) in lines_of((ROOT / path).read_text(encoding="utf-8"))


def test_every_dependency_has_its_reason():
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    needs = project["dependencies"] + project["optional-dependencies"]["test"]
    reasons = GUIDE.split("## What we depend on")[1]
    for need in needs:
        name = re.match(r"[\w-]+", need).group()
        assert re.search(rf"^\|[^|]*\b{name}\b", reasons, re.M), f"{name} has no reason"
        assert re.search(r">=.*,<", need), f"{need} is not bounded on both sides"
