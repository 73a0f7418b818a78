"""A cutaway of a box to scale: what sits in it, and how large it is beside the rest."""

from __future__ import annotations

import math

import numpy as np

from boxlab.base.units import disc_diameter, inside_edges, to_inches, to_mm
from boxlab.draw.palette import COLOURS, INK
from boxlab.model.enclosure import PortedBox, RadiatorBox

_BOARD = 18.0  # mm, drawn round the air where no board is known
_WOOD = "#c9b690"


def draw(ax, driver, box, count=1, board=None):
    """Draw a box from the side, to scale, in mm; returns the Axes.

    A net volume says nothing of the shape: the air is drawn with the area of the side of a box of
    edges 8 : 6 : 5, and tall enough for what is mounted on it. Driver and radiators are as wide as
    the area that moves.

    Parameters
    ----------
    ax : matplotlib Axes
    driver : Driver, one of them
    box : SealedBox, PortedBox or RadiatorBox
    count : how many drivers
    board : m, drawn round the air
    """
    from matplotlib.patches import Rectangle

    deep, high, _ = (float(to_mm(edge)) for edge in inside_edges(box.volume))
    thick = _BOARD if board is None else float(to_mm(board))
    wide = float(to_mm(disc_diameter(driver.sd)))
    under = 0.0  # below the drivers, for the ports
    if isinstance(box, PortedBox):
        under = 1.2 * box.count * float(to_mm(disc_diameter(box.port.area)))
    across = 0.0
    if isinstance(box, RadiatorBox):
        across = box.count * float(to_mm(disc_diameter(box.radiator.sd)))
    # never smaller than what is mounted on it, and then as much less deep
    tall = max(high, 1.15 * count * wide + under, 1.15 * across)
    deep, high = max(deep * high / tall, 0.75 * wide), tall
    outer = Rectangle((-thick, -thick), deep + 2 * thick, high + 2 * thick, fc=_WOOD, ec=INK, lw=1)
    inner = Rectangle((0, 0), deep, high, fc="#ffffff", ec=INK, lw=0.8)
    ax.add_patch(outer)
    ax.add_patch(inner)
    for i in range(count):
        y = under + (high - under) * (i + 0.5) / count
        _moving(ax, -thick, y, wide, 1, COLOURS["cone"], motor=True)
    if isinstance(box, RadiatorBox):
        across = float(to_mm(disc_diameter(box.radiator.sd)))
        for i in range(box.count):
            y = high * (i + 0.5) / box.count
            weight = float(box.radiator.added_mass)
            _moving(ax, deep + thick, y, across, -1, COLOURS["vent"], weight=weight)
    if isinstance(box, PortedBox):
        _port(ax, box, deep, high, thick)
    ax.set_aspect("equal")
    ax.set_xlim(-thick - 0.2 * wide - 20, deep + thick + 0.2 * wide + 20)
    ax.set_ylim(-thick - 10, high + thick + 30)
    ax.set_axis_off()
    _scale(ax, deep, high, thick)
    return ax


def _moving(ax, x, y, wide, way, colour, motor=False, weight=0.0):
    """A cone with its surround seen from the side, opening to the outside at `x`."""
    half, deep = wide / 2, 0.22 * wide
    tip = x + way * deep
    ax.plot(
        [x, tip, tip, x], [y - half, y - 0.18 * wide, y + 0.18 * wide, y + half], color=colour, lw=2
    )
    for side in (-1, 1):  # the surround
        turn = np.linspace(0, math.pi, 20)
        ring = 0.05 * wide
        ax.plot(
            x - way * ring * np.sin(turn), y + side * (half + ring - ring * np.cos(turn)),
            color=colour, lw=1.5,
        )  # fmt: skip
    if motor:
        for deep_from, deep_to, tall in ((0.22, 0.34, 0.16), (0.34, 0.5, 0.5)):
            xs = [x + way * deep_from * wide, x + way * deep_to * wide]
            ax.fill_between(xs, y - tall * wide / 2, y + tall * wide / 2, color="#8a8f96", lw=0)
    elif weight > 0:  # a steel disc of that weight, a third as wide as the radiator
        across = wide / 3
        thick = weight / (7850e-9 * math.pi / 4 * across**2)
        xs = sorted((tip, tip + way * thick))
        ax.fill_between(xs, y - across / 2, y + across / 2, color="#4c535b", lw=0)


def _scale(ax, deep, high, thick):
    """A bar of 100 mm, with its length in both units, above the box."""
    y = high + thick + 14
    ax.plot([0, 100], [y, y], color=INK, lw=1.5, marker="|", ms=6)
    ax.text(108, y, f"100 mm ({to_inches(0.1):.1f} in)", va="center", fontsize=9, color=INK)


def _port(ax, box, deep, high, thick):
    """Each port as a tube through the front, folded up where it is longer than the box is deep."""
    across = float(to_mm(disc_diameter(box.port.area)))
    length = float(to_mm(box.port.length))
    colour = COLOURS["vent"]
    for i in range(box.count):
        y = across * (0.6 + 1.2 * i)
        straight = min(length, deep + thick - 0.5 * across)
        xs = [-thick, -thick + straight]
        for edge in (-0.5, 0.5):
            ax.plot(xs, [y + edge * across] * 2, color=colour, lw=2)
        rest = length - straight
        if rest > 0:
            end = xs[1]
            for edge in (-0.5, 0.5):
                ax.plot(
                    [end + edge * across] * 2, [y + 0.5 * across, y + 0.5 * across + rest],
                    color=colour, lw=2, ls=(0, (4, 2)),
                )  # fmt: skip


def words(driver, box, count=1):
    """What the drawing shows, for somebody who cannot see it."""
    size = to_mm(disc_diameter(driver.sd))
    told = (
        f"{count} driver{'s' if count > 1 else ''}, {size:.0f} mm ({to_inches(size / 1e3):.1f} in)"
    )
    told += " across the moving part"
    if isinstance(box, RadiatorBox):
        size = to_mm(disc_diameter(box.radiator.sd))
        told += f"; {box.count} radiator{'s' if box.count > 1 else ''}, {size:.0f} mm across"
    if isinstance(box, PortedBox):
        told += (
            f"; {box.count} port{'s' if box.count > 1 else ''} {to_mm(box.port.length):.0f} mm long"
        )
    return f"A box from the side, to scale: {told}. Its shape is not known."
