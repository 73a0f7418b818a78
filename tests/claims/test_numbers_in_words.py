"""Every number with a unit that people read is held by something; what is not is listed.

Held means: inside the words of a `claim`; printed by a cell of the same lesson (nbval compares
those to the letter); where a control of the lesson's own pictures starts; or the other system's
value of a held one, in brackets behind it, which is converted here.
"""

import ast
import json
import re
from collections import Counter
from functools import cache

import pytest
from said import ROOT, number, pages, pattern, plain

from boxlab.base.quantities import find_unit
from boxlab.explainers import all_explainers

# Numbers that nothing holds yet. This list may only grow shorter.
OPEN = ROOT / "tests" / "claims" / "numbers_not_held.txt"
MOST = 15

_UNITS = (
    "Hz|kHz|dBA?|dBC|decibels?|mL|L|litres?|ft³|cubic feet|cubic foot|mm/N|mm²?|cm²?|in[²³]?|inch|"
    "m/s²?|ft/s|m[²³]?|km/h|mph|kg|g|oz|lb|kW|W|watts?|volts?|V|amperes?|A|kΩ|Ω|ohms?|mH|ms|s|"
    "seconds?|min|minutes?|hours?|h|degrees?|°C|°F|°|%|per cent|percent|K/W|K|kN|N|kPa|Pa|AWG|"
    "octaves?|times"
)
# not a number with a unit: the power in ω^2 V, the 2 of c/2L, √2, a lesson's own number, a decade
_DIGITS = r"(?<![\w.^√])(?<!c/)(?<!\{c\}\{)(?<!Lesson )(?!\d{4}s)(?:\d+(?:[ ,]\d{3})*(?:\.\d+)?)"
_LINK = r"(?:,? (?:to|and|or|by|against|instead of|at|×)? ?|, |/)"
_FIGURE = re.compile(
    rf"(?P<n>{_DIGITS})(?=(?:{_LINK}[−+]?{_DIGITS})*[ -]?(?P<u>{_UNITS})(?![\w²³/]))"
)
_EQUAL = re.compile(rf"(?P<a>{_DIGITS}) (?P<ua>{_UNITS}) = (?P<b>{_DIGITS}) (?P<ub>{_UNITS})(?!\w)")
_PAIR = re.compile(
    rf"(?P<a>{_DIGITS})(?:(?: L| mm)? (?:to|and|or|instead of) (?P<a2>{_DIGITS}))?"
    r"[ -](?P<ua>L|mm|cm|cm²|m|g|kg|m/s|litres) "
    rf"\((?:about )?(?P<b>{_DIGITS})(?: (?:to|and|or) (?P<b2>{_DIGITS}))?"
    r" ?(?P<ub>ft³|in|in²|in³|ft|oz|lb|ft/s)\)"
)

# minutes of lessons and of run sheets are summed and compared by tests/test_workshop.py
_MINUTES = re.compile(
    r"Time needed: \d+ minutes|For instructors: \d+ minutes|inute by minute[^|]*?: \d+ minutes"
    r"|Next, some \d+ minutes|(?:certificate|Accounts|it up|try it): \d+ minutes"  # plans
)


def _figures(text):
    """(where, number, unit) of each, but what stands in `code`: that is typed, not said."""
    said = re.sub(r"`[^`¶]*`", lambda m: "`" * len(m[0]), text)
    return [(m.start("n"), m["n"], m["u"]) for m in _FIGURE.finditer(said)]


@cache
def _claimed():
    """The words of every `claim` in this folder."""
    found = []
    for path in sorted((ROOT / "tests" / "claims").glob("test_*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call) and getattr(node.func, "id", "") == "claim":
                words = node.args[0]
                assert isinstance(words, ast.Constant), f"{path.name}:{node.lineno}: not a literal"
                found.append(words.value)
    return found


@cache
def _printed(name):
    """(number, unit) of three digits or more that cells of a lesson print; unit "" in tables."""
    text = ""
    for cell in json.loads((ROOT / "lessons" / name).read_text(encoding="utf-8"))["cells"]:
        for out in cell.get("outputs", []):
            text += " " + "".join(out.get("text", []))
            text += " " + "".join(out.get("data", {}).get("text/markdown", []))
    text = plain(text)
    units = {start: unit for start, _, unit in _figures(text)}
    found = {(m[0], units.get(m.start(), "")) for m in re.finditer(_DIGITS, text)}
    return {(n, u) for n, u in found if len(re.sub(r"\D", "", n).lstrip("0")) >= 3}


@cache
def _settings(name):
    """(value, unit) where the controls of a lesson's pictures start, and their presets."""
    found = set()
    for item in all_explainers():
        if item.lesson != name:
            continue
        units = {c.name: getattr(c, "unit", None) for c in item.controls}
        for state in (item.start, *item.presets.values()):
            found |= {(float(v), units[k]) for k, v in state.items() if units[k]}
        for text in (item.start, *item.presets.values()):
            for value in text.values():
                if isinstance(value, str):
                    found |= {(number(n)[0], u) for _, n, u in _figures(value)}
    return found


@cache
def _axes(name):
    """(end, words with its unit) of axes and controls in a lesson's pictures: what captions say."""
    found = set()
    for item in all_explainers():
        if item.lesson == name:
            for c in item.controls:
                unit = getattr(c, "unit", "")
                found |= {(float(getattr(c, end, "nan")), unit) for end in ("low", "high")}
            for plot in item().plots:
                found |= {(float(v), f"{plot.xlabel} {plot.title}") for v in plot.xlim}
                found |= {(float(v), f"{plot.ylabel} {plot.title}") for v in plot.ylim}
    return found


def _spans(text):
    """Parts of a text that a claim or a conversion holds."""
    for words in _claimed():
        yield from (m.span(i) for m in pattern(words).finditer(text)
                    for i in range(1, (m.lastindex or 0) + 1))  # fmt: skip
        yield from (m.span() for m in pattern(words).finditer(text))
    for m in _PAIR.finditer(text):
        yield m.span("b")
        yield m.span("b2")
    yield from (m.span() for m in _EQUAL.finditer(text))
    yield from (m.span() for m in _MINUTES.finditer(text))


@cache
def _lesson_of(name):
    """The notebook that a page of words belongs to, or None."""
    if name.endswith(".ipynb"):
        return name
    for folder in ("boxlab/explainers", "boxlab/quiz/exercises"):
        path = ROOT / folder / name
        if path.exists():
            slug = re.search(r"because = .*\{(\w+)[^}]*#", path.read_text("utf-8"))
            wanted = slug[1] if slug else path.stem
            return next((i.lesson for i in all_explainers() if i.name == wanted), None)
    return None


def not_held(name):
    """Lines of `numbers_not_held.txt` for one page: the number with some words around it."""
    text = pages()[name]
    spans = list(_spans(text))
    lesson = _lesson_of(name)
    for start, digits, unit in _figures(text):
        if any(a <= start < b for a, b in spans):
            continue
        value = number(digits)[0] * (-1 if text[start - 1 : start] == "−" else 1)
        around = text[max(0, text.rfind("¶", 0, start)) : start]
        if lesson:
            if {(digits, unit), (digits, "")} & _printed(lesson):
                continue
            if (value, unit) in _settings(lesson):
                continue
            if "Figure:" in around and any(
                value == end and re.search(rf"(?<!\w){re.escape(unit)}(?!\w)", label)
                for end, label in _axes(lesson)
            ):
                continue
        before, after = text[max(0, start - 40) : start], text[start + len(digits) :][:25]
        yield f"{name}: {before}[{digits}]{after}"


@pytest.mark.parametrize("name", pages())
def test_every_number_with_a_unit_is_held(name):
    listed = [row for row in OPEN.read_text(encoding="utf-8").splitlines()
              if row.startswith(f"{name}: ")]  # fmt: skip
    found = list(not_held(name))
    new = list((Counter(found) - Counter(listed)).elements())
    gone = list((Counter(listed) - Counter(found)).elements())
    assert not new, "no claim holds these:\n" + "\n".join(new)
    assert not gone, "held by now, or altered; take them off the list:\n" + "\n".join(gone)


def test_the_list_only_grows_shorter():
    rows = OPEN.read_text(encoding="utf-8").splitlines()
    assert len(rows) <= MOST
    assert rows == sorted(rows)
    assert {row.partition(": ")[0] for row in rows} <= set(pages())


@pytest.mark.parametrize("name", pages())
def test_both_systems_agree(name):
    for m in _EQUAL.finditer(pages()[name]):
        a, b = (float(m[n]) * find_unit(m[u]).size for n, u in (("a", "ua"), ("b", "ub")))
        assert abs(a - b) <= number(m["b"])[1] * find_unit(m["ub"]).size, m[0]
    for m in _PAIR.finditer(pages()[name]):
        metric, inch = find_unit(m["ua"]), find_unit(m["ub"])
        for a, b in ((m["a"], m["b"]), (m["a2"], m["b2"])):
            if a and b:
                (one, half), (other, rest) = number(a), number(b)
                rest = 50 if b.endswith("00") else rest  # 1500 m (4900 ft)
                slack = half * metric.size + rest * inch.size
                assert abs(one * metric.size - other * inch.size) <= 1.01 * slack, m[0]
