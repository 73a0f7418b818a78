"""The open job's box beside those of the class: the same footing, its own numbers, in words."""

import math
from functools import partial

import numpy as np
import pytest
from any_job import job_of
from test_own_gear import JOBS, SMALL, TWELVE

from boxlab.base.units import to_litres
from boxlab.design.fair_comparison import Footing, stand
from boxlab.explainers import builds_for_the_gap, does_it_go_in, explainer
from boxlab.explainers._one_box import box_of
from boxlab.explainers._own import with_job
from boxlab.gear import shelf
from boxlab.gear.demo_boxes import SHELF
from boxlab.gear.job import read_job
from boxlab.gear.own_build import own_build
from boxlab.model.response import solve
from boxlab.panel import share_text

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
    return partial(job_of, tmp_path)


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
    assert "your box over small sealed" in scene.title and "lead of your box" in scene.headline


def test_the_amplifier_is_the_job_s_own_with_its_own_ratings(job):
    mine = with_job(explainer("one_page"), job(TWELVE))
    assert mine.start["first"] == "own" and mine.start["watts"] == 300
    assert "amplifier 500 W at 2 Ω, 300 W at 4 Ω" in mine().caption
    both = mine(second="two-ohm twin", third="none")
    assert {"your box", "two-ohm twin"} <= set(both.shows)


def test_an_amplifier_that_is_not_for_one_of_them_leaves_the_rest(job):
    only_four = job(TWELVE.replace('"2 ohm" = "500 W"\n', ""))
    scene = with_job(explainer("the_winner_changes"), only_four)()  # the twin is of 2 Ω
    assert "none on the same amplifier" in scene.headline and "nan" not in " ".join(scene.readout)
    assert any("The two-ohm twin: load = 2 Ω is below" in words for words in scene.readout)
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
    with pytest.raises(ValueError, match=r'write pe = "500 W" under \[driver\]'):
        mine()


CABLED = TWELVE + '[cable]\nlength = "17 ft"\n'


def test_settings_that_are_the_job_s_are_named_and_moved_ones_are_not(job):
    mine = with_job(explainer("cable_and_fuse"), job(CABLED))
    assert mine().gear.startswith(
        "Gear: from the job “pickup, behind the seat”: amplifier, all channels, cable one way. "
        "The other settings are not. The cable is for 500 W into 2 Ω"
    )
    assert "all channels" not in mine(power=900.0).gear
    assert "For “pickup" in share_text.in_short(mine, mine())
    assert mine.start["length"] == pytest.approx(17 * 0.3048, rel=1e-3)


def test_a_radiator_is_weighed_by_the_two_tunings_of_the_job_s_own_box(job):
    mine = job(TWELVE)
    scene = with_job(explainer("weights_for_a_tuning"), mine)()
    grams = float(scene.readout[0].split("moves ")[1].split(" g")[0])
    assert grams == pytest.approx(520, rel=0.02)  # 230 g and 290 g of weights; tunings to 0.1 Hz
    assert "by its parts, not measured" in scene.caption and "invented" not in scene.caption


def test_what_is_mounted_and_the_panels_are_those_of_the_job(job):
    """The class's ten-inch and its box behind the seat once stood in, without a word."""
    mine = job(TWELVE)
    with shelf.opened(mine):
        parts = [shelf.DRIVER_PARTS["own"], shelf.RADIATOR_PARTS["own"]]
        taken = sum(part.displacement(0.018) for part in parts)
    assert parts[1].count == 2
    told = with_job(explainer("gap_to_volume"), mine)()
    assert f"the driver and radiators {1e3 * taken:.1f}" in told.readout[1]
    assert "obstruction 0.0" in told.readout[1] and "without the driver" in told.readout[3]
    small = job(SMALL)
    braced = {
        row.name: row for row in with_job(explainer("brace_and_fill"), small)(braces=0).numbers
    }
    assert float(braced["net volume without braces"].metric.split()[0]) == pytest.approx(
        5.0, abs=0.01
    )
    assert "The job has no gap" in with_job(explainer("gap_to_volume"), small)().caption


def test_coils_are_the_job_s_and_what_is_not_said_of_them_is_said(job):
    one = with_job(explainer("coil_wiring"), job(SMALL))
    assert (one.start["coil"], one.start["coils"]) == ("2 Ω", "one")
    assert "how many coils its driver has: taken as one" in one().caption
    two = SMALL.replace("[driver]", '[driver]\ncoils = 2\ncount = 2\nwiring = "parallel"')
    wired = two.replace("coils = 2", 'coils = 2\ncoil_wiring = "series"').replace("1.7", "7.0")
    said = with_job(explainer("coil_wiring"), job(wired))
    assert (said.start["coil"], said.start["drivers"]) == ("4 Ω", 2)
    assert "2 coils in series in each, 2 drivers in parallel: 4 Ω" in " ".join(said().readout)
    assert "taken as in parallel" in with_job(explainer("coil_wiring"), job(two))().caption


def test_the_short_answer_says_first_what_cannot_be(job):
    mine = with_job(explainer("what_equalisation_costs"), job(SMALL.replace("90 W", "40 W")))
    text = share_text.in_short(mine, mine())
    assert "it cannot be done" in text and ": That is" not in text
    assert len(text.splitlines()[0].split()) <= share_text.SHORT


@pytest.mark.parametrize("number", [1, 2, 3, 4, 6])
def test_as_many_radiators_as_the_job_has(job, number):
    """Three or four were once taken for one, and the answer was that of a box that stops early."""
    mine = job(TWELVE.replace("[radiator]\n", f"[radiator]\ncount = {number}\n").replace(
        "count = 2\n", "", 1).replace("0.77 ft3", f"{0.4 * number:g} ft3"))  # fmt: skip
    assert mine.radiators == number
    scene = with_job(explainer("radiator_need"), mine)()
    fitted = number * mine.radiator.sd * mine.radiator.xmax / (mine.driver.sd * mine.driver.xmax)
    assert f"the {fitted:.2f} fitted" in scene.message
    for name in ("radiator_stop", "softer_suspension", "port_or_radiator"):
        start = with_job(explainer(name), mine).start["count"]
        assert shelf.COUNTS[start] == number


def test_the_gap_is_the_job_s_in_every_size(job):
    mine = job(TWELVE)
    with shelf.opened(mine):
        assert does_it_go_in._box(200, 130, 18, 0).gap.wedge.width == pytest.approx(1.016)
        box, _ = builds_for_the_gap.builds("own", "own", 40.0, 76.0, 300.0, 30.0, 18.0, 17.0)
    assert box.gap == mine.gap
    builds = with_job(explainer("builds_for_the_gap"), mine)
    assert builds.start["gap"] == "own" and "in your gap" in builds().caption
    goes = with_job(explainer("does_it_go_in"), mine).start
    assert (goes["across"], goes["bracket"]) == (0, 0)
    assert "The job has no gap" in with_job(explainer("builds_for_the_gap"), job(SMALL))().caption


def test_friction_and_mass_of_the_box_are_the_job_s_or_said_to_be_a_guess(job):
    """QR once was the class's 37, and the box shaken weighed 12 kg, whatever came in."""
    mine = job(TWELVE)
    box, air = mine.box, mine.box.volume / (1.2041 * 343.2**2)  # m³/Pa
    drag = box.radiator.rms / (box.count * box.radiator.sd**2)
    q = 1 / (2 * math.pi * box.tuning() * air * drag)
    assert with_job(explainer("least_and_most"), mine).start["qr"] == round(q)
    shaken = with_job(explainer("recoil"), mine)
    assert "what is set is a guess" in shaken().caption
    weighed = with_job(explainer("recoil"), job(TWELVE.replace("[box]", '[box]\nweight = "21 kg"')))
    assert weighed.start["weight"] == 21 and "a guess" not in weighed().caption
    port = with_job(explainer("least_and_most"), job(PORTED))
    assert port.start["build"] == "port"
    with shelf.opened(job(PORTED)):
        area = box_of("port", 33.0).radiator.sd
    assert area == pytest.approx(math.pi * 0.045**2)


def test_a_port_that_the_job_lacks_is_said_to_be_the_class_s(tmp_path):
    from boxlab.explainers._own import BESIDE

    path = tmp_path / "sealed.job.toml"
    path.write_text(
        '[driver]\nfs = "31 Hz"\nqts = "0.36"\nvas = "65 L"\nsd = "507 cm2"\nre = "3.6 ohm"\n'
        '[box]\nkind = "sealed"\nvolume = "25 L"\n',
        encoding="utf-8",
    )
    item = with_job(explainer("phase_at_tuning"), read_job(path))
    builds = next(c for c in item.controls if c.name == "build").options
    assert BESIDE in item(build=next(b for b in builds if "port" in b)).caption
