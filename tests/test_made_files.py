"""Nothing that somebody else put into a folder is ever lost, however a run ends."""

import hashlib
import json
import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest
from nbformat.v4 import new_markdown_cell, new_notebook

from boxlab.base import drafts, made_files
from boxlab.base.made_files import RECORD, check_free, write_set
from boxlab.base.progress import Store
from boxlab.explainers import explainer
from boxlab.publish import notebooks, pictures
from boxlab.quiz import handing_in
from boxlab.quiz.learner_word import Pupil


def inside(folder):
    return {
        p.relative_to(folder).as_posix(): p.read_bytes()
        for p in folder.rglob("*")
        if p.is_file() and p.name != RECORD
    }


def test_a_newer_set_takes_the_place_of_an_older_one(tmp_path):
    write_set(tmp_path / "out", "site", {"index.html": "1", "old/gone.html": "x"})
    assert write_set(tmp_path / "out", "site", {"index.html": "2", "new.html": "y"}) == []
    assert inside(tmp_path / "out") == {"index.html": b"2", "new.html": b"y"}
    assert not (tmp_path / "out/old").exists()


def test_whatever_else_lies_there_stays(tmp_path):
    out = tmp_path / "out"
    write_set(out, "site", {"index.html": "1", "lessons/a.html": "x"})
    mine = {"CNAME": b"example.org", "notes.txt": b"n", ".git/HEAD": b"ref", "lessons/me.jpg": b"j"}
    for name, data in mine.items():
        (out / name).parent.mkdir(exist_ok=True)
        (out / name).write_bytes(data)
    assert write_set(out, "site", {"index.html": "2"}) == []
    assert inside(out) == mine | {"index.html": b"2"}


def test_a_file_that_somebody_changed_stays_and_is_named(tmp_path):
    write_set(tmp_path, "slides", {"a.html": "1", "b.html": "1"})
    (tmp_path / "a.html").write_text("mine")
    (tmp_path / "b.html").write_text("mine too")
    left = write_set(tmp_path, "slides", {"a.html": "2"})
    assert inside(tmp_path) == {"a.html": b"mine", "b.html": b"mine too"}
    assert len(left) == 2 and "changed by somebody" in left[0]


def test_a_file_in_the_way_stays(tmp_path):
    write_set(tmp_path, "slides", {"a.html": "1"})
    (tmp_path / "b.html").write_text("mine")
    (left,) = write_set(tmp_path, "slides", {"a.html": "1", "b.html": "2"})
    assert "was there already" in left
    assert (tmp_path / "b.html").read_text() == "mine"
    write_set(tmp_path, "slides", {"a.html": "1"})
    assert (tmp_path / "b.html").read_text() == "mine"


def test_a_folder_with_other_things_is_refused(tmp_path):
    (tmp_path / "photo.jpg").write_bytes(b"j")
    with pytest.raises(ValueError, match=r"holds other things, such as photo\.jpg"):
        write_set(tmp_path, "site", {"index.html": "1"})
    assert inside(tmp_path) == {"photo.jpg": b"j"}
    with pytest.raises(ValueError, match="that is a file"):
        check_free(tmp_path / "photo.jpg", "site")


def test_an_index_of_ours_alone_gives_no_right_to_the_folder(tmp_path):
    (tmp_path / "index.html").write_text('<meta name="generator" content="boxlab">')
    (tmp_path / "thesis.txt").write_text("years of work")
    with pytest.raises(ValueError, match="holds other things"):
        write_set(tmp_path, "site", {"index.html": "1"})
    assert (tmp_path / "thesis.txt").exists()


def test_a_fresh_repository_may_take_a_site(tmp_path):
    (tmp_path / ".git").mkdir()
    (tmp_path / ".git/HEAD").write_text("ref")
    (tmp_path / "CNAME").write_text("example.org")
    write_set(tmp_path, "site", {"index.html": "1"})
    assert (tmp_path / ".git/HEAD").exists() and (tmp_path / "CNAME").exists()


def test_one_kind_does_not_replace_another_and_a_broken_record_touches_nothing(tmp_path):
    write_set(tmp_path, "site", {"index.html": "1"})
    with pytest.raises(ValueError, match="it holds site"):
        write_set(tmp_path, "slides", {"index.html": "2"})
    (tmp_path / RECORD).write_text("{")
    with pytest.raises(ValueError, match="cannot be read"):
        write_set(tmp_path, "site", {"index.html": "2"})
    assert (tmp_path / "index.html").read_text() == "1"


@pytest.mark.parametrize("name", ["../out.html", "/etc/passwd"])
def test_nothing_is_written_outside(tmp_path, name):
    with pytest.raises(ValueError, match="inside the folder"):
        write_set(tmp_path / "in", "site", {name: "x"})


@pytest.mark.parametrize("after", [0, 1, 3, 5])
def test_a_run_that_is_killed_can_be_run_again(tmp_path, after):
    write_set(tmp_path / "out", "slides", {"b.html": "old", "z.html": "old"})
    (tmp_path / "out/mine.txt").write_text("mine")
    code = f"""
import os, signal, sys
from boxlab.base import made_files
put, count = made_files.put, 0
def dying(*rest):
    global count
    if count == {after}:
        os.kill(os.getpid(), signal.SIGKILL)
    count += 1
    put(*rest)
made_files.put = dying
made_files.write_set(sys.argv[1], "slides", {{n + ".html": "new" for n in "abcd"}})
"""
    done = subprocess.run([sys.executable, "-c", code, str(tmp_path / "out")])
    assert done.returncode == -signal.SIGKILL
    new = {f"{name}.html": "new" for name in "abcd"}
    assert write_set(tmp_path / "out", "slides", new) == []
    want = dict.fromkeys(new, b"new") | {"mine.txt": b"mine"}
    got = {n: c for n, c in inside(tmp_path / "out").items() if not n.startswith(".boxlab-")}
    assert got == want


def test_pictures_of_somebody_else_stay(tmp_path, monkeypatch):
    monkeypatch.setattr(pictures, "all_explainers", lambda: ())
    monkeypatch.setattr(pictures, "index", lambda items: "Made.\n")
    for name in ("diagram.svg", "photo.png", "retired.svg", "retired.png"):
        (tmp_path / name).write_text("x")
    (tmp_path / "README.md").write_text("Files: [SVG](retired.svg). Name: `retired`.")
    pictures.write_all(tmp_path)
    assert sorted(p.name for p in tmp_path.iterdir()) == ["README.md", "diagram.svg", "photo.png"]


def test_a_draft_typed_after_the_clock_was_set_back_shows(tmp_path, monkeypatch):
    box = drafts.Drafts(lambda: tmp_path, page="a")
    handed_in = "2026-11-27T12:00:00.000000+00:00"
    assert box.get("x", handed_in) is None
    monkeypatch.setattr(drafts, "now", lambda: "2026-11-26T12:00:00.000000+00:00")
    box.put("x", "12")
    assert box.get("x", handed_in) == "12"
    box.put("x", "12.5")
    box.flush()
    again = drafts.Drafts(lambda: tmp_path, page="a")
    assert again.get("x", handed_in) == "12.5"


def test_files_are_readable_by_others(tmp_path):
    write_set(tmp_path / "out", "site", {"index.html": "1"})
    if os.name != "nt":
        assert (tmp_path / "out/index.html").stat().st_mode & 0o044 == 0o044
    assert made_files.RECORD.startswith(".")


def test_a_changed_file_stays_whatever_its_folder_is_called(tmp_path):
    out = tmp_path / "this was mine"
    write_set(out, "slides", {"a.html": "1", "b.html": "1"})
    (out / "b.html").write_text("mine")
    (left,) = write_set(out, "slides", {"a.html": "2"})
    assert "b.html was changed by somebody" in left
    assert inside(out) == {"a.html": b"2", "b.html": b"mine"}


@pytest.mark.parametrize("name", ["../thesis.txt", "{above}/thesis.txt"])
def test_a_record_that_names_files_elsewhere_removes_nothing_there(tmp_path, name):
    thesis = tmp_path / "thesis.txt"
    thesis.write_text("years of work")
    write_set(tmp_path / "out", "slides", {"a.html": "1"})
    record = json.loads((tmp_path / "out" / RECORD).read_text())
    mark = hashlib.sha256(b"years of work").hexdigest()
    record["files"][name.format(above=tmp_path)] = [mark]
    (tmp_path / "out" / RECORD).write_text(json.dumps(record))
    with pytest.raises(ValueError, match="cannot be read"):
        write_set(tmp_path / "out", "slides", {"a.html": "2"})
    assert thesis.read_text() == "years of work"


def test_a_folder_where_a_file_should_go_stays_and_so_does_a_file_where_a_folder_should(tmp_path):
    write_set(tmp_path, "site", {"index.html": "1", "old.html": "1"})
    (tmp_path / "old.html").unlink()
    for name in ("old.html/mine.txt", "a.html/mine.txt"):
        (tmp_path / name).parent.mkdir()
        (tmp_path / name).write_text("mine")
    (tmp_path / "lessons").write_text("mine")
    left = write_set(tmp_path, "site", {"index.html": "2", "a.html": "2", "lessons/b.html": "2"})
    assert len(left) == 3
    mine = dict.fromkeys(("old.html/mine.txt", "a.html/mine.txt", "lessons"), b"mine")
    assert inside(tmp_path) == {"index.html": b"2"} | mine


def test_a_name_that_changes_its_capitals_is_not_lost(tmp_path, monkeypatch):
    # on a disk that holds capitals for nothing, both names are one file: it goes before it comes
    order = []
    remove, write = Path.unlink, made_files.put
    monkeypatch.setattr(Path, "unlink", lambda p, **k: (order.append(p.name), remove(p, **k)))
    monkeypatch.setattr(made_files, "put", lambda p, *r: (order.append(p.name), write(p, *r)))
    write_set(tmp_path, "site", {"About.html": "1"})
    write_set(tmp_path, "site", {"about.html": "1"})
    assert order.index("about.html") > order.index("About.html", order.index("About.html") + 1)


def test_a_run_killed_while_it_writes_a_file_leaves_nothing_once_it_is_run_again(tmp_path):
    code = """
import os, signal, sys
from boxlab.base import made_files, safe_write
def dying(*_):
    if os.path.getsize(max(os.scandir(sys.argv[1]), key=lambda e: e.stat().st_mtime_ns).path) < 9:
        os.kill(os.getpid(), signal.SIGKILL)
safe_write.os.fsync = dying
made_files.write_set(sys.argv[1], "slides", {"a.html": "new"})
"""
    done = subprocess.run([sys.executable, "-c", code, str(tmp_path)])
    assert done.returncode == -signal.SIGKILL
    assert len(list(tmp_path.iterdir())) == 2  # the record, and half a page under another name
    assert write_set(tmp_path, "slides", {"a.html": "new"}) == []
    assert sorted(p.name for p in tmp_path.iterdir()) == [RECORD, "a.html"]


def test_a_picture_that_stands_where_a_new_one_should_go_stays(tmp_path, monkeypatch):
    monkeypatch.setattr(pictures, "all_explainers", lambda: (explainer("phasors"),))
    monkeypatch.setattr(pictures, "render", lambda *rest: b"drawn")
    (tmp_path / "README.md").write_text("Files: none.")
    (tmp_path / "phasors.png").write_bytes(b"photo")
    with pytest.raises(ValueError, match=r"phasors\.png is there"):
        pictures.write_all(tmp_path)
    assert (tmp_path / "phasors.png").read_bytes() == b"photo"
    (tmp_path / "phasors.png").unlink()
    pictures.write_all(tmp_path)
    pictures.write_all(tmp_path)
    assert (tmp_path / "phasors.png").read_bytes() == b"drawn"


def test_pictures_killed_half_way_can_be_drawn_again(tmp_path, monkeypatch):
    monkeypatch.setattr(pictures, "all_explainers", lambda: (explainer("phasors"),))
    drawn = iter([b"svg"])
    monkeypatch.setattr(pictures, "render", lambda *rest: next(drawn))
    with pytest.raises(StopIteration):
        pictures.write_all(tmp_path)
    monkeypatch.setattr(pictures, "render", lambda *rest: b"drawn")
    pictures.write_all(tmp_path)
    assert (tmp_path / "phasors.svg").read_bytes() == b"drawn"


@pytest.mark.parametrize("kind", ["lesson", "results"])
def test_a_full_disk_leaves_the_old_file_and_no_half_of_a_new_one(kind, tmp_path, monkeypatch):
    def lesson(text):
        notebooks.write(new_notebook(cells=[new_markdown_cell(text)]), tmp_path / "a.ipynb")

    def results(text):
        handing_in.hand_in(Pupil(Store(tmp_path / "none")), tmp_path / "a.json", text)

    def full(*_):
        raise OSError(28, "No space left on device")

    write = {"lesson": lesson, "results": results}[kind]
    write("old")
    (before,) = [(path.name, path.read_bytes()) for path in tmp_path.iterdir()]
    monkeypatch.setattr(os, "replace", full)
    with pytest.raises(OSError, match="No space"):
        write("new")
    assert [(path.name, path.read_bytes()) for path in tmp_path.iterdir()] == [before]
