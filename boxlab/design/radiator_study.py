"""The needed radiator over thousands of boxes, and what other definitions of the need give."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache
from types import MappingProxyType

import numpy as np
from numpy.typing import ArrayLike

from boxlab.base.checks import positive
from boxlab.design.radiator_need import Need, edge_of, needed_ratio
from boxlab.model.air import Air
from boxlab.model.enclosure import RadiatorBox
from boxlab.model.passband import Passband, passband
from boxlab.model.random_designs import Designs, random_designs, take

# The same question with other definitions of "in use": name -> options of `need_in` and `study`.
PROGRAMMES = MappingProxyType(
    {
        "from f3 or tuning up": {},
        "from f3 up only": {"edge": "f3"},
        "from 0.6 of that up": {"band": 0.6},
        "3 dB into a cone limiter": {"headroom": 3.0},
        "6 dB into a cone limiter": {"headroom": 6.0},
        "any tone, cone at its Xmax": {"headroom": np.inf},
        "equalised flat": {"equalised": True},
    }
)


def smooth(found: Passband, peak: float = 1.0, sag: float = 1.5) -> np.ndarray:
    """Which designs of a `Passband` are worth building: a mask, by their peak and sag in dB.

    >>> from boxlab.gear.scenario import TEN_INCH_DRIVER as driver
    >>> from boxlab.model.enclosure import SealedBox
    >>> from boxlab.model.passband import passband
    >>> bool(smooth(passband(driver, SealedBox(0.014))))
    True

    Parameters
    ----------
    found : Passband
    peak, sag : dB, the most that is let through
    """
    return np.isfinite(found.f3) & (found.peak <= peak) & (found.sag <= sag)


@dataclass(frozen=True, eq=False)
class Study:
    """The need of many random radiator boxes worth building; arrays of shape (n,)."""

    designs: Designs
    found: Passband
    low: np.ndarray  # Hz, low end of each one's band
    need: Need

    @property
    def quartiles(self):
        """Lower quartile, median and upper quartile of the needed ratio."""
        return tuple(float(q) for q in np.quantile(self.need.ratio, (0.25, 0.5, 0.75)))

    def share_above(self, ratio):
        """Share of the boxes, 0 to 1, that need more than `ratio`."""
        return float(np.mean(self.need.ratio > ratio))


def study(
    count: int = 20_000, *, seed: int = 1, edge: str = "lower", band: float = 1.0,
    headroom: float = 0.0, equalised: bool = False, air: Air | None = None,
) -> Study:  # fmt: skip
    """The needed ratio over random radiator boxes with usual losses (QL 5 to 50, Q 3 to 20).

    Parameters
    ----------
    count : boxes drawn; those with a smooth response are kept, see `smooth`
    seed : of the draw; the same one gives the same boxes
    edge, band, headroom, equalised : the programme, as for `need_in`

    >>> found = study(400)
    >>> found.low.size, round(float(np.median(found.need.ratio)), 1)  # smooth ones, and their need
    (169, 2.2)
    """
    designs, found = _crowd(count, seed, air)
    low = positive("band", band) * edge_of(edge, found.f3, designs.box.tuning(air))
    need = needed_ratio(
        designs.driver, designs.box, low, headroom=headroom, equalised=equalised, air=air
    )
    return Study(designs, found, low, need)


def retuned(box: RadiatorBox, times: ArrayLike) -> RadiatorBox:
    """The same radiator boxes tuned `times` as high, with suspensions as soft to the box as before.

    Done by radiators of other area: to the sound that is what a change of weights would be, and no
    radiator of a random crowd comes to weigh kilograms.

    >>> from boxlab.gear.scenario import TEN_INCH_DRIVER, TEN_INCH_RADIATOR
    >>> from boxlab.model.enclosure import RadiatorBox
    >>> box = RadiatorBox.tuned(0.014, 36, TEN_INCH_RADIATOR, ql=7)
    >>> round(float(retuned(box, 0.7).tuning() / box.tuning()), 3)
    0.7

    Parameters
    ----------
    box : RadiatorBox
    times : new tuning over the old
    """
    times, was = positive("times", times), box.radiator
    radiator = replace(was, sd=was.sd * times, cms=was.cms / times**2, rms=was.rms * times**2)
    return replace(box, radiator=radiator)


@lru_cache(maxsize=3)
def _crowd(count, seed, air):
    """The boxes of a study, found once for all programmes."""
    drawn = random_designs("radiator", count, seed=seed, lossless=0.0, air=air)
    found = passband(drawn.driver, drawn.box, air)
    keep = smooth(found)
    return drawn[keep], take(found, keep, count)
