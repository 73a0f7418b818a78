"""One state of an explainer as plain data for the page: words as text, curves as whole numbers.

A curve keeps the points that it needs to look the same within 1/2000 of its axes, and each point
is two whole numbers of 1/4000 of an axis, so a state is small and a sharp null stays sharp.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from boxlab.base.both_units import both_units
from boxlab.draw.outlines import Cutaway
from boxlab.draw.scene import Line, Plot, Scene
from boxlab.draw.stage.in_turn import in_turn

STEPS = 4000  # whole numbers along an axis
TOLERANCE = 2.0  # of those, that a curve may be off between the points that are kept
GAP = -32768  # y where a curve has none
ROOM = 8000  # beyond this many steps outside of the axes nothing is told apart
DOTS = 800  # of a cloud that are drawn; the page says so


@dataclass
class Pool:
    """What many states share: frames, looks and curves once each."""

    frames: list = field(default_factory=list)
    looks: list = field(default_factory=list)
    curves: list[np.ndarray] = field(default_factory=list)  # steps from point to point, (n, 2)
    _known: dict = field(default_factory=dict)

    def place(self, kind: str, value, key=None) -> int:
        """Where `value` stands in the list of its kind; it is put there if it is new."""
        shelf, key = getattr(self, kind), (kind, repr(value) if key is None else key)
        if key not in self._known:
            self._known[key] = len(shelf)
            shelf.append(value)
        return self._known[key]

    def curve(self, points: np.ndarray) -> int:
        """Where whole numbers of shape (n, 2) stand among the curves."""
        steps = np.diff(points, axis=0, prepend=np.zeros((1, 2), np.int64))
        steps = (((steps + 32768) % 65536) - 32768).astype("<i2")  # wraps, and back again
        return self.place("curves", steps, steps.tobytes())

    def line(self, plot: Plot, line: Line) -> tuple[int, int]:
        """Where a line's curve stands, and of how many dots it is some (0: all are there)."""
        x, y = np.asarray(line.x, float), np.asarray(line.y, float)
        scale = (plot.xlim, plot.ylim, plot.xscale, plot.yscale, line.kind)
        key = ("line", x.tobytes(), y.tobytes(), scale)
        if key not in self._known:
            points, total = _points(plot, x, y, line.kind)
            self._known[key] = self.curve(points), total
        return self._known[key]

    def row(self) -> bytes:
        """All curves in their order: all x, then all y of each, as little-endian int16."""
        return b"".join(curve.tobytes(order="F") for curve in self.curves)


def state(scene: Scene, pool: Pool, settings: list) -> dict:
    """The scene for the controls' values `settings` as data; frames and points go to `pool`."""
    made = {
        "at": settings,
        "h": both_units(scene.message),
        "r": [both_units(words) for words in scene.readout if words != scene.message],
        "n": [
            [row.name, row.metric if row.imperial else both_units(row.metric), row.imperial]
            for row in scene.numbers
        ],
        "cap": both_units(in_turn(scene.caption)),
        "alt": both_units(in_turn(scene.alt)),
        "code": scene.code,
        "p": [_plot(plot, pool) for plot in scene.plots],
    }
    for key, words in (("w", scene.warnings), ("c", scene.cautions)):
        if words:
            made[key] = [both_units(each) for each in words]
    if scene.right is not None:
        made["ok"] = int(scene.right)
    if scene.cutaway is not None:
        made["cut"] = _cut(scene.cutaway, pool)
    return made


def refused(words: str, settings: list) -> dict:
    """A state that cannot be built: why, in words."""
    return {"at": settings, "no": both_units(f"This cannot be built as set. {words}")}


def _plot(plot: Plot, pool: Pool) -> dict:
    frame = {
        "t": plot.title, "x": plot.xlabel, "y": plot.ylabel,
        "xl": [float(v) for v in plot.xlim], "yl": [float(v) for v in plot.ylim],
        "xs": plot.xscale, "ys": plot.yscale,
    }  # fmt: skip
    if len(plot.yticks):
        frame["yt"] = [float(v) for v in plot.yticks]
    if plot.ynames:
        frame["yn"] = list(plot.ynames)
    if plot.equal:
        frame["eq"] = 1
    lines = []
    for line in plot.lines:
        look = pool.place("looks", [line.role, line.build, line.kind, line.label])
        curve, total = pool.line(plot, line)
        lines.append([look, curve, total] if total else [look, curve])
    marks = [
        [round(float(m.at), 5), both_units(m.label), m.role, m.axis]
        for m in plot.marks
        if np.isfinite(m.at)
    ]
    return {"f": pool.place("frames", frame), "l": lines, "m": marks}


def _points(plot: Plot, x: np.ndarray, y: np.ndarray, kind: str) -> tuple[np.ndarray, int]:
    """The points that are kept, whole, shape (n, 2); and of how many dots they are, if not all."""
    x, y = along(x, plot.xlim, plot.xscale), along(y, plot.ylim, plot.yscale)
    total = 0
    if kind == "dots":
        inside = (abs(2 * x - STEPS) <= STEPS) & (abs(2 * y - STEPS) <= STEPS)
        x, y = x[inside], y[inside]
        if len(x) > DOTS:  # evenly along the list, which is in no order of the eye
            total = len(x)
            keep = np.linspace(0, total - 1, DOTS).astype(int)
            x, y = x[keep], y[keep]
    elif kind in ("line", "fill"):
        keep = needed(x, y)
        x, y = x[keep], y[keep]
    gap = np.isnan(x) | np.isnan(y)
    whole = np.rint(np.where(gap, 0, [x, y])).clip(-ROOM, STEPS + ROOM).astype(np.int64)
    whole[1, gap] = GAP
    return whole.T, total


def along(values: np.ndarray, limits, scale: str) -> np.ndarray:
    """Values in steps along an axis, 0 at its lower limit and `STEPS` at its upper; NaN off it."""
    low, high = limits
    with np.errstate(all="ignore"):
        if scale == "log":
            share = np.log(values / low) / np.log(high / low)
        else:
            share = (values - low) / (high - low)
    far = 2.0 * ROOM + STEPS
    share = np.where(np.isfinite(share), share, np.where(values > 0, far, -far))
    share = np.where(np.isnan(values), np.nan, share * STEPS)
    return np.clip(share, -far, far)


def needed(x: np.ndarray, y: np.ndarray) -> np.ndarray:
    """Indices of the points without which the curve would be more than `TOLERANCE` off.

    A segment that is straight enough keeps its ends alone; any other is halved.
    """
    n = len(x)
    if n <= 3:
        return np.arange(n)
    gap = np.isnan(x) | np.isnan(y)
    keep = gap.copy()  # a gap keeps its neighbours
    keep[1:] |= gap[:-1]
    keep[:-1] |= gap[1:]
    keep[[0, -1]] = True
    within = np.append(False, gap[1:] & gap[:-1])  # of a gap the first point breaks the curve
    x, y = np.nan_to_num(x), np.nan_to_num(y)
    starts = np.arange(0, n - 1, 16)
    ends = np.minimum(starts + 16, n - 1)
    keep[starts] = True
    while len(starts):
        bent = _bent(x, y, starts, ends)
        starts, ends = starts[bent], ends[bent]
        middle = (starts + ends) // 2
        keep[middle] = True
        starts, ends = np.concatenate([starts, middle]), np.concatenate([middle, ends])
        more = ends - starts > 1
        starts, ends = starts[more], ends[more]
    return np.flatnonzero(keep & ~within)


def _bent(x, y, starts, ends) -> np.ndarray:
    """Which segments leave their chord by more than the tolerance, somewhere inside."""
    longest = int((ends - starts).max())
    at = starts[:, None] + np.arange(1, longest)
    inside = at < ends[:, None]
    at = np.minimum(at, len(x) - 1)
    x0, x1, y0, y1 = x[starts, None], x[ends, None], y[starts, None], y[ends, None]
    dx, dy, px, py = x1 - x0, y1 - y0, x[at] - x0, y[at] - y0
    along_it = np.clip((px * dx + py * dy) / np.maximum(dx**2 + dy**2, 1e-12), 0, 1)
    off = np.hypot(px - along_it * dx, py - along_it * dy)
    return ((off > TOLERANCE) & inside).any(axis=1)


def _cut(cut: Cutaway, pool: Pool) -> dict:
    """A cutaway with its points in tenths of a millimetre."""
    shapes = []
    for shape in cut.shapes:
        curve = pool.curve(np.rint(10 * np.asarray(shape.points)).astype(np.int64))
        data = [shape.role, int(shape.filled), shape.moves, curve]
        shapes.append([*data, [round(each, 2) for each in shape.shares]] if shape.shares else data)
    swings = [[s.name, round(s.dx, 3), round(s.dy, 3), round(s.phase, 1)] for s in cut.swings]
    names = [[round(x, 1), both_units(words)] for x, words in cut.names]
    return {
        "s": shapes, "v": [round(v, 1) for v in cut.limits], "alt": both_units(cut.words),
        "sw": swings, "f": round(cut.tone, 2), "u": round(cut.volts, 2),
        "reach": round(cut.reach, 1),
        **({"nm": names} if names else {}), **({"plan": 1} if cut.plan else {}),
    }  # fmt: skip
