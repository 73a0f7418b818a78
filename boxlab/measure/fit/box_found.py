"""What a fit of a box found, and how it differs from the box that was meant."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from boxlab.measure.fit.doubts import PLUS_MINUS
from boxlab.measure.fit.estimate import Estimate
from boxlab.measure.fit.least_squares import Fit
from boxlab.measure.fit.loss_parts import PARTS, BoxLosses
from boxlab.measure.read.value import Sweep
from boxlab.model.air import Air
from boxlab.model.enclosure import RadiatorBox, SealedBox

_ROWS = (
    ("fb", 1, "Hz", "tuning fb"),
    ("fc", 1, "Hz", "resonance of the closed box fc"),
    ("alpha", 1, "", "compliance ratio α"),
    ("ql", 1, "", "losses QL"),
    ("volume", 1e3, "L", "net volume Vb"),
    ("fp", 1, "Hz", "radiator's own resonance fp"),
    ("delta", 1, "", "compliance ratio δ of the radiator"),
    ("radiator_mass", 1e3, "g", "moving mass of one radiator, weights included"),
    ("radiator_cms", 1e3, "mm/N", "compliance of one radiator"),
)


@dataclass(frozen=True, eq=False)
class BoxFit:
    """What `fit_box` found: Estimates in SI units; NaN, with the reason in `.note`, where unknown.

    `qtc` is the total Q of a sealed box. `ql` takes all losses of the box as one leak, unless the
    radiator's friction was given; `losses` says what they are made of as far as the sweeps tell.
    """

    build: str
    fb: Estimate
    alpha: Estimate
    ql: Estimate
    fs: Estimate
    qms: Estimate
    qes: Estimate
    fc: Estimate
    qtc: Estimate
    volume: Estimate
    fp: Estimate
    delta: Estimate
    radiator_mass: Estimate
    radiator_cms: Estimate
    words: tuple[str, ...]
    curve: Sweep = field(repr=False)
    fit: Fit = field(repr=False)
    losses: BoxLosses | None = field(default=None, repr=False)

    @property
    def lost(self):
        """Where the box loses what, by name, where the sweeps tell all three parts apart.

        `ql`, `qa` and `qp` as in `losses`, but for those told to be too small; of a radiator its
        friction `rms`, N·s/m, in place of `qp`. Empty where the sweeps cannot tell.
        """
        if self.losses is None or len(self.losses.told) < 3 or not np.isfinite(self.losses.ql):
            return {}
        found = {name: getattr(self.losses, name) for name in ("ql", "qa", "qp")}
        if self.build == "radiator":
            rubs, mass = found.pop("qp"), self.radiator_mass
            if np.isfinite(rubs) and mass.identifiable:
                own = 1 / (1 + self.delta)  # share of its own suspension in all that springs
                rms = 2 * np.pi * self.fb * mass * (1 - own) / rubs
                spread = float(np.hypot(rubs.u / rubs, mass.u / mass))
                found["rms"] = Estimate(rms, rms * spread, "N·s/m")
        return {name: each for name, each in found.items() if np.isfinite(each)}

    def markdown(self):
        """What was found as a table to print."""
        rows = ["| quantity | value and standard uncertainty |", "|---|---|"]
        for name, factor, unit, label in _ROWS:
            value = getattr(self, name)
            if np.isfinite(value) or "not identifiable" in value.note:
                rows.append(f"| {label} | {value.scaled(factor, unit)} |")
        for symbol, label in PARTS.values():
            if self.losses and symbol.lower() in self.losses.told:
                value = getattr(self.losses, symbol.lower())
                said = value if np.isfinite(value) else value.note
                rows.append(f"| {label} alone, {symbol} | {said} |")
        return "\n".join([*rows, "", PLUS_MINUS]) + "\n"

    def against(self, box, air=None):
        """Compare with the box that was meant to be built: one sentence for each difference."""
        air = Air() if air is None else air
        told = []
        if np.isfinite(self.volume):
            told.append(_differs("net volume", self.volume, box.volume, 1e3, "L"))
        if not isinstance(box, SealedBox) and np.isfinite(self.fb):
            told.append(_differs("tuning", self.fb, box.tuning(air), 1, "Hz"))
        if isinstance(box, RadiatorBox):
            if np.isfinite(self.radiator_mass):
                mass = box.radiator.moving_mass
                told.append(_differs("radiator's moving mass", self.radiator_mass, mass, 1e3, "g"))
            if np.isfinite(self.fp):
                told.append(_differs("radiator's own resonance", self.fp, box.radiator.fp, 1, "Hz"))
        if not isinstance(box, SealedBox) and np.isfinite(self.ql) and np.isfinite(box.ql):
            told.append(_differs("QL", self.ql, box.ql, 1, ""))
        return tuple(told)


def _differs(what, found, meant, factor, unit):
    meant = float(meant)
    percent = 100 * (found / meant - 1)
    shown = f"{found.scaled(factor, unit)}, meant {meant * factor:.4g} {unit}".rstrip()
    if not found.identifiable:
        return f"The {what} is not identifiable from this sweep ({shown})."
    if abs(found - meant) < 2 * found.u:
        return f"The {what} is as meant, within the uncertainty: {shown}."
    return f"The {what} is {abs(percent):.2g} % {'larger' if percent > 0 else 'smaller'}: {shown}."
