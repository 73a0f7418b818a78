"""Does the driver go in: frame, hole, basket and magnet behind the baffle, travel before it."""

from __future__ import annotations

import numpy as np

from boxlab.base.cautions import words
from boxlab.base.units import mm, to_mm
from boxlab.car.clearance import clearances, depth_behind, place, travel_clearance
from boxlab.draw.scene import Choice, Explainer, Line, Mark, Number, Plot, Scene, Slider
from boxlab.explainers import _shared as shared
from boxlab.explainers._depth_words import by_depth, condition, greatest
from boxlab.explainers._gaps import millimetres, view
from boxlab.explainers._shared import FREQUENCY, against_frequency
from boxlab.explainers.gap_to_volume import carcass
from boxlab.gear import shelf
from boxlab.gear.shelf import DRIVER_PARTS, DRIVERS, remembered
from boxlab.model.enclosure import SealedBox
from boxlab.model.response import solve

WIDTH, HEIGHT, SLACK, BREATHING = 600.0, 360.0, 3.0, 10.0  # mm
WIDTHS = ("frame on the baffle", "hole between the walls")
UP = np.linspace(-120, 120, 49)  # mm, places up the baffle
UP.flags.writeable = False
HIGH = (-80, 460)  # mm, drawn: a twelve-inch driver off either edge is in sight


@remembered(32)
def _box(bottom, top, board, bracket):
    """The box in the class's gap, or as wide and as high as that of the open job."""
    gap = None if shelf.current() is None else shelf.current().gap
    size = (WIDTH, HEIGHT) if gap is None else (to_mm(gap.width), to_mm(gap.height))
    return carcass(*size, bottom, top, bracket, board, SLACK)


@remembered(32)
def _depths(bottom, top, board, bracket, across, size):
    """Free depth behind the magnet from the flange, mm, for each place in UP."""
    box, part = _box(bottom, top, board, bracket), DRIVER_PARTS[size]
    found = [depth_behind(box, place(box, mm(across), mm(up)), part.magnet) for up in UP]
    return to_mm(np.array(found)) + board


def checks(size, across, up, bottom, top, board, bracket, grille):
    """Every clearance of one driver in the wedge, a tuple of `Clearance`."""
    box, part = _box(bottom, top, board, bracket), DRIVER_PARTS[size]
    point = place(box, mm(across), mm(up))
    behind = clearances(box, part, point, mm(BREATHING))
    return (*behind, travel_clearance(part, mm(grille)))


def scene(size, across, up, bottom, top, grille, drive, board, bracket) -> Scene:
    """One driver in the wedge behind a seat; sizes and places in mm, drive in V."""
    box, part = _box(bottom, top, board, bracket), DRIVER_PARTS[size]
    point = place(box, mm(across), mm(up))
    found = checks(size, across, up, bottom, top, board, bracket, grille)
    depths = _depths(bottom, top, board, bracket, across, size)
    net = box.gross - part.displacement(box.thickness(box.baffle))
    travel = to_mm(solve(DRIVERS[size], SealedBox(net), FREQUENCY, drive).cone_excursion)
    reach = to_mm(part.proud) + travel
    least = min(found, key=lambda c: c.spare)
    guessed = shelf.from_size("driver", size)
    told = _readout(size, part, found, reach, grille, drive, guessed)
    warnings = ()
    if travel.max() > to_mm(part.travel):
        warnings = (
            f"At {drive:g} V and {FREQUENCY[travel.argmax()]:.0f} Hz the curve asks for "
            f"{travel.max():.0f} mm, past the {to_mm(part.travel):.0f} mm at which the cone stops: "
            "it would hit its own stop first.",
        )
    return Scene(
        shows={"sealed": shared.state(DRIVERS[size], SealedBox(net), drive)},
        title=f"Does the {size} driver go in?",
        plots=(
            view(box, "side", "From the side, to scale", (-80, 440), HIGH, ((part, point),),
                 key=False, fits=least.fits),
            view(box, "front", "From the front, to scale", (-80, 680), HIGH, ((part, point),),
                 fits=least.fits),
            _depth_plot(depths, up, part, "depth" in guessed),
            _reach_plot(reach, grille, part),
        ),
        readout=told,
        numbers=tuple(_row(c, "depth" in guessed and by_depth(c)) for c in found),
        caption=(
            f"The {size} driver, {_where(across, up)}, in a wedge {bottom:g} mm deep at the "
            f"bottom and {top:g} at the top, {board:g} mm board, grille at {grille:g} mm. "
            + (
                f"{told[0]} Drawn as a usual one." if "depth" in guessed
                else "It goes in." if least.fits
                else f"{least.sentence[0].upper()}{least.sentence[1:]}"
            )
        ),
        alt=(
            "Four plots. Above, drawings to scale in millimetres, from the side and from the "
            "front, of the box and the outline of the driver in it. Lower left: free depth behind "
            "the magnet, 0 to 300 mm, against its place up the baffle, -120 to 120 mm, with the "
            f"depth it needs, {to_mm(part.depth) + BREATHING:.0f} mm. Lower right: how far the "
            "cone stands out before the flange at its farthest, 0 to 50 mm, against frequency, 10 "
            f"to 200 Hz, with the grille at {grille:g} mm."
        ),
        code=(
            "from boxlab.explainers.does_it_go_in import checks\n"
            f"for c in checks({size!r}, {across:g}, {up:g}, {bottom:g}, {top:g}, {board:g}, "
            f"{bracket:g}, {grille:g}):\n"
            "    print(c.sentence)"
        ),
        warnings=warnings,
        cautions=words("workshop", "loose box"),
    )  # fmt: skip


def _depth_plot(depths, up, part, guessed):
    need = to_mm(part.depth) + BREATHING
    needed = f"needed {need:.0f} mm" + (", if as deep as usual" if guessed else "")
    return Plot(
        "Depth behind the magnet, square to the baffle",
        "place up the baffle from its middle, mm",
        "depth from the flange, mm",
        (-120, 120),
        (0, 300),
        (Line(UP, depths, "sum", "free depth"),),
        (Mark(need, needed, "cone", "y"), Mark(up, "driver")),
        xscale="linear",
    )


def _reach_plot(reach, grille, part):
    stop = to_mm(part.proud + part.travel)
    return against_frequency(
        "How far the cone stands out",
        "before the flange, mm",
        (0, 50),
        (Line(FREQUENCY, reach, "cone", "at its farthest", "sealed"),),
        (
            Mark(grille, f"grille {grille:g} mm", "limit", "y"),
            Mark(stop, f"cone's own stop {stop:.0f} mm", "quiet", "y"),
        ),
    )


def _readout(size, part, found, reach, grille, drive, guessed):
    unknown = [c for c in found if "depth" in guessed and by_depth(c)]
    known = [c for c in found if c not in unknown]
    least = min(known, key=lambda c: c.spare)
    most = greatest(part, found) if unknown else 0.0
    width = bool(guessed & {"frame", "cutout"}) and least.what.endswith(WIDTHS)
    wide = ", if it is as wide as a usual one" if width else ""
    if not least.fits:
        first = f"The {size} driver does not go in: {_name(least)}, {millimetres(least)}{wide}."
    elif not unknown:
        first = f"The {size} driver goes in; tightest: {_name(least)}, {millimetres(least)}{wide}."
    elif most > 0:
        first = f"The {size} driver goes in if it is {condition(part, most)}"
    else:
        first = f"The {size} driver does not go in: there is no depth for any driver."
    hits = FREQUENCY[reach > grille]
    touch = (
        f"the cone would reach the grille up to {hits.max():.0f} Hz."
        if hits.size
        else f"the cone comes {reach.max():.0f} mm out at most, short of the grille."
    )
    return (
        first,
        *(c.sentence for c in known if not c.fits),
        f"Sealed, with a steady tone at {drive:g} V, {touch}",
        "Kept free besides: 10 mm behind the magnet, 5 mm before the cone at its stop.",
    )


def _where(across, up):
    """Where on the front it sits, in words."""
    side = f"{abs(across):g} mm {'left' if across < 0 else 'right'}" if across else ""
    high = f"{abs(up):g} mm {'down' if up < 0 else 'up'}" if up else ""
    place = " and ".join(part for part in (side, high) if part)
    return f"{place} from the middle of the front" if place else "in the middle of the front"


def _name(clearance):
    return clearance.what.split(": ")[-1]


def _row(c, usual):
    spare = c.spare * 1e3
    sign = "+" if c.fits else "−"
    name = f"{_name(c)}, if as deep as usual" if usual else _name(c)
    return Number(name, f"{sign}{abs(spare):.1f} mm", f"{sign}{abs(spare) / 25.4:.2f} in")


def _size(name, label, low, high, start, step=5, **more):
    return Slider(name, label, low, high, start, step, "mm", **more)


EXPLAINERS = (
    Explainer(
        name="does_it_go_in",
        question="Does this driver go into this wedge, and by how many millimetres?",
        controls=(
            Choice("size", "Driver", tuple(DRIVERS), "ten-inch"),
            _size("across", "Across the baffle", -200, 200, -140),
            _size("up", "Up the baffle", -90, 90, 0),
            _size("bottom", "Depth at the bottom", 120, 400, 200),
            _size("top", "Depth at the top", 60, 400, 130),
            _size("grille", "Grille or seat in front", 0, 50, 35, 1),
            Slider("drive", "Drive", 2, 40, 30, 1, "V", more=True),
            _size("board", "Board", 9, 25, 18, 1, more=True),
            _size("bracket", "Seat bracket, deep and high", 0, 140, 80, 10, more=True),
        ),
        scene=scene,
        lesson="06-fitting-the-space.ipynb",
        anchor="Does-it-go-in",
        answer=(
            "Measure square to the baffle, and at the rim of the magnet nearest the slope, not at "
            "its middle. Then add 10 mm behind and the cone's whole stroke in front."
        ),
        presets={
            "behind the seat": {},
            "too high up": {"up": 60.0, "top": 100.0},
            "a twelve in its place": {"size": "twelve-inch"},
        },
    ),
)
