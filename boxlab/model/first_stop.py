"""One volume setting over a whole band: how far it goes up before anything stops, and what does.

`max_output` takes each tone alone, as loud as that tone can be. A programme comes at one setting of
the volume: turned up, its worst frequency stops it, and all others stay below what they could do.
There a chain counts. A high-pass below the tuning takes the travel away that would have stopped it
and lets the rest go louder; a boost brings the stop nearer, by as much as it lifts the worst note.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from boxlab.base.checks import positive
from boxlab.model.any_box import Box
from boxlab.model.chain import Chain
from boxlab.model.driver import Driver
from boxlab.model.limits import Ceiling, max_output


@dataclass(frozen=True, eq=False)
class FirstStop:
    """What one setting comes to. `voltage`, `limit` and `at` have the designs' shape.

    Attributes
    ----------
    voltage : the largest setting, V rms before the chain (at the source, without one)
    limit : what stops it, in the words of `max_output`
    at : the frequency where it does, Hz, one of those given
    frequency : Hz, as given
    spl : level at that setting, dB re 20 µPa rms, designs' shape, then frequency last
    headroom : dB from there to each frequency's own stop, in the shape of `spl`; 0 at `at`
    ceiling : the `Ceiling` of each tone alone
    """

    voltage: float | np.ndarray
    limit: str | np.ndarray
    at: float | np.ndarray
    frequency: np.ndarray
    spl: np.ndarray
    headroom: np.ndarray = field(repr=False)
    ceiling: Ceiling = field(repr=False)


def first_stop(
    driver: Driver, box: Box, frequency: ArrayLike, chain: Chain | None = None, **limits: Any
) -> FirstStop:
    """The largest setting at which nothing reaches its limit anywhere in a band, and what stops it.

    Each frequency is taken as a steady tone of the same voltage before the chain, one at a time.
    The answer is exact at the frequencies given and says nothing of what lies between or outside:
    give the band that the programme has, 20 to 100 Hz say, with some 50 points an octave.

    Parameters
    ----------
    driver, box : as for `boxlab.model.response.solve`
    frequency : Hz, shape (F,), or a grid for each design with frequency last
    chain : Chain, or None
    **limits : as for `boxlab.model.limits.max_output`: power and load, voltage, air_speed, stage,
        air, distance, source_resistance, kelvin, metal

    Returns
    -------
    FirstStop

    Raises
    ------
    ValueError
        As `max_output`, and for a single frequency, which is no band.

    >>> import numpy as np
    >>> from boxlab import Chain, Driver, HighPass, PortedBox, cm2, litres
    >>> driver = Driver(re=3.4, le=0, bl=11.5, mms=0.125, cms=2.1e-4, rms=2.4, sd=0.0335,
    ...                 xmax=0.012, pe=400)
    >>> band = np.geomspace(15, 100, 101)
    >>> box = PortedBox.tuned(litres(40), 36, cm2(90))
    >>> plain = first_stop(driver, box, band)
    >>> cut = first_stop(driver, box, band, Chain(HighPass(30, order=4)))
    >>> str(plain.limit), round(float(plain.at)), bool(cut.voltage > plain.voltage)
    ('cone excursion', 15, True)
    """
    frequency = positive("frequency", frequency, "Frequency is in hertz.")
    if np.ndim(frequency) == 0:
        raise ValueError(
            f"frequency = {frequency:g} Hz is one tone, not a band: give an array, such as "
            "np.geomspace(20, 100, 121). For one tone, max_output says what stops it."
        )
    top = max_output(driver, box, frequency, chain=chain, **limits)
    worst = np.argmin(top.voltage, axis=-1)[..., None]

    def there(values):
        return np.take_along_axis(np.broadcast_to(values, top.voltage.shape), worst, axis=-1)

    setting = there(top.voltage)
    spare = 20 * np.log10(top.voltage / setting)
    return FirstStop(
        voltage=setting[..., 0][()],
        limit=there(top.limit)[..., 0][()],
        at=there(top.frequency)[..., 0][()],
        frequency=top.frequency,
        spl=top.spl - spare,
        headroom=spare,
        ceiling=top,
    )
