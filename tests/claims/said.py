"""The words that people read, and claims that take their numbers out of them.

`claim("cone rest at the tuning, {} mm with the radiator", travel)` finds the sentence wherever it
stands, reads the number in place of each `{}` and compares it, at the digits printed, with the
computed value. An altered sentence is not found or does not agree; an altered model does not agree.
"""

from __future__ import annotations

import ast
import json
import re
import tomllib
from functools import cache
from pathlib import Path

from boxlab.explainers import explainer
from boxlab.publish.terms import TERMS

ROOT = Path(__file__).resolve().parents[2]
_WORDS = {
    "half": 0.5, "a third": 1 / 3, "two thirds": 2 / 3, "a quarter": 0.25, "three quarters": 0.75,
    "a fifth": 0.2, "a sixth": 1 / 6, "a tenth": 0.1, "once": 1, "twice": 2, "one": 1, "two": 2,
    "three": 3, "four": 4, "five": 5, "six": 6, "seven": 7, "eight": 8, "nine": 9, "ten": 10,
    "eleven": 11, "twelve": 12, "fifteen": 15, "twenty": 20, "a": 1, "an": 1,
}  # fmt: skip
_WORDS |= {word.capitalize(): value for word, value in _WORDS.items() if len(word) > 2}
_NUMBER = r"[−+]?\d+(?:[ ,]\d{3})*(?:\.\d+)?(?:e-?\d+)?"
_ANY = f"({_NUMBER}|" + "|".join(sorted(_WORDS, key=len, reverse=True)) + ")"


def plain(text):
    """Markdown as it reads: no emphasis, no link targets, no tags, single spaces."""
    text = re.sub(r"!?\[((?:[^\[\]]|\[[^\]]*\])*)\]\([^)\s]*\)", r"\1", text)
    text = re.sub(r"</?[a-z][^<>]*>", " ", text)
    return re.sub(r"\s+", " ", text.replace("**", "").replace("*", "").replace("\\|", "|")).strip()


def _cells(path):
    return json.loads(path.read_text(encoding="utf-8"))["cells"]


def _strings(tree):
    """Text constants of a piece of Python but the keys of its dicts: those are wrong options."""
    keys = {id(k) for node in ast.walk(tree) if isinstance(node, ast.Dict) for k in node.keys}
    for node in ast.walk(tree):
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in keys:
            yield node.value


def _questions(source):
    """What `quiz.predict` asks in a code cell."""
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Call) and getattr(node.func, "attr", "") == "predict":
            yield node.args[1].value


@cache
def pages():
    """Every page of words: name -> text. Lessons, answers, sheets, glossary, formula sheet."""
    found = {}
    for path in sorted((ROOT / "lessons").glob("*.ipynb")):
        parts = [
            source if cell["cell_type"] == "markdown" else " ¶ ".join(_questions(source))
            for cell in _cells(path)
            if (source := "".join(cell["source"]))
        ]
        found[path.name] = " ¶ " + " ¶ ".join(plain(part) for part in parts if part)
    for folder in ("lessons", "lessons/workshop"):
        for path in sorted((ROOT / folder).glob("*.md")):
            if path.name not in (
                "answers.md",
                "library.md",
            ):  # made of the answers below; of doctests
                name = path.name if folder == "lessons" else f"workshop/{path.name}"
                found[name] = plain(path.read_text(encoding="utf-8"))
    found["glossary.md"] = " ¶ ".join(  # its last column is computed when the page is made
        plain(term.meaning) for terms in TERMS.values() for term in terms
    )
    for path in sorted((ROOT / "boxlab/quiz/exercises").glob("*.toml")):
        rows = tomllib.loads(path.read_text(encoding="utf-8")).values()
        texts = [row["right"] for row in rows]
        texts += [text for row in rows for text in row["others"].values()]
        texts += [row["because"] for row in rows if not row.get("because", "{").startswith("{")]
        found[path.name] = " ¶ " + " ¶ ".join(
            plain(re.sub(r"\{[^}]*\}", "…", text)) for text in texts
        )
    for path in sorted((ROOT / "boxlab/explainers").glob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.keyword) and node.arg == "answer":
                text = " ¶ ".join(plain(each) for each in _strings(node.value))
                found[path.name] = found.get(path.name, "") + " ¶ " + text
    return found


@cache
def pattern(words):
    """The words as a regular expression with a group for each `{}`."""
    inner = re.escape(plain(words)).replace(r"\{\}", _ANY)
    return re.compile(rf"(?<![\w.]){inner}(?!\w|\.\d)")


def number(text):
    """Value of a printed number and half a unit of its last digit."""
    if text in _WORDS:
        return _WORDS[text], 0.025 * _WORDS[text]
    digits = re.sub(r"(?<=\d)[ ,](?=\d{3})", "", text.replace("−", "-"))
    mantissa, _, power = digits.partition("e")
    places = len(mantissa.partition(".")[2])
    scale = 10.0 ** int(power or 0)
    return float(mantissa) * scale, 0.5 * 10.0**-places * scale


def figures(text):
    """The numbers of a text that the model printed, in order."""
    found = re.findall(rf"(?<![\w.]){_NUMBER}", plain(text))
    return [number(each)[0] for each in found]


def read(name, line=0, **settings):
    """The numbers in one line of an explainer's readout, which its own tests check."""
    return figures(explainer(name)(**settings).readout[line])


def code_of(lesson):
    """All code of a lesson, by the beginning of its file name."""
    (path,) = (ROOT / "lessons").glob(f"{lesson}*.ipynb")
    return "\n".join("".join(c["source"]) for c in _cells(path) if c["cell_type"] == "code")


def about(value, share=0.05):
    """For a number that the words round: within `share` of it, a pair for `claim`."""
    value = float(value)
    return tuple(sorted((value * (1 - share), value * (1 + share))))


def claim(words, *computed):
    """Fail unless `words` stand somewhere and every place prints the computed numbers.

    Parameters
    ----------
    words : the sentence nearly to the letter, `{}` for each number; a literal, so that
        `test_numbers_in_words.py` can read which numbers are held
    computed : one for each `{}`: a number, compared at the digits printed, or (least, most)
    """
    assert words.count("{}") == len(computed), f"{words!r}: {len(computed)} values"
    places = [(name, m) for name, text in pages().items() for m in pattern(words).finditer(text)]
    assert places, f"nobody says: {words}"
    for name, match in places:
        for text, want in zip(match.groups(), computed, strict=True):
            told, half = number(text)
            low, high = (
                want if isinstance(want, tuple) else (float(want) - half, float(want) + half)
            )
            slack = 1e-9 * max(abs(low), abs(high))
            assert low - slack <= told <= high + slack, (
                f"{name} says {match[0]!r}: {text}, but it computes to {low:.6g} to {high:.6g}"
            )
