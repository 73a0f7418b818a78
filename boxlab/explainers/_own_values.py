"""Where the sliders and choices of an explainer start on somebody's own box."""

from __future__ import annotations

import math

import numpy as np

from boxlab.base import units
from boxlab.explainers import _own_asked, _own_chain
from boxlab.explainers._music import rated
from boxlab.gear import shelf
from boxlab.gear.job import Job
from boxlab.model.enclosure import PortedBox, RadiatorBox
from boxlab.model.losses import vent_q

_SIZES = (
    ("port", "port_diameter"), ("diameter", "port_diameter"), ("slot", "slot_height"),
    ("flare", "port_flare"), ("board", "board"),
)  # fmt: skip


def values(job: Job) -> dict[str, float]:
    """Starting values that a job gives to sliders, by the slider's name and unit."""
    found: dict[tuple[str, str], float] = {}
    box, gap = or_none(job, "box"), or_none(job, "gap")
    if box is not None:
        found["volume", "L"] = units.to_litres(box.volume)
        if np.isfinite(box.tuning()):
            found["fb", "Hz"] = float(box.tuning())
            found["ql", ""] = float(box.ql)
        if isinstance(box, PortedBox | RadiatorBox):  # as far as a slider goes: 200 is hardly any
            found |= {("qa", ""): float(box.qa)} if box.qa <= 200 else {}
            found |= {("qp", ""): float(vent_q(box))} if vent_q(box) <= 200 else {}
        if isinstance(box, RadiatorBox):
            found["qr", ""] = float(f"{vent_q(box):.3g}")
    if gap is not None:
        found["bracket", "mm"] = 0.0  # nothing is known to stand in it
        found["across", "mm"] = 0.0  # or where the driver is meant to be
        sizes = (gap.width, gap.height, gap.depth_bottom, gap.depth_top)
        for name, size in zip(("width", "height", "bottom", "top"), sizes, strict=True):
            if size is not None:
                found[name, "mm"] = units.to_mm(size)
    radiator = or_none(job, "radiator") if job.radiators else None
    if radiator is not None:
        found["softness", "mm/N"] = units.to_mm_per_newton(radiator.cms)
        found["weights", "g"] = units.to_grams(radiator.added_mass)
        found["fitted", "g"] = units.to_grams(max(job.weights))
        if len(set(job.weights)) > 1:
            found["left", "g"] = units.to_grams(min(job.weights))
        found["friction", "N s/m"] = float(radiator.rms)
        if np.isfinite(radiator.xmax):
            found["travel", "mm"] = units.to_mm(radiator.xmax)
    elif or_none(job, "driver") is not None:  # that of the one that is assumed then
        found["softness", "mm/N"] = units.to_mm_per_newton(shelf.bare_radiator(job).cms)
    driver = or_none(job, "driver")
    if driver is not None:
        found["le", "mH"] = units.to_mh(driver.le)
        if np.isfinite(driver.pe):
            found["pe", "W"] = float(driver.pe)
    table = job.tables.get("box", {})
    if "weight" in table:
        found["weight", "kg"] = table["weight"]
    for name, key in _SIZES:
        if key in table:
            found[name, "mm"] = units.to_mm(table[key])
    for name, size in job.tables.get("cabin", {}).items():
        found[name, "m"] = size
    if "slot_width" in table and "slot_height" in table:
        area = table["slot_width"] * table["slot_height"]
        found["diameter", "mm"] = units.to_mm(units.disc_diameter(area))
    for name, unit in (("temperature", "°C"), ("altitude", "m")):
        if name in job.tables.get("air", {}):
            found[name, unit] = job.tables["air"][name]
    cable = job.tables.get("cable", {})
    found |= {("length", "m"): cable["length"]} if "length" in cable else {}
    if job.amplifier is not None:
        load = or_none(job, "load")
        power = rated(job, load)
        for name in ("amplifier", "power", "rating"):
            found[name, "W"] = power
        if load is not None:
            found["drive", "V"] = math.sqrt(power * load)
        if max(job.amplifier.minimum, min(job.amplifier.ratings)) <= 4:
            found["watts", "W"] = job.amplifier.power(4.0)
    found["drivers", ""] = float(job.count)
    return found | _own_chain.values(job)


def notes(item, job: Job) -> tuple[str, ...]:
    """What the settings of this question take for granted that the job does not say."""
    names = {control.name for control in item.controls}
    driver, told = job.tables.get("driver", {}), []
    if "coil" in names and driver.get("coils", 1) > 1 and "coil_wiring" not in driver:
        told.append("The job does not say how its coils are joined: taken as in parallel.")
    if "coil" in names and "coils" not in driver:
        told.append("The job does not say how many coils its driver has: taken as one.")
    if "weight" in names and "weight" not in job.tables.get("box", {}):
        told.append("The job does not say what the box weighs: what is set is a guess.")
    if ({"bottom", "top"} <= names or "gap" in names) and job.gap is None:
        told.append("The job has no gap: that of the lesson is shown.")
    return (*told, *_own_asked.notes(item, job))


def choices(job: Job) -> dict[str, str]:
    """Options that a job gives to choices, by the choice's name."""
    found = {} if or_none(job, "gap") is None else {"gap": shelf.OWN}
    if job.radiators:
        found["count"] = {n: word for word, n in shelf.COUNTS.items()}.get(job.radiators, "")
    kind = job.tables.get("box", {}).get("kind", "")
    found["build"] = kind
    found["shape"] = _port_shape(job.tables.get("box", {}))
    coils = job.tables.get("driver", {}).get("coils", 1)
    found["coils"] = {n: word for word, n in shelf.COUNTS.items()}.get(coils, "")
    for name in ("coil", "load"):
        ohms = or_none(job, name)
        found[name] = "" if ohms is None else f"{ohms:.4g} Ω"
    return found | _own_chain.choices(job)


def _port_shape(table):
    """The kind of port of `slot_or_tube` that a job has, or ""."""
    if "slot_height" in table:
        return ("slot", "slot on a wall", "slot on a wall", "slot as wide as the box")[
            min(table.get("port_walls", 0), 3)
        ]
    tube = "round tube" if "port_diameter" in table else ""
    return "flared tube" if "port_flare" in table else tube


def or_none(job, name):
    """What the job has under that name, or None where it does not say enough."""
    try:
        return getattr(job, name)
    except ValueError:
        return None
