"""A box in a car: pressure-zone lift as a band, first cabin modes, walls near the box.

Below its first length mode a shut cabin is pumped up and down as a whole, which lifts the lowest
notes over the same box outdoors. How far depends on leaks, on panels that give, and on where you
sit; published measurements in cars agree on a rise towards low frequency below about 200 Hz and
on large, unpredictable differences from car to car. So the answer here is a band, not a line, and
no promise about one car.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from boxlab.base.array_types import Values
from boxlab.base.checks import not_negative, number, positive, suspect, whole
from boxlab.car.cabin_waves import in_the_cabin
from boxlab.model.air import Air
from boxlab.model.limits import Ceiling
from boxlab.model.response import Response

_HINT = "Sizes are in metres: boxlab.feet(8) for 8 ft."

# Leak corner (Hz: below it air escapes faster than the cone pumps) and the give of the panels (as
# a share of the air's own) for the tight, middling and leaky edge of the band. Our own bracket,
# chosen wide: no published set of values was found.
LOWEST = 10.0  # Hz; below it the air in a leak has mass too
TIGHT, MIDDLING, LEAKY = (1.0, 0.0), (8.0, 0.3), (20.0, 1.0)

# Where the band holds, as shares of length, width and height from the front, one side, the floor:
# the pair of places that raises the low notes most, and the one that lowers them most.
FAR = ((1.0, 0.0, 0.0), (0.0, 1.0, 1.0))
NEAR = ((0.8, 0.0, 0.0), (0.6, 0.0, 0.5))
PLACES = (
    "Box on the floor in the rear fifth, head in the front three fifths and the upper half. "
    "Closer to the box it can be less."
)


@dataclass(frozen=True)
class Cabin:
    """The inside of a car: length, width, height in m, and the share of that brick that is air.

    >>> round(float(Cabin(2.6).first_mode()), 1)  # Hz
    66.0

    Parameters
    ----------
    length, width, height : m
    filled : share of length × width × height that is air, 0 to 1
    """

    length: float = 2.6
    width: float = 1.45
    height: float = 1.15
    filled: float = 0.75

    def __post_init__(self):
        for name in ("length", "width", "height"):
            positive(f"cabin {name}", getattr(self, name), _HINT)
            suspect(f"cabin {name}", getattr(self, name), 0.7, 8, _HINT)
        if not 0 < number("filled", self.filled) <= 1:
            raise ValueError(
                f"filled = {self.filled:g}: the share of length × width × height that is air, "
                "above 0 and up to 1; seats and sloping glass usually leave about 0.75."
            )

    @property
    def volume(self):
        """Air in the cabin, m³."""
        return self.length * self.width * self.height * self.filled

    def first_mode(self, air=None):
        """Lowest mode along the longest dimension, Hz: c/2L for a rigid brick."""
        air = Air() if air is None else air
        return air.speed_of_sound / (2 * max(self.length, self.width, self.height))

    def modes(self, count=6, air=None):
        """The lowest `count` modes of a rigid brick of these sizes: tuple of (Hz, (l, w, h)).

        Formula: f = (c/2)·√((l/L)² + (w/W)² + (h/H)²)

        That is Rayleigh's. Seats, glass and slopes shift them, often by a tenth and more.

        >>> [(round(f, 1), n) for f, n in Cabin(2.5, 1.4, 1.1).modes(2)]
        [(68.6, (1, 0, 0)), (122.6, (0, 1, 0))]
        """
        air = Air() if air is None else air
        span = range(whole("count", count) + 1)
        found = [
            (float(air.speed_of_sound / 2 * np.sqrt(
                (i / self.length) ** 2 + (j / self.width) ** 2 + (k / self.height) ** 2
            )), (i, j, k))
            for i in span for j in span for k in span if i + j + k
        ]  # fmt: skip
        return tuple(sorted(found)[:count])


@dataclass(frozen=True, eq=False)
class Lift:
    """Level at the seat over half space at `distance` m, dB: low, mid and high edge, shape (n,).

    `valid` is the range in Hz where the pressure-zone picture holds; outside it the figures only
    mark the trend. `assumptions` are sentences to print beside any number.
    """

    frequency: np.ndarray
    low: np.ndarray
    mid: np.ndarray
    high: np.ndarray
    distance: float
    valid: tuple[float, float]
    assumptions: tuple[str, ...]

    @property
    def inside(self):
        """True where the frequency lies in the valid range."""
        return (self.frequency >= self.valid[0]) & (self.frequency <= self.valid[1])


def pressure_lift(
    frequency: ArrayLike, volume: ArrayLike, distance: ArrayLike = 1.0, leak: ArrayLike = 0.0,
    give: ArrayLike = 0.0, air: Air | None = None, panel: ArrayLike = np.inf,
    panel_q: ArrayLike = 10.0,
) -> Values:  # fmt: skip
    """Pressure in a small shut room over half space at `distance`, for one source: a complex ratio.

    Formula: lift = 2·π·r·c²/(V·(1 + give)·j·ω·(j·ω + ω_leak))

    Derived from the compliance of the air: p = ρc²U/(V(1 + give)(jω + ω_leak)) in the room and
    jωρU/(2πr) outside. Sealed and rigid that is 12 dB per octave.

    Parameters
    ----------
    frequency : array, Hz
    volume : m³ of air in the room
    distance : m
    leak : Hz, corner below which the leak lets the pressure out
    give : compliance of the panels as a share of that of the air
    panel : Hz, own resonance of the panels that give; above it they push the other way and add
    panel_q : its Q (10: our own choice)

    >>> round(float(abs(pressure_lift(79.05, 3.0, air=Air()))), 2)
    1.0
    """
    air = Air() if air is None else air
    omega = 2 * np.pi * np.asarray(positive("frequency", frequency, "Give hertz."))
    volume = positive("volume", volume, "Cabin volume is in m³, about 2 to 4 for a car.")
    suspect("cabin volume", volume, 0.5, 30, "Give m³ of air: about 2 to 4 for a car.")
    distance = positive("distance", distance, "Give metres.")
    escape = 2 * np.pi * not_negative("leak", leak, "Give hertz.")
    give = not_negative("give", give)
    turn = omega / (2 * np.pi * positive("panel", panel, "Give hertz.", infinite=True))
    moving = give / (1 - turn**2 + 1j * turn / positive("panel_q", panel_q))
    room = air.speed_of_sound**2 / (volume * ((1 + moving) * 1j * omega + (1 + give) * escape))
    return room * 2 * np.pi * distance / (1j * omega)


def even_lift(
    cabin: Cabin, frequency: ArrayLike, car: tuple[float, float], distance: ArrayLike = 1.0,
    air: Air | None = None,
) -> np.ndarray:  # fmt: skip
    """Lift in dB, shape (n,), of one `car` (leak corner Hz, give) where the pressure is even.

    The sound straight from the box is added as power, so that it fades to 0 dB at high notes. The
    `cabin`, `frequency` and `distance` are as for `cabin_lift`.

    >>> even_lift(Cabin(), np.array([20.0, 80.0]), MIDDLING).round(1)
    array([20.3,  1.7])
    """
    room = pressure_lift(frequency, cabin.volume, distance, *car, air)
    return 10 * np.log10(1 + np.abs(room) ** 2)


def cabin_lift(
    cabin: Cabin, frequency: ArrayLike, distance: ArrayLike = 1.0, air: Air | None = None,
    tight: tuple[float, float] = TIGHT, middling: tuple[float, float] = MIDDLING,
    leaky: tuple[float, float] = LEAKY, panel: float | None = None,
) -> Lift:  # fmt: skip
    """How much a cabin lifts the level over half space, as a band over cars and over places in it.

    The edges hold every pair of places that `PLACES` names, in a rigid brick: the even pressure of
    the shut room, less what leak and panels take, and the waves of `in_the_cabin`, which they do
    not touch. Sound straight from the box is added to middle and high edge as powers, so that they
    fade to 0 dB above the pressure zone.

    Parameters
    ----------
    cabin : Cabin
    frequency : array, shape (n,), Hz
    distance : m at which the outdoor level is taken
    tight, middling, leaky : (leak corner Hz, give of the panels)
    panel : Hz, the lowest resonance of a panel that gives, if you know it: the band ends at half

    >>> found = cabin_lift(Cabin(), [20.0, 30.0])
    >>> found.low.round(1), found.high.round(1)
    (array([12.6,  4.4]), array([24.6, 19.4]))
    """
    air = Air() if air is None else air
    frequency = np.atleast_1d(positive("frequency", frequency, "Give hertz."))
    first = float(cabin.first_mode(air))
    end = first / 2 if panel is None else min(first, positive("panel", panel, "Give hertz.")) / 2

    def room(notes, car, places=None):
        """Pressure of a car at `places`; the waves stay as they are at the zone's end above it."""
        even = pressure_lift(notes, cabin.volume, distance, *car, air)
        if places is None:
            return np.abs(even)
        waves = np.real(in_the_cabin(np.minimum(notes, first / 2), cabin, *places, air=air)) - 1
        return np.abs(even + waves * pressure_lift(notes, cabin.volume, distance, air=air))

    mid = room(frequency, middling)
    least = np.minimum(room(frequency, leaky, NEAR), mid)
    most = np.maximum(room(frequency, tight, FAR), mid)
    if room(end, leaky, NEAR) < 1:  # a loss: the brick is too squat or too long
        zone = np.geomspace(LOWEST, max(end, LOWEST), 40)
        end = float(zone[np.argmax(room(zone, leaky, NEAR) < 1)])
    return Lift(
        frequency,
        20 * np.log10(np.maximum(least, 1)),
        even_lift(cabin, frequency, middling, distance, air),
        10 * np.log10(1 + most**2),
        float(distance),
        (LOWEST, end),
        (
            f"Air in the cabin: {cabin.volume:.2f} m³, windows and doors shut.",
            PLACES,
            f"Pressure zone up to about {end:.0f} Hz; the first length mode is at {first:.0f} Hz. "
            "Above the zone modes make peaks and dips that this picture leaves out.",
            "High edge: tight and rigid. Low edge: air escapes below "
            f"{leaky[0]:g} Hz and panels give {leaky[1]:g} times as much as the air. "
            "The bracket is ours; measure your own car.",
            "A panel above its own resonance adds instead, and no edge here bounds that.",
            f"Compared with the same box on the ground outdoors at {distance:g} m.",
        ),
    )


@dataclass(frozen=True, eq=False)
class SeatLevel:
    """SPL at the seat in dB, low to high, with the level outdoors and the lift it came from."""

    frequency: np.ndarray
    outdoors: np.ndarray
    low: np.ndarray
    mid: np.ndarray
    high: np.ndarray
    lift: Lift


def at_seat(response: Response | Ceiling, cabin: Cabin, air: Air | None = None) -> SeatLevel:
    """The level of a solved box at the seat: its half-space level plus the cabin's lift, as a band.

    >>> from boxlab.gear.scenario import TEN_INCH_DRIVER
    >>> from boxlab import SealedBox, solve
    >>> seat = at_seat(solve(TEN_INCH_DRIVER, SealedBox(0.02), [20.0, 60.0]), Cabin())
    >>> seat.low.shape, bool((seat.low <= seat.high).all())
    ((2,), True)

    Parameters
    ----------
    response : Response from `solve`, or Ceiling from `max_output` at 1 m
    cabin : Cabin
    air : Air; 20 °C at sea level if left out

    Returns dB re 20 µPa, in the shape of the response.
    """
    distance = getattr(response, "distance", 1.0)
    air = getattr(response, "air", None) if air is None else air
    lift = cabin_lift(cabin, response.frequency, distance, air)
    edges = (response.spl + edge for edge in (lift.low, lift.mid, lift.high))
    return SeatLevel(response.frequency, response.spl, *edges, lift)


def boundary_loading(frequency: ArrayLike, distances: Sequence, air: Air | None = None) -> Values:
    """Power of a small source near rigid walls, dB over the same source far from any wall.

    Sum over its mirror images, Σ sin(2kd)/(2kd), walls at right angles to each other (Waterhouse,
    J. Acoust. Soc. Am. 30 (1958) 4, from memory). One wall near by gives +3 dB of power (+6 dB of
    pressure in the half that is left), two +6, three +9. Half space already counts the floor, so
    take that off. In the pressure zone this is in the lift already: do not add the two. There are
    1 to 3 `distances`, m, one for each wall; `frequency` is in Hz.

    >>> boundary_loading([20.0, 200.0], [0.3]).round(1)
    array([3. , 1.4])
    """
    air = Air() if air is None else air
    frequency = np.asarray(positive("frequency", frequency, "Give hertz."))
    walls = np.atleast_1d(not_negative("distances", distances, "Give metres."))
    if not 1 <= walls.size <= 3:
        raise ValueError(f"distances has {walls.size} entries: give one for each of 1 to 3 walls")
    k = 2 * np.pi * frequency / air.speed_of_sound
    total = np.zeros(np.shape(frequency))
    for which in np.ndindex(*(2,) * walls.size):
        away = np.sqrt(np.sum((2 * walls * which) ** 2))
        total = total + np.sinc(k * away / np.pi)
    return 10 * np.log10(total)
