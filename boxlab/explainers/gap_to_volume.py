"""From a gap in a car to net volume: what slack, board, driver and braces take of it."""

from __future__ import annotations

import numpy as np

from boxlab.base.cautions import words
from boxlab.base.units import mm, to_cubic_feet, to_litres, to_pounds
from boxlab.car.cut_list import cut_list, weight
from boxlab.car.joinery import Carcass, Gap
from boxlab.car.solids import Block
from boxlab.draw.scene import Explainer, Line, Mark, Number, Plot, Scene, Slider
from boxlab.draw.wanted import drawn
from boxlab.explainers import _shared as shared
from boxlab.explainers._gaps import view
from boxlab.gear import shelf
from boxlab.gear.own_build import taken_by_parts
from boxlab.gear.shelf import DRIVER_PARTS

PART = DRIVER_PARTS["ten-inch"]
BOARDS = np.linspace(6, 30, 49)  # mm
BOARDS.flags.writeable = False


def carcass(width, height, bottom, top, bracket, board, slack):
    """The bare box for settings in mm, with a bracket so deep and high at its right.

    Raises
    ------
    ValueError
        If nothing is left inside.
    """
    blocks = ()
    if bracket:
        blocks = (
            Block.at(
                x=mm(width - 50), width=mm(50), depth=mm(bracket), height=mm(bracket),
                name="seat bracket",
            ),
        )  # fmt: skip
    gap = Gap(mm(width), mm(height), mm(bottom), mm(top), blocks, mm(slack))
    return Carcass(gap, mm(board))


def net_of(box, braces):
    """Shares of a carcass with the class's ten-inch, or all of the open job's, and braces in it."""
    baffle, job = box.thickness(box.baffle), shelf.current()
    taken = PART.displacement(baffle) if job is None else taken_by_parts(job, baffle)
    return box.shares(driver=taken, braces=box.brace(braces))


def _mounted():
    """What is mounted, and what it is called: the class's driver, or all of the open job's."""
    job = shelf.current()
    if job is None:
        return (PART,), "the driver"
    parts = (shelf.DRIVER_PARTS[shelf.OWN],)
    name = "the driver" if job.count == 1 else "the drivers"
    if job.radiators:
        parts += (shelf.RADIATOR_PARTS[shelf.OWN],)
        name += " and radiators"
    return parts, name


def _net_or_none(settings, braces):
    try:
        return net_of(carcass(**settings), braces).net
    except ValueError:
        return np.nan


def scene(width, height, bottom, top, bracket, board, slack, braces) -> Scene:
    """The box that fills a gap; sizes in mm."""
    settings = {
        "width": width, "height": height, "bottom": bottom, "top": top, "bracket": bracket,
        "slack": slack,
    }  # fmt: skip
    box = carcass(**settings, board=board)
    shares = net_of(box, braces)
    rows = {name: volume for name, volume, _ in shares.rows}
    taken = [rows["obstructions"], rows["slack"], rows["board"], rows["driver"], rows["braces"]]
    left = 100 * (1 - np.cumsum([0, *taken]) / shares.gap)
    parts, mounted = _mounted()
    openings = sum(part.count * np.pi * part.cutout**2 / 4 for part in parts)
    mass = weight(box, openings=openings, hardware=sum(part.count * part.mass for part in parts))
    weighed = f"with {mounted}" if all(part.mass for part in parts) else f"without {mounted}"
    panels = cut_list(box)
    thinner = _net_or_none(settings | {"board": board - 1}, braces)
    return Scene(
        title=f"From {to_litres(shares.gap):.1f} L of gap to {to_litres(shares.net):.1f} L net",
        plots=drawn(
            lambda: (
                view(box, "side", "From the side, to scale", (-20, 420), (-20, 520), key=False),
                view(box, "front", "From the front, to scale", (-20, 920), (-20, 520)),
                _left_plot(left),
                _board_plot(
                    [_net_or_none(settings | {"board": b}, braces) for b in BOARDS], board, shares
                ),
            )
        ),
        readout=_readout(shares, box, mass, panels, thinner, board, mounted, weighed),
        numbers=(
            *(shared.volume_number(name, volume) for name, volume, _ in shares.rows),
            Number("lean of the front", f"{abs(box.outer.lean):.1f}°"),
            Number(f"weight {weighed}", f"{mass:.1f} kg", f"{to_pounds(mass):.0f} lb"),
            Number("pieces to cut", f"{len(panels)}"),
        ),
        caption=(
            f"A gap {width:g} mm wide, {height:g} mm high, {bottom:g} mm deep at the bottom and "
            f"{top:g} mm at the top, in {board:g} mm board: {to_litres(shares.gap):.1f} L of gap "
            f"leave {to_litres(shares.net):.1f} L ({to_cubic_feet(shares.net):.2f} ft³) net, "
            f"{100 * shares.net / shares.gap:.0f} %."
        ),
        alt=(
            "Four plots. Above, two drawings to scale in millimetres: the gap and the box in it "
            f"from the side, {bottom:g} deep at the bottom and {top:g} at the top, and from the "
            "front. Lower left: a staircase down from 100 per cent of the gap, as obstruction, "
            f"slack, board, driver and braces are taken off, to {left[-1]:.0f} per cent. Lower "
            "right: net volume as per cent of the gap against board thickness, 6 to 30 mm, falling."
        ),
        cautions=words("workshop", "loose box"),
        code=_code(settings, board, braces),
    )


def _left_plot(left):
    steps = np.arange(len(left) + 1) - 0.5
    x = np.repeat(steps, 2)[1:-1]
    return Plot(
        "What is left of the gap",
        "taken off: 1 obstruction, 2 slack, 3 board, 4 driver, 5 braces",
        "left, % of the gap",
        (-0.5, 5.5),
        (0, 100),
        (Line(x, np.repeat(left, 2), "sum", "left"),),
        (Mark(float(left[-1]), f"net {left[-1]:.0f} %", "sum", "y"),),
        xscale="linear",
    )


def _board_plot(by_board, board, shares):
    return Plot(
        "The price of thick board",
        "board thickness, mm",
        "net volume, % of the gap",
        (6, 30),
        (0, 100),
        (Line(BOARDS, 100 * np.array(by_board) / shares.gap, "sum", "net"),),
        (Mark(board, f"{board:g} mm"),),
        xscale="linear",
    )


def _readout(shares, box, mass, panels, thinner, board, mounted, weighed):
    gap, net = to_litres(shares.gap), to_litres(shares.net)
    parts = dict(shares.parts)
    lean = abs(box.outer.lean)
    cut = f", front leaning {lean:.1f}°" if lean else ""
    saved = f"{to_litres(thinner - shares.net):.2f} L" if thinner == thinner else "nothing to show"
    return (
        f"Of a gap of {gap:.1f} L a box keeps {net:.1f} L ({to_cubic_feet(shares.net):.2f} ft³) "
        f"net: {100 * net / gap:.0f} % is left.",
        f"Board takes {to_litres(shares.board):.1f} L, slack {to_litres(shares.slack):.1f} L, the "
        f"obstruction {to_litres(shares.obstructions):.1f} L, {mounted} "
        f"{to_litres(parts['driver']):.1f} L, braces {to_litres(parts['braces']):.1f} L.",
        f"Board 1 mm thinner than {board:g} mm would give {saved} more.",
        f"Weight {weighed} {mass:.1f} kg ({to_pounds(mass):.0f} lb), in {len(panels)} pieces "
        f"of board at 750 kg/m³{cut}.",
    )


def _code(settings, board, braces):
    given = ", ".join(f"{k}={v:g}" for k, v in settings.items())
    return (
        "from boxlab.base.cautions import words\n"
        "from boxlab.car.cut_list import cut_list\n"
        "from boxlab.explainers.gap_to_volume import carcass, net_of\n"
        f"box = carcass({given}, board={board:g})\n"
        f"for name, volume, share in net_of(box, {braces:g}).rows:\n"
        "    print(f'{name:14}{1e3 * volume:7.2f} L {share:6.1%}')\n"
        "print(*(panel.words for panel in cut_list(box)), sep='\\n')\n"
        'print("Caution:", *words("workshop"))'
    )


def _size(name, label, low, high, start, step=5, **more):
    return Slider(name, label, low, high, start, step, "mm", **more)


EXPLAINERS = (
    Explainer(
        name="gap_to_volume",
        question="How much air does a box in this gap hold?",
        controls=(
            _size("width", "Width", 300, 900, 600),
            _size("height", "Height", 200, 500, 360),
            _size("bottom", "Depth at the bottom", 80, 400, 200),
            _size("top", "Depth at the top", 60, 400, 130),
            _size("board", "Board", 9, 25, 18, 1),
            _size("bracket", "Seat bracket, deep and high", 0, 140, 80, 10),
            _size("slack", "Slack on every side", 0, 15, 3, 1, more=True),
            Slider("braces", "Braces", 0, 3, 1, 1, "", more=True),
        ),
        scene=scene,
        lesson="06-fitting-the-space.ipynb",
        anchor="See",
        answer=(
            "Less than you think: in a shallow gap, board, slack and the driver itself take about "
            "half. Measure both depths, take the board off every side, then the driver and braces."
        ),
        presets={
                "behind the seat": {},
                "a plain box": {"width": 450.0, "height": 400.0, "bottom": 350.0, "top": 350.0,
                                "bracket": 0.0},
            },
    ),
)  # fmt: skip
