"""The formula sheet: two sides, made from what the library's docstrings say of themselves.

A docstring that works by a formula has it on a line of its own, "Formula: Vas = ρ·c²·Sd²·Cms".
The sheet puts those lines under headings, and says what each letter means. Tests work out every
line as it is printed and compare it with what the library returns.
"""

from __future__ import annotations

import importlib
import inspect
import re
from dataclasses import dataclass
from functools import reduce
from pathlib import Path

from boxlab.publish.notebooks import LESSONS

PAGE = LESSONS / "formulas.md"
COMMAND = "python -m boxlab formulas"

# heading -> where in the library the formula stands
SHEET = {
    "Driver": (
        "model.driver.Driver.fs",
        "model.driver.Driver.qes",
        "model.driver.Driver.qms",
        "model.driver.Driver.qts",
        "model.driver.Driver.vas",
        "model.driver.Driver.vd",
        "model.driver.Driver.reference_efficiency",
        "model.several.together",
        "model.several.isobaric",
        "model.several.between",
    ),
    "Warm coil": (
        "model.warm_coil.lost_midband",
        "model.warm_coil.settled_alone",
    ),
    "Port and radiator": (
        "model.vents.end_correction_of",
        "model.enclosure.PortedBox.tuned",
        "model.vents.Port.first_pipe_resonance",
        "model.port_ends.corner_cut",
        "model.port_ends.cone_length",
        "model.port_loss.port_q",
        "model.radiator.Radiator.fp",
        "model.radiator.Radiator.vap",
        "model.enclosure.RadiatorBox.tuned",
        "model.enclosure.RadiatorBox.tuning",
        "model.mixed_radiators.coupled_tunings",
        "model.enclosure.PortedBox.leak_conductance",
        "model.enclosure.PortedBox.absorption",
        "model.losses.vent_q",
        "model.losses.with_vent_q",
        "model.losses.total_q",
        "model.motion.phase_at_tuning",
    ),
    "Solved response": (
        "model.response.Response.pressure",
        "model.response.Response.spl",
        "model.response.Response.cone_excursion",
        "model.response.Response.vent_air_speed",
        "model.response.Response.power",
        "model.passband.efficiency_constant",
        "design.swept_volume.swept_volume",
    ),
    "Filters and supply": (
        "model.filters.HighPass",
        "model.filters.Peak",
        "model.power_stage.Supply.under",
        "model.power_stage.PowerStage.supply_voltage",
    ),
    "In the car": (
        "model.air.standard_pressure",
        "car.vehicle.Cabin.modes",
        "car.vehicle.pressure_lift",
        "car.cable.supply_current",
        "car.cable.Cable.drop",
        "car.restraint.mean_deceleration",
        "sound.hearing.allowed_time",
    ),
}

# Letters of the sheet -> what they are, with their unit. Tests see that none is missing or spare.
LETTERS = {
    "ρ": "density of air, kg/m³",
    "c": "speed of sound, m/s",
    "ω": "2πf, rad/s",
    "ωs": "at fs",
    "ωb": "at fb",
    "j": "√−1",
    "π": "3.1416",
    "fs": "driver's resonance, Hz",
    "Mms": "moving mass with its air, kg",
    "Cms": "compliance of the suspension, m/N",
    "Rms": "friction of the suspension, N·s/m",
    "Re": "coil's resistance, Ω",
    "Bl": "force factor, T·m",
    "Sd": "cone's area, m²",
    "Xmax": "linear excursion one way, m",
    "Qes": "electrical Q", "Qms": "mechanical Q", "Qts": "total Q",
    "Vas": "air as stiff as the suspension, m³",
    "Vd": "peak swept volume, m³",
    "η0": "reference efficiency, a ratio",
    "V": "box's or cabin's net volume, or the air between cones, m³ (V volts in P and I)",
    "Vb": "box's net volume, m³",
    "fb": "tuning, Hz",
    "L": "port's length, m (L level in dBA, and a cabin's length in m)",
    "S": "area of one port, m²",
    "n": "number of drivers, ports or radiators, or order of a filter",
    "ends": "length both ends add, m",
    "f1": "tuning with one of two alone free, Hz", "f2": "with the other alone, Hz",
    "fp1": "the one's own resonance, Hz", "fp2": "the other's, Hz",
    "Vas_pair": "Vas of an isobaric pair, m³",
    "Vas_n": "Vas of n equal drivers side by side, m³",
    "fp": "radiator's own resonance, Hz",
    "Mmp": "radiator's moving mass, kg",
    "Cmp": "its compliance, m/N",
    "Sp": "its area, m²",
    "Vap": "air as stiff as its suspension, m³",
    "C_AB": "V/(ρ·c²), m³/Pa",
    "C_AP": "n·Sp²·Cmp, m³/Pa",
    "QL": "Q of the leak", "QA": "Q of absorption in the box",
    "QR": "Q of the vent's friction (QP of a port)", "QB": "Q of all three together",
    "R_AB": "in series with the box air, Pa·s/m³", "R_P": "friction of all vents, Pa·s/m³",
    "Rmp": "a radiator's friction, N·s/m",
    "G_AL": "flow through the leak for each Pa, m³/(Pa·s)",
    "QP": "Q of the port's loss at speed", "K": "loss of its ends, 1 rounded to 1.5 sharp",
    "u": "air speed in it, m/s peak", "cut": "off a slot's length at a corner, m",
    "even": "length of an even tube, m", "run": "length of a cone, m",
    "d": "diameter of a port, m", "d_mouth": "diameter of its mouth, m",
    "height": "of a slot, or above the sea, m", "p_air": "pressure of the air, Pa",
    "lost": "level lost at the same voltage, dB", "α": "resistance rise per K, copper 0.00393",
    "ΔT": "coil above 20 °C, K", "R_th": "thermal resistance from coil to air, K/W",
    "P0": "power into the cold coil, W",
    "φ": "phase of vent against cone, °",
    "p": "sound pressure, Pa rms", "p0": "20 µPa", "SPL": "level, dB re 20 µPa",
    "U0": "cone + vent + leak, m³/s rms", "U_port": "flow of all ports, m³/s rms",
    "r": "distance, m", "k": "ω/c; and Small's constant, s³/m³",
    "v": "cone's velocity, m/s rms, or speed of the car, m/s", "x": "excursion, m peak",
    "v_port": "air speed, m/s peak", "I": "current, A rms", "Z": "impedance, Ω",
    "P": "power, W", "f3": "corner at −3 dB, Hz",
    "f": "frequency or resonance, Hz", "f0": "a filter's own, Hz", "y": "f/f0",
    "A": "10^(gain in dB/40)", "Q": "of a boost", "V0": "supply without load, V",
    "V_S": "supply at the amplifier, V", "R_S": "battery, cable and joints, Ω",
    "E": "sine at its rails over the supply's volts, a ratio", "G": "real(1/Z), S",
    "gain": "voltage out over voltage in, a ratio",
    "W": "cabin's width, m",
    "H": "its height, m; of a filter, out over in",
    "l": "0, 1, 2 … of a mode, or length of cable one way, m", "w": "as l", "h": "as l",
    "lift": "cabin over half space, a ratio", "give": "panels' share of compliance",
    "ω_leak": "corner of the leak, rad/s", "η": "output over input",
    "ΔV": "lost, V", "R_out": "of the lead, Ω/m", "R_back": "of the return, Ω/m",
    "a": "deceleration, m/s²", "s": "distance to stop, m",
    "T": "allowed time, h", "T0": "rule's time, h", "L0": "rule's level, dBA",
    "q": "exchange rate, dB",
}  # fmt: skip
LETTERS_OF = re.compile(r"(?<![\w.])[^\W\d²³][^\W²³]*")
FUNCTIONS = {"exp", "log10", "atan", "real"}


@dataclass(frozen=True)
class Entry:
    """A line of the sheet: where it is from, what it gives, and the formula."""

    place: str
    gives: str
    formula: str

    @property
    def letters(self) -> set[str]:
        """The letters that it uses."""
        return set(LETTERS_OF.findall(self.formula)) - FUNCTIONS


def entry(place: str) -> Entry:
    """What the docstring at `place`, such as "model.driver.Driver.fs", gives for the sheet.

    Raises
    ------
    ValueError
        If that docstring has no line "Formula: ...".
    """
    floor, room, *names = place.split(".")
    thing = reduce(inspect.getattr_static, names, importlib.import_module(f"boxlab.{floor}.{room}"))
    text = inspect.getdoc(thing) or ""
    found = re.search(r"^Formula: (.+)$", text, re.M)
    if not found:
        raise ValueError(f"boxlab.{place}: its docstring has no line that begins with 'Formula: '")
    first = re.sub(r" \([^)]*\)", "", text.split("\n\n")[0].replace("\n", " "))
    gives = re.split(r"[.:;](?:\s|$)", first)[0]
    return Entry(place, gives, found[1])


def page() -> str:
    """The sheet as Markdown."""
    parts = [
        "# Formula sheet",
        f"Made by `{COMMAND}` from the library's docstrings; please do not edit it by hand. SI "
        "units throughout: m³, kg, m², not L, g, cm². Terms are explained in the "
        "[glossary](glossary.md), their use in the [lessons](00-start-here.ipynb); which result is "
        "checked by which route, and with which published value, [here](checks.md).",
    ]
    for heading, places in SHEET.items():
        rows = [f"| {e.gives} | {_cell(e.formula)} | `{e.place}` |" for e in map(entry, places)]
        head = "| It gives | Formula | In `boxlab` |\n|---|---|---|"
        parts += [f"## {heading}", "\n".join([head, *rows])]
    letters = "; ".join(f"**{_cell(letter)}** {what}" for letter, what in LETTERS.items())
    return "\n\n".join([*parts, "## Letters", letters + "."]) + "\n"


def _cell(formula: str) -> str:
    """A formula as it may stand in a table of Markdown."""
    return re.sub(r"([|_*])", r"\\\1", formula)


def write(path: Path = PAGE) -> Path:
    """Write the sheet; returns its path."""
    path.write_text(page(), encoding="utf-8", newline="\n")
    return path
