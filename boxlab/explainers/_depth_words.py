"""How deep a driver may be, for a job that does not say how deep it is."""

from __future__ import annotations

import math

from boxlab.base.units import to_mm

DEEP = ("depth", "magnet to the wall behind", "basket behind the hole")


def by_depth(clearance, whose="driver"):
    """Whether it hangs on how deep the driver is, or the radiator if that is `whose` it is."""
    part, _, what = clearance.what.partition(": ")
    return part.endswith(whose) and what.startswith(DEEP)


def greatest(part, found):
    """The greatest mounting depth, m, at which a `part` with these clearances still goes in."""
    return part.depth + min(c.spare for c in found if by_depth(c))


def condition(part, most):
    """How deep it may be, as a clause that ends a sentence on a driver of unknown depth.

    The millimetre is rounded down: what is told as going in must go in.
    """
    return (
        f"at most {math.floor(to_mm(most)):d} mm deep. The job does not say: measure it; a usual "
        f"one of its size is {to_mm(part.depth):.0f} mm."
    )
