"""Warnings of the library as sentences for somebody who writes no Python."""

from __future__ import annotations

import contextlib
import re
import warnings
from collections.abc import Iterator

from boxlab.base.checks import UnitWarning

_ASKED = re.compile(r"\bpass \w+_unit='(\w+)'(?: or '(\w+)')?")


@contextlib.contextmanager
def in_plain_words() -> Iterator[list[str]]:
    """While this lasts, `UnitWarning`s become sentences in the list that it gives, each once.

    >>> with in_plain_words() as said:
    ...     warnings.warn("the mass is 60 kg. Use boxlab.grams(60).", UnitWarning, stacklevel=1)
    >>> said
    ['the mass is 60 kg.']
    """
    said: list[str] = []
    with warnings.catch_warnings(record=True) as caught:
        warnings.simplefilter("always", UnitWarning)
        try:
            yield said
        finally:
            ours = [plain(str(each.message)) for each in caught if _is_ours(each)]
            said += [words for words in dict.fromkeys(ours) if words not in said]
    for each in caught:
        if not _is_ours(each):
            warnings.warn_explicit(each.message, each.category, each.filename, each.lineno)


def _is_ours(caught):
    return issubclass(caught.category, UnitWarning)


def plain(message: str) -> str:
    """A message without what only Python could do: what to write at the head of a column instead.

    >>> plain("If they are in kHz, pass frequency_unit='kHz'. Or use boxlab.mm(10) here.")
    'If they are in kHz, write “kHz” at the head of its column.'
    """

    def written(found):
        units = [f"“{unit}”" for unit in found.groups() if unit]
        return f"write {' or '.join(units)} at the head of its column"

    text = _ASKED.sub(written, message)
    sentences = re.split(r"(?<=[.?])\s+(?=[A-Z])", text)
    return " ".join(each for each in sentences if "boxlab." not in each)
