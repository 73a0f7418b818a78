"""The output of a box from close to its cone and its vents, summed by area.

Close to the middle of a flat piston the pressure is that of its far field times 2r/a, as long as
it is small beside the wave: p_far = p_near·a/(2r) into half space (D. B. Keele, J. Audio Eng. Soc.
22 (1974) 154). So each part counts with the root of its area, and signs and phases count too.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from boxlab.base.checks import positive, whole
from boxlab.measure.record.marks import find_marks
from boxlab.measure.record.sound_file import (
    RecordingError,
    Source,
    check_channels,
    open_recording,
)
from boxlab.measure.record.test_signals import MARK_TIME
from boxlab.measure.record.transfer import ratio, without_hum
from boxlab.model.air import Air

KA = 1.0  # up to which the sum is taken: 0.37 dB too high there, by sin(ka/2)/(ka/2)
CLOSE = 0.11  # of a radius, within which the microphone has to be for 1 dB (Keele; from memory)


@dataclass(frozen=True, eq=False)
class NearField:
    """Sum of what was heard close by, at 1 m into half space, of the scale of the recording.

    Attributes
    ----------
    frequency : Hz, shape (n,)
    pressure : complex sum; `cone` and `vent` are its parts (vent is 0 for a sealed box)
    highest : Hz, up to which the sum holds (ka = 1 for the largest part)
    closest : m, within which the microphone has to have been
    notes : what was found
    """

    frequency: np.ndarray
    pressure: np.ndarray
    cone: np.ndarray
    vent: np.ndarray
    highest: float
    closest: float
    notes: tuple[str, ...] = ()

    @property
    def level(self) -> np.ndarray:
        """Level of the sum, dB; of sound pressure only where the microphone was calibrated."""
        with np.errstate(divide="ignore"):
            return 20 * np.log10(np.abs(self.pressure))

    @property
    def phase(self) -> np.ndarray:
        """Vent against cone, degrees, −180 to 180."""
        with np.errstate(divide="ignore", invalid="ignore"):
            return np.degrees(np.angle(self.vent / self.cone))

    def against(self, level) -> tuple[float, np.ndarray]:
        """What lies between the sum and a curve of `level`, dB, shape (n,), at its frequencies.

        Returns
        -------
        (dB by which the recording's scale lies below the curve's, what is left, dB, shape (n,))
            The first is the median of the difference: a microphone that was not calibrated gives
            no level of its own, only a shape.
        """
        apart = np.asarray(level, float) - self.level
        scale = float(np.median(apart))
        return scale, scale - apart


def near_field(
    cone: Source | tuple[ArrayLike, ArrayLike], vent: Source | tuple[ArrayLike, ArrayLike] | None,
    driver_area: float, vent_area: float | None = None, counts: tuple[int, int] = (1, 1), *,
    played: Source | None = None, channels: tuple[str, str] | None = None,
    gains: tuple[float, float] = (1.0, 1.0), low: float = 10.0, high: float = 1000.0,
    air: Air | None = None,
) -> NearField:  # fmt: skip
    """Sum the sound close to the cone and close to the radiator or port.

    Parameters
    ----------
    cone, vent : recordings, or (frequency, complex pressure) each of shape (n,); vent None for a
        sealed box. Play the same signal at the same level for both. In stereo one channel is the
        microphone, the other the amplifier's voltage; in mono the marks of the test signal line the
        two up, or `played` does
    driver_area, vent_area : m² of one cone, and of one radiator or port
    counts : how many drivers and how many vents there are, all moving alike
    played : the test signal as it was written, for recordings in mono
    channels : names in order, ("microphone", "drive") or the two turned; in stereo
    gains : by which the two recordings were louder, if the level was changed between them
    low, high, air : Hz, and Air; 20 °C at sea level if left out

    Returns
    -------
    NearField
        At most up to ka = 1 for the larger of the two.

    Raises
    ------
    RecordingError
        For recordings that cannot be used or lined up.

    >>> f = np.array([20.0, 30.0, 40.0, 60.0])
    >>> cone, vent = 0.2 + 0 * f, np.array([-0.4, -0.6, 0.5, 0.2])  # as recorded
    >>> found = near_field((f, cone), (f, vent), driver_area=0.0335, vent_area=0.0350)
    >>> np.abs(found.pressure).round(4), round(found.highest)  # and Hz up to which it holds
    (array([0.0108, 0.0213, 0.0367, 0.0209]), 517)
    """
    areas = [positive("driver_area", driver_area, "Area is in m²: boxlab.cm2(350).")]
    drivers, vents = (whole("counts", n) for n in counts)
    if vent is not None:
        hint = "Area is in m²: boxlab.cm2(350)."
        if vent_area is None:
            raise ValueError("vent_area is missing: the area of one radiator or port, in m².")
        areas.append(positive("vent_area", vent_area, hint))
    radii = [np.sqrt(area / np.pi) for area in areas]
    air = Air() if air is None else air
    highest = float(KA * air.speed_of_sound / (2 * np.pi * max(radii)))
    f, heard, notes = _heard(cone, played, channels, low, min(high, highest))
    of_cone = drivers * radii[0] / 2 * heard / gains[0]
    of_vent = np.zeros_like(of_cone)
    if vent is not None:
        g, other, more = _heard(vent, played, channels, low, min(high, highest))
        notes += [words for words in more if words not in notes]
        other = _between(f, g, other)
        keep = np.isfinite(other)
        f, of_cone, other = f[keep], of_cone[keep], other[keep]
        of_vent = vents * radii[1] / 2 * other / gains[1]
    if len(f) < 4:
        raise RecordingError(
            f"Below {highest:.0f} Hz, where the sum holds, the recordings have too little in "
            "common. Play a sweep from 10 Hz, and record both in the same way."
        )
    return NearField(
        f, of_cone + of_vent, of_cone, of_vent, highest, float(CLOSE * min(radii)), tuple(notes)
    )


def _between(wanted, at, value):
    """Complex values at other frequencies, in level and turned phase; NaN outside."""
    log = np.interp(wanted, at, np.log(np.abs(value)), left=np.nan, right=np.nan)
    turned = np.interp(wanted, at, np.unwrap(np.angle(value)), left=np.nan, right=np.nan)
    return np.exp(log + 1j * turned)


def _heard(source, played, channels, low, high):
    """(frequency, complex pressure for what was played, notes) of one position."""
    if isinstance(source, tuple | list):
        f, p = (np.asarray(each) for each in source)
        keep = (f >= low) & (f <= high)
        return f[keep].astype(float), p[keep].astype(complex), []
    found = open_recording(source, channels=1)
    if found.data.shape[1] >= 2 and played is None and _has_drive(found):
        names = ("microphone", "drive") if channels is None else tuple(channels)
        if sorted(names) != ["drive", "microphone"]:
            raise ValueError(f"channels = {channels!r}: give 'microphone' and 'drive' in order.")
        check_channels(found, names)
        data = found.data[:, [names.index("drive"), names.index("microphone")]]
        data, left_out, notes = without_hum(data - data.mean(axis=0), found.rate)
        notes = [*find_marks(data[:, 0], found.rate).notes, *notes]
        seen = ratio(data[:, 0], data[:, 1], found.rate, low, high, left_out)
        return seen.frequency, seen.value, notes
    return _mono(found, played, low, high)


def _has_drive(found):
    """Whether the two channels of a recording differ: of a mono microphone both are the same."""
    a, b = found.data[:, 0], found.data[:, 1]
    return np.max(np.abs(a - b)) > 1e-3 * np.max(np.abs(a))


def _mono(found, played, low, high):
    """One microphone alone, lined up with what was played by the marks."""
    if played is None:
        raise RecordingError(
            f"{found.name}: one channel alone says nothing of what was played. Record the "
            "amplifier's voltage in the other channel, or give played='signal.wav'."
        )
    check_channels(found, ("microphone",))
    signal = open_recording(played, channels=1)
    if signal.rate != found.rate:
        raise RecordingError(
            f"{found.name} has {found.rate:g} samples a second and what was played "
            f"{signal.rate:g}: record at the same rate."
        )
    x, y = signal.data[:, 0], found.data[:, 0] - found.data[:, 0].mean()
    here, there = find_marks(x, signal.rate), find_marks(y, found.rate)
    if None in (here.first, here.last, there.first, there.last):
        raise RecordingError(
            f"{found.name}: the marks of the test signal are not both to be heard, so it cannot be "
            "lined up. Close to a radiator or port they are too faint: record the amplifier's "
            "voltage in the other channel instead."
        )
    stretch = (there.last - there.first) / (here.last - here.first)
    t = np.arange(len(x)) / signal.rate
    at = there.first + (t - here.first) * stretch
    from scipy.interpolate import CubicSpline

    inside = (at >= 0) & (at <= (len(y) - 1) / found.rate)
    lined = np.zeros(len(x))
    spline = CubicSpline(np.arange(len(y)) / found.rate, y)
    lined[inside] = spline(at[inside])
    data, left_out, notes = without_hum(np.column_stack([x, lined]), signal.rate)
    body = slice(int((here.first + 2 * MARK_TIME) * signal.rate), None)
    seen = ratio(data[body, 0], data[body, 1], signal.rate, low, high, left_out)
    return seen.frequency, seen.value, [*there.notes, *notes]


def on_axis(
    velocity: ArrayLike, area: float, distance: float, frequency: ArrayLike, air: Air
) -> np.ndarray:
    """Sound pressure on the axis of a flat piston in a wall: exact (from memory, any textbook).

    >>> from boxlab.model.air import Air
    >>> round(float(abs(on_axis(0.1, 0.03, 0.01, 40.0, Air()))), 2)  # Pa
    2.67

    Parameters
    ----------
    velocity : of the piston, m/s, complex, shape (n,)
    area, distance : m², and m from its middle
    frequency, air : Hz, shape (n,), and Air

    Returns
    -------
    ndarray
        Pa, complex, shape (n,).
    """
    k, radius = 2 * np.pi * frequency / air.speed_of_sound, np.sqrt(area / np.pi)
    waves = np.exp(-1j * k * distance) - np.exp(-1j * k * np.hypot(distance, radius))
    return air.density * air.speed_of_sound * velocity * waves
