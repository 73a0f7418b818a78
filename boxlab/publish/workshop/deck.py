"""Slides from lessons: one HTML file for each deck, with pictures, style and script inside.

What moves on a slide, the stage and its tables, lies beside it and is loaded from the folder.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from html import escape
from itertools import groupby
from pathlib import Path

from boxlab.base.made_files import check_free, write_set
from boxlab.explainers import explainer
from boxlab.publish.site import questions
from boxlab.publish.workshop.frame import fill, palette, paper, text
from boxlab.publish.workshop.lesson import Lesson, lessons
from boxlab.publish.workshop.runsheet import Sheet, sheets
from boxlab.publish.workshop.slide import (
    Slide,
    claims,
    closing,
    markdown,
    opening,
    predictions,
    reasons,
)
from boxlab.quiz.prose import inline, to_html

_STAGE = '<link rel="stylesheet" href="stage.css">\n<script src="stage.js" defer></script>\n'
GENERATOR = '<meta name="generator" content="boxlab slides">'
Say = Callable[[str], None]


@dataclass(frozen=True)
class Deck:
    """Slides that are shown together; `name` is the file without its ending."""

    name: str
    title: str
    slides: tuple[Slide, ...]


def write(folder, names=(), say: Say = lambda words: None, live: bool = True) -> list[str]:
    """Write a deck for each lesson and each class called `names` (all if none), and an index.

    A class is named as its run sheet is, `two-hour-class`. What moves is left out where `live` is
    False. Returns what is wrong, in plain words.

    Raises
    ------
    ValueError
        If a name fits neither, or `folder` holds something other than slides.
    """
    folder, classes = Path(folder).resolve(), {sheet.slug: sheet for sheet in sheets()}
    by_lesson = [name for name in names if name not in classes]
    chosen = lessons(by_lesson) if by_lesson or not names else []
    check_free(folder, "slides")
    faults = [f"{lesson.path.name}: {fault}" for lesson in chosen for fault in lesson.faults]
    makers = [lambda lesson=lesson: lesson_deck(lesson) for lesson in chosen]
    known = lessons()
    for name in names or classes:
        if name in classes:
            makers.append(lambda sheet=classes[name]: sheet_deck(sheet, known))
    made, files = [], {}
    for make in makers:
        deck = make()
        if len(deck.slides) > 1:
            files[f"{deck.name}.html"] = page(deck, live)
            made.append(deck)
            say(f"made {deck.name}.html, {len(deck.slides)} slides")
    if live:
        files |= {str(path): code for path, code in questions.files_of_the_stage().items()}
        moving = {slide.shown.name for deck in made for slide in deck.slides if slide.shown}
        items = [explainer(name) for name in sorted(moving)]
        files |= {str(path): code for path, code in questions.tables(items, say)}
    return faults + write_set(folder, "slides", files | {"index.html": index(made)})


def lesson_deck(lesson: Lesson) -> Deck:
    """The slides of one lesson, in its order."""
    slides = [opening(lesson), *claims(lesson)]
    for _, asks in groupby(lesson.asks, lambda ask: (ask.heading, ask.pictures[-1:])):
        slides += predictions([(lesson, ask) for ask in asks])
    slides += [*reasons(lesson), *closing(lesson)]
    return Deck(lesson.slug, lesson.title, tuple(slides))


def sheet_deck(sheet: Sheet, known: Sequence[Lesson]) -> Deck:
    """The slides of one class, in the order of its run sheet, each with its time."""
    by_key = {ask.key: (lesson, ask) for lesson in known for ask in lesson.asks}
    slides, met = [_first(sheet)], set()
    for row in sheet.rows:
        about = f"<p><strong>{row.at}, {row.minutes} minutes.</strong></p>{to_html(row.what)}"
        aloud = markdown(sheet.cautions) if "cautions below" in row.what else ""
        found = [by_key[key] for key in row.asks if key in by_key]
        new = []
        for lesson, ask in found:
            new += claims(lesson) if lesson.slug not in met and ask == lesson.asks[0] else []
            met.add(lesson.slug)
        if found:
            new += predictions(found)
            slides += [replace(s, plan=row.at, notes=about + s.notes) for s in new]
        else:
            linked = _linked(row, known)
            met |= {slide.id.partition("/")[0] for slide in linked}
            own = Slide(f"at-{row.at}", row.title, _rest(row) + aloud, "", "plain")
            slides += [replace(s, plan=row.at, notes=about + s.notes) for s in linked or [own]]
    unique = {slide.id: slide for slide in slides}
    return Deck(sheet.slug, sheet.title, tuple(unique.values()))


def _first(sheet: Sheet) -> Slide:
    rows = "".join(f"<li>{escape(row.title)}</li>" for row in sheet.rows)
    body = f'<p>{sheet.minutes} minutes</p><ul class="agenda">{rows}</ul>'
    return Slide("start", sheet.title, body, markdown(sheet.about), "title")


def _linked(row, known: Sequence[Lesson]) -> list[Slide]:
    """The slides of lessons that a line of a run sheet links to: a claim, the key points."""
    files = {lesson.path.name: lesson for lesson in known}
    made = []
    for file, anchor in re.findall(r"\]\(\.\./([^)#]+)#([^)]+)\)", row.what):
        if file in files and anchor == "A-claim-you-will-hear":
            made += claims(files[file])
        if file in files and anchor == "Why":
            made += reasons(files[file])
        if file in files and anchor == "Key-points":
            made += closing(files[file])[-1:]
    return made


def _rest(row) -> str:
    names = "".join(f"<li>{inline(name)}</li>" for name in row.paper_names())
    return f"<p>{row.minutes} minutes</p>" + (f"<ul>{names}</ul>" if names else "")


def page(deck: Deck, live: bool = False) -> str:
    """The deck as one HTML page; where it is `live`, stage and tables lie beside it."""
    return fill(
        "slides.html",
        title=escape(deck.title),
        generator=GENERATOR,
        style=palette() + text("slides.css"),
        script=text("slides.js"),
        stage=_STAGE if live else "",
        slides="\n".join(_section(slide, i) for i, slide in enumerate(deck.slides, 1)),
    )


def _section(slide: Slide, number: int) -> str:
    plan = f' data-plan="{slide.plan}"' if slide.plan else ""
    plan += f' data-ask="{escape(slide.ask)}"' if slide.ask else ""
    notes = f'<aside class="notes" aria-label="Notes">{slide.notes}</aside>' if slide.notes else ""
    level = "h1" if number == 1 else "h2"
    name = escape(slide.id)
    return (
        f'<section class="slide {slide.kind}" id="{name}" aria-label="Slide {number}"{plan}>'
        f'<div class="paper"><{level}>{inline(slide.title)}</{level}>\n{slide.body}</div>\n'
        f"{notes}</section>"
    )


def index(decks: Iterable[Deck]) -> str:
    """The page that leads to every deck."""
    rows = "".join(
        f'<li><a href="{escape(deck.name)}.html">{inline(deck.title)}</a> '
        f"({len(deck.slides)} slides)</li>"
        for deck in decks
    )
    return paper("Slides", f"<h1>Slides</h1><ul>{rows}</ul>{text('keys.html')}", GENERATOR)
