"""The ceiling: 20,000 random boxes of each kind against the published largest k."""

from __future__ import annotations

import numpy as np

from boxlab.draw.scene import Choice, Explainer, Line, Mark, Plot, Scene, Slider
from boxlab.explainers import _ceiling_words as words
from boxlab.explainers._crowds import COUNT, LOSSES, crowd, kept, still_beyond, tighter
from boxlab.explainers._shared import against_frequency
from boxlab.model.passband import HALF_POWER, ROUNDING, SAG, ceiling, levels

__all__ = ["EXPLAINERS", "LOSSES", "crowd", "kept", "scene", "still_beyond", "tighter"]

KINDS = ("sealed", "ported", "radiator")
FREQUENCY = np.geomspace(5, 500, 161)  # Hz, for the one design looked at
EDGES = np.linspace(0, 6, 49)  # 1e-6 s³/m³, of the counts


def scene(kind, sag, losses, which) -> Scene:
    """One kind, with at most `sag` dB of sag; `which` counts from the largest k down."""
    many = crowd(kind)
    mask = kept(many, sag, losses)
    left = many.order[mask[many.order]]
    place = left[min(int(which), left.size) - 1]
    facts = words.facts(many, mask, place)
    return Scene(
        title=f"{COUNT:,} random {kind} boxes against the ceiling".replace(",", " "),
        plots=(
            _cloud_plot(many, mask, place),
            _sag_plot(many, mask, place),
            _count_plot(many, mask),
            _one_plot(many, place),
        ),
        readout=words.readout(many, facts, sag, which),
        numbers=words.numbers(many, mask, facts),
        caption=words.caption(many, facts, sag, losses),
        alt=words.alt(many, facts),
        code=words.code(kind, sag),
    )


def _dots(x, y, mask, place, many):
    """The lines every cloud has: those beyond in the colour of the limit, and the one looked at."""
    beyond = mask & (many.over > 1 + ROUNDING)
    return (
        Line(x[beyond], y[beyond], "limit", "5 % over", "", "points"),
        Line(x[place : place + 1], y[place : place + 1], "sum", "looked at", "", "points"),
    )


def _cloud_plot(many, mask, place):
    asked = 1e-3 * many.found.f3**3 * many.found.volume
    percent = 100 * many.found.efficiency
    xlim, ylim = (0.01, 1e4), (0.01, 10)
    ends = np.array(xlim, dtype=float)
    return Plot(
        "One speck, one solved box",
        "f3³ × volume, thousands of m³/s³",
        "efficiency, %",
        xlim,
        ylim,
        (
            Line(asked[mask], percent[mask], "quiet", "", "", "dots"),
            Line(ends, 1e5 * ceiling(many.kind) * ends, "limit", "ceiling", many.kind),
            *_dots(asked, percent, mask, place, many),
        ),
        (),
        "log",
        "log",
    )


def _sag_plot(many, mask, place):
    xlim, ylim = (0, 3.1), (0, 1.6)
    return Plot(
        "Who gets beyond: those that sag",
        "sag under the maximally flat curve of the same f3, dB",
        "k over the ceiling",
        xlim,
        ylim,
        (
            Line(many.found.sag[mask], many.over[mask], "quiet", "", "", "dots"),
            Line(np.array(xlim, dtype=float), np.ones(2), "limit", "published ceiling", many.kind),
            *_dots(many.found.sag, many.over, mask, place, many),
        ),
        (),
        "linear",
    )


def _count_plot(many, mask):
    counts, _ = np.histogram(np.clip(1e6 * many.found.constant[mask], 0, EDGES[-1]), EDGES)
    middle = (EDGES[1:] + EDGES[:-1]) / 2
    return Plot(
        "How many boxes reach which k",
        "k, millionths of s³/m³",
        "boxes",
        (0, 6),
        (0, 3000),
        (Line(middle, counts.astype(float), "sum", "", "", "steps"),),
        (Mark(1e6 * ceiling(many.kind), "ceiling", "limit"),),
        "linear",
    )


def _one_plot(many, place):
    design = many.designs[int(place)]
    f3 = float(many.found.f3[place])
    order = 2 if many.kind == "sealed" else 4
    flat = -10 * np.log10(1 + (f3 / FREQUENCY) ** (2 * order))
    level = np.maximum(levels(design.driver, design.box, FREQUENCY), -60.0)
    return against_frequency(
        "The one looked at, solved",
        "level against its plateau, dB",
        (-24, 12),
        (
            Line(FREQUENCY[[0, -1]], np.full(2, HALF_POWER), "limit", "−3 dB"),
            Line(FREQUENCY, flat, "quiet", "flattest of that f3"),
            Line(FREQUENCY, level, "sum", "this box", many.kind),
        ),
        (Mark(f3, f"f3 {f3:.1f} Hz"),),
        xlim=(5, 500),
    )


EXPLAINERS = (
    Explainer(
        name="ceiling_of_k",
        gear=False,
        question="Does any box beat the ceiling of size, efficiency and extension?",
        controls=(
            Choice("kind", "Boxes", KINDS, "ported"),
            Choice("losses", "Keep", LOSSES, LOSSES[0]),
            Slider(
                "sag",
                "Allow a sag of up to",
                SAG,
                3.1,
                3.1,
                0.1,
                "dB",
                help="How far the response may fall under the maximally flat one of the same f3.",
            ),
            Slider("which", "Look at number, from the top", 1, 400, 1, 1, ""),
        ),
        scene=scene,
        lesson="03-size-efficiency-extension.ipynb",
        anchor="Does-any-box-beat-the-ceiling",
        answer=(
            "Of 20 000 random sealed boxes none passes the published ceiling. Of 40 000 vented "
            "ones 1 in 200 does by more than 5 %, and each of those sags towards −3 dB well before "
            "its f3: that uses the way f3 is defined, and does not beat the "
            "ceiling. With a leak of QL 10 or less none "
            "does."
        ),
    ),
)
