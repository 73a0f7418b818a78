"""The sentence above each picture: a whole one, with its number, for every state one lands in."""

from __future__ import annotations

import re

import pytest

from boxlab.base.both_units import both_units
from boxlab.explainers import all_explainers

EXPLAINERS = {item.name: item for item in all_explainers()}
LONGEST = 150  # letters: three lines on a phone, two on a laptop
VERB = re.compile(
    r"\b(is|are|has|have|plays?|moves?|needs?|takes?|goes|makes?|gets?|gives?|allows?|adds?|fits?|"
    r"keeps?|counts?|comes?|costs?|shows?|reads?|rings?|stops?|tells?|tunes?|leaves?|leads?|finds?|"
    r"passe?s?|does|draws?|heats?|leave|can|differ|differs|lie|lies)\b"
)


@pytest.mark.parametrize("name", EXPLAINERS)
def test_a_headline_is_a_sentence_with_its_number(name):
    item = EXPLAINERS[name]
    for preset in ({}, *item.presets.values()):
        said = item(**preset).message
        assert said[-1] in ".)" and re.match(r"[A-Z0-9]", said), said
        assert re.search(r"\d", said) or "can be compared" in said, said
        assert VERB.search(said), f"no verb: {said}"
        assert not re.search(r"(?<![\w.])-\d", said), f"a hyphen for a minus: {said}"
        assert len(re.sub(r" \([^()]*\)", "", both_units(said))) <= LONGEST, said


@pytest.mark.parametrize("name", ["least_and_most", "phasors", "tone_burst"])
def test_a_cutaway_moves_at_the_volts_that_its_plots_are_for(name):
    scene = EXPLAINERS[name]()
    assert scene.cutaway.volts == 10.0 and "on 10 V" in scene.cutaway.words
    said = " ".join((scene.caption, scene.title, *(plot.title for plot in scene.plots), scene.code))
    assert re.search(r"\b10 V\b|10 volts|voltage=10\b|, 10\)", said)


def test_a_cutaway_of_what_equalisation_costs_has_the_travel_of_its_headline():
    scene = EXPLAINERS["what_equalisation_costs"]()
    travel = abs(scene.cutaway.swings[0].dx)
    assert f"{travel:.1f} mm" in scene.message


def test_what_is_not_enough_reads_as_less_in_inches_too():
    said = EXPLAINERS["low_and_loud"](spl=105, frequency=40, count="one").message
    needed, there = (float(n) for n in re.findall(r"([\d.]+) in³", said))
    assert "not enough" in said and there < needed, said
