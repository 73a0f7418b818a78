"""Is this laptop ready for the lessons? A few quick trials, each answered in plain words."""

from __future__ import annotations

import re
import sys
import time
from importlib import metadata

CURE = "Run `python3 boxlab/start.py lessons` again; on Windows `py boxlab/start.py lessons`."


def python() -> str:
    """The version of Python, and where it is."""
    version = ".".join(str(part) for part in sys.version_info[:3])
    if list(sys.version_info) < [3, 11]:
        raise RuntimeError(f"this is Python {version}; boxlab needs 3.11 or newer")
    return f"{version}, {sys.executable}"


def packages() -> str:
    """Whether what boxlab needs is installed, in versions that it was written for."""
    from packaging.requirements import Requirement

    trouble, found = [], []
    for line in metadata.requires("boxlab") or ():
        need = Requirement(line)
        if need.marker and not need.marker.evaluate({"extra": ""}):
            continue
        try:
            version = metadata.version(need.name)
        except metadata.PackageNotFoundError:
            trouble.append(f"{need.name} is missing")
            continue
        found.append(f"{need.name} {version}")
        if not need.specifier.contains(version, prereleases=True):
            trouble.append(f"{need.name} is {version}; it should be {need.specifier}")
    if trouble:
        raise RuntimeError("; ".join(trouble))
    return ", ".join(found)


def model() -> str:
    """Solve a box and see that its cone stands nearly still at the tuning."""
    import numpy as np

    import boxlab

    driver = boxlab.Driver.from_datasheet(
        fs=30.0, qes=0.45, qms=5.0, vas=0.030, sd=0.035, re=3.4, xmax=0.012, pe=400.0
    )
    box = boxlab.PortedBox.tuned(volume=0.030, fb=40.0, area=0.006)
    frequency = np.geomspace(10, 200, 401)
    begin = time.perf_counter()
    answer = boxlab.solve(driver, box, frequency)
    spent = time.perf_counter() - begin
    band = (frequency > 30) & (frequency < 60)
    still = frequency[band][np.argmin(answer.cone_excursion[band])]
    if not np.all(np.isfinite(answer.spl)) or abs(still - 40) > 1:
        raise RuntimeError(f"a box tuned to 40 Hz holds its cone still at {still:.1f} Hz")
    return f"a box tuned to 40 Hz holds its cone still at {still:.1f} Hz ({1e3 * spent:.1f} ms)"


def picture() -> str:
    """Draw one picture, in memory."""
    from boxlab.explainers import all_explainers
    from boxlab.publish import pictures

    item = all_explainers()[0]
    png = pictures.render(item(), "png")
    return f"{item.name}, {len(png) / 1024:.0f} KB"


def notebook() -> str:
    """Start a notebook kernel and have it answer."""
    from nbformat import v4

    from boxlab.publish import notebooks

    trial = v4.new_notebook(cells=[v4.new_code_cell("import boxlab, ipywidgets\nprint(6 * 7)")])
    notebooks.run(trial, notebooks.ROOT)
    outputs = trial.cells[0].outputs
    if not outputs or outputs[0].get("text") != "42\n":
        raise RuntimeError(f"the kernel answered {outputs}")
    return "a kernel started and answered"


TRIALS = (
    ("Python", python),
    ("Packages", packages),
    ("Model", model),
    ("Picture", picture),
    ("Notebook", notebook),
)


def check(trials=TRIALS) -> bool:
    """Run `trials`, (title, function) pairs, print what each found, and return whether all did."""
    ready = True
    for title, trial in trials:
        try:
            print(f"  ok  {title}: {trial()}", flush=True)
        except Exception as error:
            # Whatever the trouble is, say it in a line and go on to the next trial.
            ready = False
            reason = re.sub(r"\x1b\[[\d;]*m", "", str(error)).strip().splitlines() or [""]
            print(f"  NO  {title}: {type(error).__name__}: {reason[-1]}", flush=True)
    print("This machine is ready." if ready else f"Not ready. {CURE}")
    return ready
