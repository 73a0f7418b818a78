"""Several levels in one picture: the same box at the same volts, as it is and with a fault."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from boxlab.draw.scene import Line, Plot, Scene
from boxlab.model.response import Response

ROLES = ("sum", "limit", "quiet")


def levels(responses: Mapping[str, Response], title: str = "Level") -> Scene:
    """Level of each response over their common frequencies, by the name to print; at most three.

    The caption says what is drawn and not what comes out: it may stand beside an open question.

    Raises
    ------
    ValueError
        For no response, or more than three.
    """
    if not 1 <= len(responses) <= len(ROLES):
        raise ValueError(f"{len(responses)} responses: give one to {len(ROLES)}, by name.")
    all_of = list(responses.values())
    low, high = float(all_of[0].frequency[0]), float(all_of[0].frequency[-1])
    bottom = 5 * np.floor(min(float(each.spl.min()) for each in all_of) / 5)
    top = 5 * np.ceil(max(float(each.spl.max()) for each in all_of) / 5)
    names = " and ".join(responses)
    lines = tuple(
        Line(each.frequency, each.spl, role, name)
        for role, (name, each) in zip(ROLES, responses.items(), strict=False)
    )
    level, over = "level in dB re 20 µPa", f"against frequency, {low:.0f} to {high:.0f} Hz"
    axis = "level, dB re 20 µPa at 1 m"
    return Scene(
        title=title,
        plots=(Plot(title, "frequency, Hz", axis, (low, high), (bottom, top), lines),),
        readout=(f"{level}: {names}.",),
        numbers=(),
        caption=f"Figure: {level} {over}, at the same volts: {names}.",
        alt=f"One plot of {level}, {bottom:.0f} to {top:.0f}, {over}: {names}.",
        code="",
    )
