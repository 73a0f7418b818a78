"""How often ±2u holds the true value, for sweeps with troubles. By hand:

.venv/bin/python tests/coverage_table.py FIRST LAST MORE

with seeds that nobody looked at before, from FIRST to before LAST, and without trouble to before
MORE. It writes `tests/bench/coverage.csv`, which the words beside a ± and lesson 05 are held to.

The sweeps come from `troubled_sweeps`, which shares nothing with the fit.
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np
from troubled_sweeps import TROUBLES, specimen

from boxlab.measure import Sweep, find_tuning, fit_box, fit_driver
from boxlab.model.radiator import Radiator

TABLE = Path(__file__).parent / "bench" / "coverage.csv"
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


def specimens(seed, trouble):
    """(what was fitted, pulls) of one seed: a ported and a radiator box, and their drivers."""
    for build in ("ported", "radiator"):
        made = specimen(seed, trouble, build)
        kinds = ("free", "boxed", "ported") if build == "ported" else ("radiator",)
        for kind in kinds:
            yield f"tuning {kind}", pulls(*tuning_of(made, kind), TUNING)
        drivers = {}
        for route in ("mass", "volume"):
            if build == "ported" or (route == "volume") == (trouble == "leak"):
                drivers[route] = driver_of(made, route)
                if build == "ported":
                    yield f"driver {route}", pulls(drivers[route], made.driver, DRIVER)
        route = "volume" if trouble == "leak" else "mass"
        try:
            fit = box_of(made, drivers[route])
        except ValueError as error:  # refused, in words
            print(f"{seed} {trouble} {build}: {str(error)[:90]}", file=sys.stderr)
            continue
        yield f"box {build}", pulls(fit, made.box, BOX)


def coverage(rows, name):
    """Share inside ±2u, median u in per cent, and how many gave a ±."""
    got = [row[name] for row in rows if name in row]
    if not got:
        return None
    pull, u = np.array(got).T
    return np.mean(np.abs(pull) < 2), 100 * np.median(u), len(got)


def kept():
    """What `TABLE` says: (first remark, rows of fit, trouble, quantity, share, values)."""
    remark, _, *rows = TABLE.read_text(encoding="utf-8").splitlines()
    cells = (row.split(",") for row in rows)
    return remark, [(a, b, c, float(share), int(count)) for a, b, c, share, _, count in cells]


def in_short():
    """The table of lesson 05: for each trouble and kind of fit, all quantities and the worst."""
    names = {"none": "none", "creep": "the suspension creeps", "bump": "a bump in the curve",
             "leak": "the test box leaks", "all": "all three"}  # fmt: skip
    lines = ["| trouble | `find_tuning` | `fit_driver` | `fit_box` |", "|---|---|---|---|"]
    for trouble in TROUBLES:
        cells = []
        for group in ("tuning", "driver", "box"):
            rows = [r for r in kept()[1] if r[0].startswith(group) and r[1] == trouble]
            held = sum(share * count for *_, share, count in rows) / sum(r[-1] for r in rows)
            worst = min(rows, key=lambda r: r[3])
            of = worst[0].split()[1]
            cells.append(f"{held:.0f}; worst {worst[3]:.0f}, {worst[2]} ({of})")
        lines.append(f"| {names[trouble]} | {' | '.join(cells)} |")
    return "\n".join(lines)


def write(rows, seeds):
    """Count `rows`, (fit, trouble) -> pulls of each specimen, into `TABLE`."""
    first, last, more = seeds
    lines = [
        f"# ±2u, seeds {first} to {last - 1}, without trouble to {more - 1}: "
        f"made by tests/coverage_table.py {first} {last} {more}",
        "fit,trouble,quantity,inside of 100,median u in %,values",
    ]
    for (kind, trouble), each in rows.items():
        for name in dict.fromkeys((*TUNING, *DRIVER, *BOX)):
            if got := coverage(each, name):
                share, u, count = got
                lines.append(f"{kind},{trouble},{name},{100 * share:.0f},{u:.2g},{count}")
    TABLE.write_text("\n".join(lines) + "\n", encoding="utf-8")


def main(first, last, more):
    """Fit the seeds from `first` to before `last`, `more` without trouble, and write the count."""
    rows = {}
    for trouble in TROUBLES:
        for seed in range(first, more if trouble == "none" else last):
            for kind, found in specimens(seed, trouble):
                rows.setdefault((kind, trouble), []).append(found)
        print(trouble, file=sys.stderr, flush=True)
    write(rows, (first, last, more))
    print(in_short())


if __name__ == "__main__":
    main(*(int(each) for each in sys.argv[1:]))
