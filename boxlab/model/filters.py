"""The stages of a signal chain: high-pass, low-pass, parametric boost or cut, low shelf.

Each is an analogue filter without delay, a quotient of polynomials in y = f/f0, f0 its own
frequency. A digital filter of the same settings does the same in the bass; its delay, and the
delay of any processor, come on top. `boxlab.model.chain` puts them one after the other.

Butterworth's sections are from their definition, all poles on one circle. Peak and shelf are those
that most equalisers use (R. Bristow-Johnson's cookbook formulae, the analogue prototypes; from
memory). Makers count the Q of a boost in different ways: where a maker gives a bandwidth, take Q as
the centre over the distance between the two frequencies of half the boost in dB.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from boxlab.base.array_types import Values
from boxlab.base.checks import Record, number, positive, same_shape, suspect, whole
from boxlab.model.driver import beside

FLAT = math.sqrt(0.5)  # Q of the second-order Butterworth filter
_HERTZ = "A filter's frequency is in hertz."
_Q = "Q is a plain number: 0.707 is Butterworth's, and more is narrower."


class Stage(Record):
    """What the stages share. Their `sections` give a tuple of (numerator, denominator).

    A polynomial is (a, b, c) for a + b·(jy) + c·(jy)².
    """

    def _check(self):
        self._store("frequency", positive("frequency", self.frequency, _HERTZ))
        suspect("frequency", self.frequency, 1, 2000, f"{_HERTZ} Bass filters are at 5 to 300 Hz.")
        if self.q is not None:
            self._store("q", positive("q", self.q, _Q))
            suspect("q", self.q, 0.1, 20, _Q)

    def _check_gain(self):
        self._store("q", positive("q", self.q, _Q))
        self._check()
        hint = "It is in dB: +6 is twice the voltage, −6 half of it."
        self._store("gain_db", number("gain_db", self.gain_db, hint=hint))
        suspect("gain_db", self.gain_db, -30, 30, hint)
        same_shape(type(self).__name__, frequency=self.frequency, gain_db=self.gain_db, q=self.q)

    def worked(self, frequency):
        """Response, complex, and d/dω of its logarithm, s, at `frequency`, Hz; see `Chain`."""
        own = beside(self.frequency, frequency)
        y = np.asarray(frequency) / own
        response, slope = 1.0, 0.0
        for top, bottom in self.sections():
            (n, dn), (d, dd) = _polynomial(top, y, frequency), _polynomial(bottom, y, frequency)
            response = response * (n / d)
            slope = slope + dn / n - dd / d
        return response, slope / (2 * np.pi * own)

    def response(self, frequency):
        """Complex response at `frequency`, Hz; designs' shape, then frequency last."""
        return self.worked(positive("frequency", frequency, "Frequency is in hertz."))[0]


def _polynomial(terms, y, frequency):
    """a + b·jy + c·(jy)² and its derivative in y."""
    a, b, c = (beside(term, frequency) for term in terms)
    return (a - c * y**2) + 1j * (b * y), 1j * b - 2 * c * y


@dataclass(frozen=True, eq=False)
class Pass(Stage):
    """What high-pass and low-pass share; each says what stands above in its sections."""

    frequency: float | np.ndarray
    order: int = 2
    q: float | np.ndarray | None = None

    def __post_init__(self):
        self._check()
        order = whole("order", self.order)
        if np.ndim(order):
            raise ValueError("order is one whole number for all designs: 2 is 12 dB/octave.")
        suspect("order", order, 1, 8, "Order 2 is 12 dB/octave, order 4 is 24 dB/octave.")
        self._store("order", order)
        if self.q is not None and order != 2:
            raise ValueError(
                f"q = {np.ravel(self.q)[0]:g} with order {order}: only a filter of order 2 has one "
                "Q. Leave q out for Butterworth's, or write one stage of order 2 for each Q."
            )
        if self.q is not None:
            same_shape(type(self).__name__, frequency=self.frequency, q=self.q)

    def _damping(self):
        """1/Q of each second-order section, and whether one of first order is left over."""
        if self.q is not None:
            return (1 / self.q,), False
        n = self.order
        return tuple(2 * math.sin(math.pi * (2 * k + 1) / (2 * n)) for k in range(n // 2)), n % 2

    def sections(self):
        """Its sections, as `Stage` says."""
        dampings, odd = self._damping()
        pairs = tuple((self._second, (1, damping, 1)) for damping in dampings)
        return pairs + (((self._first, (1, 1, 0)),) if odd else ())

    @property
    def words(self):
        """In words: "high-pass 28 Hz, 24 dB/octave"."""
        return f"{self._name} {_pass_words(self)}"


@dataclass(frozen=True, eq=False)
class HighPass(Pass):
    """High-pass of `order`, −3 dB at `frequency` Hz: Butterworth, or of order 2 with a given `q`.

    Formula: gain = 1/√(1 + (f0/f)^(2·n))

    That is Butterworth's; with a Q the response at `frequency` is Q instead.

    Parameters
    ----------
    frequency : Hz
    order : 1, 2, 3, ...
    q : no unit; Butterworth if left out

    Raises
    ------
    ValueError
        For a frequency, order or q that is not above zero, or a q beside an order other than 2.

    >>> round(float(abs(HighPass(28, order=4).response(28))), 4)
    0.7071
    """

    _name, _first, _second = "high-pass", (0, 1, 0), (0, 0, 1)


@dataclass(frozen=True, eq=False)
class LowPass(Pass):
    """Low-pass of `order`, −3 dB at `frequency` Hz: Butterworth, or of order 2 with a given `q`.

    >>> round(float(abs(LowPass(80).response(80))), 4)
    0.7071

    Parameters
    ----------
    frequency : Hz
    order : 1, 2, 3, ...
    q : no unit; Butterworth if left out

    Raises
    ------
    ValueError
        As `HighPass`.
    """

    _name, _first, _second = "low-pass", (1, 0, 0), (1, 0, 0)


@dataclass(frozen=True, eq=False)
class Peak(Stage):
    """Parametric boost (or cut, below zero) of `gain_db` dB at `frequency` Hz, of width 1/`q`.

    Formula: H = (1 − y² + j·y·A/Q)/(1 − y² + j·y/(A·Q))

    A is 10^(gain/40). A cut undoes the boost of the same settings exactly. At the two frequencies
    whose ratio to the centre differs by 1/Q the gain is half of it in dB.

    Parameters
    ----------
    frequency : Hz
    gain_db : dB
    q : no unit

    Raises
    ------
    ValueError
        For a frequency or q that is not above zero, or a gain that is no number.

    >>> round(float(abs(Peak(40, 6, 1).response(40))), 3)
    1.995
    """

    frequency: float | np.ndarray
    gain_db: float | np.ndarray
    q: float | np.ndarray

    def __post_init__(self):
        self._check_gain()

    def sections(self):
        """Its sections, as `Stage` says."""
        root = 10 ** (np.asarray(self.gain_db) / 40)[()]
        return (((1, root / self.q, 1), (1, 1 / (root * self.q), 1)),)

    @property
    def words(self):
        """In words: "+6 dB at 40 Hz, Q 1"."""
        return f"{_gain_words(self)} at {some(self.frequency)} Hz, Q {some(self.q)}"


@dataclass(frozen=True, eq=False)
class Shelf(Stage):
    """Low shelf: `gain_db` dB well below `frequency` Hz, half of that in dB there, none above.

    >>> round(float(abs(Shelf(60, 6).response(1))), 2)
    2.0

    Parameters
    ----------
    frequency : Hz
    gain_db : dB
    q : no unit

    Raises
    ------
    ValueError
        As `Peak`.
    """

    frequency: float | np.ndarray
    gain_db: float | np.ndarray
    q: float | np.ndarray = FLAT

    def __post_init__(self):
        self._check_gain()

    def sections(self):
        """Its sections, as `Stage` says."""
        root = 10 ** (np.asarray(self.gain_db) / 40)[()]
        slope = np.sqrt(root) / self.q
        return (((root**2, root * slope, root), (1, slope, root)),)

    @property
    def words(self):
        """In words: "+6 dB below 40 Hz"."""
        return f"{_gain_words(self)} below {some(self.frequency)} Hz"


def some(value: Values) -> str:
    """A value as text, or the range of an array's.

    >>> some(2.0), some(np.array([1.0, 3.0]))
    ('2', '1 to 3')
    """
    return f"{value:g}" if np.ndim(value) == 0 else f"{np.min(value):g} to {np.max(value):g}"


def _gain_words(stage):
    gain = stage.gain_db
    return (f"{gain:+g} dB" if np.ndim(gain) == 0 else f"{some(gain)} dB").replace("-", "−")


def _pass_words(stage):
    q = "" if stage.q is None else f", Q {some(stage.q)}"
    return f"{some(stage.frequency)} Hz, {6 * stage.order} dB/octave{q}"
