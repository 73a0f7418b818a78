"""A warm coil as a driver, and how it loses its heat: two resistances, two times, and what may be
assumed of them.

The ladder from coil to magnet to air is that of Henricksen (J. Audio Eng. Soc. 35 (1987) 778) and
Button (40 (1992) 32; both from memory). Makers hardly ever print its figures, so `usual_heat` gives
ranges, and every answer from them is an answer under an assumption.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike

from boxlab.base.array_types import Values
from boxlab.base.checks import Record, not_negative, positive, same_shape, suspect, whole
from boxlab.model.driver import Driver, beside

# Resistance rise per kelvin from 20 °C (copper as in IEC 60028; both from memory).
PER_KELVIN = {"copper": 0.00393, "aluminium": 0.00403}
HOTTEST = 300.0  # K above 20 °C; the glue of no coil is made for more (from memory)


def per_kelvin(metal: str) -> float:
    """Rise of a coil's resistance, 1/K from 20 °C; its `metal` is "copper" or "aluminium".

    >>> per_kelvin("copper"), per_kelvin("aluminium")
    (0.00393, 0.00403)

    Raises
    ------
    ValueError
        For another metal.
    """
    if metal not in PER_KELVIN:
        raise ValueError(f"metal = {metal!r}: a coil is of {' or '.join(PER_KELVIN)}.")
    return PER_KELVIN[metal]


def warmed(driver: Driver, kelvin: ArrayLike, metal: str = "copper") -> Driver:
    """The driver with its coil `kelvin` above 20 °C: Re·(1 + α·ΔT); all else stays as it is.

    `kelvin` is a number or one for each design; `metal` is "copper" or "aluminium".

    >>> from boxlab.gear.scenario import TEN_INCH_DRIVER
    >>> hot = warmed(TEN_INCH_DRIVER, 100)
    >>> round(hot.re / TEN_INCH_DRIVER.re, 3), round(float(hot.qes / TEN_INCH_DRIVER.qes), 3)
    (1.393, 1.393)

    Parameters
    ----------
    driver : Driver
    kelvin : K above 20 °C
    metal : of the coil

    Raises
    ------
    ValueError
        For a temperature below 20 °C, or another metal.

    Warns
    -----
    UnitWarning
        Above 300 K, which no coil lasts.
    """
    alpha = per_kelvin(metal)
    if np.ndim(kelvin) == 0 and kelvin == 0:
        return driver
    hint = "Give kelvin above 20 °C; no coil lasts above about 250."
    kelvin = not_negative("kelvin", kelvin, hint)
    suspect("kelvin", kelvin, 0, HOTTEST, hint)
    return hotter(driver, kelvin, alpha)


def hotter(driver: Driver, kelvin: ArrayLike, alpha: float) -> Driver:
    """The driver with its coil `kelvin` warmer, at a rise of `alpha` for each kelvin.

    >>> from boxlab.gear.scenario import TEN_INCH_DRIVER as driver
    >>> driver.re, round(hotter(driver, 100.0, 0.004).re, 2)
    (3.4, 4.76)
    """
    return replace(driver, re=driver.re * (1 + alpha * kelvin))


@dataclass(frozen=True, eq=False)
class CoilHeat(Record):
    """How a coil loses its heat. Any number may be an array, one value for each design.

    >>> CoilHeat(coil=1.2, magnet=0.8, coil_time=8, magnet_time=900).coil
    1.2

    Parameters
    ----------
    coil, magnet : K/W from coil to magnet, and from magnet to the air around
    coil_time, magnet_time : s, time constants of the two stages, each by itself
    why : where the figures are from

    Raises
    ------
    ValueError
        For a value that is not above zero, or a magnet that is not slower than the coil.
    """

    coil: float | np.ndarray
    magnet: float | np.ndarray
    coil_time: float | np.ndarray
    magnet_time: float | np.ndarray
    why: str = ""

    def __post_init__(self):
        names = ("coil", "magnet", "coil_time", "magnet_time")
        for name in names:
            hint = "It is in seconds." if name.endswith("time") else "It is in K/W."
            self._store(name, positive(name, getattr(self, name), hint))
        same_shape("CoilHeat", **{name: getattr(self, name) for name in names})
        hint = "A thermal resistance is in K/W: about 0.5 to 5."
        suspect("coil", self.coil, 0.1, 30, hint)
        suspect("magnet", self.magnet, 0.05, 30, hint)
        if np.any(np.asarray(self.magnet_time) <= self.coil_time):
            raise ValueError(
                f"magnet_time = {self.magnet_time} s must be longer than coil_time = "
                f"{self.coil_time} s: a coil warms in seconds, a magnet in many minutes."
            )

    @property
    def total(self):
        """Thermal resistance from the coil to the air, K/W: both stages."""
        return self.coil + self.magnet

    def shared(self, count):
        """That of `count` equal drivers taken as one: each coil has its share of the watts."""
        n = whole("count", count)
        return replace(self, coil=self.coil / n, magnet=self.magnet / n)


@dataclass(frozen=True)
class HeatRange:
    """Coolest, typical and hottest assumption: three `CoilHeat`, and in words where from."""

    low: CoilHeat
    typical: CoilHeat
    high: CoilHeat
    why: str

    @property
    def all(self):
        """The three as one `CoilHeat` of three designs, coolest first."""
        three = (self.low, self.typical, self.high)
        names = ("coil", "magnet", "coil_time", "magnet_time")
        return CoilHeat(*(np.array([getattr(h, n) for h in three]) for n in names), self.why)


# Cone area of one driver up to, m²: (least, typical, most) K/W from coil to magnet. Small woofers
# of 4 to 6.5 inches 2 to 5, ten and twelve inches 1 to 2, large vented coils from 0.5 (all from
# memory); eight inches is our own guess between its neighbours.
_SIZES = (
    (0.018, (2.0, 3.2, 5.0), "4 to 6.5 inch"),
    (0.027, (1.4, 2.1, 3.5), "8 inch"),
    (0.060, (1.0, 1.4, 2.0), "10 and 12 inch"),
    (np.inf, (0.5, 1.0, 2.0), "15 inch and larger"),
)
_MAGNET = (0.5, 1.0, 2.0)  # K/W to the air, from memory; a shut box adds to it
_COIL_TIME, _MAGNET_TIME = (30.0, 10.0, 3.0), (3600.0, 1500.0, 600.0)  # s, from memory


def usual_heat(driver: Driver, count: int = 1) -> HeatRange:
    """What may be assumed of a driver's heat by its size: from coolest to hottest.

    The coolest has the least resistances and the longest times, so that at any moment the truth
    lies between, as far as the figures hold: they are from memory, and no maker's.

    Parameters
    ----------
    driver : Driver, one design; `count` equal drivers taken as one (`boxlab.together`)

    >>> from boxlab.gear.scenario import TEN_INCH_DRIVER
    >>> found = usual_heat(TEN_INCH_DRIVER)
    >>> found.low.total, found.high.total
    (1.5, 4.0)

    Raises
    ------
    ValueError
        For a driver of many designs.
    """
    n = whole("count", count)
    if np.ndim(driver.sd):
        raise ValueError("usual_heat takes one driver; of many designs ask for one after another.")
    coil, size = next((c, name) for most, c, name in _SIZES if driver.sd / n <= most)
    why = f"assumed for {size}, from memory: no maker's figure, and no measurement"
    rows = zip(coil, _MAGNET, _COIL_TIME, _MAGNET_TIME, strict=True)
    return HeatRange(*(CoilHeat(*row, why).shared(n) for row in rows), why)


def heated(heat: CoilHeat, watts: ArrayLike, time: ArrayLike) -> tuple[Values, Values]:
    """Step answer: kelvin of coil and magnet `time` s after `watts` begin, and stay: two arrays.

    The ladder of the two stages, in closed form; designs first, time last. Its heat capacities are
    coil_time/coil and magnet_time/magnet, J/K.

    >>> one = CoilHeat(1.4, 1.0, 10, 1500)
    >>> coil, magnet = heated(one, 50.0, np.array([0.0, 10.0, 1e5]))
    >>> coil.round(1), magnet.round(1)
    (array([  0. ,  44.3, 120. ]), array([ 0. ,  0.1, 50. ]))
    """
    time = not_negative("time", time, "It is in seconds.")
    watts = not_negative("watts", watts, "It is in watts.")
    start = np.zeros(np.broadcast_shapes(np.shape(heat.total), np.shape(watts)))
    return coast(heat, start, start, beside(watts, time), time)


def coast(
    heat: CoilHeat, coil: ArrayLike, magnet: ArrayLike, watts: ArrayLike, time: ArrayLike
) -> tuple[Values, Values]:
    """Coil and magnet, K, `time` s after they had `coil` and `magnet`, under constant watts.

    Solved along the two eigenvectors of the ladder; `watts` has a place for time already.

    >>> coil, magnet = coast(CoilHeat(1.4, 1.0, 10, 1500), 50.0, 20.0, 0.0, np.array([0.0, 1e5]))
    >>> coil.round(1), magnet.round(1)
    (array([50.,  0.]), array([20.,  0.]))

    Parameters
    ----------
    heat : CoilHeat
    coil, magnet : K above 20 °C at the start
    watts : W, with an axis for time
    time : s
    """
    r1, r2, t1, t2 = (
        beside(each, time) for each in (heat.coil, heat.magnet, heat.coil_time, heat.magnet_time)
    )
    # d/dt (coil, magnet) = −[[a, −a], [−b, b + d]] (coil, magnet) + (watts·r1/t1, 0)
    a, b, d = 1 / t1, r2 / (r1 * t2), 1 / t2
    half, root = (a + b + d) / 2, np.sqrt(((a - b - d) / 2) ** 2 + a * b)
    fast, slow = half + root, a * d / (half + root)
    rest_magnet, rest_coil = watts * r2, watts * (r1 + r2)
    x, y = beside(coil, time) - rest_coil, beside(magnet, time) - rest_magnet
    # coil part of each mode: x = p + q, magnet's is (1 − rate/a) of it
    in_fast, in_slow = 1 - fast / a, 1 - slow / a
    p = (y - in_slow * x) / (in_fast - in_slow)
    q = x - p
    p, q = p * np.exp(-fast * time), q * np.exp(-slow * time)
    return rest_coil + p + q, rest_magnet + in_fast * p + in_slow * q
