"""What the sweeps of a job's box tell: tuning, volume, losses, and the mass of its radiators.

A radiator's own mass is what moves less the weights that were on it in that sweep. Those stand with
the sweep; those under [radiator] are what it carries now, and are taken only where nothing else can
be meant, which is said.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace
from types import MappingProxyType

import numpy as np

from boxlab.gear.job import Job
from boxlab.gear.job_parts import shares_of
from boxlab.gear.measured_text import grams
from boxlab.measure import find_tuning, fit_box
from boxlab.measure.fit import faults
from boxlab.measure.fit.estimate import Estimate
from boxlab.measure.fit.third_peak import third_peak
from boxlab.model.air import Air

# A radiator is lighter than this many times the air that moves with it only by a slip: our own
# bracket, no published source. What is given for its mass holds to within a tenth.
LIGHT, HOLDS = 3.0, 0.1
UNEQUAL = (
    "Weights that differ, such as 150 g on one radiator and 100 g on the other, need not show in a "
    "sweep: weigh what is on each."
)


@dataclass(frozen=True)
class Heard:
    """What the sweeps of a box said so far; each is added to."""

    values: dict[str, dict[str, Estimate]]
    first: list[str]
    words: list[str]
    missing: list[str]
    refused: list[str] = field(default_factory=list)  # sections of which the mass is not told


def box_of(job: Job, what: str, sweeps, driver, heard: Heard) -> None:
    """Fit one sweep of the box; the tuning alone where the driver is not known."""
    sweep = sweeps[what][0]
    section = "box" if what == "as found" or "box" not in heard.values else "after"
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
        heard.first.append(f"{what}: {fault}")
        return
    if not tuning.peaks:
        heard.words.append(f"{what}: {tuning.words[0]}")
        return
    if driver is not None and (apart := faults.apart(measured, float(known), known.u)):
        heard.words.append(
            f"{what}: the coil has {measured:.3g} ohm here against {float(known):.3g} ohm by the "
            f"driver's own sweeps: {apart}. Litres and losses hang on both being alike."
        )
    values = heard.values.setdefault(section, {})
    if tuning.peaks == 2:
        values["fb"] = tuning.fb
    kind = job.tables.get("box", {}).get("kind")
    if driver is None:
        heard.missing.append(
            f"{what}: the driver's own sweeps. Without them the tuning is all that this one tells."
        )
        return
    if kind is None:
        heard.missing.append("kind of the box: sealed, ported or radiator.")
        return
    given = {}
    if kind == "radiator":
        area = job.radiator_data.known.get("sd") if job.radiators else None
        if area is None or area.how == "assumed" or "count" not in job.tables["radiator"]:
            heard.missing.append("count and sd of the radiators: their mass hangs on both.")
        else:
            given = {"radiator_area": area.value, "count": job.radiators}
    if not np.isfinite(driver.vas):
        heard.missing.append(
            f"{what}: the volume needs Vas, so the area and a second sweep of the driver."
        )
    if "radiators blocked" in sweeps:
        given["blocked"] = sweeps["radiators blocked"][0]
    try:
        fit = fit_box(sweep, driver, build=kind, **given)
    except ValueError as error:
        heard.words.append(f"{what}: the box could not be fitted: {error}")
        return
    for name in ("fb", "volume", "ql"):
        value = getattr(fit, name)
        if np.isfinite(value) and np.isfinite(value.u) and value.identifiable:
            values[name] = value
    third = third_peak(sweep, fit.fit) if kind == "radiator" and job.radiators > 1 else np.nan
    if unlike := _unlike(job, what, sweeps, third):
        values.pop("ql", None)
        heard.refused.append("radiator")
        meant = isinstance(_said(job, sweeps[what][1]), list)
        (heard.words if meant else heard.first).append(unlike)
        return
    if fit.losses:
        heard.words.extend(f"{what}: {told}" for told in fit.losses.words)
        lost = dict(fit.lost)
        if "rms" in lost:
            heard.values.setdefault("radiator", {})["rms"] = lost.pop("rms")
        values |= lost
    if kind == "radiator" and "count" in given and fit.radiator_mass.identifiable:
        _moving(job, what, sweeps, fit, heard)
    _lost_weight(job, sweeps[what][1], tuning, heard)


def _moving(job, what, sweeps, fit, heard):
    """What each radiator moves, and the bare one's mass where the weights on it are known."""
    told = f"{what}: each radiator moves {fit.radiator_mass.scaled(1e3, 'g')}"
    heard.words.append(f"{told}{', the mean of all, if they are alike' * (job.radiators > 1)}.")
    if job.radiators > 1 and UNEQUAL not in heard.words:
        heard.words.append(UNEQUAL)
    _bare(job, what, sweeps, fit, heard)


def _said(job, row):
    """The weights on the radiators as said with the sweep or else of the box: kg, a list, None."""
    said = row.get("added_mass", job.tables.get("radiator", {}).get("added_mass"))
    return said[0] if isinstance(said, list) and len(set(said)) == 1 else said


def _unlike(job, what, sweeps, third):
    """Why a sweep tells no mass of a radiator: they do not carry the same; "" if they may."""
    said = _said(job, sweeps[what][1])
    if isinstance(said, list):
        return (
            f"{what}: the radiators carry {grams(said)}, so that no one mass describes them: their "
            "mass is not told. Put the same on each and sweep again."
        )
    if not np.isfinite(third):
        return ""
    return (
        f"{what}: a third peak stands in the sweep, at {third:.1f} Hz. The radiators do not carry "
        "the same, or one of them does not move freely: look for a lost weight. Neither their mass "
        "nor the leak is told."
    )


def _weights(job, what, sweeps, heard):
    """The weights on each radiator in this sweep, kg, or None where that has to be asked."""
    now = _said(job, sweeps[what][1])
    if "added_mass" in sweeps[what][1]:
        return now
    if now is None:
        heard.words.append(
            f'{what}: say added_mass under [radiator], "0 g" for none, and the mass of the bare '
            "radiator follows."
        )
    elif what == "as found" and "after" in sweeps:
        heard.missing.append(
            f"as found: added_mass in its [[measurement]], what each radiator carried then. The "
            f"{grams(now)} under [radiator] may be what it carries after the work."
        )
        return None
    else:
        heard.words.append(
            f"{what}: that each radiator carried {grams(now)} then is taken from [radiator]."
        )
    return now


def _bare(job, what, sweeps, fit, heard):
    """The radiator without its weights, where all carry the same and it can be."""
    weight = _weights(job, what, sweeps, heard)
    if weight is None:
        return
    table, whole = job.tables["radiator"], fit.radiator_mass
    mass = Estimate(whole - weight, whole.u, "kg")
    if wrong := _cannot_be(what, mass, whole, weight, table.get("mms"), _area(job)):
        heard.words.append(wrong)
        heard.refused.append("radiator")
        return
    if "mms" in table:
        return
    values = heard.values.setdefault("radiator", {})
    earlier = values.get("mms")
    if earlier is None:  # as found goes before after
        values["mms"] = mass
        if fit.radiator_cms.identifiable:
            values["cms"] = fit.radiator_cms
    elif abs(earlier - mass) > max(2 * np.hypot(earlier.u, mass.u), HOLDS * earlier):
        heard.words.append(
            f"The bare radiator is not the same twice: as found it comes to "
            f"{earlier.scaled(1e3, 'g')}, after to {mass.scaled(1e3, 'g')}. The weights of one of "
            "the two sweeps are not as said, so its mass is not given."
        )
        heard.refused.append("radiator")
        del values["mms"]
        values.pop("cms", None)


def _area(job):
    return job.radiator_data.known["sd"].value


def _cannot_be(what, mass, whole, weight, given, area):
    """Why this is not the mass of the bare radiator, "" if it may be."""
    moves = f"{what}: each radiator moves {grams(whole)} in all"
    again = "Say in the [[measurement]] what was on each in that sweep."
    if mass <= 0:
        return f"{moves}, less than the weights of {grams(weight)} that are said. {again}"
    # the air on both sides of a disc in a wall: 8/3·ρa³ each (Beranek, Acoustics, 1954; from
    # memory)
    air = 2 * 8 / 3 * Air().density * (area / math.pi) ** 1.5
    if mass < LIGHT * air:
        return (
            f"{moves}; less weights of {grams(weight)} the bare radiator would weigh as little as "
            f"{grams(mass)}, and the air alone that moves with it is {grams(air)}. Other weights "
            f"were on, or their area or number is not as said. {again}"
        )
    if given is not None and abs(mass - given) > max(2 * mass.u, HOLDS * given):
        return (
            f"{moves}; less weights of {grams(weight)} it weighs {mass.scaled(1e3, 'g')}, where "
            f"{grams(given)} is given. The weights, the area or the mass given is not as said."
        )
    return ""


def _lost_weight(job, row, tuning, heard):
    """Whether the tuning looks as if one radiator had no weights."""
    if "added_mass" in row and "radiator" in job.tables:
        table = {**job.tables["radiator"], "added_mass": row["added_mass"]}
        job = replace(job, tables=MappingProxyType({**job.tables, "radiator": table}))
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
            heard.first.append(told)
