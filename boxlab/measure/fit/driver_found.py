"""What a fit of a driver found: the small-signal set, each value with its uncertainty."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

import numpy as np

from boxlab.measure.fit.doubts import PLUS_MINUS
from boxlab.measure.fit.estimate import Estimate
from boxlab.measure.fit.least_squares import Fit
from boxlab.measure.read.value import Sweep
from boxlab.model.air import Air
from boxlab.model.driver import Driver
from boxlab.model.relations import COIL

UNKNOWN = "not identifiable from this sweep: it needs a second one, with added mass or in a box"
_ROWS = (
    ("re", 1, "Ω", "coil resistance Re"),
    ("le", 1e3, "mH", "coil inductance Le"),
    ("semi_k", 1, "Ω·sⁿ", "semi-inductance K"),
    ("semi_n", 1, "", "its exponent n"),
    ("l2", 1e3, "mH", "second inductance L2"),
    ("r2", 1, "Ω", "resistance across it, R2"),
    ("fs", 1, "Hz", "resonance fs"),
    ("qms", 1, "", "mechanical Q, Qms"),
    ("qes", 1, "", "electrical Q, Qes"),
    ("qts", 1, "", "total Q, Qts"),
    ("mms", 1e3, "g", "moving mass Mms"),
    ("cms", 1e3, "mm/N", "compliance Cms"),
    ("rms", 1, "N·s/m", "friction Rms"),
    ("bl", 1, "T·m", "force factor Bl"),
    ("vas", 1e3, "L", "equivalent volume Vas"),
)


@dataclass(frozen=True, eq=False)
class DriverFit:
    """What `fit_driver` found: Estimates in SI units, NaN where the sweeps do not tell."""

    re: Estimate
    le: Estimate
    semi_k: Estimate
    semi_n: Estimate
    l2: Estimate
    r2: Estimate
    fs: Estimate
    qms: Estimate
    qes: Estimate
    qts: Estimate
    mms: Estimate
    cms: Estimate
    rms: Estimate
    bl: Estimate
    vas: Estimate
    sd: Estimate
    words: tuple[str, ...]
    curves: tuple[Sweep, ...] = field(repr=False)  # fitted, one for each sweep given
    fit: Fit = field(repr=False)
    air: Air = field(repr=False)
    # covariance of the logarithms of fs, Qms, Qes and Vas, by the sweeps alone; shape (4, 4)
    joint: np.ndarray | None = field(default=None, repr=False)
    xmax: float | None = None
    pe: float | None = None
    name: str = ""

    @property
    def curve(self):
        """The fitted free-air curve, at the frequencies of the sweep."""
        return self.curves[0]

    @property
    def driver(self):
        """The Driver with these values.

        A sweep says nothing about excursion and heat: where `xmax` and `pe` were not given, 1 mm
        and 1 W stand in, so that no limit is promised that was not stated.

        Raises
        ------
        ValueError
            If mass or area are not known.
        """
        if not np.isfinite(self.mms):
            raise ValueError(
                "the moving mass is " + UNKNOWN + ": fit_driver(sweep, sd=..., "
                "added_mass=(second_sweep, 0.040)) with 40 g on the cone."
            )
        if not np.isfinite(self.sd):
            raise ValueError("a Driver needs its cone area: fit_driver(..., sd=boxlab.cm2(350)).")
        coil = {n: max(float(getattr(self, n)), 0.0) for n in COIL if getattr(self, n)}
        return Driver(
            re=float(self.re),
            bl=float(self.bl),
            mms=float(self.mms),
            cms=float(self.cms),
            rms=float(self.rms),
            sd=float(self.sd),
            xmax=1e-3 if self.xmax is None else self.xmax,
            pe=1.0 if self.pe is None else self.pe,
            name=self.name or "driver fitted to a sweep",
            **{"le": 0.0} | coil,
        )

    def times(self, ohms, air):
        """The same for several equal drivers that share a box: `ohms` times Re, `air` times Vas.

        fs and the Qs stay. What belongs to one cone is left as that of one, so this is for
        `fit_box` alone.
        """
        coil = {n: getattr(self, n).scaled(ohms, getattr(self, n).unit)
                for n in ("re", "le", "semi_k", "l2", "r2")}  # fmt: skip
        return replace(self, vas=self.vas.scaled(air, self.vas.unit), **coil)

    def markdown(self):
        """The set as a table to print."""
        rows = ["| quantity | value and standard uncertainty |", "|---|---|"]
        for name, factor, unit, label in _ROWS:
            value = getattr(self, name)
            if name in COIL and not value:
                continue
            rows.append(f"| {label} | {value.scaled(factor, unit)} |")
        return "\n".join([*rows, "", PLUS_MINUS]) + "\n"
