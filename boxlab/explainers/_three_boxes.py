"""One net volume as three boxes, with a radiator, with a port and sealed, and facts about them."""

from __future__ import annotations

from dataclasses import dataclass, replace

from boxlab.base.units import disc_area, litres, mm, mm_per_newton
from boxlab.explainers._music import rated
from boxlab.explainers._radiators import ROUNDED
from boxlab.gear.shelf import COUNTS, RADIATORS, current, remembered
from boxlab.model.enclosure import PortedBox, RadiatorBox, SealedBox

VIEWS = ("what moves", "impedance and delay")
AMPLIFIER = 300.0  # W into the coil's resistance, for the loudness limit in the readout


def amplifier() -> float:
    """Watts that the readout asks about: those of the open job's amplifier, else the class's."""
    job = current()
    if job is None or job.amplifier is None:
        return AMPLIFIER
    return rated(job, job.load)


@dataclass(frozen=True, eq=False)
class Trio:
    """The three boxes of one net volume, and a word where the tuning is out of reach."""

    radiator: RadiatorBox
    ported: PortedBox
    sealed: SealedBox
    warning: str = ""


@remembered(64)
def trio(size, volume, fb, port, softness, count, ql):
    """Radiator, ported and sealed box for settings as the panel gives them.

    Where even the bare radiator is too heavy for the tuning, it is taken bare.
    """
    net, n = litres(volume), COUNTS[count]
    radiator = replace(RADIATORS[size], cms=mm_per_newton(softness))
    ported = PortedBox.tuned(net, fb, disc_area(mm(port)), ql=ql, max_length=3)
    bare = RadiatorBox(net, radiator, n, ql)
    reached = float(bare.tuning())
    if reached >= fb:
        return Trio(RadiatorBox.tuned(net, fb, radiator, count=n, ql=ql), ported, SealedBox(net))
    if reached >= fb * (1 - ROUNDED):
        return Trio(bare, ported, SealedBox(net))
    warning = (
        f"With no weights at all, {count} {size} radiator{'s' * (n > 1)} would tune {volume:g} L "
        f"to {reached:.1f} Hz, which is what is drawn. {fb:g} Hz needs another radiator, a "
        "lighter one, or a smaller box."
    )
    return Trio(bare, ported, SealedBox(net), warning)
