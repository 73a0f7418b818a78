"""What an amplifier really gives on music: volts and amperes, recorded side by side."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from boxlab.base.checks import positive
from boxlab.measure.record.sound_file import (
    RecordingError,
    Source,
    check_channels,
    open_recording,
)

WINDOW = 0.3  # s, about that of a meter
_SCALE = "What a sample of full scale stands for, from the divider or the shunt."


@dataclass(frozen=True, eq=False)
class OnMusic:
    """Power over time and what it comes to.

    Attributes
    ----------
    average : W, real power: the mean of volts times amperes
    largest : W, the largest mean over `window` s
    peak : W, the largest instant
    crest : dB, peak over rms of the voltage
    volts, amperes : rms
    apparent : VA, volts times amperes, each rms
    time, power : s and W, means over each window, shape (n,)
    rating : W, as given, or None
    notes : what was found
    """

    average: float
    largest: float
    peak: float
    crest: float
    volts: float
    amperes: float
    time: np.ndarray
    power: np.ndarray
    window: float = WINDOW
    rating: float | None = None
    notes: tuple[str, ...] = ()

    @property
    def apparent(self) -> float:
        """VA: volts times amperes, each rms; never less than the average."""
        return self.volts * self.amperes

    @property
    def share(self) -> float:
        """Average over the rating, a ratio; NaN where no rating was given."""
        return float("nan") if self.rating is None else self.average / self.rating

    @property
    def words(self) -> str:
        """The honest sentence about the rating."""
        told = (
            f"On this piece the amplifier gives {self.average:.3g} W on average, at most "
            f"{self.largest:.3g} W over {self.window:g} s and {self.peak:.3g} W for an instant; "
            f"the crest factor is {self.crest:.1f} dB."
        )
        if self.rating is None:
            return told
        return (
            f"{told} That is {100 * self.share:.0f} % of its rating of {self.rating:g} W, which is "
            "for a steady tone: music with such peaks leaves no more on average."
        )


def amplifier_on_music(
    path: Source, volts: float, amperes: float, rating: float | None = None, window: float = WINDOW
) -> OnMusic:
    """Real power from a stereo recording of the amplifier's voltage (left) and current (right).

    A bridged or floating output must never meet a sound card's ground, and nothing here may touch
    the mains. Use an isolated or differential input, and fuse the lead of the divider.

    Parameters
    ----------
    path : a sound file, or a `Recording`
    volts, amperes : what full scale of the left and the right channel stands for
    rating : W, of the amplifier at this load
    window : s, over which power is averaged for `largest` and `power`

    Raises
    ------
    RecordingError
        For a file that cannot be read, or a dead or clipped channel.

    >>> from boxlab.measure.record import Recording
    >>> tone = np.sin(2 * np.pi * 50 * np.arange(8000) / 8000)  # 30 V and 5 A at its peaks
    >>> found = amplifier_on_music(Recording(tone[:, None] * [0.5, 0.25], 8000.0), 60.0, 20.0)
    >>> round(found.average), round(found.peak), round(found.crest, 1)
    (75, 150, 3.0)
    """
    volts, amperes = positive("volts", volts, _SCALE), positive("amperes", amperes, _SCALE)
    window = positive("window", window, "It is in seconds.")
    rating = None if rating is None else positive("rating", rating, "It is in watts.")
    found = open_recording(path)
    check_channels(found, ("volts", "amperes"))
    pair = found.data[:, :2] - found.data[:, :2].mean(axis=0)  # a sound card passes no steady part
    v, i = volts * pair[:, 0], amperes * pair[:, 1]
    instant = v * i
    notes = []
    if instant.mean() < 0:
        instant = -instant
        notes.append("the current is counted the wrong way round: taken as turned.")
    size = max(1, int(window * found.rate))
    if size > len(instant):
        raise RecordingError(
            f"{found.name} is {found.seconds:.2f} s long, less than the window of {window:g} s."
        )
    means = instant[: len(instant) // size * size].reshape(-1, size).mean(axis=1)
    sums = np.concatenate([[0.0], np.cumsum(instant)])
    running = (sums[size:] - sums[:-size]) / size
    rms_v, rms_i = np.sqrt(np.mean(v**2)), np.sqrt(np.mean(i**2))
    average = float(instant.mean())
    if average < 0.2 * rms_v * rms_i:
        notes.append(
            f"only {100 * average / (rms_v * rms_i):.0f} % of volts times amperes is real power: "
            "check that the two channels are of one and the same output."
        )
    return OnMusic(
        average=average,
        largest=float(running.max()),
        peak=float(instant.max()),
        crest=float(20 * np.log10(np.max(np.abs(v)) / rms_v)),
        volts=float(rms_v),
        amperes=float(rms_i),
        time=(np.arange(len(means)) + 0.5) * size / found.rate,
        power=means,
        window=window,
        rating=rating,
        notes=tuple(notes),
    )
