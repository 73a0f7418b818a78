"""Outlines of a box in its gap as lines of a plot, for the explainers of fitting."""

from __future__ import annotations

import numpy as np

from boxlab.car.carcass_view import outlines
from boxlab.draw.scene import Line, Plot

# What each kind of outline is drawn as: the gap limits; ink is the box; parts keep their colours.
ROLES = {"gap": "limit", "board": "sum", "inside": "sum", "cover": "quiet", "notch": "quiet"}
NAMES = {"board": "box", "inside": "box", "cover": "obstruction", "notch": "obstruction"}


def view(carcass, which, title, xlim, ylim, parts=(), key=True, fits=True):
    """A scaled drawing as a plot in equal aspect; `parts` is a sequence of (Mounting, point).

    `key` False leaves its lines without names, where a view beside it has them; with `fits` False
    the parts are drawn as what is over a limit.
    """
    lines = []
    for outline in outlines(carcass, which, parts):
        closed = np.vstack([outline.points, outline.points[:1]])
        if outline.kind == "part":
            role = "vent" if "radiator" in outline.name else "cone"
            name = outline.name.split()[-1]
            if not fits:  # red as the gap is, and dashed, so that grey tells them apart
                role, name = "limit", f"{name}, does not fit"
        else:
            role, name = ROLES[outline.kind], NAMES.get(outline.kind, "gap")
        dash = "ported" if outline.kind == "part" and not fits else ""
        lines.append(Line(closed[:, 0], closed[:, 1], role, name if key else "", dash))
    across = "depth from the upright face, mm" if which == "side" else "width, mm"
    xlim, ylim = (
        _held(span, np.concatenate([getattr(line, axis) for line in lines]))
        for axis, span in (("x", xlim), ("y", ylim))
    )
    return Plot(title, across, "height, mm", xlim, ylim, tuple(lines), xscale="linear", equal=True)


def _held(span, values):
    """The ends of an axis drawn out to hold a gap that is larger than the class's."""
    low, high = float(values.min()), float(values.max())
    return (
        span[0] if low >= span[0] else 20 * np.floor(low / 20 - 1),
        span[1] if high <= span[1] else 20 * np.ceil(high / 20 + 1),
    )


def millimetres(clearance):
    """How a clearance stands, short: "33 mm to spare" or "4 mm short"."""
    spare = clearance.spare * 1e3
    if clearance.fits:
        return f"{abs(spare):.0f} mm to spare"
    return f"{-spare:.0f} mm short" if spare <= -0.5 else f"{-spare:.1f} mm short"
