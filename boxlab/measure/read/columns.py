"""Which column of a table is what: from its header, its units, or the way its numbers run."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from boxlab.measure.read.cells import ascii_units, split_line

ROLES = ("frequency", "magnitude", "phase", "real", "imaginary", "uncertainty")

# Order matters: "phase of impedance" is a phase, "Re(Z)" is a real part, and so on.
_WORDS = (
    (
        r"spl|pressure|level|sound|coheren|error|stdev|std\b|thd|distort|delay|time\b|index|^n$|^#$|"
        r"volt|current|power|excurs|displac|travel|cone|temp|^no\.?$|row|\b[rxzcl]p\b|\b[lc] ?s\b|"
        r"^[ui](?:\W|$)|[\[(] ?(?:[mµuk]?(?:v|a|w|s|pa)|mm)(?: ?rms)? ?[\])]$|/ ?m?[va]$",
        "other",
    ),
    (r"^uncertainty", "uncertainty"),
    (r"freq|fréq|frek|frec|częst|taajuus|hertz|hz\b|omega|rad/s|(^|\W)f(\W|$|_)|ω", "frequency"),
    (r"z'' ?|z″", "imaginary"),
    (r"z'|z′", "real"),
    (
        r"phas|fase|^p$|faza|vaihe|\bph\b|angle|winkel|\barg|theta|[θφϕϑ]|degree|\bdeg\b|\brad\b",
        "phase",
    ),
    (r"imag|\bz ?im?\b|\bim\b|im[({z]|react|blind|\bxs?\b", "imaginary"),
    (r"real|\bz ?re?\b|\bre\b|re[({z]|resist|wirk|\brs?\b", "real"),
    (
        r"imp|\bz\d*\b|\|z|zabs|zmag|mag|modul|\bmod\b|\babs|betrag|ohm|amplitu|\bzmod\b|z\(",
        "magnitude",
    ),
)
_UNITS = (
    (r"rad/s|rad s|omega|s\^?-1", "rad/s"),
    (r"khz|kilohertz", "kHz"),
    (r"hz|hertz", "Hz"),
    (r"milli-?ohm|\bm ?ohm|[\[(]mohm", "mohm"),
    (r"kilo-?ohm|\bk ?ohm", "kohm"),
    (r"db", "dB"),
    (r"ohm", "ohm"),
    (r"deg|grad\b", "deg"),
    (r"rad", "rad"),
)
UNITS = {
    "frequency": {"Hz": 1.0, "kHz": 1e3, "rad/s": 1 / (2 * math.pi)},
    "magnitude": {"ohm": 1.0, "mohm": 1e-3, "kohm": 1e3, "dB": math.nan},
    "phase": {"deg": 1.0, "rad": 180 / math.pi},
    "real": {"ohm": 1.0, "mohm": 1e-3, "kohm": 1e3},
    "imaginary": {"ohm": 1.0, "mohm": 1e-3, "kohm": 1e3},
    "uncertainty": {"ohm": 1.0, "mohm": 1e-3, "kohm": 1e3},
}


_NUMBER = re.compile(r"[+-]?\d[\d.,]*(?:e[+-]?\d+)?", re.IGNORECASE)
_UNIT_ALONE = re.compile(
    r"[\[(]? ?(?:k?hz|rad/s|[mk]?ohms?|db|deg(?:rees)?|rad|-|) ?[\])]?", re.IGNORECASE
)


def _plain(text):
    return ascii_units(text.strip().strip('"')).lower().replace("_", " ").strip()


@dataclass(frozen=True)
class Column:
    """A column's place in the table, its role, its unit ("" where none is given) and its sign."""

    index: int
    role: str
    unit: str = ""
    sign: float = 1.0


def _name_column(text):
    """Return the `(role, unit, sign)` that a header cell announces; "" where it does not say.

    >>> _name_column("Freq. [kHz]"), _name_column("|Z| / Ω"), _name_column("-Im(Z) (ohm)")
    (('frequency', 'kHz', 1.0), ('magnitude', 'ohm', 1.0), ('imaginary', 'ohm', -1.0))
    """
    plain = _plain(text)
    sign = -1.0 if re.match(r"[\[(]?-\s*[a-z]", plain) else 1.0
    unit = next((unit for pattern, unit in _UNITS if re.search(pattern, plain)), "")
    role = next((role for pattern, role in _WORDS if re.search(pattern, plain)), "")
    if unit not in UNITS.get(role, {unit: 1}):
        unit = ""
    return role, unit, sign


def from_header(headers: Sequence[str], separator: str, count: int) -> tuple[Column, ...]:
    """Columns announced by header lines (the nearest to the table last), or () if they say nothing.

    `headers` are lines of text; `count` is the number of columns in the table and `separator` what
    parts them. A second line with the units alone adds to the first.

    >>> [(c.role, c.unit) for c in from_header(["f;|Z|;phase", "kHz;Ohm;deg"], ";", 3)]
    [('frequency', 'kHz'), ('magnitude', 'ohm'), ('phase', 'deg')]
    """
    lines = [cells for line in headers[-3:] if (cells := _header_cells(line, separator, count))]
    if not lines:
        return ()
    # The line nearest to the numbers counts, with units beside it and the same names above it.
    found = [lines.pop()]
    while lines and (
        _units_alone(lines[-1])
        or all(_units_alone(cells) for cells in found)
        or [_name_column(c)[0] for c in lines[-1]] == [_name_column(c)[0] for c in found[-1]]
    ):
        found.insert(0, lines.pop())
    columns = []
    for index in range(count):
        texts = [cells[index] for cells in found if index < len(cells)]
        together = _name_column(" ".join(texts))
        own = [_name_column(text) for text in texts]
        role = next((r for r, _, _ in own if r and r != "other"), together[0])
        if together[0] == "other":
            role = "other"
        unit = next((u for _, u, _ in reversed(own) if u in UNITS.get(role, {})), "")
        unit = unit or _bare_unit(texts, role)
        sign = min((s for _, _, s in own), default=1.0)
        columns.append(Column(index, role, unit, sign))
    return tuple(columns) if any(column.role for column in columns) else ()


def _units_alone(cells):
    return all(_UNIT_ALONE.fullmatch(_plain(cell)) for cell in cells)


def names_impedance(columns: Iterable[Column]) -> bool:
    """Whether the `columns` hold a frequency and an impedance.

    >>> [names_impedance(from_header([head], ",", 2)) for head in ("f,|Z|", "f,SPL", "Hz,Re(Z)")]
    [True, False, True]
    """
    roles = {column.role for column in columns}
    return "frequency" in roles and bool(roles & {"magnitude", "real"})


def _bare_unit(texts, role):
    for text in reversed(texts):
        plain = ascii_units(text).lower()
        for pattern, unit in _UNITS:
            if unit in UNITS.get(role, {}) and re.search(pattern, plain):
                return unit
    return ""


def _header_cells(line, separator, count):
    """Split a header line to match the table's columns; None if it names nothing or cannot match.

    Headers of tables set with spaces have spaces inside their names: try the table's separator,
    then wide gaps, then units in brackets joined to the word before, then the known words in turn.
    """
    bare = line.strip().lstrip("#%*!;/'$> ").strip()
    if len(bare) > 2000:
        return None
    # The bars of |Z| part no columns.
    bars = r"(?:^(?=\|Z\w*\|)|(?<=\|))\|" if separator == "|" else r"\|"
    bare = re.sub(bars + r"\s*([A-Za-z]\w*)\s*\|", r"abs(\1)", bare)
    joined = re.sub(r"(?<!\s)\s+(?=[\[(])", "", bare)
    for cells in (
        split_line(bare, separator),
        re.split(r"\t|;|\||,(?=\s|[^\d])", bare),
        re.split(r"\s{2,}|\t", bare),
        joined.split(),
    ):
        cells = [cell for cell in cells if cell.strip()] if separator == "space" else cells
        if any(_NUMBER.fullmatch(cell.strip()) for cell in cells):
            continue  # a remark with a number in it names no columns
        if len(cells) == count and sum(bool(_name_column(cell)[0]) for cell in cells) >= 1:
            return cells
        names = [_name_column(cell)[0] for cell in cells]
        if 2 <= len(cells) < count and all(names):
            return cells  # the last columns have no name
    words, roles = [], []
    if any(_NUMBER.fullmatch(word) for word in joined.split()):
        return None
    for word in joined.split():
        role = _name_column(word)[0]
        if role and (not roles or role != roles[-1]):
            words.append(word)
            roles.append(role)
        elif words:
            words[-1] += " " + word
    if len(words) == count and len(set(roles)) == len(roles) and len(words) >= 2:
        return words
    return None


def from_numbers(table: np.ndarray) -> tuple[tuple[Column, ...], list[str]]:
    """Guess the columns of a `table` without header, shape (rows, columns), NaN where not a number.

    The frequency is the column that only climbs (or only falls); if none does, the one against
    which the others run most smoothly. Magnitude comes next, then phase. Returns (columns, notes).

    >>> f = np.geomspace(20, 200, 9)
    >>> columns, notes = from_numbers(np.stack([np.arange(9), f, 5 + f / 9, 50 - f / 4], axis=1))
    >>> print([(c.index, c.role) for c in columns], *notes, sep="\\n")
    [(1, 'frequency'), (2, 'magnitude'), (3, 'phase')]
    column 1 only counts the rows and is left out
    """
    numeric = [i for i in range(table.shape[1]) if np.isfinite(table[:, i]).mean() > 0.5]
    notes = []
    if len(numeric) < 2:
        return (), notes
    share = {i: climbs(table[:, i]) for i in numeric}
    steady = [i for i in numeric if share[i] == 1 or (share[i] > 0.97 and len(table) > 20)]
    steady = steady or [i for i in numeric if share[i] > 0.8][:1]
    if len(steady) > 1 and counts_rows(table[:, steady[0]]):
        notes.append(f"column {steady[0] + 1} only counts the rows and is left out")
        numeric.remove(steady.pop(0))
    if len(table) < 8:  # too few rows to go by; the usual order is likelier
        frequency = numeric[0]
    elif steady:
        frequency = steady[0]
    else:
        rough = {i: _roughness(table, i, numeric) for i in numeric}
        frequency = min(numeric, key=lambda i: (round(rough[i], 1), i))
    rest = [i for i in numeric if i != frequency]
    if not rest:
        return (), notes
    columns = [Column(frequency, "frequency"), Column(rest[0], "magnitude")]
    if len(rest) > 1:
        magnitude, third = table[:, rest[0]], table[:, rest[1]]
        bad_phase = np.nanmean(np.abs(third) > 361) > 0 or np.nanmean(magnitude < 0) > 0.02
        beyond = np.nanmean((np.abs(third) > 92) & (np.abs(third) < 268)) > 0.05
        passive = np.nanmean(magnitude > 0) > 0.98
        if beyond and passive and np.nanmin(third) < 0:
            columns = [columns[0], Column(rest[0], "real"), Column(rest[1], "imaginary")]
            notes.append(
                "the third column goes past ±90, which no loudspeaker's phase in degrees does: "
                "read as real and imaginary parts, Ω"
            )
        elif not bad_phase:
            columns.append(Column(rest[1], "phase"))
    unused = [i + 1 for i in rest if i not in {column.index for column in columns}]
    if unused:
        notes.append(f"columns not used: {', '.join(map(str, unused))}")
    return tuple(columns), notes


def climbs(values: np.ndarray) -> float:
    """Share of the steps that go one way; repeated values count for neither.

    >>> round(float(climbs(np.array([1.0, 2.0, 3.0, 2.0]))), 2)
    0.67

    Parameters
    ----------
    values : shape (n,)
    """
    steps = np.diff(values[np.isfinite(values) & (values > 0)])
    if len(steps) == 0:
        return 0.0
    return max(np.mean(steps > 0), np.mean(steps < 0))


def counts_rows(values: np.ndarray) -> bool:
    """Whether the column only numbers the rows, from 0 or 1.

    >>> bool(counts_rows(np.arange(5.0)))
    True

    Parameters
    ----------
    values : shape (n,)
    """
    values = values[np.isfinite(values)]
    return bool(len(values) and values[0] in (0, 1) and np.all(np.diff(values) == 1))


def _roughness(table, index, numeric):
    """Mean step of the other columns against their spread, with the rows sorted by this column."""
    rows = table[np.isfinite(table[:, numeric]).all(axis=1)]
    rows = rows[rows[:, index] > 0]
    if len(rows) < 3:
        return math.inf
    rows = rows[np.argsort(rows[:, index], kind="stable")]
    total = 0.0
    for other in numeric:
        if other != index:
            spread = np.ptp(rows[:, other]) or 1.0
            total += np.mean(np.abs(np.diff(rows[:, other]))) / spread
    return total / max(len(numeric) - 1, 1)
