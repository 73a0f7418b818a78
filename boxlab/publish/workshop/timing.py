"""How many minutes a step of a run sheet asks for, read aloud and done at a class's pace.

The paces are common practice, no published source: they are there so that a step is not planned
for less than its words and blanks can take.
"""

from __future__ import annotations

import re
from collections.abc import Iterable

from boxlab.quiz.exercises import exercise

WORDS = 130  # spoken a minute, slowly enough for a room
LETTER, HANDS = 0.5, 0.15  # min to write a letter down; to count the hands of one option
REASONS, LOOK = 1.0, 1.0  # min for somebody's reasons; to find the answer in the picture
BLANK = 2.5  # min for one blank, with a formula beside it and a pocket calculator
EACH = "a problem each"  # what a step says where the two of a pair take one each


def words(text: str) -> int:
    """How many words are read aloud; the target of a link is none."""
    return len(re.findall(r"\w+", re.sub(r"\]\([^)]*\)", "]", text)))


def of_prediction(ask) -> float:
    """Minutes of a prediction, as the instructors' page runs it."""
    options, outcome = ask.question.options, ask.outcome
    said = [ask.question.question, *options, outcome.because, *outcome.others]
    said += outcome.others.values()
    fixed = LETTER + HANDS * len(options) + REASONS + LOOK
    return fixed + sum(map(words, said)) / WORDS


def of_paper(key: str) -> float:
    """Minutes of an exercise on paper."""
    item = exercise(key)
    return words(item.prompt(item.numbers())) / WORDS + BLANK * len(item.blanks)


def least(row, lessons: Iterable) -> float:
    """Minutes that a row of a run sheet asks for at least; unknown keys ask for none."""
    from boxlab.quiz.exercises import all_exercises

    asks = {ask.key: ask for lesson in lessons for ask in lesson.asks}
    known = {item.key for item in all_exercises()}
    papers = [of_paper(key) for key in row.papers if key in known]
    on_paper = max(papers, default=0.0) if EACH in row.what else sum(papers)
    asked = sum(of_prediction(asks[key]) for key in row.asks if key in asks)
    return words(row.what) / WORDS + asked + on_paper
