"""The signal chain before the amplifier, as `solve`, `max_output` and `first_stop` take it.

The voltage at the source is then the voltage asked for times the chain's response, as if the
amplifier's gain were one: 10 V asked for are 10 V wherever the chain lets everything pass.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from boxlab.base.checks import Record, positive, same_shape
from boxlab.model.filters import HighPass, LowPass, Peak, Shelf, Stage

__all__ = ["Chain", "HighPass", "LowPass", "Peak", "Shelf"]


@dataclass(frozen=True, eq=False)
class Chain(Record):
    """Stages one after the other, in any order; () for none.

    >>> chain = Chain((HighPass(28, order=4), Peak(40, 6, q=1)))
    >>> chain.words
    'high-pass 28 Hz, 24 dB/octave; +6 dB at 40 Hz, Q 1'

    Parameters
    ----------
    stages : tuple of HighPass, LowPass, Peak and Shelf
    """

    stages: tuple = ()

    def __post_init__(self):
        given = (self.stages,) if isinstance(self.stages, Stage) else self.stages
        given = tuple(given) if isinstance(given, tuple | list) else (given,)
        for stage in given:
            if not isinstance(stage, Stage):
                raise ValueError(
                    f"stages holds {stage!r}: give HighPass, LowPass, Peak or Shelf, for example "
                    "Chain((HighPass(28, order=4), Peak(40, 6, q=1)))."
                )
        same_shape("Chain", **{f"stage {n}": s.frequency for n, s in enumerate(given, 1)})
        self._store("stages", given)

    def worked(self, frequency):
        """Complex response, and d/dω of its logarithm, s; see `response`."""
        frequency = positive("frequency", frequency, "Frequency is in hertz.")
        response, slope = np.ones(np.shape(frequency), complex), np.zeros(np.shape(frequency))
        for stage in self.stages:
            one, more = stage.worked(frequency)
            response, slope = response * one, slope + more
        return response[()], slope[()]

    def response(self, frequency):
        """Voltage out over voltage in, complex, at `frequency`, Hz.

        Its shape is that of the frequencies; where stages hold arrays, the designs' shape, then
        frequency last.
        """
        return self.worked(frequency)[0]

    def gain_db(self, frequency):
        """Size of the response, dB, in the shape of `response`."""
        return 20 * np.log10(np.abs(self.response(frequency)))

    def group_delay(self, frequency):
        """Group delay, s, from the derivatives of the polynomials, in the shape of `response`."""
        return -np.imag(self.worked(frequency)[1])

    @property
    def words(self):
        """All stages in words; "no filter" where there is none."""
        return "; ".join(stage.words for stage in self.stages) or "no filter"
