"""What to solder for measuring with a laptop: a resistor, two dividers and a jack plug."""

from __future__ import annotations

from matplotlib.figure import Figure

from boxlab.draw.diagrams import WORDS, _resistor, _source, sheet
from boxlab.draw.palette import COLOURS, INK, PAPER

ALT = (
    "A drawing of a small circuit. On the left a small amplifier on a battery, its output going "
    "through a 10 ohm resistor to the box on the right and back along the bottom. Before the "
    "resistor a lead marked total, behind it a lead marked device; each goes through a divider of "
    "10 kilohms above 1 kilohm to the left and the right channel of a jack plug. The foot of both "
    "dividers and the sleeve of the plug lie on the bottom line."
)
CAPTION = (
    "Figure: what to solder. The left channel hears the whole voltage before the resistor (total), "
    "the right channel the voltage across the box (device), each through a divider of 11 to 1. The "
    "sleeve of the plug lies on the amplifier's return: so that output may be neither bridged nor "
    "floating, and nothing here may hang on the mains."
)


def figure() -> Figure:
    """The drawing as a matplotlib Figure of lesson width."""
    page = sheet(height=4.0)
    ax = page.axes[0]
    ax.set(xlim=(0, 16), ylim=(0, 7.6), aspect="equal")
    ax.axis("off")
    top, foot = 6.4, 1.0
    wire = {"color": INK, "lw": 1.8, "solid_capstyle": "round"}
    ax.plot([1.4, 5.0], [top, top], **wire)
    ax.plot([6.4, 14.2], [top, top], **wire)
    ax.plot([1.4, 14.2], [foot, foot], **wire)
    for x, draw, label in (
        (1.4, _source, "small amplifier\non a battery,\nnot bridged"),
        (14.2, _resistor, "the box\nor driver"),
    ):
        middle = 3.7
        ax.plot([x, x], [top, middle + 0.6], **wire)
        ax.plot([x, x], [middle - 0.6, foot], **wire)
        draw(ax, x, middle, 0.6, INK)
        side = 0.8 if x < 8 else -0.4
        ax.text(x + side, middle, label, fontsize=WORDS, va="center",
                ha="left" if x < 8 else "right", color=INK)  # fmt: skip
    across = COLOURS["electrical"]
    ax.fill([5.0, 6.4, 6.4, 5.0], [top - 0.25, top - 0.25, top + 0.25, top + 0.25],
            fc=PAPER, ec=across, lw=2)  # fmt: skip
    ax.text(5.7, top + 0.6, "10 Ω, 1 %, 5 W", fontsize=WORDS, ha="center", color=across)
    for x, name, role in (
        (5.0, "total\nleft channel", "cone"),
        (8.6, "device\nright channel", "vent"),
    ):
        _divider(ax, x, top, foot, name, COLOURS[role])
    ax.text(8.0, foot - 0.55, "return: sleeve of the jack plug, and the only ground",
            fontsize=WORDS, ha="center", color=INK)  # fmt: skip
    return page


def _divider(ax, x, top, foot, name, colour):
    """10 kΩ above 1 kΩ from the rail to the return, with its tap to a channel."""
    ax.plot([x, x], [top, foot], color=colour, lw=1.8, zorder=1)
    for y, label in ((4.9, "10 kΩ"), (2.2, "1 kΩ")):
        _resistor(ax, x, y, 0.5, colour)
        ax.text(x - 0.35, y, label, fontsize=WORDS, ha="right", va="center", color=colour)
    ax.plot([x, x + 0.9], [3.5, 3.5], color=colour, lw=1.8)
    ax.plot(x + 0.95, 3.5, "o", color=colour, ms=7, mfc=PAPER)
    for y in (top, foot, 3.5):
        ax.plot(x, y, "o", color=colour, ms=5)
    ax.text(x + 1.25, 3.5, name, fontsize=WORDS, ha="left", va="center", color=colour)
