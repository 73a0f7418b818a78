"""Cutaways of the boxes that explainers speak of."""

from __future__ import annotations

from boxlab.draw.cutaway import beside, cut_open
from boxlab.draw.scene import Cutaway
from boxlab.gear import shelf

VOLTS = 2.83


def cut(driver, box, tone, voltage=VOLTS, solved=None, chain=None, faces=()) -> Cutaway:
    """One box, moving at `tone` Hz. The open job's drivers are drawn as many as they are."""
    job = shelf.current()
    mine = job is not None and driver.name == job.system.name
    count = job.count if mine else 1
    board = job.tables.get("box", {}).get("board") if mine else None
    return cut_open(driver, box, count, board, tone, voltage, solved, chain, faces)


def two_boxes(one, other, tone, voltage=VOLTS) -> Cutaway:
    """Two boxes side by side, each a pair of driver and box, at one tone."""
    return beside(cut(*one, tone, voltage), cut(*other, tone, voltage))
