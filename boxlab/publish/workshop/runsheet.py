"""The run sheets in lessons/workshop/, read back, so that sums, keys and links can be held to.

A run sheet is a table whose head begins "| At | Minutes |", below a heading that states its
total, such as "### Minute by minute: 120 minutes". One file may hold several evenings.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

from boxlab.publish import lesson_rules
from boxlab.publish.notebooks import LESSONS
from boxlab.publish.workshop import timing

FOLDER = LESSONS / "workshop"
COLUMNS = ("At", "Minutes", "What you do", "Ask", "On paper")
_KEY = re.compile(r"`([a-z0-9][a-z0-9-]*/[a-z0-9][a-z0-9-]*)`")
_LINK = re.compile(r"\[([^\]]+)\]\(([^)\s]+)\)")


@dataclass(frozen=True)
class Row:
    """One line of a run sheet. `at` is hours and minutes from the start, as printed."""

    at: str
    minutes: int
    what: str
    ask: str = ""
    paper: str = ""

    @property
    def start(self) -> int:
        """Minutes from the start."""
        hours, minutes = self.at.split(":")
        return 60 * int(hours) + int(minutes)

    @property
    def asks(self) -> tuple[str, ...]:
        """Keys of the predictions to ask."""
        return tuple(_KEY.findall(self.ask))

    @property
    def aims(self) -> tuple[tuple[str, str], ...]:
        """(key, link target) of each prediction that is linked to its place in a lesson."""
        return tuple(
            (_KEY.fullmatch(text)[1], target)
            for text, target in _LINK.findall(self.ask)
            if _KEY.fullmatch(text)
        )

    @property
    def papers(self) -> tuple[str, ...]:
        """Keys of the exercises to do on paper."""
        return tuple(_KEY.findall(self.paper))

    @property
    def title(self) -> str:
        """What it is called: the bold words that open it."""
        lead = re.match(r"\*\*(.+?)\*\*", self.what)
        return (lead[1] if lead else self.what).rstrip(".")

    def paper_names(self) -> list[str]:
        """Titles of the exercises to do on paper."""
        from boxlab.quiz.exercises import exercise

        return [exercise(key).name for key in self.papers]


@dataclass(frozen=True)
class Sheet:
    """One class: a run sheet, the file it is in, and the total that its heading states."""

    path: Path
    slug: str
    title: str
    about: str
    minutes: int | None
    rows: tuple[Row, ...]

    @property
    def cautions(self) -> str:
        """What its file says under "Cautions", in Markdown."""
        _, _, after = self.path.read_text(encoding="utf-8").partition("\n## Cautions\n")
        return after.partition("\n## ")[0].strip()

    @cached_property
    def sum(self) -> int:
        """What the minutes of its rows add up to."""
        return sum(row.minutes for row in self.rows)


def read(path: Path) -> list[Sheet]:
    """The run sheets in a Markdown file; none if it has no such table.

    Raises
    ------
    ValueError
        If a line of a run sheet is not a time, whole minutes and three more cells.
    """
    found, titles, about, rows, stated = [], {}, [], None, None
    for number, line in enumerate([*path.read_text(encoding="utf-8").splitlines(), ""], 1):
        if rows is not None and not line.startswith("|"):
            found.append((dict(titles), "\n".join(about), stated, tuple(rows)))
            rows, about, stated = None, [], None
        if mark := re.match(r"(#{1,6})\s+(.+)", line):
            titles = {k: v for k, v in titles.items() if k < len(mark[1])} | {len(mark[1]): mark[2]}
            total = re.search(r"(\d+) minutes", mark[2])
            stated = int(total[1]) if total else stated
        elif _cells(line)[: len(COLUMNS)] == list(COLUMNS):
            rows = []
        elif rows is not None and not re.match(r"\|[\s|:-]+$", line):
            rows.append(_row(path, number, line))
        elif rows is None and not line.startswith(("|", "<")):
            about.append(line)
    several = len(found) > 1
    return [
        Sheet(path, path.stem + (f"-{i}" if several else ""), _title(titles, several),
              about.strip(), stated, rows)
        for i, (titles, about, stated, rows) in enumerate(found, 1)
    ]  # fmt: skip


def _title(titles: dict[int, str], several: bool) -> str:
    return titles.get(2 if several else 1, "Run sheet")


def _cells(line: str) -> list[str]:
    return [cell.strip() for cell in line.strip().strip("|").split("|")] if "|" in line else []


def _row(path: Path, number: int, line: str) -> Row:
    cells = _cells(line)
    good = len(cells) == len(COLUMNS) and re.fullmatch(r"\d:[0-5]\d", cells[0])
    if not good or not re.fullmatch(r"\d+", cells[1]):
        raise ValueError(
            f"{path.name}, line {number}: expected {len(COLUMNS)} cells, a time such as 0:05 and "
            f"whole minutes first; got {line.strip()!r}"
        )
    return Row(cells[0], int(cells[1]), *cells[2:])


def sheets(folder: Path = FOLDER) -> list[Sheet]:
    """Every run sheet, by file."""
    return [sheet for path in sorted(Path(folder).glob("*.md")) for sheet in read(path)]


def faults(sheet: Sheet, lessons: Sequence, exercises: Sequence[str]) -> list[str]:
    """What on a run sheet does not hold: sums, keys, places of predictions, time for each step."""
    said = []
    if sheet.minutes is None:
        said.append("no heading above the table states its total, such as '120 minutes'")
    elif sheet.sum != sheet.minutes:
        said.append(f"the minutes add up to {sheet.sum}, the heading says {sheet.minutes}")
    clock = 0
    for row in sheet.rows:
        if row.start != clock:
            said.append(f"{row.at}: it should begin at {clock // 60}:{clock % 60:02}")
        clock += row.minutes
        said += [f"{row.at}: no exercise {key!r}" for key in row.papers if key not in exercises]
        said += _misplaced(row, lessons)
        if (needed := timing.least(row, lessons)) > row.minutes:
            said.append(f"{row.at}: {row.title} takes {needed:.1f} minutes, and has {row.minutes}")
    links = lesson_rules.broken_links(
        "\n".join(f"{row.what} {row.ask}" for row in sheet.rows), sheet.path
    )
    return [f"{sheet.path.name}, {sheet.title}: {fault}" for fault in [*said, *links]]


def _misplaced(row: Row, lessons: Sequence) -> list[str]:
    places = {
        ask.key: f"../{lesson.path.name}#{ask.anchor}" for lesson in lessons for ask in lesson.asks
    }
    aims = dict(row.aims)
    said = []
    for key in row.asks:
        if key not in places:
            said.append(f"{row.at}: no lesson asks {key!r}")
        elif aims.get(key) != places[key]:
            said.append(f"{row.at}: {key} stands at {places[key]}, so link it there")
    return said
