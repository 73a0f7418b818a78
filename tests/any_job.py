"""Job files of invented boxes, each quite different from the others, as text."""

from __future__ import annotations

import numpy as np

from boxlab.gear.job import read_job

SIZES = {6.5: 0.0135, 8: 0.0215, 10: 0.0335, 12: 0.0507, 15: 0.0830}  # inches: m²


def job_of(folder, text):
    """The job of a file with this text, written into `folder`."""
    path = folder / "it.job.toml"
    path.write_text(text, encoding="utf-8")
    return read_job(path)


def any_job(seed: int) -> str:
    """A job file: 6.5 to 15 inch, one to four drivers, three kinds of box, from 5 to 150 L.

    What is given differs: a full datasheet, what a forum post has, or a nominal size.
    """
    rng = np.random.default_rng(seed)
    size = list(SIZES)[seed % 5]
    kind = ("sealed", "ported", "radiator")[(seed // 5) % 3]
    sd = SIZES[size] * rng.uniform(0.95, 1.05)
    count = int(rng.choice([1, 1, 2, 4] if size < 12 else [1, 2]))
    fs = rng.uniform(20, 50) * (10 / size) ** 0.4
    qes, qms = rng.uniform(0.3, 0.8), rng.uniform(3, 8)
    mms = sd * rng.uniform(2.2, 5.0)
    cms = 1 / ((2 * np.pi * fs) ** 2 * mms)
    vas = 1.2041 * 343.2**2 * sd**2 * cms
    re = rng.choice([0.9, 1.7, 3.4, 6.5])
    xmax = rng.uniform(4, 20)
    volume = float(np.clip(count * vas * rng.uniform(0.3, 1.2), 0.005, 0.150))
    rows = [
        "[job]", f'name = "job {seed}"', "", "[driver]", f"count = {count}", f'fs = "{fs:.1f} Hz"',
        f're = "{re:.2f} ohm"', f'xmax = "{xmax:.1f} mm"', f'pe = "{rng.integers(5, 150) * 10} W"',
    ]  # fmt: skip
    given = seed % 3
    if given == 0:
        rows += [f'qes = "{qes:.3f}"', f'qms = "{qms:.2f}"', f'mms = "{1e3 * mms:.0f} g"']
        rows += [f'sd = "{1e4 * sd:.0f} cm2"', 'le = "1.1 mH"']
    else:
        rows += [f'qts = "{qes * qms / (qes + qms):.3f}"', f'vas = "{vas / 0.0283168:.2f} ft3"']
        rows += [f'sd = "{sd / 0.0254**2:.0f} in2"' if given == 1 else f'size = "{size:g} in"']
    if kind == "radiator":
        number = int(rng.choice([1, 2, 4]))
        mass = sd * rng.uniform(4, 8)
        rows += ["", "[radiator]", f"count = {number}", f'sd = "{1e4 * sd:.0f} cm2"']
        rows += [f'mms = "{1e3 * mass:.0f} g"', f'xmax = "{1.3 * xmax:.1f} mm"']
        rows += [f'added_mass = "{rng.integers(0, 40) * 10} g"']
        rows += [f'fp = "{rng.uniform(10, 18):.1f} Hz"'] if given else []
    rows += ["", "[box]", f'kind = "{kind}"', f'volume = "{1e3 * volume:.1f} L"']
    if kind == "ported":
        fb, length = rng.uniform(28, 45), rng.uniform(0.2, 0.6)  # Hz, m
        area = length * volume * (2 * np.pi * fb / 343.2) ** 2
        rows += [f'port_diameter = "{2e3 * np.sqrt(area / np.pi):.0f} mm"', f'fb = "{fb:.1f} Hz"']
    if seed % 4:
        low = rng.choice([1, 2, 4])
        watts = rng.integers(10, 200) * 10
        rows += ["", "[amplifier]", f'"{low} ohm" = "{watts} W"']
        rows += [f'"{2 * low} ohm" = "{0.6 * watts:.0f} W"'] if seed % 8 == 1 else []
    if seed % 3 == 1:
        rows += ["", "[gap]", f'width = "{rng.integers(25, 45)} in"', 'height = "15 in"']
        rows += ['depth_bottom = "9 in"', 'depth_top = "6 in"']
    return "\n".join(_with_more(rows, seed, count, kind)) + "\n"


def _with_more(rows, seed, count, kind):
    """The same job with what some jobs have besides: coils, filters, supply, cable, air, tape."""
    place = rows.index(f"count = {count}") + 1
    if seed % 5 in (1, 3):
        rows.insert(place, "coils = 2")
        if seed % 2:
            rows.insert(place, f'coil_wiring = "{"series" if seed % 3 else "parallel"}"')
    if seed % 4 == 2:
        rows += ["", "[filters]", f'high_pass = "{22 + seed % 9} Hz"']
        rows += ['boost = "4 dB"', 'boost_at = "38 Hz"', 'boost_q = "1"'] if seed % 8 == 2 else []
    if seed % 4:
        rows += ["", "[cable]", f'length = "{9 + seed % 10} ft"']
    if seed % 6 == 4:
        rows += ["", "[supply]", 'voltage = "12.9 V"', 'resistance = "22 mΩ"']
    if seed % 7 == 3:
        rows += ["", "[air]", 'temperature = "-8 °C"', 'altitude = "1600 m"']
    two = next((n for n, row in enumerate(rows) if row == "[radiator]"), None)
    if kind == "radiator" and two is not None and rows[two + 1] == "count = 2" and seed % 4 == 2:
        added = next(n for n, row in enumerate(rows) if row.startswith("added_mass"))
        rows[added] = 'added_mass = ["110 g", "60 g"]'
    return rows
