"""One job, one answer: the hand-over sheet and the questions about the same job agree."""

import re
from functools import partial

import pytest
from any_job import any_job, job_of
from test_own_gear import TWELVE

from boxlab.car.ampacity import ON_SALE, ampacity
from boxlab.explainers import explainer
from boxlab.explainers._own import with_job
from boxlab.gear.job_file import TEMPLATE
from boxlab.gear.job_keys import JobError
from boxlab.publish.sheet import parts

CABLED = TWELVE + '[cable]\nlength = "5 m"\n'
WEAK = CABLED + '[supply]\nvoltage = "13.0 V"\nresistance = "30 mΩ"\n'


@pytest.fixture
def job(tmp_path):
    return partial(job_of, tmp_path)


def part_of(job, title):
    return next(part for part in parts(job) if part.title == title)


def feed_of(job):
    return {row.name: row for row in part_of(job, "Cable and fuse").rows}


def amperes(row):
    return float(row.metric.split()[-2])  # of a range the larger


def labelled(row):
    return next(c for c in ON_SALE["AWG"] if c.label == row.metric.partition(" (")[0])


def test_no_fuse_is_above_what_the_cable_may_carry_as_it_will_lie(job):
    """It may lie under a carpet unless somebody said that it does not."""
    found = feed_of(job(CABLED.replace('"300 W"', '"400 W"').replace('ohm" = "500', 'ohm" = "700')))
    cable = labelled(found["cable, copper, closed in"])
    fuse = amperes(found["fuse, at the battery"])
    assert fuse == 70  # 700 W at 75 % from 13.8 V are 67.6 A
    assert ampacity(cable, laid="closed in") >= fuse
    thinner = ON_SALE["AWG"][ON_SALE["AWG"].index(cable) - 1]
    assert ampacity(thinner, laid="closed in") < fuse or thinner.drop(fuse, 5) > 0.5
    lies = found["how the cable lies"]
    assert (lies.metric, lies.how) == ("closed in", "assumed")
    assert 'laid = "in free air"' in lies.note
    assert amperes(found["it may carry, closed in"]) == pytest.approx(
        ampacity(cable, laid="closed in"), abs=1
    )
    assert found["cable, copper, closed in"].how == "assumed"


def test_free_air_counts_where_the_job_says_so(job):
    closed = feed_of(job(CABLED))
    found = feed_of(job(CABLED + 'laid = "in free air"\n'))
    assert found["how the cable lies"].how == "given"
    assert labelled(found["cable, copper, in free air"]).area <= (
        labelled(closed["cable, copper, closed in"]).area
    )
    told = feed_of(job(CABLED + 'laid = "closed in"\n'))
    assert told["how the cable lies"].how == "given"
    assert told["cable, copper, closed in"].metric == closed["cable, copper, closed in"].metric
    with pytest.raises(JobError, match="choose one of in free air, closed in"):
        job(CABLED + 'laid = "under a carpet"\n')


@pytest.mark.parametrize("text", [CABLED, WEAK, *(any_job(n) for n in (1, 10, 22, 25, 33, 45))])
def test_sheet_and_question_give_one_job_the_same_current_fuse_and_cable(text, job):
    mine = job(text)
    item = with_job(explainer("cable_and_fuse"), mine)
    scene = item()
    asked = {row.name: row for row in scene.numbers}
    part = part_of(mine, "Cable and fuse")
    found = {row.name: row for row in part.rows}
    assert item.start["laid"] == "closed in"
    if "fuse, at the battery" not in found:  # no cable listed holds: then the question says so too
        assert asked["cable"].metric == "none listed holds" and "no cable" in part.missing[0]
        return
    cable = found["cable, copper, closed in"].metric.replace("\u00a0", " ")
    assert cable == f"{asked['cable'].imperial} ({asked['cable'].metric})".replace("\u00a0", " ")
    assert amperes(found["fuse, at the battery"]) == float(asked["fuse"].metric.split()[0])
    current = float(asked["supply current at full power"].metric.split()[0])
    assert amperes(found["current at full power"]) == pytest.approx(current, rel=0.05)
    told = set(scene.warnings) - {mine.too_low}  # no cable mends a load that is too low
    assert not any("fuse" in words for words in told)


def test_a_new_file_offers_how_the_cable_lies(job):
    offered = TEMPLATE.partition("# [cable]")[2].partition("# [[")[0].replace("\n# ", "\n")
    assert job("[cable]" + offered).tables["cable"] == {
        "length": 5.0, "laid": "closed in", "supply": 13.8,
    }  # fmt: skip


def test_both_say_why_the_highest_rating_is_taken_and_at_what_volts(job):
    mine = job(WEAK)
    note = feed_of(mine)["current at full power"].note
    caption = with_job(explainer("cable_and_fuse"), mine)().caption
    for words in (note, caption):
        assert "500 W into 2 Ω" in words and "may draw" in words and "wired for 4 Ω" in words
        assert re.search(r"\b13 V", words)
    assert "closed in" in caption and "does not say how the cable lies" in caption
    low = feed_of(job(WEAK.replace('re = "3.64 ohm"', 're = "1.7 ohm"')))
    assert "wired for" not in low["current at full power"].note


FILTERS = '[filters]\nhigh_pass = "25 Hz"\nhigh_pass_order = "4"\n'
ON_WATTS = ("heat_or_travel", "meter_on_music", "port_or_radiator", "small_or_large")


@pytest.mark.parametrize("name", ON_WATTS)
def test_a_question_that_leaves_out_filters_and_supply_says_so(name, job):
    """The sheet counts them, and so shows other watts and other travel for the same job."""
    words = "Not counted here: filters: high-pass 25 Hz, 24 dB/octave; supply: 13 V behind 30 mΩ"
    assert words in with_job(explainer(name), job(WEAK + FILTERS))().caption
    assert "Not counted" not in with_job(explainer(name), job(CABLED))().caption


def test_what_counts_a_filter_or_a_supply_names_only_the_other(job):
    mine = job(WEAK + FILTERS)
    passed = with_job(explainer("what_a_high_pass_saves"), mine)().caption
    supplied = with_job(explainer("what_a_weak_supply_costs"), mine)().caption
    assert "Not counted here: supply" in passed and "Not counted here: filters" not in passed
    assert "Not counted here: filters" in supplied and "mΩ; the hand-over" not in supplied
    assert "Not counted" not in with_job(explainer("cable_and_fuse"), mine)().caption


def test_travel_is_told_with_its_volts(job):
    for item in (explainer("first_experiment"), with_job(explainer("first_experiment"), job(WEAK))):
        assert re.search(r"it moves [\d.]+(?: to [\d.]+)? mm, both at 20 V\.", item().message)
        for edge in item.told().warnings:
            if "Xmax" in edge:
                assert re.search(r"Xmax\b.* Hz at 20 V\.", edge)
    assert any("Cone past Xmax" in words for words in item.told().warnings)


def test_the_cable_of_a_weak_supply_lies_as_the_job_s_does(job):
    item = explainer("what_a_weak_supply_costs")

    def thinnest(scene):
        line = scene.readout[-1]
        return float(re.search(r"all: ([\d.]+) mm²", line)[1]), line

    own, words = thinnest(with_job(item, job(WEAK))())
    free, told = thinnest(with_job(item, job(WEAK.replace(CABLE, FREE)))())
    assert "laid closed in" in words and "laid in free air" in told
    assert own > free
    caption = with_job(item, job(WEAK))().caption
    assert "does not say how the cable lies: taken as closed in" in caption
    assert "how the cable lies" not in with_job(item, job(WEAK.replace(CABLE, FREE)))().caption
    assert "laid in free air" in item().readout[-1]  # of the class's own, as its lesson says


CABLE = '[cable]\nlength = "5 m"\n'
FREE = CABLE + 'laid = "in free air"\n'
