"""The table of an explainer: its states worked out beforehand, so that a page can move alone.

Each control alone over its range, from the start, from every preset and from every option that
is in sight; and the first two sliders together. Between two stored states the page shows the
nearer one and says which.
"""

from __future__ import annotations

import base64
import itertools
import json
import time
import zlib
from collections.abc import Callable, Iterator

import numpy as np

from boxlab.base.both_units import both_units, factors
from boxlab.draw.scene import Choice, Explainer
from boxlab.draw.stage.state import Pool, refused, state

# places along one of the first controls, along any other, from an option, of two together
FINE, COARSE, FEW, GRID = 41, 17, 9, 11
LARGEST = 310_000  # bytes that a packed table may take; one that is larger is made coarser

PATIENCE = 15.0  # s that a table may take
COARSEST = 0.3  # of those places, with which nothing is left out any more


def places(control, count: int) -> list:
    """Values of a control to work out: all options, or `count` places on its steps."""
    if isinstance(control, Choice):
        return list(control.options)
    count = min(count, round((control.high - control.low) / control.step) + 1)
    even = np.linspace(control.low, control.high, count)
    if control.low > 0 and control.high / control.low > 8:
        even = np.geomspace(control.low, control.high, count)
    found = {on_step(control, value) for value in even} | {control.start}
    return sorted(found)


def on_step(control, value: float):
    """The value of a slider next to `value`, as its page gives it."""
    steps = round((value - control.low) / control.step)
    near = min(control.low + steps * control.step, control.high)
    whole = all(isinstance(each, int) for each in (control.low, control.start, control.step))
    return int(near) if whole else float(f"{near:.10g}")


def settings(explainer: Explainer, finer: float = 1.0) -> Iterator[tuple]:
    """Every state to work out, as values in the order of the controls, each once."""
    controls, start = explainer.controls, explainer.start
    begins = [start, *(start | dict(each) for each in explainer.presets.values())]
    seen: set[tuple] = set()

    def new(state) -> bool:
        key = tuple(state[control.name] for control in controls)
        if key in seen:
            return False
        seen.add(key)
        return True

    for begin in begins:
        if new(begin):
            yield tuple(begin.values())
    for number, begin in enumerate(begins):
        for place, control in enumerate(controls):
            most = FINE if place < 3 and not number else COARSE
            for value in places(control, max(3, round(most * finer))):
                here = begin | {control.name: value}
                if new(here):
                    yield tuple(here.values())
    sliders = [c for c in controls if not c.more and not isinstance(c, Choice)]
    for choice in controls:
        if not isinstance(choice, Choice) or choice.more:
            continue
        for option, slider in itertools.product(choice.options, sliders):
            for value in places(slider, max(3, round(FEW * finer))):
                here = start | {choice.name: option, slider.name: value}
                if new(here):
                    yield tuple(here.values())
    spans = [places(control, max(3, round(GRID * finer))) for control in sliders[:2]]
    for values in itertools.product(*spans):
        here = start | {c.name: value for c, value in zip(sliders, values, strict=False)}
        if new(here):
            yield tuple(here.values())


def about(explainer: Explainer, gear: str = "") -> dict:
    """The question, its controls and whose gear it is about, as data."""
    return {
        "name": explainer.name,
        "q": explainer.question,
        "answer": explainer.answer,
        "gear": gear,
        "units": factors(),
        "controls": [_control(each) for each in explainer.controls],
        "presets": {
            both_units(name): list((explainer.start | dict(state)).values())
            for name, state in explainer.presets.items()
        },
    }


def _control(control) -> dict:
    told = {"n": control.name, "l": control.label, "st": control.start}
    told |= {"more": 1} if control.more else {}
    told |= {"help": control.help} if control.help else {}
    if isinstance(control, Choice):
        return (
            told | {"o": list(control.options)} | ({"ask": control.hides} if control.hides else {})
        )
    return told | {
        "lo": control.low, "hi": control.high, "step": control.step, "u": control.unit,
        **({"inch": list(control.inch)} if control.inch else {}),
    }  # fmt: skip


def made(
    explainer: Explainer,
    gear: str = "",
    say: Callable[[str], None] = lambda words: None,
    finest: float = 1.0,
) -> dict:
    """The table of an explainer: `about` it, and its states; see `packed`.

    `say` is told of every fiftieth state. Where a state takes long, there are fewer of them, and
    with `finest` below 1 everywhere. A state that cannot be built keeps the reason.
    """
    finer = _affordable(explainer, finest)
    while True:
        table, pool = _worked_out(explainer, gear, finer, say)
        text = packed(table, pool)
        if finer <= COARSEST or len(text) <= LARGEST:
            return table | {"packed": text}
        finer = max(COARSEST, 0.7 * finer)


def _affordable(explainer, finest: float) -> float:
    """How fine a table may be, `finest` or less, to take no more than about `PATIENCE` seconds."""
    some = list(itertools.islice(settings(explainer), 40))[::8]
    began = time.perf_counter()
    for values in some:
        one(explainer, dict(zip(explainer.start, values, strict=True)), Pool())
    each = (time.perf_counter() - began) / len(some)
    finer = finest
    while finer > COARSEST and each * sum(1 for _ in settings(explainer, finer)) > PATIENCE:
        finer = max(COARSEST, 0.8 * finer)
    return finer


def _worked_out(explainer, gear, finer, say):
    pool, states = Pool(), []
    names = list(explainer.start)
    wanted = list(settings(explainer, finer))
    for count, values in enumerate(wanted, 1):
        if count % 50 == 0:
            say(f"{explainer.name}: {count} of {len(wanted)} states")
        states.append(one(explainer, dict(zip(names, values, strict=True)), pool))
    return about(explainer, gear) | {"states": states}, pool


def one(explainer: Explainer, values: dict, pool: Pool) -> dict:
    """One state of an explainer, or why it cannot be built."""
    try:
        return state(explainer.told(**values), pool, list(values.values()))
    except ValueError as error:
        return refused(str(error), list(values.values()))


def packed(table: dict, pool: Pool) -> str:
    """A table as text for a page: what `whole` gives, compressed, in base 64."""
    return base64.b64encode(zlib.compress(whole(table, pool), 9)).decode("ascii")


def whole(table: dict, pool: Pool) -> bytes:
    """A table in a row of bytes: length of the words, words, points."""
    words = json.dumps(
        {key: value for key, value in table.items() if key != "packed"}
        | {"frames": pool.frames, "looks": pool.looks, "sizes": [len(c) for c in pool.curves]},
        ensure_ascii=False, separators=(",", ":"),
    ).encode()  # fmt: skip
    words += b" " * (len(words) % 2)
    return len(words).to_bytes(4, "little") + words + pool.row()
