"""From a gap in a car to the volume of air in a box that fits it, with each share shown.

A gap is as wide and high as it is, with a depth at the bottom and one at the top, measured from an
upright face to a sloping one (turn it round if the car has it the other way). Wheel arches and
humps are blocks standing in it. Sizes are in metres, volumes in m³.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

from boxlab.base.checks import not_negative, positive, suspect
from boxlab.car.solids import Block, checked_wedge

_HINT = "Sizes are in metres: use boxlab.mm(450) or boxlab.inches(18)."
FACES = ("front", "back", "left", "right", "top", "bottom")


@dataclass(frozen=True)
class Gap:
    """The space the box may take.

    >>> Gap(0.6, 0.36, 0.2, 0.13).depth_top
    0.13

    Parameters
    ----------
    width, height : m
    depth_bottom, depth_top : m
        From the upright face to the sloping one; leave out `depth_top` for a plain box.
    obstructions : tuple of Block
        Solids in the gap, in its coordinates (origin at left, upright face, floor).
    slack : m
        Kept free on every side and round every obstruction, for carpet, fasteners and rattles.
    """

    width: float
    height: float
    depth_bottom: float
    depth_top: float | None = None
    obstructions: tuple[Block, ...] = ()
    slack: float = 0.003

    def __post_init__(self):
        wedge = checked_wedge(self.width, self.height, self.depth_bottom, self.depth_top, _HINT)
        for name in ("width", "height", "depth_bottom", "depth_top"):
            suspect(name, getattr(self, name) or 0.0, 0, 3, _HINT)
        suspect("slack", not_negative("slack", self.slack, _HINT), 0, 0.1, _HINT)
        object.__setattr__(self, "obstructions", tuple(self.obstructions))
        for block in self.obstructions:
            if not isinstance(block, Block):
                raise ValueError(
                    f"obstructions holds {block!r}: give Block.at(x=…, y=…, z=…, width=…, "
                    "depth=…, height=…)"
                )
            if wedge.shared([block]) == 0:
                raise ValueError(
                    f"{block.name} lies wholly outside the gap: its place is measured from the "
                    "left, the upright face and the floor, in metres. Move it or leave it out."
                )

    @property
    def wedge(self):
        """The gap as a solid, obstructions not taken out."""
        return checked_wedge(self.width, self.height, self.depth_bottom, self.depth_top, _HINT)


@dataclass(frozen=True)
class Carcass:
    """The bare box that fills a gap: board all round, notched round the obstructions.

    >>> box = Carcass(Gap(0.6, 0.36, 0.2, 0.13), board=0.018)
    >>> round(1e3 * box.gross, 1)  # L
    21.8

    Parameters
    ----------
    gap : Gap
    board : m
        Thickness of the panels.
    baffle : one of FACES
        The panel that holds the driver.
    baffle_board : m, optional
        Its thickness, where it is doubled up.
    """

    gap: Gap
    board: float = 0.018
    baffle: str = "front"
    baffle_board: float | None = None

    def __post_init__(self):
        hint = "Thickness is in metres: 18 mm is 0.018, 3/4 in is boxlab.inches(0.75)."
        positive("board", self.board, hint)
        suspect("board", self.board, 0.003, 0.06, hint)
        if self.baffle_board is not None:
            positive("baffle_board", self.baffle_board, hint)
        if self.baffle not in FACES:
            raise ValueError(f"baffle = {self.baffle!r}: choose one of {', '.join(FACES)}")
        if self.gross <= 0:
            raise ValueError(
                "the obstructions and the board round them fill the whole gap: no air is left. "
                "Check their sizes (metres), or use thinner board."
            )
        for cover in self.covers:
            if self._splits(cover):
                raise ValueError(
                    f"{cover.name} cuts the box in two: it runs through from side to side. Give "
                    "the larger part of the gap only, or two gaps."
                )

    def _splits(self, cover):
        """True where a notch spans two directions and lies inside in the third."""
        inner, deepest = self.inner, max(self.inner.depth_bottom, self.inner.depth_top)
        limits = {
            "x": (inner.x0, inner.x1),
            "y": (inner.y0, inner.y0 + deepest),
            "z": (inner.z0, inner.z1),
        }
        inside = [
            low < getattr(cover, axis + "0") and getattr(cover, axis + "1") < high
            for axis, (low, high) in limits.items()
        ]
        across = [
            getattr(cover, axis + "0") <= low and high <= getattr(cover, axis + "1")
            for axis, (low, high) in limits.items()
        ]
        return sum(inside) == 1 and sum(across) == 2

    def thickness(self, face):
        """Thickness of the panel on `face`, m."""
        thick = self.board if self.baffle_board is None else self.baffle_board
        return thick if face == self.baffle else self.board

    @cached_property
    def outer(self):
        """Outside of the box as a wedge, notches not taken out."""
        s = self.gap.slack
        return self.gap.wedge.inset(**dict.fromkeys(FACES, s), what="slack")

    @cached_property
    def inner(self):
        """Inside of the box as a wedge, notches not taken out."""
        return self.outer.inset(**{face: self.thickness(face) for face in FACES})

    @cached_property
    def notches(self):
        """Obstructions with the slack round them: what is cut out of the outside.

        Where less than a board's thickness would be left between a notch and a wall, no board can
        stand there, and the notch runs out through the wall. One that comes less than that into
        the inside is made as deep as a board, so that a board can stand beside it.
        """
        grown = (block.grown(self.gap.slack) for block in self.gap.obstructions)
        # twice: how deep a leaning front is depends on how high the notch has become
        return tuple(self._to_the_walls(self._to_the_walls(notch)) for notch in grown)

    @cached_property
    def covers(self):
        """The same with board round them: what is lost from the inside.

        A notch that goes less than a third into a wall leaves enough of it and needs no board
        behind; one that goes deeper has a whole board there.
        """
        return tuple(
            self._behind_the_walls(notch, notch.grown(self.board)) for notch in self.notches
        )

    def _walls(self, notch):
        """Of each wall: near and far edge of a block, outer and inner place, the way in."""
        out, inn, heights = self.outer, self.inner, (notch.z0, notch.z1)
        # a leaning front counts where it is deepest over the height of the notch
        front = (max(w.a + w.b * min(max(z, w.z0), w.z1) for z in heights) for w in (out, inn))
        return (
            ("y1", "y0", *front, -1),
            ("x0", "x1", out.x0, inn.x0, 1),
            ("x1", "x0", out.x1, inn.x1, -1),
            ("y0", "y1", out.y0, inn.y0, 1),
            ("z0", "z1", out.z0, inn.z0, 1),
            ("z1", "z0", out.z1, inn.z1, -1),
        )

    def _to_the_walls(self, notch):
        moved = {}
        for near, far, outer, inner, way in self._walls(notch):
            inside = way * (getattr(notch, far) - inner) > 0
            apart = way * (getattr(notch, near) - outer)
            if inside and 0 < apart < self.board + abs(inner - outer):
                moved[near] = outer
            if 0 < way * (getattr(notch, far) - inner) < self.board:
                moved[far] = inner + way * self.board
        return replace(notch, **moved)

    def _behind_the_walls(self, notch, cover):
        moved = {}
        for _, far, outer, inner, way in self._walls(notch):
            depth = way * (getattr(notch, far) - outer)
            if 0 < depth <= abs(inner - outer) / 3:
                return notch
            if 0 < depth < abs(inner - outer):
                moved[far] = inner + way * self.board
        return replace(cover, **moved)

    @cached_property
    def outside(self):
        """Volume the box takes up, m³."""
        return self.outer.volume - self.outer.shared(self.notches)

    @cached_property
    def gross(self):
        """Volume inside the board, m³: the gross volume."""
        return self.inner.volume - self.inner.shared(self.covers)

    def brace(self, count=1, window=0.6):
        """Volume of `count` braces across the box, upright and parallel to its sides, m³.

        Each is as thick as the board, with a share `window` of its area cut out.
        """
        if not 0 <= window < 1:
            raise ValueError(f"window = {window:g}: give the open share of the brace, 0 up to 1")
        section = self.inner.volume / self.inner.width
        return not_negative("count", count) * section * self.board * (1 - window)

    def shares(self, **parts):
        """Where the volume of the gap goes.

        Parameters
        ----------
        parts : m³ each, by name: driver=…, radiators=…, port=…, brace=….

        Raises
        ------
        ValueError
            If a part is negative or nothing is left.
        """
        clean = {k: not_negative(k, v, "Give m³: boxlab.litres(1.2).") for k, v in parts.items()}
        net = self.gross - sum(clean.values())
        if net <= 0:
            raise ValueError(
                f"the parts take {sum(clean.values()) * 1e3:.2f} L and the box holds "
                f"{self.gross * 1e3:.2f} L: {-net * 1e3:.2f} L short. Take fewer parts "
                "or a larger gap. Volumes are in m³: 1.2 L is boxlab.litres(1.2)."
            )
        whole = self.gap.wedge
        blocked = whole.shared(self.gap.obstructions)
        return Shares(
            gap=whole.volume,
            obstructions=blocked,
            slack=whole.volume - blocked - self.outside,
            board=self.outside - self.gross,
            gross=self.gross,
            parts=tuple(clean.items()),
            net=net,
        )


@dataclass(frozen=True)
class Shares:
    """Volumes in m³: gap = obstructions + slack + board + gross, and gross = parts + net."""

    gap: float
    obstructions: float
    slack: float
    board: float
    gross: float
    parts: tuple[tuple[str, float], ...]
    net: float

    @property
    def rows(self):
        """(name, m³, share of the gap) from the gap down to the net volume."""
        steps = (
            ("gap", self.gap),
            ("obstructions", self.obstructions),
            ("slack", self.slack),
            ("board", self.board),
            ("gross volume", self.gross),
            *self.parts,
            ("net volume", self.net),
        )
        return tuple((name, volume, volume / self.gap) for name, volume in steps)
