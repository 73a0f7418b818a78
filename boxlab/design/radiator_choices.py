"""Ways to more radiator in one box: what each costs, how loud it gets, where its null lies.

Radiator relations after Small (Passive-radiator loudspeaker systems, J. Audio Eng. Soc. 22 (1974)
592 and 683).
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from boxlab.base.checks import positive, whole
from boxlab.design.radiator_need import needed_ratio, working_low
from boxlab.model.air import Air
from boxlab.model.any_box import Box
from boxlab.model.driver import Driver
from boxlab.model.enclosure import RadiatorBox
from boxlab.model.limits import HEAT, RADIATOR, max_output
from boxlab.model.passband import levels
from boxlab.model.radiator import Radiator
from boxlab.model.recoil import recoil
from boxlab.model.response import solve


@dataclass(frozen=True, eq=False)
class Variant:
    """One choice of radiators for a given box and tuning."""

    name: str
    box: RadiatorBox
    swept_ratio: float  # what the radiators can sweep over what the driver can
    needed: float  # what they need, from needed_ratio
    null: float  # Hz, their own resonance: the output's null
    octave_below: float  # dB against the plateau, an octave under the tuning
    moving_mass: float  # kg, all radiators with their weights
    added_mass: float  # kg, on each
    panel_area: float  # m², all radiators
    sag: float  # m by which gravity shifts one mounted face up or down
    recoil: float  # N peak from the radiators at tuning per Pa rms of far field at 1 m
    frequency: np.ndarray  # Hz
    spl: np.ndarray  # dB, the loudest at each frequency
    limit: np.ndarray  # which limit stops it there

    @property
    def enough(self):
        """True where the radiators can sweep all they need."""
        return self.swept_ratio >= self.needed


def _variant(
    name: str, driver: Driver, box: Box, frequency: ArrayLike = (25, 31.5, 40, 50, 63), *,
    low: float | None = None, air: Air | None = None, **caps: Any,
) -> Variant:  # fmt: skip
    """One choice of radiators; `low` as for `needed_ratio`, `caps` as for `max_output`."""
    radiator, count = box.radiator, box.count
    fb = box.tuning(air)
    top = max_output(driver, box, frequency, air=air, **caps)
    tuned = solve(driver, box, fb, 1.0, air)
    force = recoil(tuned, cone=0.0, radiators=1.0) / np.abs(tuned.pressure)
    return Variant(
        name=name,
        box=box,
        swept_ratio=float(count * radiator.vd / driver.vd),
        needed=float(needed_ratio(driver, box, low, air=air).ratio),
        null=float(radiator.fp),
        octave_below=float(levels(driver, box, np.array([fb / 2]), air)[0]),
        moving_mass=float(count * radiator.moving_mass),
        added_mass=float(radiator.added_mass),
        panel_area=float(count * radiator.sd),
        sag=float(9.80665 * radiator.moving_mass * radiator.cms),
        recoil=float(force),
        frequency=top.frequency,
        spl=top.spl,
        limit=top.limit,
    )


def variants(
    driver: Driver, volume: float, fb: float, radiator: Radiator, *, larger: float = 1.4,
    ql: float = np.inf, air: Air | None = None, **options: Any,
) -> tuple[Variant, ...]:  # fmt: skip
    """One radiator as it is, and the three usual ways to get more, all tuned to `fb`.

    "double travel": the same with twice the Xmax; "a size larger": `larger` times the area, with
    bare mass in proportion, the same suspension and travel; "two the same".

    Parameters
    ----------
    driver, radiator : Driver, and the Radiator as it is
    volume, fb : net volume, m³, and tuning, Hz
    larger : area of the larger one over that of this one
    ql : leakage loss
    options : `low` as for `needed_ratio`, and what `max_output` takes

    Returns
    -------
    tuple of Variant

    Raises
    ------
    ValueError
        As `RadiatorBox.tuned`, where a radiator is too heavy for the tuning.

    >>> from boxlab.gear.scenario import TEN_INCH_DRIVER, TEN_INCH_RADIATOR
    >>> for each in variants(TEN_INCH_DRIVER, 0.014, 36.0, TEN_INCH_RADIATOR, power=300, load=4):
    ...     print(f"{each.name}: {each.swept_ratio:.1f} of {each.needed:.1f}")
    one: 1.7 of 2.3
    double travel: 3.5 of 2.3
    a size larger: 2.4 of 2.4
    two the same: 3.5 of 2.4
    """
    larger = positive("larger", larger, "It is the ratio of the areas, about 1.4 a size.")
    bigger = replace(radiator, sd=radiator.sd * larger, mms=radiator.mms * larger)
    choices = (
        ("one", radiator, 1),
        ("double travel", replace(radiator, xmax=2 * radiator.xmax), 1),
        ("a size larger", bigger, 1),
        ("two the same", radiator, 2),
    )
    return tuple(
        _variant(
            name,
            driver,
            RadiatorBox.tuned(volume, fb, moving, count=count, ql=ql, air=air),
            air=air,
            **options,
        )
        for name, moving, count in choices
    )


def softened(box: RadiatorBox, softer: ArrayLike, air: Air | None = None) -> RadiatorBox:
    """The same box with suspensions `softer` times as compliant, weighted to the same tuning.

    The null moves down towards fb/√(1 + softer·C_AP/C_AB).

    >>> from boxlab.gear.scenario import TEN_INCH_DRIVER, TEN_INCH_RADIATOR
    >>> from boxlab.model.enclosure import RadiatorBox
    >>> box = RadiatorBox.tuned(0.014, 36, TEN_INCH_RADIATOR, ql=7)
    >>> soft = softened(box, 2.0)
    >>> round(float(soft.tuning()), 1), round(float(box.radiator.fp / soft.radiator.fp), 2)
    (36.0, 1.37)
    """
    softer = positive("softer", softer, "2 means twice as soft.")
    radiator = replace(box.radiator, cms=box.radiator.cms * softer)
    fb = box.tuning(air)
    return RadiatorBox.tuned(box.volume, fb, radiator, count=box.count, ql=box.ql, air=air)


def programme_limit(
    driver: Driver, box: Box, swept: ArrayLike | None = None, *, low: float | None = None,
    points: int = 97, air: Air | None = None, **caps: Any,
) -> tuple[np.ndarray, np.ndarray]:  # fmt: skip
    """Where a level programme from `low` to four times that stops, as the radiators' stop is moved.

    Heat is left out: it goes by the hour, and music rests between its loud notes.

    Parameters
    ----------
    driver, box : Driver, and a RadiatorBox
    swept : swept ratios to try, shape (n,): radiators as they are, but with other travel. Left
        out, the one they have.
    low : as for `needed_ratio`
    points : frequencies looked at
    caps : amplifier and the like, as for `max_output`

    Returns
    -------
    voltage : V rms, shape (n,): the loudest setting of the volume knob, the same at all frequencies
    limit : what stops it, shape (n,)

    >>> from boxlab.gear.scenario import TEN_INCH_DRIVER, TEN_INCH_RADIATOR
    >>> box = RadiatorBox.tuned(0.014, 36, TEN_INCH_RADIATOR, ql=7)
    >>> volts, limit = programme_limit(TEN_INCH_DRIVER, box, [1.0, 2.0, 4.0])
    >>> volts.round(1), limit.tolist()
    (array([27.2, 54.3, 57.2]), ['radiator excursion', 'radiator excursion', 'cone excursion'])
    """
    low = float(working_low(driver, box, air)) if low is None else positive("low", low, "Give Hz.")
    f = np.geomspace(low, 4 * low, whole("points", points))
    top = max_output(driver, box, f, air=air, **caps)
    has = box.count * box.radiator.vd / driver.vd
    swept = np.atleast_1d(has if swept is None else positive("swept", swept))
    allowed = {
        name: np.full(swept.shape, volts.min())
        for name, volts in top.voltages.items()
        if name != HEAT
    }
    allowed[RADIATOR] = allowed[RADIATOR] * swept / has
    stack = np.stack(list(allowed.values()))
    return stack.min(axis=0), np.array(list(allowed))[stack.argmin(axis=0)]
