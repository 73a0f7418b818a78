"""The keys of a job file, and what each may say.

A job file, `NAME.job.toml`, is plain TOML with each quantity as text with its unit, in any unit
that a panel understands. A key that there is not is refused with the nearest that there is.
"""

from __future__ import annotations

import difflib
from collections.abc import Mapping
from types import MappingProxyType

from boxlab.base.quantities import UNITS, find_unit
from boxlab.base.typed_values import UnreadableError, read
from boxlab.car.ampacity import LAID
from boxlab.gear.job_plausible import unlikely
from boxlab.model.relations import Known
from boxlab.model.several import WIRINGS

# kind of quantity for each key; "text", "count", "number", or one of boxlab's table of units
_MOVING = {
    "name": "text", "count": "count", "sd": "area", "size": "length", "mms": "mass",
    "cms": "compliance", "rms": "mechanical resistance", "xmax": "length", "frame": "length",
    "cutout": "length", "depth": "length", "weight": "mass",
}  # fmt: skip
KEYS: Mapping[str, Mapping[str, str]] = MappingProxyType(
    {
        "job": {"name": "text", "notes": "text", "date": "text"},
        "driver": _MOVING
        | {
            "coils": "count", "coil_wiring": "text", "wiring": "text", "mounted": "text",
            "coil_temperature": "temperature",
            "fs": "frequency", "qts": "number", "qes": "number",
            "qms": "number", "vas": "volume", "re": "resistance",
            "bl": "force factor", "le": "inductance", "semi_k": "number", "semi_n": "number",
            "l2": "inductance", "r2": "resistance",
            "pe": "power", "magnet": "length", "magnet_depth": "length",
        },
        "radiator": _MOVING
        | {"added_mass": "mass", "fp": "frequency", "vap": "volume", "qmp": "number"},
        "box": {
            "kind": "text", "volume": "volume", "ql": "number", "qa": "number", "qp": "number",
            "fb": "frequency",
            "ports": "count", "port_diameter": "length", "port_area": "area",
            "port_length": "length", "port_kind": "text", "slot_width": "length",
            "slot_height": "length", "port_walls": "count", "port_flare": "length",
            "board": "length", "weight": "mass",
        },
        "amplifier": {
            "name": "text", "voltage": "voltage", "minimum": "resistance", "rail": "voltage",
            "current": "current", "rated_at": "voltage", "efficiency": "number",
            "regulated": "text",
        },
        "supply": {"voltage": "voltage", "resistance": "resistance", "least": "voltage"},
        "filters": {
            "high_pass": "frequency", "high_pass_order": "count", "high_pass_q": "number",
            "low_pass": "frequency", "low_pass_order": "count", "low_pass_q": "number",
            "boost": "level", "boost_at": "frequency", "boost_q": "number",
            "shelf": "level", "shelf_at": "frequency", "shelf_q": "number",
        },
        "gap": {
            "width": "length", "height": "length", "depth_bottom": "length",
            "depth_top": "length",
        },
        "air": {"temperature": "temperature", "altitude": "length"},
        "cabin": {"length": "length", "width": "length", "height": "length"},
        "cable": {"length": "length", "supply": "voltage", "laid": "text"},
        "measurement": {
            "file": "text", "what": "text", "added_mass": "mass", "test_volume": "volume",
            "resistor": "resistance", "both_inputs": "text", "leads_shorted": "text",
        },
    }
)  # fmt: skip
KINDS = ("sealed", "ported", "radiator")
PORT_KINDS = ("round", "slot", "flare")
COIL_WIRINGS = ("parallel", "series", "one alone")
MOUNTED = ("side by side", "isobaric")  # isobaric: two, one behind the other
NEAR = ("close to the cone", "close to the radiator or port")  # microphone, and what was played
RISING = "rising level"  # of which there are several
WHAT = (
    "free air", "added mass", "closed test box", "as found", "radiators blocked", "after",
    RISING, *NEAR,
)  # fmt: skip
_CHOICES = {
    ("box", "kind"): KINDS, ("box", "port_kind"): PORT_KINDS, ("driver", "wiring"): WIRINGS,
    ("driver", "coil_wiring"): COIL_WIRINGS, ("driver", "mounted"): MOUNTED,
    ("measurement", "what"): WHAT, ("amplifier", "regulated"): ("yes", "no"),
    ("cable", "laid"): LAID,
}  # fmt: skip
_ZERO_TOO = {"added_mass", "altitude"}
_EXAMPLES = {
    "frequency": "31 Hz", "volume": "0.77 ft3", "area": "507 cm2", "length": "14 mm",
    "mass": "230 g", "resistance": "3.64 ohm", "compliance": "0.151 mm/N", "power": "500 W",
    "force factor": "15 T m", "inductance": "1.2 mH", "voltage": "12 V",
    "mechanical resistance": "4.5 N s/m", "current": "30 A", "level": "6 dB",
    "temperature": "-5 °C",
}  # fmt: skip


class JobError(ValueError):
    """A job file that cannot be used; the message says where, why, and what to write instead."""


def quantity(where: str, text: object, kind: str):
    """The SI value of what a job file says at `where`, by its kind of quantity.

    Raises
    ------
    JobError
        If it is no such quantity, or has no unit where it needs one.
    """
    if kind == "text":
        if not isinstance(text, str):
            raise JobError(f'{where} = {text!r}: write text, in quotes: "..."')
        return text
    if kind in ("count", "number") and isinstance(text, int | float) and not isinstance(text, bool):
        text = str(text)
    if not isinstance(text, str):
        example = _EXAMPLES.get(kind, "7")
        raise JobError(f'{where} = {text!r}: write a quantity with its unit: "{example}"')
    try:
        got = read(text)
    except UnreadableError as error:
        raise JobError(f"{where} = {text!r}: {error}") from None
    if got.other is not None:
        raise JobError(
            f"{where} = {text!r} may be {got.value:g} or {got.other:g}; write one of these."
        )
    if kind == "count":
        if got.unit or got.value != round(got.value) or not 1 <= got.value <= 64:
            raise JobError(f"{where} = {text!r}: count whole pieces: 1, 2, 3 ...")
        return int(got.value)
    if kind == "number":
        if got.unit is not None and got.unit.kind != "number":
            raise JobError(f"{where} = {text!r}: this is a plain number, without a unit.")
        value = got.value * (got.unit.size if got.unit else 1.0)
    elif got.unit is None or got.unit.kind != kind:
        units = ", ".join(unit.symbol for unit in UNITS[kind])
        article = "an" if kind[0] in "aeiou" else "a"
        raise JobError(
            f"{where} = {text!r}: this is {article} {kind}; write its unit ({units}), such as "
            f'"{_EXAMPLES.get(kind, "1")}".'
        )
    else:
        value = got.unit.into_si(got.value)
        wrong = unlikely(where.rpartition(".")[2], value, got.value, kind)
        if wrong and not where.startswith("measured."):
            raise JobError(f"{where} = {text!r}: {wrong}")
    free = kind in ("temperature", "level") or where.rpartition(".")[2] in _ZERO_TOO
    if not value > 0 and not free:
        raise JobError(f"{where} = {text!r}: it has to be above zero.")
    return value


def _misspelt(where, name, names):
    near = difflib.get_close_matches(name, names, n=1, cutoff=0.5)
    hint = f"did you mean {near[0]}?" if near else f"known are {', '.join(names)}"
    return JobError(f"{where} has no {name!r}: {hint}")


def parse(document: Mapping) -> dict[str, object]:
    """The tables of a job file with every quantity in SI: section -> key -> value.

    Raises
    ------
    JobError
        For a section or key that there is not (with the nearest there is), or a bad quantity.
    """
    out: dict[str, object] = {}
    for section, table in document.items():
        if section == "measured":
            out[section] = _measured(table)
            continue
        if section not in KEYS:
            raise _misspelt("the job file", section, [*KEYS, "measured"])
        many = section == "measurement"
        if not isinstance(table, list if many else Mapping):
            mark = f"[[{section}]]" if many else f"[{section}]"
            raise JobError(f"{section} is a table: write {mark} on a line of its own before it")
        rows = table if many else [table]
        read_rows = [
            _row(section, number + 1 if many else 0, row) for number, row in enumerate(rows)
        ]
        out[section] = read_rows if many else read_rows[0]
    return out


def _row(section, number, row):
    place = f"{section} {number}" if number else section
    values = {}
    for key, text in row.items():
        where = f"{place}.{key}"
        kind = KEYS[section].get(key)
        if section == "amplifier" and kind is None:
            load = _load(where, key)
            values.setdefault("ratings", {})[load] = quantity(where, text, "power")
            continue
        if kind is None:
            raise _misspelt(place, key, list(KEYS[section]))
        if key == "added_mass" and isinstance(text, list):
            values[key] = [quantity(where, each, kind) for each in text]
            continue
        values[key] = quantity(where, text, kind)
        choices = _CHOICES.get((section, key))
        if choices and values[key] not in choices:
            raise JobError(f"{where} = {text!r}: choose one of {', '.join(choices)}")
    return values


def _load(where, key):
    try:
        return quantity(where, key, "resistance")
    except JobError:
        names = [*KEYS["amplifier"], "4 ohm"]
        raise _misspelt("amplifier", key, names) from None


def _measured(tables):
    out = {}
    for section, table in tables.items():
        keys = KEYS.get("box" if section == "after" else section, {})  # the box after the work
        for key, text in table.items():
            kind = keys.get(key)
            if kind is None:
                raise _misspelt(f"measured.{section}", key, list(keys))
            first, _, rest = str(text).partition("±")
            unit = find_unit(rest.strip().split(" ", 1)[-1]) if " " in rest.strip() else None
            said = f"{first.strip()} {unit.symbol}" if unit and unit.symbol else first.strip()
            value = quantity(f"measured.{section}.{key}", said, kind)
            doubt = read(rest).value * (unit.size if unit else 1.0) if rest else 0.0
            out.setdefault(section, {})[key] = Known(
                value, "measured", value - doubt, value + doubt, str(text)
            )
    return out
