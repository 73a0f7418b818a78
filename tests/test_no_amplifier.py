"""Watts that a job does not have are told as assumed, and a level that breaks a driver is said."""

import pytest

from boxlab import read_job
from boxlab.explainers import explainer
from boxlab.explainers._own import with_job
from boxlab.panel import share_text

SMALL = """\
[job]
name = "a small one"
[driver]
fs = "48 Hz"
qts = "0.52"
vas = "8.5 L"
size = "6.5 in"
re = "3.4 ohm"
xmax = "7 mm"
pe = "150 W"
[box]
kind = "sealed"
volume = "5 L"
"""


@pytest.fixture
def job(tmp_path):
    def made(more=""):
        path = tmp_path / "it.job.toml"
        path.write_text(SMALL + more, encoding="utf-8")
        return read_job(path)

    return made


@pytest.mark.parametrize(
    "name",
    [
        "small_or_large", "ten_or_twelve", "one_or_two", "one_behind_the_other", "radiator_stop",
        "what_heat_takes", "what_equalisation_costs", "port_or_radiator", "clipping_and_heat",
    ],
)  # fmt: skip
def test_watts_that_the_job_does_not_have_are_said_to_be_assumed(name, job):
    """Was: the class's 300 W stood for the amplifier of a post that named none."""
    item = with_job(explainer(name), job())
    scene = item()
    told = [each for each in (scene.headline, *scene.readout) if " W" in each]
    assert any("W (assumed)" in each for each in told), scene.readout
    assert "no amplifier" in scene.gear
    theirs = with_job(explainer(name), job('[amplifier]\n"4 ohm" = "120 W"\n'))()
    assert "(assumed)" not in " ".join([*theirs.readout, theirs.gear])


def test_the_short_answer_says_so_too_and_what_the_driver_does_not_bear(job):
    """Was: 313 W and 14.8 mm for a driver of 150 W and 7 mm, and no word of caution."""
    item = with_job(explainer("small_or_large"), job())
    scene = item()
    short = share_text.in_short(item, scene)
    assert "300 W (assumed)" in short
    told = " ".join(scene.warnings)
    assert "100 dB" in told and "150 W" in told and "7.0 mm" in told
    assert "300 W" in told and told in short.replace("\nCareful: ", " ")
    kind = item(wanted=85.0, frequency=80.0, amplifier=50.0)
    assert not kind.warnings


def test_of_the_class_the_same_is_said():
    fine, beyond = (explainer("small_or_large")(wanted=w).warnings for w in (100.0, 110.0))
    assert not fine and "Xmax" in " ".join(beyond)


def test_watts_that_somebody_set_are_told_as_set(job):
    """Seen red: "(set here)", which in a pasted answer is nowhere."""
    item = with_job(explainer("small_or_large"), job())
    moved = item(amplifier=100.0)
    assert any("100 W (as set)" in each for each in moved.readout)
    assert "its watts are as set" in moved.gear and "(assumed)" not in moved.caption


def test_watts_that_are_also_what_the_driver_bears_are_marked_where_they_are_the_amplifier_s(job):
    """Seen red: "At 40 Hz with 300 W" in the short answer, with no word that nobody said them."""
    text = SMALL.replace('pe = "150 W"', 'pe = "300 W"')
    path = job().path
    path.write_text(text, encoding="utf-8")
    item = with_job(explainer("small_or_large"), read_job(path))
    assert "with 300 W (assumed)" in share_text.in_short(item, item())
