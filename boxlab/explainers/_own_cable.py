"""Where the question of cable and fuse starts on somebody's own job, and what it takes for it."""

from __future__ import annotations

from typing import NamedTuple

from boxlab.car.ampacity import least_fuse
from boxlab.draw.scene import Explainer
from boxlab.gear.job import Job
from boxlab.gear.job_cable import LIES, Feed, feed_of


class Starts(NamedTuple):
    """Sliders by name and unit that are the job's own, those that follow, and choices."""

    told: dict[tuple[str, str], float]
    follows: dict[tuple[str, str], float]
    picks: dict[str, str]


def starts(item: Explainer, job: Job) -> Starts:
    """Nothing for a question that is not about a cable, or a job without an amplifier."""
    feed = _feed(item, job)
    if feed is None:
        return Starts({}, {}, {})
    told = {("power", "W"): feed.power}
    if "voltage" in feed.told:
        told["voltage", "V"] = feed.voltage
    try:
        follows = {("fuse", "A"): least_fuse(feed.current)}
    except ValueError:
        follows = {}  # the question says that no fuse is so large
    return Starts(told, follows, {"laid": feed.laid})


def notes(item: Explainer, job: Job) -> tuple[str, ...]:
    """Why these watts, and how the cable was taken to lie where the job does not say."""
    feed = _feed(item, job)
    if feed is None:
        return ()
    told = [f"The cable is for {feed.words}."]
    if "laid" not in feed.told:
        told.append(
            f"The job does not say how the cable lies: taken as {feed.laid}. "
            f"{LIES[0].capitalize()}; {LIES[1]}."
        )
    return tuple(told)


def _feed(item, job) -> Feed | None:
    about = any(control.name == "drop" for control in item.controls)
    return feed_of(job) if about else None
