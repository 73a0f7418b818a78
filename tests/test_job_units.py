"""A unit that cannot be meant is said in plain words: key, value, and what is probably meant."""

import html
import re

import pytest
from wedge_box import job, table

from boxlab.__main__ import main
from boxlab.gear.job_file import TEMPLATE
from boxlab.gear.job_keys import KEYS, WHAT, JobError, parse
from boxlab.panel.job_desk import JobDesk

PYTHON = re.compile(r"boxlab\.\w|_unit=|\.py\b|Warning|warn\(")


@pytest.fixture(autouse=True)
def home(tmp_path, monkeypatch):
    monkeypatch.setenv("BOXLAB_HOME", str(tmp_path / "home"))


@pytest.mark.parametrize(
    ("section", "key", "typed", "meant"),
    [
        ("driver", "sd", "490 mm2", "490 cm²"),
        ("radiator", "sd", "490 m2", "490 cm²"),
        ("driver", "xmax", "13 cm", "13 mm"),
        ("radiator", "added_mass", "60 kg", "60 g"),
        ("driver", "mms", "150 kg", "150 g"),
        ("driver", "re", "3.7 kohm", "3.7 Ω"),
        ("driver", "vas", "62 m3", "62 L"),
        ("box", "volume", "34 mL", "34 L"),
        ("driver", "le", "1.2 H", "1.2 mH"),
        ("driver", "fs", "31 kHz", "31 Hz"),
        ("supply", "resistance", "25 ohm", "25 mΩ"),
        ("gap", "width", "1050 m", "1050 mm"),
        ("driver", "cms", "0.15 m/N", "0.15 mm/N"),
        ("cable", "length", "5 mm", "5 m"),
    ],
)
def test_a_wrong_unit_is_refused_with_what_was_probably_meant(section, key, typed, meant):
    with pytest.raises(JobError) as said:
        parse({section: {key: typed}})
    words = str(said.value)
    assert f"{section}.{key} = {typed!r}" in words and f'"{meant}"' in words
    assert not PYTHON.search(words)
    parse({section: {key: meant}})


def test_the_weight_of_a_sweep_is_asked_too():
    with pytest.raises(JobError, match=r"measurement 1\.added_mass = '60 kg'.*\"60 g\""):
        parse({"measurement": [{"file": "a.csv", "what": "added mass", "added_mass": "60 kg"}]})


@pytest.mark.parametrize(
    ("section", "key", "typed"),
    [
        ("driver", "sd", "12 cm2"), ("driver", "sd", "2400 cm2"), ("driver", "xmax", "0.4 mm"),
        ("driver", "xmax", "38 mm"), ("radiator", "added_mass", "0 g"),
        ("radiator", "added_mass", "1.2 kg"), ("driver", "re", "0.25 ohm"),
        ("driver", "mms", "2 g"),
        ("driver", "mms", "600 g"), ("box", "volume", "1 L"), ("box", "volume", "600 L"),
        ("driver", "fs", "14 Hz"), ("driver", "pe", "5 W"), ("amplifier", "4 ohm", "12 kW"),
        ("cable", "length", "1 ft"), ("gap", "depth_top", "2 in"), ("driver", "weight", "30 kg"),
    ],
)  # fmt: skip
def test_real_gear_of_every_size_is_let_be(section, key, typed):
    parse({section: {key: typed}})


def test_what_the_template_offers_is_plausible():
    text = TEMPLATE.format(name="it", what=", ".join(WHAT))
    section = ""
    for line in text.splitlines():
        if head := re.match(r"#?\s*\[\[?(\w+)", line):
            section = head[1]
            continue
        row = re.match(r'#?\s*"?([\w ]+?)"?\s*=\s*"([^"]+)"', line)
        if row and KEYS[section].get(row[1], "power" if "ohm" in row[1] else "text") != "text":
            of_it = {row[1]: row[2]}
            parse({section: [of_it] if section == "measurement" else of_it})


def test_a_table_in_kilohms_that_does_not_say_so_is_refused_in_plain_words(tmp_path, capsys):
    # seen red: "job_recordings.py:68: UnitWarning ... pass magnitude_unit='kohm'"
    path = job(tmp_path, ("as found", {"weights": (0.15, 0.15)}, "150 g"))
    rows = (tmp_path / "2.csv").read_text(encoding="utf-8").splitlines()
    small = [rows[0]] + [
        ",".join((f, f"{float(z) / 1e3:.7f}", p)) for f, z, p in (r.split(",") for r in rows[1:])
    ]
    (tmp_path / "2.csv").write_text("\n".join(small), encoding="utf-8")
    assert main(["job", "measure", str(path)]) == 1
    said = capsys.readouterr()
    assert "2.csv" in said.out and "no loudspeaker has" in said.out
    assert "“kohm”" in said.out and "head of its column" in said.out
    assert "1 measurement left out" in said.err and "driver.mms" in said.out
    assert not PYTHON.search(said.err + said.out)


def test_a_guess_at_a_unit_is_told_with_its_file_and_without_python(tmp_path, capsys):
    path = job(tmp_path, ("as found", {"weights": (0.15, 0.15)}, "150 g"))
    rows = (tmp_path / "2.csv").read_text(encoding="utf-8").splitlines()
    turned = [rows[0]] + [
        f"{f},{z},{float(p) * 0.0174533:.5f}" for f, z, p in (r.split(",") for r in rows[1:])
    ]
    (tmp_path / "2.csv").write_text("\n".join(turned), encoding="utf-8")
    assert main(["job", "measure", str(path)]) == 0
    said = capsys.readouterr()
    assert "2.csv: the phase stays within ±1.6: read as radians" in said.out
    assert not PYTHON.search(said.err + said.out)


def test_what_is_merely_unlikely_is_a_note_and_no_python(tmp_path, capsys):
    # seen red: "UnitWarning: mms = 1.2 is implausible ... use boxlab.grams(60)"
    path = tmp_path / "heavy.job.toml"
    path.write_text(
        '[driver]\nfs = "20 Hz"\nmms = "1.2 kg"\nsd = "1600 cm2"\nre = "3.6 ohm"\n'
        'qts = "0.4"\nqms = "5"\n[box]\nkind = "sealed"\nvolume = "200 L"\n',
        encoding="utf-8",
    )
    assert main(["job", "check", str(path)]) == 0
    said = capsys.readouterr()
    assert "Note: mms = 1.2 is implausible" in said.err
    assert not PYTHON.search(said.err + said.out)
    desk = JobDesk()
    desk.name.value = str(path)
    desk.open()
    shown = html.unescape(re.sub("<[^>]+>", " ", desk.message.value + desk.said.value))
    assert "Careful: mms = 1.2 is implausible" in shown and not PYTHON.search(shown)


def test_the_desk_refuses_a_wrong_unit_and_keeps_what_was_typed(tmp_path):
    desk = JobDesk()
    desk.name.value = str(tmp_path / "it")
    desk.new()
    desk.text.value = '[driver]\nsd = "490 mm2"\n'
    assert not desk.save()
    assert '"490 cm²"' in desk.trouble and desk.text.value == '[driver]\nsd = "490 mm2"\n'
    assert desk.add("box.csv", table().encode(), "free air") is False
