"""Lines of a hand-over sheet: a value in both unit systems, and how it is known."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from boxlab.base.both_units import both_units
from boxlab.base.units import to_cubic_feet, to_feet, to_inches, to_ounces, to_pounds
from boxlab.gear.job import Job
from boxlab.gear.job_follows import varied
from boxlab.gear.job_stops import held
from boxlab.gear.job_words import shown, typed

# What is typed may come from paper, a ruler or scales: the job file does not say, so nor does this.
HOWS = {"measured": "measured", "given": "given", "assumed": "assumed", "follows": "computed"}
# unit -> (shown in metric: factor and unit, shown in inch: function and unit)
_UNITS = {
    "Hz": (1, "Hz", None, ""),
    "W": (1, "W", None, ""),
    "V": (1, "V", None, ""),
    "A": (1, "A", None, ""),
    "ohm": (1, "Ω", None, ""),
    "dB": (1, "dB", None, ""),
    "": (1, "", None, ""),
    "m3": (1e3, "L", to_cubic_feet, "ft³"),
    "m": (1e3, "mm", to_inches, "in"),
    "length": (1, "m", to_feet, "ft"),
    "kg": (1e3, "g", to_ounces, "oz"),
    "heavy": (1, "kg", to_pounds, "lb"),
    "m/s": (1, "m/s", to_feet, "ft/s"),
    "N": (1, "N", lambda newtons: newtons / 4.4482216152605, "lbf"),
}


@dataclass(frozen=True)
class Row:
    """One line: what it is, its value in both unit systems, how it is known, and a remark."""

    name: str
    metric: str
    inch: str
    how: str
    note: str = ""


@dataclass(frozen=True)
class Part:
    """A heading with its rows, sentences, cautions and what could not be said."""

    title: str
    rows: tuple[Row, ...] = ()
    words: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    missing: tuple[str, ...] = ()
    question: str = ""  # the explainer that teaches it


def row(name, value, unit, digits=3, how="computed", note="", others=()) -> Row:
    """A row of a value in SI; `others` are the same value with what is assumed at its ends."""
    factor, metric, into, inch = _UNITS[unit]
    values = [float(each) for each in (value, *others) if np.isfinite(each)]
    if len(values) != 1 + len(others):
        values = values[:1] or [math.nan]

    def told(convert, symbol):
        ends = dict.fromkeys(_figure(convert(each), digits) for each in (min(values), max(values)))
        return f"{' to '.join(ends)}\u00a0{symbol}".strip()

    metric_text = told(lambda each: each * factor, metric)
    inch_text = told(into, inch) if into else metric_text
    return Row(name, metric_text, inch_text, how, note)


def _figure(value, digits):
    if not np.isfinite(value):
        return "none"
    places = max(0, digits - 1 - math.floor(math.log10(abs(value)))) if value else 0
    return f"{value:.{min(places, 4)}f}"


class Sums:
    """The same sums for a job and for each end of what it assumes, side by side."""

    def __init__(self, job: Job):
        self.job, self.variants = job, (*job.variants, *held(job))
        found = varied(job)
        self.by_ends = () if found == job.variants else found

    def row(self, name: str, sum_of: Callable[[Job], float], unit: str, **more) -> Row:
        """A computed row; a range where it hangs on something assumed, or on how a port ends."""
        others = []
        for each in (*self.variants, *self.by_ends):
            try:
                others.append(float(sum_of(each)))
            except ValueError:
                continue
        return row(name, sum_of(self.job), unit, others=others, **more)


def known_rows(job: Job) -> list[Row]:
    """What is known of the job's gear, and how: measured, given, assumed or computed."""
    found = []
    for name, each in job.known.items():
        if name.endswith(("name", "notes")) or isinstance(each.value, str) or name == "driver.eta0":
            continue
        value = shown(name, each.value)
        if each.how == "measured":
            value = each.why
        elif each.high != each.low:
            low, high = shown(name, each.low), shown(name, each.high)
            unit = high.partition(" ")[2]
            value = f"{low.removesuffix(unit).strip()} to {high}"
        found.append(
            Row(spoken(name), value, in_inches(value), how_known(job, name),
                each.why if each.how == "assumed" else _typed(job, name, each))
        )  # fmt: skip
    return found


def printed(job: Job, load: float) -> str:
    """How the watts at this load are known: the maker's, or worked out between two of them."""
    return HOWS["given" if load in job.amplifier.ratings else "follows"]


def _typed(job, name, known):
    """What was typed of a figure that was measured as well."""
    return typed(job, name).strip(" ()") if known.how == "measured" else ""


def spoken(name):
    """ "driver fs" of "driver.fs"."""
    return name.replace(".", " ").replace("_", " ").replace(" ohm", " Ω")


def in_inches(value):
    """ "0.77 ft³" of "21.8 L", where there is such a unit."""
    both = both_units(value)
    return both[len(value) :].strip(" ()") if both.startswith(f"{value} (") else both


def how_known(job, name):
    """The mark of a figure of the job, by "section.name"."""
    if name not in job.known:
        return "computed"
    return HOWS[job.known[name].how]


def most(name, arrays, f, unit="m", note=""):
    """A row of the largest of the first array, and where it is; the others make its range."""
    first = np.asarray(arrays[0])
    at = f[int(np.argmax(first))]
    where = f"at {at:.0f} Hz" + (f"; {note}" if note else "")
    return row(name, first.max(), unit, 2, note=where, others=[np.max(a) for a in arrays[1:]])
