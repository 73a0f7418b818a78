"""solve(): the coupled electrical, mechanical and acoustical answer of a driver in a box.

The circuit, with phasors rms and time factor exp(+jωt), and all flows out of the box positive:

    E  = (Rs + Zc)·i + Bl·v                  coil
    Bl·i + Sd·p = Zm·v                       moving part, pushed outward by the box pressure p
    −p·(jωC_AB) = Sd·v + U_vent + U_leak     air in the box
    p  = Zv·U_vent,   p = R_AL·U_leak        vent (port or radiator) and leak

after Small (J. Audio Eng. Soc. 20 (1972) 383, 21 (1973) 363, 22 (1974) 592). Nothing divides by
the vent's impedance, which is zero at a lossless radiator's own resonance, nor by that of the whole
box, which is zero at a lossless tuning, so both come out exact.

Many designs are one call; `blocks` says how they are worked out, `circuit` with which numbers.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import ArrayLike

from boxlab.base.checks import not_negative, positive, suspect
from boxlab.model import cards
from boxlab.model.air import Air
from boxlab.model.blocks import Answers, answer
from boxlab.model.chain import Chain
from boxlab.model.circuit import Circuit
from boxlab.model.coil_heat import warmed
from boxlab.model.driver import Driver
from boxlab.model.enclosure import Box
from boxlab.model.out_of_reach import insist_on_shapes
from boxlab.model.plotted import Plotted

P_REF = 20e-6  # Pa, reference of sound pressure level
PEAK = math.sqrt(2)  # peak over rms of a sine
_ROOM_AIR = Air()


@dataclass(frozen=True, eq=False)
class Response(cards.Shown, Plotted, Answers):
    """The answer of `solve`. Arrays have the designs' shape, then frequency last.

    Complex values are rms phasors relative to the voltage asked for, before the chain if any.

    >>> from boxlab.gear.scenario import TEN_INCH_DRIVER
    >>> solve(TEN_INCH_DRIVER, None, [31.6, 100.0]).spl.round(1)
    array([81. , 89.3])

    Attributes
    ----------
    driver, box, air, voltage, distance, source_resistance, chain : as given to `solve`, the
        driver with its coil as warm as asked for
    frequency : Hz
    """

    driver: Driver
    box: Box | None  # SealedBox, PortedBox, RadiatorBox or MixedRadiatorBox
    frequency: np.ndarray  # Hz
    voltage: float | np.ndarray  # V rms at the source, but for what a chain does to it
    air: Air
    distance: float | np.ndarray  # m
    source_resistance: float | np.ndarray  # Ω
    _circuit: Circuit = field(repr=False)
    chain: Chain | None = None

    @answer
    def impedance(self):
        """Electrical impedance at the driver's terminals, Ω, complex."""
        q = self._circuit
        with np.errstate(divide="ignore", invalid="ignore"):  # a pole, where nothing is lossy
            return q.coil + q.den / q.load

    @answer
    def current(self):
        """Coil current, A rms, complex."""
        q = self._circuit
        return q.voltage * q.load / q.total

    @answer
    def cone_velocity(self):
        """Cone velocity, m/s rms, complex, outward positive."""
        q = self._circuit
        return q.drive * q.den

    @answer
    def cone_volume_velocity(self):
        """Flow pushed outward by the cone's front, m³/s rms, complex."""
        return self._circuit.sd * self.cone_velocity

    @answer
    def box_pressure(self):
        """Pressure in the box, Pa rms, complex."""
        q = self._circuit
        return -(q.bl**2 / q.sd) * q.drive * q.num

    @answer
    def vent_volume_velocity(self):
        """Flow out of all ports or radiators together, m³/s rms, complex; zero if there is none."""
        q = self._circuit
        if not q.vented:
            return np.zeros_like(q.drive)[()]
        return q.vent_flow

    @answer
    def leak_volume_velocity(self):
        """Flow out of the leak, m³/s rms, complex."""
        q = self._circuit
        if not q.boxed:
            return np.zeros_like(q.drive)[()]
        return -q.sd * q.leak * q.drive * q.num

    @answer
    def volume_velocity(self):
        """Net flow that reaches the far field: cone + vent + leak, m³/s rms, complex.

        It equals −jωC_AB times the box pressure, so the null at a lossless radiator's own
        resonance is exact and not a difference of large numbers.
        """
        q = self._circuit
        if not q.boxed:
            return self.cone_volume_velocity
        return 1j * q.omega * (q.sd * q.compliance) * q.num * q.drive

    @answer
    def pressure(self):
        """Far-field pressure, Pa rms, complex, into half space.

        Formula: p = j·ω·ρ·U0·exp(−j·k·r)/(2·π·r)
        """
        q = self._circuit
        spread = 1j * q.omega * q.density / (2 * np.pi * q.distance)
        return spread * np.exp(-1j * q.omega / q.speed * q.distance) * self.volume_velocity

    @answer
    def spl(self):
        """Sound pressure level, dB re 20 µPa rms; −inf at an exact null.

        Formula: SPL = 20·log10(|p|/p0)
        """
        q = self._circuit
        spread = q.omega * q.density / (2 * np.pi * q.distance * P_REF)
        with np.errstate(divide="ignore"):
            return 20 * np.log10(spread * np.abs(self.volume_velocity))

    @answer
    def cone_excursion(self):
        """Peak cone excursion, one way, m.

        Formula: x = √(2)·|v|/ω
        """
        return PEAK / self._circuit.omega * np.abs(self.cone_velocity)

    @answer
    def vent_air_speed(self):
        """Peak speed of the air in one port, or of one radiator, m/s; 0 if there is none.

        Where radiators differ, the fastest at each frequency: see `each_radiator` for each.

        Formula: v_port = √(2)·|U_port|/(n·S)
        """
        q = self._circuit
        if not q.vented:
            return np.zeros(q.drive.shape)[()]
        if q.mixed:
            return PEAK * q.fastest
        return PEAK / q.vent_area * np.abs(self.vent_volume_velocity)

    @answer
    def vent_excursion(self):
        """Peak excursion of one radiator, or of the air in one port, m; 0 if there is none.

        Where radiators differ, the largest at each frequency: see `each_radiator` for each.
        """
        return self.vent_air_speed / self._circuit.omega

    @answer
    def vent_phase(self):
        """Phase of the vent against the cone, both outward, degrees in (−180, 180].

        NaN where there is no vent, and where the cone stands still. Of radiators that differ, of
        their flows together.
        """
        q = self._circuit
        if not q.vented:
            return np.full(q.drive.shape, np.nan)[()]
        # U_vent / U_cone = −1/den; the conjugate keeps the angle without dividing
        turn = -np.conj(q.den) * sum(q.split) if q.mixed else -np.conj(q.den)
        degrees = np.degrees(np.angle(turn))
        degrees = np.where(degrees <= -180, degrees + 360, degrees)
        return np.broadcast_to(np.where(q.den == 0, np.nan, degrees), q.drive.shape)[()]

    @answer
    def group_delay(self):
        """Group delay of the far-field pressure, chain and all, s, without the time of flight r/c.

        −dφ/dω from the derivative of the circuit's own equations, not from differences; NaN at an
        exact null.
        """
        q = self._circuit
        dnum, dden, dtotal = q.slopes()
        # one factor jω for radiation; with a box U0 carries another jω·num, in free air den
        with np.errstate(divide="ignore", invalid="ignore"):
            flow = dden / q.den if not q.boxed else q.soft / q.omega + dnum / q.num
            delay = -np.imag(flow - dtotal / q.total + q.chain_slope) * np.ones(q.drive.shape)
        return np.where(np.isfinite(delay), delay, np.nan)[()]

    @answer
    def power(self):
        """Real electrical power into the driver's terminals, W.

        Formula: P = |I|²·real(Z)
        """
        return np.abs(self.current) ** 2 * self.impedance.real

    _card = cards.response


def solve(
    driver: Driver, box: Box | None, frequency: ArrayLike, voltage: ArrayLike = 2.83,
    air: Air | None = None, distance: ArrayLike = 1.0, source_resistance: ArrayLike = 0.0,
    chain: Chain | None = None, kelvin: ArrayLike = 0.0, metal: str = "copper",
) -> Response:  # fmt: skip
    """Solve a driver in a box (or in free air on a large baffle, with `box` None).

    >>> from boxlab import SealedBox
    >>> from boxlab.gear.scenario import TEN_INCH_DRIVER
    >>> solve(TEN_INCH_DRIVER, SealedBox(0.014), [20.0, 40.0, 80.0]).spl.round(1)
    array([71.4, 81.9, 89. ])

    Parameters
    ----------
    driver : Driver
    box : SealedBox, PortedBox, RadiatorBox, MixedRadiatorBox, or None
    frequency : Hz, above zero; a number, shape (F,), or a grid for each design, frequency last
    voltage : source voltage, V rms
    air : Air; 20 °C at sea level if left out
    distance : to the listener, m, on the floor or wall (half space)
    source_resistance : of amplifier and cable together, Ω
    chain : Chain of filters before the amplifier; its response goes into the voltage at each
        frequency. None for no filter.
    kelvin, metal : how far the coil is above 20 °C, K, and what it is of: see `coil_heat.warmed`

    Returns
    -------
    Response
        Its arrays have the broadcast shape of all design values, then frequency last (no such axis
        for a single frequency); 10,000 boxes by 200 frequencies is one call.

    Raises
    ------
    ValueError
        For a frequency, voltage or distance that is not above zero, a negative source resistance,
        a coil below 20 °C, a chain that is none, or arrays that do not broadcast.
    """
    if not isinstance(driver, Driver):
        raise ValueError(f"driver must be a Driver, got {type(driver).__name__}.")
    if not (box is None or isinstance(box, Box)):
        raise ValueError(
            "box must be a SealedBox, PortedBox, RadiatorBox, MixedRadiatorBox or None, got "
            f"{type(box).__name__}."
        )
    air = _ROOM_AIR if air is None else air
    if not isinstance(air, Air):
        raise ValueError(f"air must be an Air, got {type(air).__name__}. For example: Air(25).")
    frequency = positive("frequency", frequency, "Frequency is in hertz.")
    voltage = positive("voltage", voltage, "Voltage is in volts rms.")
    suspect("voltage", voltage, 0, 1000, "Voltage is in volts rms.")
    distance = positive("distance", distance, "Distance is in metres.")
    source_resistance = not_negative("source_resistance", source_resistance, "It is in ohms.")
    if not (chain is None or isinstance(chain, Chain)):
        raise ValueError(
            f"chain must be a Chain or None, got {type(chain).__name__}. For example: "
            "Chain((HighPass(28, order=4), Peak(40, 6, q=1)))."
        )
    driver = warmed(driver, kelvin, metal)
    asked = (voltage, air, distance, source_resistance)
    try:
        circuit = Circuit.of(driver, box, 2 * np.pi * frequency, *asked, chain)
    except ValueError:
        designs = insist_on_shapes(driver, box, *asked, chain)
        raise ValueError(
            f"frequency has shape {np.shape(frequency)}, which does not go with designs of shape "
            f"{designs}. Give shape (F,), or a grid for each design with frequency last."
        ) from None
    return Response(driver, box, frequency, *asked, circuit, chain)
