"""The progress file: nothing lost, nothing overwritten, no names."""

import errno
import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from boxlab.base import progress, safe_write
from boxlab.base.progress import FILE, Store, home


def whats(store):
    return [event["what"] for event in store.events]


def test_the_folder_can_be_chosen(monkeypatch, tmp_path):
    monkeypatch.setenv("BOXLAB_HOME", str(tmp_path / "mine"))
    assert home() == tmp_path / "mine"
    monkeypatch.delenv("BOXLAB_HOME")
    assert home().name == "boxlab"


def test_what_is_recorded_is_there_after_a_restart(tmp_path):
    Store(tmp_path).add("attempt", key="a/b", text="45,2 \ud800 <b> 'ü'")
    (event,) = Store(tmp_path).events
    assert event["text"] == "45,2 \ud800 <b> 'ü'"
    assert [p.name for p in sorted(tmp_path.iterdir())] == ["progress.json", "progress.lock"]


def test_reading_alone_writes_nothing(tmp_path):
    store = Store(tmp_path / "none")
    assert store.events == []
    assert not (tmp_path / "none").exists()


def test_two_notebooks_see_each_other(tmp_path):
    one, two = Store(tmp_path), Store(tmp_path)
    one.add("first")
    two.add("second")
    one.add("third")
    assert whats(one) == whats(two) == ["first", "second", "third"]


def test_many_processes_at_once_lose_nothing(tmp_path):
    code = (
        "import sys; from pathlib import Path; from boxlab.base.progress import Store\n"
        "s = Store(Path(sys.argv[1]))\n"
        "for i in range(25): s.add('attempt', key=f'{sys.argv[2]}/{i}')\n"
        "assert not s.notice, s.notice"
    )
    runs = [subprocess.Popen([sys.executable, "-c", code, str(tmp_path), str(n)]) for n in range(4)]
    assert [run.wait(60) for run in runs] == [0] * 4
    keys = {event["key"] for event in Store(tmp_path).events}
    assert keys == {f"{n}/{i}" for n in range(4) for i in range(25)}


@pytest.mark.parametrize(
    "broken",
    [b"", b"{", b"[]", b"\xff\xfe", b'{"schema": 1}', b'{"schema": 1, "events": [1]}',
     b'{"schema": 0, "events": []}', b'{"schema": 1, "events": ""}', b"[" * 100_000],
)  # fmt: skip
def test_a_broken_file_is_kept_aside(tmp_path, broken):
    (tmp_path / FILE).write_bytes(broken)
    store = Store(tmp_path)
    assert store.events == []
    store.add("attempt")
    assert "kept as progress.json.broken" in store.notice
    assert (tmp_path / "progress.json.broken").read_bytes() == broken
    assert whats(Store(tmp_path)) == ["attempt"]
    (tmp_path / FILE).write_bytes(broken)
    store.add("again")
    assert (tmp_path / "progress.json.broken-2").read_bytes() == broken
    # what this notebook had read before goes into the new file too
    assert whats(Store(tmp_path))[-1] == "again"


def test_events_already_read_survive_a_broken_file(tmp_path):
    store = Store(tmp_path)
    store.add("first")
    (tmp_path / FILE).write_text("{")
    store.add("second")
    assert whats(Store(tmp_path)) == ["first", "second"]


def test_a_file_from_a_newer_boxlab_is_left_alone(tmp_path):
    newer = json.dumps({"schema": 2, "events": [], "more": 1})
    (tmp_path / FILE).write_text(newer)
    store = Store(tmp_path)
    store.add("attempt")
    assert "newer boxlab" in store.notice
    assert whats(store) == ["attempt"]
    assert (tmp_path / FILE).read_text() == newer


def test_a_folder_that_cannot_be_written_keeps_it_in_memory(tmp_path):
    (tmp_path / "file").write_text("in the way")
    store = Store(tmp_path / "file")
    store.add("attempt")
    assert "Not saved" in store.notice
    assert whats(store) == ["attempt"]


def test_a_full_disk_loses_nothing(tmp_path, monkeypatch):
    store = Store(tmp_path)
    store.add("before")

    def full(_):
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    with monkeypatch.context() as patch:
        patch.setattr(safe_write.os, "fsync", full)
        store.add("during")
        assert "No space left" in store.notice
        assert whats(store) == ["before", "during"]
        assert whats(Store(tmp_path)) == ["before"]
        assert not list(tmp_path.glob("*.tmp"))
    store.add("after")
    assert store.notice == ""
    assert whats(Store(tmp_path)) == ["before", "during", "after"]


def test_a_lock_held_for_long_is_said_and_waited_out(tmp_path, monkeypatch):
    monkeypatch.setattr(progress, "PATIENCE", 0.05)
    store = Store(tmp_path)
    with safe_write.lock(tmp_path / "progress.lock", 1):
        store.add("attempt")
        assert "busy" in store.notice
    assert store.save()
    assert whats(Store(tmp_path)) == ["attempt"]


def test_forgetting_deletes_every_copy(tmp_path):
    store, other = Store(tmp_path), Store(tmp_path)
    (tmp_path / FILE).write_text("{")
    store.add("attempt")
    assert whats(other) == ["attempt"]
    gone = store.forget()
    assert {p.name for p in gone} == {"progress.json", "progress.json.broken"}
    assert store.events == other.events == []
    other.add("later")
    assert whats(store) == ["later"]
    assert Store(Path(tmp_path / "never")).forget() == []


def test_a_crash_while_writing_leaves_the_old_file(tmp_path):
    Store(tmp_path).add("before")
    code = (
        "import os, sys; from pathlib import Path; from boxlab.base import progress\n"
        "progress.os.fsync = lambda _: os._exit(9)\n"
        "progress.Store(Path(sys.argv[1])).add('during')"
    )
    assert subprocess.run([sys.executable, "-c", code, str(tmp_path)]).returncode == 9
    store = Store(tmp_path)
    store.add("after")
    assert whats(Store(tmp_path)) == ["before", "after"]
    assert len(store.forget()) == 2  # the unfinished write goes too
