"""Two exercises of the lesson "power and wiring": the supply cable and its fuse."""

from __future__ import annotations

from types import SimpleNamespace

from boxlab.cable import COPPER, choose_fuse, supply_current
from boxlab.exercise import Exercise, Step

FUSES = (20, 25, 30, 40, 50, 60, 80, 100, 125, 150)  # A, an invented shelf
EFFICIENCY, SUPPLY = 0.75, 13.8


def _draw_cable(rng):
    return SimpleNamespace(
        power=50 * int(rng.integers(6, 21)),
        length=int(rng.integers(8, 13)) / 2,
        drop=int(rng.integers(6, 13)) / 20,
    )


def _current(n):
    return supply_current(n.power, SUPPLY, EFFICIENCY)


def _per_metre(n):
    return n.drop / _current(n) / (2 * n.length)


cable = Exercise(
    "power-and-wiring/cable",
    title="How thick a cable, by drop?",
    draw=_draw_cable,
    prompt=lambda n: (
        f"An amplifier gives {n.power} W at most, and gives {100 * EFFICIENCY:.0f} % of what it "
        f"takes from {SUPPLY} V. The cable is {n.length:g} m ({n.length / 0.3048:.1f} ft) one way, "
        f"the return is the same cable, and {n.drop:g} V may be lost. Copper has "
        f"{1e6 * COPPER:.5f} Ω·mm²/m."
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
        ),
        Step(
            "Resistance allowed, out and back",
            lambda n: 1e3 * n.drop / _current(n),
            "mΩ",
        ),
        Step(
            "Least cross-section",
            lambda n: 1e6 * COPPER / _per_metre(n),
            "mm²",
            tolerance=0.03,
            slips={
                "You counted the cable one way. The current has to come back.": lambda n: (
                    5e5 * COPPER / _per_metre(n)
                ),
            },
        ),
    ),
    hints=lambda n: (
        "Watts into amperes first; then Ohm's law for the loss; then copper.",
        "I = P/(V·η). R = drop/I. Area = ρ·(2·length)/R.",
        f"There are {2 * n.length:g} m of copper, and ρ times that is "
        f"{1e6 * COPPER * 2 * n.length:.4f} Ω·mm².",
    ),
    solution=lambda n: (
        f"I = {n.power}/({SUPPLY}·{EFFICIENCY}) = **{_current(n):.1f} A**. R = {n.drop:g}/"
        f"{_current(n):.1f} = **{1e3 * n.drop / _current(n):.1f} mΩ**. Area = "
        f"{1e9 * COPPER * 2 * n.length:.1f}/{1e3 * n.drop / _current(n):.1f} = "
        f"**{1e6 * COPPER / _per_metre(n):.1f} mm²**. That is for the drop. The heat behind the "
        "fuse may ask for more, most of all on a short run."
    ),
)


def _draw_fuse(rng):
    power = 50 * int(rng.integers(5, 19))
    current = supply_current(power, SUPPLY, EFFICIENCY)
    size = next(size for size in FUSES if size >= current)
    return SimpleNamespace(power=power, rating=size + 5 * int(rng.integers(1, 9)))


def _fuse(n):
    return choose_fuse(supply_current(n.power, SUPPLY, EFFICIENCY), n.rating, FUSES)


fuse = Exercise(
    "power-and-wiring/fuse",
    title="Which fuse goes next to the battery?",
    draw=_draw_fuse,
    prompt=lambda n: (
        f"An amplifier of {n.power} W, {100 * EFFICIENCY:.0f} % efficient, on {SUPPLY} V. The "
        f"maker of the cable allows {n.rating} A where it lies. On the shelf (an invented one) are "
        f"{', '.join(str(size) for size in FUSES)} A. Which is the smallest that does not open in "
        "use and still protects the cable?"
    ),
    answer=_fuse,
    unit="A",
    tolerance=0.005,
    slips={
        "That is the current itself. Take the next fuse up, and check it against the cable.": (
            lambda n: supply_current(n.power, SUPPLY, EFFICIENCY)
        ),
        "That is the cable's rating. It is the most a fuse may have, not the size to take.": (
            lambda n: n.rating
        ),
    },
    hints=lambda n: (
        "A fuse stands between two numbers: what flows in use, and what the cable stands.",
        "Current = P/(V·η). Then the next size up, if it is not above the cable's rating.",
        f"{n.power}/({SUPPLY}·{EFFICIENCY}) = {supply_current(n.power, SUPPLY, EFFICIENCY):.1f} A.",
    ),
    solution=lambda n: (
        f"The current is {supply_current(n.power, SUPPLY, EFFICIENCY):.1f} A, the cable stands "
        f"{n.rating} A, and the smallest size between them is **{_fuse(n):g} A**. If the "
        "amplifier's maker names a fuse, that goes first; if the cable's rating does not reach it, "
        "change the cable."
    ),
)
