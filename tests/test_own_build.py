"""The open job's box beside those of the class: the same footing, its own numbers, in words."""

import math

import numpy as np
import pytest
from test_own_gear import JOBS, SMALL, TWELVE

from boxlab.base.units import to_litres
from boxlab.design.fair_comparison import Footing, stand
from boxlab.explainers import explainer
from boxlab.explainers._own import with_job
from boxlab.gear import shelf
from boxlab.gear.demo_boxes import SHELF
from boxlab.gear.job import read_job
from boxlab.gear.own_build import own_build
from boxlab.model.response import solve

PORTED = """\
[driver]
fs = "30 Hz"
qts = "0.4"
vas = "60 L"
sd = "330 cm2"
re = "3.4 ohm"
xmax = "9 mm"
pe = "300 W"

[box]
kind = "ported"
volume = "45 L"
fb = "33 Hz"
port_diameter = "90 mm"
board = "15 mm"
"""


@pytest.fixture
def job(tmp_path):
    def opened(text):
        path = tmp_path / "it.job.toml"
        path.write_text(text, encoding="utf-8")
        return read_job(path)

    return opened


@pytest.mark.parametrize("text", [TWELVE, SMALL, PORTED])
def test_the_room_outside_holds_the_box_and_what_stands_in_it(job, text):
    mine = job(text)
    with shelf.opened(mine):
        build = own_build(mine)
        unit = (build.space / 1e3 / 240) ** (1 / 3)
        again = build.box(build.space)
        said = shelf.said()
    inside = math.prod(k * unit - 2 * build.board for k in (8, 6, 5))
    port = getattr(mine.box, "port", None)
    stands = float(port.area * port.length) if port else 0.0
    assert inside == pytest.approx(float(mine.box.volume) + build.taken + stands, rel=1e-6)
    # built into that room once more it is the same box; the tube's own wall is counted there
    assert again.volume == pytest.approx(mine.box.volume, rel=0.02 if port else 1e-6)
    if text != SMALL:
        assert again.tuning() == pytest.approx(float(mine.box.tuning()), rel=1e-6)
    assert any("How much room your box takes outside" in words for words in said)


def test_the_lead_is_that_of_the_model_s_own_numbers(job):
    mine = job(TWELVE)
    scene = with_job(explainer("the_winner_changes"), mine)(second="small sealed", low=30.0)
    f = np.geomspace(30, 80, 120)
    other = SHELF["small sealed"].contender("x")
    lead = np.mean(solve(mine.system, mine.box, f).spl) - np.mean(
        solve(other.driver, other.box, f).spl
    )
    row = next(row for row in scene.numbers if row.name == "same voltage")
    low, high = (float(each.replace("−", "-")) for each in row.metric.split(" dB")[0].split(" to "))
    assert low - 0.06 <= lead <= high + 0.06 and high - low < 2  # Qms is assumed
    assert "your box over small sealed" in scene.title and "Lead of your box" in scene.headline


def test_the_amplifier_is_the_job_s_own_with_its_own_ratings(job):
    mine = with_job(explainer("one_page"), job(TWELVE))
    assert mine.start["first"] == "own" and mine.start["watts"] == 300
    assert "amplifier 500 W at 2 Ω, 300 W at 4 Ω" in mine().caption
    both = mine(second="two-ohm twin", third="none")
    assert {"your box", "two-ohm twin"} <= set(both.shows)


def test_an_amplifier_that_is_not_for_one_of_them_leaves_the_rest(job):
    only_four = job(TWELVE.replace('"2 ohm" = "500 W"\n', ""))
    scene = with_job(explainer("the_winner_changes"), only_four)()  # the twin is of 2 Ω
    assert "same amplifier none" in scene.headline and "nan" not in " ".join(scene.readout)
    assert any("Two-ohm twin: load = 2 Ω is below" in words for words in scene.readout)
    one = with_job(explainer("one_page"), only_four)(second="two-ohm twin")
    assert any("two-ohm twin: load = 2 Ω" in words for words in one.readout)


@pytest.mark.parametrize("name", JOBS)
def test_every_job_can_be_built_into_the_room_of_another_or_says_why_not(job, name):
    mine = job(JOBS[name])
    with shelf.opened(mine):
        moved = SHELF["own"].contender("your box", SHELF["large ported"].space)
    standing = stand(moved, Footing())
    assert moved.box is not None or "cannot be built in 90 L" in standing.problem
    if moved.box is not None:
        assert to_litres(moved.box.volume) < 90


def test_a_rating_that_is_not_known_is_asked_for(job):
    mine = with_job(explainer("the_winner_changes"), job(SMALL.replace('pe = "80 W"\n', "")))
    with pytest.raises(ValueError, match="pe of the driver is not known"):
        mine()
