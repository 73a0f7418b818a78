"""The class summary in words: what most predicted, what they solved, what to come back to."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from html import escape

from boxlab.publish.workshop.asks import Ask
from boxlab.publish.workshop.classroom import choices
from boxlab.publish.workshop.lesson import Lesson
from boxlab.quiz.handing_in import Learner, clean
from boxlab.quiz.prose import to_text
from boxlab.quiz.task import Exercise

HARD = 0.5  # of those who began: below this, worth another look
ROOM = 110  # characters of one line in a terminal


@dataclass(frozen=True)
class Table:
    """A heading, a sentence, and rows of cells with their head."""

    title: str
    about: str
    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


def summary(
    learners: Sequence[Learner], lessons: Iterable[Lesson], exercises: Iterable[Exercise]
) -> list[Table]:
    """The tables of a class; only what somebody did is in them."""
    lessons, exercises = list(lessons), list(exercises)
    asks = [ask for lesson in lessons for ask in lesson.asks]
    predicted = [row for ask in asks if (row := _predicted(learners, ask))]
    solved = [row for ex in exercises if (row := _solved(learners, ex))]
    closing = [row for ex in exercises if (row := _solved(learners, ex, closing=True))]
    known = {ask.key for ask in asks} | {ex.key for ex in exercises}
    tables = [
        Table("Come back to", *_again(predicted, [*solved, *closing])),
        Table("Predictions", "What the class expected before it saw.",
              ("Question", "Asked", "Right", "Most chosen wrong answer"),
              tuple(row[1] for row in predicted)),
        Table("Exercises", "Own numbers; hints and attempts are means of those who began.",
              ("Exercise", "Began", "Solved", "Attempts", "Hints", "Opened solution first"),
              tuple(row[1] for row in solved)),
        Table("Closing questions", "The round at the end, with numbers of its own.",
              ("Exercise", "Began", "Solved", "Attempts", "Hints", "Opened solution first"),
              tuple(row[1] for row in closing)),
        Table("Learners", "", ("Learner", "Predictions", "Exercises solved", "Closing solved"),
              tuple(_learner(i, each, asks, exercises) for i, each in enumerate(learners, 1))),
    ]  # fmt: skip
    strange = {key.partition(":")[0] for each in learners for key in each.entries} - known
    if strange:
        about = "These keys belong to no lesson here; an older or newer boxlab may have them."
        rows = tuple((clean(key),) for key in sorted(strange)[:20])
        tables.append(Table("Left out", about, ("Key",), rows))
    return [table for table in tables if table.rows or table.title == "Come back to"]


def _predicted(learners, ask: Ask):
    """(share right, cells) of one prediction; None if nobody made it."""
    counts = choices(learners, ask.key, ask.question.options)
    counts.pop("", None)
    asked = sum(counts.values())
    if not asked:
        return None
    right = ask.outcome.right if ask.outcome else ""
    wrong = [(count, option) for option, count in counts.items() if option != right]
    most = max(wrong, default=None, key=lambda row: row[0])
    said = f"{ask.question.letter(most[1])} ({most[0]})" if most else ""
    share = counts[right] / asked
    name = f"{ask.key}: {to_text(ask.question.question)}"
    return share, (_line(name), str(asked), str(counts[right]), _line(to_text(said)))


def _solved(learners, exercise: Exercise, closing=False):
    """(share solved, cells) of one exercise; None if nobody began it."""
    key = exercise.place(closing=closing)
    began = [
        entry for each in learners
        if (entry := each.entries.get(key)) and (entry.attempts or entry.solved)
    ]  # fmt: skip
    if not began:
        return None
    done = sum(entry.solved for entry in began)
    means = [f"{sum(getattr(e, what) for e in began) / len(began):.1f}"
             for what in ("attempts", "hints")]  # fmt: skip
    opened = sum(entry.solution for entry in began)
    name = _line(f"{exercise.key}: {to_text(exercise.name)}")
    return done / len(began), (name, str(len(began)), str(done), *means, str(opened))


def _again(predicted, solved):
    rows = sorted([row for row in [*predicted, *solved] if row[0] < HARD], key=lambda row: row[0])
    if rows:
        about = f"Fewer than {HARD:.0%} of those who tried had these right."
    elif predicted or solved:
        about = "Nothing: at least half of those who tried had each of them right."
    else:
        about = "Nothing yet: no prediction and no exercise was handed in."
    return about, ("What", "Right"), tuple((c[0], f"{share:.0%}") for share, c in rows[:8])


def _learner(number: int, learner: Learner, asks, exercises):
    name = learner.name or f"learner {number}"
    made = sum(bool((e := learner.entries.get(a.key)) and e.choice) for a in asks)
    done = sum(bool((e := learner.entries.get(x.key)) and e.solved) for x in exercises)
    closed = sum(
        bool((e := learner.entries.get(x.place(closing=True))) and e.solved) for x in exercises
    )
    return name, str(made), str(done), str(closed)


def heads(count: int) -> str:
    """How many learners, in words: "1 learner", "12 learners"."""
    return f"{count} learner" + ("" if count == 1 else "s")


def _line(text: str) -> str:
    return " ".join(text.split())


def as_text(tables: Iterable[Table]) -> str:
    """The tables for a terminal."""
    parts = []
    for table in tables:
        parts.append("\n".join(part for part in (table.title.upper(), table.about) if part))
        wide = [max(len(row[i]) for row in (table.head, *table.rows))
                for i in range(len(table.head))]  # fmt: skip
        if sum(wide) > ROOM:  # the whole question on a line of its own, its figures below
            for name, *cells in table.rows:
                told = [
                    f"{head.lower()} {cell}"
                    for head, cell in zip(table.head[1:], cells, strict=True)
                    if cell
                ]
                parts[-1] += f"\n  {name}\n      {', '.join(told)}"
        elif table.rows:
            parts[-1] += "".join(
                "\n  "
                + "  ".join(f"{cell:<{w}}" for cell, w in zip(row, wide, strict=True)).rstrip()
                for row in (table.head, *table.rows)
            )
    return "\n\n".join(parts)


def as_html(tables: Iterable[Table], count: int) -> str:
    """The tables as the body of a page."""
    parts = [f"<h1>The class: {heads(count)}</h1>"]
    for table in tables:
        parts.append(f"<h2>{escape(table.title)}</h2><p>{escape(table.about)}</p>")
        if table.rows:
            head = "".join(f'<th scope="col">{escape(cell)}</th>' for cell in table.head)
            rows = "".join(
                "<tr>" + "".join(f"<td>{escape(cell)}</td>" for cell in row) + "</tr>"
                for row in table.rows
            )
            parts.append(f"<table><thead><tr>{head}</tr></thead><tbody>{rows}</tbody></table>")
    return "".join(parts)
