"""An explainer on somebody's own box: gear from the open job, ranges round it, and honest ranges.

What hangs on an assumed value is worked out at the ends of its range as well, and told as a range.
"""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np

from boxlab.base import cautions
from boxlab.draw.scene import Choice, Explainer, Number, Plot, Scene, Slider
from boxlab.explainers._own_values import choices, notes, values
from boxlab.gear import shelf
from boxlab.gear.demo_boxes import SHELF
from boxlab.gear.job import Job
from boxlab.gear.job_keys import JobError
from boxlab.gear.scenario import DRIVERS
from boxlab.model.limits import UnknownLimitError

BESIDE = "What it is compared with is invented gear of the class."
LABEL = ("least", "at_least", "at_four")  # of an amplifier, where a job has its own
ELECTRIC = {
    "amplifier", "power", "rating", "watts", "drive", "load", "coil",
}  # fmt: skip
_SPAN = "\x01"  # between the ends of a range, until all ranges are told
_NESTED = re.compile(
    rf"(?P<from>from (?:about )?)?(?P<range>(?:[\d.−-]+{_SPAN}[\d.]+ to [\d.−-]+(?:{_SPAN}[\d.]+)?)"
    rf"|(?:[\d.−-]+ to [\d.−-]+{_SPAN}[\d.]+))"
)
_FIGURE = re.compile(r"(?<![\w.])[−-]?\d+(?:\.\d+)?(?![\w.]*\d)")


def with_job(item: Explainer, job: Job) -> Explainer:
    """The same question about the gear and box of `job`.

    Where a driver is chosen, "own" is added and chosen; sliders start at the job's values and their
    ranges widen round them.
    """
    told = values(job)
    if job.amplifier is not None and any(control.name == "drop" for control in item.controls):
        told["power", "W"] = max(job.amplifier.ratings.values())  # a cable has to carry the most
    picks = choices(job)
    theirs_alone = LABEL if job.amplifier is not None else ()  # its ratings are no settings
    controls = tuple(
        _control(each, told, picks) for each in item.controls if each.name not in theirs_alone
    )
    theirs = [
        control for control in controls
        if (control.name, getattr(control, "unit", "")) in told
        or (isinstance(control, Choice) and picks.get(control.name) == control.start)
    ]  # fmt: skip
    controls, lowered = _in_reach(item, controls, job)

    def scene(**settings) -> Scene:
        return _safe(worked(**settings), item, job)

    def worked(**settings) -> Scene:
        with shelf.opened(job) as used:
            try:
                made = item.scene(**settings)
            except ValueError as error:
                raise _in_the_file(error) from None
            if shelf.OWN not in used:
                return _set_by(made, [c for c in theirs if settings[c.name] == c.start], item, job)
            if lowered and settings["fb"] == lowered[0]:
                made = replace(made, warnings=(*made.warnings, lowered[1]))
            taken = (*shelf.said(), *notes(item, job), *((BESIDE,) if "demo" in used else ()))
            others = [_variant(item, each, settings) for each in job.variants]
        return _told(made, [each for each in others if each is not None], job, taken)

    return replace(item, controls=controls, scene=scene, presets={}, answer="")


def _safe(scene, item, job):
    """The scene with what to heed where the job's coils are no load for its amplifier."""
    if not job.too_low or not ELECTRIC & {control.name for control in item.controls}:
        return scene
    told = dict.fromkeys((*cautions.words("low load"), *scene.cautions))
    warnings = dict.fromkeys((job.too_low, *scene.warnings))
    return replace(scene, warnings=tuple(warnings), cautions=tuple(told))


def _in_the_file(error):
    """The same refusal; of what the loudest level hangs on, with the line to write in the job."""
    if not isinstance(error, UnknownLimitError):
        return error
    lines = {"xmax": 'xmax = "14 mm"', "pe": 'pe = "500 W"'}
    wanted = " and ".join(lines[name] for name in error.names)
    return JobError(
        f"The loudest level hangs on what the job lacks: write {wanted} under [driver]."
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
            with shelf.opened(job):
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


def _variant(item, job, settings):
    """The scene with one set of assumed values; None where the box cannot be built with them."""
    with shelf.opened(job):
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
    whole = all(isinstance(each, int) for each in (control.low, control.start, control.step))
    value = float(round(value)) if whole else float(f"{value:.4g}")
    half = round(value / 2) if whole and value > 1 else value if whole else value / 2
    low, high = min(control.low, half, value), max(control.high, 2 * value)
    high = min(high, 100.0) if control.unit == "%" else high
    return replace(control, start=value, low=low, high=high)


def _wider(control: Slider) -> Slider:
    """Room for gear that is larger than the class's: twice as far where a slider has a size."""
    if control.unit in ("L", "W", "V", "g", "mm") and control.low > 0:
        return replace(control, high=2 * control.high)
    return control


def _told(scene: Scene, others, job: Job, taken=()) -> Scene:
    """The scene with its ranges, in the words of somebody whose own box it is."""
    assumed = _listed([name for name, each in job.assumed.items() if each.high != each.low])
    words = f"Gear: {job.system.name}, from the job “{job.name}”."
    if others and assumed:
        words += f" Assumed, and so told as ranges: {assumed}."
    joined = {"driver.wiring": "drivers", "driver.coil_wiring": "coils"}
    if unsaid := [what for name, what in joined.items() if name in job.assumed]:
        words += f" Assumed: {' and '.join(unsaid)} in parallel, which the job does not say."
    words = " ".join([words, *taken])

    def ranged(pick):
        return _yours(_merge(pick(scene), [pick(each) for each in others]))

    numbers = tuple(
        Number(
            row.name,
            *(
                _merge(getattr(row, side), [_row(each, row.name, side) for each in others])
                for side in ("metric", "imperial")
            ),
        )
        for row in scene.numbers
    )
    readout = tuple(
        ranged(lambda each, i=i: each.readout[i] if i < len(each.readout) else "")
        for i in range(len(scene.readout))
    )
    return replace(
        scene,
        title=ranged(lambda each: each.title),
        headline=ranged(lambda each: each.headline),
        readout=readout,
        numbers=numbers,
        caption=f"{ranged(lambda each: each.caption)} {words}",
        gear=words,
        alt=f"{_yours(scene.alt)} {words}",
        code=_code(scene.code, job),
        plots=tuple(_in_sight(plot) for plot in scene.plots),
    )


def _listed(names) -> str:
    """ "qms, le of the driver; ql of the box" of "driver.qms", "driver.le", "box.ql"."""
    parts: dict[str, list[str]] = {}
    for name in names:
        section, _, key = name.partition(".")
        parts.setdefault(section, []).append(key)
    return "; ".join(f"{', '.join(keys)} of the {section}" for section, keys in parts.items())


def _row(scene, name, side):
    return next((getattr(row, side) for row in scene.numbers if row.name == name), "")


def _merge(text: str, others) -> str:
    """A text with each number that differs in the others told as a range.

    >>> _merge("Add 30 g for 38 Hz.", ["Add 19 g for 38 Hz.", "Add 52 g for 38 Hz."])
    'Add 19 to 52 g for 38 Hz.'
    """
    pattern = _FIGURE.sub("#", text)
    same = [each for each in others if _FIGURE.sub("#", each) == pattern]
    rows = [_FIGURE.findall(each) for each in (text, *same)]
    columns = iter(list(zip(*rows, strict=True)) if rows[0] else ())

    def told(match):
        shown = dict.fromkeys(next(columns))
        if len(shown) == 1:
            return match[0]
        ends = sorted(shown, key=lambda each: float(each.replace("−", "-")))
        return f"{ends[0]}{_SPAN}{ends[-1]}"

    merged = _NESTED.sub(_one_range, _FIGURE.sub(told, text))
    merged = re.sub(rf"(\bfrom )([\d.−-]+){_SPAN}", r"\1\2–", merged).replace(_SPAN, " to ")
    if others and len(same) < len(others):
        merged += " (Whether this is so depends on an assumed value.)" if text else ""
    return merged


def _one_range(found):
    """A range whose own ends are ranges, as one: the least to the most; "from a to b" keeps both.

    >>> _merge("8 to 9 dB; from 18 to 13 Hz.", ["7 to 8 dB; from 19 to 14 Hz."])
    '7 to 9 dB; from 18–19 to 13–14 Hz.'
    """
    if found["from"]:
        return found[0].replace(_SPAN, "–")
    ends = re.split(f" to |{_SPAN}", found["range"])
    ends.sort(key=lambda each: float(each.replace("−", "-")))
    return f"{ends[0]}{_SPAN}{ends[-1]}"


def _yours(text: str) -> str:
    text = re.sub(r"\b([Tt])he same own( driver)?\b", r"\1he same driver", text)
    text = re.sub(r"\b(T)he own\b|\b(?:the|an?) own\b", lambda m: "Your" if m[1] else "your", text)
    text = re.sub(r"\b(one|two|three|four|\d+) own (\w+)", r"\1 of your \2", text)
    text = re.sub(r"\bown (driver|radiators?|one)\b", r"your \1", text)
    text = re.sub(r"^own\b", "Your driver", text)
    return re.sub(r"(?<!your )\bown\b(?=,| at\b| sealed\b)", "your driver", text)


def _code(code: str, job: Job) -> str:
    file = job.path.name if job.path else "FILE.job.toml"
    code = re.sub(r"(?m)^from boxlab\.gear\.scenario import [^\n]*\n", "", code)
    code = re.sub(r"DRIVERS\['(?:own|ten-inch)'\]|TEN_INCH_DRIVER", "job.system", code)
    code = re.sub(r"RADIATORS\['own'\]|TEN_INCH_RADIATOR", "job.radiator.with_mass(0)", code)
    return f"from boxlab import read_job\njob = read_job({file!r})\n{code}"


def _in_sight(plot: Plot) -> Plot:
    """The plot with its upright axis drawn out to what a larger or smaller box asks of it."""
    curves = [np.asarray(line.y, float) for line in plot.lines if line.kind in ("line", "steps")]
    shown = np.concatenate([y[np.isfinite(y)].ravel() for y in curves]) if curves else np.empty(0)
    if not shown.size or plot.ynames or plot.equal:
        return plot
    low, high = plot.ylim
    most = float(np.percentile(shown, 98))
    if most <= high:
        return plot
    if plot.yscale == "log":
        return replace(plot, ylim=(low, 10 ** np.ceil(np.log10(most))))
    step = high - low
    return replace(plot, ylim=(low, low + step * np.ceil((most - low) / step)), yticks=())
