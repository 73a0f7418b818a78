"""Coils and drivers wired up: the load they make, and the watts on the amplifier's label there."""

from __future__ import annotations

import numpy as np

from boxlab.base import cautions
from boxlab.car.wiring import Amplifier, at_load, networks
from boxlab.draw.scene import Choice, Explainer, Line, Mark, Number, Plot, Scene, Slider
from boxlab.draw.wiring_plan import wiring_cut
from boxlab.explainers import _music as music
from boxlab.explainers._shared import FREQUENCY, against_frequency
from boxlab.gear import shelf
from boxlab.model.response import solve

COILS = ("one", "two")
WAYS = ("most power allowed", "all in parallel", "all in series")
LOADS = np.geomspace(0.25, 32, 200)  # Ω


def chosen(amplifier, coil, coils, drivers, way):
    """The network asked for, and a sentence where the amplifier does not allow it."""
    all_ways = networks(coil, coils, drivers)
    if way == WAYS[0]:
        try:
            return amplifier.best(coil, coils, drivers)[0], ""
        except ValueError as refused:
            return all_ways[-1], _sentence(refused)
    network = all_ways[0] if way == WAYS[1] else all_ways[-1]
    try:
        amplifier.power(network.load)
    except ValueError as refused:
        return network, _sentence(refused)
    return network, ""


def _sentence(refused):
    text = str(refused)
    return text[0].upper() + text[1:]


def rating(amplifier, load):
    """Watts on the label at this load, or None where it prints none there."""
    there = (w for ohms, w in amplifier.ratings.items() if abs(ohms - load) < 1e-3 * load)
    return next(there, None)


def scene(coil, coils, drivers, way, at_four=None, least=None, at_least=None) -> Scene:
    """`drivers` drivers with `coils` coils of `coil` Ω on an amplifier with two ratings.

    Without these ratings on the open job's amplifier, by what its label prints and no more.
    """
    ohm, number, count = music.ohms(coil), shelf.COUNTS[coils], int(drivers)
    if least is None:
        amplifier = shelf.current().amplifier
    else:
        amplifier = Amplifier({4.0: at_four} | {music.ohms(least): at_least})
    network, refused = chosen(amplifier, ohm, number, count, way)
    watts = 0.0 if refused else amplifier.power(network.load)
    printed = None if refused else rating(amplifier, network.load)
    job = shelf.current()
    build = "radiator" if job is None else job.tables.get("box", {}).get("kind", "radiator")
    whose = f"a {build} box" if job is None else f"your {build} box"
    whole = solve(
        at_load(music.driver_of(4.0), music.NOMINAL, network.load),
        music.box_of(build),
        FREQUENCY,
    )
    return Scene(
        shows={build: whole},
        cutaway=wiring_cut(network),
        title=f"{network.load:.3g} Ω",
        plots=(
            _rated(amplifier, ohm, number, count, network),
            _impedance(whole, network.load, build),
        ),
        readout=_readout(network, amplifier, watts, printed, count, number, ohm, whole, whose),
        numbers=_numbers(network, watts, printed, count),
        caption=(
            f"{_gear(count, number, ohm)}, wired {_way(network)}: {network.load:.3g} Ω. Left, "
            "the ways to wire it and the amplifier's ratings (points). Right, what such a "
            f"load is across frequency, {_boxes(whose, job)}."
        ),
        alt=(
            f"Two plots. Left: rated watts, 0 to {_top(amplifier):.0f}, against load, 0.25 to 32 "
            "Ω, log axis; points mark the loads these coils can make, and a line marks the least "
            "load allowed. Right: "
            "magnitude of impedance, 0.1 to 200 Ω, log, against frequency, 10 to 200 Hz, "
            f"with {'one peak' if build == 'sealed' else 'two peaks'}, against a line at the rated "
            f"{network.load:.3g} Ω."
        ),
        code=(
            "from boxlab.car.wiring import Amplifier, networks\n"
            f"for network in networks({ohm:g}, coils={number}, drivers={count}):\n"
            "    print(network.words)\n"
            f"amplifier = Amplifier({dict(amplifier.ratings)})\n"
            f"print(amplifier.best({ohm:g}, {number}, {count}))"
        ),
        warnings=(refused,) if refused else (),
        cautions=cautions.words("low load"),
    )


def _numbers(network, watts, printed, count):
    label = f"{printed:.0f} W" if printed else "not rated there" if watts else "not allowed"
    of = "that rating" if printed else "the next lower rating"
    return (
        Number("rated load", f"{network.load:.3g} Ω"),
        Number("amplifier's rating there", label),
        Number("for each driver", f"{printed / count:.0f} W" if printed else "none"),
        Number(f"sine voltage of {of}", f"{np.sqrt(watts * network.load):.1f} V"),
        Number("peak current of that sine", f"{np.sqrt(2 * watts / network.load):.1f} A"),
    )


def _gear(count, number, ohm):
    drivers = "One driver" if count == 1 else f"{count} drivers"
    each = f"one coil of {ohm:g} Ω" if number == 1 else f"{number} coils of {ohm:g} Ω"
    return f"{drivers} with {each}" + (" each" if count > 1 else "")


def _way(network):
    return network.words.rsplit(":", 1)[0]


def _headed(network):
    verb = ", makes" if network.coils * network.drivers == 1 else " make"
    return f"{_way(network)[0].upper()}{_way(network)[1:]}{verb} {network.load:.3g} Ω"


def _top(amplifier):
    return max(1200.0, 200.0 * np.ceil(1.1 * max(amplifier.ratings.values()) / 200))


def _boxes(whose, job):
    """Where the drivers are."""
    return f"each driver in {whose} of its own" if job is None else f"in {whose}"


def _rated(amplifier, ohm, number, count, network):
    labels = np.array(list(amplifier.ratings)), np.array(list(amplifier.ratings.values()))
    least = max(amplifier.minimum, min(amplifier.ratings))
    allowed = np.union1d(LOADS[least * 0.999 <= LOADS], list(amplifier.ratings))
    allowed = allowed[allowed >= least]
    watts = np.array([amplifier.power(load) for load in allowed])
    loads = np.array([way.load for way in networks(ohm, number, count)])
    heights = np.array([amplifier.power(load) if load >= least else 0.0 for load in loads])
    return Plot(
        "What the amplifier is rated for",
        "load, Ω",
        "rated power, W",
        (0.25, 32),
        (0, _top(amplifier)),
        (
            Line(*labels, "electrical", "amplifier's ratings", kind="points"),
            Line(allowed, watts, "quiet", "at the volts of its ratings"),
            Line(loads, heights, "sum", "ways to wire these coils", kind="points"),
        ),
        (
            Mark(amplifier.minimum, f"least load {amplifier.minimum:g} Ω", "limit"),
            Mark(network.load, f"wired: {network.load:.3g} Ω"),
        ),
    )


def _impedance(whole, load, build):
    return against_frequency(
        "What that load is on a box",
        "magnitude of impedance, Ω",
        (0.1, 200),
        (Line(FREQUENCY, np.abs(whole.impedance), "electrical", "wired so", build),),
        (Mark(load, f"rated {load:.3g} Ω", "limit", "y"),),
        yscale="log",
    )


def _readout(network, amplifier, watts, printed, count, number, ohm, whole, whose):
    loads = [f"{way.load:.3g}" for way in networks(ohm, number, count)]
    loads = list(dict.fromkeys(loads))
    ways = f"{', '.join(loads[:-1])} or {loads[-1]} Ω" if loads[1:] else f"{loads[0]} Ω only"
    magnitude = np.abs(whole.impedance)
    each = f", {printed / count:.0f} W for each driver" if printed and count > 1 else ""
    if printed:
        rated = f", where the amplifier is rated {printed:.0f} W{each}."
    elif watts:
        lower = max(ohms for ohms in amplifier.ratings if ohms < network.load)
        rated = (
            f", and the amplifier is not rated there: the volts of its {lower:g} Ω rating would "
            f"give {watts:.0f} W."
        )
    elif network.load < amplifier.minimum * (1 - 1e-9):
        rated = ", below what this amplifier allows: do not connect it."
    else:
        rated = ", which this amplifier allows without a rating there or below."
    return (
        f"{_headed(network)}{rated}",
        f"These coils can make {ways}. Every coil then carries the same current."
        if number * count > 1
        else f"One coil makes {ways}.",
        f"On {whose} that is {magnitude.min():.2g} to {magnitude.max():.2g} Ω, "
        "depending on the note.",
        *_now(),
    )


def _now():
    """How the open job's coils are joined now, where it says so."""
    job = shelf.current()
    if job is None:
        return ()
    table = job.tables["driver"]
    coils, count = table.get("coils", 1), job.count
    parts = []
    if coils > 1 and "coil_wiring" in table:
        way = table["coil_wiring"]
        parts.append(f"{'one coil alone' if way == 'one alone' else f'{coils} coils in {way}'}")
    if count > 1:
        parts.append(f"{count} drivers in {table.get('wiring', 'parallel')}")
    if not parts:
        return ()
    below = ", below what this amplifier allows: do not connect it" if job.too_low else ""
    return (f"As told, they are wired now {' in each, '.join(parts)}: {job.load:.3g} Ω{below}.",)


EXPLAINERS = (
    Explainer(
        name="coil_wiring",
        question="How do I wire these coils, and what will the amplifier give?",
        controls=(
            Choice("coil", "Each coil", music.LOADS, "4 Ω"),
            Choice("coils", "Coils in a driver", COILS, "two"),
            Slider("drivers", "Drivers", 1, 6, 1, 1, ""),
            Choice("way", "Wire them for", WAYS, WAYS[0]),
            Choice("least", "Least load allowed", ("1 Ω", "2 Ω", "4 Ω"), "2 Ω"),
            Slider("at_least", "Rated at that load", 50, 1200, 300, 10, "W"),
            Slider("at_four", "Rated at 4 Ω", 50, 1000, 180, 10, "W", more=True),
        ),
        scene=scene,
        lesson="07-power-and-wiring.ipynb",
        anchor="What-load-do-the-coils-make",
        answer=(
            "Series adds, parallel divides. Two coils of 4 Ω make 2 or 8 Ω, never 4. Stay at or "
            "above the least load the amplifier allows, and read its rating at your own load."
        ),
        presets={"two drivers of dual 4 Ω": {"drivers": 2}},
    ),
)
