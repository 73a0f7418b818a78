"""A cutaway of a box to scale: what sits in it, how large it is beside the rest, how it moves.

It is data (`Cutaway`), so that the page of a sheet and the stage in a browser draw the same.
"""

from __future__ import annotations

import itertools
import math
from dataclasses import replace

import numpy as np

from boxlab.base.units import disc_diameter, inside_edges, to_inches, to_mm
from boxlab.draw import port_shapes
from boxlab.draw.outlines import Cutaway, Shape, Swing
from boxlab.draw.palette import COLOURS, INK, PAPER
from boxlab.draw.wanted import pictures_wanted
from boxlab.model.enclosure import PortedBox, RadiatorBox
from boxlab.model.mixed_radiators import MixedRadiatorBox, each_radiator
from boxlab.model.ports_built import Slot
from boxlab.model.response import solve

_BOARD = 18.0  # mm, drawn round the air where no board is known
_ORDINAL = ("first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth")
_STEEL = 7850e-9  # kg/mm³
FILLS = {"wood": "#c9b690", "air": PAPER, "metal": "#8a8f96"}


def cut_open(
    driver, box, count=1, board=None, tone=None, voltage=2.83, solved=None, chain=None, faces=(),
    built=None,
) -> Cutaway:  # fmt: skip
    """A box from the side, to scale, and its motion at one tone.

    A net volume says nothing of the shape: the air is drawn with the area of the side of a box of
    edges 8 : 6 : 5, and tall enough for what is mounted on it. Driver and radiators are as wide as
    the area that moves. Steel weights are drawn as a stack on its middle, a sixth as
    wide as their radiator.

    Parameters
    ----------
    driver : Driver, all of them together
    box : SealedBox, PortedBox, RadiatorBox or MixedRadiatorBox
    count : how many they are
    board : m, drawn round the air
    tone, voltage : Hz and V rms; nothing moves without a tone
    solved : the box whose motion is shown, where it is `box` with other losses
    chain : filters before the amplifier
    faces : of each radiator, "back" (opposite the driver), "front", "top" or "bottom"; all at the
        back if left out
    built : the Slot or Flare that each port is; a round tube if left out
    """
    if not pictures_wanted():
        return Cutaway((), (0.0, 0.0, 0.0, 0.0), "")
    deep, high, _ = (float(to_mm(edge)) for edge in inside_edges(box.volume))
    thick = _BOARD if board is None else float(to_mm(board))
    wide = float(to_mm(disc_diameter(driver.sd / count)))
    under = 0.0  # below the drivers, for the ports
    if isinstance(box, PortedBox):
        under = 1.2 * box.count * port_shapes.width_of(box, built)
    radiators = _radiators(box)
    across = max([_across(each) for each in radiators], default=0.0)
    faces = list(faces) or ["back"] * len(radiators)
    # never smaller than what is mounted on it, and then as much less deep
    ahead, flat = faces.count("front"), max(faces.count("top"), faces.count("bottom"))
    front = 1.15 * (count * wide + ahead * across) + under
    tall = max(high, front, 1.15 * across * faces.count("back"))
    behind = 0.5 * wide + under if under else 0.75 * wide  # a magnet, and ports behind it
    deep, high = max(deep * high / tall, behind, 1.15 * across * flat), tall
    shapes = [
        Shape(_rectangle(-thick, -thick, deep + thick, high + thick), "wood", True),
        Shape(_rectangle(0, 0, deep, high), "air", True),
    ]
    swings = list(_swings(driver, box, tone, voltage, solved, chain))
    volts = float(np.max(voltage)) if swings else 0.0
    told = _words(driver, box, count, swings, tone, volts, built)
    share = (high - under) / (count + ahead)
    if isinstance(box, PortedBox):
        upright = high > deep
        if upright and swings:
            swings[1] = replace(swings[1], dx=0.0, dy=-abs(swings[1].dx))
        shapes += port_shapes.ports(box, (deep, high, thick), len(swings) - 1, upright, built)
    for i in range(count):
        y = under + share * (i + ahead + 0.5)
        shapes += _moving(-thick, y, wide, "front", "cone", 0 if swings else -1, motor=True)
    if radiators:
        shapes += _mounted(radiators, faces, (deep, high, thick, share), swings)
    out = 0.2 * max(wide, across) + 20
    xs, ys = np.concatenate([np.asarray(shape.points) for shape in shapes]).T
    limits = (
        min(-thick - out, xs.min() - 5), max(deep + thick + out, xs.max() + 5),
        min(-thick - 10, ys.min() - 10), max(high + thick, ys.max()) + 10,
    )  # fmt: skip
    return Cutaway(
        tuple(shapes), limits, told, tuple(swings), tone or 0.0, volts=volts, reach=0.14 * wide
    )


def _radiators(box):
    """Its radiators, one for each."""
    if isinstance(box, MixedRadiatorBox):
        return box.radiators
    return (box.radiator,) * box.count if isinstance(box, RadiatorBox) else ()


def _across(radiator):
    return float(to_mm(disc_diameter(radiator.sd)))


def beside(*cuts: Cutaway, gap=60.0, names=()) -> Cutaway:
    """Several cutaways in one, side by side on one floor, each with its own motion and name."""
    shapes, swings, called, left, high = [], [], [], 0.0, 0.0
    for cut, name in itertools.zip_longest(cuts, names):
        at, out, foot, top = cut.limits
        shift = np.array([left - at, -foot])
        for shape in cut.shapes:
            points = tuple(map(tuple, np.asarray(shape.points) + shift))
            moves = shape.moves + len(swings) if shape.moves >= 0 else -1
            shapes.append(replace(shape, points=points, moves=moves))
        swings += cut.swings
        called += [(left + (out - at) / 2, name)] if name else []
        left, high = left + out - at + gap, max(high, top - foot)
    words = " Beside it: ".join(cut.words for cut in cuts)
    limits = (0.0, left - gap, 0.0, high)
    reach = min(cut.reach for cut in cuts)
    volts = cuts[0].volts if len({round(cut.volts, 3) for cut in cuts}) == 1 else 0.0
    return Cutaway(
        tuple(shapes), limits, words, tuple(swings), cuts[0].tone, tuple(called), volts, reach
    )


def _swings(driver, box, tone, voltage, solved, chain) -> tuple[Swing, ...]:
    if not tone:
        return ()
    at = solve(driver, solved or box, [float(tone)], voltage, chain=chain)
    swings = [Swing("cone", -float(to_mm(at.cone_excursion[0])), 0.0)]
    if isinstance(box, MixedRadiatorBox) and box.alike is None:
        for name, each in zip(_ORDINAL, each_radiator(at), strict=False):
            out, phase = float(to_mm(each.excursion[0])), float(np.nan_to_num(each.phase[0]))
            swings.append(Swing(f"{name} radiator", out, 0.0, phase))
    elif box.vents(at.air):
        out, phase = float(to_mm(at.vent_excursion[0])), float(at.vent_phase[0])
        radiator = not isinstance(box, PortedBox)
        name = "radiator" if radiator else "air in the port"
        swings.append(Swing(name, out if radiator else -out, 0.0, phase if phase == phase else 0.0))
    return tuple(swings)


def _rectangle(left, bottom, right, top):
    return ((left, bottom), (right, bottom), (right, top), (left, top))


_OUT = {"front": (-1, 0), "back": (1, 0), "top": (0, 1), "bottom": (0, -1)}


def _mounted(radiators, faces, size, swings):
    """All radiators on their faces. A motion out of another face is one of its own."""
    deep, high, thick, share = size
    alike, ways, shapes, met = swings[1:], {}, [], {}
    del swings[1:]
    for i, (radiator, face) in enumerate(zip(radiators, faces, strict=True)):
        own, moves = min(i, len(alike) - 1), -1
        if alike:
            if (own, face) not in ways:
                ways[own, face] = len(swings)
                out, (dx, dy) = abs(alike[own].dx), _OUT[face]
                swings.append(replace(alike[own], dx=dx * out, dy=dy * out))
            moves = ways[own, face]
        place, many = met.get(face, 0), faces.count(face)
        met[face] = place + 1
        if face == "front":
            at = (-thick, share * (place + 0.5))
        elif face == "back":
            at = (deep + thick, high * (place + 0.5) / many)
        else:
            at = (deep * (place + 0.5) / many, high + thick if face == "top" else -thick)
        weight = float(radiator.added_mass)
        shapes += _moving(*at, _across(radiator), face, "vent", moves, weight=weight)
    return shapes


def _moving(x, y, wide, face, role, moves, motor=False, weight=0.0):
    """A cone with its surround seen from the side, opening to the outside at (x, y) on a face."""
    half, deep, ring = wide / 2, 0.22 * wide, 0.05 * wide
    dx, dy = _OUT[face]

    def placed(inward, along):
        """Points of the part: mm into the box from the face, and along it."""
        inward, along = np.broadcast_arrays(inward, along)
        xs, ys = x - dx * inward + abs(dy) * along, y - dy * inward + abs(dx) * along
        return tuple(zip(map(float, xs), map(float, ys), strict=True))

    edges = np.array([-half, -0.18 * wide, 0.18 * wide, half])
    shapes = [Shape(placed(np.array([0.0, deep, deep, 0.0]), edges), role, False, moves)]
    turn = np.linspace(0, math.pi, 9)
    for side in (-1, 1):  # the surround: its inner edge goes with the cone, its outer stays
        points = placed(-ring * np.sin(turn), side * (half + ring - ring * np.cos(turn)))
        shares = tuple(float(1 - each / math.pi) for each in turn)
        shapes.append(Shape(points, role, False, moves, shares))
    if motor:
        for near, far, tall in ((0.22, 0.34, 0.16), (0.34, 0.5, 0.5)):
            tall *= wide / 2
            corners = np.array([near, far, far, near]) * wide
            shapes.append(
                Shape(placed(corners, np.array([-tall, -tall, tall, tall])), "metal", True)
            )
    elif weight > 0:
        across = wide / 6
        thick = weight / (_STEEL * math.pi / 4 * across**2)
        inward = deep + np.array([0.0, thick, thick, 0.0])
        disc = placed(inward, np.array([-1.0, -1.0, 1.0, 1.0]) * across / 2)
        shapes.append(Shape(disc, "metal", True, moves))
    return shapes


def _words(driver, box, count, swings, tone, volts, built):
    size = to_mm(disc_diameter(driver.sd / count))
    told = (
        f"{count} driver{'s' if count > 1 else ''}, {size:.0f} mm ({to_inches(size / 1e3):.1f} in)"
    )
    told += " across the moving part"
    radiators = _radiators(box)
    if radiators:
        size = max(_across(each) for each in radiators)
        many = len(radiators)
        told += f"; {many} radiator{'s' if many > 1 else ''}, {size:.0f} mm across"
    if isinstance(box, PortedBox):
        name = "slot" if isinstance(built, Slot) else "port"
        length = to_mm(box.port.length if built is None else built.length)
        told += f"; {box.count} {name}{'s' if box.count > 1 else ''} {length:.0f} mm long"
    moving = ""
    if swings:
        parts = [f"the {each.name} moves {math.hypot(each.dx, each.dy):.2g} mm" for each in swings]
        for n, each in enumerate(swings[1:], 1):
            parts[n] += f", {abs(each.phase):.0f}° {_order(each.phase)}"
        moving = f" At {tone:.3g} Hz, on {volts:.3g} V, " + " and ".join(parts) + "."
    return f"A box from the side, to scale: {told}. Its shape is not known.{moving}"


def _order(phase):
    return "ahead of it" if phase >= 0 else "behind it"


def draw(ax, cut: Cutaway):
    """Draw a cutaway at rest on matplotlib Axes, in mm, with a bar of 100 mm; returns the Axes."""
    from matplotlib.patches import Polygon

    for shape in cut.shapes:
        if shape.filled:
            edge = {"ec": INK, "lw": 1} if shape.role in ("wood", "air") else {"lw": 0}
            ax.add_patch(Polygon(shape.points, closed=True, fc=FILLS[shape.role], **edge))
        else:
            ax.plot(*zip(*shape.points, strict=True), color=COLOURS[shape.role], lw=2)
    left, right, bottom, top = cut.limits
    ax.plot([0, 100], [top, top], color=INK, lw=1.5, marker="|", ms=6)
    ax.text(108, top, f"100 mm ({to_inches(0.1):.1f} in)", va="center", fontsize=9, color=INK)
    ax.set_aspect("equal")
    ax.set_xlim(left, right)
    ax.set_ylim(bottom, top + 16)
    ax.set_axis_off()
    return ax
