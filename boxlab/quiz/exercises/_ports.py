"""Exercises on ports of the lesson "port or radiator": length, and air speed."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np

from boxlab.base.units import disc_area, litres, mm, to_cm, to_cubic_feet, to_inches, to_mm
from boxlab.design.swept_volume import swept_volume
from boxlab.model.port_equivalent import usual_length
from boxlab.model.validity import PORT_SPEED, inside_edges
from boxlab.quiz.task import Exercise


def volume_text(volume):
    """A net volume in litres and cubic feet."""
    return f"{volume:g} L ({to_cubic_feet(litres(volume)):.2f} ft³)"


def _draw_port(rng):
    return SimpleNamespace(
        volume=int(rng.integers(24, 40)) / 2,
        fb=int(rng.integers(38, 48)),
        diameter=5 * int(rng.integers(16, 23)),
    )


def _port_length(n):
    return to_cm(usual_length(litres(n.volume), n.fb, disc_area(mm(n.diameter))))


def _ends(n):
    return 1.4615 * n.diameter / 20  # cm


port_length = Exercise(
    "port-or-radiator/port-length",
    title="How long is the port that does the same?",
    draw=_draw_port,
    prompt=lambda n: (
        f"Instead of a radiator, a round port of {n.diameter} mm "
        f"({to_inches(mm(n.diameter)):.1f} in) inside is to tune {volume_text(n.volume)} net to "
        f"{n.fb} Hz. How long must it be, by the usual formula? Take c = 343 m/s and ends of "
        "1.46 radii together. Would you get it in?"
    ),
    answer=_port_length,
    unit="cm",
    formula="L = S·c²/(V·(2·π·fb)²) − 1.46·r, S = π·r²",
    letters=lambda n: {
        "S": disc_area(mm(n.diameter)),
        "c": 343.0,
        "V": litres(n.volume),
        "fb": n.fb,
        "r": mm(n.diameter) / 2,
    },
    slips={
        "That is the length with its ends. The air just outside moves too and counts for "
        "1.46 radii; the pipe itself is shorter by that.": lambda n: _port_length(n) + _ends(n),
        "The diameter was used where the radius belongs.": lambda n: to_cm(
            usual_length(litres(n.volume), n.fb, disc_area(mm(2 * n.diameter)))
        ),
        "The ends were taken from the diameter instead of the radius.": lambda n: (
            _port_length(n) - _ends(n)
        ),
    },
    hints=lambda n: (
        "The air in the port is a mass on the spring of the box air. Which length gives it the "
        "right mass?",
        "L = S·c²/(V·ωb²) − 1.46·r, all in metres, square metres and cubic metres.",
        f"S = {1e4 * disc_area(mm(n.diameter)):.1f} cm², ωb = {2 * np.pi * n.fb:.0f} rad/s; "
        f"with its ends the length is {_port_length(n) + _ends(n):.1f} cm.",
    ),
    solution=lambda n: (
        f"S = {1e4 * disc_area(mm(n.diameter)):.1f} cm², so S·c²/(V·ωb²) = "
        f"{_port_length(n) + _ends(n):.1f} cm with its ends. Less 1.46·r = {_ends(n):.1f} cm that "
        f"is **{_port_length(n):.0f} cm**. An 8 : 6 : 5 box of that net volume is about "
        f"{to_cm(_edge(n)):.0f} cm long inside."
    ),
)


def _edge(n):
    return inside_edges(litres(n.volume))[0]


def _draw_speed(rng):
    return SimpleNamespace(fb=int(rng.integers(32, 47)), spl=int(rng.integers(100, 111)))


def _quiet(n, swept=1.0, speed=PORT_SPEED):
    flow = swept * 2 * np.pi * n.fb * swept_volume(n.fb, n.spl)
    return float(to_mm(np.sqrt(4 * flow / (np.pi * speed))))


quiet_port = Exercise(
    "port-or-radiator/quiet-port",
    title="How wide must a port be to keep quiet?",
    draw=_draw_speed,
    prompt=lambda n: (
        f"At its tuning of {n.fb} Hz a box is to give {n.spl} dB at 1 m (half space, a steady "
        "tone), and the port does all of it. That takes a peak volume displacement of "
        f"{1e3 * float(swept_volume(n.fb, n.spl)):.2f} L. Which inside diameter keeps the air "
        f"below {PORT_SPEED:g} m/s peak?"
    ),
    answer=_quiet,
    unit="mm",
    formula="d = √(4·S/π), S = 2·π·f·displacement/v",
    letters=lambda n: {
        "f": n.fb,
        "displacement": round(1e3 * float(swept_volume(n.fb, n.spl)), 2) / 1e3,
        "v": PORT_SPEED,
    },
    slips={
        "You took the displacement for the flow of one second; the flow is ω times it.": lambda n: (
            _quiet(n, 1 / (2 * np.pi * n.fb))
        ),
        "The flow came out 2π too small: ω = 2π·f.": lambda n: _quiet(n, 1 / (2 * np.pi)),
        "Peak for rms: the displacement given is a peak already.": lambda n: _quiet(n, np.sqrt(2)),
        "You stopped at a radius; the question asks for the diameter.": lambda n: _quiet(n) / 2,
    },
    hints=lambda n: (
        "Speed is flow through area. The displacement swings back and forth: how fast is it at "
        "its fastest?",
        f"Peak flow = 2π·f·displacement. Area = flow / {PORT_SPEED:g} m/s. Diameter = √(4·S/π).",
        f"The area comes out at {1e4 * disc_area(mm(_quiet(n))):.0f} cm².",
    ),
    solution=lambda n: (
        f"Peak flow is 2π·{n.fb} times the displacement. Over "
        f"{PORT_SPEED:g} m/s that is {1e4 * disc_area(mm(_quiet(n))):.0f} cm², a diameter of "
        f"**{_quiet(n):.0f} mm** ({to_inches(mm(_quiet(n))):.1f} in)."
    ),
)
