"""Two or three boxes on one page: same voltage, same amplifier, what stops each, impedance."""

from __future__ import annotations

import numpy as np

from boxlab.car.wiring import Amplifier
from boxlab.design.fair_comparison import CLOSE, Footing, lead, stand, verdict
from boxlab.draw.scene import Choice, Explainer, Line, Mark, Number, Scene, Slider
from boxlab.explainers import _shared as shared
from boxlab.explainers._cuts import shown
from boxlab.explainers._shared import FREQUENCY, against_frequency
from boxlab.explainers.builds_for_the_gap import LIMITS
from boxlab.gear import shelf
from boxlab.gear.demo_boxes import SHELF
from boxlab.gear.own_build import NAME
from boxlab.model.response import solve
from boxlab.model.validity import PORT_SPEED

ORDER = ("sum", "quiet", "leak")  # colours of the first, second and third box
SPACES = ("each as built", "all in the space of the first")
NOBODY = "none"
DOUBLING = 1.6  # watts at 2 Ω over watts at 4 Ω: the supply sags (common practice, no source)


def page(contenders, footing, title="Compared on the same footing", code=""):
    """One page on two or three boxes as a `Scene`, from anything that makes a `Contender`.

    Raises
    ------
    ValueError
        For fewer than two contenders or more than three, or two of one name.
    """
    if len(contenders) > len(ORDER):
        raise ValueError(f"{len(contenders)} contenders: give two or three, a page holds no more")
    found = [stand(c, footing) for c in contenders]
    said = verdict(found, footing)
    there = [(s, role) for s, role in zip(found, ORDER, strict=False) if s.contender.box]
    edges = (Mark(footing.low, f"{footing.low:g} Hz"), Mark(footing.high, f"{footing.high:g} Hz"))
    amp = ", ".join(f"{w:.0f} W at {load:g} Ω" for load, w in footing.amplifier.ratings.items())
    names = " against ".join(s.name for s in found)
    return Scene(
        **shown({s.name: _solved(s, footing) for s, _ in there}, footing.low),
        title=title,
        plots=(
            _curves(
                f"Same voltage: {footing.voltage:g} V", "level, dB re 20 µPa", (60, 100), edges,
                [(FREQUENCY, _solved(s, footing).spl, s, role) for s, role in there],
            ),
            _curves(
                "Same amplifier: loudest steady tone", "level, dB re 20 µPa", (80, 120), edges,
                [(s.ceiling.frequency, s.ceiling.spl, s, role) for s, role in there if s.ceiling],
            ),
            _stops(found, edges),
            _curves(
                "Impedance", "magnitude of impedance, Ω", (0, 60), (),
                [(FREQUENCY, np.abs(_solved(s, footing).impedance), s, role)
                 for s, role in there],
            ),
        ),
        headline=_leads(found),
        readout=(_headline(found), *said),
        numbers=_numbers(found),
        caption=(
            f"{names[0].upper()}{names[1:]}, {footing.low:g} to {footing.high:g} Hz, amplifier "
            f"{amp}. {_headline(found)} Half space, 1 m, steady tones."
        ),
        alt=(
            "Four plots against frequency, 20 to 200 Hz. Upper left: level in dB re 20 µPa, 60 to "
            f"100, at {footing.voltage:g} V. Upper right: loudest level with the same amplifier, "
            "80 to 120 dB. Lower left: a bar for each box coloured by what stops it. Lower right: "
            f"impedance in ohms, 0 to 60. {' '.join(said)}"
        ),
        code=code,
    )  # fmt: skip


def _solved(standing, footing):
    c = standing.contender
    return solve(c.driver, c.box, FREQUENCY, footing.voltage)


def _curves(title, ylabel, ylim, marks, curves):
    return against_frequency(
        title,
        ylabel,
        ylim,
        tuple(Line(x, y, role, s.name, s.contender.build) for x, y, s, role in curves),
        marks,
        xlim=(20, 200),
    )


def _stops(found, marks):
    lines = []
    for row, s in enumerate(found):
        if s.ceiling is None:
            continue
        for limit, (role, name) in LIMITS.items():
            y = np.where(s.ceiling.limit == limit, row + 1.0, np.nan)
            lines += [
                Line(s.ceiling.frequency, y + shift, role, name) for shift in (-0.05, 0.0, 0.05)
            ]
    return against_frequency(
        "What stops the first box (1), the second (2) ...",
        "box",
        (len(found) + 0.5, 0.5),
        tuple(lines),
        tuple(Mark(m.at, "") for m in marks),
        yticks=tuple(float(k + 1) for k in range(len(found))),
        xlim=(20, 200),
    )


def _leads(found):
    """Who leads at one voltage, with one amplifier and at the weakest note, and by how much."""
    leads = []
    for where, value in (
        ("at one voltage", lambda s: s.at_voltage),
        ("on one amplifier", lambda s: s.average),
        ("at the weakest note", lambda s: s.weakest[1]),
    ):
        known = sorted((s for s in found if value(s) == value(s)), key=value, reverse=True)
        if len(known) < 2:
            return _headline(found)
        gap = lead(value(known[0]), value(known[1]))
        leads.append((f"the {known[0].name}" if gap > CLOSE else "it is a draw", gap, where))
    parts, before, leads_said = [], "", False
    for who, gap, where in leads:
        named = "" if who == before else f"{who} "
        if gap > CLOSE:
            verb, leads_said = "" if leads_said else "leads ", True
            parts.append(f"{named}{verb}by {gap:.1f} dB {where}")
        else:
            parts.append(f"{named}{where}")
        before = who
    said = ", ".join(parts[:-1]) + f" and {parts[-1]}."
    return said[0].upper() + said[1:]


def _headline(found):
    """Who leads at one volt, with one amplifier and at the weakest note, in one short line."""
    measures = (
        ("Same voltage", lambda s: s.at_voltage),
        ("amplifier", lambda s: s.average),
        ("weakest note", lambda s: s.weakest[1]),
    )
    parts = []
    for what, value in measures:
        known = sorted((s for s in found if value(s) == value(s)), key=value, reverse=True)
        if len(known) < 2:
            return f"Only {known[0].name} can be compared." if known else "None can be compared."
        clear = lead(value(known[0]), value(known[1])) > CLOSE
        parts.append(f"{what}: {known[0].name if clear else 'a draw'}")
    return "; ".join(parts) + "."


def _numbers(found):
    rows = []
    for s in found:
        c = s.contender
        if c.box is None:
            rows.append(Number(s.name, "cannot be built"))
            continue
        rows += [
            shared.volume_number(f"{s.name}: outside", c.space),
            shared.volume_number(f"{s.name}: net", c.box.volume),
            shared.hertz(f"{s.name}: f3", s.f3),
            Number(f"{s.name}: same voltage", f"{s.at_voltage:.1f} dB"),
            Number(f"{s.name}: same amplifier, average", f"{s.average:.1f} dB"),
            Number(f"{s.name}: at its weakest note", f"{s.weakest[1]:.1f} dB"),
        ]
    return tuple(rows)


def called(name):
    """What a box of the shelf is called in a sentence."""
    return NAME if name == shelf.OWN else name


def contenders(names, space):
    """Boxes of the shelf by name, each as built or all in the space of the first."""
    names = list(dict.fromkeys(name for name in names if name != NOBODY))
    if len(names) < 2:
        raise ValueError(
            f"only {called(names[0])} is chosen: choose two different boxes to compare"
        )
    room = None if space == SPACES[0] else SHELF[names[0]].space
    return [SHELF[name].contender(called(name), room) for name in names]


def amplifier_of(watts, names):
    """The amplifier that gives `watts` at 4 Ω: the open job's where its box is in, so scaled."""
    own = shelf.current() and shelf.current().amplifier
    if not own or shelf.OWN not in names or own.minimum > 4:
        return Amplifier({4: watts, 2: DOUBLING * watts})
    share = watts / own.power(4.0)
    return Amplifier({load: share * power for load, power in own.ratings.items()}, own.minimum)


def footing_of(watts, low, high, voltage, speed, names=()):
    """A `Footing` from the settings of a panel, for the boxes of these names."""
    return Footing(amplifier_of(watts, names), voltage, low, high, speed)


def scene(first, second, third, space, low, watts, high, voltage, speed) -> Scene:
    """The page for boxes of the shelf; Hz, W at 4 Ω, V and m/s."""
    footing = footing_of(watts, low, high, voltage, speed, (first, second, third))
    boxes = contenders((first, second, third), space)
    names = [c.name for c in boxes]
    chosen = [name for name in dict.fromkeys((first, second, third)) if name != NOBODY]
    return page(
        boxes,
        footing,
        f"{names[0]} against {' and '.join(names[1:])}",
        "from boxlab.design.fair_comparison import stand, verdict\n"
        "from boxlab.explainers.one_page import contenders, footing_of\n"
        f"footing = footing_of({watts:g}, {low:g}, {high:g}, {voltage:g}, {speed:g})\n"
        f"boxes = contenders({chosen!r}, {space!r})\n"
        "print(*verdict([stand(box, footing) for box in boxes], footing), sep='\\n')",
    )


EXPLAINERS = (
    Explainer(
        name="one_page",
        question="Which of these boxes does more, on the same footing?",
        controls=(
            Choice("first", "First box", tuple(SHELF), "small radiator"),
            Choice("second", "Second box", tuple(SHELF), "small sealed"),
            Choice("third", "Third box", (NOBODY, *SHELF), "small ported"),
            Choice("space", "Space", SPACES, SPACES[0]),
            Slider("low", "Lowest note that counts", 20, 50, 30, 1, "Hz"),
            Slider("watts", "Amplifier, at 4 Ω", 50, 600, 300, 25, "W"),
            Slider("high", "Highest note", 60, 120, 80, 5, "Hz", more=True),
            Slider("voltage", "Same voltage", 1, 20, 2.83, 0.01, "V", more=True),
            Slider("speed", "Air speed allowed", 8, 30, PORT_SPEED, 1, "m/s", more=True),
        ),
        scene=scene,
        lesson="10-compare-boxes-fairly.ipynb",
        anchor="See",
        answer=(
            "Give each the same voltage, then the same amplifier, in the same band, and say what "
            "space each takes and what stops it. A lead of 1 dB or less is a draw."
        ),
        presets={
            "three small ones": {},
            "a two-ohm twin": {"second": "two-ohm twin", "third": NOBODY},
            "small and large": {"second": "large ported", "third": NOBODY},
            "in one space": {"second": "large ported", "third": NOBODY, "space": SPACES[1]},
        },
    ),
)
