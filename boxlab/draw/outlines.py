"""The parts of a cutaway, as data: outlines in mm, and how they move."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Shape:
    """One outline in a cutaway: points (x, y) in mm.

    `role` is a role of curves, or what it is made of: "wood", "air", "metal". Where it moves,
    `moves` is the place of its `Swing`; `shares` says how far each point goes along with it, all
    the way if left out.
    """

    points: tuple[tuple[float, float], ...]
    role: str
    filled: bool = False
    moves: int = -1
    shares: tuple[float, ...] = ()


@dataclass(frozen=True)
class Swing:
    """A motion at one tone: (`dx`, `dy`) mm at its outward peak, `phase` degrees ahead."""

    name: str
    dx: float
    dy: float
    phase: float = 0.0


@dataclass(frozen=True)
class Cutaway:
    """The thing itself, cut open, to scale, and how its parts move at one tone."""

    shapes: tuple[Shape, ...]
    limits: tuple[float, float, float, float]  # mm: left, right, bottom, top of what is drawn
    words: str  # what it shows, for somebody who cannot see it
    swings: tuple[Swing, ...] = ()
    tone: float = 0.0  # Hz; 0 where nothing moves
    names: tuple[tuple[float, str], ...] = ()  # (mm from the left, words) under its parts
    volts: float = 0.0  # V rms at the driver that move it so; 0 where they differ
    reach: float = 10.0  # mm that a motion may take up when it is drawn larger than it is
    plan: bool = False  # it is not to scale, so no bar of a known length stands beside it
