"""What an amplifier really delivers into a box: on a sine, on programme, and when it clips.

An amplifier is a source of voltage. Its rating is a sine into a resistor; a box is no resistor and
music is no sine, so a meter reads far less.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import ArrayLike

from boxlab.base.checks import not_negative, number, positive, suspect
from boxlab.car.wiring import Amplifier
from boxlab.model.air import Air
from boxlab.model.any_box import Box
from boxlab.model.driver import Driver
from boxlab.model.limits import CONE, HEAT, RADIATOR, max_output
from boxlab.model.response import solve
from boxlab.sound.programme import Spectrum


def real_power(
    driver: Driver, box: Box, frequency: ArrayLike, voltage: ArrayLike = 2.83,
    air: Air | None = None,
) -> np.ndarray:  # fmt: skip
    """Real electrical power into a box at each frequency, W, shape (n,).

    Formula: P = V²·real(1/Z)

    >>> from boxlab.gear.scenario import TEN_INCH_DRIVER as driver
    >>> from boxlab.model.enclosure import SealedBox
    >>> real_power(driver, SealedBox(0.014), [30, 100], 10.0).round(1)  # W
    array([13.2, 12.5])

    Parameters
    ----------
    driver, box, air : as for `boxlab.model.response.solve`
    frequency : Hz, shape (n,)
    voltage : V rms
    """
    z = solve(driver, box, frequency, air=air).impedance
    return not_negative("voltage", voltage, "Give volts rms.") ** 2 * np.real(1 / z)


@dataclass(frozen=True)
class ProgrammePower:
    """Average power of programme, W.

    average : real power into the terminals; heat : the part that warms the coil;
    rating : the amplifier's sine rating into its rated load; voltage : rms volts on programme;
    crest : dB; headroom : dB from programme rms to the rms of a full sine.
    """

    average: float
    heat: float
    rating: float
    voltage: float
    crest: float
    source: str = field(default="", compare=False)

    @property
    def headroom(self):
        """From the programme's rms to the rms of a full sine, dB."""
        return self.crest - 10 * np.log10(2)

    @property
    def share(self):
        """Average power over rating, 0 to 1."""
        return self.average / self.rating

    @property
    def by_crest(self):
        """The share that the crest factor alone would leave, into a resistor: 2/CF²."""
        return 2 / 10 ** (self.crest / 10)

    @property
    def sentence(self):
        """The result in words."""
        return (
            f"Rated {self.rating:.0f} W, it delivers {self.average:.0f} W on average "
            f"({100 * self.share:.0f} %) just short of clipping: a crest factor of "
            f"{self.crest:.1f} dB alone leaves {100 * self.by_crest:.0f} %, and the box's "
            "impedance does the rest."
        )


def on_programme(
    driver: Driver, box: Box, amplifier: Amplifier, load: float, spectrum: Spectrum,
    air: Air | None = None,
) -> ProgrammePower:  # fmt: skip
    """Average power of programme with its peaks just reaching the amplifier's clip.

    Parameters
    ----------
    driver, box : as for `boxlab.model.response.solve`
    amplifier : boxlab.car.wiring.Amplifier
    load : Ω at which the amplifier's rating is read (the rated impedance of the wired coils)
    spectrum : boxlab.sound.programme.Spectrum
        Its crest factor sets the rms voltage: V = √2·V_rated/CF.

    Returns
    -------
    ProgrammePower

    Raises
    ------
    ValueError
        If the load is below the amplifier's least rated one.

    >>> from boxlab.gear.scenario import TEN_INCH_DRIVER as driver
    >>> from boxlab.model.enclosure import SealedBox
    >>> music = Spectrum(np.array([40.0, 60.0]), np.array([0.5, 0.5]), 12.0, "two tones")
    >>> found = on_programme(driver, SealedBox(0.014), Amplifier({4: 300}), 4.0, music)
    >>> found.rating, round(found.average, 1)  # W
    (300.0, 6.5)
    """
    rating = amplifier.power(load)
    rms = amplifier.voltage(load) * np.sqrt(2) / 10 ** (spectrum.crest / 20)
    r = solve(driver, box, spectrum.frequency, 1.0, air)
    average = rms**2 * np.sum(spectrum.share * np.real(1 / r.impedance))
    heat = rms**2 * np.sum(spectrum.share * np.abs(r.current) ** 2) * driver.re
    return ProgrammePower(
        float(average), float(heat), rating, float(rms), spectrum.crest, spectrum.source
    )


@dataclass(frozen=True)
class Clipping:
    """A signal driven `overdrive` dB past clip, into a resistor.

    power : mean power over that of the same signal just at clip; sine : over that of a full sine;
    crest : dB left after clipping; clipped : share of the time spent at the rails.
    """

    overdrive: float
    power: float
    sine: float
    crest: float
    clipped: float

    @property
    def sentence(self):
        """The result in words, with what clipping does and does not do."""
        return (
            f"{self.overdrive:g} dB past clip the average heat is {self.power:.2f} times that at "
            f"clip, {100 * self.sine:.0f} % of a full sine's, with {self.crest:.1f} dB of crest "
            "left. Clipping itself harms no coil; the extra average power can."
        )


def clip(signal: np.ndarray, overdrive: float) -> np.ndarray:
    """The signal turned up `overdrive` dB and cut at the peak it had before (array).

    >>> clip(np.array([0.5, -1.0]), 6.0206).round(3)
    array([ 1., -1.])
    """
    overdrive = not_negative("overdrive", overdrive, _PAST)
    suspect("overdrive", overdrive, 0, 60, _PAST)
    signal = np.asarray(number("signal", signal))
    top = np.abs(signal).max()
    return np.clip(signal * 10 ** (overdrive / 20), -top, top)


_PAST = "Give dB past the point of clipping."


def clipping(signal: np.ndarray, overdrive: float) -> Clipping:
    """What `overdrive` dB past clip does to the heat of a `signal`, shape (n,), in a resistor.

    Raises
    ------
    ValueError
        For a negative overdrive or a silent signal.

    >>> heat = clipping(np.sin(np.arange(1000) * np.pi / 500), 6.0)
    >>> round(heat.power, 2), round(heat.sine, 2), round(heat.crest, 1)
    (1.56, 1.56, 1.1)
    """
    signal = np.asarray(number("signal", signal))
    top, before = np.abs(signal).max(), np.mean(signal**2)
    if not top > 0:
        raise ValueError("the signal is silent: nothing clips")
    cut = clip(signal, overdrive)
    after = np.mean(cut**2)
    return Clipping(
        overdrive,
        float(after / before),
        float(after / (top**2 / 2)),
        float(10 * np.log10(top**2 / after)),
        float(np.mean(np.abs(cut) >= top * (1 - 1e-12))),
    )


@dataclass(frozen=True, eq=False)
class PowerLimits:
    """Largest sine voltage (V rms) and the power it draws (W) by heat and by excursion, shape (n,).

    `excursion` is the lower of cone and radiator. `stops` says which of heat and excursion comes
    first.
    """

    frequency: np.ndarray
    heat_voltage: np.ndarray
    excursion_voltage: np.ndarray
    heat_power: np.ndarray
    excursion_power: np.ndarray

    @property
    def stops(self):
        """Which comes first at each frequency, "heat" or "excursion", shape (n,)."""
        return np.where(self.heat_voltage < self.excursion_voltage, "heat", "excursion")

    @property
    def changeover(self):
        """Frequencies in Hz where the first limit changes from one to the other."""
        swap = np.flatnonzero(self.stops[1:] != self.stops[:-1])
        return np.sqrt(self.frequency[swap] * self.frequency[swap + 1])


def power_limits(
    driver: Driver, box: Box, frequency: ArrayLike, air: Air | None = None
) -> PowerLimits:
    """Heat against excursion over frequency, for one box (see `PowerLimits`).

    >>> from boxlab.gear.scenario import TEN_INCH_DRIVER as driver
    >>> from boxlab.model.enclosure import SealedBox
    >>> [str(stop) for stop in power_limits(driver, SealedBox(0.014), [20, 100]).stops]
    ['excursion', 'heat']

    Parameters
    ----------
    driver, box, air : as for `boxlab.model.response.solve`
    frequency : Hz, shape (n,)
    """
    frequency = np.atleast_1d(positive("frequency", frequency, "Give hertz."))
    volts = max_output(driver, box, frequency, air=air).voltages
    heat = volts[HEAT]
    moving = np.minimum(volts[CONE], volts.get(RADIATOR, np.inf))
    admittance = real_power(driver, box, frequency, 1.0, air)
    return PowerLimits(frequency, heat, moving, heat**2 * admittance, moving**2 * admittance)
