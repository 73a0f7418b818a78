"""What the measurements of a job tell, and nothing that they do not.

Each file is read; what can be fitted is fitted, the driver first. Nothing of ours stands in for a
value of the person's own: where a sweep cannot tell, the result says which measurement would.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from pathlib import Path
from types import MappingProxyType

import numpy as np

from boxlab.gear.job import Job
from boxlab.gear.job_keys import RISING, parse
from boxlab.gear.job_parts import shares_of
from boxlab.gear.job_recordings import louder, sweeps_of
from boxlab.measure import find_tuning, fit_box, fit_driver
from boxlab.measure.fit import faults
from boxlab.measure.fit.estimate import Estimate
from boxlab.model.relations import COIL

# figure -> (unit to write, its size in SI)
UNITS = {
    "re": ("ohm", 1.0), "fs": ("Hz", 1.0), "qms": ("", 1.0), "qes": ("", 1.0), "qts": ("", 1.0),
    "mms": ("g", 1e-3), "cms": ("mm/N", 1e-3), "rms": ("N s/m", 1.0), "bl": ("T m", 1.0),
    "vas": ("L", 1e-3), "fb": ("Hz", 1.0), "volume": ("L", 1e-3), "ql": ("", 1.0),
    "qa": ("", 1.0), "qp": ("", 1.0),
    "fp": ("Hz", 1.0), "le": ("mH", 1e-3), "semi_k": ("", 1.0), "semi_n": ("", 1.0),
    "l2": ("mH", 1e-3), "r2": ("ohm", 1.0),
}  # fmt: skip
DRIVER_ROWS = ("re", "fs", "qms", "qes", "qts", "mms", "cms", "bl", "vas")


@dataclass(frozen=True)
class Measured:
    """What came out: `faults` to be said first, values by section, what is missing, and remarks."""

    faults: tuple[str, ...] = ()
    values: dict[str, dict[str, Estimate]] = field(default_factory=dict)
    missing: tuple[str, ...] = ()
    words: tuple[str, ...] = ()

    def lines(self) -> list[str]:
        """All of it as lines of text, faults first."""
        out = [f"FIRST: {fault}" for fault in self.faults]
        for section, values in self.values.items():
            out += [f"{section}.{n}: {text(n, v)}" for n, v in values.items()]
        return out + list(self.words) + [f"Missing: {words}" for words in self.missing]

    def changes(self) -> dict[str, dict[str, str]]:
        """What `job_file.change` takes to put the values into the file, marked as measured."""
        return {
            f"measured.{section}": {name: text(name, value) for name, value in values.items()}
            for section, values in self.values.items()
            if values
        }

    def into(self, job: Job) -> Job:
        """The job with these values in it, marked as measured; the file stays as it is."""
        tables = {s.partition(".")[2]: values for s, values in self.changes().items()}
        return replace(job, tables=MappingProxyType(dict(job.tables) | parse({"measured": tables})))


def text(name: str, value: Estimate) -> str:
    """A measured value as it stands in a job file: "31.20 ± 0.05 Hz"."""
    unit, size = UNITS[name]
    centre, u = float(value) / size, float(value.u) / size
    digits = min(6, max(0, 1 - int(np.floor(np.log10(u))))) if u > 0 else 3
    return f"{centre:.{digits}f} ± {u:.{digits}f} {unit}".rstrip()


def measure(job: Job, folder=None) -> Measured:
    """Read the measurements of a job and fit what they tell.

    Parameters
    ----------
    job : Job
    folder : where the files lie; beside the job file if left out

    Raises
    ------
    JobError
        If a file cannot be read, or is listed without what it is.
    """
    folder = Path(folder) if folder else (job.path.parent if job.path else Path())
    sweeps, read = sweeps_of(job.measurements, folder)
    rising = louder([row for row in job.measurements if row["what"] == RISING], folder)
    asked = unanswered(job)
    if not sweeps:
        if job.measurements:
            return Measured(
                words=(*read, *rising.get("words", ())),
                missing=(*asked, *rising.get("missing", ())),
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
    for what in ("as found", "after"):
        if what in sweeps:
            _box(job, what, sweeps, fitted, found, first, words, missing)
    _changed(found, words)
    return Measured(tuple(dict.fromkeys(first)), found, tuple(dict.fromkeys(missing)), tuple(words))


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
    return known, {"fit": fit, "missing": missing, "words": words, "first": first}


def _box(job, what, sweeps, driver, found, first, words, missing):
    """Fit one sweep of the box; the tuning alone where the driver is not known."""
    sweep = sweeps[what][0]
    section = "box" if what == "as found" or "box" not in found else "after"
    tuning = find_tuning(sweep)
    ohms, air = shares_of(job.tables.get("driver", {}))  # a box's sweep is of all its drivers
    if driver is not None:
        driver = driver.times(ohms, air)
    known = None if driver is None else driver.re
    if known is None and job.driver_data.known.get("re"):
        known = ohms * job.driver_data.known["re"].value
    measured = faults.resistance_of(sweep, tuning.fit)
    fault = "" if known is None else faults.coil_fault(measured, known)
    if not fault and known is not None and not tuning.peaks:
        fault = faults.opposed(measured, known)
    if fault:
        first.append(f"{what}: {fault}")
        return
    if not tuning.peaks:
        words.append(f"{what}: {tuning.words[0]}")
        return
    values = found.setdefault(section, {})
    if tuning.peaks == 2:
        values["fb"] = tuning.fb
    kind = job.tables.get("box", {}).get("kind")
    if driver is None:
        missing.append(
            f"{what}: the driver's own sweeps. Without them the tuning is all that this one tells."
        )
        return
    if kind is None:
        missing.append("kind of the box: sealed, ported or radiator.")
        return
    given = {}
    if kind == "radiator":
        area = job.radiator_data.known.get("sd") if job.radiators else None
        if area is None or area.how == "assumed" or "count" not in job.tables["radiator"]:
            missing.append("count and sd of the radiators: their mass hangs on both.")
        else:
            given = {"radiator_area": area.value, "count": job.radiators}
    if not np.isfinite(driver.vas):
        missing.append(
            f"{what}: the volume needs Vas, so the area and a second sweep of the driver."
        )
    if "radiators blocked" in sweeps:
        given["blocked"] = sweeps["radiators blocked"][0]
    try:
        fit = fit_box(sweep, driver, build=kind, **given)
    except ValueError as error:
        words.append(f"{what}: the box could not be fitted: {error}")
        return
    for name in ("fb", "volume", "ql"):
        value = getattr(fit, name)
        if np.isfinite(value) and np.isfinite(value.u) and value.identifiable:
            values[name] = value
    if fit.losses:
        words += [f"{what}: {told}" for told in fit.losses.words]
        lost = dict(fit.lost)
        if "rms" in lost:
            found.setdefault("radiator", {})["rms"] = lost.pop("rms")
        values |= lost
    if kind == "radiator" and given and fit.radiator_mass.identifiable:
        words.append(f"{what}: each radiator moves {fit.radiator_mass.scaled(1e3, 'g')}.")
        _bare(job, what, sweeps[what][1], fit, found, words)
    _weight(job, tuning, first)


def _bare(job, what, row, fit, found, words):
    """The radiator without its weights, where nobody gave its mass and all carry the same."""
    table = job.tables["radiator"]
    if "mms" in table or len(set(job.weights)) > 1:
        return
    weights = row.get("added_mass", table.get("added_mass"))
    if weights is None:
        words.append(
            f'{what}: say added_mass under [radiator], "0 g" for none, and the mass of the bare '
            "radiator follows."
        )
        return
    mass = fit.radiator_mass - (weights[0] if isinstance(weights, list) else weights)
    if mass <= 0:
        return
    values = found.setdefault("radiator", {})
    if "mms" not in values:  # as found goes before after
        values["mms"] = Estimate(mass, fit.radiator_mass.u, "kg")
        if fit.radiator_cms.identifiable:
            values["cms"] = fit.radiator_cms


def _weight(job, tuning, first):
    """Whether the tuning looks as if one radiator had no weights."""
    try:
        box, radiator = job.box, job.radiator
    except ValueError:
        return
    if tuning.peaks == 2 and job.radiators > 1:
        told = faults.missing_weight(
            float(tuning.fb), float(box.tuning()), float(radiator.moving_mass),
            float(radiator.added_mass), job.radiators,
        )  # fmt: skip
        if told:
            first.append(told)


def _changed(found, words):
    """As found against after, in plain words."""
    before, after = found.get("box", {}), found.get("after", {})
    for name, label in (("fb", "tuning"), ("volume", "net volume"), ("ql", "QL")):
        if name in before and name in after:
            a, b = before[name], after[name]
            both = np.hypot(a.u, b.u)
            same = abs(b - a) < 2 * both
            told = "has not changed" if same else f"went from {text(name, a)} to {text(name, b)}"
            words.append(f"The {label} {told}.")
