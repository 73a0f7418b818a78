"""Invented "measured" sweeps of the evening class: the model with a meter's usual troubles.

No product was measured for these: each is `solve()` of invented gear, with scatter, a coil that
warms while the sweep runs, mains hum, and a core that loses energy. The same name and seed give the
same table, so that a lesson, its figures and its tests agree.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from types import MappingProxyType

import numpy as np

from boxlab.base.checks import positive
from boxlab.base.units import cm2, grams, litres
from boxlab.gear.scenario import CLASS, CLASS_VOLUMES, TEN_INCH_DRIVER, TEN_INCH_RADIATOR, USUAL_QL
from boxlab.measure.read.value import Sweep
from boxlab.model.driver import Driver
from boxlab.model.enclosure import PortedBox, RadiatorBox, SealedBox
from boxlab.model.response import solve

# The class's driver as it is: lossy core, so semi-inductance in place of most of the inductance.
DRIVER = replace(TEN_INCH_DRIVER, le=0.3e-3, semi_k=0.016, semi_n=0.72)
ADDED_MASS = grams(60)  # modelling clay round the dust cap
TEST_VOLUME = litres(20)  # the class's sealed test box
VOLUME = CLASS_VOLUMES["ten-inch"]
RADIATOR_BOX = RadiatorBox.tuned(VOLUME, 34.0, TEN_INCH_RADIATOR, ql=USUAL_QL)
PORTED_BOX = PortedBox.tuned(litres(30), 32.0, cm2(60), ql=USUAL_QL, max_length=3)
WEIGHTS = grams(100)  # put on the radiator for the second tuning


@dataclass(frozen=True)
class Case:
    """What a demo sweep was made of; `box` is None in free air."""

    words: str
    driver: Driver
    box: SealedBox | PortedBox | RadiatorBox | None
    rattle: float = 0.0  # Hz where something buzzes, 0 for nowhere
    shake: float = 1.0  # how hard it buzzes


def _heavier(driver, mass):
    return replace(driver, mms=driver.mms + mass)


def _lossier(box, more):
    return replace(box, ql=box.ql / (1 + more))


def _larger(box, more):
    return replace(box, volume=box.volume * (1 + more))


def _weighted(box, mass):
    radiator = box.radiator
    return replace(box, radiator=radiator.with_mass(radiator.added_mass + mass))


CASES = MappingProxyType(
    {
        "free air": Case("driver held in free air", DRIVER, None),
        "added mass": Case(
            "driver in free air with 60 g on the cone", _heavier(DRIVER, ADDED_MASS), None
        ),
        "test box": Case("driver on the sealed 20 L test box", DRIVER, SealedBox(TEST_VOLUME)),
        "sealed": Case("radiator box, radiator held still", DRIVER, SealedBox(VOLUME)),
        "ported": Case("ported box of 30 L", DRIVER, PORTED_BOX),
        "radiator": Case("radiator box of 14 L", DRIVER, RADIATOR_BOX),
        "radiator with weights": Case(
            "the same with 100 g more on the radiator", DRIVER, _weighted(RADIATOR_BOX, WEIGHTS)
        ),
    }
)

# What is wrong, what it does to the circuit, and what to look for.
FAULTS = MappingProxyType(
    {
        "leak": "Both peaks are lower and rounder and the valley is shallower: the loss is high "
        "(low QL), while tuning and volume are as they should be.",
        "loose radiator": "Jagged points just above the tuning, and more loss: the frame lifts and "
        "buzzes there.",
        "stuffing": "The upper peak has moved down and the peaks are rounder: the box acts larger "
        "and lossier.",
        "rattle": "Jagged points in one narrow band far from the tuning; the rest fits well.",
        "small volume": "The upper peak has moved up and the tuning with it: the box is smaller "
        "than drawn.",
        "heavy radiator": "The tuning and the lower peak have moved down; the sealed resonance has "
        "not.",
        "rubbing coil": "Both peaks are low though the box's loss is as usual: the driver's own "
        "Qms has fallen.",
    }
)


def with_fault(case, fault, size=1.0):
    """A radiator-box Case with one of `FAULTS` built in; `size` scales the fault, 1 as in a riddle.

    Raises
    ------
    ValueError
        For a fault that is not in the table, or a case without a radiator.
    """
    if fault not in FAULTS:
        raise ValueError(f"fault = {fault!r}: choose one of {', '.join(FAULTS)}.")
    box, driver = case.box, case.driver
    if not isinstance(box, RadiatorBox):
        raise ValueError("faults are built into radiator boxes: use CASES['radiator'].")
    positive("size", size, "It scales the fault: 1 for the usual one, 0.5 for half of it.")
    tuning = float(box.tuning())
    words = f"{case.words}, with a fault"
    if fault == "leak":
        return Case(words, driver, _lossier(box, 2.5 * size))
    if fault == "loose radiator":
        return Case(words, driver, _lossier(box, size), rattle=1.25 * tuning, shake=size)
    if fault == "stuffing":
        return Case(words, driver, _lossier(_larger(box, 0.18 * size), 0.8 * size))
    if fault == "rattle":
        return Case(words, driver, box, rattle=3.6 * tuning, shake=size)
    if fault == "small volume":
        return Case(words, driver, _larger(box, 1 / (1 + 0.22 * size) - 1))
    if fault == "heavy radiator":
        return Case(words, driver, _weighted(box, grams(80) * size))
    return Case(words, replace(driver, rms=driver.rms * (1 + 2 * size)), box)


def measure(
    case,
    frequency=None,
    *,
    noise=0.005,
    warming=0.01,
    hum=50.0,
    seed=1,
    phase=True,
    source_resistance=0.0,
):
    """A Sweep of a Case as an inexpensive meter would give it (invented).

    Parameters
    ----------
    case : Case, or the name of one in `CASES`
    frequency : Hz, shape (n,); the default is 160 points from 10 Hz to 1 kHz
    noise : relative scatter of each reading, and of its phase in radians
    warming : share by which the coil resistance rises from the first reading to the last
    hum : mains frequency, Hz: readings within 1.5 % of it and of its odd multiples are off by some
        per cent; 0 for none
    seed : of the scatter; the same seed gives the same sweep
    phase : False for a meter that reads magnitude only
    source_resistance : resistance of leads that the meter reads as well, Ω
    """
    case = CASES[case] if isinstance(case, str) else case
    rng = np.random.default_rng(seed)
    f = np.geomspace(10, 1000, 160) if frequency is None else np.asarray(frequency, dtype=float)
    z = solve(case.driver, case.box, f).impedance + source_resistance
    z = z + case.driver.re * warming * np.linspace(0, 1, len(f))
    wobble = rng.standard_normal(len(f)) + 1j * rng.standard_normal(len(f))
    z = z * np.exp(noise * wobble)
    jolts = rng.uniform(0.02, 0.08, len(f)) * np.exp(2j * np.pi * rng.uniform(size=len(f)))
    if hum:
        near = np.min([np.abs(f / (hum * k) - 1) for k in (1, 3, 5)], axis=0) < 0.015
        z = np.where(near, z * np.exp(jolts), z)
    if case.rattle:
        buzz = np.abs(jolts) * np.where(np.arange(len(f)) % 2, 1, -1)  # to and fro
        z = np.where(
            np.abs(np.log2(f / case.rattle)) < 0.12, z * np.exp(1.5 * case.shake * buzz), z
        )
    sweep = Sweep.from_impedance(f, z, f"{case.words} (invented)")
    return sweep if phase else Sweep(f, sweep.magnitude, None, sweep.name)


def table(sweep, *, separator=",", decimal=".", kilohertz=False):
    """The sweep as the text of a table, marked as invented, in one of the ways meters write it."""
    unit, scale = ("kHz", 1e-3) if kilohertz else ("Hz", 1.0)
    head = [f"Frequency ({unit})", "Impedance (ohm)"]
    columns = [sweep.frequency * scale, sweep.magnitude]
    if sweep.phase is not None:
        head.append("Phase (deg)")
        columns.append(sweep.phase)
    lines = [f"# {sweep.name}", f"# data of {CLASS}: computed, not measured", separator.join(head)]
    for row in zip(*columns, strict=True):
        cells = [f"{row[0]:.{6 if kilohertz else 3}f}", *(f"{value:.3f}" for value in row[1:])]
        lines.append(separator.join(cells).replace(".", decimal))
    return "\n".join(lines) + "\n"


def demo_table(name, seed=1, **layout):
    """The text of a demo sweep by its name in `CASES`, as a file would hold it.

    >>> print(demo_table("free air").splitlines()[2])
    Frequency (Hz),Impedance (ohm),Phase (deg)

    Raises
    ------
    ValueError
        For a name that is not in `CASES`.
    """
    if name not in CASES:
        raise ValueError(f"name = {name!r}: choose one of {', '.join(CASES)}.")
    return table(measure(name, seed=seed), **layout)


@dataclass(frozen=True)
class Riddle:
    """A sweep of a faulty box, the sweep of the same box when it was sound, and the answer."""

    sound: Sweep
    faulty: Sweep
    fault: str
    reason: str


def riddle(seed):
    """A spot-the-fault case for one learner; the seed picks the fault and the scatter."""
    rng = np.random.default_rng(seed)
    fault = str(rng.choice(list(FAULTS)))
    case = CASES["radiator"]
    scatter = int(rng.integers(1, 2**31))
    return Riddle(
        measure(case, seed=scatter),
        measure(with_fault(case, fault), seed=scatter + 1),
        fault,
        FAULTS[fault],
    )
