"""How often ±2u holds the true value, for sweeps with troubles. By hand:

.venv/bin/python tests/coverage_table.py [specimens for each row]

The sweeps come from `troubled_sweeps`, which shares nothing with the fit.
"""

from __future__ import annotations

import sys
import time
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parent))

from troubled_sweeps import TROUBLES, specimen

from boxlab.measure import Sweep, find_tuning, fit_box, fit_driver
from boxlab.model.radiator import Radiator

DRIVER = ("re", "fs", "qms", "qes", "qts", "mms", "cms", "bl", "vas")
TUNING = ("fb", "resonance")
BOX = ("fb", "fc", "alpha", "volume", "ql", "fp", "radiator_mass")


def as_sweep(made, name):
    magnitude, phase = made.sweeps[name]
    return Sweep(made.frequency, magnitude, phase)


def driver_of(made, route):
    """The DriverFit of a specimen by "mass" or "volume"."""
    if route == "mass":
        second = {"added_mass": (as_sweep(made, "loaded"), made.added)}
    else:
        second = {"known_volume": (as_sweep(made, "boxed"), made.volume)}
    return fit_driver(as_sweep(made, "free"), made.sd, **second)


def box_of(made, driver):
    given = {}
    if made.radiator:
        r = made.radiator
        given = {"radiator": Radiator(r.area, r.mass, r.cms, r.rms, 0.02), "count": 1}
    return fit_box(as_sweep(made, "box"), driver, build=made.build, **given)


def tuning_of(made, kind):
    """What `find_tuning` makes of one sweep of a specimen, and what is true."""
    name, true = {
        "free": ("free", {"resonance": made.driver["fs"]}),
        "boxed": ("boxed", {"resonance": made.fc}),
    }.get(kind, ("box", {"fb": made.box["fb"]}))
    return find_tuning(as_sweep(made, name)), true


def pulls(fit, true, names):
    """(error/u, u/true) for each quantity that the fit gives with a ±."""
    found = {}
    for name in names:
        value = getattr(fit, name)
        if name in true and np.isfinite(value) and np.isfinite(value.u) and value.u > 0:
            found[name] = ((value - true[name]) / value.u, value.u / true[name])
    return found


def run_tuning(trouble, count, kind):
    """Rows of pulls of `find_tuning` alone; kind is "free", "boxed", "ported" or "radiator"."""
    build = "radiator" if kind == "radiator" else "ported"
    made = (specimen(seed, trouble, build) for seed in range(count))
    return [pulls(*tuning_of(each, kind), TUNING) for each in made]


def run(trouble, count, kind, first=0):
    """Rows of pulls for `count` specimens; kind is "mass", "volume", "ported" or "radiator"."""
    rows = []
    for seed in range(first, first + count):
        made = specimen(seed, trouble, "radiator" if kind == "radiator" else "ported")
        if kind in ("mass", "volume"):
            rows.append(pulls(driver_of(made, kind), made.driver, DRIVER))
        else:
            try:
                fit = box_of(made, driver_of(made, "volume" if trouble == "leak" else "mass"))
            except ValueError as e:
                print(seed, trouble, kind, str(e)[:100])
                continue
            rows.append(pulls(fit, made.box, BOX))
    return rows


def coverage(rows, name):
    """Share inside ±2u, median u in per cent, and how many gave a ±."""
    got = [row[name] for row in rows if name in row]
    if not got:
        return None
    pull, u = np.array(got).T
    return np.mean(np.abs(pull) < 2), 100 * np.median(u), len(got)


def main(count=60):
    start = time.time()
    for kinds, names, go in (
        (("free", "boxed", "ported", "radiator"), TUNING, run_tuning),
        (("mass", "volume"), DRIVER, run),
        (("ported", "radiator"), BOX, run),
    ):
        print("| sweeps |", " | ".join(names), "|")
        print("|---|" + "---|" * len(names))
        for kind in kinds:
            for trouble in TROUBLES:
                rows = go(trouble, count, kind)
                cells = []
                for name in names:
                    got = coverage(rows, name)
                    cells.append(f"{100 * got[0]:.0f} ({got[1]:.2g})" if got else "–")
                print(f"| {kind}, {trouble} |", " | ".join(cells), "|", flush=True)
        print()
    print(f"{count} specimens a row, {time.time() - start:.0f} s")


if __name__ == "__main__":
    main(*(int(a) for a in sys.argv[1:]))
