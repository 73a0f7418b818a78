"""Programme: noise spectra, and an original bass line with a crest factor you can state.

Signals have peak 1 and repeat without a seam, so that their Fourier lines are exact.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from boxlab.base.checks import positive

RATE = 8000  # samples per second: ample for bass
TEMPO = 92.0  # beats per minute
BEATS = 8

# Our own little line: beat it starts on, length in beats, semitones above E1 (41.2 Hz).
NOTES = (
    (0.0, 1.0, 0), (1.5, 0.5, 0), (2.0, 0.75, 3), (3.0, 0.5, 5), (3.5, 0.5, 3),
    (4.0, 1.25, -2), (5.5, 0.5, 0), (6.0, 0.5, 7), (6.5, 0.5, 5), (7.0, 1.0, 3),
)  # fmt: skip
HARMONICS = (1.0, 0.45, 0.22, 0.1)
E1 = 440.0 * 2 ** ((28 - 69) / 12)  # Hz, equal temperament with A4 = 440 Hz (ISO 16)


@lru_cache(maxsize=4)
def _notes(rate):
    """Samples in the loop and, for each note, its places in it, its time and its undamped tone."""
    beat = 60.0 / TEMPO
    n, notes = round(BEATS * beat * rate), []
    for start, length, semitones in NOTES:
        f = E1 * 2 ** (semitones / 12)
        m = round(length * beat * rate)
        t = np.arange(m) / rate
        tone = sum(a * np.sin(2 * np.pi * f * (k + 1) * t) for k, a in enumerate(HARMONICS))
        rise = np.minimum(1, t / 0.012)
        fall = np.minimum(1, (t[-1] - t) / 0.03)
        shape = np.sin(np.pi / 2 * rise) ** 2 * np.sin(np.pi / 2 * fall) ** 2
        notes.append(((round(start * beat * rate) + np.arange(m)) % n, t, tone * shape))
    return n, tuple(notes)


def bass_line(decay: float = 0.35, rate: float = RATE) -> np.ndarray:
    """Two bars of bass that loop, peak 1: array of about 5.2 s.

    Each note is a few harmonics with a soft attack and a decay of time constant `decay`, s; a
    shorter decay leaves more silence and so a higher crest factor.

    >>> round(bass_line().size / RATE, 1)  # s
    5.2

    Parameters
    ----------
    decay : s
    rate : samples/s
    """
    decay = positive("decay", decay, "Give seconds, about 0.05 to 2.")
    n, notes = _notes(rate)
    out = np.zeros(n)
    for place, t, tone in notes:
        out[place] += tone * np.exp(-t / decay)
    out -= out.mean()
    return out / np.abs(out).max()


def crest_factor(signal: np.ndarray) -> float:
    """Peak over rms, in dB. A sine has 3.01 dB.

    >>> t = np.arange(1000) / 1000
    >>> round(float(crest_factor(np.sin(2 * np.pi * 10 * t))), 2)
    3.01

    Parameters
    ----------
    signal : (n,)
    """
    signal = np.asarray(signal, dtype=float)
    rms = np.sqrt(np.mean(signal**2))
    if not rms > 0:
        raise ValueError("the signal is silent, so it has no crest factor")
    return float(20 * np.log10(np.abs(signal).max() / rms))


def bass_line_with_crest(crest: float, rate: float = RATE) -> np.ndarray:
    """The bass line with its decay chosen so that its crest factor is `crest` dB.

    Raises
    ------
    ValueError
        If no decay from 20 ms to 5 s gives that crest factor; the message says the range.

    >>> round(crest_factor(bass_line_with_crest(12.0)), 1)
    12.0

    Parameters
    ----------
    crest : dB
    rate : samples/s
    """
    short, long = 0.02, 5.0
    low, high = crest_factor(bass_line(long, rate)), crest_factor(bass_line(short, rate))
    if not low <= crest <= high:
        raise ValueError(
            f"crest = {crest:g} dB: this bass line can have {low:.1f} to {high:.1f} dB. Music is "
            "usually 12 to 20 dB; a sine is 3 dB."
        )
    for _ in range(30):
        middle = np.sqrt(short * long)
        if crest_factor(bass_line(middle, rate)) > crest:
            short = middle
        else:
            long = middle
    return bass_line(np.sqrt(short * long), rate)


@dataclass(frozen=True, eq=False)
class Spectrum:
    """Power of a programme by frequency: Hz (n,), shares of the total (n,) that add up to 1.

    `crest` is its crest factor in dB; `source` says where it comes from.
    """

    frequency: np.ndarray
    share: np.ndarray
    crest: float
    source: str


def spectrum_of(
    signal: np.ndarray, rate: float = RATE, source: str = "synthesised here"
) -> Spectrum:
    """The exact line spectrum of a looping signal, as a `Spectrum`.

    >>> t = np.arange(800) / 800
    >>> spectrum_of(np.sin(2 * np.pi * 50 * t), 800).frequency.round(1)
    array([50.])

    Parameters
    ----------
    signal : (n,), loops
    rate : samples/s
    source : what it is
    """
    signal = np.asarray(signal, dtype=float)
    lines = np.abs(np.fft.rfft(signal)) ** 2
    lines[1 : (signal.size + 1) // 2] *= 2  # each inner line stands for its mirror image too
    f = np.fft.rfftfreq(signal.size, 1 / rate)[1:]
    keep = lines[1:] > 1e-9 * lines[1:].max()
    share = lines[1:][keep]
    return Spectrum(f[keep], share / share.sum(), crest_factor(signal), source)


def pink_noise(
    low: float = 20.0, high: float = 200.0, crest: float = 6.0, points: int = 400
) -> Spectrum:
    """Equal power in each octave from `low` to `high` Hz.

    A crest factor of 6 dB is that of the test noise of AES2 (from memory).

    >>> round(float(pink_noise(points=3).share.sum()), 6)
    1.0

    Parameters
    ----------
    low, high : Hz
    crest : dB
    points : frequencies
    """
    low, high = positive("low", low), positive("high", high)
    if not low < high:
        raise ValueError(f"low = {low:g} Hz must be below high = {high:g} Hz")
    edges = np.geomspace(low, high, points + 1)
    share = np.full(points, 1 / points)
    return Spectrum(np.sqrt(edges[:-1] * edges[1:]), share, crest, "pink noise, band limited")


# IEC 60268-1 programme-simulation noise: level of third octaves, dB, relative (from memory).
_IEC = {
    20: -13.5, 25: -10.2, 31.5: -7.4, 40: -5.2, 50: -3.5, 63: -2.3, 80: -1.4, 100: -0.9,
    125: -0.5, 160: -0.2, 200: -0.1,
}  # fmt: skip


def programme_noise(crest: float = 6.0, points: int = 20) -> Spectrum:
    """The part from 20 to 200 Hz of the IEC 60268-1 programme-simulation noise (from memory).

    Its crest factor is 1.8 to 2.2 there (5.1 to 6.8 dB, from memory). A low-pass at 200 Hz stands
    for the crossover: a bass box gets no more.

    >>> round(float(programme_noise().share.sum()), 6)
    1.0

    Parameters
    ----------
    crest : dB
    points : frequencies in each octave
    """
    steps = np.arange(-17, -6)
    f, share = [], []
    for step, level in zip(steps, _IEC.values(), strict=True):
        edges = 1000 * 10 ** (np.linspace(step - 0.5, step + 0.5, points + 1) / 10)
        f.append(np.sqrt(edges[:-1] * edges[1:]))
        share.append(np.full(points, 10 ** (level / 10) / points))
    share = np.concatenate(share)
    source = "IEC 60268-1 programme-simulation noise, 20 to 200 Hz (from memory)"
    return Spectrum(np.concatenate(f), share / share.sum(), crest, source)
