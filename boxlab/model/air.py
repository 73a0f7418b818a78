"""The air in and around the box: density and speed of sound.

Density is that of moist air by the CIPM-2007 formula (Picard, Davis, Gläser and Fujii, Metrologia
45 (2008) 149), with the carbon dioxide of its reference air, 400 ppm. The speed of sound is
ISO 9613-1's 343.2 √(T / 293.15 K), times a small ideal-gas correction for the moisture, so that dry
air follows the standard exactly. Published formulae for c at 20 °C spread over 343.2 to 344.0 m/s.

What height does to the pressure is that of the standard atmosphere (ISO 2533, the same as the US
Standard Atmosphere 1976; formula and constants from memory).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike

from boxlab.base.array_types import Values
from boxlab.base.checks import Record, number, positive, same_shape, suspect
from boxlab.base.units import celsius_offset

# The standard atmosphere up to 11 km: pressure (Pa) and temperature (K) at sea level, kelvin lost
# with each metre, and g·M/(R·lapse) with its own M and R (ISO 2533, from memory).
SEA_LEVEL, _WARM, _LAPSE, _POWER = 101325.0, 288.15, 0.0065, 5.25588
_LOWEST, _HIGHEST, _ROADS = -500.0, 11000.0, 6000.0  # m
_HEIGHT_HINT = "Height is in metres above the sea: use boxlab.feet(5000) for 5000 ft."

# Molar masses of dry air and water, kg/mol, and the gas constant as CIPM-2007 uses it.
_DRY, _WATER, _GAS = 28.96546e-3, 18.01528e-3, 8.314472


@dataclass(frozen=True, eq=False)
class Air(Record):
    """Air at a temperature (°C), pressure (Pa) and relative humidity (0 to 1).

    >>> air = Air()
    >>> round(air.density, 3), round(air.speed_of_sound, 1)
    (1.205, 343.2)

    Parameters
    ----------
    temperature : °C
    pressure : Pa; 101 325 at sea level
    humidity : relative, 0 to 1

    Raises
    ------
    ValueError
        For a pressure of zero or less, a temperature below −100 °C or above 100 °C, or a humidity
        outside 0 to 1.
    """

    temperature: float | np.ndarray = 20.0
    pressure: float | np.ndarray = 101325.0
    humidity: float | np.ndarray = 0.0

    def __post_init__(self):
        self._store("temperature", number("temperature", self.temperature))
        self._store("pressure", positive("pressure", self.pressure, "Pressure is in pascals."))
        self._store("humidity", number("humidity", self.humidity))
        temperature, humidity = np.asarray(self.temperature), np.asarray(self.humidity)
        if ((temperature < -100) | (temperature > 100)).any():
            raise ValueError(
                f"temperature = {self.temperature} °C is outside −100 to 100. It is in degrees "
                "Celsius: take 273.15 from kelvin, or (F − 32)/1.8 from Fahrenheit."
            )
        if ((humidity < 0) | (humidity > 1)).any():
            raise ValueError(
                f"humidity = {self.humidity} is outside 0 to 1. Give 50 % as 0.5, not 50."
            )
        same_shape(
            "Air", temperature=self.temperature, pressure=self.pressure, humidity=self.humidity
        )
        suspect(
            "temperature", self.temperature, -50, 55,
            "It is in degrees Celsius: from Fahrenheit take (F − 32)/1.8, so 68 °F is 20.",
        )  # fmt: skip
        suspect("pressure", self.pressure, 3e4, 1.2e5, "Sea level is about 101325 Pa (1013 hPa).")

    @classmethod
    def at_altitude(cls, metres, temperature=None, humidity=0.0):
        """Air at a height above the sea: the standard atmosphere's pressure there.

        Parameters
        ----------
        metres : height above the sea, m, −500 to 11 000; a number or one for each design. It is
            taken as the standard's geopotential height, which differs by less than 0.1 % from
            the map's where there are roads.
        temperature : °C; left out, the standard's own at that height, 15 °C − 6.5 °C/km
        humidity : 0 to 1

        The weather moves the pressure by some 3 % either way of this, more in a storm (from
        memory).

        >>> air = Air.at_altitude(2000, temperature=20)
        >>> round(air.pressure), round(air.density, 3), round(air.speed_of_sound, 1)
        (79495, 0.945, 343.2)

        Raises
        ------
        ValueError
            For a height outside −500 to 11 000 m.

        Warns
        -----
        UnitWarning
            For a height above 6000 m, where no road leads: most often feet given as metres.
        """
        metres = number("altitude", metres, hint=_HEIGHT_HINT)
        pressure = standard_pressure(metres)
        suspect("altitude", metres, _LOWEST, _ROADS, _HEIGHT_HINT)
        if temperature is None:
            temperature = _WARM - celsius_offset - _LAPSE * metres
        return cls(temperature, pressure, humidity)

    @property
    def _kelvin(self):
        return self.temperature + celsius_offset

    @cached_property
    def _vapour_fraction(self):
        """Mole fraction of water vapour (CIPM-2007, equations for psv and f)."""
        t, kelvin = self.temperature, self._kelvin
        saturation = np.exp(
            1.2378847e-5 * kelvin**2 - 1.9121316e-2 * kelvin + 33.93711047 - 6.3431645e3 / kelvin
        )
        enhancement = 1.00062 + 3.14e-8 * self.pressure + 5.6e-7 * t**2
        return self.humidity * enhancement * saturation / self.pressure

    @cached_property
    def density(self):
        """Density of the moist air, kg/m³ (CIPM-2007)."""
        t, kelvin, x = self.temperature, self._kelvin, self._vapour_fraction
        ratio = self.pressure / kelvin
        compressibility = (
            1
            - ratio
            * (
                1.58123e-6
                - 2.9331e-8 * t
                + 1.1043e-10 * t**2
                + (5.707e-6 - 2.051e-8 * t) * x
                + (1.9898e-4 - 2.376e-6 * t) * x**2
            )
            + ratio**2 * (1.83e-11 - 0.765e-8 * x**2)
        )
        dry = ratio * _DRY / (compressibility * _GAS)
        return _plain(dry * (1 - x * (1 - _WATER / _DRY)))

    @cached_property
    def speed_of_sound(self):
        """Speed of sound, m/s: ISO 9613-1 for dry air, corrected for moisture as an ideal gas."""
        x = self._vapour_fraction
        heat_ratio = (7 + x) / (5 + x)  # diatomic air mixed with water vapour
        molar_mass = _DRY - x * (_DRY - _WATER)
        moisture = np.sqrt(heat_ratio / 1.4 * _DRY / molar_mass)
        return _plain(343.2 * np.sqrt(self._kelvin / 293.15) * moisture)

    @cached_property
    def bulk_modulus(self):
        """Stiffness of the air itself, Pa: what a closed volume of it pushes back with.

        Formula: K = ρ·c²
        """
        return self.density * self.speed_of_sound**2


def standard_pressure(metres: ArrayLike) -> Values:
    """Pressure of the standard atmosphere at a height in metres, Pa (ISO 2533, from memory).

    Formula: p_air = 101325·(1 − 0.0065·height/288.15)^5.25588

    Raises
    ------
    ValueError
        For a height outside −500 to 11 000 m, where the formula ends.

    >>> round(standard_pressure(1600.0))  # Pa
    83524
    """
    metres = number("altitude", metres, hint=_HEIGHT_HINT)
    wrong = (np.asarray(metres) < _LOWEST) | (np.asarray(metres) > _HIGHEST)
    if wrong.any():
        first = np.ravel(metres)[int(np.argmax(wrong))]
        raise ValueError(
            f"altitude = {first:g} m is outside −500 to 11 000 m, where the standard atmosphere's "
            f"lowest layer holds. {_HEIGHT_HINT}"
        )
    return _plain(SEA_LEVEL * (1 - _LAPSE * metres / _WARM) ** _POWER)


def _plain(value):
    return float(value) if np.ndim(value) == 0 else value
