"""Work that is kept on a disk that fills up, cannot be written, or holds what is not ours."""

import errno
import json
import os
import subprocess
import sys

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from boxlab.base import safe_write
from boxlab.base.progress import FILE, Store
from boxlab.panel import sweep_store
from boxlab.quiz import summary
from boxlab.quiz.learner_word import Pupil
from boxlab.quiz.static_html import Question


@pytest.fixture
def home(tmp_path, monkeypatch):
    monkeypatch.setenv("BOXLAB_HOME", str(tmp_path))
    return tmp_path


def failing(number):
    def fail(*_, **__):
        raise OSError(number, os.strerror(number))

    return fail


# A disk that fills up while a file is being written: the system itself refuses to write on.

FULL = """
import resource, signal, sys
from pathlib import Path
from boxlab.panel import sweep_store as sweepkeep
from boxlab.base.progress import Store

store = Store()
store.add("before")
copy = sweepkeep.keep("small.csv", b"20 5\\n")
signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
resource.setrlimit(resource.RLIMIT_FSIZE, (1000, resource.RLIM_INFINITY))
store.add("during", text="x" * 5000)
assert "Not saved to" in store.notice, store.notice
assert [e["what"] for e in store.events] == ["before", "during"]
try:
    sweepkeep.keep("large.csv", b"20 5\\n" * 5000)
except OSError:
    pass
else:
    raise SystemExit("a copy was kept that cannot have been")
assert sweepkeep.kept() == [copy] and copy.read_bytes() == b"20 5\\n"
left = sorted(p.name for p in Path(sys.argv[1]).rglob("*") if p.is_file())
assert left == sorted([copy.name, "progress.json", "progress.lock"]), left
assert [e["what"] for e in Store().events] == ["before"]
resource.setrlimit(resource.RLIMIT_FSIZE, (resource.RLIM_INFINITY, resource.RLIM_INFINITY))
store.add("after")
assert store.notice == ""
assert [e["what"] for e in Store().events] == ["before", "during", "after"]
"""


@pytest.mark.skipif(sys.platform == "win32", reason="this system sets no limit on file sizes")
def test_a_disk_that_fills_up_in_the_middle_of_a_file(home):
    run = subprocess.run(
        [sys.executable, "-c", FULL, str(home)], capture_output=True, text=True, timeout=120
    )
    assert run.returncode == 0, run.stderr + run.stdout


@pytest.mark.parametrize("number", [errno.EROFS, errno.EACCES, errno.ENOSPC, errno.EDQUOT])
def test_a_folder_that_takes_no_file(home, monkeypatch, number):
    store = Store()
    store.add("before")
    with monkeypatch.context() as patch:
        patch.setattr(safe_write.tempfile, "mkstemp", failing(number))
        store.add("during")
        assert os.strerror(number) in store.notice and str(store.path) in store.notice
        assert [e["what"] for e in store.events] == ["before", "during"]
        with pytest.raises(OSError, match=os.strerror(number)):
            sweep_store.keep("box.csv", b"20 5\n")
    assert store.save()
    assert [e["what"] for e in Store().events] == ["before", "during"]


@pytest.mark.parametrize("step", ["fsync", "replace"])
def test_a_copy_that_fails_leaves_nothing_behind(home, monkeypatch, step):
    with monkeypatch.context() as patch:
        patch.setattr(safe_write.os, step, failing(errno.EIO))
        with pytest.raises(OSError):
            sweep_store.keep("box.csv", b"20 5\n")
    assert list((home / "sweeps").iterdir()) == []


def test_many_tabs_at_once_keep_every_table(home):
    code = (
        "import sys; from boxlab.panel import sweep_store as sweepkeep\n"
        "for i in range(20): sweepkeep.keep('box.csv', f'{sys.argv[1]} {i}'.encode())\n"
        "sweepkeep.keep('box.csv', b'the same')"
    )
    runs = [subprocess.Popen([sys.executable, "-c", code, str(n)]) for n in range(3)]
    assert [run.wait(120) for run in runs] == [0] * 3
    kept = [path.read_bytes() for path in sweep_store.kept()]
    assert {f"{n} {i}".encode() for n in range(3) for i in range(20)} < set(kept)
    assert b"the same" in kept
    assert len(list((home / "sweeps").iterdir())) == len(kept)


def test_files_that_are_not_copies_are_passed_over(home):
    place = home / "sweeps"
    place.mkdir()
    for name in ("2026 notes.txt", "1", "20260105-193000-nothex-x.csv", ".new-abc", "box.csv"):
        (place / name).write_text("mine")
    (place / "20260105-193000-0123456789-folder").mkdir()
    path = sweep_store.keep("box.csv", b"20 5\n")
    assert sweep_store.kept() == [path]
    assert len(list(place.iterdir())) == 7


# A progress file that somebody or something has written into.

anything = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=8),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=5), inner),
    max_leaves=5,
)
NAMES = ["prediction", "attempt", "hint", "solution", "learner", "else"]
event = st.fixed_dictionaries(
    {"id": st.uuids().map(str), "at": st.text(max_size=8), "what": st.sampled_from(NAMES)},
    optional={
        "key": st.just("a/b") | anything,
        "choice": st.just("yes") | anything,
        "text": anything,
        "seed": anything | st.just("\ud800"),
        "step": st.integers(0, 3) | anything,
        "of": st.integers(0, 3) | anything,
        "count": anything,
        "verdict": st.just("right") | anything,
    },
)
QUESTION = Question("a/b", "Which?", ("yes", "no"))


@settings(max_examples=150, deadline=None)
@given(events=st.lists(event, max_size=6))
def test_strange_events_disturb_nobody_and_stay_in_the_file(tmp_path_factory, events):
    folder = tmp_path_factory.mktemp("home")
    (folder / FILE).write_text(json.dumps({"schema": 1, "events": events}))
    pupil = Pupil(Store(folder))
    pupil.questions["a/b"] = QUESTION
    pupil.seed.encode()
    assert pupil.prediction(QUESTION) in ("", "yes", "no")
    assert isinstance(pupil.last_typed("a/b", 0), str)
    assert "<table>" in summary.progress_html(pupil, {})
    json.dumps(summary.results(pupil), allow_nan=False)
    pupil.record("prediction", key="a/b", choice="no")
    assert pupil.store.notice == ""
    assert Pupil(Store(folder)).prediction(QUESTION) == "no"
    written = json.loads((folder / FILE).read_text())["events"]
    assert [e["id"] for e in written[:-1]] == [e["id"] for e in events]
