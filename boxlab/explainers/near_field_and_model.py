"""Cone and vent heard from close by, summed by area, over the model's curve from afar."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache
from pathlib import Path

import numpy as np

from boxlab.base.units import litres, mm
from boxlab.draw.scene import INVENTED, Choice, Explainer, Line, Mark, Number, Plot, Scene, Slider
from boxlab.explainers import _shared as shared
from boxlab.explainers._cuts import cut
from boxlab.explainers.where_is_the_tuning import BUILDS, box_for
from boxlab.gear import shelf
from boxlab.gear.job_keys import NEAR
from boxlab.gear.scenario import USUAL_QL
from boxlab.gear.shelf import leak, the_driver
from boxlab.measure.record import NearField, near_field
from boxlab.measure.record.near import KA, on_axis
from boxlab.model.air import Air
from boxlab.model.enclosure import PortedBox
from boxlab.model.response import solve

VOLTS, WEIGHTS = 2.83, ("by area", "as heard")
_FREQUENCY = np.geomspace(10, 500, 321)
_LEVELS, _APART = (40, 110), (-15, 15)


def scene(build, volume, fb, distance, weigh) -> Scene:
    """A box of `volume` L tuned to `fb` Hz, heard from `distance` mm; summed in that way."""
    box, warning = _box(build, volume, fb)
    made = of_box(the_driver(), box, mm(distance), weigh == "by area", _recorded(box))
    return replace(made, warnings=(*made.warnings, warning)) if warning else made


def _box(build, volume, fb):
    """The box and a warning or ""; with a job open, with the job's own port, whose width counts."""
    job = shelf.current()
    if job is None:
        return box_for(build, volume, fb, USUAL_QL)
    if build == "ported":
        if not isinstance(job.box, PortedBox):
            box, _ = box_for(build, volume, fb, leak(shelf.OWN))
            return box, "The job's box has no port: one of 50 mm (2.0 in) is taken here."
        area, count = vent_of(job.box)
        return PortedBox.tuned(
            litres(volume), fb, area, count=count, ql=leak(shelf.OWN), max_length=10
        ), ""
    return box_for(build, volume, fb, leak(shelf.OWN))


def vent_of(box) -> tuple[float, int]:
    """(area of one port or radiator, m²; how many there are)."""
    one = box.port.area if isinstance(box, PortedBox) else box.radiator.sd
    return float(one), box.count


def of_box(driver, box, distance=0.0, weighted=True, recorded: NearField | None = None) -> Scene:
    """What a microphone hears close to both parts of a box, and what `recorded` adds to it."""
    air, f = Air(), _FREQUENCY
    r = solve(driver, box, f, VOLTS)
    area, count = vent_of(box)
    parts = []
    for flow, each, number in (
        (r.cone_volume_velocity, driver.sd, 1),
        (r.vent_volume_velocity, area, count),
    ):
        heard = on_axis(flow / (each * number), each, distance, f, air)
        weight = np.sqrt((each if weighted else driver.sd) / np.pi) / 2
        parts.append(number * weight * heard)
    total = _db(parts[0] + parts[1])
    highest = float(KA * air.speed_of_sound / (2 * np.pi * np.sqrt(max(driver.sd, area) / np.pi)))
    apart = total - r.spl
    fb, kind = float(box.tuning()), "port" if isinstance(box, PortedBox) else "radiator"
    # far below the tuning both nearly cancel, and what leaks out elsewhere is not heard
    inside = (f > 0.7 * fb) & (f < min(highest, 300))
    worst = float(np.max(np.abs(apart[inside])))
    less = 10 * np.log10(area / driver.sd)
    told = _compared(recorded, f, r.spl)
    return Scene(
        cutaway=cut(driver, box, fb, VOLTS),
        shows={kind: r},
        title=f"Sum from close by, within {worst:.1f} dB of the far field",
        plots=(
            _levels(f, parts, total, r.spl, fb, highest, kind, told),
            Plot(
                "Sum minus far field", "frequency, Hz", "difference, dB re 1", (10, 500), _APART,
                (
                    Line(f, np.clip(apart, -20, 20), "sum", "sum from close by"),
                    *_points(told, True),
                ),
                (Mark(highest, "ka = 1", "limit"), Mark(0.0, "", axis="y")),
            ),
        ),
        headline=(
            f"Added by the root of the areas ({_signed(less)} dB for the {kind}), cone and {kind} "
            f"are {'within' if worst < 3 else 'up to'} {worst:.1f} dB "
            f"{'of' if worst < 3 else 'off'} the far field."
            if weighted
            else f"Added as heard, cone and {kind} are up to {worst:.1f} dB off the far field."
        ),
        readout=(
            f"The {kind} counts by the root of its area: {_signed(less)} dB against the cone.",
            f"So summed, cone and {kind} from close by are within {worst:.1f} dB of the far field "
            f"from {0.7 * fb:.0f} to {min(highest, 300):.0f} Hz."
            if weighted
            else f"Added as heard, the sum is up to {worst:.1f} dB off.",
            told[2] if told else "No recordings from close by are open: this is the model alone.",
        ),
        numbers=(
            shared.hertz("tuning", fb),
            shared.hertz("the sum holds up to ka = 1, at", highest),
            Number(f"the {kind} against the cone, by the root of the areas", f"{_signed(less)} dB"),
            Number("largest difference below that", f"{worst:.1f} dB"),
            shared.length_number("microphone from each", distance),
            *((Number("recorded against the model", told[3]),) if told else ()),
        ),
        caption=(
            f"Level at 1 m, half space, at {VOLTS:g} V: cone and {kind} as a microphone hears them "
            f"from close by, each carried to 1 m {'by its own radius' if weighted else 'alike'}, "
            f"their sum, and the model's far field. Above ka = 1, {highest:.0f} Hz, the near field "
            f"no longer holds; far below the tuning what leaks is not heard."
            + (" Points: as recorded, moved up or down as a whole." if told else "")
        ),
        alt=(
            "Two plots against frequency, 10 to 500 Hz. Left: level, 40 to 110 dB re 20 µPa, of "
            f"cone, {kind}, their sum and the far field; at {fb:.1f} Hz the cone has a dip and the "
            f"{kind} its most. Right: sum minus far field, −15 to 15 dB: at most {worst:.1f} dB."
            + (f" Points: the recording. {told[2]}" if told else "")
        ),
        code=(
            "from boxlab import near_field\n"
            f"found = near_field('cone.wav', 'vent.wav', {driver.sd:.4g}, {area:.4g}, "
            f"counts=(1, {count}))\n"
            "print(found.frequency, found.level)"
        ),
    )  # fmt: skip


def _levels(f, parts, total, far, fb, highest, kind, told):
    return Plot(
        "From close by, carried to 1 m", "frequency, Hz", "level, dB re 20 µPa", (10, 500), _LEVELS,
        (
            Line(f, np.clip(_db(parts[0]), 30, 120), "cone", "cone"),
            Line(f, np.clip(_db(parts[1]), 30, 120), "vent", kind),
            Line(f, np.clip(total, 30, 120), "sum", "sum"),
            Line(f, far, "quiet", "model, far field"),
            *_points(told),
        ),
        (Mark(fb, "tuning"), Mark(highest, "ka = 1", "limit")),
    )  # fmt: skip


def _compared(recorded, f, far):
    """(Hz, level, sentence, short text, difference) of a recording over the model; or None."""
    if recorded is None:
        return None
    at, model = recorded.frequency, np.interp(recorded.frequency, f, far)
    scale, left = recorded.against(model)
    usual, i = float(np.percentile(np.abs(left), 90)), int(np.argmax(np.abs(left)))
    words = (
        f"Recorded, the sum follows the model within {usual:.1f} dB for nine tenths of its points "
        f"from {at[0]:.0f} to {at[-1]:.0f} Hz; farthest off at {at[i]:.0f} Hz, "
        f"{_signed(left[i])} dB."
    )
    return at, recorded.level + scale, words, f"within {usual:.1f} dB", left


def _points(told, difference=False):
    if not told:
        return ()
    step = max(1, len(told[0]) // 80)
    y = told[4] if difference else told[1]
    return (Line(told[0][::step], y[::step], "electrical", "recorded", kind="points"),)


def _recorded(box) -> NearField | None:
    """The open job's recordings from close by, summed; None where it lists none."""
    job = shelf.current()
    rows = {
        row["what"]: row["file"]
        for row in (job.measurements if job else ())
        if "what" in row and "file" in row
    }
    if NEAR[0] not in rows:
        return None
    folder = job.path.parent if job.path else Path()
    files = tuple(folder / rows[what] if what in rows else None for what in NEAR)
    stamps = tuple(each.stat().st_mtime if each and each.exists() else 0 for each in files)
    return _read(files, stamps, float(job.driver.sd), *vent_of(box), job.count)


@lru_cache(maxsize=8)
def _read(files, stamps, sd, area, count, drivers):
    return near_field(*files, sd, area, counts=(drivers, count))


def _db(p):
    with np.errstate(divide="ignore"):
        return 20 * np.log10(np.abs(p) / 20e-6)


def _signed(value):
    return f"{value:+.1f}".replace("-", "−")


def of_recordings(near: NearField, driver, box, gear: str = INVENTED) -> Scene:
    """The picture for recordings at hand: `near` over the model's curve of `driver` in `box`."""
    made = of_box(driver, box, recorded=near)
    return replace(made, headline=made.readout[2], caption=f"{made.caption} {gear}", gear=gear)


EXPLAINERS = (
    Explainer(
        name="near_field_and_model",
        question="What do cone and vent add up to from close by, and does it fit the model?",
        controls=(
            Choice("build", "Box", BUILDS, "ported"),
            Choice("weigh", "Added", WEIGHTS, "by area"),
            Slider("volume", "Net volume", 10, 40, 14, 0.5, "L"),
            Slider("fb", "Tuning", 26, 55, 45, 0.5, "Hz"),
            Slider("distance", "Microphone from each", 0, 100, 3, 1, "mm"),
        ),
        scene=scene,
        lesson="12-measure-it-yourself.ipynb",
        anchor="What-does-the-box-play,-heard-from-close-by",
        answer=(
            "Hold the microphone millimetres from the cone, then from the port or radiator; count "
            "each by the root of its area, mind the phase, and the sum is the box's response up to "
            "some 500 Hz."
        ),
        presets={
                "port": {},
                "radiator": {"build": "radiator"},
                "as heard": {"weigh": "as heard"},
                "too far away": {"distance": 100},
            },
    ),
)  # fmt: skip
