"""Whether a picture is wanted: the ranges of an answer need only the words of many scenes."""

from __future__ import annotations

import contextlib
from collections.abc import Callable, Iterator
from contextvars import ContextVar

_words_alone: ContextVar[bool] = ContextVar("words alone", default=False)


@contextlib.contextmanager
def words_alone() -> Iterator[None]:
    """While this lasts nothing is drawn, and scenes are made for their words and numbers."""
    mark = _words_alone.set(True)
    try:
        yield
    finally:
        _words_alone.reset(mark)


def pictures_wanted() -> bool:
    """Whether somebody will look at what is drawn."""
    return not _words_alone.get()


def drawn(make: Callable[[], tuple]) -> tuple:
    """What `make()` gives for a picture, or () where none is wanted.

    >>> with words_alone():
    ...     drawn(lambda: ("dear to work out",))
    ()
    """
    return make() if pictures_wanted() else ()
