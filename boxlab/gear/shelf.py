"""The shelf that explainers take gear from: the class's invented gear, and the open job's own.

While a job is open, the name "own" stands for its gear. What the job does not say is asked for, and
never filled in from the class's gear. `used` tells afterwards whose gear an answer was about.
"""

from __future__ import annotations

import contextlib
from collections.abc import Callable, Iterator, Mapping
from contextvars import ContextVar
from functools import lru_cache, wraps
from types import MappingProxyType
from weakref import WeakKeyDictionary

import numpy as np

from boxlab.base.units import disc_diameter
from boxlab.car.clearance import Mounting
from boxlab.gear import demo_parts, scenario
from boxlab.gear.job import Job
from boxlab.gear.job_keys import JobError
from boxlab.model.enclosure import RadiatorBox
from boxlab.model.mixed_radiators import MixedRadiatorBox
from boxlab.model.radiator import Radiator

OWN = "own"
_open: ContextVar[Job | None] = ContextVar("job", default=None)
_used: ContextVar[set | None] = ContextVar("used", default=None)
_said: ContextVar[dict | None] = ContextVar("said", default=None)  # what had to be assumed
# of parts of which no outline is known, against the diameter of what moves (our own assumption)
FRAME, CUTOUT, DEPTH = 1.27, 1.14, 0.55
_WORDS = "one two three four five six seven eight nine ten eleven twelve"
COUNTS = MappingProxyType({word: n for n, word in enumerate(_WORDS.split(), 1)})
_ALIKE = (
    "The job's radiators carry different weights; here all are taken alike. What one lost weight "
    "does is a question of its own."
)


@contextlib.contextmanager
def opened(job: Job | None) -> Iterator[set]:
    """While this lasts, "own" is the gear of `job`; gives the set of whose gear was used."""
    seen: set = set()
    outer = _used.get()
    marks = _open.set(job), _used.set(seen), _said.set({})
    try:
        yield seen
    finally:
        _open.reset(marks[0])
        _used.reset(marks[1])
        _said.reset(marks[2])
        if outer is not None:
            outer |= seen


def remembered(most: int):
    """Decorator: keep the last `most` answers of a function, apart for each job that is open.

    Whose gear an answer was about, and what had to be taken for it, is told each time anew. A
    function whose answers follow from its arguments alone needs no more than `lru_cache`.
    """

    def keep(function):
        def noted(*args, **named):
            marks = _used.set(set()), _said.set({})
            try:
                return function(*args, **named), _used.get(), _said.get()
            finally:
                _used.reset(marks[0])
                _said.reset(marks[1])

        of_the_class, of_a_job = lru_cache(most)(noted), WeakKeyDictionary()

        @wraps(function)
        def call(*args, **named):
            job = current()
            if job is not None and job not in of_a_job:
                of_a_job[job] = lru_cache(most)(noted)
            made, used, sentences = (of_a_job[job] if job else of_the_class)(*args, **named)
            for whose in used:
                note(whose)
            for sentence in sentences:
                say(sentence)
            return made

        return call

    return keep


def current() -> Job | None:
    """The job that is open, or None."""
    return _open.get()


def said() -> tuple[str, ...]:
    """Sentences on what was taken because the open job does not have it, for the caption."""
    return tuple(_said.get() or ())


def say(sentence: str) -> None:
    """Put a sentence on what was taken into the caption of the answer that is being worked out."""
    if _said.get() is not None:
        _said.get()[sentence] = True


def note(whose: str) -> None:
    """Note that the answer is about this gear: "own" or "demo"."""
    used = _used.get()
    if used is not None:
        used.add(whose)


class Shelf(Mapping):
    """Demo gear by its name, and "own" for the open job's. It lists the demo names only."""

    def __init__(self, demo: Mapping, own: Callable[[Job], object]):
        self._demo, self._own = demo, own

    def __getitem__(self, name):
        if name != OWN:
            note("demo")
            return self._demo[name]
        job = current()
        if job is None:
            raise JobError("No job is open. Open one: picture NAME --job FILE")
        note(OWN)
        return self._own(job)

    def __iter__(self):
        return iter(self._demo)

    def __len__(self):
        return len(self._demo)


def the_driver(demo=scenario.TEN_INCH_DRIVER):
    """The open job's driver, or the class's where none is open."""
    note("demo" if current() is None else OWN)
    return demo if current() is None else current().system


def one_driver(demo=scenario.TEN_INCH_DRIVER):
    """One driver of the open job, where it may have several, or the class's."""
    note("demo" if current() is None else OWN)
    return demo if current() is None else current().driver


def the_radiator(demo=scenario.TEN_INCH_RADIATOR, alike=True):
    """The open job's radiator without weights, or the class's where none is open.

    Where the job's carry different weights, that all are taken `alike` is said.
    """
    note("demo" if current() is None else OWN)
    return demo if current() is None else bare_radiator(current(), alike)


def radiator_count(name=OWN) -> int:
    """How many radiators the open job's box has, where `name` means its gear; else one."""
    job = current()
    return max(1, job.radiators) if job is not None and name == OWN else 1


def driver_count(name, sets=1) -> str:
    """How many drivers `sets` of the gear `name` have, as a word: the open job may have several."""
    job = current()
    number = sets * (job.faces if job is not None and name == OWN else 1)
    return next((word for word, n in COUNTS.items() if n == number), str(number))


def leak(name=OWN) -> float:
    """QL of the open job's box, where `name` means its gear and it is known; else the usual."""
    job = current()
    if job is None or name != OWN or "ql" not in job.tables.get("box", {}):
        return scenario.USUAL_QL
    return float(job.tables["box"]["ql"])


def bare_radiator(job, alike=True):
    """The job's radiator without weights, or one like the driver's cone, which is said."""
    if "radiator" in job.tables:
        if alike and len(set(job.weights)) > 1:
            say(_ALIKE)
        return job.radiator.with_mass(0.0)
    driver = job.driver
    say("The job has no radiator: one as large and as heavy as the driver's cone was taken.")
    travel = 1.5 * float(driver.xmax)
    return Radiator.from_datasheet(
        sd=float(driver.sd), mms=float(driver.mms), xmax=travel if np.isfinite(travel) else None,
        name="assumed, as large as the driver",
    )  # fmt: skip


def even_box(job):
    """The job's box, with the mean of their weights on each where its radiators differ."""
    if not isinstance(job.box, MixedRadiatorBox):
        return job.box
    say(_ALIKE)
    return RadiatorBox(job.box.volume, job.radiator, job.radiators, job.box.ql)


def from_size(section, name=OWN) -> frozenset[str]:
    """What of an outline is taken from its size: what the open job lacks; () of the class's."""
    job = current()
    if job is None or name != OWN:
        return frozenset()
    return frozenset({"frame", "cutout", "depth"} - set(job.tables.get(section, {})))


def made_up_radiator(name=OWN) -> bool:
    """Whether the radiator of the gear `name` is made up, since the open job has none."""
    job = current()
    return job is not None and name == OWN and "radiator" not in job.tables


def _volume(job):
    return float(job.box.volume)


def _part(section):
    """The outline of the job's driver or radiator, for fitting it into a gap."""

    def made(job):
        table = dict(job.tables.get(section, {}))
        gear = job.driver if section == "driver" else bare_radiator(job)
        wide = float(disc_diameter(gear.sd))
        usual = {"frame": FRAME * wide, "cutout": CUTOUT * wide, "depth": DEPTH * wide}
        missing = [name for name in usual if name not in table]
        if missing:
            say(
                f"The job lacks {', '.join(missing)} of the {section}: taken from its size. "
                "Measure before you cut."
            )
        table = usual | table
        return Mounting(
            f"own {section}", table["frame"], table["cutout"], table["depth"],
            table.get("magnet", 0.0), table.get("magnet_depth", 0.0),
            travel=float(gear.xmax) if np.isfinite(gear.xmax) else 0.0,
            mass=table.get("weight", 0.0), count=table.get("count", 1),
        )  # fmt: skip

    return made


DRIVERS = Shelf(scenario.DRIVERS, lambda job: job.system)
RADIATORS = Shelf(scenario.RADIATORS, bare_radiator)
CLASS_VOLUMES = Shelf(scenario.CLASS_VOLUMES, _volume)
DRIVER_PARTS = Shelf(demo_parts.DRIVER_PARTS, _part("driver"))
RADIATOR_PARTS = Shelf(demo_parts.RADIATOR_PARTS, _part("radiator"))
