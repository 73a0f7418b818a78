"""The job desk keeps what is typed and dropped, and every lesson can be about the open job."""

import html
import re
from pathlib import Path

import pytest
from test_job import PICKUP
from test_own_gear import SMALL, TWELVE
from troubled_sweeps import FREQUENCY, Cone

from boxlab import job_desk, own_box, start
from boxlab.__main__ import main
from boxlab.gear import open_job
from boxlab.gear.job import read_job
from boxlab.measure import Sweep
from boxlab.panel.job_desk import TEXT, JobDesk
from boxlab.panel.own_box import NONE, Note

ROOT = Path(__file__).parents[1]
CONE = Cone(re=3.4, le=0.6e-3, k=0.0, n=0.7, bl=13.0, m=0.120, r=3.0, c0=2.2e-4, sd=0.0330)


@pytest.fixture(autouse=True)
def home(tmp_path, monkeypatch):
    monkeypatch.setenv("BOXLAB_HOME", str(tmp_path / "home"))


@pytest.fixture
def desk(tmp_path):
    made = job_desk()
    made.name.value = str(tmp_path / "pickup")
    return made


def words(desk):
    return html.unescape(re.sub("<[^>]+>", " ", desk.message.value + desk.said.value))


def sweep(cone=CONE, **load):
    return Sweep.from_impedance(FREQUENCY, cone.sweep(FREQUENCY, **load)).to_text().encode()


def test_a_job_is_made_filled_in_saved_and_still_open_tomorrow(desk, tmp_path):
    desk.new()
    path = tmp_path / "pickup.job.toml"
    assert path.is_file() and open_job.path() == path
    desk.text.value = TWELVE
    assert desk.save()
    assert read_job(path).name == "pickup, behind the seat"
    assert "Follows" in words(desk)
    again = JobDesk()  # a new kernel
    assert again.job.name == "pickup, behind the seat"
    assert again.text.value == TWELVE


def test_what_cannot_be_used_yet_is_kept_and_the_reason_told(desk, tmp_path):
    desk.new()
    before = (tmp_path / "pickup.job.toml").read_text(encoding="utf-8")
    desk.text.value = '[driver]\nfz = "31 Hz"\n'
    assert not desk.save()
    assert "fz" in words(desk) and "fs" in words(desk)
    assert (tmp_path / "pickup.job.toml").read_text(encoding="utf-8") == before
    desk._drafts.flush()
    again = JobDesk()  # the kernel ended
    assert again.text.value == '[driver]\nfz = "31 Hz"\n'
    assert "did not save yet" in words(again)
    assert again._drafts.get(f"{TEXT} {tmp_path / 'pickup.job.toml'}") is not None


def test_a_name_that_is_taken_or_missing_is_said(desk, tmp_path):
    (tmp_path / "pickup.job.toml").write_text("mine", encoding="utf-8")
    desk.new()
    assert "stays as it is" in words(desk)
    assert (tmp_path / "pickup.job.toml").read_text(encoding="utf-8") == "mine"
    desk.name.value = ""
    desk.open()
    assert "No job is named" in words(desk)
    desk.name.value = str(tmp_path / "none")
    desk.open()
    assert "not opened" in words(desk)


def test_from_dropped_sweeps_to_the_sheet_without_python(desk, tmp_path):
    """Free air, with mass, and the driver comes out; the same file twice is kept once."""
    desk.new()
    desk.text.value = (
        '[job]\nname = "one ten"\n\n[driver]\ncoils = 1\nsd = "330 cm2"\nxmax = "9 mm"\n'
        'pe = "300 W"\n\n'
        '[box]\nkind = "sealed"\nvolume = "20 L"\n'
    )
    assert desk.add("free.csv", sweep(), "free air")
    assert not desk.add("mass.csv", sweep(added=0.06), "added mass")  # how much?
    assert "added mass" in words(desk) and not (tmp_path / "mass.csv").exists()
    assert desk.add("mass.csv", sweep(added=0.06), "added mass", "60 g")
    assert desk.add("free.csv", sweep(), "free air")
    assert sorted(path.name for path in tmp_path.glob("*.csv")) == ["free.csv", "mass.csv"]
    assert len(read_job(tmp_path / "pickup.job.toml").measurements) == 2
    assert desk.add("free.csv", sweep(added=0.001), "as found")  # another file of that name
    assert (tmp_path / "free-2.csv").exists()
    assert "So is" not in words(desk)
    assert desk.add("free.csv", sweep(added=0.002), "as found")
    assert "So is free-2.csv; the last one listed counts" in words(desk)
    desk.text.value = re.sub(
        r'\[\[measurement\]\]\s+file = "free-[23].csv"\s+what = "as found"\s*', "", desk.text.value
    )
    desk.measure()
    assert not desk.trouble, desk.trouble
    job = read_job(tmp_path / "pickup.job.toml")
    assert job.known["driver.mms"].how == "measured"
    assert job.known["driver.mms"].value == pytest.approx(0.120, rel=0.02)
    desk.write_sheet()
    assert not desk.trouble, desk.trouble
    assert "measured" in (tmp_path / "pickup.html").read_text(encoding="utf-8")


def test_what_one_asks_first_is_asked_and_nothing_is_fitted_before(desk, tmp_path):
    path = tmp_path / "pickup.job.toml"
    desk.new()
    assert desk.add("free.csv", sweep(), "free air")
    desk.measure()
    assert "Nothing is fitted yet" in words(desk) and "how many voice coils" in words(desk)
    assert "[measured" not in path.read_text(encoding="utf-8")
    asked = desk.questions.choices
    shown = lambda: {key for key, each in asked.items() if each.layout.display != "none"}  # noqa: E731
    assert shown() == {("box", "kind"), ("driver", "count"), ("driver", "coils")}
    asked["box", "kind"].value = "radiator"
    asked["driver", "coils"].value = 2
    assert {("radiator", "count"), ("driver", "coil_wiring")} <= shown()
    assert "coil_wiring" in words(desk)
    asked["driver", "coil_wiring"].value = "parallel"
    assert "how many radiators" in words(desk)
    asked["radiator", "count"].value = 2
    assert "Nothing is left to ask" in words(desk)
    text = path.read_text(encoding="utf-8")
    assert desk.text.value == text
    # each in its own place, where the file offered it, and the rest still commented
    order = [text.index(line) for line in (
        "[driver]", "coils = 2", 'coil_wiring = "parallel"', "[radiator]", "count = 2", "[box]",
        'kind = "radiator"', "# [air]", "[[measurement]]",
    )]  # fmt: skip
    assert order == sorted(order)
    assert read_job(path).radiators == 2
    desk.text.value = text.replace("# mms", "mms").replace("# size", "size")
    assert desk.save(), desk.trouble
    desk.measure()
    assert "driver.fs" in words(desk)
    asked["driver", "coils"].value = "not said"
    assert "coils" not in read_job(path).tables["driver"]
    again = JobDesk()  # a new kernel shows what was answered
    assert again.questions.choices["radiator", "count"].value == 2


def test_an_answer_is_not_lost_on_text_that_cannot_be_read(desk):
    desk.new()
    desk.text.value = '[driver]\nfz = "31 Hz"\n'
    desk.questions.choices["driver", "coils"].value = 2
    assert "fz" in words(desk) and desk.text.value == '[driver]\nfz = "31 Hz"\n'
    assert desk.questions.choices["driver", "coils"].value == "not said"


def test_a_coil_that_is_off_is_said_before_any_figure(desk, tmp_path):
    desk.new()
    desk.text.value = (
        '[driver]\ncoils = 2\ncoil_wiring = "parallel"\nsd = "330 cm2"\n\n[box]\nkind = "sealed"\n'
    )
    one = Cone(re=6.8, le=0.6e-3, k=0.0, n=0.7, bl=13.0, m=0.120, r=3.0, c0=2.2e-4, sd=0.0330)
    assert desk.add("free.csv", sweep(), "free air")
    assert desk.add("box.csv", sweep(one, load=5e4 / (2j * 3.14159 * FREQUENCY)), "as found")
    desk.measure()
    told = words(desk)
    assert "FIRST: as found" in told and "one of two coils in parallel" in told
    assert "[measured" not in (tmp_path / "pickup.job.toml").read_text(encoding="utf-8")


def test_what_stops_it_first_stands_under_the_figures_and_counts_the_filters(desk):
    desk.new()
    desk.text.value = TWELVE
    assert desk.save()
    assert "Turned up over the whole band" in words(desk) and "Counted" not in words(desk)
    desk.text.value = TWELVE + '\n[filters]\nhigh_pass = "30 Hz"\n'
    assert desk.save()
    assert "Counted: filters: high-pass 30 Hz" in words(desk)


def test_a_sheet_never_writes_over_a_page_of_somebody_else(desk, tmp_path):
    desk.new()
    desk.text.value = SMALL
    (tmp_path / "pickup.html").write_text("mine", encoding="utf-8")
    desk.write_sheet()
    assert "pickup.html stays as it was" in words(desk)
    assert (tmp_path / "pickup.html").read_text(encoding="utf-8") == "mine"
    assert "boxlab sheet" in (tmp_path / "pickup-2.html").read_text(encoding="utf-8")


def test_an_earlier_sheet_is_kept_as_the_first_page_says(desk, tmp_path):
    first_page = (ROOT / "lessons/00-start-here.ipynb").read_text(encoding="utf-8")
    assert "nothing that was there before is written over" in first_page
    desk.new()
    desk.text.value = SMALL
    desk.write_sheet()
    assert "stays as it was" not in words(desk)
    first = (tmp_path / "pickup.html").read_bytes()
    desk.write_sheet()  # nothing new: the same sheet, and no second one
    assert [each.name for each in tmp_path.glob("*.html")] == ["pickup.html"]
    desk.text.value = SMALL.replace("52 Hz", "48 Hz")
    desk.write_sheet()
    assert (tmp_path / "pickup.html").read_bytes() == first
    assert "48 Hz" in (tmp_path / "pickup-2.html").read_text(encoding="utf-8")
    assert "The sheet is" in words(desk) and "pickup-2.html" in words(desk)
    assert "pickup.html stays as it was" in words(desk)


def test_without_a_job_a_lesson_says_where_to_open_one():
    note = own_box("port_or_radiator")
    assert isinstance(note, Note) and repr(note) == NONE


@pytest.mark.parametrize("text", [PICKUP.split("[[measurement]]")[0], SMALL])
def test_every_lesson_s_question_is_asked_of_the_open_job(text, tmp_path):
    path = tmp_path / "it.job.toml"
    path.write_text(text, encoding="utf-8")
    open_job.set_path(path)
    name = read_job(path).name
    for item in ("first_experiment", "cabin_band", "heat_or_travel"):
        shown = own_box(item)
        if isinstance(shown, Note):
            assert "does not say enough" in repr(shown)
        else:
            assert name in html.unescape(shown.children[0].value)


def test_a_job_that_went_missing_is_said(tmp_path):
    open_job.set_path(tmp_path / "gone.job.toml")
    assert "open job" in repr(own_box("first_experiment"))


def test_start_hands_the_job_to_every_lesson(tmp_path, monkeypatch, capsys):
    path = tmp_path / "it.job.toml"
    path.write_text(SMALL, encoding="utf-8")
    seen = {}

    class Run:
        def __init__(self, run, cwd, env):
            seen.update(run=run)

        def wait(self):
            return 0

    monkeypatch.setattr(start, "install", lambda extra: "")
    monkeypatch.setattr(start.subprocess, "Popen", Run)
    monkeypatch.setattr(start.subprocess, "call", lambda run, env: main(run[3:]))
    assert start.main(["lessons", "--job", str(path), "--no-browser"]) == 0
    assert open_job.path() == path.resolve()
    assert "--job" not in seen["run"] and "--no-browser" in seen["run"]
    assert start.main(["lessons", "--job", str(tmp_path / "none")]) == 2
    assert "job file" in capsys.readouterr().out
