"""Alter every number with a unit in prose, one at a time, and count what turns red. By hand:

.venv/bin/python tests/mutate_words.py [beginnings of page names, as 01 or glossary]

The claims run once, and what each computed is kept. Then each number gets another last digit, each
unit becomes another one, in memory only, and the claims read the altered words. What stays green is
printed: it is on the list of numbers that nothing holds, or a gap in the checks.
"""

from __future__ import annotations

import ast
import sys
import time
from collections import Counter
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]
sys.path[:0] = [str(ROOT), str(ROOT / "tests" / "claims")]

import said  # noqa: E402
import test_numbers_in_words as words  # noqa: E402

_OTHER = {"Hz": "dB", "dB": "Hz", "L": "m", "mm": "cm", "cm": "mm", "W": "V", "V": "W"}


def computed():
    """(words, values) of every claim, by running all tests of claims once."""
    made, claim = [], said.claim

    def keep(text, *values):
        made.append((text, values))
        claim(text, *values)

    said.claim = keep
    names = [
        f"{path}::{node.name}"
        for path in sorted((ROOT / "tests" / "claims").glob("test_*.py"))
        for node in ast.parse(path.read_text(encoding="utf-8")).body
        if isinstance(node, ast.FunctionDef) and node.name.startswith("test_")
        and any(getattr(getattr(n, "func", None), "id", "") == "claim" for n in ast.walk(node))
    ]  # fmt: skip
    failed = pytest.main([*names, "-q", "-p", "no:cacheprovider", "--no-header", "--durations=0"])
    said.claim = claim
    return made, failed


def altered(text, start, digits, unit):
    """The text with another last digit, and with another unit."""
    last = str((int(digits[-1]) + 3) % 10)
    end = start + len(digits)
    yield text[: end - 1] + last + text[end:]
    if text[end:].lstrip().startswith(unit) and unit in _OTHER:
        yield text[:end] + text[end:].replace(unit, _OTHER[unit], 1)


def red(name, text, claims, listed):
    """What objects to the altered words: "value", where a claim computes another number; "words",
    where the sentence is no longer one that a claim holds; or "".
    """
    said.pages = words.pages = lambda: {name: text}
    for sentence, values in claims:
        try:
            said.claim(sentence, *values)
        except AssertionError as fault:
            if not str(fault).startswith("nobody says"):
                return "value"
    try:
        words.test_both_systems_agree(name)
    except AssertionError:
        return "value"
    return "words" if Counter(words.not_held(name)) != listed else ""


def main(*wanted):
    began = time.monotonic()
    claims, failed = computed()
    if failed:
        sys.exit("The claims are not green to begin with.")
    print(f"{len(claims)} claims computed in {time.monotonic() - began:.0f} s")
    total = Counter()
    for name, whole in list(said.pages().items()):
        if wanted and not name.startswith(tuple(wanted)):
            continue
        found, green = Counter(), []
        for start, digits, unit in words._figures(whole):
            first = max(0, start - 1500)  # longer than any claim
            text, start = whole[first : start + 1500], start - first
            here = [c for c in claims if said.pattern(c[0]).search(text)]
            words._claimed = lambda here=here: [sentence for sentence, _ in here]
            said.pages = words.pages = lambda name=name, text=text: {name: text}
            listed = Counter(words.not_held(name))
            for other in altered(text, start, digits, unit):
                by = red(name, other, here, listed)
                found[by] += 1
                if not by:
                    green.append(text[max(0, start - 40) : start + 30])
        total += found
        print(f"{name}: {_count(found)}", *green, sep="\n    ", flush=True)
    print(f"In all: {_count(total)}; {time.monotonic() - began:.0f} s")


def _count(found):
    return (
        f"{found.total()} alterations, {found['value']} red by the value, {found['words']} by "
        f"the words, {found['']} stay green"
    )


if __name__ == "__main__":
    main(*sys.argv[1:])
