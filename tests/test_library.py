"""The public names: each says its parameters and shows an example, and the page lists them."""

import inspect
import re

import pytest

import boxlab
from boxlab.__main__ import main
from boxlab.publish import library

PHYSICS = ("model", "measure", "design", "car", "sound")
# They open recordings, which an example would have to make first
WITHOUT_EXAMPLE = {
    "amplifier_on_music", "near_field", "phase_between", "play_and_record", "read_recording",
    "test_signal", "tuning_against_level",
}  # fmt: skip
NAMES = [
    name
    for name, room in boxlab.public_names()
    if room.split(".")[0] in PHYSICS and not library._is_error(getattr(boxlab, name))
    if inspect.isclass(getattr(boxlab, name)) or inspect.isfunction(getattr(boxlab, name))
]


def test_the_page_is_what_the_library_says_now():
    assert library.PAGE.read_text(encoding="utf-8") == library.page()


def test_every_public_name_is_on_the_page_once():
    heads = re.findall(r"^(?:### |- `)(\w+)", library.page(), re.M)
    assert sorted(heads) == sorted(boxlab.__all__)


@pytest.mark.parametrize("name", NAMES)
def test_a_public_name_tells_its_parameters(name):
    thing = getattr(boxlab, name)
    said = inspect.getdoc(thing)
    takes = [p for p in inspect.signature(thing).parameters if not p.startswith("_")]
    if takes:
        assert re.search(r"^(Parameters|Attributes)\n-+$", said, re.M)
    assert [each for each in takes if not re.search(rf"\b{each}\b", said)] == []


@pytest.mark.parametrize("name", [name for name in NAMES if name not in WITHOUT_EXAMPLE])
def test_a_public_name_shows_an_example(name):
    assert ">>> " in inspect.getdoc(getattr(boxlab, name))
    assert library.said(name)[1].startswith(">>> ")


def test_the_verb_writes_and_compares(tmp_path, monkeypatch, capsys):
    monkeypatch.setattr(library, "PAGE", tmp_path / "library.md")
    assert main(["library"]) == 1
    assert "out of date" in capsys.readouterr().err
    library.write(library.PAGE)
    assert main(["library"]) == 0
