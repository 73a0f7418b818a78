"""Playing a test signal and recording what comes back, with the optional extra `boxlab[record]`.

Player and recorder are two streams. One stream for both ways has to keep two clocks in step, and on
a busy machine it then leaves out samples, without a word where its blocks are of a size of ours:
tried on a virtual device (`tests/test_play_and_record.py`), where two streams lost none.
"""

from __future__ import annotations

import threading
import time
from os import PathLike
from pathlib import Path

import numpy as np

from boxlab.base.cautions import words
from boxlab.measure.record.marks import DRIFT, find_marks, interrupted
from boxlab.measure.record.sound_file import (
    DEAD,
    Recording,
    RecordingError,
    Source,
    open_recording,
)

QUIET = -40.0  # dB of full scale, peak: with most amplifiers a cone hardly moves
LOUDEST = -3.0
RAMP = 2.0  # s of the signal, faded in, that are played before anything is recorded
LEAD = 0.5  # s of silence before it: a player that starts loses its first moments
TAIL = 0.5  # s recorded after the end, beside the delay of both streams
LATENCY = 0.5  # s: nothing hurries, and a gap spoils all
PATIENCE = 10.0  # s more than it should take
CEILING = 0.99  # of full scale
MISSING = "The computer was too busy, and a part is missing"
AGAIN = "Close other programs, and try again."


def play_and_record(
    signal: Source, to: str | PathLike, *, level: float = QUIET,
    device: int | str | tuple[int | str, int | str] | None = None,
) -> Recording:  # fmt: skip
    """Play a sound file and record both inputs meanwhile, into a new file.

    First two seconds from its middle are faded in: if nothing arrives or an input is at its end,
    it stops there. Begin at the usual level, listen, and raise it by 6 dB at most each time.
    The amplifier is turned right down before; protect your ears and the coil; never connect
    a bridged or floating output to a sound card's ground.

    Parameters
    ----------
    signal : a sound file, as `test_signal` writes it
    to : a new .wav or .flac file, 24 bits; one that is there already is not touched
    level : dB of full scale to which the peak of the signal is brought, −80 to −3
    device : name or number of the sound device, or of two, (input, output); the system's own if
        left out

    Returns
    -------
    Recording
        The signal with a second or two more, two channels.

    Raises
    ------
    RecordingError
        If the extra is not installed, no device will do, nothing arrives, an input is clipped, or
        a part is missing.

    >>> play_and_record("signal.wav", "heard.wav", level=6.0)  # louder than a file can be
    Traceback (most recent call last):
    ValueError: level = 6 dB of full scale: give −80 to -3.
    """
    if not -80 <= level <= LOUDEST:
        raise ValueError(f"level = {level:g} dB of full scale: give −80 to {LOUDEST:g}.")
    target = Path(to)
    if target.suffix.lower() not in (".wav", ".flac"):
        raise ValueError(f"to = {str(to)!r}: give a name that ends in .wav or .flac")
    if target.exists():
        raise ValueError(f"{target} is there already and stays as it is. Choose another name.")
    found = open_recording(signal, channels=1)
    data = found.data[:, [0, -1]]
    data = data * (10 ** (level / 20) / np.max(np.abs(data)))
    rate = int(found.rate)
    print(*words("test signal", "sound card"), sep="\n")
    middle, size = len(data) // 2, int(RAMP * rate / 2)
    part = data[max(0, middle - size) : middle + size]
    rise = 0.5 - 0.5 * np.cos(np.pi * np.minimum(1, np.linspace(0, 1.5, len(part))))
    end = np.minimum(1, np.linspace(20, 0, len(part)))  # and no click at its end
    _insist(_through(part * (rise * end)[:, None], rate, device))
    heard = _through(data, rate, device)
    _insist(heard)
    _whole(data, heard, rate)
    import soundfile

    soundfile.write(target, heard, rate, subtype="PCM_24")
    return Recording(heard, float(rate), target.name)


def sound_devices() -> str:
    """The sound devices of this machine, one a line, with their numbers.

    >>> from types import SimpleNamespace
    >>> from unittest import mock
    >>> library = SimpleNamespace(query_devices=lambda: "0 a sound card (2 in, 2 out)")
    >>> with mock.patch.dict("sys.modules", sounddevice=library):  # as on a machine with one card
    ...     sound_devices()
    '0 a sound card (2 in, 2 out)'
    """
    return str(_library().query_devices())


def _library():
    try:
        import sounddevice
    except (ImportError, OSError) as error:  # OSError: the package is there, PortAudio is not
        raise RecordingError(
            f"Playing and recording needs an extra that is not here ({error}): pip install "
            "'boxlab[record]', and on Linux the system's libportaudio2. Or play and record with "
            "any recorder, and read the file."
        ) from None
    return sounddevice


def _through(data, rate, device):
    """What both inputs hear while `data`, shape (n, 2), is played."""
    library = _library()
    inward, outward = device if isinstance(device, tuple | list) else (device, device)
    silence = np.zeros((int(LEAD * rate), 2))
    data = np.concatenate([silence, data, silence]).astype("float32")
    parts, lost, at, done = [], [], [0], threading.Event()

    def hear(block, count, when, status):
        if status.input_overflow or (status and at[0] > len(silence)):
            lost.append(str(status))
        parts.append(block.copy())

    def play(block, count, when, status):
        if status and at[0] > len(silence):
            lost.append(str(status))
        now = data[at[0] : at[0] + count]
        block[: len(now)], block[len(now) :] = now, 0
        at[0] += count
        if at[0] >= len(data):
            done.set()

    both = {"samplerate": rate, "channels": 2, "dtype": "float32", "latency": LATENCY}
    end = time.monotonic() + len(data) / rate + PATIENCE
    try:
        with library.InputStream(device=inward, callback=hear, **both) as ear:
            while not parts and time.monotonic() < end:
                time.sleep(0.02)  # the recorder runs first
            with library.OutputStream(device=outward, callback=play, **both) as mouth:
                done.wait(max(0.0, end - time.monotonic()))
                time.sleep(ear.latency + mouth.latency + TAIL)
    except (library.PortAudioError, ValueError) as error:
        raise RecordingError(
            f"The sound device will not play and record at once with {rate} samples a second "
            f"({error}). Choose another by device=; there are:\n{library.query_devices()}"
        ) from None
    if not done.is_set() or not parts:
        raise RecordingError("The sound device stopped before the end. Choose another by device=.")
    if lost:
        raise RecordingError(f"{MISSING} ({', '.join(dict.fromkeys(lost))}). {AGAIN}")
    return np.concatenate(parts).astype(float)


def _whole(data, heard, rate):
    """Refuse what has a gap that no device told of: by the signal's marks, and by silences."""
    played, loudest = find_marks(data[:, 0], rate), int(np.argmax(np.mean(heard**2, axis=0)))
    came = find_marks(heard[:, loudest], rate)
    if played.last is not None and came.last is not None:
        off = (came.last - came.first) - (played.last - played.first)
        if abs(off) > DRIFT * (played.last - played.first):
            raise RecordingError(f"{MISSING} ({1e3 * abs(off):.1f} ms between the marks). {AGAIN}")
    at = interrupted(heard, rate)
    if at is not None:
        raise RecordingError(f"{MISSING} (nothing at all at {at:.2f} s). {AGAIN}")


def _insist(heard):
    """Refuse inputs at their end, or with nothing on them."""
    peak = np.max(np.abs(heard), axis=0)
    if np.any(peak > CEILING):
        raise RecordingError(
            f"Input {int(np.argmax(peak)) + 1} is clipped. Turn down its gain or the level."
        )
    if np.all(np.sqrt(np.mean((heard - heard.mean(axis=0)) ** 2, axis=0)) < DEAD):
        raise RecordingError(
            "Nothing arrives at either input. Is the input plugged in, chosen and turned up?"
        )
