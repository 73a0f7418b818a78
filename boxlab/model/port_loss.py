"""What a port loses at speed: its Q, and an estimate of the level that costs, as a band.

Where a jet leaves a port, and where air has to turn into a sharp edge, pressure is lost as the
square of the speed: ½·K·ρ·u² (quasi-static; K about 1.5 for sharp edges, 0.5 going in and 1 coming
out, and about 1 with a well-rounded inlet; from memory). Of a sine its fundamental is what
a friction of 4/(3π)·K·ρ·û would lose, so each speed has its own Q.

Where it stops: it says nothing of noise, which comes earlier; it holds while the air's stroke is
longer than the port is wide (else there is no jet) and up to some 30 m/s; a flare that hands on the
jet without tearing it loses less, at small strokes much less. The mass is taken as constant.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from boxlab.base.array_types import Values
from boxlab.base.checks import positive
from boxlab.model.air import Air
from boxlab.model.any_box import Box
from boxlab.model.driver import Driver
from boxlab.model.enclosure import PortedBox, RadiatorBox
from boxlab.model.port_equivalent import CAREFUL_SPEED
from boxlab.model.radiator import Radiator
from boxlab.model.response import solve
from boxlab.model.vents import PORT_SPEED, Port

SHARP, ROUNDED = 1.5, 1.0  # K, from memory
TOO_FAST = (25.0, 30.0)  # m/s peak: hardly ever accepted (common practice, no published source)
_STEPS = 50
_SPEED = "Air speed is in m/s peak; 17 is a usual cap."


def speed_in_words(speed: float) -> str:
    """Where a peak air speed, m/s, lies in the usual bands, with their sources.

    >>> speed_in_words(14)
    'between 10 and 17 m/s: usual; a quiet passage may let it be heard'
    """
    speed = float(positive("speed", speed, _SPEED))
    low, usual, (fast, end) = CAREFUL_SPEED, PORT_SPEED, TOO_FAST
    if speed <= low:
        return f"up to {low:g} m/s: the careful choice (quoted from Salvatti and others, 2002)"
    if speed <= usual:
        return f"between {low:g} and {usual:g} m/s: usual; a quiet passage may let it be heard"
    if speed <= fast:
        return f"above {usual:g} m/s (Small 1973, from memory): expect to hear it"
    if speed <= end:
        return f"between {fast:g} and {end:g} m/s: loud, and much is lost (common practice)"
    return f"above {end:g} m/s: beyond what this estimate is good for"


def port_q(
    port: Port, fb: ArrayLike, speed: ArrayLike, k: ArrayLike = SHARP, air: Air | None = None
) -> Values:
    """Q of a port's own loss at its tuning and a peak air speed (no unit); broadcasts.

    Formula: QP = 3·π·ωb·(L + ends)/(4·K·u)

    Parameters
    ----------
    port : Port; fb : Hz; speed : m/s peak; k : loss of the ends, 1.5 sharp, 1 rounded

    >>> from boxlab import Port
    >>> round(float(port_q(Port(0.005, 0.3, 0.0), 30, 17)), 1)
    5.2
    """
    fb = positive("fb", fb, "Tuning is in hertz.")
    speed = positive("speed", speed, _SPEED)
    k = positive("k", k, "It is 1.5 for sharp edges, about 1 for rounded ones.")
    return 3 * np.pi * (2 * np.pi * fb) * port.effective_length / (4 * k * speed)


def stroke(frequency: ArrayLike, speed: ArrayLike) -> Values:
    """How far the air in a port goes one way, m, at a peak speed, m/s: û/ω.

    >>> round(1e3 * float(stroke(36.0, 17.0)))  # mm
    75

    Parameters
    ----------
    frequency : Hz
    speed : m/s peak
    """
    frequency = positive("frequency", frequency, "Frequency is in hertz.")
    return positive("speed", speed, _SPEED) / (2 * np.pi * frequency)


@dataclass(frozen=True, eq=False)
class PortLoss:
    """A port's loss at one drive. Arrays have shape (F,) for F tones, each played alone.

    frequency : Hz; speed : m/s peak with the least loss, shape (F,); q : Q at the tuning with the
    most loss; least, most : level lost, dB; limits : sentences on where the estimate stops.
    """

    frequency: np.ndarray
    speed: np.ndarray
    q: np.ndarray
    least: np.ndarray
    most: np.ndarray
    limits: tuple[str, ...]


def lost_in_port(
    driver: Driver, box: Box, frequency: ArrayLike, voltage: ArrayLike, air: Air | None = None, *,
    k: ArrayLike = (ROUNDED, SHARP), **around: Any,
) -> PortLoss:  # fmt: skip
    """Level that a port loses to its own speed at a drive, as a band: a `PortLoss`.

    Each tone finds the speed at which the friction of that speed lets it flow so fast.

    Parameters
    ----------
    driver, box : one Driver, one PortedBox
    frequency : Hz, shape (F,)
    voltage : V rms at the source
    k : least and most loss of the ends; (1, 1.5) spans rounded and sharp edges
    air : Air; 20 °C at sea level if left out
    around : source_resistance, as for `boxlab.solve`

    >>> from boxlab import PortedBox, cm2, litres
    >>> from boxlab.gear.scenario import TEN_INCH_DRIVER
    >>> box = PortedBox.tuned(litres(30), 38, cm2(60), max_length=3)
    >>> got = lost_in_port(TEN_INCH_DRIVER, box, [38.0], 20.0)
    >>> got.least.round(1), got.most.round(1)
    (array([2.4]), array([3.1]))

    Raises
    ------
    ValueError
        For a box that is not ported, or arrays of designs.
    """
    if not isinstance(box, PortedBox):
        raise ValueError(
            f"box must be a PortedBox, got {type(box).__name__}: only a port loses by air speed."
        )
    if np.ndim(box.port.area) or np.ndim(box.volume) or np.ndim(driver.sd):
        raise ValueError("lost_in_port takes one driver in one box; ask for one after another.")
    air = Air() if air is None else air
    frequency = np.atleast_1d(positive("frequency", frequency, "Frequency is in hertz."))
    voltage = positive("voltage", voltage, "Voltage is in volts rms.")
    k = np.array([float(positive("k", each, "It is 1 to 1.5.")) for each in sorted(k)])[:, None]

    def answer(friction):
        """Of each tone as a design of its own: flow out of the port, pressure, and speed, m/s."""
        lossy = _with_friction(box, friction, air)
        r = solve(driver, lossy, frequency[:, None], voltage, air, **around)
        return (each[..., 0] for each in (r.vent_volume_velocity, r.pressure, r.vent_air_speed))

    free_flow, free, free_speed = answer(np.zeros(frequency.size))
    # All else is linear, so a friction R in the port divides its flow by 1 + R·Y, with the Y that
    # the rest shows it, and two solutions tell what any friction does.
    one = _friction(free_speed, 1.0, box, air)
    flow, pressure, _ = answer(one)
    y = (free_flow / flow - 1) / one
    low, high = np.zeros((2, frequency.size)), free_speed * np.ones((2, 1))
    for _ in range(_STEPS):
        middle = (low + high) / 2
        above = free_speed / np.abs(1 + _friction(middle, k, box, air) * y) > middle
        low, high = np.where(above, middle, low), np.where(above, high, middle)
    speed = (low + high) / 2
    friction = _friction(speed, k, box, air)
    with np.errstate(divide="ignore", invalid="ignore"):
        slowed = free + friction / one * (pressure * (1 + one * y) - free)
        lost = 20 * np.log10(np.abs(free * (1 + friction * y) / slowed))
        q = port_q(box.port, box.tuning(air), np.maximum(speed[1], 1e-9), k[1])
    # far below the tuning friction can only help, for there port and cone work against each other
    least, most = lost.min(axis=0), lost.max(axis=0)
    return PortLoss(frequency, speed[0], q, least, most, _limits(box, frequency, speed[0]))


def _friction(speed, k, box, air):
    """Friction of the air in one port, N·s/m, at a peak speed."""
    return 4 / (3 * math.pi) * k * air.density * speed * box.port.area


def _with_friction(box, friction, air):
    """The box with each port's air as a moving part of its mass and with that friction."""
    port = box.port
    mass = air.density * port.area * port.effective_length
    own = box.vent(air).resistance * box.count * np.square(port.area)  # N·s/m of one port
    part = Radiator(port.area, mass, np.inf, friction + own, np.inf, name="the air of a port")
    return RadiatorBox(box.volume, part, count=box.count, ql=box.ql, qa=box.qa)


def _limits(box, frequency, speed):
    """Where this estimate is not to be trusted, in sentences."""
    found = []
    worst = int(np.argmax(speed))
    if speed[worst] > TOO_FAST[1]:
        found.append(
            f"Air at {speed[worst]:.0f} m/s is past the {TOO_FAST[1]:g} m/s up to which this is "
            "an estimate."
        )
    wide = math.sqrt(box.port.area)
    reach = float(np.max(speed / (2 * np.pi * frequency)))
    if reach < wide:
        found.append(
            f"The air moves {1e3 * reach:.0f} mm one way, less than the port is wide: no jet "
            "forms, and less is lost than this says."
        )
    return tuple(found)
