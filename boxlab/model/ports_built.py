"""Ports as they are built: slots, folded slots and flared tubes, and the plain port each acts as.

The model knows a port by area, length and ends. Each shape here gives such a `Port`, with what its
ends may add at the least and at the most: a free end, and one in a large wall. Between these lies
every finite flange (Dalmont, Nederveen and Joly, J. Sound Vib. 244 (2001) 505, from memory).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from boxlab.base.checks import Record, not_negative, positive, same_shape, suspect, whole
from boxlab.base.units import disc_area
from boxlab.model.port_ends import (
    arc_length,
    cone_length,
    corner_cut,
    rectangle_end,
    step_end,
)
from boxlab.model.vents import FLANGED_END, FREE_END, Port

FREE = FREE_END / FLANGED_END  # what a free end adds over a flanged one
WALLS = (
    "no wall beside the inner end",
    "the inner end on one wall",
    "the inner end in an edge of the box, on two walls",
    "as wide as the box, on three walls",
)
SHAPES = ("arc", "cone")
_LENGTH = "Lengths are in metres: use boxlab.cm(20) or boxlab.inches(8)."


@dataclass(frozen=True)
class Ends:
    """What the ends add, m of even port: inner, outer; least and most of both together; why."""

    inner: float | np.ndarray
    outer: float | np.ndarray
    least: float | np.ndarray
    most: float | np.ndarray
    why: str

    @property
    def total(self):
        """Inner and outer end together, m."""
        return self.inner + self.outer


@dataclass(frozen=True, eq=False)
class Slot(Record):
    """A rectangular port. Any number but `walls` may be an array, one value for each design.

    Parameters
    ----------
    width, height : inside, m; the height is the shorter side, across which it is folded
    length : along the centre line, m
    walls : how many walls of the box its inner end lies on: 0; 1, along its width; 2, in an edge;
        3, where it is as wide as the box
    room : inner height of the box at the inner end, m; needed with 3 walls
    corners : sharp corners of 90° along it; each takes 0.44 of the height off (`corner_cut`)

    A wall at the inner end mirrors it: the end is that of a slot twice as high, or as high and as
    wide (image principle, from memory). The outer end is taken as flanged, the inner one as free.

    >>> slot = Slot(0.3, 0.03, 0.4, walls=1)
    >>> round(1e3 * float(slot.ends.inner)), round(1e3 * float(slot.ends.outer))
    (40, 34)

    Raises
    ------
    ValueError
        For a side or length that is not above zero, other walls than 0 to 3, three walls without
        their room, or so many corners that no length is left.
    """

    width: float | np.ndarray
    height: float | np.ndarray
    length: float | np.ndarray
    walls: int = 0
    room: float | np.ndarray | None = None
    corners: int = 0

    def __post_init__(self):
        for name in ("width", "height"):
            self._store(name, positive(f"slot {name}", getattr(self, name), _LENGTH))
            suspect(f"slot {name}", getattr(self, name), 1e-3, 2, _LENGTH)
        self._store("length", not_negative("slot length", self.length, _LENGTH))
        if self.walls not in range(4):
            raise ValueError(
                f"walls = {self.walls!r}: count the walls of the box that the slot's inner end "
                "lies on: 0, 1, 2, or 3 where it is as wide as the box."
            )
        if self.corners:
            self._store("corners", whole("corners", self.corners))
        if self.walls == 3 and self.room is None:
            raise ValueError(
                "room is missing: with 3 walls give the inner height of the box at the slot's "
                "inner end, in metres, the slot itself included."
            )
        same_shape("Slot", width=self.width, height=self.height, length=self.length)
        if np.any(np.asarray(self.even) < 0):
            raise ValueError(
                f"length = {np.ravel(self.length)[0]:g} m is too short for {self.corners} corners "
                f"of a slot {np.ravel(self.height)[0]:g} m high. Give the length along the centre "
                "line, corners included."
            )

    @property
    def area(self):
        """Cross-section, m²."""
        return self.width * self.height

    @property
    def even(self):
        """Length of a straight slot as heavy as this one without its ends, m."""
        return self.length - self.corners * corner_cut(self.height)

    @property
    def ends(self) -> Ends:
        """What its ends add, m."""
        outer = rectangle_end(self.width, self.height)
        if self.walls == 3:
            inner, most = (step_end(self.height, self.room, thick) for thick in (False, True))
        else:
            sides = (1 + (self.walls == 2)) * self.width, (1 + (self.walls > 0)) * self.height
            most = rectangle_end(*sides)
            inner = FREE * most
        why = (
            f"{WALLS[self.walls]}: image principle, from memory; pistons of that shape, derived"
            if self.walls < 3
            else f"{WALLS[3]}: flow in one plane, derived"
        )
        return Ends(inner, outer, inner + FREE * outer, most + outer, why)

    @property
    def port(self) -> Port:
        """The plain port that it acts as."""
        return Port(self.area, self.even, self.ends.total)

    def space(self, board):
        """Room it takes of the box, m³: its air, and those of its boards that are not the box's."""
        t = not_negative("board", board, "It is in metres.")
        wide = self.width + t * (2, 2, 1, 0)[self.walls]
        return wide * (self.height + t * (2 if self.walls == 0 else 1)) * self.length

    def sizes(self, board):
        """How it lies in a box when straight, m: (along, across, high), boards included."""
        t = board * np.array([2, 2, 1, 0])[self.walls]
        high = self.height + board * (2 if self.walls == 0 else 1)
        return self.length, self.width + t, high


@dataclass(frozen=True, eq=False)
class Flare(Record):
    """A round port that widens at its ends. Any of its lengths may be an array.

    Parameters
    ----------
    diameter : inside, m, of the even part
    length : of the whole along its axis, flares included, m
    mouth : inside diameter at the very end, m
    run : length of one flare along the axis, m; left out, that of a quarter circle
    flares : at how many ends: 2, or 1 for the outer end alone
    shape : "arc", a quarter of an ellipse, or "cone"

    A mouth's end correction counts by S0/S_mouth, as all mass in a wider part does (from memory).

    >>> port = Flare(0.1, 0.3, 0.15).port
    >>> round(float(port.effective_length - 0.3), 3)
    0.041

    Raises
    ------
    ValueError
        For lengths that are not above zero, a mouth narrower than the port, flares that are longer
        together than the port, another number of flares or another shape.
    """

    diameter: float | np.ndarray
    length: float | np.ndarray
    mouth: float | np.ndarray
    run: float | np.ndarray | None = None
    flares: int = 2
    shape: str = "arc"

    def __post_init__(self):
        if self.shape not in SHAPES:
            raise ValueError(f"shape = {self.shape!r}: a flare is an {' or a '.join(SHAPES)}.")
        if self.flares not in (1, 2):
            raise ValueError(f"flares = {self.flares!r}: a port has them at 1 or 2 of its ends.")
        self._store("diameter", positive("port diameter", self.diameter, _LENGTH))
        self._store("mouth", positive("mouth", self.mouth, _LENGTH))
        run = (self.mouth - self.diameter) / 2 if self.run is None else self.run
        _ = self._shaped(self.diameter, self.mouth, np.maximum(run, 0.0))  # refuses a narrow mouth
        self._store("run", not_negative("run", run, _LENGTH))
        self._store("length", not_negative("port length", self.length, _LENGTH))
        suspect("port length", self.length, 0, 3, _LENGTH)
        if np.any(np.asarray(self.length) < self.flares * np.asarray(self.run) * (1 - 1e-12)):
            raise ValueError(
                f"length = {np.ravel(self.length)[0]:g} m is less than {self.flares} flare(s) of "
                f"{np.ravel(self.run)[0]:g} m. Give the length of the whole, flares included."
            )

    @property
    def _shaped(self):
        return arc_length if self.shape == "arc" else cone_length

    @property
    def area(self):
        """Cross-section of the even part, m²."""
        return disc_area(self.diameter)

    @property
    def even(self):
        """Length of an even tube as heavy as this one without its ends, m."""
        one = self._shaped(self.diameter, self.mouth, self.run)
        return self.length - self.flares * (self.run - one)

    @property
    def ends(self) -> Ends:
        """What its ends add, m of the even tube: the outer one flanged, the inner one free."""
        mouth = self.diameter**2 / (2 * self.mouth)  # a_mouth·S0/S_mouth
        inner = mouth if self.flares == 2 else self.diameter / 2
        outer = FLANGED_END * mouth
        least, most = FREE_END * (inner + mouth), FLANGED_END * (inner + mouth)
        why = "end of the mouth by S0/S_mouth, from memory; flare as plane waves, derived"
        return Ends(FREE_END * inner, outer, least, most, why)

    @property
    def port(self) -> Port:
        """The plain port that it acts as."""
        return Port(self.area, np.maximum(self.even, 0.0)[()], self.ends.total)

    def space(self, wall):
        """Room it takes of the box, m³: as a tube of its own width with its wall, flares too.

        The flares are counted as cones, which is a little too much, on the safe side for an arc.
        """
        t = 2 * not_negative("wall", wall, "It is in metres.")
        d, m = self.diameter + t, self.mouth + t
        cones = math.pi / 12 * self.run * (d**2 + d * m + m**2)
        return disc_area(d) * (self.length - self.flares * self.run) + self.flares * cones

    def sizes(self, wall):
        """How it lies in a box, m: (along, across, high), at its widest, the wall included."""
        widest = self.mouth if self.flares == 2 else self.diameter
        return self.length, widest + 2 * wall, widest + 2 * wall
