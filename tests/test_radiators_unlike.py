"""Radiators that do not carry the same, and a leak that stays while the tuning moves."""

import re

import pytest
from wedge_box import BULK, LEAK, VOLUME, job, tuning

from boxlab.__main__ import main
from boxlab.gear.job import read_job
from boxlab.gear.job_file import change
from boxlab.gear.job_measured import measure
from boxlab.publish.sheet import parts


def told(found):
    return " ".join(found.lines())


@pytest.mark.parametrize("weights", [(0.15, 0.0), (0.3, 0.0)])
def test_a_lost_weight_is_said_first_and_no_mass_is_given(tmp_path, weights):
    # seen red: radiator.mms 67.11 ± 0.93 g and not a word, where 165 g was put in
    path = job(tmp_path, ("as found", {"weights": weights}, f"{1e3 * max(weights):g} g"))
    found = measure(read_job(path))
    assert any("a third peak" in words and "lost weight" in words for words in found.faults)
    assert "radiator" not in found.values and "ql" not in found.values["box"]
    assert "radiator moves" not in told(found)


@pytest.mark.parametrize("weights", [(0.15, 0.15), (0.3, 0.3), (0.05, 0.05)])
def test_radiators_that_are_alike_are_not_accused(tmp_path, weights):
    path = job(tmp_path, ("as found", {"weights": weights}, f"{1e3 * weights[0]:g} g"))
    found = measure(read_job(path))
    assert found.faults == () and "third peak" not in told(found)
    assert "the mean of all, if they are alike" in told(found)
    assert "need not show in a sweep: weigh what is on each" in told(found)


def test_weights_that_are_said_to_differ_leave_no_mass_and_say_why(tmp_path):
    # seen red: "each radiator moves 217.11 g" stood there, and the bare mass was just not
    path = job(
        tmp_path, ("as found", {"weights": (0.15, 0.0)}, '["150 g", "0 g"]'),
        added='["150 g", "0 g"]',
    )  # fmt: skip
    change(path, {"measured.radiator": {"mms": "67.1 ± 0.9 g", "cms": "0.60 ± 0.01 mm/N"}})
    found = measure(read_job(path))
    assert found.faults == () and "radiator moves" not in told(found)
    assert "carry 150 g and 0 g, so that no one mass describes them" in told(found)
    assert main(["job", "measure", str(path), "--write"]) == 0
    assert "radiator" not in read_job(path).tables["measured"]  # what was told before went, too


def leak_at(hertz, leak=LEAK):
    """QL by hand: ωb·C·R."""
    return 2 * 3.14159265 * hertz * VOLUME / BULK * leak


def test_a_leak_that_stays_is_not_said_to_have_changed(tmp_path):
    # seen red: "The QL went from 8.944 ± 0.090 to 7.319 ± 0.070", of one leak
    path = job(
        tmp_path, ("as found", {"weights": (0.15, 0.15)}, "150 g"),
        ("after", {"weights": (0.3, 0.3)}, "300 g"), added='"300 g"',
    )  # fmt: skip
    found = measure(read_job(path))
    words = next(each for each in found.words if each.startswith("The QL"))
    assert "The leak has not changed" in words
    brought = float(re.search(r"the first would be ([\d.]+)", words)[1])
    assert brought == pytest.approx(leak_at(tuning(0.3)), rel=0.03)
    assert leak_at(tuning(0.15)) / leak_at(tuning(0.3)) > 1.2  # the two QLs themselves differ
    sheet = {each.title: each for each in parts(found.into(read_job(path)))}
    assert "The leak has not changed" in " ".join(sheet["As found, and after the work"].words)


@pytest.mark.parametrize(("leak", "said"), [(LEAK * 2.5, "less"), (LEAK / 2.5, "more")])
def test_a_leak_that_changed_is_said_to_have(tmp_path, leak, said):
    path = job(
        tmp_path, ("as found", {"weights": (0.15, 0.15)}, "150 g"),
        ("after", {"weights": (0.3, 0.3), "leak": leak}, "300 g"), added='"300 g"',
    )  # fmt: skip
    assert f"The leak is {said} than it was" in told(measure(read_job(path)))
