"""Reading a measured impedance sweep from any plain text table."""

from __future__ import annotations

import re
from collections.abc import Sequence

import numpy as np

from boxlab.base.checks import doubt
from boxlab.measure.read.columns import UNITS
from boxlab.measure.read.roles import assign
from boxlab.measure.read.scaling import plausible, scale
from boxlab.measure.read.source import text_of
from boxlab.measure.read.table import Table
from boxlab.measure.read.value import SHARED, Lines, Sweep


def read_sweep(
    source: object,
    *,
    columns: str | Sequence[str] | None = None,
    frequency_unit: str | None = None,
    magnitude_unit: str | None = None,
    phase_unit: str | None = None,
    separator: str | None = None,
    decimal: str | None = None,
) -> Sweep:
    """Read a sweep from a plain text table of frequency, magnitude and, perhaps, phase.

    Separators (comma, semicolon, tab, bar, spaces), decimal point or comma, units, headers, remarks
    and the order of columns and rows are worked out from the table; any of them can be given
    instead. Rows at the same frequency are averaged. What could not be used is kept and listed in
    `.set_aside`, and `.notes` says what was decided.

    Parameters
    ----------
    source : path, text, bytes, open file, lines, or the value of an upload widget
    columns : names in the order of the table, from frequency, magnitude, phase, real, imaginary,
        uncertainty;
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
    table = Table(text, separator, decimal)
    roles, notes = assign(table, columns)
    return _build(name, text, table, roles, notes, units)


def _array_text(array):
    if array.ndim != 2 or array.shape[1] < 2 or np.iscomplexobj(array):
        raise ValueError(
            f"an array of shape {array.shape} is not a table: give columns of frequency, magnitude "
            "and, perhaps, phase, or use Sweep.from_impedance(frequency, impedance)."
        )
    return "\n".join("\t".join(repr(float(v)) for v in row) for row in array) + "\n"


def _build(name, text, table, roles, notes, asked):
    """Turn the rows into a Sweep, setting aside, with the reason, those that cannot be used."""
    indices, numbers = table.indices().tolist(), table.numbers()
    values = {role: numbers[:, c.index] * c.sign for role, c in roles.items()}
    bad = scale(values, roles, notes, asked)
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
    why[bad] = "a number too large or too small to be used"
    if table.cut_short():
        why[-1] = "the file seems to end within this number"
    good = why == ""
    for i in indices:
        table.kinds[i] = "data"
    for r in np.flatnonzero(~good):
        table.kinds[indices[r]], table.why[indices[r]] = "set aside", why[r]
    if good.sum() < 2:
        reasons = "; ".join(
            f"line {i + 1} {table.texts[i].strip()[:60]!r}: {why[r]}"
            for r, i in list(enumerate(indices))[:3]
            if why[r]
        )
        raise ValueError(
            f"a sweep needs two usable rows or more, found {good.sum()} of {len(indices)}: "
            f"{reasons}. Expected a frequency in Hz and a magnitude in Ω, both above zero."
        )
    frequency, magnitude = frequency[good], magnitude[good]
    phase = None if phase is None else _wrap(phase[good], notes)
    _doubt_first(frequency)
    uncertainty = _uncertainty(values, good, frequency, notes)
    frequency, magnitude, phase = _merge(frequency, magnitude, phase, notes)
    aside = table.kinds.count("set aside")
    if aside:
        notes.append(f"{aside} line{'s' if aside > 1 else ''} set aside: see .set_aside")
    plausible(frequency, magnitude)
    lines = Lines(table.texts, table.kinds, table.why)
    return Sweep(
        frequency, magnitude, phase, name, tuple(notes), lines, text, uncertainty, _shared(text)
    )


def _uncertainty(values, good, frequency, notes):
    """The column of uncertainties, Ω, in the order of rising frequency; None where unusable."""
    if "uncertainty" not in values:
        return None
    column = values["uncertainty"][good]
    if len(np.unique(frequency)) < len(frequency) or not np.all(column > 0):
        notes.append("the uncertainties were not used: not one above zero for each frequency")
        return None
    return column[np.argsort(frequency, kind="stable")]


def _shared(text):
    """The part of the uncertainty that all points share, from the remark that `to_text` writes."""
    found = re.search(rf"^{SHARED} (.*)$", text, re.M)
    rows = re.findall(r"(Hz|Ω) ([\d.e+-]+)(?=,|\s*$)", found[1]) if found else ()
    return {unit: float(share) for unit, share in rows if _is_share(share)}


def _is_share(text):
    try:
        return 0 < float(text) < 1
    except ValueError:
        return False


def _doubt_first(frequency):
    """Warn where the first row stands apart: settings above a table may look like a row of it."""
    first, *steps = np.sign(np.diff(frequency))
    turned = len(steps) > 5 and abs(np.mean(steps)) > 0.7 and first * np.mean(steps) < 0
    if turned or (len(steps) > 5 and frequency[0] > 20 * frequency[1]):
        doubt(
            f"the first row ({frequency[0]:.4g} Hz) is out of line with the rows below it, whose "
            f"frequencies run on from {frequency[1]:.4g} Hz. If it holds settings and no "
            "measurement, put # before it."
        )


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
