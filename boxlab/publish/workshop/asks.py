"""The predictions of a saved notebook, read back from its own outputs with what is shown for them.

The words come from the outputs and not from the code, because a lesson may compute them.
"""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace

from boxlab.quiz.static_html import LETTERS, Outcome, Question

GENERAL = {"Predict", "See", "A claim you will hear"}  # headings that name no question of their own
HEADING = re.compile(r"^(#{1,6})[ \t]+(.+?)[ \t#]*$")


@dataclass(frozen=True)
class Shown:
    """A picture that a lesson shows: the explainer's name and the settings it starts with.

    `stage` names the moment of lesson 11's job that it is about; "" for the class's gear.
    """

    name: str
    settings: Mapping[str, object] = field(default_factory=dict)
    stage: str = ""
    heading: str = ""  # where the lesson shows it


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
        """ "lesson/slug", as in the lesson."""
        return self.question.key

    @property
    def title(self) -> str:
        """The heading, where it names a question of its own."""
        return "" if self.heading in GENERAL else self.heading

    @property
    def anchor(self) -> str:
        """The end of a link to it in JupyterLab."""
        return self.heading.strip().replace(" ", "-")


@dataclass
class _Row:
    """A prediction while the notebook is read; `before` is what was last shown above it."""

    ask: Ask
    before: tuple[Shown, ...]
    pictures: tuple[Shown, ...] = ()
    compared: bool = False


def walk(cells) -> tuple[tuple[Ask, ...], tuple[str, ...]]:
    """(asks, faults) of a notebook's cells."""
    asked: dict[str, _Row] = {}
    faults: list[str] = []
    unread: set[str] = set()
    heading, setting, before = "", [], ()
    for number, cell in enumerate(cells, 1):
        if cell.cell_type == "markdown":
            for line in cell.source.splitlines():
                if mark := HEADING.match(line):
                    heading, setting = re.sub(r"[*`]", "", mark[2]), []
                else:
                    setting.append(line)
            setting.append("")
            continue
        tree = _parsed(cell.source)
        shown = tuple(replace(each, heading=heading) for each in _panels(tree))
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
    """Each `Panel(explainer("name"), ...)`, with those of its settings that are plain values.

    Or `Panel(with_job(explainer("name"), tasks.measured("stage")))`.
    """
    for node in ast.walk(tree):
        if not (isinstance(node, ast.Call) and getattr(node.func, "id", "") == "Panel"):
            continue
        inner, stage = node.args[0] if node.args else None, ""
        if getattr(getattr(inner, "func", None), "id", "") == "with_job":
            inner, job = inner.args
            stage = _constant(job) if isinstance(job, ast.Call) else ""
        if isinstance(inner, ast.Call) and getattr(inner.func, "id", "") == "explainer":
            given = {
                word.arg: word.value.value
                for word in node.keywords
                if word.arg and isinstance(word.value, ast.Constant)
            }
            if _constant(inner):
                yield Shown(_constant(inner), given, stage)


def _printed(cell) -> str:
    return next(
        (o.data["text/plain"] for o in cell.outputs if "text/plain" in o.get("data", {})), ""
    )


def _question(key: str, text: str) -> Question | None:
    """The question back from what `boxlab.quiz.static_html.question_text` made of it."""
    found = re.match(r"Predict\. (.*?)\n((?:  [A-J]\. [^\n]*\n)+)(.*)", text, re.S)
    if not found:
        return None
    options = tuple(line[5:] for line in found[2].splitlines())
    then = found[3].partition("Once you have committed: ")[2]
    return Question(key, found[1], options, then)


def _outcome(question: Question, text: str) -> Outcome | None:
    """The outcome back from what `boxlab.quiz.static_html.outcome_text` made of it."""
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
