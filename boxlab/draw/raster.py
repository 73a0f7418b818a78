"""A picture kept ready: the frame drawn once, only curves and marks redrawn for a new state."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from matplotlib import rc_context
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.text import Text

from boxlab.draw import palette
from boxlab.draw.figures import DPI, layout
from boxlab.draw.live_plot import NAME_SIZE, Drawn, extent
from boxlab.draw.plots import STYLE, entries, key_room, key_shape, one_key
from boxlab.draw.scene import Plot, Scene


def _frame(plot: Plot) -> tuple:
    """What decides the frame of a plot: all of it but the data, and the words of title and key."""
    kinds = tuple(entry[1:] for entry in dict.fromkeys(entries(plot)))
    return replace(plot, lines=(), marks=(), title=""), bool(plot.title), kinds


def _words(plot: Plot) -> tuple[str, tuple[str, ...]]:
    """The title of a plot and the labels of its key."""
    return plot.title, tuple(entry[0] for entry in dict.fromkeys(entries(plot)))


class _Page:
    """A figure whose frame is drawn, ready for curves."""

    def __init__(self, scene: Scene, density: float):
        self.figure, axes = layout(scene)
        self.figure.set_dpi(DPI * density)
        self.drawn = [Drawn(ax, plot) for ax, plot in zip(axes, scene.plots, strict=True)]
        self.said = [_words(plot) for plot in scene.plots]
        self.lively: list = []  # titles and keys that are drawn with the curves
        self.ghost: Scene | None = None
        self.blank = self.blank_indices = None  # its pixels without curves, once they are drawn

    def reword(self, scene: Scene) -> bool:
        """Put the words of `scene` into titles and keys; False if a key needs another shape."""
        said = [_words(plot) for plot in scene.plots]
        axes = [drawn.ax for drawn in self.drawn]
        changes = [each for each in zip(axes, self.said, said, strict=True) if each[1] != each[2]]
        keys = self.figure.legends  # one for all plots, or none
        for ax, (_, before), (_, labels) in () if keys else changes:
            room = key_room(ax)
            if labels and key_shape(labels, room) != key_shape(before, room):
                return False
        for ax, (title, before), (new_title, labels) in changes:
            if new_title != title:
                texts = (each for each in ax.get_children() if isinstance(each, Text))
                text = next(each for each in texts if each.get_text() == title)
                text.set_text(new_title)
                self._enliven(text)
            if labels != before:
                key = keys[0] if keys else ax.get_legend()
                for text, words in zip(key.get_texts(), labels, strict=True):
                    text.set_text(words)
                self._enliven(key)
        self.said = said
        return True

    def _enliven(self, artist) -> None:
        """From now on draw it with the curves."""
        if artist not in self.lively:
            self.lively.append(artist)
            self.blank = None

    def print_blank(self, scene: Scene, ghost: Scene | None) -> None:
        """Draw what does not move, the curves of `ghost` in grey included, and keep the pixels."""
        moving = [artist for drawn in self.drawn for artist in drawn.artists]
        for artist in (*moving, *self.lively):
            artist.set_visible(False)
        ghosts = []
        for place, (drawn, plot) in enumerate(zip(self.drawn, scene.plots, strict=True)):
            before = _held(ghost, place, plot)
            if before is not None:
                ghosts.append(Drawn(drawn.ax, before, ghost=True))
        self.figure.canvas.draw()
        self.ghost = ghost
        self.blank = palette.packed(self.figure.canvas).copy()
        self.blank_indices = palette.indices(self.blank)
        for each in ghosts:
            for artist in each.artists:
                artist.remove()
        for artist in self.lively:
            artist.set_visible(True)


def _axes(plot):
    """What a plot is of, by its axes."""
    return plot.xlabel, plot.ylabel, plot.xscale, plot.yscale, plot.ynames


def _held(ghost, place, plot):
    """The plot of a held scene that belongs behind this one: held millimetres are no ohms."""
    held = ghost.plots if ghost else ()
    near = [*held[place : place + 1], *held]
    return next((each for each in near if _axes(each) == _axes(plot)), None)


class Sheet:
    """A figure that stays: `render` shows another scene on it and returns table indices.

    The frame (axes, titles, key) is drawn again only when it changes, and the last few frames are
    kept, for who goes from one build to another comes back. A title or key that is reworded from
    one state to the next is from then on drawn with the curves. Names of marks are drawn once each
    and then stamped where they belong: text is the slowest thing to draw.
    """

    def __init__(self, density: float = 1.0, kept: int = 3):
        self.density, self.kept = density, kept
        self._pages: dict[tuple, _Page] = {}  # by their frames, the present one last
        self._ghost: Scene | None = None
        self._stamps: dict[tuple[str, str], np.ndarray] = {}

    @property
    def drawn(self) -> list[Drawn]:
        """The plots of the scene shown last."""
        return next(reversed(self._pages.values())).drawn

    def hold(self, scene: Scene | None) -> None:
        """Keep the curves of `scene` in grey behind the live ones; None lets them go."""
        self._ghost = scene

    def _page(self, scene: Scene) -> _Page:
        """A page with the frame and the words of `scene`."""
        frames = (scene.columns, one_key(scene.plots), *(_frame(plot) for plot in scene.plots))
        page = self._pages.pop(frames, None)
        if page is None or not page.reword(scene):
            page = self._set_up(scene)
        self._pages[frames] = page
        while len(self._pages) > self.kept:
            del self._pages[next(iter(self._pages))]
        return page

    def _set_up(self, scene: Scene) -> _Page:
        return _Page(scene, self.density)

    def render(self, scene: Scene) -> np.ndarray:
        """Indices into the table of inks, shape (height, width) uint8; see `inks.encode`."""
        with rc_context(STYLE):
            page = self._page(scene)
            if page.blank is None or page.ghost is not self._ghost:
                page.print_blank(scene, self._ghost)
            canvas = page.figure.canvas
            packed = palette.packed(canvas)
            packed[...] = page.blank
            renderer = canvas.get_renderer()
            for drawn, plot in zip(page.drawn, scene.plots, strict=True):
                drawn.update(plot)
                for artist in (*drawn.rules, *drawn.curves):
                    artist.draw(renderer)
            for artist in page.lively:
                artist.draw(renderer)
            pixels = page.blank_indices.copy()
            changed = np.flatnonzero(packed != page.blank)
            pixels.ravel()[changed] = palette.indices(packed.ravel()[changed])
            for drawn in page.drawn:
                for name in drawn.names:
                    if name.get_visible():
                        self._stamp(pixels, name)
        return pixels

    def _stamp(self, pixels: np.ndarray, name) -> None:
        key = name.get_text(), name.get_color()
        if key not in self._stamps:
            if len(self._stamps) > 3000:
                self._stamps.clear()
            self._stamps[key] = self._draw_name(*key)
        stamp = self._stamps[key]
        x, y = (round(side * DPI * self.density) for side in name.get_position())
        edge = round(self.density)  # white border of the stamp, in pixels
        left, top = max(0, x - edge), max(0, pixels.shape[0] - y + edge - stamp.shape[0])
        field = pixels[top : top + stamp.shape[0], left : left + stamp.shape[1]]
        field[:] = stamp[: field.shape[0], : field.shape[1]]

    def _draw_name(self, text: str, colour: str) -> np.ndarray:
        """Table indices of a name on white paper with a narrow border."""
        dpi, edge = DPI * self.density, round(self.density)
        width, height = (np.ceil(side * dpi / 72) + 2 * edge + 1 for side in extent(text))
        scrap = Figure(figsize=(width / dpi, height / dpi), dpi=dpi, facecolor=palette.PAPER)
        canvas = FigureCanvasAgg(scrap)
        scrap.text(edge / width, edge / height, text, size=NAME_SIZE, color=colour, va="bottom")
        canvas.draw()
        return palette.indices(palette.packed(canvas))
