"""All questions in words: lists to search, one picture's facts, and the index page of figures/."""

from __future__ import annotations

import difflib
import re
import textwrap
from collections.abc import Iterable, Sequence
from pathlib import PurePosixPath

from boxlab.draw.scene import Choice, Explainer, Scene
from boxlab.panel import settings_text, share_text
from boxlab.publish.forum_words import FORUM_WORDS, LITTLE_WORDS

HEAD = """\
# Pictures

One picture for each question: link to a heading here, or paste the picture. Each was computed by
the model in `boxlab/` from invented demo gear, and shows the starting state of a panel in the
lessons. Made by `python -m boxlab pictures --write`; please do not edit this page by hand.

To draw one with your own numbers: `python -m boxlab picture NAME --set volume=0.6ft3 --to mine.png`
(`python -m boxlab questions NAME` lists its settings). Use them freely under
[CC BY 4.0](https://creativecommons.org/licenses/by/4.0/): credit "boxlab, the boxlab authors".
"""
# how much, which tells nothing of what is asked: "30", "35hz", "3/4", "120db"; "12s" are drivers
NUMBER = re.compile(r"[\d./,%°]+(?:hz|w|watts?|db|v|l|g|mm|cm|in|ft)?$")
SIZE = re.compile(r"\b(8|10|12|15|18)\s*(?:\"|″|''|-inch(?:es)?|inch(?:es)?|in|s)(?![\w'])")
ENDING = re.compile(r"(?<=\w{3})(?:ing|ed|es|e|s)$")  # so that "tuned" finds "tuning"


def example(item: Explainer, scene: Scene) -> str:
    """What the starting state shows, for an answer that has no number in it; "" if it has one."""
    if share_text.AMOUNT.search(item.answer):
        return ""
    fact = next((words for words in scene.readout if share_text.AMOUNT.search(words)), "")
    return share_text.both_units(fact)


def by_lesson(items: Iterable[Explainer]) -> dict[str, list[Explainer]]:
    """The explainers of each lesson's file, in their order."""
    shelves: dict[str, list[Explainer]] = {}
    for item in items:
        shelves.setdefault(item.lesson, []).append(item)
    return shelves


def matching(items: Iterable[Explainer], wanted: Sequence[str]) -> list[Explainer]:
    """The explainers that answer all these words: in their own text, or as people ask in forums.

    Little words ("why does my") do not count. What forum words point to comes in their order.
    """
    most = len(_asked(wanted))
    return [item for item, count, _ in _ranked(items, wanted) if count == most]


def near(items: Iterable[Explainer], wanted: Sequence[str], most: int = 5) -> list[Explainer]:
    """What comes nearest where nothing has all the words: those with the most, then the best."""
    items = list(items)
    asked = _asked(wanted)
    known = {word for item in items for word in re.findall(r"[a-z]{3,}", _text(item))}
    known |= {word for word in FORUM_WORDS if " " not in word}
    words = []
    for word in asked:
        meant = [] if len(word) < 4 else difflib.get_close_matches(word, known, n=1, cutoff=0.8)
        words.append(meant[0] if meant and word not in FORUM_WORDS else word)
    ranked = sorted(_ranked(items, words), key=lambda each: -each[1])  # most words first
    best = max((weight for *_, weight in ranked), default=0.0)
    return [item for item, _, weight in ranked if weight > best / 3][:most]


def _asked(wanted):
    """Phrases and words of what was asked, without little words and endings."""
    said = SIZE.sub(r"\1 inch", " ".join(wanted).casefold().replace("’", "'"))
    rest = " " + " ".join(re.sub(r"[?!.,;:\"“”]", " ", said).split()) + " "
    found = []
    for phrase in sorted((each for each in FORUM_WORDS if " " in each), key=len, reverse=True):
        if f" {phrase} " in rest:
            found.append(phrase)
            rest = rest.replace(f" {phrase} ", "  ")
    words = [word for word in rest.split() if word not in LITTLE_WORDS and not NUMBER.match(word)]
    return [*found, *words] or rest.split()


def also(item: Explainer) -> str:
    """The words that people ask in and that this question answers, for a search that has no more.

    >>> from boxlab.explainers import explainer
    >>> "polyfill" in also(explainer("brace_and_fill")).split()
    True
    """
    return " ".join(word for word, names in FORUM_WORDS.items() if item.name in names.split())


def _text(item):
    labels = [f"{control.name} {control.label}" for control in item.controls]
    options = [each for c in item.controls if isinstance(c, Choice) for each in c.options]
    parts = [item.name, item.name.replace("_", "-"), item.question, item.answer, item.lesson]
    return " ".join([*parts, *labels, *options]).casefold()


def _ranked(items, wanted):
    """(item, how many of the words it answers, how well), the best first.

    What a forum phrase or word points to counts most, the first before the others; then a word of
    the question; then one anywhere in it. A word that few questions have says more.
    """
    items = list(items)
    texts = [(f"{item.name} {item.question}".casefold(), _text(item)) for item in items]
    stemmed = {ENDING.sub("", word): names.split() for word, names in FORUM_WORDS.items()}
    counts, weights = [0] * len(items), [0.0] * len(items)
    for word in _asked(wanted):
        stem = ENDING.sub("", word)
        pointed = FORUM_WORDS[word].split() if word in FORUM_WORDS else stemmed.get(stem, [])
        starts = re.compile(rf"(?<![a-z0-9]){re.escape(stem)}")
        found = [[bool(starts.search(text)) for text in pair] for pair in texts]
        rare = 1 / (1 + sum(anywhere for _, anywhere in found))
        for i, (item, (asked, anywhere)) in enumerate(zip(items, found, strict=True)):
            if item.name in pointed:
                weights[i] += (3.0 if " " in word else 2.0) / (1 + 0.2 * pointed.index(item.name))
            weights[i] += (0.5 * asked + 0.2 * anywhere) * (1 + rare)
            counts[i] += item.name in pointed or anywhere
    order = sorted(range(len(items)), key=lambda i: -weights[i])
    return [(items[i], counts[i], weights[i]) for i in order if counts[i]]


def short(items: Iterable[Explainer]) -> list[str]:
    """Name and question of each explainer, one line each, under the names of their lessons."""
    lines = []
    for lesson, shelf in by_lesson(items).items():
        wide = max(len(item.name) for item in shelf)
        lines.append(PurePosixPath(lesson).stem or "in no lesson")
        lines += [f"  {item.name:{wide}}  {item.question}" for item in shelf]
    return lines


def full(item: Explainer) -> list[str]:
    """Name, question, answer, and every setting as it is typed after --set."""
    return [
        item.name,
        f"    {item.question}",
        *textwrap.wrap(item.answer, 96, initial_indent="    ", subsequent_indent="    "),
        *(f"      {_typed(control)}" for control in item.controls),
    ]


def _typed(control) -> str:
    if isinstance(control, Choice):
        return f"{control.name}={control.start}  ({control.label}: {' | '.join(control.options)})"
    return f"{control.name}={control.start:g}  ({control.label}: {reach(control)})"


def reach(control) -> str:
    """What a slider takes: "8 to 40 L, 0.28 ft³ to 1.41 ft³"."""
    metric = f"{control.low:g} to {control.high:g} {control.unit}".strip()
    if control.imperial is None:
        return metric
    return f"{metric}, {control.imperial(control.low)} to {control.imperial(control.high)}"


def facts(item: Explainer, state: dict, scene: Scene, pages: str | None = None) -> list[str]:
    """One state in lines of text: settings, readout, warnings, numbers, caption, alt, code."""
    rows = [(row.name, row.metric, row.imperial) for row in scene.numbers]
    wide = [max((len(row[column]) for row in rows), default=0) for column in range(2)]
    numbers = [f"  {n:{wide[0]}}  {m:{wide[1]}}  {i}".rstrip() for n, m, i in rows]
    warnings = [f"Careful: {text}" for text in scene.warnings]
    warnings += [f"Caution: {text}" for text in scene.cautions]
    where = share_text.address(item, pages)
    parts = [
        [item.question, f"With {settings_text.settings_text(item, state)}:"],
        [*(share_text.both_units(text) for text in scene.readout), *warnings],
        numbers,
        [f"Caption: {scene.caption}"],
        [f"In words: {scene.alt}"],
        ["In Python:", *scene.code.splitlines()],
        [
            *([f"Lesson: {where}"] if where else []),
            f"Settings: {settings_text.settings_line(item, state)}",
        ],
    ]
    return [line for part in parts if part for line in [*part, ""]][:-1]


def entry(item: Explainer, scene: Scene) -> str:
    """The part of the index page for one explainer."""
    lesson = f"../lessons/{item.lesson}" + (f"#{item.anchor}" if item.anchor else "")
    files = f"[SVG]({item.name}.svg), [PNG with caption]({item.name}.png)"
    told = f"Lesson: [{PurePosixPath(item.lesson).stem}]({lesson}). " if item.lesson else ""
    lines = [
        f"## {item.question}",
        f"![{scene.alt}]({item.name}.svg)",
        f"**{item.answer}**" if item.answer else "",
        scene.caption,
        "\n".join(f"- {text}" for text in scene.readout),
        "\n".join(f"- **Caution:** {text}" for text in scene.cautions),
        f"{told}Files: {files}. Name: `{item.name}`.",
    ]
    return "\n\n".join(line for line in lines if line)


def contents(shown: Sequence[tuple[Explainer, Scene]]) -> str:
    """Each question with its answer in a line or two, under the names of the lessons."""
    scenes = {item.name: scene for item, scene in shown}
    parts = []
    for lesson, shelf in by_lesson(item for item, _ in shown).items():
        stem = PurePosixPath(lesson).stem
        rows = [f"**[{stem}](../lessons/{lesson})**\n" if lesson else "**In no lesson**\n"]
        for item in shelf:
            extra = example(item, scenes[item.name])
            rows.append(
                f"- [{item.question}](#{anchor(item.question)}) {item.answer}"
                + (f" *Here: {extra}*" if extra else "")
            )
        parts.append("\n".join(rows))
    return "\n\n".join(parts)


def anchor(text: str) -> str:
    """The anchor that a repository's page gives a heading of a Markdown file.

    >>> anchor("Will the port fit?")
    'will-the-port-fit'
    """
    return re.sub(r"[^\w\- ]", "", text.strip()).lower().replace(" ", "-")


def index(items: Iterable[Explainer]) -> str:
    """The index page, figures/README.md."""
    import matplotlib

    shown = [(item, item()) for item in items]
    foot = f"Drawn with matplotlib {matplotlib.__version__}."
    entries = [entry(item, scene) for item, scene in shown]
    return "\n\n".join([HEAD.strip(), contents(shown), *entries, foot]) + "\n"
