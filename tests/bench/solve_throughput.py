"""How fast boxes are solved, beside ngspice, a plain Python loop and the least arithmetic.

Run it by hand: python tests/bench/solve_throughput.py
It prints CPU times (of this program and those it waits for, so that other work on the machine
counts little) and their ratios. All rows of a table are run in turn, round after round. Nothing
here passes or fails but the answers, which must agree.

The least arithmetic is what numpy cannot avoid, on arrays that stay in the cache, its answers
written to new arrays as anybody's are. Only products and quotients of complex arrays count; sums,
products with real numbers, magnitudes and logarithms are free.

The four phasors (impedance, cone velocity, vent flow, far-field pressure) take 6 products and 2
quotients:
    den = 1 + num·Y,  load = motion·den + num,  total = coil·load + den      3 products
    drive = E/total,  impedance = coil + den/load                            2 quotients
    velocity = drive·den,  flow = drive·num,  pressure = flow·exp(−jkr)      3 products
What a page shows (impedance, level, two excursions) takes 2 products and 1 quotient, since a
magnitude needs no phase:
    m = den/load,  Z = coil + m,  |v| = |E·m/(Z + Rs)|,  |U| = |v/den|,  |p| ~ |U·num|
"""

import cmath
import math
import os
import resource
import statistics
import subprocess
import sys
import time
import tracemalloc
from dataclasses import replace
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1] / "physics"))

from independent import NGSPICE, circuit, ngspice_solution

from boxlab import Air, Chain, Driver, HighPass, Peak, Radiator, RadiatorBox, solve
from boxlab.model.blocks import BLOCK

AIR = Air()
DRIVER = Driver(
    re=3.4, le=1.1e-3, bl=11.5, mms=0.125, cms=2.1e-4, rms=2.4, sd=0.0335, xmax=0.012, pe=400.0
)
RADIATOR = Radiator(sd=0.0335, mms=0.21, cms=3.1e-4, rms=1.3, xmax=0.02, added_mass=0.08)
CHAIN = Chain((HighPass(28, order=4), Peak(40, 6, 1)))
DRIVER_FIELDS = ("re", "le", "bl", "mms", "cms", "rms", "sd")
RADIATOR_FIELDS = ("sd", "mms", "cms", "rms", "added_mass")
PHASORS = ("impedance", "cone_velocity", "vent_volume_velocity", "pressure")
SHOWN = ("impedance", "spl", "cone_excursion", "vent_excursion")
COUNT, POINTS = 10_000, 200


def cpu():
    """CPU seconds of this process and of the children it has waited for."""
    children = resource.getrusage(resource.RUSAGE_CHILDREN)
    return time.process_time() + children.ru_utime + children.ru_stime


def plain_loop(c, frequency):
    """The four phasors, one frequency after the other, in plain Python numbers."""
    found = []
    leak = 0.0 if math.isinf(c.leak_resistance) else 1 / c.leak_resistance
    square = c.vent_area**2 * c.count
    for f in frequency:
        s = 2j * math.pi * f
        vent = (s * c.vent_mass + c.vent_rms + 1 / (s * c.vent_cms)) / square
        box = 1 / (s * c.box_compliance + leak + 1 / vent)
        cone = s * c.mms + c.rms + 1 / (s * c.cms) + c.sd**2 * box
        coil = c.re + s * c.le
        velocity = c.voltage * c.bl / ((coil + c.source_resistance) * cone + c.bl**2)
        inside = -c.sd * velocity * box
        wave = s * c.density * cmath.exp(-s / c.speed) / (2 * math.pi)
        pressure = -wave * inside * s * c.box_compliance
        found.append((coil + c.bl**2 / cone, velocity, inside / vent, pressure))
    return np.array(found).T


def least_arithmetic(points, phasors):
    """The products and quotients of the module's docstring on `points`, a block at a time."""
    block = min(points, BLOCK)
    num, y, coil, wave, den, load, total, drive, flow = (
        np.full(block, 1 + k * 1j) for k in range(9)
    )
    multiply, divide = np.multiply, np.divide

    def run():
        answers = [np.empty(points, complex) for _ in range(4 if phasors else 1)]
        for start in range(0, points, block):
            if start + block > points:
                start = points - block
            out = [answer[start : start + block] for answer in answers]
            multiply(num, y, out=den)
            multiply(num, den, out=load)
            divide(den, load, out=out[0])
            if phasors:
                multiply(coil, load, out=total)
                divide(num, total, out=drive)
                multiply(drive, den, out=out[1])
                multiply(drive, num, out=flow)
                multiply(flow, wave, out=out[3])
                out[2][...] = drive
        return answers

    return run


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


def design(driver, boxes, index):
    """One design out of many."""

    def one(record, fields):
        return replace(record, **{name: float(getattr(record, name)[index]) for name in fields})

    radiator = one(boxes.radiator, RADIATOR_FIELDS)
    box = RadiatorBox(float(boxes.volume[index]), radiator, ql=float(boxes.ql[index]))
    return one(driver, DRIVER_FIELDS), box


def contest(title, rows, boxes=1):
    """Run all rows in turn and print them; a row is (name, action, runs a round, per how many)."""
    spent = {name: [] for name, *_ in rows}
    for _ in range(ROUNDS):
        for name, action, runs, _ in rows:
            start = cpu()
            for _ in range(runs):
                action()
            spent[name].append((cpu() - start) / runs)
    print(f"\n{title:<58}{'median':>12}{'least':>12}{'ratio':>8}")
    unit = None
    for name, _, _, per in rows:
        median, least = (f(spent[name]) * 1e6 / per for f in (statistics.median, min))
        unit = unit or median
        print(f"{name:<58}{median:>9.2f} us{least:>9.2f} us{median / unit:>8.2f}")


def agree(got, c, frequency, sweep):
    """The library's phasors against the loop's and ngspice's."""
    for mine, theirs in zip(got, plain_loop(c, frequency.tolist()), strict=True):
        np.testing.assert_allclose(mine, theirs, rtol=1e-9)
    if NGSPICE:
        want = ngspice_solution(c, frequency, sweep)
        for mine, name in zip(got, PHASORS, strict=True):
            np.testing.assert_allclose(mine, want[name], rtol=1e-6)


def rivals(c, frequency, sweep):
    """Rows for the loop and for ngspice: one box."""
    rows = [("plain Python loop, four phasors", lambda: plain_loop(c, frequency.tolist()), 3, 1)]
    if NGSPICE:
        rows.append(("ngspice, one run", lambda: ngspice_solution(c, frequency, sweep), 1, 1))
        start = ("ngspice, start alone", lambda: ngspice_solution(c, frequency[:1]), 1, 1)
        rows.append(start)
    else:
        print("ngspice: not installed, left out (Debian: apt install ngspice)")
    return rows


def one_box():
    frequency, sweep = decade_grid(400, 300)
    box = RadiatorBox(0.0142, RADIATOR, ql=7.0)
    c = circuit(DRIVER, box, AIR)
    agree(solve(DRIVER, box, frequency, air=AIR).together(*PHASORS), c, frequency, sweep)

    def asked(names, chain=None):
        return lambda: solve(DRIVER, box, frequency, air=AIR, chain=chain).together(*names)

    rows = [
        ("boxlab, four phasors", asked(PHASORS), 100, 1),
        ("boxlab, what a page shows", asked(SHOWN), 100, 1),
        ("   of that, checks and circuit values", asked(()), 100, 1),
        ("boxlab, what a page shows, behind a chain", asked(SHOWN, CHAIN), 100, 1),
        ("least arithmetic, four phasors", least_arithmetic(400, True), 300, 1),
        ("least arithmetic, what a page shows", least_arithmetic(400, False), 300, 1),
        *rivals(c, frequency, sweep),
    ]
    contest("one radiator box, 400 frequencies", rows)


def many_boxes():
    frequency, sweep = decade_grid(POINTS, 150)
    driver, boxes = many_designs(COUNT, np.random.default_rng(1))
    cone, alone = design(driver, boxes, 7)
    c = circuit(cone, alone, AIR)
    got = solve(driver, boxes, frequency, air=AIR).together(*PHASORS)
    agree([answer[7] for answer in got], c, frequency, sweep)
    del got

    def asked(names, chain=None):
        return lambda: solve(driver, boxes, frequency, air=AIR, chain=chain).together(*names)

    def one_by_one():
        r = solve(driver, boxes, frequency, air=AIR)
        return [getattr(r, name) for name in PHASORS]

    everything = COUNT * POINTS
    rows = [
        ("boxlab, four phasors together", asked(PHASORS), 1, COUNT),
        ("boxlab, four phasors, asked for one by one", one_by_one, 1, COUNT),
        ("boxlab, what a page shows, together", asked(SHOWN), 1, COUNT),
        ("boxlab, level alone", asked(("spl",)), 1, COUNT),
        ("boxlab, four phasors together, behind a chain", asked(PHASORS, CHAIN), 1, COUNT),
        ("boxlab, what a page shows, behind a chain", asked(SHOWN, CHAIN), 1, COUNT),
        ("boxlab, level alone, behind a chain", asked(("spl",), CHAIN), 1, COUNT),
        ("least arithmetic, four phasors", least_arithmetic(everything, True), 1, COUNT),
        ("least arithmetic, what a page shows", least_arithmetic(everything, False), 1, COUNT),
        *rivals(c, frequency, sweep),
    ]
    contest(f"{COUNT} different radiator boxes, {POINTS} frequencies, per box", rows)


def first_call(who):
    """CPU seconds of the first call in this process; memory has yet to be mapped."""
    frequency, _ = decade_grid(POINTS, 150)
    driver, boxes = many_designs(COUNT, np.random.default_rng(1))
    start = cpu()
    if who == "boxlab":
        solve(driver, boxes, frequency, air=AIR).together(*PHASORS)
    else:
        least_arithmetic(COUNT * POINTS, True)()
    return cpu() - start


def cold():
    print(f"\n{'the same, first call of a fresh program, four phasors':<58}"
          f"{'median':>12}{'least':>12}{'ratio':>8}")  # fmt: skip
    spent = {"boxlab": [], "least arithmetic": []}
    for _ in range(ROUNDS):
        for who, times in spent.items():
            done = subprocess.run(
                [sys.executable, __file__, "first", who], capture_output=True, text=True, check=True
            )
            times.append(float(done.stdout))
    unit = statistics.median(spent["boxlab"])
    for who, times in spent.items():
        median, least = statistics.median(times), min(times)
        print(
            f"{who:<58}{median * 1e6 / COUNT:>9.2f} us{least * 1e6 / COUNT:>9.2f} us"
            f"{median / unit:>8.2f}"
        )


def growth():
    """Time and memory with more boxes and with more frequencies."""
    print("\ngrowth, four phasors together: ns for a point, and MB at most beside the answers")
    print(f"{'boxes':>10}{'frequencies':>14}{'points':>14}{'ns a point':>14}{'MB':>8}")
    sizes = [(n, 200) for n in (1, 100, 1000, 10_000, 50_000)]
    sizes += [(1000, n) for n in (20, 2000, 10_000)] + [(1, 1_000_000)]
    for count, points in sizes:
        driver, boxes = many_designs(count, np.random.default_rng(1))
        frequency = np.geomspace(10, 200, points)
        times = []
        for _ in range(5):
            start = cpu()
            solve(driver, boxes, frequency, air=AIR).together(*PHASORS)
            times.append(cpu() - start)
        tracemalloc.start()
        answers = solve(driver, boxes, frequency, air=AIR).together(*PHASORS)
        peak = tracemalloc.get_traced_memory()[1] - sum(answer.nbytes for answer in answers)
        tracemalloc.stop()
        size = count * points
        each = min(times) * 1e9 / size
        print(f"{count:>10}{points:>14}{size:>14}{each:>14.1f}{peak / 1e6:>8.1f}")
        del answers


def main():
    print(f"Python {sys.version.split()[0]}, numpy {np.__version__}, "
          f"load {os.getloadavg()[0]:.1f} on {os.cpu_count()} processors")  # fmt: skip
    one_box()
    many_boxes()
    cold()
    growth()
    print(f"load at the end {os.getloadavg()[0]:.1f}")


ROUNDS = 9

if __name__ == "__main__":
    if sys.argv[1:2] == ["first"]:
        print(first_call(sys.argv[2]))
    else:
        main()
