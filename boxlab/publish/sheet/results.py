"""What a box does by the model, and what stops it first, for the hand-over sheet."""

from __future__ import annotations

import math

import numpy as np

from boxlab.base import cautions
from boxlab.base.units import to_feet
from boxlab.car.arrangement import washers_stack
from boxlab.car.build_value import stops_of
from boxlab.explainers._music import nominal
from boxlab.gear.job import Job
from boxlab.measure import in_washers
from boxlab.model.enclosure import PortedBox, RadiatorBox, SealedBox
from boxlab.model.limits import max_output
from boxlab.model.mixed_radiators import MixedRadiatorBox
from boxlab.model.passband import passband
from boxlab.model.response import solve
from boxlab.model.vents import PORT_SPEED
from boxlab.publish.sheet.rows import HOWS, Part, Row, how_known, most, row

FIRST = {
    "amplifier": "the amplifier is at its end first",
    "cone excursion": "the cone is at the end of its travel first",
    "radiator excursion": "the radiators are at the end of their travel first",
    "air speed": "the port is noisy first",
    "heat": "the coil is at its rated heat first",
}


def does(sums):
    """Tuning, null, corner and level."""
    job, rows = sums.job, []
    box = job.box
    rows.append(
        sums.row("net volume", lambda j: j.box.volume, "m3", how=how_known(job, "box.volume"))
    )
    if isinstance(box, SealedBox):
        rows.append(sums.row("resonance in the box", _closed, "Hz"))
        rows.append(sums.row("Qtc", lambda j: j.system.qts * _closed(j) / j.system.fs, ""))
    else:
        fb = job.known.get("box.fb")
        if fb is not None and fb.how == "measured":
            rows.append(Row("tuning, as measured", fb.why, fb.why, "measured"))
        rows.append(sums.row("tuning, from the parts", lambda j: j.box.tuning(), "Hz"))
    if isinstance(box, RadiatorBox):
        rows.append(
            sums.row("null of the radiators, silent there", lambda j: j.box.radiator.fp, "Hz")
        )
    if isinstance(box, MixedRadiatorBox):
        for n in range(box.count):
            rows.append(sums.row(f"null {n + 1}", lambda j, n=n: j.box.nulls[n], "Hz"))
            rows.append(sums.row(f"tuning {n + 1}", lambda j, n=n: j.box.tunings()[n], "Hz"))
    rows.append(sums.row("3 dB down, outdoors", lambda j: passband(j.system, j.box).f3, "Hz"))
    rows.append(
        sums.row(
            "level at 1 m, 2.83 V, 60 Hz, on the ground outdoors",
            lambda j: solve(j.system, j.box, [60.0]).spl[0], "dB",
        )
    )  # fmt: skip
    words = ()
    if not isinstance(box, SealedBox):
        words = (
            "Below the tuning the cone loses its load and travels far: a high-pass there protects "
            "it.",
        )
    about = {
        MixedRadiatorBox: "a_lost_weight",
        SealedBox: "small_or_large",
        PortedBox: "port_or_radiator",
    }
    question = about.get(type(box), "null_of_the_radiator")
    return Part("What it does", tuple(rows), words, question=question)


def _closed(job):
    """Resonance of the driver on the air of its box, Hz."""
    return job.system.fs * np.sqrt(1 + job.system.vas() / job.box.volume)


def watts(job: Job) -> tuple[float, float]:
    """(what the amplifier gives, W; the load it is rated at, Ω) with the coils as they are wired.

    Raises
    ------
    ValueError
        If the job has no amplifier, or that load is below what the amplifier allows.
    """
    if job.amplifier is None:
        raise ValueError('no amplifier is given: write [amplifier] with "4 ohm" = "300 W".')
    load = nominal(job.system)
    return float(job.amplifier.power(load)), load


def printed(job: Job, load: float) -> str:
    """How the watts at this load are known: the maker's, or worked out between two of them."""
    return HOWS["given" if load in job.amplifier.ratings else "follows"]


def _lowest(box):
    """The lowest note of the programme, Hz: 0.7 of the tuning, 25 Hz for a sealed box."""
    return 25.0 if isinstance(box, SealedBox) else 0.7 * float(box.tuning())


def stops(sums):
    """Travel and heat at full power, and which limit comes first."""
    job = sums.job
    title = "What stops it first"
    try:
        power, load = watts(job)
        f = np.geomspace(_lowest(job.box), 100, 240)
        met = [
            stops_of(max_output(each.system, each.box, f, power=power, load=load))
            for each in (job, *sums.variants)
        ]
    except ValueError as error:
        return Part(title, missing=(str(error),))
    volts = math.sqrt(power * load)
    full = [solve(each.system, each.box, f, volts) for each in (job, *sums.variants)]
    rows = [
        row(
            "amplifier, into this load",
            power,
            "W",
            how=printed(job, load),
            note=f"{load:g} Ω, {volts:.1f} V",
        ),
        most("largest cone travel at full power", [s.cone_excursion for s in full], f),
    ]
    limit = job.system.xmax
    if np.isfinite(limit):
        rows.append(
            row("the driver's linear travel", limit, "m", how=how_known(job, "driver.xmax"))
        )
    if isinstance(job.box, RadiatorBox | MixedRadiatorBox):
        rows.append(most("largest radiator travel", [s.vent_excursion for s in full], f))
        if np.isfinite(job.radiator.xmax):
            rows.append(
                row(
                    "the radiators' travel",
                    job.radiator.xmax,
                    "m",
                    how=how_known(job, "radiator.xmax"),
                )
            )
    if isinstance(job.box, PortedBox):
        fast = [s.vent_air_speed for s in full]
        rows.append(
            most(
                "fastest air in the port",
                fast,
                f,
                "m/s",
                f"noise from about {PORT_SPEED:g} m/s ({to_feet(PORT_SPEED):.0f} ft/s)",
            )
        )
    at = [40.0]
    loud = lambda j: max_output(j.system, j.box, at, power=power, load=load).spl[0]  # noqa: E731
    rows.append(sums.row("loudest steady 40 Hz, 1 m, on the ground outdoors", loud, "dB"))
    words = [
        f"A steady tone from {low:.0f} to {high:.0f} Hz: {FIRST[limit]}."
        for low, high, limit in met[0]
    ]
    others = {limit for each in met[1:] for *_, limit in each} - {limit for *_, limit in met[0]}
    words += [
        f"With other values of what is assumed, also: {FIRST[each]}." for each in sorted(others)
    ]
    words.append("Music asks for less travel and heats less than a steady tone.")
    words += _not_as_measured(job)
    unknown = _left_out(job)
    passive = isinstance(job.box, RadiatorBox | MixedRadiatorBox)
    if passive and not np.isfinite(job.radiator.xmax):
        unknown += (
            "when the radiators reach their stop: write xmax under [radiator]. It is not among the "
            "limits above.",
        )
    return Part(title, tuple(rows), tuple(words), cautions.words("loud"), unknown, "heat_or_travel")


def _left_out(job):
    """What the job says of its signal and supply and this part of the sheet does not count."""
    told = []
    if job.chain is not None:
        told.append(
            f"the job's filters ({job.chain.words}): what they save or cost at one setting of the "
            "volume. `picture what_a_high_pass_saves --job` counts them."
        )
    if job.supply is not None or "rail" in job.tables.get("amplifier", {}):
        told.append(
            "a supply that sags, and the amplifier's rail and current: full power is taken as "
            "rated. `picture what_a_weak_supply_costs --job` counts them."
        )
    return tuple(told)


def _not_as_measured(job):
    """Where the tuning that was measured is not that of the parts, by which the rest was found."""
    fb = job.known.get("box.fb")
    if fb is None or fb.how != "measured" or isinstance(job.box, SealedBox):
        return []
    parts = float(job.box.tuning())
    if abs(parts - fb.value) <= max(0.02 * fb.value, fb.high - fb.value):
        return []
    return [
        f"Careful: it measures {fb.value:.1f} Hz, and the parts as given would tune to "
        f"{parts:.1f} Hz, by which travel and limits were worked out. One of them is not as given."
    ]


def weights(sums):
    """The weights on each radiator, and how they come to it."""
    box = sums.job.box
    if isinstance(box, MixedRadiatorBox):
        return _different_weights(sums.job)
    if not isinstance(box, RadiatorBox):
        return None
    radiator = box.radiator
    mass = float(radiator.added_mass)
    rows = [
        row("weights on each radiator", mass, "kg", how=how_known(sums.job, "radiator.added_mass")),
        sums.row("all that moves, each", lambda j: j.box.radiator.moving_mass, "kg"),
    ]
    words = []
    if mass:
        tall, count = washers_stack(mass)
        sizes = ", ".join(f"{n} × {name}" for name, n in in_washers(mass).items())
        rows.append(row("as a stack of washers", tall, "m", note=f"{count} in all: {sizes}"))
        words.append("Weigh what you bolt on, bolt included; washers differ from maker to maker.")
    return Part(
        "Weights on the radiators", tuple(rows), tuple(words), question="weights_for_a_tuning"
    )


def _different_weights(job):
    """The weights on each radiator where they differ, and that they should not."""
    how = how_known(job, "radiator.added_mass")
    rows = [
        row(f"weights on radiator {n + 1}", mass, "kg", how=how)
        for n, mass in enumerate(job.weights)
    ]
    words = (
        "The radiators carry different weights: the box has a tuning and a null for each. Bring "
        "them to the same, unless this is meant.",
    )
    return Part("Weights on the radiators", tuple(rows), words, question="a_lost_weight")
