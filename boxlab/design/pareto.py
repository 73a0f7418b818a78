"""Search radiator boxes over volume, count, mass and radiator size; keep the trade-off front.

Depth (a low cutoff), loudness and size pull against each other: no box wins on all three. A
candidate belongs to the front if no other is at least as good in all three and better in one.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike

from boxlab.base.checks import not_negative, positive, whole
from boxlab.model.air import Air
from boxlab.model.driver import Driver
from boxlab.model.enclosure import RadiatorBox
from boxlab.model.limits import max_output
from boxlab.model.passband import passband
from boxlab.model.radiator import Radiator

MOST = 20_000  # candidates in one search


@dataclass(frozen=True, eq=False)
class Candidates:
    """Boxes tried, arrays of shape (n,), with the measures to trade.

    f3 : Hz; loudness : dB at the quietest frequency of the band; volume : net m³;
    limit : what stops it there; front : True on the trade-off front.
    """

    radiator: np.ndarray  # name of the radiator
    volume: np.ndarray
    count: np.ndarray
    added_mass: np.ndarray  # kg on each
    tuning: np.ndarray  # Hz
    f3: np.ndarray
    loudness: np.ndarray
    limit: np.ndarray
    front: np.ndarray

    def __len__(self):
        return len(self.volume)

    def words(self, index):
        """One candidate in words."""
        return (
            f"{self.volume[index] * 1e3:.1f} L, {self.count[index]} × {self.radiator[index]} with "
            f"{self.added_mass[index] * 1e3:.0f} g on each: tuned to {self.tuning[index]:.1f} Hz, "
            f"cutoff {self.f3[index]:.0f} Hz, {self.loudness[index]:.0f} dB at its weakest, "
            f"stopped there by {self.limit[index]}"
        )

    def best(self, depth=1.0, loudness=1.0, size=1.0):
        """Index of the front's candidate that suits these weights best.

        Each measure runs from 0 at the front's worst to 1 at its best; the weighted sum decides.

        Raises
        ------
        ValueError
            For negative weights, all zero weights, or an empty front.
        """
        weights = np.array([
            not_negative("depth", depth), not_negative("loudness", loudness),
            not_negative("size", size),
        ])  # fmt: skip
        if not weights.any():
            raise ValueError("depth, loudness and size are all zero: say what you value")
        on = np.flatnonzero(self.front)
        if on.size == 0:
            raise ValueError("no candidate has a cutoff in range: try larger volumes or less mass")
        score = np.zeros(on.size)
        for weight, cost in zip(weights, _costs(self), strict=True):
            span = np.ptp(cost[on])
            if span > 0:
                score += weight * (cost[on].max() - cost[on]) / span
        return int(on[np.argmax(score)])


def _costs(c):
    return np.log(c.f3), -c.loudness, np.log(c.volume)


def front(costs: ArrayLike) -> np.ndarray:
    """True for the rows that no other row beats: shape (n, k) -> (n,). Less is better.

    A row with NaN is never on the front. Equal rows stay together.

    >>> front(np.array([[1, 2], [2, 1], [2, 2], [1, 2]])).tolist()
    [True, True, False, True]

    Parameters
    ----------
    costs : shape (n, k), less is better
    """
    costs = np.asarray(costs, dtype=float)
    keep = np.isfinite(costs).all(axis=1)
    order = np.lexsort(costs.T[::-1])
    best = np.empty((0, costs.shape[1]))
    for i in order[keep[order]]:
        # Sorted by the first cost, only rows already kept can beat this one.
        worse = np.all(best <= costs[i], axis=1) & np.any(best < costs[i], axis=1)
        if worse.any():
            keep[i] = False
        else:
            best = np.vstack((best, costs[i]))
    return keep


def search(
    driver: Driver, radiators: Sequence[Radiator], volumes: ArrayLike,
    counts: Sequence[int] = (1, 2), added_masses: ArrayLike | None = None, *,
    band: tuple[float, float] = (30.0, 80.0), power: float | None = None,
    voltage: float | None = None, load: float | None = None, ql: float = np.inf,
    air: Air | None = None,
) -> Candidates:  # fmt: skip
    """Try every combination and mark the trade-off front.

    Parameters
    ----------
    driver : Driver
    radiators : mapping of name to Radiator, one for each size
    volumes : m³ net, as many as you like
    counts : numbers of radiators
    added_masses : kg on each; by default 0 to 3 times the radiator's own mass
    band : Hz, where loudness counts
    power, voltage, load : as for `max_output`
    ql : leakage loss of the boxes

    Returns
    -------
    Candidates

    Raises
    ------
    ValueError
        For an empty list, or more than 20 000 combinations.

    >>> from boxlab.gear.scenario import TEN_INCH_DRIVER, TEN_INCH_RADIATOR
    >>> ten = {"ten-inch": TEN_INCH_RADIATOR}
    >>> found = search(TEN_INCH_DRIVER, ten, [0.014, 0.02], [1], [0.05, 0.1], power=300, load=4)
    >>> len(found), found.words(found.best())[:68]
    (4, '20.0 L, 1 × ten-inch with 100 g on each: tuned to 36.2 Hz, cutoff 37')
    """
    air = Air() if air is None else air
    if not isinstance(radiators, Mapping) or not radiators:
        raise ValueError("radiators: give at least one, as {'ten-inch': Radiator(...)}")
    volumes = np.atleast_1d(positive("volumes", volumes, "Give m³: boxlab.litres(14)."))
    counts = np.atleast_1d(whole("counts", counts))
    f = np.geomspace(positive("band", band[0]), positive("band", band[1]), 40)
    if not f[0] < f[-1]:
        raise ValueError(f"band = {band}: give the lowest and the highest frequency, in Hz")
    found = []
    for name, radiator in radiators.items():
        masses = np.linspace(0, 3 * radiator.mms, 16) if added_masses is None else added_masses
        masses = np.atleast_1d(not_negative("added_masses", masses, "Give kg: boxlab.grams(60)."))
        total = volumes.size * counts.size * masses.size
        if not 0 < total * len(radiators) <= MOST:
            raise ValueError(
                f"{total * len(radiators)} combinations: give 1 to {MOST}, with fewer volumes, "
                "counts or masses"
            )
        v, n, m = (a.ravel() for a in np.meshgrid(volumes, counts, masses, indexing="ij"))
        box = RadiatorBox(v, radiator.with_mass(m), n, ql)
        ceiling = max_output(driver, box, f, power=power, voltage=voltage, load=load, air=air)
        weakest = np.argmin(ceiling.spl, axis=-1)
        rows = np.arange(v.size)
        found.append(
            Candidates(
                np.full(v.size, name), v, n, m, np.broadcast_to(box.tuning(air), v.shape),
                np.broadcast_to(passband(driver, box, air).f3, v.shape),
                ceiling.spl[rows, weakest], ceiling.limit[rows, weakest], np.zeros(v.size, bool),
            )
        )  # fmt: skip
    fields = Candidates.__dataclass_fields__
    together = Candidates(**{k: np.concatenate([getattr(c, k) for c in found]) for k in fields})
    return replace(together, front=front(np.stack(_costs(together), axis=1)))
