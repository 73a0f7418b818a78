"""Hearing: how long a level may be endured, and what a weighted reading leaves out.

Two published rules give an allowed time for a level in dBA. They were made for working days in
factory noise, with an accepted share of people who still lose hearing, so they are an upper bound
for a hobby and no promise to any one ear. A ringing ear or a muffled hour has already had too
much, whatever the sum says.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from boxlab.base.array_types import Values
from boxlab.base.checks import Implausible, doubt, not_negative, number, positive, suspect

HOUR = 3600.0  # s
_SECONDS = "Give seconds: half an hour is 1800."
LOUDEST = 194.0  # dB: a swing of the air pressure itself, derived


@dataclass(frozen=True)
class Rule:
    """An exposure rule: `criterion` dBA for `hours`, halved for every `exchange` dB more.

    Levels under `threshold` dBA do not count towards the dose; above `ceiling` dBA no time at all
    is allowed without protection.
    """

    name: str
    criterion: float
    exchange: float
    hours: float
    threshold: float
    ceiling: float
    source: str


# 115 dBA is NIOSH's ceiling of 1972 and OSHA's; the text of 1998 sets 140 dBA (both from memory).
# The stricter is kept.
NIOSH = Rule("NIOSH", 85.0, 3.0, 8.0, 80.0, 115.0, "NIOSH publication 98-126 (1998)")
# 90 dBA and 5 dB, with 80 dB as the least level that counts: the rule's own hearing-conservation
# clause. Its 115 dBA is the last row of Table G-16.
OSHA = Rule("OSHA", 90.0, 5.0, 8.0, 80.0, 115.0, "29 CFR 1910.95, Table G-16 and Appendix A")


def allowed_time(level: ArrayLike, rule: Rule = NIOSH) -> Values:
    """Time that uses up the whole daily allowance at a steady level: returned in seconds.

    Formula: T = T0/2^((L − L0)/q)

    That is behind both printed tables: T and the rule's T0 in hours, L0 its criterion, q its
    exchange rate. It is given above the ceiling too, as the tables do; ask `above_ceiling` first.

    Parameters
    ----------
    level, rule : dBA, float or array, and Rule

    >>> allowed_time(94) / 60
    60.0
    >>> allowed_time(100, OSHA) / 3600
    2.0
    """
    level = number("level", level)
    suspect("level", level, -math.inf, LOUDEST, "It is in dBA.")
    return rule.hours * HOUR / 2 ** ((level - rule.criterion) / rule.exchange)


def above_ceiling(level: ArrayLike, rule: Rule = NIOSH) -> bool | np.ndarray:
    """True where a `level`, dBA, is above the `rule`'s ceiling: no unprotected time is allowed.

    >>> above_ceiling([110.0, 116.0])
    array([False,  True])
    """
    return np.asarray(number("level", level)) > rule.ceiling


# Largest peak with no protection, dB unweighted: 29 CFR 1910.95(b) for impulses; 2003/10/EC has the
# same figure C-weighted (both from memory). A tone's peak lies 3 dB above its level.
PEAK = 140.0
CREST_OF_A_TONE = 10 * math.log10(2)


def permitted(level: ArrayLike, rule: Rule = NIOSH, peak: float = -math.inf) -> Values:
    """Seconds in a day that `rule` permits with no protection: none above its ceiling or `PEAK`.

    Parameters
    ----------
    level, rule : dBA, float or array, and Rule
    peak : float, dB unweighted, of the highest peak

    >>> permitted(94), permitted(116), permitted(94, peak=141)
    (3600.0, 0.0, 0.0)
    """
    none = above_ceiling(level, rule) | (number("peak", peak, infinite=True) >= PEAK)
    time = np.where(none, 0.0, allowed_time(level, rule))
    return float(time) if time.ndim == 0 else time


def in_hours(seconds: ArrayLike) -> Values:
    """`seconds` as hours for a curve, with a gap where there is no time at all.

    >>> in_hours([5400.0, 0.0])
    array([1.5, nan])
    """
    seconds = np.asarray(number("seconds", seconds))
    return np.where(seconds > 0, seconds, np.nan) / HOUR


def dose(levels: ArrayLike, times: ArrayLike, rule: Rule = NIOSH) -> Values:
    """Daily dose in per cent: 100 · Σ C/T over stretches at `levels` dBA lasting `times` seconds.

    Levels under the rule's threshold are left out, as the rule says. Over 100 is too much.

    >>> dose([94, 70], [1800, 7200])
    50.0

    Parameters
    ----------
    levels, times, rule : dBA and s, shape (n,), and Rule
    """
    levels, times = np.atleast_1d(number("levels", levels)), np.atleast_1d(_times(times))
    if levels.shape != times.shape:
        raise ValueError(
            f"levels has {levels.size} entries and times {times.size}: give one time, in seconds, "
            "for each level"
        )
    if times.sum() > 24 * HOUR:
        raise ValueError(
            f"times add up to {times.sum():g} s, more than a day: this is the dose of one day. "
            "Give seconds."
        )
    counted = levels >= rule.threshold
    percent = float(100 * np.sum(np.where(counted, times / allowed_time(levels, rule), 0.0)))
    if 0 < percent < 10 and times.sum() < 600:
        doubt(
            f"times add up to {times.sum():g} s only, {percent:.2g} % of a day's dose. {_SECONDS}",
            Implausible,
        )
    return percent


def _times(times):
    return not_negative("times", times, _SECONDS)


def average_level(percent: ArrayLike, rule: Rule = NIOSH) -> Values:
    """Eight-hour level in dBA that gives the same dose, `percent`, by the `rule` (its TWA).

    exchange/log10(2) · log10(D/100) + criterion: 10 log10 for a 3 dB exchange (9.97, which NIOSH
    rounds to 10), 16.61 log10 for 5 dB.

    >>> float(average_level(100.0))  # dBA
    85.0
    """
    percent = np.asarray(number("percent", percent))
    if np.any(percent <= 0):
        raise ValueError(f"percent must be above zero, got {percent}: no dose has no average level")
    return (rule.exchange / math.log10(2) * np.log10(percent / 100) + rule.criterion)[()]


# Pole frequencies of IEC 61672-1, Hz, and the slope they leave at low frequency.
_F1, _F2, _F3, _F4 = 20.598997, 107.65265, 737.86223, 12194.217


def _a(f2):
    return f2**2 / ((f2 + _F1**2) * np.sqrt((f2 + _F2**2) * (f2 + _F3**2)) * (f2 + _F4**2))


def _c(f2):
    return f2 / ((f2 + _F1**2) * (f2 + _F4**2))


def weighting(frequency: ArrayLike, kind: str = "A") -> Values:
    """A-, C- or Z-weighting in dB at `frequency` in Hz, 0 dB at 1 kHz.

    Source: the analytic expressions of IEC 61672-1. Its table holds at the exact base-ten band
    centres, 1000 · 10^(n/10) Hz, not at their rounded names.

    >>> round(float(weighting(31.62)), 1), round(float(weighting(31.62, "C")), 1)
    (-39.4, -3.0)

    Parameters
    ----------
    frequency : Hz, any shape
    kind : "A", "C" or "Z"
    """
    f2 = np.asarray(positive("frequency", frequency, "Give hertz.")) ** 2
    if kind == "Z":
        return np.zeros_like(f2)[()]
    if kind not in ("A", "C"):
        raise ValueError(f"kind = {kind!r}: choose 'A', 'C' or 'Z'")
    shape = _a if kind == "A" else _c
    return (20 * np.log10(shape(f2) / shape(1000.0**2)))[()]


def third_octaves(low: float = 10.0, high: float = 315.0) -> np.ndarray:
    """Exact base-ten third-octave centres between `low` and `high` Hz (IEC 61260-1).

    >>> third_octaves(20.0, 40.0).round(2)
    array([19.95, 25.12, 31.62, 39.81])
    """
    low, high = positive("low", low, "Give hertz."), positive("high", high, "Give hertz.")
    if not low <= high:
        raise ValueError(f"low = {low:g} Hz is above high = {high:g} Hz: swap the two")
    exact = 1000.0 * 10 ** (np.arange(-40, 14) / 10)
    return exact[(exact > low * 0.94) & (exact < high * 1.06)]


# Threshold of hearing, pure tones, both ears, free field: ISO 226:2003 (from memory), Hz: dB.
_THRESHOLD = {
    20: 78.5, 25: 68.7, 31.5: 59.5, 40: 51.1, 50: 44.0, 63: 37.5, 80: 31.5, 100: 26.5,
    125: 22.1, 160: 17.9, 200: 14.4, 250: 11.4, 315: 8.6, 400: 6.2, 500: 4.4, 630: 3.0,
    800: 2.2, 1000: 2.4,
}  # fmt: skip


def threshold(frequency: ArrayLike) -> Values:
    """The faintest tone that a young, healthy ear hears, dB re 20 µPa, from 20 Hz to 1 kHz.

    Read between the standard's values on a log axis; nan outside them. `frequency` is in Hz.

    >>> round(float(threshold(40)), 1)
    51.1
    """
    f = np.asarray(not_negative("frequency", frequency, "Give hertz."))
    known = np.log(np.array(list(_THRESHOLD)))
    ends = {"left": np.nan, "right": np.nan}
    with np.errstate(divide="ignore"):
        return np.interp(np.log(f), known, list(_THRESHOLD.values()), **ends)


def weighted_level(frequency: ArrayLike, spl: ArrayLike, kind: str = "A") -> float:
    """One reading in dB from bands: 10 log10 Σ 10^((L + weighting)/10), `kind` "A", "C" or "Z".

    `spl` in dB at each `frequency`, Hz, both of shape (n,).

    >>> round(weighted_level([36.0, 1000.0], [110.0, 80.0]), 1)
    80.8
    """
    level = np.asarray(number("spl", spl)) + weighting(frequency, kind)
    return float(10 * np.log10(np.sum(10 ** (level / 10))))


@dataclass(frozen=True)
class Exposure:
    """What one sound does: readings in dBZ, dBA, dBC, and seconds allowed by each rule.

    `if_flat` is the time NIOSH would allow if the reading in dBC counted instead of dBA: no rule,
    only a measure of how much the weighting takes off. `peak` is in dB unweighted, of one tone, and
    the least that several can have together. No time at all is 0 s.
    """

    unweighted: float
    dba: float
    dbc: float
    niosh: float
    osha: float
    if_flat: float
    peak: float


def exposure(frequency: ArrayLike, spl: ArrayLike) -> Exposure:
    """Readings and allowed times of tones or bands: `frequency`, Hz, and `spl`, dB unweighted.

    >>> round(exposure([36.0], [110.0]).dba, 1)
    73.3
    """
    dba, dbc, plain = (weighted_level(frequency, spl, kind) for kind in "ACZ")
    peak = plain + CREST_OF_A_TONE
    niosh, osha = (permitted(dba, rule, peak) for rule in (NIOSH, OSHA))
    if_flat = 0.0 if peak >= PEAK else float(allowed_time(dbc))
    return Exposure(plain, dba, dbc, niosh, osha, if_flat, peak)


def clock(seconds: float) -> str:
    """`seconds` in words: "2 h 31 min", "47 min", "28 s", or "more than a day".

    >>> clock(9071), clock(90), clock(0.4), clock(0)
    ('2 h 31 min', '1 min 30 s', 'less than a second', 'no time at all')
    """
    if seconds == 0:
        return "no time at all"
    seconds = not_negative("seconds", seconds, infinite=True)
    if seconds > 24 * HOUR:
        return "more than a day"
    if seconds < 1:
        return "less than a second"
    whole = math.floor(seconds)  # round down: never grant a second
    hours, rest = divmod(whole, 3600)
    minutes, secs = divmod(rest, 60)
    if hours:
        return f"{hours} h {minutes} min" if minutes else f"{hours} h"
    if minutes >= 10 or (minutes and not secs):
        return f"{minutes} min"
    return f"{minutes} min {secs} s" if minutes else f"{secs} s"
