"""Losses of a box as Qs at its tuning, and what each is made of: leak, absorption, friction.

The three add up as 1/QB = 1/QL + 1/QA + 1/QP (Small, J. Audio Eng. Soc. 21 (1973) 363; from
memory). At the tuning, the flow of the vent is QB times that of the cone.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import ArrayLike

from boxlab.base.array_types import Values
from boxlab.base.checks import positive
from boxlab.model.air import Air
from boxlab.model.any_box import Box
from boxlab.model.enclosure import PortedBox, RadiatorBox

_HINT = "It has no unit; inf for no friction."


def vent_q(box: Box, air: Air | None = None) -> Values:
    """Q of the friction in a box's vents at its tuning, no unit; inf where there is none.

    Formula: QR = 1/(ωb·C_AB·R_P)

    Of a port it is Small's QP. Of radiators, R_P is n·Rmp/(n·Sp)²: their suspensions' friction.

    Parameters
    ----------
    box : PortedBox or RadiatorBox
    air : Air; 20 °C at sea level if left out

    Raises
    ------
    ValueError
        For another box: it has no one vent.

    >>> from boxlab import PortedBox, cm2, litres
    >>> round(float(vent_q(PortedBox.tuned(litres(40), 36, cm2(90), qp=60))), 6)
    60.0
    """
    _insist(box)
    air = Air() if air is None else air
    with np.errstate(divide="ignore"):
        return np.divide(1.0, _turn(box, air) * box.vent(air).resistance)[()]


def with_vent_q(box: Box, q: ArrayLike, air: Air | None = None) -> Box:
    """The box with so much friction in its vents that their Q at the tuning is `q`.

    Formula: Rmp = n·Sp²/(ωb·C_AB·QR)

    That friction goes into each radiator's `rms`, N·s/m, in place of what it has; a PortedBox has
    it as `qp`.

    Parameters
    ----------
    box : PortedBox or RadiatorBox
    q : no unit
    air : Air; 20 °C at sea level if left out

    Raises
    ------
    ValueError
        For a Q that is not above zero, or a box without one kind of vent.

    >>> from boxlab import RadiatorBox, litres
    >>> from boxlab.gear.scenario import TEN_INCH_RADIATOR
    >>> box = with_vent_q(RadiatorBox(litres(20), TEN_INCH_RADIATOR), 25)
    >>> round(float(vent_q(box)), 6)
    25.0
    """
    _insist(box)
    air = Air() if air is None else air
    q = positive("q", q, _HINT, infinite=True)
    if isinstance(box, PortedBox):
        return replace(box, qp=q)
    friction = box.count * np.square(box.radiator.sd) / (_turn(box, air) * q)
    return replace(box, radiator=replace(box.radiator, rms=friction))


def total_q(box: Box, air: Air | None = None) -> Values:
    """Q of all losses of a box together at its tuning, no unit; inf where it has none.

    Formula: QB = 1/(1/QL + 1/QA + 1/QR)

    >>> from boxlab import PortedBox, cm2, litres
    >>> box = PortedBox.tuned(litres(40), 36, cm2(90), ql=10, qa=60, qp=30)
    >>> round(float(total_q(box)), 6)
    6.666667

    Parameters
    ----------
    box : any box
    air : Air; 20 °C at sea level if left out
    """
    _insist(box)
    with np.errstate(divide="ignore"):
        return np.divide(1.0, 1 / box.ql + 1 / box.qa + 1 / vent_q(box, air))[()]


def _turn(box, air):
    """ωb·C_AB, m³/(Pa·s)."""
    return 2 * np.pi * box.tuning(air) * box.compliance(air)


def _insist(box):
    if not isinstance(box, PortedBox | RadiatorBox):
        raise ValueError(
            f"box must be a PortedBox or RadiatorBox, got {type(box).__name__}: a Q at the tuning "
            "needs one tuning, and vents that are alike."
        )
