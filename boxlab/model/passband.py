"""Size, efficiency, extension: what a box gives up for what it gets, from solved responses.

Small's relation η0 = k·f3³·Vb (J. Audio Eng. Soc. 20 (1972) 383) ties the three together. Here η0
and f3 are read off the solved response and k follows from them. Small's largest k are 2.0e-6 for
closed boxes and 3.9e-6 for vented ones (J. Audio Eng. Soc. 20 (1972) 798 and 21 (1973) 363; from
memory), in SI units at his c = 345 m/s. The closed one is a true maximum. The vented one is the
best of the usual smooth alignments without losses: `why_beyond` says what a design above it does.
"""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import ArrayLike

from boxlab.base.array_types import Values
from boxlab.base.checks import number, positive
from boxlab.model.air import Air
from boxlab.model.any_box import Box
from boxlab.model.driver import Driver
from boxlab.model.enclosure import SealedBox
from boxlab.model.random_designs import take
from boxlab.model.response import solve

HALF_POWER = 10 * np.log10(0.5)  # −3.01 dB
PLATEAU_AT = 1e6  # Hz: far above every resonance, where the model without coil inductance is flat
GRID = np.geomspace(3, 1500, 324)  # Hz, about 36 points an octave
CEILINGS = {"sealed": 2.0e-6, "ported": 3.9e-6, "radiator": 3.9e-6}
CEILING_SPEED = 345.0  # m/s, Small's speed of sound
ROUNDING = 0.05  # the ceilings are printed to two figures, for smooth alignments only
PEAK, SAG = 0.25, 0.1  # dB that count as a peak, and as a sag


@dataclass(frozen=True, eq=False)
class Passband:
    """What the solved responses of one or many designs come to. Arrays have the designs' shape.

    Attributes
    ----------
    f3 : Hz, above which the response stays within 3 dB of its plateau, or higher
    peak : dB by which the response rises above its plateau (0 if it never does)
    sag : dB by which it falls, at worst, below the maximally flat response of its order with the
        same f3 (second order for a sealed box, else fourth); 0 if it never does
    efficiency : reference efficiency η0, a ratio, from the plateau into half space
    volume : net box volume, m³
    constant : k = η0 / (f3³·Vb), s³/m³
    """

    f3: np.ndarray
    peak: np.ndarray
    sag: np.ndarray
    efficiency: np.ndarray
    volume: np.ndarray
    constant: np.ndarray


def corner(frequency: np.ndarray, level: np.ndarray, drop: float = HALF_POWER) -> Values:
    """Frequency above which `level` stays over `drop`, Hz.

    Parameters
    ----------
    frequency : Hz, rising, shape (F,)
    level : dB against the plateau, designs' shape + (F,)
    drop : dB

    Returns
    -------
    array of the designs' shape: the highest upward crossing, from the two points beside it and the
    curvature there, in log frequency; NaN where it lies outside `frequency`

    >>> f = np.geomspace(10, 200, 60)
    >>> round(float(corner(f, -10 * np.log10(1 + (40 / f) ** 4))), 1)  # Hz, Butterworth's
    40.0
    """
    frequency = np.asarray(positive("frequency", frequency, "Frequency is in hertz."))
    drop = number("drop", drop, hint="It is in dB.")
    level = np.maximum(np.asarray(level, dtype=float), -300.0) - drop
    size = frequency.size
    if size < 4 or level.shape[-1] != size:
        raise ValueError(
            f"level has {level.shape[-1]} points and frequency {size}: give one level for each of "
            "four or more frequencies."
        )
    i = size - 1 - np.argmax((level < 0)[..., ::-1], axis=-1)  # the last point below
    found = (level < 0).any(axis=-1) & (i < size - 1)
    i = np.clip(i, 1, size - 3)

    def at(step):
        return np.take_along_axis(level, np.asarray(i + step)[..., None], axis=-1)[..., 0]

    before, low, high, after = (at(step) for step in (-1, 0, 1, 2))
    bend = (before - low - high + after) / 4
    slope = high - low - bend
    with np.errstate(invalid="ignore", divide="ignore"):
        part = -2 * low / (slope + np.sqrt(np.maximum(slope**2 - 4 * bend * low, 0)))
        crossing = frequency[i] * (frequency[i + 1] / frequency[i]) ** np.clip(part, 0, 1)
    return np.where(found, crossing, np.nan)[()]


def levels(
    driver: Driver, box: Box, frequency: ArrayLike = GRID, air: Air | None = None
) -> np.ndarray:
    """Response in dB against its own plateau, designs' shape + (F,).

    The plateau is that of the driver without coil inductance, as in Small's definition; the
    inductance itself is left in, so a strong one shows as a droop.

    >>> from boxlab.gear.scenario import TEN_INCH_DRIVER as driver
    >>> from boxlab.model.enclosure import SealedBox
    >>> levels(driver, SealedBox(0.014), [30.0, 400.0]).round(1)  # dB
    array([-13.1,  -1.4])

    Parameters
    ----------
    driver, box, air : as for `boxlab.model.response.solve`
    frequency : Hz, shape (F,)
    """
    air = Air() if air is None else air
    with np.errstate(divide="ignore"):
        magnitude = np.abs(solve(driver, box, frequency, 1.0, air).pressure)
        return 20 * np.log10(magnitude / np.asarray(plateau(driver, box, air))[..., None])


def passband(driver: Driver, box: Box, air: Air | None = None, chunk: int = 2000) -> Passband:
    """Read f3, peak, sag and efficiency off the solved responses, and k from them.

    Coil inductance is left out, since the relation is about the low end; designs are solved
    `chunk` at a time, to bound the memory used.

    >>> from boxlab.gear.scenario import TEN_INCH_DRIVER
    >>> from boxlab.model.enclosure import SealedBox
    >>> round(float(passband(TEN_INCH_DRIVER, SealedBox(0.014)).f3), 1)  # Hz
    70.8

    Parameters
    ----------
    driver, box : Driver, and a box; one design or many
    air : Air; 20 °C at sea level if left out
    chunk : designs solved at a time

    Returns
    -------
    Passband
        In the shape of the designs: f3 in Hz, peak and sag in dB, efficiency and k without unit.

    Raises
    ------
    ValueError
        As `solve`.
    """
    air = Air() if air is None else air
    driver = driver.without_inductance
    flat = plateau(driver, box, air)
    shape = np.shape(flat)
    if len(shape) == 1 and shape[0] > chunk:
        parts = [
            passband(take(driver, place, shape[0]), take(box, place, shape[0]), air, chunk)
            for place in (slice(n, n + chunk) for n in range(0, shape[0], chunk))
        ]
        names = [item.name for item in fields(Passband)]
        return Passband(**{n: np.concatenate([getattr(p, n) for p in parts]) for n in names})
    level = levels(driver, box, GRID, air)
    f3 = np.asarray(corner(GRID, level))
    order = 2 if isinstance(box, SealedBox) else 4
    above = f3[..., None] <= GRID
    with np.errstate(invalid="ignore"):
        butter = -10 * np.log10(1 + (f3[..., None] / GRID) ** (2 * order))
    # 1 V rms at 1 m: power through the half sphere over Small's nominal input 1 V²/Re
    radiated = 2 * np.pi * flat**2 / (air.density * air.speed_of_sound)
    efficiency = radiated * driver.re
    volume = np.broadcast_to(box.volume, shape)
    return Passband(
        f3=f3[()],
        peak=np.max(np.where(above, level, 0), axis=-1, initial=0),
        sag=np.max(np.where(above, butter - level, 0), axis=-1, initial=0),
        efficiency=efficiency,
        volume=volume[()],
        constant=(efficiency / (f3**3 * volume))[()],
    )


def efficiency_constant(driver: Driver, box: Box, air: Air | None = None) -> Values:
    """Small's constant of size, efficiency and extension, s³/m³, from the solved response.

    Formula: k = η0/(f3³·Vb)

    >>> from boxlab.gear.scenario import TEN_INCH_DRIVER as driver
    >>> from boxlab.model.enclosure import SealedBox
    >>> f"{float(efficiency_constant(driver, SealedBox(0.014))):.1e}"  # s³/m³
    '6.3e-07'

    Parameters
    ----------
    driver, box, air : as for `boxlab.model.response.solve`
    """
    return passband(driver, box, air).constant


def ceiling(kind: str, air: Air | None = None) -> float:
    """Published largest k of smooth lossless alignments, s³/m³, carried to this air's c.

    k goes as 1/c³, and the published values hold at 345 m/s.

    >>> f"{ceiling('sealed'):.2e}"  # s³/m³
    '2.03e-06'

    Parameters
    ----------
    kind : "sealed", "ported" or "radiator"
    air : Air; 20 °C at sea level if left out
    """
    if kind not in CEILINGS:
        raise ValueError(f"kind = {kind!r}: choose one of {', '.join(CEILINGS)}.")
    air = Air() if air is None else air
    return CEILINGS[kind] * (CEILING_SPEED / air.speed_of_sound) ** 3


def why_beyond(kind: str, found: Passband, air: Air | None = None) -> np.ndarray:
    """Say, for each design, how its k stands to the published ceiling.

    Parameters
    ----------
    kind : "sealed", "ported" or "radiator"
    found : the Passband

    Returns
    -------
    array of text: "under"; "within 5 %" (rounding of the printed value, and the last bit that a
    smooth response can still gain); beyond that "sags", "peaks" or "sags and peaks", as the
    response itself does; "no f3" where that is unknown; "no reason" would be a fault of the model

    >>> from boxlab.gear.scenario import TEN_INCH_DRIVER
    >>> str(why_beyond("sealed", passband(TEN_INCH_DRIVER, SealedBox(0.014))))
    'under'
    """
    over = np.asarray(found.constant / ceiling(kind, air))
    peaks, sags = np.asarray(found.peak > PEAK), np.asarray(found.sag > SAG)
    return np.select(
        [over <= 1, over <= 1 + ROUNDING, np.isnan(over), peaks & sags, sags, peaks],
        ["under", "within 5 %", "no f3", "sags and peaks", "sags", "peaks"],
        "no reason",
    )[()]


def plateau(
    driver: Driver, box: Box, air: Air | None = None, voltage: ArrayLike = 1.0,
    distance: ArrayLike = 1.0,
) -> Values:  # fmt: skip
    """Far-field pressure high above every resonance, Pa rms, designs' shape.

    Coil inductance is left out, so the response ends in a true plateau there.

    >>> from boxlab.gear.scenario import TEN_INCH_DRIVER as driver
    >>> from boxlab.model.enclosure import SealedBox
    >>> round(float(plateau(driver, SealedBox(0.014))), 2)  # Pa
    0.25

    Parameters
    ----------
    driver, box, air : as for `boxlab.model.response.solve`
    voltage : V rms
    distance : m
    """
    return np.abs(
        solve(driver.without_inductance, box, PLATEAU_AT, voltage, air, distance).pressure
    )
