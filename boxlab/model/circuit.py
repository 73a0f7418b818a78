"""The circuit of a driver in a box as numbers: its values, and the pieces that answers share.

All is seen from the coil: a mass M is a capacitance M/Bl², a spring an inductance Cm·Bl², friction
a conductance Rm/Bl², and the box follows with Sd² (Small, J. Audio Eng. Soc. 20 (1972) 383). Once
the values of a design are scaled so, no factor is left to carry over all its frequencies.
"""

from __future__ import annotations

import math
from functools import cached_property

import numpy as np

from boxlab.model.blocks import part


class Circuit:
    """Values and pieces at each design and frequency. A piece is worked out when it is asked for.

    Each value is a number, or an array that broadcasts with angular frequency `omega`, rad/s:

    voltage, source : V rms (complex where a chain of filters is before it) and Ω at the amplifier
    chain_slope : d/dω of the logarithm of the chain's response, s; 0 without one
    re, le, semi_k, semi_n, bl, sd : of the driver
    mass, friction, stiffness : of the cone, over Bl²
    compliance, leak : of the box, times Bl²/Sd²; none in free air
    vent_mass, vent_friction, vent_stiffness : acoustic, times Sd²/Bl²; none without a vent
    vent_area : of all vents together, m²
    density, speed, distance : kg/m³, m/s and m of the air to the listener
    """

    def __init__(self, **values):
        self.values = values
        self.__dict__.update(values)
        self.boxed, self.vented = "compliance" in values, "vent_mass" in values
        self.shape = np.broadcast(*(v for v in values.values() if isinstance(v, np.ndarray))).shape
        self.size = math.prod(self.shape)

    @classmethod
    def of(cls, driver, box, omega, voltage, air, distance, source_resistance, chain=None):
        """The circuit of a driver in a box, or in free air, behind a `Chain` or none.

        Raises
        ------
        ValueError
            If the arrays do not broadcast.
        """
        turn, ratio = driver.bl**2, (driver.sd / driver.bl) ** 2
        values = {n: getattr(driver, n) for n in ("re", "le", "semi_k", "semi_n", "bl", "sd")}
        values |= {
            "mass": driver.mms / turn,
            "friction": driver.rms / turn,
            "stiffness": 1 / (driver.cms * turn),
            "voltage": voltage,
            "source": source_resistance,
            "density": air.density,
            "speed": air.speed_of_sound,
            "distance": distance,
        }
        if box is not None:
            values["compliance"] = box.compliance(air) / ratio
            values["leak"] = box.leak_conductance(air) / ratio
            vent = box.vent(air)
            if vent is not None:
                values["vent_mass"] = vent.mass * ratio
                values["vent_friction"] = vent.resistance * ratio
                values["vent_stiffness"] = ratio / vent.compliance
                values["vent_area"] = vent.area * vent.count
        if np.ndim(omega):  # frequency is the last axis, beside those of the designs
            for name, value in values.items():
                if isinstance(value, np.ndarray):
                    values[name] = value[..., None]
        values["chain_slope"] = 0.0
        if chain is not None:
            gain, values["chain_slope"] = chain.worked(omega / (2 * np.pi))
            values["voltage"] = values["voltage"] * gain
        return cls(omega=omega, **values)

    def cut(self, block):
        """The circuit of a block: a slice for each axis of the whole."""
        return Circuit(**{name: part(value, block) for name, value in self.values.items()})

    @cached_property
    def coil(self):
        """Blocked coil, Ω: R + jωL, and K(jω)ⁿ (Leach 2002) if there is any."""
        coil = _phasor(self.re, self.omega * self.le)
        if isinstance(self.semi_k, np.ndarray) or self.semi_k > 0:
            coil = coil + self.semi_k * (1j * self.omega) ** self.semi_n
        return coil

    @cached_property
    def motion(self):
        """Admittance of the moving part."""
        return _phasor(self.friction, self.omega * self.mass - self.stiffness / self.omega)

    @cached_property
    def air(self):
        """Y: impedance of the air and the leak of the box."""
        return _phasor(self.leak, self.omega * self.compliance)

    @cached_property
    def num(self):
        """See `den`."""
        if self.vented:
            reactance = self.omega * self.vent_mass - self.vent_stiffness / self.omega
            return _phasor(self.vent_friction, reactance)
        return 1.0 if self.boxed else 0.0

    @cached_property
    def den(self):
        """The box loads the cone with num/den: Zv/(1 + Zv·Y), 1/Y if sealed, 0/1 in free air.

        U_vent/U_cone is −1/den.
        """
        if self.vented:
            return 1 + self.num * self.air
        return self.air if self.boxed else 1.0

    @cached_property
    def load(self):
        """Admittance that the coil drives, cone and box together, times den."""
        return self.motion * self.den + self.num

    @cached_property
    def total(self):
        """Determinant of the whole: zero nowhere that ω is real and the coil has resistance."""
        return (self.coil + self.source) * self.load + self.den

    @cached_property
    def drive(self):
        """Cone velocity over den, m/s."""
        return self.voltage / self.bl / self.total

    def slopes(self):
        """d/dω of num, den and total."""
        w, n, k = self.omega, self.semi_n, self.semi_k
        dcoil = 1j * self.le + (k * n * 1j * (1j * w) ** (n - 1) if np.any(k) else 0)
        dmotion = 1j * (self.mass + self.stiffness / w**2)
        dnum, dden = 0.0, 1j * self.compliance if self.boxed else 0.0
        if self.vented:
            dnum = 1j * (self.vent_mass + self.vent_stiffness / w**2)
            dden = dnum * self.air + self.num * dden
        dload = dmotion * self.den + self.motion * dden + dnum
        dtotal = dcoil * self.load + (self.coil + self.source) * dload + dden
        return dnum, dden, dtotal


def _phasor(real, imaginary):
    """real + j·imaginary, without the two arrays that this sum would make on the way."""
    phasor = np.empty(np.broadcast(real, imaginary).shape, complex)
    phasor.real, phasor.imag = real, imaginary
    return phasor
