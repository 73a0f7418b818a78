"""The files of lesson 11, made without boxlab: a box that comes in, by a circuit written out here.

Masses, springs and rubbing are summed as mechanical impedances behind the coil, in SI, with numpy
alone; then come the meter's scatter and its rounding. `TRUTH` is what was put in, so it is what the
lesson's fits are judged by. `python tests/worked_job.py` writes the files anew. All of it is
invented.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np

FOLDER = Path(__file__).resolve().parents[1] / "lessons" / "a-box-comes-in"
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
