"""Every exercise and prediction, whatever its lesson: right is taken, slips have names, hints hold.

What the exercises of one lesson have of their own, such as a formula by hand, is in tests/claims.
"""

import importlib
import re
from dataclasses import replace

import numpy as np
import pytest
from by_hand import all_worked

from boxlab.base.quantities import UNITS, find_unit
from boxlab.publish.workshop.lesson import lessons
from boxlab.quiz.exercises import all_exercises

EVERY = pytest.mark.parametrize("exercise", all_exercises(), ids=lambda exercise: exercise.key)
WORDS = pytest.mark.parametrize("word", ["demo", "walnut", "42", "ärger", "ten inch"])


def drawn(exercise):
    """Numbers of many learners."""
    return [exercise.draw(np.random.default_rng(seed)) for seed in range(40)]


@EVERY
@WORDS
def test_the_right_answer_is_taken(exercise, word):
    n = exercise.numbers(word)
    for place, step in enumerate(exercise.blanks):
        assert exercise.check(step.right(n), n, step=place).right
        assert exercise.check(f"{step.answer(n):.6g}", n, step=place).right


@EVERY
@WORDS
def test_the_right_answer_is_taken_in_metric_and_in_inches(exercise, word):
    n = exercise.numbers(word)
    for place, step in enumerate(exercise.blanks):
        asked = find_unit(step.unit)
        # A bare number is read in the unit asked for, so only units that are written count.
        for other in (unit for unit in UNITS[asked.kind] if unit.symbol):
            typed = f"{step.answer(n) * asked.size / other.size:.8g} {other.symbol}"
            assert exercise.check(typed, n, step=place).right, typed


@EVERY
def test_each_slip_is_wrong_and_goes_by_its_own_name(exercise):
    for n in [exercise.numbers(), *drawn(exercise)]:
        for place, step in enumerate(exercise.blanks):
            for say, wrong in step.slips.items():
                verdict = exercise.check(f"{wrong(n):.8g}", n, step=place)
                assert (verdict.right, verdict.message) == (False, say)


def tells(hint, step, numbers):
    """Whether a value in the hint, with its unit, would be taken for the answer."""
    if not step.unit:
        return step.right(numbers) in hint.split()
    values = re.findall(rf"([-−]?\d+(?:[ .,]\d+)*)[\s*$]*{re.escape(step.symbol)}(?!\w)", hint)
    return any(step.check(value, numbers).right for value in values)


@EVERY
@WORDS
def test_three_hints_and_none_gives_the_answer(exercise, word):
    n = exercise.numbers(word)
    hints = exercise.three_hints(n)
    assert all(hints)
    told = [(s.label, hint) for s in exercise.blanks for hint in hints if tells(hint, s, n)]
    assert told == []


@EVERY
def test_whatever_is_drawn_can_be_asked_and_solved(exercise):
    for n in drawn(exercise):
        assert exercise.prompt(n) and exercise.solution(n)
        for place, step in enumerate(exercise.blanks):
            assert exercise.check(step.right(n), n, step=place).right


def predictions():
    """(module of exercises, name) of each prediction that a lesson compares with its answer."""
    for lesson in lessons():
        code = "\n".join(cell.source for cell in lesson.notebook.cells if cell.cell_type == "code")
        for room in re.findall(r"from boxlab\.quiz\.exercises import (\w+) as tasks", code):
            yield from ((room, slug) for slug in re.findall(r'tasks\.answer\("(.+?)"\)', code))


PREDICTIONS = tuple(predictions())
IN_WORDS = {  # which box or which case; there is no number to give
    ("fitting_the_space", "weakest"),
    ("in_the_car", "wall"),
    ("compare_boxes", "weakest"),
}


def test_predictions_are_found_in_every_lesson_that_has_exercises():
    topics = {exercise.key.partition("/")[0] for exercise in all_exercises()}
    rooms = {room for room, _ in PREDICTIONS}
    assert len(rooms - {"start_here"}) == len(topics)  # the start page asks for nothing to work out


@pytest.mark.parametrize(("room", "slug"), PREDICTIONS)
def test_predictions_have_an_answer_with_a_number_from_the_model(room, slug):
    answer = importlib.import_module(f"boxlab.quiz.exercises.{room}").answer(slug)
    assert answer["right"] not in answer["others"]
    assert answer["others"] and all(answer["others"].values())
    assert answer["because"]
    assert any(map(str.isdigit, answer["because"])) or (room, slug) in IN_WORDS


def test_ninety_degrees_is_named_as_without_losses():
    """It was once taken for an arc tangent in radians, which lies within the tolerance of 90°."""
    from boxlab.quiz.exercises.phase_at_tuning import losses

    said = losses.check("90", losses.numbers("walnut", losses.place()), 0)
    assert "without losses" in said.message


# --- the answer twice: by the model, and by the formula that is printed beside the blank


def beaten(exercise, n):
    """Boxes that another beats in all three, by looking at every pair."""
    rows = list(zip(n.f3, n.spl, n.litres, strict=True))
    return sum(any(o[0] < own[0] and o[1] > own[1] and o[2] < own[2] for o in rows) for own in rows)


def told_by_the_table(exercise, n):
    """Number of the fault, from the printed table and the names alone, as the hints say."""
    text = exercise.prompt(n)
    rows = re.findall(
        r"- (\w+ ?\w*): ([\d.]+) Hz and ([\d.]+) Ω before, now ([\d.]+) Hz and ([\d.]+)", text
    )
    moved = {name: float(f2) / float(f1) - 1 for name, f1, _, f2, _ in rows}
    level = {name: float(z2) / float(z1) - 1 for name, _, z1, _, z2 in rows}
    jags = [float(x) for x in re.findall(r"(\d+) to \d+ Hz", text.split("- jagged:")[1])]
    lower, valley, upper = (moved[name] for name in ("lower peak", "valley", "upper peak"))
    if jags:
        name = "loose radiator" if 32 < jags[0] < 45 else "rattle"
    elif max(abs(lower), abs(valley), abs(upper)) > 0.02:
        name = (
            "heavy radiator"
            if valley < -0.02 and lower < -0.02
            else ("small volume" if upper > 0 else "stuffing")
        )
    else:
        name = "leak" if level["valley"] > 0.1 else "rubbing coil"
    return int(re.search(rf"\*\*(\d)\*\* {name}", text)[1])


# counted or chosen, so there is no formula to print: done again here, from what is printed
AGAIN = {"fitting-the-space/front": beaten, "reading-a-sweep/fault": told_by_the_table}


@EVERY
def test_every_answer_is_stated_twice(exercise):
    if exercise.key in AGAIN:
        for n in drawn(exercise):
            assert AGAIN[exercise.key](exercise, n) == exercise.blanks[0].answer(n), n
        return
    assert [step.label for step in exercise.blanks if not step.formula] == []


def off_by_hand(exercise, numbers):
    """Labels of the blanks whose formula does not give the answer."""
    off = []
    for step, value in zip(exercise.blanks, all_worked(exercise, numbers), strict=True):
        if value is None:
            continue
        by_hand = find_unit(step.unit).from_si(value)
        if not abs(by_hand - step.answer(numbers)) <= step.allowed(numbers):
            off.append(step.label)
    return off


@EVERY
def test_a_printed_formula_gives_the_answer(exercise):
    for n in drawn(exercise):
        assert off_by_hand(exercise, n) == []


@EVERY
def test_a_doubled_answer_would_be_noticed(exercise):
    if exercise.key in AGAIN:
        n = exercise.numbers("walnut")
        assert AGAIN[exercise.key](exercise, n) != 2 * exercise.blanks[0].answer(n)
        return
    for place, step in enumerate(exercise.blanks):
        doubled = replace(step, answer=lambda n, step=step: 2 * step.answer(n))
        if exercise.steps:
            steps = (*exercise.steps[:place], doubled, *exercise.steps[place + 1 :])
            wrong = replace(exercise, steps=steps)
        else:
            wrong = replace(exercise, answer=doubled.answer)
        assert step.label in off_by_hand(wrong, wrong.numbers("walnut"))
