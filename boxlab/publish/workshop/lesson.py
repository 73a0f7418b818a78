"""A saved lesson as an instructor meets it: aims, claim, each prediction with its answer, advice.

Read from the notebook's own saved outputs, which the tests hold to the model. Nothing is run.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

from boxlab.publish import lesson_rules
from boxlab.publish.notebooks import find, read
from boxlab.publish.workshop.asks import HEADING, Ask, walk

_ASIDE = re.compile(
    r"<details>\s*<summary>\s*For instructors:?\s*(.*?)</summary>(.*?)</details>", re.S
)


@dataclass(frozen=True)
class Aside:
    """A lesson's advice to instructors: minutes in words, a plan by parts, and paragraphs."""

    minutes: str
    parts: tuple[tuple[str, str, str], ...]
    paragraphs: tuple[str, ...]


class Lesson:
    """The lesson in the notebook file `path`."""

    def __init__(self, path: Path):
        self.path = Path(path)
        self.notebook = read(path)
        self.minutes = lesson_rules.minutes(self.notebook)

    @property
    def slug(self) -> str:
        """The file's name without its ending."""
        return self.path.stem

    @cached_property
    def title(self) -> str:
        """The question that the lesson asks."""
        return next(iter(lesson_rules.headings(self.notebook, 1)), self.slug)

    @cached_property
    def aims(self) -> tuple[str, ...]:
        """What the learner will be able to do, in Markdown."""
        opening = self.notebook.cells[0].source if self.notebook.cells else ""
        _, found, after = opening.partition("You will be able to")
        block = re.split(r"\n\s*\n", after.strip("*: \n"))[0] if found else ""
        items = re.split(r"^[-*] ", block, flags=re.M)[1:]
        return tuple(" ".join(item.split()).rstrip(";.") for item in items)

    def part(self, heading: str) -> list[str]:
        """The Markdown cells under a second-level heading, the headings themselves left out."""
        cells, inside = [], False
        for cell in self.notebook.cells:
            if cell.cell_type != "markdown":
                continue
            kept = []
            for line in cell.source.splitlines():
                mark = HEADING.match(line)
                if mark and len(mark[1]) <= 2:
                    inside = len(mark[1]) == 2 and mark[2] == heading
                elif inside and not mark:
                    kept.append(line)
            text = "\n".join(kept).strip()
            if text and not text.startswith("<details"):
                cells.append(text)
        return cells

    @cached_property
    def aside(self) -> Aside | None:
        """The advice to instructors, if the lesson has any."""
        for _, text in lesson_rules.words(self.notebook):
            if found := _ASIDE.search(text):
                rows = re.findall(r"^\|\s*(\d+)\s*\|(.+?)\|(.+?)\|\s*$", found[2], re.M)
                prose = re.sub(r"^\|.*$", "", found[2], flags=re.M)
                return Aside(
                    " ".join(found[1].split()),
                    tuple(tuple(cell.strip() for cell in row) for row in rows),
                    tuple(" ".join(p.split()) for p in re.split(r"\n\s*\n", prose) if p.strip()),
                )
        return None

    @cached_property
    def _walked(self) -> tuple[tuple[Ask, ...], tuple[str, ...]]:
        return walk(self.notebook.cells)

    @property
    def asks(self) -> tuple[Ask, ...]:
        """Every prediction, in order."""
        return self._walked[0]

    @property
    def faults(self) -> tuple[str, ...]:
        """Predictions that could not be read from the saved notebook, in plain words."""
        return self._walked[1]

    @cached_property
    def exercises(self) -> tuple[str, ...]:
        """Keys of the exercises that belong to this lesson, in order."""
        from boxlab.quiz.exercises import all_exercises

        topics = {ask.key.partition("/")[0] for ask in self.asks}
        return tuple(ex.key for ex in all_exercises() if ex.key.partition("/")[0] in topics)


def lessons(names=()) -> list[Lesson]:
    """The lessons called `names`, or all of them.

    Raises
    ------
    ValueError
        If a name fits no lesson, or there is none at all.
    """
    paths = find(names)
    if not paths:
        raise ValueError("there are no lessons here; run this from a clone of boxlab")
    return [Lesson(path) for path in paths]
