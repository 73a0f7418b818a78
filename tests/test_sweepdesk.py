"""The desk for a learner's own sweep: reads, keeps, compares, exports, and says what is wrong."""

import base64
import html
import re
from datetime import UTC, datetime

import numpy as np
import pytest
from wedge_box import table as wedge_table

from boxlab.gear.demo_sweeps import CASES, demo_table, measure, with_fault
from boxlab.measure import read_sweep
from boxlab.panel import sweep_store
from boxlab.panel.sweep_desk import LIMIT, Desk
from boxlab.panel.sweep_plan import Plan
from boxlab.panel.sweep_report import TWO_FITS, report


@pytest.fixture(autouse=True)
def home(tmp_path, monkeypatch):
    monkeypatch.setenv("BOXLAB_HOME", str(tmp_path))
    return tmp_path


@pytest.fixture
def desk():
    return Desk()


def upload(desk, name, data):
    file = {"name": name, "type": "text/csv", "size": len(data), "content": memoryview(data)}
    desk.upload.value = (file | {"last_modified": datetime.now(UTC)},)


def test_an_upload_is_kept_byte_for_byte_and_read(desk, home):
    data = demo_table("radiator", separator=";", decimal=",").encode("utf-16")
    upload(desk, "my box.csv", data)
    assert desk.trouble == ""
    assert desk.report.sweep.name == "my box.csv"
    (copy,) = sweep_store.kept()
    assert copy.read_bytes() == data
    assert copy.parent == home / "sweeps"
    assert "my box.csv" in desk.earlier.options[1][0]
    upload(desk, "again.csv", data)
    assert len(sweep_store.kept()) == 1


def test_a_table_that_cannot_be_read_is_kept_too_and_the_reason_told(desk):
    before = desk.report
    upload(desk, "notes.txt", b"no table here\nat all\n")
    assert "notes.txt could not be used" in desk.trouble
    assert "line 1" in desk.trouble
    assert desk.message.value.count("no table here") == 1
    assert desk.report is before
    assert len(sweep_store.kept()) == 1
    assert "A copy is kept" in desk.message.value
    desk.compare.click()
    assert "could not be used" not in desk.message.value


def test_boxes_of_a_radiator_are_there_for_a_radiator_only(desk):
    desk.build.value = "ported"
    assert desk.boxes["mass"].layout.display == "none"
    desk.build.value = "radiator"
    assert desk.boxes["mass"].layout.display is None


def test_a_huge_file_is_refused_with_the_limit(desk):
    upload(desk, "song.txt", b"1" * (LIMIT + 1))
    assert "limit is 2 MB" in desk.trouble
    assert sweep_store.kept() == []


def test_paste_keeps_the_text_in_its_box(desk):
    desk.paste()
    assert "Paste the rows" in desk.trouble
    desk.pasted.value = "<b>20</b>"
    desk.use.click()
    assert desk.trouble and desk.pasted.value == "<b>20</b>"
    assert "<b>20" not in desk.message.value
    desk.pasted.value = demo_table("ported")
    desk.use.click()
    assert desk.trouble == ""
    assert desk.report.tuning.fb == pytest.approx(32, rel=0.01)


def test_a_folder_that_cannot_be_written_loses_nothing(desk, home):
    (home / "sweeps").write_text("a file where the folder should be")
    upload(desk, "box.csv", demo_table("ported").encode())
    assert desk.report.sweep.name == "box.csv"
    assert "No copy could be kept" in desk.message.value


def test_an_earlier_sweep_comes_back(desk):
    upload(desk, "one.csv", demo_table("ported").encode())
    upload(desk, "two.csv", demo_table("radiator").encode())
    desk.earlier.value = next(p for p in sweep_store.kept() if "one" in p.name)
    assert desk.report.sweep.name == "one.csv"


def test_names_cannot_leave_the_folder(home):
    path = sweep_store.keep("../../etc/x\\..\\<script>.csv", b"1")
    assert path.parent == home / "sweeps"
    assert "<" not in path.name


def test_design_is_compared_and_mistakes_in_it_are_told(desk):
    desk.boxes["volume"].value = "13"
    desk.compare.click()
    assert desk.report.plan.volume == 13.0
    desk.boxes["volume"].value = "-3"
    desk.compare.click()
    assert "volume = -3.0" in desk.trouble
    assert desk.boxes["volume"].value == "-3"
    desk.boxes["volume"].value, desk.boxes["fb"].value = "60", "45"
    desk.compare.click()
    assert "design cannot be used" in desk.trouble


def test_nothing_of_the_class_stands_in_for_a_stranger_s_box(desk):
    """A sweep alone tells its tuning; values that nobody typed are named as the class's."""
    stranger = with_fault(CASES["radiator"], "small volume", 0.5)
    assert desk.take("theirs.csv", measure(stranger, seed=4).to_text().encode())
    assert desk.report.plan is None and desk.report.fit is None
    said = html.unescape(desk.said.value)
    assert "uning" in said and "volume is" not in said and "as meant" not in said
    assert "| as designed |" not in desk.report.markdown() and "designed" not in desk.report.csv()
    desk.boxes["fs"].value = "33"
    desk.compare.click()
    assert desk.report.plan.fs == 33
    named = html.unescape(desk.said.value).partition("still the class")[2].partition("</p>")[0]
    assert "Vas" in named and "net volume" in named and "driver's fs" not in named


def test_a_design_can_be_typed_in_other_units(desk):
    for name, text in (("volume", "0.5 ft3"), ("sd", "52 sq in"), ("mass", "3,5 oz")):
        desk.boxes[name].value = text
    desk.compare.click()
    assert not desk.trouble
    plan = desk.report.plan
    assert (plan.volume, plan.sd, plan.mass) == (14.16, 335.5, 99.22)
    desk.boxes["sd"].value = "13 in"
    desk.compare.click()
    assert "cone area Sd: The unit in does not fit." in desk.said.value
    assert desk.boxes["sd"].value == "13 in"
    assert desk.report.plan == plan


def test_what_is_saved_reads_back(desk):
    links = re.findall(r"download='([^']+)' href='data:[^,]+,([^']+)'", desk.links.value)
    assert [name for name, _ in links] == ["class-box-compared.csv", "class-box.md"]
    texts = [base64.b64decode(data).decode() for _, data in links]
    again = read_sweep(texts[0])
    assert again.magnitude == pytest.approx(desk.report.sweep.magnitude, rel=1e-4)
    assert "| tuning, Hz |" in texts[1] and texts[1] == desk.text.value


def test_page_without_a_kernel_shows_the_sample(desk):
    data, metadata = desk._repr_mimebundle_()
    assert "net volume" in data["text/plain"]
    assert metadata["image/png"]["alt"]
    assert data["image/png"]


# The report.


def test_report_finds_what_was_built_wrong():
    sound = report(measure("radiator", seed=9), Plan())
    case = with_fault(CASES["radiator"], "small volume")
    small = report(measure(case, seed=9), Plan())
    assert "net volume is as meant" in sound.words[0]
    assert "smaller" in small.words[0]
    # Two fits, two tunings: a line between them says why.
    readout = small.scene().readout
    between = readout.index(TWO_FITS)
    assert any("tuning is" in words for words in readout[:between])
    assert any("full model fit" in words for words in readout[between:])
    assert small.fit.volume == pytest.approx(case.box.volume, rel=0.12)


def test_report_of_a_sealed_box_and_of_the_wrong_box():
    sealed = report(measure("sealed", seed=2), Plan(build="sealed"))
    assert "| resonance, Hz |" in sealed.markdown()
    wrong = report(measure("sealed", seed=2), Plan())
    assert "1 peak, and a radiator box has 2" in wrong.words[0]
    assert wrong.scene().plots and wrong.csv().startswith("frequency")


def test_report_of_magnitude_only():
    sweep = measure("ported", seed=3, phase=False)
    made = report(sweep, Plan(build="ported", volume=30, fb=32))
    assert made.fit.volume * 1e3 == pytest.approx(30, rel=0.1)
    assert "measured phase" not in made.csv().splitlines()[0]
    assert np.isfinite(made.tuning.fb)


@pytest.mark.parametrize(
    ("wrong", "words"),
    [
        ({"build": "horn"}, "choose one of"),
        ({"fb": 0.0}, "above zero"),
        ({"le": -1}, "zero or more"),
    ],
)
def test_plan_says_what_is_wrong(wrong, words):
    with pytest.raises(ValueError, match=words):
        Plan(**wrong)


def test_phases_of_the_wrong_sign_are_turned_round_and_said_as_at_the_job_desk(desk):
    # seen red: fitted as they came, without a word
    right = wedge_table(weights=(0.15, 0.15)).encode()
    turned = wedge_table(weights=(0.15, 0.15), turned=True).encode()
    upload(desk, "right.csv", right)
    want, before = desk.report.tuning.fb, desk.said.value
    upload(desk, "turned.csv", turned)
    assert "every phase has the wrong sign" in desk.said.value
    assert "wrong sign" not in before
    assert float(desk.report.tuning.fb) == pytest.approx(float(want), rel=1e-9)
    desk.redraw()
    assert "every phase has the wrong sign" in desk.said.value
    upload(desk, "again.csv", right)
    assert "wrong sign" not in desk.said.value
