"""An exercise: numbers drawn for one learner, and question, answer, hints, solution made of them.

One source serves the screen, the page with no kernel, and paper with its key (`on_paper`).
"""

from __future__ import annotations

import hashlib
import re
import unicodedata
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Any

import numpy as np

from boxlab.base.quantities import digits, find_unit
from boxlab.quiz.answers import Verdict, judge, window

DEMO = "demo"  # the learner word of every page that nobody has made their own
_KEY = re.compile(r"[a-z0-9][a-z0-9-]*(/[a-z0-9][a-z0-9-]*)?")
_NO_SLIPS: Mapping[str, Callable[[Any], float]] = MappingProxyType({})


def learner_seed(word: str) -> str:
    """A short stable digest of a learner's word; capitals and outer spaces do not count.

    >>> learner_seed("Demo ") == learner_seed("demo")
    True
    """
    plain = unicodedata.normalize("NFKC", word).strip().casefold()
    return hashlib.sha256(plain.encode("utf-8", "replace")).hexdigest()[:16]


def check_key(key: str) -> str:
    """`key` itself, if it has the form "lesson/slug" or "slug".

    Raises
    ------
    ValueError
        If it has not.
    """
    if not _KEY.fullmatch(key):
        raise ValueError(
            f"key = {key!r}: expected small letters, digits and hyphens, such as "
            "'phase/at-tuning'; it stays in learners' progress files, so choose it once"
        )
    return key


@dataclass(frozen=True)
class Step:
    """One blank to fill in.

    Parameters
    ----------
    label : str
        What is asked for, as printed before the blank.
    answer : callable
        Numbers -> the right value, in `unit`.
    unit : str
        A unit that `boxlab.base.quantities` knows; "" for a plain number.
    tolerance, absolute : float
        Allowed error: relative, and in `unit`. See `boxlab.quiz.answers.judge`.
    slips : mapping
        What to say -> callable from the numbers to the wrong value this mistake gives.
    formula : str
        The answer once more, by hand and in SI: "m = (k1 + k2)/(2·π·fb)²", and after a comma
        words if need be. It is printed beside the blank, and a test works it out as printed.
    """

    label: str
    answer: Callable[[Any], float]
    unit: str = ""
    tolerance: float = 0.02
    absolute: float | None = None
    slips: Mapping[str, Callable[[Any], float]] = field(default_factory=lambda: _NO_SLIPS)
    formula: str = ""

    def __post_init__(self):
        if find_unit(self.unit) is None:
            raise ValueError(
                f"unit = {self.unit!r} of {self.label!r}: boxlab.base.quantities does not know it; "
                "spell it otherwise or add it to the table there"
            )

    @property
    def symbol(self) -> str:
        """The unit as it is printed."""
        return find_unit(self.unit).symbol

    def right(self, numbers) -> str:
        """The right answer as text, with its unit."""
        return f"{digits(float(self.answer(numbers)))} {self.symbol}".rstrip()

    def allowed(self, numbers) -> float:
        """How far from the right answer still counts, in `unit`."""
        answer = float(self.answer(numbers))
        return window(answer, find_unit(self.unit), self.tolerance, self.absolute)

    def check(self, text: str, numbers) -> Verdict:
        """Judge what was typed into this blank."""
        slips = [(say, float(wrong(numbers))) for say, wrong in self.slips.items()]
        answer = float(self.answer(numbers))
        return judge(text, answer, self.unit, self.tolerance, self.absolute, slips)


@dataclass(frozen=True, kw_only=True)
class Exercise:
    """A question whose numbers differ from learner to learner.

    Give either `answer` (with `unit`, `tolerance`, `absolute`, `slips`) or several `steps`.

    Parameters
    ----------
    key : str
        "lesson/slug"; names the exercise in progress files, so it never changes.
    draw : callable
        numpy Generator -> the numbers, of any type the other callables understand.
    prompt, solution : callable
        Numbers -> text in plain Markdown.
    hints : callable
        Numbers -> exactly three hints, each saying more than the one before.
    letters : callable
        Numbers -> the letters of the formulas, in SI, as they can be read from the prompt.

    Raises
    ------
    ValueError
        If the key or a unit is not known, or both or neither of `answer` and `steps` are given.
    """

    key: str = field(kw_only=False)
    title: str = ""
    draw: Callable[[np.random.Generator], Any]
    prompt: Callable[[Any], str]
    hints: Callable[[Any], Iterable[str]]
    solution: Callable[[Any], str]
    answer: Callable[[Any], float] | None = None
    unit: str = ""
    tolerance: float = 0.02
    absolute: float | None = None
    slips: Mapping[str, Callable[[Any], float]] = field(default_factory=lambda: _NO_SLIPS)
    formula: str = ""
    steps: tuple[Step, ...] = ()
    letters: Callable[[Any], Mapping[str, Any]] | None = None

    def __post_init__(self):
        check_key(self.key)
        if (self.answer is None) == (not self.steps):
            raise ValueError(f"exercise {self.key!r}: give either answer or steps, one of the two")
        object.__setattr__(self, "steps", tuple(self.steps))
        _ = self.blanks  # makes a Step, so that an unknown unit is heard of here

    @property
    def blanks(self) -> tuple[Step, ...]:
        """What is to be filled in: the steps, or the one answer."""
        only = (self.unit, self.tolerance, self.absolute, self.slips, self.formula)
        return self.steps or (Step("Answer", self.answer, *only),)

    @property
    def name(self) -> str:
        """The title, or the slug where there is none."""
        return self.title or self.key.rpartition("/")[2].replace("-", " ").capitalize()

    def place(self, given: int = 0, closing: bool = False) -> str:
        """The key of this exercise where it appears with steps given or in a closing round.

        Each place has its own numbers, so that a worked example gives nothing away.
        """
        return self.key + (f":given-{given}" if given else "") + (":closing" if closing else "")

    def numbers(self, word: str = DEMO, place: str = ""):
        """The numbers for a learner's word: the same on every machine and in every process."""
        return self.numbers_for(learner_seed(word), place)

    def numbers_for(self, seed: str, place: str = ""):
        """The numbers for a digest made by `learner_seed`."""
        digest = hashlib.sha256(f"{seed}:{place or self.key}".encode()).digest()
        return self.draw(np.random.default_rng(int.from_bytes(digest[:16], "big")))

    def three_hints(self, numbers) -> tuple[str, str, str]:
        """The hints, checked to be three.

        Raises
        ------
        ValueError
            If there are more or fewer.
        """
        hints = tuple(self.hints(numbers))
        if len(hints) != 3:
            raise ValueError(f"exercise {self.key!r}: {len(hints)} hints, expected 3")
        return hints

    def check(self, text: str, numbers, step: int = 0) -> Verdict:
        """Judge what was typed for one step; touches nothing and records nothing."""
        return self.blanks[step].check(text, numbers)
