"""A file that is dropped on the job desk is read at once: what it is, is said, and it is kept."""

import html
import re

import numpy as np
import pytest
from wedge_box import table

from boxlab.__main__ import main
from boxlab.gear.job import read_job
from boxlab.panel.job_desk import JobDesk


@pytest.fixture
def desk(tmp_path, monkeypatch):
    monkeypatch.setenv("BOXLAB_HOME", str(tmp_path / "home"))
    made = JobDesk()
    made.name.value = str(tmp_path / "wedge")
    made.new()
    return made


def words(desk):
    return html.unescape(re.sub("<[^>]+>", " ", desk.message.value))


NOISE = np.random.default_rng(1).integers(0, 256, 3000, dtype=np.uint8).tobytes()
PNG = b"\x89PNG\r\n\x1a\n" + NOISE


@pytest.mark.parametrize(
    ("name", "data", "said"),
    [("junk.csv", NOISE, "binary"), ("shot.csv", PNG, "picture"), ("note.csv", b"hello\n", "")],
)
def test_what_is_no_sweep_is_said_when_it_is_dropped(desk, tmp_path, name, data, said):
    # seen red: "lies beside the job and is listed as “as found”", and nothing else
    assert desk.add(name, data, "as found")
    assert "It cannot be used:" in words(desk) and said in words(desk)
    assert "the others are measured without it" in words(desk)
    assert (tmp_path / name).read_bytes() == data
    assert read_job(tmp_path / "wedge.job.toml").measurements[0]["file"] == name


def test_a_file_that_cannot_be_read_stops_no_other(desk, tmp_path, capsys):
    # seen red: "Nothing was fitted. measurement 3, junk.csv: this is a binary file"
    desk.text.value = (
        '[driver]\ncount = 1\ncoils = 1\nsd = "490 cm2"\n[box]\nkind = "sealed"\nvolume = "30 L"\n'
    )
    assert desk.add("free.csv", table().encode(), "free air")
    assert desk.add("lump.csv", table(lump=0.06).encode(), "added mass", "60 g")
    assert desk.add("junk.csv", NOISE, "free air") and desk.add("shot.csv", PNG, "as found")
    assert "So is free.csv" not in words(desk)
    desk.measure()
    assert not desk.trouble, desk.trouble
    assert "Left out: measurement 3, junk.csv (free air)" in words(desk)
    assert "Left out: measurement 4, shot.csv (as found)" in words(desk)
    path = tmp_path / "wedge.job.toml"
    assert read_job(path).known["driver.mms"].value == pytest.approx(0.172, rel=0.02)
    assert main(["job", "measure", str(path)]) == 1
    said = capsys.readouterr()
    assert "driver.mms" in said.out and "2 measurements left out, see above" in said.err


def test_where_nothing_can_be_read_that_is_said(desk, tmp_path, capsys):
    assert desk.add("junk.csv", NOISE, "free air")
    assert main(["job", "measure", str(tmp_path / "wedge.job.toml")]) == 1
    said = capsys.readouterr()
    assert "Left out: measurement 1, junk.csv" in said.out and "nothing else tells" in said.err


def test_what_is_a_sweep_says_what_it_holds(desk):
    assert desk.add("box.csv", table(weights=(0.15, 0.15)).encode(), "as found", "150 g")
    assert "It reads: 130 points, 8 to 500 Hz" in words(desk) and "with phase" in words(desk)


def test_a_table_in_kilohms_and_one_with_its_phases_turned_are_said_at_once(desk):
    rows = [line.split(",") for line in table().splitlines()[1:]]
    small = "\n".join(f"{f},{float(z) / 1e3:.7f},{p}" for f, z, p in rows)
    assert desk.add("small.csv", f"frequency,ohm,phase\n{small}\n".encode(), "free air")
    assert "no loudspeaker has" in words(desk) and "“kohm”" in words(desk)
    assert desk.add("turned.csv", table(turned=True).encode(), "free air")
    assert "Careful: every phase has the wrong sign" in words(desk)
