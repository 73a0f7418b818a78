"""Handing in: a button, a file, a saved lesson; and what the class summary makes of them."""

import asyncio
import json
import re

import nbformat
import pytest
from jupyter_server.services.contents.largefilemanager import AsyncLargeFileManager
from nbformat.sign import MemorySignatureStore, NotebookNotary

from boxlab import quiz
from boxlab.base.progress import Store
from boxlab.publish import notebooks
from boxlab.publish.still_contents import Contents
from boxlab.publish.workshop import classroom
from boxlab.quiz import handing_in
from boxlab.quiz.learner_word import Pupil
from boxlab.quiz.prediction_panel import HandIn


@pytest.fixture
def pupil(tmp_path, monkeypatch):
    own = Pupil(Store(tmp_path / "home"))
    monkeypatch.setattr(quiz, "pupil", own)
    own.record("prediction", key="port-or-radiator/null", choice="More weights")
    own.record("prediction", key="phase/at-tuning", choice="In phase")
    own.record("attempt", key="port-or-radiator/weights", step=0, of=4, text="secret 12 g",
               verdict="off", seed=own.seed)  # fmt: skip
    return own


@pytest.fixture
def folder(tmp_path, monkeypatch):
    (tmp_path / "lessons").mkdir()
    monkeypatch.chdir(tmp_path / "lessons")
    return tmp_path / "lessons"


def test_the_button_makes_one_file_and_says_where(pupil, folder):
    live = quiz.hand_in().live
    live.make()
    (file,) = folder.iterdir()
    assert file.name in live.status.value and str(folder) in live.status.value
    assert "secret" not in file.read_text() and "secret" not in live.status.value
    learner = handing_in.read(file)
    assert learner.name == "" and learner.mark == handing_in.mark(pupil) != ""
    assert set(learner.entries) == {"port-or-radiator/null", "phase/at-tuning",
                                    "port-or-radiator/weights"}  # fmt: skip
    pupil.record("prediction", key="phase/film", choice="Opposite")
    live.name.value = " Ada <b>"
    live.make()
    assert [file] == list(folder.iterdir())  # a later press takes the place of an earlier one
    assert handing_in.read(file).name == "Ada <b>" and len(handing_in.read(file).entries) == 4


def test_two_learners_files_have_names_of_their_own(tmp_path, folder):
    for name in ("one", "two"):
        own = Pupil(Store(tmp_path / name))
        own.record("prediction", key="phase/at-tuning", choice="In phase")
        HandIn(own).make()
    learners, joined, out = classroom.collect(folder)
    assert len(learners) == 2 and not joined and not out


def test_the_button_has_nothing_to_hand_in_at_first(tmp_path, folder):
    live = HandIn(Pupil(Store(tmp_path / "empty")))
    live.make()
    assert "Nothing is recorded yet" in live.status.value and not list(folder.iterdir())


def test_the_button_where_nothing_can_be_written(pupil, folder, monkeypatch):
    def full(*_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(handing_in, "put", full)
    live = quiz.hand_in().live
    live.make()
    assert "could not be written" in live.status.value
    assert "data:application/json;base64," in live.status.value  # it can still be saved elsewhere
    assert not list(folder.iterdir())


def saved(folder, name, *sources, manager=Contents):
    """A lesson with these cells, as JupyterLab's server saves it."""
    notary = NotebookNotary(store_factory=MemorySignatureStore, secret=b"of this test")
    contents = manager(root_dir=str(folder), notary=notary)
    book = nbformat.v4.new_notebook(cells=[nbformat.v4.new_code_cell(s) for s in sources])
    asyncio.run(contents.save({"type": "notebook", "content": dict(book)}, name))
    return folder / name


NULL = 'quiz.predict("port-or-radiator/null", "Where?", ["More weights", "Less"])'


def test_a_saved_lesson_can_be_handed_in(pupil, folder):
    file = saved(folder, "01.ipynb", "from boxlab import quiz", NULL)
    assert "secret" not in file.read_text()
    learner = handing_in.read(file)
    assert set(learner.entries) == {"port-or-radiator/null", "port-or-radiator/weights"}
    pupil.record("attempt", key="how-loud/day:closing", step=0, of=1, text="3", verdict="right",
                 seed=pupil.seed)  # fmt: skip
    check = saved(folder, "self-check.ipynb", "quiz.assessment(all_exercises(), 8, SAMPLE)")
    assert set(handing_in.read(check).entries) == {"how-loud/day:closing"}
    handing_in.hand_in(pupil, folder)
    learners, joined, out = classroom.collect(folder)  # three files of one learner
    assert len(learners) == 1 and len(joined) == 2 and not out
    assert len(learners[0].entries) == 4 and learners[0].entries["how-loud/day:closing"].solved


def test_a_page_that_asks_nothing_is_saved_as_ever(pupil, folder):
    file = saved(folder, "mine.ipynb", "print(1)")
    plain = saved(folder, "plain.ipynb", "print(1)", manager=AsyncLargeFileManager)
    ids = re.compile(r'"id": ".*?"')
    assert ids.sub("", file.read_text()) == ids.sub("", plain.read_text())
    with pytest.raises(ValueError, match="nothing recorded"):
        handing_in.read(file)


def test_a_lesson_that_is_written_keeps_nobodys_record(pupil, folder):
    book = notebooks.read(saved(folder, "01.ipynb", NULL))
    assert handing_in.SHELF in book.metadata
    notebooks.tidy(book)
    assert handing_in.SHELF not in book.metadata


def test_a_later_file_adds_to_an_earlier_one_and_two_names_are_two_learners(pupil, folder):
    handing_in.hand_in(pupil, folder / "a.json", "Ada")
    for step in range(4):
        pupil.record("attempt", key="port-or-radiator/weights", step=step, of=4, text="1",
                     verdict="right", seed=pupil.seed)  # fmt: skip
    handing_in.hand_in(pupil, folder / "b.json")
    handing_in.hand_in(pupil, folder / "c.json", "Ben")
    learners, joined, _ = classroom.collect(folder)
    assert [each.name for each in learners] == ["Ada", "Ben"] and len(joined) == 1
    assert learners[0].entries["port-or-radiator/weights"].solved
    (folder / "b.json").unlink()
    assert not classroom.collect(folder)[0][0].entries["port-or-radiator/weights"].solved


@pytest.mark.parametrize("shelf", [None, 3, [], {"results": 3}, {"results": {"a/b": 3}}])
def test_a_hostile_notebook_is_named(folder, shelf):
    file = folder / "x.ipynb"
    file.write_text(json.dumps({"cells": [], "metadata": {handing_in.SHELF: shelf}}))
    handing_in.put(folder / "y.ipynb", b"[1]", "y")
    learners, _, out = classroom.collect(folder)
    assert not learners and len(out) == 2
