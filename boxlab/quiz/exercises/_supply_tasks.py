"""Two exercises of the lesson "power and wiring": the supply cable and its fuse."""

from __future__ import annotations

from types import SimpleNamespace

from boxlab.base.both_units import both_units
from boxlab.car.ampacity import AMBIENT, INSULATION, ON_SALE, ampacity, least_fuse
from boxlab.car.cable import COPPER, choose_fuse, supply_current
from boxlab.quiz.task import Exercise, Step

FUSES = (20, 25, 30, 40, 50, 60, 80, 100, 125, 150)  # A, an invented shelf
EFFICIENCY, SUPPLY = 0.75, 13.8
SIZES = tuple(c for c in ON_SALE["AWG"] if 5e-6 < c.area < 7e-5)
WHERE = both_units(f"{INSULATION:g} °C insulation, {AMBIENT:g} °C around it, in free air")


def _draw_cable(rng):
    while True:
        n = SimpleNamespace(
            power=50 * int(rng.integers(6, 21)),
            length=int(rng.integers(1, 13)) / 2,
            drop=int(rng.integers(6, 13)) / 20,
        )
        if _by_drop(n) != _by_heat(n):  # else there is nothing to decide
            return n


def _current(n):
    return supply_current(n.power, SUPPLY, EFFICIENCY)


def _per_metre(n):
    return n.drop / _current(n) / (2 * n.length)


def _by_drop(n):
    return next(cable for cable in SIZES if cable.per_metre <= _per_metre(n))


def _by_heat(n):
    return next(cable for cable in SIZES if ampacity(cable) >= least_fuse(_current(n)))


def _thicker(n):
    return max(_by_drop(n), _by_heat(n), key=lambda cable: cable.area)


def _mm2(cable):
    return round(1e6 * cable.area, 1)


def _list():
    return "; ".join(f"{c.label} ({_mm2(c)} mm²) {int(ampacity(c))} A" for c in SIZES)


cable = Exercise(
    "power-and-wiring/cable",
    title="How thick a cable, by drop and by heat?",
    draw=_draw_cable,
    prompt=lambda n: (
        f"An amplifier gives {n.power} W at most, and gives {100 * EFFICIENCY:.0f} % of what it "
        f"takes from {SUPPLY} V. The cable is {n.length:g} m ({n.length / 0.3048:.1f} ft) one way, "
        f"the return is the same cable, and {n.drop:g} V may be lost. Copper has "
        f"{1e6 * COPPER:.5f} Ω·mm²/m. The fuse will be {least_fuse(_current(n)):g} A. With "
        f"{WHERE}, each of these may carry: {_list()}."
    ),
    steps=(
        Step(
            "Current at full power",
            _current,
            "A",
            slips={
                "The amplifier takes more than it gives: divide by its efficiency.": lambda n: (
                    n.power / SUPPLY
                ),
                "Divide by the efficiency, do not multiply: it takes more than it gives.": (
                    lambda n: n.power * EFFICIENCY / SUPPLY
                ),
            },
            formula="I = P/(V·η)",
        ),
        Step(
            "Resistance allowed, out and back",
            lambda n: 1e3 * n.drop / _current(n),
            "mΩ",
            formula="R = drop/I",
        ),
        Step(
            "Least cross-section, by drop",
            lambda n: 1e6 * COPPER / _per_metre(n),
            "mm²",
            tolerance=0.03,
            slips={
                "You counted the cable one way. The current has to come back.": lambda n: (
                    5e5 * COPPER / _per_metre(n)
                ),
            },
            formula="A = ρ·2·length/R",
        ),
        Step(
            "The thinnest of the list that holds by both: its cross-section",
            lambda n: _mm2(_thicker(n)),
            "mm²",
            tolerance=0.03,
            slips={
                "That one holds by one of the two only. Take the thicker.": lambda n: _mm2(
                    min(_by_drop(n), _by_heat(n), key=lambda cable: cable.area)
                ),
            },
            formula="least = max(A, heat), then the next size of the list; heat is for the fuse",
        ),
    ),
    letters=lambda n: {
        "P": n.power,
        "V": SUPPLY,
        "η": EFFICIENCY,
        "drop": n.drop,
        "length": n.length,
        "ρ": COPPER,
        "sizes": [_mm2(c) / 1e6 for c in SIZES],
        "heat": min(_mm2(c) / 1e6 for c in SIZES if int(ampacity(c)) >= least_fuse(_current(n))),
    },
    hints=lambda n: (
        "Watts into amperes first; then Ohm's law for the loss; then copper; then the list.",
        "I = P/(V·η). R = drop/I. Area = ρ·(2·length)/R. A cable must carry what its fuse lets "
        "through.",
        f"There are {2 * n.length:g} m of copper, and ρ times that is "
        f"{1e6 * COPPER * 2 * n.length:.4f} Ω·mm².",
    ),
    solution=lambda n: (
        f"I = {n.power}/({SUPPLY}·{EFFICIENCY}) = **{_current(n):.1f} A**. R = {n.drop:g}/"
        f"{_current(n):.1f} = **{1e3 * n.drop / _current(n):.1f} mΩ**. Area = "
        f"{1e9 * COPPER * 2 * n.length:.1f}/{1e3 * n.drop / _current(n):.1f} = "
        f"**{1e6 * COPPER / _per_metre(n):.1f} mm²**. That is for the drop, and asks for "
        f"{_by_drop(n).label}; {least_fuse(_current(n)):g} A of fuse ask for {_by_heat(n).label}. "
        f"The thicker of the two holds: **{_mm2(_thicker(n))} mm²**, {_thicker(n).label}."
    ),
)


def _draw_fuse(rng):
    power = 50 * int(rng.integers(5, 19))
    current = supply_current(power, SUPPLY, EFFICIENCY)
    size = next(size for size in FUSES if size >= current)
    held = [cable for cable in SIZES if ampacity(cable) >= size]
    cable = held[int(rng.integers(0, 2))]
    return SimpleNamespace(power=power, cable=cable.label, rating=int(ampacity(cable)))


def _fuse(n):
    return choose_fuse(supply_current(n.power, SUPPLY, EFFICIENCY), n.rating, FUSES)


fuse = Exercise(
    "power-and-wiring/fuse",
    title="Which fuse goes next to the battery?",
    draw=_draw_fuse,
    prompt=lambda n: (
        f"An amplifier of {n.power} W, {100 * EFFICIENCY:.0f} % efficient, on {SUPPLY} V. The "
        f"cable is {n.cable}, which may carry {n.rating} A ({WHERE}). On the shelf (an "
        f"invented one) are {', '.join(str(size) for size in FUSES)} A. Which is the "
        "smallest that does not open in use and still protects the cable?"
    ),
    answer=_fuse,
    unit="A",
    formula="I = P/(V·η), then the next size up that the cable may carry",
    letters=lambda n: {"P": n.power, "V": SUPPLY, "η": EFFICIENCY, "sizes": FUSES},
    tolerance=0.005,
    slips={
        "That is the current itself. Take the next fuse up, and check it against the cable.": (
            lambda n: supply_current(n.power, SUPPLY, EFFICIENCY)
        ),
        "That is what the cable may carry: the most a fuse may have, not the size to take.": (
            lambda n: n.rating
        ),
    },
    hints=lambda n: (
        "A fuse stands between two numbers: what flows in use, and what the cable stands.",
        "Current = P/(V·η). Then the next size up, if the cable may carry that.",
        f"{n.power}/({SUPPLY}·{EFFICIENCY}) = {supply_current(n.power, SUPPLY, EFFICIENCY):.1f} A.",
    ),
    solution=lambda n: (
        f"The current is {supply_current(n.power, SUPPLY, EFFICIENCY):.1f} A, the cable may carry "
        f"{n.rating} A, and the smallest size between them is **{_fuse(n):g} A**. If the "
        "amplifier's maker names a fuse, that goes first; if the cable may not carry that much, "
        "change the cable."
    ),
)
