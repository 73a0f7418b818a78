"""Relations between the figures of a driver or radiator: what follows, and what contradicts.

The relations are the definitions of Small (J. Audio Eng. Soc. 20 (1972) 383).
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from boxlab.model.air import Air

TOLERANCE = 0.05  # figures that differ by more disagree: datasheets round to a few per cent
TAU = 2 * math.pi
COIL = ("le", "semi_k", "semi_n", "l2", "r2")  # what a coil has beside its resistance


class Known(tuple):
    """A value with how it is known: it unpacks to (value, how).

    `how` is "given", "follows", "assumed" or "measured". `low` and `high` bound what is assumed,
    and are one standard deviation either side of what is measured; else they equal the value.
    `why` says from what a value follows, or why it is assumed, in words.

    >>> value, how = Known(5.0, "assumed", 3.0, 10.0, "usual")
    >>> value, how
    (5.0, 'assumed')
    """

    def __new__(cls, value, how, low=None, high=None, why=""):
        self = super().__new__(cls, (value, how))
        self.value, self.how, self.why = value, how, why
        self.low = value if low is None else low
        self.high = value if high is None else high
        return self

    def __getnewargs__(self):
        return self.value, self.how, self.low, self.high, self.why


@dataclass(frozen=True)
class Contradiction:
    """A figure that was given, and what the other given figures make it (both SI)."""

    name: str
    given: float
    computed: float
    inputs: tuple[str, ...]

    def __str__(self):
        return (
            f"{self.name} is given as {self.given:.4g}, but {', '.join(self.inputs)} make it "
            f"{self.computed:.4g} (SI)"
        )


@dataclass(frozen=True)
class Relation:
    """figure = rule(*inputs), all SI."""

    figure: str
    inputs: tuple[str, ...]
    rule: object


def driver_relations(air: Air | None = None) -> tuple[Relation, ...]:
    """What ties a driver's figures together, each relation solved for each of its figures.

    >>> len(driver_relations()) > 5
    True
    """
    modulus = (air or Air()).bulk_modulus
    c = (air or Air()).speed_of_sound
    table = (
        ("fs", ("mms", "cms"), lambda m, k: 1 / (TAU * math.sqrt(m * k))),
        ("mms", ("fs", "cms"), lambda f, k: 1 / ((TAU * f) ** 2 * k)),
        ("cms", ("fs", "mms"), lambda f, m: 1 / ((TAU * f) ** 2 * m)),
        ("vas", ("sd", "cms"), lambda s, k: modulus * s**2 * k),
        ("cms", ("vas", "sd"), lambda v, s: v / (modulus * s**2)),
        ("sd", ("vas", "cms"), lambda v, k: math.sqrt(v / (modulus * k))),
        ("qms", ("fs", "mms", "rms"), lambda f, m, r: TAU * f * m / r if r else math.inf),
        ("rms", ("fs", "mms", "qms"), lambda f, m, q: TAU * f * m / q),
        ("mms", ("fs", "rms", "qms"), lambda f, r, q: q * r / (TAU * f)),
        ("qes", ("fs", "mms", "re", "bl"), lambda f, m, r, b: TAU * f * m * r / b**2),
        ("bl", ("fs", "mms", "re", "qes"), lambda f, m, r, q: math.sqrt(TAU * f * m * r / q)),
        ("re", ("fs", "mms", "bl", "qes"), lambda f, m, b, q: q * b**2 / (TAU * f * m)),
        ("mms", ("fs", "re", "bl", "qes"), lambda f, r, b, q: q * b**2 / (TAU * f * r)),
        ("qts", ("qes", "qms"), lambda e, m: e / (1 + e / m)),
        ("qes", ("qts", "qms"), lambda t, m: _apart(t, m)),
        ("qms", ("qts", "qes"), lambda t, e: _apart(t, e)),
        ("eta0", ("fs", "vas", "qes"), lambda f, v, q: 4 * math.pi**2 / c**3 * f**3 * v / q),
        ("qes", ("fs", "vas", "eta0"), lambda f, v, n: 4 * math.pi**2 / c**3 * f**3 * v / n),
        ("vas", ("fs", "qes", "eta0"), lambda f, q, n: n * q * c**3 / (4 * math.pi**2 * f**3)),
    )
    return tuple(Relation(*row) for row in table)


def radiator_relations(air: Air | None = None) -> tuple[Relation, ...]:
    """What ties a bare radiator's figures together, each relation solved for each figure.

    >>> len(radiator_relations()) > 2
    True
    """
    modulus = (air or Air()).bulk_modulus
    table = (
        ("fp", ("mms", "cms"), lambda m, k: 1 / (TAU * math.sqrt(m * k))),
        ("mms", ("fp", "cms"), lambda f, k: 1 / ((TAU * f) ** 2 * k)),
        ("cms", ("fp", "mms"), lambda f, m: 1 / ((TAU * f) ** 2 * m)),
        ("vap", ("sd", "cms"), lambda s, k: modulus * s**2 * k),
        ("cms", ("vap", "sd"), lambda v, s: v / (modulus * s**2)),
        ("sd", ("vap", "cms"), lambda v, k: math.sqrt(v / (modulus * k))),
        ("qmp", ("fp", "mms", "rms"), lambda f, m, r: TAU * f * m / r if r else math.inf),
        ("rms", ("fp", "mms", "qmp"), lambda f, m, q: TAU * f * m / q),
    )
    return tuple(Relation(*row) for row in table)


def _origin(relation, known):
    """The inputs of a relation, each that follows replaced by what it follows from."""
    names = []
    for name in relation.inputs:
        follows = known[name].how == "follows"
        names += known[name].why.removeprefix("from ").split(", ") if follows else [name]
    return tuple(dict.fromkeys(names))


def _apart(total, one):
    """The other of two Q that act together as `total`; none where `one` is not above it."""
    return total * one / (one - total) if one > total else math.nan


def complete(given: Mapping[str, Known], relations: Sequence[Relation]) -> dict[str, Known]:
    """`given`, and whatever follows from it by `relations`.

    Figures that are given come before those that follow, so the shortest way wins.

    >>> given = {"mms": Known(0.1, "given"), "cms": Known(2e-4, "given")}
    >>> round(complete(given, driver_relations())["fs"].value, 2)  # Hz
    35.59
    """
    known = dict(given)
    found = True
    while found:
        found = {}
        for relation in relations:
            if relation.figure in known or relation.figure in found:
                continue
            if all(name in known for name in relation.inputs):
                value = relation.rule(*(known[name].value for name in relation.inputs))
                if math.isfinite(value) or relation.figure in ("qms", "qmp"):
                    why = "from " + ", ".join(relation.inputs)
                    found[relation.figure] = Known(value, "follows", why=why)
        known |= found
    return known


def with_ranges(
    known: Mapping[str, Known], figures: Mapping[str, Known], relations: Sequence[Relation]
) -> dict[str, Known]:
    """`known`, with a range on whatever follows from `figures` that are assumed, by `relations`.

    >>> figures = {"qes": Known(0.5, "given"), "qms": Known(5.0, "assumed", 3.0, 10.0)}
    >>> known = with_ranges(complete(figures, driver_relations()), figures, driver_relations())
    >>> round(known["qts"].low, 3), round(known["qts"].value, 3), round(known["qts"].high, 3)
    (0.429, 0.455, 0.476)
    """
    assumed = {name: figure for name, figure in figures.items() if figure.how == "assumed"}
    tries = [
        complete(figures | {n: Known(v, "assumed") for n, v in change.items()}, relations)
        for change in corners(assumed)
    ]
    out = {}
    for name, figure in known.items():
        reached = [each[name].value for each in tries if name in each]
        if figure.how == "follows" and reached and max(reached) > min(reached) * (1 + 1e-9):
            low, high = min(*reached, figure.value), max(*reached, figure.value)
            figure = Known(figure.value, "follows", low, high, f"{figure.why}; assumed in part")
        out[name] = figure
    return out


def contradictions(
    given: Mapping[str, Known], relations: Sequence[Relation]
) -> tuple[Contradiction, ...]:
    """Where figures that were `given`, or follow by `relations`, cannot all be true, worst first.

    A relation is tried only for the figure that it is first listed for, so each shows once.

    >>> figures = {"qes": 0.5, "qms": 5.0, "qts": 0.6}
    >>> given = {name: Known(value, "given") for name, value in figures.items()}
    >>> print(*contradictions(given, driver_relations()))
    qts is given as 0.6, but qes, qms make it 0.4545 (SI)
    """
    known = complete(given, relations)
    found, seen = {}, set()
    for relation in relations:
        group = frozenset((relation.figure, *relation.inputs))
        if group in seen or not group <= set(known):
            continue
        seen.add(group)
        figure = known[relation.figure]
        value = relation.rule(*(known[name].value for name in relation.inputs))
        off = abs(math.log(value / figure.value)) if value > 0 and figure.value > 0 else math.inf
        if math.isinf(value) and math.isinf(figure.value):
            off = 0.0
        if off > math.log1p(TOLERANCE):
            found[relation.figure] = (
                off,
                Contradiction(relation.figure, figure.value, value, _origin(relation, known)),
            )
    worst = sorted(found.values(), key=lambda pair: -pair[0])
    return tuple(contradiction for _, contradiction in worst)


def corners(assumed: Mapping[str, Known]) -> list[dict[str, float]]:
    """Changes to try for the range of an answer: each assumed figure at its low and at its high
    with the others as assumed, and up to four of them in every combination.

    >>> corners({"qms": Known(5.0, "assumed", 3.0, 10.0)})
    [{'qms': 3.0}, {'qms': 10.0}]
    """
    ends = {name: (known.low, known.high) for name, known in assumed.items()}
    single = [{name: value} for name, pair in ends.items() for value in pair]
    some = dict(list(ends.items())[:4])
    joint = [dict(zip(some, values, strict=True)) for values in itertools.product(*some.values())]
    return single + joint if len(ends) > 1 else single
