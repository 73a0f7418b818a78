"""Splitting the lines of a table into cells, and cells into numbers."""

from __future__ import annotations

import math
import re
from collections import Counter
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from itertools import pairwise

# Marks that make the rest of a line a remark. A semicolon only where it is not the separator.
MARKERS = ("#", "//", "%", "!", "*", "$", ">", "--", "==", "'", "rem ", "REM ", "Rem ", ";")

_PLAIN = {
    ".": re.compile(r"[+-]?(\d++\.?\d*+|\.\d++)(e[+-]?\d++)?"),
    ",": re.compile(r"[+-]?(\d++,?\d*+|,\d++)(e[+-]?\d++)?"),
}
_GROUPED = {  # thousands in groups of three: 1,234.5 or 1 234.5, and 1.234,5
    ".": re.compile(r"[+-]?\d{1,3}([,' \u00a0\u2009\u202f])\d{3}(\1\d{3})*(\.\d*)?"),
    ",": re.compile(r"[+-]?\d{1,3}([.' \u00a0\u2009\u202f])\d{3}(\1\d{3})*(,\d*)?"),
}
_UNIT = re.compile(r"(.*[\d.,])\s*([a-zA-ZΩ\u2126°º]+)")

LONGEST = 64  # characters of a cell that may be a number
FARTHEST = 1e100  # no measured value is as large, and squares of what is below are finite

# Cells that say "there is no value here".
_MISSING = re.compile(
    r"[+-]?(nan|inf(inity)?|∞|n/?a|#n/?a|null|none|nil|ol|o\.l\.?|over|#\w+[/!?]*\d*[!?]?|-+|—|–|\?+|"
    r"1\.#\w+)?",
    re.IGNORECASE,
)

# Unit written behind a number: what it measures, and its size in Hz, Ω or degrees.
SUFFIXES = {
    "hz": ("frequency", 1.0),
    "khz": ("frequency", 1e3),
    "k": ("", 1e3),
    "ohm": ("ohm", 1.0),
    "ohms": ("ohm", 1.0),
    "kohm": ("ohm", 1e3),
    "kohms": ("ohm", 1e3),
    "mohm": ("ohm", 1e-3),
    "mohms": ("ohm", 1e-3),
    "deg": ("phase", 1.0),
    "degrees": ("phase", 1.0),
    "rad": ("phase", 180 / math.pi),
}


@dataclass(frozen=True)
class Cell:
    """One cell: its number (NaN where the cell is there but holds none), or only its text."""

    text: str
    value: float = math.nan
    kind: str = "text"  # "number", "missing" or "text"
    measures: str = ""  # from a unit behind the number
    grouped: bool = False  # read with thousands marks


def ascii_units(text: str) -> str:
    """Write Ω as ohm, ° as deg and the typographic minus as a hyphen.

    >>> ascii_units("Ω, 45°")
    'ohm, 45deg'

    Parameters
    ----------
    text : as it stands in the file
    """
    if text.isascii():
        return text
    for mark, plain in (("Ω", "ohm"), ("\u2126", "ohm"), ("°", "deg"), ("º", "deg")):
        text = text.replace(mark, plain)
    return text.replace("\u2212", "-")


def read_cell(text: str, decimal: str = ".") -> Cell:
    """Read the `text` of one cell with the given `decimal` mark, "." or ",".

    >>> read_cell("1.234,5", ",").value, read_cell("8.1 Ω").value, read_cell("NaN").kind
    (1234.5, 8.1, 'missing')
    """
    bare = text.strip().strip('"').strip()
    if len(bare) > LONGEST:
        return Cell(text)
    if _MISSING.fullmatch(bare):
        return Cell(text, kind="missing")
    plain = ascii_units(bare).lower()
    measures, scale = "", 1.0
    number = _number(plain, decimal)
    if number is None and (match := _UNIT.fullmatch(plain)) and match[2] in SUFFIXES:
        number = _number(match[1].strip(), decimal)
        measures, scale = SUFFIXES[match[2]]
    if number is None:
        return Cell(text)
    value, grouped = number
    if not abs(value) < FARTHEST:
        return Cell(text, kind="missing")
    return Cell(text, value * scale, "number", measures, grouped)


def _number(text, decimal):
    if "d" in text:  # 1.0D+02, as older programs print it
        text = re.sub(r"(?<=[\d.,])d(?=[+-]?\d)", "e", text)
    if _PLAIN[decimal].fullmatch(text):
        return float(text.replace(",", ".")), False
    if match := _GROUPED[decimal].fullmatch(text):
        return float(text.replace(match[1], "").replace(",", ".")), True
    return None


def split_line(line: str, separator: str) -> list[str]:
    """Split a line at the separator ("space" for any white space, ", " for a comma and a space).

    Text in double quotes stays together. A separator at the very end adds no cell.

    >>> split_line("1;2; 3", ";"), split_line("1  2", "space")
    (['1', '2', ' 3'], ['1', '2'])

    Parameters
    ----------
    line : one line
    separator : its separator, or "space"
    """
    if separator == "space":
        return re.findall(r'"[^"]*"|\S+', line)
    if separator == ", ":
        cells = re.split(r",\s+", line.strip())
        cells[-1] = cells[-1].rstrip(",")
    elif '"' in line:
        cells = re.findall(
            rf'((?:"[^"]*"|[^"{re.escape(separator)}])*)(?:{re.escape(separator)}|$)', line
        )
        cells = cells[:-1] if len(cells) > 1 and cells[-1] == "" else cells
    else:
        cells = line.split(separator)
    while len(cells) > 1 and not cells[-1].strip():
        cells.pop()
    return cells


# Separator and decimal mark in order of preference, where several would do equally well.
LAYOUTS = tuple(
    (separator, decimal)
    for separator in ("\t", ";", "|", "space", ", ", ",")
    for decimal in (".", ",")
    if (separator, decimal) != (", ", ".")
)


def choose_layout(
    lines: Sequence[str], separators: Collection[str] | None = None
) -> tuple[str, str]:
    """Find the separator and decimal mark under which most `lines` read as rows of numbers.

    Ties go to the reading with the least text between the numbers, then to the one in which some
    column climbs most steadily (as a frequency does), then to the one that needs no thousands mark.
    Where `separators` are given, it is one of these.

    >>> choose_layout(["20,5;6,31", "25,0;8,10"]), choose_layout(["20.5, 6.31", "25.0, 8.10"])
    ((';', ','), (',', '.'))
    """
    best, chosen = None, (",", ".")
    for rank, (separator, decimal) in enumerate(LAYOUTS):
        if separators and separator not in separators:
            continue
        parts = (split_line(line, separator) for line in lines)
        rows = [[read_cell(c, decimal) for c in part] for part in parts if len(part) > 1]
        rows = [row for row in rows if is_row(row)]
        if not rows:
            continue
        # Rows of the commonest make-up count: a line cut off or a remark must not outvote a table.
        makes = [(len(row), sum(cell.kind == "text" for cell in row)) for row in rows]
        usual = Counter(makes).most_common(1)[0][0]
        rows = [row for row, make in zip(rows, makes, strict=True) if make == usual]
        grouped = sum(cell.grouped for row in rows for cell in row)
        text = usual[1] * len(rows)
        clean = len(rows) - text / usual[0]
        score = (round(clean, 6), -text, round(_steadiness(rows), 2), -grouped, -rank)
        if best is None or score > best:
            best, chosen = score, (separator, decimal)
    return chosen


def is_row(cells: Sequence[Cell]) -> bool:
    """True if the `cells` look like a row of a table: two numbers or more and no more text.

    >>> [is_row([read_cell(c) for c in line.split()]) for line in ("20 6.3", "20 NaN", "made 26")]
    [True, True, False]
    """
    numbers = sum(cell.kind == "number" for cell in cells)
    gaps = sum(cell.kind == "missing" for cell in cells)
    text = sum(cell.kind == "text" for cell in cells)
    return numbers + min(gaps, 1) >= 2 and numbers >= 1 and text <= numbers


def _steadiness(rows):
    """Largest share, over the columns, of steps that go upwards (or downwards)."""
    best = 0.0
    for column in range(min(3, min(len(row) for row in rows))):
        values = [row[column].value for row in rows if row[column].kind == "number"]
        steps = [b - a for a, b in pairwise(values)]
        if steps:
            ups = sum(step > 0 for step in steps)
            downs = sum(step < 0 for step in steps)
            best = max(best, ups / len(steps), downs / len(steps))
    return best


def marked(text: str, separator: str) -> bool:
    """True if the line is a remark by its first mark.

    >>> marked("* made in May", ",")
    True

    Parameters
    ----------
    text : one line
    separator : between cells
    """
    bare = text.lstrip(" \t\x00")
    if bare.startswith(("-", "'", "$", ">", "!", "*")) and re.match(r"[-'$>!*]\s*[.,]?\d", bare):
        return not bare.startswith("-")
    return any(bare.startswith(m) for m in MARKERS if not (m == ";" and separator == ";"))


def trimmed(text: str) -> str:
    """The line without a remark at its end and without stray zero bytes.

    >>> trimmed("20 7.5 # hum")
    '20 7.5'

    Parameters
    ----------
    text : one line
    """
    return re.split(r"\s(?:#|//|%|!)", text.replace("\x00", ""), maxsplit=1)[0].strip(" \r\n")
