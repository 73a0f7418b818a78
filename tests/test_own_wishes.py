"""Questions about a job start from what it has, and call nothing measured that was not."""

from functools import partial

import numpy as np
import pytest
from any_job import job_of
from test_own_gear import TWELVE

from boxlab.explainers import explainer
from boxlab.explainers._own import with_job
from boxlab.gear.job_file import change
from boxlab.model.passband import passband
from boxlab.model.response import solve
from boxlab.publish.answer_data import as_data


@pytest.fixture
def job(tmp_path):
    return partial(job_of, tmp_path)


def test_pick_two_starts_from_the_corner_and_the_level_of_the_job_s_own_box(job):
    mine = job(TWELVE)
    item = with_job(explainer("pick_two"), mine)
    assert item.start["f3"] == pytest.approx(float(passband(mine.system, mine.box).f3), rel=1e-3)
    flat = solve(mine.system, mine.box, [300.0], float(np.sqrt(mine.system.re))).spl[0]
    assert item.start["level"] == pytest.approx(flat, abs=1.5)  # its coil's inductance takes some
    scene = item()
    assert "corner and level start at those of your own box" in scene.caption
    level = next(c for c in item.controls if c.name == "level")
    assert level.low >= 60 and level.high <= 120


def test_a_wish_is_called_that_of_its_setting_and_never_the_reader_s(job):
    driver = TWELVE.partition("[radiator]")[0]
    for scene in (with_job(explainer("pick_two"), job(driver))(), explainer("pick_two")()):
        assert "The wish set here, 90.0 dB for 1 W, cannot be had" in scene.readout[1]
        said = " ".join((*scene.readout, scene.caption, scene.alt))
        assert "your wish" not in said.casefold()
        assert any(line.label == "the wish set here" for line in scene.plots[0].lines)
        assert "those of your own box" not in scene.caption


MEASURED = {
    "measured.box": {"fb": "44.10 ± 0.05 Hz"},
    "measured.radiator": {"mms": "231.0 ± 0.6 g"},
}


def test_no_second_tuning_is_told_that_nobody_measured(job):
    for mine, how in (
        (job(TWELVE), "by its parts, not measured"),
        (change(job(TWELVE).path, MEASURED), "as measured"),
    ):
        item = with_job(explainer("weights_for_a_tuning"), mine)
        scene = item()
        told = f"{item.start['second']:g} Hz"
        for words in (scene.message, scene.readout[0], scene.caption):
            assert how in words and "moves 52" in words and told not in words
        assert not any(line.label == "measured" for plot in scene.plots for line in plot.lines)
        assert "tuning with the weights" not in scene.gear


def test_two_tunings_that_somebody_set_are_no_example(job):
    scene = with_job(explainer("weights_for_a_tuning"), job(TWELVE))(
        first=44.0, second=38.0, added=100.0, wanted=36.0
    )
    assert "example" not in scene.message + scene.caption
    assert scene.readout[0].startswith("Each radiator moves 293 ±")


def test_without_radiators_the_tunings_are_said_to_be_the_class_s(job):
    sealed = TWELVE.partition("[radiator]")[0] + '[box]\nkind = "sealed"\nvolume = "30 L"\n'
    scene = with_job(explainer("weights_for_a_tuning"), job(sealed))()
    assert "example" in scene.message and "nothing of it is of the job" in scene.caption


def test_a_second_tuning_that_nobody_gave_is_labelled_as_a_try(job):
    # seen red: "Tuning with the weights 37.8 Hz", "Weights for the second 90 g", as if told
    item = with_job(explainer("weights_for_a_tuning"), job(TWELVE))
    labels = {control.name: control.label for control in item.controls}
    assert all("a try, until you set it" in labels[name] for name in ("second", "added", "wanted"))
    assert "try" not in labels["first"] + labels["error"]


POST = """\
[job]
name = "a post"
[driver]
fs = "31 Hz"
qts = "0.45"
vas = "42 L"
size = "10 in"
re = "3.4 ohm"
xmax = "10 mm"
pe = "300 W"
[amplifier]
"4 ohm" = "250 W"
"""


def test_two_boxes_are_compared_without_re_which_they_do_not_hang_on(job):
    """Seen red: "re is missing: the coil's resistance as a meter reads it"."""
    whole = with_job(explainer("small_or_large"), job(POST))(amplifier=250.0)
    mine = job(POST.replace('re = "3.4 ohm"\n', ""))
    item = with_job(explainer("small_or_large"), mine)
    scene = item()
    assert item.start["amplifier"] == 250
    assert scene.readout == whole.readout
    assert "does not say Re" in scene.caption and "8 Ω" in scene.caption
    assert "is rated at" not in scene.caption  # nothing is known of its watts into that
    assert "does not say Re" not in whole.caption
    data = as_data(item, item.start, scene, mine, {"own"})
    assert "re" not in data["values"] and data["headline"] == scene.message
    with pytest.raises(ValueError, match="re is missing"):  # where it counts it is asked for
        with_job(explainer("coil_wiring"), mine)()


RATED = """\
[driver]
fs = "38 Hz"
qts = "0.52"
vas = "0.45 ft3"
sd = "33 in2"
re = "3.4 ohm"
xmax = "9 mm"
pe = "200 W"

[box]
kind = "sealed"
volume = "0.35 ft3"

[amplifier]
"4 ohm" = "250 W"
"""
INTO_RE = (
    "small_or_large", "ten_or_twelve", "radiator_stop", "radiator_choices",
    "what_equalisation_costs",
)  # fmt: skip


@pytest.mark.parametrize("name", INTO_RE)
def test_an_amplifier_that_is_counted_into_re_gives_the_volts_of_its_rating(name, job):
    """Seen red: 250 W at 4 Ω are 31.6 V, so 294 W into 3.4 Ω, and 250 W into it were taken."""
    item = with_job(explainer(name), job(RATED))
    (slider,) = [c for c in item.controls if "into the coil's Re" in c.label]
    assert slider.start == pytest.approx(250 * 4 / 3.4, rel=5e-3)
    if name == "small_or_large":
        words = item().caption
        assert "250 W into 4 Ω, so 31.6 V" in words and "294 W into the coil's Re of 3.4 Ω" in words
