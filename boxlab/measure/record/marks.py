"""The two marks of a test signal in a recording: is it whole, and how do the clocks differ?"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.signal import fftconvolve

from boxlab.measure.record.test_signals import MARK_HZ, MARK_TIME

# A file made for one rate and played at another: how far all tones are off then.
RATES = (1.0, 44100 / 48000, 48000 / 44100, 0.5, 2.0)
ENDS = 0.02  # s at either end of a recording, by which a signal that is cut off is told
LOUD = 0.1  # of the rms of the whole, at an end
DRIFT = 3e-4  # more than any two clocks differ: each is good to 100 millionths
NOTHING = 0.001  # s of samples that are all exactly zero, which no converter gives amid a signal
STEEP = 2e-3  # of full scale, just before or after them


@dataclass(frozen=True)
class Marks:
    """Where the marks are, s (None for one that is not there), and what follows from them."""

    first: float | None
    last: float | None
    rate: float = 1.0  # how much faster than meant it was played
    drift: float = 0.0  # clock of the recording against that of the player, a ratio less 1
    notes: tuple[str, ...] = ()
    fault: str = ""  # why nothing of it can be trusted


def find_marks(x: np.ndarray, rate: float) -> Marks:
    """Look for the marks in one channel `x`, shape (n,) at `rate` samples/s; say what they tell.

    >>> t = np.arange(200) / 8000
    >>> mark = np.sin(2 * np.pi * MARK_HZ * t) * np.hanning(200)
    >>> x = np.zeros(40000)
    >>> x[8000:8200], x[32010:32210] = mark, mark
    >>> found = find_marks(x, 8000.0)
    >>> round(float(found.last - found.first), 4), found.fault[:29]
    (3.0012, 'the marks are 3.001 s apart, ')
    """
    best = (0.0, 1.0, None, None)
    for factor in RATES:  # the first is the usual one
        best = max(best, _pair(x, rate, factor), key=lambda found: found[0])
        if best[0] > 0.8:
            break
    strength, factor, first, last = best
    if strength < 0.25:
        return Marks(None, None, notes=_loose_ends(x, rate))
    if last is None:
        return Marks(
            first, None, factor,
            notes=("cut short: the second mark of the test signal is missing. What was played "
                   "before the cut is used; record again for the rest.",),
        )  # fmt: skip
    apart = (last - first) * factor
    drift = apart / round(apart) - 1 if round(apart) else 1.0
    notes, fault = [], ""
    if factor != 1.0:
        fault = (
            f"all tones are {factor:.4g} times as high as meant: it was played at another rate, or "
            "recorded at another than its file says, and then every frequency would be wrong. Set "
            "player and recorder to the same rate, and record again."
        )
    elif abs(drift) > DRIFT:
        fault = (
            f"the marks are {apart:.3f} s apart, and whole seconds were meant: something was left "
            "out or doubled in playing or recording. Record again."
        )
    elif abs(drift) > 5e-6:
        notes.append(f"the two clocks differ by {1e6 * drift:.0f} millionths: taken as they are.")
    return Marks(first, last, factor, drift, tuple(notes), fault)


def interrupted(data: np.ndarray, rate: float) -> float | None:
    """When a signal breaks off to nothing and goes on, s, over all channels, shape (n, channels).

    `rate` is in samples/s; None where `data` has no such gap.

    A player or recorder that has no samples ready puts zeros in their place, and may leave out as
    many later, so that the marks are as far apart as they should be.

    >>> tone = 0.5 * np.sin(np.arange(8000) / 9)[:, None]
    >>> gap = np.where(np.arange(8000) // 100 == 30, 0, 1)[:, None]
    >>> interrupted(tone, 4000.0), interrupted(tone * gap, 4000.0)
    (None, 0.75)
    """
    empty = np.all(data == 0, axis=1)
    edges = np.flatnonzero(np.diff(np.concatenate([[False], empty, [False]]).astype(np.int8)))
    height = np.max(np.abs(data), axis=1)
    for start, end in zip(edges[::2], edges[1::2], strict=True):
        inside = start > 0 and end < len(data)
        if inside and end - start >= NOTHING * rate and max(height[start - 1], height[end]) > STEEP:
            return float(start / rate)
    return None


def _pair(x, rate, factor):
    """(strength from 0 to 1, factor, first, last) of the marks at `factor` times their pitch."""
    f = MARK_HZ * factor
    if f > 0.45 * rate:
        return 0.0, factor, None, None
    size = int(MARK_TIME / factor * rate)
    t = np.arange(size) / rate
    window = np.hanning(size)
    template = window * np.exp(2j * np.pi * f * t)
    level = np.abs(fftconvolve(x, np.conj(template[::-1]), mode="valid"))
    # how much of what is there in that time is the tone itself: a mark stands alone
    energy = fftconvolve(x**2, np.ones(size), mode="valid")
    whole = np.sqrt(np.maximum(energy, 1e-12) * np.sum(window**2) / 2)
    purity = level / np.maximum(whole, 1e-9)
    loud = level / np.sum(window**2) * 2
    likely = (purity > 0.8) & (loud > 0.02 * np.max(np.abs(x)))
    if not likely.any():
        return 0.0, factor, None, None
    at = np.flatnonzero(likely)
    first, strong = _peak(level, at[0], size, rate)
    last, other = _peak(level, at[-1], size, rate)
    if last - first < 1.0:
        last = None
    strength = min(1.0, float(purity[at].max())) * (1.0 if last is not None else 0.9)
    if last is not None and not 0.5 < strong / other < 2:
        strength *= 0.5
    return strength, factor, first, last


def _peak(level, start, size, rate):
    """Time, s, and height of the largest value near `start`, between samples."""
    low, high = max(0, start - size), min(len(level), start + size)
    i = low + int(np.argmax(level[low:high]))
    if 0 < i < len(level) - 1:
        a, b, c = level[i - 1 : i + 2]
        bend = a - 2 * b + c
        shift = 0.5 * (a - c) / bend if bend else 0.0
        return (i + float(np.clip(shift, -1, 1))) / rate, float(b)
    return i / rate, float(level[i])


def _loose_ends(x, rate):
    """Whether a recording without marks begins or ends while the signal plays."""
    size = max(8, int(ENDS * rate))
    whole = np.sqrt(np.mean(x**2))
    ends = {"begins": x[:size], "ends": x[-size:]}
    cut = [name for name, part in ends.items() if np.sqrt(np.mean(part**2)) > LOUD * whole]
    if not cut:
        return ()
    return (
        f"cut off: the recording {' and '.join(cut)} while the signal plays. Leave a second of "
        "silence before and after it.",
    )
