"""A sound file with two channels, and what is wrong with it."""

from __future__ import annotations

from dataclasses import dataclass
from os import PathLike
from pathlib import Path
from typing import BinaryIO

import numpy as np

LEAST_RATE, LEAST_TIME = 4000, 0.5  # samples a second, s
DEAD = 10 ** (-75 / 20)  # rms of a channel, of full scale, below which nothing is plugged in
FLAT = 0.995  # of a block's peak
# Share of a block's samples above FLAT of its peak. A sine has 2·arccos(0.995)/π = 6.4 % of its
# time there; one cut by a tenth of a decibel 12 %.
CLIPPED = 0.115
BLOCK = 0.5  # s


class RecordingError(ValueError):
    """A recording that cannot be used; the message says what is wrong and what to do."""


@dataclass(frozen=True, eq=False)
class Recording:
    """A recording: `data` of shape (samples, channels), of full scale, at `rate` samples/s."""

    data: np.ndarray
    rate: float
    name: str = ""

    @property
    def seconds(self) -> float:
        """How long it is, s."""
        return len(self.data) / self.rate

    def clipped(self, channel: int) -> bool:
        """Whether the peaks of a channel are cut flat, by the converter or before it."""
        x = self.data[:, channel]
        peak = np.max(np.abs(x))
        if peak == 0:
            return False
        return _flat_at_the_top(x, peak) or self._flattened(x, peak)

    def _flattened(self, x, peak):
        """Blocks that stay near their peak for longer than a sine can."""
        size = max(16, int(BLOCK * self.rate))
        blocks = np.abs(x[: len(x) // size * size].reshape(-1, size))
        tops = blocks.max(axis=1)
        loud = tops > 0.9 * peak
        if not loud.any():
            return False
        share = (blocks > FLAT * tops[:, None]).mean(axis=1)
        return bool(np.any(share[loud] > CLIPPED))


Source = Recording | str | PathLike | BinaryIO  # what `open_recording` takes


def _flat_at_the_top(x, peak):
    """Runs of one and the same largest value with steep sides: a converter at its end."""
    at = np.abs(x) >= peak * (1 - 1e-9)
    edges = np.flatnonzero(np.diff(at.astype(np.int8)))
    starts, ends = edges[::2] + 1, edges[1::2] + 1
    if at[0] or at[-1] or len(starts) != len(ends):
        return False
    long = ends - starts >= 4
    if not long.any():
        return False
    steep = np.minimum(
        np.abs(np.abs(x[starts[long] - 1]) - peak), np.abs(np.abs(x[ends[long]]) - peak)
    )
    # beside a rounded top the next step is at most some four steps of 16 bits below it
    return bool(np.max(steep) > max(8 / 2**15, 0.004 * peak))


def open_recording(source: Source, channels: int = 2, least: float = LEAST_TIME) -> Recording:
    """Read a sound file: WAV with any depth, FLAC, AIFF and others.

    Parameters
    ----------
    source : path, open file, or a `Recording`, which is given back
    channels : how many channels are needed at least
    least : how long it has to be at least, s

    Raises
    ------
    RecordingError
        If it cannot be read, has too few channels or is too short.

    >>> open_recording(Recording(np.zeros((400, 2)), 8000.0, "a.wav"))  # doctest: +ELLIPSIS
    Traceback (most recent call last):
    boxlab.measure.record.sound_file.RecordingError: a.wav is 0.05 s long, too short to tell any...
    """
    found = source if isinstance(source, Recording) else _read(source)
    if found.data.shape[1] < channels:
        raise RecordingError(
            f"{found.name} has {found.data.shape[1]} channel, and {channels} are needed. Record in "
            "stereo, both inputs of one sound card at once."
        )
    if found.rate < LEAST_RATE:
        raise RecordingError(
            f"{found.name} has {found.rate:g} samples a second. Record with 44100 or 48000."
        )
    if found.seconds < least:
        raise RecordingError(
            f"{found.name} is {found.seconds:.2f} s long, too short to tell anything. Record the "
            "whole signal, with the silence before and after it."
        )
    if not np.isfinite(found.data).all():
        raise RecordingError(f"{found.name} holds values that are no numbers. Record it again.")
    return found


def _read(source):
    try:
        import soundfile
    except ImportError:
        raise RecordingError(
            "Reading recordings needs the package soundfile: pip install soundfile"
        ) from None
    name = Path(source).name if isinstance(source, str | Path) else getattr(source, "name", "it")
    try:
        data, rate = soundfile.read(source, dtype="float64", always_2d=True)
    except (soundfile.LibsndfileError, RuntimeError, OSError, TypeError) as error:
        if isinstance(source, str | Path) and not Path(source).exists():
            raise RecordingError(f"There is no {source}.") from None
        raise RecordingError(
            f"{name} is no recording that can be read ({error}). Save it as WAV or FLAC."
        ) from None
    return Recording(data, float(rate), name)


def check_channels(found: Recording, names: tuple[str, ...]) -> None:
    """Refuse channels of the recording `found` that are dead or clipped, by the `names` of both.

    >>> one = np.sin(np.arange(8000) / 9)
    >>> found = Recording(np.column_stack([0.5 * one, 0 * one]), 8000.0, "a.wav")
    >>> check_channels(found, ("total", "device"))  # doctest: +ELLIPSIS
    Traceback (most recent call last):
    boxlab.measure.record.sound_file.RecordingError: a.wav: nothing arrives in channel 2 (device)...

    Raises
    ------
    RecordingError
        Saying which channel it is and what to do.
    """
    for i, name in enumerate(names):
        x = found.data[:, i]
        x = x - x.mean()
        if np.sqrt(np.mean(x**2)) < DEAD:
            raise RecordingError(
                f"{found.name}: nothing arrives in channel {i + 1} ({name}). Is it plugged in, and "
                "is the recording in stereo?"
            )
        if found.clipped(i):
            raise RecordingError(
                f"{found.name}: channel {i + 1} ({name}) is clipped: its peaks are cut flat. Turn "
                "down the recording level, or play more quietly, and record again."
            )
