"""What a box does by the model, and what stops it first, for the hand-over sheet."""

from __future__ import annotations

import math

import numpy as np

from boxlab.base import cautions
from boxlab.base.quantities import span
from boxlab.base.units import to_feet
from boxlab.design.tradeoff_solver import pick_two
from boxlab.gear.job_crosscheck import changed as what_changed
from boxlab.gear.job_crosscheck import tuning_apart
from boxlab.gear.job_stops import FIRST, assumed, counted, full_power, left_by_the_supply, turned_up
from boxlab.gear.measured_text import UNITS
from boxlab.model.enclosure import PortedBox, RadiatorBox, SealedBox
from boxlab.model.limits import max_output
from boxlab.model.mixed_radiators import MixedRadiatorBox
from boxlab.model.passband import passband
from boxlab.model.response import solve
from boxlab.model.vents import PORT_SPEED
from boxlab.publish.sheet.rows import Part, Row, how_known, in_inches, most, printed, row

VOLTS = 2.83  # rms, at which levels are told


def changed(sums):
    """What was measured before the work and after it; None where there is no such pair."""
    measured = sums.job.tables.get("measured", {})
    found, after = measured.get("box", {}), measured.get("after", {})
    rows = []
    for name, label in (("fb", "tuning"), ("volume", "net volume"), ("ql", "QL")):
        if name in found and name in after:
            for when, each in (("as found", found[name]), ("after", after[name])):
                rows.append(Row(f"{label}, {when}", each.why, in_inches(each.why), "measured"))
    before, now = (
        {name: (each.value, each.high - each.value) for name, each in part.items()}
        for part in (found, after)
    )
    words = what_changed(before, now, _short)
    return Part("As found, and after the work", tuple(rows), tuple(words)) if rows else None


def _short(name, value, _):
    """A measured value as it is said in a sentence of the sheet."""
    unit, size = UNITS[name]
    return f"{value / size:.1f} {unit}".rstrip()


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
        for name, label in (("ql", "leak"), ("qa", "absorption"), ("qp", "the port's friction")):
            lost = job.known.get(f"box.{name}")
            if lost is not None and lost.how == "measured":
                rows.append(Row(f"{label}, {name.upper()}", lost.why, lost.why, "measured"))
    if isinstance(box, RadiatorBox):
        rows.append(
            sums.row("null of the radiators, silent there", lambda j: j.box.radiator.fp, "Hz")
        )
    if isinstance(box, MixedRadiatorBox):
        for n in range(box.count):
            rows.append(sums.row(f"null {n + 1}", lambda j, n=n: j.box.nulls[n], "Hz"))
            rows.append(sums.row(f"tuning {n + 1}", lambda j, n=n: j.box.tunings()[n], "Hz"))
    rows.append(_corner(sums))
    rows.append(
        sums.row(
            f"level at 1 m, {VOLTS:g} V, 60 Hz, on the ground outdoors",
            lambda j: solve(j.system, j.box, [60.0], VOLTS).spl[0], "dB",
        )
    )  # fmt: skip
    words = (*filter(None, [tuning_apart(job)]),)
    if not isinstance(box, SealedBox):
        words += (
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


def _corner(sums):
    """Where the level is 3 dB below its own plateau, and how high that lies."""
    job = sums.job
    found = passband(job.system, job.box)
    deal = pick_two(volume=found.volume, f3=found.f3, constant=found.constant)
    flat = deal.level(power=VOLTS**2 / float(job.system.re))
    return sums.row(
        "3 dB below its own flat level, outdoors", lambda j: passband(j.system, j.box).f3, "Hz",
        note=f"flat is {flat:.1f} dB at {VOLTS:g} V, 1 m, well above the corner, with the coil's "
        "inductance left out",
    )  # fmt: skip


def _closed(job):
    """Resonance of the driver on the air of its box, Hz."""
    return job.system.fs * np.sqrt(1 + job.system.vas() / job.box.volume)


def stops(sums):
    """Travel and heat at full power, and which limit comes first."""
    job = sums.job
    title = "What stops it first"
    try:
        full = [full_power(each) for each in (job, *sums.variants)]
    except ValueError as error:
        return Part(title, missing=(str(error),))
    power, load, f = full[0].power, full[0].load, full[0].first.frequency
    told = counted(job)
    where = [each.first.at for each in full if each.first.limit == full[0].first.limit]
    beside = "with filters, amplifier and supply as below" if told else ""
    one = "at one volume setting for the whole band"

    def largest(name, values, unit="m", note=""):
        note = "; ".join(filter(None, (one, note, beside)))
        return most(name, [getattr(each.solved, values) for each in full], f, unit, note)

    rows = [
        row("amplifier, as rated into this load", power, "W", how=printed(job, load),
            note=f"{load:g} Ω, {math.sqrt(power * load):.1f} V"),
        row("what stops the volume first, below full power", full[0].below, "dB", 2,
            note=f"{full[0].first.limit}, at {span(min(where), max(where), 'Hz')}"
            + (f"; {beside}" if told else ""), others=[each.below for each in full[1:]]),
        largest("largest cone travel at full power", "cone_excursion"),
    ]  # fmt: skip
    rows[1:1] = _supplied(sums, load)
    limit = job.system.xmax
    if np.isfinite(limit):
        rows.append(
            row("the driver's linear travel", limit, "m", how=how_known(job, "driver.xmax"))
        )
    passive = isinstance(job.box, RadiatorBox | MixedRadiatorBox)
    if passive:
        rows.append(largest("largest radiator travel", "vent_excursion"))
    if passive and np.isfinite(job.radiator.xmax):
        how = how_known(job, "radiator.xmax")
        rows.append(row("the radiators' travel", job.radiator.xmax, "m", how=how))
    if isinstance(job.box, PortedBox):
        note = f"noise from about {PORT_SPEED:g} m/s ({to_feet(PORT_SPEED):.0f} ft/s)"
        rows.append(largest("fastest air in the port", "vent_air_speed", "m/s", note))

    def loud(j):
        return max_output(j.system, j.box, [40.0], stage=j.stage(load)).spl[0]

    rows.append(sums.row("loudest steady 40 Hz, 1 m, on the ground outdoors", loud, "dB"))
    words = [turned_up(*full)]
    words += [
        f"A steady tone {_from(low, high)}, turned up by itself: {FIRST[limit]}."
        for low, high, limit in full[0].stops
    ]
    if told:
        words.append(
            "Full power is one volume setting for the whole band, at which the amplifier comes to "
            "its end somewhere in it. A tone that filters hold back, or that draws little, can "
            "be turned up by itself beyond that setting, and may move the cone further than above."
        )
    others = {limit for each in full[1:] for *_, limit in each.stops}
    others -= {limit for *_, limit in full[0].stops}
    words += [
        f"With other values of what is assumed, also: {FIRST[each]}." for each in sorted(others)
    ]
    if told:
        words.append(f"Counted in all of this: {told}.")
    words.append("Music asks for less travel and heats less than a steady tone.")
    unknown = ()
    if passive and not np.isfinite(job.radiator.xmax):
        unknown = (
            "when the radiators reach their stop: write xmax under [radiator]. It is not among the "
            "limits above.",
        )
    return Part(title, tuple(rows), tuple(words), cautions.words("loud"), unknown, "heat_or_travel")


def _from(low, high):
    """ "from 26 to 28 Hz", and "near 29 Hz" where both ends read alike."""
    words = span(low, high, "Hz")
    return f"from {words}" if " to " in words else f"near {words}"


def _supplied(sums, load):
    """What the supply leaves of the rating, on a steady tone into a plain resistor of that load."""
    job = sums.job
    if job.supply is None:
        return []
    out, *others = left_by_the_supply(job, load)
    note = f"a steady tone into {load:g} Ω; counted with {counted(job, ['supply'])}"
    taken, how = assumed(job), "computed"
    if taken:
        note, how = f"{note}; {taken}", "assumed"
    for each in others:
        note += f". That gives {out.power:.0f} W; with rails that are held it is {each.power:.0f} W"
    flow = " to ".join(dict.fromkeys(f"{each.drawn:.0f}" for each in (out, *others)))
    return [
        row("what the supply leaves of it", out.power, "W", how=how, note=note,
            others=[each.power for each in others]),
        row("the supply then, at the amplifier", out.supply_voltage, "V", how=how,
            note=f"while {flow} A flow", others=[each.supply_voltage for each in others]),
    ]  # fmt: skip
