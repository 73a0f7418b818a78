"""Phase and travel from a table read off a slow-motion film."""

from __future__ import annotations

import re
from os import PathLike
from pathlib import Path

import numpy as np
from numpy.typing import ArrayLike

from boxlab.base.checks import positive
from boxlab.measure.record.phases import Phases
from boxlab.model.camera import shutter_gain


def phase_from_film(
    frames: ArrayLike, cone: ArrayLike, radiator: ArrayLike, frequency: float, rate: float,
    stops: tuple[float | None, float | None] = (None, None),
) -> Phases:  # fmt: skip
    """Phase and travel from positions read off a slow-motion film.

    A film shows a motion at another speed, and backwards where it has fewer than two frames in a
    cycle: that is refused here. Its shutter blurs, and a sensor read line by line shows the lower
    part late; both are said.

    Parameters
    ----------
    frames : numbers of the frames, shape (n,)
    cone, radiator : positions in those frames, in any one unit, outward positive, shape (n,)
    frequency : Hz, of the tone that was played
    rate : frames a second, as the camera took them
    stops : how far cone and radiator may travel one way, in the same unit; None where not known

    Raises
    ------
    ValueError
        For fewer than six frames, or a film too slow for the tone.

    >>> t = np.arange(24) / 240
    >>> cone, radiator = 5 * np.cos(80 * np.pi * t), 8 * np.cos(80 * np.pi * t - np.pi / 3)  # mm
    >>> found = phase_from_film(range(24), cone, radiator, 40.0, 240.0)
    >>> found.phase.round(1), found.ratio.round(1)
    (array([-60.]), array([1.6]))
    """
    frames = np.asarray(frames, float)
    positions = np.column_stack([np.asarray(cone, float), np.asarray(radiator, float)])
    f, rate = positive("frequency", frequency, "Hz"), positive("rate", rate, "Frames a second.")
    if len(frames) < 6 or len(positions) != len(frames):
        raise ValueError("give six frames or more, and both positions for each of them.")
    if rate < 4 * f:
        raise ValueError(
            f"{rate:g} frames a second show {f:g} Hz with {rate / f:.1f} frames in a cycle: at "
            "least four are needed, or the film tells another motion than there is."
        )
    t = frames / rate
    design = np.column_stack(
        [np.cos(2 * np.pi * f * t), np.sin(2 * np.pi * f * t), np.ones(len(t))]
    )
    solution, *_ = np.linalg.lstsq(design, positions, rcond=None)
    left = positions - design @ solution
    one, two = solution[0] - 1j * solution[1]
    scatter = np.sqrt(np.sum(left**2, axis=0) / max(1, len(t) - 3) * 2 / len(t))
    doubt = np.degrees(np.hypot(*(scatter / np.abs([one, two]))))
    travel = np.abs([one, two])
    notes = [f"travel one way: {travel[0]:.3g} and {travel[1]:.3g}, in the unit of the table"]
    for name, way, stop in zip(("the cone", "the radiator"), travel, stops, strict=True):
        if stop is not None:
            share = way / positive("stop", stop, "In the unit of the table.")
            notes.append(
                f"{name} uses {100 * share:.0f} % of its {stop:g}"
                + (": past its stop. Turn down." if share > 1 else "")
            )
    blur, late = 1 - float(shutter_gain(f, 1 / rate)), 360 * f / rate
    notes += [
        f"a shutter open for a whole frame makes travel look up to {100 * blur:.1f} % too small",
        f"a sensor read line by line shows what is lower in the picture up to {late:.0f}° late: "
        "hold the camera so that cone and radiator lie side by side",
    ]
    return Phases(
        np.array([f]), np.degrees(np.angle([two / one])), np.abs([two / one]), np.array([doubt]),
        tuple(notes),
    )  # fmt: skip


def read_film(path: str | PathLike) -> np.ndarray:
    """Frame, cone and radiator of each line of the table `path`, shape (n, 3); others are remarks.

    >>> from tempfile import TemporaryDirectory
    >>> with TemporaryDirectory() as folder:
    ...     table = Path(folder, "film.csv")
    ...     _ = table.write_text("frame;cone;radiator\\n0;1,5;-3\\n1;2,5;-4\\n")
    ...     read_film(table).tolist()
    [[0.0, 1.5, -3.0], [1.0, 2.5, -4.0]]

    Raises
    ------
    ValueError
        If a line of numbers does not have three of them.
    """
    rows = []
    for number, line in enumerate(Path(path).read_text(encoding="utf-8-sig").splitlines(), 1):
        parts = re.split(r"[;\t]" if re.search(r"[;\t]", line) else r"[,\s]+", line)
        try:
            values = [float(part.strip().replace(",", ".")) for part in parts if part.strip()]
        except ValueError:
            continue
        if values and len(values) != 3:
            raise ValueError(
                f"{path}, line {number}: {len(values)} numbers, and three are needed: frame, cone, "
                "radiator, in millimetres outward."
            )
        rows += [values] if values else []
    return np.array(rows).reshape(-1, 3)
