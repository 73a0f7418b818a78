"""Cone and vent in time: steady motion, phase against each reference, a tone burst.

A steady sine comes from the solved phasors: x(t) = √2·Re(X·exp(jωt)). A burst is the same solved
response used as a filter: the drive's spectrum times the response, and back again by the fast
Fourier transform. Everything is outward positive: a cone and a vent in step both come out at once.
"""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import ArrayLike

from boxlab.base.array_types import Values
from boxlab.base.checks import number, positive, whole
from boxlab.model.air import Air
from boxlab.model.any_box import Box
from boxlab.model.camera import wrap
from boxlab.model.driver import Driver
from boxlab.model.enclosure import SealedBox
from boxlab.model.response import Response, solve


@dataclass(frozen=True, eq=False)
class Phasors:
    """Peak phasors of one design at one frequency; complex, outward positive.

    Displacements in m, flows in m³/s, pressure in Pa. `sound` is the far-field pressure with the
    time of flight taken out.
    """

    frequency: float
    cone: complex
    vent: complex
    cone_flow: complex
    vent_flow: complex
    leak_flow: complex
    sound: complex

    def turned_to(self, reference="cone"):
        """The same phasors turned so that `reference` lies at zero degrees."""
        turn = np.exp(-1j * np.angle(getattr(self, reference)))
        values = {f.name: getattr(self, f.name) * turn for f in fields(self)}
        return Phasors(**(values | {"frequency": self.frequency}))


def phasors(
    driver: Driver, box: Box, frequency: float, voltage: float = 2.83, air: Air | None = None
) -> Phasors:
    """Peak phasors of one design at one frequency, ready to animate or to draw as arrows.

    >>> from boxlab.gear.scenario import TEN_INCH_DRIVER, TEN_INCH_RADIATOR
    >>> from boxlab.model.enclosure import RadiatorBox
    >>> box = RadiatorBox.tuned(0.014, 36, TEN_INCH_RADIATOR, ql=7)
    >>> at = phasors(TEN_INCH_DRIVER, box, 36.0)
    >>> bool(abs(at.vent) > abs(at.cone))
    True

    Parameters
    ----------
    driver, box, air : as for `boxlab.model.response.solve`
    frequency : Hz, one
    voltage : V rms
    """
    frequency = positive("frequency", frequency, "Give one frequency in hertz.")
    if np.ndim(frequency):
        raise ValueError("phasors takes one frequency; call it once for each.")
    r = solve(driver, box, frequency, voltage, air)
    if np.ndim(r.pressure):
        raise ValueError(f"phasors takes one design, got designs of shape {r.pressure.shape}.")
    cone, vent, sound = _displacements(r)
    values = cone, vent, r.cone_volume_velocity, r.vent_volume_velocity, r.leak_volume_velocity
    return Phasors(frequency, *(np.sqrt(2) * complex(v) for v in (*values, sound)))


@dataclass(frozen=True, eq=False)
class Motion:
    """Steady motion in time, arrays of shape (n,): s, m, m, and Pa at the listener."""

    time: np.ndarray
    cone: np.ndarray
    vent: np.ndarray
    sound: np.ndarray


def steady(at: Phasors, cycles: float = 2.0, samples: int = 200) -> Motion:
    """Motion over `cycles` cycles from `Phasors`, `samples` points a cycle, the first at t = 0.

    >>> from boxlab.gear.scenario import TEN_INCH_DRIVER, TEN_INCH_RADIATOR
    >>> from boxlab.model.enclosure import RadiatorBox
    >>> box = RadiatorBox.tuned(0.014, 36, TEN_INCH_RADIATOR, ql=7)
    >>> at = phasors(TEN_INCH_DRIVER, box, 36.0)
    >>> bool(abs(steady(at).cone[0] - at.cone.real) < 1e-12)
    True
    """
    cycles = positive("cycles", cycles, "Count cycles of the tone.")
    time = np.arange(round(cycles * samples) + 1) / (samples * at.frequency)
    spin = np.exp(2j * np.pi * at.frequency * time)
    return Motion(time, *(np.real(z * spin) for z in (at.cone, at.vent, at.sound)))


@dataclass(frozen=True, eq=False)
class PhaseViews:
    """Phase of the vent against each reference, degrees in (−180, 180]; designs' shape + (F,).

    front : against the cone's front, both outward
    rear : against the air the cone's rear pushes into the box (the cone inward)
    total : against the net flow that makes the far field
    cone_total : the cone's front against that net flow
    """

    front: np.ndarray
    rear: np.ndarray
    total: np.ndarray
    cone_total: np.ndarray


def phase_views(response: Response) -> PhaseViews:
    """Phase of the vent as seen from the cone's front, its rear, and the far field.

    >>> from boxlab.gear.scenario import TEN_INCH_DRIVER, TEN_INCH_RADIATOR
    >>> from boxlab.model.enclosure import RadiatorBox
    >>> box = RadiatorBox.tuned(0.014, 36, TEN_INCH_RADIATOR, ql=7)
    >>> from boxlab.model.response import solve
    >>> phase_views(solve(TEN_INCH_DRIVER, box, [36.0])).front.round()
    array([91.])

    Parameters
    ----------
    response : Response of a box with a vent
    """
    net = np.angle(response.volume_velocity, deg=True)
    cone = np.angle(response.cone_volume_velocity, deg=True)
    front = response.vent_phase
    return PhaseViews(front, wrap(front - 180), wrap(front + cone - net), wrap(cone - net))


def phase_at_tuning(driver: Driver, box: Box, air: Air | None = None) -> Values:
    """Phase of the vent against the cone at the box's tuning, degrees; the designs' shape.

    Formula: φ = 90 + atan(1/(QL + QR))·180/π

    QL is that of the leak, and QR = 1/(ωb·C_AB·R_P) that of the friction R_P of the vent
    (derived: the vent's equation of motion at fb). With one loss alone
    the other Q is infinite and the phase is 90 exactly, however large the loss; the driver has no
    part in it. NaN for a sealed box, and where there is no loss at all and the cone stands still.

    >>> from boxlab.gear.scenario import TEN_INCH_DRIVER as driver
    >>> from boxlab.model.enclosure import SealedBox
    >>> from boxlab.model.enclosure import PortedBox
    >>> from boxlab.model.vents import Port
    >>> round(float(phase_at_tuning(driver, PortedBox(0.014, Port(0.005, 0.3), ql=7))), 6)
    90.0
    """
    if isinstance(box, SealedBox):
        return np.full(np.shape(box.volume), np.nan)[()]
    at = np.asarray(box.tuning(air))[..., None]  # each design at a frequency of its own
    return solve(driver, box, at, 1.0, air).vent_phase[..., 0][()]


def delays(phase: ArrayLike, frequency: ArrayLike, cycles: int = 3) -> np.ndarray:
    """Delays, s, shape (cycles,), that a steady sine cannot tell apart: φ behind, and whole cycles.

    `phase` is a lead in degrees; a lead of 90 degrees is also a lag of 3/4 cycle, 1 3/4 ...

    >>> (1e3 * delays(90.0, 36.0, 2)).round(2)  # ms
    array([20.83, 48.61])

    Parameters
    ----------
    phase : degrees
    frequency : Hz
    cycles : how many to count
    """
    frequency = positive("frequency", frequency, "Frequency is in hertz.")
    behind = np.remainder(-number("phase", phase, hint="It is in degrees."), 360.0)
    return (behind / 360.0 + np.arange(whole("cycles", cycles))) / frequency


@dataclass(frozen=True, eq=False)
class Burst:
    """A tone burst through one box: s, V, m, m, Pa without time of flight; each of shape (n,)."""

    time: np.ndarray
    drive: np.ndarray
    cone: np.ndarray
    vent: np.ndarray
    sound: np.ndarray


def burst(
    driver: Driver, box: Box, frequency: float, cycles: float = 8, *, voltage: float = 2.83,
    window: str = "hard", lead: int = 2, tail: int = 12, rate: int = 64, air: Air | None = None,
) -> Burst:  # fmt: skip
    """Play `cycles` cycles of a sine and watch cone, vent and sound start and stop.

    >>> from boxlab.gear.scenario import TEN_INCH_DRIVER
    >>> played = burst(TEN_INCH_DRIVER, SealedBox(0.014), 40.0, cycles=6, lead=1, tail=2)
    >>> played.time.shape, round(1e3 * float(np.max(played.cone)), 2)  # samples, mm
    ((576,), 0.89)

    Parameters
    ----------
    driver, box, air : as for `solve`; one design
    frequency : tone, Hz
    cycles : length of the burst
    voltage : V rms of the tone
    window : "hard" switches on and off at a zero crossing; "soft" fades with a raised cosine over
        the whole burst, which keeps its spectrum narrow
    lead, tail : cycles of silence shown before and after
    rate : samples a cycle

    Returns
    -------
    Burst

    Raises
    ------
    ValueError
        For an unknown window, or a length that is not above zero.
    """
    frequency = positive("frequency", frequency, "Give one frequency in hertz.")
    cycles = positive("cycles", cycles, "Count cycles of the tone.")
    if window not in ("hard", "soft"):
        raise ValueError(f"window = {window!r}: choose hard or soft.")
    step = 1 / (frequency * rate)
    shown = round((lead + cycles + tail) * rate)
    # room for the ringing to die away before the transform wraps it round to the start
    size = 1 << int(np.ceil(np.log2(shown + 4.0 / step)))
    time = np.arange(size) * step
    since = time - lead / frequency
    on = (since >= 0) & (since < cycles / frequency)
    fade = 1.0 if window == "hard" else np.sin(np.pi * since * frequency / cycles) ** 2
    drive = np.where(on, np.sqrt(2) * voltage * np.sin(2 * np.pi * frequency * since) * fade, 0.0)

    bins = np.fft.rfftfreq(size, step)
    bins[0] = bins[1] * 1e-3  # the circuit is solved above 0 Hz; this stands for a steady voltage
    r = solve(driver, box, bins, 1.0, air)
    spectrum = np.fft.rfft(drive)
    cone, vent, sound = (np.fft.irfft(spectrum * h, size)[:shown] for h in _displacements(r))
    return Burst(time[:shown] - lead / frequency, drive[:shown], cone, vent, sound)


def envelope(signal: np.ndarray) -> np.ndarray:
    """Envelope of a narrow-band signal, shape (n,): the size of its analytic signal.

    >>> t = np.arange(400) / 400
    >>> float(envelope(np.sin(2 * np.pi * 20 * t)).round(3)[200])
    1.0
    """
    size = signal.size
    spectrum = np.fft.fft(signal)
    spectrum[1 : (size + 1) // 2] *= 2
    spectrum[size // 2 + 1 :] = 0
    return np.abs(np.fft.ifft(spectrum))


def lateness(time: np.ndarray, signal: np.ndarray, reference: np.ndarray) -> float:
    """How much later `signal` comes than `reference`, s: between the middles of their energy.

    Against a drive that is symmetric about its middle, as both windows are for whole cycles, this
    is the group delay averaged over the energy that comes through (Parseval's theorem, for t·x).

    >>> t = np.arange(5.0)
    >>> lateness(t, np.eye(5)[3], np.eye(5)[1])
    2.0

    Parameters
    ----------
    time : s
    signal, reference : alike in shape (n,)
    """

    def middle(x):
        return np.sum(time * x**2) / np.sum(x**2)

    return float(middle(signal) - middle(reference))


def _displacements(r):
    """Displacement of cone and of one vent, m, and sound with no time of flight, Pa; rms."""
    spin = 2j * np.pi * r.frequency
    cone = r.cone_velocity / spin
    vent = np.zeros_like(cone)
    parts = r.box.vent(r.air) if r.box is not None else None
    if parts is not None:
        vent = r.vent_volume_velocity / (spin * parts.area * parts.count)
    sound = r.pressure * np.exp(spin * r.distance / r.air.speed_of_sound)
    return cone, vent, sound
