"""Slides from lessons: one HTML file for each deck, with its pictures, style and script inside.

A slide asks, takes predictions, shows the picture, then the answer, a key press each. The pictures
are drawn by the explainers as the slides are made, so they show what the library computes now.
"""

from __future__ import annotations

import base64
import re
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from functools import cache
from html import escape
from pathlib import Path

from boxlab.base.made_files import check_free, write_set
from boxlab.publish.workshop.asks import Ask, Shown
from boxlab.publish.workshop.frame import fill, palette, paper, text
from boxlab.publish.workshop.lesson import Lesson, lessons
from boxlab.publish.workshop.runsheet import Sheet, sheets
from boxlab.quiz.prose import inline, to_html
from boxlab.quiz.static_html import LETTERS

GENERATOR = '<meta name="generator" content="boxlab slides">'
Say = Callable[[str], None]


@dataclass(frozen=True)
class Slide:
    """One slide; `body` and `notes` are HTML, `plan` is the time on the run sheet."""

    id: str
    title: str
    body: str
    notes: str = ""
    kind: str = ""
    plan: str = ""


@dataclass(frozen=True)
class Deck:
    """Slides that are shown together; `name` is the file without its ending."""

    name: str
    title: str
    slides: tuple[Slide, ...]


def write(folder, names=(), say: Say = lambda words: None) -> list[str]:
    """Write a deck for each lesson called `names` (all if none), for each run sheet, and an index.

    Run sheets are left out where `names` are given. Returns what is wrong, in plain words.

    Raises
    ------
    ValueError
        If a name fits no lesson, or `folder` holds something other than slides.
    """
    folder, chosen = Path(folder).resolve(), lessons(names)
    check_free(folder, "slides")
    faults = [f"{lesson.path.name}: {fault}" for lesson in chosen for fault in lesson.faults]
    makers = [lambda lesson=lesson: lesson_deck(lesson) for lesson in chosen]
    if not names:
        makers += [lambda sheet=sheet: sheet_deck(sheet, chosen) for sheet in sheets()]
    made, files = [], {}
    for make in makers:
        deck = make()
        if len(deck.slides) > 1:
            files[f"{deck.name}.html"] = page(deck)
            made.append(deck)
            say(f"made {deck.name}.html, {len(deck.slides)} slides")
    return faults + write_set(folder, "slides", files | {"index.html": index(made)})


def lesson_deck(lesson: Lesson) -> Deck:
    """The slides of one lesson, in its order."""
    slides = [opening(lesson), *claims(lesson), *(asking(lesson, ask) for ask in lesson.asks)]
    slides += [*reasons(lesson), *closing(lesson)]
    return Deck(lesson.slug, lesson.title, tuple(slides))


def sheet_deck(sheet: Sheet, known: Sequence[Lesson]) -> Deck:
    """The slides of one class, in the order of its run sheet, each with its time."""
    by_key = {ask.key: (lesson, ask) for lesson in known for ask in lesson.asks}
    slides, met = [_first(sheet)], set()
    for row in sheet.rows:
        about = f"<p><strong>{row.at}, {row.minutes} minutes.</strong></p>{to_html(row.what)}"
        found = [by_key[key] for key in row.asks if key in by_key]
        for lesson, ask in found:
            new = claims(lesson) if lesson.slug not in met and ask == lesson.asks[0] else []
            met.add(lesson.slug)
            slides += [replace(s, plan=row.at, notes=about + s.notes) for s in new]
            slide = asking(lesson, ask)
            slides.append(replace(slide, plan=row.at, notes=about + slide.notes))
        if not found:
            linked = _linked(row, known)
            met |= {slide.id.partition("/")[0] for slide in linked}
            own = Slide(f"at-{row.at}", row.title, _rest(row), "", "plain")
            slides += [replace(s, plan=row.at, notes=about + s.notes) for s in linked or [own]]
    unique = {slide.id: slide for slide in slides}
    return Deck(sheet.slug, sheet.title, tuple(unique.values()))


def _first(sheet: Sheet) -> Slide:
    rows = "".join(f"<li>{escape(row.title)}</li>" for row in sheet.rows)
    body = f'<p>{sheet.minutes} minutes</p><ul class="agenda">{rows}</ul>'
    return Slide("start", sheet.title, body, _markdown(sheet.about), "title")


def _linked(row, known: Sequence[Lesson]) -> list[Slide]:
    """The slides of lessons that a line of a run sheet links to: a claim, the key points."""
    files = {lesson.path.name: lesson for lesson in known}
    made = []
    for file, anchor in re.findall(r"\]\(\.\./([^)#]+)#([^)]+)\)", row.what):
        if file in files and anchor == "A-claim-you-will-hear":
            made += claims(files[file])
        if file in files and anchor == "Key-points":
            made += closing(files[file])[-1:]
    return made


def _rest(row) -> str:
    names = "".join(f"<li>{inline(name)}</li>" for name in row.paper_names())
    return f"<p>{row.minutes} minutes</p>" + (f"<ul>{names}</ul>" if names else "")


def opening(lesson: Lesson) -> Slide:
    """The question, and what the class will be able to do."""
    aims = "".join(f"<li>{inline(aim)}</li>" for aim in lesson.aims)
    body = f"<p>You will be able to</p><ul>{aims}</ul>" if aims else ""
    notes, aside = "", lesson.aside
    if aside:
        rows = "".join(
            f"<tr>{''.join(f'<td>{inline(cell)}</td>' for cell in row)}</tr>" for row in aside.parts
        )
        head = "<tr><th>Minutes</th><th>Part</th><th>What to do</th></tr>"
        notes = f"<p>{escape(aside.minutes)}</p><table>{head}{rows}</table>"
        notes += "".join(f"<p>{inline(words)}</p>" for words in aside.paragraphs)
    return Slide(lesson.slug, lesson.title, body, notes, "title")


def claims(lesson: Lesson) -> list[Slide]:
    """What people say, to be judged."""
    cells = [cell for cell in lesson.part("A claim you will hear") if "> " in cell]
    quotes = "\n\n".join(re.findall(r"(?:^>.*\n?)+", cells[0], re.M)) if cells else ""
    rest = re.sub(r"(?:^>.*\n?)+", "", cells[0], flags=re.M).strip() if cells else ""
    if not quotes:
        return []
    ask = "<p><em>True, false, or half of it?</em></p>"
    name = f"{lesson.slug}/claim"
    return [Slide(name, "A claim you will hear", _markdown(quotes) + ask, _markdown(rest), "claim")]


def asking(lesson: Lesson, ask: Ask) -> Slide:
    """One prediction: question, options, picture, answer."""
    question, outcome = ask.question, ask.outcome
    options = "".join(
        f'<li{_right(outcome, option)}><span class="letter">{LETTERS[i]}</span> '
        f"<span>{inline(option)}</span></li>"
        for i, option in enumerate(question.options)
    )
    parts = [
        f'<div class="setting">{_markdown(ask.setting)}</div>' if ask.setting else "",
        f'<p class="question">{inline(question.question)}</p>',
        f'<ul class="options" data-step="1">{options}</ul>',
    ]
    if outcome:
        parts.append(
            f'<div class="answer" data-step="3"><p><strong>What happens: '
            f"{inline(question.letter(outcome.right))}</strong></p>{to_html(outcome.because)}</div>"
        )
    figure = f'<div class="picture" data-step="2">{drawn(ask.pictures[-1])}</div>'
    figure = figure if ask.pictures else ""
    title = ask.title or lesson.title
    body = f'<div class="sides"><div>{"".join(parts)}</div>{figure}</div>'
    return Slide(ask.key, title, body, ask_notes(lesson, ask), "ask")


def _right(outcome, option: str) -> str:
    return ' class="right"' if outcome and option == outcome.right else ""


def ask_notes(lesson: Lesson, ask: Ask) -> str:
    """What an instructor says to each wrong answer, and where the panel is."""
    notes = [f"<p>{inline(ask.question.reveal)}</p>"] if ask.question.reveal else []
    for option, words in ask.outcome.others.items() if ask.outcome else ():
        quoted = inline(ask.question.letter(option))
        notes.append(f"<p>Who said <strong>{quoted}</strong>: {inline(words)}</p>")
    notes.append(f"<p>Panel: {escape(lesson.path.name)}, “{escape(ask.heading)}”.</p>")
    return "".join(notes)


def reasons(lesson: Lesson) -> list[Slide]:
    """Each formula of the lesson, with what its letters mean."""
    cells = [cell for cell in lesson.part("Why") if "$$" in cell]
    return [
        Slide(f"{lesson.slug}/why-{i}", "Why", _markdown(cell), "", "plain")
        for i, cell in enumerate(cells, 1)
    ]


def closing(lesson: Lesson) -> list[Slide]:
    """Cautions, then the key points."""
    shop = "\n\n".join(lesson.part("In the shop"))
    caution = re.search(r"\*\*(?:Cautions?|Take care)[^*]*\*\*.*", shop, re.S | re.I)
    made = [("Take care", "care", caution[0] if caution else "")]
    made.append(("Key points", "key-points", "\n\n".join(lesson.part("Key points"))))
    return [
        Slide(f"{lesson.slug}/{name}", title, _markdown(text), "", "plain")
        for title, name, text in made
        if text
    ]


def _markdown(text: str) -> str:
    """A lesson's Markdown as HTML; its links would lead nowhere from a slide, so words are left."""
    from boxlab.publish.site.marks import Writer, page_id

    words = re.sub(r"(?<!!)\[([^\]]+)\]\((?!https?:)[^)]*\)", r"\1", text)
    words = re.sub(r"^#+ .*$|<a id=[^>]*></a>", "", words, flags=re.M)
    return Writer(page_id).html(words)


def drawn(shown: Shown) -> str:
    """The picture with its caption, inside the page."""
    return _drawn(shown.name, tuple(sorted(shown.settings.items())), shown.stage)


@cache
def _drawn(name: str, settings, stage: str = "") -> str:
    from boxlab.explainers import explainer
    from boxlab.publish import pictures

    item = explainer(name)
    if stage:
        from boxlab.explainers._own import with_job
        from boxlab.quiz.exercises import a_box_comes_in

        item = with_job(item, a_box_comes_in.measured(stage))
    known = {control.name for control in item.controls}
    scene = item(**{word: value for word, value in settings if word in known})
    data = base64.b64encode(pictures.render(scene, "svg")).decode()
    return (
        f'<figure><img src="data:image/svg+xml;base64,{data}" alt="{escape(scene.alt)}">'
        f"<figcaption>{escape(scene.caption)}</figcaption></figure>"
    )


def page(deck: Deck) -> str:
    """The deck as one HTML page."""
    return fill(
        "slides.html",
        title=escape(deck.title),
        generator=GENERATOR,
        style=palette() + text("slides.css"),
        script=text("slides.js"),
        slides="\n".join(_section(slide, i) for i, slide in enumerate(deck.slides, 1)),
    )


def _section(slide: Slide, number: int) -> str:
    plan = f' data-plan="{slide.plan}"' if slide.plan else ""
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
