"""Wiring, cable, board and what holds the box down, for the hand-over sheet."""

from __future__ import annotations

from boxlab.base import cautions
from boxlab.base.units import to_cubic_feet, to_litres
from boxlab.car.ampacity import OPEN, size_cable, way_out
from boxlab.car.cut_list import cut_list, weight
from boxlab.car.joinery import Carcass
from boxlab.car.restraint import CRASH, GRAVITY, holding_force
from boxlab.gear import shelf
from boxlab.gear.job import Job
from boxlab.gear.job_assumed import BOARD
from boxlab.gear.job_cable import DROP, LIES, feed_of
from boxlab.gear.job_stops import watts
from boxlab.model.enclosure import RadiatorBox
from boxlab.model.mixed_radiators import MixedRadiatorBox
from boxlab.publish.sheet.rows import Part, Row, printed, row


def wiring(sums):
    """What load the coils make, and what the amplifier gives into it."""
    job, title = sums.job, "Wiring"
    table = job.tables.get("driver", {})
    total = float(job.cold.re)
    rows = [
        row("coil as a meter reads it, all drivers as wired", total, "ohm"),
        row("load it counts as", job.load, "ohm", 2,
            note=f"{job.coil:.3g} Ω rated for each coil, as they are wired"),
    ]  # fmt: skip
    words, missing = [], []
    if job.count > 1:
        how = ", one behind the other" if job.faces < job.count else ""
        joined = table.get("wiring", "parallel (assumed: the job does not say)")
        words.append(f"{job.count} drivers{how}, wired in {joined}.")
    if table.get("coils", 1) > 1:
        words.append(
            f"{table['coils']} coils in each driver"
            + (f", joined in {table['coil_wiring']}" if "coil_wiring" in table else "")
            + ": re is of the whole driver as its coils are wired now."
        )
    try:
        power, load = watts(job)
        rows.append(
            row(
                "the amplifier gives",
                power,
                "W",
                how=printed(job, load),
                note=f"as rated at {load:g} Ω",
            )
        )
    except ValueError as error:
        missing.append(str(error))
    return Part(
        title,
        tuple(rows),
        tuple(words),
        cautions.words(*(("low load",) if job.too_low else ()), "live output"),
        tuple(missing),
        "coil_wiring",
    )


def cable(sums):
    """Cable and fuse for the amplifier at its highest rating, as the cable lies."""
    title, feed = "Cable and fuse", feed_of(sums.job)
    if feed is None:
        return Part(title, missing=("no amplifier is given.",))
    length = sums.job.tables.get("cable", {}).get("length")
    if length is None:
        return Part(
            title,
            missing=('the length of the cable, one way: write [cable] with length = "5 m".',),
        )
    current, told = feed.current, "laid" in feed.told
    how = "computed" if told else "assumed"
    rows = [
        row("current at full power", current, "A", 2, note=feed.words,
            others=[feed.least]),
        row("length one way", length, "length", 2, how="given"),
        Row("how the cable lies", feed.laid, feed.laid, "given" if told else "assumed",
            LIES[0] if told else "; ".join(LIES)),
    ]  # fmt: skip
    cautioned = cautions.words("supply", "far battery", "split", "licence")
    try:
        plan = size_cable(current, length, DROP, laid=feed.laid)
    except ValueError as error:
        refused = (str(error), way_out(current, length, DROP, laid=feed.laid))
        return Part(title, tuple(rows), missing=refused, cautions=cautioned)
    rows += [
        Row(f"cable, copper, {feed.laid}", *_size(plan), how,
            f"{plan.decided_by} decides; 70 °C insulation in 50 °C"),
        row(f"it may carry, {feed.laid}", plan.carries, "A", how=how),
        row("fuse, at the battery", plan.fuse, "A"),
        row("volts lost", plan.drop(current, length), "V", 2, how=how,
            note=f"at most {DROP:g} V asked for"),
    ]  # fmt: skip
    open_air = size_cable(current, length, DROP, laid=OPEN)
    if open_air.label != plan.label:
        note = "not under carpet or trim, nor in a conduit, at any place"
        rows.append(
            Row(f"cable, only where all of it is {OPEN}", *_size(open_air), "computed", note)
        )
    return Part(title, tuple(rows), cautions=cautioned, question="cable_and_fuse")


def _size(plan):
    """The cable by its label, with its copper in mm², and for inches by its label alone."""
    return f"{plan.label} ({1e6 * plan.cable.area:.1f} mm²)", plan.label


def mounting(job: Job, section: str):
    """The outline of the job's "driver" or "radiator", and what had to be assumed of it."""
    shelf_of = {"driver": shelf.DRIVER_PARTS, "radiator": shelf.RADIATOR_PARTS}[section]
    with shelf.opened(job):
        return shelf_of[shelf.OWN], shelf.said()


def carcass_of(job: Job) -> Carcass | None:
    """The bare box that fills the job's gap, or None where it has no gap."""
    if job.gap is None:
        return None
    return Carcass(job.gap, board=job.tables.get("box", {}).get("board", BOARD))


def hardware(job: Job) -> tuple[float, tuple[str, ...]]:
    """Mass of drivers and radiators, kg, and what is missing from it."""
    total, missing = 0.0, []
    for section, count in (("driver", job.count), ("radiator", job.radiators)):
        if not count:
            continue
        each = job.tables.get(section, {}).get("weight")
        if each is None:
            missing.append(f"the weight of each {section}: write weight under [{section}].")
        else:
            total += count * each
    if job.radiators and isinstance(job.box, RadiatorBox | MixedRadiatorBox):
        total += sum(job.weights)
    return total, tuple(missing)


def board(sums):
    """The box that fills the gap, and its pieces."""
    job, title = sums.job, "Board and cut list"
    carcass = carcass_of(job)
    if carcass is None:
        return None
    taken, assumed = 0.0, []
    for section in ("driver", "radiator"):
        if section in job.tables:
            part, said = mounting(job, section)
            taken += part.displacement(carcass.board)
            assumed += said
    board_how = "given" if "board" in job.tables.get("box", {}) else "assumed"
    rows = [
        row("board", carcass.board, "m", 2, how=board_how),
        row(
            "kept free on every side of the box",
            carcass.gap.slack,
            "m",
            2,
            how="assumed",
            note="between box and gap, for carpet and fastenings: all sizes below leave it out",
        ),
        row("volume inside the board, in the whole gap", carcass.gross, "m3"),
        row(
            "taken by driver and radiators",
            taken,
            "m3",
            2,
            how="assumed" if assumed else "computed",
        ),
        row("left for air", carcass.gross - taken, "m3"),
    ]
    spare = carcass.gross - taken - float(job.box.volume)
    fits = "more than" if spare >= 0 else "less than"
    words = [
        f"That is {to_litres(abs(spare)):.1f} L ({to_cubic_feet(abs(spare)):.2f} ft³) {fits} the "
        "net volume above; braces and a port take more."
    ]
    try:
        panels = cut_list(carcass)
    except ValueError as error:
        return Part(title, tuple(rows), tuple(words), missing=(*assumed, str(error)))
    rows += [
        Row(panel.name, panel.words.partition(": ")[2].partition(";")[0],
            panel.inches.partition(": ")[2].partition(";")[0], "computed", _shaped(panel))
        for panel in panels
    ]  # fmt: skip
    words.append(
        "In inches, pieces are to the nearest sixteenth, and down to one where they go between "
        "boards."
    )
    bare = weight(carcass)
    rows.append(row("board alone", bare, "heavy", note="at 750 kg/m³, fibre board; assumed"))
    return Part(
        title,
        tuple(rows),
        tuple(words),
        cautions.words("workshop"),
        tuple(assumed),
        "gap_to_volume",
    )


def _shaped(panel):
    """How to shape a piece; where that has lengths, in inches as well."""
    inch = [each.inches for each in panel.shaping if each.lengths]
    return "; ".join(panel.shape) + (f" (in inches: {'; '.join(inch)})" if inch else "")


def restraint(sums):
    """The force that holds the box in a crash."""
    job, title = sums.job, "Holding it down"
    told = cautions.words("loose box")
    known = job.tables.get("box", {}).get("weight")
    rows, missing = [], ()
    if known is None and (carcass := carcass_of(job)) is not None:
        metal, missing = hardware(job)
        if not missing:
            known = weight(carcass, hardware=metal)
            rows.append(row("box with what is in it", known, "heavy", note="computed from the gap"))
    elif known is not None:
        rows.append(row("box with what is in it", known, "heavy", how="given"))
    if known is None:
        missing = (*missing, 'what the box weighs: write weight = "18 kg" under [box].')
        each = holding_force(1.0)
        rows.append(row("force for each kilogram (2.2 lb) of it", each, "N", note=_deceleration()))
    else:
        rows.append(row("force to hold it", holding_force(known), "N", note=_deceleration()))
    return Part(title, tuple(rows), cautions=told, missing=missing)


def _deceleration():
    return f"at {CRASH / GRAVITY:.0f} times gravity, a round figure to design for"
