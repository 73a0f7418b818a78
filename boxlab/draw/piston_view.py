"""One box cut open, its two pistons moving in step with their waveforms: drawn frame by frame."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from matplotlib import rc_context
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.patches import Polygon, Rectangle

from boxlab.draw import palette
from boxlab.draw.figures import DPI, WIDTH
from boxlab.draw.plots import STYLE

HEIGHT = 2.7  # inches
DENSITY = 1.5  # pixels for each css pixel
RADIATOR = "radiator"  # name of a vent that is drawn with its weight


@dataclass(frozen=True, eq=False)
class Track:
    """One pair of pistons: positions as parts of their peaks, and the curves they write."""

    title: str
    cone: np.ndarray  # shape (frames,)
    vent: np.ndarray
    at: np.ndarray  # where each frame stands on the time axis
    time: np.ndarray  # shape (m,)
    cone_curve: np.ndarray
    vent_curve: np.ndarray
    name: str  # of the vent
    axis: str = "time, cycles"
    dots: bool = False  # mark every frame on the curves


def frames(tracks) -> list[np.ndarray]:
    """All tracks side by side: one array of table indices, shape (height, width), for each frame.

    See `palette.encode`. Every track has the same number of frames.
    """
    with rc_context(STYLE):
        figure = Figure(figsize=(WIDTH, HEIGHT), dpi=DPI * DENSITY, facecolor=palette.PAPER)
        canvas = FigureCanvasAgg(figure)
        cells = figure.subplots(
            1, len(tracks),
            gridspec_kw={"left": 0.01, "right": 0.99, "top": 0.9, "bottom": 0.02, "wspace": 0.05},
        )  # fmt: skip
        stages = [Stage(ax, track) for ax, track in zip(np.ravel(cells), tracks, strict=True)]
        canvas.draw()
        paper = canvas.copy_from_bbox(figure.bbox)
        drawn = []
        for k in range(len(tracks[0].cone)):
            canvas.restore_region(paper)
            for stage in stages:
                stage.pose(k, canvas.get_renderer())
            drawn.append(palette.indices(palette.packed(canvas)))
    return drawn


class Stage:
    """One box with its two pistons, and the waveforms at the same height beside it."""

    CONE, VENT, HALF = -1.42, -0.62, 0.27  # centres of the openings, half their width
    LEFT, RIGHT = 0.12, 2.0  # of the waveforms
    PEAK, FLOOR = 0.62, -1.85  # height of a piston's peak, and of the bottom of the box

    def __init__(self, ax, track):
        self.ax, self.track = ax, track
        ax.set_xlim(-1.95, 2.1)
        ax.set_ylim(-2.25, 0.85)
        ax.axis("off")
        ax.set_title(track.title, fontsize=9.5, fontweight="bold", color=palette.INK, loc="left")
        self._scale = (self.RIGHT - self.LEFT) / track.time[-1]
        self._fixed()
        self._moving = []

    def _line(self, x, y, colour, width=1.6, **look):
        return self.ax.plot(x, y, color=colour, lw=width, **look)[0]

    def _x(self, time):
        return self.LEFT + self._scale * np.asarray(time)

    def _fixed(self):
        track, ax = self.track, self.ax
        wall, low, centre = palette.AXIS, self.FLOOR, self.CONE
        lids = (
            (-1.9, centre - self.HALF),
            (centre + self.HALF, self.VENT - self.HALF),
            (self.VENT + self.HALF, -0.15),
        )
        for left, right in lids:
            self._line((left, right), (0, 0), wall, 3, solid_capstyle="butt")
        self._line((-1.9, -1.9, -0.15, -0.15), (0.02, low, low, 0.02), wall, 3)
        for left in (centre - 0.17, centre + 0.07):  # the magnet, on both sides of the coil
            ax.add_patch(Rectangle((left, low), 0.1, 1.3, facecolor=palette.GRID, edgecolor=wall))
        self._line((self.LEFT, self.RIGHT), (0, 0), palette.GRID, 1)
        for curve, at_frames, role in (
            (track.vent_curve, track.vent, "vent"),
            (track.cone_curve, track.cone, "cone"),
        ):
            colour = palette.COLOURS[role]
            self._line(self._x(track.time), self.PEAK * curve, colour, 1.4)
            if track.dots:
                self._line(
                    self._x(track.at), self.PEAK * at_frames, colour, 0, marker="o", ms=2.2, mew=0
                )
        label = track.name if track.name == RADIATOR else "port"
        words = {"fontsize": 8, "ha": "center", "va": "top"}
        ax.text(centre - 0.1, low - 0.07, "cone", color=palette.COLOURS["cone"], **words)
        ax.text(self.VENT + 0.08, low - 0.07, label, color=palette.COLOURS["vent"], **words)
        ax.text(self._x(track.time[-1] / 2), -0.85, track.axis, color=palette.INK, **words)
        for part in np.arange(0, track.time[-1] + 1e-9, 0.25 * track.time[-1]):
            self._line(self._x([part, part]), (-0.04, 0.04), palette.AXIS, 0.8)

    def pose(self, k, renderer):
        """Draw what moves, as it stands in frame k."""
        track, ax = self.track, self.ax
        cone, vent = self.PEAK * track.cone[k], self.PEAK * track.vent[k]
        now = self._x(track.at[k])
        blue, orange = palette.COLOURS["cone"], palette.COLOURS["vent"]
        half, plate = self.HALF, 0.15
        parts = [
            self._line((now, now), (-0.75, 0.75), palette.GHOST, 1),
            self._line((self.VENT + plate, now), (vent, vent), orange, 0.9, ls=(0, (2, 2))),
            self._line((self.CONE + plate, now), (cone, cone), blue, 0.9, ls=(0, (2, 2))),
        ]
        for centre, height, colour in ((self.CONE, cone, blue), (self.VENT, vent, orange)):
            for side in (-1, 1):  # the surround, from the rim to the moving edge
                edge = centre + side * half, centre + side * plate
                parts.append(self._line(edge, (0, height), colour, 1.4))
            parts.append(
                self._line((centre - plate, centre + plate), (height, height), colour, 4.5)
            )
            parts.append(self._line((now,), (height,), colour, marker="o", ms=6))
        # the cone's neck down to its coil, and the weight under a radiator
        patches = [
            Polygon(
                [
                    (self.CONE - plate, cone),
                    (self.CONE + plate, cone),
                    (self.CONE + 0.05, cone - 0.45),
                    (self.CONE - 0.05, cone - 0.45),
                ],
                facecolor="none", edgecolor=blue, lw=1.4,
            ),
            Rectangle((self.CONE - 0.05, cone - 1.2), 0.1, 0.75, facecolor=blue, lw=0),
        ]  # fmt: skip
        if track.name == RADIATOR:
            patches.append(
                Rectangle((self.VENT - 0.06, vent - 0.18), 0.12, 0.18, facecolor=orange, lw=0)
            )
        parts += [ax.add_patch(patch) for patch in patches]
        for artist in parts:
            artist.draw(renderer)
            artist.remove()
