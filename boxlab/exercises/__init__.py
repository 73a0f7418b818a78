"""One module for each lesson. Each offers its `Exercise` objects in a tuple, `EXERCISES`.

Nothing is imported until somebody asks, and a new module needs no entry in a list here.
"""

from __future__ import annotations

import difflib
import importlib
import pkgutil

from boxlab.exercise import Exercise


def all_exercises() -> tuple[Exercise, ...]:
    """Every exercise, by module and then in the order of its lesson.

    Raises
    ------
    ValueError
        If two exercises share a key: keys name them in learners' progress files.
    """
    found: dict[str, Exercise] = {}
    for module in sorted(info.name for info in pkgutil.iter_modules(__path__)):
        for item in getattr(importlib.import_module(f"{__name__}.{module}"), "EXERCISES", ()):
            if item.key in found:
                raise ValueError(f"two exercises have the key {item.key!r}; change one of them")
            found[item.key] = item
    return tuple(found.values())


def exercise(key: str) -> Exercise:
    """The exercise with this key.

    Raises
    ------
    ValueError
        If there is none; the message offers the nearest key.
    """
    items = {item.key: item for item in all_exercises()}
    if key in items:
        return items[key]
    near = difflib.get_close_matches(key, items, n=1, cutoff=0.5)
    hint = f"did you mean {near[0]!r}? " if near else ""
    raise ValueError(f"no exercise has the key {key!r}; {hint}there are: {', '.join(items)}")
