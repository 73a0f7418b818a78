"""The way from a sound to an allowed time, drawn: what counts and where bass drops out."""

from __future__ import annotations

from matplotlib.patches import FancyBboxPatch

from boxlab.draw.diagrams import sheet
from boxlab.draw.palette import COLOURS, INK, PAPER

ALT = (
    "Five boxes in a row with arrows between them: box in the cabin, sound at the ear, "
    "A-weighting, reading in dBA, rule with an allowed time. A second arrow leaves the sound at "
    "the ear downwards, past the weighting: the ear gets all of it. Under the weighting stands how "
    "many decibels it takes off at 40, 100 and 1000 Hz."
)
CAPTION = (
    "Figure: what a rule knows of a sound. The weighting comes first, and what it takes off never "
    "reaches the rule. The ear gets all of it. It is less keen in the bass too, but at a high "
    "level much less so than the A-curve, which was drawn for quiet sounds."
)


def _block(ax, x, words, colour=INK):
    ax.add_patch(
        FancyBboxPatch(
            (x, 2.3), 2.3, 1.3, boxstyle="round,pad=0.05,rounding_size=0.15",
            facecolor=PAPER, edgecolor=colour, linewidth=1.8,
        )
    )  # fmt: skip
    ax.text(x + 1.15, 2.95, words, ha="center", va="center", fontsize=9.5, color=INK)


def _arrow(ax, start, end, colour):
    ax.annotate(
        "", end, start,
        arrowprops={"arrowstyle": "-|>", "color": colour, "lw": 2, "mutation_scale": 14},
    )  # fmt: skip


def figure():
    """The drawing as a matplotlib Figure of lesson width."""
    from boxlab.sound.hearing import weighting

    drawing = sheet(8.2, 2.5)
    ax = drawing.axes[0]
    ax.set(xlim=(0, 15.6), ylim=(0, 4.2))
    ax.axis("off")
    heard, rule = COLOURS["sum"], COLOURS["limit"]
    words = (
        "box\nin the cabin",
        "sound\nat the ear",
        "A-weighting",
        "reading\nin dBA",
        "rule:\ntime",
    )
    colours = (COLOURS["cone"], heard, rule, rule, rule)
    for k, (text, colour) in enumerate(zip(words, colours, strict=True)):
        _block(ax, 0.2 + 3.1 * k, text, colour)
        if k:
            _arrow(ax, (3.1 * k - 0.5, 2.95), (3.1 * k + 0.15, 2.95), colours[max(k - 1, 1)])
    _arrow(ax, (4.45, 2.2), (4.45, 1.0), heard)
    ax.text(4.45, 0.55, "the ear gets all of it", ha="center", fontsize=9.5, color=INK)
    taken = ", ".join(f"{-float(weighting(f)):.0f} dB at {f} Hz" for f in (40, 100))
    ax.text(
        8.0, 1.7, f"takes off {taken},\nnothing at 1000 Hz", ha="center", va="center",
        fontsize=9.5, color=rule,
    )  # fmt: skip
    return drawing
