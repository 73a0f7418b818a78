"""An explainer on somebody's own box: gear from the open job, ranges round it, and honest ranges.

What hangs on an assumed value is worked out at the ends of its range as well, and told as a range.
"""

from __future__ import annotations

import warnings
from dataclasses import replace
from functools import cache

import numpy as np

from boxlab.base import cautions
from boxlab.base.checks import Implausible
from boxlab.draw.scene import Choice, Explainer, Scene, Slider
from boxlab.draw.wanted import words_alone
from boxlab.explainers import _own_asked
from boxlab.explainers._own_told import in_ranges, without_amplifier
from boxlab.explainers._own_values import choices, notes, values
from boxlab.gear import shelf
from boxlab.gear.demo_boxes import SHELF
from boxlab.gear.job import Job
from boxlab.gear.job_crosscheck import tuning_apart
from boxlab.gear.job_keys import JobError
from boxlab.gear.scenario import DRIVERS
from boxlab.model.limits import UnknownLimitError

BESIDE = "What it is compared with is invented gear of the class."
# sliders that say how the box is, and so move with what is assumed of it; others are wishes
FACTS = {"volume", "fb", "ql", "qa", "qp", "qr", "softness", "friction", "travel", "le"}
LABEL = ("least", "at_least", "at_four")  # of an amplifier, where a job has its own
ELECTRIC = {
    "amplifier", "power", "rating", "watts", "drive", "load", "coil",
}  # fmt: skip


def with_job(item: Explainer, job: Job) -> Explainer:
    """The same question about the gear and box of `job`.

    Where a driver is chosen, "own" is added and chosen; sliders start at the job's values and their
    ranges widen round them.
    """
    own, picks = values(job), choices(job)
    fed = _own_asked.starts(item, job)
    told = own | fed.told
    begin = told | fed.follows
    theirs_alone = LABEL if job.amplifier is not None else ()  # its ratings are no settings
    controls = tuple(
        _control(each, begin, fed.picks | picks)
        for each in item.controls
        if each.name not in theirs_alone
    )
    theirs = [
        control for control in controls
        if (control.name, getattr(control, "unit", "")) in told
        or (isinstance(control, Choice) and picks.get(control.name) == control.start)
    ]  # fmt: skip
    tried = _own_asked.tries(item)
    controls = tuple(
        replace(each, label=f"{each.label} (a try, until you set it)") if each.name in tried
        else each for each in controls
    )  # fmt: skip
    said_of, (job, without) = notes(item, job), _own_asked.enough(item, job)
    controls, lowered = _in_reach(item, controls, job)
    told_by = cache(values)  # of each variant once, and not for each state of a page

    def scene(**settings) -> Scene:
        return _beside(_safe(worked(**settings), item, job), item, job)

    def worked(**settings) -> Scene:
        with shelf.opened(job) as used:
            try:
                made = item.scene(**settings)
            except ValueError as error:
                raise _in_the_file(error) from None
            if shelf.OWN not in used:
                made = _as_example(made, _own_asked.example(item, job, settings))
                return _set_by(made, [c for c in theirs if settings[c.name] == c.start], item, job)
            if lowered and settings["fb"] == lowered[0]:
                made = replace(made, warnings=(*made.warnings, lowered[1]))
            taken = (
                *shelf.said(), *said_of, *filter(None, [without]),
                *((BESIDE,) if "demo" in used else ()),
            )  # fmt: skip
            unmoved = {c.name for c in theirs if settings[c.name] == c.start} & FACTS
            others = _others(
                job, made,
                lambda each: _variant(
                    item, each, settings | _theirs(told_by(each), own, item, unmoved)
                ),
            )  # fmt: skip
        found = in_ranges(made, others, job, taken)
        return (
            found
            if job.amplifier is not None
            else without_amplifier(found, controls, settings, job)
        )

    return replace(item, controls=controls, scene=scene, presets={}, answer="")


def _others(job, made, told):
    """The scenes for other values of what is assumed, as far as they may tell something else.

    What alone, at neither of its ends, changes a word or a figure of the answer is left out of the
    combinations.
    """
    alone = [(each, told(each)) for each in job.variants if len(each.changes) == 1]
    moving = {
        name for each, scene in alone for name in each.changes
        if scene is None or _words(scene) != _words(made)
    }  # fmt: skip
    found, seen = [scene for _, scene in alone], set()
    for each in job.variants:
        moved = frozenset((n, value) for n, value in each.changes.items() if n in moving)
        if len(each.changes) > 1 and len(moved) > 1 and moved not in seen:
            seen.add(moved)
            found.append(told(each))
    return [scene for scene in found if scene is not None]


def _words(scene):
    return scene.title, scene.headline, scene.readout, scene.numbers, scene.caption


def _safe(scene, item, job):
    """The scene with what to heed where the job's coils are no load for its amplifier."""
    if not job.too_low or not ELECTRIC & {control.name for control in item.controls}:
        return scene
    told = dict.fromkeys((*cautions.words("low load"), *scene.cautions))
    heed = dict.fromkeys((job.too_low, *scene.warnings))
    return replace(scene, warnings=tuple(heed), cautions=tuple(told))


def _beside(scene, item, job):
    """The scene, with a word where the box's tuning as measured is not that of its parts."""
    apart = tuning_apart(job) if {c.name for c in item.controls} & {"fb", "first"} else ""
    apart = apart.removeprefix("Careful: ")
    return replace(scene, warnings=(apart, *scene.warnings)) if apart else scene


def _in_the_file(error):
    """The same refusal; of what the loudest level hangs on, with the line to write in the job."""
    if not isinstance(error, UnknownLimitError):
        return error
    lines = {"xmax": 'xmax = "14 mm"', "pe": 'pe = "500 W"'}
    wanted = " and ".join(lines[name] for name in error.names)
    return JobError(
        f"The loudest level hangs on what the job lacks: write {wanted} under [driver]."
    )


def _as_example(scene, words):
    """The scene with these words first, where what it starts at is no more than an example."""
    if not words:
        return scene
    return replace(
        scene,
        title=f"An example: {scene.title}",
        headline=words,
        readout=(words, *scene.readout),
        caption=f"{words} {scene.caption}",
    )


def _set_by(scene, theirs, item, job):
    """A scene without gear, whose settings may be the job's: which of them are."""
    if not theirs:
        return scene
    shelf.note(shelf.OWN)
    names = ", ".join(f"{control.label[0].lower()}{control.label[1:]}" for control in theirs)
    words = f"Gear: from the job “{job.name}”: {names}."
    words += "" if len(theirs) == len(item.controls) else " The other settings are not."
    words = " ".join([words, *notes(item, job)])
    return replace(scene, caption=f"{scene.caption} {words}", gear=words)


def _in_reach(item, controls, job):
    """The controls with a tuning to start at that the gear can reach, and (Hz, why it is lower)."""
    start = {control.name: control.start for control in controls}
    if "fb" not in start:
        return controls, None
    wanted = start["fb"]
    for share in np.arange(1.0, 0.3, -0.05):
        fb = wanted if share == 1.0 else round(wanted * share, 1)
        try:
            with shelf.opened(job), warnings.catch_warnings():
                warnings.simplefilter("ignore", Implausible)  # as when the question is asked
                item.scene(**start | {"fb": fb})
        except ValueError as error:
            if share == 1.0 and "fb" not in str(error):
                break
            continue
        if share == 1.0:
            break
        why = f"{wanted:g} Hz is out of reach here with your gear; {fb:g} Hz is shown instead."
        moved = [
            replace(c, start=fb, low=min(c.low, fb / 2)) if c.name == "fb" else c for c in controls
        ]
        return tuple(moved), (fb, why)
    return controls, None


def _theirs(told, own, item, names):
    """What these sliders start at, by what a job with other values of what is assumed tells.

    A slider that tells the same as by the job itself, `own`, stays as it is set.
    """
    sliders = [c for c in item.controls if c.name in names and hasattr(c, "unit")]
    return {
        c.name: _rounded(c, told[c.name, c.unit])
        for c in sliders
        if told.get((c.name, c.unit), own.get((c.name, c.unit))) != own.get((c.name, c.unit))
    }


def _variant(item, job, settings):
    """The scene with one set of assumed values; None where the box cannot be built with them."""
    with shelf.opened(job), words_alone():
        try:
            return item.scene(**settings)
        except ValueError:
            return None


def _control(control, told, picks):
    if isinstance(control, Choice):
        wanted = picks.get(control.name, "")
        if control.name == "count" and control.label != "Radiators":
            wanted = ""  # of drivers: the job's own are all in one already
        open_ended = control.name in ("count", "coil", "coils", "load")
        if open_ended and wanted and wanted not in control.options:
            control = replace(control, options=(*control.options, wanted))
        wanted = wanted if wanted in control.options else wanted.removesuffix("ed")
        if wanted and wanted in control.options:
            return replace(control, start=wanted)
        if set(control.options) <= set(DRIVERS):
            return replace(control, options=(shelf.OWN, *control.options), start=shelf.OWN)
        if control.name == "gap" and "gap" in picks:
            return replace(control, options=(shelf.OWN, *control.options), start=shelf.OWN)
        if set(SHELF) <= set(control.options):  # of two that are compared, the first is theirs
            start = shelf.OWN if control.name == "first" else control.start
            return replace(control, options=(shelf.OWN, *control.options), start=start)
        return control
    value = told.get((control.name, control.unit))
    if value is None:
        return _wider(control)
    whole, value = _counts(control), _rounded(control, value)
    half = round(value / 2) if whole and value > 1 else value if whole else value / 2
    low, high = min(control.low, half, value), max(control.high, 2 * value)
    if control.unit == "dB":  # twice as many decibels mean nothing
        low, high = min(control.low, value), max(control.high, value)
    high = min(high, 100.0) if control.unit == "%" else high
    return replace(control, start=value, low=low, high=high)


def _counts(control):
    return all(isinstance(each, int) for each in (control.low, control.start, control.step))


def _rounded(control, value):
    return float(round(value)) if _counts(control) else float(f"{value:.4g}")


def _wider(control: Slider) -> Slider:
    """Room for gear that is larger than the class's: twice as far where a slider has a size."""
    if control.unit in ("L", "W", "V", "g", "mm") and control.low > 0:
        return replace(control, high=2 * control.high)
    return control
