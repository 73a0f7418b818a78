"""Port or radiator: the same driver in the same box at the same tuning, both ways."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache

import numpy as np

from boxlab.air import Air
from boxlab.enclosure import PortedBox, RadiatorBox, SealedBox
from boxlab.limits import max_output
from boxlab.response import solve
from boxlab.scenario import DRIVERS, RADIATORS, USUAL_QL
from boxlab.scene import Choice, Explainer, Line, Mark, Number, Plot, Scene, Slider
from boxlab.scenes import _shared as shared
from boxlab.scenes._shared import FREQUENCY
from boxlab.units import disc_area, litres, mm, mm_per_newton, to_cm, to_grams, to_mm
from boxlab.validity import PORT_SPEED, inside_edges

VIEWS = ("what moves", "impedance and delay")
AMPLIFIER = 300.0  # W into the coil's resistance, for the loudness limit in the readout


@lru_cache(maxsize=64)
def _boxes(size, volume, fb, port, softness, ql):
    """The radiator box, the ported box, and the sealed box of the same net volume."""
    radiator = replace(RADIATORS[size], cms=mm_per_newton(softness))
    net = litres(volume)
    return (
        RadiatorBox.tuned(net, fb, radiator, ql=ql),
        PortedBox.tuned(net, fb, disc_area(mm(port)), ql=ql, max_length=20.0),
        SealedBox(net),
    )


def scene(size, volume, fb, port, softness, drive, view, ql) -> Scene:
    """Both boxes for one setting of the controls (litres, Hz, mm, mm/N, V, and QL)."""
    driver = DRIVERS[size]
    radiator_box, ported_box, sealed_box = _boxes(size, volume, fb, port, softness, ql)
    a = solve(driver, radiator_box, FREQUENCY, drive)
    b = solve(driver, ported_box, FREQUENCY, drive)
    s = solve(driver, sealed_box, FREQUENCY, drive)
    null = radiator_box.radiator.fp
    upper = (_level_plot(a, b, s, fb, null), _cone_plot(a, b, s, driver, fb))
    lower = (
        (_radiator_plot(a, radiator_box), _air_plot(b))
        if view == VIEWS[0]
        else (_impedance_plot(a, b, s, fb), _delay_plot(a, b, s, fb))
    )
    facts = _facts(driver, radiator_box, ported_box, a, b)
    return Scene(
        title=f"Port or radiator: {volume:g} L tuned to {fb:g} Hz",
        plots=upper + lower,
        readout=_readout(facts, fb),
        numbers=_numbers(facts, driver, radiator_box, ported_box, fb),
        caption=(
            f"The same {size} driver in {volume:g} L ({shared.cubic_feet_text(volume)}) tuned to "
            f"{fb:g} Hz at {drive:g} V, with a radiator (solid), a port (dashed) and sealed "
            "(dotted). Above tuning radiator and port agree; below it the radiator falls faster, "
            f"with its null at {null:.1f} Hz."
        ),
        alt=_alt(facts, fb, null, view),
        code=(
            f"port_or_radiator(size={size!r}, volume={volume:g}, fb={fb:g}, port={port:g}, "
            f"softness={softness:g}, drive={drive:g}, view={view!r}, ql={ql:g})"
        ),
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


def _facts(driver, radiator_box, ported_box, a, b):
    """Everything the words need, each from the solved answer."""
    port = ported_box.port
    fb = float(radiator_box.tuning())
    edge = float(inside_edges(ported_box.volume)[0])
    half = solve(driver, radiator_box, [fb / 2, 2 * fb]).spl
    half_ported = solve(driver, ported_box, [fb / 2, 2 * fb]).spl
    loudest = max_output(driver, radiator_box, FREQUENCY, power=AMPLIFIER)
    band = FREQUENCY >= 0.7 * fb
    stops = [str(w) for w in dict.fromkeys(loudest.limit[band])]
    weights = float(radiator_box.radiator.added_mass)
    warnings = []
    if weights > 2 * radiator_box.radiator.mms:
        warnings.append(
            f"{to_grams(weights):.0f} g is over twice the radiator's own moving mass; many "
            "suspensions sag or rock under that. Ask its maker, or take a larger radiator."
        )
    return {
        "weights": weights,
        "null": float(radiator_box.radiator.fp),
        "length": float(port.length),
        "edge": edge,
        "fits": port.length < edge - np.sqrt(port.area / np.pi),
        "share": float(port.volume / ported_box.volume),
        "pipe": float(port.first_pipe_resonance(Air())),
        "below": float(half_ported[0] - half[0]),
        "above": float(abs(half_ported[1] - half[1])),
        "speed": float(b.vent_air_speed.max()),
        "radiator travel": float(a.vent_excursion[band].max()),
        "stops": stops,
        "warnings": tuple(warnings),
    }


def _readout(f, fb):
    fit = (
        f"the port is {to_cm(f['length']):.0f} cm long and fits"
        if f["fits"]
        else f"the port would be {to_cm(f['length']):.0f} cm long, in a box whose longest inside "
        f"edge is about {to_cm(f['edge']):.0f} cm"
    )
    return (
        f"Tuning {fb:g} Hz both ways: the radiator carries {to_grams(f['weights']):.0f} g of "
        f"weights; {fit}.",
        f"The port's air takes {100 * f['share']:.0f} % more space beside the net volume, and its "
        f"pipe rings first at {f['pipe']:.0f} Hz.",
        f"Null at {f['null']:.1f} Hz. An octave below tuning the radiator is {f['below']:.1f} dB "
        f"under the port; an octave above, they are within {f['above']:.1f} dB.",
        f"With a {AMPLIFIER:g} W amplifier, a steady tone above {0.7 * fb:.0f} Hz is stopped by: "
        f"{', '.join(f['stops'])}.",
    )


def _numbers(f, driver, radiator_box, ported_box, fb):
    return (
        shared.volume_number("net volume", radiator_box.volume),
        shared.hertz("tuning", float(radiator_box.tuning())),
        shared.mass_number("weights on the radiator", f["weights"]),
        shared.hertz("null at the radiator's own resonance", f["null"]),
        shared.length_number("port length", f["length"]),
        shared.length_number("longest inside edge (8 : 6 : 5)", f["edge"]),
        shared.volume_number("space the port's air takes", ported_box.port.volume),
        shared.hertz("first pipe resonance of the port", f["pipe"]),
        Number("fastest port air", f"{f['speed']:.1f} m/s", f"{f['speed'] / 0.3048:.0f} ft/s"),
        shared.travel_number("largest radiator travel near and above tuning", f["radiator travel"]),
    )


def _alt(f, fb, null, view):
    lower = (
        "Lower left: radiator travel in millimetres; lower right: air speed in the port in metres "
        f"a second, up to {f['speed']:.0f}."
        if view == VIEWS[0]
        else "Lower left: impedance in ohms, two peaks with a minimum near tuning for port and "
        "radiator, one peak for sealed; lower right: group delay in milliseconds."
    )
    return (
        "Four line plots against frequency, 10 to 200 Hz, log axis. Upper left: sound level in dB, "
        "60 to 120, for radiator, port and sealed; radiator and port lie together above the tuning "
        f"of {fb:g} Hz and part below it, the radiator with a null at {null:.1f} Hz. Upper right: "
        "cone excursion in millimetres, least near tuning for radiator and port. " + lower
    )


EXPLAINERS = (
    Explainer(
        name="port_or_radiator",
        question="Port or radiator: what changes in the same box at the same tuning?",
        controls=(
            Choice("size", "Driver and radiator", tuple(DRIVERS), "ten-inch"),
            Slider("volume", "Net volume", 8, 40, 14, 0.5, "L", imperial=shared.cubic_feet_text),
            Slider("fb", "Tuning", 34, 60, 45, 0.5, "Hz"),
            Slider(
                "port", "Port, inside diameter", 50, 130, 100, 2, "mm", imperial=shared.inches_text
            ),
            Slider("drive", "Drive", 2, 40, 20, 1, "V"),
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
    ),
)
