"""Figures of a job that are known in two ways: where they differ, and the likely cause."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from functools import lru_cache

import numpy as np

from boxlab.gear.job import Job
from boxlab.gear.measured_text import grams
from boxlab.model.enclosure import RadiatorBox, SealedBox

HOLDS = 0.02  # a tuning of parts holds to no better: weights, edges of ports (our own assumption)
SAME_TUNING = 0.01  # share by which tunings differ that is worth a word
ONE_LEAK = 0.05  # other losses do not go with the tuning as a leak does (our own assumption)
STANDS = "Null, corner, travel, limits and all that moves stand on the parts, and so on {:.1f} Hz."


@lru_cache(maxsize=64)
def tuning_apart(job: Job) -> str:
    """Where the tuning that was measured is not that of the parts, by which the rest is worked out.

    "" where they agree within their doubts, or one of them is not known.
    """
    fb = _measured_tuning(job)
    try:
        box = None if fb is None else job.box
    except ValueError:
        return ""
    if fb is None or isinstance(box, SealedBox):
        return ""
    parts, u = float(box.tuning()), fb.high - fb.value
    doubt = _doubt(job, parts)
    apart = abs(parts - fb.value)
    if apart <= max(HOLDS * fb.value, 2 * np.hypot(u, doubt)):
        return ""
    return (
        f"Careful: the tuning measures {fb.value:.1f} Hz and the parts as given tune to "
        f"{parts:.1f} Hz: {apart:.1f} Hz apart, and their doubts are {u:.2g} and {doubt:.2g} Hz. "
        f"{_cause(job, box, fb.value / parts)} {STANDS.format(parts)}{_leak_of(job, fb, parts)}"
    )


def _leak_of(job, fb, parts):
    """That a QL as measured is of another tuning, and what the same leak makes at that of parts."""
    if job.ql.how != "measured":
        return ""
    there = job.ql.value * parts / fb.value
    return (
        f" The QL of {job.ql.value:.1f} is of the sweep, at {fb.value:.1f} Hz: the same leak is "
        f"{there:.1f} at {parts:.1f} Hz."
    )


def _measured_tuning(job):
    measured = job.tables.get("measured", {})
    return measured.get("after", {}).get("fb") or measured.get("box", {}).get("fb")


def _doubt(job, parts):
    """How far the tuning of the parts may be off, Hz: what was measured, and what is assumed."""
    moved = []
    for name, known in job.known.items():
        if known.how == "measured" and name in (
            "radiator.mms", "radiator.cms", "radiator.fp", "box.volume",
        ):  # fmt: skip
            moved.append(_moved(replace(job, changes={name: known.high}), parts))
    others = [_moved(each, parts) for each in job.variants]
    return float(np.hypot(np.hypot.reduce([0.0, *moved]), max(others, default=0.0) / 2))


def _moved(job, parts):
    try:
        return abs(float(job.box.tuning()) - parts)
    except ValueError:
        return 0.0


def _cause(job, box, ratio):
    """What most likely makes it; `ratio` is the measured tuning over that of the parts."""
    if not isinstance(box, RadiatorBox):
        return "The vents or the volume are not as given."
    now = job.weights[0]
    what = "after" if "after" in job.tables.get("measured", {}) else "as found"
    swept = [row.get("added_mass") for row in job.measurements if row.get("what") == what]
    then = swept[-1] if swept else None
    if what == "as found" and now in swept:  # that sweep counts, see `job_recordings.sweeps_of`
        then = now
    if then is not None and (isinstance(then, list) or abs(then - now) > 1e-3):
        return (
            f"It was swept with {grams(then)} on each radiator, and [radiator] says {grams(now)}: "
            "write there what is on now."
        )
    needed = float(box.radiator.moving_mass) / ratio**2 - float(box.radiator.mms)
    if needed < 0:
        return "The mass of the radiators, their area or the volume is not as given."
    return (
        f"Most likely the weights were not brought up to date: it tunes as if each carried "
        f"{1e3 * needed:.0f} g, and [radiator] says {grams(now)}."
    )


def changed(before: Mapping, after: Mapping, told) -> list[str]:
    """As found against after, in plain words.

    Parameters
    ----------
    before, after : name -> (value, u) of "fb", "volume", "ql", in SI, as far as they are known
    told : how a value is said, told(name, value, u)
    """
    words = []
    for name, label in (("fb", "tuning"), ("volume", "net volume"), ("ql", "QL")):
        if name not in before or name not in after:
            continue
        (a, u), (b, v) = before[name], after[name]
        if name == "ql" and "fb" in before and "fb" in after:
            words.append(_leak(before, after, told))
        elif abs(b - a) < 2 * np.hypot(u, v):
            words.append(f"The {label} has not changed.")
        else:
            words.append(f"The {label} went from {told(name, a, u)} to {told(name, b, v)}.")
    return words


def _leak(before, after, told):
    """Whether the leak itself has changed: one leak has a QL that goes with tuning and volume.

    QL = ωb·C·R, with R the leak's acoustic resistance (Small, Vented-box loudspeaker systems I,
    1973): the QL as found is brought to the tuning after, and to its volume.
    """
    ratio = after["fb"][0] / before["fb"][0]
    if "volume" in before and "volume" in after:
        ratio *= after["volume"][0] / before["volume"][0]
    (a, u), (b, v) = before["ql"], after["ql"]
    at = f"{after['fb'][0]:.1f} Hz"
    went = f"The QL went from {told('ql', a, u)} to {told('ql', b, v)}"
    if abs(ratio - 1) > SAME_TUNING:
        went += (
            f"; had the leak stayed, the first would be {told('ql', ratio * a, ratio * u)} at {at}"
        )
    if abs(b - ratio * a) < max(2 * np.hypot(ratio * u, v), ONE_LEAK * b):
        return f"{went}. The leak has not changed."
    return f"{went}. The leak is {'less' if b > ratio * a else 'more'} than it was."
