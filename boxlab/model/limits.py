"""How loud before something stops: excursion, air speed, amplifier, heat.

The model is linear, so each limit gives a largest source voltage at each frequency, and the lowest
of these sets the level. These are limits for a steady sine: music allows more heat for short times
and asks for less excursion most of the time.
"""

from __future__ import annotations

from dataclasses import dataclass, field, fields

import numpy as np
from numpy.typing import ArrayLike

from boxlab.base.checks import positive, suspect
from boxlab.model import cards
from boxlab.model.air import Air
from boxlab.model.any_box import Box
from boxlab.model.chain import Chain
from boxlab.model.driver import Driver, beside
from boxlab.model.enclosure import PortedBox, RadiatorBox
from boxlab.model.mixed_radiators import MixedRadiatorBox, each_radiator
from boxlab.model.power_stage import PowerStage, Supply
from boxlab.model.response import P_REF, PEAK, solve
from boxlab.model.vents import PORT_SPEED

CONE, RADIATOR = "cone excursion", "radiator excursion"
AIR_SPEED, AMPLIFIER, HEAT = "air speed", "amplifier", "heat"
CURRENT, SUPPLY = "amplifier's current", "supply"


@dataclass(frozen=True, eq=False)
class Ceiling(cards.Shown):
    """The loudest steady sine. Arrays have the designs' shape, then frequency last.

    >>> from boxlab.gear.scenario import TEN_INCH_DRIVER
    >>> from boxlab.model.enclosure import SealedBox
    >>> str(max_output(TEN_INCH_DRIVER, SealedBox(0.014), 30.0).limit)
    'cone excursion'

    Attributes
    ----------
    frequency : Hz
    spl : dB re 20 µPa rms at the distance asked for
    voltage : V rms asked for: at the source, but for what a chain does to it
    limit : which limit stops it, as text
    voltages : limit -> V rms that it would allow alone
    gain : of the chain at each frequency, a ratio
    """

    frequency: np.ndarray  # Hz
    spl: np.ndarray  # dB re 20 µPa rms at the distance asked for
    voltage: np.ndarray  # V rms asked for: at the source, but for what a chain does to it
    limit: np.ndarray  # which limit stops it, as text
    voltages: dict = field(repr=False, default_factory=dict)  # limit -> V rms it allows alone
    gain: float | np.ndarray = 1.0  # of the chain at each frequency, a ratio

    @property
    def source_voltage(self):
        """V rms at the source, behind the chain."""
        return self.voltage * self.gain

    _card = cards.ceiling


def max_output(
    driver: Driver, box: Box, frequency: ArrayLike, power: ArrayLike | None = None,
    voltage: ArrayLike | None = None, air_speed: ArrayLike | None = PORT_SPEED, *,
    load: ArrayLike | None = None, air: Air | None = None, distance: ArrayLike = 1.0,
    source_resistance: ArrayLike = 0.0, chain: Chain | None = None, stage: PowerStage | None = None,
    kelvin: ArrayLike = 0.0, metal: str = "copper",
) -> Ceiling:  # fmt: skip
    """The loudest level at each frequency, the voltage there, and which limit stops it.

    A filter before the amplifier does not change how loud a tone can be, for the volume can be
    turned up by what the filter takes: `chain` moves `voltage`, the setting at which each stop
    comes, and neither `spl` nor `limit`. So `solve` at `voltage` with the same chain gives `spl`.
    What one setting does over a whole band, `boxlab.model.first_stop` says.

    >>> from boxlab.gear.scenario import TEN_INCH_DRIVER
    >>> from boxlab.model.enclosure import SealedBox
    >>> top = max_output(TEN_INCH_DRIVER, SealedBox(0.014), [30, 100], power=300, load=4)
    >>> [str(limit) for limit in top.limit]
    ['amplifier', 'amplifier']

    Parameters
    ----------
    driver, box, frequency, air, distance, source_resistance, chain, kelvin, metal : as for
        `boxlab.model.response.solve`; `boxlab.model.warm_coil.settled` says how warm a drive makes
    power : the amplifier's rating, W, into `load` ohms, which has to be given too. An amplifier is
        a source of voltage, so this caps the voltage at √(power·load) whatever the impedance does.
    voltage : the amplifier's largest voltage, V rms (with `power` too, the lower one counts)
    air_speed : largest air speed allowed in a port, m/s peak; `vents.PORT_SPEED` if left out, None
        or inf for any. Not applied to radiators.
    load : the load at which `power` is rated, Ω: 4 for "300 W into 4 Ω". `load=driver.re` makes
        it Small's nominal power E²/Re (from memory)
    stage : PowerStage, for an amplifier's rail and current and a supply that sags. It goes with
        `power` and `voltage`: the lowest counts.

    Returns
    -------
    Ceiling
        `limit` holds "cone excursion", "radiator excursion" (of radiators that differ, of the one
        that meets its own first), "air speed", "amplifier" or "heat";
        with a `stage` also "amplifier's current" and "supply".
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
    if not (stage is None or isinstance(stage, PowerStage)):
        raise ValueError(
            f"stage must be a PowerStage or None, got {type(stage).__name__}. For example: "
            "PowerStage(rail=50, supply=Supply(13.8, 0.02)), or Amplifier({4: 300}).stage(4)."
        )
    around = (air, distance, source_resistance, chain, kelvin, metal)
    unit = solve(driver, box, frequency, 1.0, *around)
    driver = unit.driver  # its coil as warm as it is
    drive = 1.0 if chain is None else chain.response(unit.frequency)
    gain = np.abs(drive)
    shape = unit.spl.shape
    with np.errstate(divide="ignore"):
        allowed = {CONE: beside(driver.xmax, frequency) / unit.cone_excursion}
        if isinstance(box, RadiatorBox):
            allowed[RADIATOR] = beside(box.radiator.xmax, frequency) / unit.vent_excursion
        if isinstance(box, MixedRadiatorBox):
            each = [beside(m.radiator.xmax, frequency) / m.excursion for m in each_radiator(unit)]
            allowed[RADIATOR] = np.min(np.broadcast_arrays(*each), axis=0)
        if air_speed is not None and isinstance(box, PortedBox):
            allowed[AIR_SPEED] = beside(air_speed, frequency) / unit.vent_air_speed
        if power is not None or voltage is not None:
            allowed[AMPLIFIER] = beside(_amplifier(power, voltage, load), frequency) / gain
        if stage is not None:
            conductance = np.real(np.conj(drive) * unit.current) / gain**2
            for name, volts in _staged(stage, conductance, frequency).items():
                allowed[name] = np.minimum(volts / gain, allowed.get(name, np.inf))
            allowed[CURRENT] = beside(stage.current, frequency) / (PEAK * np.abs(unit.current))
        warm = np.sqrt(driver.pe / driver.re)  # A rms that heats the coil with pe
        allowed[HEAT] = beside(warm, frequency) / np.abs(unit.current)
    names = tuple(allowed)
    stack = np.stack([np.broadcast_to(v, shape) for v in allowed.values()])
    which = np.argmin(stack, axis=0)
    lowest = np.min(stack, axis=0)
    with np.errstate(divide="ignore"):
        spl = 20 * np.log10(np.abs(unit.pressure) * lowest / P_REF)
    voltages = dict(zip(names, stack, strict=True))
    return Ceiling(unit.frequency, spl, lowest, np.array(names)[which], voltages, gain)


def _staged(stage, conductance, frequency):
    """What a stage's rails and its supply allow at the source, V rms."""
    values = {f.name: getattr(stage, f.name) for f in fields(stage)}
    if stage.supply is not None:
        parts = {f.name: getattr(stage.supply, f.name) for f in fields(stage.supply)}
        values["supply"] = Supply(**{n: beside(v, frequency) for n, v in parts.items()})
    values = {n: v if n == "supply" else beside(v, frequency) for n, v in values.items()}
    lined_up = PowerStage(**values)
    conductance = np.maximum(conductance, 0.0)  # a rounding error below, where nothing is lossy
    return {
        AMPLIFIER: lined_up.rail_voltage(conductance),
        SUPPLY: lined_up.supply_limit(conductance),
    }


class UnknownLimitError(ValueError):
    """A driver without a limit that its loudest level hangs on; `names` are "xmax" and "pe"."""

    def __init__(self, names):
        self.names = tuple(names)
        super().__init__(
            f"{' and '.join(names)} of the driver {'is' if len(names) == 1 else 'are'} not "
            "known, and the loudest level hangs on it. Give xmax in m, one way, and pe in W."
        )


def _insist_on_limits(driver, box):
    """Without its limits nothing stops a driver, and a level would mean nothing."""
    missing = [name for name in ("xmax", "pe") if not np.isfinite(getattr(driver, name)).all()]
    if missing:
        raise UnknownLimitError(missing)


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
