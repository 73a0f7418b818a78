"""Who moves at the three places of a two-peak curve: a drawing for the lesson on sweeps."""

from __future__ import annotations

from matplotlib.figure import Figure
from matplotlib.text import Annotation

from boxlab.draw.crosssections import draw
from boxlab.draw.palette import COLOURS, INK, PAPER

ALT = (
    "The radiator box cut open three times, side by side. At the lower peak fL the cone goes in "
    "while the radiator comes out; between the peaks, at the tuning, the radiator swings and the "
    "cone all but rests; at the upper peak fH cone and radiator go out together."
)
CAPTION = (
    "Figure: who moves at the three places. Blue arrow: the cone. Orange arrow: the radiator. At "
    "the peaks the cone moves much, so its coil makes much voltage against the meter. At the "
    "tuning the radiator holds the cone still, and the meter sees little more than the coil."
)
# Title, and how far cone and radiator move, the longer arrow of each place 1.6 (out of the box is
# positive): the proportions of the class's box, held to the model in the claims tests.
PLACES = (("Lower peak, fL", -1.3, 1.6), ("Tuning, fb", 0.3, 1.6), ("Upper peak, fH", 1.6, 0.5))
_HEIGHTS = (4.8, 1.5)  # of cone and radiator in the drawing
_FACE = 5.3


def figure():
    """The three side by side, as a matplotlib Figure of lesson width."""
    sheet = Figure(figsize=(8.2, 2.9), dpi=100, facecolor=PAPER, layout="constrained")
    for ax, (title, cone, radiator) in zip(sheet.subplots(1, 3), PLACES, strict=True):
        draw(ax, "Radiator")
        ax.set_ylim(-0.5, 7.4)  # leaves room for the title
        for text in list(ax.texts):  # its own arrows say only that something moves
            if isinstance(text, Annotation) or text.get_text().startswith("one mass"):
                text.remove()
        ax.set_title(title, loc="left", fontsize=11, fontweight="bold", color=INK)
        for height, reach, role in zip(_HEIGHTS, (cone, radiator), ("cone", "vent"), strict=True):
            _arrow(ax, height, reach, COLOURS[role])
    return sheet


def _arrow(ax, height, reach, colour):
    tail, head = (_FACE, _FACE + reach) if reach > 0 else (_FACE - reach, _FACE)
    ax.annotate(
        "", (head, height), (tail, height),
        arrowprops={"arrowstyle": "-|>", "color": colour, "lw": 2.2, "mutation_scale": 14},
    )  # fmt: skip
