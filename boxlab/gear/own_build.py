"""The open job's box as a contender: as it is, or the same idea built into somebody else's space.

A job says the net volume of its box and seldom what it takes outside; that is worked out then, for
a box of the usual shape, and said.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import cached_property

from boxlab.base.units import BOX_SHAPE, litres, to_litres
from boxlab.car.compare_builds import port_in
from boxlab.car.joinery import Carcass, Gap
from boxlab.design.fair_comparison import Contender
from boxlab.gear import shelf
from boxlab.gear.job import Job
from boxlab.gear.job_assumed import BOARD
from boxlab.model.driver import Driver
from boxlab.model.enclosure import PortedBox, RadiatorBox, SealedBox

NAME = "your box"


@dataclass(frozen=True, eq=False)
class OwnBuild:
    """What goes into the job's box, and the box as it is. Volumes in m³."""

    driver: Driver
    made: SealedBox | PortedBox | RadiatorBox
    taken: float  # by drivers and radiators
    board: float
    load: float  # Ω, rated, of all its coils

    @cached_property
    def space(self) -> float:
        """L outside: the net volume, what stands in it and the board, sides as 8 : 6 : 5."""
        from scipy.optimize import brentq  # half a second to load, and few questions need it

        wanted = float(self.made.volume) + self.taken + self._port()
        most = 2 * wanted ** (1 / 3) + 20 * self.board
        unit = brentq(lambda u: _inside(u, self.board) - wanted, 2 * self.board / 5, most)
        a, b, c = BOX_SHAPE
        found = float(to_litres(a * b * c * unit**3))
        shelf.say(
            f"How much room your box takes outside is not in the job: {found:.0f} L, for a box of "
            f"the usual shape of {1e3 * self.board:.0f} mm board."
        )
        return found

    def _port(self):
        if not isinstance(self.made, PortedBox):
            return 0.0
        return float(self.made.port.area * self.made.port.length * self.made.count)

    def box(self, space):
        """The same parts in `space` L outside, tuned as the job's box is.

        Raises
        ------
        ValueError
            If it cannot be built in so little.
        """
        a, b, c = BOX_SHAPE
        net = _inside((litres(space) / (a * b * c)) ** (1 / 3), self.board) - self.taken
        if net <= 0:
            raise ValueError(f"driver and radiators take {to_litres(self.taken):.1f} L of it.")
        box = self.made
        if isinstance(box, SealedBox):
            return SealedBox(net)
        fb = float(box.tuning())
        if isinstance(box, RadiatorBox):
            bare = replace(box.radiator, added_mass=0.0)
            return RadiatorBox.tuned(net, fb, bare, count=box.count, ql=box.ql)
        area = float(box.port.area)
        net, _ = port_in(net, fb, area, box.count)
        return PortedBox.tuned(net, fb, area, count=box.count, ql=box.ql, max_length=3)

    def contender(self, name=NAME, space=None):
        """The box as a `Contender`, as it is or in `space` L outside."""
        room = self.space if space is None else space
        try:
            box, problem = (self.made if space is None else self.box(space)), ""
        except ValueError as error:
            box, problem = None, f"cannot be built in {space:.3g} L outside: {error}"
        return Contender(name, self.driver, box, self.load, litres(room), problem=problem)


def _inside(unit, board):
    """Volume within the board, m³, of a box of the usual shape whose edges are `unit` m each."""
    a, b, c = (max(0.0, k * unit - 2 * board) for k in BOX_SHAPE)
    return a * b * c


def taken_by_parts(job: Job, board: float) -> float:
    """What drivers and radiators take inside a box of this board, m (m³)."""
    taken = shelf.DRIVER_PARTS[shelf.OWN].displacement(board)
    if job.radiators:
        taken += shelf.RADIATOR_PARTS[shelf.OWN].displacement(board)
    return taken


def own_carcass(job: Job, board: float) -> Carcass:
    """The bare box in this board, m: what fills the job's gap, or one of the usual shape."""
    if job.gap is not None:
        return Carcass(job.gap, board)
    unit = (litres(own_build(job).space) / math.prod(BOX_SHAPE)) ** (1 / 3)
    return Carcass(Gap(*(edge * unit for edge in BOX_SHAPE), slack=0.0), board)


def own_build(job: Job) -> OwnBuild:
    """What the open job brings to a comparison.

    Raises
    ------
    JobError
        If it does not say enough for its driver or its box.
    """
    board = job.tables.get("box", {}).get("board", BOARD)
    return OwnBuild(job.system, shelf.even_box(job), taken_by_parts(job, board), board, job.load)
