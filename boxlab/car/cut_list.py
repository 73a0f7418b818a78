"""Panels to cut for a carcass, with bevels and notches, and the weight.

The sides cover the whole outline. Between them, floor and lid run the full depth with their front
edges bevelled to the slope; back and front stand between floor and lid. Cut the lean in scrap
first. Wood dust, above all from fibre board, harms lungs: extract it and wear a mask; use blade
guards and push sticks; follow the saw maker's instructions.
"""

from __future__ import annotations

import math

from boxlab.base.checks import not_negative, positive, suspect
from boxlab.car.joinery import Carcass
from boxlab.car.panels import LEAST, Frame, Panel, Shaping, pieces
from boxlab.car.solids import Block, Wedge

STRIP = 0.005  # m, the narrowest piece that is listed: our own limit, no published source


def cut_list(carcass: Carcass) -> tuple[Panel, ...]:
    """Every panel of a carcass, as a tuple of `Panel`. Their volumes add up to its board exactly.

    Each is one piece of board. Where it is cut out, the place is measured on the piece itself, from
    its own edges as it lies on the bench, on a leaning front along the slope of its outer face.

    >>> from boxlab.car.joinery import Gap
    >>> [panel.name for panel in cut_list(Carcass(Gap(0.6, 0.36, 0.2)))]
    ['left side', 'right side', 'bottom', 'top', 'back', 'front']

    Parameters
    ----------
    carcass : Carcass

    Raises
    ------
    ValueError
        If two obstructions stand so close that the boards round them meet, or a piece would be
        thinner than its board or narrower than `STRIP`.
    """
    covers, notches = carcass.covers, carcass.notches
    for i, one in enumerate(covers):
        for other in covers[i + 1 :]:
            if one.overlaps(other):
                raise ValueError(
                    f"the boards round {one.name} and {other.name} meet. Give them as one "
                    "obstruction that holds both, and build round that."
                )
    panels = [
        piece
        for panel, solids, frame in _main(carcass)
        for piece in pieces(panel, solids, frame, notches)
    ]
    for notch, cover in zip(notches, covers, strict=True):
        panels += _covers(carcass, notch, cover)
    for panel in panels:
        least = min(panel.length, panel.width)
        if min(least - STRIP, panel.thickness - carcass.board) < -1e-9:
            names = ", ".join(block.name for block in carcass.gap.obstructions)
            raise ValueError(
                f"{panel.name} would be {min(least, panel.thickness) * 1e3:.1f} mm of wood, and "
                f"that is no board to cut. Give {names} as reaching the front, or leave "
                f"{carcass.board * 1e3:.0f} mm more between."
            )
    return tuple(panels)


def _main(carcass):
    """The six panels, each with the solids (added, then taken away) that make it up, and how it
    lies on the bench."""
    out, inn, t = carcass.outer, carcass.inner, carcass.thickness
    lean, deepest = abs(out.lean), max(out.depth_bottom, out.depth_top)
    slope = Shaping(
        "front edge on a slope: {} {u} deep at the bottom, {} {u} at the top",
        (out.depth_bottom, out.depth_top),
        places=1,
    )
    for name, (x0, x1) in {"left": (out.x0, inn.x0), "right": (inn.x1, out.x1)}.items():
        solid = Wedge(x0, x1, out.z0, out.z1, out.y0, out.a, out.b)
        shape = (slope,) if lean else ()
        frame = Frame(
            ("z", out.z0, out.z1, 1.0, "bottom edge"),
            ("y", out.y0, out.y0 + deepest, 1.0, "back edge"),
            ("x", x0, x1),
        )
        panel = Panel(f"{name} side", out.height, deepest, t(name), solid.volume, shape)
        yield panel, ((solid,), ()), frame

    for name, (z0, z1) in {"bottom": (out.z0, inn.z0), "top": (inn.z1, out.z1)}.items():
        solid = Wedge(inn.x0, inn.x1, z0, z1, out.y0, out.a, out.b)
        depth = max(solid.depth_bottom, solid.depth_top)
        long = "upper" if solid.depth_top > solid.depth_bottom else "lower"
        bevel = Shaping(f"bevel the front edge {lean:.1f}°, long point on the {long} face")
        shape = (bevel,) if lean else ()
        frame = Frame(
            ("x", inn.x0, inn.x1, 1.0, "left end"),
            ("y", out.y0, out.y0 + depth, 1.0, "back edge"),
            ("z", z0, z1),
        )
        panel = Panel(name, inn.width, depth, t(name), solid.volume, shape, (True, False))
        yield panel, ((solid,), ()), frame

    solid = Wedge(inn.x0, inn.x1, inn.z0, inn.z1, out.y0, inn.y0, 0.0)
    left = ("x", inn.x0, inn.x1, 1.0, "left end")
    frame = Frame(left, ("z", inn.z0, inn.z1, 1.0, "bottom edge"), ("y", out.y0, inn.y0))
    panel = Panel("back", inn.width, inn.height, t("back"), solid.volume, between=(True, True))
    yield panel, ((solid,), ()), frame

    whole = Wedge(inn.x0, inn.x1, inn.z0, inn.z1, out.y0, out.a, out.b)
    air = Wedge(inn.x0, inn.x1, inn.z0, inn.z1, out.y0, inn.a, inn.b)
    # Cut level, the two faces are shifted along the slope by t·tan(lean).
    shift = t("front") * abs(out.b)
    bevel = f"bevel both ends {lean:.1f}°, parallel to each other: this length is the blank, and "
    shape = (Shaping(bevel + "each face is {} {u} shorter", (shift,), 1),) if lean else ()
    length = out.stretch * inn.height + shift
    slope = ("z", inn.z0, inn.z1, out.stretch, "lower edge, along the slope")
    wood = whole.volume - air.volume
    panel = Panel("front", length, inn.width, t("front"), wood, shape, (True, True))
    through = None if lean else ("y", inn.a, out.a)
    yield panel, ((whole,), (air,)), Frame(slope, left, through)


def _clip(block, wedge):
    """The part of a block inside the rectangular hull of a wedge."""
    ends = wedge.depth(wedge.z0), wedge.depth(wedge.z1)
    z0, z1 = max(block.z0, wedge.z0), min(block.z1, wedge.z1)
    front = wedge.y0 + max(wedge.depth(z0), wedge.depth(z1)) if z1 > z0 else wedge.y0 + max(ends)
    return Block(
        max(block.x0, wedge.x0), min(block.x1, wedge.x1),
        max(block.y0, wedge.y0), min(block.y1, front),
        z0, z1, block.name,
    )  # fmt: skip


def _covers(carcass, notch, cover):
    """The boards round one obstruction, as far as they lie inside the box."""
    n, g = notch, cover
    pieces = {
        "lid": Block(g.x0, g.x1, g.y0, g.y1, n.z1, g.z1),
        "floor": Block(g.x0, g.x1, g.y0, g.y1, g.z0, n.z0),
        "left": Block(g.x0, n.x0, g.y0, g.y1, n.z0, n.z1),
        "right": Block(n.x1, g.x1, g.y0, g.y1, n.z0, n.z1),
        "front": Block(n.x0, n.x1, n.y1, g.y1, n.z0, n.z1),
        "back": Block(n.x0, n.x1, g.y0, n.y0, n.z0, n.z1),
    }
    panels = []
    for side, piece in pieces.items():
        volume = carcass.inner.shared([piece])
        if volume < LEAST:
            continue
        box = _clip(piece, carcass.inner)
        sizes = {"x": box.x1 - box.x0, "y": box.y1 - box.y0, "z": box.z1 - box.z0}
        full = math.prod(sizes.values())
        thick = sizes.pop({"lid": "z", "floor": "z", "left": "x", "right": "x"}.get(side, "y"))
        inn = carcass.inner
        (width, across), (length, along) = sorted((size, axis) for axis, size in sizes.items())
        walls = {"x": (inn.x0, inn.x1), "z": (inn.z0, inn.z1), "y": (-math.inf, math.inf)}
        between = tuple(
            math.isclose(sizes[axis], walls[axis][1] - walls[axis][0]) for axis in (along, across)
        )
        shape = ()
        if volume < full * (1 - 1e-6):
            lean = abs(carcass.outer.lean)
            shape = (Shaping(f"trim to the slope of the front, {lean:.1f}°"),)
        name = f"{side} of the notch for {notch.name}"
        panels.append(Panel(name, length, width, thick, volume, shape, between))
    return panels


def weight(
    carcass: Carcass, density: float = 750.0, hardware: float = 0.0, openings: float = 0.0
) -> float:
    """Weight of the box, kg: board, and what is bolted in.

    >>> from boxlab.car.joinery import Gap
    >>> round(float(weight(Carcass(Gap(0.6, 0.36, 0.2)), hardware=9.0)), 1)  # kg
    18.6

    Parameters
    ----------
    carcass : Carcass
    density : kg/m³
        Of the board; read it off the sheet. About 750 for fibre board and 650 for birch plywood
        is common practice, no published source.
    hardware : kg
        Drivers, radiators with their weights, terminals.
    openings : m²
        Total area of the holes in the baffle.

    A loose box of this weight is a danger in a crash: bolt it to the body as the vehicle maker
    allows, not to trim.
    """
    density = positive("density", density)
    suspect("density", density, 100, 3000, "Density is in kg/m³: fibre board is about 750.")
    hardware = not_negative("hardware", hardware, "Mass is in kg: boxlab.grams(900).")
    suspect("hardware", hardware, 0, 200, "Mass is in kg: boxlab.grams(900).")
    openings = not_negative("openings", openings, "Give m².")
    board = carcass.outside - carcass.gross - openings * carcass.thickness(carcass.baffle)
    if board <= 0:
        raise ValueError(
            f"openings = {openings:g} m² is more than the board there is. Give the holes' area in "
            "m²: a 232 mm hole is 0.0423 m²."
        )
    return board * density + hardware
