"""How long a port as built has to be for a tuning, along which line, and whether it goes in."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from boxlab.base.checks import positive, whole
from boxlab.model.air import Air
from boxlab.model.ports_built import Flare, Slot
from boxlab.model.vents import Port

_LENGTH = "Lengths are in metres: use boxlab.cm(20) or boxlab.inches(8)."


def centre_line(legs: Sequence[float], height: float) -> float:
    """Length along the centre line of a folded slot with corners of 90°, m.

    Parameters
    ----------
    legs : lengths of its legs along their outer sides, m, one after the other
    height : inside, m

    At each corner the centre line saves half the height of either leg.

    >>> round(centre_line((0.30, 0.25), 0.04), 3)
    0.51
    """
    h = positive("slot height", height, _LENGTH)
    legs = [positive("legs", leg, _LENGTH) for leg in legs]
    if not legs or min(legs) < h:
        raise ValueError(
            f"legs = {tuple(legs)} m: each is measured along its outer side and is at least as "
            f"long as the slot is high, {h:g} m."
        )
    return sum(legs) - (len(legs) - 1) * h


def length_for(
    shape: Port | Slot | Flare, volume: float, fb: float, count: int = 1, *, pipe: bool = False,
    air: Air | None = None,
) -> Port | Slot | Flare:  # fmt: skip
    """The same port as long as it has to be to tune `volume` m³ to `fb` Hz with `count` of them.

    With `pipe` its air is a pipe (as `port_equivalent.pipe_length`), else one mass (as
    `PortedBox.tuned`). Walls, corners and flares stay.

    >>> from boxlab.model.enclosure import PortedBox
    >>> slot = length_for(Slot(0.3, 0.03, 0.4, walls=1), 0.04, 35.0)
    >>> round(float(PortedBox(0.04, slot.port).tuning()), 6)
    35.0

    Parameters
    ----------
    shape : Port, Slot or Flare
    volume : m³, net
    fb : Hz
    count : how many alike
    pipe : whether its air is a pipe
    air : Air; 20 °C at sea level if left out

    Raises
    ------
    ValueError
        If even the shortest such port tunes lower than that; says by how much it is too heavy.
    """
    air = Air() if air is None else air
    volume = positive("volume", volume, "Volume is in m³: use boxlab.litres(40) for 40 L.")
    fb = positive("fb", fb, "Tuning is in hertz.")
    n = whole("count", count)
    k = 2 * np.pi * fb / air.speed_of_sound
    load = n * shape.area / (k * volume)
    wanted = np.arctan(load) / k if pipe else load / k
    fixed = shape.even + shape.ends.total - shape.length  # all that its length leaves as it is
    length = wanted - fixed
    least = shape.flares * shape.run if isinstance(shape, Flare) else shape.length - shape.even
    over = np.asarray(least - length)
    if (over > 0).any():
        raise ValueError(
            f"fb = {np.ravel(fb)[0]:g} Hz is out of reach: at its shortest this port is still "
            f"{1e3 * over.max():.0f} mm too long. Use more port area, a smaller box, a lower "
            "tuning, or smaller flares and fewer corners."
        )
    return replace(shape, length=length)


def misfits(shape: Slot | Flare, edges: Sequence[float], wall: float) -> tuple[str, ...]:
    """What of a straight port does not fit into a box, in sentences; () where all of it does.

    Parameters
    ----------
    shape : Slot or Flare, one design
    edges : inside edges of the box, m: along the port first, then across it, then high
    wall : of the tube, or board of the slot, m

    >>> misfits(Flare(0.08, 0.30, 0.10), (0.32, 0.25, 0.20), 0.003)
    ('It is 340 mm long with room to breathe, and the box has 320 mm.',)
    """
    sizes = [float(each) for each in shape.sizes(wall)]
    free = float(shape.height) if isinstance(shape, Slot) else float(shape.diameter) / 2
    names = ("long with room to breathe", "wide", "high")
    needs = (sizes[0] + free, *sizes[1:])
    return tuple(
        f"It is {1e3 * need:.0f} mm {name}, and the box has {1e3 * float(edge):.0f} mm."
        for need, name, edge in zip(needs, names, edges, strict=True)
        if need > float(edge) + 1e-9
    )
