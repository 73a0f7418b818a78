"""Port or radiator: the same driver in the same box at the same tuning, both ways."""

from __future__ import annotations

import numpy as np

from boxlab.base.units import to_mm
from boxlab.draw.scene import Choice, Explainer, Line, Mark, Scene, Slider
from boxlab.explainers import _three_boxes_words as words
from boxlab.explainers._cuts import two_boxes
from boxlab.explainers._shared import FREQUENCY, against_frequency
from boxlab.explainers._three_boxes import VIEWS, trio
from boxlab.gear.scenario import USUAL_QL
from boxlab.gear.shelf import DRIVERS
from boxlab.model.response import solve
from boxlab.model.validity import PORT_SPEED

__all__ = ["EXPLAINERS", "VIEWS", "scene", "trio"]


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
    facts = words.facts(driver, three, a, b)
    return Scene(
        shows={"radiator": a, "port": b, "sealed": s},
        cutaway=two_boxes(
            (driver, three.radiator), (driver, three.ported), fb, drive, names=("radiator", "port")
        ),
        title=f"Port or radiator: {volume:g} L tuned to {fb:g} Hz",
        plots=upper + lower,
        headline=words.headline(facts, fb),
        readout=words.readout(facts, fb, drive),
        numbers=words.numbers(facts, driver, three, drive),
        caption=words.caption(facts, size, volume, fb, drive),
        alt=words.alt(facts, fb, null, view),
        code=words.code(size, volume, fb, port, softness, count, ql, drive),
        warnings=facts["warnings"],
    )


def _level_plot(a, b, s, fb, null):
    return against_frequency(
        "Sound level at 1 m, half space",
        "level, dB re 20 µPa",
        (60, 120),
        (
            Line(FREQUENCY, s.spl, "sum", "sealed", "sealed"),
            Line(FREQUENCY, b.spl, "sum", "port", "ported"),
            Line(FREQUENCY, a.spl, "sum", "radiator", "radiator"),
        ),
        (Mark(fb, f"tuning {fb:g} Hz"), Mark(null, f"null {null:.1f} Hz", "vent")),
    )


def _cone_plot(a, b, s, driver, fb):
    return against_frequency(
        "Cone travel",
        "cone excursion, mm peak",
        (0, 30),
        (
            Line(FREQUENCY, to_mm(s.cone_excursion), "cone", "sealed", "sealed"),
            Line(FREQUENCY, to_mm(b.cone_excursion), "cone", "port", "ported"),
            Line(FREQUENCY, to_mm(a.cone_excursion), "cone", "radiator", "radiator"),
        ),
        (*_stop(driver.xmax), Mark(fb, "tuning")),
    )


def _stop(xmax):
    """The mark of a travel, m, where it is known."""
    there = np.isfinite(xmax)
    return (Mark(float(to_mm(xmax)), f"Xmax {to_mm(xmax):.0f} mm", "limit", "y"),) if there else ()


def _radiator_plot(a, box):
    return against_frequency(
        "Radiator travel",
        "radiator excursion, mm peak",
        (0, 40),
        (Line(FREQUENCY, to_mm(a.vent_excursion), "vent", "radiator", "radiator"),),
        _stop(box.radiator.xmax),
    )


def _air_plot(b):
    return against_frequency(
        "Air speed in the port",
        "air speed, m/s peak",
        (0, 60),
        (Line(FREQUENCY, b.vent_air_speed, "vent", "port", "ported"),),
        (Mark(PORT_SPEED, f"noise likely above {PORT_SPEED:g} m/s", "limit", "y"),),
    )


def _impedance_plot(a, b, s, fb):
    return against_frequency(
        "Impedance",
        "magnitude of impedance, Ω",
        (0, 60),
        (
            Line(FREQUENCY, np.abs(s.impedance), "electrical", "sealed", "sealed"),
            Line(FREQUENCY, np.abs(b.impedance), "electrical", "port", "ported"),
            Line(FREQUENCY, np.abs(a.impedance), "electrical", "radiator", "radiator"),
        ),
        (Mark(fb, f"tuning {fb:g} Hz"),),
    )


def _delay_plot(a, b, s, fb):
    return against_frequency(
        "Group delay",
        "group delay, ms",
        (0, 40),
        (
            Line(FREQUENCY, 1e3 * s.group_delay, "sum", "sealed", "sealed"),
            Line(FREQUENCY, 1e3 * b.group_delay, "sum", "port", "ported"),
            Line(FREQUENCY, 1e3 * a.group_delay, "sum", "radiator", "radiator"),
        ),
        (Mark(fb, f"tuning {fb:g} Hz"),),
    )


EXPLAINERS = (
    Explainer(
        name="port_or_radiator",
        question="Port or radiator: what changes in the same box at the same tuning?",
        controls=(
            Choice("size", "Driver and radiator", tuple(DRIVERS), "ten-inch"),
            Slider("volume", "Net volume", 10, 72, 14, 0.5, "L"),
            Slider("fb", "Tuning", 34, 60, 45, 0.5, "Hz"),
            Slider("drive", "Drive", 2, 40, 20, 1, "V"),
            Slider("port", "Port, inside diameter", 50, 150, 100, 2, "mm"),
            Choice("view", "Show besides", VIEWS, VIEWS[0]),
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
            Choice("count", "Radiators", ("one", "two"), "one", more=True),
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
        presets={
            "ten-inch, 14 L": {},
            "twelve-inch, 64 L": {
                "size": "twelve-inch",
                "volume": 64.0,
                "fb": 35.0,
                "port": 140.0,
                "count": "two",
            },
        },
    ),
)
