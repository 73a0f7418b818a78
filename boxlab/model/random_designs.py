"""Many invented designs at once, drawn at random from a seed: the crowd behind the clouds.

The ranges are those of drivers of about 6.5 to 15 inches. Vented boxes are scattered about the
usual alignments, by the rules of Margolis and Small (J. Audio Eng. Soc. 29 (1981) 421) for the
volume and tuning that suit a driver's Qts, but widely, so that good and bad are both there.
"""

from __future__ import annotations

from dataclasses import dataclass, fields, is_dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from boxlab.base.checks import whole
from boxlab.model.air import Air
from boxlab.model.driver import Driver
from boxlab.model.enclosure import PortedBox, RadiatorBox, SealedBox
from boxlab.model.radiator import Radiator
from boxlab.model.vents import Port

KINDS = ("sealed", "ported", "radiator")


@dataclass(frozen=True, eq=False)
class Designs:
    """Many drivers, each in a box of its own: every field an array of shape (count,)."""

    kind: str
    driver: Driver
    box: SealedBox | PortedBox | RadiatorBox

    def __len__(self):
        return np.size(self.box.volume)

    def __getitem__(self, index):
        """The designs at `index`: one (an int), a slice, a mask or a list of places."""
        return take(self, index, len(self))


def random_designs(
    kind: str, count: int = 20_000, *, seed: int = 1, lossless: float = 0.2, air: Air | None = None
) -> Designs:
    """Draw `count` designs of one kind ("sealed", "ported" or "radiator").

    >>> random_designs("sealed", 100).box.volume.shape
    (100,)

    Parameters
    ----------
    seed : the same seed gives the same designs
    lossless : share of designs, 0 to 1, with no friction and no leak: boxes that exist on paper
        only, but the ones that the published ceilings are computed for

    Raises
    ------
    ValueError
        For an unknown kind, a count that is not a whole number, or a share outside 0 to 1.
    """
    if kind not in KINDS:
        raise ValueError(f"kind = {kind!r}: choose one of {', '.join(KINDS)}.")
    if not 0 <= lossless <= 1:
        raise ValueError(f"lossless = {lossless} is a share; give 0 to 1.")
    count, air = whole("count", count), Air() if air is None else air
    rng = np.random.default_rng([seed, KINDS.index(kind)])

    def spread(low, high):
        return np.exp(rng.uniform(np.log(low), np.log(high), count))

    paper = rng.uniform(size=count) < lossless
    sd, fs, mass_by_area = spread(0.013, 0.08), spread(20, 60), spread(1.5, 6)
    qes, qms = spread(0.22, 1.4), spread(2, 20)
    mms = sd * mass_by_area
    re = spread(1.5, 7)
    driver = Driver(
        re=re,
        le=0.0,
        bl=np.sqrt(2 * np.pi * fs * mms * re / qes),
        mms=mms,
        cms=1 / ((2 * np.pi * fs) ** 2 * mms),
        rms=np.where(paper, 0.0, 2 * np.pi * fs * mms / qms),
        sd=sd,
        xmax=spread(0.005, 0.025),
        pe=spread(100, 1000),
        name="random driver",
    )
    vas, qts = driver.vas(air), driver.qts
    if kind == "sealed":
        return Designs(kind, driver, SealedBox(_sized(vas / spread(0.2, 15))))

    volume = _sized(vas * 20 * qts**3.3 * rng.lognormal(0, 0.6, count))
    fb = fs * 0.42 * qts**-0.96 * rng.lognormal(0, 0.25, count)
    fb = np.clip(fb, 12, 120)
    ql = np.where(paper, np.inf, spread(5, 50))
    wb = 2 * np.pi * fb
    if kind == "ported":
        # only the port's air mass matters here, so its ends are counted into its length
        area_by_length = wb**2 * volume / air.speed_of_sound**2
        length = np.minimum(spread(0.1, 1.0), 0.1 / area_by_length)
        area = area_by_length * length
        return Designs(kind, driver, PortedBox(volume, Port(area, length, 0.0), 1, ql))

    count_of_each = rng.integers(1, 3, count)
    area = np.minimum(sd * spread(0.9, 2.2), 0.12)
    springs = spread(0.5, 15)  # compliance of the radiators against that of the box air
    cms = np.minimum(springs * volume / (air.bulk_modulus * area**2 * count_of_each), 0.02)
    mass = (1 / cms + count_of_each * area**2 * air.bulk_modulus / volume) / wb**2
    # where that asks for a weight or a spring nobody would make, a smaller radiator does the same
    shrink = np.sqrt(np.minimum(1, np.minimum(3 / mass, cms / 5e-6)))
    area, cms, mass = area * shrink, cms / shrink**2, mass * shrink**2
    wp = 1 / np.sqrt(mass * cms)
    radiator = Radiator(
        sd=area,
        mms=mass,
        cms=cms,
        rms=np.where(paper, 0.0, wp * mass / spread(3, 20)),
        xmax=spread(0.008, 0.03),
        name="random radiator",
    )
    return Designs(kind, driver, RadiatorBox(volume, radiator, count_of_each, ql))


def _sized(volume):
    """Keep a volume within what fits a car, m³."""
    return np.clip(volume, 0.002, 0.35)


def take(record: Any, index: ArrayLike, count: int) -> Any:
    """The same record with every array of shape (count,), at any depth, cut down to `index`.

    >>> take(random_designs("sealed", 100), slice(0, 5), 100).box.volume.shape
    (5,)
    """
    changes = {}
    for item in fields(record):
        value = getattr(record, item.name)
        if is_dataclass(value):
            changes[item.name] = take(value, index, count)
        elif np.shape(value) == (count,):
            changes[item.name] = value[index]
    return replace(record, **changes)
