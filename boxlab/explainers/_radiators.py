"""Boxes with radiators as the panels set them."""

from __future__ import annotations

from dataclasses import replace

from boxlab.base.units import litres, mm, to_cubic_inches
from boxlab.draw.scene import Number
from boxlab.gear.shelf import COUNTS, RADIATORS, remembered
from boxlab.model.enclosure import RadiatorBox

ROUNDED = 5e-4  # of a tuning, to which a setting was rounded


@remembered(64)
def built(size, volume, fb, travel, count, ql):
    """The box for settings as a panel gives them (litres, Hz, mm, QL), and a word of warning.

    Where even the bare radiator is too heavy for the tuning it is taken bare, and the word says so.
    """
    net, n = litres(volume), COUNTS[count]
    radiator = replace(RADIATORS[size], xmax=mm(travel))
    bare = RadiatorBox(net, radiator, n, ql)
    reached = float(bare.tuning())
    if reached >= fb:
        return RadiatorBox.tuned(net, fb, radiator, count=n, ql=ql), ""
    if reached >= fb * (1 - ROUNDED):
        return bare, ""
    more = "two" if n == 1 else "more"
    return bare, (
        f"With no weights at all, {count} {size} radiator{'s' * (n > 1)} would tune {volume:g} L "
        f"to {reached:.1f} Hz, which is what is drawn. {fb:g} Hz needs {more} radiators, a lighter "
        "one, or a smaller box."
    )


def swept_number(name, volume):
    """A row for a swept volume, m³."""
    return Number(name, f"{1e6 * volume:.0f} cm³", f"{to_cubic_inches(volume):.1f} in³")
