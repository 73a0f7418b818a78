"""The box as designed, in the units of the workshop, to hold a measured sweep against."""

from __future__ import annotations

from dataclasses import dataclass, fields

from boxlab.base.units import cm2, grams, litres, mh, mm, mm_per_newton
from boxlab.measure import Sweep
from boxlab.model.driver import Driver
from boxlab.model.enclosure import PortedBox, RadiatorBox, SealedBox
from boxlab.model.radiator import Radiator
from boxlab.model.response import solve

BUILDS = ("radiator", "ported", "sealed")
LABELS = {  # what is typed, and the unit it is in if none is typed with it
    "re": ("coil resistance Re", "Ω"),
    "le": ("coil inductance Le", "mH"),
    "fs": ("driver's fs", "Hz"),
    "qes": ("Qes", ""),
    "qms": ("Qms", ""),
    "vas": ("Vas", "L"),
    "sd": ("cone area Sd", "cm²"),
    "volume": ("net volume", "L"),
    "fb": ("tuning meant", "Hz"),
    "ql": ("losses meant, QL", ""),
    "radiator_sd": ("radiator's area", "cm²"),
    "mass": ("radiator's bare mass", "g"),
    "compliance": ("radiator's compliance", "mm/N"),
}


@dataclass(frozen=True)
class Plan:
    """The box as designed, in the units of the workshop; the start is the class's own box.

    Ω, mH, Hz, litres, cm², grams, mm/N. `mass` is a radiator's moving mass without weights.
    """

    build: str = "radiator"
    re: float = 3.4
    le: float = 1.2
    fs: float = 31.6
    qes: float = 0.345
    qms: float = 5.1
    vas: float = 35.0
    sd: float = 335.0
    volume: float = 14.2
    fb: float = 34.0
    ql: float = 7.0
    radiator_sd: float = 350.0
    mass: float = 100.0
    compliance: float = 0.6

    def __post_init__(self):
        if self.build not in BUILDS:
            raise ValueError(f"build = {self.build!r}: choose one of {', '.join(BUILDS)}.")
        for each in fields(self):
            value = getattr(self, each.name)
            if each.name not in ("build", "le") and not value > 0:
                raise ValueError(f"{each.name} = {value!r}: give a number above zero.")
            if each.name not in ("build", "le") and not 1e-3 <= value <= 1e6:
                raise ValueError(
                    f"{each.name} = {value:g}: expected 0.001 to 1 000 000, in the unit that "
                    "stands beside it."
                )
        if not 0 <= self.le <= 1e3:
            raise ValueError(f"le = {self.le!r}: give zero or more, in mH, up to 1000.")

    @property
    def driver(self):
        """The driver, by its printed values; excursion and power do not matter here."""
        return Driver.from_datasheet(
            fs=self.fs,
            qes=self.qes,
            qms=self.qms,
            vas=litres(self.vas),
            sd=cm2(self.sd),
            re=self.re,
            le=mh(self.le),
            xmax=mm(5),
            pe=50,
        )

    @property
    def radiator(self):
        """The radiator without weights; its friction is assumed: it shapes the peaks."""
        return Radiator.from_datasheet(
            sd=cm2(self.radiator_sd), mms=grams(self.mass), cms=mm_per_newton(self.compliance)
        )

    @property
    def box(self):
        """The box; ValueError, with what to change, if the vent cannot be tuned so."""
        net = litres(self.volume)
        if self.build == "sealed":
            return SealedBox(net)
        if self.build == "ported":
            return PortedBox.tuned(net, self.fb, cm2(10), ql=self.ql, max_length=1e3)
        return RadiatorBox.tuned(net, self.fb, self.radiator, ql=self.ql)

    def curve(self, frequency):
        """Impedance of the design, a Sweep, at the frequencies, Hz."""
        z = solve(self.driver, self.box, frequency).impedance
        return Sweep.from_impedance(frequency, z, "as designed")
