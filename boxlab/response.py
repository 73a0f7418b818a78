"""solve(): the coupled electrical, mechanical and acoustical answer of a driver in a box.

The circuit, with phasors rms and time factor exp(+jωt), and all flows out of the box positive:

    E  = (Rs + Zc)·i + Bl·v                  coil
    Bl·i + Sd·p = Zm·v                       moving part, pushed outward by the box pressure p
    −p·(jωC_AB) = Sd·v + U_vent + U_leak     air in the box
    p  = Zv·U_vent,   p = R_AL·U_leak        vent (port or radiator) and leak

after Small (J. Audio Eng. Soc. 20 (1972) 383, 21 (1973) 363, 22 (1974) 592). Nothing divides by
the vent's impedance, which is zero at a lossless radiator's own resonance, nor by that of the whole
box, which is zero at a lossless tuning, so both come out exact.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property

import numpy as np

from boxlab.air import Air
from boxlab.checks import not_negative, positive, same_shape
from boxlab.driver import Driver, beside
from boxlab.enclosure import PortedBox, RadiatorBox, SealedBox

P_REF = 20e-6  # Pa, reference of sound pressure level


@dataclass(frozen=True, eq=False)
class Response:
    """The answer of `solve`. Arrays have the designs' shape, then frequency last.

    Complex values are rms phasors relative to the source voltage.
    """

    driver: Driver
    box: SealedBox | PortedBox | RadiatorBox | None
    frequency: np.ndarray  # Hz
    voltage: float | np.ndarray  # V rms at the source
    air: Air
    distance: float | np.ndarray  # m
    source_resistance: float | np.ndarray  # Ω
    _parts: _Parts = field(repr=False)

    @cached_property
    def impedance(self):
        """Electrical impedance at the driver's terminals, Ω, complex."""
        q = self._parts
        with np.errstate(divide="ignore", invalid="ignore"):  # a pole, where nothing is lossy
            return q.coil + q.bl2 * q.den / q.load

    @cached_property
    def current(self):
        """Coil current, A rms, complex."""
        q = self._parts
        return q.voltage * q.load / q.total

    @cached_property
    def cone_velocity(self):
        """Cone velocity, m/s rms, complex, outward positive."""
        q = self._parts
        return q.drive * q.den

    @cached_property
    def cone_volume_velocity(self):
        """Flow pushed outward by the cone's front, m³/s rms, complex."""
        return self._parts.sd * self.cone_velocity

    @cached_property
    def box_pressure(self):
        """Pressure in the box, Pa rms, complex."""
        q = self._parts
        return -q.sd * q.drive * q.num

    @cached_property
    def vent_volume_velocity(self):
        """Flow out of all ports or radiators together, m³/s rms, complex; zero if there is none."""
        q = self._parts
        if q.vent is None:
            return np.zeros_like(q.drive)[()]
        return -q.sd * q.drive

    @cached_property
    def leak_volume_velocity(self):
        """Flow out of the leak, m³/s rms, complex."""
        return self.box_pressure * self._parts.leak

    @cached_property
    def volume_velocity(self):
        """Net flow that reaches the far field: cone + vent + leak, m³/s rms, complex.

        It equals −jωC_AB times the box pressure, so the null at a lossless radiator's own
        resonance is exact and not a difference of large numbers.
        """
        q = self._parts
        if self.box is None:
            return self.cone_volume_velocity
        return q.sd * q.drive * (1j * q.omega * q.compliance * q.num)

    @cached_property
    def pressure(self):
        """Far-field pressure, Pa rms, complex: jωρU0·exp(−jkr)/(2πr), into half space."""
        q = self._parts
        r = beside(self.distance, q.omega)
        wavenumber = q.omega / beside(self.air.speed_of_sound, q.omega)
        spread = 1j * q.omega * beside(self.air.density, q.omega) / (2 * np.pi * r)
        return spread * np.exp(-1j * wavenumber * r) * self.volume_velocity

    @cached_property
    def spl(self):
        """Sound pressure level, dB re 20 µPa rms; −inf at an exact null."""
        with np.errstate(divide="ignore"):
            return 20 * np.log10(np.abs(self.pressure) / P_REF)

    @cached_property
    def cone_excursion(self):
        """Peak cone excursion, one way, m."""
        return np.sqrt(2) * np.abs(self.cone_velocity) / self._parts.omega

    @cached_property
    def vent_air_speed(self):
        """Peak speed of the air in one port, or of one radiator, m/s; 0 if there is none."""
        vent = self._parts.vent
        if vent is None:
            return np.zeros(self.vent_volume_velocity.shape)[()]
        area = beside(vent.area * vent.count, self._parts.omega)
        return np.sqrt(2) * np.abs(self.vent_volume_velocity) / area

    @cached_property
    def vent_excursion(self):
        """Peak excursion of one radiator, or of the air in one port, m; 0 if there is none."""
        return self.vent_air_speed / self._parts.omega

    @cached_property
    def vent_phase(self):
        """Phase of the vent against the cone, both outward, degrees in (−180, 180].

        NaN where there is no vent, and where the cone stands still.
        """
        q = self._parts
        if q.vent is None:
            return np.full(q.drive.shape, np.nan)[()]
        # U_vent / U_cone = −1/den; the conjugate keeps the angle without dividing
        degrees = np.degrees(np.angle(-np.conj(q.den)))
        degrees = np.where(degrees <= -180, degrees + 360, degrees)
        return np.broadcast_to(np.where(q.den == 0, np.nan, degrees), q.drive.shape)[()]

    @cached_property
    def group_delay(self):
        """Group delay of the far-field pressure, s, without the time of flight r/c.

        −dφ/dω from the derivative of the circuit's own equations, not from differences; NaN at an
        exact null.
        """
        q = self._parts
        dnum, dden, dtotal = q.slopes()
        # one factor jω for radiation; with a box U0 carries another jω·num, in free air den
        with np.errstate(divide="ignore", invalid="ignore"):
            flow = dden / q.den if self.box is None else 1 / q.omega + dnum / q.num
            return -np.imag(flow - dtotal / q.total) * np.ones(q.drive.shape)

    @cached_property
    def power(self):
        """Real electrical power into the driver's terminals, W."""
        return np.abs(self.current) ** 2 * self.impedance.real


class _Parts:
    """The circuit's pieces at each design and frequency.

    The box's acoustic impedance seen by the cone's rear is num/den: for a vent Zv/(1 + Zv·Y) with
    Y = jωC_AB + 1/R_AL, for a sealed box 1/Y, in free air 0/1.
    """

    def __init__(self, driver, box, omega, voltage, air, source_resistance):
        self.omega, self.voltage = omega, beside(voltage, omega)
        self.sd = beside(driver.sd, omega)
        self.bl = beside(driver.bl, omega)
        self.bl2 = self.bl**2
        self.driver = driver
        self.coil = driver.coil_impedance(omega)
        self.source = beside(source_resistance, omega)
        self.mechanical = driver.mechanical_impedance(omega)
        self.vent = None if box is None else box.vent(air)
        self.leak = 0.0 if box is None else beside(box.leak_conductance(air), omega)
        self.compliance = 0.0 if box is None else beside(box.compliance(air), omega)
        yielding = 1j * omega * self.compliance + self.leak
        if box is None:
            self.num, self.den = 0.0, np.ones_like(omega)
        elif self.vent is None:
            self.num, self.den = np.ones_like(omega), yielding
        else:
            r, m, c = (
                beside(v, omega)
                for v in (self.vent.resistance, self.vent.mass, self.vent.compliance)
            )
            self.num = r + 1j * (omega * m - 1 / (omega * c))
            self.den = 1 + self.num * yielding
        self.load = self.mechanical * self.den + self.sd**2 * self.num
        self.total = (self.coil + self.source) * self.load + self.bl2 * self.den
        self.drive = self.bl * self.voltage / self.total

    def slopes(self):
        """d/dω of num, den and total."""
        w, d = self.omega, self.driver
        n, k = beside(d.semi_n, w), beside(d.semi_k, w)
        dcoil = 1j * beside(d.le, w) + (k * n * 1j * (1j * w) ** (n - 1) if np.any(k) else 0)
        dmechanical = 1j * (beside(d.mms, w) + 1 / (w**2 * beside(d.cms, w)))
        yielding = 1j * w * self.compliance + self.leak
        if self.vent is None:
            dnum = 0.0
            dden = 1j * self.compliance
        else:
            dnum = 1j * (beside(self.vent.mass, w) + 1 / (w**2 * beside(self.vent.compliance, w)))
            dden = dnum * yielding + self.num * 1j * self.compliance
        dload = dmechanical * self.den + self.mechanical * dden + self.sd**2 * dnum
        dtotal = dcoil * self.load + (self.coil + self.source) * dload + self.bl2 * dden
        return dnum, dden, dtotal


def solve(
    driver, box, frequency, voltage=2.83, air=None, distance=1.0, source_resistance=0.0
) -> Response:
    """Solve a driver in a box (or in free air on a large baffle, with `box` None).

    Parameters
    ----------
    driver : Driver
    box : SealedBox, PortedBox, RadiatorBox, or None
    frequency : Hz, above zero; a number, shape (F,), or a grid for each design, frequency last
    voltage : source voltage, V rms
    air : Air; 20 °C at sea level if left out
    distance : to the listener, m, on the floor or wall (half space)
    source_resistance : of amplifier and cable together, Ω

    Returns
    -------
    Response
        Its arrays have the broadcast shape of all design values, then frequency last (no such axis
        for a single frequency); 10,000 boxes by 200 frequencies is one call.

    Raises
    ------
    ValueError
        For a frequency, voltage or distance that is not above zero, a negative source resistance,
        or arrays that do not broadcast.
    """
    if not isinstance(driver, Driver):
        raise ValueError(f"driver must be a Driver, got {type(driver).__name__}.")
    if not (box is None or isinstance(box, SealedBox | PortedBox | RadiatorBox)):
        raise ValueError(
            f"box must be a SealedBox, PortedBox, RadiatorBox or None, got {type(box).__name__}."
        )
    air = Air() if air is None else air
    if not isinstance(air, Air):
        raise ValueError(f"air must be an Air, got {type(air).__name__}. For example: Air(25).")
    frequency = positive("frequency", frequency, "Frequency is in hertz.")
    voltage = positive("voltage", voltage, "Voltage is in volts rms.")
    distance = positive("distance", distance, "Distance is in metres.")
    source_resistance = not_negative("source_resistance", source_resistance, "It is in ohms.")
    _insist_on_shapes(driver, box, voltage, source_resistance, air)
    parts = _Parts(driver, box, 2 * np.pi * frequency, voltage, air, source_resistance)
    return Response(driver, box, frequency, voltage, air, distance, source_resistance, parts)


def _insist_on_shapes(driver, box, voltage, source_resistance, air):
    """Refuse designs that do not broadcast, by the names that a caller knows."""
    shapes = {"driver": driver.mms * driver.sd * driver.bl * driver.re}
    if box is not None:
        shapes["box"] = box.volume
        vent = box.vent(air)
        if vent is not None:
            shapes["vent"] = vent.mass * np.asarray(vent.count)
    same_shape(
        "solve", **shapes, voltage=voltage, source_resistance=source_resistance, air=air.density
    )
