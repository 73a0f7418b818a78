"""What a box does to a bass line and to a sweep, as sound you can save or play yourself.

Nothing here plays on its own. Turn the volume down before you listen, and up slowly. The speakers
of a laptop or a phone cannot reproduce this: they drop the very notes in which boxes differ, so
use headphones, or a system that reaches 40 Hz. All versions are matched in loudness so that the
louder one does not win by being loud; that hides how loud each box can go.
"""

from __future__ import annotations

import io
import wave
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from boxlab.base.checks import positive
from boxlab.model.air import Air
from boxlab.model.any_box import Box
from boxlab.model.driver import Driver
from boxlab.model.response import solve
from boxlab.sound.hearing import weighting
from boxlab.sound.programme import RATE, bass_line

CAUTION = (
    "Turn the volume down first, then up slowly. Long bass at high level can harm hearing before "
    "it feels loud. Small speakers cannot reproduce this: use headphones or a system that reaches "
    "40 Hz."
)
TOP = 500.0  # Hz: above this the lumped model says nothing and the sounds hold nothing


def sweep(
    low: float = 20.0, high: float = 200.0, seconds: float = 8.0, rate: float = RATE,
    rest: float = 1.0,
) -> np.ndarray:  # fmt: skip
    """A rising sine, equal time in each octave, peak 1, soft ends, then `rest` s of silence.

    >>> sweep(seconds=1.0, rate=8000).size
    16000

    Parameters
    ----------
    low, high : Hz
    seconds, rest : s
    rate : samples/s
    """
    from scipy.signal import chirp
    from scipy.signal.windows import tukey

    low, high = positive("low", low), positive("high", high)
    if not low < high <= TOP:
        raise ValueError(
            f"low = {low:g} Hz, high = {high:g} Hz: low below high, high up to {TOP:g}"
        )
    t = np.arange(round(positive("seconds", seconds) * rate)) / rate
    tone = chirp(t, low, t[-1], high, method="logarithmic", phi=-90) * tukey(t.size, 0.05)
    return np.concatenate((tone, np.zeros(round(positive("rest", rest) * rate))))


def render(
    signal: np.ndarray, driver: Driver, box: Box, rate: float = RATE, voltage: float = 1.0,
    air: Air | None = None,
) -> np.ndarray:  # fmt: skip
    """Far-field pressure in Pa at 1 m of `signal` (1 = `voltage` volts), shape as the signal.

    The signal is taken to loop, which makes the filtering by Fourier transform exact. The time of
    flight is left out; nothing above 500 Hz passes.

    >>> from boxlab.gear.scenario import TEN_INCH_DRIVER as driver
    >>> from boxlab.model.enclosure import SealedBox
    >>> render(np.zeros(64), driver, SealedBox(0.014)).shape
    (64,)

    Parameters
    ----------
    signal : (n,), loops
    driver, box, air : as for `boxlab.model.response.solve`
    rate : samples/s
    voltage : V for a signal of 1
    """
    signal = np.asarray(signal, dtype=float)
    if signal.ndim != 1 or signal.size < 16:
        raise ValueError("signal must be one channel of at least 16 samples")
    air = Air() if air is None else air
    spectrum = np.fft.rfft(signal)
    f = np.fft.rfftfreq(signal.size, 1 / positive("rate", rate, "Give samples per second."))
    band = (f > 0) & (f <= TOP)
    r = solve(driver, box, f[band], 1.0, air)
    flight = np.exp(2j * np.pi * f[band] / air.speed_of_sound)
    out = np.zeros_like(spectrum)
    out[band] = spectrum[band] * r.pressure * flight * voltage
    return np.fft.irfft(out, signal.size)


def loudness(signal: np.ndarray, rate: float = RATE, kind: str = "C") -> float:
    """Weighted level of a looping signal, dB re 1: a plain stand-in for loudness.

    C-weighting is the nearest of the standard ones to the ear at high level in the bass; no
    weighting is a model of hearing.

    >>> t = np.arange(8000) / 8000
    >>> round(loudness(np.sin(2 * np.pi * 1000 * t), 8000, "C"), 1)  # dB
    -3.0

    Parameters
    ----------
    signal : (n,)
    rate : samples/s
    kind : "A", "C" or "Z"
    """
    lines = np.abs(np.fft.rfft(signal)) ** 2
    f = np.fft.rfftfreq(signal.size, 1 / rate)
    gain = np.zeros_like(f)
    gain[1:] = 10 ** (weighting(f[1:], kind) / 10)
    total = 2 * np.sum(lines * gain) / signal.size**2
    if not total > 0:
        raise ValueError("the signal is silent, so it cannot be matched in loudness")
    return float(10 * np.log10(total))


@dataclass(frozen=True, eq=False)
class Audition:
    """Versions of one sound, name -> array with peak at most `peak`, matched in loudness.

    `gains` are the dB each was turned up or down by against its pressure at the same voltage; the
    difference between two is how much louder one box was.
    """

    rate: int
    sounds: Mapping[str, np.ndarray]
    gains: Mapping[str, float]
    peak: float
    caution: str = CAUTION

    def wav(self, name):
        """One version as the bytes of a 16-bit mono WAV file."""
        if name not in self.sounds:
            raise ValueError(f"no sound {name!r}; there is {', '.join(self.sounds)}")
        return wav_bytes(self.sounds[name], self.rate)


def audition(
    boxes: Mapping[str, tuple[Driver, Box]], sound: str | np.ndarray = "bass line",
    rate: float = RATE, kind: str = "C", peak: float = 0.4, air: Air | None = None,
) -> Audition:  # fmt: skip
    """Render a sound through several boxes, match their loudness, and keep the peaks down.

    Parameters
    ----------
    boxes : mapping of name to (driver, box)
    sound : "bass line", "sweep", or an array of samples that loops
    rate : samples/s
    kind : weighting for the match: "A", "C" or "Z"
    peak : largest sample of any version, 0 to 1

    Returns
    -------
    Audition
        It also holds the sound itself under "as played", matched too.

    Raises
    ------
    ValueError
        For no boxes, an unknown sound, or a peak outside 0 to 1.

    >>> from boxlab import SealedBox
    >>> from boxlab.gear.scenario import TEN_INCH_DRIVER as driver
    >>> boxes = {"14 L": (driver, SealedBox(0.014)), "28 L": (driver, SealedBox(0.028))}
    >>> {name: round(gain, 1) for name, gain in audition(boxes).gains.items()}  # dB
    {'as played': -12.3, '14 L': 3.9, '28 L': 3.9}
    """
    if not boxes:
        raise ValueError("boxes is empty: give at least one, as {'name': (driver, box)}")
    if not 0 < positive("peak", peak) <= 1:
        raise ValueError(f"peak = {peak:g} would clip: give a share of full scale up to 1")
    if isinstance(sound, str):
        if sound not in ("bass line", "sweep"):
            raise ValueError(f"sound = {sound!r}: choose 'bass line' or 'sweep', or give an array")
        sound = bass_line(rate=rate) if sound == "bass line" else sweep(rate=rate)
    versions = {"as played": np.asarray(sound, dtype=float)}
    for name, (driver, box) in boxes.items():
        versions[name] = render(sound, driver, box, rate, 1.0, air)
    gains = {name: -loudness(v, rate, kind) for name, v in versions.items()}
    matched = {name: v * 10 ** (gains[name] / 20) for name, v in versions.items()}
    # One gain for all keeps the match; each version limited alone would lose it.
    # 0.4 keeps the largest sample off the edge between two 16-bit steps, where machines disagree.
    scale = peak / max(np.abs(v).max() for v in matched.values())
    sounds = {name: v * scale for name, v in matched.items()}
    shift = 20 * np.log10(scale)
    return Audition(rate, sounds, {k: float(g + shift) for k, g in gains.items()}, peak)


def wav_bytes(signal: np.ndarray, rate: float = RATE) -> bytes:
    """A signal within −1 to 1 as the bytes of a 16-bit mono WAV file.

    Raises
    ------
    ValueError
        If it would clip.

    >>> wav_bytes(np.zeros(4))[:4]
    b'RIFF'

    Parameters
    ----------
    signal : (n,)
    rate : samples/s
    """
    signal = np.asarray(signal, dtype=float)
    if not np.abs(signal).max(initial=0.0) <= 1:
        raise ValueError(
            f"the signal peaks at {np.abs(signal).max():.3g}: a WAV file holds −1 to 1. "
            "Turn it down."
        )
    buffer = io.BytesIO()
    with wave.open(buffer, "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(int(rate))
        file.writeframes(np.round(signal * 32767).astype("<i2").tobytes())
    return buffer.getvalue()
