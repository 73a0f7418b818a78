"""Three boxes, one model: sealed, ported, and with passive radiators.

A ported box is a radiator box whose radiator has no suspension; a sealed box has neither. Losses
are those of Small (Vented-box loudspeaker systems, J. Audio Eng. Soc. 21 (1973) 363), each as a Q
at the box tuning, and each a resistance of its own place in the circuit:

    QL   the leak, beside the air: R_AL = QL/(ωb·C_AB)
    QA   absorption in the box, by walls and filling, in series with its air: R_AB = 1/(ωb·C_AB·QA)
    QP   friction in the vent, in series with its mass: R_AP = 1/(ωb·C_AB·QP)

so that 1/QB = 1/QL + 1/QA + 1/QP at the tuning. A sealed box has no tuning to state them at, and
none here: what filling does to it (a softer spring besides) is out of scope.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from boxlab.base.checks import doubt, endless, not_negative, positive, same_shape, whole
from boxlab.base.units import inside_edges
from boxlab.model.air import Air
from boxlab.model.any_box import VOLUME_HINT, Box
from boxlab.model.out_of_reach import (
    first,
    insist,
    refuse_heavy_radiator,
    refuse_long_port,
    refuse_short_port,
)
from boxlab.model.radiator import Radiator
from boxlab.model.vents import Port, end_correction_of


@dataclass(frozen=True, eq=False)
class SealedBox(Box):
    """A closed box of net volume m³ (driver, braces and all else already taken off).

    >>> SealedBox(0.014).volume
    0.014

    Parameters
    ----------
    volume : m³, net

    Raises
    ------
    ValueError
        For a volume that is not above zero.

    Warns
    -----
    UnitWarning
        For a volume above 0.35 m³ or below 0.2 L: most often litres or cubic feet given as m³.
    """

    volume: float | np.ndarray

    def __post_init__(self):
        self._store_volume()

    def vent(self, air=None):
        """None: a sealed box has no vent."""
        return None

    def tuning(self, air=None):
        """NaN, in the shape of the volume: a sealed box has no tuning."""
        return np.full(np.shape(self.volume), np.nan)[()]

    def leak_conductance(self, air=None):
        """Zero: this model's sealed box does not leak."""
        return 0.0

    def absorption(self, air=None):
        """Zero: this model's sealed box absorbs nothing."""
        return 0.0


@dataclass(frozen=True, eq=False)
class PortedBox(Box):
    """A box of net volume m³ with `count` equal ports; losses `ql`, `qa`, `qp` at the tuning.

    The net volume leaves out the space the ports take. Each Q is inf for no such loss.

    >>> round(float(PortedBox(0.04, Port.round(0.1, 0.2)).tuning()), 1)  # Hz
    46.3

    Parameters
    ----------
    volume : m³, net of the ports, too
    port : Port
    count : int
    ql, qa, qp : losses of leak, absorption and ports; inf for none
    """

    volume: float | np.ndarray
    port: Port
    count: int | np.ndarray = 1
    ql: float | np.ndarray = math.inf
    qa: float | np.ndarray = math.inf
    qp: float | np.ndarray = math.inf

    def __post_init__(self):
        insist("port", self.port, Port, "PortedBox(volume, Port(area, length))")
        self._store_vent(area=self.port.area, length=self.port.effective_length)

    @classmethod
    def tuned(
        cls,
        volume,
        fb,
        area,
        *,
        count=1,
        ql=math.inf,
        qa=math.inf,
        qp=math.inf,
        end_correction=None,
        max_length=None,
        air=None,
    ):
        """The ported box tuned to `fb` Hz with ports of `area` m² each: solves the port's length.

        Formula: L = n·S·c²/(V·ωb²) − ends

        That is Helmholtz's; ends as in `Port`, unless `end_correction`, m, total for one port, is
        given. A length of up to `max_length`, m, is passed without a word; left out, one that is
        longer than the box warns, and over 3 m is refused.

        Raises
        ------
        ValueError
            If even a port of no length tunes lower than `fb` (says which area would do), or if
            the length exceeds `max_length` m (says which tuning that length gives).
        """
        air = Air() if air is None else air
        volume = positive("volume", volume, VOLUME_HINT)
        fb = positive("fb", fb, "Tuning is in hertz.")
        area = positive("port area", area, "Area is in m²: use boxlab.cm2(50) for 50 cm².")
        count = whole("count", count)
        asked = max_length is not None
        limit = positive("max_length", max_length if asked else 3.0, "It is a length in metres.")
        same_shape("PortedBox.tuned", volume=volume, fb=fb, area=area, count=count)
        ends = end_correction_of(area)
        if end_correction is not None:
            ends = not_negative("end_correction", end_correction, "It is a length in metres.")
        reach = count * area * air.speed_of_sound**2 / (volume * (2 * np.pi * fb) ** 2)
        length = reach - ends
        if np.any(length < 0):
            refuse_short_port(volume, fb, area, count, ends, length, air)
        if np.any(length > limit):
            refuse_long_port(volume, fb, area, count, ends, length, limit, air)
        edge = inside_edges(volume)[0]
        if not asked and np.any(length > edge):
            long, most, net = first(np.asarray(length > edge), length, edge, volume)
            doubt(
                f"A port of {long:.2g} m is longer than the longest inside edge, {most:.2g} m, of "
                f"a usual box of {net * 1e3:.3g} L: it has to be folded. Use less port area, a "
                "larger box or a radiator, check the units, or give max_length to say so."
            )
        return cls(volume, Port(area, length, ends), count, ql, qa, qp)

    def vent(self, air=None):
        """The acoustic branch of all its ports together."""
        air = Air() if air is None else air
        vent = self.port.vent(self.count, air)
        if endless(self.qp):
            return vent
        return replace(vent, resistance=np.sqrt(vent.mass / self.compliance(air)) / self.qp)


@dataclass(frozen=True, eq=False)
class RadiatorBox(Box):
    """A box of net volume m³ with `count` equal passive radiators; losses `ql`, `qa` at the tuning.

    The friction of the radiators is their own `rms`; `losses.vent_q` gives it as a Q.

    >>> round(float(RadiatorBox(0.02, Radiator(0.035, 0.2, 3e-4, 3.0)).tuning()), 1)  # Hz
    39.0

    Parameters
    ----------
    volume : m³, net
    radiator : Radiator
    count : int
    ql, qa : losses of leak and absorption; inf for none
    """

    volume: float | np.ndarray
    radiator: Radiator
    count: int | np.ndarray = 1
    ql: float | np.ndarray = math.inf
    qa: float | np.ndarray = math.inf

    def __post_init__(self):
        insist("radiator", self.radiator, Radiator, "RadiatorBox(volume, Radiator(...))")
        self._store_vent(radiator=self.radiator.sd * self.radiator.moving_mass)

    @classmethod
    def tuned(cls, volume, fb, radiator, *, count=1, ql=math.inf, qa=math.inf, air=None):
        """The radiator box tuned to `fb` Hz: solves the mass to add to each radiator.

        Formula: Mmp = (1/Cmp + n·Sp²·ρ·c²/V)/ωb²

        Each radiator rests on its suspension and on its share of the box air. The weights it
        already has are replaced.

        Raises
        ------
        ValueError
            If the bare radiator already tunes the box lower than `fb`: the message says what is
            reached with no weights, and which volume or mass would reach `fb`.
        """
        air = Air() if air is None else air
        insist("radiator", radiator, Radiator, "RadiatorBox.tuned(volume, fb, radiator)")
        volume = positive("volume", volume, VOLUME_HINT)
        fb = positive("fb", fb, "Tuning is in hertz.")
        count = whole("count", count)
        same_shape("RadiatorBox.tuned", volume=volume, fb=fb, count=count, sd=radiator.sd)
        wb = 2 * np.pi * fb
        air_stiffness = count * np.square(radiator.sd) * air.bulk_modulus / volume
        needed = (1 / radiator.cms + air_stiffness) / wb**2
        added = needed - radiator.mms
        # a request for exactly the bare tuning may come out a rounding error below zero
        added = np.where(np.abs(added) < 1e-12 * radiator.mms, 0.0, added)[()]
        if np.any(added < 0):
            refuse_heavy_radiator(volume, fb, radiator, needed, count, air)
        bare = radiator.with_mass(0.0)
        low = np.broadcast_to(np.asarray(fb) <= bare.fp, np.shape(added))
        if low.any():
            f, own = first(low, fb, bare.fp)
            doubt(
                f"fb = {f:g} Hz lies at or below the bare radiator's own resonance, {own:.1f} Hz: "
                "its suspension rather than the box air would set the tuning, and the null comes "
                "close. Expected fb well above it; use a softer radiator, or check fb and cms."
            )
        return cls(volume, radiator.with_mass(added), count, ql, qa)

    def vent(self, air=None):
        """The acoustic branch of all its radiators together."""
        return self.radiator.vent(self.count)
