"""A job file is read as written, keeps what a person wrote, and loses nothing."""

import os
import subprocess
import sys
from dataclasses import fields
from pathlib import Path

import numpy as np
import pytest

from boxlab.gear.job import read_job
from boxlab.gear.job_file import change, new_job
from boxlab.gear.job_keys import JobError

PICKUP = """\
[job]
name = "pickup, behind the seat"

[driver]                 # any sufficient set
name = "twelve from the bin"
coils = 2
fs = "31 Hz"
qts = "0.36"
vas = "2.3 ft3"
sd = "507 cm2"
re = "3.64 ohm"          # as wired now
xmax = "14 mm"
pe = "500 W"

[radiator]
count = 2
sd = "507 cm2"
mms = "230 g"
added_mass = "290 g"     # on each
cms = "0.151 mm/N"
xmax = "18 mm"

[box]
kind = "radiator"
volume = "0.77 ft3"      # net
ql = "9"

[amplifier]
"4 ohm" = "300 W"
"2 ohm" = "500 W"

[gap]
width = "40 in"
height = "16 in"
depth_bottom = "8 in"
depth_top = "5 in"

[[measurement]]
file = "box.csv"
what = "as found"
"""


@pytest.fixture
def pickup(tmp_path):
    path = tmp_path / "pickup.job.toml"
    path.write_text(PICKUP, encoding="utf-8")
    return path


def test_values_come_out_in_si(pickup):
    job = read_job(pickup)
    assert job.name == "pickup, behind the seat"
    assert job.driver.fs == pytest.approx(31)
    assert job.driver.qts == pytest.approx(0.36)
    assert job.driver.vas() == pytest.approx(2.3 * 0.3048**3)
    assert job.box.volume == pytest.approx(0.77 * 0.3048**3)
    assert (job.box.count, job.box.ql, job.radiator.added_mass) == (2, 9, pytest.approx(0.29))
    assert job.gap.depth_top == pytest.approx(5 * 0.0254)
    assert dict(job.amplifier.ratings) == {2: 500, 4: 300}
    assert job.measurements == ({"file": "box.csv", "what": "as found"},)
    # by hand: stiffness of suspension and of its share of the air, on 520 g
    stiffness = 1 / 0.151e-3 + 2 * 0.0507**2 * 1.2041 * 343.2**2 / (0.77 * 0.3048**3)
    assert job.box.tuning() == pytest.approx(np.sqrt(stiffness / 0.52) / 2 / np.pi, rel=2e-3)


def test_how_each_is_known(pickup):
    known = read_job(pickup).known
    value, how = known["driver.fs"]
    assert (value, how) == (31.0, "given")
    assert known["fs"] == known["driver.fs"]
    assert known["driver.mms"].how == "follows"
    assert known["driver.qms"].how == "assumed" and known["driver.qms"].high == 10
    assert known["box.volume"].how == "given"


def test_an_answer_that_hangs_on_an_assumed_value_has_a_range(pickup):
    text = PICKUP.replace('cms = "0.151 mm/N"\n', "").replace('ql = "9"\n', "")
    pickup.write_text(text, encoding="utf-8")
    job = read_job(pickup)
    assert {"radiator.cms", "box.ql", "driver.qms"} <= set(job.assumed)
    tunings = [float(each.box.tuning()) for each in job.variants]
    assert min(tunings) < job.box.tuning() < max(tunings)


def test_no_demo_gear_stands_in(tmp_path):
    path = tmp_path / "bare.job.toml"
    path.write_text('[driver]\nfs = "31 Hz"\n[box]\nkind = "sealed"\n', encoding="utf-8")
    job = read_job(path)
    with pytest.raises(JobError, match="motor is missing"):
        _ = job.driver
    with pytest.raises(JobError, match="net volume is missing"):
        _ = job.box
    with pytest.raises(JobError, match="no radiator"):
        _ = job.radiator
    assert job.amplifier is None and job.gap is None
    assert len(job.problems) == 2


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("qts =", "qst =", "did you mean qts?"),
        ("[gap]", "[gapp]", "did you mean gap?"),
        ('fs = "31 Hz"', 'fs = "31"', "write its unit"),
        ('fs = "31 Hz"', "fs = 31", "with its unit"),
        ('fs = "31 Hz"', 'fs = "31 kg"', "this is a frequency"),
        ('sd = "507 cm2"', 'sd = "507 g"', "this is an area"),
        ('vas = "2.3 ft3"', 'vas = "1,234 L"', "may be 1.234 or 1234"),
        ('kind = "radiator"', 'kind = "bandpass"', "choose one of sealed, ported, radiator"),
        ('what = "as found"', 'what = "before"', "choose one of free air"),
        ('"4 ohm" = "300 W"', '"four" = "300 W"', "amplifier has no 'four'"),
        ("count = 2", "count = 2.5", "whole pieces"),
        ("[[measurement]]", "[measurement]", "measurement"),
        ('sd = "507 cm2"', 'sd = "-507 cm2"', "above zero"),
        ('fs = "31 Hz"', 'fs = "31 Hz', "pickup.job.toml"),
    ],
)
def test_what_is_wrong_is_named(pickup, old, new, words):
    pickup.write_text(PICKUP.replace(old, new, 1), encoding="utf-8")
    with pytest.raises(JobError, match=words.replace("?", r"\?").replace("[", r"\[")):
        read_job(pickup)


def test_no_such_file_says_how_to_make_one(tmp_path):
    with pytest.raises(JobError, match="job new"):
        read_job(tmp_path / "none.job.toml")


def test_comments_and_order_survive_a_change(pickup):
    job = change(pickup, {"driver": {"fs": "32.5 Hz"}, "measured.box": {"fb": "38.2 ± 0.1 Hz"}})
    text = pickup.read_text(encoding="utf-8")
    assert "# any sufficient set" in text and "# as wired now" in text and "# net" in text
    assert text.index("[driver]") < text.index("[radiator]") < text.index("[[measurement]]")
    same = [line for line in PICKUP.splitlines() if line and "fs =" not in line]
    assert [line for line in text.splitlines() if line in same] == same
    assert job.driver.fs == pytest.approx(32.5)
    fb = job.known["box.fb"]
    assert fb.how == "measured" and (fb.low, fb.high) == pytest.approx((38.1, 38.3))


def test_what_is_measured_goes_before_what_is_typed(pickup):
    job = change(pickup, {"measured.driver": {"re": "3.71 ± 0.02 ohm"}})
    assert job.driver.re == pytest.approx(3.71)
    assert job.known["driver.re"].how == "measured"
    assert 're = "3.64 ohm"' in pickup.read_text(encoding="utf-8")


def test_a_change_that_could_not_be_read_is_not_made(pickup):
    before = pickup.read_bytes()
    for bad in ({"driver": {"fs": "31"}}, {"drivr": {"fs": "31 Hz"}}, {"driver": {"ffs": "1 Hz"}}):
        with pytest.raises(JobError):
            change(pickup, bad)
    assert pickup.read_bytes() == before
    assert sorted(p.name for p in pickup.parent.iterdir() if not p.name.endswith(".lock")) == [
        pickup.name
    ]


def test_a_new_job_says_nothing_and_is_never_overwritten(tmp_path):
    path = new_job(tmp_path / "saturday")
    assert path.name == "saturday.job.toml"
    job = read_job(path)
    assert job.name == "saturday" and "driver.fs" not in job.known
    path.write_text("# mine\n")
    with pytest.raises(JobError, match="stays as it is"):
        new_job(tmp_path / "saturday")
    assert path.read_text() == "# mine\n"


def test_every_line_of_a_new_job_can_be_used(tmp_path):
    path = new_job(tmp_path / "full")
    lines = path.read_text(encoding="utf-8").splitlines()
    keys = [
        line.removeprefix("# ") if " = " in line or "[" in line[:4] else line for line in lines[4:]
    ]
    path.write_text("\n".join(keys), encoding="utf-8")
    job = read_job(path)
    assert job.measurements and job.gap and job.amplifier


def test_two_programs_that_write_at_once_lose_nothing(pickup):
    code = (
        "import sys; from boxlab.gear.job_file import change\n"
        "for n in range(1, 11):\n    change(sys.argv[1], {sys.argv[2]: {sys.argv[3]: f'{n} Hz'}})\n"
    )
    work = [
        subprocess.Popen([sys.executable, "-c", code, str(pickup), section, key])
        for section, key in (("driver", "fs"), ("radiator", "fp"))
    ]
    assert [each.wait(120) for each in work] == [0, 0]
    job = read_job(pickup)
    assert job.known["driver.fs"].value == 10 and job.known["radiator.fp"].value == 10
    assert "# any sufficient set" in pickup.read_text(encoding="utf-8")


def test_a_full_disk_leaves_the_file_as_it_was(pickup, monkeypatch):
    before = pickup.read_bytes()

    def full(*_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(JobError, match="No space left"):
        change(pickup, {"driver": {"fs": "33 Hz"}})
    assert pickup.read_bytes() == before


def test_two_drivers_act_as_one(pickup):
    pickup.write_text(PICKUP.replace("coils = 2", "coils = 2\ncount = 2"), encoding="utf-8")
    job = read_job(pickup)
    assert job.system.sd == pytest.approx(2 * job.driver.sd)
    assert job.system.re == pytest.approx(job.driver.re / 2)
    assert job.system.fs == pytest.approx(job.driver.fs)
    assert {f.name for f in fields(job.system)} == {f.name for f in fields(job.driver)}


def test_job_files_are_read_where_they_lie(pickup):
    assert read_job(str(pickup)).path == Path(pickup)
