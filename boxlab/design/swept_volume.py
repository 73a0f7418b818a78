"""Low and loud: swept volume, what equalising buys and costs, and boxes side by side."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from boxlab.base.array_types import Values
from boxlab.base.checks import number, positive, whole
from boxlab.model.air import Air
from boxlab.model.any_box import Box
from boxlab.model.driver import Driver
from boxlab.model.enclosure import SealedBox
from boxlab.model.limits import max_output
from boxlab.model.passband import passband, plateau
from boxlab.model.response import P_REF, solve


def swept_volume(
    frequency: ArrayLike, spl: ArrayLike, distance: ArrayLike = 1.0, air: Air | None = None
) -> Values:
    """Peak volume that must be displaced one way for `spl` dB into half space, m³.

    Formula: V = 2·π·r·√(2)·p/(ρ·ω²)

    From the far field of a small source on a floor, p rms and V peak. Halving the frequency asks
    for four times the volume; 6 dB more asks for twice.

    >>> round(float(swept_volume(20.0, 100.6)) * 1e3, 2)
    1.0

    Raises
    ------
    ValueError
        For a frequency or distance that is not above zero, and a level that is no number.
    """
    air = Air() if air is None else air
    frequency = np.asarray(positive("frequency", frequency, "Frequency is in hertz."))
    distance = positive("distance", distance, "Distance is in metres.")
    pressure = P_REF * 10 ** (np.asarray(number("spl", spl, hint="Level is in dB.")) / 20)
    omega = 2 * np.pi * frequency
    return np.sqrt(2) * pressure * 2 * np.pi * distance / (air.density * omega**2)


def cone_share(
    driver: Driver, box: Box, frequency: ArrayLike, air: Air | None = None
) -> np.ndarray:
    """Volume the cone sweeps over the net volume that reaches the listener; designs' shape + (F,).

    1 for a sealed box. Below 1 where the vent helps, above 1 where it works against the cone.
    Times `swept_volume` it is what the cone itself must sweep.

    >>> from boxlab.gear.scenario import TEN_INCH_DRIVER, TEN_INCH_RADIATOR
    >>> from boxlab.model.enclosure import RadiatorBox
    >>> box = RadiatorBox.tuned(0.014, 36, TEN_INCH_RADIATOR, ql=7)
    >>> cone_share(TEN_INCH_DRIVER, box, [36, 100]).round(2)
    array([0.17, 0.89])

    Parameters
    ----------
    driver, box, air : as for `boxlab.model.response.solve`
    frequency : Hz
    """
    r = solve(driver, box, frequency, 1.0, air)
    with np.errstate(divide="ignore"):
        return np.abs(r.cone_volume_velocity) / np.abs(r.volume_velocity)


@dataclass(frozen=True, eq=False)
class Equalised:
    """A box equalised to a lower f3, at each frequency, shape (F,)."""

    frequency: np.ndarray  # Hz
    boost: np.ndarray  # dB of equalising, negative for a cut
    voltage: np.ndarray  # V rms at the driver
    power: np.ndarray  # W, real electrical power
    plain_power: np.ndarray  # W for the same programme without equalising
    cone_excursion: np.ndarray  # m, peak one way
    vent_excursion: np.ndarray  # m, peak one way, of one radiator or air slug
    spl: np.ndarray  # dB


def equalise(
    driver: Driver, box: Box, f3: float, spl: ArrayLike, frequency: ArrayLike | None = None, *,
    distance: ArrayLike = 1.0, air: Air | None = None,
) -> Equalised:  # fmt: skip
    """Equalise one box to the maximally flat response of its order with corner `f3`.

    >>> from boxlab.gear.scenario import TEN_INCH_DRIVER as driver
    >>> from boxlab.model.enclosure import SealedBox
    >>> float(equalise(driver, SealedBox(0.014), 40.0, 90.0, [40.0]).boost[0].round(1))  # dB
    6.0

    Parameters
    ----------
    f3 : the corner wanted, Hz
    spl : level wanted in the passband, dB at `distance` m into half space
    frequency : Hz, shape (F,); from f3 to 200 Hz if left out. What lies below f3 is left to the
        high-pass filter every such equaliser needs.

    Returns
    -------
    Equalised
        The target is of second order for a sealed box and fourth for others. The boost is not
        limited, and neither are volts, watts or millimetres: compare them with what you have.
    """
    air = Air() if air is None else air
    f3 = positive("f3", f3, "f3 is in hertz.")
    if frequency is None:
        if f3 >= 200:
            raise ValueError(
                f"f3 = {f3:g} Hz: give `frequency` too for a corner at 200 Hz or more."
            )
        frequency = np.geomspace(f3, 200, 120)
    frequency = np.atleast_1d(positive("frequency", frequency, "Frequency is in hertz."))
    spl = number("spl", spl, hint="Level is in dB.")
    order = 2 if isinstance(box, SealedBox) else 4
    target = spl - 10 * np.log10(1 + (f3 / frequency) ** (2 * order))
    unit = solve(driver, box, frequency, 1.0, air, distance)
    plain = P_REF * 10 ** (spl / 20) / plateau(driver, box, air, 1.0, distance)
    voltage = 10 ** ((target - unit.spl) / 20)
    return Equalised(
        frequency=unit.frequency,
        boost=20 * np.log10(voltage / plain),
        voltage=voltage,
        power=unit.power * voltage**2,
        plain_power=unit.power * plain**2,
        cone_excursion=unit.cone_excursion * voltage,
        vent_excursion=unit.vent_excursion * voltage,
        spl=target,
    )


@dataclass(frozen=True, eq=False)
class Rating:
    """One candidate of a comparison."""

    name: str
    volume: float  # m³, net, all boxes together
    f3: float  # Hz
    peak: float  # dB
    efficiency: float  # ratio, all boxes together
    constant: float  # s³/m³
    sensitivity: float  # dB in the passband, 2.83 V on every driver
    frequency: np.ndarray  # Hz
    spl: np.ndarray  # dB, the loudest at each frequency
    limit: np.ndarray  # which limit stops it there
    power: np.ndarray  # W into all boxes together at that level


def rate(
    name: str, driver: Driver, box: Box, count: int = 1,
    frequency: ArrayLike = (20, 25, 31.5, 40, 50, 63, 80), *, air: Air | None = None, **caps: Any,
) -> Rating:  # fmt: skip
    """Rate `count` equal boxes standing close together, each with one `driver`.

    Each driver gets the full voltage, so the pressures add: n boxes give 20·log(n) dB more for n
    times the power, and n times the efficiency. That holds while they stand much closer than a
    wavelength: see `pair_gain`.

    Parameters
    ----------
    name : what the rating is called
    driver, box, count : one driver, its box, and how many such boxes
    frequency : Hz, shape (n,)
    caps : as for `boxlab.model.limits.max_output`: `power` (for each driver) with its `load`, or
        `voltage`, and `air_speed`

    Raises
    ------
    ValueError
        As `max_output`, and for a count that is not a whole number.

    >>> from boxlab.gear.scenario import TEN_INCH_DRIVER
    >>> one, two = (rate("", TEN_INCH_DRIVER, SealedBox(0.014), n, voltage=20.0) for n in (1, 2))
    >>> (two.spl - one.spl)[:2].round(1), round(two.efficiency / one.efficiency, 1)
    (array([6., 6.]), 2.0)
    """
    count = whole("count", count)
    frequency = np.atleast_1d(positive("frequency", frequency, "Frequency is in hertz."))
    found = passband(driver, box, air)
    top = max_output(driver, box, frequency, air=air, **caps)
    added = 20 * np.log10(count)
    unit = solve(driver, box, frequency, 1.0, air)
    sensitivity = 20 * np.log10(count * plateau(driver, box, air, 2.83) / P_REF)
    return Rating(
        name=name,
        volume=count * box.volume,
        f3=float(found.f3),
        peak=float(found.peak),
        efficiency=count * float(found.efficiency),
        constant=float(found.constant),
        sensitivity=float(sensitivity),
        frequency=top.frequency,
        spl=top.spl + added,
        limit=top.limit,
        power=count * unit.power * top.voltage**2,
    )


def pair_gain(frequency: ArrayLike, spacing: ArrayLike, air: Air | None = None) -> Values:
    """Power two equal small sources radiate over that of the two far apart: 1 + sin(kd)/(kd).

    2 (3 dB) when they stand close, 1 when far apart. At equal distances from both the pressure is
    6 dB up at any spacing; this is about the power into the room, and so the efficiency.
    Two simple sources (Kinsler et al., Fundamentals of Acoustics; from memory).

    >>> round(float(pair_gain(40.0, 0.5)), 3)
    1.978

    Parameters
    ----------
    frequency : Hz
    spacing : m between them
    air : Air; 20 °C at sea level if left out
    """
    air = Air() if air is None else air
    frequency = np.asarray(positive("frequency", frequency, "Frequency is in hertz."))
    spacing = positive("spacing", spacing, "Spacing is in metres.")
    return 1 + np.sinc(2 * frequency * spacing / air.speed_of_sound)
