"""Worksheets to print, each learner's with numbers of their own, and one key to all of them.

The numbers come from a word, so the same word gives the same sheet and the same key on any
machine, and the same numbers as the lesson shows once that word is typed there.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from html import escape
from pathlib import Path
from types import MappingProxyType

from boxlab.base import cautions
from boxlab.base.made_files import check_free, write_set
from boxlab.publish.workshop.frame import paper
from boxlab.publish.workshop.lesson import lessons
from boxlab.publish.workshop.runsheet import sheets
from boxlab.quiz.on_paper import EXAMPLE, answer_key, in_unit, worksheet
from boxlab.quiz.prose import inline, to_html
from boxlab.quiz.task import Exercise, learner_seed

GENERATOR = '<meta name="generator" content="boxlab worksheets">'
MOST = 200  # learners at once
# what can hurt in a topic's work, by the first word of an exercise's key
CAUTIONS = MappingProxyType(
    {
        "power-and-wiring": ("supply", "licence"),
        "fitting-the-space": ("workshop", "loose box"),
        "how-much-radiator": ("loose box",),
        "reading-a-sweep": ("live output",),
        "how-loud": ("hearing", "peak"),
        "in-the-car": ("hearing", "loose box"),
    }
)
_HINT = "Type this word into a lesson, where it asks for one, and it gives you the same numbers."


def learners(text: str) -> list[str]:
    """The words of "ada, ben, 3", in order.

    Raises
    ------
    ValueError
        If there is none, one comes twice, or there are more than a class has.
    """
    words = [" ".join(word.split()) for word in text.split(",")]
    words = [word for word in words if word]
    if not words:
        raise ValueError(
            f"--learners {text!r}: expected names or any words, with commas between them, such as "
            '"ada, ben, cem"; or a number for so many unnamed sheets, such as 12'
        )
    if len(words) == 1 and re.fullmatch(r"\d{1,4}", words[0]) and int(words[0]) > 0:
        words = [f"sheet-{i}" for i in range(1, min(int(words[0]), MOST + 1) + 1)]
    if len(words) > MOST:
        raise ValueError(f"--learners: {MOST} sheets at once are the most; print them in parts")
    seen: dict[str, str] = {}
    for word in words:
        if len(word) > 60:
            raise ValueError(
                f"--learners: {word[:20]!r}... is {len(word)} letters; 60 are the most"
            )
        seed = learner_seed(word)
        if seed in seen:
            raise ValueError(
                f"--learners: {word!r} and {seen[seed]!r} would have the same numbers; capitals do "
                "not count. Add a letter to one of them."
            )
        seen[seed] = word
    return words


def chosen(names: Iterable[str], keys: Iterable[str] = ()) -> list[Exercise]:
    """The exercises of the lessons called `names`, in order, or just those with these `keys`.

    Raises
    ------
    ValueError
        If a name fits no lesson, a key no exercise, or nothing is left.
    """
    from boxlab.quiz.exercises import exercise

    keys = list(keys)
    names = list(names)
    if not keys:
        keys = [key for lesson in lessons(names) for key in lesson.exercises]
    if not keys:
        raise ValueError(f"--lessons {','.join(names)}: these lessons have no exercises")
    return [exercise(key) for key in dict.fromkeys(keys)]


def planned(name: str) -> list[str]:
    """Keys of the exercises on the run sheets whose file is called `name`, in order.

    Raises
    ------
    ValueError
        If no run sheet is called so.
    """
    known = sheets()
    keys = [
        key
        for sheet in known
        for row in sheet.rows
        if name in (sheet.slug, sheet.path.stem, sheet.path.name)
        for key in row.papers
    ]
    if not keys:
        names = ", ".join(dict.fromkeys([*(s.path.stem for s in known), *(s.slug for s in known)]))
        raise ValueError(f"--for {name}: no run sheet is called so; there are {names}")
    return keys


def write(
    folder, words: Sequence[str], exercises: Sequence[Exercise], inch: bool = False
) -> list[Path]:
    """Write worksheets.html with a sheet for each word, key.html, and an index.

    Parameters
    ----------
    inch : bool
        Print inch units throughout.

    Raises
    ------
    ValueError
        If `folder` holds something other than worksheets.
    """
    folder = Path(folder).resolve()
    check_free(folder, "worksheets")
    heed = _cautions(exercises)
    handouts = [_sheet(word, worksheet(exercises, word, inch), heed, room=True) for word in words]
    keys = [_sheet(word, answer_key(exercises, word, inch)) for word in words]
    what = f"<p>{len(words)} sheets, {len(exercises)} exercises each.</p>"
    front = (
        f'<h1>Worksheets</h1>{what}<ul><li><a href="worksheets.html">Worksheets, to hand out</a>'
        '</li><li><a href="key.html">Answer key, for you</a></li></ul>'
        "<p>For:</p><ul>" + "".join(f"<li>{escape(word)}</li>" for word in words) + "</ul>"
        "<p>Whoever types the same word where a lesson asks for one gets the same numbers.</p>"
    )
    pages = {
        "worksheets.html": ("Worksheets", "\n".join(handouts)),
        "key.html": ("Answer key", "\n".join([_glance(words, exercises, inch), *keys])),
        "index.html": ("Worksheets and key", front),
    }
    files = {name: paper(title, body, GENERATOR) for name, (title, body) in pages.items()}
    left = write_set(folder, "worksheets", files)
    if left:
        raise ValueError(" ".join(left))
    return [folder / name for name in pages]


def _cautions(exercises: Sequence[Exercise]) -> str:
    """The cautions of the topics on a sheet, each once."""
    topics = dict.fromkeys(exercise.key.partition("/")[0] for exercise in exercises)
    names = dict.fromkeys(name for topic in topics for name in CAUTIONS.get(topic, ()))
    return "".join(
        f'<p class="hint">Caution: {escape(text)}</p>' for text in cautions.words(*names)
    )


def _sheet(word: str, markdown: str, heed: str = "", room: bool = False) -> str:
    """One worksheet or key as HTML. Lines that begin with ## are headings, the rest is prose."""
    first, *problems = re.split(r"^## ", markdown, flags=re.M)
    title = first.partition("\n")[0].removeprefix("# ")
    parts = [f"<h1>{escape(title)}</h1><p>Numbers for: <strong>{escape(word)}</strong></p>"]
    if room:
        parts.append(f'<p class="hint">{_HINT}</p>{heed}')
    whose = f'<span class="whose">{escape(word)}</span>'  # a sheet may run over several pages
    for problem in problems:
        name, _, text = problem.partition("\n")
        asked, mark, example = text.partition(EXAMPLE)
        told = to_html(asked) + ('<div class="room"></div>' if room else "")
        if mark:
            told += f'<div class="example">{to_html(mark + example)}</div>'
        parts.append(f'<div class="problem">{whose}<h2>{inline(name)}</h2>{told}</div>')
    return f'<section class="sheet">{"".join(parts)}</section>'


def _glance(words: Sequence[str], exercises: Sequence[Exercise], inch: bool) -> str:
    """Every right answer, a table for each exercise with a line for each learner."""
    parts = ["<h1>Answers at a glance</h1>"]
    for count, exercise in enumerate(exercises, 1):
        head = "".join(f'<th scope="col">{inline(step.label)}</th>' for step in exercise.blanks)
        rows = ""
        for word in words:
            numbers = exercise.numbers(word)
            right = "".join(
                f"<td>{inline(in_unit(step, float(step.answer(numbers)), inch))}</td>"
                for step in exercise.blanks
            )
            rows += f'<tr><th scope="row">{escape(word)}</th>{right}</tr>'
        parts.append(
            f'<div class="problem"><h2>{count}. {inline(exercise.name)}</h2><table><thead><tr>'
            f'<th scope="col">For</th>{head}</tr></thead><tbody>{rows}</tbody></table></div>'
        )
    return f'<section class="sheet">{"".join(parts)}</section>'
