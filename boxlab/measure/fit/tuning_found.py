"""What a search for the tuning found: peaks, routes, and words about why they differ."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from boxlab.measure.fit.estimate import Estimate
from boxlab.measure.fit.least_squares import Fit
from boxlab.measure.read.value import Sweep

_NAN = float("nan")


@dataclass(frozen=True)
class Route:
    """One way to read the tuning off a sweep.

    `shift` is how far, in Hz, this route should land from the tuning, computed from the fitted
    model; `coil` and `loss` are the parts of it that inductance and losses make.
    """

    name: str
    value: Estimate
    words: str
    shift: float = _NAN
    coil: float = _NAN
    loss: float = _NAN

    @property
    def corrected(self):
        """The value with its computed shift taken off, an Estimate."""
        if not np.isfinite(self.shift):
            return self.value
        return Estimate(self.value - self.shift, self.value.u, "Hz", self.value.note)


@dataclass(frozen=True, eq=False)
class Tuning:
    """What `find_tuning` found. Frequencies in Hz and magnitudes in Ω, as Estimates.

    With two peaks `fl`, `fm` and `fh` are the lower peak, the least magnitude between, and the
    upper peak, and `fb` is the tuning. With one peak those are NaN and `resonance` is the peak.
    """

    box: str  # "sealed or free air", or "ported or radiator"
    peaks: int
    fb: Estimate
    fl: Estimate
    fm: Estimate
    fh: Estimate
    zl: Estimate
    zm: Estimate
    zh: Estimate
    resonance: Estimate
    peak_impedance: Estimate
    routes: tuple[Route, ...]
    words: tuple[str, ...]
    curve: Sweep = field(repr=False)
    fit: Fit = field(repr=False)

    def markdown(self):
        """The routes as a table to print."""
        rows = [
            "| route | reads, Hz | expected off by, Hz | of which coil | of which loss |",
            "|---|---|---|---|---|",
        ]
        for route in self.routes:
            parts = [signed(v) for v in (route.shift, route.coil, route.loss)]
            rows.append(f"| {route.name} | {bare(route.value)} | {' | '.join(parts)} |")
        return "\n".join(rows) + "\n"


def signed(value: float) -> str:
    """A shift with its sign, or a dash where it is not known.

    >>> signed(1.26), signed(float("nan"))
    ('+1.26', '–')

    Parameters
    ----------
    value : Hz, or NaN
    """
    return f"{value:+.2f}".replace("-", "−") if np.isfinite(value) else "–"


def bare(estimate: Estimate) -> str:
    """An `estimate` without its unit.

    >>> from boxlab.measure.fit.estimate import Estimate
    >>> bare(Estimate(3.0, 0.1, "Hz"))
    '3.00 ± 0.10'
    """
    text = str(estimate)
    return text.replace(f" {estimate.unit}", "", 1) if estimate.unit else text
