"""The lines of a text sorted into the rows of a table and the rest."""

from __future__ import annotations

import re
from collections import Counter

import numpy as np

from boxlab.measure.read.cells import (
    FARTHEST,
    choose_layout,
    is_row,
    marked,
    read_cell,
    split_line,
    trimmed,
)
from boxlab.measure.read.columns import from_header, names_impedance

CHUNK = 1000  # lines that are read at once where they are plain
WIDEST = 64  # columns
READ = 2000  # cells of a line that are read, so that a page of numbers in one line is soon refused
_SEPARATORS = {"tab": "\t", "\\t": "\t", "comma": ",", "semicolon": ";", "space": "space"}


class Table:
    """The lines of the text, sorted into rows of cells and the rest."""

    def __init__(self, text, separator=None, decimal=None):
        self.whole = text.endswith(("\n", "\r"))
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
            t for t, k in zip(self.texts, self.kinds, strict=True) if not k and not marked(t, ",")
        ]
        sample = [t[:4000] for t in plain[:: max(1, len(plain) // 200)]]
        if asked == ";" or asked is None or asked in (",", "\t", "|", "space"):
            allowed = None if asked is None else {asked, ", "} if asked == "," else {asked}
        else:
            sample, allowed = [t.replace(asked, "\t") for t in sample], {"\t"}
        self.separator, found = choose_layout([trimmed(t) for t in sample], allowed)
        if asked is not None and allowed == {"\t"} and asked != "\t":
            self.separator = asked
        self.decimal = decimal or found

    def _cells(self, text):
        parts = split_line(trimmed(text), self.separator)
        return [read_cell(c, self.decimal) for c in parts[:READ]]

    def _sort(self):
        """Sort the lines; `cells` keeps those read one by one, `_blocks` numbers by line."""
        self.cells, self._blocks = {}, []
        begun = False
        for start in range(0, len(self.texts), CHUNK):
            stop = min(start + CHUNK, len(self.texts))
            block = self._quick(start, stop) if begun else None
            if block is not None:
                self._blocks.append((np.arange(start, stop), block))
                continue
            for i in range(start, stop):
                if self.kinds[i]:
                    continue
                if marked(self.texts[i], self.separator):
                    self.kinds[i] = "comment"
                    continue
                cells = self._cells(self.texts[i])
                if is_row(cells):
                    self.cells[i] = cells
                    self._blocks.append((np.array([i]), np.array([[c.value for c in cells]])))
                    begun = True
                else:
                    self.kinds[i] = "text"
        if sum(len(where) for where, _ in self._blocks) < 2:
            raise ValueError(self._no_table())
        counts = Counter()
        for where, block in self._blocks:
            counts[block.shape[1]] += len(where)
        self.width = max(counts, key=lambda w: (counts[w], w))
        if self.width > WIDEST:
            more = " or more" if self.width == READ else ""
            raise ValueError(
                f"this table has {self.width} columns{more}. Expected a row for each frequency, "
                "with magnitude and, perhaps, phase beside it; turn the table on its side."
            )
        self._begin()
        self._join_split_decimals()

    def _begin(self):
        """Find where the table begins: settings above it may look like rows of it.

        It begins after the line that names columns, if no more than three rows stand above that
        line, and after rows of fewer numbers with words between them.
        """
        indices = self.indices()
        rows = [i for i in indices[:9] if not self._is_setting(i)] or indices[:1]
        first = rows[0]
        for i in range(first, rows[min(3, len(rows) - 1)]):
            if self.kinds[i] in ("text", "comment") and names_impedance(
                from_header([self.texts[i]], self.separator, self.width)
            ):
                first = min(indices[indices > i])
        self._blocks = [each for each in self._blocks if each[0][0] >= first]
        self.cells = {i: cells for i, cells in self.cells.items() if i >= first}
        for i, kind in enumerate(self.kinds):
            if i < first and kind != "blank":
                self.kinds[i] = "comment"
            elif kind == "text":
                self.kinds[i], self.why[i] = "set aside", "not a row of numbers"

    def _is_setting(self, i):
        cells = self.cells.get(i, ())
        words = sum(cell.kind == "text" for cell in cells)
        return words > 0 and len(cells) != self.width and len(cells) - words < self.width

    def _quick(self, start, stop):
        """Numbers of some lines at once where they are plain rows of one width; else None."""
        if self.decimal == "," and self.separator in (",", ", "):
            return None
        if any(self.kinds[start:stop]) or (self.separator == "," and self._may_join()):
            return None
        part = self.separator if self.separator in ("\t", ";", ",", "|") else None
        lines = self.texts[start:stop]
        if part:
            lines = [line.rstrip(part + " \r") for line in lines]
        if any(len(line) > 500 for line in lines):
            return None
        if self.decimal == ",":
            lines = [line.replace(",", ".") for line in lines]
        elif part is None and any("," in line for line in lines):
            return None
        try:
            block = np.loadtxt(lines, delimiter=part, ndmin=2, comments=None)
        except ValueError:
            return None
        if block.shape[0] != stop - start or block.shape[1] < 2:
            return None
        block[~(np.abs(block) < FARTHEST)] = np.nan
        enough = np.isfinite(block).sum(axis=1) + np.isnan(block).any(axis=1) >= 2
        return block if enough.all() and np.isfinite(block).any(axis=1).all() else None

    def _may_join(self):
        """Whether the rows so far look as if commas did both jobs."""
        return all(
            len(cells) in (4, 6) and all(re.fullmatch(r"[+-]?\d+", c.text.strip()) for c in cells)
            for cells in self.cells.values()
        )

    def first(self):
        """The number of the line where the table begins."""
        return min(int(where[0]) for where, _ in self._blocks)

    def indices(self):
        """Numbers of the lines that are rows, in order."""
        return np.sort(np.concatenate([where for where, _ in self._blocks]))

    def _join_split_decimals(self):
        """Commas both between and inside numbers: 20,5,8,31. Two whole numbers make one."""
        if self.separator != "," or self.decimal != "." or self.width not in (4, 6):
            return
        if len(self.cells) < sum(len(where) for where, _ in self._blocks):
            return
        texts = [[c.text.strip() for c in cells] for cells in self.cells.values()]
        if not all(
            len(row) == self.width
            and all(re.fullmatch(r"[+-]?\d+", c) for c in row[::2])
            and all(re.fullmatch(r"\d+", c) for c in row[1::2])
            for row in texts
        ):
            return
        header = self.headers()[-1:]
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
        for i, cells in self.cells.items():
            pairs = zip(cells[::2], cells[1::2], strict=True)
            self.cells[i] = [read_cell(f"{a.text.strip()}.{b.text.strip()}") for a, b in pairs]
        self._blocks = [
            (np.array([i]), np.array([[c.value for c in cells]])) for i, cells in self.cells.items()
        ]
        self.width //= 2

    def cut_short(self):
        """Whether the text ends within the last number: no line break, fewer characters."""
        rows = self.indices()[-40:]
        if self.whole or len(rows) < 8 or rows[-1] != len(self.texts) - 1:
            return False
        *others, last = [split_line(trimmed(self.texts[i]), self.separator)[-1] for i in rows]
        return len(last.strip()) < min(len(cell.strip()) for cell in others)

    def headers(self):
        """The text lines just above the first row, marked as remarks or not."""
        first = self.first()
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
        found = "one row" if self._blocks else "no row"
        return (
            f"no table of impedance found ({found} of numbers in {len(self.texts)} lines): {what}. "
            "Expected two rows or more such as '20.0, 6.31, 35.2': frequency in Hz, magnitude in Ω "
            "and, perhaps, phase in degrees, set apart by commas, semicolons, tabs or spaces."
        )

    def numbers(self):
        """Numbers of the table, shape (rows, width), NaN where a cell holds none."""
        where = np.concatenate([lines for lines, _ in self._blocks])
        table = np.full((len(where), self.width), np.nan)
        at = 0
        for lines, block in self._blocks:
            wide = min(self.width, block.shape[1])
            table[at : at + len(lines), :wide] = block[:, :wide]
            at += len(lines)
        return table[np.argsort(where, kind="stable")]
