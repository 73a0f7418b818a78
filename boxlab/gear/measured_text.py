"""How a measured value stands in a job file and on a screen: "31.20 ± 0.05 Hz"."""

from __future__ import annotations

import numpy as np

from boxlab.measure.fit.estimate import Estimate

# figure -> (unit to write, its size in SI)
UNITS = {
    "re": ("ohm", 1.0), "fs": ("Hz", 1.0), "qms": ("", 1.0), "qes": ("", 1.0), "qts": ("", 1.0),
    "mms": ("g", 1e-3), "cms": ("mm/N", 1e-3), "rms": ("N s/m", 1.0), "bl": ("T m", 1.0),
    "vas": ("L", 1e-3), "fb": ("Hz", 1.0), "volume": ("L", 1e-3), "ql": ("", 1.0),
    "qa": ("", 1.0), "qp": ("", 1.0),
    "fp": ("Hz", 1.0), "le": ("mH", 1e-3), "semi_k": ("", 1.0), "semi_n": ("", 1.0),
    "l2": ("mH", 1e-3), "r2": ("ohm", 1.0),
}  # fmt: skip


def text(name: str, value: Estimate) -> str:
    """A measured value as it stands in a job file: "31.20 ± 0.05 Hz"."""
    unit, size = UNITS[name]
    centre, u = float(value) / size, float(value.u) / size
    digits = min(6, max(0, 1 - int(np.floor(np.log10(u))))) if u > 0 else 3
    return f"{centre:.{digits}f} ± {u:.{digits}f} {unit}".rstrip()


def grams(mass) -> str:
    """A mass, kg, or a list of one for each radiator, in grams.

    >>> grams(0.15), grams([0.15, 0.0])
    ('150 g', '150 g and 0 g')
    """
    if isinstance(mass, list | tuple):
        return grams(mass[0]) if len(set(mass)) == 1 else " and ".join(map(grams, mass))
    return f"{1e3 * mass:.4g} g"
