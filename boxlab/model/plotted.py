"""Answers drawn on axes that somebody gives; nothing here needs a drawing library."""

from __future__ import annotations

from types import MappingProxyType

import numpy as np

AXES = MappingProxyType(  # what `plot` draws, and what stands beside it
    {
        "spl": "level, dB re 20 µPa",
        "impedance": "impedance, Ω",
        "current": "current, A rms",
        "power": "power, W",
        "cone_excursion": "cone, one way, m",
        "vent_excursion": "vent, one way, m",
        "vent_air_speed": "air in vent, peak, m/s",
        "vent_phase": "vent ahead of cone, degrees",
        "group_delay": "group delay, s",
    }
)


class Plotted:
    """Something with a `frequency` and answers over it."""

    def plot(self, axes, what="spl", **style):
        """Draw one answer against frequency on matplotlib axes that you give; returns its lines.

        Parameters
        ----------
        axes : matplotlib.axes.Axes
        what : str
            The name of a real answer: "spl", "cone_excursion", "power", ...; of a complex one
            its size is drawn. In SI, as it is: excursions in m.
        style
            Passed on to `axes.semilogx`; `label`, `color`, ...

        Raises
        ------
        ValueError
            If there is no such answer.

        Examples
        --------
        >>> from matplotlib.figure import Figure
        >>> from boxlab import SealedBox, litres, solve
        >>> from boxlab.gear.scenario import TEN_INCH_DRIVER
        >>> axes = Figure().subplots()
        >>> r = solve(TEN_INCH_DRIVER, SealedBox(litres(14)), [20, 40, 80])
        >>> len(r.plot(axes, label="14 L")), axes.get_ylabel()
        (1, 'level, dB re 20 µPa')
        """
        if what not in AXES:
            raise ValueError(
                f"there is no answer {what!r} to draw; choose one of {', '.join(AXES)}"
            )
        drawn = getattr(self, what)
        drawn = np.abs(drawn) if np.iscomplexobj(drawn) else drawn
        frequency = np.broadcast_to(self.frequency, drawn.shape)
        flat = (-1, drawn.shape[-1] if drawn.ndim else 1)
        axes.set(xlabel="frequency, Hz", ylabel=AXES[what])
        return axes.semilogx(frequency.reshape(flat).T, drawn.reshape(flat).T, **style)
