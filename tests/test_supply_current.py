"""Amperes from the supply at full power, with rails that are held and rails that follow it."""

import math
from functools import partial

import pytest
from any_job import job_of
from test_own_gear import TWELVE

from boxlab.explainers import explainer
from boxlab.explainers._own import with_job
from boxlab.gear.job_cable import feed_of
from boxlab.gear.job_words import lines
from boxlab.publish.sheet import parts

STRONG = TWELVE.replace('"300 W"', '"400 W"').replace('ohm" = "500', 'ohm" = "700')
CABLED = STRONG + '[cable]\nlength = "5 m"\n'
WEAK = CABLED + '[supply]\nvoltage = "13.0 V"\nresistance = "30 mΩ"\n'


@pytest.fixture
def job(tmp_path):
    return partial(job_of, tmp_path)


def rails(text, kept):
    return text.replace("[amplifier]", f'[amplifier]\nregulated = "{kept}"')


def held():
    """By hand: the root of I·(13 − 0.03·I) = 700/0.75 that the battery reaches first."""
    return (13 - math.sqrt(13**2 - 4 * 0.03 * 700 / 0.75)) / (2 * 0.03)


def followed():
    """Step by step until it stands: the rails go with the volts, the watts with their square."""
    volts = 13.0
    for _ in range(200):
        amperes = 700 * (volts / 13.8) ** 2 / 0.75 / volts
        volts = 13.0 - 0.03 * amperes
    return amperes


def rows_of(job):
    found = next(part for part in parts(job) if part.title == "Cable and fuse")
    return {row.name: row for row in found.rows}


def test_rails_that_are_held_draw_more_from_a_supply_that_sags(job):
    # seen red: 72 A and a fuse of 80 A, where held rails draw 91 A
    feed = feed_of(job(WEAK))
    assert held() == pytest.approx(90.8, abs=0.1) and followed() == pytest.approx(55.5, abs=0.1)
    assert feed.current == pytest.approx(held(), rel=1e-9)
    assert feed.least == pytest.approx(followed(), rel=1e-6)
    assert feed_of(job(rails(WEAK, "yes"))).current == pytest.approx(held(), rel=1e-9)
    assert feed_of(job(rails(WEAK, "no"))).current == pytest.approx(followed(), rel=1e-6)


def test_the_sheet_shows_both_and_sizes_for_the_larger(job):
    found = rows_of(job(WEAK))
    row = found["current at full power"]
    assert row.metric.replace("\u00a0", " ") == "56 to 91 A"
    assert "does not say which" in row.note and "regulated" in row.note
    assert found["fuse, at the battery"].metric.split()[0] == "100"
    follows = rows_of(job(rails(WEAK, "no")))
    assert follows["current at full power"].metric.split()[0] == "56"
    assert "does not say which" not in follows["current at full power"].note
    assert follows["fuse, at the battery"].metric.split()[0] == "60.0"


def test_the_question_takes_the_larger_too(job):
    item = with_job(explainer("cable_and_fuse"), job(WEAK))
    numbers = {row.name: row.metric for row in item().numbers}
    assert float(numbers["supply current at full power"].split()[0]) == pytest.approx(91, abs=1)


def test_with_nothing_said_of_the_supply_the_assumed_volts_stand_beside_the_amperes(job):
    note = rows_of(job(CABLED))["current at full power"].note
    assert "13.8 V (assumed)" in note
    assert f"12 V at the amplifier it is {700 / 0.75 / 12:.0f} A" in note


def test_a_supply_that_cannot_give_it_is_said(job):
    words = feed_of(job(WEAK.replace("30 mΩ", "80 mΩ"))).words
    assert "more than this supply can give" in words


def test_check_lists_what_sheet_and_questions_take_for_granted(job):
    """Seen red: how the cable lies stood on the sheet alone."""
    said = "\n".join(lines(job(WEAK)))
    assumed = said.partition("Assumed:")[2]
    for words in (
        "cable.laid = closed in", "amplifier.efficiency = 0.75", "amplifier.regulated",
        "amplifier.rated_at = 13.8 V", "box.board = 18 mm", "kept free round the box = 3 mm",
    ):  # fmt: skip
        assert words in assumed, words
    free = WEAK.replace('length = "5 m"\n', 'length = "5 m"\nlaid = "in free air"\n')
    assert "cable.laid = " not in "\n".join(lines(job(free))).partition("Assumed:")[2]
