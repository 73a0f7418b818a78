"""The files of lesson 11, made without boxlab: a box that comes in, by a circuit written out here.

Masses, springs and rubbing are summed as mechanical impedances behind the coil, in SI, with numpy
alone; then come the meter's scatter and its rounding. `TRUTH` is what was put in, so it is what the
lesson's fits are judged by. `python tests/claims/worked_job.py` writes the files anew. All of it is
invented.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np

FOLDER = Path(__file__).resolve().parents[2] / "lessons" / "a-box-comes-in"
BULK = 1.4 * 101325  # Pa, ρc² of air: the stiffness of a gas squeezed without heat leaving it
SEED = 11

# The driver with both of its coils side by side; one coil alone has twice the resistance.
RE, LE, K, N = 1.76, 0.12e-3, 0.0085, 0.68
BL, MMS, CMS, RMS, SD = 11.2, 0.165, 2.1e-4, 5.4, 0.0505
RADIATORS, R_SD, R_MMS, R_CMS, R_RMS = 2, 0.0505, 0.188, 2.7e-4, 2.2
VOLUME = 0.0298
ADDED = 0.080  # kg of clay on the cone
FOUND, AFTER = 0.172, 0.340  # kg of weights on each radiator
QL_FOUND, QL_AFTER = 5.5, 13.0  # air that leaks away, before and after the new gasket


def tuning(weights):
    """ωb, rad/s: the radiators' mass on their own spring and the air's."""
    air = RADIATORS * R_SD**2 * BULK / VOLUME
    return np.sqrt((air + 1 / R_CMS) / (R_MMS + weights))


def behind(s, weights, ql):
    """What the air of the box puts against the cone, N·s/m; `s` is jω."""
    air = VOLUME / BULK  # m³/Pa
    each = s * (R_MMS + weights) + R_RMS + 1 / (s * R_CMS)
    leak = tuning(weights) * air / ql
    return SD**2 / (s * air + leak + RADIATORS * R_SD**2 / each)


def impedance(f, added=0.0, box=None, one_coil=False):
    """Ω at the terminals; `box` is (weights, QL), None in free air."""
    s = 2j * np.pi * f
    moves = s * (MMS + added) + RMS + 1 / (s * CMS)
    if box is not None:
        moves = moves + behind(s, *box)
    # Two coils on one former share their field: side by side they have the inductance of one.
    return RE * (2 if one_coil else 1) + s * LE + K * s**N + BL**2 / moves


SWEEPS = {
    "free-air.csv": {},
    "with-80-g.csv": {"added": ADDED},
    "came-in.csv": {"box": (FOUND, QL_FOUND), "one_coil": True},
    "coil-joined.csv": {"box": (FOUND, QL_FOUND)},
    "after.csv": {"box": (AFTER, QL_AFTER)},
}
W_S, W_B = 1 / np.sqrt(MMS * CMS), tuning(FOUND)
QMS, QES = W_S * MMS / RMS, W_S * MMS * RE / BL**2
TRUTH = {
    "driver": {
        "re": RE, "fs": W_S / 2 / np.pi, "qms": QMS, "qes": QES, "qts": QMS * QES / (QMS + QES),
        "mms": MMS, "cms": CMS, "bl": BL, "vas": BULK * SD**2 * CMS,
    },
    "box": {"fb": W_B / 2 / np.pi, "volume": VOLUME, "ql": QL_FOUND},
    "after": {"fb": tuning(AFTER) / 2 / np.pi, "volume": VOLUME, "ql": QL_AFTER},
    "radiator": {"mms": R_MMS, "fp": 1 / np.sqrt(R_MMS * R_CMS) / 2 / np.pi},
}  # fmt: skip


def table(name, seed=SEED):
    """One sweep as a meter writes it: 1 % and 0.5° of scatter, then so many digits."""
    rng = np.random.default_rng([seed, *name.encode()])
    f = np.array([float(f"{x:.4g}") for x in np.geomspace(8, 800, 100)])
    z = impedance(f, **SWEEPS[name])
    size = np.abs(z) * (1 + 0.01 * rng.standard_normal(f.size))
    angle = np.degrees(np.angle(z)) + 0.5 * rng.standard_normal(f.size)
    rows = [f"{x:g},{a:.3f},{b:.1f}" for x, a, b in zip(f, size, angle, strict=True)]
    return "\n".join(["Frequency (Hz),Impedance (ohm),Phase (deg)", *rows]) + "\n"


def _job(rows, weights, beyond=""):
    return f"""\
# Invented: the job of lesson 11. Every figure here is what a person was told or weighed; what the
# sweeps tell stands nowhere in it, the lesson fits that.

[job]
name = "twelve behind the seat"

[driver]
name = "an invented twelve-inch, two coils"
count = 1
coils = 2
coil_wiring = "parallel"
re = "1.75 ohm"          # two coils of 3.5 Ω each, side by side
sd = "505 cm2"           # from the middle of the surround to the middle of the surround
xmax = "12 mm"           # printed on its box
pe = "500 W"
weight = "7.4 kg"

[radiator]
count = 2
sd = "505 cm2"
added_mass = "{weights * 1e3:.0f} g"     # on each, weighed
xmax = "19 mm"
weight = "1.9 kg"

[box]
kind = "radiator"

[amplifier]
"4 ohm" = "300 W"
"2 ohm" = "500 W"
rated_at = "13.8 V"      # as its paper says
regulated = "no"
efficiency = "75 %"

[gap]                    # a wedge behind the seat
width = "1000 mm"
height = "400 mm"
depth_bottom = "210 mm"
depth_top = "120 mm"

[cable]
length = "4.5 m"
{beyond}{"".join(rows)}"""


def _row(file, what, *more):
    rest = "".join(f'{key} = "{text}"\n' for key, text in more)
    return f'\n[[measurement]]\nfile = "{file}"\nwhat = "{what}"\n{rest}'


WEIGHTS = ("added_mass", f"{FOUND * 1e3:.0f} g")  # on each radiator at the time
DRIVER_ROWS = [
    _row("free-air.csv", "free air"),
    _row("with-80-g.csv", "added mass", ("added_mass", "80 g")),
]
CHAIN = """
[supply]
voltage = "13.2 V"
resistance = "25 mΩ"

[filters]
high_pass = "27 Hz"
high_pass_order = "4"
"""
JOBS = {
    # at the door: a box that plays weakly, and one sweep of it
    "1-at-the-door.job.toml": _job([_row("came-in.csv", "as found")], FOUND),
    # the driver has been out on the bench, and the box was swept again with the second coil joined
    "2-on-the-bench.job.toml": _job(
        [*DRIVER_ROWS, _row("coil-joined.csv", "as found")], FOUND
    ),
    # more weight, a new gasket, and the car's own supply and high-pass
    "3-handed-over.job.toml": _job(
        [*DRIVER_ROWS, _row("coil-joined.csv", "as found", WEIGHTS), _row("after.csv", "after")],
        AFTER, CHAIN,
    ),
}  # fmt: skip


def files(seed=SEED):
    """Every file of the folder, name -> text."""
    return {name: table(name, seed) for name in SWEEPS} | JOBS


if __name__ == "__main__":
    FOLDER.mkdir(exist_ok=True)
    for name, text in files().items():
        (FOLDER / name).write_text(text, encoding="utf-8", newline="\n")
