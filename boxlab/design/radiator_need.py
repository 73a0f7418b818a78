"""How much radiator a box needs: the swept volume it is asked for, against that of the driver.

Small (Passive-radiator loudspeaker systems, J. Audio Eng. Soc. 22 (1974) 592, abstract) asks for a
radiator with a linear volume displacement limit "at least twice that of the system driver". Here
the need is computed for any box, band and programme, with the driver used to its own limit.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from boxlab.base.array_types import Values
from boxlab.base.checks import not_negative, positive
from boxlab.model.air import Air
from boxlab.model.any_box import Box
from boxlab.model.driver import Driver, beside
from boxlab.model.enclosure import RadiatorBox
from boxlab.model.passband import passband
from boxlab.model.response import solve

EDGES = ("lower", "f3", "tuning")


@dataclass(frozen=True, eq=False)
class Need:
    """Radiator swept volume needed, against the driver's; arrays of the designs' shape.

    Attributes
    ----------
    ratio : swept volume of all radiators over Sd·Xmax of the driver, no unit
    radiator_at : Hz, where the radiators need it
    cone_at : Hz, where the cone first reaches its Xmax
    voltage : V rms that brings it there, at that frequency
    """

    ratio: np.ndarray
    radiator_at: np.ndarray
    cone_at: np.ndarray
    voltage: np.ndarray


def needed_ratio(
    driver: Driver, box: Box, low: ArrayLike | None = None, high: ArrayLike | None = None, *,
    headroom: ArrayLike = 0.0, equalised: bool = False, points: int = 97, air: Air | None = None,
) -> Need:  # fmt: skip
    """Swept volume the radiators (or ports) need over that of the driver, both one way.

    The programme is level from `low` to `high` and turned up until the cone just reaches Xmax at
    one frequency of the band. What the vents then sweep, at their own worst frequency of the band,
    is the need: both at one setting of the volume knob, as in Small's displacement ratings.

    >>> from boxlab.gear.scenario import TEN_INCH_DRIVER, TEN_INCH_RADIATOR
    >>> from boxlab.model.enclosure import RadiatorBox
    >>> box = RadiatorBox.tuned(0.014, 36, TEN_INCH_RADIATOR, ql=7)
    >>> round(float(needed_ratio(TEN_INCH_DRIVER, box).ratio), 2)
    2.1

    Parameters
    ----------
    driver, box : Driver, and a RadiatorBox or PortedBox
    air : Air; 20 °C at sea level if left out
    low : Hz, lowest frequency of the programme; below it a high-pass filter is taken to remove
        everything. Left out, it is the box's f3 or its tuning, whichever is lower: the band that a
        radiator is put in for. From f3 alone, a box tuned below f3 needs less, since its radiator
        is never asked for its largest swing; a programme that goes below tuning needs less against
        the driver too, because there the cone runs out first.
    high : Hz; four times `low` if left out (the need hardly depends on it)
    headroom : dB by which the programme is turned up further, while at each frequency a limiter
        still keeps the cone at Xmax. The need then grows, round the tuning, where the cone has
        room left. Infinite headroom asks for the vents' flow over the cone's, at its largest:
        steady tones one at a time, each with the cone at Xmax.
    equalised : the programme is equalised until the sound, not the voltage, is level from `low`
        up. Without losses and suspensions a box then needs exactly four, whatever its driver.
    points : frequencies solved in the band

    Returns
    -------
    Need

    Raises
    ------
    ValueError
        For a band edge that is not above zero, or a band without width.
    """
    use = in_use(
        driver, box, low, high, headroom=headroom, equalised=equalised, points=points, air=air
    )
    worst = np.argmax(use.vent, axis=-1)
    return Need(_at(use.vent, worst), _at(use.frequency, worst), use.cone_at, use.knob)


def _at(values, place):
    return np.take_along_axis(values, place[..., None], axis=-1)[..., 0][()]


@dataclass(frozen=True, eq=False)
class Use:
    """What a programme turned up to the cone's end asks for.

    frequency (Hz), cone and vent (swept volume over the driver's Sd·Xmax, one way) and voltage
    (V rms) have the designs' shape + (F,); cone_at (Hz, where the cone first runs out) and knob
    (V rms that brings it there) have the designs' shape. All but frequency and cone_at are NaN for
    a box whose band is not known.
    """

    frequency: np.ndarray
    cone: np.ndarray
    vent: np.ndarray
    voltage: np.ndarray
    cone_at: np.ndarray
    knob: np.ndarray


def in_use(
    driver: Driver, box: Box, low: ArrayLike | None = None, high: ArrayLike | None = None, *,
    headroom: ArrayLike = 0.0, equalised: bool = False, points: int = 97, air: Air | None = None,
) -> Use:  # fmt: skip
    """What cone and vents sweep across the band; everything as for `needed_ratio`.

    That is `driver`, `box`, `low`, `high`, `headroom`, `equalised` and `points`.

    >>> from boxlab.gear.scenario import TEN_INCH_DRIVER, TEN_INCH_RADIATOR
    >>> box = RadiatorBox.tuned(0.014, 36, TEN_INCH_RADIATOR, ql=7)
    >>> in_use(TEN_INCH_DRIVER, box).cone.shape
    (97,)
    """
    low = working_low(driver, box, air) if low is None else positive("low", low, "It is in hertz.")
    high = 4 * low if high is None else positive("high", high, "It is in hertz.")
    headroom = not_negative("headroom", headroom, "It is in dB.", infinite=True)
    low, high = np.broadcast_arrays(low, high)
    if (high <= low).any():
        raise ValueError("high must be above low; both are in hertz.")
    known = np.isfinite(low)
    low, high = np.where(known, low, 30.0), np.where(known, high, 120.0)
    grid = low[..., None] * (high / low)[..., None] ** np.linspace(0, 1, points)
    r = solve(driver, box, grid, 1.0, air)
    vd = beside(driver.vd, grid)
    weight = 1 / np.abs(r.pressure) if equalised else np.ones_like(grid)
    cone = weight * np.sqrt(2) * np.abs(r.cone_volume_velocity) / (2 * np.pi * grid * vd)
    vent = weight * np.sqrt(2) * np.abs(r.vent_volume_velocity) / (2 * np.pi * grid * vd)
    stops = np.argmax(cone, axis=-1)
    knob = 1 / np.max(cone, axis=-1, keepdims=True)
    with np.errstate(divide="ignore"):
        setting = np.minimum(knob * 10 ** (headroom / 20), 1 / cone)
    setting = np.where(known[..., None], setting, np.nan)
    return Use(
        frequency=grid,
        cone=cone * setting,
        vent=vent * setting,
        voltage=weight * setting,
        cone_at=_at(grid, stops),
        knob=np.where(known, _at(knob * weight, stops), np.nan)[()],
    )


def working_low(driver: Driver, box: Box, air: Air | None = None) -> Values:
    """Low end of the band that a `driver` in a vented `box` works in, Hz: the lower of f3 and fb.

    >>> from boxlab.gear.scenario import TEN_INCH_DRIVER, TEN_INCH_RADIATOR
    >>> box = RadiatorBox.tuned(0.014, 36, TEN_INCH_RADIATOR, ql=7)
    >>> round(float(working_low(TEN_INCH_DRIVER, box)), 1)  # Hz
    36.0
    """
    return np.minimum(passband(driver, box, air).f3, box.tuning(air))


def begins(
    driver: Driver, box: Box, edge: str = "lower", band: float = 1.0, air: Air | None = None
) -> Values:
    """Lowest frequency of a programme, Hz, designs' shape: `band` times an `edge`, of `EDGES`.

    The edge is that of a `driver` in its `box`.

    >>> from boxlab.gear.scenario import TEN_INCH_DRIVER, TEN_INCH_RADIATOR
    >>> box = RadiatorBox.tuned(0.014, 36, TEN_INCH_RADIATOR, ql=7)
    >>> [round(float(begins(TEN_INCH_DRIVER, box, edge, 1.2)), 1) for edge in EDGES]
    [43.2, 59.7, 43.2]

    Raises
    ------
    ValueError
        For an unknown edge, or a band that is not above zero.
    """
    f3 = None if edge == "tuning" else passband(driver, box, air).f3
    return positive("band", band, "1 is the edge itself.") * edge_of(edge, f3, box.tuning(air))


def need_in(
    driver: Driver, box: Box, *, edge: str = "lower", band: float = 1.0, air: Air | None = None,
    **options: Any,
) -> Need:  # fmt: skip
    """The need for a programme that begins as `begins` says; `options` as for `needed_ratio`.

    `driver`, `box`, `edge` and `band` are as for `begins`.

    >>> from boxlab.gear.scenario import TEN_INCH_DRIVER, TEN_INCH_RADIATOR
    >>> box = RadiatorBox.tuned(0.014, 36, TEN_INCH_RADIATOR, ql=7)
    >>> round(float(need_in(TEN_INCH_DRIVER, box, edge="tuning").ratio), 2)
    2.1
    """
    return needed_ratio(driver, box, begins(driver, box, edge, band, air), air=air, **options)


def edge_of(edge: str, f3: ArrayLike, fb: ArrayLike) -> Values:
    """Where a programme begins, Hz: an `edge` of `EDGES`, from `f3` and tuning `fb` in Hz.

    >>> edge_of("lower", 40.0, 36.0), edge_of("f3", 40.0, 36.0), edge_of("tuning", 40.0, 36.0)
    (np.float64(36.0), 40.0, 36.0)
    """
    if edge not in EDGES:
        raise ValueError(f"edge = {edge!r}: choose one of {', '.join(EDGES)}.")
    if edge == "lower":
        return np.minimum(f3, fb)
    return f3 if edge == "f3" else fb


@dataclass(frozen=True, eq=False)
class Factors:
    """Where a needed ratio comes from; arrays of the designs' shape. ratio = product().

    Attributes
    ----------
    spread : frequency where the cone runs out over the one where the radiators work hardest
    quieter : far-field pressure at the latter over that at the former
    radiator_share : share of the sound that the radiators make where they work hardest
    cone_share : share of the sound that the cone makes where it runs out
    """

    spread: np.ndarray
    quieter: np.ndarray
    radiator_share: np.ndarray
    cone_share: np.ndarray

    def product(self):
        """spread² · quieter · radiator_share / cone_share: the needed ratio itself."""
        return self.spread**2 * self.quieter * self.radiator_share / self.cone_share


def factors(driver: Driver, box: Box, need: Need, air: Air | None = None) -> Factors:
    """Take apart a `need` that `needed_ratio` had of `driver` and `box`, plain, with no headroom.

    Displacement is pressure over frequency squared (p = ρω²V/(2πr)), and each moving part makes a
    share of it, so the ratio of two displacements is a product of three ratios, with no remainder.

    >>> from boxlab.gear.scenario import TEN_INCH_DRIVER, TEN_INCH_RADIATOR
    >>> box = RadiatorBox.tuned(0.014, 36, TEN_INCH_RADIATOR, ql=7)
    >>> found = factors(TEN_INCH_DRIVER, box, needed_ratio(TEN_INCH_DRIVER, box))
    >>> round(float(found.spread), 2)
    1.59
    """
    hard = solve(driver, box, np.asarray(need.radiator_at)[..., None], 1.0, air)
    stop = solve(driver, box, np.asarray(need.cone_at)[..., None], 1.0, air)

    def size(values):
        return np.abs(values[..., 0])[()]

    return Factors(
        spread=need.cone_at / need.radiator_at,
        quieter=size(hard.pressure) / size(stop.pressure),
        radiator_share=size(hard.vent_volume_velocity) / size(hard.volume_velocity),
        cone_share=size(stop.cone_volume_velocity) / size(stop.volume_velocity),
    )


def equal_sound(box: RadiatorBox, air: Air | None = None) -> Values:
    """The need for equal sound from the tuning up, of a box without losses; designs' shape.

    Formula: (1 + √(1 − fp²/fb²))²

    Derived: with g = fp²/fb² and y = f²/fb² the cone sweeps (y − 1)/(y·(y − g)) for each unit of
    sound and the vent (1 − g)/(y·(y − g)). The first is largest at y = 1 + √(1 − g), the second
    at the tuning, where it is one. A port has no suspension, g = 0: four, at √2·fb. Any driver.

    >>> from boxlab import PortedBox, cm2, litres
    >>> round(float(equal_sound(PortedBox.tuned(litres(20), 45, cm2(40)))), 6)
    4.0
    """
    own = box.radiator.fp if isinstance(box, RadiatorBox) else 0.0
    return np.square(1 + np.sqrt(1 - np.square(own / box.tuning(air))))


def most_needed(driver: Driver, box: Box, air: Air | None = None) -> Values:
    """Upper estimate of the need from two levels: 4·|p(fb)| / |p(√2·fb)|, designs' shape.

    They are those of `driver` and `box`. Derived: without losses and suspensions the cone sweeps (1
    − fb²/f²)/f² for each unit of sound, at most 1/(4fb²), at √2·fb; the vent sweeps 1/fb² at fb.
    Four, times how much quieter fb is. With a suspension it is less than four: see `equal_sound`.

    >>> from boxlab.gear.scenario import TEN_INCH_DRIVER, TEN_INCH_RADIATOR
    >>> box = RadiatorBox.tuned(0.014, 36, TEN_INCH_RADIATOR, ql=7)
    >>> round(float(most_needed(TEN_INCH_DRIVER, box)), 2)
    2.39
    """
    fb = np.asarray(box.tuning(air))
    pressure = np.abs(solve(driver, box, fb[..., None] * np.sqrt([1.0, 2.0]), 1.0, air).pressure)
    return (4 * pressure[..., 0] / pressure[..., 1])[()]
