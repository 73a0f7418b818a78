"""Which role each column of a table plays: as asked for, as its header says, or by its numbers."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from boxlab.base.checks import doubt
from boxlab.measure.read.columns import (
    ROLES,
    UNITS,
    Column,
    climbs,
    counts_rows,
    from_header,
    from_numbers,
    names_impedance,
)
from boxlab.measure.read.table import Table


def assign(
    table: Table, columns: str | Sequence[str] | None = None
) -> tuple[dict[str, Column], list[str]]:
    """The columns of a `table` by role, and notes on how that was found out.

    Where `columns` are given, as in `read_sweep`, their names alone count.

    >>> roles, notes = assign(Table("Z,f\\n6.31,20.0\\n8.10,25.0\\n"))
    >>> {role: column.index for role, column in roles.items()}
    {'magnitude': 0, 'frequency': 1}

    Raises
    ------
    ValueError
        If no frequency or no impedance is among them.
    """
    if columns is not None:
        names = columns.replace(",", " ").split() if isinstance(columns, str) else columns
        named = tuple(Column(i, name) for i, name in enumerate(names) if name in ROLES)
        return _complete(table, named, [*table.notes, "columns as asked for"])
    headers = table.headers()
    named = from_header(headers, table.separator, table.width)
    numbers = table.numbers()
    unnamed = named and not named[-1].role and named[0].role == "frequency"
    if unnamed and counts_rows(numbers[:, 0]) and climbs(numbers[:, 1]) == 1:
        named = tuple(replace(c, index=c.index + 1) for c in named[:-1])  # row names have no head
    if named:
        known = [c for c in named if c.role in ROLES]
        usable = [c for c in known if np.isfinite(numbers[:, c.index]).any()]
        roles = {c.role for c in usable}
        if names_impedance(usable):
            for i, text in enumerate(table.texts[: table.first()]):
                if table.kinds[i] == "comment" and text in headers[-3:]:
                    table.kinds[i] = "header"
            return _complete(table, _first_of_each(usable), list(table.notes), named)
        if any(c.role == "other" for c in named):
            texts = "; ".join(h.strip()[:60] for h in headers[-2:])
            what = "a frequency but no" if "frequency" in roles else "no frequency and no"
            raise ValueError(
                f"the header names {what} impedance: {texts!r}. Expected a column "
                "such as 'Impedance (ohm)', '|Z|' or 'R' and 'X'. If one of the columns is the "
                "magnitude in Ω all the same, say which: columns=('frequency', 'magnitude')."
            )
    guess, notes = from_numbers(numbers)
    merged = []
    for column in guess:
        head = next((c for c in named if c.index == column.index), None)
        units = UNITS.get(column.role, {})
        merged.append(
            Column(column.index, column.role, head.unit if head and head.unit in units else "")
        )
    notes = [*table.notes, *notes]
    if len(merged) >= 2:
        order = ", ".join(f"{c.index + 1} {c.role}" for c in merged)
        notes.append(f"no header tells the columns apart; taken as {order}")
    return _complete(table, tuple(merged), notes)


def _complete(table, columns, notes, named=()):
    roles = {c.role: c for c in columns}
    if "real" in roles and "imaginary" not in roles and "magnitude" not in roles:
        roles["magnitude"] = Column(roles["real"].index, "magnitude", roles.pop("real").unit)
        notes.append("one column of ohms and no imaginary part: read as magnitude")
        doubt(
            "the header names a resistance or real part and no imaginary part: read as the "
            "magnitude in Ω. If a column holds the reactance, name the columns: "
            "columns=('frequency', 'real', 'imaginary')."
        )
    if "magnitude" in roles and ("phase" in roles or "imaginary" not in roles):
        roles.pop("real", None), roles.pop("imaginary", None)
    elif "imaginary" in roles and "real" in roles:
        roles.pop("magnitude", None), roles.pop("phase", None)
    if "uncertainty" in roles and not roles["uncertainty"].unit:
        del roles["uncertainty"]  # of what, in what?
    if "frequency" not in roles or not (
        {"magnitude"} & roles.keys() or {"real", "imaginary"} <= roles.keys()
    ):
        raise ValueError(
            f"cannot tell which column is which: found {', '.join(roles) or 'none'}. Expected "
            "frequency and magnitude, or frequency, real and imaginary; say so with "
            "columns=('frequency', 'magnitude', 'phase')."
        )
    if max(c.index for c in roles.values()) >= table.width:
        raise ValueError(f"columns names more columns than the table has ({table.width}).")
    extra = [c.index + 1 for c in named if c.index not in {r.index for r in roles.values()}]
    if extra:
        notes.append(f"columns not used: {', '.join(map(str, extra))}")
    units = {cell.measures for cells in table.cells.values() for cell in cells} - {""}
    if "frequency" in units and not roles["frequency"].unit:
        roles["frequency"] = Column(roles["frequency"].index, "frequency", "Hz")
    return roles, notes


def _first_of_each(columns):
    first = {}
    for column in columns:
        first.setdefault(column.role, column)
    return tuple(first.values())
