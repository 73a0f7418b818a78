"""The way from battery to amplifier as one supply: a voltage behind the resistance of the loop.

A battery can weld a spanner and a cable can burn: the cautions are in `boxlab.base.cautions`, and
what a cable may carry is in `boxlab.car.ampacity`. What is worked out here is volts alone.
"""

from __future__ import annotations

from boxlab.base.checks import not_negative, suspect
from boxlab.car.cable import Cable
from boxlab.model.power_stage import Supply

_OHMS = "Give ohms: 8 mΩ is 0.008."


def supply_by_cable(
    voltage: float, battery: float, cable: Cable, length: float, *, joints: float = 0.0,
    return_per_metre: float | None = None, temperature: float = 20.0, least: float = 0.0,
) -> Supply:  # fmt: skip
    """The supply at the far end of a cable.

    Parameters
    ----------
    voltage : float, V at the battery without load
    battery : float, Ω inside the battery: some 5 to 15 mΩ for a car's (common practice, no
        published source); measure it as the volts lost over the amperes drawn
    cable : boxlab.car.cable.Cable
    length : float, m, one way
    joints : float, Ω of fuse, lugs and earth point together
    return_per_metre : float, Ω/m, optional
        Of the way back, where it is not the same cable.
    temperature : float, °C, of the copper
    least : float, V at which the amplifier shuts down; 0 for never

    Returns
    -------
    Supply

    Raises
    ------
    ValueError
        For a value out of its range.

    >>> from boxlab.car.cable import Cable
    >>> round(float(supply_by_cable(13.8, 0.008, Cable("16 mm²", 16e-6, 1.21e-3), 4).resistance), 5)
    0.01768
    """
    battery = not_negative("battery", battery, _OHMS)
    joints = not_negative("joints", joints, _OHMS)
    suspect("battery", battery, 0, 0.2, _OHMS)
    path = cable.drop(1.0, length, return_per_metre, temperature)
    return Supply(voltage, battery + path + joints, least)
