"""Where the lumped model ends, as data that can be asked for.

Three bounds come with frequency: the cone stops being a simple source, the box air stops acting as
one spring, a port stops acting as one mass. The rest come with level: travel past Xmax, turbulent
air in a port, a hot coil.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from boxlab.base.units import inside_edges
from boxlab.model.air import Air
from boxlab.model.vents import PORT_SPEED


@dataclass(frozen=True)
class Bound:
    """One frequency, Hz, above which one part of the model no longer holds."""

    part: str
    frequency: float
    because: str


def bounds(driver, box, air=None):
    """The frequencies above which the lumped model of one driver in one box no longer holds.

    Returns a tuple of `Bound`, lowest first. For single designs, not arrays.
    """
    air = Air() if air is None else air
    c = air.speed_of_sound
    radius = np.sqrt(driver.sd / np.pi)
    found = [
        Bound("cone", float(c / (2 * np.pi * radius)), "ka = 1: the cone begins to beam"),
    ]
    if box is not None:
        edge = inside_edges(box.volume)[0]
        found.append(
            Bound(
                "box",
                float(c / (8 * edge)),
                f"a quarter of the first standing wave along {100 * edge:.0f} cm: the box air is "
                "already about a fifth softer than one simple spring",
            )
        )
    port = getattr(box, "port", None)
    if port is not None:
        found.append(
            Bound(
                "port",
                float(port.first_pipe_resonance(air) / 4),
                "a quarter of the port's first pipe resonance: its air no longer moves as one mass",
            )
        )
    return tuple(sorted(found, key=lambda bound: bound.frequency))


def beyond(response):
    """Sentences on where one answer of `solve` passes the limits set by level; () if nowhere.

    For a single design. The drive is the response's own voltage, taken as a steady sine.
    """
    r, notes = response, []

    def note(where, text):
        if where.any():
            low, high = r.frequency[where].min(), r.frequency[where].max()
            notes.append(f"{text} between {low:.0f} and {high:.0f} Hz.")

    note(r.cone_excursion > r.driver.xmax, "The cone is asked for more than Xmax")
    if hasattr(r.box, "radiator"):
        over = r.vent_excursion > r.box.radiator.xmax
        note(over, "The radiator is asked for more than its Xmax")
    if hasattr(r.box, "port"):
        fast = r.vent_air_speed > PORT_SPEED
        note(fast, f"Port air passes {PORT_SPEED:g} m/s: expect noise and compression")
    heat = np.abs(r.current) ** 2 * r.driver.re
    note(heat > r.driver.pe, "A steady sine would heat the coil past Pe")
    return tuple(notes)
