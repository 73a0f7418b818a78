"""The ceiling: 20,000 random boxes of each kind against the published largest k."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from boxlab.bargain import best_box
from boxlab.designs import Designs, random_designs
from boxlab.scene import Choice, Explainer, Line, Mark, Number, Plot, Scene, Slider
from boxlab.scenes import _shared as shared
from boxlab.tradeoff import (
    CEILING_SPEED,
    CEILINGS,
    GRID,
    HALF_POWER,
    ROUNDING,
    SAG,
    Passband,
    ceiling,
    corner,
    levels,
    passband,
    why_beyond,
)

COUNT = 20_000
KINDS = ("sealed", "ported", "radiator")
LOSSES = ("all", "with losses", "QL 10 or less")
FREQUENCY = np.geomspace(5, 500, 161)  # Hz, for the one design looked at
EDGES = np.linspace(0, 6, 49)  # 1e-6 s³/m³, of the counts


@dataclass(frozen=True, eq=False)
class Crowd:
    """20,000 random designs of one kind, and what their solved responses come to; shape (COUNT,).

    `over` is k over the published ceiling, `why` what `why_beyond` says of each, and `order` the
    designs from the largest k down.
    """

    kind: str
    designs: Designs
    found: Passband
    over: np.ndarray
    why: np.ndarray
    order: np.ndarray


@lru_cache(maxsize=3)
def crowd(kind) -> Crowd:
    """Solve the crowd of one kind: once for each session, a second or two."""
    designs = random_designs(kind, COUNT)
    found = passband(designs.driver, designs.box)
    over = found.constant / ceiling(kind)
    return Crowd(kind, designs, found, over, why_beyond(kind, found), np.argsort(-over))


def kept(many, sag, losses):
    """Which designs are left: at most `sag` dB of sag, and with these losses; bool, (COUNT,)."""
    mask = many.found.sag <= sag
    if losses != LOSSES[0]:
        mask &= many.designs.driver.rms > 0
        ql = getattr(many.designs.box, "ql", None)
        if losses == LOSSES[2] and ql is not None:
            mask &= ql <= 10
    return mask


def tighter(kind, drop):
    """k of the designs beyond the ceiling if f3 is read at `drop` dB instead of −3.01.

    In s³/m³, for those that pass it by more than the rounding, the largest first.
    """
    many = crowd(kind)
    places = many.order[many.over[many.order] > 1 + ROUNDING]
    beyond, found = many.designs[places], many.found
    edge = corner(GRID, levels(beyond.driver, beyond.box), drop)
    return found.efficiency[places] / (edge**3 * found.volume[places])


@lru_cache(maxsize=3)
def still_beyond(kind):
    """(those beyond, those of them still ahead of the best alignment, both read at −1 dB)."""
    readings = tighter(kind, -1.0)
    driver, box = best_box("ported", 0.014, 40.0)
    found = passband(driver, box)
    edge = corner(GRID, levels(driver, box), -1.0)
    best = found.efficiency / (edge**3 * found.volume)
    return readings.size, int((readings > best).sum())


def scene(kind, sag, losses, which) -> Scene:
    """One kind, with at most `sag` dB of sag; `which` counts from the largest k down."""
    many = crowd(kind)
    mask = kept(many, sag, losses)
    left = many.order[mask[many.order]]
    place = left[min(int(which), left.size) - 1]
    facts = _facts(many, mask, place)
    return Scene(
        title=f"{COUNT:,} random {kind} boxes against the ceiling".replace(",", " "),
        plots=(
            _cloud_plot(many, mask, place),
            _sag_plot(many, mask, place),
            _count_plot(many, mask),
            _one_plot(many, place),
        ),
        readout=_readout(many, facts, sag, which),
        numbers=_numbers(many, mask, facts),
        caption=_caption(many, facts, sag, losses),
        alt=_alt(many, facts),
        code=_code(kind, sag),
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
            *_dots(many.found.sag, many.over, mask, place, many),
        ),
        (Mark(1.0, "published ceiling", "limit", "y"),),
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
    return Plot(
        "The one looked at, solved",
        "frequency, Hz",
        "level against its plateau, dB",
        (5, 500),
        (-24, 12),
        (
            Line(FREQUENCY, flat, "quiet", "maximally flat, same f3", ""),
            Line(FREQUENCY, level, "sum", "this box", many.kind),
        ),
        (Mark(HALF_POWER, "−3 dB", "limit", "y"), Mark(f3, f"f3 {f3:.1f} Hz")),
    )


def _facts(many, mask, place):
    found = many.found
    return {
        "left": int(mask.sum()),
        "over": int((many.over[mask] > 1).sum()),
        "beyond": int((many.over[mask] > 1 + ROUNDING).sum()),
        "best": float(many.over[mask].max()),
        "least_sag": float(np.min(found.sag[mask & (many.over > 1 + ROUNDING)], initial=np.inf)),
        "place": place,
        "k": float(found.constant[place]),
        "ratio": float(many.over[place]),
        "f3": float(found.f3[place]),
        "sag": float(found.sag[place]),
        "peak": float(found.peak[place]),
        "volume": float(found.volume[place]),
        "efficiency": float(found.efficiency[place]),
        "why": str(many.why[place]),
    }


def _readout(many, f, sag, which):
    how_many = f"{f['left']:,} boxes left of {COUNT:,}".replace(",", " ")
    if f["beyond"]:
        first = (
            f"{how_many}: {f['beyond']} pass the ceiling by 5 % or more, the best by "
            f"{100 * (f['best'] - 1):.0f} %, and each of them sags, by {f['least_sag']:.2f} dB "
            "or more."
        )
    elif f["over"]:
        first = (
            f"{how_many}: {f['over']} pass the ceiling at all, none by 5 %: "
            f"the best by {100 * (f['best'] - 1):.1f} %."
        )
    else:
        first = f"{how_many}: none passes the ceiling; the best reaches {100 * f['best']:.0f} %."
    return (
        first,
        f"Number {min(int(which), f['left'])} from the top: k = {1e6 * f['k']:.2f}e-6, "
        f"{f['ratio']:.2f} of the ceiling, f3 {f['f3']:.1f} Hz, sag {f['sag']:.2f} dB, peak "
        f"{f['peak']:.2f} dB.",
        _read_tighter(many.kind),
        f"Half of all {COUNT:,} reach no more than {np.median(many.over):.2f} of it.".replace(
            ",", " ", 1
        ),
    )


def _read_tighter(kind):
    beyond, ahead = still_beyond(kind)
    if not beyond:
        return "Nothing to explain here: for sealed boxes the ceiling is a true maximum."
    return (
        f"Read the corner at −1 dB instead of −3 dB, and of the {beyond} that passed it "
        f"{ahead or 'none'} still {'beat' if ahead != 1 else 'beats'} the best smooth alignment."
    )


def _numbers(many, mask, f):
    k = 1e6 * np.quantile(many.found.constant, (0.25, 0.5, 0.75, 1))
    ceiling_here = 1e6 * ceiling(many.kind)
    return (
        Number(
            f"ceiling as published, at {CEILING_SPEED:g} m/s",
            f"{1e6 * CEILINGS[many.kind]:.1f}e-6 s³/m³",
        ),
        Number("ceiling at today's 343.2 m/s", f"{ceiling_here:.2f}e-6 s³/m³"),
        Number("k of all: lower quarter, middle", f"{k[0]:.2f}, {k[1]:.2f}e-6"),
        Number("k of all: upper quarter, largest", f"{k[2]:.2f}, {k[3]:.2f}e-6"),
        Number("boxes left", f"{f['left']}"),
        Number("of these over the ceiling", f"{f['over']}"),
        Number("of these over by 5 % or more", f"{f['beyond']}"),
        Number("largest k over the ceiling", f"{f['best']:.3f}"),
        shared.volume_number("the one looked at: net volume", f["volume"]),
        shared.hertz("the one looked at: f3", f["f3"]),
        Number("the one looked at: efficiency", f"{100 * f['efficiency']:.2f} %"),
        Number("the one looked at: verdict", f["why"]),
    )


def _caption(many, f, sag, losses):
    filters = "" if sag >= 3.1 else f", those with no more than {sag:g} dB of sag"
    filters += "" if losses == LOSSES[0] else f", {losses}"
    count, left = (f"{number:,}".replace(",", " ") for number in (COUNT, f["left"]))
    return (
        f"{count} random {many.kind} boxes, each solved{filters}. "
        f"The line is the published ceiling, k = {1e6 * ceiling(many.kind):.2f}e-6 at 343.2 m/s; "
        f"{f['beyond']} lie beyond it by 5 % or more. All {left} are drawn."
    )


def _alt(many, f):
    return (
        "Four plots. Upper left, both axes log: efficiency, 0.01 to 10 %, against f3 cubed times "
        f"volume; a cloud of {many.kind} boxes under a slanting line, the ceiling, with "
        f"{f['beyond']} dots beyond it. Upper right: k over the ceiling, 0 to 1.6, against sag, "
        "0 to 3.1 dB; what lies above 1.05 has a sag. Lower left: count of boxes, 0 to 3000, by "
        "k, 0 to 6 millionths. Lower right: level of one box against its plateau, −24 to 12 dB, "
        "5 to 500 Hz, with the maximally flat curve of the same corner."
    )


def _code(kind, sag):
    return (
        "from boxlab.designs import random_designs\n"
        "from boxlab.tradeoff import ceiling, passband\n"
        f"many = random_designs({kind!r}, {COUNT})\n"
        "found = passband(many.driver, many.box)\n"
        f"over = (found.constant / ceiling({kind!r}))[found.sag <= {sag:g}]\n"
        "print(over.size, (over > 1).sum(), (over > 1.05).sum(), over.max())"
    )


EXPLAINERS = (
    Explainer(
        name="ceiling_of_k",
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
        anchor="Does-any-box-beat-the-ceiling?",
        answer=(
            "Of 20 000 random sealed boxes none passes the published ceiling. Of 40 000 vented "
            "ones 1 in 200 does by more than 5 %, and each of those sags towards −3 dB well before "
            "its f3: it bends the definition of f3, not the law. With a leak of QL 10 or less none "
            "does."
        ),
    ),
)
