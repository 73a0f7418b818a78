"""Sweeps and job files of an invented wedge with two radiators, by a circuit written out here.

Nothing of boxlab's. Each radiator has weights of its own and is a branch of its own; the leak is
one resistance, whatever the tuning.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np

F = np.round(np.geomspace(8, 500, 130), 3)
BULK = 1.4 * 101325  # Pa
RE, K, N, BL, MMS, SD = 3.7, 0.0105, 0.62, 14.6, 0.172, 0.049
CMS = 1 / (MMS * (2 * np.pi * 28.3) ** 2)
RMS = 2 * np.pi * 28.3 * MMS / 6.2
BARE, R_SD = 0.165, 0.049
R_CMS = 1 / (BARE * (2 * np.pi * 15) ** 2)
R_RMS = 2 * np.pi * 15 * BARE / 7
VOLUME = 0.034
LEAK = 9.0 / (2 * np.pi * 41.6 * VOLUME / BULK)  # Pa·s/m³: QL 9.0 at 41.6 Hz


def tuning(weights: float) -> float:
    """Hz, of two radiators with the same weights, kg."""
    stiff = 2 * R_SD**2 * BULK / VOLUME + 1 / R_CMS
    return float(np.sqrt(stiff / (BARE + weights)) / 2 / np.pi)


def impedance(weights=None, lump=0.0, contact=0.0, share=1.0, leak=LEAK):
    """Ω; `weights` on each radiator, kg, or None in free air; `share` of RE for other coils."""
    s = 2j * np.pi * F
    moves = s * (MMS + lump) + RMS + 1 / (s * CMS)
    if weights is not None:
        flow = s * VOLUME / BULK + 1 / leak
        for added in weights:
            flow = flow + R_SD**2 / (s * (BARE + added) + R_RMS + 1 / (s * R_CMS))
        moves = moves + SD**2 / flow
    return contact + share * (RE + K * s**N + BL**2 / moves)


def table(seed=1, noise=3e-3, turned=False, **how) -> str:
    """A table as a meter writes it; `turned`: with every phase of the other sign."""
    rng = np.random.default_rng(seed)
    z = impedance(**how)
    z = z * (1 + noise * (rng.standard_normal(F.size) + 1j * rng.standard_normal(F.size)))
    angle = np.degrees(np.angle(z)) * (-1 if turned else 1)
    rows = [f"{f:g},{abs(a):.4f},{b:.2f}" for f, a, b in zip(F, z, angle, strict=True)]
    return "\n".join(["frequency,ohm,phase", *rows]) + "\n"


DRIVER = (("free air", {}, ""), ("added mass", {"lump": 0.06}, "60 g"))


def job(folder: Path, *box, added='"150 g"', more="", driver=DRIVER, box_more="") -> Path:
    """A job file with its sweeps beside it; each of `box` is (what, how it was swept, weights).

    `weights` is TOML or "" for none said; `more` goes under [radiator], `box_more` under [box].
    """
    text = (
        '[driver]\ncount = 1\ncoils = 2\ncoil_wiring = "series"\nsd = "490 cm2"\nre = "3.7 ohm"\n'
    )
    text += 'xmax = "13 mm"\npe = "450 W"\n[radiator]\ncount = 2\nsd = "490 cm2"\n'
    text += (f"added_mass = {added}\n" if added else "") + more
    text += f'[box]\nkind = "radiator"\n{box_more}[amplifier]\n"4 ohm" = "400 W"\n'
    for n, (what, how, weights) in enumerate((*driver, *box)):
        name = f"{n}.csv"
        (folder / name).write_text(table(seed=n + 1, **how), encoding="utf-8")
        said = weights if not weights or weights[0] in '["' else f'"{weights}"'
        text += f'[[measurement]]\nfile = "{name}"\nwhat = "{what}"\n'
        text += f"added_mass = {said}\n" if said else ""
    path = folder / "wedge.job.toml"
    path.write_text(text, encoding="utf-8")
    return path
