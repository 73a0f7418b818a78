"""Where the lumped model ends, as data that can be asked for.

Three bounds come with frequency: the cone stops being a simple source, the box air stops acting as
one spring, a port stops acting as one mass. The rest come with level: travel past Xmax, turbulent
air in a port, a hot coil.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from boxlab.base.checks import positive
from boxlab.base.units import inside_edges
from boxlab.model.air import Air
from boxlab.model.any_box import Box
from boxlab.model.driver import Driver
from boxlab.model.enclosure import RadiatorBox
from boxlab.model.mixed_radiators import MixedRadiatorBox, each_radiator
from boxlab.model.response import Response
from boxlab.model.vents import PORT_SPEED

_EDGE = "The longest inside edge is in metres: use boxlab.cm(35)."


@dataclass(frozen=True)
class Bound:
    """One frequency, Hz, above which one part of the model no longer holds."""

    part: str
    frequency: float
    because: str


def bounds(driver: Driver, box: Box, air: Air | None = None) -> tuple[Bound, ...]:
    """The frequencies above which the lumped model of one driver in one box no longer holds.

    Returns a tuple of `Bound`, lowest first. For single designs, not arrays.

    >>> from boxlab.gear.scenario import TEN_INCH_DRIVER as driver
    >>> from boxlab.model.enclosure import SealedBox
    >>> bounds(driver, SealedBox(0.014))[0].frequency > 100
    True
    """
    air = Air() if air is None else air
    c = air.speed_of_sound
    radius = np.sqrt(driver.sd / np.pi)
    found = [
        Bound("cone", float(c / (2 * np.pi * radius)), "ka = 1: the cone begins to beam"),
    ]
    why = {
        "box": "a quarter of {}: the box air is already about a fifth softer than one simple "
        "spring",
        "port": "a quarter of {}: its air no longer moves as one mass",
    }
    for ring in () if box is None else resonances(box, air):
        words = why[ring.part].format(ring.because)
        found.append(Bound(ring.part, ring.frequency / 4, words))
    return tuple(sorted(found, key=lambda bound: bound.frequency))


def resonances(box: Box, air: Air | None = None, edge: float | None = None) -> tuple[Bound, ...]:
    """Where the box air and the port ring by themselves, Hz: marks to draw into a curve.

    A tuple of `Bound`, lowest first: "box", its first standing wave, half a wave along its longest
    inside edge (m; left out, that of 8 : 6 : 5), and "port", the first half wave of the pipe, where
    there is one. The model has neither. For a single design.

    >>> from boxlab.model.enclosure import SealedBox
    >>> resonances(SealedBox(0.014))[0].part
    'box'
    """
    air = Air() if air is None else air
    edge = float(inside_edges(box.volume)[0] if edge is None else positive("edge", edge, _EDGE))
    wave = f"the first standing wave along {100 * edge:.0f} cm"
    found = [Bound("box", float(air.speed_of_sound / (2 * edge)), wave)]
    port = getattr(box, "port", None)
    if port is not None:
        pipe = float(port.first_pipe_resonance(air))
        found.append(Bound("port", pipe, "the port's first pipe resonance"))
    return tuple(sorted(found, key=lambda bound: bound.frequency))


def edges(shown: Mapping[str, Response]) -> tuple[str, ...]:
    """Where the model stops in the present state, as a tuple of sentences; () if nowhere.

    One sentence on what comes with frequency, as far as the answer's frequencies reach: the cone
    that beams (ka), the box air that is one spring no more, the port's air that is one mass no
    more; of several boxes, the first. Then on what comes with level, as `beyond` has it: travel
    past Xmax, where suspension and motor are linear no more, port air that is too fast, and a coil
    that a steady sine would overheat.

    Parameters
    ----------
    shown : an answer of `solve` for a single design, or several, by name, as a dict

    Raises
    ------
    ValueError
        For an answer of many designs.

    >>> from boxlab import SealedBox, litres, solve
    >>> from boxlab.gear.scenario import TEN_INCH_DRIVER
    >>> edges(solve(TEN_INCH_DRIVER, SealedBox(litres(14)), [20.0, 200.0]))
    ('Not in the model: waves in the box above 138 Hz.',)
    """
    several = shown if isinstance(shown, Mapping) else {"": shown}
    ends, level = {}, {}
    for name, r in several.items():
        if np.shape(r.spl) != np.shape(r.frequency):
            raise ValueError(
                "edges takes the answer for a single design, got designs of shape "
                f"{np.shape(r.spl)[:-1]}. Ask for one after another."
            )
        for bound in bounds(r.driver, r.box, r.air):
            if bound.frequency < np.max(r.frequency):
                ends[bound.part] = min(bound.frequency, ends.get(bound.part, np.inf))
        level.setdefault(" ".join(beyond(r)), []).append(name)
    level.pop("", None)
    said = [_ENDS[part].format(f, 4 * f) for part, f in sorted(ends.items(), key=lambda e: e[1])]
    return (
        *([f"Not in the model: {', '.join(said)}."] if said else ()),
        *(
            words if len(names) == len(several) else f"{', '.join(names).capitalize()}: {words}"
            for words, names in level.items()
        ),
    )


_ENDS = {
    "cone": "cone beams above {:.0f} Hz",
    "box": "waves in the box above {:.0f} Hz",
    "port": "port waves above {:.0f} Hz (it rings at {:.0f} Hz)",
}


def beyond(response: Response) -> tuple[str, ...]:
    """Sentences on where one answer of `solve` passes the limits set by level; () if nowhere.

    For a single design. The drive is the response's own voltage, taken as a steady sine.

    >>> from boxlab.gear.scenario import TEN_INCH_DRIVER as driver
    >>> from boxlab.model.enclosure import SealedBox
    >>> from boxlab.model.response import solve
    >>> beyond(solve(driver, SealedBox(0.014), [100.0], 1.0))
    ()
    """
    r, notes = response, []
    volts = f" at {float(r.voltage):.3g} V" if np.size(r.voltage) == 1 else ""

    def note(where, text):
        if where.any():
            low, high = (f"{end(r.frequency[where]):.0f}" for end in (np.min, np.max))
            band = f"at {low}" if low == high else f"from {low} to {high}"
            notes.append(f"{text} {band} Hz{volts}.")

    note(r.cone_excursion > r.driver.xmax, "Cone past Xmax, its clean travel,")
    if isinstance(r.box, RadiatorBox):
        note(r.vent_excursion > r.box.radiator.xmax, "Radiator past its Xmax")
    if isinstance(r.box, MixedRadiatorBox):
        for number, each in enumerate(each_radiator(r)):
            note(each.excursion > each.radiator.xmax, f"Radiator {number + 1} past its Xmax")
    if hasattr(r.box, "port"):
        fast = r.vent_air_speed > PORT_SPEED
        note(fast, f"Port air over {PORT_SPEED:g} m/s, noise and compression,")
    heat = np.abs(r.current) ** 2 * r.driver.re
    note(heat > r.driver.pe, "Coil past its rated power Pe, on a steady sine,")
    return tuple(notes)
