"""A build of a box for a gap, and what to say about several of them side by side."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from boxlab.car.clearance import Clearance
from boxlab.model.enclosure import PortedBox, RadiatorBox, SealedBox
from boxlab.model.limits import Ceiling


@dataclass(frozen=True, eq=False)
class Build:
    """One way to fill the gap. `box` is None where it cannot be built, and `problem` says why."""

    kind: str  # "sealed", "ported" or "radiator"
    box: SealedBox | PortedBox | RadiatorBox | None
    shares: object = None  # boxlab.car.joinery.Shares
    tuning: float = math.nan
    f3: float = math.nan
    ceiling: object = None  # boxlab.model.limits.Ceiling over the band
    fits: tuple[Clearance, ...] = ()
    added_mass: float = 0.0  # kg on each radiator
    problem: str = ""
    notes: tuple[str, ...] = ()

    @property
    def buildable(self):
        """True where there is a box and everything fits."""
        return self.box is not None and all(c.fits for c in self.fits)

    @property
    def weakest(self):
        """(Hz, dB, limit) where it is quietest within the band."""
        i = int(np.argmin(self.ceiling.spl))
        return tuple(v[i] for v in (self.ceiling.frequency, self.ceiling.spl, self.ceiling.limit))

    @property
    def average(self):
        """Mean of the loudest level over the band, in dB, octaves weighed alike."""
        return float(np.mean(self.ceiling.spl))

    @property
    def stops(self):
        """What stops it across the band: (from Hz, to Hz, limit), in order; () without a box."""
        return stops_of(self.ceiling)

    @property
    def words(self):
        """A plain verdict on this build, one or two sentences."""
        name = {"radiator": "With radiators"}.get(self.kind, self.kind.capitalize())
        if self.box is None:
            return f"{name}: cannot be built here. {self.problem}"
        f, spl, limit = self.weakest
        tuned = "" if self.kind == "sealed" else f", tuned to {self.tuning:.1f} Hz"
        mass = self._mass_words() if self.kind == "radiator" else ""
        line = (
            f"{name}: {self.shares.net * 1e3:.1f} L net{tuned}{mass}; cutoff {self.f3:.0f} Hz; "
            f"loudest {self.average:.0f} dB on average, {spl:.0f} dB at its weakest, {f:.0f} Hz, "
            f"where {limit} stops it."
        )
        bad = " ".join(c.sentence for c in self.fits if not c.fits)
        return f"{line} {bad}".strip()

    def _mass_words(self):
        grams = f"{self.added_mass * 1e3:.0f} g"
        if self.box.count == 1:
            return f" with {grams} on the radiator"
        return f" with {grams} on each of {self.box.count} radiators"


def stops_of(ceiling: Ceiling | None) -> tuple[tuple[float, float, str], ...]:
    """The stretches of a `Ceiling`: (from Hz, to Hz, limit), in order; () for None.

    >>> from boxlab.gear.scenario import TEN_INCH_DRIVER as driver
    >>> from boxlab.model.enclosure import SealedBox
    >>> from boxlab.model.limits import max_output
    >>> stops_of(max_output(driver, SealedBox(0.014), [20, 30, 100], power=300, load=4))
    ((20.0, 20.0, 'cone excursion'), (30.0, 100.0, 'amplifier'))

    Parameters
    ----------
    ceiling : Ceiling of one design, or None
    """
    if ceiling is None:
        return ()
    c = ceiling
    edges = [0, *(np.flatnonzero(c.limit[1:] != c.limit[:-1]) + 1), len(c.frequency)]
    return tuple(
        (float(c.frequency[a]), float(c.frequency[b - 1]), str(c.limit[a]))
        for a, b in pairwise(edges)
    )


def verdict(builds: Sequence[Build]) -> tuple[str, ...]:
    """A plain-words verdict over several `builds`: what each gives, then what stands out.

    >>> for line in verdict([Build("ported", None, problem="The port is too long.")]):
    ...     print(line)
    Ported: cannot be built here. The port is too long.
    None of these fits this gap as asked: change the tuning or the parts.
    """
    lines = [build.words for build in builds]
    usable = [build for build in builds if build.buildable]
    if not usable:
        return (*lines, "None of these fits this gap as asked: change the tuning or the parts.")
    if len(usable) == 1:
        return (*lines, f"Only the {usable[0].kind} build fits this gap as asked.")
    deep = min(usable, key=lambda b: b.f3 if b.f3 == b.f3 else math.inf)
    loud = max(usable, key=lambda b: b.average)
    sure = max(usable, key=lambda b: b.weakest[1])
    lines.append(
        f"Lowest cutoff: {deep.kind}. Loudest on average: {loud.kind}. Loudest at its weakest "
        f"note: {sure.kind}."
    )
    if any(build.kind == "sealed" for build in usable):
        lines.append("The sealed box is the simplest to build and the most forgiving of error.")
    return tuple(lines)
