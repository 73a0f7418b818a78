"""What one question alone asks of somebody's own job: where it starts, and what it takes for it."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from boxlab.base import units
from boxlab.car.ampacity import least_fuse
from boxlab.design.tradeoff_solver import pick_two
from boxlab.draw.scene import Explainer
from boxlab.gear.job import Job
from boxlab.gear.job_cable import LIES, Feed, feed_of
from boxlab.gear.job_stops import SIGNAL, counted
from boxlab.model.enclosure import RadiatorBox
from boxlab.model.passband import passband

MORE = 0.09  # kg on each radiator: what `weights_for_a_tuning` tries first
_DEAL = {"left", "volume", "f3", "level"}
_DRIVEN = {"amplifier", "power", "rating", "watts", "drive"}  # W or V of the amplifier
_TUNINGS = {"first", "second", "added", "wanted"}


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
    if names >= _DEAL:
        return Starts(_deal(job), {}, {})
    if names >= _TUNINGS:
        return Starts(*_two_tunings(job), {})
    return Starts({}, {}, {})


def notes(item: Explainer, job: Job) -> tuple[str, ...]:
    """What this question took and why, and what of the job's signal it leaves out."""
    if _names(item) >= _DEAL:
        own = "Volume, corner and level start at those of your own box, as the model has it."
        return (own,) if _deal(job) else ()
    feed = _feed(item, job)
    if feed is None:
        left_out = _left_out(item, job)
        more = f"Not counted here: {left_out}; the hand-over sheet counts this."
        return (more,) if left_out else ()
    told = [f"The cable is for {feed.words}."]
    if "laid" not in feed.told:
        told.append(
            f"The job does not say how the cable lies: taken as {feed.laid}. "
            f"{LIES[0].capitalize()}; {LIES[1]}."
        )
    return tuple(told)


def example(item: Explainer, job: Job, settings: dict) -> str:
    """That a tuning at which this question starts was never measured; "" where that is not so."""
    if not _names(item) >= _TUNINGS:
        return ""
    first, second = ({name: x for (name, _), x in each.items()} for each in _two_tunings(job))
    if not first:
        moved = any(settings[c.name] != c.start for c in item.controls if c.name in _TUNINGS)
        return "" if moved else (
            "An example of how two sweeps tell the mass, of the class's invented box and not "
            "measured on yours: nothing of it is of the job."
        )  # fmt: skip
    begin = first | {name: second[name] for name in ("second", "added")}
    if any(abs(settings[name] - value) > 1e-3 * value for name, value in begin.items()):
        return ""
    now = f"{first['first']:g} Hz is " + ("measured" if _measured(job) else "that of the parts")
    radiator = job.box.radiator
    each = "measured" if job.known["radiator.mms"].how == "measured" else "as given or assumed"
    return (
        f"An example of how two sweeps tell the mass: {now}; {second['second']:g} Hz with "
        f"{second['added']:g} g more on each is worked out from the parts, not measured. By the "
        f"job each radiator moves {units.to_grams(radiator.moving_mass):.0f} g ({each}, with "
        f"{units.to_grams(radiator.added_mass):.0f} g of weights)."
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
    if "voltage" in feed.told:
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
    return "box.fb" in job.known and job.known["box.fb"].how == "measured"


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
