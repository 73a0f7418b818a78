"""Port or radiator: the same driver in the same box at the same tuning, both ways."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache
from types import MappingProxyType

import numpy as np

from boxlab.enclosure import PortedBox, RadiatorBox, SealedBox
from boxlab.limits import max_output
from boxlab.portfit import longest_edge, pipe_length, straight_room
from boxlab.response import solve
from boxlab.scenario import DRIVERS, RADIATORS, USUAL_QL
from boxlab.scene import Choice, Explainer, Line, Mark, Number, Plot, Scene, Slider
from boxlab.scenes import _shared as shared
from boxlab.scenes._shared import FREQUENCY
from boxlab.units import disc_area, litres, mm, mm_per_newton, to_cm, to_grams, to_litres, to_mm
from boxlab.validity import PORT_SPEED
from boxlab.vents import Port

VIEWS = ("what moves", "impedance and delay")
COUNTS = MappingProxyType({"one": 1, "two": 2})
AMPLIFIER = 300.0  # W into the coil's resistance, for the loudness limit in the readout


@dataclass(frozen=True, eq=False)
class Trio:
    """The three boxes of one net volume, and a word where the tuning is out of reach."""

    radiator: RadiatorBox
    ported: PortedBox
    sealed: SealedBox
    warning: str = ""


@lru_cache(maxsize=64)
def trio(size, volume, fb, port, softness, count, ql):
    """Radiator, ported and sealed box for settings as the panel gives them.

    Where even the bare radiator is too heavy for the tuning, it is taken bare.
    """
    net, n = litres(volume), COUNTS[count]
    radiator = replace(RADIATORS[size], cms=mm_per_newton(softness))
    ported = PortedBox.tuned(net, fb, disc_area(mm(port)), ql=ql)
    bare = RadiatorBox(net, radiator, n, ql)
    reached = float(bare.tuning())
    if reached >= fb:
        return Trio(RadiatorBox.tuned(net, fb, radiator, count=n, ql=ql), ported, SealedBox(net))
    warning = (
        f"With no weights at all, {count} {size} radiator{'s' * (n > 1)} would tune {volume:g} L "
        f"to {reached:.1f} Hz, which is what is drawn. {fb:g} Hz needs another radiator, a "
        "lighter one, or a smaller box."
    )
    return Trio(bare, ported, SealedBox(net), warning)


def scene(size, volume, fb, port, drive, view, softness, count, ql) -> Scene:
    """Both boxes for one setting of the controls (litres, Hz, mm, V, mm/N, and QL)."""
    driver = DRIVERS[size]
    three = trio(size, volume, fb, port, softness, count, ql)
    a = solve(driver, three.radiator, FREQUENCY, drive)
    b = solve(driver, three.ported, FREQUENCY, drive)
    s = solve(driver, three.sealed, FREQUENCY, drive)
    null = float(three.radiator.radiator.fp)
    upper = (_level_plot(a, b, s, fb, null), _cone_plot(a, b, s, driver, fb))
    lower = (
        (_radiator_plot(a, three.radiator), _air_plot(b))
        if view == VIEWS[0]
        else (_impedance_plot(a, b, s, fb), _delay_plot(a, b, s, fb))
    )
    facts = _facts(driver, three, a, b)
    return Scene(
        title=f"Port or radiator: {volume:g} L tuned to {fb:g} Hz",
        plots=upper + lower,
        readout=_readout(facts, fb, drive),
        numbers=_numbers(facts, driver, three, drive),
        caption=_caption(facts, size, volume, fb, drive),
        alt=_alt(facts, fb, null, view),
        code=_code(size, volume, fb, port, softness, count, ql, drive),
        warnings=facts["warnings"],
    )


def _level_plot(a, b, s, fb, null):
    return Plot(
        "Sound level at 1 m, half space",
        "frequency, Hz",
        "level, dB re 20 µPa",
        (10, 200),
        (60, 120),
        (
            Line(FREQUENCY, s.spl, "sum", "sealed", "sealed"),
            Line(FREQUENCY, b.spl, "sum", "port", "ported"),
            Line(FREQUENCY, a.spl, "sum", "radiator", "radiator"),
        ),
        (Mark(fb, f"tuning {fb:g} Hz"), Mark(null, f"null {null:.1f} Hz", "vent")),
    )


def _cone_plot(a, b, s, driver, fb):
    return Plot(
        "Cone travel",
        "frequency, Hz",
        "cone excursion, mm peak",
        (10, 200),
        (0, 30),
        (
            Line(FREQUENCY, to_mm(s.cone_excursion), "cone", "sealed", "sealed"),
            Line(FREQUENCY, to_mm(b.cone_excursion), "cone", "port", "ported"),
            Line(FREQUENCY, to_mm(a.cone_excursion), "cone", "radiator", "radiator"),
        ),
        (
            Mark(float(to_mm(driver.xmax)), f"Xmax {to_mm(driver.xmax):.0f} mm", "limit", "y"),
            Mark(fb, "tuning"),
        ),
    )


def _radiator_plot(a, box):
    stop = float(to_mm(box.radiator.xmax))
    return Plot(
        "Radiator travel",
        "frequency, Hz",
        "radiator excursion, mm peak",
        (10, 200),
        (0, 40),
        (Line(FREQUENCY, to_mm(a.vent_excursion), "vent", "radiator", "radiator"),),
        (Mark(stop, f"Xmax {stop:.0f} mm", "limit", "y"),),
    )


def _air_plot(b):
    return Plot(
        "Air speed in the port",
        "frequency, Hz",
        "air speed, m/s peak",
        (10, 200),
        (0, 60),
        (Line(FREQUENCY, b.vent_air_speed, "vent", "port", "ported"),),
        (Mark(PORT_SPEED, f"noise likely above {PORT_SPEED:g} m/s", "limit", "y"),),
    )


def _impedance_plot(a, b, s, fb):
    return Plot(
        "Impedance",
        "frequency, Hz",
        "magnitude of impedance, Ω",
        (10, 200),
        (0, 60),
        (
            Line(FREQUENCY, np.abs(s.impedance), "electrical", "sealed", "sealed"),
            Line(FREQUENCY, np.abs(b.impedance), "electrical", "port", "ported"),
            Line(FREQUENCY, np.abs(a.impedance), "electrical", "radiator", "radiator"),
        ),
        (Mark(fb, f"tuning {fb:g} Hz"),),
    )


def _delay_plot(a, b, s, fb):
    return Plot(
        "Group delay",
        "frequency, Hz",
        "group delay, ms",
        (10, 200),
        (0, 40),
        (
            Line(FREQUENCY, 1e3 * s.group_delay, "sum", "sealed", "sealed"),
            Line(FREQUENCY, 1e3 * b.group_delay, "sum", "port", "ported"),
            Line(FREQUENCY, 1e3 * a.group_delay, "sum", "radiator", "radiator"),
        ),
        (Mark(fb, f"tuning {fb:g} Hz"),),
    )


def _facts(driver, three, a, b):
    """Everything the words need, each from the solved answer."""
    radiator_box, ported_box = three.radiator, three.ported
    fb, net, port = float(ported_box.tuning()), ported_box.volume, ported_box.port
    diameter = np.sqrt(4 * port.area / np.pi)
    pipe = Port(port.area, max(float(pipe_length(net, fb, port.area)), 0.0))
    octaves = [fb / 2, 2 * fb]
    one = solve(driver, radiator_box, octaves).spl
    other = solve(driver, ported_box, octaves).spl
    band = 0.7 * fb <= FREQUENCY
    ceilings = [
        max_output(driver, box, FREQUENCY[band], power=AMPLIFIER, air_speed=PORT_SPEED)
        for box in (radiator_box, ported_box)
    ]
    weights = float(radiator_box.radiator.added_mass)
    warnings = [three.warning] if three.warning else []
    if weights > 2 * radiator_box.radiator.mms:
        warnings.append(
            f"{to_grams(weights):.0f} g is over twice the radiator's own moving mass; many "
            "suspensions sag or rock under that. Ask its maker, or take a larger radiator."
        )
    return {
        "tuning": float(radiator_box.tuning()),
        "same": not three.warning,
        "count": radiator_box.count,
        "weights": weights,
        "null": float(radiator_box.radiator.fp),
        "length": float(port.length),
        "pipe": pipe,
        "edge": float(longest_edge(net, pipe)),
        "fits": bool(straight_room(net, fb, diameter) >= 0),
        "below": float(other[0] - one[0]),
        "above": float(other[1] - one[1]),
        "speed": float(b.vent_air_speed[band].max()),
        "travel": float(a.vent_excursion[band].max()),
        "stop": float(radiator_box.radiator.xmax),
        "ceilings": ceilings,
        "warnings": tuple(warnings),
    }


def _stops(ceiling):
    """What stops a steady sine, in the order of frequency, up to 120 Hz."""
    f, names = ceiling.frequency, np.asarray(ceiling.limit)
    starts = np.flatnonzero(np.concatenate(([True], names[1:] != names[:-1])) & (f < 120))
    if len(starts) == 1:
        return f"{names[0]} throughout"
    ends = [f"up to {f[stop - 1]:.0f} Hz" for stop in starts[1:]] + ["above that"]
    return ", ".join(f"{names[k]} {end}" for k, end in zip(starts, ends, strict=True))


def _caption(f, size, volume, fb, drive):
    start = (
        f"The same {size} driver in {volume:g} L ({shared.cubic_feet_text(volume)}) at {drive:g} V:"
        f" with a radiator (solid), with a port (dashed), and sealed (dotted)"
    )
    if not f["same"]:
        return start + (
            f". The radiator is too heavy for {fb:g} Hz and tunes the box to {f['tuning']:.1f} Hz; "
            f"its null is at {f['null']:.1f} Hz."
        )
    return start + (
        f", tuned to {fb:g} Hz. An octave above the tuning radiator and port are "
        f"{abs(f['above']):.1f} dB apart; below it the radiator falls faster, "
        f"to its null at {f['null']:.1f} Hz."
    )


def _readout(f, fb, drive):
    pipe = f["pipe"]
    tuned = f"{f['tuning']:.1f} Hz" + ("" if f["same"] else f" (radiator), {fb:g} Hz (port)")
    fit = "fits" if f["fits"] else "does not fit"
    each = " on each" if f["count"] > 1 else ""
    return (
        f"Tuning {tuned}, null {f['null']:.1f} Hz. Port over radiator: {f['above']:.1f} dB at "
        f"{2 * fb:g} Hz, {f['below']:.1f} dB at {fb / 2:g} Hz.",
        f"Radiator: {to_grams(f['weights']):.0f} g of weights{each}; at {drive:g} V it travels "
        f"{to_mm(f['travel']):.1f} of its {to_mm(f['stop']):.0f} mm.",
        f"Port: {to_cm(f['length']):.0f} cm long by the usual formula, "
        f"{to_cm(pipe.length):.0f} cm if its air is treated as a pipe; straight in a box with a "
        f"{to_cm(f['edge']):.0f} cm edge it {fit}. Its air reaches {f['speed']:.0f} m/s.",
        f"What stops a steady tone from {0.7 * fb:.1f} Hz up, with a {AMPLIFIER:g} W amplifier: "
        f"with the radiator, {_stops(f['ceilings'][0])}; with the port, "
        f"{_stops(f['ceilings'][1])}.",
    )


def _numbers(f, driver, three, drive):
    pipe, net = f["pipe"], three.sealed.volume
    return (
        shared.volume_number("net volume", net),
        shared.hertz("tuning", f["tuning"]),
        Number("drive into the coil's resistance", f"{drive**2 / driver.re:.0f} W"),
        shared.mass_number("weights on a radiator", f["weights"]),
        shared.hertz("null at the radiator's own resonance", f["null"]),
        Number(
            "Vap of the radiators over the net volume",
            f"{three.radiator.count * three.radiator.radiator.vap() / net:.1f}",
        ),
        shared.travel_number("largest radiator travel from 0.7 fb up", f["travel"]),
        shared.length_number("port length, usual formula", f["length"]),
        shared.length_number("port length, air as a pipe", pipe.length),
        shared.length_number("longest inside edge (8 : 6 : 5)", f["edge"]),
        Number(
            "space the port's air takes",
            f"{to_litres(pipe.volume):.1f} L",
            f"{shared.cubic_feet_text(to_litres(pipe.volume))}",
        ),
        shared.hertz("first pipe resonance of the port", float(pipe.first_pipe_resonance())),
        Number("fastest port air", f"{f['speed']:.1f} m/s", f"{f['speed'] / 0.3048:.0f} ft/s"),
    )


def _alt(f, fb, null, view):
    lower = (
        "Lower left: radiator travel in millimetres, 0 to 40; lower right: air speed in the port, "
        f"0 to 60 metres a second, up to {f['speed']:.0f} from 0.7 times the tuning up."
        if view == VIEWS[0]
        else "Lower left: impedance in ohms, 0 to 60, two peaks with a minimum near tuning for "
        "port and radiator, one peak for sealed; lower right: group delay, 0 to 40 milliseconds."
    )
    return (
        "Four line plots against frequency, 10 to 200 Hz, log axis. Upper left: sound level in dB "
        "re 20 µPa, 60 to 120, for radiator, port and sealed; above the tuning of "
        f"{fb:g} Hz radiator and port are {abs(f['above']):.1f} dB apart, below it they part, the "
        f"radiator with a null at {null:.1f} Hz. "
        "Upper right: cone excursion in millimetres, 0 to 30, least near tuning for radiator and "
        "port. " + lower
    )


def _code(size, volume, fb, port, softness, count, ql, drive):
    return (
        "from dataclasses import replace\n"
        "from boxlab import PortedBox, RadiatorBox, disc_area, litres, mm, mm_per_newton, solve\n"
        "from boxlab.scenario import DRIVERS, RADIATORS\n"
        f"driver, volume, fb = DRIVERS[{size!r}], litres({volume:g}), {fb:g}\n"
        f"radiator = replace(RADIATORS[{size!r}], cms=mm_per_newton({softness:g}))\n"
        f"a = RadiatorBox.tuned(volume, fb, radiator, count={COUNTS[count]}, ql={ql:g})\n"
        f"b = PortedBox.tuned(volume, fb, disc_area(mm({port:g})), ql={ql:g})\n"
        f"for box in (a, b):\n"
        f"    print(solve(driver, box, [fb / 2, fb, 2 * fb], {drive:g}).spl)"
    )


EXPLAINERS = (
    Explainer(
        name="port_or_radiator",
        question="Port or radiator: what changes in the same box at the same tuning?",
        controls=(
            Choice("size", "Driver and radiator", tuple(DRIVERS), "ten-inch"),
            Slider("volume", "Net volume", 10, 72, 14, 0.5, "L", imperial=shared.cubic_feet_text),
            Slider("fb", "Tuning", 34, 60, 45, 0.5, "Hz"),
            Slider("drive", "Drive", 2, 40, 20, 1, "V"),
            Slider(
                "port", "Port, inside diameter", 50, 150, 100, 2, "mm", imperial=shared.inches_text
            ),
            Choice("view", "Lower row", VIEWS, VIEWS[0]),
            Slider(
                "softness",
                "Radiator compliance",
                0.2,
                2.0,
                0.6,
                0.05,
                "mm/N",
                more=True,
                help="Softer moves the null down and away from the band.",
            ),
            Choice("count", "Radiators", tuple(COUNTS), "one", more=True),
            Slider("ql", "Leakage loss QL", 3, 30, USUAL_QL, 0.5, "", more=True),
        ),
        scene=scene,
        lesson="01-port-or-radiator.ipynb",
        anchor="See",
        answer=(
            "Above the tuning a radiator does what a port does; below it the radiator falls off "
            "faster, with a null at its own resonance. In a small box the port that would do the "
            "job is longer than the box."
        ),
        presets=MappingProxyType(
            {
                "half a cubic foot": {},
                "2.5 cubic feet": {
                    "size": "twelve-inch",
                    "volume": 71.0,
                    "fb": 34.0,
                    "port": 140.0,
                    "count": "two",
                },
            }
        ),
    ),
)
