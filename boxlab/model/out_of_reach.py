"""What is said where a box cannot be had as asked: what would be reached, and what would do."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import ArrayLike

from boxlab.base.checks import same_shape
from boxlab.model.air import Air
from boxlab.model.radiator import Radiator

if TYPE_CHECKING:
    from boxlab.model.any_box import Box
    from boxlab.model.chain import Chain
    from boxlab.model.driver import Driver

LARGEST = 0.35  # m³, 12 ft³; nothing that goes into a car is larger
Q_HINTS = {
    "ql": "QL is the leakage loss: 7 is usual, inf for none.",
    "qa": "QA is the absorption in the box: 50 to 100 is usual (from memory), inf for none.",
    "qp": "QP is the friction in the port: inf for none.",
}


def insist(name: str, value: Any, kind: type, example: str) -> None:
    """Refuse a `value` that is not of this `kind`; `name` and `example` are for the message.

    >>> insist("port", 0.005, Air, "Air()")
    Traceback (most recent call last):
    ValueError: port must be a Air, got float. For example: Air().
    """
    if not isinstance(value, kind):
        raise ValueError(
            f"{name} must be a {kind.__name__}, got {type(value).__name__}. For example: {example}."
        )


def first(condition: np.ndarray, *values: ArrayLike) -> list[float]:
    """The values at the first design where `condition` holds, as floats.

    >>> first(np.array([False, True]), np.array([1.0, 2.0]), 3.0)
    [2.0, 3.0]
    """
    place = tuple(np.argwhere(condition)[0])
    return [float(np.broadcast_to(v, np.shape(condition))[place]) for v in values]


def refuse_short_port(
    volume: ArrayLike, fb: ArrayLike, area: ArrayLike, count: int, ends: ArrayLike,
    length: ArrayLike, air: Air,
) -> None:  # fmt: skip
    """Refuse a tuning `fb`, Hz, that is too high: even a port of no length tunes lower.

    `volume` is in m³, `area` of each of `count` ports in m², and `ends`, what both ends add, and
    `length` in m; the first design with a `length` below zero is told of.

    >>> refuse_short_port(0.014, 60.0, 0.002, 1, 0.038, -0.01, Air())  # doctest: +ELLIPSIS
    Traceback (most recent call last):
    ValueError: fb = 60 Hz is out of reach: with 1 port(s) of 20 cm² and no length at all, ...
    """
    v, f, s, n, e = first(np.asarray(length) < 0, volume, fb, area, count, ends)
    highest = air.speed_of_sound / (2 * np.pi) * math.sqrt(n * s / (v * e))
    wanted = s * (f / highest) ** 4  # ends grow as the root of the area
    raise ValueError(
        f"fb = {f:g} Hz is out of reach: with {n:g} port(s) of {s * 1e4:.3g} cm² and no length at "
        f"all, {v * 1e3:.3g} L tunes to {highest:.1f} Hz. A port area above {wanted * 1e4:.3g} cm² "
        "each, a smaller box, or a lower tuning reaches it. If the area was meant in cm², use "
        f"boxlab.cm2(); volume is in m³.{slip(v)}"
    )


def refuse_long_port(
    volume: ArrayLike, fb: ArrayLike, area: ArrayLike, count: int, ends: ArrayLike,
    length: ArrayLike, longest: float, air: Air,
) -> None:  # fmt: skip
    """Refuse a port that would be longer than `longest`, m; the others as `refuse_short_port`.

    They are `volume`, `fb`, `area`, `count`, `ends`, `length`.

    >>> refuse_long_port(0.014, 30.0, 0.008, 1, 0.08, 1.5, 1.0, Air())  # doctest: +ELLIPSIS
    Traceback (most recent call last):
    ValueError: A port of 80 cm² that tunes 14 L to 30 Hz would be 1.5 m long, over the...
    """
    v, f, s, n, e, needed = first(
        np.asarray(length) > longest, volume, fb, area, count, ends, length
    )
    reached = air.speed_of_sound / (2 * np.pi) * math.sqrt(n * s / (v * (longest + e)))
    raise ValueError(
        f"A port of {s * 1e4:.3g} cm² that tunes {v * 1e3:.3g} L to {f:g} Hz would be "
        f"{needed:.3g} m long, over the limit of {longest:g} m; that length reaches "
        f"{reached:.1f} Hz. Use less port area, a larger box, or a radiator, or raise max_length. "
        f"Check units too: volume and area are in m³ and m².{slip(v)}"
    )


def refuse_heavy_radiator(
    volume: ArrayLike, fb: ArrayLike, radiator: Radiator, needed: ArrayLike, count: int, air: Air
) -> None:
    """Refuse a tuning `fb`, Hz, that is too high: even without weights the radiator tunes lower.

    `volume` is in m³, and `needed` the mass, kg, that each of `count` would have to have.

    >>> from boxlab.gear.scenario import TEN_INCH_RADIATOR as radiator
    >>> refuse_heavy_radiator(0.014, 90.0, radiator, 0.03, 1, Air())  # doctest: +ELLIPSIS
    Traceback (most recent call last):
    ValueError: fb = 90 Hz is out of reach: with no weights added this radiator (...
    """
    wrong = np.asarray(needed - radiator.mms) < 0
    wrong = wrong & (np.abs(needed - radiator.mms) >= 1e-12 * np.asarray(radiator.mms))
    v, f, m, need, n, sd, cms = first(
        wrong, volume, fb, radiator.mms, needed, count, radiator.sd, radiator.cms
    )
    modulus = float(np.max(air.bulk_modulus))
    highest = math.sqrt((1 / cms + n * sd**2 * modulus / v) / m) / (2 * math.pi)
    air_needed = m * (2 * math.pi * f) ** 2 - 1 / cms
    smaller = n * sd**2 * modulus / air_needed
    raise ValueError(
        f"fb = {f:g} Hz is out of reach: with no weights added this radiator ({m * 1e3:.4g} g) "
        f"tunes {v * 1e3:.3g} L to {highest:.1f} Hz, and mass only lowers that. To reach {f:g} Hz: "
        f"a net volume of {smaller * 1e3:.3g} L or less, a radiator of {need * 1e3:.3g} g or less, "
        f"or more or larger radiators.{slip(v)}"
    )


def slip(volume: float) -> str:
    """What to say of a volume, m³, that looks like litres or cubic feet.

    >>> slip(0.014)
    ''
    """
    if volume <= LARGEST:
        return ""
    return (
        f" {volume:g} m³ is very large. Volume is in m³: for 14 L use boxlab.litres(14), for 0.5 "
        "ft³ use boxlab.cubic_feet(0.5)."
    )


def insist_on_shapes(
    driver: Driver, box: Box, voltage: ArrayLike, air: Air, distance: ArrayLike,
    source_resistance: ArrayLike, chain: Chain | None,
) -> tuple[int, ...]:  # fmt: skip
    """Refuse designs that do not broadcast, by the names that a caller knows; else their shape.

    `driver`, `box`, `voltage` (V), `air`, `distance` (m), `source_resistance` (Ω) and `chain` are
    as for `solve`.

    >>> from boxlab.gear.scenario import TEN_INCH_DRIVER as driver
    >>> insist_on_shapes(driver, None, np.ones((3, 1)), Air(), np.ones(2), 0.0, None)
    (3, 2)
    """
    shapes = {"driver": driver.mms * driver.sd * driver.bl * driver.re}
    if box is not None:
        shapes["box"] = box.volume
        for number, vent in enumerate(box.vents(air)):
            name = f"radiator {number}" if number else "vent"
            shapes[name] = vent.mass * np.asarray(vent.count)
    shapes |= {"voltage": voltage, "source_resistance": source_resistance}
    shapes |= {} if chain is None else {"chain": chain.response(1.0)}
    return same_shape("solve", **shapes, air=air.density, distance=distance)
