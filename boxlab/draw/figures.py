"""Pictures of a `Scene`: drawn, saved with the same bytes each time, shown in a lesson."""

from __future__ import annotations

import base64
import io
import re
import textwrap
from html import escape
from pathlib import Path

from matplotlib import rc_context
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from boxlab.base.both_units import both_units
from boxlab.draw.palette import INK, PAPER, encode, indices, packed
from boxlab.draw.plot_curves import NAME_SIZE, draw_curves, draw_plot, extent
from boxlab.draw.plots import STYLE, entries, frame, key_handles, one_key
from boxlab.draw.scene import Scene

__all__ = ["draw", "draw_plot", "footed", "layout", "png", "save", "show", "svg"]

DPI = 100  # one figure pixel for one css pixel at lesson width
WIDTH = 8.2  # inches
ROW = 2.75  # inches for one row of plots
FOOT = 8.5  # points, of what is printed under the plots
PATH = re.compile(r' d="M[^"]*"')
FINE = re.compile(r"(\.\d\d)\d+")


def layout(scene: Scene, figure: Figure | None = None) -> tuple[Figure, list]:
    """A figure of the right size with empty framed axes for each plot of the scene."""
    columns = max(1, min(scene.columns, len(scene.plots)))
    rows = -(-len(scene.plots) // columns)
    shared = one_key(scene.plots)
    with rc_context(STYLE):
        if figure is None:
            figure = Figure(figsize=(WIDTH, ROW * rows + 0.1 + 0.7 * (rows == 1)), dpi=DPI)
            FigureCanvasAgg(figure)
        figure.set_facecolor(PAPER)
        figure.set_layout_engine("constrained", w_pad=0.05, h_pad=0.05, wspace=0.03, hspace=0.03)
        grid = figure.subplots(rows, columns, squeeze=False).ravel()
        for ax in grid[len(scene.plots) :]:
            ax.remove()
        for ax, plot in zip(grid, scene.plots, strict=False):
            frame(ax, plot, key=not shared)
        if shared and entries(scene.plots[0]):
            labels = entries(scene.plots[0])
            figure.legend(
                handles=key_handles(scene.plots[0]), loc="outside upper left",
                ncols=min(5, len(set(labels))), frameon=False, fontsize=8.5, labelcolor=INK,
                handlelength=2.6, borderpad=0.1,
            )  # fmt: skip
        # Lay out once and keep it: axes that shift while a slider moves cannot be compared.
        figure.get_layout_engine().execute(figure)
        figure.set_layout_engine("none")
    return figure, list(grid[: len(scene.plots)])


def draw(scene: Scene, figure: Figure | None = None) -> Figure:
    """The whole scene as a matplotlib figure, on an empty `figure` if one is given."""
    figure, axes = layout(scene, figure)
    with rc_context(STYLE):
        for ax, plot in zip(axes, scene.plots, strict=True):
            draw_curves(ax, plot)
    return figure


def described(scene: Scene) -> str:
    """The picture in words, with its cautions: for whoever has the file and nothing else."""
    return " ".join([scene.alt, *(f"Caution: {words}" for words in scene.cautions)])


def footed(scene: Scene, note: str = "") -> Figure:
    """The scene with its caption, cautions and a `note` if any printed under the plots."""
    figure = draw(scene)
    width, height = figure.get_size_inches()
    parts = (scene.caption, *(f"Caution: {words}" for words in scene.cautions), note)
    text = [row for part in parts for row in _rows(both_units(part), 72 * width)]
    if text:
        strip = 0.175 * len(text) + 0.15
        whole = height + strip
        figure.set_size_inches(width, whole)
        for ax in figure.axes:
            left, bottom, wide, high = ax.get_position().bounds
            ax.set_position((left, (bottom * height + strip) / whole, wide, high * height / whole))
        with rc_context(STYLE):
            figure.text(
                0.012, (strip - 0.06) / whole, "\n".join(text),
                va="top", fontsize=FOOT, color=INK, linespacing=1.4,
            )  # fmt: skip
        # Names of marks stand at inches from the foot of the paper, which has moved down.
        for ax in figure.axes:
            for artist in ax.texts:
                x, y = artist.get_position()
                artist.set_position((x, y + strip))
    return figure


def _rows(text: str, room: float) -> list[str]:
    """The text in rows that keep within `room` points, some 130 letters each."""
    for letters in range(130, 60, -2):
        rows = textwrap.wrap(text, letters)
        if all(extent(row)[0] * FOOT / NAME_SIZE < 0.98 * room for row in rows):
            break
    return rows


def png(figure: Figure, density: float = 2.0, level: int = 9, note: str = "") -> bytes:
    """A figure in our inks as PNG, `density` pixels for each css pixel; same bytes each time.

    `note` is kept inside as the file's comment.
    """
    usual = figure.dpi
    figure.set_dpi(DPI * density)
    with rc_context(STYLE):
        figure.canvas.draw()
    data = encode(indices(packed(figure.canvas)), level=level, note=note)
    figure.set_dpi(usual)
    return data


def svg(figure: Figure, title: str = "", alt: str = "") -> str:
    """The figure as SVG with a title and description inside; same text each time."""
    data = io.StringIO()
    with rc_context(STYLE):
        figure.savefig(
            data,
            format="svg",
            dpi=2 * DPI,  # of clouds of dots, which go in as small pictures
            metadata={"Date": None, "Creator": None} | ({"Title": title} if title else {}),
            facecolor=PAPER,
        )
    words = ' role="img"' + (f' aria-label="{escape(alt)}"' if alt else "")
    inside = f"<desc>{escape(alt)}</desc>"
    # A hundredth of a point is finer than any screen; matplotlib writes ten thousand times finer.
    text = PATH.sub(lambda m: FINE.sub(r"\1", m[0]), data.getvalue())
    return re.sub(r"(<svg [^>]*)>", lambda m: f"{m[1]}{words}>\n {inside}", text, count=1)


def save(scene: Scene, path, density: float = 2.0) -> Path:
    """Write the scene to `path` as .svg or .png. The bytes depend on the scene alone.

    Raises
    ------
    ValueError
        If the file name ends in neither.
    """
    path = Path(path)
    if path.suffix.lower() == ".svg":
        path.write_text(
            svg(draw(scene), scene.title, described(scene)), encoding="utf-8", newline="\n"
        )
    elif path.suffix.lower() == ".png":
        path.write_bytes(png(draw(scene), density))
    else:
        raise ValueError(f"path = {str(path)!r}: give a name that ends in .svg or .png")
    return path


def bundle(
    figure: Figure, alt: str, text: str = "", whole_colour: bool = False
) -> tuple[dict, dict]:
    """Data and metadata of a notebook output: the figure as PNG, with `alt` kept beside it."""
    width, height = (round(side * DPI) for side in figure.get_size_inches())
    image = io.BytesIO()
    if whole_colour:
        figure.savefig(image, format="png", dpi=2 * DPI, metadata={"Software": None})
    data = {
        "image/png": base64.b64encode(image.getvalue() or png(figure)).decode("ascii"),
        "text/plain": text or f"Figure: {alt}",
    }
    return data, {"image/png": {"alt": alt, "width": width, "height": height}}


def show(picture: Scene | Figure, alt: str = "", caption: str = "") -> None:
    """Display a scene or a figure in a lesson, with its text alternative and a visible caption.

    Raises
    ------
    ValueError
        If a bare figure comes without `alt`: nobody should have to guess what it shows.
    """
    from IPython.display import display

    if isinstance(picture, Scene):
        alt, caption = alt or picture.alt, caption or both_units(picture.caption)
        picture = draw(picture)
        data, metadata = bundle(picture, alt)
    else:
        if not alt:
            raise ValueError("alt = '': say in a sentence or two what the figure shows")
        data, metadata = bundle(picture, alt, whole_colour=True)
    display(data, metadata=metadata, raw=True)
    if caption:
        display({"text/markdown": caption, "text/plain": caption}, raw=True)
