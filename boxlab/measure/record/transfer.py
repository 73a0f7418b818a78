"""From two channels to their ratio against frequency, with its scatter.

Fourier sums of the whole recording are compared where the first channel has energy. Within a
narrow band the ratio is taken as a parabola in frequency, weighted by that energy; what is left
over is noise, and gives the uncertainty. As the whole is compared, the ringing of what is measured
counts too, and it does not matter which signal was played.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from scipy.fft import next_fast_len, rfft, rfftfreq
from scipy.ndimage import maximum_filter1d

SHARE = 0.015  # width of a band, of its frequency
LEAST = 9  # Fourier lines in a band
FAINT = 0.15  # of the energy of the strongest band near by: below this is what leaks from it
NEIGHBOURS = 17  # bands, more than from one tone to the next
DOUBT = 0.1  # ratios less certain than this are left out
HUM = (50.0, 60.0)  # Hz, of the mains
OFF = np.linspace(-0.3, 0.3, 61)  # Hz, by which mains may be off
OVERTONES = 8
NEAR = 0.7  # Hz to either side of a line of hum that was found


@dataclass(frozen=True, eq=False)
class Ratio:
    """Second channel over first: frequency (Hz), complex value, relative standard uncertainty."""

    frequency: np.ndarray
    value: np.ndarray
    doubt: np.ndarray


def ratio(
    first: np.ndarray, second: np.ndarray, rate: float, low: float = 5.0, high: float = 1000.0,
    leave_out: Iterable[tuple[float, float]] = (),
) -> Ratio:  # fmt: skip
    """`second` over `first`, two channels of shape (n,), from `low` to `high`, Hz.

    `rate` is in samples/s. `leave_out` holds (from, to) in Hz, where something else than the signal
    was heard.

    >>> noise = np.random.default_rng(1).normal(size=(2, 8000))
    >>> found = ratio(noise[0], 0.3 * noise[0] + 0.003 * noise[1], 4000.0)
    >>> round(float(np.median(np.abs(found.value))), 3), bool(np.all(found.doubt < 0.02))
    (0.3, True)
    """
    size = next_fast_len(len(first))
    one, two = (rfft(x - np.mean(x), size) for x in (first, second))
    f = rfftfreq(size, 1 / rate)
    usable = np.ones(len(f), bool)
    for a, b in leave_out:
        usable &= ~((f > a) & (f < b))
    step = f[1]
    rows = []
    edge = max(low, LEAST * step / 2)
    strongest = np.max(np.abs(one[(f >= low) & (f <= high)])) ** 2
    while edge < min(high, f[-1]):
        top = edge + max(LEAST * step, SHARE * edge)
        i, j = np.searchsorted(f, (edge, top))
        edge = top
        inside = np.arange(i, min(j, len(f)))
        inside = inside[usable[inside]]
        if len(inside) < 0.7 * LEAST:
            continue
        found = _band(f[inside], one[inside], two[inside], strongest)
        if found is not None:
            rows.append(found)
    if not rows:
        return Ratio(*(np.zeros(0) for _ in range(3)))
    frequency, value, doubt, *heard = (np.array(column) for column in zip(*rows, strict=True))
    doubt = _smooth(doubt)
    # Between the tones of a signal made of tones there is only what leaks there: noise in the first
    # channel would make the ratio too small, and no scatter shows that.
    loud = [energy > FAINT * maximum_filter1d(energy, NEIGHBOURS) for energy in heard]
    played = loud[0] | loud[1]
    usual = float(np.median(doubt[played]))
    keep = played & (doubt < DOUBT) & (doubt < max(0.005, 4 * usual))
    return Ratio(frequency[keep], value[keep], doubt[keep])


def _band(f, one, two, strongest):
    """(centre, ratio there, relative uncertainty, both energies) of one band, or None."""
    weight = np.abs(one) ** 2
    if weight.sum() < 1e-9 * strongest * len(f):
        return None
    energy = float(weight.sum())
    weight = weight / weight.sum()
    centre = float(weight @ f)
    spread = max(float(np.sqrt(weight @ (f - centre) ** 2)), 1e-12)
    scaled = (f - centre) / spread
    y = two / np.where(one == 0, 1, one)
    effective = 1 / float(np.sum(weight**2))  # lines that count
    terms = 3 if effective > 6 else 2 if effective > 3 else 1
    design = np.vander(scaled, terms, increasing=True)
    root = np.sqrt(weight)
    solution, *_ = np.linalg.lstsq(root[:, None] * design, root * y, rcond=None)
    left = root * (y - design @ solution)  # each of the same variance: that of the noise
    variance = float(np.sum(np.abs(left) ** 2)) / max(len(f) - terms, 1)
    normal = np.linalg.pinv((weight[:, None] * design).T @ design)
    doubt = np.sqrt(variance * abs(normal[0, 0]) / 2)  # of the magnitude alone
    value = solution[0]
    other = float(np.sum(np.abs(two) ** 2))
    return centre, value, doubt / max(abs(value), 1e-12), energy, other


def _smooth(doubt, reach=3):
    """A scatter from few lines is uncertain itself: the root mean square of the neighbours'."""
    padded = np.pad(doubt**2, reach, mode="edge")
    kernel = np.ones(2 * reach + 1) / (2 * reach + 1)
    return np.maximum(np.sqrt(np.convolve(padded, kernel, mode="valid")), doubt / 2)


def _quiet_parts(x, rate, least=0.4):
    """(start, end) in samples of the silence at the beginning and the end of a channel.

    >>> len(_quiet_parts(np.ones(48000), 48000))
    0

    Parameters
    ----------
    x : shape (n,)
    rate : samples/s
    least : s
    """
    size = max(1, int(0.02 * rate))
    levels = np.sqrt(np.mean(x[: len(x) // size * size].reshape(-1, size) ** 2, axis=1))
    loud = np.flatnonzero(levels > 0.05 * np.max(levels))
    if not len(loud):
        return []
    parts = [(0, int((loud[0] - 2) * size)), (int((loud[-1] + 3) * size), len(x))]
    return [(a, b) for a, b in parts if b - a >= least * rate]


def without_hum(
    data: np.ndarray, rate: float
) -> tuple[np.ndarray, tuple[tuple[float, float], ...], tuple[str, ...]]:
    """(channels with the hum of the mains taken off, bands to leave out in Hz, sentences).

    `data` has shape (samples, channels), `rate` is in samples/s.

    Where there is silence before and after the signal, hum is fitted there, overtones included, and
    taken off the whole. Mains wander, so the lines themselves are left out as well.

    >>> t = np.arange(2000) / 1000
    >>> tone = np.where((t > 0.7) & (t < 1.3), np.sin(2 * np.pi * 30 * t), 0)[:, None]
    >>> cleaned, bands, _ = without_hum(tone + 0.02 * np.sin(2 * np.pi * 50 * t)[:, None], 1000.0)
    >>> round(float(np.max(np.abs(cleaned - tone))), 3), np.round(bands[0], 1)
    (0.0, array([49.3, 50.7]))
    """
    loudest = int(np.argmax(np.mean(data**2, axis=0)))
    parts = _quiet_parts(data[:, loudest], rate)
    if not parts:
        return data, (), ()
    at = np.concatenate([np.arange(a, b) for a, b in parts])
    at = at[:: max(1, int(rate // 1000))]
    t, seen = at / rate, data[at] - data[at].mean(axis=0)
    best = min(
        ((_left_over(t, seen, main + off), main + off) for main in HUM for off in OFF),
        key=lambda each: each[0],
    )
    f = best[1]
    solution = _fit(t, seen, f)
    amplitude = np.hypot(solution[::2], solution[1::2])  # shape (overtones, channels)
    noise = np.sqrt(best[0] / len(t))
    signal = np.sqrt(2 * np.mean(data**2, axis=0))
    plain = (amplitude > 5 * noise / np.sqrt(len(t) / 2)) & (amplitude > 2e-4 * signal)
    if not plain.any():
        return data, (), ()
    whole = np.arange(len(data)) / rate
    cleaned = data - _design(whole, f) @ solution
    worst = float(np.max(20 * np.log10(np.maximum(amplitude, 1e-12) / signal)))
    lines = [k * f for k in range(1, OVERTONES + 1) if plain[k - 1].any()]
    words = (
        f"hum of {f:.2f} Hz, {worst:.0f} dB from the signal, was taken off, and "
        f"{', '.join(f'{line:.0f}' for line in lines)} Hz left out. Keep the leads away "
        "from mains, and the laptop on its battery.",
    )
    return cleaned, tuple((line - NEAR, line + NEAR) for line in lines), words


def _design(t, f):
    return np.column_stack(
        [wave(2 * np.pi * k * f * t) for k in range(1, OVERTONES + 1) for wave in (np.cos, np.sin)]
    )


def _fit(t, seen, f):
    return np.linalg.lstsq(_design(t, f), seen, rcond=None)[0]


def _left_over(t, seen, f):
    return float(np.sum((seen - _design(t, f) @ _fit(t, seen, f)) ** 2))
