"""A box in a car: pressure-zone lift as a band, first cabin modes, walls near the box.

Below its first length mode a shut cabin is pumped up and down as a whole, which lifts the lowest
notes over the same box outdoors. How far depends on leaks, on panels that give, and on where you
sit; published measurements in cars agree on a rise towards low frequency below about 200 Hz and
on large, unpredictable differences from car to car. So the answer here is a band, not a line, and
no promise about one car.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from boxlab.air import Air
from boxlab.checks import not_negative, number, positive, suspect

_HINT = "Sizes are in metres: boxlab.feet(8) for 8 ft."

# Leak corner (Hz: below it air escapes faster than the cone pumps) and the give of the panels (as
# a share of the air's own) for the tight, middling and leaky edge of the band. Our own bracket,
# chosen wide: no published set of values was found.
TIGHT, MIDDLING, LEAKY = (1.0, 0.0), (8.0, 0.3), (20.0, 1.0)


@dataclass(frozen=True)
class Cabin:
    """The inside of a car: length, width, height in m, and the share of that brick that is air."""

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
        span = range(count + 1)
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


def pressure_lift(frequency, volume, distance=1.0, leak=0.0, give=0.0, air=None):
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

    >>> round(float(abs(pressure_lift(79.05, 3.0, air=Air()))), 2)
    1.0
    """
    air = Air() if air is None else air
    omega = 2 * np.pi * np.asarray(positive("frequency", frequency, "Give hertz."))
    volume = positive("volume", volume, "Cabin volume is in m³, about 2 to 4 for a car.")
    suspect("cabin volume", volume, 0.5, 30, "Give m³ of air: about 2 to 4 for a car.")
    distance = positive("distance", distance, "Give metres.")
    escape = 2 * np.pi * not_negative("leak", leak, "Give hertz.")
    stiff = volume * (1 + not_negative("give", give))
    room = air.speed_of_sound**2 / (stiff * (1j * omega + escape))
    return room * 2 * np.pi * distance / (1j * omega)


def cabin_lift(
    cabin, frequency, distance=1.0, air=None, tight=TIGHT, middling=MIDDLING, leaky=LEAKY
):
    """How much a cabin lifts the level over half space, as a band.

    The pressure of the shut room and the sound straight from the box are added as powers, so the
    lift fades to 0 dB instead of turning into a loss above the pressure zone.

    Parameters
    ----------
    cabin : Cabin
    frequency : array, shape (n,), Hz
    distance : m at which the outdoor level is taken
    tight, middling, leaky : (leak corner Hz, give of the panels)

    Returns
    -------
    Lift
    """
    air = Air() if air is None else air
    frequency = np.atleast_1d(positive("frequency", frequency, "Give hertz."))
    edges = []
    for leak, give in (leaky, middling, tight):
        room = np.abs(pressure_lift(frequency, cabin.volume, distance, leak, give, air))
        edges.append(10 * np.log10(1 + room**2))
    low, mid, high = np.min(edges, axis=0), edges[1], np.max(edges, axis=0)
    first = float(cabin.first_mode(air))
    return Lift(
        frequency, low, mid, high, float(distance), (5.0, first / 2),
        (
            f"Air in the cabin: {cabin.volume:.2f} m³, windows and doors shut.",
            f"Pressure zone up to about {first / 2:.0f} Hz, half the first length mode at "
            f"{first:.0f} Hz; above that modes make peaks and dips this picture leaves out.",
            "High edge: tight and rigid. Low edge: air escapes below "
            f"{leaky[0]:g} Hz and panels give {leaky[1]:g} times as much as the air. "
            "The bracket is ours; measure your own car.",
            f"Compared with the same box on the ground outdoors at {distance:g} m.",
        ),
    )  # fmt: skip


@dataclass(frozen=True, eq=False)
class SeatLevel:
    """SPL at the seat in dB, low to high, with the level outdoors and the lift it came from."""

    frequency: np.ndarray
    outdoors: np.ndarray
    low: np.ndarray
    mid: np.ndarray
    high: np.ndarray
    lift: Lift


def at_seat(response, cabin, air=None):
    """The level of a solved box at the seat: its half-space level plus the cabin's lift, as a band.

    `response` is a `Response` from `solve`, or a `Ceiling` from `max_output` at 1 m.
    """
    distance = getattr(response, "distance", 1.0)
    air = getattr(response, "air", None) if air is None else air
    lift = cabin_lift(cabin, response.frequency, distance, air)
    edges = (response.spl + edge for edge in (lift.low, lift.mid, lift.high))
    return SeatLevel(response.frequency, response.spl, *edges, lift)


def along_the_cabin(frequency, length, box, seat, loss=0.2, air=None):
    """Pressure at the seat over that of an even pressure zone, for waves along the length only.

    A tube with hard ends, a box at one place and a seat at another:
    kL·cos(kx)·cos(k(L − x′))/sin(kL), x the nearer to the front, x′ the other. Derived from the
    one-dimensional wave equation. It tends to 1 towards 0 Hz: there it does not matter where you
    sit. A real cabin has seats, glass and two more directions.

    Parameters
    ----------
    frequency : array, Hz
    length : m
    box, seat : m from the front end
    loss : share of energy lost per radian, as 1/Q of each mode (0.2: our own choice)

    Returns
    -------
    complex array, shape (n,)

    Raises
    ------
    ValueError
        If box or seat lies outside the cabin.
    """
    air = Air() if air is None else air
    length = positive("length", length, _HINT)
    for name, place in (("box", box), ("seat", seat)):
        if not 0 <= number(name, place) <= length:
            raise ValueError(
                f"{name} = {place:g} m lies outside a cabin of {length:g} m; count from the front"
            )
    frequency = np.asarray(positive("frequency", frequency, "Give hertz."))
    wave = 2 * np.pi * frequency / air.speed_of_sound
    wave = wave * np.sqrt(1 - 1j * positive("loss", loss))
    near, far = min(box, seat), max(box, seat)
    spread = np.cos(wave * near) * np.cos(wave * (length - far))
    return wave * length * spread / np.sin(wave * length)


def boundary_loading(frequency, distances, air=None):
    """Power of a small source near rigid walls, dB over the same source far from any wall.

    Sum over its mirror images, Σ sin(2kd)/(2kd), walls at right angles to each other (Waterhouse,
    J. Acoust. Soc. Am. 30 (1958) 4, from memory). One wall near by gives +3 dB of power (+6 dB of
    pressure in the half that is left), two +6, three +9. Half space already counts the floor, so
    take that off. In the pressure zone this is in the lift already: do not add the two.

    Parameters
    ----------
    frequency : array, Hz
    distances : 1 to 3 distances in m, one for each wall
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
