"""The warm coil: from watts to kelvins, to ohms, to lost decibels.

How it loses its heat is in `coil_heat`, as an assumption with a range, and so every answer is one
under an assumption. Left out: the air that a moving cone pumps past its coil, which cools it more
the more it moves (Klippel, J. Audio Eng. Soc. 52 (2004) 3, from memory), what the magnet loses of
its flux, the air in the box as it warms, eddy currents in the pole.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from boxlab.base.array_types import Values
from boxlab.base.checks import Record, not_negative, number, positive
from boxlab.model.any_box import Box
from boxlab.model.coil_heat import CoilHeat, coast, hotter, per_kelvin, warmed
from boxlab.model.driver import Driver
from boxlab.model.response import solve

_STEPS = 12  # of false position: the power is nearly a straight line over the kelvins
_PARTS = 4  # of the time between two moments of `warming`
_NEAR = 1e-8  # K: a coil is settled that moves no further
_GRID = 65  # temperatures at which the power is worked out for `warming`


def lost_midband(kelvin: ArrayLike, metal: str = "copper") -> Values:
    """Level lost at constant voltage where the cone's mass rules, dB; kelvin above 20 °C.

    Formula: lost = 20·log10(1 + α·ΔT)

    With the source's and the cable's resistance counted in it is less; near the peaks of the
    impedance it is less, too: `level_lost` has it by frequency. The coil's `metal` is "copper" or
    "aluminium".

    >>> round(float(lost_midband(100)), 2)
    2.88
    """
    kelvin = not_negative("kelvin", kelvin, "Give kelvin above 20 °C.")
    return 20 * np.log10(1 + per_kelvin(metal) * kelvin)


def settled_alone(watts: ArrayLike, resistance: ArrayLike, metal: str = "copper") -> Values:
    """How hot a bare coil gets at constant voltage when nothing moves, in K above 20 °C.

    Formula: ΔT = (√(1 + 4·α·R_th·P0) − 1)/(2·α)

    Parameters
    ----------
    watts : what the voltage drives into the cold coil, V²/Re, W
    resistance : thermal, from the coil to the air around, K/W
    metal : "copper" or "aluminium"

    The hotter coil draws less, and P = P0/(1 + α·ΔT), ΔT = R_th·P meet here (derived).

    >>> round(float(settled_alone(20**2 / 3.5, 1.5)))
    117
    """
    alpha = per_kelvin(metal)
    watts = not_negative("watts", watts, "Give what the cold coil takes, W.")
    resistance = positive("resistance", resistance, "A thermal resistance is in K/W.")
    return (np.sqrt(1 + 4 * alpha * resistance * watts) - 1) / (2 * alpha)


def coil_power(
    driver: Driver, box: Box, frequency: ArrayLike, voltage: ArrayLike,
    share: ArrayLike | None = None, **around: Any,
) -> Values:  # fmt: skip
    """Heat in the coil, W: |I|²·Re, of a tone or on average of a programme.

    >>> from boxlab.gear.scenario import TEN_INCH_DRIVER as driver
    >>> from boxlab.model.enclosure import SealedBox
    >>> round(float(coil_power(driver, SealedBox(0.014), 200.0, 20.0)))  # W
    113

    Parameters
    ----------
    driver, box : Driver, and its box or None
    frequency : Hz. Without `share` each is a tone by itself and counts as one more design; with it,
        shape (n,), the lines of one programme.
    voltage : V rms, of the tone or of the whole programme
    share : shares of the programme's power in each line, shape (n,), together 1; as in
        `boxlab.sound.programme.Spectrum`
    around : air, source_resistance, as for `boxlab.solve`

    Returns
    -------
    The shape of the designs; tones broadcast against them.
    """
    voltage = not_negative("voltage", voltage, "Give volts rms.")
    frequency = positive("frequency", frequency, "Frequency is in hertz.")
    if share is None:
        tone = np.asarray(frequency)[..., None]
        current = solve(driver, box, tone, 1.0, **around).current
        return (np.abs(current[..., 0]) ** 2 * driver.re * np.square(voltage))[()]
    share = not_negative("share", share, "Shares of the power in each line, together 1.")
    if np.shape(share) != np.shape(frequency) or np.ndim(share) != 1:
        raise ValueError(
            f"share has shape {np.shape(share)} and frequency {np.shape(frequency)}: give one "
            "share for each line of the programme."
        )
    if abs(np.sum(share) - 1) > 1e-6:
        raise ValueError(f"share adds up to {np.sum(share):g}; expected 1, the whole programme.")
    current = solve(driver, box, frequency, 1.0, **around).current
    heat = np.sum(share * np.abs(current) ** 2, axis=-1) * driver.re
    return (heat * np.square(voltage))[()]


def resistance_of_rating(
    watts: ArrayLike, kelvin: ArrayLike = 200.0, metal: str = "copper"
) -> Values:
    """Thermal resistance, K/W, that a rating V²/Re, `watts`, asks for if it is borne `kelvin` warm.

    ΔT·(1 + α·ΔT)/P0, the inverse of `settled_alone` (derived). What a label means by its watts is
    seldom said: this shows what it would have to mean. The coil's `metal` is "copper" or
    "aluminium".

    >>> round(float(resistance_of_rating(350)), 2)
    1.02
    """
    kelvin = positive("kelvin", kelvin, "Give kelvin above 20 °C, about 100 to 250.")
    watts = positive("watts", watts, "Give the rating in watts.")
    return kelvin * (1 + per_kelvin(metal) * kelvin) / watts


@dataclass(frozen=True, eq=False)
class WarmCoil(Record):
    """A coil that has warmed. Arrays have the designs' shape, then time last where there is time.

    kelvin : coil above 20 °C; magnet : magnet above 20 °C, K; watts : heat in the coil then;
    re : Ω.
    """

    kelvin: float | np.ndarray
    magnet: float | np.ndarray
    watts: float | np.ndarray
    re: float | np.ndarray


def settled(
    driver: Driver, box: Box, heat: CoilHeat, frequency: ArrayLike, voltage: ArrayLike,
    share: ArrayLike | None = None, metal: str = "copper", **around: Any,
) -> WarmCoil:  # fmt: skip
    """Where the coil comes to rest at constant voltage, after hours: a `WarmCoil`.

    A hotter coil draws another current, which warms it otherwise: the one temperature at which
    `heat.total` times the power is that temperature. The power per kelvin falls as the coil warms
    in any box, so there is one, and it lies below what the bare cold coil would give.

    Parameters
    ----------
    heat : CoilHeat; arrays in it are designs
    driver, box, frequency, voltage, share, around : as for `coil_power`
    metal : "copper" or "aluminium"

    >>> from boxlab.gear.scenario import TEN_INCH_DRIVER as driver
    >>> from boxlab import SealedBox, litres
    >>> from boxlab.model.coil_heat import usual_heat
    >>> warm = settled(driver, SealedBox(litres(14)), usual_heat(driver).all, 100.0, 20.0)
    >>> warm.kelvin.round(), warm.watts.round()
    (array([ 67., 106., 170.]), array([45., 44., 42.]))
    """
    alpha = per_kelvin(metal)

    def power(kelvin):
        return coil_power(hotter(driver, kelvin, alpha), box, frequency, voltage, share, **around)

    cold = np.square(not_negative("voltage", voltage, "Give volts rms.")) / driver.re
    shape = np.broadcast_shapes(np.shape(power(np.zeros(np.shape(heat.total)))), np.shape(cold))
    low, high = np.zeros(shape), np.broadcast_to(settled_alone(cold, heat.total, metal), shape)
    over, under = (heat.total * power(each[()]) - each for each in (low, high))
    side = np.zeros(shape)
    for _ in range(_STEPS):  # false position, the end that stays twice counting half (Illinois)
        with np.errstate(divide="ignore", invalid="ignore"):
            middle = (high * over - low * under) / (over - under)
        middle = np.where(over > under, middle, low)
        found = heat.total * power(middle[()]) - middle
        above = found > 0
        under = np.where(above & (side > 0), under / 2, np.where(above, under, found))
        over = np.where(~above & (side < 0), over / 2, np.where(above, found, over))
        low, high = np.where(above, middle, low), np.where(above, high, middle)
        side = np.where(above, 1, -1)
        if np.all(np.abs(found) < _NEAR):
            break
    kelvin = middle[()]
    watts = power(kelvin)
    return WarmCoil(kelvin, heat.magnet * watts, watts, driver.re * (1 + alpha * kelvin))


def warming(
    driver: Driver, box: Box, heat: CoilHeat, time: ArrayLike, frequency: ArrayLike,
    voltage: ArrayLike, share: ArrayLike | None = None, metal: str = "copper", **around: Any,
) -> WarmCoil:  # fmt: skip
    """The coil from cold at constant voltage, as it warms and draws another current.

    Parameters
    ----------
    time : s, shape (n,), rising; a log grid from below the coil's time to hours does well
    heat : CoilHeat; arrays in it are designs
    driver, box, frequency, voltage, share, around : as for `coil_power`; one design, one tone or
        one programme. A programme counts by its average: its beats are faster than a coil.
    metal : "copper" or "aluminium"

    Returns
    -------
    WarmCoil with arrays of the heat's shape, then time.

    >>> from boxlab.gear.scenario import TEN_INCH_DRIVER as driver
    >>> from boxlab.model.coil_heat import usual_heat
    >>> heat = usual_heat(driver).typical
    >>> warming(driver, None, heat, [1.0, 60.0, 3600.0], 100.0, 20.0).kelvin.round()
    array([  9.,  86., 132.])
    """
    alpha = per_kelvin(metal)
    time = np.atleast_1d(not_negative("time", number("time", time), "It is in seconds."))
    if time.ndim != 1 or np.any(np.diff(time) <= 0):
        raise ValueError("time must rise from one moment to the next: seconds, shape (n,).")
    cold = float(positive("voltage", voltage, "Give volts rms.")) ** 2 / driver.re
    most = float(np.max(settled_alone(cold, heat.total, metal)))
    grid = np.linspace(0, most, _GRID)
    curve = coil_power(hotter(driver, grid, alpha), box, frequency, voltage, share, **around)
    # what a part of each step makes of one kelvin of coil, of one of magnet, and of one watt
    steps = np.diff(time, prepend=0.0) / _PARTS
    parts = np.array([coast(heat, *one, steps) for one in np.eye(3)])  # (3, 2, ..., n)
    shape = np.shape(heat.total)
    rows = parts.reshape(3, 2, -1, time.size).transpose(2, 3, 0, 1).tolist()
    found = np.array([_walk(row, curve.tolist(), most / (_GRID - 1)) for row in rows])
    kelvin, rest = np.moveaxis(found, -1, 0).reshape(2, *shape, time.size)
    return WarmCoil(kelvin, rest, np.interp(kelvin, grid, curve), driver.re * (1 + alpha * kelvin))


def _walk(steps, curve, width):
    """Coil and magnet above 20 °C, K, after each step; in plain numbers, for there are many.

    `curve` is the power, W, at every `width` kelvin, straight in between.
    """
    slopes = [(high - low) / width for low, high in itertools.pairwise(curve)]
    cold = [curve[n] - n * width * slope for n, slope in enumerate(slopes)]
    last = len(slopes) - 1
    coil, magnet, begun, at, found = 0.0, 0.0, curve[0], 0, []
    for of_coil, of_magnet, of_watts in steps:
        for _ in range(_PARTS):
            still = of_coil[0] * coil + of_magnet[0] * magnet
            rest = of_coil[1] * coil + of_magnet[1] * magnet
            for _ in range(4):  # the watts of the part are the mean of its two ends'
                coil = still + of_watts[0] * (begun + cold[at]) / 2
                coil /= 1 - of_watts[0] * slopes[at] / 2
                here = min(int(coil / width), last)
                if here == at:
                    break
                at = here
            then = cold[at] + slopes[at] * coil
            magnet = rest + of_watts[1] * (begun + then) / 2
            begun = then
        found.append((coil, magnet))
    return found


def level_lost(
    driver: Driver, box: Box, frequency: ArrayLike, kelvin: ArrayLike, metal: str = "copper",
    **around: Any,
) -> Values:  # fmt: skip
    """Level that a coil `kelvin` above 20 °C costs at the same voltage, dB; never below zero.

    >>> from boxlab.gear.scenario import TEN_INCH_DRIVER
    >>> round(float(level_lost(TEN_INCH_DRIVER, None, 100.0, 100.0)), 1)  # dB
    1.9

    Parameters
    ----------
    driver, box : Driver, and its box or None
    metal : "copper" or "aluminium", of the coil
    frequency : Hz, shape (F,)
    kelvin : a number, or one for each design
    around : air, source_resistance, as for `boxlab.solve`

    Returns
    -------
    dB, shape of the designs, then frequency. Its most is `lost_midband`; at the impedance peaks
    little is lost, because there the coil's ohms are a small part of the whole.
    """
    cold = solve(driver, box, frequency, 1.0, **around)
    warm = solve(warmed(driver, kelvin, metal), box, frequency, 1.0, **around)
    # all motion goes by 1/total, which is nowhere zero: so the loss is finite at a null, too
    return 20 * np.log10(np.abs(warm._circuit.total) / np.abs(cold._circuit.total))
