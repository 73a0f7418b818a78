"""What a cable may carry before its insulation grows too hot, and the fuse that keeps it there.

Published tables of continuous current for one copper conductor in free air at 30 °C:

- gauges, 75 °C insulation: Kuphaldt, Lessons in Electric Circuits, Reference volume, chapter 3;
- mm², 70 °C insulation, flexible: DIN VDE 0298-4, Table 11.

Closed in, a gauge carries what NEC 2023, Table 310.16, gives for at most three in a raceway, and a
metric cable the same share of its own figure.

Heat goes with the square of the current and with the copper's resistance when hot, and leaves in
proportion to the warmth above the surroundings, so the current goes with the square root of the
warmth allowed. The same sum brings 30 °C to a warm car and one insulation to another. Checked
against 33 CFR 183.425, Table 5 (105 °C): within 10 %.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any

from boxlab.base.checks import number, positive, suspect
from boxlab.car.cable import Cable, awg_area, awg_cables, cable_by_drop, metric_cables

GAUGES_75 = {
    "14": 30, "12": 35, "10": 50, "8": 70, "6": 95, "4": 125, "2": 170, "1/0": 230, "4/0": 360,
}  # A  # fmt: skip
RACEWAY_75 = {
    "14": 20, "12": 25, "10": 35, "8": 50, "6": 65, "4": 85, "2": 115, "1/0": 150, "4/0": 230,
}  # A  # fmt: skip
METRIC_70 = {
    1.5: 24, 2.5: 32, 4: 42, 6: 54, 10: 73, 16: 98, 25: 129, 35: 158, 50: 198, 70: 245, 95: 292,
    120: 344,
}  # mm²: A  # fmt: skip
TABLE_AMBIENT = 30.0  # °C, of both tables
# Unless the cable's print says otherwise: plain PVC, in a car that stood in the sun.
INSULATION, AMBIENT = 70.0, 50.0  # °C
HOTTEST = 105.0  # °C: no table here goes higher, and terminals and fuse holders bear no more
OPEN, CLOSED = LAID = ("in free air", "closed in")  # closed in: a conduit, or under a carpet
# Share left where several loaded conductors lie together: 33 CFR 183.425 (3, 4 to 6, 7 to 24).
BUNDLES = ((2, 1.0), (3, 0.7), (6, 0.6), (24, 0.5))
# Fuses on sale, A: common practice, no published source.
FUSES = (
    5, 7.5, 10, 15, 20, 25, 30, 35, 40, 50, 60, 70, 80, 100, 125, 150, 175, 200, 225, 250, 300, 350,
    400,
)  # fmt: skip


def ampacity(
    cable: Cable, insulation: float = INSULATION, ambient: float = AMBIENT, bundled: int = 1,
    laid: str = OPEN,
) -> float:  # fmt: skip
    """Continuous current, A, that `cable` may carry; nan where no table reaches.

    Parameters
    ----------
    cable : Cable
        By its label an AWG size from 14 to 4/0 or a metric one from 1.5 to 120 mm². Sizes between
        two in the table are read between them by copper area, on log axes.
    insulation : float, °C
        What the cable's print says its insulation bears. 70 where nothing is known; above 105 it
        counts as 105.
    ambient : float, °C
        Where it lies: 50 in a car that stood in the sun, more near an engine.
    bundled : int
        Loaded conductors that lie together.
    laid : str
        "in free air", or "closed in": in a conduit or under a carpet.

    Formula: I = I0·√((T − Ta)/(T0 − 30)·(234.5 + T0)/(234.5 + T))

    Raises
    ------
    ValueError
        If the surroundings are as hot as the insulation bears, or `laid` is neither of the two.

    >>> from boxlab.car.cable import awg_cables
    >>> four = next(cable for cable in awg_cables() if cable.label == "4 AWG")
    >>> round(ampacity(four)), round(ampacity(four, 75, 30))
    (84, 125)
    """
    positive("insulation", insulation, "It is in °C, as printed on the cable: 70, 105 ...")
    suspect("insulation", insulation, 50, 250, "It is in °C, as printed on the cable: 70, 105 ...")
    number("ambient", ambient, hint="It is in °C.")
    credited = insulation > HOTTEST
    insulation = min(insulation, HOTTEST)
    if ambient >= insulation:
        bears = "is credited here" if credited else "the insulation bears"
        raise ValueError(
            f"ambient = {ambient:g} °C is not below what {bears}, {insulation:g} °C: the "
            "cable may carry nothing there. Lay it elsewhere, or use cable for more heat."
        )
    if laid not in LAID:
        raise ValueError(f"laid = {laid!r}: a cable lies {OPEN} or {CLOSED}")
    table, area = _table(cable), cable.area
    reference = 75.0 if table is _GAUGE_POINTS else 70.0
    if not table[0][0] * (1 - 1e-6) <= area <= table[-1][0] * (1 + 1e-6):
        return math.nan
    warmth = (insulation - ambient) / (reference - TABLE_AMBIENT)
    copper = (234.5 + reference) / (234.5 + insulation)  # ratio of the resistances when hot
    amperes = _between(table, area) * math.sqrt(warmth * copper) * _share(bundled)
    if laid == CLOSED:
        amperes *= _between(_RACEWAY_POINTS, area) / _between(_GAUGE_POINTS, area)
    return amperes


def tabled(cable: Cable) -> bool:
    """Whether its size stands in a table; what lies between two there is read between them.

    >>> from boxlab.car.cable import awg_cables
    >>> all(tabled(each) for each in awg_cables() if each.label.startswith("4 AWG"))
    True

    Parameters
    ----------
    cable : Cable
    """
    return any(math.isclose(cable.area, area, rel_tol=1e-6) for area, _ in _table(cable))


def _table(cable):
    return _GAUGE_POINTS if cable.label.endswith("AWG") else _METRIC_POINTS


def _between(table, area):
    for (a, low), (b, high) in itertools.pairwise(table):
        if area <= b * (1 + 1e-6):
            share = math.log(area / a) / math.log(b / a)
            return low * (high / low) ** min(max(share, 0.0), 1.0)
    return table[-1][1]


def _share(bundled):
    for most, share in BUNDLES:
        if positive("bundled", bundled) <= most:
            return share
    raise ValueError(f"bundled = {bundled:g}: the published shares end at {BUNDLES[-1][0]}.")


_GAUGE_POINTS = sorted((float(awg_area(gauge)), amps) for gauge, amps in GAUGES_75.items())
_RACEWAY_POINTS = sorted((float(awg_area(gauge)), amps) for gauge, amps in RACEWAY_75.items())
_METRIC_POINTS = sorted((area * 1e-6, amps) for area, amps in METRIC_70.items())
# What shops sell within the tables, by family, thinnest first; common practice.
_SOLD = ("14", "12", "10", "8", "6", "4", "2", "0", "2/0", "3/0", "4/0")
ON_SALE = MappingProxyType(
    {
        "AWG": tuple(c for c in awg_cables() if c.label.split()[0] in _SOLD),
        "mm²": tuple(c for c in metric_cables() if c.area >= 1.5e-6),
    }
)


@dataclass(frozen=True)
class Supply:
    """A cable with the fuse before it. `decided_by` is "drop" or "heat", whichever asks for more.

    `carries` is in A; `by_drop` and `by_heat` are the cables that either alone would ask for.
    """

    cable: Cable
    fuse: float
    carries: float
    by_drop: Cable
    by_heat: Cable

    @property
    def label(self) -> str:
        """The size of the cable in words."""
        return self.cable.label

    def drop(self, *given, **path) -> float:
        """Volts lost in the cable: see `Cable.drop`."""
        return self.cable.drop(*given, **path)

    @property
    def decided_by(self) -> str:
        """Which of the two asks for more copper."""
        return "heat" if self.by_heat.area > self.by_drop.area else "drop"


def least_fuse(current: float) -> float:
    """The smallest fuse on sale, A, that does not open at `current` A.

    Raises
    ------
    ValueError
        If the current is above the largest.

    >>> least_fuse(34.0)
    35.0
    """
    current = positive("current", current)
    for size in FUSES:
        if size >= current:
            return float(size)
    raise ValueError(
        f"current = {current:.4g} A is above the largest fuse listed, {FUSES[-1]} A: feed the "
        "amplifiers by separate cables, each with its own fuse."
    )


def size_cable(
    current: float, length: float, drop: float = 0.5, cables: Sequence[Cable] | None = None, *,
    fuse: float | None = None, rating: float = math.inf, insulation: float = INSULATION,
    ambient: float = AMBIENT, bundled: int = 1, laid: str = OPEN, **path: Any,
) -> Supply:  # fmt: skip
    """The thinnest cable that holds by drop and by heat, with its fuse.

    The cable has to carry what the fuse lets through for ever, so heat is held to the fuse.

    Parameters
    ----------
    current, length, drop : float, A at full power, m one way, V
    cables : sequence of Cable, thinnest first; by default the gauges on sale
    fuse : float, A, optional
        By default the smallest on sale that does not open at `current`.
    rating : float, A, optional
        What the cable's maker allows, if that is known; it counts only where it is less than the
        table's.
    insulation, ambient, bundled, laid : as for `ampacity`
    path : passed on to `Cable.drop`

    Raises
    ------
    ValueError
        If the fuse would open in use, or no cable in the list holds.

    >>> plan = size_cable(116, 0.5, 2.0)
    >>> plan.label, plan.fuse, plan.decided_by
    ('0 AWG', 125.0, 'heat')
    """
    cables = ON_SALE["AWG"] if cables is None else cables
    positive("rating", rating, "It is in A, from the cable's maker.", infinite=True)
    fuse = least_fuse(current) if fuse is None else positive("fuse", fuse)
    if positive("current", current) > fuse:
        raise ValueError(
            f"current = {current:.3g} A is above the fuse of {fuse:g} A: it would open in use. "
            f"Take the next size, {least_fuse(current):g} A, and cable that can carry that."
        )

    def carries(cable):
        return min(ampacity(cable, insulation, ambient, bundled, laid), rating)

    warm = [cable for cable in cables if carries(cable) >= fuse]
    if not warm:
        best = max((c for c in cables if carries(c) > 0), key=carries, default=None)
        most = f"the most is {carries(best):.0f} A, by {best.label}" if best else "none is tabled"
        raise ValueError(
            f"no cable in the list may carry what a fuse of {fuse:g} A lets through, {laid} at "
            f"{ambient:g} °C ({most}). Use cable for more heat, or separate cables, each with its "
            "own fuse."
        )
    thin = cable_by_drop(current, length, drop, cables, **path)
    held = next((c for c in warm if c.area >= thin.area), None)
    if held is None:
        raise ValueError(f"{thin.label} holds by drop, but no table says what it may carry.")
    return Supply(held, float(fuse), carries(held), thin, warm[0])


def way_out(
    current: float, length: float, drop: float = 0.5, cables: Sequence[Cable] | None = None,
    **heat: Any,
) -> str:  # fmt: skip
    """What to do where no cable in the list holds: a smaller fuse, or the load on several cables.

    `current`, `length`, `drop`, `cables` and `heat` are as for `size_cable`, without the fuse.

    >>> way_out(400.0, 5.0)
    'On 2 cables, each with its own fuse of 200 A, it is 3/0 AWG.'
    """
    for count in range(1, 5):
        try:
            plan = size_cable(current / count, length, drop, cables, **heat)
        except ValueError:
            continue
        if count == 1:
            return f"Behind {plan.fuse:g} A, the smallest fuse that holds, it is {plan.label}."
        return f"On {count} cables, each with its own fuse of {plan.fuse:g} A, it is {plan.label}."
    return (
        "Shorten the run, accept more drop, lay it cooler, or take cable for more heat; else leave "
        "it to a licensed installer."
    )
