"""What a wattmeter reads on music: volts times amperes, averaged over the meter's own window.

The signal loops, so its Fourier lines and the box's impedance give the current exactly. The coil
stays as warm as the driver says; `model.warm_coil.warmed` gives one that is hotter.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from boxlab.base.checks import not_negative, number, positive
from boxlab.model.air import Air
from boxlab.model.any_box import Box
from boxlab.model.driver import Driver
from boxlab.model.response import solve


@dataclass(frozen=True, eq=False)
class Reading:
    """A meter on a looping signal. Arrays have shape (n,) over one loop.

    time : s; volts : V; amperes : A; watts : volts · amperes, W; shown : watts averaged over the
    last `window` seconds, which is what the meter shows; average : over the whole loop, W.
    """

    time: np.ndarray
    volts: ArrayLike
    amperes: np.ndarray
    watts: np.ndarray
    shown: np.ndarray
    window: float

    @property
    def average(self):
        """Power over the whole loop, W."""
        return float(np.mean(self.watts))

    @property
    def highest(self):
        """The most this meter shows, W: what a peak-hold meter keeps."""
        return float(self.shown.max())

    @property
    def apparent(self):
        """Rms volts times rms amperes, W: what two separate meters suggest."""
        return float(np.sqrt(np.mean(self.volts**2) * np.mean(self.amperes**2)))


def admittance(
    driver: Driver, box: Box, frequency: ArrayLike, air: Air | None = None
) -> np.ndarray:
    """1/Z at the terminals, S, complex, shape (n,); 0 at 0 Hz is taken as the coil's 1/Re.

    >>> from boxlab.gear.scenario import TEN_INCH_DRIVER as driver
    >>> from boxlab.model.enclosure import SealedBox
    >>> abs(admittance(driver, SealedBox(0.014), [0, 100])).round(3)
    array([0.294, 0.18 ])

    Parameters
    ----------
    driver, box, air : as for `boxlab.model.response.solve`
    frequency : Hz, shape (n,)
    """
    frequency = np.atleast_1d(not_negative("frequency", frequency, "Give hertz."))
    out = np.full(frequency.shape, 1 / driver.re, dtype=complex)
    moving = frequency > 0
    out[moving] = 1 / solve(driver, box, frequency[moving], air=air).impedance
    return out


def metered(
    driver: Driver, box: Box, volts: ArrayLike, rate: float, window: float = 0.3,
    air: Air | None = None,
) -> Reading:  # fmt: skip
    """What a meter shows while a looping signal of `volts` drives the box.

    Parameters
    ----------
    driver, box : as for `boxlab.model.response.solve`
    volts : array, shape (n,), V at the terminals; one loop
    rate : samples per second
    window : s, how long the meter averages

    Returns
    -------
    Reading

    Raises
    ------
    ValueError
        If the window is longer than the loop.

    >>> from boxlab.gear.scenario import TEN_INCH_DRIVER as driver
    >>> from boxlab.model.enclosure import SealedBox
    >>> tone = 20 * np.sin(2 * np.pi * 50 * np.arange(4000) / 4000)
    >>> reading = metered(driver, SealedBox(0.014), tone, 4000.0)
    >>> round(reading.average, 1), round(reading.apparent, 1)  # W; volts times amperes are more
    (5.7, 12.2)
    """
    volts = np.atleast_1d(number("volts", volts, hint="Give volts at the terminals, one loop."))
    rate, window = positive("rate", rate), positive("window", window, "Give seconds, about 0.3.")
    width = max(round(window * rate), 1)
    if width > volts.size:
        raise ValueError(
            f"window = {window:g} s is longer than the loop of {volts.size / rate:.2f} s; a meter "
            "that slow shows the average"
        )
    lines = np.fft.rfft(volts)
    y = admittance(driver, box, np.fft.rfftfreq(volts.size, 1 / rate), air)
    amperes = np.fft.irfft(lines * y, volts.size)
    watts = volts * amperes
    total = np.concatenate(([0.0], np.cumsum(np.concatenate((watts[-width:], watts)))))
    shown = (total[width + 1 :] - total[1:-width]) / width
    return Reading(np.arange(volts.size) / rate, volts, amperes, watts, shown, window)
