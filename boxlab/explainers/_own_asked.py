"""What one question alone asks of somebody's own job: where it starts, and what it takes for it."""

from __future__ import annotations

import math
from dataclasses import replace
from types import MappingProxyType
from typing import NamedTuple

import numpy as np

from boxlab.base import units
from boxlab.car.ampacity import least_fuse
from boxlab.design.tradeoff_solver import pick_two
from boxlab.draw.scene import Explainer
from boxlab.explainers._music import rated
from boxlab.gear.job import Job
from boxlab.gear.job_cable import LIES, Feed, feed_of, laid_of
from boxlab.gear.job_crosscheck import tuning_apart
from boxlab.gear.job_stops import SIGNAL, counted
from boxlab.model.enclosure import RadiatorBox
from boxlab.model.passband import passband

MORE = 0.09  # kg on each radiator: what `weights_for_a_tuning` tries first
_DEAL = {"left", "volume", "f3", "level"}
_DRIVEN = {"amplifier", "power", "rating", "watts", "drive"}  # W or V of the amplifier
_TUNINGS = {"first", "second", "added", "wanted"}
_COMPARED = {"size", "times", "wanted"}  # one driver in two boxes
ANY_RE = 8.0  # Ω, where an answer does not hang on it: 2.83 V are 1 W there


class Starts(NamedTuple):
    """Sliders by name and unit that are the job's own, those that follow, and choices."""

    told: dict[tuple[str, str], float]
    follows: dict[tuple[str, str], float]
    picks: dict[str, str]


def starts(item: Explainer, job: Job) -> Starts:
    """Where the controls of this question start, beside what every question has from a job."""
    names = _names(item)
    if (feed := _feed(item, job)) is not None:
        return _cable(feed)
    if (into := _into_re(item, job)) is not None:
        return Starts({(into.name, "W"): into.power}, {}, {})
    if names >= _DEAL:
        return Starts(_deal(job), {}, {})
    if names >= _TUNINGS:
        return Starts(*_two_tunings(job), {})
    return Starts({}, {}, {})


class IntoRe(NamedTuple):
    """The slider of an amplifier counted into the coil's Re, and what the job's gives there."""

    name: str
    power: float
    words: str


def _into_re(item, job):
    """The volts of the rating at the job's load, as watts into its Re; None where not asked so."""
    name = next((c.name for c in item.controls if c.label.endswith("into the coil's Re")), "")
    try:
        if not name or job.amplifier is None or job.too_low:
            return None
        load, re = job.load, float(job.system.re)
    except ValueError:
        return None
    rating = rated(job, load)
    power = float(f"{rating * load / re:.3g}")
    return IntoRe(name, power, (
        f"Its amplifier is rated at {rating:g} W into {load:.3g} Ω, so "
        f"{math.sqrt(rating * load):.1f} V: {power:g} W into the coil's Re of {re:.3g} Ω. "
        "All watts of an amplifier here are counted that way."
    ))  # fmt: skip


def enough(item: Explainer, job: Job) -> tuple[Job, str]:
    """The job with an Re where it has none and the answer does not hang on it, and what to say.

    Two boxes with one driver compare the same whatever its ohms: watts are counted into its own Re.
    """
    table = job.tables.get("driver", {})
    if not _names(item) >= _COMPARED or "re" in table or _has_driver(job):
        return job, ""
    filled = replace(
        job, tables=MappingProxyType({**job.tables, "driver": {**table, "re": ANY_RE}})
    )
    if not _has_driver(filled):
        return job, ""
    return filled, (
        "The job does not say Re, and the comparison does not hang on it: watts are counted into "
        f"the coil's own. Levels for 2.83 V are those of {ANY_RE:g} Ω, so for 1 W."
    )


def _has_driver(job):
    try:
        job.driver  # noqa: B018  # or it says what is missing
    except ValueError:
        return False
    return True


def tries(item: Explainer) -> set[str]:
    """Sliders of this question that start at a try of ours, which is nothing of the job's."""
    return _TUNINGS - {"first"} if _names(item) >= _TUNINGS else set()


def notes(item: Explainer, job: Job) -> tuple[str, ...]:
    """What this question took and why, and what of the job's signal it leaves out."""
    if _names(item) >= _DEAL:
        own = "Volume, corner and level start at those of your own box, as the model has it."
        return (own,) if _deal(job) else ()
    feed = _feed(item, job)
    if feed is None:
        left_out, into = _left_out(item, job), _into_re(item, job)
        more = f"Not counted here: {left_out}; the hand-over sheet counts this."
        told = [*([into.words] if into else []), *([more] if left_out else [])]
    else:
        told = [f"The cable is for {feed.words}."]
    if (feed or "loop" in _names(item)) and "laid" not in job.tables.get("cable", {}):
        told.append(
            f"The job does not say how the cable lies: taken as {laid_of(job)}. "
            f"{LIES[0].capitalize()}; {LIES[1]}."
        )
    return tuple(told)


def example(item: Explainer, job: Job, settings: dict) -> str:
    """That the tunings which this question starts at are the class's; "" where they are not."""
    if not _names(item) >= _TUNINGS:
        return ""
    moved = any(settings[c.name] != c.start for c in item.controls if c.name in _TUNINGS)
    if moved or _two_tunings(job)[0]:  # its own box is told by its parts
        return ""
    return (
        "An example of how two sweeps tell the mass, of the class's invented box and not measured "
        "on yours: nothing of it is of the job."
    )


def _left_out(item, job):
    """Filters and supply of the job that a question about its watts or volts does not count."""
    names = _names(item)
    if job.amplifier is None or not names & _DRIVEN:
        return ""
    here = {"filters"} if "high_pass" in names else set()
    here |= {"supply", "amplifier"} if "loop" in names else set()
    try:
        return counted(job, set(SIGNAL) - here)
    except ValueError:
        return ""  # a filter that cannot be: `job check` says so


def _names(item):
    return {control.name for control in item.controls}


def _feed(item, job) -> Feed | None:
    return feed_of(job) if "drop" in _names(item) else None


def _cable(feed):
    told = {("power", "W"): feed.power}
    if "voltage" in feed.told or feed.resistance:
        told["voltage", "V"] = feed.voltage
    try:
        follows = {("fuse", "A"): least_fuse(feed.current)}
    except ValueError:
        follows = {}  # the question says that no fuse is so large
    return Starts(told, follows, {"laid": feed.laid})


def _deal(job):
    """Corner and level of the job's own box; nothing where it has none."""
    try:
        found = passband(job.system, job.box)
        deal = pick_two(volume=found.volume, f3=found.f3, constant=found.constant)
        level = float(deal.level())
    except ValueError:
        return {}
    if not (np.isfinite(level) and np.isfinite(found.f3)):
        return {}
    return {("f3", "Hz"): float(found.f3), ("level", "dB"): level}


def _measured(job):
    """Whether the tuning was measured, with the parts as they are now."""
    known = job.known.get("box.fb")
    return known is not None and known.how == "measured" and not tuning_apart(job)


def _two_tunings(job):
    """The box's tuning, and what it is with MORE on each radiator by the parts of the job."""
    try:
        box = job.box if job.radiators and len(set(job.weights)) == 1 else None
    except ValueError:
        box = None
    if not isinstance(box, RadiatorBox):
        return {}, {}
    heavier = box.radiator.with_mass(box.radiator.added_mass + MORE)
    fall = float(RadiatorBox(box.volume, heavier, box.count, box.ql).tuning() / box.tuning())
    now = round(job.known["box.fb"].value if _measured(job) else float(box.tuning()), 1)
    follows = {
        ("second", "Hz"): round(now * fall, 1), ("added", "g"): float(units.to_grams(MORE)),
        ("wanted", "Hz"): round(0.9 * now, 1),
    }  # fmt: skip
    return {("first", "Hz"): now}, follows
