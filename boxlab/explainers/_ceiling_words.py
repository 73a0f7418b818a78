"""What the explainer on the ceiling says: readout, numbers, caption, description, code."""

from __future__ import annotations

import numpy as np

from boxlab.draw.scene import Number
from boxlab.explainers import _shared as shared
from boxlab.explainers._crowds import COUNT, LOSSES, still_beyond
from boxlab.model.passband import CEILING_SPEED, CEILINGS, ROUNDING, ceiling


def facts(many, mask, place):
    """Everything the words need, each from the solved answer."""
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


def readout(many, f, sag, which):
    """What the panel says under its picture, a sentence for each fact."""
    how_many = f"{f['left']:,} boxes".replace(",", " ")
    how_many += "" if f["left"] == COUNT else f" left of {COUNT:,}".replace(",", " ")
    if f["beyond"]:
        first = (
            f"Of {how_many}, {f['beyond']} pass the ceiling by 5 % or more, the best by "
            f"{100 * (f['best'] - 1):.0f} %, and each of them sags by {f['least_sag']:.2f} dB "
            "or more."
        )
    elif f["over"]:
        first = (
            f"Of {how_many}, {f['over']} pass the ceiling at all, none by 5 %: "
            f"the best by {100 * (f['best'] - 1):.1f} %."
        )
    else:
        first = f"Of {how_many} none passes the ceiling; the best reaches {100 * f['best']:.0f} %."
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


def numbers(many, mask, f):
    """The table of numbers."""
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


def caption(many, f, sag, losses):
    """The caption under the picture."""
    filters = "" if sag >= 3.1 else f", those with no more than {sag:g} dB of sag"
    filters += "" if losses == LOSSES[0] else f", {losses}"
    count, left = (f"{number:,}".replace(",", " ") for number in (COUNT, f["left"]))
    return (
        f"{count} random {many.kind} boxes, each solved{filters}. "
        f"The line is the published ceiling, k = {1e6 * ceiling(many.kind):.2f}e-6 at 343.2 m/s; "
        f"{f['beyond']} lie beyond it by 5 % or more. All {left} are drawn."
    )


def alt(many, f):
    """The description for those who do not see the picture."""
    return (
        "Four plots. Upper left, both axes log: efficiency, 0.01 to 10 %, against f3 cubed times "
        f"volume; a cloud of {many.kind} boxes under a slanting line, the ceiling, with "
        f"{f['beyond']} dots beyond it. Upper right: k over the ceiling, 0 to 1.6, against sag, "
        "0 to 3.1 dB; what lies above 1.05 has a sag. Lower left: count of boxes, 0 to 3000, by "
        "k, 0 to 6 millionths. Lower right: level of one box against its plateau, −24 to 12 dB, "
        "5 to 500 Hz, with the maximally flat curve of the same corner."
    )


def code(kind, sag):
    """The lines of Python that give the same again."""
    return (
        "from boxlab.model.random_designs import random_designs\n"
        "from boxlab.model.passband import ceiling, passband\n"
        f"many = random_designs({kind!r}, {COUNT})\n"
        "found = passband(many.driver, many.box)\n"
        f"over = (found.constant / ceiling({kind!r}))[found.sag <= {sag:g}]\n"
        "print(over.size, (over > 1).sum(), (over > 1.05).sum(), over.max())"
    )
