"""Bringing the columns to Hz, Ω and degrees; units that the table does not name are guessed."""

from __future__ import annotations

import warnings

import numpy as np

from boxlab.base.checks import UnitWarning
from boxlab.measure.read.columns import UNITS, Column


def scale(
    values: dict[str, np.ndarray], roles: dict[str, Column], notes: list[str],
    asked: dict[str, str | None],
) -> np.ndarray:  # fmt: skip
    """Bring each column to Hz, Ω and degrees in place; return a mask of the rows far off any.

    Parameters
    ----------
    values : the numbers of each role, shape (n,), as they stand in the table
    roles : the column of each role, with its unit where the table names one
    notes : to which it is added what was done
    asked : unit of "frequency", "magnitude" and "phase" where somebody said it, else None

    >>> values = {"frequency": np.array([0.02, 0.05]), "magnitude": np.array([6.3, 1e15])}
    >>> roles = {"frequency": Column(0, "frequency", "kHz"), "magnitude": Column(1, "magnitude")}
    >>> scale(values, roles, [], {}).tolist(), values["frequency"].tolist()
    ([False, True], [20.0, 50.0])
    """
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
                        "the magnitude is headed in dB: read as dB re 1 Ω (20 dB is 10 Ω). If it "
                        "is in Ω, pass magnitude_unit='ohm'.",
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
        if role in ("frequency", "magnitude"):
            wild |= (column > 0) & (column < 1e-9)
        column[wild] = np.nan
        bad |= wild
    return bad


def _frequency_unit(values, notes):
    used = values[values > 0]
    if len(used) and used.max() <= 100 and used.min() < 0.5:
        notes.append("frequency taken as kHz by its range")
        warnings.warn(
            f"frequencies run from {used.min():g} to {used.max():g} with no unit: read as kHz. If "
            "they are in Hz, write Hz in the header, or pass frequency_unit='Hz'.",
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


def of_a_loudspeaker(magnitude: np.ndarray) -> bool:
    """Whether magnitudes are such as a loudspeaker's sweep has.

    Parameters
    ----------
    magnitude : Ω, of every point

    >>> of_a_loudspeaker(np.array([3.6, 40.0, 5.0])), of_a_loudspeaker(np.array([0.0036, 0.04]))
    (True, False)
    """
    return 0.05 <= float(np.median(magnitude)) <= 1000


def plausible(frequency: np.ndarray, magnitude: np.ndarray) -> None:
    """Warn of a `magnitude` (Ω) or `frequency` (Hz), shape (n,), that no loudspeaker's sweep has.

    >>> with warnings.catch_warnings(record=True) as told:
    ...     warnings.simplefilter("always")
    ...     plausible(np.array([20.0, 50.0]), np.array([0.004, 0.006]))
    >>> str(told[0].message)[:52]
    'magnitudes are about 0.005 Ω, which no loudspeaker h'

    Warns
    -----
    UnitWarning
        With the unit that it may be.
    """
    middle = float(np.median(magnitude))
    if not of_a_loudspeaker(magnitude):
        warnings.warn(
            f"magnitudes are about {middle:.3g} Ω, which no loudspeaker has. If they are in mΩ or "
            "kΩ, pass magnitude_unit='mohm' or 'kohm'.",
            UnitWarning,
            stacklevel=4,
        )
    if frequency.max() < 5:
        warnings.warn(
            f"the sweep ends at {frequency.max():g} Hz. In kHz? Pass frequency_unit='kHz'.",
            UnitWarning,
            stacklevel=4,
        )
