"""What is typed beside a measurement, as keys of its entry in the job file. Nothing is dropped."""

from __future__ import annotations

from pathlib import Path

from boxlab.base.quantities import digits
from boxlab.base.typed_values import UnreadableError, read
from boxlab.gear.job import Job
from boxlab.gear.job_keys import NEAR, RISING, JobError
from boxlab.gear.job_recordings import RECORDINGS, told_of
from boxlab.gear.measured_text import grams

# what was measured: (key, whether it has to be said, whether there may be one for each radiator)
_GOES_WITH = {
    "added mass": ("added_mass", True, False),
    "closed test box": ("test_volume", True, False),
    "as found": ("added_mass", False, True),
    "after": ("added_mass", False, True),
}
_KEYS = {"mass": "added_mass", "volume": "test_volume", "resistance": "resistor"}


def row_of(name: str, what: str, extra: str) -> dict[str, object]:
    """The entry of a file without its name; `extra` is what was typed with it: "60 g, 10 ohm".

    Raises
    ------
    JobError
        If something that it needs was not typed, or something typed does not go with it.
    """
    key, needed, several = _GOES_WITH.get(what, ("", False, False))
    recording = Path(name).suffix.lower() in RECORDINGS and what not in NEAR
    wanted = [key] * needed + ["resistor"] * recording
    offered = {key, *wanted} - {""}
    found: dict[str, list[str]] = {}
    for part in filter(None, (each.strip() for each in extra.replace(";", ",").split(","))):
        found.setdefault(_key_of(part, what, offered), []).append(part)
    missing = [each for each in wanted if each not in found]
    if missing:
        said = " and ".join(each.replace("_", " ") for each in missing)
        both = ", with a comma between the two" if len(wanted) > 1 else ""
        raise JobError(f"Say its {said} beside it, with the unit{both}; then drop it again.")
    many = [each for each, parts in found.items() if len(parts) > 1 and not several]
    if many:
        raise JobError(f"Say one {many[0].replace('_', ' ')}, not {', '.join(found[many[0]])}.")
    return {"what": what} | {
        each: parts[0] if len(parts) == 1 else parts for each, parts in found.items()
    }


def _key_of(part, what, offered):
    """The key of one typed quantity, by its unit."""
    try:
        unit = read(part).unit
    except UnreadableError as error:
        raise JobError(f"{part}: {error}") from None
    if unit is None:
        raise JobError(f"{part}: write its unit, such as 60 g, 30 L or 10 ohm.")
    key = _KEYS.get(unit.kind)
    if key not in offered:
        takes = " or ".join(sorted(each.replace("_", " ") for each in offered)) or "nothing"
        raise JobError(
            f"{part} goes with no measurement of “{what}”: that takes {takes} beside it."
        )
    return key


def as_read(job: Job, file: str) -> tuple[bool, str]:
    """Whether a file that was put beside its job can be used, and how it reads, or why not.

    It stays listed in either case.
    """
    row = next(each for each in job.measurements if each.get("file") == file)
    if row["what"] in (RISING, *NEAR):
        return True, ""
    try:
        sweep, said = told_of(row, job.path.parent)
    except (ValueError, OSError) as error:
        return False, (
            f"\nIt cannot be used: {error}\nIt is kept, and the others are measured without it. "
            "Take its lines out of the file above, or drop another in its place."
        )
    low, high = sweep.frequency[0], sweep.frequency[-1]
    least, most = sweep.magnitude.min(), sweep.magnitude.max()
    words = (
        f"{len(sweep)} points, {digits(low)} to {digits(high)} Hz, {least:.3g} to {most:.3g} ohm"
    )
    phase = "" if sweep.phase is None else ", with phase"
    told = [f"\nIt reads: {words}{phase}.", *(f"Careful: {each}" for each in said)]
    return True, "\n".join(told)


def other_weights(job: Job) -> str:
    """Where the weights of the last sweep are not those that its job says, in a line of words."""
    row = job.measurements[-1]
    then, now = row.get("added_mass"), job.tables.get("radiator", {}).get("added_mass")
    if row["what"] not in ("as found", "after") or None in (then, now) or then == now:
        return ""
    return (
        f"\nIt had {grams(then)} on each radiator, and [radiator] says {grams(now)}: what is "
        "computed stands on the latter. Write there what is on now."
    )
