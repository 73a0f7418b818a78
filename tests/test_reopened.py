"""A saved lesson opened again: pictures where no kernel runs, live widgets where one does."""

import asyncio
import importlib

import pytest
from jupyter_server.services.contents.largefilemanager import AsyncLargeFileManager
from nbformat.sign import MemorySignatureStore, NotebookNotary
from nbformat.v4 import new_code_cell, new_markdown_cell, new_notebook, new_output
from tornado.web import HTTPError
from traitlets.config import Configurable

from boxlab import quiz, start
from boxlab.explainers import explainer
from boxlab.panel.live_panel import Panel
from boxlab.panel.sweep_desk import Desk
from boxlab.publish.notebooks import WIDGET_VIEW, write
from boxlab.publish.still_contents import STATE, Contents, rest
from boxlab.quiz.exercises.port_or_radiator import port_length


def notebook(*bundles):
    outputs = [new_output("execute_result", dict(data), execution_count=1) for data in bundles]
    outputs.append(new_output("stream", text="printed"))
    return new_notebook(cells=[new_markdown_cell("words"), new_code_cell("panel", outputs=outputs)])


def kinds(book):
    return [sorted(output["data"]) for output in book["cells"][1]["outputs"] if "data" in output]


VIEW = {WIDGET_VIEW: {"model_id": "abc", "version_major": 2}}


def test_the_view_goes_where_there_is_something_to_show_instead():
    book = notebook(
        VIEW | {"image/png": "", "text/plain": ""},
        VIEW | {"text/html": "", "text/plain": ""},
        VIEW | {"text/plain": "IntSlider(value=0)"},
    )
    rest(book)
    assert kinds(book) == [
        ["image/png", "text/plain"], ["text/html", "text/plain"], [WIDGET_VIEW, "text/plain"],
    ]  # fmt: skip


def test_a_view_whose_state_was_saved_stays():
    book = notebook(VIEW | {"text/html": ""})
    book.metadata["widgets"] = {STATE: {"state": {"abc": {}}}}
    rest(book)
    assert kinds(book) == [[WIDGET_VIEW, "text/html"]]


class Server(Configurable):
    """What a contents manager asks its server: which pages have a kernel."""

    pages = ()

    @property
    def session_manager(self):
        return self

    async def list_sessions(self):
        return [{"path": page} for page in self.pages]


@pytest.fixture
def server():
    return Server()


def notary():
    """Signatures kept in memory: not in this machine's own file, which would be left open."""
    return NotebookNotary(store_factory=MemorySignatureStore, secret=b"of this test")


@pytest.fixture
def opened(server, tmp_path):
    """`opened(name)` is a file as the server gives it."""
    contents = Contents(root_dir=str(tmp_path), parent=server, notary=notary())
    return lambda name, **asked: asyncio.run(contents.get(name, **asked))


def test_a_page_without_a_kernel_shows_the_picture_and_the_file_stays(server, opened, tmp_path):
    write(notebook(VIEW | {"image/png": "iVBORw0KGgo="}), tmp_path / "mine.ipynb")
    before = (tmp_path / "mine.ipynb").read_bytes()
    server.pages = ("other.ipynb",)
    assert kinds(opened("mine.ipynb")["content"]) == [["image/png"]]
    server.pages = ("other.ipynb", "mine.ipynb")
    assert kinds(opened("/mine.ipynb")["content"]) == [[WIDGET_VIEW, "image/png"]]
    assert (tmp_path / "mine.ipynb").read_bytes() == before


@pytest.mark.parametrize(
    "text",
    [b"", b"{", b"[]", b'{"cells": 3}', b"\xff",
     b'{"cells": [{"outputs": [3]}], "metadata": {"widgets": 3}, "nbformat": 4}',
     b'{"cells": [], "metadata": {"widgets": 3}, "nbformat": 4, "nbformat_minor": 5}'],
)  # fmt: skip
def test_what_is_no_notebook_is_answered_as_ever(opened, tmp_path, text):
    (tmp_path / "broken.ipynb").write_bytes(text)
    usual = AsyncLargeFileManager(root_dir=str(tmp_path), notary=notary())
    try:
        wanted = asyncio.run(usual.get("broken.ipynb"))
    except HTTPError as refusal:
        with pytest.raises(HTTPError, match=str(refusal.status_code)):
            opened("broken.ipynb")
    else:
        assert opened("broken.ipynb")["content"] == wanted["content"]


def test_other_files_and_folders_are_given_as_ever(opened, tmp_path):
    (tmp_path / "notes.txt").write_text("mine")
    write(notebook(), tmp_path / "mine.ipynb")
    assert opened("notes.txt")["content"] == "mine"
    assert {each["name"] for each in opened("")["content"]} == {"notes.txt", "mine.ipynb"}
    assert opened("mine.ipynb", content=False)["content"] is None


def test_panels_and_questions_have_something_to_show_instead(tmp_path, monkeypatch):
    monkeypatch.setenv("BOXLAB_HOME", str(tmp_path))
    panel, _ = Panel(explainer("first_experiment"))._repr_mimebundle_()
    cards = [quiz.exercise(port_length), quiz.learner(), quiz.progress(), quiz.overview()]
    for data in (panel, Desk()._repr_mimebundle_()[0], *(c._repr_mimebundle_() for c in cards)):
        assert data[WIDGET_VIEW]
        book = notebook(data)
        rest(book)
        assert WIDGET_VIEW not in book.cells[1].outputs[0].data


def test_lessons_are_opened_with_it():
    (option,) = [word for word in start.LAB if "contents_manager_class" in word]
    module, name = option.partition("=")[2].rsplit(".", 1)
    assert getattr(importlib.import_module(module), name) is Contents
    hub = (start.ROOT / ".binder" / "jupyterhub_config.py").read_text(encoding="utf-8")
    assert all(f'"{word}"' in hub for word in start.LAB[1:])
