"""A tone in rising steps: harmonics against level, and where something begins to limp or to hit."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from boxlab.measure.record.sound_file import RecordingError, Source, open_recording
from boxlab.measure.record.test_signals import PAUSE

OVERTONES = 6
SHARP = 2.0  # times as much distortion in one step of 2 dB
WORTH = 0.02  # of the tone: below this no step is worth a word


@dataclass(frozen=True, eq=False)
class Steps:
    """Each step of a stepped tone.

    Attributes
    ----------
    frequency : Hz
    level : dB of full scale, rms of the tone, shape (n,)
    harmonics : of the tone, second to sixth, shape (n, 5)
    distortion : all of them together, a ratio, shape (n,)
    words : what it means
    """

    frequency: float
    level: np.ndarray
    harmonics: np.ndarray
    distortion: np.ndarray
    words: tuple[str, ...]


def levels_of(path: Source, channel: int = 0) -> Steps:
    """Harmonics of a stepped tone (`test_signal("steps", ...)`) as heard by a microphone or input.

    Parameters
    ----------
    path : a sound file, or a `Recording`
    channel : which channel, from 0

    Raises
    ------
    RecordingError
        For a file without steps of one tone.

    >>> from boxlab.measure.record.sound_file import Recording
    >>> tone, pause = np.sin(80 * np.pi * np.arange(4000) / 4000), np.zeros(2000)
    >>> steps = [part for k in (0.1, 0.2, 0.4) for part in (k * tone + (k * tone) ** 3, pause)]
    >>> found = levels_of(Recording(np.concatenate(steps)[:, None], 4000.0))
    >>> found.level.round(1), found.harmonics[:, 1].round(3)  # the third harmonic grows with it
    (array([-23. , -16.7, -10. ]), array([0.002, 0.009, 0.035]))
    """
    found = open_recording(path, channels=channel + 1)
    x = found.data[:, channel] - found.data[:, channel].mean()
    parts = _parts(x, found.rate)
    if len(parts) < 3:
        raise RecordingError(
            f"{found.name}: no steps of one tone are to be heard. Play test_signal('steps', ...) "
            "and record all of it."
        )
    f = _pitch(x[parts[-1]], found.rate)
    sizes = np.array([_overtones(x[part], found.rate, f) for part in parts])
    tone, harmonics = sizes[:, 0], sizes[:, 1:] / sizes[:, :1]
    distortion = np.sqrt(np.sum(harmonics**2, axis=1))
    level = 20 * np.log10(tone / np.sqrt(2))
    return Steps(f, level, harmonics, distortion, tuple(_words(level, distortion, harmonics)))


def _parts(x, rate):
    """Slices of the steps: longer than half a second, with silence between."""
    size = max(1, int(0.02 * rate))
    blocks = np.sqrt(np.mean(x[: len(x) // size * size].reshape(-1, size) ** 2, axis=1))
    loud = blocks > max(0.02 * blocks.max(), 3 * np.percentile(blocks, 5))
    edges = np.flatnonzero(np.diff(np.concatenate([[0], loud.astype(np.int8), [0]])))
    gaps = [(a, b) for a, b in zip(edges[::2], edges[1::2], strict=True)]
    long = [(a, b) for a, b in gaps if (b - a) * size > PAUSE * rate]
    return [slice((a + 6) * size, (b - 6) * size) for a, b in long]


def _pitch(x, rate):
    lines = np.abs(np.fft.rfft(x * np.hanning(len(x)), 8 * len(x)))
    return float((np.argmax(lines[8:]) + 8) * rate / (8 * len(x)))


def _overtones(x, rate, f):
    """Amplitudes of the tone and its harmonics, by least squares."""
    t = np.arange(len(x)) / rate
    waves = [
        wave(2 * np.pi * k * f * t) for k in range(1, OVERTONES + 1) for wave in (np.cos, np.sin)
    ]
    solution, *_ = np.linalg.lstsq(np.column_stack(waves), x, rcond=None)
    return np.hypot(solution[::2], solution[1::2])


def _words(level, distortion, harmonics):
    grown = distortion[1:] / np.maximum(distortion[:-1], 1e-9)
    sharp = np.flatnonzero((grown > SHARP) & (distortion[1:] > WORTH))
    if not len(sharp):
        yield (
            f"Distortion rises smoothly, to {100 * distortion[-1]:.1f} % at the loudest step: "
            "nothing hits its stop yet."
        )
        return
    at = int(sharp[0]) + 1
    yield (
        f"From {level[at]:.0f} dB of full scale on distortion jumps, {100 * distortion[at - 1]:.1f}"
        f" to {100 * distortion[at]:.1f} % within one step: something reaches its stop, or the "
        "amplifier its end. Stay below that."
    )
    odd, even = harmonics[at, 1::2].sum(), harmonics[at, ::2].sum()
    side = "both ways alike" if odd > even else "one way more than the other"
    yield f"Mostly {'odd' if odd > even else 'even'} harmonics: it is held back {side}."
