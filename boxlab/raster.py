"""A picture kept ready: the frame drawn once, only curves and marks redrawn for a new state."""

from __future__ import annotations

import numpy as np
from matplotlib import rc_context

from . import inks
from .figures import DPI, layout
from .plots import STYLE, Drawn, entries
from .scene import Plot, Scene


def _frame(plot: Plot) -> tuple:
    return (
        plot.title, plot.xlabel, plot.ylabel, plot.xlim, plot.ylim, plot.xscale, plot.yscale,
        plot.yticks, entries(plot),
    )  # fmt: skip


class Sheet:
    """A figure that stays: `render` shows another scene on it and returns table indices.

    The frame (axes, titles, key) is drawn again only when it changes.
    """

    def __init__(self, density: float = 1.0):
        self.density = density
        self.figure = None
        self.drawn: list[Drawn] = []
        self._frames = None
        self._ghost: Scene | None = None
        self._paper = None

    def hold(self, scene: Scene | None) -> None:
        """Keep the curves of `scene` in grey behind the live ones; None lets them go."""
        if scene is not self._ghost:
            self._ghost, self._paper = scene, None

    def _set_up(self, scene: Scene) -> None:
        self.figure, axes = layout(scene)
        self.figure.set_dpi(DPI * self.density)
        with rc_context(STYLE):
            pairs = zip(axes, scene.plots, strict=True)
            self.drawn = [Drawn(ax, plot) for ax, plot in pairs]
        self._paper = None

    def _print_paper(self, scene: Scene) -> None:
        """Draw what does not move, ghosts included, and keep the pixels."""
        for drawn in self.drawn:
            for artist in drawn.artists:
                artist.set_visible(False)
        ghosts = []
        if self._ghost and len(self._ghost.plots) == len(scene.plots):
            pairs = zip(self.drawn, self._ghost.plots, strict=True)
            ghosts = [Drawn(drawn.ax, plot, ghost=True) for drawn, plot in pairs]
        canvas = self.figure.canvas
        canvas.draw()
        self._paper = canvas.copy_from_bbox(self.figure.bbox)
        for ghost in ghosts:
            for artist in ghost.artists:
                artist.remove()

    def render(self, scene: Scene) -> np.ndarray:
        """Indices into the table of inks, shape (height, width) uint8; see `inks.encode`."""
        frames = (scene.columns, *(_frame(plot) for plot in scene.plots))
        if frames != self._frames:
            self._set_up(scene)
            self._frames = frames
        with rc_context(STYLE):
            if self._paper is None:
                self._print_paper(scene)
            canvas = self.figure.canvas
            canvas.restore_region(self._paper)
            renderer = canvas.get_renderer()
            for drawn, plot in zip(self.drawn, scene.plots, strict=True):
                drawn.update(plot)
                for artist in sorted(drawn.artists, key=lambda each: each.get_zorder()):
                    artist.draw(renderer)
        return inks.indices(canvas.buffer_rgba())
