"""From the door to the figures: sweeps of an unknown box, read with nothing of ours standing in."""

import cmath
import math
import random

import pytest

from boxlab.__main__ import main
from boxlab.gear.job import read_job
from boxlab.gear.job_measured import measure

RHO, C = 1.2041, 343.2
TRUE = {"re": 3.3, "bl": 14.0, "mms": 0.148, "cms": 1.7e-4, "rms": 5.0, "sd": 0.0507, "le": 0.9e-3}
RADIATOR = {"sd": 0.0507, "mass": 0.52, "cms": 4.5e-4, "rms": 3.0}
VOLUME, COUNT, QL = 0.0219, 2, 9.0


def impedance(f, added=0.0, closed=None, box=False, **changes):
    """Impedance of the driver, by lumped mechanics written out here; nothing of boxlab's."""
    d = TRUE | changes
    s = 2j * math.pi * f
    load = s * (d["mms"] + added) + d["rms"] + 1 / (s * d["cms"])
    if closed:
        load += RHO * C**2 * d["sd"] ** 2 / (s * closed)
    if box:
        cab = VOLUME / (RHO * C**2)
        mass = RADIATOR["mass"] / (COUNT * RADIATOR["sd"] ** 2)
        stiff = COUNT / (RADIATOR["cms"] * COUNT**2 * RADIATOR["sd"] ** 2)
        rub = RADIATOR["rms"] / (COUNT * RADIATOR["sd"] ** 2)
        wb = math.sqrt((1 / cab + stiff) / mass)
        branch = s * mass + rub + stiff / s
        air = 1 / (s * cab + wb * cab / QL + 1 / branch)
        load += d["sd"] ** 2 * air
    return d["re"] + s * d["le"] + d["bl"] ** 2 / load


def table(path, noise=1e-3, **how):
    rng = random.Random(path.name)
    rows = ["Frequency (Hz),Impedance (ohm),Phase (deg)"]
    for i in range(320):
        f = 8 * 100 ** (i / 319)
        z = impedance(f, **how) * (1 + noise * complex(rng.gauss(0, 1), rng.gauss(0, 1)))
        rows.append(f"{f:.5g},{abs(z):.6g},{math.degrees(cmath.phase(z)):.5g}")
    path.write_text("\n".join(rows) + "\n", encoding="utf-8")


HEAD = """\
[driver]
coils = 1
sd = "507 cm2"
xmax = "14 mm"
pe = "500 W"

[radiator]
count = 2
sd = "507 cm2"

[box]
kind = "radiator"
"""
LISTED = {
    "free.csv": ("free air", "", {}),
    "mass.csv": ("added mass", 'added_mass = "60 g"\n', {"added": 0.06}),
    "tub.csv": ("closed test box", 'test_volume = "30 L"\n', {"closed": 0.03}),
    "box.csv": ("as found", "", {"box": True}),
}


@pytest.fixture
def job_file(tmp_path):
    def made(*files, head=HEAD, **changes):
        text = head
        for name in files:
            what, more, how = LISTED[name]
            table(tmp_path / name, **how, **(changes if name == "box.csv" else {}))
            text += f'\n[[measurement]]\nfile = "{name}"\nwhat = "{what}"\n{more}'
        path = tmp_path / "it.job.toml"
        path.write_text(text, encoding="utf-8")
        return path

    return made


def near(estimate, truth, share=0.02):
    assert float(estimate) == pytest.approx(truth, rel=share)
    assert abs(float(estimate) - truth) < max(3 * estimate.u, 0.004 * truth)


@pytest.mark.parametrize("second", ["mass.csv", "tub.csv"])
def test_driver_and_box_come_out_as_they_are(job_file, second):
    found = measure(read_job(job_file("free.csv", second, "box.csv")))
    assert not found.faults and not found.missing
    driver, box = found.values["driver"], found.values["box"]
    for name in ("re", "mms", "cms", "bl"):
        near(driver[name], TRUE[name])
    near(box["volume"], VOLUME)
    cab = VOLUME / (RHO * C**2)
    stiff = 1 / cab + 1 / (COUNT * RADIATOR["cms"] * RADIATOR["sd"] ** 2)
    mass = RADIATOR["mass"] / (COUNT * RADIATOR["sd"] ** 2)
    near(box["fb"], math.sqrt(stiff / mass) / 2 / math.pi, 0.005)


def test_a_stranger_s_sweep_alone_tells_the_tuning_and_no_litres(job_file):
    found = measure(read_job(job_file("box.csv")))
    assert set(found.values["box"]) == {"fb"}
    assert any("driver's own sweeps" in words for words in found.missing)
    assert not any(" L" in line for line in found.lines())


def test_free_air_alone_gives_no_mass_and_says_what_would(job_file):
    found = measure(read_job(job_file("free.csv")))
    assert "mms" not in found.values["driver"] and "fs" in found.values["driver"]
    assert any("known mass" in words for words in found.missing)


def test_the_count_of_radiators_is_asked_before_anything_hangs_on_it(job_file):
    found = measure(read_job(job_file("free.csv", "mass.csv", "box.csv",
                                      head=HEAD.replace("count = 2\n", ""))))  # fmt: skip
    assert any("count and sd of the radiators" in words for words in found.missing)
    assert not any("radiator moves" in words for words in found.words)


def test_a_coil_wired_otherwise_is_said_first_and_nothing_is_fitted(job_file, capsys):
    path = job_file("free.csv", "mass.csv", "box.csv", re=3.3 * 4, bl=28.0, le=3.6e-3)
    assert main(["job", "measure", str(path), "--write"]) == 1
    said = capsys.readouterr().out
    assert said.startswith("FIRST:") and "in series instead of in parallel" in said
    assert "box.volume" not in said and "[measured" not in path.read_text(encoding="utf-8")


def test_what_is_measured_goes_into_the_file_marked(job_file, capsys):
    path = job_file("free.csv", "mass.csv", "box.csv")
    assert main(["job", "measure", str(path), "--write"]) == 0
    assert "wrote" in capsys.readouterr().out
    job = read_job(path)
    assert job.known["driver.mms"].how == "measured"
    assert job.driver.mms == pytest.approx(TRUE["mms"], rel=0.01)
    text = path.read_text(encoding="utf-8")
    assert text.startswith(HEAD) and "[measured.driver]" in text
    assert main(["job", "check", str(path)]) == 1  # the radiator's mass is still unknown
    assert "Measured:" in capsys.readouterr().out


def test_check_says_what_is_wrong_and_new_never_overwrites(tmp_path, capsys):
    made = tmp_path / "a.job.toml"
    assert main(["job", "new", str(tmp_path / "a")]) == 0 and made.is_file()
    assert main(["job", "check", str(made)]) == 1
    assert "fs is missing" in capsys.readouterr().out
    assert main(["job", "new", str(tmp_path / "a")]) == 2
    made.write_text('[driver]\nqst = "0.4"\n', encoding="utf-8")
    assert main(["job", "check", str(made)]) == 1
    assert "did you mean qts" in capsys.readouterr().err
    forum = (
        '[driver]\nfs = "31 Hz"\nqts = "0.36"\nvas = "2.3 ft3"\nsize = "12 in"\nre = "3.6 ohm"\n'
    )
    made.write_text(forum, encoding="utf-8")
    assert main(["job", "check", str(made)]) == 0
    said = capsys.readouterr().out
    assert "driver.qms = 5, 3 to 10" in said and "Follows:" in said
    made.write_text(forum + 'qes = "0.36"\nqms = "5"\n', encoding="utf-8")
    assert main(["job", "check", str(made)]) == 1
    assert "Contradicts:" in capsys.readouterr().out


def test_a_file_that_cannot_be_read_is_named(job_file, tmp_path):
    path = job_file("free.csv")
    (tmp_path / "free.csv").write_text("words only\n")
    found = measure(read_job(path))
    assert not found.values and found.unread[0].startswith("measurement 1, free.csv (free air): ")


def test_a_second_sweep_of_one_kind_is_never_taken_or_left_in_silence(job_file):
    """The later one once took the place of the first without a word."""
    path = job_file("free.csv", "mass.csv", "box.csv")
    table(path.with_name("again.csv"), box=True, bl=13.0)
    once = path.read_text(encoding="utf-8")
    path.write_text(
        once + '\n[[measurement]]\nfile = "again.csv"\nwhat = "as found"\n', encoding="utf-8"
    )
    told = [words for words in measure(read_job(path)).words if "more than once" in words]
    assert len(told) == 1
    assert "again.csv, the later one, counts and box.csv does not" in told[0]
    assert "the later one is “after”" in told[0]
    grid = [8 * 100 ** (i / 319) for i in range(320)]
    most = max(abs(impedance(f, box=True) / impedance(f, box=True, bl=13.0)) - 1 for f in grid)
    apart = float(told[0].partition("differ by ")[2].partition(" %")[0])
    assert apart == pytest.approx(100 * most, abs=0.8)
    path.write_text(once + once[once.index("[[measurement]]") :], encoding="utf-8")  # the same rows
    assert not any("more than once" in words for words in measure(read_job(path)).words)


def test_what_nothing_is_fitted_to_is_said(job_file):
    path = job_file("box.csv")
    text = path.read_text(encoding="utf-8").replace("as found", "close to the cone")
    path.write_text(text, encoding="utf-8")
    assert any("nothing is fitted to it" in words for words in measure(read_job(path)).words)
