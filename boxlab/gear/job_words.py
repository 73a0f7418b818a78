"""A job in words: what is given, follows, is assumed, contradicts or is missing."""

from __future__ import annotations

from boxlab.base.cautions import words
from boxlab.base.quantities import UNITS, digits
from boxlab.gear import job_assumed, job_follows
from boxlab.gear.job import Job
from boxlab.gear.job_crosscheck import tuning_apart
from boxlab.gear.job_keys import KEYS

HEADINGS = (
    ("given", "Given"),
    ("measured", "Measured"),
    ("follows", "Follows"),
    ("assumed", "Assumed"),
)
# how each kind of quantity is shown: (unit, its size in SI)
_SHOWN = {
    "length": ("mm", 1e-3), "area": ("cm²", 1e-4), "volume": ("L", 1e-3), "mass": ("g", 1e-3),
    "inductance": ("mH", 1e-3), "compliance": ("mm/N", 1e-3),
}  # fmt: skip


def shown(name: str, value: object) -> str:
    """A value in the unit that people use for it; `name` is "section.key"."""
    if isinstance(value, str):
        return value
    section, _, key = name.partition(".")
    kind = KEYS.get(section, {}).get(key, "power" if section == "amplifier" else "number")
    if isinstance(value, list):
        return ", ".join(shown(name, each) for each in value)
    if key == "altitude":
        return f"{digits(float(value))} m"
    if key == "size":
        return f"{digits(value)} in"
    if kind in ("number", "count", "text"):
        return digits(float(value))
    unit, size = _SHOWN.get(kind, (UNITS[kind][0].symbol, UNITS[kind][0].size))
    return f"{digits(float(value) / size)} {unit}"


def typed(job: Job, name: str) -> str:
    """What was typed of a figure that a measurement goes before, " (given: 3.7 Ω)", or ""."""
    section, _, key = name.partition(".")
    given = job.tables.get(section, {}).get(key)
    return "" if given is None else f" (given: {shown(name, given)})"


def _more(job, how):
    """(name, value) of what is no figure of driver, radiator or box, but follows or is assumed."""
    if how == "follows":
        return job_follows.rows(job)
    if how != "assumed":
        return []
    return [
        (name, f"{value} ({why})" if why else value) for name, value, why in job_assumed.rows(job)
    ]


def lines(job: Job) -> list[str]:
    """What a job says, by how it is known, and what stops it from being used."""
    out = [job.name]
    known = {name: each for name, each in job.known.items() if not name.endswith(".name")}
    for how, heading in HEADINGS:
        rows = [(name, each) for name, each in known.items() if each.how == how]
        more = _more(job, how)
        if rows or more:
            out += ["", f"{heading}:"]
        for name, each in rows:
            line = f"  {name} = {shown(name, each.value)}"
            if how == "measured":
                line = f"  {name} = {each.why}{typed(job, name)}"
            elif each.high != each.low:
                line += f", {shown(name, each.low)} to {shown(name, each.high)}"
            out.append(line + (f" ({each.why})" if each.why and how != "measured" else ""))
        out += [f"  {name} = {value}" for name, value in more]
    contradicting = [
        str(wrong)
        for section, data in (("driver", "driver_data"), ("radiator", "radiator_data"))
        if section in job.tables
        for wrong in getattr(job, data).contradictions
    ]
    if contradicting:
        out += ["", "Contradicts:", *(f"  {each}" for each in contradicting)]
    if apart := tuning_apart(job):
        out += ["", apart]
    if job.too_low:
        out += ["", "Not safe:", f"  {job.too_low}", *(f"  {c}" for c in words("low load"))]
    if job.problems:
        out += ["", "Cannot be used yet:", *(f"  {each}" for each in job.problems)]
    return out
