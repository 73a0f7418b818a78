"""A class on a hub: what a learner has is never overwritten, and lessons need no hub."""

import importlib.util
import re
import tomllib
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
BINDER = ROOT / ".binder"


@pytest.fixture
def server():
    spec = importlib.util.spec_from_file_location("server", BINDER / "learner_server.py")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.fixture
def source(tmp_path):
    for name in ("README.md", "lessons/00-first.ipynb", "lessons/.ipynb_checkpoints/x.ipynb"):
        path = tmp_path / "source" / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text("ours", encoding="utf-8")
    return tmp_path / "source"


def test_a_learner_gets_what_is_missing_and_keeps_what_is_there(server, source, tmp_path):
    home = tmp_path / "home"
    assert server.bring(source, home) == [home / "README.md", home / "lessons/00-first.ipynb"]
    (home / "lessons/00-first.ipynb").write_text("mine", encoding="utf-8")
    (source / "lessons/01-new.ipynb").write_text("new", encoding="utf-8")
    assert server.bring(source, home) == [home / "lessons/01-new.ipynb"]
    assert (home / "lessons/00-first.ipynb").read_text(encoding="utf-8") == "mine"
    assert not list(home.rglob("*.part"))


def test_what_is_brought_exists(server):
    assert [part for part in server.PARTS if not (ROOT / part).exists()] == []


def test_links_between_lessons_lead_somewhere_in_a_learners_copy(server, tmp_path):
    server.bring(ROOT, tmp_path)
    for lesson in (tmp_path / "lessons").glob("*.ipynb"):
        text = lesson.read_text(encoding="utf-8")
        for link in re.findall(r"\]\((?!https?:|#|mailto:)([^)#\s]+)", text):
            if (ROOT / "lessons" / link).exists():
                assert (lesson.parent / link).exists(), f"{lesson.name} links to {link}"


def test_lessons_and_library_need_no_hub():
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    groups = [project["dependencies"], *project["optional-dependencies"].values()]
    assert [need for group in groups for need in group if "jupyterhub" in need] == []


def test_the_hub_listens_on_this_machine_alone():
    for path in (BINDER / "jupyterhub_config.py", ROOT / "tests/bench/hub/local_config.py"):
        addresses = re.findall(r"https?://([\d.a-z*]*)", path.read_text(encoding="utf-8"))
        assert addresses
        assert set(addresses) == {"127.0.0.1"}
