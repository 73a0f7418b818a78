"""Several sweeps in one picture: the same box before and after."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from boxlab.draw.scene import Line, Plot, Scene
from boxlab.measure import Sweep, find_tuning

ROLES = ("quiet", "electrical", "limit", "leak")


def together(sweeps: Mapping[str, Sweep], title: str = "") -> Scene:
    """Magnitude of impedance of each sweep, by the name to print, as points; at most four.

    Raises
    ------
    ValueError
        For no sweep, or more than four.
    """
    if not 1 <= len(sweeps) <= len(ROLES):
        raise ValueError(f"{len(sweeps)} sweeps: give one to {len(ROLES)}, by name.")
    low = min(float(each.frequency[0]) for each in sweeps.values())
    high = min(max(float(each.frequency[-1]) for each in sweeps.values()), 400.0)
    top = max(float(each.between(low, high).magnitude.max()) for each in sweeps.values())
    top = 10 * np.ceil(1.05 * top / 10)
    told = "; ".join(f"{name}: {_told(each)}" for name, each in sweeps.items())
    lines = [
        Line(each.frequency, each.magnitude, role, name, kind="points")
        for role, (name, each) in zip(ROLES, sweeps.items(), strict=False)
    ]
    return Scene(
        title=title or "Sweeps together",
        plots=(
            Plot(
                title or "Magnitude of impedance", "frequency, Hz", "magnitude of impedance, Ω",
                (low, high), (0, float(top)), tuple(lines),
            ),
        ),
        readout=(told,),
        numbers=(),
        caption=f"Figure: magnitude of impedance against frequency. {told}.",
        alt=(
            f"One plot of magnitude of impedance, 0 to {top:.0f} Ω, against frequency, "
            f"{low:.0f} to {high:.0f} Hz. {told}."
        ),
        code="",
    )  # fmt: skip


def _told(sweep):
    found = find_tuning(sweep)
    least = float(np.min(sweep.magnitude))
    if found.peaks != 2:
        return f"one peak at {found.resonance:.1f} Hz, lowest {least:.1f} Ω"
    return (
        f"peaks at {found.fl:.1f} and {found.fh:.1f} Hz, tuning {found.fb:.1f} Hz, lowest "
        f"{least:.1f} Ω"
    )
