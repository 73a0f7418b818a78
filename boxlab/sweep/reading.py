"""Reading a measured impedance sweep from any plain text table, and the value that holds it."""

from __future__ import annotations

import re
import warnings
from dataclasses import dataclass, field

import numpy as np

from boxlab.checks import Record, UnitWarning
from boxlab.sweep.cells import MARKERS, choose_layout, is_row, read_cell, split_line
from boxlab.sweep.columns import ROLES, UNITS, Column, from_header, from_numbers
from boxlab.sweep.source import text_of

_SEPARATORS = {"tab": "\t", "\\t": "\t", "comma": ",", "semicolon": ";", "space": "space"}


@dataclass(frozen=True)
class Line:
    """One line of what was given: its number (from 1), its text, and what became of it.

    `kind` is "data", "header", "comment", "blank" or "set aside"; `why` says why it was set aside.
    """

    number: int
    text: str
    kind: str
    why: str = ""


@dataclass(frozen=True, eq=False)
class Sweep(Record):
    """An impedance sweep: frequency (Hz, rising), |Z| (Ω) and phase (degrees) or None, shape (n,).

    `notes` says what was decided in reading it, `lines` what became of every line, and `raw` is the
    text as it was given.

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
    lines: tuple[Line, ...] = field(default=(), repr=False)
    raw: str = field(default="", repr=False)

    def __post_init__(self):
        frequency = np.array(self.frequency, dtype=float)
        arrays = [frequency, np.array(self.magnitude, dtype=float)]
        if self.phase is not None:
            arrays.append(np.array(self.phase, dtype=float))
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
            raise ValueError(f"phase must be a number in degrees, got {arrays[2][at]} at index {at}.")
        order = np.argsort(frequency, kind="stable")
        for name, values in zip(("frequency", "magnitude", "phase"), arrays, strict=False):
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
        )

    def to_text(self):
        """The sweep as a plain table with commas and one header line, to keep or to pass on."""
        head = ["frequency (Hz)", "magnitude (ohm)"]
        columns = [self.frequency, self.magnitude]
        if self.phase is not None:
            head.append("phase (deg)")
            columns.append(self.phase)
        rows = [",".join(f"{value:.6g}" for value in row) for row in zip(*columns, strict=True)]
        return "\n".join([",".join(head), *rows]) + "\n"


def read_sweep(
    source,
    *,
    columns=None,
    frequency_unit=None,
    magnitude_unit=None,
    phase_unit=None,
    separator=None,
    decimal=None,
):
    """Read a sweep from a plain text table of frequency, magnitude and, perhaps, phase.

    Separators (comma, semicolon, tab, bar, spaces), decimal point or comma, units, headers, remarks
    and the order of columns and rows are worked out from the table; any of them can be given
    instead. Rows at the same frequency are averaged. What could not be used is kept and listed in
    `.set_aside`, and `.notes` says what was decided.

    Parameters
    ----------
    source : path, text, bytes, open file, lines, or the value of an upload widget
    columns : names in the order of the table, from frequency, magnitude, phase, real, imaginary;
        anything else (such as "-") for a column to leave out
    frequency_unit : "Hz", "kHz" or "rad/s"
    magnitude_unit : "ohm", "mohm", "kohm" or "dB" (re 1 Ω)
    phase_unit : "deg" or "rad"
    separator : ",", ";", "tab" or "space"
    decimal : "." or ","

    >>> s = read_sweep("Freq [Hz];Z [Ohm]\\n20,0;6,5\\n25,0;8,25\\n31,5;12,0\\n")
    >>> s.frequency.tolist(), s.magnitude.tolist(), s.phase
    ([20.0, 25.0, 31.5], [6.5, 8.25, 12.0], None)

    Raises
    ------
    ValueError
        If there is no such file or no table of two usable rows in it; the message names lines.

    Warns
    -----
    UnitWarning
        If a unit had to be guessed from the range of the numbers, or they look implausible.
    """
    units = {"frequency": frequency_unit, "magnitude": magnitude_unit, "phase": phase_unit}
    for role, unit in units.items():
        if unit is not None and unit not in UNITS[role]:
            raise ValueError(f"{role}_unit = {unit!r}: choose one of {', '.join(UNITS[role])}.")
    if decimal not in (None, ".", ","):
        raise ValueError(f"decimal = {decimal!r}: choose '.' or ','.")
    if not isinstance(source, str | bytes) and isinstance(source, np.ndarray):
        source = _array_text(source)
    name, text = text_of(source)
    table = _Table(text, separator, decimal)
    roles, notes = table.roles(columns)
    return _build(name, text, table, roles, notes, units)


def _array_text(array):
    if array.ndim != 2 or array.shape[1] < 2 or np.iscomplexobj(array):
        raise ValueError(
            f"an array of shape {array.shape} is not a table: give columns of frequency, magnitude "
            "and, perhaps, phase, or use Sweep.from_impedance(frequency, impedance)."
        )
    return "\n".join("\t".join(repr(float(v)) for v in row) for row in array) + "\n"


class _Table:
    """The lines of the text, sorted into rows of cells and the rest."""

    def __init__(self, text, separator=None, decimal=None):
        self.texts = re.split(r"\r\n|\r|\n|\x0b|\x0c|\u2028|\u2029|\x85", text)
        if self.texts and self.texts[-1] == "":
            self.texts.pop()
        self.kinds = ["blank" if not t.strip("\x00 \t,;") else "" for t in self.texts]
        self.why = [""] * len(self.texts)
        self.notes = []
        asked = _SEPARATORS.get(separator, separator)
        for i, line in enumerate(self.texts[:5]):
            if match := re.fullmatch(r'\s*"?sep=(.|\\t)"?\s*', line, re.IGNORECASE):
                asked = asked or _SEPARATORS.get(match[1], match[1])
                self.kinds[i] = "comment"
        self._choose(asked, decimal)
        self._sort()

    def _choose(self, asked, decimal):
        plain = [
            t for t, k in zip(self.texts, self.kinds, strict=True) if not k and not _marked(t, ",")
        ]
        sample = plain[:: max(1, len(plain) // 200)]
        if asked == ";" or asked is None or asked in (",", "\t", "|", "space"):
            allowed = None if asked is None else {asked, ", "} if asked == "," else {asked}
        else:
            sample, allowed = [t.replace(asked, "\t") for t in sample], {"\t"}
        self.separator, found = choose_layout([_trim(t) for t in sample], allowed)
        if asked is not None and allowed == {"\t"} and asked != "\t":
            self.separator = asked
        self.decimal = decimal or found

    def _cells(self, text):
        return [read_cell(c, self.decimal) for c in split_line(_trim(text), self.separator)]

    def _sort(self):
        self.rows = {}
        first = None
        for i, text in enumerate(self.texts):
            if self.kinds[i]:
                continue
            if _marked(text, self.separator):
                self.kinds[i] = "comment"
                continue
            cells = self._cells(text)
            if is_row(cells):
                self.rows[i] = cells
                first = i if first is None else first
            elif first is None:
                self.kinds[i] = "comment"
            else:
                self.kinds[i], self.why[i] = "set aside", "not a row of numbers"
        if len(self.rows) < 2:
            raise ValueError(self._no_table())
        widths = [len(cells) for cells in self.rows.values()]
        self.width = max(set(widths), key=lambda w: (widths.count(w), w))
        # A line of settings above the table may hold two numbers; the table starts where rows run on.
        for i in sorted(self.rows):
            if len(self.rows[i]) == self.width:
                break
            if sum(cell.kind == "text" for cell in self.rows[i]):
                self.kinds[i] = "comment"
                del self.rows[i]
        self._join_split_decimals()

    def _join_split_decimals(self):
        """Commas both between and inside numbers: 20,5,8,31. Two whole numbers make one."""
        if self.separator != "," or self.decimal != "." or self.width not in (4, 6):
            return
        texts = [[c.text.strip() for c in cells] for cells in self.rows.values()]
        if not all(
            len(row) == self.width
            and all(re.fullmatch(r"[+-]?\d+", c) for c in row[::2])
            and all(re.fullmatch(r"\d+", c) for c in row[1::2])
            for row in texts
        ):
            return
        header = self._headers()[-1:]
        named = header and len(split_line(header[0], ",")) == self.width // 2
        whole = np.array([int(row[0]) for row in texts])
        joined = np.array([float(f"{row[0]}.{row[1]}") for row in texts])
        places = {len(c) for row in texts for c in row[1::2]}
        repeats = np.any(np.diff(whole) == 0) or len(places) == 1
        if not named and not (np.all(np.diff(joined) > 0) and repeats):
            return
        self.notes.append(
            "commas are both the separator and the decimal mark: every two whole numbers were "
            "joined into one. Check a few rows, or save the table with semicolons"
        )
        for i, cells in self.rows.items():
            pairs = zip(cells[::2], cells[1::2], strict=True)
            self.rows[i] = [read_cell(f"{a.text.strip()}.{b.text.strip()}") for a, b in pairs]
        self.width //= 2

    def _headers(self):
        """The text lines just above the first row, marked as remarks or not."""
        first = min(self.rows)
        return [t for t, k in zip(self.texts[:first], self.kinds[:first], strict=True) if k == "comment"]

    def _no_table(self):
        shown = [
            f"line {i + 1} reads {text.strip()[:60]!r}"
            for i, text in enumerate(self.texts)
            if text.strip()
        ][:3]
        what = "; ".join(shown) if shown else "there is no text in it"
        found = "one row" if self.rows else "no row"
        return (
            f"no table of impedance found ({found} of numbers in {len(self.texts)} lines): {what}. "
            "Expected two rows or more such as '20.0, 6.31, 35.2': frequency in Hz, magnitude in Ω "
            "and, perhaps, phase in degrees, set apart by commas, semicolons, tabs or spaces."
        )

    def numbers(self):
        """Numbers of the table, shape (rows, width), NaN where a cell holds none."""
        table = np.full((len(self.rows), self.width), np.nan)
        for r, i in enumerate(sorted(self.rows)):
            cells = self.rows[i][: self.width]
            table[r, : len(cells)] = [cell.value for cell in cells]
        return table

    def roles(self, columns=None):
        """The columns by role, and notes on how that was found out."""
        if columns is not None:
            names = columns.replace(",", " ").split() if isinstance(columns, str) else columns
            named = tuple(Column(i, name) for i, name in enumerate(names) if name in ROLES)
            return self._complete(named, [*self.notes, "columns as asked for"])
        headers = self._headers()
        named = from_header(headers, self.separator, self.width)
        table = self.numbers()
        if named:
            known = [c for c in named if c.role in ROLES]
            usable = [c for c in known if np.isfinite(table[:, c.index]).any()]
            roles = {c.role for c in usable}
            if "frequency" in roles and roles & {"magnitude", "real"}:
                for i, text in enumerate(self.texts[: min(self.rows)]):
                    if self.kinds[i] == "comment" and text in headers[-3:]:
                        self.kinds[i] = "header"
                return self._complete(_first_of_each(usable), list(self.notes), named)
            if "frequency" in roles and any(c.role == "other" for c in named):
                texts = "; ".join(h.strip()[:60] for h in headers[-2:])
                raise ValueError(
                    f"the header names a frequency but no impedance: {texts!r}. Expected a column "
                    "such as 'Impedance (ohm)', '|Z|' or 'R' and 'X'. If one of the columns is the "
                    "magnitude in Ω all the same, say which: columns=('frequency', 'magnitude')."
                )
        guess, notes = from_numbers(table)
        merged = []
        for column in guess:
            head = next((c for c in named if c.index == column.index), None)
            units = UNITS.get(column.role, {})
            merged.append(Column(column.index, column.role, head.unit if head and head.unit in units else ""))
        notes = [*self.notes, *notes]
        if len(merged) >= 2:
            order = ", ".join(f"{c.index + 1} {c.role}" for c in merged)
            notes.append(f"no header tells the columns apart; taken as {order}")
        return self._complete(tuple(merged), notes)

    def _complete(self, columns, notes, named=()):
        roles = {c.role: c for c in columns}
        if "real" in roles and "imaginary" not in roles and "magnitude" not in roles:
            roles["magnitude"] = Column(roles["real"].index, "magnitude", roles.pop("real").unit)
            notes.append("one column of ohms and no imaginary part: read as magnitude")
        if "magnitude" in roles and ("phase" in roles or "imaginary" not in roles):
            roles.pop("real", None), roles.pop("imaginary", None)
        elif "imaginary" in roles and "real" in roles:
            roles.pop("magnitude", None), roles.pop("phase", None)
        if "frequency" not in roles or not ({"magnitude"} & roles.keys() or {"real", "imaginary"} <= roles.keys()):
            raise ValueError(
                f"cannot tell which column is which: found {', '.join(roles) or 'none'}. Expected "
                "frequency and magnitude, or frequency, real and imaginary; say so with "
                "columns=('frequency', 'magnitude', 'phase')."
            )
        if max(c.index for c in roles.values()) >= self.width:
            raise ValueError(f"columns names more columns than the table has ({self.width}).")
        extra = [c.index + 1 for c in named if c.index not in {r.index for r in roles.values()}]
        if extra:
            notes.append(f"columns not used: {', '.join(map(str, extra))}")
        units = {cell.measures for cells in self.rows.values() for cell in cells} - {""}
        if "frequency" in units and not roles["frequency"].unit:
            roles["frequency"] = Column(roles["frequency"].index, "frequency", "Hz")
        return roles, notes


def _first_of_each(columns):
    first = {}
    for column in columns:
        first.setdefault(column.role, column)
    return tuple(first.values())


def _marked(text, separator):
    """True if the line is a remark by its first mark."""
    bare = text.lstrip(" \t\x00")
    if bare.startswith(("-", "'", "$", ">", "!", "*")) and re.match(r"[-'$>!*]\s*[.,]?\d", bare):
        return not bare.startswith("-")
    return any(bare.startswith(m) for m in MARKERS if not (m == ";" and separator == ";"))


def _trim(text):
    """The line without a remark at its end and without stray zero bytes."""
    return re.split(r"\s(?:#|//|%|!)", text.replace("\x00", ""), maxsplit=1)[0].strip(" \r\n")


def _build(name, text, table, roles, notes, asked):
    """Turn the rows into a Sweep, setting aside, with the reason, those that cannot be used."""
    indices = sorted(table.rows)
    values = {role: np.full(len(indices), np.nan) for role in roles}
    for r, i in enumerate(indices):
        for role, column in roles.items():
            if column.index < len(table.rows[i]):
                values[role][r] = table.rows[i][column.index].value * column.sign
    bad = _scale(values, roles, notes, asked)
    why = np.array([""] * len(indices), dtype=object)
    frequency = values["frequency"]
    phase = values.get("phase")
    if "real" in roles:
        z = values["real"] + 1j * values["imaginary"]
        magnitude, phase = np.abs(z), np.degrees(np.angle(z))
    else:
        magnitude = values["magnitude"]
    if phase is not None and np.isnan(phase).mean() > 0.5:
        notes.append("most rows have no phase: read as magnitude only")
        phase = None
    if phase is not None:
        why[np.isnan(phase)] = "no phase, while other rows have one"
    why[~(magnitude > 0)] = "magnitude is zero or below"
    why[np.isnan(magnitude)] = "no number for the magnitude"
    why[~(frequency > 0)] = "frequency is zero or below"
    why[np.isnan(frequency)] = "no number for the frequency"
    why[bad] = "a number too large to be used"
    for r, i in enumerate(indices):
        table.kinds[i] = "set aside" if why[r] else "data"
        table.why[i] = why[r]
    good = why == ""
    if good.sum() < 2:
        reasons = "; ".join(f"line {i + 1} {table.texts[i].strip()[:60]!r}: {why[r]}"
                            for r, i in list(enumerate(indices))[:3] if why[r])
        raise ValueError(
            f"a sweep needs two usable rows or more, found {good.sum()} of {len(indices)}: {reasons}."
            " Expected a frequency in Hz and a magnitude in Ω, both above zero."
        )
    frequency, magnitude = frequency[good], magnitude[good]
    phase = None if phase is None else _wrap(phase[good], notes)
    frequency, magnitude, phase = _merge(frequency, magnitude, phase, notes)
    aside = int((~good).sum()) + sum(k == "set aside" for i, k in enumerate(table.kinds) if i not in table.rows)
    if aside:
        notes.append(f"{aside} line{'s' if aside > 1 else ''} set aside: see .set_aside")
    _plausible(frequency, magnitude)
    lines = tuple(
        Line(i + 1, t, table.kinds[i] or "comment", table.why[i]) for i, t in enumerate(table.texts)
    )
    return Sweep(frequency, magnitude, phase, name, tuple(notes), lines, text)


def _scale(values, roles, notes, asked):
    """Bring each column to Hz, Ω and degrees in place; return a mask of the rows that overflow."""
    with np.errstate(over="ignore", invalid="ignore"):
        for role, column in roles.items():
            unit = asked.get("magnitude" if role in ("real", "imaginary") else role) or column.unit
            if role == "frequency":
                unit = unit or _frequency_unit(values[role], notes)
            if role == "phase":
                unit = unit or _phase_unit(values, notes)
            if unit == "dB":
                if not asked.get("magnitude"):
                    notes.append("magnitude headed in dB: read as dB re 1 Ω")
                    warnings.warn(
                        "the magnitude is headed in dB: read as dB re 1 Ω (20 dB is 10 Ω). If it is "
                        "in Ω, pass magnitude_unit='ohm'.",
                        UnitWarning,
                        stacklevel=4,
                    )
                values[role] = 10 ** (values[role] / 20)
            elif unit:
                values[role] = values[role] * UNITS[role][unit]
                if unit not in ("Hz", "ohm", "deg"):
                    notes.append(f"{role} converted from {unit}")
    bad = np.zeros(len(values["frequency"]), dtype=bool)
    for role, column in values.items():
        limit = 1e12 if role != "phase" else 1e6
        wild = np.isinf(column) | (np.abs(column) > limit)
        column[wild] = np.nan
        bad |= wild
    return bad


def _frequency_unit(values, notes):
    used = values[values > 0]
    if len(used) and used.max() <= 100 and used.min() < 0.5:
        notes.append("frequency taken as kHz by its range")
        warnings.warn(
            f"frequencies run from {used.min():g} to {used.max():g} with no unit: read as kHz. If "
            "they are in Hz, pass frequency_unit='Hz'.",
            UnitWarning,
            stacklevel=5,
        )
        return "kHz"
    return "Hz"


def _phase_unit(values, notes):
    """Degrees, unless the numbers stay within ±π/2 and swing as radians do.

    Phase and slope of the magnitude go together: about π/2 radian for each 6 dB per octave (Bode's
    relation, from memory). Degrees would be fifty times as large.
    """
    phase, magnitude, frequency = values["phase"], values.get("magnitude"), values["frequency"]
    good = np.isfinite(phase) & (frequency > 0)
    if magnitude is None or good.sum() < 5 or np.abs(phase[good]).max() > 1.6:
        return "deg"
    good &= magnitude > 0
    order = np.argsort(frequency[good], kind="stable")
    f, z, p = (v[good][order] for v in (frequency, magnitude, phase))
    f, keep = np.unique(f, return_index=True)
    if len(f) < 5:
        return "deg"
    slope = np.pi / 2 * np.gradient(np.log(z[keep]), np.log(f))
    if np.median(np.abs(p[keep])) * 8 < np.median(np.abs(slope)):
        return "deg"
    notes.append("phase taken as radians by its range")
    warnings.warn(
        "the phase stays within ±1.6: read as radians. If it is in degrees, pass phase_unit='deg'.",
        UnitWarning,
        stacklevel=5,
    )
    return "rad"


def _wrap(phase, notes):
    if np.abs(phase).max(initial=0) > 180:
        notes.append("phase brought into ±180 degrees")
        return (phase + 180) % 360 - 180
    return phase


def _merge(frequency, magnitude, phase, notes):
    """Sort by frequency and average the rows that share one."""
    if np.any(np.diff(frequency) < 0):
        falling = np.all(np.diff(frequency) <= 0)
        notes.append("rows ran from high to low" if falling else "rows were not in order: sorted")
    unique, place, count = np.unique(frequency, return_inverse=True, return_counts=True)
    if len(unique) < len(frequency):
        again = int((count > 1).sum())
        notes.append(f"{again} frequencies appear more than once: averaged")
        if phase is not None:
            z = magnitude * np.exp(1j * np.radians(phase))
            z = np.bincount(place, z.real) / count + 1j * np.bincount(place, z.imag) / count
            once = (np.bincount(place, magnitude) / count, np.bincount(place, phase) / count)
            single = count == 1
            return (
                unique,
                np.where(single, once[0], np.maximum(np.abs(z), 1e-12)),
                np.where(single, once[1], np.degrees(np.angle(z))),
            )
        return unique, np.bincount(place, magnitude) / count, None
    order = np.argsort(frequency, kind="stable")
    return frequency[order], magnitude[order], None if phase is None else phase[order]


def _plausible(frequency, magnitude):
    middle = float(np.median(magnitude))
    if middle > 1000 or middle < 0.05:
        warnings.warn(
            f"magnitudes are about {middle:.3g} Ω, which no loudspeaker has. If they are in mΩ or "
            "kΩ, pass magnitude_unit='mohm' or 'kohm'.",
            UnitWarning,
            stacklevel=4,
        )
    if frequency.max() < 5:
        warnings.warn(
            f"the sweep ends at {frequency.max():g} Hz. If it is in kHz, pass frequency_unit='kHz'.",
            UnitWarning,
            stacklevel=4,
        )
