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
