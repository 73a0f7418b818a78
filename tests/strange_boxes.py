"""Sweeps of boxes that nobody here knows, by ngspice from a netlist written out in this file.

A twelve-inch with two coils and two equal radiators, drawn at random: coil, motor, suspension, air
and leak as a mobility-free impedance circuit (Beranek, Acoustics, 1954: force as voltage, velocity
as current), solved by somebody else's program. Nothing of boxlab's is used. The meter's scatter and
its dialect come on top. All of it is invented.
"""

from __future__ import annotations

import subprocess
from dataclasses import dataclass

import numpy as np

BULK = 1.2041 * 343.2**2  # ρc² of air at 20 °C, Pa
POINTS = 110


@dataclass(frozen=True)
class Strange:
    """One driver with two coils as they are wired now, two radiators, a box; SI."""

    re: float
    le: float
    eddy: tuple[tuple[float, float], ...]  # H with Ω across it, in series: eddy currents
    bl: float
    mms: float
    cms: float
    rms: float
    sd: float
    volume: float
    ql: float
    radiator_sd: float
    radiator_mms: float
    radiator_cms: float
    radiator_rms: float
    before: float  # kg on each radiator as found, and after
    after: float
    clay: float  # kg
    tub: float  # m³
    wiring: str
    coil: float  # ohms of one coil
    watts: float
    scatter: float  # of the meter, a ratio; as many radians

    def tuning(self, weights):
        """Hz: both radiators on their own springs and the air's."""
        air = 2 * self.radiator_sd**2 * BULK / self.volume
        mass = self.radiator_mms + weights
        return np.sqrt((air + 1 / self.radiator_cms) / mass) / (2 * np.pi)

    def truth(self):
        """What was put in, by section and symbol of the job file."""
        w = 1 / np.sqrt(self.mms * self.cms)
        qms, qes = w * self.mms / self.rms, w * self.mms * self.re / self.bl**2
        driver = {
            "re": self.re, "fs": w / 2 / np.pi, "qms": qms, "qes": qes,
            "qts": qms * qes / (qms + qes), "mms": self.mms, "cms": self.cms, "bl": self.bl,
            "vas": BULK * self.sd**2 * self.cms,
        }  # fmt: skip
        radiator = {"mms": self.radiator_mms, "cms": self.radiator_cms}
        box = {"volume": self.volume, "ql": self.ql}
        return {
            "driver": driver, "radiator": radiator, "box": box | {"fb": self.tuning(self.before)},
            "after": box | {"fb": self.tuning(self.after)},
        }  # fmt: skip


def strange(seed: int) -> Strange:
    """A box at random, each quite different from the next."""
    rng = np.random.default_rng([14, seed])
    sd = rng.uniform(0.047, 0.053)
    mms, fs, qms = rng.uniform(0.11, 0.21), rng.uniform(23, 36), rng.uniform(3.5, 8)
    w = 2 * np.pi * fs
    coil, wiring = rng.uniform(1.6, 3.9), str(rng.choice(["parallel", "series"]))
    re = coil * (2 if wiring == "series" else 0.5)
    cms = 1 / (mms * w**2)
    volume = rng.uniform(0.25, 0.6) * BULK * sd**2 * cms
    r_sd = sd * rng.uniform(0.95, 1.4)
    r_mms = rng.uniform(0.15, 0.28)
    null = rng.uniform(9, 14)  # of the bare radiator, Hz
    le = re * rng.uniform(0.05e-3, 0.25e-3)
    scatter = rng.choice([0.002, 0.005, 0.01])
    eddy = _ladder(re * rng.uniform(1e-3, 3e-3), rng.uniform(0.55, 0.8)) if seed % 3 else ()
    made = Strange(
        re, le, eddy,
        float(np.sqrt(w * mms * re / rng.uniform(0.33, 0.6))), mms, cms, w * mms / qms, sd,
        volume, rng.uniform(5, 20), r_sd, r_mms, 1 / (r_mms * (2 * np.pi * null) ** 2),
        rng.uniform(1.0, 3.0), 0.0, 0.0, 0.4 * mms, 0.7 * volume, wiring, coil,
        10 * int(rng.integers(15, 60)), float(scatter),
    )  # fmt: skip
    fb = rng.uniform(36, 46)
    stiff = 2 * r_sd**2 * BULK / volume + 1 / made.radiator_cms
    weigh = [round(max(0.0, stiff / (2 * np.pi * f) ** 2 - r_mms), 2) for f in (fb, 0.85 * fb)]
    clay = round(made.clay, 2)
    changed = {"before": weigh[0], "after": weigh[1], "clay": clay, "tub": round(made.tub, 3)}
    return Strange(**{**made.__dict__, **changed})


def _ladder(size, n):
    """Inductances with resistances across them that come to size·(jω)^n, less a little inductance.

    1/s^(1−n) is a sum of first-order lags, evenly spaced on a log axis (a known integral); times s
    each is a resistance with an inductance across it.
    """
    step = 0.5  # of ln ω
    rates = np.exp(np.arange(np.log(0.01), np.log(1e12), step))
    weight = np.sin(np.pi * (1 - n)) / np.pi * step * rates**n * size
    return tuple((float(w / rate), float(w)) for w, rate in zip(weight, rates, strict=True))


def netlist(it: Strange, added=0.0, closed=None, weights=None):
    """The circuit: force as voltage and the cone's velocity as current; then pressure and flow."""
    parts = [
        ("V1 1 0 AC", 1), ("R1 1 2", it.re), ("L1 2 3", it.le),
        (f"H1 {100 + len(it.eddy) if it.eddy else 3} 0 VU", it.bl),  # Bl·u against the voltage
        ("H2 10 0 V1", -it.bl),  # Bl·i drives the cone
        ("VU 10 11", 0), ("L3 11 12", it.mms + added), ("R3 12 13", it.rms), ("C3 13 14", it.cms),
    ]  # fmt: skip
    for k, (henry, ohms) in enumerate(it.eddy):
        ends = f"{100 + k if k else 3} {101 + k}"
        parts += [(f"L{100 + k} {ends}", henry), (f"R{100 + k} {ends}", ohms)]
    if weights is not None:
        air = it.volume / BULK  # m³/Pa
        leak = it.ql / (2 * np.pi * it.tuning(weights) * air)
        two = 2 * it.radiator_sd**2  # both radiators as one branch, alike
        parts += [
            ("E4 14 0 20 0", it.sd), ("F4 0 20 VU", it.sd),  # Sd·p on the cone, flow Sd·u
            ("C5 20 0", air), ("R5 20 0", leak), ("L6 20 21", (it.radiator_mms + weights) / two),
            ("R6 21 22", it.radiator_rms / two), ("C6 22 0", two * it.radiator_cms),
        ]  # fmt: skip
    elif closed is not None:
        parts.append(("C4 14 0", closed / (BULK * it.sd**2)))
    else:
        parts.append(("V4 14 0", 0))
    return ["* a stranger's box", *(f"{name} {float(value):.12g}" for name, value in parts)]


def impedance(it: Strange, folder, **how):
    """(Hz, Ω) by ngspice, at frequencies even on a log axis."""
    deck, out = folder / "deck.cir", folder / "out.txt"
    low, high = 8.0, 900.0
    per_decade = (POINTS - 1) / np.log10(high / low)
    rows = netlist(it, **how)
    control = [
        ".options reltol=1e-9", ".control", "set wr_vecnames", "set numdgt=12",
        f"ac dec {per_decade:.6f} {low} {high}", f"wrdata {out} i(V1)", ".endc", ".end",
    ]  # fmt: skip
    deck.write_text("\n".join([*rows, *control]) + "\n")
    done = subprocess.run(["ngspice", "-b", str(deck)], capture_output=True, text=True, timeout=60)
    assert out.exists(), done.stdout + done.stderr
    f, real, imag = np.loadtxt(out, skiprows=1).T[:3]
    out.unlink()
    return f, -1 / (real + 1j * imag)


def table(it: Strange, folder, name: str, **how) -> None:
    """One sweep as a meter writes it, in one of three dialects."""
    f, z = impedance(it, folder, **how)
    rng = np.random.default_rng([*name.encode(), int(1e6 * it.mms)])
    size = np.abs(z) * (1 + it.scatter * rng.standard_normal(f.size))
    turn = np.degrees(np.angle(z) + it.scatter * rng.standard_normal(f.size))
    kind = int(1e5 * it.mms) % 3
    rows = [
        ["Frequency (Hz),Impedance (ohm),Phase (deg)"],
        ["kHz;Ohm;Grad"],
        ["f/Hz\tR/Ohm\tX/Ohm"],
    ]
    for a, b, c in zip(f, size, turn, strict=True):
        re, im = b * np.cos(np.radians(c)), b * np.sin(np.radians(c))
        rows[0].append(f"{a:.5g},{b:.4f},{c:.2f}")
        rows[1].append(f"{a / 1e3:.7f};{b:.4f};{c:.2f}".replace(".", ","))
        rows[2].append(f"{a:.5g}\t{re:.5f}\t{im:.5f}")
    (folder / name).write_text("\n".join(rows[kind]) + "\n", encoding="utf-8")


def job_file(it: Strange, folder):
    """The job as a practitioner fills it in: what they were told, and what they weighed."""
    table(it, folder, "free.csv")
    table(it, folder, "clay.csv", added=it.clay)
    table(it, folder, "tub.csv", closed=it.tub)
    table(it, folder, "found.csv", weights=it.before)
    table(it, folder, "after.csv", weights=it.after)
    path = folder / "stranger.job.toml"
    path.write_text(
        f"""\
[job]
name = "a stranger's twelve"

[driver]
coils = 2
coil_wiring = "{it.wiring}"
sd = "{1e4 * it.sd:.6g} cm2"
xmax = "13 mm"
pe = "450 W"

[radiator]
count = 2
sd = "{1e4 * it.radiator_sd:.6g} cm2"
added_mass = "{1e3 * it.before:.0f} g"
xmax = "20 mm"

[box]
kind = "radiator"

[amplifier]
"4 ohm" = "{it.watts:g} W"
"2 ohm" = "{1.6 * it.watts:g} W"
"1 ohm" = "{2.4 * it.watts:g} W"

[gap]
width = "39 in"
height = "16 in"
depth_bottom = "9 in"
depth_top = "5 in"

[cable]
length = "15 ft"

[[measurement]]
file = "free.csv"
what = "free air"

[[measurement]]
file = "clay.csv"
what = "added mass"
added_mass = "{1e3 * it.clay:.0f} g"

[[measurement]]
file = "tub.csv"
what = "closed test box"
test_volume = "{1e3 * it.tub:.0f} L"

[[measurement]]
file = "found.csv"
what = "as found"
added_mass = "{1e3 * it.before:.0f} g"

[[measurement]]
file = "after.csv"
what = "after"
added_mass = "{1e3 * it.after:.0f} g"
""",
        encoding="utf-8",
    )
    return path
