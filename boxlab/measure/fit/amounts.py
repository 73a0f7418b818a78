"""The known mass or volume that comes with a second sweep."""

from __future__ import annotations

import warnings

import numpy as np

from boxlab.base.checks import UnitWarning, positive
from boxlab.measure.fit.estimate import uncertain


def sweep_and_amount(
    name: str, given: object, loaded: object, unit: str, example: str
) -> tuple[object, tuple[float, float]]:
    """Split `(sweep, amount)`, in either order, into the sweep and the amount's (value, u).

    `given` is what a call gave for its parameter `name`: that pair, or the amount alone where the
    sweep came as `loaded`; None gives (None, (NaN, 0)). `unit` and `example` are for the messages.

    >>> sweep_and_amount("added_mass", (0.04, "a sweep"), None, "kg", "boxlab.grams(40)")
    ('a sweep', (0.04, 0.0))

    Raises
    ------
    ValueError
        If the sweep or the amount is missing, or the amount is not above zero.
    """
    if given is None:
        return None, (float("nan"), 0.0)
    if isinstance(given, tuple | list) and len(given) == 2 and not _is_amount(given):
        first, second = given
        other, amount = (second, first) if _is_number(first) or _is_amount(first) else given
    elif loaded is not None:
        other, amount = loaded, given
    else:
        raise ValueError(
            f"{name} = {given!r} needs the second sweep as well: {name}=(second_sweep, {example})."
        )
    try:
        value, u = uncertain(amount)
    except (TypeError, ValueError):
        raise ValueError(
            f"{name} must be a sweep and an amount in {unit}, such as (second_sweep, {example})."
        ) from None
    positive(name, value, f"It is in {unit}: use {example}.")
    if name == "added_mass" and value > 2:
        warnings.warn(
            f"added_mass = {value:g} kg is implausible: for grams use {example}.",
            UnitWarning,
            stacklevel=3,
        )
    if name == "known_volume" and value > 2:
        warnings.warn(
            f"known_volume = {value:g} m³ is implausible: for litres use {example}.",
            UnitWarning,
            stacklevel=3,
        )
    return other, (value, u)


def _is_number(value):
    return isinstance(value, float | int | np.floating | np.integer)


def _is_amount(value):
    return isinstance(value, tuple | list) and len(value) == 2 and all(map(_is_number, value))
