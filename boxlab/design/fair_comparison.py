"""Boxes compared on the same footing: same voltage, same amplifier, same band, space stated.

A number without its footing decides nothing: a lower coil resistance draws more power at the same
voltage, a larger box has more to work with, and a peak at one frequency says nothing of the rest.
So each box is asked the same questions, and a lead of one decibel or less is called a draw.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from boxlab.base.checks import counted, positive
from boxlab.car.build_value import stops_of
from boxlab.car.wiring import Amplifier
from boxlab.measure.fit.box_found import BoxFit
from boxlab.model.air import Air
from boxlab.model.any_box import Box
from boxlab.model.driver import Driver
from boxlab.model.enclosure import PortedBox, RadiatorBox, SealedBox
from boxlab.model.limits import max_output
from boxlab.model.passband import passband
from boxlab.model.radiator import Radiator
from boxlab.model.response import solve
from boxlab.model.vents import PORT_SPEED

CLOSE = 1.0  # dB: our own choice; no more than this between two boxes is called a draw


@dataclass(frozen=True, eq=False)
class Contender:
    """One box in a comparison.

    Parameters
    ----------
    name : how the verdict calls it
    driver, box : as for `solve`; `box` None where it cannot be built, and `problem` says why
    load : rated impedance, Ω, by which an amplifier is chosen
    space : outside volume, m³; NaN if unknown
    source : "parameters" or "sweep": where driver and box come from
    """

    name: str
    driver: Driver
    box: SealedBox | PortedBox | RadiatorBox | None
    load: float = 4.0
    space: float = math.nan
    source: str = "parameters"
    problem: str = ""

    def __post_init__(self):
        positive(f"{self.name}: load", self.load, "Rated impedance is in ohms, often 2 or 4.")
        if not math.isnan(self.space):
            positive(f"{self.name}: space", self.space, "Give m³: boxlab.litres(30).")

    @property
    def build(self):
        """ "sealed", "ported", "radiator", or "" where there is no box."""
        kinds = {SealedBox: "sealed", PortedBox: "ported", RadiatorBox: "radiator"}
        return kinds.get(type(self.box), "")


@dataclass(frozen=True)
class Footing:
    """What every box in the comparison is given.

    Parameters
    ----------
    amplifier : Amplifier; its power depends on the load
    voltage : V rms, for the comparison at the same voltage
    low, high : Hz, the listening band
    air_speed : m/s peak allowed in a port, as for `max_output`
    """

    amplifier: Amplifier = field(default_factory=lambda: Amplifier({4: 300, 2: 480}))
    voltage: float = 2.83
    low: float = 30.0
    high: float = 80.0
    air_speed: float = PORT_SPEED

    def __post_init__(self):
        for name in ("voltage", "low", "high", "air_speed"):
            positive(name, getattr(self, name))
        if not self.low < self.high:
            raise ValueError(
                f"low = {self.low:g} Hz, high = {self.high:g} Hz: the band runs from the lowest "
                "note that counts up to the highest. Are the two swapped?"
            )

    @property
    def frequency(self):
        """The band, Hz, 120 points even on a log axis."""
        return np.geomspace(self.low, self.high, 120)


@dataclass(frozen=True, eq=False)
class Standing:
    """How one contender does on one footing. Levels in dB re 20 µPa at 1 m, half space."""

    contender: Contender
    level: np.ndarray  # at the footing's voltage, over its band
    watts: float  # that voltage into the coil's resistance: the most that it can draw
    f3: float  # Hz
    ceiling: object  # boxlab.model.limits.Ceiling with the amplifier, or None
    problem: str = ""

    @property
    def name(self):
        """The contender's name."""
        return self.contender.name

    @property
    def at_voltage(self):
        """Mean level over the band at the same voltage, octaves weighed alike, dB."""
        return float(np.mean(self.level)) if self.level.size else math.nan

    @property
    def average(self):
        """Mean over the band of the loudest level with the amplifier, dB; NaN without one."""
        return float(np.mean(self.ceiling.spl)) if self.ceiling is not None else math.nan

    @property
    def weakest(self):
        """(Hz, dB, what stops it) where the loudest level is least; NaNs without an amplifier."""
        if self.ceiling is None:
            return math.nan, math.nan, ""
        c, i = self.ceiling, int(np.argmin(self.ceiling.spl))
        return float(c.frequency[i]), float(c.spl[i]), str(c.limit[i])

    @property
    def stops(self):
        """What stops it across the band: (from Hz, to Hz, limit), in order."""
        return stops_of(self.ceiling)


def stand(contender: Contender, footing: Footing, air: Air | None = None) -> Standing:
    """The `Standing` of a `contender` on a `footing`.

    >>> from boxlab.gear.scenario import TEN_INCH_DRIVER
    >>> found = stand(Contender("sealed", TEN_INCH_DRIVER, SealedBox(0.014)), Footing())
    >>> round(found.at_voltage, 1), round(found.average, 1), found.weakest[2]
    (84.1, 105.8, 'amplifier')
    """
    air = Air() if air is None else air
    box, driver = contender.box, contender.driver
    if box is None:
        return Standing(contender, np.empty(0), math.nan, math.nan, None, contender.problem)
    f, problem, ceiling = footing.frequency, "", None
    try:
        volts = footing.amplifier.voltage(contender.load)
    except ValueError as error:
        problem = str(error)
    else:
        ceiling = max_output(driver, box, f, voltage=volts, air_speed=footing.air_speed, air=air)
    return Standing(
        contender,
        solve(driver, box, f, footing.voltage, air).spl,
        footing.voltage**2 / driver.re,
        float(passband(driver, box, air).f3),
        ceiling,
        problem,
    )


def verdict(standings: Sequence[Standing], footing: Footing) -> tuple[str, ...]:
    """The comparison of `standings` in plain sentences, the `footing` named in each.

    Raises
    ------
    ValueError
        For fewer than two contenders, or two of one name.

    >>> from boxlab.gear.scenario import TEN_INCH_DRIVER as driver
    >>> boxes = [Contender(f"{size} L", driver, SealedBox(size / 1000)) for size in (14, 28)]
    >>> verdict([stand(each, Footing()) for each in boxes], Footing())[0][:78]
    'Same voltage, 2.83 V, 30 to 80 Hz: too close to call between 28 L and 14 L. 28'
    """
    names = [s.name for s in standings]
    if len(names) < 2 or len(set(names)) < len(names):
        raise ValueError(
            f"contenders are {', '.join(names) or 'none'}: give two or more, each with its own name"
        )
    lines = [f"{s.name}: {s.problem}" for s in standings if s.problem]
    band = f"{footing.low:g} to {footing.high:g} Hz"
    lines += _line(
        f"Same voltage, {footing.voltage:g} V, {band}",
        [(s.name, s.at_voltage, f", drawing up to {s.watts:.1f} W") for s in standings],
    )
    averages = [(s.name, s.average, "") for s in standings]
    lines += _line(f"Same amplifier, {band}, on average", averages)
    lines += _line(
        "Same amplifier, each at its weakest note",
        [(s.name, v, f" at {f:.0f} Hz, stopped by {by}")
         for s in standings for f, v, by in (s.weakest,)],
    )  # fmt: skip
    return (*lines, *_spaces(standings), *_cutoffs(standings))


def lead(one: float, two: float) -> float:
    """By how many dB `one` leads `two`, as it reads: what is told as 1.0 is judged as 1.0.

    >>> lead(87.93, 86.95)
    1.0
    """
    return round(one - two, 1)


def _line(what, entries):
    """One sentence: who leads and by how much, then everybody's value."""
    entries = [e for e in entries if not math.isnan(e[1])]
    if len(entries) < 2:
        return []
    entries.sort(key=lambda e: -e[1])
    best = [name for name, value, _ in entries if lead(entries[0][1], value) <= CLOSE]
    who = (
        f"{best[0]} leads by {lead(entries[0][1], entries[1][1]):.1f} dB"
        if len(best) == 1
        else f"too close to call between {', '.join(best[:-1])} and {best[-1]}"
    )
    values = "; ".join(f"{name} {value:.1f} dB{extra}" for name, value, extra in entries)
    return [f"{what}: {who}. {values}."]


def _spaces(standings):
    known = [(s.name, s.contender.space) for s in standings if s.contender.space > 0]
    if len(known) < 2:
        return ("Space: not known for all of them, so not compared.",)
    known.sort(key=lambda entry: entry[1])
    ratio = known[-1][1] / known[0][1]
    values = "; ".join(f"{name} {1e3 * space:.0f} L" for name, space in known)
    if ratio < 1.1:
        return (f"Space, outside: alike. {values}.",)
    return (
        f"Space, outside: {known[-1][0]} takes {ratio:.1f} times that of {known[0][0]}. {values}.",
    )


def _cutoffs(standings):
    known = sorted((s.f3, s.name) for s in standings if not math.isnan(s.f3))
    if not known:
        return ()
    return ("f3: " + "; ".join(f"{name} {f3:.0f} Hz" for f3, name in known) + ".",)


def box_from_fit(
    fit: BoxFit, *, radiator: Radiator | None = None, port_area: float | None = None,
    count: int | None = None, ql: float | None = None,
) -> Box:  # fmt: skip
    """The box that `boxlab.measure.fit_box` found, ready to be compared.

    Parameters
    ----------
    fit : BoxFit
    radiator : Radiator, for its area, friction and stop; mass and compliance come from the fit
    port_area : m² of one port; an impedance sweep cannot tell it
    count : how many radiators or ports
    ql : in place of the loss that was found

    Raises
    ------
    ValueError
        If the fit has no volume, or what it cannot tell is missing.

    >>> from types import SimpleNamespace
    >>> found = SimpleNamespace(build="ported", volume=0.03, fb=32.0, ql=9.0)  # of a BoxFit
    >>> box = box_from_fit(found, port_area=0.006, count=1)
    >>> round(float(box.tuning()), 1), round(float(box.port.length), 3)
    (32.0, 0.519)
    """
    volume = float(fit.volume)
    if not math.isfinite(volume):
        raise ValueError(
            f"the net volume is not known: {fit.volume.note or 'no driver was given'}. Give "
            "fit_box the driver, or volume= in m³."
        )
    if fit.build == "sealed":
        return SealedBox(volume)
    ql = float(fit.ql) if ql is None else ql
    count = counted("count", count, f"{'ports' if fit.build == 'ported' else 'radiators'} it has")
    if fit.build == "ported":
        if port_area is None:
            raise ValueError(
                "port_area is missing: a sweep tells the tuning and not the port. Measure the "
                "port's diameter and give port_area=boxlab.disc_area(boxlab.mm(76))."
            )
        return PortedBox.tuned(volume, float(fit.fb), port_area, count=count, ql=ql, max_length=3)
    if radiator is None:
        raise ValueError("radiator is missing: a sweep does not tell its area, friction and stop")
    found = Radiator(
        sd=radiator.sd,
        mms=float(fit.radiator_mass),
        cms=float(fit.radiator_cms),
        rms=radiator.rms,
        xmax=radiator.xmax,
        name=f"{radiator.name}, as found",
    )
    return RadiatorBox(volume, found, count, ql)
