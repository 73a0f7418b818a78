"""Exercises on paper: a sheet with room to answer, and the key that goes with it, in Markdown."""

from __future__ import annotations

import re
from collections.abc import Iterable

from boxlab.base.quantities import digits, find_unit
from boxlab.quiz import inch_units
from boxlab.quiz.round_inches import sayer
from boxlab.quiz.task import DEMO, Exercise, Step

EXAMPLE = "**Worked example, with other numbers.**"
_SI = "Formulas take and give m, m², m³, kg, s, N and Pa; 1 % is 0.01."


def worksheet(exercises: Iterable[Exercise], learner: str = DEMO, inch: bool = False) -> str:
    """A printable sheet in Markdown: questions with this learner's numbers and room to answer.

    Parameters
    ----------
    inch : bool
        Print inch units, and take answers in them.
    """
    parts, needed = [], []
    for count, exercise in enumerate(exercises, 1):
        numbers = exercise.numbers(learner)
        say = sayer(exercise, numbers) if inch else str
        shown = say(exercise.prompt(numbers))
        blanks = "\n".join(_blank(step, inch) for step in exercise.blanks)
        parts.append(f"## {count}. {exercise.name}\n\n{shown}\n\n{blanks}")
        units = _units(shown, exercise, inch)
        scaled = [step for step in exercise.blanks if find_unit(step.symbol).size != 1]
        needed += units
        if scaled or (units and not inch):
            parts.append(_SI)
        parts.append(f"{EXAMPLE} {_example(exercise, numbers, inch)}")
    head = [f"# Worksheet\n\nNumbers for: **{_plain(learner)}**"]
    if inch and needed:
        head.append(f"{_SI} {inch_units.table(needed)}.")
    return "\n\n".join(head + parts) + "\n"


def _blank(step: Step, inch: bool) -> str:
    unit = inch_units.unit(step.symbol) if inch else step.symbol
    line = f"- {step.label}: ____________ {unit}".rstrip()
    return f"{line}, by `{step.formula}`" if step.formula else line


def _units(shown: str, exercise: Exercise, inch: bool) -> list[str]:
    """The mechanical units that stand in a prompt or beside a blank."""
    known = set(inch_units.INSTEAD.values() if inch else inch_units.INSTEAD)
    names = "|".join(sorted(map(re.escape, known), key=len, reverse=True))
    found = re.findall(rf"\d ({names})(?![\w²³/])", shown)
    own = (inch_units.unit(s.symbol) if inch else s.symbol for s in exercise.blanks)
    found += [symbol for symbol in own if symbol in known]
    return [symbol for symbol in found if find_unit(symbol).kind in inch_units.INTO]


def _example(exercise: Exercise, numbers, inch: bool) -> str:
    """The same question and its solution, never with the learner's own numbers.

    In inch units it goes the way that a learner has to go: into SI, the formulas, and back.
    """
    place = exercise.place(len(exercise.blanks))
    other = exercise.numbers(DEMO, place)
    while exercise.prompt(other) == exercise.prompt(numbers):
        place += ":other"
        other = exercise.numbers(DEMO, place)
    asked, solved = exercise.prompt(other), exercise.solution(other)
    if not inch:
        return f"{asked}\n\n{solved}"
    turned = [
        f"{step.label} {in_unit(step, float(step.answer(other)), True)}"
        for step in exercise.blanks
        if inch_units.unit(step.symbol) != step.symbol
    ]
    back = f" In inch units: {', '.join(turned)}." if turned else ""
    into = inch_units.into_si(asked)
    return f"{inch_units.text(asked)}\n\n{into}{solved}{back}"


def answer_key(exercises: Iterable[Exercise], learner: str = DEMO, inch: bool = False) -> str:
    """The answers to `worksheet` for the same word: what counts, slips to expect, hints to give."""
    parts = [f"# Answer key\n\nNumbers for: **{_plain(learner)}**"]
    for count, exercise in enumerate(exercises, 1):
        numbers = exercise.numbers(learner)
        say = sayer(exercise, numbers) if inch else str
        lines = []
        for step in exercise.blanks:
            right, off = float(step.answer(numbers)), step.allowed(numbers)
            low, high = (in_unit(step, each, inch) for each in (right - off, right + off))
            lines.append(
                f"- {step.label}: **{in_unit(step, right, inch)}**; from {low} to {high} counts"
            )
            lines += [
                f"- {in_unit(step, wrong, inch)} under “{step.label}” means: {say(words)}"
                for words, wrong in slips(step, numbers)
            ]
        hints = "\n".join(f"{i}. {say(h)}" for i, h in enumerate(exercise.three_hints(numbers), 1))
        answers = "\n".join(lines)
        parts.append(
            f"## {count}. {exercise.name}\n\n{answers}\n\n{say(exercise.solution(numbers))}\n\n"
            f"Hints:\n\n{hints}"
        )
    return "\n\n".join(parts) + "\n"


def slips(step: Step, numbers) -> list[tuple[str, float]]:
    """(what it means, the wrong value) of each slip that is not taken for right when rounded."""
    found = [(say, float(wrong(numbers))) for say, wrong in step.slips.items()]
    return [(say, wrong) for say, wrong in found if not step.check(digits(wrong), numbers).right]


def in_unit(step: Step, number: float, inch: bool) -> str:
    """A value of this blank as text, with the unit that the sheet asks for."""
    if inch:
        number = inch_units.value(number, step.unit)
    unit = inch_units.unit(step.symbol) if inch else step.symbol
    return f"{digits(number)} {unit}".rstrip()


def _plain(word: str) -> str:
    return re.sub(r"([\\`*_{}\[\]()<>#+!|&-])", r"\\\1", " ".join(word.split()))
