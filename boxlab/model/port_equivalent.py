"""Will the port fit? Its length, the space it takes, and how small it may be before it is noisy.

A tuned port of any diameter is the same acoustic mass, so the diameter changes nothing in the
response of the model: it decides length, air speed and pipe resonance. The usual (Helmholtz)
formula treats the port's air as one mass. A port as long as small boxes ask for is a pipe, and
comes out shorter; both lengths are given here, so that no doubt is left in the box's disfavour.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike

from boxlab.base.array_types import Values
from boxlab.base.checks import not_negative, positive
from boxlab.base.units import disc_area, disc_diameter
from boxlab.model.air import Air
from boxlab.model.driver import Driver
from boxlab.model.enclosure import PortedBox
from boxlab.model.radiator import Radiator
from boxlab.model.response import solve
from boxlab.model.validity import PORT_SPEED, inside_edges
from boxlab.model.vents import Port, end_correction_of

# What Salvatti, Devantier and Button (Maximizing performance from loudspeaker ports, J. Audio Eng.
# Soc. 50 (2002) 19) are quoted with as the careful choice, m/s peak; not looked up in the paper.
CAREFUL_SPEED = 10.0

WALL = 0.003  # m, of a plastic tube
_DIAMETERS = np.linspace(0.01, 0.4, 391)  # m, searched by `largest_that_fits`


def as_radiator(port: Port, air: Air | None = None) -> Radiator:
    """A port as the radiator it is: its air is the moving part, and it has no suspension.

    >>> port = Port.round(0.1, 0.2)
    >>> radiator = as_radiator(port)
    >>> radiator.cms, round(1e3 * radiator.moving_mass, 2)
    (inf, 2.58)
    """
    air = Air() if air is None else air
    mass = air.density * port.area * port.effective_length
    return Radiator(
        sd=port.area, mms=mass, cms=math.inf, rms=0.0, xmax=math.inf, name="the air of a port"
    )


def usual_length(
    volume: ArrayLike, fb: ArrayLike, area: ArrayLike, air: Air | None = None
) -> Values:
    """Length of one port by the usual formula, its air one mass, m: S·c²/(V·ωb²) − ends.

    As `PortedBox.tuned`, but for looking at: no length is refused, and one below zero means that
    even a hole in the wall tunes too low.

    >>> round(float(usual_length(0.042, 36.0, 0.00785)), 3)  # m
    0.357

    Parameters
    ----------
    volume : m³, net
    fb : Hz
    area : m²
    air : Air; 20 °C at sea level if left out
    """
    volume, area, k = _of_a_port(volume, fb, area, air)
    return area / (volume * k**2) - end_correction_of(area)


def pipe_length(
    volume: ArrayLike, fb: ArrayLike, area: ArrayLike, air: Air | None = None
) -> Values:
    """Length of one port with its air treated as a pipe, m; broadcasts.

    tan(k·L′) = S/(k·V) with k = ωb/c: a lossless uniform pipe, open outside, on a box whose air is
    one spring. Textbook transmission line (Kinsler et al., Fundamentals of Acoustics; from
    memory). L′ is the length with the end correction of `Port`; for short ports this is the usual
    formula.

    Returns
    -------
    Length without ends; below zero where even a hole in the wall tunes too low.

    >>> round(float(pipe_length(0.042, 36.0, 0.00785)), 3)  # m
    0.346

    Parameters
    ----------
    volume : m³, net
    fb : Hz
    area : m²
    air : Air; 20 °C at sea level if left out
    """
    volume, area, k = _of_a_port(volume, fb, area, air)
    return np.arctan(area / (k * volume)) / k - end_correction_of(area)


def _of_a_port(volume, fb, area, air):
    """Volume and area, checked, and the wave number at fb, 1/m."""
    volume = positive("volume", volume, "Volume is in m³: use boxlab.litres(14) for 14 L.")
    fb = positive("fb", fb, "Tuning is in hertz.")
    area = positive("port area", area, "Area is in m²: use boxlab.cm2(50) for 50 cm².")
    return volume, area, 2 * np.pi * fb / (air or Air()).speed_of_sound


def lowest_tuning(space: ArrayLike, area: ArrayLike, air: Air | None = None) -> Values:
    """Lowest tuning, Hz, that a port of this area can give a box it must itself fit into.

    `space` m³ is box air and port together. A longer port takes the air away that it works on; at
    the end nothing is left but the pipe, closed at one end: a quarter wave, f = c·S/(4·(V + S·e)),
    where e is the end correction.

    >>> round(float(lowest_tuning(0.014, disc_area(0.1))), 1)
    46.2
    """
    air = Air() if air is None else air
    space = positive("space", space, "Volume is in m³: use boxlab.litres(14) for 14 L.")
    area = positive("port area", area, "Area is in m²: use boxlab.cm2(50) for 50 cm².")
    return air.speed_of_sound * area / (4 * (space + area * end_correction_of(area)))


def longest_edge(volume: ArrayLike, port: Port) -> Values:
    """Longest inside edge, m, of an 8 : 6 : 5 box holding the net volume m³ and the port's air.

    >>> from boxlab.model.vents import Port
    >>> round(float(longest_edge(0.042, Port(0.00785, 0.2))), 3)  # m
    0.453
    """
    return inside_edges(volume + port.volume)[0]


def straight_room(
    volume: ArrayLike, fb: ArrayLike, diameter: ArrayLike, air: Air | None = None
) -> Values:
    """Room left, m, by a straight round port along the longest edge; below zero: it does not fit.

    One radius is kept free at the inner end, which is little: the pipe needs that to breathe.

    >>> round(float(straight_room(0.042, 36.0, 0.1)), 3)  # m
    0.061

    Parameters
    ----------
    volume : m³, net
    fb : Hz
    diameter : m
    air : Air; 20 °C at sea level if left out
    """
    area = disc_area(np.asarray(diameter, dtype=float))
    port = Port(area, np.maximum(pipe_length(volume, fb, area, air), 0.0))
    return longest_edge(volume, port) - port.length - diameter / 2


def largest_that_fits(volume: ArrayLike, fb: ArrayLike, air: Air | None = None) -> Values:
    """Largest diameter, m, of one straight round port that fits; shape of `volume` and `fb`.

    Searched from 10 to 400 mm, to 1 mm.

    >>> round(float(largest_that_fits(0.042, 36.0)), 3)  # m
    0.108
    """
    volume, fb = np.broadcast_arrays(np.asarray(volume, float), np.asarray(fb, float))
    over = straight_room(volume[..., None], fb[..., None], _DIAMETERS, air) < 0
    first = np.where(over.any(axis=-1), over.argmax(axis=-1) - 1, _DIAMETERS.size - 1)
    return _DIAMETERS[np.maximum(first, 0)][()]


def vent_flow(
    driver: Driver, volume: ArrayLike, fb: ArrayLike, voltage: ArrayLike, *,
    ql: ArrayLike = math.inf, frequency: ArrayLike | None = None, air: Air | None = None,
) -> Values:  # fmt: skip
    """Largest peak flow through the port, m³/s, from 0.7·fb up: the same for any diameter.

    Designs along the axes of `volume`; `fb` is one number.

    >>> from boxlab.gear.scenario import TEN_INCH_DRIVER as driver
    >>> round(1e3 * float(vent_flow(driver, 0.042, 36.0, 20.0)), 1)  # L/s
    250.3

    Parameters
    ----------
    driver, air : as for `boxlab.model.response.solve`
    volume : m³, net
    fb : Hz
    voltage : V rms
    ql : Q of the leak
    frequency : Hz
    """
    if frequency is None:
        frequency = np.geomspace(0.7 * fb, 4 * fb, 120)
    air = Air() if air is None else air
    # any port of the right acoustic mass will do: this one is 0.3 m long, ends counted in
    area = 0.3 * volume * (2 * np.pi * fb / air.speed_of_sound) ** 2
    box = PortedBox(volume, Port(area, 0.3, 0.0), ql=ql)
    flow = solve(driver, box, frequency, voltage, air).vent_volume_velocity
    return np.sqrt(2) * np.abs(flow).max(axis=-1)


def smallest_quiet(
    driver: Driver, volume: ArrayLike, fb: ArrayLike, voltage: ArrayLike, *,
    speed: ArrayLike = PORT_SPEED, ql: ArrayLike = math.inf, air: Air | None = None,
) -> Values:  # fmt: skip
    """Smallest diameter, m, of one round port whose air keeps below `speed` m/s peak.

    For a steady sine at its worst frequency from 0.7·fb up, at `voltage` V rms.

    >>> from boxlab.gear.scenario import TEN_INCH_DRIVER as driver
    >>> round(float(smallest_quiet(driver, 0.042, 36.0, 20.0)), 3)  # m
    0.137

    Parameters
    ----------
    driver, air : as for `boxlab.model.response.solve`
    volume : m³, net
    fb : Hz
    voltage : V rms
    speed : m/s peak
    ql : Q of the leak
    """
    speed = positive("speed", speed, "Air speed is in m/s peak; 17 is a usual cap.")
    flow = vent_flow(driver, volume, fb, voltage, ql=ql, air=air)
    return np.sqrt(4 * flow / (np.pi * speed))


def tube_volume(area: ArrayLike, length: ArrayLike, wall: ArrayLike = WALL) -> Values:
    """Room that a round tube takes, m³, its air and its wall: π/4·(d + 2·wall)²·L.

    >>> round(1e3 * float(tube_volume(0.00785, 0.3)), 2)  # L
    2.65

    Parameters
    ----------
    area : m², inside
    length, wall : m
    """
    outer = disc_diameter(area) + 2 * not_negative("wall", wall, "It is in metres.")
    return disc_area(outer) * length


def folded(
    area: float, length: float, edges: Sequence[float], wall: float = WALL
) -> tuple[int, float]:
    """How a tube lies in a box when it is folded back on itself: (legs, their mean length, m).

    Its length is measured along its centre line (common practice, no published source). Each turn
    is a half circle in which the legs touch: its centre line has π·D/2 for an outside D, and it
    takes one D at the end of both legs. A radius of air is kept before the inner end.

    Parameters
    ----------
    area, length : of the tube, m² and m
    edges : the box's three inside edges, m; the legs lie along the first, side by side across
        the others
    wall : of the tube, m

    Raises
    ------
    ValueError
        If so much tube does not lie in the box.

    >>> legs, leg = folded(disc_area(0.08), 0.45, (0.33, 0.25, 0.2))
    >>> legs, round(leg, 3)
    (2, 0.157)
    """
    inside = float(disc_diameter(area))
    outer = inside + 2 * not_negative("wall", wall, "It is in metres.")
    long, wide, high = (positive("edges", float(edge), "Give metres.") for edge in edges)
    room = int(wide / outer + 1e-9) * int(high / outer + 1e-9)
    for legs in range(1, room + 1):
        straight = float(length) - (legs - 1) * math.pi * outer / 2
        # past two legs a leg lies between two turns
        between = long - 2 * outer if legs > 2 else long - outer
        if legs > 1 and between < 0:
            break
        if straight <= legs * long - 2 * (legs - 1) * outer - inside / 2:
            return legs, max(straight / legs, 0.0)
    raise ValueError(
        f"{float(length) * 1e2:.0f} cm of tube, {outer * 1e3:.0f} mm wide outside, does not lie in "
        f"a box of {long * 1e3:.0f} × {wide * 1e3:.0f} × {high * 1e3:.0f} mm: {room} legs go side "
        "by side. Use a narrower port, a larger box, or a radiator."
    )
