"""What a camera sees of a moving cone: frames, shutter time and a sensor read line by line.

A piston moves as amplitude · cos(2πft + phase). Sampled `rate` times a second it looks like a tone
of frequency f − n·rate, with n the nearest whole number (the sampling theorem; derived: a cosine
keeps its samples when whole cycles are added between frames). Where that comes out negative the
film runs backwards: every phase changes sign, and the piston that leads seems to follow.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from boxlab.base.array_types import Values
from boxlab.base.checks import not_negative, positive


def apparent_frequency(frequency: ArrayLike, rate: ArrayLike) -> Values:
    """Frequency that the film seems to show, Hz, in (−rate/2, rate/2]; negative runs backwards.

    >>> float(apparent_frequency(31.0, 30.0)), float(apparent_frequency(29.0, 30.0))
    (1.0, -1.0)

    Raises
    ------
    ValueError
        For a frequency below zero or a frame rate that is not above zero.
    """
    frequency = np.asarray(not_negative("frequency", frequency, "Frequency is in hertz."))
    rate = np.asarray(positive("rate", rate, "Frame rate is in frames a second."))
    return frequency - rate * np.ceil(frequency / rate - 0.5)


def shutter_gain(frequency: ArrayLike, shutter: ArrayLike) -> Values:
    """Factor by which an open shutter blurs the motion: sinc(f · shutter), no unit.

    The blurred picture's middle is the mean position while the shutter is open. The factor is 1 for
    an instant, 0 for one whole cycle, and negative (the motion upside down) just beyond that.

    >>> round(float(shutter_gain(30.0, 1 / 60)), 3)
    0.637

    Parameters
    ----------
    frequency : Hz
    shutter : s that it is open
    """
    return np.sinc(np.asarray(frequency) * not_negative("shutter", shutter, "It is in seconds."))


def seen_phase(
    frequency: ArrayLike, rate: ArrayLike, phase: ArrayLike, delay: ArrayLike = 0.0
) -> Values:
    """Phase of the slow film motion, degrees in (−180, 180], against film time.

    >>> float(seen_phase(29.0, 30.0, 90.0)), float(seen_phase(31.0, 30.0, 90.0))
    (-90.0, 90.0)

    Parameters
    ----------
    frequency, rate : of the tone, Hz, and frames a second
    phase : true phase of the piston, degrees
    delay : s by which this piston's lines are read after the start of the frame

    Raises
    ------
    ValueError
        As `apparent_frequency`.
    """
    turned = np.asarray(phase, dtype=float) + 360 * np.asarray(frequency) * np.asarray(delay)
    return wrap(np.where(apparent_frequency(frequency, rate) < 0, -turned, turned))


def leader(phase: ArrayLike, slack: ArrayLike = 1.0) -> np.ndarray:
    """Say which of two pistons leads, from the phase of the second against the first, degrees.

    Returns "first", "second" or, within `slack` degrees of 0 or 180, "neither". A phase between 0
    and 180 degrees puts the second ahead.

    >>> str(leader(90.0)), str(leader(-90.0)), str(leader(180.0))
    ('second', 'first', 'neither')
    """
    turned = wrap(phase)
    level = (np.abs(turned) <= slack) | (np.abs(turned) >= 180 - slack)
    return np.where(level, "neither", np.where(turned > 0, "second", "first"))


def wrap(degrees: ArrayLike) -> Values:
    """Bring an angle into (−180, 180] degrees.

    >>> float(wrap(270.0)), float(wrap(-180.0))
    (-90.0, 180.0)
    """
    turned = -np.remainder(180.0 - np.asarray(degrees, dtype=float), 360.0) + 180.0
    return turned[()]


@dataclass(frozen=True, eq=False)
class Film:
    """Two pistons as a film shows them.

    Attributes
    ----------
    time : s from the first frame, shape (frames,)
    first, second : positions seen, m, shape (frames,)
    rate : frames a second
    frequency : apparent frequency, Hz; negative where the film runs backwards
    phase : apparent phase of the second against the first in film time, degrees
    true_phase : the same in life, degrees
    """

    time: np.ndarray
    first: np.ndarray
    second: np.ndarray
    rate: float
    frequency: float
    phase: float
    true_phase: float

    @property
    def orderless(self):
        """True where the film stands still or only flips over from frame to frame.

        Then both pistons take at most two positions each, and no order can be seen.
        """
        part = abs(self.frequency) / self.rate
        return part < 1e-9 or part > 0.5 - 1e-9

    @property
    def leads(self):
        """Which piston seems to lead: "first", "second" or "neither"."""
        return "neither" if self.orderless else str(leader(self.phase))

    @property
    def flipped(self):
        """True where the film shows the opposite order to the true one."""
        true = str(leader(self.true_phase))
        return "neither" not in (true, self.leads) and true != self.leads


def film(
    frequency: ArrayLike, rate: float, first: ArrayLike, second: ArrayLike, frames: int = 60,
    shutter: ArrayLike = 0.0, line_time: ArrayLike = 0.0, rows: tuple[float, float] = (0, 0),
) -> Film:  # fmt: skip
    """Film two pistons.

    >>> film(29.0, 30.0, 1.0, 1j).time.shape
    (60,)

    Parameters
    ----------
    frequency : tone, Hz
    rate : frames a second
    first, second : peak phasors of the two positions, m (complex; time factor exp(+jωt))
    frames : how many frames
    shutter : s that each line is exposed, ending no later than the next frame
    line_time : s from one sensor line to the next (0 for a sensor read at once)
    rows : the sensor line on which each piston lies, counted from the top

    Returns
    -------
    Film

    Raises
    ------
    ValueError
        For a shutter longer than a frame, fewer than two frames, or a value below zero.
    """
    frequency = positive("frequency", frequency, "Frequency is in hertz.")
    rate = positive("rate", rate, "Frame rate is in frames a second.")
    shutter = not_negative("shutter", shutter, "Shutter time is in seconds: 1/60, not 60.")
    line_time = not_negative("line_time", line_time, "Line time is in seconds.")
    if shutter > 1 / rate * (1 + 1e-9):
        raise ValueError(
            f"shutter = {shutter:g} s is longer than a frame ({1 / rate:g} s). "
            "Give the open time in seconds: 1/60, not 60."
        )
    if frames < 2:
        raise ValueError(f"frames = {frames} is too few to see any motion; give 2 or more.")
    time = np.arange(int(frames)) / rate
    delays = line_time * np.asarray(rows, dtype=float)
    blur = shutter_gain(frequency, shutter)
    seen = [
        np.real(blur * piston * np.exp(2j * np.pi * frequency * (time + delay)))
        for piston, delay in zip((first, second), delays, strict=True)
    ]
    true = wrap(np.degrees(np.angle(second / first)))
    return Film(
        time,
        *seen,
        rate=float(rate),
        frequency=float(apparent_frequency(frequency, rate)),
        phase=float(seen_phase(frequency, rate, true, delays[1] - delays[0])),
        true_phase=float(true),
    )
