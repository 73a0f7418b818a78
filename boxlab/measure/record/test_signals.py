"""What to play: a sweep, many tones at once, or one tone in rising steps, between two marks.

The marks are short high tones a whole number of seconds apart. In the recording they tell whether
it is whole, whether it was played at its own rate, and how far the two clocks differ.

Sweep: f(t) = f1·(f2/f1)^(t/T) (Farina, AES 108th Convention, 2000; from memory). Tones have the
phases φk = −πk(k − 1)/N (Schroeder, IEEE Trans. Inf. Theory 16 (1970) 85; from memory), which keeps
the peaks low.
"""

from __future__ import annotations

from dataclasses import dataclass
from os import PathLike
from pathlib import Path

import numpy as np

from boxlab.base.checks import positive

KINDS = ("sweep", "tones", "steps")
MARK_HZ, MARK_TIME = 2000.0, 0.025  # Hz, s: too short and too high to move a bass cone
GUARD = 1.0  # s of silence between mark and signal, and at both ends
FADE = 0.05  # s
STEP, PAUSE = 1.0, 0.5  # s of each level of a stepped tone, and of silence after it
LOUDEST = -3.0  # dB of full scale
COUNT = 60  # tones


@dataclass(frozen=True)
class TestSignal:
    """What was written: where, which kind, rate, length in s, band in Hz, peak in dBFS."""

    __test__ = False  # no test of pytest's

    path: Path
    kind: str
    rate: int
    seconds: float
    low: float
    high: float
    level: float


def test_signal(
    kind: str, path: str | PathLike, *, low: float = 5.0, high: float = 1000.0, seconds: int = 10,
    level: float = -12.0, rate: int = 48000, bits: int = 16, frequency: float = 40.0,
    steps: int = 10,
) -> TestSignal:  # fmt: skip
    """Write a signal to play through the amplifier while recording, as a stereo WAV or FLAC file.

    Before you first play it, the amplifier is turned right down, and then up slowly: start with the
    cone hardly moving, stay below a few volts, and protect your ears.

    Parameters
    ----------
    kind : "sweep" (rising, for impedance and near field), "tones" (60 tones at once, repeated each
        second or less, for noisy places) or "steps" (one tone, louder from step to step)
    path : the file to write, .wav or .flac; one that is there already is not touched
    low, high : Hz, of sweep and tones
    seconds : how long the signal lasts, whole seconds; of steps it follows from their number
    level : peak, dB of full scale, at most −3
    rate : samples a second
    bits : 16 or 24
    frequency : Hz, of the steps
    steps : how many levels, 2 dB apart, up to `level`

    Returns
    -------
    TestSignal

    Raises
    ------
    ValueError
        For a kind that there is not, a band or level out of reach, or a file that is there.

    >>> from tempfile import TemporaryDirectory
    >>> with TemporaryDirectory() as folder:
    ...     made = test_signal("sweep", f"{folder}/sweep.wav", seconds=4)
    >>> made.seconds, made.low, made.high  # with the marks and the silence round them
    (8.0, 5.0, 1000.0)
    """
    if kind not in KINDS:
        raise ValueError(f"kind = {kind!r}: choose one of {', '.join(KINDS)}")
    low, high = positive("low", low, "Hz"), positive("high", high, "Hz")
    if not low < high <= 0.45 * rate:
        raise ValueError(
            f"low = {low:g} and high = {high:g} Hz: low comes first, and high is at most "
            f"{0.45 * rate:g} Hz at {rate} samples a second."
        )
    if not -60 <= level <= LOUDEST:
        raise ValueError(f"level = {level:g} dB of full scale: give −60 to {LOUDEST:g}.")
    if bits not in (16, 24):
        raise ValueError(f"bits = {bits!r}: give 16 or 24.")
    if rate not in (44100, 48000, 96000):
        raise ValueError(f"rate = {rate!r}: give 44100, 48000 or 96000.")
    if not (float(seconds).is_integer() and 2 <= seconds <= 120):
        raise ValueError(f"seconds = {seconds!r}: give whole seconds, 2 to 120.")
    if not (isinstance(steps, int) and 2 <= steps <= 20):
        raise ValueError(f"steps = {steps!r}: give 2 to 20.")
    target = Path(path)
    if target.suffix.lower() not in (".wav", ".flac"):
        raise ValueError(f"path = {str(path)!r}: give a name that ends in .wav or .flac")
    if target.exists():
        raise ValueError(f"{target} is there already and stays as it is. Choose another name.")
    peak = 10 ** (level / 20)
    body = {
        "sweep": lambda: _sweep(low, high, seconds, rate),
        "tones": lambda: tones(low, high, seconds, rate),
        "steps": lambda: _stepped(frequency, steps, rate),
    }[kind]()
    whole = _between_marks(peak * body / np.max(np.abs(body)), peak, rate)
    import soundfile

    stereo = np.column_stack([whole, whole])
    soundfile.write(target, stereo, rate, subtype=f"PCM_{bits}")
    if kind == "steps":
        low = high = frequency
    return TestSignal(target, kind, rate, len(whole) / rate, low, high, float(level))


test_signal.__test__ = False


def _sweep(low, high, seconds, rate):
    """A rising tone, each octave as long as the next, faded in and out; peak 1.

    >>> _sweep(10.0, 1000.0, 1.0, 8000).shape
    (8000,)

    Parameters
    ----------
    low, high : Hz
    seconds : s
    rate : samples/s
    """
    t = np.arange(int(seconds * rate)) / rate
    octaves = np.log(high / low)
    wave = np.sin(2 * np.pi * low * seconds / octaves * (np.exp(t / seconds * octaves) - 1))
    return wave * _fades(len(t), rate)


def tones(low: float, high: float, seconds: float, rate: float) -> np.ndarray:
    """`COUNT` tones at whole hertz or halves, even in octaves, in phases that keep peaks low.

    From `low` to `high`, Hz, for so many `seconds` at a `rate` in samples/s; peak 1.

    >>> wave = tones(10.0, 100.0, 4.0, 1000)
    >>> wave.shape, round(float(np.sqrt(np.mean(wave**2))), 2)  # rms; a single tone has 0.71
    ((4000,), 0.21)
    """
    spacing = 0.5  # Hz, so that all repeat every two seconds
    wanted = np.geomspace(low, high, COUNT)
    found = np.unique(np.maximum(1, np.round(wanted / spacing))) * spacing
    k = np.arange(1, len(found) + 1)
    t = np.arange(int(seconds * rate)) / rate
    wave = np.zeros(len(t))
    for f, phase in zip(found, -np.pi * k * (k - 1) / len(k), strict=True):
        wave += np.cos(2 * np.pi * f * t + phase)
    return wave / np.max(np.abs(wave)) * _fades(len(t), rate)


def _stepped(frequency, steps, rate):
    """One tone in `steps` levels 2 dB apart, each `STEP` s and faded, with pauses; peak 1."""
    positive("frequency", frequency, "Hz")
    t = np.arange(int(STEP * rate)) / rate
    one = np.sin(2 * np.pi * frequency * t) * _fades(len(t), rate)
    pause = np.zeros(int(PAUSE * rate))
    levels = 10 ** (-2 * np.arange(steps - 1, -1, -1) / 20)
    return np.concatenate([part for level in levels for part in (level * one, pause)])


def _between_marks(body, peak, rate):
    """The signal with silence and a mark on either side; the marks are whole seconds apart."""
    quiet = np.zeros(int(GUARD * rate))
    short = np.zeros(-len(body) % rate)
    mark = np.zeros(int(GUARD * rate))
    size = int(MARK_TIME * rate)
    t = np.arange(size) / rate
    mark[:size] = 0.5 * peak * np.sin(2 * np.pi * MARK_HZ * t) * np.hanning(size)
    return np.concatenate([quiet, mark, body, short, quiet, mark])


def _fades(size, rate):
    ramp = np.ones(size)
    edge = max(2, int(FADE * rate))
    half = 0.5 - 0.5 * np.cos(np.pi * np.arange(edge) / edge)
    ramp[:edge], ramp[-edge:] = half, half[::-1]
    return ramp
