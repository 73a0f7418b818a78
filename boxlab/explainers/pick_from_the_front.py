"""Search volume, count, weights and size of radiator; choose on the trade-off front."""

from __future__ import annotations

from functools import lru_cache
from types import MappingProxyType

import numpy as np

from boxlab.base.units import litres, to_grams, to_litres
from boxlab.design.pareto import search
from boxlab.draw.scene import Choice, Explainer, Line, Mark, Number, Plot, Scene, Slider
from boxlab.explainers import _shared as shared
from boxlab.explainers._cuts import shown
from boxlab.gear import shelf
from boxlab.gear.scenario import USUAL_QL
from boxlab.gear.shelf import DRIVERS, RADIATORS
from boxlab.model.enclosure import RadiatorBox

VOLUMES = np.linspace(6, 40, 18)  # L
VOLUMES.flags.writeable = False
LOAD, BAND = 4.0, (30.0, 80.0)
AXES = MappingProxyType(
    {"f3": ("cutoff f3, Hz", (30, 80)), "loud": ("level at weakest note, dB re 20 µPa", (80, 112)),
     "size": ("net volume, L", (0, 42))}
)  # fmt: skip


def candidates(size, power, room):
    """Every design of the grid up to `room` L for this driver and amplifier, and the front.

    A job's own radiator is the one tried, where it has one; else those of the class.
    """
    job = shelf.current()
    mine = job is not None and size == shelf.OWN and bool(job.radiators)
    names = {"own radiator": shelf.OWN} if mine else {name: name for name in RADIATORS}
    volumes = VOLUMES[room >= VOLUMES]
    if room > VOLUMES[-1]:
        volumes = np.linspace(VOLUMES[0], room, len(VOLUMES))
    return _searched(
        DRIVERS[size], tuple((n, RADIATORS[key]) for n, key in names.items()), tuple(volumes), power
    )


@lru_cache(maxsize=16)
def _searched(driver, radiators, volumes, power):
    return search(
        driver, dict(radiators), litres(np.array(volumes)), (1, 2),
        power=power, load=LOAD, band=BAND, ql=USUAL_QL,
    )  # fmt: skip


def _measures(c):
    return {"f3": c.f3, "loud": c.loudness, "size": to_litres(c.volume)}


def scene(size, power, room, depth, loudness, smallness) -> Scene:
    """The front, and the pick for three weights of 0 to 10; room in L, power in W."""
    c = candidates(size, power, room)
    pick = c.best(depth, loudness, smallness)
    m = _measures(c)
    on, off = c.front, ~c.front
    pairs = (("f3", "loud"), ("f3", "size"), ("size", "loud"))
    plots = tuple(
        Plot(
            title,
            AXES[x][0],
            AXES[y][0],
            AXES[x][1],
            AXES[y][1],
            (
                Line(m[x][off], m[y][off], "quiet", "beaten by another", kind="points"),
                Line(m[x][on], m[y][on], "vent", "on the front", kind="points"),
                Line(m[x][[pick]], m[y][[pick]], "limit", "your pick", kind="points"),
            ),
            (
                Mark(float(m[x][pick]), "", "limit"),
                Mark(float(m[y][pick]), "", "limit", "y"),
            ),
            xscale="linear",
        )
        for (x, y), title in zip(
            pairs, ("Deep or loud", "Deep or small", "Small or loud"), strict=True
        )
    )
    radiator = RADIATORS[shelf.OWN if c.radiator[pick] == "own radiator" else c.radiator[pick]]
    box = RadiatorBox(
        c.volume[pick], radiator.with_mass(c.added_mass[pick]), int(c.count[pick]), USUAL_QL
    )
    return Scene(
        **shown({"radiator": shared.state(DRIVERS[size], box)}, box.tuning()),
        title="The trade-off front",
        plots=(*plots, _count_plot(c, pick)),
        readout=(
            f"The pick is {to_litres(c.volume[pick]):.0f} L with {c.count[pick]} × "
            f"{c.radiator[pick]}: down to {c.f3[pick]:.0f} Hz, {c.loudness[pick]:.0f} dB at its "
            "weakest note.",
            f"{c.words(pick)[0].upper()}{c.words(pick)[1:]}.",
            f"{len(c)} boxes tried, {on.sum()} of them on the front: no other is at least as deep, "
            "as loud and as small, and better in one.",
            *_next_best(c, pick),
        ),
        numbers=(
            Number("boxes tried", f"{len(c)}"),
            Number("on the front", f"{on.sum()}"),
            shared.volume_number("net volume", c.volume[pick]),
            Number("radiators", f"{c.count[pick]} × {c.radiator[pick]}"),
            shared.mass_number("weights on each", c.added_mass[pick]),
            shared.hertz("tuning", c.tuning[pick]),
            shared.hertz("f3", c.f3[pick]),
            Number("loudest at its weakest note", f"{c.loudness[pick]:.1f} dB"),
            Number("stopped there by", str(c.limit[pick])),
        ),
        caption=(
            f"{len(c)} radiator boxes for the {size} driver, each dot one box. Orange: the front. "
            f"Crossed lines: the pick for depth {depth:g}, loudness {loudness:g} and size "
            f"{smallness:g}. Loudest steady tone at its weakest, 30 to 80 Hz, {power:g} W "
            f"into {LOAD:g} Ω."
        ),
        alt=(
            "Four scatter plots of one dot for each box. Upper left: level at the weakest note, 80 "
            "to 112 dB re 20 µPa, against f3, 30 to 80 Hz. Upper right: net volume, 0 to 42 L, "
            "against f3. Lower left: level against net volume. The boxes on the front form the "
            "edges of the cloud; lines cross at the pick. Lower right: weights on each radiator, 0 "
            "to 600 g, against net volume."
        ),
        code=(
            "from boxlab.explainers.pick_from_the_front import candidates\n"
            f"c = candidates({size!r}, {power:g}, {room:g})\n"
            f"print(c.words(c.best(depth={depth:g}, loudness={loudness:g}, size={smallness:g})))"
        ),
    )


def _count_plot(c, pick):
    grams, volume = to_grams(c.added_mass), to_litres(c.volume)
    on = c.front
    return Plot(
        "Weights, on the front only",
        "net volume, L",
        "weights on each, g",
        (0, 42),
        (0, 600),
        (
            Line(volume[on & (c.count == 1)], grams[on & (c.count == 1)], "quiet", "one radiator",
                 kind="points"),
            Line(volume[on & (c.count == 2)], grams[on & (c.count == 2)], "vent", "two radiators",
                 kind="points"),
            Line(volume[[pick]], grams[[pick]], "limit", "your pick", kind="points"),
        ),
        (Mark(float(volume[pick]), "", "limit"), Mark(float(grams[pick]), "", "limit", "y")),
        xscale="linear",
    )  # fmt: skip


def _next_best(c, pick):
    """What more of one would cost: the deepest, loudest and smallest of the front."""
    on = np.flatnonzero(c.front)
    ends = (
        ("Deepest", on[np.argmin(c.f3[on])]),
        ("Loudest", on[np.argmax(c.loudness[on])]),
        ("Smallest", on[np.argmin(c.volume[on])]),
    )
    parts = [
        f"{name}: f3 {c.f3[i]:.0f} Hz, {c.loudness[i]:.0f} dB, {to_litres(c.volume[i]):.0f} L"
        for name, i in ends
    ]
    return (f"The ends of the front. {'. '.join(parts)}.",)


EXPLAINERS = (
    Explainer(
        name="pick_from_the_front",
        question="Deep, loud or small: which boxes are worth building at all?",
        controls=(
            Slider("depth", "Depth matters", 0, 10, 5, 1, ""),
            Slider("loudness", "Loudness matters", 0, 10, 5, 1, ""),
            Slider("smallness", "Small size matters", 1, 10, 5, 1, ""),
            Choice("size", "Driver", tuple(DRIVERS), "ten-inch"),
            Slider("power", "Amplifier, into 4 Ω", 50, 600, 300, 50, "W"),
            Slider("room", "Largest net volume", 8, 40, 20, 2, "L"),
        ),
        scene=scene,
        lesson="06-fitting-the-space.ipynb",
        anchor="Is-there-a-best-box",
        answer=(
            "There is no best box, only a front: boxes that nothing beats in depth, loudness and "
            "size at once. Most designs are not on it. Choose by what you value."
        ),
        presets={
                "all alike": {},
                "depth": {"depth": 10.0, "loudness": 1.0, "smallness": 1.0},
                "loudness": {"depth": 1.0, "loudness": 10.0, "smallness": 1.0},
                "small": {"depth": 1.0, "loudness": 1.0, "smallness": 10.0},
            },
    ),
)  # fmt: skip
