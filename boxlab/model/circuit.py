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
from boxlab.model.relations import COIL


class Circuit:
    """Values and pieces at each design and frequency. A piece is worked out when it is asked for.

    Each value is a number, or an array that broadcasts with angular frequency `omega`, rad/s:

    voltage, source : V rms (complex where a chain of filters is before it) and Ω at the amplifier
    chain_slope : d/dω of the logarithm of the chain's response, s; 0 without one
    re, le, semi_k, semi_n, l2, r2, bl, sd : of the driver
    mass, friction, stiffness : of the cone, over Bl²
    compliance, leak : of the box, times Bl²/Sd²; none in free air
    absorption : resistance in series with the compliance, times Sd²/Bl²; only where there is any.
        The compliance C becomes the complex C/(1 + jωCR) then, in every piece
    vent_mass, vent_friction, vent_stiffness : acoustic, times Sd²/Bl²; none without a vent
    vent_area : of all vents together, m²
    (where vents differ, one of each for each vent, numbered: see `ManyVents`)
    density, speed, distance : kg/m³, m/s and m of the air to the listener
    """

    mixed = False  # whether vents differ

    def __init__(self, **values):
        self.values = values
        self.__dict__.update(values)
        self.boxed, self.vented = "compliance" in values, "vent_mass" in values
        self.soft = 1.0  # the complex compliance over the box air's own
        if "absorption" in values:
            turned = self.omega * self.compliance * self.absorption
            self.soft = 1 / (1 + 1j * turned)
            self.compliance = self.compliance * self.soft
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
        kind = cls
        turn, ratio = driver.bl**2, (driver.sd / driver.bl) ** 2
        values = {n: getattr(driver, n) for n in ("re", *COIL, "bl", "sd")}
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
            absorption = box.absorption(air)
            if isinstance(absorption, np.ndarray) or absorption:
                values["absorption"] = absorption * ratio
            vents = box.vents(air)
            kind = cls if len(vents) < 2 else ManyVents
            for number, vent in enumerate(vents):
                mark = number if kind.mixed else ""
                values[f"vent_mass{mark}"] = vent.mass * ratio
                values[f"vent_friction{mark}"] = vent.resistance * ratio
                values[f"vent_stiffness{mark}"] = ratio / vent.compliance
                values[f"vent_area{mark}"] = vent.area * vent.count
        if np.ndim(omega):  # frequency is the last axis, beside those of the designs
            for name, value in values.items():
                if isinstance(value, np.ndarray):
                    values[name] = value[..., None]
        values["chain_slope"] = 0.0
        if chain is not None:
            gain, values["chain_slope"] = chain.worked(omega / (2 * np.pi))
            values["voltage"] = values["voltage"] * gain
        return kind(omega=omega, **values)

    def cut(self, block):
        """The circuit of a block: a slice for each axis of the whole."""
        return type(self)(**{name: part(value, block) for name, value in self.values.items()})

    @cached_property
    def coil(self):
        """Blocked coil, Ω: R + jωL, and K(jω)ⁿ (Leach 2002) or L2 ‖ R2 if there is any."""
        coil = _phasor(self.re, self.omega * self.le)
        if isinstance(self.semi_k, np.ndarray) or self.semi_k > 0:
            coil = coil + self.semi_k * (1j * self.omega) ** self.semi_n
        if isinstance(self.l2, np.ndarray) or self.l2 > 0:
            coil = coil + 1j * self.omega * self.l2 / (1 + 1j * self.omega * self.l2 / self.r2)
        return coil

    @cached_property
    def motion(self):
        """Admittance of the moving part."""
        return _phasor(self.friction, self.omega * self.mass - self.stiffness / self.omega)

    @cached_property
    def air(self):
        """Y: impedance of the air and the leak of the box."""
        if "absorption" in self.values:
            return self.leak + 1j * self.omega * self.compliance
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

    @cached_property
    def vent_flow(self):
        """Flow out of all vents together, m³/s."""
        return -self.sd * self.drive

    def vent_slopes(self):
        """d/dω of num, and of what num/Zv is: 1 with one vent, more with several that differ."""
        return 1j * (self.vent_mass + self.vent_stiffness / self.omega**2), 0.0

    def slopes(self):
        """d/dω of num, den and total."""
        w, n, k = self.omega, self.semi_n, self.semi_k
        dcoil = 1j * self.le + (k * n * 1j * (1j * w) ** (n - 1) if np.any(k) else 0)
        dcoil = dcoil + 1j * self.l2 / (1 + 1j * w * self.l2 / self.r2) ** 2
        dmotion = 1j * (self.mass + self.stiffness / w**2)
        dnum, dden = 0.0, 1j * self.compliance * self.soft if self.boxed else 0.0
        if self.vented:
            dnum, dsplit = self.vent_slopes()
            dden = dsplit + dnum * self.air + self.num * dden
        dload = dmotion * self.den + self.motion * dden + dnum
        dtotal = dcoil * self.load + (self.coil + self.source) * dload + dden
        return dnum, dden, dtotal


class ManyVents(Circuit):
    """A circuit with vents that differ, in parallel; its values of each vent end in its number.

    `num` is the smallest of the vents' impedances Z at each frequency, and the flow of each vent
    is that of the smallest times num/Z. So no impedance is divided by that is smaller than another,
    and where one vent is at its own lossless resonance it takes all, exactly.
    """

    mixed = True

    def __init__(self, **values):
        super().__init__(**values)
        self.vented = True
        self.count = sum(name.startswith("vent_mass") for name in values)

    def of_each(self, name):
        """One value for each vent."""
        return [self.values[f"{name}{number}"] for number in range(self.count)]

    @cached_property
    def impedances(self):
        """Of each vent, in the manner of `num`."""
        rows = zip(
            *map(self.of_each, ("vent_friction", "vent_mass", "vent_stiffness")), strict=True
        )
        return [_phasor(r, self.omega * m - s / self.omega) for r, m, s in rows]

    @cached_property
    def num(self):
        """The smallest of the vents' impedances; see the class."""
        return self._of_smallest(self.impedances)

    def _of_smallest(self, values):
        least, chosen = np.abs(self.impedances[0]), values[0]
        for impedance, value in zip(self.impedances[1:], values[1:], strict=True):
            size = np.abs(impedance)
            chosen = np.where(size < least, value, chosen)
            least = np.minimum(size, least)
        return chosen

    @cached_property
    def split(self):
        """num/Z of each vent. Of several at one lossless resonance, each by its mass (a limit)."""
        first = self.of_each("vent_mass")[0]
        shares = []
        with np.errstate(divide="ignore", invalid="ignore"):
            for z, mass in zip(self.impedances, self.of_each("vent_mass"), strict=True):
                shares.append(np.where(z == 0, first / mass, self.num / z))
        return shares

    @cached_property
    def den(self):
        """As of one vent, with the sum of `split` for 1. U_vent/U_cone is −sum/den."""
        return sum(self.split) + self.num * self.air

    @cached_property
    def vent_flow(self):
        """Flow out of all vents together, m³/s."""
        return -self.sd * self.drive * sum(self.split)

    @cached_property
    def fastest(self):
        """Speed of the vent that is fastest at each frequency, m/s rms."""
        areas = self.of_each("vent_area")
        speeds = [np.abs(s) / area for s, area in zip(self.split, areas, strict=True)]
        return np.max(np.broadcast_arrays(*speeds), axis=0) * np.abs(self.sd * self.drive)

    def vent_slopes(self):
        """See `Circuit.vent_slopes`."""
        masses, stiffness = self.of_each("vent_mass"), self.of_each("vent_stiffness")
        each = [1j * (m + s / self.omega**2) for m, s in zip(masses, stiffness, strict=True)]
        dnum = self._of_smallest(each)
        rows = zip(each, self.split, self.impedances, strict=True)
        with np.errstate(divide="ignore", invalid="ignore"):
            return dnum, sum((dnum - share * slope) / z for slope, share, z in rows)


def _phasor(real, imaginary):
    """real + j·imaginary, without the two arrays that this sum would make on the way."""
    phasor = np.empty(np.broadcast(real, imaginary).shape, complex)
    phasor.real, phasor.imag = real, imaginary
    return phasor
