"""20,000 random boxes of each kind, solved once, and those of them that pass the ceiling."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from boxlab.design.tradeoff_solver import best_box
from boxlab.model.passband import (
    GRID,
    ROUNDING,
    Passband,
    ceiling,
    corner,
    levels,
    passband,
    why_beyond,
)
from boxlab.model.random_designs import Designs, random_designs

COUNT = 20_000
LOSSES = ("all", "with losses", "QL 10 or less")


@dataclass(frozen=True, eq=False)
class Crowd:
    """20,000 random designs of one kind, and what their solved responses come to; shape (COUNT,).

    `over` is k over the published ceiling, `why` what `why_beyond` says of each, and `order` the
    designs from the largest k down.
    """

    kind: str
    designs: Designs
    found: Passband
    over: np.ndarray
    why: np.ndarray
    order: np.ndarray


@lru_cache(maxsize=3)
def crowd(kind) -> Crowd:
    """Solve the crowd of one kind: once for each session, a second or two."""
    designs = random_designs(kind, COUNT)
    found = passband(designs.driver, designs.box)
    over = found.constant / ceiling(kind)
    return Crowd(kind, designs, found, over, why_beyond(kind, found), np.argsort(-over))


def kept(many, sag, losses):
    """Which designs are left: at most `sag` dB of sag, and with these losses; bool, (COUNT,)."""
    mask = many.found.sag <= sag
    if losses != LOSSES[0]:
        mask &= many.designs.driver.rms > 0
        ql = getattr(many.designs.box, "ql", None)
        if losses == LOSSES[2] and ql is not None:
            mask &= ql <= 10
    return mask


def tighter(kind, drop):
    """k of the designs beyond the ceiling if f3 is read at `drop` dB instead of −3.01.

    In s³/m³, for those that pass it by more than the rounding, the largest first.
    """
    many = crowd(kind)
    places = many.order[many.over[many.order] > 1 + ROUNDING]
    beyond, found = many.designs[places], many.found
    edge = corner(GRID, levels(beyond.driver, beyond.box), drop)
    return found.efficiency[places] / (edge**3 * found.volume[places])


@lru_cache(maxsize=3)
def still_beyond(kind):
    """(those beyond, those of them still ahead of the best alignment, both read at −1 dB)."""
    readings = tighter(kind, -1.0)
    driver, box = best_box("ported", 0.014, 40.0)
    found = passband(driver, box)
    edge = corner(GRID, levels(driver, box), -1.0)
    best = found.efficiency / (edge**3 * found.volume)
    return readings.size, int((readings > best).sum())
