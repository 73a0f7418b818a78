"""Phase between cone and radiator, from two microphones close to them."""

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
from boxlab.measure.record.transfer import ratio, without_hum

PURE = 0.5  # of a channel's energy within the main line, above which it is a tone


@dataclass(frozen=True, eq=False)
class Phases:
    """Second part against the first: Hz, degrees (positive: ahead), size ratio, doubt in degrees.

    Shape (n,) for a sweep, and (1,) for a tone; `notes` says what was found.
    """

    frequency: np.ndarray
    phase: np.ndarray
    ratio: np.ndarray
    doubt: np.ndarray
    notes: tuple[str, ...] = ()

    @property
    def words(self) -> tuple[str, ...]:
        """Who is ahead, for a tone; nothing for a sweep, whose phase is another everywhere."""
        if len(self.phase) != 1:
            return ()
        phase, doubt = float(self.phase[0]), float(self.doubt[0])
        told = f"At {self.frequency[0]:.4g} Hz the radiator or port is"
        if abs(phase) < 2 * doubt:
            return (
                f"{told} in step with the cone, within ±{2 * doubt:.2g}°: they go out at once.",
            )
        if 180 - abs(phase) < 2 * doubt:
            return (f"{told} opposite to the cone, within ±{2 * doubt:.2g}°.",)
        way, other = ("ahead of", "behind") if phase > 0 else ("behind", "ahead")
        return (
            f"{told} {abs(phase):.0f} ± {doubt:.1g}° {way} the cone, or {360 - abs(phase):.0f}° "
            f"{other}: a steady tone cannot tell these two apart.",
        )

    def at(self, frequency: float) -> float:
        """Phase at a frequency, degrees, −180 to 180, straight between its neighbours."""
        if not self.frequency[0] <= frequency <= self.frequency[-1]:
            raise ValueError(
                f"frequency = {frequency:g} Hz: measured from {self.frequency[0]:.3g} to "
                f"{self.frequency[-1]:.3g} Hz."
            )
        turned = np.unwrap(np.radians(self.phase))
        found = np.degrees(np.interp(frequency, self.frequency, turned))
        return float((found + 180) % 360 - 180)


def phase_between(
    path: Source, channels: tuple[str, str] = ("cone", "radiator"), *,
    frequency: float | None = None, low: float = 8.0, high: float = 200.0,
) -> Phases:  # fmt: skip
    """Phase of the radiator (or port) against the cone, from two microphones close to them.

    Both microphones have to be of one kind and at the same distance, a few millimetres, well below
    ka = 1. The pressure close to a part goes with its acceleration, so its phase is that of its
    motion for both alike.

    Parameters
    ----------
    path : a sound file in stereo, or a `Recording`
    channels : which is which, "cone" and "radiator"
    frequency : Hz of a steady tone, where that was played; found by itself if left out
    low, high : Hz, looked at for a sweep

    Raises
    ------
    RecordingError
        For a file that cannot be read, or a dead or clipped channel.

    >>> from boxlab.measure.record import Recording
    >>> turn = 2 * np.pi * 40 * np.arange(8000) / 4000
    >>> heard = Recording(np.column_stack([np.sin(turn), 2 * np.sin(turn - np.pi / 2)]) / 4, 4000.0)
    >>> found = phase_between(heard)
    >>> found.frequency.round(1), found.phase.round(1), found.ratio.round(2)
    (array([40.]), array([-90.]), array([2.]))
    """
    if sorted(channels) != ["cone", "radiator"]:
        raise ValueError(f"channels = {channels!r}: give 'cone' and 'radiator' in their order.")
    found = open_recording(path)
    check_channels(found, tuple(channels))
    data = found.data[:, [tuple(channels).index(name) for name in ("cone", "radiator")]]
    data = data - data.mean(axis=0)
    tone = _tone(data, found.rate) if frequency is None else positive("frequency", frequency, "Hz")
    if tone:
        return _of_tone(data, found.rate, tone)
    data, left_out, notes = without_hum(data, found.rate)
    seen = ratio(data[:, 0], data[:, 1], found.rate, low, high, left_out)
    if not len(seen.frequency):
        raise RecordingError(f"{found.name}: nothing to be heard from {low:g} to {high:g} Hz.")
    return Phases(
        seen.frequency, np.degrees(np.angle(seen.value)), np.abs(seen.value),
        np.degrees(seen.doubt), tuple(notes),
    )  # fmt: skip


def _tone(data, rate):
    """Frequency of the one tone that there is, or None."""
    window = np.hanning(len(data))
    lines = np.abs(np.fft.rfft(data[:, 0] * window)) ** 2
    top = int(np.argmax(lines[1:])) + 1
    if lines[max(0, top - 3) : top + 4].sum() < PURE * lines.sum():
        return None
    a, b, c = np.log(lines[top - 1 : top + 2] + 1e-300)
    shift = 0.5 * (a - c) / (a - 2 * b + c)
    return float((top + shift) * rate / len(data))


def _of_tone(data, rate, f):
    """Amplitude and phase by least squares, in five parts whose scatter is the doubt."""
    t = np.arange(len(data)) / rate
    # end at whole cycles, and leave out where the tone fades in and out
    edge = int(0.1 * len(data))
    span = slice(edge, len(data) - edge)
    values = []
    for part in np.array_split(np.arange(len(data))[span], 5):
        design = np.column_stack([np.cos(2 * np.pi * f * t[part]), np.sin(2 * np.pi * f * t[part])])
        solution, *_ = np.linalg.lstsq(design, data[part], rcond=None)
        one, two = solution[0] - 1j * solution[1]
        values.append(two / one)
    values = np.array(values)
    mean = values.mean()
    scatter = np.std(np.angle(values / mean), ddof=1) / np.sqrt(len(values))
    return Phases(
        np.array([f]), np.degrees(np.angle([mean])), np.abs([mean]), np.degrees([scatter]),
        (f"a steady tone of {f:.2f} Hz",),
    )  # fmt: skip
