"""Cutaways of the boxes that explainers speak of."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from boxlab.draw.cutaway import beside, cut_open
from boxlab.draw.outlines import Cutaway, Shape, Swing
from boxlab.gear import shelf
from boxlab.gear.job_parts import built_like

VOLTS = 2.83
_RING = 18.0  # mm, boards that hold a second driver off the first
RING = 60.0  # mm, a ring that two cones can face each other in, where none is said
NOTE = 41.2  # Hz, the lowest note of a bass: what a box plays where no tone is looked at


def cut(driver, box, tone, voltage=VOLTS, solved=None, chain=None, faces=(), built=None) -> Cutaway:
    """One box, moving at `tone` Hz; the open job's drivers and ports are drawn as they are."""
    job = shelf.current()
    mine = job is not None and driver.name == job.system.name
    count = job.faces if mine else 1
    table = job.tables.get("box", {}) if mine else {}
    built = built or built_like(box, table)
    board = table.get("board")
    drawn = cut_open(driver, box, count, board, tone, voltage, solved, chain, faces, built)
    return face_to_face(drawn, RING) if mine and job.faces < job.count else drawn


def two_boxes(one, other, tone, voltage=VOLTS, names=()) -> Cutaway:
    """Two boxes side by side, each a pair of driver and box, at one tone."""
    return beside(cut(*one, tone, voltage), cut(*other, tone, voltage), names=names)


def shown(shows, tone, voltage=None, built=None) -> dict:
    """What a scene `shows`, and the cutaway of its boxes, side by side by name, at `tone` Hz.

    They move at `voltage` V, or as they were solved; `built` is the slot or flare of their ports.
    """
    boxes = {name: r for name, r in shows.items() if r.box is not None}
    cuts = [
        cut(r.driver, r.box, float(tone), voltage or r.voltage, built=built) for r in boxes.values()
    ]
    if not cuts:
        return {"shows": shows}
    whole = beside(*cuts, names=tuple(boxes)) if len(cuts) > 1 else cuts[0]
    return {"shows": shows, "cutaway": whole}


def shaken(cut: Cutaway, masses, whole: float) -> Cutaway:
    """The same, with the box itself moved by what moves in it, as if it stood on nothing.

    `masses` are those that go with each swing and `whole` that of the box with all in it, in kg.
    """
    if not cut.swings:
        return cut
    way = sum(
        mass * np.array([swing.dx, swing.dy]) * np.exp(1j * np.radians(swing.phase))
        for mass, swing in zip(masses, cut.swings, strict=True)
    )
    along = np.argmax(np.abs(way))
    back = -way / whole * np.exp(-1j * np.angle(way[along]))  # at its own peak
    body = Swing("the box itself", *back.real, float(np.degrees(np.angle(way[along]))))
    still = len(cut.swings)
    shapes = tuple(replace(s, moves=still) if s.moves < 0 else s for s in cut.shapes)
    moved = f" The box itself, free to move, goes {np.hypot(*back.real):.2g} mm the other way."
    return replace(cut, shapes=shapes, swings=(*cut.swings, body), words=cut.words + moved)


def face_to_face(cut: Cutaway, ring: float) -> Cutaway:
    """The same, with a second driver in front of the first, face to face, `ring` mm between them.

    Both cones go the same way: the second is the first one's mirror image, out in front.
    """
    if not cut.shapes:
        return cut
    cone = next(s for s in cut.shapes if s.role == "cone")
    driver = [s for s in cut.shapes if s.moves == cone.moves or s.role == "metal"]
    front, across = min(x for x, _ in cone.points), [y for _, y in cone.points]
    low, high = min(across), max(across)
    middle = front - ring / 2
    mirrored = [replace(s, points=tuple((2 * middle - x, y) for x, y in s.points)) for s in driver]
    boards = [
        Shape(((front - ring, y), (front, y), (front, y + side), (front - ring, y + side)), "wood",
              True)
        for y, side in ((high, _RING), (low, -_RING))
    ]  # fmt: skip
    shapes = (*cut.shapes, *boards, *mirrored)
    left = min(x for shape in mirrored for x, _ in shape.points) - 10
    words = (
        cut.words + " A second driver stands face to face with it, outside; both cones go one way."
    )
    return replace(
        cut, shapes=shapes, limits=(min(cut.limits[0], left), *cut.limits[1:]), words=words
    )
