"""What the sheet and the questions take where a job does not say: one list of it.

What completes a driver or radiator is in `Job.known`; here is the rest, of supply, cable and board.
"""

from __future__ import annotations

from boxlab.car.ampacity import AMBIENT, INSULATION
from boxlab.gear.job import Job
from boxlab.gear.job_cable import DROP, LIES, feed_of

BOARD = 0.018  # m, where a job names no board


def rows(job: Job) -> list[tuple[str, str, str]]:
    """(key, what is taken, why or what it does) of each, in the order of the file.

    Only of what this job is asked about: without an amplifier there is no cable, and without a gap
    no board.
    """
    found = []
    for part in (_electric, _board):
        try:
            found += part(job)
        except ValueError:  # what cannot be used is said among the problems
            continue
    return found


def _electric(job):
    feed = feed_of(job)
    if feed is None:
        return []
    found, table = [], job.tables.get("amplifier", {})
    if "supply" in job.tables:
        if "rated_at" not in table:
            found.append(("amplifier.rated_at", f"{job.amplifier.rated_at:g} V", ""))
        if "regulated" not in table:
            both = "rails that follow the supply and rails that are held: both are worked out"
            found.append(("amplifier.regulated", "yes or no", both))
    if "efficiency" not in feed.told:
        found.append(("amplifier.efficiency", f"{feed.efficiency:g}", ""))
    if "voltage" not in feed.told:
        found.append(("supply.voltage", f"{feed.open:g} V", "at the amplifier, while it plays"))
    if "length" not in job.tables.get("cable", {}):
        return found
    if "laid" not in feed.told:
        found.append(("cable.laid", feed.laid, "; ".join(LIES)))
    heat = f"{INSULATION:g} °C insulation where it is {AMBIENT:g} °C; {DROP:g} V may be lost in it"
    return [*found, ("the cable itself", "plain copper", heat)]


def _board(job):
    if job.gap is None:
        return []
    found = []
    if "board" not in job.tables.get("box", {}):
        found.append(("box.board", f"{1e3 * BOARD:g} mm", ""))
    slack = f"{1e3 * job.gap.slack:g} mm"
    found.append(("kept free round the box", slack, "for carpet and fastenings"))
    for section in ("driver", "radiator"):
        table = job.tables.get(section)
        lacks = [each for each in ("frame", "cutout", "depth") if each not in (table or {})]
        if table and lacks:
            names = ", ".join(f"{section}.{each}" for each in lacks)
            found.append((names, "by its size", "measure before you cut"))
    return found
