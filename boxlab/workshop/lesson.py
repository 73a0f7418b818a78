"""A saved lesson as an instructor meets it: aims, claim, each prediction with its answer, advice.

Read from the notebook's own saved outputs, which the tests hold to the model. Nothing is run.
"""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property
from pathlib import Path

from boxlab import guard
from boxlab.leaves import LETTERS, Outcome, Question
from boxlab.notebooks import find, read

GENERAL = {"Predict", "See", "A claim you will hear"}  # headings that name no question of their own
_HEADING = re.compile(r"^(#{1,6})[ \t]+(.+?)[ \t#]*$")
_ASIDE = re.compile(
    r"<details>\s*<summary>\s*For instructors:?\s*(.*?)</summary>(.*?)</details>", re.S
)


@dataclass(frozen=True)
class Shown:
    """A picture that a lesson shows: the explainer's name and the settings it starts with."""

    name: str
    settings: Mapping[str, object] = field(default_factory=dict)


@dataclass(frozen=True)
class Ask:
    """One prediction of a lesson, and where it stands.

    `setting` is the Markdown just above it, `outcome` what happens (None where the lesson never
    says), `pictures` what the learner sees between the two, or last saw before.
    """

    question: Question
    heading: str
    setting: str = ""
    outcome: Outcome | None = None
    pictures: tuple[Shown, ...] = ()

    @property
    def key(self) -> str:
        return self.question.key

    @property
    def title(self) -> str:
        """The heading, where it names a question of its own."""
        return "" if self.heading in GENERAL else self.heading

    @property
    def anchor(self) -> str:
        """The end of a link to it in JupyterLab."""
        return self.heading.strip().replace(" ", "-")


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
        self.minutes = guard.minutes(self.notebook)

    @property
    def slug(self) -> str:
        return self.path.stem

    @cached_property
    def title(self) -> str:
        return next(iter(guard.headings(self.notebook, 1)), self.slug)

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
                mark = _HEADING.match(line)
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
        for _, text in guard.words(self.notebook):
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
        return _walk(self.notebook.cells)

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
        from boxlab.exercises import all_exercises

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


@dataclass
class _Row:
    """A prediction while the notebook is read; `before` is what was last shown above it."""

    ask: Ask
    before: tuple[Shown, ...]
    pictures: tuple[Shown, ...] = ()
    compared: bool = False


def _walk(cells):
    """(asks, faults) of a notebook's cells."""
    asked: dict[str, _Row] = {}
    faults: list[str] = []
    unread: set[str] = set()
    heading, setting, before = "", [], ()
    for number, cell in enumerate(cells, 1):
        if cell.cell_type == "markdown":
            for line in cell.source.splitlines():
                if mark := _HEADING.match(line):
                    heading, setting = re.sub(r"[*`]", "", mark[2]), []
                else:
                    setting.append(line)
            setting.append("")
            continue
        tree = _parsed(cell.source)
        shown = tuple(_panels(tree))
        for row in asked.values():
            if not row.compared:
                row.pictures += shown
        before = shown or before
        asking = False
        for name, key in _calls(tree):
            text = _printed(cell)
            if name == "predict":
                asking = True
                question = _question(key, text)
                if question is None:
                    faults.append(f"cell {number}: {key} has no saved question; run the lesson")
                    unread.add(key)
                    continue
                words = "\n".join(setting).strip()
                asked[key] = _Row(Ask(question, heading, words), before)
            elif key in asked:
                row = asked[key]
                row.ask = replace(row.ask, outcome=_outcome(row.ask.question, text))
                row.compared = True
            elif key not in unread:
                faults.append(f"cell {number}: compares {key!r}, which is not asked above it")
        if not asking:
            setting = []
    asks = tuple(replace(row.ask, pictures=row.pictures or row.before) for row in asked.values())
    faults += [f"{ask.key}: never compared with what happens" for ask in asks if not ask.outcome]
    return asks, tuple(faults)


def _parsed(source: str) -> ast.AST:
    try:
        return ast.parse(source)
    except SyntaxError:  # a magic or a shell line
        return ast.Module([], [])


def _constant(call: ast.Call, place: int = 0) -> str:
    node = call.args[place] if len(call.args) > place else None
    return node.value if isinstance(node, ast.Constant) and isinstance(node.value, str) else ""


def _calls(tree) -> Iterator[tuple[str, str]]:
    """("predict" or "compare", key) of each such call."""
    for node in ast.walk(tree):
        name = getattr(getattr(node, "func", None), "attr", "")
        if name in ("predict", "compare") and _constant(node):
            yield name, _constant(node)


def _panels(tree) -> Iterator[Shown]:
    """Each `Panel(explainer("name"), ...)`, with those of its settings that are plain values."""
    for node in ast.walk(tree):
        if not (isinstance(node, ast.Call) and getattr(node.func, "id", "") == "Panel"):
            continue
        inner = node.args[0] if node.args else None
        if isinstance(inner, ast.Call) and getattr(inner.func, "id", "") == "explainer":
            given = {
                word.arg: word.value.value
                for word in node.keywords
                if word.arg and isinstance(word.value, ast.Constant)
            }
            if _constant(inner):
                yield Shown(_constant(inner), given)


def _printed(cell) -> str:
    return next(
        (o.data["text/plain"] for o in cell.outputs if "text/plain" in o.get("data", {})), ""
    )


def _question(key: str, text: str) -> Question | None:
    """The question back from what `boxlab.leaves.question_text` made of it."""
    found = re.match(r"Predict\. (.*?)\n((?:  [A-J]\. [^\n]*\n)+)(.*)", text, re.S)
    if not found:
        return None
    options = tuple(line[5:] for line in found[2].splitlines())
    then = found[3].partition("Once you have committed: ")[2]
    return Question(key, found[1], options, then)


def _outcome(question: Question, text: str) -> Outcome | None:
    """The outcome back from what `boxlab.leaves.outcome_text` made of it."""
    _, found, rest = text.partition("\nWhat happens: ")
    right = next(
        (o for i, o in enumerate(question.options) if rest.startswith(f"{LETTERS[i]}. {o}\n")), None
    )
    if not found or right is None:
        return None
    rest = rest.partition("\n")[2]
    starts = sorted(
        (rest.index(lead), lead, option)
        for option in question.options
        if (lead := f"If you chose {question.letter(option)}: ") in rest
    )
    ends = [at for at, _, _ in starts[1:]] + [len(rest)]
    others = {
        option: rest[at + len(lead) : end].strip()
        for (at, lead, option), end in zip(starts, ends, strict=True)
    }
    because = rest[: starts[0][0]] if starts else rest
    return Outcome(question, right, because.strip(), others)
