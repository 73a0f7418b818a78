"""Slides of one lesson: title, claim, each prediction, formulas, cautions, key points.

A slide asks, takes predictions, shows the picture, then the answer, a key press each. The pictures
are drawn by the explainers as the slides are made, so they show what the library computes now.
"""

from __future__ import annotations

import base64
import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cache
from html import escape
from urllib.parse import quote

from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from boxlab.draw import figures
from boxlab.draw.scene import Scene
from boxlab.explainers import explainer
from boxlab.explainers._own import with_job
from boxlab.publish.site.questions import place
from boxlab.publish.workshop.asks import Ask, Shown
from boxlab.publish.workshop.lesson import Lesson
from boxlab.quiz.prose import inline, to_html
from boxlab.quiz.static_html import LETTERS

_STEP = ' data-step="1"'


@dataclass(frozen=True)
class Slide:
    """One slide; `body` and `notes` are HTML, `plan` is the time on the run sheet."""

    id: str
    title: str
    body: str
    notes: str = ""
    kind: str = ""
    plan: str = ""
    ask: str = ""  # key of the prediction whose hands are counted here
    shown: Shown | None = None  # what moves on it


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
    return [Slide(name, "A claim you will hear", markdown(quotes) + ask, markdown(rest), "claim")]


def predictions(asked: Sequence[tuple[Lesson, Ask]]) -> list[Slide]:
    """Predictions that are made together: where there are several, all are asked before one is
    answered."""
    if len(asked) == 1:
        return [asking(*asked[0])]
    votes = [asking(lesson, ask, answer=False) for lesson, ask in asked]
    return [*votes, *(asking(lesson, ask, again=True) for lesson, ask in asked)]


def asking(lesson: Lesson, ask: Ask, answer: bool = True, again: bool = False) -> Slide:
    """One prediction: question, options, and where there is to be an `answer`, picture and answer.

    `again` if it was asked on a slide before.
    """
    question = ask.question
    outcome = ask.outcome if answer else None
    options = "".join(
        f'<li{_right(outcome, option)}><span class="letter">{LETTERS[i]}</span> '
        f"<span>{inline(option)}</span></li>"
        for i, option in enumerate(question.options)
    )
    parts = [
        f'<div class="setting">{markdown(ask.setting)}</div>' if ask.setting else "",
        f'<p class="question">{inline(question.question)}</p>',
        f'<ul class="options"{"" if again else _STEP}>{options}</ul>',
    ]
    if outcome:
        parts.append(
            f'<div class="answer" data-step="3"><p><strong>What happens: '
            f"{inline(question.letter(outcome.right))}</strong></p>{to_html(outcome.because)}</div>"
        )
    shown = ask.pictures[-1] if ask.pictures and answer else None
    figure = ""
    if shown:
        begin = "&".join(f"{name}={quote(str(value))}" for name, value in shown.settings.items())
        moves = f'<div class="moves">{place(shown.name, begin, "", top=".")}</div>'
        moves = "" if shown.stage else moves  # what moves beside a deck is about the class's gear
        figure = f'<div class="picture" data-step="2">{drawn(shown)}{moves}</div>'
    title = ask.title or lesson.title
    body = f'<div class="sides"><div>{"".join(parts)}</div>{figure}</div>'
    if not answer:
        vote = "<p>Hands, or letters on the sheet; the answer comes after all have been asked.</p>"
        return Slide(f"{ask.key}-asked", title, body, vote, "vote", ask=ask.key)
    return Slide(
        ask.key,
        title,
        body,
        ask_notes(lesson, ask),
        "ask",
        ask=ask.key,
        shown=shown if shown and not shown.stage else None,
    )


def _right(outcome, option: str) -> str:
    return ' class="right"' if outcome and option == outcome.right else ""


def ask_notes(lesson: Lesson, ask: Ask) -> str:
    """What an instructor says to each wrong answer, and where the panel is."""
    notes = [f"<p>{inline(ask.question.reveal)}</p>"] if ask.question.reveal else []
    for option, words in ask.outcome.others.items() if ask.outcome else ():
        quoted = inline(ask.question.letter(option))
        notes.append(f"<p>Who said <strong>{quoted}</strong>: {inline(words)}</p>")
    for shown in ask.pictures[-1:]:
        notes += [
            f"<p><strong>Read aloud.</strong> {escape(w)}</p>" for w in _scene(shown).cautions
        ]
        where = f"{escape(lesson.path.name)}, under “{escape(shown.heading or ask.heading)}”"
        notes.append(f"<p>Panel: press p here, or {where}.</p>")
    return "".join(notes)


def reasons(lesson: Lesson) -> list[Slide]:
    """Each formula of the lesson, with what its letters mean."""
    cells = [cell for cell in lesson.part("Why") if "$$" in cell]
    return [
        Slide(f"{lesson.slug}/why-{i}", "Why", markdown(cell), "", "plain")
        for i, cell in enumerate(cells, 1)
    ]


def closing(lesson: Lesson) -> list[Slide]:
    """Cautions, then the key points."""
    shop = "\n\n".join(lesson.part("In the shop"))
    caution = re.search(r"\*\*(?:Cautions?|Take care)[^*]*\*\*.*", shop, re.S | re.I)
    made = [("Take care", "care", caution[0] if caution else "")]
    made.append(("Key points", "key-points", "\n\n".join(lesson.part("Key points"))))
    return [
        Slide(f"{lesson.slug}/{name}", title, markdown(text), "", "plain")
        for title, name, text in made
        if text
    ]


def markdown(text: str) -> str:
    """A lesson's Markdown as HTML; its links would lead nowhere from a slide, so words are left."""
    from boxlab.publish.site.marks import Writer, page_id

    words = re.sub(r"(?<!!)\[([^\]]+)\]\((?!https?:)[^)]*\)", r"\1", text)
    words = re.sub(r"^#+ .*$|<a id=[^>]*></a>", "", words, flags=re.M)
    return Writer(page_id).html(words)


def drawn(shown: Shown) -> str:
    """The picture with its caption, inside the page."""
    return _drawn(shown.name, tuple(sorted(shown.settings.items())), shown.stage)


def _scene(shown: Shown) -> Scene:
    item = explainer(shown.name)
    if shown.stage:
        from boxlab.quiz.exercises import a_box_comes_in

        item = with_job(item, a_box_comes_in.measured(shown.stage))
    known = {control.name for control in item.controls}
    return item(**{word: value for word, value in shown.settings.items() if word in known})


@cache
def _drawn(name: str, settings, stage: str) -> str:
    scene = _scene(Shown(name, dict(settings), stage))
    figure = None
    if len(scene.plots) < 3:  # under each other and narrow, so that their words come out large
        scene, figure = replace(scene, columns=1), Figure(figsize=(5.4, 4.2), dpi=figures.DPI)
        FigureCanvasAgg(figure)
    data = base64.b64encode(figures.svg(figures.draw(scene, figure)).encode()).decode()
    return (
        f'<figure class="still"><img src="data:image/svg+xml;base64,{data}" '
        f'alt="{escape(scene.alt)}"><figcaption>{escape(scene.caption)}</figcaption></figure>'
    )
