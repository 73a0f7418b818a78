"""Panels as they lie on the bench: cut-outs in the panel's own coordinates, one piece at a time.

A panel is a rectangle along two of the gap's axes. Notches cut holes or recesses into it, and where
they reach from edge to edge they part it into several pieces.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from boxlab.base.units import to_inches
from boxlab.car.solids import Block, Wedge

LEAST = 1e-9  # m³: below this a sliver is only rounding
NEAR = 1e-4  # m: as near to a sixteenth of an inch as that, it is one
_FAR = 1e3  # m, beyond any box


@dataclass(frozen=True)
class Shaping:
    """What to do to a piece: words with a place for each of `lengths`, m, and `{u}` for the unit.

    `places` are the digits after the point in mm.
    """

    text: str
    lengths: tuple[float, ...] = ()
    places: int = 0

    @property
    def metric(self):
        """The words, in mm."""
        told = (f"{1e3 * length:.{self.places}f}" for length in self.lengths)
        return self.text.format(*told, u="mm")

    @property
    def inches(self):
        """The words, in inches to the nearest sixteenth."""
        return self.text.format(*map(sixteenths, self.lengths), u="in")


@dataclass(frozen=True)
class Panel:
    """One piece: the rectangle to cut it from (m), how to shape it, its finished volume (m³).

    `between` is whether its length, and its width, go between two other boards.
    """

    name: str
    length: float
    width: float
    thickness: float
    volume: float
    shaping: tuple[Shaping, ...] = ()
    between: tuple[bool, bool] = (False, False)

    @property
    def shape(self):
        """How to shape it, in words and mm."""
        return tuple(each.metric for each in self.shaping)

    @property
    def words(self):
        """One line for the shop, in mm."""
        line = (
            f"{self.name}: {self.length * 1e3:.1f} × {self.width * 1e3:.1f} × "
            f"{self.thickness * 1e3:g} mm"
        )
        return "; ".join((line, *self.shape))

    @property
    def inches(self):
        """One line for the shop, in inches to the nearest sixteenth.

        What goes between two boards is rounded down; a board of no whole sixteenth is told in
        decimals.
        """
        sizes = [
            sixteenths(size, down)
            for size, down in zip((self.length, self.width), self.between, strict=True)
        ]
        thick = to_inches(self.thickness)
        even = abs(16 * thick - round(16 * thick)) < 16 * to_inches(NEAR)
        sizes.append(sixteenths(self.thickness) if even else f"{thick:.2f}")
        line = f"{self.name}: {' × '.join(sizes)} in"
        return "; ".join((line, *(each.inches for each in self.shaping)))


def sixteenths(length: float, down: bool = False) -> str:
    """A length in m as a tape reads it, to the nearest sixteenth of an inch, or `down` to one.

    >>> sixteenths(0.354), sixteenths(0.0254), sixteenths(0.018), sixteenths(0.3515, down=True)
    ('13 15/16', '1', '11/16', '13 13/16')
    """
    count = to_inches(length) * 16
    whole, part = divmod(math.floor(count + 16 * to_inches(NEAR)) if down else round(count), 16)
    step = math.gcd(part, 16)
    texts = ([str(whole)] if whole else []) + ([f"{part // step}/{16 // step}"] if part else [])
    return " ".join(texts) or "0"


@dataclass(frozen=True)
class Frame:
    """How a panel lies on the bench: its length and width along two of the gap's axes.

    `along` and `across` are (axis, where the panel begins on it, where it ends, m of panel for each
    m of axis, the edge it is measured from); `through` is the axis of its thickness, with its
    limits, or None for the leaning front.
    """

    along: tuple
    across: tuple
    through: tuple | None


Solids = tuple[Sequence[Wedge], Sequence[Wedge]]  # what is added, and what is taken away


def pieces(panel: Panel, solids: Solids, frame: Frame, notches: Sequence[Block]) -> Iterator[Panel]:
    """The panel as it is cut: one piece, or several where notches part it from edge to edge.

    Parameters
    ----------
    panel : Panel, the whole of it
    solids : wedges that make it up, those added and those taken away
    frame : Frame, how it lies on the bench
    notches : blocks cut out of it, as `Carcass.notches`

    >>> board = Wedge(0.0, 0.6, 0.0, 0.018, 0.0, 0.3, 0.0)
    >>> along, across = ("x", 0.0, 0.6, 1.0, "left end"), ("y", 0.0, 0.3, 1.0, "back edge")
    >>> whole = Panel("top", 0.6, 0.3, 0.018, board.volume)
    >>> tunnel = Block(0.2, 0.3, 0.0, 0.4, 0.0, 0.1, "tunnel")
    >>> frame = Frame(along, across, ("z", 0.0, 0.018))
    >>> for piece in pieces(whole, ((board,), ()), frame, [tunnel]):
    ...     print(piece.words)
    top, piece 1 of 2: 200.0 × 300.0 × 18 mm
    top, piece 2 of 2: 300.0 × 300.0 × 18 mm
    """
    cuts = [cut for notch in notches for cut in _cuts(solids, frame, notch)]
    holes = [cut for cut in cuts if not cut.depth]
    (p, low, high, _, _), (q, near, far, _, _) = frame.along, frame.across
    rows = _edges(low, high, [e for cut in holes for e in cut.along])
    columns = _edges(near, far, [e for cut in holes for e in cut.across])
    left = {
        (i, j): ((a, b), (c, d))
        for i, (a, b) in enumerate(pairwise(rows))
        for j, (c, d) in enumerate(pairwise(columns))
        if not any(cut.holds((a + b) / 2, (c + d) / 2) for cut in holes)
        and _volume(solids, [_cell(p, q, (a, b), (c, d))]) > LEAST
    }
    groups = _joined(left)
    for number, group in enumerate(groups, 1):
        cells = [left[place] for place in group]
        blocks = [_cell(p, q, *cell) for cell in cells]
        volume = sum(_volume(solids, [block]) for block in blocks)
        span = (min(a for (a, _), _ in cells), max(b for (_, b), _ in cells))
        wide = (min(c for _, (c, _) in cells), max(d for _, (_, d) in cells))
        shaping = list(panel.shaping)
        for cut in cuts:
            if cut.touches(span, wide):
                shaping.append(cut.shaping(frame, span, wide))
            if cut.depth:
                volume -= sum(_volume(solids, _common(block, cut.notch)) for block in blocks)
        name = panel.name if len(groups) == 1 else f"{panel.name}, piece {number} of {len(groups)}"
        whole = (span[1] - span[0], wide[1] - wide[0])
        extra = panel.length - (high - low) * frame.along[3]  # the bevels of a leaning front
        length = whole[0] * frame.along[3] + extra
        width = whole[1] * frame.across[3]
        yield Panel(name, length, width, panel.thickness, volume, tuple(shaping), panel.between)


@dataclass(frozen=True)
class _Cut:
    """What a notch takes out of a panel, in the gap's coordinates along the panel's two edges.

    `depth` is 0 for a hole right through, else how deep the recess is, m.
    """

    notch: Block
    along: tuple[float, float]
    across: tuple[float, float]
    depth: float

    def holds(self, u, v):
        return self.along[0] < u < self.along[1] and self.across[0] < v < self.across[1]

    def touches(self, span, wide):
        return (
            min(self.along[1], span[1]) - max(self.along[0], span[0]) > 1e-9
            and min(self.across[1], wide[1]) - max(self.across[0], wide[0]) > 1e-9
        )

    def shaping(self, frame, span, wide):
        """Where it lies on the piece, measured from the piece's own edges."""
        name = self.notch.name.replace("{", "{{").replace("}", "}}")
        what, lengths = (
            ("recess up to {} {u} deep", [self.depth]) if self.depth else ("cut out", [])
        )
        told = []
        for (_, _, _, scale, edge), (a, b), (low, high) in (
            (frame.along, self.along, span),
            (frame.across, self.across, wide),
        ):
            lengths += (scale * (min(max(e, low), high) - low) for e in (a, b))
            told.append(f"{{}} to {{}} {{u}} from its {edge}")
        return Shaping(f"{what} round {name}: {', '.join(told)}", tuple(lengths))


def _cuts(solids, frame, notch):
    """What `notch` takes out of a panel: a hole, a recess, both (on a slope), or nothing."""
    if _volume(solids, [notch]) <= LEAST:
        return []
    (p, low, high, _, _), (q, near, far, _, _) = frame.along, frame.across
    spans = {}
    for axis, first, last in ((p, low, high), (q, near, far)):
        spans[axis] = (
            max(getattr(notch, axis + "0"), first),
            min(getattr(notch, axis + "1"), last),
        )
    if frame.through is not None:
        axis, first, last = frame.through
        inside = min(getattr(notch, axis + "1"), last) - max(getattr(notch, axis + "0"), first)
        whole = inside > (last - first) * (1 - 1e-6)
        return [_Cut(notch, spans[p], spans[q], 0.0 if whole else inside)]
    # A front is met only where the notch comes as far as its inner face, and cut through where it
    # comes as far as its outer one; on a slope that is so for some of the height.
    (outer,), (inner,) = solids
    low, high = spans["z"]
    found = []
    thick = abs(inner.a - outer.a) / inner.stretch
    if notch.y0 > min(inner.a + inner.b * z for z in (low, high)):  # it comes from outside
        return [_Cut(notch, spans[p], spans[q], thick)]
    for plane, depth in ((inner, thick), (outer, 0.0)):
        reach = (notch.y1 - plane.a) / plane.b
        ends = (max(low, reach), high) if plane.b < 0 else (low, min(high, reach))
        if ends[1] - ends[0] > 1e-9:
            found.append(_Cut(notch, ends, spans[q], depth))
    if len(found) == 2:  # the recess is what the hole leaves of it
        (a, b), (c, d) = found[0].along, found[1].along
        left = (a, c) if c > a else (d, b)
        found = [replace(found[0], along=left), found[1]] if left[1] - left[0] > 1e-9 else found[1:]
    return found


def _volume(solids, blocks):
    if not blocks:
        return 0.0
    added, taken = solids
    return sum(w.shared(blocks) for w in added) - sum(w.shared(blocks) for w in taken)


def _cell(p, q, one, other):
    """A block that reaches everywhere but along two axes."""
    spans = {"x": (-_FAR, _FAR), "y": (-_FAR, _FAR), "z": (-_FAR, _FAR), p: one, q: other}
    return Block(*spans["x"], *spans["y"], *spans["z"])


def _common(one, other):
    """The block that two have in common, as a list of one or none."""
    low = [max(getattr(one, a + "0"), getattr(other, a + "0")) for a in "xyz"]
    high = [min(getattr(one, a + "1"), getattr(other, a + "1")) for a in "xyz"]
    if any(a >= b for a, b in zip(low, high, strict=True)):
        return []
    return [Block(low[0], high[0], low[1], high[1], low[2], high[2])]


def _edges(low, high, inner):
    return [low, *sorted({e for e in inner if low < e < high}), high]


def _joined(cells):
    """Cells of a grid in groups that hang together, as lists of their places."""
    left, groups = dict.fromkeys(sorted(cells)), []
    while left:
        group, waiting = [], [next(iter(left))]
        while waiting:
            i, j = place = waiting.pop()
            if place in left:
                del left[place]
                group.append(place)
                waiting += [(i + 1, j), (i - 1, j), (i, j + 1), (i, j - 1)]
        groups.append(group)
    return groups
