"""The vents and the air of a job, from what its file says of its radiators, its box and its air."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from boxlab.base.units import disc_area, disc_diameter, inside_edges
from boxlab.gear.job_keys import JobError
from boxlab.model.air import Air
from boxlab.model.coil_heat import warmed
from boxlab.model.driver import Driver
from boxlab.model.enclosure import PortedBox, RadiatorBox
from boxlab.model.mixed_radiators import MixedRadiatorBox
from boxlab.model.port_fitting import length_for
from boxlab.model.ports_built import Flare, Slot
from boxlab.model.radiator import Radiator
from boxlab.model.relations import Known
from boxlab.model.several import isobaric, together
from boxlab.model.vents import Port

# what a kind of port is said by; what belongs to another kind is refused
_SAID = {
    "round": ("port_diameter", "port_area"),
    "slot": ("slot_width", "slot_height", "port_walls"),
    "flare": ("port_diameter", "port_flare"),
}


class Names(dict):
    """Known values by "section.name"; a bare name finds the driver's, the box's, the radiator's."""

    def __missing__(self, name):
        for section in ("driver", "box", "radiator"):
            if f"{section}.{name}" in self:
                return self[f"{section}.{name}"]
        raise KeyError(name)


def drivers_of(driver: Driver, table: Mapping) -> Driver:
    """All drivers of a job as the one that they act as, from one of them and what [driver] says.

    Raises
    ------
    JobError
        If they cannot be wired or mounted like that, or the coil is colder than 20 °C.
    """
    count, wiring = table.get("count", 1), table.get("wiring", "parallel")
    paired = table.get("mounted") == "isobaric"
    if paired and count != 2:
        raise JobError(
            f"driver: isobaric is two drivers, one behind the other, and count is {count}. Write "
            "count = 2; for two such pairs, keep a job of one of them."
        )
    kelvin = table.get("coil_temperature", 20.0) - 20.0
    if kelvin < 0:
        raise JobError(
            "driver: coil_temperature is below 20 °C, at which re is told. Write what a warm coil "
            'has, such as "90 °C", or leave it out.'
        )
    try:
        all_of_them = isobaric(driver, wiring) if paired else together(driver, count, wiring)
        return warmed(all_of_them, kelvin)
    except ValueError as error:
        raise JobError(f"driver: {error}") from None


def coil_share(table: Mapping) -> float:
    """Ohms of one driver over those of one of its voice coils, as they are joined in a job."""
    coils = table.get("coils", 1)
    joined = {"parallel": 1 / coils, "series": float(coils), "one alone": 1.0}
    return joined[table.get("coil_wiring", "parallel")]


def joined_unsaid(table: Mapping) -> dict[str, Known]:
    """How coils and drivers are joined where a job does not say so, by "driver.key"."""
    usual = Known("parallel", "assumed", why="common practice; the load hangs on it: look")
    asked = {"coil_wiring": table.get("coils", 1), "wiring": table.get("count", 1)}
    return {f"driver.{key}": usual for key, n in asked.items() if n > 1 and key not in table}


def shares_of(table: Mapping) -> tuple[float, float]:
    """Ohms and Vas of all drivers of a job over those of one."""
    one = Driver(re=4.0, le=1e-3, bl=10.0, mms=0.1, cms=2e-4, rms=2.0, sd=0.03)  # any driver
    both = drivers_of(one, {k: v for k, v in table.items() if k != "coil_temperature"})
    return float(both.re / one.re), float(both.vas() / one.vas())


def losses_of(kind, known, ql: Known) -> dict[str, float]:
    """What a box of this kind loses where, as its class takes it; `known` gives a key of [box].

    Raises
    ------
    JobError
        If radiators are said to lose what a port does.
    """
    if kind == "sealed":
        return {}
    found = {"ql": ql} | {name: known(name) for name in ("qa", "qp")}
    if kind == "radiator" and found["qp"]:
        raise JobError("qp is a port's friction: write that of a radiator as rms or qmp.")
    return {name: each.value for name, each in found.items() if each}


def ported_box(volume, table: Mapping, fb, ends=None, **losses) -> PortedBox:
    """The ported box of a job.

    Parameters
    ----------
    volume : m³
    table : what the job says under [box], in SI
    fb : Hz, or None; it counts where no port_length is given
    ends : what the ends of a port of given length add: 0 for their least, 1 for their most; as
        usual if left out
    losses : ql, qa and qp, as `losses_of` gives them

    Raises
    ------
    JobError
        If something of the port is missing, or belongs to another kind of port.
    """
    count = table.get("ports", 1)
    if "port_length" not in table and fb is None:
        raise JobError("How long the port is, is missing: write port_length, or fb if known.")
    kind = port_kind(table)
    if kind == "round":
        area = table.get("port_area")
        if area is None and "port_diameter" in table:
            area = disc_area(table["port_diameter"])
        if area is None:
            raise JobError("The port is missing: write port_diameter or port_area under [box].")
        if "port_length" in table:
            long, wide = table["port_length"], disc_diameter(area)
            port = Port(area, long) if ends is None else _ended(Flare(wide, long, wide), ends)
            return PortedBox(volume, port, count=count, **losses)
        return PortedBox.tuned(volume, fb, area, count=count, **losses)
    length = table.get("port_length")
    shape = as_built(volume, table, 1.0 if length is None else length)
    if length is None:
        shape, ends = length_for(shape, volume, fb, count), None
    port = shape.port if ends is None else _ended(shape, ends)
    return PortedBox(volume, port, count=count, **losses)


def _ended(shape, most):
    """The plain port of a shape whose ends add their least (0) or their most (1)."""
    least = shape.ends.least
    return Port(shape.area, shape.even, least + most * (shape.ends.most - least))


def weights_of(table: Mapping, count: int) -> tuple[float, ...]:
    """Weights on each of `count` radiators, kg, as a job's [radiator] table says them.

    Raises
    ------
    JobError
        If a list of weights is not as long as there are radiators.
    """
    added = table.get("added_mass", 0.0)
    if not isinstance(added, list):
        return (added,) * max(count, 1)
    if len(added) != count:
        raise JobError(
            f"radiator.added_mass lists {len(added)} weights for count = {count}: write one for "
            'each radiator, such as ["150 g", "0 g"], or one alone where all have the same.'
        )
    return tuple(added)


def radiator_box(volume, radiator: Radiator, weights, **losses) -> RadiatorBox | MixedRadiatorBox:
    """A box with one radiator for each weight, kg; a RadiatorBox where all weigh the same."""
    if len(set(weights)) == 1:
        return RadiatorBox(volume, radiator.with_mass(weights[0]), count=len(weights), **losses)
    return MixedRadiatorBox.weighted(volume, radiator, list(weights), **losses)


def port_kind(table: Mapping) -> str:
    """ "round", "slot" or "flare": as said by port_kind, or else by what else is said.

    Raises
    ------
    JobError
        If something is said that belongs to another kind.
    """
    guess = "slot" if {"slot_width", "slot_height"} & set(table) else "round"
    kind = table.get("port_kind", "flare" if "port_flare" in table else guess)
    others = {key for keys in _SAID.values() for key in keys} - set(_SAID[kind])
    wrong = sorted(others & set(table))
    if wrong:
        raise JobError(
            f"{', '.join(wrong)} does not belong to a {kind} port, which is said by "
            f"{', '.join(_SAID[kind])}. Take it out, or write another port_kind."
        )
    return kind


def as_built(volume, table: Mapping, length) -> Slot | Flare:
    """The slot or flare of a job, `length` m along its centre line.

    A slot on three walls stands in a box of the usual shape: the job does not say how high it is.
    """
    kind = port_kind(table)
    needed = {"slot": ("slot_width", "slot_height"), "flare": ("port_diameter", "port_flare")}[kind]
    missing = [key for key in needed if key not in table]
    if missing:
        raise JobError(f"The {kind} is missing: write {' and '.join(missing)} under [box].")
    if kind == "flare":
        diameter = table["port_diameter"]
        return Flare(diameter, length, diameter + 2 * table["port_flare"])
    walls = table.get("port_walls", 0)
    room = float(inside_edges(volume)[-1]) if walls == 3 else None
    return Slot(table["slot_width"], table["slot_height"], length, walls, room)


def built_like(box, table: Mapping) -> Slot | Flare | None:
    """The slot or flare that the ports of `box` are, if they are of the job's kind and area."""
    if not isinstance(box, PortedBox) or port_kind(table) == "round":
        return None
    shape = as_built(box.volume, table, 1.0)
    if abs(float(shape.area / box.port.area) - 1) > 1e-3:
        return None
    return replace(shape, length=1.0 + float(box.port.length - shape.even))


def air_of(table: Mapping) -> Air:
    """The air that a job is asked about: 20 °C at sea level, but for what it says under [air].

    Raises
    ------
    JobError
        For a height or a temperature that no such air has.
    """
    try:
        return Air.at_altitude(table.get("altitude", 0.0), table.get("temperature", 20.0))
    except ValueError as error:
        raise JobError(f"air: {error}") from None
