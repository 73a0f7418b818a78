"""Pick two: of size, efficiency and extension, the third is what is left."""

from __future__ import annotations

from functools import lru_cache
from types import MappingProxyType

import numpy as np

from boxlab.base.units import litres, to_litres
from boxlab.design.tradeoff_solver import best_box, efficiency_of, pick_two
from boxlab.draw.scene import Choice, Explainer, Line, Mark, Number, Plot, Scene, Slider
from boxlab.explainers import _shared as shared
from boxlab.explainers._shared import FREQUENCY, against_frequency
from boxlab.gear import shelf
from boxlab.gear.shelf import DRIVERS
from boxlab.model.enclosure import SealedBox
from boxlab.model.passband import ceiling, passband
from boxlab.model.response import solve

LEFT = ("efficiency", "size", "extension")
KINDS = ("sealed", "ported")
NAMES = MappingProxyType({"sealed": "sealed at best", "ported": "vented at best"})
VOLUMES, CORNERS = np.geomspace(5, 200, 60), np.geomspace(15, 100, 60)  # L, Hz
LEVELS = np.linspace(75, 100, 60)  # dB
AXES = MappingProxyType(
    {
        "size": ("net volume, L", (5, 200), "log", VOLUMES),
        "extension": ("corner f3, Hz", (15, 100), "log", CORNERS),
        "efficiency": ("level for 1 W, dB re 20 µPa", (75, 100), "linear", LEVELS),
    }
)
REACH = MappingProxyType({"size": (1, 1000), "extension": (10, 200), "efficiency": (60, 110)})


def third(left, kind, volume, f3, level):
    """What is left of the three for `kind` at its ceiling, in L, Hz or dB; arrays will do."""
    kept = {"size": litres(volume), "extension": f3, "efficiency": efficiency_of(level)}
    del kept[left]
    k = ceiling(kind)
    if left == "efficiency":
        # level goes as 10·log10 of the efficiency, so one trade-off gives the whole curve
        one = pick_two(volume=litres(1), f3=20.0, constant=k)
        return one.level() + 10 * np.log10(np.asarray(volume) * (np.asarray(f3) / 20.0) ** 3)
    names = {"size": "volume", "extension": "f3", "efficiency": "efficiency"}
    deal = pick_two(**{names[name]: value for name, value in kept.items()}, constant=k)
    return to_litres(deal.volume) if left == "size" else deal.f3


def scene(left, volume, f3, level) -> Scene:
    """The third of three at the two ceilings (L, Hz, dB), and boxes on paper that get there."""
    wish = {"size": volume, "extension": f3, "efficiency": level}
    kept = [name for name in LEFT[::-1] if name != left]
    found = {kind: float(third(left, kind, volume, f3, level)) for kind in KINDS}
    reached = {kind: wish | {left: found[kind]} for kind in KINDS}
    solved = {kind: _solved(kind, reached[kind]) for kind in KINDS}
    return Scene(
        shows={kind: each["shown"] for kind, each in solved.items()},
        title=f"Pick two: {kept[0]} and {kept[1]} kept, {left} is what is left",
        plots=(
            *(_third_plot(left, name, wish, found) for name in kept),
            _response_plot(solved, reached),
            _driver_plot(volume),
        ),
        readout=_readout(left, wish, found, solved),
        numbers=_numbers(left, wish, found, solved),
        caption=_caption(left, kept, wish, found),
        alt=_alt(left, kept, wish, found),
        code=_code(left, wish),
        warnings=_warnings(left, found),
    )


def _solved(kind, state):
    """The best box on paper for one state: its passband, and its level for 1 W."""
    driver, box = best_box(kind, litres(state["size"]), state["extension"])
    watt = np.sqrt(driver.re)
    found = passband(driver, box)
    top = float(pick_two(volume=found.volume, f3=found.f3, constant=found.constant).level())
    shown = solve(driver, box, FREQUENCY, watt)
    return {"f3": float(found.f3), "level": top, "spl": shown.spl, "shown": shown}


def _third_plot(left, across, wish, found):
    xlabel, xlim, xscale, x = AXES[across]
    state = {"volume": wish["size"], "f3": wish["extension"], "level": wish["efficiency"]}
    state[{"size": "volume", "extension": "f3", "efficiency": "level"}[across]] = x
    ylabel = AXES[left][0]
    return Plot(
        f"{left.capitalize()} that is left, by {across}",
        xlabel,
        ylabel,
        xlim,
        REACH[left],
        (
            *(Line(x, third(left, kind, **state), "limit", NAMES[kind], kind) for kind in KINDS),
            *(
                Line(np.array([wish[across]]), np.array([found[kind]]), "sum", "here", "", "points")
                for kind in KINDS
            ),
            Line(np.array(xlim), np.full(2, wish[left]), "quiet", "the wish set here"),
        ),
        (),
        xscale,
        "linear" if left == "efficiency" else "log",
    )


def _response_plot(solved, reached):
    return against_frequency(
        "Solved: boxes on paper that get there, 1 W",
        "level at 1 m, dB re 20 µPa",
        (50, 110),
        tuple(Line(FREQUENCY, solved[k]["spl"], "sum", NAMES[k], k) for k in KINDS),
        tuple(
            Mark(f3, f"f3 {f3:.3g} Hz") for f3 in sorted({reached[k]["extension"] for k in KINDS})
        ),
    )


@lru_cache(maxsize=4)
def _constant(driver):
    """k of a driver in sealed boxes, 1e-6 s³/m³, over VOLUMES."""
    return 1e6 * passband(driver, SealedBox(litres(VOLUMES))).constant


def _drivers():
    """What the last plot is about: the open job's driver, or two of the class's."""
    if shelf.current() is not None:
        return {"your driver": shelf.the_driver()}
    return {size: DRIVERS[size] for size in ("twelve-inch", "ten-inch")}


def _whose():
    return "two demo drivers" if shelf.current() is None else "your driver"


def _driver_plot(volume):
    lines = [(name, _constant(driver)) for name, driver in _drivers().items()][::-1]
    roles = ("sum", "quiet")
    return Plot(
        f"Solved: k of {_whose()}, sealed",
        "net volume, L",
        "k, millionths of s³/m³",
        (5, 200),
        (0, 4.5),
        tuple(
            Line(VOLUMES, k, role, name, "sealed")
            for (name, k), role in zip(lines, roles, strict=False)
        ),
        (
            Mark(1e6 * ceiling("sealed"), "ceiling, sealed", "limit", "y"),
            Mark(1e6 * ceiling("ported"), "ceiling, vented", "limit", "y"),
            Mark(volume, f"{volume:g} L"),
        ),
    )


def _text(name, value):
    if name == "size":
        shown = f"{value:.3g}" if value < 1000 else f"{value:.0f}"
        return f"{shown} L ({shared.cubic_feet_text(value)})"
    return f"{value:.1f} Hz" if name == "extension" else f"{value:.1f} dB for 1 W"


def _readout(left, wish, found, solved):
    a, b = found["sealed"], found["ported"]
    kept = " and ".join(_text(name, wish[name]) for name in LEFT[::-1] if name != left)
    most = {"efficiency": "at most", "size": "at least", "extension": "no lower than"}[left]
    return (
        f"With {kept} kept, the {left} left is {most} {_text(left, a)} sealed, {_text(left, b)} "
        "with a port or radiator.",
        _against(left, wish, found),
        f"Solved, the sealed box on paper gives {solved['sealed']['level']:.1f} dB and reaches "
        f"{solved['sealed']['f3']:.1f} Hz; the ported one {solved['ported']['level']:.1f} dB and "
        f"{solved['ported']['f3']:.1f} Hz.",
        "Same box, an octave lower: 9 dB less for each watt. Same efficiency, an octave lower: "
        "eight times the box.",
    )


def _against(left, wish, found):
    """How the wish for the third stands to what is left."""
    value, best = wish[left], found["ported"]
    within = value <= best if left == "efficiency" else value >= best
    if within:
        sealed = value <= found["sealed"] if left == "efficiency" else value >= found["sealed"]
        how = "either way" if sealed else "with a port or radiator, not sealed"
        return f"The wish set here, {_text(left, value)}, can be had on paper {how}."
    gap = {
        "efficiency": f"{value - best:.1f} dB too much",
        "size": f"{best / value:.1f} times too small",
        "extension": f"{np.log2(best / value):.1f} octaves too low",
    }[left]
    return f"The wish set here, {_text(left, value)}, cannot be had: it is {gap} even with a port."


def _warnings(left, found):
    usual = {"extension": (10, 200), "size": (2, 400)}.get(left)
    if usual and not all(usual[0] <= value <= usual[1] for value in found.values()):
        return ("That is off the end of what a bass box is; the relation still holds on paper.",)
    return ()


def _numbers(left, wish, found, solved):
    rows = []
    for kind in KINDS:
        state = wish | {left: found[kind]}
        name = "sealed" if kind == "sealed" else "port or radiator"
        rows += [
            shared.volume_number(f"{name}: net volume", litres(state["size"])),
            shared.hertz(f"{name}: corner f3", state["extension"]),
            Number(f"{name}: level for 1 W at 1 m", f"{state['efficiency']:.1f} dB"),
            Number(f"{name}: efficiency", f"{100 * efficiency_of(state['efficiency']):.3f} %"),
            Number(f"{name}: k at its ceiling", f"{1e6 * ceiling(kind):.2f}e-6 s³/m³"),
            Number(f"{name}: solved level", f"{solved[kind]['level']:.1f} dB"),
        ]
    return tuple(rows)


def _caption(left, kept, wish, found):
    return (
        f"{kept[0].capitalize()} and {kept[1]} are kept, at {_text(kept[0], wish[kept[0]])} and "
        f"{_text(kept[1], wish[kept[1]])}. For {left} the published ceilings leave "
        f"{_text(left, found['sealed'])} sealed (dotted) and {_text(left, found['ported'])} with "
        "a port or radiator (dashed). No losses, no equalising, half space."
    )


def _alt(left, kept, wish, found):
    return (
        f"Four plots. Upper two: the {left} that is left against {kept[0]} and against {kept[1]}, "
        "one line for sealed and one for port or radiator at their ceilings, a dot at the present "
        f"setting: {_text(left, found['sealed'])} and {_text(left, found['ported'])}. Lower left: "
        "solved level for 1 W of two boxes on paper that get there, 50 to 110 dB re 20 µPa against "
        f"10 to 200 Hz. Lower right: k of {_whose()} sealed, 0 to 4.5 millionths, against "
        f"net volume, 5 to 200 L; {'both stay' if shelf.current() is None else 'it stays'} "
        "under the sealed ceiling."
    )


def _code(left, wish):
    given = {
        "size": f"volume=litres({wish['size']:g})",
        "extension": f"f3={wish['extension']:g}",
        "efficiency": f"efficiency=efficiency_of({wish['efficiency']:g})",
    }
    kept = ", ".join(text for name, text in given.items() if name != left)
    return (
        "from boxlab import litres\n"
        "from boxlab.design.tradeoff_solver import efficiency_of, pick_two\n"
        "from boxlab.model.passband import ceiling\n"
        'for kind in ("sealed", "ported"):\n'
        f"    deal = pick_two({kept}, constant=ceiling(kind))\n"
        "    print(kind, deal.volume, deal.f3, deal.level())"
    )


EXPLAINERS = (
    Explainer(
        name="pick_two",
        question="Small, loud for its watts, deep: which two can you have?",
        controls=(
            Choice("left", "Solve for", LEFT, LEFT[0]),
            Slider("volume", "Net volume", 5, 100, 14, 0.5, "L"),
            Slider("f3", "Corner f3", 20, 80, 35, 0.5, "Hz"),
            Slider("level", "Level for 1 W at 1 m", 75, 100, 90, 0.5, "dB"),
        ),
        scene=scene,
        lesson="03-size-efficiency-extension.ipynb",
        anchor="See",
        answer=(
            "You can have any two of small, efficient and deep; the third follows from "
            "η0 = k·f3³·Vb. An octave deeper in the same box costs 9 dB for each watt, or eight "
            "times the box at the same efficiency. A stronger motor (more Bl, a lower Qes) is "
            "louder for its watts well above the corner and moves the corner up: the lowest notes "
            "hardly gain by a larger magnet."
        ),
        presets={
            "what is the best level?": {},
            "how big must it be?": {"left": "size"},
            "how low can it go?": {"left": "extension"},
        },
    ),
)
