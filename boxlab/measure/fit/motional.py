"""The impedance of a driver in free air or in a box, in the few numbers that a sweep can show.

The circuit is Small's (Closed-box and Vented-box loudspeaker systems, J. Audio Eng. Soc. 20 (1972)
798 and 21 (1973) 363), divided through by the mechanical resistance, so that it needs no mass and
no area: only frequencies and ratios.
"""

from __future__ import annotations

from types import MappingProxyType
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import ArrayLike

if TYPE_CHECKING:
    from boxlab.measure.fit.least_squares import Fit

NO_INDUCTANCE = MappingProxyType({"le": 0.0, "semi_k": 0.0, "l2": 0.0})

# Parameters of `impedance`, what they mean, and whether they are fitted by their logarithm.
PARAMETERS = {
    "re": ("coil resistance", "Ω", True),
    "le": ("coil inductance", "H", False),
    "semi_k": ("semi-inductance K", "Ω·sⁿ", True),
    "semi_n": ("semi-inductance exponent n", "", False),
    "l2": ("second inductance of the coil", "H", True),
    "r2": ("resistance across it", "Ω", True),
    "fs": ("resonance of the driver", "Hz", True),
    "qms": ("mechanical Q", "", True),
    "qes": ("electrical Q", "", True),
    "mass": ("added mass over moving mass", "", True),
    "alpha": ("compliance ratio Vas/Vb", "", True),
    "fb": ("tuning", "Hz", True),
    "leak": ("1/QL", "", False),
    "fp": ("radiator's own resonance", "Hz", True),
    "fp_share": ("radiator's own resonance over the tuning", "", True),
    "absorb": ("1/QA", "", False),
    "drag": ("1/Q of the vent or radiator at tuning", "", False),
    "creep": ("compliance gained for each decade down", "", False),
}


def coil(
    f: ArrayLike, re: ArrayLike, le: ArrayLike = 0.0, semi_k: ArrayLike = 0.0,
    semi_n: ArrayLike = 0.7, l2: ArrayLike = 0.0, r2: ArrayLike = np.inf,
) -> np.ndarray:  # fmt: skip
    """Impedance of the blocked coil, Ω, at frequency `f`, Hz; parameters broadcast against it.

    Resistance `re`, Ω, and inductance `le`, H. What has losses is Leach's semi-inductance `semi_k`,
    Ω·sⁿ, with its exponent n, `semi_n` (J. Audio Eng. Soc. 50 (2002) 442), or a second inductance
    `l2`, H, with a resistance `r2`, Ω, across it, as eddy currents in a pole piece or a ring make
    (from memory).

    >>> coil(np.array([0.0, 1000.0]), 3.4, 1e-3).round(2)
    array([3.4+0.j  , 3.4+6.28j])
    """
    jw = 2j * np.pi * f
    z = re + jw * le
    if np.any(l2):
        z = z + jw * l2 / (1 + jw * l2 / r2)
    return z + semi_k * np.exp(semi_n * np.log(jw)) if np.any(semi_k) else z


def motional(
    f: ArrayLike, re: ArrayLike, fs: ArrayLike, qms: ArrayLike, qes: ArrayLike,
    mass: ArrayLike = 0.0, alpha: ArrayLike = 0.0, fb: ArrayLike = 0.0, leak: ArrayLike = 0.0,
    fp: ArrayLike = 0.0, drag: ArrayLike = 0.0, fp_share: ArrayLike = 0.0,
    absorb: ArrayLike = 0.0, blocked: bool = False, creep: ArrayLike = 0.0,
) -> np.ndarray:  # fmt: skip
    """Impedance that the motion adds, Ω, at frequency f, Hz; parameters broadcast against f.

    `re`, Ω, `fs`, Hz, `qms` and `qes` are the driver's, `alpha` is Vas/Vb, and the tuning `fb` and
    the radiator's own resonance `fp` are in Hz. `mass` is what was stuck to the cone over its
    moving mass. With fb = 0 the box is closed; with fp = 0 it is vented; otherwise it has a
    radiator. `leak` is 1/QL and `drag` the friction of the vent or radiator, 1/Q of its mass alone
    at fb. `absorb` is 1/QA, a resistance in series with the air. `fp_share` is another way to give
    fp, as a share of fb. With `blocked` the vent is shut; the Qs are still those at fb. With
    `creep` the suspension gives more the longer it is pushed, as 1 − creep·log10(jf/fs) (Knudsen
    and Jensen, J. Audio Eng. Soc. 41 (1993) 3; from memory).

    >>> motional(np.array([32.0, 100.0]), 3.4, fs=32.0, qms=5.0, qes=0.5).round(1)
    array([34. +0.j ,  0.2-2.4j])
    """
    x = f / fs
    fp = fp + fp_share * fb
    softer = 1 - creep * np.log10(1j * x) if np.any(creep) else 1.0
    mechanical = 1 + 1j * qms * (x * (1 + mass) - 1 / (x * softer))
    if np.any(alpha):
        air = 1j * f + leak * fb
        if np.any(absorb):
            air = 1j * f / (1 + 1j * f / fb * absorb) + leak * fb
        if np.any(fb) and not blocked:
            vent = 1j * f + drag * fb + (fp**2 / (1j * f) if np.any(fp) else 0.0)
            air = air + (fb**2 - fp**2) / vent
        mechanical = mechanical + alpha * qms * fs / air
    return re * qms / qes / mechanical


def impedance(
    f: ArrayLike, re: ArrayLike, le: ArrayLike = 0.0, semi_k: ArrayLike = 0.0,
    semi_n: ArrayLike = 0.7, l2: ArrayLike = 0.0, r2: ArrayLike = np.inf, **motion: ArrayLike,
) -> np.ndarray:  # fmt: skip
    """Impedance at the terminals, Ω, of everything above.

    >>> round(abs(impedance(40.0, 4.0, fs=40.0, qms=5.0, qes=0.5)), 2)
    44.0

    Parameters
    ----------
    f : Hz
    re, le, semi_k, semi_n, l2, r2 : as for `coil`
    motion : as for `motional`
    """
    return coil(f, re, le, semi_k, semi_n, l2, r2) + motional(f, re, **motion)


def fitted(fit: Fit, frequency: ArrayLike) -> np.ndarray:
    """Impedance of a `fit`, Ω, complex, at any `frequency`, Hz, shape (n,).

    >>> from types import SimpleNamespace
    >>> fit = SimpleNamespace(values={"re": 3.4, "fs": 32.0, "qms": 5.0, "qes": 0.5})
    >>> np.abs(fitted(fit, [20.0, 32.0])).round(1)
    array([ 8.2, 37.4])
    """
    return impedance(np.asarray(frequency, dtype=float), **fit.values)
