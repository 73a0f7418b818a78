"""What was typed and not handed in: there again after a restart, and nobody else's undone."""

import asyncio
import errno
import json
import os
import subprocess
import sys
import threading
import time

import pytest

from boxlab import quiz
from boxlab.base import drafts, safe_write
from boxlab.base.drafts import COUNT, FILE, LONGEST, MOST, REST, Drafts
from boxlab.base.progress import Store
from boxlab.panel.sweep_desk import Desk
from boxlab.quiz.exercises.port_or_radiator import port_length
from boxlab.quiz.learner_word import Pupil


def at(folder, page="one"):
    return Drafts(lambda: folder, page)


def on_disk(folder):
    return [e["text"] for e in json.loads((folder / FILE).read_text(encoding="utf-8"))["drafts"]]


@pytest.fixture
def learner(tmp_path, monkeypatch):
    """`learner()` is the same learner each time, in a kernel just started."""
    monkeypatch.setenv("BOXLAB_HOME", str(tmp_path))

    def started():
        monkeypatch.setattr(quiz, "pupil", Pupil(Store()))
        return quiz.pupil

    started()
    return started


# The file.


def test_a_draft_outlives_its_kernel(tmp_path):
    at(tmp_path).put("a", "45,2 \ud800 <b> 'ü'")
    assert at(tmp_path).get("a") == "45,2 \ud800 <b> 'ü'"
    assert at(tmp_path).get("b") is None


def test_what_was_handed_in_is_gone(tmp_path):
    one = at(tmp_path)
    one.put("a", "45")
    one.put("b", "46")
    one.put("a", None)
    assert one.get("a") is None
    assert at(tmp_path).get("a") is None
    assert on_disk(tmp_path) == ["46"]


def test_reading_and_handing_in_alone_write_nothing(tmp_path):
    one = at(tmp_path / "none")
    assert one.get("a") is None
    one.put("a", None)
    assert not (tmp_path / "none").exists()


def test_a_draft_older_than_the_answer_does_not_come_back(tmp_path):
    one = at(tmp_path)
    before = drafts.now()
    one.put("a", "45")
    assert one.get("a", since=before) == at(tmp_path).get("a", since=before) == "45"
    after = drafts.now()
    assert one.get("a", since=after) is at(tmp_path).get("a", since=after) is None


def test_two_notebooks_keep_their_own_of_the_same_box(tmp_path):
    one, two = at(tmp_path), at(tmp_path, "two")
    one.put("a", "mine")
    two.put("a", "other")
    one.put("b", "more")
    assert [at(tmp_path).get("a"), at(tmp_path, "two").get("a")] == ["mine", "other"]
    two.put("a", None)
    assert at(tmp_path).get("a") == "mine"


def test_a_renamed_notebook_finds_the_latest(tmp_path):
    at(tmp_path).put("a", "older")
    at(tmp_path, "two").put("a", "newer")
    assert at(tmp_path, "renamed").get("a") == "newer"
    assert str(tmp_path) not in (tmp_path / FILE).read_text(encoding="utf-8")


def test_many_notebooks_at_once_lose_nothing(tmp_path):
    code = (
        "import sys; from pathlib import Path; from boxlab.base.drafts import Drafts\n"
        "own = Drafts(lambda: Path(sys.argv[1]), sys.argv[2])\n"
        "for i in range(15): own.put(str(i), f'{sys.argv[2]} {i}')\n"
        "assert own.flush()"
    )
    runs = [subprocess.Popen([sys.executable, "-c", code, str(tmp_path), str(n)]) for n in range(3)]
    assert [run.wait(60) for run in runs] == [0] * 3
    assert set(on_disk(tmp_path)) == {f"{n} {i}" for n in range(3) for i in range(15)}


def test_the_file_stays_small(tmp_path):
    one = at(tmp_path)
    one.put("long", "x" * (LONGEST + 1))
    assert one.get("long") == "x" * (LONGEST + 1)
    assert at(tmp_path).get("long") is None
    for number in range(MOST // (LONGEST - 100) + 3):
        one.put(f"large {number}", f"{number}" + "y" * (LONGEST - 100))
    kept = on_disk(tmp_path)
    assert sum(map(len, kept)) <= MOST and len(kept) >= 5
    assert kept[-1].startswith(f"{number}y")
    with one._guard:
        one._own |= {str(n): one._own["long"] | {"box": str(n), "text": "z"} for n in range(600)}
        one._due |= {str(n) for n in range(600)}
    assert one.flush()
    assert len(on_disk(tmp_path)) <= COUNT


@pytest.mark.parametrize("number", [errno.EROFS, errno.EACCES, errno.ENOSPC, errno.EDQUOT])
def test_a_disk_that_takes_nothing(tmp_path, monkeypatch, number):
    one = at(tmp_path)
    one.put("a", "before")

    def fail(*_, **__):
        raise OSError(number, os.strerror(number))

    with monkeypatch.context() as patch:
        patch.setattr(safe_write.tempfile, "mkstemp", fail)
        one.put("a", "during")
        one.put("b", "also")
        assert not one.flush()
        assert one.get("a") == "during"
        assert at(tmp_path).get("a") == "before"
    one.put("c", "after")
    assert sorted(on_disk(tmp_path)) == ["after", "also", "during"]


def test_a_folder_that_is_none(tmp_path):
    (tmp_path / "file").write_text("in the way")
    one = at(tmp_path / "file")
    one.put("a", "45")
    assert one.get("a") == "45"
    assert not one.flush()


@pytest.mark.parametrize(
    "broken",
    [b"", b"{", b"[]", b"\xff\xfe", b'{"schema": 1}', b'{"schema": 1, "drafts": [1]}',
     b'{"schema": 1, "drafts": [{"box": "a", "page": "", "at": "", "text": 1}]}', b"[" * 100_000],
)  # fmt: skip
def test_a_broken_file_is_kept_aside(tmp_path, broken):
    (tmp_path / FILE).write_bytes(broken)
    one = at(tmp_path)
    assert one.get("a") is None
    one.put("a", "45")
    assert at(tmp_path).get("a") == "45"
    assert (tmp_path / f"{FILE}.broken").read_bytes() == broken


def test_a_file_from_a_newer_boxlab_is_left_alone(tmp_path):
    newer = json.dumps({"schema": 2, "drafts": {}})
    (tmp_path / FILE).write_text(newer)
    one = at(tmp_path)
    one.put("a", "45")
    assert one.get("a") == "45"
    assert (tmp_path / FILE).read_text() == newer


# When it is written.


def test_letters_are_gathered_and_the_last_one_lands(tmp_path, monkeypatch):
    swaps = []
    whole = safe_write.swap
    monkeypatch.setattr(safe_write, "swap", lambda *a: (swaps.append(time.monotonic()), whole(*a)))
    one = at(tmp_path)

    async def typing():
        until = time.monotonic() + 3 * REST
        count = 0
        while time.monotonic() < until:
            count += 1
            one.put("a", "x" * count)
            await asyncio.sleep(0.01)
        assert count > 20
        assert 2 <= len(swaps) <= 4, "written now and then: not at each letter, not only at the end"
        await asyncio.sleep(2 * REST)
        return count

    count = asyncio.run(typing())
    assert at(tmp_path).get("a") == "x" * count


def test_handing_in_is_written_at_once(tmp_path):
    one = at(tmp_path)

    async def typed_and_checked():
        one.put("a", "45")
        one.put("a", None)
        one.put("b", "46")
        one.put("b", "47")
        one.put("c", "48")
        one.put("c", None)
        return on_disk(tmp_path)

    assert asyncio.run(typed_and_checked()) == ["47"]


def test_a_slow_disk_does_not_hold_up_the_typing(tmp_path, monkeypatch):
    go_on, begun = threading.Event(), threading.Event()
    whole = safe_write.swap

    def slow(*a):
        begun.set()
        assert go_on.wait(20)
        whole(*a)

    monkeypatch.setattr(safe_write, "swap", slow)
    one = at(tmp_path)

    async def typing():
        one.put("a", "first")
        assert await asyncio.to_thread(begun.wait, 20)
        before = time.monotonic()
        one.put("a", "second")
        assert one.get("a") == "second"
        held = time.monotonic() - before
        go_on.set()
        return held

    assert asyncio.run(typing()) < 5
    assert one.flush()
    assert on_disk(tmp_path) == ["second"]


def test_a_kernel_that_is_told_to_stop_writes_what_is_due(tmp_path):
    code = (
        "import asyncio, sys; from pathlib import Path; from boxlab.base.drafts import Drafts\n"
        "own = Drafts(lambda: Path(sys.argv[1]), 'one')\n"
        "async def main(): own.put('a', '45')\n"
        "asyncio.run(main())\n"
        "assert own._due"
    )
    subprocess.run([sys.executable, "-c", code, str(tmp_path)], check=True, timeout=60)
    assert at(tmp_path).get("a") == "45"


def test_a_draft_goes_where_it_was_typed_if_the_home_changes(tmp_path, monkeypatch):
    place = [tmp_path / "first"]
    one = Drafts(lambda: place[0], "one")

    async def typing():
        one.put("a", "45")
        place[0] = tmp_path / "second"
        await asyncio.sleep(2 * REST)

    asyncio.run(typing())
    assert on_disk(tmp_path / "first") == ["45"]
    assert not (tmp_path / "second").exists()


# The boxes of the lessons.


def drill():
    return quiz.exercise(port_length).live


def test_an_answer_that_was_not_checked_is_back(learner):
    drill().fields[0].value = "about 40 cm?"
    learner()
    again = drill()
    assert again.fields[0].value == "about 40 cm?"
    assert again.verdicts[0].value == ""
    assert quiz.pupil.store.events == []


def test_a_checked_answer_is_no_draft(learner, tmp_path):
    one = drill()
    one.fields[0].value = "40 cm"
    one.check()
    assert on_disk(tmp_path) == []
    one.fields[0].value = "41 cm"
    learner()
    again = drill()
    assert again.fields[0].value == "41 cm"
    again.fields[0].value = "40 cm"
    again.check()
    learner()
    assert drill().fields[0].value == "40 cm"


def test_showing_an_exercise_writes_nothing(learner, tmp_path):
    one = drill()
    one.fields[0].value = "40 cm"
    one.check()
    (tmp_path / FILE).unlink()
    learner()
    drill()
    assert not (tmp_path / FILE).exists()


def test_drafts_belong_to_the_numbers_they_answer(learner):
    drill().fields[0].value = "40 cm"
    quiz.learner("walnut")
    learner()
    assert drill().fields[0].value == ""
    quiz.learner("demo")
    assert drill().fields[0].value == "40 cm"


def test_a_word_changed_elsewhere_does_not_move_a_draft(learner, tmp_path):
    one = drill()
    Pupil(Store(tmp_path)).record("learner", seed="0" * 16)
    one.fields[0].value = "40 cm"
    learner()
    assert drill().fields[0].value == ""
    quiz.learner("demo")
    assert drill().fields[0].value == "40 cm"


def test_forgetting_forgets_drafts(learner, tmp_path):
    drill().fields[0].value = "40 cm"
    quiz.forget()
    assert drill().fields[0].value == ""
    learner()
    assert drill().fields[0].value == ""
    assert list(tmp_path.glob("*draft*")) == []


def test_an_answer_on_a_full_disk_is_judged_and_stays(learner, tmp_path, monkeypatch):
    one = drill()
    one.fields[0].value = "40 cm"

    def fail(*_, **__):
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    with monkeypatch.context() as patch:
        patch.setattr(safe_write.tempfile, "mkstemp", fail)
        one.check()
        assert "No space left" in one.saving.value
    assert drill().fields[0].value == "40 cm"
    learner()
    assert drill().fields[0].value == "40 cm", "what could not be recorded is a draft still"


def test_an_answer_that_a_newer_record_does_not_take_is_a_draft_still(learner, tmp_path):
    newer = json.dumps({"schema": 2, "events": []})
    (tmp_path / "progress.json").write_text(newer)
    one = drill()
    one.fields[0].value = "40 cm"
    one.check()
    assert "newer boxlab" in one.saving.value
    learner()
    assert drill().fields[0].value == "40 cm"
    assert (tmp_path / "progress.json").read_text() == newer


def test_a_word_that_was_not_used_is_back_and_then_kept_nowhere(learner, tmp_path):
    quiz.learner().live.word.value = "hazelnut"
    learner()
    box = quiz.learner().live
    assert box.word.value == "hazelnut"
    box.use()
    files = [path.read_text(encoding="utf-8") for path in tmp_path.iterdir()]
    assert files and not any("hazelnut" in text for text in files)
    learner()
    assert quiz.learner().live.word.value == ""


def test_a_table_pasted_and_not_read_is_back(learner):
    Desk().pasted.value = "20; 6.5\n25; no"
    again = Desk()
    assert again.pasted.value == "20; 6.5\n25; no"
    again.paste()
    assert again.trouble
    assert Desk().pasted.value == "20; 6.5\n25; no", "what was refused wants mending"
    again.pasted.value = ""
    assert Desk().pasted.value == ""
