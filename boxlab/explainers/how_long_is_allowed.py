"""The two published rules for time and level, and the dose of a day made of two stretches."""

from __future__ import annotations

import numpy as np

from boxlab.base.cautions import words
from boxlab.draw.scene import Explainer, Line, Mark, Number, Plot, Scene, Slider
from boxlab.sound.hearing import (
    HOUR,
    NIOSH,
    OSHA,
    above_ceiling,
    average_level,
    clock,
    dose,
    in_hours,
    permitted,
)

LEVELS = np.linspace(75, 120, 181)
RULES = ((NIOSH, "limit"), (OSHA, "quiet"))


def scene(level, minutes, other, hours) -> Scene:
    """A day of `minutes` at `level` dBA and `hours` at `other` dBA, by both rules."""
    parts = ([level, other], [60 * minutes, HOUR * hours])
    doses = {rule.name: dose(*parts, rule) for rule, _ in RULES}
    alone = {rule.name: dose([level], [60 * minutes], rule) for rule, _ in RULES}
    left = {rule.name: _left(level, other, hours, rule) for rule, _ in RULES}
    one = {rule.name: permitted(level, rule) for rule, _ in RULES}
    return Scene(
        title=f"{level:g} dBA for {minutes:g} min, {other:g} dBA for {hours:g} h",
        plots=(_times(level, other), _dose_plot(level, minutes, other, hours)),
        readout=(
            f"This day makes {doses['NIOSH']:.0f} % of the allowance by NIOSH and "
            f"{doses['OSHA']:.0f} % by OSHA.",
            f"At {level:g} dBA alone NIOSH allows {clock(one['NIOSH'])} and OSHA "
            f"{clock(one['OSHA'])}; {minutes:g} min of it make {alone['NIOSH']:.0f} % and "
            f"{alone['OSHA']:.0f} %.",
            f"After {hours:g} h at {other:g} dBA there is "
            + " and ".join(
                f"{clock(left[rule.name]) if left[rule.name] else 'nothing'} left by {rule.name}"
                for rule, _ in RULES
            )
            + f" for {level:g} dBA.",
        ),
        numbers=_numbers(one, doses),
        caption=(
            f"Left, allowed time against level: NIOSH halves it every 3 dB, OSHA every 5. Right, "
            f"the dose of a day: {hours:g} h at {other:g} dBA, then {minutes:g} min at "
            f"{level:g} dBA; {doses['NIOSH']:.0f} % by NIOSH, {doses['OSHA']:.0f} % by OSHA."
        ),
        alt=(
            "Left: allowed time in hours, 0.005 to 50, log axis, against level, 75 to 120 dBA; two "
            "falling straight lines that end at 115, NIOSH steeper and the stricter from 78 dBA "
            "up. Right: dose in per cent, 0 to 300, against hours into the day, 0 to 14, two "
            f"rising lines with a bend at {hours:g} hours and a line at 100 per cent."
        ),
        code=(
            "from boxlab.sound.hearing import NIOSH, OSHA, dose\n"
            f"day = [{level:g}, {other:g}], [{60 * minutes:g}, {HOUR * hours:g}]\n"
            "print(dose(*day, NIOSH), dose(*day, OSHA))"
        ),
        warnings=(
            ("Above 115 dBA: no unprotected time at all, whatever the formula gives.",)
            if above_ceiling(max(level, other))
            else ()
        ),
        cautions=words("hearing"),
    )


def _left(level, other, hours, rule):
    """Seconds left at `level` after the other stretch, never below zero."""
    return max(0.0, 1 - dose([other], [HOUR * hours], rule) / 100) * permitted(level, rule)


def _times(level, other):
    return Plot(
        "Allowed time in a day",
        "level, dBA",
        "time, h",
        (75, 120),
        (0.005, 50),
        tuple(
            Line(LEVELS, in_hours(permitted(LEVELS, rule)), role, rule.name) for rule, role in RULES
        ),
        (Mark(level, f"{level:g} dBA"), Mark(8, "8 h", "quiet", "y")),
        xscale="linear",
        yscale="log",
    )


def _dose_plot(level, minutes, other, hours):
    end = hours + minutes / 60
    t = np.unique(np.concatenate((np.linspace(0, hours, 40), np.linspace(hours, end, 40))))
    first, second = np.minimum(t, hours) * HOUR, np.maximum(t - hours, 0) * HOUR
    lines = tuple(
        Line(t, _run(level, other, first, second, rule), role, rule.name) for rule, role in RULES
    )
    return Plot(
        "Dose as the day goes on",
        "time into the day, h",
        "dose, % of a day's allowance",
        (0, 14),
        (0, 300),
        lines,
        (Mark(100, "100 %: the day's allowance", "limit", "y"),),
        xscale="linear",
    )


def _run(level, other, first, second, rule):
    return np.array(
        [dose([other, level], [a, b], rule) for a, b in zip(first, second, strict=True)]
    )


def _numbers(one, doses):
    rows = []
    for rule, _ in RULES:
        rows += [
            Number(f"{rule.name}, allowed time at this level", clock(one[rule.name])),
            Number(f"{rule.name}, dose of the day", f"{doses[rule.name]:.0f} %"),
        ]
        if doses[rule.name] > 0:
            mean = average_level(doses[rule.name], rule)
            rows.append(Number(f"{rule.name}, as one level for 8 h", f"{mean:.1f} dBA"))
    return tuple(rows)


EXPLAINERS = (
    Explainer(
        name="how_long_is_allowed",
        gear=False,
        question="How long may you listen at a level, and what does the rest of the day add?",
        controls=(
            Slider("level", "Level of the loud part", 75, 120, 100, 1, "dBA"),
            Slider("minutes", "Time at it", 0, 240, 30, 5, "min"),
            Slider("other", "Level of the rest of the day", 60, 100, 82, 1, "dBA"),
            Slider("hours", "Time at that", 0, 10, 8, 0.5, "h"),
        ),
        scene=scene,
        lesson="09-how-loud-how-long.ipynb",
        anchor="How-long-is-allowed",
        answer=(
            "By NIOSH 8 hours at 85 dBA, half for every 3 dB more: 94 dBA is one hour, 100 dBA a "
            "quarter. OSHA starts at 90 dBA and halves every 5 dB. Doses of a day add up."
        ),
        presets={
            "noisy work, then the car": {},
            "quiet day": {"other": 70.0},
            "a drive home": {"level": 94.0, "minutes": 60.0, "hours": 0.0},
        },
    ),
)
