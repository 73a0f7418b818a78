"""Slot, fold or flare: how long each has to be for one tuning, its air speed, loss and ringing."""

from __future__ import annotations

import numpy as np

from boxlab.base.units import disc_area, inside_edges, litres, mm, to_cm
from boxlab.draw.scene import Choice, Explainer, Line, Mark, Plot, Scene, Slider
from boxlab.explainers import _port_words as words
from boxlab.explainers import _shared as shared
from boxlab.explainers._cuts import shown
from boxlab.explainers._shared import against_frequency
from boxlab.gear import shelf
from boxlab.gear.scenario import USUAL_QL
from boxlab.gear.shelf import DRIVERS
from boxlab.model.enclosure import PortedBox
from boxlab.model.port_equivalent import CAREFUL_SPEED, WALL
from boxlab.model.port_fitting import length_for, misfits
from boxlab.model.port_loss import TOO_FAST, lost_in_port
from boxlab.model.ports_built import Flare, Slot
from boxlab.model.response import solve
from boxlab.model.validity import resonances
from boxlab.model.vents import PORT_SPEED, Port

KINDS = (
    "round tube",
    "flared tube",
    "slot",
    "slot on a wall",
    "slot as wide as the box",
    "folded slot",
)
WIDE_SLOT = KINDS[4]
FREQUENCY = np.geomspace(20, 150, 70)  # Hz
WIDE = np.geomspace(20, 2000, 241)  # Hz
START = 1.0  # m; a length to begin with, before it is solved for


def _own_slot():
    """Whether the open job has a slot, whose width is then its own and not that of some box."""
    job = shelf.current()
    return job is not None and {"slot_width", "slot_height"} <= set(job.tables.get("box", {}))


def _as_told(area, slot):
    """Area and height, m² and m: the job's own where the settings are these but for rounding."""
    if not _own_slot():
        return area, slot
    table = shelf.current().tables["box"]
    told = table["slot_width"] * table["slot_height"], table["slot_height"]
    pairs = zip((area, slot), told, strict=True)
    near = all(abs(now / own - 1) < 2e-3 for now, own in pairs)
    return told if near else (area, slot)


def shape_of(kind, net, area, slot, flare):
    """A port of this kind before its length is known: m³, m², height of a slot and flare in m."""
    area, slot = _as_told(area, slot)
    wide = 2 * np.sqrt(area / np.pi)
    if kind == "round tube":
        return Flare(wide, START, wide)
    if kind == "flared tube":
        return Flare(wide, START, wide + 2 * flare)
    if kind == WIDE_SLOT:
        _, width, room = (float(edge) for edge in inside_edges(net))
        height = slot if _own_slot() else area / width
        return Slot(area / height, height, START, 3, room)
    walls, corners = {"slot": (0, 0), "slot on a wall": (1, 0), "folded slot": (1, 2)}[kind]
    return Slot(area / slot, slot, START, walls, None, corners)


def built(kind, volume, fb, diameter, slot, flare):
    """The port of this kind that tunes `volume` L to `fb` Hz; mm for the rest.

    Raises
    ------
    ValueError
        If no length of it does.
    """
    net = litres(volume)
    return length_for(shape_of(kind, net, disc_area(mm(diameter)), mm(slot), mm(flare)), net, fb)


def scene(volume, fb, shape, diameter, slot, drive, flare, size, board) -> Scene:
    """Ports of one area for one box (L, Hz, mm, V); `shape` is the one looked at."""
    net, driver = litres(volume), DRIVERS[size]
    one = built(shape, volume, fb, diameter, slot, flare)
    kinds = {kind: shape_of(kind, net, one.area, mm(slot), mm(flare)) for kind in KINDS}
    longer = {kind: _added(kinds["round tube"]) - _added(port) for kind, port in kinds.items()}
    wall = WALL if isinstance(one, Flare) else mm(board)
    edges = tuple(float(edge) for edge in inside_edges(net + float(one.space(wall))))
    box = PortedBox(net, one.port, ql=USUAL_QL)
    smooth = solve(driver, box, FREQUENCY, drive)
    loss = lost_in_port(driver, box, FREQUENCY, drive)
    ends = one.ends
    f = {
        "shape": one,
        "longer": float(longer[shape]),
        "pipe": length_for(one, net, fb, pipe=True).length,
        "ends": ends,
        "reach": [
            float(PortedBox(net, Port(one.area, one.even, each)).tuning())
            for each in (ends.most, ends.least)
        ],
        "misfits": misfits(one, edges, wall),
        "edges": edges,
        "space": float(one.space(wall)),
        "speed": float(smooth.vent_air_speed.max()),
        "where": float(FREQUENCY[smooth.vent_air_speed.argmax()]),
        "lost": (float(loss.least.max()), float(loss.most.max())),
        "q": float(shared.at(FREQUENCY, loss.q, np.clip(fb, 20, 150))),
        "rings": {each.part: each.frequency for each in resonances(box, edge=edges[0])},
    }
    called = "slot on three walls" if shape == WIDE_SLOT and _own_slot() else shape
    text = words.headline(f, called, volume, fb)
    if shelf.current() is not None:
        shelf.say(
            "The job does not say the sides of its box: where those count, a box of its volume and "
            "of the usual shape (8 : 6 : 5) was taken."
        )
    return Scene(
        **shown({"port": solve(driver, box, WIDE, drive)}, fb, drive, one),
        title=f"A {called} for {volume:g} L at {fb:g} Hz",
        plots=(
            _lengths_plot(kinds, longer, shape),
            _speed_plot(smooth, loss),
            _loss_plot(loss, fb),
            _ringing_plot(driver, box, drive, f["rings"], fb),
        ),
        headline="" if shelf.current() is None else words.built_so(f, called, volume),
        readout=words.readout(f, text, shape, drive),
        numbers=words.numbers(f),
        caption=(
            f"{text} Upper left: all kinds of that area, each with what its ends leave open. "
            f"At {drive:g} V the {size} driver moves its air at up to {f['speed']:.0f} m/s."
        ),
        alt=(
            "Four plots. Upper left: how much longer than a round tube, −10 to 15 cm, six kinds of "
            "port have to be, each a point in a bar. Upper right: air speed in m/s, 0 to 60, "
            "against frequency, 20 to 150 Hz, with lines at 10, 17 and 30. Lower left: level lost "
            "to that speed in decibels, 0 to 6, least and most estimate. Lower right: level in "
            "decibels, 60 to 120, against frequency, 20 to 2000 Hz, with marks where the port and "
            f"the box ring. {text}"
        ),
        code=(
            "from boxlab import litres\n"
            "from boxlab.explainers.slot_or_tube import built\n"
            "from boxlab.model.enclosure import PortedBox\n"
            f"port = built({shape!r}, {volume:g}, {fb:g}, {diameter:g}, {slot:g}, {flare:g})\n"
            "print(port.length, port.ends.total, "
            f"PortedBox(litres({volume:g}), port.port).tuning())"
        ),
        warnings=loss.limits,
    )


def _added(port):
    """What ends, flares and corners make of its length, m."""
    return port.even + port.ends.total - port.length


def _lengths_plot(kinds, longer, shape):
    lines = []
    for row, kind in enumerate(KINDS):
        ends, role = kinds[kind].ends, "vent" if kind == shape else "quiet"
        # the mass wanted is fixed: what the ends add less, the port has to be longer
        bar = longer[kind] + ends.total - np.array([ends.most, ends.least])
        lines.append(Line(to_cm(bar), np.full(2, float(row)), role))
        here = to_cm(np.array([float(longer[kind])]))
        lines.append(Line(here, np.array([float(row)]), role, "", "", "points"))
    return Plot(
        "Length, beside a round tube of that area",
        "longer along the centre line, cm",
        "",
        (-10, 15),
        (len(KINDS) - 0.5, -0.5),
        tuple(lines),
        (Mark(0, ""),),
        xscale="linear",
        yticks=tuple(float(row) for row in range(len(KINDS))),
        ynames=KINDS,
    )


def _speed_plot(smooth, loss):
    return against_frequency(
        "Air speed at that drive",
        "air speed, m/s peak",
        (0, 60),
        (
            Line(FREQUENCY, smooth.vent_air_speed, "quiet", "without its loss"),
            Line(FREQUENCY, loss.speed, "vent", "with its loss", "ported"),
        ),
        (
            Mark(CAREFUL_SPEED, f"careful, {CAREFUL_SPEED:g} m/s", "quiet", "y"),
            Mark(PORT_SPEED, f"usual, {PORT_SPEED:g} m/s", "limit", "y"),
            Mark(TOO_FAST[1], f"end of the estimate, {TOO_FAST[1]:g} m/s", "limit", "y"),
        ),
        xlim=(20, 150),
    )


def _loss_plot(loss, fb):
    return against_frequency(
        "Level lost to that speed, an estimate",
        "level lost, dB",
        (-1, 6),
        (
            Line(FREQUENCY, loss.most, "limit", "sharp edges, K = 1.5"),
            Line(FREQUENCY, loss.least, "vent", "rounded, K = 1", "ported"),
        ),
        (Mark(fb, f"{fb:g} Hz"),),
        xlim=(20, 150),
    )


def _ringing_plot(driver, box, drive, rings, fb):
    return against_frequency(
        "Where port and box ring by themselves",
        "level, dB re 20 µPa",
        (60, 120),
        (Line(WIDE, solve(driver, box, WIDE, drive).spl, "sum", "level at 1 m", "ported"),),
        # the higher first: its label goes to its right, and the lower one's then to its left
        tuple(
            Mark(at, f"{part} rings, {at:.0f} Hz", "limit")
            for part, at in sorted(rings.items(), key=lambda item: -item[1])
        ),
        xlim=(20, 2000),
    )


EXPLAINERS = (
    Explainer(
        name="slot_or_tube",
        question="Slot, fold or flare: how long does the port as built have to be?",
        controls=(
            Slider("volume", "Net volume", 10, 100, 28, 0.5, "L"),
            Slider("fb", "Tuning", 28, 60, 38, 0.5, "Hz"),
            Choice("shape", "Kind of port", KINDS, "slot on a wall"),
            Slider(
                "diameter", "As large as a tube of", 50, 160, 90, 0.5, "mm",
                help="Inside. All kinds here have its area.",
            ),
            Slider("slot", "Height of a slot", 15, 80, 30, 0.5, "mm"),
            Slider("drive", "Drive", 2, 40, 20, 1, "V"),
            Slider("flare", "Flare, radius", 5, 40, 20, 1, "mm", more=True),
            Choice("size", "Driver", tuple(DRIVERS), "ten-inch", more=True),
            Slider(
                "board", "Board of the slot", 9, 25, 18, 1, "mm",
                more=True
            ),
        ),
        scene=scene,
        lesson="01-port-or-radiator.ipynb",
        anchor="How-long-does-a-slot-have-to-be",
        answer=(
            "Of one area, a slot, a fold or a flare comes out 0 to 3 cm longer than a straight "
            "tube. How open its ends stand moves a tuning of 38 Hz by about 1 Hz: cut long, "
            "measure, then shorten."
        ),
        presets={
                "folded": {"shape": "folded slot"},
                "flared": {"shape": "flared tube"},
                "as wide as the box": {"shape": "slot as wide as the box"},
            },
    ),
)  # fmt: skip
