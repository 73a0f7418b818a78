"""How long one box takes to solve: alone, in an array, in ngspice and in a plain Python loop.

Run it by hand: python tests/bench/solve_throughput.py
It prints times per box on this machine and their ratios; nothing here is a pass or a fail but the
answers, which must agree, and the memory, which must stay under 1.5 GB.
"""

import cmath
import math
import resource
import statistics
import sys
import time
from dataclasses import replace
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1] / "physics"))

from independent import NGSPICE, circuit, ngspice_solution

from boxlab import Air, Driver, Radiator, RadiatorBox, solve

AIR = Air()
DRIVER = Driver(
    re=3.4, le=1.1e-3, bl=11.5, mms=0.125, cms=2.1e-4, rms=2.4, sd=0.0335, xmax=0.012, pe=400.0
)
RADIATOR = Radiator(sd=0.0335, mms=0.21, cms=3.1e-4, rms=1.3, xmax=0.02, added_mass=0.08)
DRIVER_FIELDS = ("re", "le", "bl", "mms", "cms", "rms", "sd")
RADIATOR_FIELDS = ("sd", "mms", "cms", "rms", "added_mass")
LIMIT = 1.5e9  # bytes


def used(driver, box, frequency):
    """What a page asks of one solution."""
    r = solve(driver, box, frequency, air=AIR)
    return r.impedance, r.spl, r.cone_excursion, r.vent_excursion


def plain_loop(c, frequency):
    """Far-field level, one frequency after the other, in plain Python numbers."""
    levels = []
    leak = 0.0 if math.isinf(c.leak_resistance) else 1 / c.leak_resistance
    square = c.vent_area**2 * c.count
    for f in frequency:
        s = 2j * math.pi * f
        vent = (s * c.vent_mass + c.vent_rms + 1 / (s * c.vent_cms)) / square
        box = 1 / (s * c.box_compliance + leak + 1 / vent)
        cone = s * c.mms + c.rms + 1 / (s * c.cms) + c.sd**2 * box
        coil = c.source_resistance + c.re + s * c.le
        velocity = c.voltage * c.bl / (coil * cone + c.bl**2)
        # U0 = jwC times minus the box pressure
        flow = c.sd * velocity * box * s * c.box_compliance
        pressure = s * c.density * flow * cmath.exp(-s / c.speed) / (2 * math.pi)
        levels.append(20 * math.log10(abs(pressure) / 20e-6))
    return np.array(levels)


def timed(action, repeats):
    """Seconds of the first run, the median of the runs after it, and the last answer.

    The first call on large arrays also waits for fresh memory; later ones find it mapped.
    """
    times = []
    for _ in range(repeats + 1):
        start = time.perf_counter()
        answer = action()
        times.append(time.perf_counter() - start)
    return times[0], statistics.median(times[1:]), answer


def decade_grid(points, per_decade, start=10.0):
    """Frequencies ngspice can sweep in one analysis, and the words that ask it to."""
    f = start * 10 ** (np.arange(points) / per_decade)
    return f, f"dec {per_decade} {start!r} {float(f[-1] * (1 + 1e-12))!r}"


def many_designs(count, rng):
    """Boxes that share no number, so that nothing is worked out once for all of them."""

    def around(value):
        return value * rng.uniform(0.7, 1.4, count)

    driver = replace(DRIVER, **{n: around(getattr(DRIVER, n)) for n in DRIVER_FIELDS})
    radiator = replace(RADIATOR, **{n: around(getattr(RADIATOR, n)) for n in RADIATOR_FIELDS})
    return driver, RadiatorBox(around(0.02), radiator, ql=around(7.0))


def design(record, fields, index):
    """One design out of many."""
    return replace(record, **{name: float(getattr(record, name)[index]) for name in fields})


def row(label, seconds, unit):
    print(f"{label:<52}{seconds * 1e6:>12.1f} us{seconds / unit:>10.2f}")


def head(label):
    print(f"\n{label:<52}{'time':>15}{'ratio':>10}")


def spice_rows(c, frequency, sweep, unit, impedance):
    """ngspice as run, and what is left without starting the program and reading files."""
    if not NGSPICE:
        print("ngspice: not installed, left out (Debian: apt install ngspice)")
        return
    _, whole, want = timed(lambda: ngspice_solution(c, frequency, sweep), 7)
    _, start, _ = timed(lambda: ngspice_solution(c, frequency[:1]), 7)
    np.testing.assert_allclose(impedance, want["impedance"], rtol=1e-6)
    row("ngspice, one run with one sweep", whole, unit)
    row("ngspice, less a run of a single frequency", max(whole - start, 0.0), unit)


def main():
    frequency, sweep = decade_grid(400, 300)
    box = RadiatorBox(0.0142, RADIATOR, ql=7.0)
    _, one, answer = timed(lambda: used(DRIVER, box, frequency), 50)
    head("one radiator box, 400 frequencies")
    row("boxlab.solve", one, one)
    c = circuit(DRIVER, box, AIR)
    _, loop, levels = timed(lambda: plain_loop(c, frequency.tolist()), 10)
    np.testing.assert_allclose(levels, answer[1], atol=1e-9)
    row("plain Python loop", loop, one)
    spice_rows(c, frequency, sweep, one, answer[0])

    count = 10_000
    frequency, sweep = decade_grid(200, 150)
    driver, boxes = many_designs(count, np.random.default_rng(1))
    first, many, answer = timed(lambda: used(driver, boxes, frequency), 5)
    assert answer[1].shape == (count, frequency.size)
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * 1024
    each = many / count
    index = 7
    cone = design(driver, DRIVER_FIELDS, index)
    radiator = design(boxes.radiator, RADIATOR_FIELDS, index)
    alone = RadiatorBox(float(boxes.volume[index]), radiator, ql=float(boxes.ql[index]))
    _, single, check = timed(lambda: used(cone, alone, frequency), 50)
    for all_of_them, lone in zip(answer, check, strict=True):
        np.testing.assert_allclose(all_of_them[index], lone, rtol=1e-10)
    head(f"{count} different boxes, 200 frequencies, per box")
    row("boxlab.solve, all in one call", each, each)
    row("boxlab.solve, the same, first call of the program", first / count, each)
    row("boxlab.solve, one box in a call", single, each)
    c = circuit(cone, alone, AIR)
    _, loop, levels = timed(lambda: plain_loop(c, frequency.tolist()), 10)
    np.testing.assert_allclose(levels, check[1], atol=1e-9)
    row("plain Python loop", loop, each)
    spice_rows(c, frequency, sweep, each, check[0])
    print(
        f"\n{count} boxes in {many:.2f} s ({first:.2f} s the first time); "
        f"peak memory of this process {peak / 1e9:.2f} GB.\n"
        "Medians; on a busy machine starting ngspice varies several times over.\n"
        "boxlab works out impedance, level and both excursions; the loop only the level."
    )
    if peak > LIMIT:
        raise SystemExit(f"over the limit of {LIMIT / 1e9:.1f} GB")


if __name__ == "__main__":
    main()
