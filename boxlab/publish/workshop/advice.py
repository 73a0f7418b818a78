"""The page lessons/workshop/answers.md: what a class says, and what to say to it.

Made from the lessons' own comparisons and asides, so that it cannot say anything else than they.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from pathlib import Path

from boxlab.publish.workshop.asks import Ask
from boxlab.publish.workshop.lesson import Lesson
from boxlab.publish.workshop.runsheet import FOLDER

FILE = FOLDER / "answers.md"
HEAD = """\
# Common wrong answers, and what to say

Each prediction of each lesson: what happens, and a word for everyone who chose something else. A
wrong option is seldom wholly wrong; the word says which half holds. Made from the lessons by
`python -m boxlab workshop --write`; please do not edit this page by hand.
"""


def page(lessons: Iterable[Lesson]) -> str:
    """The whole page, in Markdown."""
    parts = [HEAD.strip()]
    for lesson in lessons:
        if lesson.asks:
            parts.append(f"## {lesson.slug[:2]}: {lesson.title}")
            if lesson.aside:
                parts += [_marked(text) for text in lesson.aside.paragraphs]
            parts += [_entry(lesson, ask) for ask in lesson.asks]
    return "\n\n".join(parts) + "\n"


def _entry(lesson: Lesson, ask: Ask) -> str:
    lines = [f"### {ask.key}", f"[{ask.title or 'Predict'}](../{lesson.path.name}#{ask.anchor}). "
             f"{_marked(ask.question.question)}"]  # fmt: skip
    if ask.outcome:
        right = ask.question.letter(ask.outcome.right)
        lines.append(f"**{_marked(right)}.** {_marked(ask.outcome.because)}")
        lines += [
            f"- *{_marked(ask.question.letter(option))}*: {_marked(say)}"
            for option, say in ask.outcome.others.items()
        ]
    blocks = "\n\n".join(lines[:3])
    return blocks + ("\n\n" + "\n".join(lines[3:]) if lines[3:] else "")


def _marked(text: str) -> str:
    """A text on one line, links reduced to their words: they would lead elsewhere from here."""
    words = re.sub(r"\[([^\]]+)\]\((?!https?:)[^)]*\)", r"\1", " ".join(text.split()))
    return words.replace("|", r"\|").replace("<", "&lt;")


def write(lessons: Iterable[Lesson], path: Path = FILE) -> Path:
    """Write the page; returns its file."""
    path.write_text(page(lessons), encoding="utf-8", newline="\n")
    return path


def stale(lessons: Iterable[Lesson], path: Path = FILE) -> list[str]:
    """What on the saved page is not what the lessons say now, in plain words."""
    want = page(lessons).splitlines()
    have = path.read_text(encoding="utf-8").splitlines() if path.is_file() else []
    if want == have:
        return []
    old, new = set(have), set(want)
    first = next((line for line in want if line not in old), None)
    first = first or next((line for line in have if line not in new), "the order")
    return [
        f"{path.name} is not what the lessons say now ({first[:70]!r}); "
        "run `python -m boxlab workshop --write`"
    ]
