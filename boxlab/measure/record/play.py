"""Playing a test signal and recording what comes back, with the optional extra `boxlab[record]`."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from boxlab.base.cautions import words
from boxlab.measure.record.sound_file import DEAD, Recording, RecordingError, open_recording

QUIET = -40.0  # dB of full scale, peak: with most amplifiers a cone hardly moves
LOUDEST = -3.0
RAMP = 2.0  # s of the signal, faded in, that are played before anything is recorded
TAIL = 0.5  # s recorded after the end, as sound comes back late
LATENCY = 0.5  # s: nothing hurries, and a gap spoils all
CEILING = 0.99  # of full scale


def play_and_record(signal, to, *, level=QUIET, device=None) -> Recording:
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
    device : name or number of the sound device; the system's own if left out

    Returns
    -------
    Recording
        With the seconds of the signal and half a second more, two channels.

    Raises
    ------
    RecordingError
        If the extra is not installed, no device will do, nothing arrives, or an input is clipped.
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
    heard = _through(np.concatenate([data, np.zeros((int(TAIL * rate), 2))]), rate, device)
    _insist(heard)
    import soundfile

    soundfile.write(target, heard, rate, subtype="PCM_24")
    return Recording(heard, float(rate), target.name)


def _through(data, rate, device):
    """What both inputs hear while `data`, shape (n, 2), is played."""
    try:
        import sounddevice
    except (ImportError, OSError) as error:  # OSError: the package is there, PortAudio is not
        raise RecordingError(
            f"Playing and recording needs an extra that is not here ({error}): pip install "
            "'boxlab[record]', and on Linux the system's libportaudio2. Or play and record with "
            "any recorder, and read the file."
        ) from None
    try:
        heard = sounddevice.playrec(
            data.astype("float32"), rate, channels=2, device=device, blocking=True, latency=LATENCY
        ).astype(float)
    except (sounddevice.PortAudioError, ValueError) as error:
        raise RecordingError(
            f"The sound device will not play and record at once with {rate} samples a second "
            f"({error}). Choose another by device=; there are:\n{sounddevice.query_devices()}"
        ) from None
    told = sounddevice.get_status()
    if told.input_overflow or told.output_underflow:
        raise RecordingError(
            "The computer was too busy, and a part is missing. Close other programs, and try again."
        )
    return heard


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
