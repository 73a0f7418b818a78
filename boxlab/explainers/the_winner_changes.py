"""The same two boxes on five footings, and for every lowest note: who leads, and by how much."""

from __future__ import annotations

import numpy as np

from boxlab.design.fair_comparison import CLOSE, Footing, lead, stand
from boxlab.draw.scene import Choice, Explainer, Line, Mark, Number, Plot, Scene, Slider
from boxlab.explainers import _shared as shared
from boxlab.explainers._cuts import shown
from boxlab.explainers.one_page import amplifier_of, called
from boxlab.gear.demo_boxes import SHELF
from boxlab.gear.shelf import remembered
from boxlab.model.response import solve
from boxlab.model.validity import PORT_SPEED

LOWS = np.arange(20.0, 61.0)  # Hz
LOWS.flags.writeable = False
WIDE = np.geomspace(20, 200, 231)  # Hz
WIDE.flags.writeable = False
NAMES = (
    "as advertised",
    "same voltage",
    "same amplifier",
    "same amplifier, weakest note",
    "same amplifier and space",
)


def advertised(contender):
    """The number on the carton: peak level, dB, anywhere from 20 to 200 Hz at rated power.

    No limit but heat is asked: V²/Re is the rating. Small's nominal power (from memory).
    """
    driver = contender.driver
    volts = np.sqrt(driver.pe * driver.re)
    return float(solve(driver, contender.box, WIDE, volts).spl.max())


@remembered(64)
def leads(first, second, low, watts):
    """Lead of the first box over the second in dB on each footing of NAMES; NaN where none is."""
    one, two = (SHELF[name].contender(called(name)) for name in (first, second))
    footing = Footing(amplifier_of(watts, (first, second)), low=low, air_speed=PORT_SPEED)
    a, b = stand(one, footing), stand(two, footing)
    moved = stand(SHELF[second].contender(called(second), SHELF[first].space), footing)
    return (
        lead(advertised(one), advertised(two)),
        lead(a.at_voltage, b.at_voltage),
        lead(a.average, b.average),
        lead(a.weakest[1], b.weakest[1]),
        lead(a.average, moved.average),
    ), tuple(
        _upper(f"{_the(s.name)}{' ' if problem.startswith('cannot') else ': '}{problem}")
        for s, problem in ((a, a.problem), (b, b.problem), (moved, moved.contender.problem))
        if problem
    )


@remembered(64)
def by_lowest_note(first, second, watts):
    """Lead of the first with the same amplifier, average and weakest, for each of LOWS to 80 Hz.

    NaN where the amplifier is not rated for the load of one of them.
    """
    amplifier = amplifier_of(watts, (first, second))
    footing = Footing(amplifier, low=float(LOWS[0]), air_speed=PORT_SPEED)
    a, b = (stand(SHELF[name].contender(name), footing).ceiling for name in (first, second))
    if a is None or b is None:
        return np.full(LOWS.size, np.nan), np.full(LOWS.size, np.nan)
    f = a.frequency
    inside = [f >= low * (1 - 1e-9) for low in LOWS]
    average = [np.mean(a.spl[k]) - np.mean(b.spl[k]) for k in inside]
    weakest = [a.spl[k].min() - b.spl[k].min() for k in inside]
    return np.array(average), np.array(weakest)


def scene(first, second, low, watts) -> Scene:
    """Lead of the first box over the second; low in Hz, watts at 4 Ω."""
    if first == second:
        raise ValueError(f"{called(first)} is chosen twice: choose two different boxes to compare")
    found, problems = leads(first, second, low, watts)
    average, weakest = by_lowest_note(first, second, watts)
    x = np.concatenate([[k - 0.3, k - 0.3, k + 0.3, k + 0.3] for k in range(1, 6)])
    y = np.concatenate([[0, v, v, 0] for v in np.nan_to_num(found)])
    boxes = [SHELF[name].contender(called(name)) for name in (first, second)]
    one, two = (_the(box.name) for box in boxes)
    return Scene(
        **shown({c.name: shared.state(c.driver, c.box) for c in boxes}, low),
        title=f"{called(first)} over {called(second)}, on five footings",
        plots=(
            Plot(
                f"Lead of {one}",
                "1 advertised, 2 voltage, 3 amplifier, 4 weakest, 5 space",
                "lead, dB",
                (0.5, 5.5),
                (-15, 15),
                (Line(x, y, "sum", "", kind="fill"), Line(x, y, "sum", "lead")),
                (Mark(CLOSE, "", "limit", "y"), Mark(-CLOSE, "a draw", "limit", "y")),
                xscale="linear",
            ),
            Plot(
                "The same, by the lowest note that counts",
                "lowest note, Hz (highest 80 Hz)",
                "lead, dB",
                (20, 60),
                (-15, 15),
                (
                    Line(LOWS, average, "sum", "average"),
                    Line(LOWS, weakest, "quiet", "weakest note"),
                ),
                (Mark(low, f"{low:g} Hz"), Mark(CLOSE, "", "limit", "y"),
                 Mark(-CLOSE, "a draw", "limit", "y")),
                xscale="linear",
            ),
        ),
        headline=(
            f"The lead of {one} is {_db(found[0])} as advertised, {_db(found[1])} at the same "
            f"voltage, {_db(found[2])} on the same amplifier and {_db(found[3])} at "
            "its weakest note."
        ),
        readout=(
            "; ".join(
                f"{way} {_db(v)}"
                for way, v in zip(FOOTINGS, found, strict=True)
                if not np.isnan(v)
            ) + ".",
            _plain(one, two, found),
            *problems,
            _by_note(one, two, weakest),
        ),
        numbers=tuple(
            Number(name, _db(v)) for name, v in zip(NAMES, found, strict=True)
        ),
        caption=(
            f"Lead in dB of {one} over {two}. Left, on five footings, from {low:g} to "
            f"80 Hz and with {watts:g} W at 4 Ω. Right, with the same amplifier, for every lowest "
            "note. Between the red lines it is a draw."
        ),
        alt=(
            f"Two plots of the lead in dB, -15 to 15, of {one} over {two}. Left: bars "
            f"for five footings: {', '.join(_signed(v) for v in found)}. Right: lead on average "
            "and at the weakest note against the lowest note that counts, 20 to 60 Hz."
        ),
        code=(
            "from boxlab.explainers.the_winner_changes import NAMES, leads\n"
            f"print(*zip(NAMES, leads({first!r}, {second!r}, {low:g}, {watts:g})[0]), sep='\\n')"
        ),
    )  # fmt: skip


# how the numbers of the plot are told in one line
FOOTINGS = (
    "As advertised", "same voltage", "same amplifier", "at the weakest note", "same space",
)  # fmt: skip


def _db(value):
    return "none" if np.isnan(value) else f"{_signed(value)} dB"


def _signed(value):
    if np.isnan(value):
        return "none"
    return f"{value:+.1f}".replace("-", "−") if abs(value) >= 0.05 else "0.0"


def _the(name):
    """ "the small sealed", "your box"."""
    return name if name.startswith("your ") else f"the {name}"


def _upper(words):
    return words[0].upper() + words[1:]


def _plain(one, two, found):
    won = [name for name, v in zip(NAMES, found, strict=True) if v > CLOSE]
    lost = [name for name, v in zip(NAMES, found, strict=True) if v < -CLOSE]
    parts = []
    if won:
        parts.append(f"{_upper(one)} leads: {'; '.join(won)}.")
    if lost:
        parts.append(f"{_upper(two)} leads: {'; '.join(lost)}.")
    if len(won) + len(lost) < sum(not np.isnan(v) for v in found):
        parts.append("The rest is a draw, within 1 dB.")
    return " ".join(parts)


def _by_note(one, two, weakest):
    if np.isnan(weakest).all():
        return "By lowest note: not worked out, since one of them has no level with this amplifier."
    ahead = np.where(weakest > CLOSE, 1, np.where(weakest < -CLOSE, -1, 0))
    words = {1: f"{one} leads", -1: f"{two} leads", 0: "it is a draw"}
    starts = np.flatnonzero(np.concatenate(([True], ahead[1:] != ahead[:-1])))
    parts = [
        f"{words[int(ahead[k])]} from {LOWS[k]:.0f} Hz" if k else words[int(ahead[k])]
        for k in starts
    ]
    return f"By lowest note, 20 to 60 Hz, at the weakest: {', then '.join(parts)}."


EXPLAINERS = (
    Explainer(
        name="the_winner_changes",
        question="Why does the winner change with the way you compare?",
        controls=(
            Choice("first", "First box", tuple(SHELF), "small radiator"),
            Choice("second", "Second box", tuple(SHELF), "two-ohm twin"),
            Slider("low", "Lowest note that counts", 20, 60, 30, 1, "Hz"),
            Slider("watts", "Amplifier, at 4 Ω", 50, 600, 300, 25, "W"),
        ),
        scene=scene,
        lesson="10-compare-boxes-fairly.ipynb",
        anchor="Why-does-the-winner-change",
        answer=(
            "Because each way of comparing gives one of the boxes something: power at the same "
            "voltage, space, or a band that suits it. Name the footing with the number."
        ),
        presets={
            "a two-ohm twin": {},
            "radiator or sealed": {"second": "small sealed"},
            "small or large": {"second": "large ported"},
        },
    ),
)
