"""Coil wiring: from coils and drivers to the load an amplifier sees, and what it gives there.

All coils are alike and carry the same current: every network here is so many coils in series in
each branch and so many equal branches side by side. Anything else heats one coil more than the
rest and is left out on purpose.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from itertools import pairwise
from math import inf, log, sqrt
from types import MappingProxyType

from boxlab.base.checks import doubt, positive, suspect, whole
from boxlab.model.driver import Driver
from boxlab.model.power_stage import PowerStage

_LOADS = (0.2, 64)  # Ω
_OHMS = "Give ohms, as rated: 2, 4 or 8."


@dataclass(frozen=True)
class Network:
    """Equal coils, `series` in each of `parallel` branches; `load` in the unit of one coil, Ω.

    `coils_in_series` counts inside one driver and `drivers_in_series` from driver to driver, so
    that `series` is their product.
    """

    coil: float
    coils: int
    drivers: int
    coils_in_series: int
    drivers_in_series: int

    @property
    def series(self):
        """Coils one after the other in each branch."""
        return self.coils_in_series * self.drivers_in_series

    @property
    def parallel(self):
        """Branches side by side."""
        return self.coils * self.drivers // self.series

    @property
    def load(self):
        """Resistance or rated impedance of the whole, Ω: coil · series / parallel."""
        return self.coil * self.series / self.parallel

    @property
    def words(self):
        """How to wire it, in one sentence."""
        inside = _how(self.coils, self.coils_in_series, "coil")
        outside = _how(self.drivers, self.drivers_in_series, "driver")
        steps = [f"{inside} in each driver" if inside and self.drivers > 1 else inside, outside]
        text = "; then ".join(step for step in steps if step) or "one coil, straight through"
        return f"{text}: {self.load:.3g} Ω"


def _how(count, series, what):
    if count == 1:
        return ""
    if series == count:
        return f"{count} {what}s in series"
    if series == 1:
        return f"{count} {what}s in parallel"
    return f"strings of {series} {what}s in series, {count // series} strings in parallel"


def networks(coil: float, coils: int = 1, drivers: int = 1) -> tuple[Network, ...]:
    """Every equal-split network of `drivers` drivers with `coils` coils each, least load first.

    Parameters
    ----------
    coil : float, Ω
        Rated impedance of one coil (or its DC resistance, if that is what you want to add up).
    coils, drivers : int, coils in one driver, and drivers

    Returns
    -------
    tuple of Network

    >>> [round(n.load, 2) for n in networks(4, coils=2, drivers=2)]
    [1.0, 4.0, 4.0, 16.0]
    """
    coil = positive("coil", coil, "Give the ohms of one coil.")
    coils, drivers = whole("coils", coils), whole("drivers", drivers)
    suspect("coil", coil, 0.5, 32, "Coils are about 1 to 16 Ω. Give ohms, not milliohms.")
    found = [
        Network(coil, coils, drivers, inner, outer)
        for inner in range(1, coils + 1)
        for outer in range(1, drivers + 1)
        if coils % inner == 0 and drivers % outer == 0
    ]
    return tuple(sorted(found, key=lambda n: (n.load, n.coils_in_series)))


def at_load(driver: Driver, rated: float, load: float) -> Driver:
    """The same driver with its coil wound, or its coils wired, for another rated load.

    The copper and the magnet stay, so Bl²/Re does: resistance and inductance go with the ratio of
    the loads, Bl with its root. At a voltage that gives the same watts it does the same.
    `rated` and `load` are its rated impedance as it is now and as it is to be, Ω.

    >>> from boxlab.gear.scenario import TEN_INCH_DRIVER as driver
    >>> other = at_load(driver, rated=4.0, load=2.0)
    >>> other.re / driver.re, round(float(other.qes / driver.qes), 3)
    (0.5, 1.0)
    """
    ratio = positive("load", load) / positive("rated", rated)
    return replace(driver, **driver.coil_times(ratio), bl=driver.bl * sqrt(ratio))


def nominal(driver: Driver) -> float:
    """The load on the label of a driver's coil, Ω: the nearest of 0.5, 1, 2 ... 16 to its `re`.

    >>> from boxlab.gear.scenario import TEN_INCH_DRIVER as driver
    >>> driver.re, nominal(driver)
    (3.4, 4.0)
    """
    labels = (0.5, 1.0, 2.0, 4.0, 8.0, 16.0)
    return min(labels, key=lambda load: abs(log(1.15 * float(driver.re) / load)))


def _doubt_ratings(ratings):
    """Doubt ratings, least load first, that no source of steady or sagging volts has.

    Steady volts give watts that go with 1/load (derived); a supply that sags gives less than that.
    Printed figures are rounded, so a tenth is let pass.
    """
    for (low, more), (high, less) in pairwise(ratings.items()):
        told = f"ratings say {more:g} W at {low:g} Ω and {less:g} W at {high:g} Ω. "
        if more < 0.9 * less:
            doubt(
                f"{told}An amplifier gives as much or more into the lower load. Are the two "
                "swapped? Give watts by load in ohms: {4: 180, 2: 300}."
            )
        elif more > 1.1 * less * high / low:
            times = "twice" if high == 2 * low else f"{high / low:.3g} times"
            doubt(
                f"{told}That is more than {times} as much, so the volts would rise under load. Are "
                "both continuous, by the same method, both one channel or both bridged?"
            )


@dataclass(frozen=True)
class Amplifier:
    """What the maker prints: watts at each rated load, and the least load allowed.

    >>> amplifier = Amplifier({4: 300, 2: 500}, minimum=2)
    >>> amplifier.power(4), amplifier.minimum
    (300.0, 2.0)

    Parameters
    ----------
    ratings : mapping of Ω to W
        Continuous sine power at each load, one channel or bridged, as you will use it.
    minimum : float, Ω, optional
        Least rated load; by default the least one in `ratings`.
    rail : float, V peak, optional
        Most that its output can swing, both halves of a bridge together.
    current : float, A peak, optional
        Most that its output can give.
    rated_at : float, V of supply at which ratings and rail hold
    efficiency : float, output over input at full output, 0 to 1
    name : str
    regulated : bool, whether its rails stay while the supply sags
    """

    ratings: Mapping[float, float]
    minimum: float | None = None
    name: str = field(default="", compare=False)
    rail: float | None = None
    current: float | None = None
    rated_at: float = 13.8
    efficiency: float = 0.75
    regulated: bool = False

    def __post_init__(self):
        if not isinstance(self.ratings, Mapping) or not self.ratings:
            raise ValueError(
                f"ratings = {self.ratings!r}: give watts by load in ohms, for example "
                "{4: 180, 2: 300}"
            )
        clean = {
            positive("rated load", load): positive(f"power at {load} Ω", power)
            for load, power in self.ratings.items()
        }
        for load, watts in clean.items():
            suspect("rated load", load, *_LOADS, "Give ohms, then watts: {4: 180, 2: 300}.")
            suspect(f"power at {load:g} Ω", watts, 1, 2e4, "Give watts, by load in ohms.")
        object.__setattr__(self, "ratings", MappingProxyType(dict(sorted(clean.items()))))
        _doubt_ratings(self.ratings)
        least = min(clean)
        if self.minimum is not None:
            least = positive("minimum", self.minimum, _OHMS)
            suspect("minimum", least, *_LOADS, _OHMS)
        object.__setattr__(self, "minimum", least)
        self._staged(50.0 if self.rail is None else self.rail)  # refuses what cannot be

    def __hash__(self):
        rest = (self.rail, self.current, self.rated_at, self.efficiency, self.regulated)
        return hash((tuple(self.ratings.items()), self.minimum, *rest))

    def _staged(self, rail, supply=None, share=1.0):
        current = inf if self.current is None else self.current
        return PowerStage(
            rail, current, supply, self.rated_at, self.efficiency, self.regulated, share
        )

    def power(self, load):
        """Rated power in W into `load` Ω.

        At a printed load: as printed. Between two: the voltage of the lower one, which is the
        cautious side, since a supply sags most at the lower load. Above the highest: that
        voltage, so power falls as 1/load.

        Raises
        ------
        ValueError
            If the load is below the least rated one.

        >>> amp = Amplifier({4: 180, 2: 300})
        >>> amp.power(2), round(amp.power(8), 6), round(amp.power(3), 1)
        (300.0, 90.0, 200.0)
        """
        load = positive("load", load)
        suspect("load", load, *_LOADS, _OHMS)
        lowest = min(self.minimum, next(iter(self.ratings)))
        if load < self.minimum * (1 - 1e-9):
            raise ValueError(
                f"load = {load:.3g} Ω is below this amplifier's least rated load of "
                f"{self.minimum:.3g} Ω. It would overheat or shut down. Rewire the coils for "
                f"{self.minimum:.3g} Ω or more, or use an amplifier rated for {load:.3g} Ω. (If "
                "you typed the coil's DC resistance: ratings go by the rated impedance, which is "
                "higher.)"
            )
        below = [rated for rated in self.ratings if rated <= load * (1 + 1e-9)]
        if not below:
            raise ValueError(
                f"load = {load:.3g} Ω: allowed, but no power is printed at or below it "
                f"(lowest: {lowest:.3g} Ω minimum, {min(self.ratings):.3g} Ω rated). Add that "
                "rating; it cannot be guessed upwards."
            )
        nearest = max(below)
        return self.ratings[nearest] * nearest / load if load > nearest else self.ratings[nearest]

    def voltage(self, load):
        """Sine voltage in V rms behind that rating: √(power · load)."""
        return sqrt(self.power(load) * load)

    def stage(self, load, supply=None, share=1.0):
        """What it can put out with its coils wired for a rated `load`, for `max_output`.

        Parameters
        ----------
        load : float, Ω, at which its rating is read
        supply : boxlab.model.power_stage.Supply, or None for one that does not sag
        share : average power over that of a full sine, 0 to 1

        Returns
        -------
        PowerStage
            Its rail is the rating's, or `rail` if that is lower.

        Raises
        ------
        ValueError
            As `power`.

        >>> Amplifier({4: 200}, rail=30).stage(4).rail, Amplifier({4: 200}).stage(4).rail
        (30.0, 40.0)
        """
        rated = sqrt(2 * self.power(load) * load)
        return self._staged(rated if self.rail is None else min(rated, self.rail), supply, share)

    def best(self, coil, coils=1, drivers=1):
        """The allowed network that draws the most rated power, as `(Network, watts)`.

        Raises
        ------
        ValueError
            If every network is below the least rated load or has no rating.
        """
        allowed = []
        for network in networks(coil, coils, drivers):
            try:
                allowed.append((network, self.power(network.load)))
            except ValueError:
                continue
        if not allowed:
            loads = ", ".join(f"{n.load:.3g}" for n in networks(coil, coils, drivers))
            raise ValueError(
                f"no way to wire this suits the amplifier: the loads are {loads} Ω and it needs "
                f"{self.minimum:.3g} Ω or more. Use coils of higher impedance."
            )
        return max(allowed, key=lambda pair: pair[1])
