"""Three boxes, one model: sealed, ported, and with passive radiators.

A ported box is a radiator box whose radiator has no suspension; a sealed box has neither. Losses
are Small's leakage loss QL at the box tuning (Vented-box loudspeaker systems, J. Audio Eng. Soc.
21 (1973) 363): leakage resistance R_AL = QL / (ωb·C_AB).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from boxlab.base.checks import Record, doubt, not_negative, positive, same_shape, suspect, whole
from boxlab.base.units import inside_edges
from boxlab.model import cards
from boxlab.model.air import Air
from boxlab.model.radiator import Radiator
from boxlab.model.vents import Port, end_correction_of

_VOLUME_HINT = (
    "Volume is in m³: for 14 L use boxlab.litres(14), for 0.5 ft³ use boxlab.cubic_feet(0.5)."
)
_LARGEST = 0.35  # m³, 12 ft³; nothing that goes into a car is larger


class Box(Record):
    """What boxes share."""

    def _store_volume(self):
        self._store("volume", positive("volume", self.volume, _VOLUME_HINT))
        suspect("volume", self.volume, 2e-4, _LARGEST, _VOLUME_HINT)

    def _store_vent(self, **shapes):
        self._store_volume()
        self._store("count", whole("count", self.count))
        hint = "QL is the leakage loss: 7 is usual, inf for none."
        self._store("ql", positive("ql", self.ql, hint, infinite=True))
        same_shape(type(self).__name__, volume=self.volume, count=self.count, ql=self.ql, **shapes)

    def vents(self, air=None):
        """Its acoustic branches to the outside: none, or the one of all its vents together."""
        vent = self.vent(air)
        return () if vent is None else (vent,)

    def compliance(self, air=None):
        """Acoustic compliance of the box air, m³/Pa: C_AB = V/(ρc²)."""
        air = Air() if air is None else air
        return self.volume / air.bulk_modulus

    def leak_conductance(self, air=None):
        """Flow through the leak for each pascal in the box, m³/(Pa·s); zero for a box without loss.

        Formula: G_AL = ωb·C_AB/QL
        """
        air = Air() if air is None else air
        return 2 * np.pi * self.tuning(air) * self.compliance(air) / self.ql

    def tuning(self, air=None):
        """Tuning fb, Hz: the mass of the vent on the springs of box air and suspension, no loss.

        Formula: fb = fp·√(1 + C_AP/C_AB)

        For a port the suspension's share is nothing.
        """
        air = Air() if air is None else air
        vent = self.vent(air)
        stiffness = 1 / self.compliance(air) + 1 / vent.compliance
        return np.sqrt(stiffness / vent.mass) / (2 * np.pi)

    def _repr_html_(self):
        return cards.box(self)


@dataclass(frozen=True, eq=False)
class SealedBox(Box):
    """A closed box of net volume m³ (driver, braces and all else already taken off).

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


@dataclass(frozen=True, eq=False)
class PortedBox(Box):
    """A box of net volume m³ with `count` equal ports, and leakage loss `ql`.

    The net volume leaves out the space the ports take.
    """

    volume: float | np.ndarray
    port: Port
    count: int | np.ndarray = 1
    ql: float | np.ndarray = math.inf

    def __post_init__(self):
        _insist("port", self.port, Port, "PortedBox(volume, Port(area, length))")
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
        volume = positive("volume", volume, _VOLUME_HINT)
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
            _refuse_short_port(volume, fb, area, count, ends, length, air)
        if np.any(length > limit):
            _refuse_long_port(volume, fb, area, count, ends, length, limit, air)
        edge = inside_edges(volume)[0]
        if not asked and np.any(length > edge):
            long, most, net = _first(np.asarray(length > edge), length, edge, volume)
            doubt(
                f"A port of {long:.2g} m is longer than the longest inside edge, {most:.2g} m, of "
                f"a usual box of {net * 1e3:.3g} L: it has to be folded. Use less port area, a "
                "larger box or a radiator, check the units, or give max_length to say so."
            )
        return cls(volume, Port(area, length, ends), count, ql)

    def vent(self, air=None):
        """The acoustic branch of all its ports together."""
        return self.port.vent(self.count, Air() if air is None else air)


@dataclass(frozen=True, eq=False)
class RadiatorBox(Box):
    """A box of net volume m³ with `count` equal passive radiators, and leakage loss `ql`."""

    volume: float | np.ndarray
    radiator: Radiator
    count: int | np.ndarray = 1
    ql: float | np.ndarray = math.inf

    def __post_init__(self):
        _insist("radiator", self.radiator, Radiator, "RadiatorBox(volume, Radiator(...))")
        self._store_vent(radiator=self.radiator.sd * self.radiator.moving_mass)

    @classmethod
    def tuned(cls, volume, fb, radiator, *, count=1, ql=math.inf, air=None):
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
        _insist("radiator", radiator, Radiator, "RadiatorBox.tuned(volume, fb, radiator)")
        volume = positive("volume", volume, _VOLUME_HINT)
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
            _refuse_heavy_radiator(volume, fb, radiator, needed, count, air)
        bare = radiator.with_mass(0.0)
        low = np.broadcast_to(np.asarray(fb) <= bare.fp, np.shape(added))
        if low.any():
            f, own = _first(low, fb, bare.fp)
            doubt(
                f"fb = {f:g} Hz lies at or below the bare radiator's own resonance, {own:.1f} Hz: "
                "its suspension rather than the box air would set the tuning, and the null comes "
                "close. Expected fb well above it; use a softer radiator, or check fb and cms."
            )
        return cls(volume, radiator.with_mass(added), count, ql)

    def vent(self, air=None):
        """The acoustic branch of all its radiators together."""
        return self.radiator.vent(self.count)


def _insist(name, value, kind, example):
    if not isinstance(value, kind):
        raise ValueError(
            f"{name} must be a {kind.__name__}, got {type(value).__name__}. For example: {example}."
        )


def _first(condition, *values):
    """The values at the first design where `condition` holds, as floats."""
    place = tuple(np.argwhere(condition)[0])
    return [float(np.broadcast_to(v, np.shape(condition))[place]) for v in values]


def _refuse_short_port(volume, fb, area, count, ends, length, air):
    v, f, s, n, e = _first(np.asarray(length) < 0, volume, fb, area, count, ends)
    highest = air.speed_of_sound / (2 * np.pi) * math.sqrt(n * s / (v * e))
    wanted = s * (f / highest) ** 4  # ends grow as the root of the area
    raise ValueError(
        f"fb = {f:g} Hz is out of reach: with {n:g} port(s) of {s * 1e4:.3g} cm² and no length at "
        f"all, {v * 1e3:.3g} L tunes to {highest:.1f} Hz. A port area above {wanted * 1e4:.3g} cm² "
        "each, a smaller box, or a lower tuning reaches it. If the area was meant in cm², use "
        f"boxlab.cm2(); volume is in m³.{_slip(v)}"
    )


def _refuse_long_port(volume, fb, area, count, ends, length, longest, air):
    v, f, s, n, e, needed = _first(
        np.asarray(length) > longest, volume, fb, area, count, ends, length
    )
    reached = air.speed_of_sound / (2 * np.pi) * math.sqrt(n * s / (v * (longest + e)))
    raise ValueError(
        f"A port of {s * 1e4:.3g} cm² that tunes {v * 1e3:.3g} L to {f:g} Hz would be "
        f"{needed:.3g} m long, over the limit of {longest:g} m; that length reaches "
        f"{reached:.1f} Hz. Use less port area, a larger box, or a radiator, or raise max_length. "
        f"Check units too: volume and area are in m³ and m².{_slip(v)}"
    )


def _refuse_heavy_radiator(volume, fb, radiator, needed, count, air):
    wrong = np.asarray(needed - radiator.mms) < 0
    wrong = wrong & (np.abs(needed - radiator.mms) >= 1e-12 * np.asarray(radiator.mms))
    v, f, m, need, n, sd, cms = _first(
        wrong, volume, fb, radiator.mms, needed, count, radiator.sd, radiator.cms
    )
    modulus = float(np.max(air.bulk_modulus))
    highest = math.sqrt((1 / cms + n * sd**2 * modulus / v) / m) / (2 * math.pi)
    air_needed = m * (2 * math.pi * f) ** 2 - 1 / cms
    smaller = n * sd**2 * modulus / air_needed
    raise ValueError(
        f"fb = {f:g} Hz is out of reach: with no weights added this radiator ({m * 1e3:.4g} g) "
        f"tunes {v * 1e3:.3g} L to {highest:.1f} Hz, and mass only lowers that. To reach {f:g} Hz: "
        f"a net volume of {smaller * 1e3:.3g} L or less, a radiator of {need * 1e3:.3g} g or less, "
        f"or more or larger radiators.{_slip(v)}"
    )


def _slip(volume):
    """What to say of a volume, m³, that looks like litres or cubic feet."""
    return f" {volume:g} m³ is very large. {_VOLUME_HINT}" if volume > _LARGEST else ""
