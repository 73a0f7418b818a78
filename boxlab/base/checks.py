"""Checking what people type: clear errors for the impossible, warnings for the implausible.

Every message names the parameter and its value, says what was expected, and, where a unit slip is
the likely cause, says which one and how to mend it.
"""

from __future__ import annotations

import math
import sys
import warnings
from dataclasses import fields

import numpy as np


class UnitWarning(UserWarning):
    """A value that is possible but implausible: most often a unit slip."""


class Implausible(UnitWarning):
    """A value outside what any real gear would have, from whoever or whatever gave it."""


class Record:
    """Equality and hashing for frozen dataclasses whose fields may hold arrays."""

    def __eq__(self, other):
        if other.__class__ is not self.__class__:
            return NotImplemented
        return all(
            np.array_equal(getattr(self, f.name), getattr(other, f.name))
            for f in fields(self)
            if f.compare
        )

    def __hash__(self):
        return hash((type(self), *(_key(getattr(self, f.name)) for f in fields(self) if f.compare)))

    def _store(self, name, value):
        """Set a field of a frozen instance; only for use in __post_init__."""
        object.__setattr__(self, name, value)


def _key(value):
    if isinstance(value, np.ndarray):
        return value.shape, value.tobytes()
    return value


def number(name, value, *, infinite=False, hint=""):
    """Return `value` as a float, or as a read-only float array of its own shape.

    Raises
    ------
    ValueError
        If it is not a real number (text and True are none), is NaN, or is infinite where that has
        no meaning.
    """
    if type(value) is float and math.isfinite(value):
        return value
    try:
        if value is None or np.asarray(value).dtype.kind not in "fiuO":
            raise TypeError
        array = np.array(value, dtype=float)
    except (TypeError, ValueError):
        raise ValueError(
            f"{name} = {value!r} is not a number. Give a plain number in SI units, or convert it "
            f"first, for example boxlab.litres(14) or boxlab.inches(10). {hint}".rstrip()
        ) from None
    except OverflowError:  # a whole number may have any length
        raise ValueError(
            f"{name} must be finite, got a whole number of more than 300 digits. {hint}".rstrip()
        ) from None
    if np.isnan(array).any():
        raise ValueError(
            f"{name} holds NaN (not a number){_where(np.isnan(array))}; give a real value. "
            f"{hint}".rstrip()
        )
    if not infinite and np.isinf(array).any():
        raise ValueError(f"{name} must be finite, got {_show(value)}. {hint}".rstrip())
    if array.ndim == 0:
        return float(array)
    array.flags.writeable = False
    return array


def positive(name, value, hint="", *, infinite=False):
    """Return `value` as `number` does, and insist that it is above zero."""
    clean = number(name, value, infinite=infinite, hint=hint)
    if type(clean) is float and clean > 0:
        return clean
    wrong = np.asarray(clean) <= 0
    if wrong.any():
        raise ValueError(
            f"{name} must be above zero, got {_show(clean, wrong)}{_where(wrong)}. {hint}".rstrip()
        )
    return clean


def endless(value):
    """Whether a clean value is infinite, an array for every design."""
    return value == math.inf if type(value) is float else bool(np.all(value == math.inf))


def not_negative(name, value, hint="", *, infinite=False):
    """Return `value` as `number` does, and insist that it is zero or more."""
    clean = number(name, value, infinite=infinite, hint=hint)
    if type(clean) is float and clean >= 0:
        return clean
    wrong = np.asarray(clean) < 0
    if wrong.any():
        raise ValueError(
            f"{name} must be zero or more, got {_show(clean, wrong)}{_where(wrong)}. "
            f"{hint}".rstrip()
        )
    return clean


def counted(name, value, what):
    """Return a count as `whole` does, and insist that it was given: 1 is no safe guess of it."""
    if value is None:
        raise ValueError(f"{name} is missing: say how many {what}, {name}=1 for one.")
    return whole(name, value)


def whole(name, value):
    """Return a count (an int, or a read-only int array) and insist that it is 1 or more."""
    clean = positive(name, value, "Count whole pieces: 1, 2, 3 ...")
    if (np.asarray(clean) != np.round(clean)).any():
        raise ValueError(f"{name} must be a whole number, got {_show(clean)}.")
    if np.ndim(clean) == 0:
        return int(clean)
    counts = np.asarray(clean).astype(int)
    counts.flags.writeable = False
    return counts


def same_shape(owner, **values):
    """Insist that the values broadcast against each other.

    Raises
    ------
    ValueError
        Naming each array and its shape.
    """
    if all(type(value) is float for value in values.values()):
        return ()
    try:
        return np.broadcast_shapes(*(np.shape(value) for value in values.values()))
    except ValueError:
        shapes = ", ".join(f"{n} {np.shape(v)}" for n, v in values.items() if np.ndim(v))
        raise ValueError(
            f"{owner}: these arrays do not broadcast together: {shapes}. "
            "Give one number, or one value for each design."
        ) from None


def suspect(name, value, low, high, hint):
    """Warn with `Implausible` where `value` lies outside what any real gear would have."""
    if type(value) is float and low <= value <= high:
        return
    array = np.asarray(value)
    wrong = (array < low) | (array > high)
    if wrong.any():
        expected = f"expected {low:g} to {high:g}"
        doubt(f"{name} = {_show(value, wrong)} is implausible ({expected}). {hint}", Implausible)


def doubt(message, kind=UnitWarning):
    """Warn with `kind`, at the line outside boxlab that typed the value.

    Python shows a warning once for each line it points at, so it has to point at the caller's.
    """
    frame, level = sys._getframe(1), 2
    while frame and frame.f_globals.get("__name__", "").startswith("boxlab."):
        frame, level = frame.f_back, level + 1
    warnings.warn(message, kind, stacklevel=level)


def _show(value, wrong=None):
    if np.ndim(value) == 0:
        return f"{float(value):g}"
    first = np.asarray(value)[wrong] if wrong is not None else np.asarray(value).ravel()
    return f"{first[0]:g}"


def _where(wrong):
    if wrong.ndim == 0:
        return ""
    place = ", ".join(str(int(i)) for i in np.argwhere(wrong)[0])
    return f" at index {place}" + (f" and {wrong.sum() - 1} more" if wrong.sum() > 1 else "")
