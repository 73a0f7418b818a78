"""A drawing of the trade to scale: boxes that grow by octaves, sound that shrinks by octaves."""

from __future__ import annotations

import numpy as np
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from boxlab.base.units import to_cm, to_cubic_feet, to_litres
from boxlab.design.tradeoff_solver import pick_two
from boxlab.draw.palette import COLOURS, INK, PAPER
from boxlab.model.passband import ceiling
from boxlab.model.validity import inside_edges

CORNERS = (80, 40, 20)  # Hz
LEVEL_VOLUME = 0.024  # m³ of the box that stays, close to what 90 dB and 40 Hz ask for
DOTS = 64  # stand for the sound of the shallowest of the three


def bargains(air=None):
    """Two tuples of three: same efficiency with the box free, and same box with the watts free."""
    k = ceiling("ported", air)
    stay = [pick_two(volume=LEVEL_VOLUME, f3=f, constant=k) for f in CORNERS]
    middle = stay[1].efficiency
    return tuple(pick_two(efficiency=middle, f3=f, constant=k) for f in CORNERS), tuple(stay)


def figure():
    """Both rows side by side, as a matplotlib Figure of lesson width."""
    grow, stay = bargains()
    sheet = Figure(figsize=(8.2, 3.0), dpi=100, facecolor=PAPER, layout="constrained")
    FigureCanvasAgg(sheet)
    left, right = sheet.subplots(1, 2)
    _grow(left, grow)
    _stay(right, stay)
    return sheet


def _panel(ax, title):
    ax.set(xlim=(-4, 190), ylim=(-32, 94), aspect="equal")
    ax.axis("off")
    ax.set_title(title, loc="left", fontsize=10.5, fontweight="bold", color=INK)


def _words(ax, x, *lines):
    ax.text(x, -5, "\n".join(lines), ha="center", va="top", fontsize=9, color=INK, linespacing=1.4)


def _box(ax, middle, volume):
    """The front of an 8 : 6 : 5 box of this volume, to scale in cm, standing on the ground."""
    wide, high, _ = (float(to_cm(edge)) for edge in inside_edges(volume))
    x = middle - wide / 2
    ax.fill(
        [x, x + wide, x + wide, x], [0, 0, high, high], facecolor="#e1e2e8", edgecolor=INK, lw=1.6
    )
    return high


def _grow(ax, deals):
    _panel(ax, "Same efficiency: the box pays")
    for middle, deal in zip((22, 72, 145), deals, strict=True):
        _box(ax, middle, deal.volume)
        _words(
            ax,
            middle,
            f"{deal.f3:.0f} Hz",
            f"{to_litres(deal.volume):.0f} L",
            f"{to_cubic_feet(deal.volume):.2g} ft³",
        )


def _stay(ax, deals):
    _panel(ax, "Same box: the sound pays")
    for middle, deal in zip((30, 93, 156), deals, strict=True):
        high = _box(ax, middle, deal.volume)
        count = round(DOTS * deal.efficiency / deals[0].efficiency)
        side = int(np.ceil(np.sqrt(count)))
        place = np.arange(count)
        x = middle + 5 * (place % side - (side - 1) / 2)
        ax.plot(x, high + 8 + 5 * (place // side), "o", color=COLOURS["sum"], ms=3.2)
        _words(ax, middle, f"{deal.f3:.0f} Hz", f"{deal.level():.0f} dB for 1 W")


def alt() -> str:
    """What the drawing shows."""
    grow, stay = bargains()
    sizes = ", ".join(f"{to_litres(d.volume):.0f} L at {d.f3:.0f} Hz" for d in grow)
    levels = ", ".join(f"{d.level():.0f} dB at {d.f3:.0f} Hz" for d in stay)
    return (
        f"Left, same efficiency: three boxes drawn to scale, {sizes}, each eight times the one "
        f"before. Right, same box of {to_litres(LEVEL_VOLUME):.0f} L three times, with 64, 8 and 1 "
        f"dots of sound over it: {levels} for 1 W at 1 m."
    )


def caption() -> str:
    """For under the drawing."""
    return (
        "Figure: an octave deeper costs eight times the box (left, drawn to scale), or seven "
        "eighths of the sound that a watt makes (right, one dot for each 64th). All at the vented "
        "ceiling."
    )
