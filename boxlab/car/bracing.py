"""What a brace does to a panel: a first resonance higher up, and nothing for the bass itself.

A panel that rings puts its own sound on top of the box's. Bass boxes play far below the first
resonance of a good panel. There a panel only gives a little under the pressure in the box, which
acts like slightly more volume; a brace makes that smaller still, and takes some volume itself.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from numpy.typing import ArrayLike

from boxlab.base.array_types import Values
from boxlab.base.checks import positive, suspect, whole


@dataclass(frozen=True)
class Material:
    """A board: Young's modulus Pa, density kg/m³, Poisson's ratio."""

    modulus: float
    density: float
    poisson: float = 0.3


# Round figures for common board; common practice, no published source.
FIBRE_BOARD = Material(3.0e9, 750.0)
BIRCH_PLYWOOD = Material(8.0e9, 650.0)


def panel_mode(
    length: ArrayLike, width: ArrayLike, thickness: ArrayLike, material: Material = FIBRE_BOARD,
    fixed: bool = False,
) -> Values:  # fmt: skip
    """First resonance of a panel in Hz, edges hinged or (about) clamped.

    Hinged: (π/2)·√(D/ρt)·(1/a² + 1/b²), exact. Clamped: Rayleigh's quotient for the shape
    (1 − cos)(1 − cos), an upper bound about 3 % high for a square. D = E·t³/12(1 − ν²). Source:
    thin plate theory, as in Leissa, Vibration of Plates, NASA SP-160 (1969), from memory. A real
    panel lies between the two.

    Raises
    ------
    ValueError
        For sizes that are not above zero.

    >>> round(float(panel_mode(0.6, 0.36, 0.018)))  # Hz
    180

    Parameters
    ----------
    length, width, thickness : m
    material : Material of the board
    fixed : edges clamped, not hinged
    """
    hint = "Sizes are in metres: boxlab.mm(400)."
    a, b, t = (
        positive(name, value, hint)
        for name, value in (("length", length), ("width", width), ("thickness", thickness))
    )
    suspect("thickness", t, 0.002, 0.08, hint)
    for name, value in (("length", a), ("width", b)):
        suspect(name, value, 0.01, 3, hint)
    bending = material.modulus * t**3 / (12 * (1 - material.poisson**2))
    stiffness = math.sqrt(bending / (material.density * t))
    if not fixed:
        return math.pi / 2 * stiffness * (1 / a**2 + 1 / b**2)
    shape = 3 / a**4 + 3 / b**4 + 2 / (a**2 * b**2)
    return 2 * math.pi / 3 * stiffness * math.sqrt(shape)


def braced_mode(
    length: ArrayLike, width: ArrayLike, thickness: ArrayLike, braces: int = 1,
    material: Material = FIBRE_BOARD, fixed: bool = False,
) -> Values:  # fmt: skip
    """First resonance in Hz of a panel parted along its longer side by stiff braces.

    Each part is taken as a panel of its own: the most a brace can do.

    >>> round(float(braced_mode(0.6, 0.36, 0.018)))  # Hz
    322

    Parameters
    ----------
    length, width, thickness, material, fixed : as for `panel_mode`
    braces : how many
    """
    long, short = max(length, width), min(length, width)
    return panel_mode(long / (whole("braces", braces) + 1), short, thickness, material, fixed)


FILL_LIMIT = 1.4  # ratio of the heat capacities of air: isothermal against adiabatic stiffness


def fill_volume(net: ArrayLike, gain: ArrayLike = 1.15) -> Values:
    """Apparent volume of a filled box, m³: net · gain.

    Fibre slows the change of temperature and makes the air springier. Derived: no fill can make
    more of it than the ratio of heat capacities, 1.40. Gains of 1.1 to 1.2 for a well-stuffed
    sealed box are common practice, no published source. It adds no room: it adds losses, and in a
    ported or radiator box near the vent it costs more output than it gives.

    Raises
    ------
    ValueError
        For a gain outside 1 to 1.4.

    >>> round(fill_volume(0.020), 4)  # m³
    0.023
    """
    if not 1 <= gain <= FILL_LIMIT:
        raise ValueError(
            f"gain = {gain:g}: fill cannot make air act larger than {FILL_LIMIT:g} times, nor "
            "smaller than it is in this model. Use 1.0 to 1.4; 1.15 is usual."
        )
    return positive("net", net, "Give m³: boxlab.litres(14).") * gain
