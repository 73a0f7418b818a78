"""One module for each lesson. Each offers its `Exercise` objects in a tuple, `EXERCISES`.

Nothing is imported until somebody asks, and a new module needs no entry in a list here.
"""

from __future__ import annotations

import difflib
import importlib
import pkgutil
from pathlib import Path

from boxlab.quiz.task import Exercise

LESSONS = Path(__file__).resolve().parents[3] / "lessons"
# What the self-check shows on a page where nothing runs; live, everybody gets a mix of their own.
SAMPLE = (
    "port-or-radiator/weights",
    "phase/losses",
    "size-efficiency-extension/size",
    "how-much-radiator/ratio",
    "reading-a-sweep/added-mass",
    "fitting-the-space/net-volume",
    "power-and-wiring/load",
    "how-loud/day",
)


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


def by_lesson() -> dict[str, tuple[Exercise, ...]]:
    """Every exercise by the file name of its lesson, in the order of the lessons.

    A lesson is found by its name: the exercises of `phase_at_tuning` belong to the notebook whose
    name goes on like that after its number; without one they stand under their own name.
    """
    found = {}
    for module in (info.name for info in pkgutil.iter_modules(__path__)):
        items = getattr(importlib.import_module(f"{__name__}.{module}"), "EXERCISES", ())
        books = sorted(LESSONS.glob(f"[0-9][0-9]-{module.replace('_', '-')}*.ipynb"))
        if items:
            found[books[0].name if books else module.replace("_", "-")] = items
    return dict(sorted(found.items()))


def answer_from_readout(slug: str, lines: dict, right: dict, others: dict) -> dict:
    """What `quiz.compare` needs for the prediction `slug`; the reason is what the model says now.

    `lines` has the explainer, its settings and the line of its readout that answers; `right` and
    `others` have the choices. All this is kept out of the lesson's cells, which would tell.
    """
    from boxlab.explainers import explainer

    name, settings, line = lines[slug]
    because = explainer(name)(**settings).readout[line]
    return {"right": right[slug], "because": because, "others": others[slug]}


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
