"""What follows of a job's box from as little as it says: three figures, or the sizes of a vent."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

import numpy as np

from boxlab.gear.job import Job
from boxlab.gear.job_parts import shares_of
from boxlab.model.enclosure import PortedBox, SealedBox
from boxlab.model.passband import passband

_PLACES = {"Hz": 1, "mm": 0, "": 2}


def rows(job: Job) -> list[tuple[str, str]]:
    """(name, value with its unit and range) of what follows for the box; none where nothing does.

    Parameters
    ----------
    job : boxlab.Job, which need not say enough for a model of its driver
    """
    found = []
    for name, unit, sum_of in _sums(job):
        values = [each for j in (job, *varied(job)) if (each := _value(sum_of, j)) is not None]
        if not values or _value(sum_of, job) is None:
            continue
        places = _PLACES[unit]
        told, low, high = (f"{x:.{places}f}" for x in (values[0], min(values), max(values)))
        span = f", {low} to {high}" if low != high else ""
        found.append((name, f"{told}{span} {unit}".strip()))
    return found


def varied(job: Job) -> tuple[Job, ...]:
    """The job with what is assumed at its ends, and with a port's ends at their least and most."""
    table = job.tables.get("box", {})
    if table.get("kind") != "ported" or "port_length" not in table:
        return job.variants
    return tuple(
        replace(each, changes={**each.changes, "box.ends": ends})
        for each in (job, *job.variants) for ends in (0.0, 1.0)
    )  # fmt: skip


def _sums(job) -> list[tuple[str, str, Callable[[Job], float]]]:
    table = job.tables.get("box", {})
    if table.get("kind") == "sealed":
        return [
            ("resonance in the box, fc", "Hz", lambda j: _sealed(j)[0]),
            ("Qtc", "", lambda j: _sealed(j)[1]),
            ("3 dB down at, f3", "Hz", lambda j: minus_three(*_sealed(j))),
        ]
    found = []
    if table.get("kind") == "radiator" or "port_length" in table:
        found.append(("tuning, fb", "Hz", lambda j: j.box.tuning()))
    elif table.get("kind") == "ported":
        found.append(("length of the port", "mm", lambda j: 1e3 * _port(j.box).length))
    return [*found, ("3 dB down at, f3", "Hz", lambda j: passband(j.system, j.box).f3)]


def _value(sum_of, job):
    """The sum, or None where the job does not say enough for it."""
    try:
        value = float(sum_of(job))
    except (ValueError, KeyError, TypeError):
        return None
    return value if np.isfinite(value) else None


def _port(box):
    return box.port if isinstance(box, PortedBox) else None


def _sealed(job):
    """fc in Hz and Qtc of all drivers on the air of a sealed box (Small, Closed-box systems I)."""
    box, known = job.box, job.driver_data.known
    if not isinstance(box, SealedBox):
        raise ValueError("the box is not sealed")
    _, air = shares_of(job.tables.get("driver", {}))
    rise = math.sqrt(1 + air * known["vas"].value / float(box.volume))
    return known["fs"].value * rise, known["qts"].value * rise


def minus_three(fc: float, q: float) -> float:
    """Where a sealed box of this fc, Hz, and Qtc is 3 dB down, Hz (Small, the same).

    >>> round(minus_three(50.0, 0.5**0.5), 3)
    50.0
    """
    a = 1 / q**2 - 2
    return fc * math.sqrt((a + math.sqrt(a**2 + 4)) / 2)
