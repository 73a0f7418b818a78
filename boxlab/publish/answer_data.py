"""One answer as data: what was said, the numbers, and values in SI by the model's own symbols."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from boxlab.base.both_units import both_units
from boxlab.base.quantities import find_unit
from boxlab.draw.scene import Choice, Explainer, Scene
from boxlab.gear import shelf
from boxlab.gear.job import Job
from boxlab.gear.scenario import DRIVERS
from boxlab.model.enclosure import PortedBox, RadiatorBox, SealedBox
from boxlab.model.mixed_radiators import MixedRadiatorBox
from boxlab.model.passband import passband

_DRIVER = ("re", "le", "bl", "mms", "cms", "rms", "sd", "xmax", "pe", "fs", "qes", "qms", "qts")


def as_data(item: Explainer, state: dict, scene: Scene, job: Job | None, used: set) -> dict:
    """The answer for one state, ready for JSON.

    Parameters
    ----------
    state : the settings it was worked out for
    job : whose box it was about, or None
    used : whose gear was used, from `gear.shelf.opened`

    Returns
    -------
    dict with name, headline, readout, numbers, values (SI) and gear: "own", "demo" or "none"
    """
    gear = shelf.OWN if shelf.OWN in used else "demo" if "demo" in used else "none"
    values = _settings(item, state)
    driver = None
    if gear == shelf.OWN and job is not None:
        try:
            driver = job.system
            values = _box(job, state, values) | values
        except ValueError:  # it says less than a driver, and the answer asked for no more
            driver = None
    else:
        chosen = [v for v in state.values() if isinstance(v, str) and v in DRIVERS]
        driver = DRIVERS[chosen[0]] if chosen else None
    if driver is not None:
        found = {name: getattr(driver, name) for name in _DRIVER} | {"vas": driver.vas()}
        values = found | values
    return {
        "name": item.name,
        "headline": scene.message,
        "readout": [both_units(words) for words in scene.readout],
        "numbers": [
            {"name": row.name, "metric": row.metric, "inch": row.imperial} for row in scene.numbers
        ],
        "warnings": list(scene.warnings),
        "cautions": list(scene.cautions),
        "values": {n: float(v) for n, v in values.items() if np.isfinite(v)},
        "gear": gear,
    }


def _settings(item, state):
    """Sliders in SI, by their names."""
    found = {}
    for control in item.controls:
        if isinstance(control, Choice):
            continue
        unit = find_unit(control.unit)
        value = float(state[control.name])
        found[control.name] = unit.into_si(value) if unit and unit.kind != "level" else value
    return found


def _box(job, state, settings):
    """What follows from the job's box, with the settings' volume and tuning in place of its own."""
    try:
        box = job.box
        volume = settings.get("volume", float(box.volume))
        fb = settings.get("fb", float(box.tuning()))
        if isinstance(box, SealedBox):
            box = SealedBox(volume)
        elif isinstance(box, PortedBox) and ("fb" in settings or "volume" in settings):
            box = PortedBox.tuned(volume, fb, box.port.area, count=box.count, ql=box.ql)
        elif isinstance(box, RadiatorBox) and "fb" in settings:
            bare = box.radiator.with_mass(0.0)
            box = RadiatorBox.tuned(volume, fb, bare, count=box.count, ql=box.ql)
        elif isinstance(box, RadiatorBox | MixedRadiatorBox):
            box = replace(box, volume=volume)
    except ValueError:
        return {}
    found = {"volume": box.volume, "f3": passband(job.system, box).f3}
    if not isinstance(box, SealedBox):
        found |= {"fb": box.tuning(), "ql": box.ql}
    if isinstance(box, RadiatorBox):
        radiator = box.radiator
        found |= {"fp": radiator.fp, "added_mass": radiator.added_mass, "qmp": radiator.qmp}
    return found
