"""How loud before something stops: excursion, air speed, amplifier, heat.

The model is linear, so each limit gives a largest source voltage at each frequency, and the lowest
of these sets the level. These are limits for a steady sine: music allows more heat for short times
and asks for less excursion most of the time.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from boxlab.base.checks import positive, suspect
from boxlab.model.air import Air
from boxlab.model.driver import beside
from boxlab.model.enclosure import PortedBox, RadiatorBox
from boxlab.model.response import P_REF, solve
from boxlab.model.vents import PORT_SPEED

CONE, RADIATOR = "cone excursion", "radiator excursion"
AIR_SPEED, AMPLIFIER, HEAT = "air speed", "amplifier", "heat"


@dataclass(frozen=True, eq=False)
class Ceiling:
    """The loudest steady sine. Arrays have the designs' shape, then frequency last."""

    frequency: np.ndarray  # Hz
    spl: np.ndarray  # dB re 20 µPa rms at the distance asked for
    voltage: np.ndarray  # V rms at the source
    limit: np.ndarray  # which limit stops it, as text
    voltages: dict = field(repr=False, default_factory=dict)  # limit -> V rms it allows alone


def max_output(
    driver,
    box,
    frequency,
    power=None,
    voltage=None,
    air_speed=PORT_SPEED,
    *,
    load=None,
    air=None,
    distance=1.0,
    source_resistance=0.0,
) -> Ceiling:
    """The loudest level at each frequency, the voltage there, and which limit stops it.

    Parameters
    ----------
    driver, box, frequency, air, distance, source_resistance : as for `boxlab.model.response.solve`
    power : the amplifier's rating, W, into `load` ohms, which has to be given too. An amplifier is
        a source of voltage, so this caps the voltage at √(power·load) whatever the impedance does.
    voltage : the amplifier's largest voltage, V rms (with `power` too, the lower one counts)
    air_speed : largest air speed allowed in a port, m/s peak; `vents.PORT_SPEED` if left out, None
        or inf for any. Not applied to radiators.
    load : the load at which `power` is rated, Ω: 4 for "300 W into 4 Ω". `load=driver.re` makes
        it Small's nominal power E²/Re (from memory)

    Returns
    -------
    Ceiling
        `limit` holds "cone excursion", "radiator excursion", "air speed", "amplifier" or "heat".
        Cone excursion (xmax) and heat (coil dissipation |i|²Re at most pe) always apply.

    Raises
    ------
    ValueError
        For a power, voltage, air speed or load that is not above zero, and for a power without
        the load that it is rated at.
    """
    air = Air() if air is None else air
    if air_speed is not None:
        hint = f"It is in m/s peak: {PORT_SPEED:g} if left out, None for any."
        air_speed = positive("air_speed", air_speed, hint, infinite=True)
    _insist_on_limits(driver, box)
    unit = solve(driver, box, frequency, 1.0, air, distance, source_resistance)
    shape = unit.spl.shape
    allowed = {CONE: beside(driver.xmax, frequency) / unit.cone_excursion}
    with np.errstate(divide="ignore"):
        if isinstance(box, RadiatorBox):
            allowed[RADIATOR] = beside(box.radiator.xmax, frequency) / unit.vent_excursion
        if air_speed is not None and isinstance(box, PortedBox):
            allowed[AIR_SPEED] = beside(air_speed, frequency) / unit.vent_air_speed
        if power is not None or voltage is not None:
            allowed[AMPLIFIER] = beside(_amplifier(power, voltage, load), frequency)
        warm = np.sqrt(driver.pe / driver.re)  # A rms that heats the coil with pe
        allowed[HEAT] = beside(warm, frequency) / np.abs(unit.current)
    names = tuple(allowed)
    stack = np.stack([np.broadcast_to(v, shape) for v in allowed.values()])
    which = np.argmin(stack, axis=0)
    lowest = np.min(stack, axis=0)
    with np.errstate(divide="ignore"):
        spl = 20 * np.log10(np.abs(unit.pressure) * lowest / P_REF)
    voltages = dict(zip(names, stack, strict=True))
    return Ceiling(unit.frequency, spl, lowest, np.array(names)[which], voltages)


def _insist_on_limits(driver, box):
    """Without its limits nothing stops a driver, and a level would mean nothing."""
    missing = [name for name in ("xmax", "pe") if not np.isfinite(getattr(driver, name)).all()]
    if missing:
        raise ValueError(
            f"{' and '.join(missing)} of the driver {'is' if len(missing) == 1 else 'are'} not "
            "known, and the loudest level hangs on it. Give xmax in m, one way, and pe in W."
        )


def _amplifier(power, voltage, load):
    caps = []
    if power is not None:
        hint = "Power is the amplifier's rating in watts."
        power = positive("power", power, hint)
        suspect("power", power, 1e-3, 1e5, hint)
        if load is None:
            raise ValueError(
                f"power = {np.ravel(power)[0]:g} W says nothing without the load it is rated "
                "at: give load=4 for that power into 4 Ω, load=driver.re for the nominal power "
                "V²/Re of the coil, or voltage= instead of power."
            )
        load = positive("load", load, "Load is in ohms.")
        suspect("load", load, 0.1, 1000, "Load is in ohms.")
        caps.append(np.sqrt(power * load))
    if voltage is not None:
        caps.append(positive("voltage", voltage, "Voltage is in volts rms."))
    return caps[0] if len(caps) == 1 else np.minimum(*caps)
