"""A measured value with its standard uncertainty."""

from __future__ import annotations

import math

Amount = float | tuple[float, float]  # a number, an Estimate (which is one), or (value, u)


class Estimate(float):
    """A number that remembers its standard uncertainty `u`, its `unit`, and a `note` in words.

    It is a float in every sum. `u` is widened for small samples so that value ± 1.96 u is meant to
    hold the true value 95 times in 100, as long as what the sweep suffers from is random scatter.

    >>> fb = Estimate(45.234, 0.31, "Hz")
    >>> print(fb), fb / 2
    45.23 ± 0.31 Hz
    (None, 22.617)

    Parameters
    ----------
    value : float
    u : its standard uncertainty, in the same unit; NaN if it is not known
    unit : str
    note : how it was come by, in words
    """

    __slots__ = ("note", "u", "unit")

    def __new__(cls, value, u=math.nan, unit="", note=""):
        self = super().__new__(cls, value)
        self.u, self.unit, self.note = float(u), unit, note
        return self

    def __reduce__(self):
        return Estimate, (float(self), self.u, self.unit, self.note)

    @property
    def value(self):
        """The bare number."""
        return float(self)

    @property
    def identifiable(self):
        """True if the sweep fixes the value at all: its uncertainty is below a third of it."""
        return math.isfinite(self) and self.u < abs(self) / 3

    def scaled(self, factor, unit):
        """The same value in another unit."""
        return Estimate(float(self) * factor, self.u * factor, unit, self.note)

    def __str__(self):
        unit = f" {self.unit}" if self.unit else ""
        if math.isnan(self):
            return self.note or "not identifiable from this sweep"
        if math.isnan(self.u):
            return f"{float(self):.4g}{unit}"
        if not self.u:
            return f"{float(self):.4g}{unit} (given)"
        if not math.isfinite(self.u) or not math.isfinite(self):
            return f"{float(self):.3g}{unit}, {self.note or 'not identifiable from this sweep'}"
        if self.u < 1e-12 or (self.u < 1e-3 and abs(self) < 1e-2):
            text = f"{float(self):.4g} ± {self.u:.2g}{unit}"
        else:
            text = f"{plus_minus(self, self.u)}{unit}"
        return text if self.identifiable else f"{text} (not identifiable from this sweep)"

    def __repr__(self):
        return f"Estimate({float(self):.6g}, u={self.u:.3g}, unit={self.unit!r})"


def plus_minus(value: float, u: float) -> str:
    """A value and its uncertainty above zero, both to the second digit of that.

    >>> plus_minus(11.973, 0.0784), plus_minus(25.12, 0.72)
    ('11.973 ± 0.078', '25.12 ± 0.72')

    Parameters
    ----------
    value : float
    u : its standard uncertainty, in the same unit
    """
    digits = max(0, 1 - math.floor(math.log10(u)))
    return f"{float(value):.{digits}f} ± {u:.{digits}f}"


def at_least(bound: float) -> str:
    """ "above 1600": two digits of a bound, without powers of ten.

    >>> at_least(1581.0), at_least(4.44)
    ('above 1600', 'above 4.4')

    Parameters
    ----------
    bound : float
    """
    value = float(f"{bound:.2g}")
    return f"above {value:.0f}" if value >= 10 else f"above {value:g}"


def uncertain(value: Amount) -> tuple[float, float]:
    """Return `(value, u)` of an Estimate, a pair, or a plain number (which is taken as exact).

    >>> uncertain(3.0), uncertain((3.0, 0.1))
    ((3.0, 0.0), (3.0, 0.1))

    Parameters
    ----------
    value : Estimate, (value, u), or a number
    """
    if isinstance(value, Estimate):
        return float(value), value.u if math.isfinite(value.u) else 0.0
    if isinstance(value, tuple | list):
        centre, u = value
        return float(centre), float(u)
    return float(value), 0.0
