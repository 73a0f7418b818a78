"""Classic alignments solved from their definitions, and boxes built to land on them.

The transfer function is that of a vented box whose only box loss is leakage: Small, "Vented-box
loudspeaker systems", JAES 21 (1973) 363. Frequencies are relative to sqrt(fs fb).
"""

import csv
from pathlib import Path

import numpy as np
from scipy.optimize import brentq, fsolve

from boxlab import Air, Driver, Port, PortedBox, SealedBox, solve

PUBLISHED = Path(__file__).parents[1] / "published"
AIR = Air()
FS, SD, RE = 40.0, 0.033, 3.6
VAS = 0.05


def published(name):
    """Rows of a reference table as dicts; numbers become floats, empty cells None."""
    lines = (PUBLISHED / f"{name}.csv").read_text(encoding="utf-8").splitlines()
    rows = csv.DictReader(line for line in lines if not line.startswith("#"))

    def value(text):
        try:
            return float(text)
        except ValueError:
            return text or None

    return [{key: value(text) for key, text in row.items()} for row in rows]


def polynomial(qt, alpha, h, ql=np.inf):
    """Denominator s^4 + a1 s^3 + a2 s^2 + a3 s + 1, highest power first."""
    leak = 1 / ql
    a1 = (1 + h * qt * leak) / (np.sqrt(h) * qt)
    a2 = (h * leak + (alpha + 1 + h**2) * qt) / (h * qt)
    a3 = (h + qt * leak) / (np.sqrt(h) * qt)
    return np.array([1.0, a1, a2, a3, 1.0])


def squared(poly):
    """Coefficients of x^8, x^6, x^4, x^2, 1 of |D(jx)|^2, for a vented or closed denominator."""
    _, a1, a2, a3, a4 = poly
    return np.array([1.0, a1**2 - 2 * a2, a2**2 + 2 * a4 - 2 * a1 * a3, a3**2 - 2 * a2 * a4, a4**2])


def b4(ql=np.inf):
    """qts and alpha of the maximally flat box (h = 1)."""
    target = np.poly(np.exp(1j * np.pi * np.array([5, 7, 9, 11]) / 8)).real
    qt, alpha = fsolve(lambda v: (polynomial(v[0], v[1], 1.0, ql) - target)[1:3], [0.38, 1.4])
    return qt, alpha


def qb3(qt, ql=np.inf, start=(1.4, 4.0)):
    """h and alpha of the quasi-third-order box: |D|^2 keeps only x^8, x^2 and the constant."""
    return fsolve(lambda v: squared(polynomial(qt, v[1], v[0], ql))[1:3], start, xtol=1e-12)


def c4(k, ql=np.inf, start=(0.4, 1.0, 1.0)):
    """qts, h and alpha of the equal-ripple box: Butterworth poles, real parts times k."""
    poles = np.exp(1j * np.pi * np.array([5, 7, 9, 11]) / 8)
    target = np.poly(k * poles.real + 1j * poles.imag).real
    target = (target / target[-1] ** (np.arange(5) / 4))[::-1]  # low pass to high pass
    return fsolve(lambda v: (polynomial(v[0], v[2], v[1], ql) - target)[1:4], start, xtol=1e-12)


def gain(poly, x):
    """|G| of x^4 over the polynomial."""
    return x**4 / np.abs(np.polyval(poly, 1j * np.asarray(x)))


def cutoff(response, low, high):
    """The lowest frequency at which `response` reaches 1/sqrt(2), found on a log scale."""
    grid = np.geomspace(low, high, 400)
    above = np.flatnonzero(response(grid) >= np.sqrt(0.5))[0]
    return brentq(lambda f: response(np.array([f]))[0] - np.sqrt(0.5), grid[above - 1], grid[above])


def driver_of(qt, fs=FS, vas=VAS, qms=5.0):
    """A driver without inductance whose total Q is qt."""
    return Driver.from_datasheet(
        fs=fs, qes=qt * qms / (qms - qt), qms=qms, vas=vas, sd=SD, re=RE, xmax=8e-3, pe=300.0,
        air=AIR,
    )  # fmt: skip


def vented(qt, alpha, h, ql=np.inf, area=2e-3):
    """Driver and ported box on an alignment. The port length is solved here, not by the library."""
    volume = VAS / alpha
    mass = AIR.density * AIR.speed_of_sound**2 / volume / (2 * np.pi * h * FS) ** 2
    total = mass * area / AIR.density
    end = 0.2 * total
    return driver_of(qt), PortedBox(volume, Port(area, total - end, end), ql=ql)


def closed(qtc, alpha=2.0):
    """Driver and sealed box with a system Q of qtc at FS sqrt(1 + alpha)."""
    return driver_of(qtc / np.sqrt(1 + alpha)), SealedBox(VAS / alpha)


def highpass(driver, box, frequency):
    """Complex far-field pressure over its passband value, time of flight removed.

    The pressure is proportional to volume acceleration, so the passband value is that of the
    cone's free acceleration Bl V / (re mms).
    """
    r = solve(driver, box, frequency, voltage=1.0, air=AIR, distance=1.0)
    passband = AIR.density * driver.sd * driver.bl / (2 * np.pi * driver.re * driver.mms)
    flight = np.exp(2j * np.pi * frequency / AIR.speed_of_sound)
    return r.pressure * flight / passband
