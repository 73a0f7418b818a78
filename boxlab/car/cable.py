"""Supply cable: resistance of copper, current, volts lost on the way, and mistakes with fuses.

Volts lost are half of the choice; what a cable may carry is the other, in `boxlab.car.ampacity`,
which sizes by both. A battery can weld a spanner: the cautions are in `boxlab.base.cautions`.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from numpy.typing import ArrayLike

from boxlab.base.array_types import Values
from boxlab.base.cautions import words
from boxlab.base.checks import not_negative, positive, suspect

COPPER = 1 / 58e6  # Ω·m at 20 °C: the international annealed copper standard, 58 MS/m (from memory)
PER_KELVIN = 0.00393  # resistance rise of copper per kelvin from 20 °C (IEC 60028, from memory)

# Largest resistance at 20 °C of flexible plain-copper conductors, classes 5 and 6, Ω/m by mm².
# Standard: IEC 60228 (values from memory of reprints, not seen in the standard).
IEC_60228_FLEXIBLE = {
    0.75: 26.0e-3, 1.5: 13.3e-3, 2.5: 7.98e-3, 4: 4.95e-3, 6: 3.30e-3, 10: 1.91e-3, 16: 1.21e-3,
    25: 0.780e-3, 35: 0.554e-3, 50: 0.386e-3, 70: 0.272e-3, 95: 0.206e-3,
}  # fmt: skip

_METRES = "Give metres: 450 mm is 0.45."
NEAR = 0.178  # m of cable before a fuse: 7 in, 33 CFR 183.455
GAUGES = ("4/0", "3/0", "2/0", "0", *(str(n) for n in range(1, 31)))


def gauge_number(gauge: str | int) -> int:
    """AWG as a number: 8 or "8" -> 8, 0 or "1/0" -> 0, "2/0" or "00" -> −1, "4/0" -> −3.

    >>> gauge_number("4"), gauge_number("2/0")
    (4, -1)

    Parameters
    ----------
    gauge : as printed, "4" or "1/0"
    """
    text = str(gauge).strip().upper().removesuffix("AWG").strip()
    if text.endswith("/0") and text[:-2].isdigit() and 1 <= int(text[:-2]) <= 4:
        return 1 - int(text[:-2])
    if text and set(text) == {"0"} and len(text) <= 4:
        return 1 - len(text)
    if text.isdigit() and int(text) <= 40:
        return int(text)
    raise ValueError(
        f"gauge = {gauge!r} is not an AWG size: give 0 to 40, or '1/0' to '4/0'. For metric cable "
        "give its area in m², for example 16e-6 for 16 mm²."
    )


def awg_diameter(gauge: str | int) -> float:
    """Diameter in m of a solid conductor of AWG size n.

    Formula: d = 0.127e-3·92^((36 − n)/39)

    Source: ASTM B258 (formula from memory).

    >>> round(awg_diameter(10) * 1e3, 4)
    2.5882

    Parameters
    ----------
    gauge : as printed, "4" or "1/0"
    """
    return 0.127e-3 * 92 ** ((36 - gauge_number(gauge)) / 39)


def awg_area(gauge: str | int) -> float:
    """Copper area in m² of an AWG size, solid. Check a stranded cable's printed area: cheap cable
    sold by gauge can hold less copper.

    >>> round(1e6 * awg_area("4"), 1)  # mm²
    21.2
    """
    return math.pi / 4 * awg_diameter(gauge) ** 2


def resistance_per_metre(area: ArrayLike, temperature: ArrayLike = 20.0) -> Values:
    """Resistance in Ω/m of copper of `area` m² at `temperature` °C. Copper-clad aluminium has more.

    >>> round(resistance_per_metre(awg_area(8)) * 1e3, 3)
    2.061
    """
    area = positive("area", area, "Give m²: 16 mm² is 16e-6.")
    suspect("area", area, 1e-8, 3e-4, "Give m²: 16 mm² is 16e-6, not 16.")
    return COPPER / area * (1 + PER_KELVIN * (temperature - 20))


def supply_current(
    power: ArrayLike, voltage: ArrayLike = 13.8, efficiency: ArrayLike = 0.75
) -> Values:
    """Current in A that an amplifier draws for an average output `power` in W.

    Formula: I = P/(V·η)

    `efficiency` is output over input, 0 to 1: read it off the maker's sheet. About 0.5 for class
    AB and 0.75 to 0.85 for class D near full power are common practice, no published source. Use
    the full rating for the fuse, the average on music for the warmth of the cable.

    >>> round(supply_current(500, efficiency=0.8), 1)
    45.3

    Parameters
    ----------
    power : W, average
    voltage : V of the supply
    efficiency : output over input, 0 to 1
    """
    power, voltage = not_negative("power", power), positive("voltage", voltage)
    if not 0 < positive("efficiency", efficiency) <= 1:
        raise ValueError(f"efficiency = {efficiency:g}: give output over input, above 0 up to 1")
    suspect("efficiency", efficiency, 0.05, 1, "Give output over input: 75 % is 0.75.")
    suspect("power", power, 0, 2e4, "Give watts, of all channels together.")
    suspect("voltage", voltage, 5, 60, "Give volts: a car's supply is 13.8, not 138.")
    return power / (voltage * efficiency)


@dataclass(frozen=True)
class Cable:
    """A conductor between battery and amplifier: `label`, copper `area` in m², Ω/m at 20 °C."""

    label: str
    area: float
    per_metre: float

    def __post_init__(self):
        hint = "Give the Ω for one metre: 1.21 mΩ/m is 1.21e-3."
        suspect("area", positive("area", self.area), 1e-8, 3e-4, "Give m²: 16 mm² is 16e-6.")
        suspect("per_metre", positive("per_metre", self.per_metre, hint), 1e-5, 0.5, hint)

    def drop(self, current, length, return_per_metre=None, temperature=20.0):
        """Voltage lost, V, over a one-way `length` in m and back.

        Formula: ΔV = I·l·(R_out + R_back)

        The return is the same cable unless `return_per_metre` (Ω/m, 0 for a perfect body) says
        otherwise.
        """
        current = not_negative("current", current)
        length = not_negative("length", length, "One way, in metres.")
        suspect("length", length, 0, 20, "Give metres, one way: 5 m, not 500.")
        back = self.per_metre if return_per_metre is None else return_per_metre
        warm = 1 + PER_KELVIN * (temperature - 20)
        return current * length * warm * (self.per_metre + not_negative("return_per_metre", back))


def awg_cables() -> tuple[Cable, ...]:
    """Cables by gauge, thinnest first, with the resistance of solid annealed copper.

    >>> [cable.label for cable in awg_cables()][:2]
    ['30 AWG', '29 AWG']
    """
    return tuple(
        Cable(f"{gauge} AWG", awg_area(gauge), resistance_per_metre(awg_area(gauge)))
        for gauge in reversed(GAUGES)
    )


def metric_cables() -> tuple[Cable, ...]:
    """Cables by mm², thinnest first, with the largest resistance IEC 60228 allows (class 5).

    >>> [cable.label for cable in metric_cables()][:2]
    ['0.75 mm²', '1.5 mm²']
    """
    return tuple(Cable(f"{a:g} mm²", a * 1e-6, r) for a, r in IEC_60228_FLEXIBLE.items())


def cable_by_drop(
    current: float, length: float, drop: float = 0.5, cables: Sequence[Cable] | None = None,
    **path: Any,
) -> Cable:  # fmt: skip
    """The thinnest cable that loses no more than `drop` volts, whether or not it bears the heat.

    Parameters
    ----------
    current, length, drop : float, A, m one way, V
    cables : sequence of Cable, thinnest first; by default the AWG ones
    path : passed on to `Cable.drop`

    >>> cable_by_drop(50, 5).label
    '4 AWG'
    """
    drop = positive("drop", drop, "Give the volts you are ready to lose, say 0.5.")
    cables = awg_cables() if cables is None else cables
    for cable in cables:
        if cable.drop(current, length, **path) <= drop:
            return cable
    worst = cables[-1]
    raise ValueError(
        f"no cable in the list keeps the drop within {drop:g} V at {current:.4g} A over "
        f"{length:g} m ({worst.label} loses {worst.drop(current, length, **path):.2f} V). Accept "
        "more drop, shorten the run or use cables side by side, each with its own fuse."
    )


def check_fuse(
    fuse: float, cable_rating: float, current: float | None = None, distance: float | None = None
) -> tuple[str, ...]:
    """Refuse clear mistakes with a main fuse; return what to heed, as a tuple of sentences.

    >>> [note[:24] for note in check_fuse(60, 100, current=48, distance=1.0)][:1]
    ['1000 mm of cable has no ']

    Parameters
    ----------
    fuse : float, A
    cable_rating : float, A
        What it may carry where it is laid: `boxlab.car.ampacity.ampacity`, or less by its maker.
    current : float, A, optional
        The most the amplifier draws.
    distance : float, m, optional
        Length of cable between battery and fuse.

    Raises
    ------
    ValueError
        If the fuse is above the cable's rating, or below what the amplifier draws.
    """
    fuse = positive("fuse", fuse)
    rating = positive("cable_rating", cable_rating, "It is in A: what the cable may carry.")
    if fuse > rating:
        raise ValueError(
            f"fuse = {fuse:g} A is above the cable's rating of {rating:g} A: in a short the cable "
            f"burns before the fuse opens. Use a fuse of {rating:g} A or less, or heavier cable."
        )
    if current is not None and positive("current", current) > fuse:
        raise ValueError(
            f"current = {current:.3g} A is above the fuse of {fuse:g} A: it would open in use. Do "
            f"not fit a bigger fuse on this cable unless its rating of {rating:g} A allows it."
        )
    notes = list(words("supply", "licence"))
    if distance is not None:
        suspect("distance", not_negative("distance", distance), 0, 20, _METRES)
    if distance is not None and distance > NEAR:
        notes.insert(
            0,
            f"{distance * 1e3:.0f} mm of cable has no fuse before it. The shortest published "
            f"limits are {NEAR * 1e3:.0f} mm (7 in: 33 CFR 183.455, for boats) and 18 in (NEC "
            "552.10(E)(4), for park trailers); nearer is better.",
        )
    return tuple(notes)


def choose_fuse(current: float, cable_rating: float, sizes: Iterable[float]) -> float:
    """The smallest fuse of `sizes` (A, what you can buy) for this current and this cable.

    Raises
    ------
    ValueError
        If none lies between the current and the cable's rating; it says what to change.

    >>> choose_fuse(34, 60, (20, 30, 40, 50, 80))
    40.0

    Parameters
    ----------
    current : A, the most that is drawn
    cable_rating : A, what the cable may carry
    sizes : A, what you can buy
    """
    current = positive("current", current)
    rating = positive("cable_rating", cable_rating, "It is in A: what the cable may carry.")
    for size in sorted(positive("sizes", size) for size in sizes):
        if current <= size <= rating:
            return size
    raise ValueError(
        f"no fuse in {tuple(sizes)} A lies between the current of {current:.3g} A and the cable's "
        f"rating of {rating:g} A. Use cable with a higher rating, or draw less."
    )


def __getattr__(name):
    """`size_cable` is in `boxlab.car.ampacity`, for it holds by heat too; found here as well."""
    if name == "size_cable":
        from boxlab.car.ampacity import size_cable

        return size_cable
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
