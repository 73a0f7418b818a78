"""The lines of a text sorted into the rows of a table and the rest."""

from __future__ import annotations

import re

import numpy as np

from boxlab.sweep.cells import MARKERS, choose_layout, is_row, read_cell, split_line
from boxlab.sweep.columns import ROLES, UNITS, Column, from_header, from_numbers

_SEPARATORS = {"tab": "\t", "\\t": "\t", "comma": ",", "semicolon": ";", "space": "space"}


class Table:
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
        # A line of settings above the table may hold two numbers: the table begins after it.
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
        return [
            t for t, k in zip(self.texts[:first], self.kinds[:first], strict=True) if k == "comment"
        ]

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
            merged.append(
                Column(column.index, column.role, head.unit if head and head.unit in units else "")
            )
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
        if "frequency" not in roles or not (
            {"magnitude"} & roles.keys() or {"real", "imaginary"} <= roles.keys()
        ):
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
