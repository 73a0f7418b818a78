"""One gap, one driver, one amplifier: sealed, ported and radiator builds side by side."""

from __future__ import annotations

from types import MappingProxyType

import numpy as np

from boxlab.base.cautions import words
from boxlab.base.units import disc_area, mm, to_pounds
from boxlab.car.build_value import verdict
from boxlab.car.clearance import place
from boxlab.car.compare_builds import compare_builds
from boxlab.car.cut_list import weight
from boxlab.draw.scene import Choice, Explainer, Line, Mark, Number, Scene, Slider
from boxlab.explainers import _build_words as say
from boxlab.explainers import _shared as shared
from boxlab.explainers._cuts import shown
from boxlab.explainers._gaps import view
from boxlab.explainers._shared import FREQUENCY, against_frequency
from boxlab.gear import shelf
from boxlab.gear.demo_parts import PLACES, Place
from boxlab.gear.scenario import USUAL_QL
from boxlab.gear.shelf import DRIVER_PARTS, DRIVERS, RADIATOR_PARTS, RADIATORS, remembered
from boxlab.model.response import solve
from boxlab.model.validity import PORT_SPEED

LOAD = 4.0  # Ω, at which the amplifier is rated
TOP = 100.0  # Hz, the upper end of the listening band
ROWS = MappingProxyType({"sealed": 3, "ported": 2, "radiator": 1})
# limit -> colour and name in the key; a vent has one limit of its own, travel or air speed
LIMITS = MappingProxyType(
    {
        "cone excursion": ("cone", "cone"),
        "radiator excursion": ("vent", "radiator or port air"),
        "air speed": ("vent", "radiator or port air"),
        "amplifier": ("electrical", "amplifier"),
        "heat": ("limit", "heat"),
    }
)


def _place(gap):
    """A gap of the class by its name, or "own": the open job's, its parts side by side in front."""
    if gap != shelf.OWN:
        return PLACES[gap]
    mine = shelf.current().gap
    aside = 0.23 * mine.width
    return Place(mine, "front", (-aside, 0.0), (aside, 0.0), "front", "your gap")


@remembered(64)
def builds(gap, size, fb, port, power, low, board, speed):
    """Carcass and three builds for settings as the panel gives them (mm, Hz, W, m/s)."""
    here = _place(gap)
    box = here.carcass(mm(board))
    found = compare_builds(
        box, DRIVERS[size], DRIVER_PARTS[size], fb=fb, port_area=disc_area(mm(port)),
        radiator=RADIATORS[size], radiator_part=RADIATOR_PARTS[size], power=power, load=LOAD,
        air_speed=speed, band=(low, TOP), brace=box.brace(), ql=USUAL_QL,
        driver_at=here.driver_at, radiator_face=here.radiator_face, radiator_at=here.radiator_at,
    )  # fmt: skip
    return box, found


def scene(gap, size, fb, port, power, low, board, speed) -> Scene:
    """Three builds for one gap; sizes in mm, fb and low in Hz, power in W, speed in m/s."""
    box, found = builds(gap, size, fb, port, power, low, board, speed)
    here, part = _place(gap), DRIVER_PARTS[size]
    said = verdict(found)
    made_up = shelf.made_up_radiator(size)
    parts_told = ("driver",) if made_up else ("driver", "radiator")
    guessed = [each for each in parts_told if "depth" in shelf.from_size(each, size)]
    guessed += ["radiator"] if made_up else []
    best = say.verdict_on(found, said[len(found)], part, guessed, made_up)
    by_kind = {b.kind: b for b in found}
    parts = ((part, place(box, *here.driver_at)),)
    if by_kind["radiator"].box and here.radiator_face == here.baffle:
        parts += ((RADIATOR_PARTS[size], place(box, *here.radiator_at)),)
    mass = weight(box, hardware=part.mass, openings=np.pi * part.cutout**2 / 4)
    drawing = (
        view(box, "front", "The gap from the front, to scale", (-20, 680), (-20, 440), parts)
        if here.baffle == "front"
        else view(box, "side", "The gap from the side, to scale", (-20, 680), (-20, 440), parts)
    )
    return Scene(
        **shown(
            {b.kind: shared.state(DRIVERS[size], b.box) for b in found if b.box is not None}, fb
        ),
        title=f"Three builds for a gap: {'yours' if gap == shelf.OWN else gap}, "
        f"{'your driver' if size == shelf.OWN else size}",
        plots=(
            _loud_plot(found, low, fb),
            _stops_plot(found, low),
            _level_plot(found, DRIVERS[size], fb, low),
            drawing,
        ),
        headline=say.headline(found, best, guessed, made_up),
        readout=(*say.readout(found, best, guessed, made_up), *said[len(found) + 1 :]),
        numbers=_numbers(found, mass, guessed),
        caption=(
            f"The {size} driver in {here.words}, {low:g} to {TOP:g} Hz, amplifier {power:g} W into "
            f"{LOAD:g} Ω. {say.dashes(found, port, fb)}Upper right: what stops each, by colour."
            + ("" if len(say.suited(found)) == len(found) else f" {best}")
        ),
        alt=(
            "Four plots. Upper left: loudest level in dB re 20 µPa, 70 to 120, against frequency, "
            f"20 to 200 Hz, for the builds that can be made. {best} Upper right: "
            "for each build a bar across the frequencies coloured by what stops it there. Lower "
            "left: level at 2.83 V, 60 to 100 dB. Lower right: the box in the gap, to scale in mm."
        ),
        code=(
            "from boxlab.car.build_value import verdict\n"
            "from boxlab.explainers.builds_for_the_gap import builds\n"
            f"box, found = builds({gap!r}, {size!r}, fb={fb:g}, port={port:g}, power={power:g}, "
            f"low={low:g}, board={board:g}, speed={speed:g})\n"
            "print(*verdict(found), sep='\\n')"
        ),
        warnings=tuple(note for b in found for note in b.notes),
        cautions=words("workshop", "loose box"),
    )


def _loud_plot(found, low, fb):
    return against_frequency(
        "Loudest steady tone before something stops",
        "level, dB re 20 µPa",
        (70, 120),
        tuple(
            Line(b.ceiling.frequency, b.ceiling.spl, "sum", b.kind, b.kind)
            for b in found
            if b.box is not None
        ),
        (Mark(low, f"from {low:g} Hz"), Mark(fb, f"tuning {fb:g} Hz")),
        xlim=(20, 200),
    )


def _stops_plot(found, low):
    lines = []
    for b in found:
        if b.box is None:
            continue
        for limit, (role, name) in LIMITS.items():
            y = np.where(b.ceiling.limit == limit, float(ROWS[b.kind]), np.nan)
            for shift in (-0.05, 0.0, 0.05):  # three strokes make a bar
                lines.append(Line(b.ceiling.frequency, y + shift, role, name))
    return against_frequency(
        "What stops it",
        "build",
        (0.5, 3.5),
        tuple(lines),
        (Mark(low, ""),),
        yticks=tuple(ROWS.values()),
        ynames=tuple(ROWS),
        xlim=(20, 200),
    )


def _level_plot(found, driver, fb, low):
    return against_frequency(
        "Level at 2.83 V, 1 m, half space",
        "level, dB re 20 µPa",
        (60, 100),
        tuple(
            Line(FREQUENCY, solve(driver, b.box, FREQUENCY).spl, "sum", b.kind, b.kind)
            for b in found
            if b.box is not None
        ),
        (Mark(fb, f"tuning {fb:g} Hz"),),
        xlim=(20, 200),
    )


def _numbers(found, mass, guessed):
    rows = []
    for b in found:
        if b.box is None:
            rows.append(Number(b.kind, "cannot be built"))
            continue
        rows.append(shared.volume_number(f"{b.kind}: net volume", b.shares.net))
        if b.kind != "sealed":
            rows.append(shared.hertz(f"{b.kind}: tuning", b.tuning))
        rows.append(shared.hertz(f"{b.kind}: f3", b.f3))
        rows.append(Number(f"{b.kind}: loudest, average", f"{b.average:.1f} dB"))
        rows.append(Number(f"{b.kind}: loudest at its weakest", f"{b.weakest[1]:.1f} dB"))
        if b.kind == "radiator":
            rows.append(shared.mass_number("radiator: weights", b.added_mass))
        if b.kind == "ported":
            rows.append(shared.length_number("ported: port length", b.box.port.length))
        fits = "yes" if b.buildable else "no"
        if any(say.unknown(c, guessed) for c in b.fits) and say.suited([b], guessed):
            fits = "if not too deep"
        rows.append(Number(f"{b.kind}: fits", fits))
    rows.append(Number("box with the driver", f"{mass:.1f} kg", f"{to_pounds(mass):.0f} lb"))
    return tuple(rows)


EXPLAINERS = (
    Explainer(
        name="builds_for_the_gap",
        question="Sealed, ported or radiator: which of them suits this gap?",
        controls=(
            Choice("gap", "Gap", tuple(PLACES), "behind the seat"),
            Choice("size", "Driver and radiator", tuple(DRIVERS), "ten-inch"),
            Slider("fb", "Tuning of port and radiator", 32, 60, 42, 1, "Hz"),
            Slider("port", "Port, inside diameter", 40, 130, 76, 1, "mm"),
            Slider("power", "Amplifier, into 4 Ω", 50, 600, 300, 25, "W"),
            Slider("low", "Lowest note that counts", 25, 50, 30, 1, "Hz"),
            Slider("board", "Board", 9, 25, 18, 1, "mm", more=True),
            Slider("speed", "Air speed allowed", 8, 30, PORT_SPEED, 1, "m/s", more=True),
        ),
        scene=scene,
        lesson="06-fitting-the-space.ipynb",
        anchor="Which-build-for-this-gap",
        answer=(
            "It depends on the lowest note that counts. Down to the tuning the radiator is usually "
            "loudest in a small gap; well below it, sealed. A port wins where a quiet one fits."
        ),
        presets={
                "behind the seat": {},
                "boot corner": {"gap": "boot corner"},
                "a quiet port": {"port": 100.0},
                "played from 40 Hz": {"low": 40.0},
            },
    ),
)  # fmt: skip
