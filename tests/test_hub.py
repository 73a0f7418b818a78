"""A class on a hub: what a learner has is never overwritten, and lessons need no hub."""

import importlib.util
import re
import sys
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


# --- the guide for one machine, and its configuration

GUIDE = (ROOT / "lessons/workshop/one-machine.md").read_text(encoding="utf-8")


class Config(dict):
    """Stands in for the hub's: takes any name, and keeps what was set."""

    def __getattr__(self, name):
        return self.setdefault(name, Config())

    def __setattr__(self, name, value):
        self[name] = value


@pytest.fixture
def configured(tmp_path, monkeypatch):
    """Runs one_machine.py in a folder, as the hub would; returns what it has set."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("BOXLAB_ADDRESS", raising=False)
    monkeypatch.setattr(sys, "executable", "/usr/bin/env")

    def run():
        config = Config()
        names = {
            "get_config": lambda: config, "load_subconfig": lambda path: Path(path).read_text(),
            "__file__": str(BINDER / "one_machine.py"),
        }  # fmt: skip
        exec((BINDER / "one_machine.py").read_text(encoding="utf-8"), names)
        return config

    return run


@pytest.fixture
def certified(tmp_path):
    for name in ("class.crt", "class.key"):
        (tmp_path / name).write_text("made")


def open_to_all(path):
    return all(folder.stat().st_mode & 0o001 for folder in path.parents)


def test_without_a_certificate_nothing_starts(configured):
    with pytest.raises(SystemExit, match=r"class\.crt is missing"):
        configured()


def test_a_python_that_learners_cannot_reach_is_named(configured, certified, tmp_path, monkeypatch):
    closed = tmp_path / "closed"
    closed.mkdir(mode=0o700)
    (closed / "python").write_text("")
    monkeypatch.setattr(sys, "executable", str(closed / "python"))
    with pytest.raises(SystemExit, match="closed to them: make the environment with /usr/bin"):
        configured()


def test_one_machine_takes_its_own_accounts_over_tls(configured, certified, monkeypatch, tmp_path):
    if not open_to_all(BINDER / "one_machine.py"):
        pytest.skip("this clone lies in a folder that is closed to others")
    config = configured()
    assert config.JupyterHub.bind_url == "https://127.0.0.1:8443"
    assert config.JupyterHub.ssl_key == str(tmp_path / "class.key")
    assert config.JupyterHub.authenticator_class == "pam"
    monkeypatch.setenv("BOXLAB_ADDRESS", "192.168.1.10")
    assert configured().JupyterHub.bind_url == "https://192.168.1.10:8443"
    (group,) = config.LocalAuthenticator.allowed_groups
    assert f"groupadd {group}" in GUIDE and f"-G {group}" in GUIDE and f"groupdel {group}" in GUIDE


def test_the_guide_names_what_is_there():
    for path in re.findall(r"(?:/srv/boxlab/)?(\.binder/[\w.-]+|tests/[\w/.-]+\w)", GUIDE):
        assert (ROOT / path).is_file(), path
    assert "HOME_MODE=0700" in GUIDE  # else one learner reads what another has
    assert "pip install -e . -r .binder/requirements-hub.txt" in GUIDE
