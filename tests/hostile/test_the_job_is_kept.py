"""Two programs at once, a full disk, a killed kernel: nothing of a job is lost."""

import errno
import html
import os
import re
import signal
import subprocess
import sys
import time

import pytest
from test_job import PICKUP
from test_own_gear import SMALL, TWELVE

from boxlab import job_desk
from boxlab.__main__ import main
from boxlab.gear.job import read_job
from boxlab.gear.job_file import change, new_job, save
from boxlab.gear.job_keys import JobError
from boxlab.gear.job_merge import merged
from boxlab.panel.job_desk import JobDesk


@pytest.fixture(autouse=True)
def home(tmp_path, monkeypatch):
    monkeypatch.setenv("BOXLAB_HOME", str(tmp_path / "home"))


@pytest.fixture
def path(tmp_path):
    made = tmp_path / "pickup.job.toml"
    made.write_text(TWELVE, encoding="utf-8")
    return made


@pytest.fixture
def desk(path):
    made = job_desk()
    made.name.value = str(path)
    made.open()
    return made


def words(desk):
    return html.unescape(re.sub("<[^>]+>", " ", desk.message.value))


def full(*_, **__):
    raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))


def test_what_another_program_measured_meanwhile_outlives_a_save_on_the_desk(desk, path):
    """The desk once wrote its own text over it."""
    change(path, {"measured.box": {"fb": "43.90 ± 0.03 Hz"}})
    desk.text.value = desk.text.value.replace('fs = "31 Hz"', 'fs = "30 Hz"  # by ear')
    assert desk.save(), desk.trouble
    assert "changed in the file meanwhile is kept" in words(desk)
    text = path.read_text(encoding="utf-8")
    assert "43.90" in text and 'fs = "30 Hz"  # by ear' in text and desk.text.value == text
    assert read_job(path).known["box.fb"].how == "measured"


def test_one_line_changed_twice_is_told_and_the_person_decides(desk, path):
    change(path, {"driver": {"fs": "33 Hz"}})
    desk.text.value = desk.text.value.replace('fs = "31 Hz"', 'fs = "30 Hz"')
    mine = desk.text.value
    assert not desk.save()
    assert "33 Hz" in words(desk) and "30 Hz" in words(desk)
    assert desk.text.value == mine and "33 Hz" in path.read_text(encoding="utf-8")
    assert desk.save()  # again: what stands here counts
    assert read_job(path).known["driver.fs"].value == 30


def test_a_kernel_that_ends_between_typing_and_saving_loses_neither_version(desk, path):
    desk.text.value = desk.text.value.replace('fs = "31 Hz"', 'fs = "30 Hz"')
    desk._drafts.flush()
    change(path, {"box": {"volume": "0.8 ft3"}})  # meanwhile, from the command line
    again = JobDesk()
    assert 'fs = "30 Hz"' in again.text.value and "not save yet" in words(again)
    assert again.save(), again.trouble
    text = path.read_text(encoding="utf-8")
    assert 'fs = "30 Hz"' in text and "0.8 ft3" in text


def test_what_is_typed_into_one_job_is_never_shown_or_saved_as_another(desk, path, tmp_path):
    other = tmp_path / "other.job.toml"
    other.write_text(SMALL, encoding="utf-8")
    desk.text.value = typed = desk.text.value + "# not saved yet\n"
    desk.name.value = str(other)
    assert not desk.save()  # it was not opened here
    assert "Open it first" in words(desk) and other.read_text(encoding="utf-8") == SMALL
    desk.open()
    assert desk.text.value == SMALL
    desk.name.value = str(path)
    desk.open()
    assert desk.text.value == typed


def test_what_is_typed_into_a_job_named_without_its_folder_is_found_again(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    desk = JobDesk()
    desk.name.value = "short"
    desk.new()
    desk.text.value = '[driver]\nfz = "31 Hz"\n'
    assert not desk.save()
    desk._drafts.flush()
    monkeypatch.chdir(tmp_path.parent)
    again = JobDesk()  # opens it by its whole path
    assert 'fz = "31 Hz"' in again.text.value
    again.text.value = SMALL
    assert again.save() and (tmp_path / "short.job.toml").read_text(encoding="utf-8") == SMALL


def test_what_is_typed_before_a_job_has_a_name_is_there_when_it_has_one(tmp_path):
    desk = JobDesk()
    desk.text.value = SMALL
    desk.name.value = str(tmp_path / "late")
    desk.new()
    assert desk.text.value == SMALL and desk.save(), desk.trouble
    assert (tmp_path / "late.job.toml").read_text(encoding="utf-8") == SMALL


@pytest.mark.parametrize("step", ["fsync", "replace"])
def test_a_full_disk_costs_nothing_that_was_there(desk, path, tmp_path, monkeypatch, step):
    desk.write_sheet()
    sheet = tmp_path / "pickup.html"
    before = {each: each.read_bytes() for each in (path, sheet)}
    monkeypatch.setattr(os, step, full)
    desk.text.value = typed = desk.text.value.replace("31 Hz", "30 Hz")
    assert not desk.save() and "No space left" in words(desk)
    assert desk.text.value == typed
    assert main(["sheet", str(path), "--to", str(sheet)]) == 1
    with pytest.raises(JobError, match="No space left"):
        change(path, {"driver": {"fs": "33 Hz"}})
    assert {each: each.read_bytes() for each in before} == before
    assert not list(tmp_path.glob(".*.tmp"))


def test_a_full_disk_leaves_no_half_a_file(desk, path, tmp_path, monkeypatch):
    assert desk.save()
    monkeypatch.setattr(os, "fsync", full)
    monkeypatch.setattr(desk, "save", lambda: True)  # it fails before the file is taken
    assert not desk.add("box.csv", b"1,2\n3,4\n", "as found") and "No space left" in words(desk)
    with pytest.raises(JobError, match="No space left"):
        new_job(tmp_path / "late")
    assert not (tmp_path / "box.csv").exists() and not (tmp_path / "late.job.toml").exists()


@pytest.mark.skipif(os.name == "nt", reason="no SIGKILL")
def test_a_kernel_that_is_killed_while_it_writes_leaves_a_whole_file(path):
    code = (
        "import sys\nfrom boxlab.gear.job_file import change\n"
        "print('on', flush=True)\nn = 20\n"
        "while True:\n    n += 1\n    change(sys.argv[1], {'driver': {'fs': f'{n} Hz'}})\n"
    )
    seen = set()
    for moment in (0.03, 0.11, 0.17, 0.26):
        work = subprocess.Popen(
            [sys.executable, "-c", code, str(path)], stdout=subprocess.PIPE, text=True
        )
        assert work.stdout.readline() == "on\n"
        time.sleep(moment)
        work.send_signal(signal.SIGKILL)
        work.wait()
        work.stdout.close()
        seen.add(float(read_job(path).known["driver.fs"].value))
        assert "[amplifier]" in path.read_text(encoding="utf-8")
    change(path, {"driver": {"fs": "31 Hz"}})  # the lock died with it
    assert seen - {31.0}


@pytest.mark.skipif(os.name == "nt", reason="no SIGKILL")
def test_a_kernel_that_is_killed_has_kept_what_was_typed_a_moment_before(path):
    code = (
        "import asyncio, sys\nfrom boxlab import job_desk\n"
        "async def typing():\n"
        "    desk = job_desk(); desk.name.value = sys.argv[1]; desk.open()\n"
        "    desk.text.value += '# one more word\\n'\n"
        "    await asyncio.sleep(1.5)\n    print('rested', flush=True)\n"
        "    await asyncio.sleep(60)\n"
        "asyncio.run(typing())\n"
    )
    work = subprocess.Popen(
        [sys.executable, "-c", code, str(path)], stdout=subprocess.PIPE, text=True
    )
    assert work.stdout.readline() == "rested\n"
    work.send_signal(signal.SIGKILL)
    work.wait()
    work.stdout.close()
    assert JobDesk().text.value.endswith("# one more word\n")


def test_the_same_file_can_be_dropped_again_after_a_refusal(desk, path, tmp_path):
    file = {"name": "m.csv", "type": "", "size": 8, "content": b"1,2\n3,4\n", "last_modified": None}
    desk.what.value = "added mass"
    desk._uploaded({"new": (file, {**file, "name": "n.csv"})})
    assert "m.csv was not taken yet" in words(desk) and "n.csv was not taken yet" in words(desk)
    assert desk.controls.upload.value == ()
    desk.extra.value = "60 g"
    desk._uploaded({"new": (file,)})
    assert 'added_mass = "60 g"' in path.read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("mine", "file", "both"),
    [
        ("a\nb\nc\nmine\n", "a\nb\nc\nfile\n", "a\nb\nc\nfile\nmine\n"),
        ("a\nc\n", "a\nb\nc\nd\n", "a\nc\nd\n"),
        ("a\nB\nc\n", "a\nB\nC\n", "a\nB\nC\n"),
        ("a\nb\nc", "x\na\nb\nc\n", "x\na\nb\nc\n"),
    ],
)
def test_two_versions_come_together_line_by_line(mine, file, both):
    assert merged("a\nb\nc\n", mine, file) == both


def test_two_that_would_not_be_a_job_together_are_not_written(tmp_path):
    path = tmp_path / "it.job.toml"
    path.write_text(PICKUP, encoding="utf-8")
    change(path, {"cable": {"length": "5 m"}})
    before = path.read_bytes()
    with pytest.raises(JobError, match="cable"):
        save(path, PICKUP + '\n[cable]\nlength = "4 m"\n', PICKUP)
    assert path.read_bytes() == before
