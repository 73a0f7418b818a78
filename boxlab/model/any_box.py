"""What all boxes share: a checked volume, losses as Qs at the tuning, the spring of the air."""

from __future__ import annotations

import numpy as np

from boxlab.base.checks import Record, endless, positive, same_shape, suspect, whole
from boxlab.model import cards
from boxlab.model.air import Air
from boxlab.model.out_of_reach import LARGEST, Q_HINTS

VOLUME_HINT = (
    "Volume is in m³: for 14 L use boxlab.litres(14), for 0.5 ft³ use boxlab.cubic_feet(0.5)."
)


class Box(cards.Shown, Record):
    """What boxes share."""

    def _store_volume(self):
        self._store("volume", positive("volume", self.volume, VOLUME_HINT))
        suspect("volume", self.volume, 2e-4, LARGEST, VOLUME_HINT)

    def _store_vent(self, **shapes):
        self._store_volume()
        self._store("count", whole("count", self.count))
        shapes |= self._store_losses()
        same_shape(type(self).__name__, volume=self.volume, count=self.count, **shapes)

    def _store_losses(self):
        """Check and keep its Qs, and give them by name."""
        kept = {}
        for name, hint in Q_HINTS.items():
            if hasattr(self, name):
                kept[name] = positive(name, getattr(self, name), hint, infinite=True)
                self._store(name, kept[name])
        return kept

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

    def absorption(self, air=None):
        """Resistance in series with the box air, Pa·s/m³; zero for a box without this loss.

        Formula: R_AB = 1/(ωb·C_AB·QA)
        """
        air = Air() if air is None else air
        if endless(self.qa):
            return 0.0
        return 1 / (2 * np.pi * self.tuning(air) * self.compliance(air) * self.qa)

    def tuning(self, air=None):
        """Tuning fb, Hz: the mass of the vent on the springs of box air and suspension, no loss.

        Formula: fb = fp·√(1 + C_AP/C_AB)

        For a port the suspension's share is nothing.
        """
        air = Air() if air is None else air
        vent = self.vent(air)
        stiffness = 1 / self.compliance(air) + 1 / vent.compliance
        return np.sqrt(stiffness / vent.mass) / (2 * np.pi)

    _card = cards.box
