"""Curves coloured by what stops the sound there: cone, radiator, amplifier or heat."""

from __future__ import annotations

from types import MappingProxyType

import numpy as np

from boxlab.draw.scene import Line

STOPS = (  # limit, role of its colour, name in a key, in words
    ("cone excursion", "cone", "cone", "cone at Xmax"),
    ("radiator excursion", "vent", "radiator", "radiator at its stop"),
    ("amplifier", "electrical", "amplifier", "amplifier at its end"),
    ("heat", "limit", "heat", "coil at its heat limit"),
)
WORDS = MappingProxyType({limit: words for limit, _, _, words in STOPS})


def coloured(frequency, y, limit):
    """Lines of `y` over `frequency`, one for each limit, drawn only where that limit holds."""
    limit = np.asarray(limit)
    lines = []
    for name, role, label, _ in STOPS:
        here = limit == name
        here[1:] |= here[:-1]  # join on to the next piece
        lines.append(Line(frequency, np.where(here, y, np.nan), role, label, "radiator"))
    return tuple(lines)


def pieces(frequency, limit, low, high):
    """What stops it from `low` to `high` Hz: "radiator at its stop up to 41 Hz, then ..."."""
    limit = np.asarray(limit)
    inside = (frequency >= low) & (frequency <= high)
    f, names = frequency[inside], limit[inside]
    ends = np.flatnonzero(names[1:] != names[:-1])
    parts = [f"{WORDS[names[k]]} up to {f[k]:.0f} Hz" for k in ends]
    return ", then ".join([*parts, WORDS[names[-1]]])
