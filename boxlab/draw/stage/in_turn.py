"""Words about the places of plots: a still picture shows all at once, the stage one at a time."""

from __future__ import annotations

import re

_BEGINS = r"(?:^|(?<=[.;:] ))"  # where a sentence, or a part of one, begins
_PLACES = (  # on the still picture -> in the row of buttons
    (r"\bupper left( plot)?\b", "first plot"),
    (r"\bupper right( plot)?\b", "second plot"),
    (r"\blower left( plot)?\b", "third plot"),
    (r"\blower right( plot)?\b", "fourth plot"),
    (r"\bupper (two|row)\b", "first two plots"),
    (_BEGINS + r"above(?=,)", "first two plots"),
    (_BEGINS + r"below(?=[,:])", "last two plots"),
    (_BEGINS + r"left(?=[,:])", "first plot"),
    (_BEGINS + r"right(?=[,:])", "second plot"),
)


def in_turn(words: str) -> str:
    """A text about the plots of a still picture, for where one plot shows at a time.

    >>> in_turn("Two plots. Left: level. Right: travel, least near the tuning.")
    'Two plots. First plot: level. Second plot: travel, least near the tuning.'
    """
    for pattern, place in _PLACES:

        def told(found, place=place):
            return place[0].upper() + place[1:] if found[0][0].isupper() else place

        words = re.sub(pattern, told, words, flags=re.IGNORECASE)
    return words
