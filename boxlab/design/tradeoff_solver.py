"""Pick two: size, efficiency and extension at one constant k, and the box on paper that gets there.

`pick_two` is Small's relation η0 = k·f3³·Vb turned to whichever of the three is wanted. `best_box`
makes the lossless design with the largest k of the published alignments, so that the solved
response can be held against the relation.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike

from boxlab.base.array_types import Values
from boxlab.base.checks import positive
from boxlab.model.air import Air
from boxlab.model.any_box import Box
from boxlab.model.driver import Driver
from boxlab.model.enclosure import PortedBox, SealedBox
from boxlab.model.passband import passband
from boxlab.model.response import P_REF
from boxlab.model.vents import Port

# kind -> (Q of the driver with its motor, tuning over fs, Vas over the box, compliance in m/N).
# Sealed: Qtc = 1.13 in a box much smaller than Vas, where k is largest (derived from the
# second-order closed form). Ported: the Chebyshev C4 with k = 0.5 (derived by solving its
# definition). The compliance only keeps the cone to a size that could be made.
SPRING = 30.0
BEST = {
    "sealed": (1.132 / np.sqrt(1 + SPRING), None, SPRING, 0.01),
    "ported": (0.5053, 0.7702, 0.5890, 0.001),
}


@dataclass(frozen=True)
class TradeOff:
    """Three that belong together at one constant k."""

    volume: float  # m³
    efficiency: float  # ratio
    f3: float  # Hz
    constant: float

    def level(self, air=None, power=1.0, distance=1.0):
        """SPL at `power` W nominal and `distance` m into half space, in the passband, dB."""
        air = Air() if air is None else air
        pressure = np.sqrt(
            self.efficiency * power * air.density * air.speed_of_sound / (2 * np.pi * distance**2)
        )
        return float(20 * np.log10(pressure / P_REF))


def pick_two(
    *, volume: ArrayLike | None = None, efficiency: ArrayLike | None = None,
    f3: ArrayLike | None = None, constant: ArrayLike = 2.0e-6,
) -> TradeOff:  # fmt: skip
    """Give two of volume (m³), efficiency (a ratio) and f3 (Hz); the third follows. Arrays will do.

    >>> round(pick_two(volume=0.03, f3=40, constant=2e-6).efficiency, 5)
    0.00384

    Raises
    ------
    ValueError
        Unless exactly two are given, each above zero.
    """
    given = {"volume": volume, "efficiency": efficiency, "f3": f3}
    missing = [name for name, value in given.items() if value is None]
    if len(missing) != 1:
        raise ValueError(
            f"pick_two takes exactly two of volume, efficiency and f3; {3 - len(missing)} given."
        )
    hints = {
        "volume": "Volume is in m³: use boxlab.litres(14).",
        "efficiency": "Efficiency is a ratio: 0.5 % is 0.005.",
        "f3": "f3 is in hertz.",
    }
    positive("constant", constant, "k is about 1e-6 to 4e-6 in SI units.")
    for name, value in given.items():
        if value is not None:
            positive(name, value, hints[name])
    if volume is None:
        volume = efficiency / (constant * f3**3)
    elif efficiency is None:
        efficiency = constant * f3**3 * volume
    else:
        f3 = (efficiency / (constant * volume)) ** (1 / 3)
    if np.any(np.asarray(efficiency) > 1):
        raise ValueError(
            f"That asks for an efficiency of {np.max(efficiency):.3g}, more than the power put in. "
            "Check units: volume in m³ (boxlab.litres(14)), f3 in Hz, efficiency as a ratio."
        )
    return TradeOff(volume, efficiency, f3, constant)


def efficiency_of(
    level: ArrayLike, air: Air | None = None, power: ArrayLike = 1.0, distance: ArrayLike = 1.0
) -> Values:
    """Reference efficiency, a ratio, of a box that gives `level` dB at `power` W nominal.

    Into half space at `distance` m, in the passband; the reverse of `TradeOff.level`.

    >>> round(float(efficiency_of(85.0)), 5)
    0.00192
    """
    air = Air() if air is None else air
    power = positive("power", power, "Power is in watts.")
    distance = positive("distance", distance, "Distance is in metres.")
    pressure = P_REF * 10 ** (np.asarray(level, dtype=float) / 20)
    return 2 * np.pi * (distance * pressure) ** 2 / (air.density * air.speed_of_sound * power)


def best_box(
    kind: str, volume: ArrayLike, f3: ArrayLike, air: Air | None = None
) -> tuple[Driver, Box]:
    """A lossless driver and a box of `volume` that reach down to `f3` at the largest k.

    >>> driver, box = best_box("sealed", 0.020, 45.0)
    >>> round(1e3 * float(box.volume), 1)  # L
    20.0

    Parameters
    ----------
    kind : "sealed" or "ported"
    volume : net volume, m³
    f3 : half-power frequency, Hz

    Returns
    -------
    (Driver, SealedBox or PortedBox)
        Its port is described by its air mass alone; no room is taken off for it.

    Raises
    ------
    ValueError
        For another kind, or a volume or frequency that is not above zero.
    """
    if kind not in BEST:
        raise ValueError(f"kind = {kind!r}: choose one of {', '.join(BEST)}.")
    volume = positive("volume", volume, "Volume is in m³: use boxlab.litres(14).")
    f3 = positive("f3", f3, "f3 is in hertz.")
    air = Air() if air is None else air
    return _box(kind, volume, f3 / _corner(kind, air), air)


@lru_cache(maxsize=8)
def _corner(kind, air):
    """f3 over fs, read off the solved response."""
    driver, box = _box(kind, 0.02, 40.0, air)
    return float(passband(driver, box, air).f3) / 40


def _box(kind, volume, fs, air):
    q, tuning, spring, cms = BEST[kind]
    re, ws = 3.4, 2 * np.pi * fs
    mms = 1 / (ws**2 * cms)
    driver = Driver(
        re=re,
        le=0.0,
        bl=np.sqrt(ws * mms * re / q),
        mms=mms,
        cms=cms,
        rms=0.0,
        sd=np.sqrt(spring * volume / (air.bulk_modulus * cms)),
        xmax=0.012,
        pe=350.0,
        name=f"the best {kind} driver on paper",
    )
    if kind == "sealed":
        return driver, SealedBox(volume)
    length = 0.3
    area = (ws * tuning / air.speed_of_sound) ** 2 * volume * length
    return driver, PortedBox(volume, Port(area, length, 0.0))
