"""What shakes the box: the recoil of its moving masses."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from boxlab.base.array_types import Values
from boxlab.base.checks import number, positive
from boxlab.model.driver import beside
from boxlab.model.enclosure import RadiatorBox
from boxlab.model.mixed_radiators import MixedRadiatorBox, each_radiator
from boxlab.model.response import Response


def recoil(response: Response, cone: ArrayLike = 1.0, radiators: ArrayLike = 1.0) -> np.ndarray:
    """Peak force that the moving masses put on the box, N; designs' shape + (F,).

    >>> from boxlab.gear.scenario import TEN_INCH_DRIVER, TEN_INCH_RADIATOR
    >>> from boxlab.model.enclosure import RadiatorBox
    >>> box = RadiatorBox.tuned(0.014, 36, TEN_INCH_RADIATOR, ql=7)
    >>> from boxlab.model.response import solve
    >>> recoil(solve(TEN_INCH_DRIVER, box, [36.0], 20.0)).round()  # N
    array([119.])

    Parameters
    ----------
    response : of a sealed or radiator box, from `solve`
    cone : share of the driver's recoil along the axis looked at: 1 for one driver, 0 for drivers
        in an opposed pair
    radiators : the same for the radiators: 1 on the driver's face, −1 on the opposite face, 0 for
        pairs on opposite faces or for faces at right angles

    Returns
    -------
    array
        |ΣMu̇|. Moving masses count with their air load, so this is a little high. Divide by the
        box's mass for the acceleration of a box that is free to move: see `shake`.

    Raises
    ------
    ValueError
        For a ported box: the recoil of a jet is not that of a piston.
    """
    box = response.box
    spin = 2j * np.pi * response.frequency
    force = cone * beside(response.driver.mms, spin) * spin * response.cone_velocity
    if isinstance(box, RadiatorBox):
        flow = response.vent_volume_velocity / beside(box.radiator.sd, spin)  # velocities, summed
        force = force + radiators * beside(box.radiator.moving_mass, spin) * spin * flow
    elif isinstance(box, MixedRadiatorBox):
        for each in each_radiator(response):
            mass = beside(each.radiator.moving_mass, spin)
            force = force + radiators * mass * spin * each.velocity
    elif box is not None and box.vent(response.air) is not None:
        raise ValueError("recoil is for sealed and radiator boxes; a port moves air, not a piston.")
    return np.sqrt(2) * np.abs(force)


def shake(force: ArrayLike, box_mass: ArrayLike) -> Values:
    """Peak acceleration, m/s², of a box of `box_mass` kg that `force` N shakes, free to move.

    >>> shake(50.0, 20.0)  # m/s²
    2.5
    """
    force = number("force", force, hint="It is in newtons.")
    return force / positive("box_mass", box_mass, "The box's mass is in kilograms.")
