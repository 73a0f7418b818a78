"""What a brace and a fill do, and what they do not: panel resonance, volume, response."""

from __future__ import annotations

from types import MappingProxyType

import numpy as np

from boxlab.base.cautions import words
from boxlab.base.quantities import span
from boxlab.base.units import mm, to_litres
from boxlab.car.bracing import (
    BIRCH_PLYWOOD,
    FIBRE_BOARD,
    FILL_LIMIT,
    braced_mode,
    fill_volume,
    panel_mode,
)
from boxlab.draw.scene import Choice, Explainer, Line, Mark, Number, Plot, Scene, Slider
from boxlab.explainers import _shared as shared
from boxlab.explainers._cuts import NOTE, shown
from boxlab.explainers._shared import FREQUENCY, against_frequency
from boxlab.gear import shelf
from boxlab.gear.demo_parts import PLACES
from boxlab.gear.own_build import own_carcass, taken_by_parts
from boxlab.gear.shelf import DRIVER_PARTS, remembered, the_driver
from boxlab.model.enclosure import SealedBox
from boxlab.model.passband import passband
from boxlab.model.response import solve

BOARDS = np.linspace(6, 30, 49)  # mm
BOARDS.flags.writeable = False
MATERIALS = MappingProxyType({"fibre board": FIBRE_BOARD, "birch plywood": BIRCH_PLYWOOD})
PART, HERE = DRIVER_PARTS["ten-inch"], PLACES["behind the seat"]
HIGHEST = 100.0  # Hz, the top of the band a bass box plays


@remembered(128)
def carcass(board):
    """The bare box in `board` mm: the class's behind the seat, or that of the open job."""
    job = shelf.current()
    return HERE.carcass(mm(board)) if job is None else own_carcass(job, mm(board))


def back_panel(board):
    """Free length and width, m, of the back, the largest panel without a hole in it."""
    inner = carcass(board).inner
    return inner.width, inner.height


def modes(board, material, braces):
    """First resonance of the back panel in Hz with hinged and with clamped edges."""
    sides, found = back_panel(board), []
    for fixed in (False, True):
        if braces:
            found.append(braced_mode(*sides, mm(board), int(braces), MATERIALS[material], fixed))
        else:
            found.append(panel_mode(*sides, mm(board), MATERIALS[material], fixed))
    return tuple(found)


@remembered(16)
def lines(material, braces):
    """The same for every thickness of `BOARDS`, shape (n, 2)."""
    found = np.array([modes(each, material, braces) for each in BOARDS])
    found.flags.writeable = False
    return found


def net(board, braces):
    """Net volume, m³, of the sealed box with these braces."""
    box, job = carcass(board), shelf.current()
    baffle = box.thickness(box.baffle)
    taken = PART.displacement(baffle) if job is None else taken_by_parts(job, baffle)
    return box.shares(driver=taken, braces=box.brace(braces)).net


def _headline(before, here, f3, gain):
    """What the fill and the braces do, the fill first: it is what one hears."""
    braced = f"the back panel rings first at {here[0]:.0f} Hz or above, bare at {before[0]:.0f} Hz"
    if not gain:
        return f"With these braces {braced}, and f3 goes from {f3[0]:.1f} to {f3[1]:.1f} Hz."
    filled = f"f3 from {f3[1]:.1f} to {f3[2]:.1f} Hz"
    return f"Fill that acts {gain:g} % larger takes {filled}; {braced}."


def scene(braces, board, material, gain) -> Scene:
    """The sealed box behind the seat; board in mm, fill that makes it act `gain` % larger."""
    bare, with_braces = lines(material, 0), lines(material, braces)
    here, before = modes(board, material, braces), modes(board, material, 0)
    volume, unbraced = net(board, braces), net(board, 0)
    filled = fill_volume(volume, 1 + gain / 100)
    driver = the_driver()
    boxes = (SealedBox(unbraced), SealedBox(volume), SealedBox(filled))
    f3 = [float(passband(driver, box).f3) for box in boxes]
    levels = [solve(driver, box, FREQUENCY).spl for box in boxes]
    near = float(np.abs(levels[2] - levels[0])[FREQUENCY <= HIGHEST].max())
    return Scene(
        **shown({"sealed": shared.state(driver, boxes[1])}, NOTE),
        title="What braces and fill do",
        plots=(
            Plot(
                "First resonance of the back panel",
                "board thickness, mm",
                "resonance, Hz",
                (6, 30),
                (0, 1500),
                (
                    Line(BOARDS, bare[:, 0], "quiet", "no brace: least, most"),
                    Line(BOARDS, bare[:, 1], "quiet", "no brace: least, most"),
                    Line(BOARDS, with_braces[:, 0], "sum", "as set: least, most"),
                    Line(BOARDS, with_braces[:, 1], "sum", "as set: least, most"),
                ),
                (Mark(board, f"{board:g} mm"), Mark(HIGHEST, "top of the band", "limit", "y")),
                xscale="linear",
            ),
            against_frequency(
                "Level of the sealed box at 2.83 V",
                "level, dB re 20 µPa",
                (60, 100),
                (
                    Line(FREQUENCY, levels[0], "quiet", "no brace, no fill", "sealed"),
                    Line(FREQUENCY, levels[2], "sum", "as set", "sealed"),
                ),
            ),
        ),
        headline=_headline(before, here, f3, gain),
        readout=(
            f"The back panel rings first at {span(*before, 'Hz')} bare, at {span(*here, 'Hz')} as "
            "set.",
            f"Braces take {to_litres(unbraced - volume):.2f} L, "
            f"{100 * (unbraced - volume) / unbraced:.1f} % of the net volume; f3 goes from "
            f"{f3[0]:.1f} to {f3[1]:.1f} Hz by that.",
            f"Fill makes {to_litres(volume):.1f} L act like {to_litres(filled):.1f} L; f3 "
            f"{f3[2]:.1f} Hz. Braces and fill together change the level by {near:.1f} dB at most "
            f"up to {HIGHEST:g} Hz.",
        ),
        numbers=(
            shared.hertz("back panel bare, edges hinged", before[0]),
            shared.hertz("back panel bare, edges clamped", before[1]),
            shared.hertz("as set, edges hinged", here[0]),
            shared.hertz("as set, edges clamped", here[1]),
            shared.volume_number("net volume without braces", unbraced),
            shared.volume_number("net volume with braces", volume),
            shared.volume_number("acts like, with fill", filled),
            Number("f3 bare, braced, and filled too", " / ".join(f"{f:.1f}" for f in f3) + " Hz"),
            Number("largest change of level up to 100 Hz", f"{near:.1f} dB"),
        ),
        caption=(
            f"Left: first resonance of the back panel in {material}, edges hinged (lower line) and "
            "clamped (upper line), without a brace in grey and as set in black. Right: the sealed "
            "box bare in grey and as set in black."
        ),
        alt=(
            "Two plots. Left: first resonance of the back panel in Hz, 0 to 1500, against board "
            "thickness, 6 to 30 mm: straight lines rising, the braced pair above the bare pair, "
            "all above 100 Hz at the thickness set. Right: level of the sealed box in dB re 20 "
            "µPa, 60 to 100, against frequency, 10 to 200 Hz: the two curves lie close together."
        ),
        cautions=words("workshop"),
        code=(
            "from boxlab.explainers.brace_and_fill import modes, net\n"
            f"for braces in (0, {braces:g}):\n"
            f"    print(modes({board:g}, {material!r}, braces))\n"
            f"print(net({board:g}, 0), net({board:g}, {braces:g}))"
        ),
    )


EXPLAINERS = (
    Explainer(
        name="brace_and_fill",
        question="What do a brace and a fill really do to a small bass box?",
        controls=(
            Slider("braces", "Braces", 0, 3, 1, 1, ""),
            Slider("board", "Board", 9, 25, 18, 1, "mm"),
            Choice("material", "Board of", tuple(MATERIALS), "fibre board"),
            Slider("gain", "Fill acts larger by", 0, round(100 * (FILL_LIMIT - 1)), 15, 1, "%"),
        ),
        scene=scene,
        lesson="06-fitting-the-space.ipynb",
        anchor="What-do-braces-and-fill-do",
        answer=(
            "A brace moves panel resonance up, further out of the way, and costs a little volume. "
            "Fill can make a sealed box act up to 1.4 times larger in theory, some 1.15 in "
            "practice. Neither makes a bass box play lower to speak of."
        ),
        presets={"one brace, usual fill": {}, "bare": {"braces": 0, "gain": 0}},
    ),
)
