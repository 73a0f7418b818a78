"""The value that holds a measured sweep, and what became of each line it was read from."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from boxlab.base.checks import Record

SHARED = "# relative uncertainty that all points share:"


@dataclass(frozen=True)
class Line:
    """One line of what was given: its number (from 1), its text, and what became of it.

    `kind` is "data", "header", "comment", "blank" or "set aside"; `why` says why it was set aside.
    """

    number: int
    text: str
    kind: str
    why: str = ""


class Lines(Sequence):
    """What became of each line, as `Line` values that are made when looked at."""

    def __init__(self, texts, kinds, why):
        self._parts = texts, kinds, why

    def __len__(self):
        return len(self._parts[0])

    def __getitem__(self, index):
        if isinstance(index, slice):
            return tuple(self[i] for i in range(*index.indices(len(self))))
        texts, kinds, why = (part[index] for part in self._parts)
        return Line(range(len(self))[index] + 1, texts, kinds or "comment", why)

    def __eq__(self, other):
        return len(self) == len(other) and all(a == b for a, b in zip(self, other, strict=True))

    def __hash__(self):
        return hash(tuple(self._parts[0]))

    def of(self, kind):
        """The lines of one kind."""
        return tuple(self[i] for i, each in enumerate(self._parts[1]) if each == kind)


@dataclass(frozen=True, eq=False)
class Sweep(Record):
    """An impedance sweep: frequency (Hz, rising), |Z| (Ω) and phase (degrees) or None, shape (n,).

    `uncertainty` is the standard uncertainty of |Z| in Ω, where it is known, and `common` the part
    that all points share, relative, by unit ("Hz", "Ω"): no scatter shows it. `notes` says what was
    decided in reading it, `lines` what became of every line, and `raw` is the text as it was given.

    >>> Sweep.from_impedance(np.array([20.0, 40.0]), np.array([4 + 3j, 6 - 8j])).magnitude
    array([ 5., 10.])

    Parameters
    ----------
    frequency : Hz, shape (n,)
    magnitude : |Z|, Ω, shape (n,)
    phase : degrees, shape (n,), or None
    name, notes, lines, raw, uncertainty, common : as above

    Raises
    ------
    ValueError
        If the shapes differ, or a frequency or magnitude is not a number above zero.
    """

    frequency: np.ndarray
    magnitude: np.ndarray
    phase: np.ndarray | None = None
    name: str = ""
    notes: tuple[str, ...] = ()
    lines: Sequence[Line] = field(default=(), repr=False)
    raw: str = field(default="", repr=False)
    uncertainty: np.ndarray | None = None
    common: Mapping[str, float] = field(default_factory=dict, compare=False, repr=False)

    def __post_init__(self):
        frequency = np.array(self.frequency, dtype=float)
        arrays = [frequency, np.array(self.magnitude, dtype=float)]
        if self.phase is not None:
            arrays.append(np.array(self.phase, dtype=float))
        if self.uncertainty is not None:
            arrays.append(np.array(self.uncertainty, dtype=float))
        if frequency.ndim != 1 or any(a.shape != frequency.shape for a in arrays):
            shapes = ", ".join(str(a.shape) for a in arrays)
            raise ValueError(f"a sweep needs columns of one length, got shapes {shapes}.")
        for name, values in zip(("frequency", "magnitude"), arrays, strict=False):
            wrong = ~(np.isfinite(values) & (values > 0))
            if wrong.any():
                at = int(np.argmax(wrong))
                raise ValueError(f"{name} must be above zero, got {values[at]} at index {at}.")
        if self.phase is not None and not np.isfinite(arrays[2]).all():
            at = int(np.argmin(np.isfinite(arrays[2])))
            raise ValueError(
                f"phase must be a number in degrees, got {arrays[2][at]} at index {at}."
            )
        order = np.argsort(frequency, kind="stable")
        names = ["frequency", "magnitude", "phase", "uncertainty"]
        if self.phase is None:
            names.remove("phase")
        for name, values in zip(names, arrays, strict=False):
            values = values[order]
            values.flags.writeable = False
            self._store(name, values)

    @classmethod
    def from_impedance(cls, frequency, impedance, name=""):
        """Make a sweep from frequency, Hz, and complex impedance, Ω, both of shape (n,)."""
        z = np.asarray(impedance, dtype=complex)
        return cls(frequency, np.abs(z), np.degrees(np.angle(z)), name)

    def __len__(self):
        return len(self.frequency)

    @property
    def impedance(self):
        """Complex impedance, Ω, shape (n,).

        Raises
        ------
        ValueError
            If the sweep has no phase.
        """
        if self.phase is None:
            raise ValueError("this sweep has magnitude only; use .magnitude, or measure the phase.")
        return self.magnitude * np.exp(1j * np.radians(self.phase))

    @property
    def set_aside(self):
        """The lines that hold no usable row, with the reason; nothing is dropped in silence."""
        if isinstance(self.lines, Lines):
            return self.lines.of("set aside")
        return tuple(line for line in self.lines if line.kind == "set aside")

    def between(self, low=0.0, high=np.inf):
        """The part of the sweep from `low` to `high`, Hz."""
        keep = (self.frequency >= low) & (self.frequency <= high)
        return Sweep(
            self.frequency[keep],
            self.magnitude[keep],
            None if self.phase is None else self.phase[keep],
            self.name,
            (*self.notes, f"cut to {low:g} … {high:g} Hz"),
            uncertainty=None if self.uncertainty is None else self.uncertainty[keep],
            common=self.common,
        )

    def to_text(self):
        """The sweep as a plain table with commas and one header line, to keep or to pass on.

        What is known of its uncertainty goes along: that of each point as a column, and the part
        that all share as a remark at the end. `read_sweep` reads both.
        """
        head = ["frequency (Hz)", "magnitude (ohm)"]
        columns = [self.frequency, self.magnitude]
        if self.phase is not None:
            head.append("phase (deg)")
            columns.append(self.phase)
        if self.uncertainty is not None:
            head.append("uncertainty (ohm)")
            columns.append(self.uncertainty)
        rows = [",".join(f"{value:.6g}" for value in row) for row in zip(*columns, strict=True)]
        if self.common:
            parts = ", ".join(f"{unit} {share:.4g}" for unit, share in self.common.items())
            rows.append(f"{SHARED} {parts}")
        return "\n".join([",".join(head), *rows]) + "\n"
