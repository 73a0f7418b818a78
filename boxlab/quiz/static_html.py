"""Questions as they stand on a page with no kernel: HTML that folds, and plain text.

All pure functions. They use the demo numbers only, so a committed page never depends on anybody's
progress. No styles and no colours: they must read well wherever HTML is cleaned, and in any theme.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from boxlab.quiz.prose import inline, to_html, to_text
from boxlab.quiz.task import DEMO, Exercise, check_key

LETTERS = "ABCDEFGHIJ"


@dataclass(frozen=True)
class Question:
    """A prediction: what the learner commits to before seeing the answer.

    Raises
    ------
    ValueError
        If there are fewer than two options, more than ten, or two are the same.
    """

    key: str
    question: str
    options: tuple[str, ...]
    reveal: str = ""

    def __post_init__(self):
        check_key(self.key)
        if not 2 <= len(self.options) <= len(LETTERS) or len(set(self.options)) < len(self.options):
            raise ValueError(
                f"options of {self.key!r}: expected 2 to {len(LETTERS)} different ones, "
                f"got {list(self.options)}"
            )

    def letter(self, option: str) -> str:
        """The option with its letter in front."""
        return f"{LETTERS[self.options.index(option)]}. {option}"


@dataclass(frozen=True)
class Outcome:
    """What really happens, to set against a prediction.

    Raises
    ------
    ValueError
        If `right` or a key of `others` is not one of the options.
    """

    question: Question
    right: str
    because: str
    others: Mapping[str, str]

    def __post_init__(self):
        for option in (self.right, *self.others):
            if option not in self.question.options:
                raise ValueError(
                    f"{option!r} is not an option of {self.question.key!r}; its options are "
                    f"{list(self.question.options)}"
                )


def fold(summary: str, body: str) -> str:
    """A part that opens on request. `summary` and `body` are HTML."""
    return f"<details><summary>{summary}</summary>\n{body}\n</details>"


def question_html(question: Question) -> str:
    """A prediction as HTML, for a page where nothing runs."""
    options = "<br>\n".join(inline(question.letter(option)) for option in question.options)
    then = fold("Once you have committed", to_html(question.reveal)) if question.reveal else ""
    return (
        f"<p><strong>Predict.</strong></p>\n{to_html(question.question)}\n<p>{options}</p>\n"
        f"<p><em>Commit to one before you read on.</em></p>\n{then}"
    ).rstrip()


def question_text(question: Question) -> str:
    """A prediction as plain text."""
    lines = ["Predict. " + to_text(question.question)]
    lines += [f"  {to_text(question.letter(option))}" for option in question.options]
    lines.append("Commit to one before you read on.")
    if question.reveal:
        lines.append("Once you have committed: " + to_text(question.reveal))
    return "\n".join(lines)


def right_html(outcome: Outcome) -> str:
    """The right option and why."""
    option = inline(outcome.question.letter(outcome.right))
    return f"<p><strong>What happens: {option}</strong></p>\n{to_html(outcome.because)}"


def outcome_html(outcome: Outcome) -> str:
    """A comparison as HTML: what happens lies folded."""
    question = outcome.question
    others = "".join(
        f"\n<p>If you chose {inline(question.letter(option))}:</p>\n{to_html(say)}"
        for option, say in outcome.others.items()
    )
    return (
        f"<p><strong>Compare with your prediction:</strong> {inline(question.question)}</p>\n"
        + fold("What happens, and why", right_html(outcome) + others)
    )


def outcome_text(outcome: Outcome) -> str:
    """A comparison as plain text."""
    question = outcome.question
    lines = [
        "Compare with your prediction: " + to_text(question.question),
        f"What happens: {to_text(question.letter(outcome.right))}",
        to_text(outcome.because),
    ]
    lines += [
        f"If you chose {to_text(question.letter(option))}: {to_text(say)}"
        for option, say in outcome.others.items()
    ]
    return "\n".join(lines)


def solution_html(exercise: Exercise, numbers) -> str:
    """Every right answer, then the way to it."""
    answers = "<br>\n".join(
        f"{inline(step.label)}: <strong>{inline(step.right(numbers))}</strong>"
        for step in exercise.blanks
    )
    return f"{to_html(exercise.solution(numbers))}\n<p>{answers}</p>"


def step_text(exercise: Exercise, numbers, given: int) -> Sequence[str]:
    """One line for each step: filled in for the first `given`, else with a blank."""
    return [
        f"{step.label}: {step.right(numbers) if i < given else f'______ {step.symbol}'.rstrip()}"
        for i, step in enumerate(exercise.blanks)
    ]


def exercise_html(exercise: Exercise, given: int = 0, closing: bool = False) -> str:
    """An exercise as HTML, with the demo numbers; hints and solution lie folded."""
    numbers = exercise.numbers(DEMO, exercise.place(given, closing))
    worked = given >= len(exercise.blanks)
    steps = "<br>\n".join(inline(line) for line in step_text(exercise, numbers, given))
    parts = [
        f"<p><strong>{inline(heading(exercise, given))}</strong></p>",
        to_html(exercise.prompt(numbers)),
        f"<p>{steps}</p>",
    ]
    if not worked:
        parts += [
            fold(f"Hint {i} of 3", to_html(hint))
            for i, hint in enumerate(exercise.three_hints(numbers), 1)
        ]
    parts.append(fold("How it goes" if worked else "Solution", solution_html(exercise, numbers)))
    return "\n".join(parts)


def exercise_text(exercise: Exercise, given: int = 0, closing: bool = False) -> str:
    """An exercise as plain text, with the demo numbers."""
    numbers = exercise.numbers(DEMO, exercise.place(given, closing))
    lines = [to_text(heading(exercise, given)), to_text(exercise.prompt(numbers))]
    lines += [f"  {to_text(line)}" for line in step_text(exercise, numbers, given)]
    return "\n".join(lines)


def heading(exercise: Exercise, given: int) -> str:
    """What kind of exercise this is, and its name."""
    kind = "Exercise"
    if given >= len(exercise.blanks):
        kind = "Worked example"
    elif given:
        kind = "Fill in the rest"
    return f"{kind}: {exercise.name}"
