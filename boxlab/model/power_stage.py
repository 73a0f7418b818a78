"""What an amplifier can put out: its rail, its current, and a supply that sags under it.

A steady sine, after all capacitors have settled. The supply is a source of `voltage` behind a
resistance: the battery's own, the cable out and back, fuse and joints. What the amplifier draws is
the real power that it puts out over its efficiency at full output, which is taken as one number;
idle current is left out. (A stage that works in class AB draws more into a reactive load.)

An unregulated amplifier's rails follow its supply, so at its rails it draws as a resistance does:
its power goes with the square of the supply's voltage. A regulated one holds its rails and draws
more current instead, until the supply can give no more: at half its open voltage, derived from
P = V·(V0 − V)/R, or where the amplifier shuts down.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from boxlab.base.checks import Record, not_negative, positive, same_shape, suspect

_VOLTS = "Give volts, direct: a car's supply is 12.6 at rest and about 13.8 with the engine on."
_OHMS = "Give ohms of the whole loop: 20 mΩ is 0.020."


@dataclass(frozen=True, eq=False)
class Supply(Record):
    """A direct voltage behind a resistance.

    Parameters
    ----------
    voltage : V without load, at the battery
    resistance : Ω of the loop: battery inside, cable out and back, fuse, joints; 0 for none
    least : V at the amplifier below which it shuts down; 0 for never

    Raises
    ------
    ValueError
        For a voltage that is not above zero, a negative resistance, or a `least` at or above the
        voltage.

    >>> round(float(Supply(13.8, 0.018).under(1200.0)), 6)  # W: 100 A at 12.0 V
    12.0
    """

    voltage: float | np.ndarray
    resistance: float | np.ndarray
    least: float | np.ndarray = 0.0

    def __post_init__(self):
        self._store("voltage", positive("voltage", self.voltage, _VOLTS))
        suspect("voltage", self.voltage, 5, 60, _VOLTS)
        self._store("resistance", not_negative("resistance", self.resistance, _OHMS))
        suspect("resistance", self.resistance, 0, 1, _OHMS)
        self._store("least", not_negative("least", self.least, _VOLTS))
        same_shape("Supply", voltage=self.voltage, resistance=self.resistance, least=self.least)
        if np.any(np.asarray(self.least) >= self.voltage):
            raise ValueError(
                f"least = {np.max(self.least):g} V is not below the supply's voltage of "
                f"{np.min(self.voltage):g} V: the amplifier would never start. Give the volts at "
                "which it shuts down, about 9 to 11, or 0."
            )

    @property
    def most(self):
        """Largest power that it can give, W: at half its open voltage, or at `least`."""
        low = np.maximum(self.least, np.asarray(self.voltage) / 2)
        with np.errstate(divide="ignore"):
            return (low * (self.voltage - low) / np.asarray(self.resistance, float))[()]

    def under(self, power):
        """Voltage at the amplifier while it draws `power` W from the supply, V.

        Formula: V_S = (V0 + √(V0² − 4·R_S·P))/2

        Raises
        ------
        ValueError
            For more power than the supply can give.
        """
        power = not_negative("power", power, "It is what the amplifier draws, in watts.")
        if np.any(np.asarray(power) > np.asarray(self.most) * (1 + 1e-12)):
            raise ValueError(
                f"power = {np.max(power):g} W is more than this supply can give: "
                f"{np.min(self.most):.4g} W, at {_low(self):.3g} V. Use a thicker or shorter "
                "cable, a second battery, or less power."
            )
        spare = np.square(self.voltage) - 4 * np.asarray(self.resistance) * power
        return ((self.voltage + np.sqrt(np.maximum(spare, 0))) / 2)[()]


def _low(supply):
    return float(np.min(np.maximum(supply.least, np.asarray(supply.voltage) / 2)))


@dataclass(frozen=True, eq=False)
class PowerStage(Record):
    """What an amplifier can put out into a load, for `max_output` and `first_stop`.

    >>> stage = PowerStage(rail=35.0, current=20.0)
    >>> round(float(stage.full_output(1 / 4).voltage), 1)  # V rms into 4 Ω
    24.7

    Parameters
    ----------
    rail : V peak at its output, at most (both halves of a bridge together), with `rated_at` volts
        of supply
    current : A peak, at most; inf where it has no limit
    supply : Supply, or None for one that holds `rated_at` volts
    rated_at : V of supply for which `rail` holds
    efficiency : output over input at full output, 0 to 1
    regulated : whether its rails stay while the supply sags
    share : average power over that of a full sine, 0 to 1: how far the supply has sagged when a
        peak comes. 1 is a steady tone; music with a crest factor CF leaves 2/CF².

    Raises
    ------
    ValueError
        For a value out of its range.
    """

    rail: float | np.ndarray
    current: float | np.ndarray = math.inf
    supply: Supply | None = None
    rated_at: float | np.ndarray = 13.8
    efficiency: float | np.ndarray = 0.75
    regulated: bool = False
    share: float | np.ndarray = 1.0

    def __post_init__(self):
        self._store("rail", positive("rail", self.rail, "Rail is in volts peak at the output."))
        suspect("rail", self.rail, 1, 500, "Rail is in volts peak at the output.")
        hint = "Current is in amperes peak at the output; inf for no limit."
        self._store("current", positive("current", self.current, hint, infinite=True))
        self._store("rated_at", positive("rated_at", self.rated_at, _VOLTS))
        suspect("rated_at", self.rated_at, 5, 60, _VOLTS)
        for name, hint in (("efficiency", "output over input"), ("share", "average over full")):
            value = positive(name, getattr(self, name), f"It is {hint}: 75 % is 0.75.")
            if np.any(np.asarray(value) > 1):
                raise ValueError(
                    f"{name} = {np.max(value):g}: give {hint}, above 0 up to 1. 75 % is 0.75."
                )
            self._store(name, value)
        if not (self.supply is None or isinstance(self.supply, Supply)):
            raise ValueError(
                f"supply must be a Supply or None, got {type(self.supply).__name__}. For example: "
                "Supply(13.8, 0.02)."
            )

    def supply_voltage(self, conductance):
        """Supply at the amplifier, V, while it puts a full sine into a load of `conductance` S.

        Formula: V_S = V0/(1 + R_S·E²·G/η)

        E is the sine that its rails allow, V rms, over `rated_at`. That is where an unregulated
        amplifier settles; a regulated one holds its rails, and NaN says that the supply breaks down
        first. The conductance is Re(1/Z); its shape and the stage's broadcast.
        """
        conductance = not_negative("conductance", conductance, "It is Re(1/Z), in siemens.")
        if self.supply is None:
            return self.rated_at * np.ones(np.shape(conductance))[()]
        open_voltage, ohms = self.supply.voltage, np.asarray(self.supply.resistance)
        drawn = np.square(self.rail) / 2 * conductance * self.share / self.efficiency
        if not self.regulated:
            return (open_voltage / (1 + ohms * drawn / np.square(self.rated_at)))[()]
        with np.errstate(invalid="ignore"):
            volts = (open_voltage + np.sqrt(np.square(open_voltage) - 4 * ohms * drawn)) / 2
        return np.where(drawn <= self.supply.most, volts, np.nan)[()]

    def rail_voltage(self, conductance):
        """Largest sine by its rails, V rms, into a load of `conductance` S, sag and all."""
        full = self.rail / math.sqrt(2)
        if self.regulated:
            return full * np.ones(np.shape(conductance))[()]
        return full * self.supply_voltage(conductance) / self.rated_at

    def supply_limit(self, conductance):
        """Sine voltage at which the supply can give no more, V rms; inf for a stiff one."""
        if self.supply is None:
            return np.full(np.shape(conductance), np.inf)[()]
        with np.errstate(divide="ignore", over="ignore"):
            most = self.supply.most * self.efficiency / self.share
            return np.sqrt(most / np.asarray(conductance, float))[()]

    def full_output(self, conductance):
        """What it comes to at full output into a load of `conductance` S, as an `Output`.

        Its current limit is left out, since that hangs on the size of the impedance as well.
        """
        volts = np.minimum(self.rail_voltage(conductance), self.supply_limit(conductance))
        watts = np.square(volts) * conductance
        taken = watts * self.share / self.efficiency
        if self.supply is None:
            left = self.rated_at * np.ones(np.shape(taken))[()]
        else:
            left = self.supply.under(np.minimum(taken, self.supply.most))
        return Output(volts, watts, left, taken / left)


class Output(NamedTuple):
    """Full output: `voltage` of the sine, V rms; its `power`, W; `supply_voltage` left, V; `drawn`,
    A on average from the supply."""

    voltage: float | np.ndarray
    power: float | np.ndarray
    supply_voltage: float | np.ndarray
    drawn: float | np.ndarray
