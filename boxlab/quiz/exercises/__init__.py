"""One module for each lesson. Each offers its `Exercise` objects in a tuple, `EXERCISES`.

Nothing is imported until somebody asks, and a new module needs no entry in a list here.
"""

from __future__ import annotations

import difflib
import importlib
import pkgutil
import re
import tomllib
from collections.abc import Callable, Mapping
from pathlib import Path
from types import MappingProxyType

from boxlab.base.both_units import both_units
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


def answers_of(module: str, sums: Mapping[str, Callable[[], dict]] = MappingProxyType({})):
    """The function `answer(slug)` of a lesson: what `quiz.compare` needs for a prediction.

    The words stand in the TOML file beside the module, out of the lesson's cells, which would tell:
    `right` is the right option, `because` the reason, `others` what to say to each wrong one. A
    place like `{explainer?setting=value#1}` takes a line of that readout, counted from 0, as the
    model says it now; `#name` takes the row of its numbers that begins so. `sums` has a function
    for each prediction whose words name values, as `{fb:.1f}`, that no readout has.
    """
    path = Path(__file__).with_name(f"{module.rpartition('.')[2]}.toml")

    def answer(slug: str, because: str | None = None) -> dict:
        """The right option, the reason (`because`, where a recording gave it) and the others."""
        row = tomllib.loads(path.read_text(encoding="utf-8"))[slug]
        values = sums[slug]() if slug in sums else None
        others = {option: _filled(text, values) for option, text in row["others"].items()}
        because = because or _filled(row["because"], values)
        return {"right": row["right"], "because": because, "others": others}

    return answer


def _filled(text: str, values: dict | None) -> str:
    """The text with what the model says in its places, in both unit systems."""
    from boxlab.explainers import explainer

    def said(place):
        name, line = place[1], place[3]
        pairs = (pair.split("=") for pair in place[2].split("&")) if place[2] else ()
        scene = explainer(name)(**{key: _value(value) for key, value in pairs})
        if line.isdigit():
            return scene.readout[int(line)]
        row = next(row for row in scene.numbers if row.name.startswith(line))
        return f"{row.metric} ({row.imperial})"

    text = re.sub(r"\{(\w+)(?:\?([^#}]*))?#(\w+)\}", said, text)
    return both_units(text.format(**values) if values else text)


def _value(text: str) -> float | str:
    try:
        return float(text)
    except ValueError:
        return text


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
