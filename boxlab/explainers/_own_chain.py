"""Starting values that a job's filters, supply and amplifier give to an explainer's controls."""

from __future__ import annotations

import numpy as np

from boxlab.gear.job import Job

BELOW = 0.8  # of the tuning: where a high-pass starts where the job says nothing of one


def values(job: Job) -> dict[tuple[str, str], float]:
    """By the slider's name and unit."""
    found = {}
    tuning = _or_none(lambda: float(job.box.tuning()))
    if tuning is not None and np.isfinite(tuning):
        found["high_pass", "Hz"] = float(f"{BELOW * tuning:.2g}")
        found["boost_at", "Hz"] = float(f"{tuning:.2g}")
    filters = job.tables.get("filters", {})
    units = {"high_pass": "Hz", "boost": "dB", "boost_at": "Hz", "boost_q": ""}
    found |= {(name, unit): filters[name] for name, unit in units.items() if name in filters}
    supply = _or_none(lambda: job.supply)
    if supply is not None:
        found["supply", "V"] = float(supply.voltage)
        found["loop", "mΩ"] = 1e3 * float(supply.resistance)
    amplifier = job.tables.get("amplifier", {})
    sizes = {"rated_at": ("V", 1.0), "current": ("A", 1.0), "efficiency": ("%", 100.0)}
    for name, (unit, size) in sizes.items():
        if name in amplifier:
            found[name, unit] = size * amplifier[name]
    return found


def choices(job: Job) -> dict[str, str]:
    """By the choice's name."""
    found = {}
    filters = job.tables.get("filters", {})
    if "high_pass" in filters:
        found["order"] = f"{6 * filters.get('high_pass_order', 2)} dB/octave"
    if job.tables.get("amplifier", {}).get("regulated") == "yes":
        found["rails"] = "are held"
    if "laid" in job.tables.get("cable", {}):
        found["laid"] = job.tables["cable"]["laid"]
    return found


def _or_none(ask):
    try:
        return ask()
    except ValueError:
        return None
