"""What the measurements of a job tell, and nothing that they do not.

Each file is read; what can be fitted is fitted, the driver first. Nothing of ours stands in for a
value of the person's own: where a sweep cannot tell, the result says which measurement would.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from pathlib import Path
from types import MappingProxyType

import numpy as np

from boxlab.gear.box_measured import Heard, box_of
from boxlab.gear.job import Job
from boxlab.gear.job_crosscheck import changed, tuning_apart
from boxlab.gear.job_keys import RISING, parse
from boxlab.gear.job_recordings import louder, sweeps_of
from boxlab.gear.measured_text import text
from boxlab.measure import find_tuning, fit_driver
from boxlab.measure.fit import faults
from boxlab.measure.fit.estimate import Estimate
from boxlab.model.relations import COIL

DRIVER_ROWS = ("re", "fs", "qms", "qes", "qts", "mms", "cms", "bl", "vas")


@dataclass(frozen=True)
class Measured:
    """What came out: `faults` to be said first, values by section, what is missing, and remarks."""

    faults: tuple[str, ...] = ()
    values: dict[str, dict[str, Estimate]] = field(default_factory=dict)
    missing: tuple[str, ...] = ()
    words: tuple[str, ...] = ()
    refused: tuple[str, ...] = ()  # sections whose mass from an earlier measurement goes, too
    unread: tuple[str, ...] = ()  # files that cannot be read, and why; the others are measured

    def lines(self) -> list[str]:
        """All of it as lines of text: faults first, then what to be careful of."""
        heed = [words for words in self.words if words.startswith("Careful")]
        out = [f"FIRST: {fault}" for fault in self.faults]
        out += [f"Left out: {words}" for words in self.unread] + heed
        for section, values in self.values.items():
            out += [f"{section}.{n}: {text(n, v)}" for n, v in values.items()]
        rest = [words for words in self.words if words not in heed]
        return out + rest + [f"Missing: {words}" for words in self.missing]

    def changes(self) -> dict[str, dict[str, str | None]]:
        """What `job_file.change` takes to put the values into the file, marked as measured."""
        out: dict[str, dict[str, str | None]] = {
            f"measured.{section}": {name: text(name, value) for name, value in values.items()}
            for section, values in self.values.items()
            if values
        }
        for section in self.refused:
            if "mms" not in self.values.get(section, {}):
                out.setdefault(f"measured.{section}", {}).update(mms=None, cms=None)
        return out

    def into(self, job: Job) -> Job:
        """The job with these values in it, marked as measured; the file stays as it is."""
        tables = {
            section.partition(".")[2]: {n: v for n, v in values.items() if v is not None}
            for section, values in self.changes().items()
        }
        return replace(job, tables=MappingProxyType(dict(job.tables) | parse({"measured": tables})))


def measure(job: Job, folder=None) -> Measured:
    """Read the measurements of a job and fit what they tell.

    Parameters
    ----------
    job : Job
    folder : where the files lie; beside the job file if left out

    A file that cannot be read is left out, and `unread` says why.
    """
    folder = Path(folder) if folder else (job.path.parent if job.path else Path())
    files = sweeps_of(job.measurements, folder, job.tables.get("radiator", {}).get("added_mass"))
    sweeps, read = files.sweeps, files.words
    rising = louder([row for row in job.measurements if row.get("what") == RISING], folder)
    unread = (*files.unread, *rising.get("unread", ()))
    asked = unanswered(job)
    if not sweeps:
        if job.measurements:
            return Measured(
                words=(*read, *rising.get("words", ())),
                missing=(*asked, *rising.get("missing", ())),
                unread=unread,
            )
        none = "no [[measurement]] is listed: give file and what for each."
        return Measured(missing=(*asked, none))
    driver, told = _driver(job, sweeps)
    first, words = list(told.pop("first", ())), list(told.pop("words", ()))
    missing = [*asked, *told.pop("missing", ())]
    words = [*read, *words, *rising.get("words", ())]
    missing += rising.get("missing", ())
    found = {"driver": driver} if driver and not first else {}
    fitted = None if first else told.get("fit")
    heard = Heard(found, first, words, missing)
    for what in ("as found", "after"):
        if what in sweeps:
            box_of(job, what, sweeps, fitted, heard)
    before, after = (
        {n: (float(v), v.u) for n, v in found.get(name, {}).items()} for name in ("box", "after")
    )
    words += changed(before, after, lambda name, *value: text(name, Estimate(*value)))
    told = Measured(
        tuple(dict.fromkeys(first)), found, tuple(dict.fromkeys(missing)), tuple(words),
        tuple(heard.refused), unread,
    )  # fmt: skip
    apart = "" if first else tuning_apart(told.into(job))
    return replace(told, words=(*told.words, apart)) if apart else told


def unanswered(job: Job) -> tuple[str, ...]:
    """What to ask of a box before anything is fitted, and is not answered yet: (key, question)."""
    driver, box = job.tables.get("driver", {}), job.tables.get("box", {})
    asked = []
    if "coils" not in driver:
        asked.append("coils under [driver]: how many voice coils has each driver?")
    elif driver["coils"] > 1 and "coil_wiring" not in driver:
        asked.append(
            "coil_wiring under [driver]: how are its coils joined now? parallel, series, one alone."
        )
    if job.count > 1 and "wiring" not in driver:
        asked.append("wiring under [driver]: are the drivers in parallel or in series?")
    if "kind" not in box:
        asked.append("kind under [box]: is it sealed, ported or with radiators?")
    elif box["kind"] == "radiator" and "count" not in job.tables.get("radiator", {}):
        asked.append("count under [radiator]: how many radiators has the box?")
    return tuple(asked)


def _against_the_meter(fit, given):
    """Where the ohms that were typed are not those of the sweep, and what that does to the Qs."""
    apart = faults.apart(float(fit.re), given, fit.re.u)
    if not apart:
        return []
    qes = float(fit.qes) * given / float(fit.re)
    qts = qes * fit.qms / (qes + fit.qms)
    return [
        f"The sweep makes the coil {fit.re:.3g} ohm, and re, as a meter reads it, is {given:.3g} "
        f"ohm: {apart}. Where {given:.3g} ohm holds, and the rest is in the leads, Qes is "
        f"{qes:.3f} and Qts {qts:.3f}. Measure again before you trust either."
    ]


def _against_free_air(fit, sweeps):
    """Other sweeps of this driver alone whose coil has not the ohms that it has in free air."""
    alone = {}
    for what in ("free air", "added mass", "closed test box"):
        if what in sweeps:
            sweep = sweeps[what][0]
            alone[what] = faults.resistance_of(sweep, find_tuning(sweep).fit)
    free = alone.pop("free air")
    return [
        f"{what}: the coil has {ohms:.3g} ohm here against {free:.3g} ohm in free air: {apart}. "
        "Mass, Bl and Vas hang on both being alike: sweep again."
        for what, ohms in alone.items()
        if (apart := faults.apart(ohms, free))
    ]


def _sd(job):
    """Cone area of the job, m², or None; an assumed one is not used in a fit."""
    known = job.driver_data.known.get("sd")
    return known.value if known is not None and known.how in ("given", "measured") else None


def _driver(job, sweeps):
    if "free air" not in sweeps:
        need = "a sweep of the driver in free air, and one with added mass or in a closed test box."
        return {}, {"missing": (need,)}
    second, missing, words = {}, [], []
    if "added mass" in sweeps:
        sweep, row = sweeps["added mass"]
        if row.get("added_mass"):
            second["added_mass"] = (sweep, row["added_mass"])
        else:
            missing.append("added_mass of the sweep with added mass: weigh it.")
    if "closed test box" in sweeps:
        sweep, row = sweeps["closed test box"]
        if row.get("test_volume") and _sd(job):
            second["known_volume"] = (sweep, row["test_volume"])
        else:
            missing.append("test_volume, and sd of the driver, for the sweep in the test box.")
    try:
        fit = fit_driver(sweeps["free air"][0], _sd(job), **second)
    except ValueError as error:
        return {}, {"missing": (*missing, f"the driver could not be fitted: {error}")}
    rows = {n: getattr(fit, n) for n in DRIVER_ROWS + COIL}
    known = {n: v for n, v in rows.items() if np.isfinite(v) and np.isfinite(v.u) and v > 0}
    given = job.tables.get("driver", {}).get("re")
    fault = faults.coil_fault(float(fit.re), given) if given else ""
    if "mms" not in known:
        missing.append(
            "the mass on the cone: free air alone tells fs and the Qs. Sweep again with a known "
            "mass on it, or in a closed test box of known volume."
        )
    elif "vas" not in known:
        missing.append("sd of the driver: Vas needs the area.")
    first = (f"free air: {fault}",) if fault else ()
    if given and not fault:
        words += _against_the_meter(fit, given)
    words += _against_free_air(fit, sweeps)
    return known, {"fit": fit, "missing": missing, "words": words, "first": first}
