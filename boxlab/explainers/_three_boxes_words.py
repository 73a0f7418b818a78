"""What the explainer on port or radiator says: readout, numbers, caption, description, code."""

from __future__ import annotations

import numpy as np

from boxlab.base.units import to_cm, to_grams, to_litres, to_mm
from boxlab.draw.scene import Number
from boxlab.explainers import _shared as shared
from boxlab.explainers._shared import FREQUENCY
from boxlab.explainers._three_boxes import COUNTS, VIEWS, amplifier
from boxlab.gear.shelf import current
from boxlab.model.limits import UnknownLimitError, max_output
from boxlab.model.port_equivalent import longest_edge, pipe_length, straight_room
from boxlab.model.response import solve
from boxlab.model.vents import Port


def facts(driver, three, a, b):
    """Everything the words need, each from the solved answer."""
    radiator_box, ported_box = three.radiator, three.ported
    fb, net, port = float(ported_box.tuning()), ported_box.volume, ported_box.port
    diameter = np.sqrt(4 * port.area / np.pi)
    pipe = Port(port.area, max(float(pipe_length(net, fb, port.area)), 0.0))
    octaves = [fb / 2, 2 * fb]
    one = solve(driver, radiator_box, octaves).spl
    other = solve(driver, ported_box, octaves).spl
    band = 0.7 * fb <= FREQUENCY
    try:
        ceilings = [
            max_output(driver, box, FREQUENCY[band], power=amplifier(), load=driver.re)
            for box in (radiator_box, ported_box)
        ]
    except UnknownLimitError:
        ceilings = []
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


def caption(f, size, volume, fb, drive):
    """The caption under the picture."""
    start = (
        f"The same {size} driver in {volume:g} L ({shared.cubic_feet_text(volume)}) at {drive:g} V:"
        f" with a radiator (solid), with a port (dashed), and sealed (dotted)"
    )
    if not f["same"] and current() is None:
        return start + (
            f". The radiator is too heavy for {fb:g} Hz and tunes the box to {f['tuning']:.1f} Hz; "
            f"its null is at {f['null']:.1f} Hz."
        )
    tuned = f"tuned to {fb:g} Hz"
    if current() is not None:  # in the same words for all that is assumed, to be told as ranges
        tuned = f"the radiator tuned to {f['tuning']:.1f} Hz and the port to {fb:.1f} Hz"
    return start + (
        f", {tuned}. An octave above the tuning radiator and port are "
        f"{abs(f['above']):.1f} dB apart; below it the radiator falls faster, "
        f"to its null at {f['null']:.1f} Hz."
    )


def headline(f, fb):
    """The message: how much louder the port is above and below the tuning."""

    ways = [
        f"{abs(f[place]):.1f} dB {'louder' if f[place] >= 0 else 'softer'}"
        for place in ("below", "above")
    ]
    if not f["same"] or current() is not None:
        return (
            f"With the radiator tuned to {f['tuning']:.1f} Hz and the port to {fb:.1f} Hz, the "
            f"port plays {ways[0]} at {fb / 2:.4g} Hz and {ways[1]} at {2 * fb:.4g} Hz."
        )
    return (
        f"Tuned alike, the port plays {ways[0]} than the radiator at {fb / 2:.4g} Hz, an octave "
        f"below the tuning, and {ways[1]} at {2 * fb:.4g} Hz."
    )


def readout(f, fb, drive):
    """What the panel says under its picture, a sentence for each fact."""
    pipe = f["pipe"]
    tuned = f"{f['tuning']:.1f} Hz"
    if not f["same"] or current() is not None:
        tuned += f" (radiator), {fb:.1f} Hz (port)"
    fit = "fits" if f["fits"] else "does not fit"
    each = " on each" if f["count"] > 1 else ""
    return (
        f"Tuning {tuned}, null {f['null']:.1f} Hz. Port over radiator: {f['above']:.1f} dB at "
        f"{2 * fb:.4g} Hz, {f['below']:.1f} dB at {fb / 2:.4g} Hz.",
        f"Radiator: {to_grams(f['weights']):.0f} g of weights{each}; at {drive:g} V it travels "
        + (
            f"{to_mm(f['travel']):.1f} mm of its {to_mm(f['stop']):.0f} mm."
            if np.isfinite(f["stop"])
            else f"{to_mm(f['travel']):.1f} mm; its own limit is not known."
        ),
        f"Port: {to_cm(f['length']):.0f} cm long by the usual formula, "
        f"{to_cm(pipe.length):.0f} cm if its air is treated as a pipe; straight in a box with a "
        f"{to_cm(f['edge']):.0f} cm edge it {fit}. Its air reaches {f['speed']:.0f} m/s.",
        f"What stops a steady tone from {0.7 * fb:.1f} Hz up, {amplifier():g} W into Re: "
        f"{_ended(f['ceilings'])}.",
    )


def _ended(ceilings):
    if not ceilings:
        return "not known, for that hangs on xmax and pe of the driver"
    with_radiator, with_port = map(_stops, ceilings)
    return f"with the radiator, {with_radiator}; with the port, {with_port}"


def numbers(f, driver, three, drive):
    """The table of numbers."""
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


def alt(f, fb, null, view):
    """The description for those who do not see the picture."""
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


def code(size, volume, fb, port, softness, count, ql, drive):
    """The lines of Python that give the same again."""
    return (
        "from dataclasses import replace\n"
        "from boxlab import PortedBox, RadiatorBox, disc_area, litres, mm, mm_per_newton, solve\n"
        "from boxlab.gear.scenario import DRIVERS, RADIATORS\n"
        f"driver, volume, fb = DRIVERS[{size!r}], litres({volume:g}), {fb:g}\n"
        f"radiator = replace(RADIATORS[{size!r}], cms=mm_per_newton({softness:g}))\n"
        f"a = RadiatorBox.tuned(volume, fb, radiator, count={COUNTS[count]}, ql={ql:g})\n"
        f"b = PortedBox.tuned(volume, fb, disc_area(mm({port:g})), ql={ql:g})\n"
        f"for box in (a, b):\n"
        f"    print(solve(driver, box, [fb / 2, fb, 2 * fb], {drive:g}).spl)"
    )
