"""How well a moving mass or a Vas can be known: the error budget of the two classic methods.

Added mass: Mms = Δm/(r − 1) with r = (fs/fs′)² = 1 + Δm/Mms. Known volume: Vas = Vb·(r − 1) with
r = (fc/fs)² = 1 + Vas/Vb. An error ε of each frequency moves r by 2√2·r·ε, so that the small
difference r − 1 carries it magnified. (Derived: first order, the two frequencies independent.)
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from boxlab.base.checks import not_negative, positive


@dataclass(frozen=True)
class Budget:
    """Relative standard uncertainty of the result, and its parts; shapes as given.

    `frequency` is the part of the two resonances, `amount` that of the mass or the volume itself.
    """

    frequency: np.ndarray
    amount: np.ndarray

    @property
    def total(self):
        """Both parts together, as independent errors add."""
        return np.hypot(self.frequency, self.amount)


def _budget(name, ratio, frequency_error, amount_error):
    positive(name, ratio)
    frequency_error = not_negative("frequency_error", frequency_error, "A share: 0.005 for 0.5 %.")
    amount_error = not_negative("amount_error", amount_error, "A share: 0.01 for 1 %.")
    part = 2 * np.sqrt(2) * frequency_error * (1 + 1 / np.asarray(ratio, dtype=float))
    return Budget(part, amount_error + np.zeros_like(part))


def added_mass_budget(
    added_mass: ArrayLike,
    moving_mass: ArrayLike,
    frequency_error: ArrayLike,
    mass_error: ArrayLike = 0.0,
) -> Budget:
    """Uncertainty of Mms by the added-mass method.

    Parameters
    ----------
    added_mass, moving_mass : kg; either may be an array
    frequency_error : relative standard uncertainty of each of the two resonances
    mass_error : relative standard uncertainty of the added mass

    >>> round(float(added_mass_budget(0.010, 0.115, 0.005).total), 3)
    0.177

    Raises
    ------
    ValueError
        If a mass is not above zero or an uncertainty is negative.
    """
    added = positive("added_mass", added_mass, "Mass is in kilograms: use boxlab.grams(60).")
    moving = positive("moving_mass", moving_mass, "Mass is in kilograms: use boxlab.grams(115).")
    return _budget("added_mass", np.divide(added, moving), frequency_error, mass_error)


def known_volume_budget(
    volume: ArrayLike, vas: ArrayLike, frequency_error: ArrayLike, volume_error: ArrayLike = 0.0
) -> Budget:
    """Uncertainty of Vas by the known-volume method.

    Parameters
    ----------
    volume, vas : net volume of the test box and Vas of the driver, m³; either may be an array
    frequency_error : relative standard uncertainty of each of the two resonances
    volume_error : relative standard uncertainty of the volume

    >>> round(float(known_volume_budget(0.020, 0.035, 0.005).total), 3)
    0.022

    Raises
    ------
    ValueError
        If a volume is not above zero or an uncertainty is negative.
    """
    volume = positive("volume", volume, "Volume is in m³: use boxlab.litres(20).")
    vas = positive("vas", vas, "Volume is in m³: use boxlab.litres(35).")
    return _budget("volume", np.divide(vas, volume), frequency_error, volume_error)
