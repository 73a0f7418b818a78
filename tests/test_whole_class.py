"""Sixteen learners, half with mistakes: stick, sheets, predictions, exercises, hand-in, summary."""

import asyncio
import os
import re
import shutil
import subprocess
import sys

import html5lib
import nbformat
import pytest
from jupyter_server.services.contents.largefilemanager import AsyncLargeFileManager
from nbformat.sign import MemorySignatureStore, NotebookNotary

from boxlab import quiz
from boxlab.__main__ import main
from boxlab.base import drafts
from boxlab.base.progress import Store
from boxlab.publish.still_contents import Contents
from boxlab.publish.workshop import bundle, classroom, papers, report, runsheet
from boxlab.publish.workshop.lesson import lessons
from boxlab.quiz.drill import Drill
from boxlab.quiz.exercises import all_exercises, exercise
from boxlab.quiz.learner_word import Pupil
from boxlab.quiz.prediction_panel import HandIn, Prediction
from boxlab.quiz.task import learner_seed

CLASS = "two-hour-class"
COUNT = 16
LESSONS = lessons()
ASKS = {ask.key: ask for lesson in LESSONS for ask in lesson.asks}
ROWS = next(sheet for sheet in runsheet.sheets() if sheet.slug == CLASS).rows
ASKED = [key for row in ROWS for key in row.asks]
ON_PAPER = [exercise(key) for key in papers.planned(CLASS)]


def careless(number):
    """Every second learner makes mistakes."""
    return number % 2 == 1


def answers_at_a_glance(page):
    """word -> the right answers that the printed key has for it, exercise by exercise."""
    found = {}
    tree = html5lib.parse(page.read_text(encoding="utf-8"), namespaceHTMLElements=False)
    for table in next(iter(tree.iter("section"))).iter("table"):
        for row in list(table.iter("tr"))[1:]:
            word, *right = ("".join(cell.itertext()) for cell in row.iter()
                            if cell.tag in ("td", "th"))  # fmt: skip
            found.setdefault(word, []).append(right)
    return found


def predict(pupil, number):
    """Each prediction once; the careless choose a wrong option, and some think better of it."""
    for place, key in enumerate(ASKED):
        ask = ASKS[key]
        wrong = next(option for option in ask.question.options if option != ask.outcome.right)
        live = Prediction(pupil, ask.question)
        live.choice.value = wrong if careless(number) else ask.outcome.right
        live.commit()
        if careless(number) and place == 0:  # after the answer; the first choice is what counts
            live.commit()
            live.choice.value = ask.outcome.right
            live.commit()


def solve(pupil, number, right):
    """What the key says; the careless first type a slip, and give the second exercise up."""
    for place, (item, answers) in enumerate(zip(ON_PAPER, right, strict=True)):
        live = Drill(pupil, item)
        if careless(number):
            step = next(i for i, each in enumerate(item.blanks) if each.slips)
            slip = next(iter(item.blanks[step].slips.values()))
            live.fields[step].value = f"{float(slip(live.numbers)):.5g}"
            live.check()
            live.hint()
            if place:
                continue
        for i, typed in enumerate(answers):
            live.fields[i].value = typed
        live.check()  # one press for all its boxes


def save_lessons(folder, pupil, monkeypatch):
    """The two lessons of the class, saved as JupyterLab's server does."""
    monkeypatch.setattr(quiz, "pupil", pupil)
    notary = NotebookNotary(store_factory=MemorySignatureStore, secret=b"of this test")
    contents = Contents(root_dir=str(folder), notary=notary)
    for name, topics in (("01", "port-or-radiator"), ("04", "how-much-radiator"),
                         ("00", "start-here")):  # fmt: skip
        cell = nbformat.v4.new_code_cell(f'quiz.predict("{topics}/x", "Which?", ["a", "b"])')
        book = nbformat.v4.new_notebook(cells=[cell])
        model = {"type": "notebook", "content": dict(book)}
        asyncio.run(contents.save(model, f"{name}-of-{pupil.store.path.parent.name}.ipynb"))


@pytest.fixture
def handed(tmp_path, monkeypatch):
    folder = tmp_path / "handed-in"
    folder.mkdir()
    monkeypatch.chdir(folder)
    monkeypatch.setattr(drafts.Drafts, "put", lambda *rest, **more: None)  # written by a thread
    return folder


def test_sixteen_learners_from_stick_to_summary(tmp_path, handed, monkeypatch, capsys):
    assert issubclass(Contents, AsyncLargeFileManager)
    monkeypatch.setattr(bundle, "_pip", lambda *rest: None)  # wheels have tests of their own
    monkeypatch.setattr(bundle, "missing", lambda *rest: [])
    assert main(["bundle", "--to", str(tmp_path / "stick")]) == 0
    assert (tmp_path / "stick" / "boxlab" / "lessons" / "01-port-or-radiator.ipynb").is_file()

    # The sheets are made by what lies on the stick, in a program of its own.
    order = ["worksheet", "--learners", str(COUNT + 1), "--for", CLASS, "--to", tmp_path / "out"]
    stick = tmp_path / "stick" / "boxlab"
    alone = {"PYTHONPATH": str(stick), "BOXLAB_HOME": str(tmp_path), "OPENBLAS_NUM_THREADS": "1"}
    seen = subprocess.run(
        [sys.executable, "-m", "boxlab", *order], cwd=stick, env=os.environ | alone,
        capture_output=True, text=True, check=True,
    )  # fmt: skip
    assert str(tmp_path / "out" / "key.html") in seen.stdout
    key = answers_at_a_glance(tmp_path / "out" / "key.html")
    absent = f"sheet-{COUNT + 1}"  # who has a sheet and does not come
    assert len(key) == COUNT + 1 and key.pop(absent)

    for number, (word, right) in enumerate(key.items()):
        pupil = Pupil(Store(tmp_path / f"laptop-{number}"))
        pupil.record("learner", seed=learner_seed(word))
        predict(pupil, number)
        solve(pupil, number, right)
        if number in (2, 3):  # hand in their lessons, no file
            save_lessons(handed, pupil, monkeypatch)
            continue
        button = HandIn(pupil)
        button.name.value = "Ada" if number == 0 else ""
        button.make()
        if number in (4, 5):  # press twice, and hand in the lessons too
            button.make()
            save_lessons(handed, pupil, monkeypatch)
    twice = next(handed.glob("results-*.json"))
    shutil.copy(twice, handed / "sent-once-more.json")
    (handed / "cut.json").write_bytes(b'{"schema": 1, "results": {"a/b": ')
    (handed / "bare.ipynb").write_text('{"cells": [], "metadata": {}, "nbformat": 4}')

    capsys.readouterr()
    assert main(["class", str(handed), "--to", str(tmp_path / "class.html")]) == 1
    said = capsys.readouterr().out
    learners, joined, out = classroom.collect(handed)
    assert len(learners) == COUNT and f"{COUNT} learners in" in said
    assert (
        len(joined) == 2 * 2 + 2 * 3 + 1
    )  # the copy, and three lessons of each of four, two of whom made a file
    assert [line.split(":")[0] for line in out] == ["bare.ipynb", "cut.json"]

    tables = {table.title: table for table in report.summary(learners, LESSONS, all_exercises())}
    predicted = {row[0].partition(":")[0]: row for row in tables["Predictions"].rows}
    assert set(predicted) == set(ASKED)
    for name, row in predicted.items():  # the first choice, also where it was changed
        question = " ".join(ASKS[name].question.question.split())
        assert re.sub(r"\W", "", question) in re.sub(r"\W", "", row[0])  # whole
        assert row[1:3] == (str(COUNT), str(COUNT // 2))
        assert row[3].endswith(f"({COUNT // 2})")
    first, second = tables["Exercises"].rows
    assert first[1:5] == ("16", "16", "1.5", "0.5")  # half took a second press, and one hint
    assert second[1:5] == ("16", "8", "1.0", "0.5")
    assert sorted({row[0] for row in tables["Learners"].rows} & {"Ada"}) == ["Ada"]
    page = (tmp_path / "class.html").read_text(encoding="utf-8")
    html5lib.HTMLParser(strict=True).parse(page)
    every = "".join(path.read_text(encoding="utf-8") for path in handed.iterdir() if path.is_file())
    assert '"text"' not in every  # nothing that was typed
