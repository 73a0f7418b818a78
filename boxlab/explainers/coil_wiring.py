"""Coils and drivers wired up: the load they make, and the watts on the amplifier's label there."""

from __future__ import annotations

from types import MappingProxyType

import numpy as np

from boxlab.car.wiring import Amplifier, at_load, networks, nominal
from boxlab.draw.scene import Choice, Explainer, Line, Mark, Number, Plot, Scene, Slider
from boxlab.explainers import _music as music
from boxlab.explainers._cuts import NOTE, shown
from boxlab.explainers._shared import FREQUENCY, against_frequency
from boxlab.gear import shelf
from boxlab.model.response import solve

COILS = MappingProxyType({"one": 1, "two": 2})
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


def scene(coil, coils, drivers, way, at_four, least, at_least) -> Scene:
    """`drivers` drivers with `coils` coils of `coil` Ω on an amplifier with two ratings."""
    ohm, number, count = music.ohms(coil), COILS[coils], int(drivers)
    lowest = music.ohms(least)
    amplifier = Amplifier({4.0: at_four} | {lowest: at_least})
    network, refused = chosen(amplifier, ohm, number, count, way)
    watts = 0.0 if refused else amplifier.power(network.load)
    whole = solve(
        at_load(music.driver_of(4.0), music.NOMINAL, network.load),
        music.box_of("radiator"),
        FREQUENCY,
    )
    return Scene(
        **shown({"radiator": whole}, NOTE),
        title=f"{network.load:.3g} Ω",
        plots=(_rated(amplifier, ohm, number, count, network), _impedance(whole, network.load)),
        readout=_readout(network, watts, count, number, ohm, refused, whole),
        numbers=(
            Number("rated load", f"{network.load:.3g} Ω"),
            Number("amplifier's rating there", f"{watts:.0f} W" if watts else "not allowed"),
            Number("for each driver", f"{watts / count:.0f} W" if watts else "none"),
            Number("sine voltage of that rating", f"{np.sqrt(watts * network.load):.1f} V"),
            Number("peak current of that sine", f"{np.sqrt(2 * watts / network.load):.1f} A"),
        ),
        caption=(
            f"{_gear(count, number, ohm)}, wired {_way(network)}: {network.load:.3g} Ω. Left, "
            "the ways to wire it (points) on the amplifier's ratings (line). Right, what such a "
            "load is across frequency, each driver in a radiator box of its own."
        ),
        alt=(
            "Two plots. Left: rated watts, 0 to 1200, against load, 0.25 to 32 Ω, log axis; points "
            "mark the loads these coils can make, and a line marks the least load allowed. Right: "
            "magnitude of impedance, 0.1 to 200 Ω, log, against frequency, 10 to 200 Hz, "
            f"with two peaks, against a line at the rated {network.load:.3g} Ω."
        ),
        code=(
            "from boxlab.car.wiring import Amplifier, networks\n"
            f"for network in networks({ohm:g}, coils={number}, drivers={count}):\n"
            "    print(network.words)\n"
            f"amplifier = Amplifier({dict(amplifier.ratings)})\n"
            f"print(amplifier.best({ohm:g}, {number}, {count}))"
        ),
        warnings=(refused,) if refused else (),
    )


def _gear(count, number, ohm):
    drivers = "One driver" if count == 1 else f"{count} drivers"
    each = f"one coil of {ohm:g} Ω" if number == 1 else f"{number} coils of {ohm:g} Ω"
    return f"{drivers} with {each}" + (" each" if count > 1 else "")


def _way(network):
    return network.words.rsplit(":", 1)[0]


def _headed(network):
    return _way(network)[0].upper() + _way(network)[1:]


def _rated(amplifier, ohm, number, count, network):
    allowed = LOADS[amplifier.minimum * 0.999 <= LOADS]
    allowed = np.union1d(allowed, list(amplifier.ratings))
    watts = np.array([amplifier.power(load) for load in allowed])
    ways = networks(ohm, number, count)
    loads = np.array([way.load for way in ways])
    heights = np.array(
        [amplifier.power(load) if load >= amplifier.minimum else 0.0 for load in loads]
    )
    return Plot(
        "What the amplifier is rated for",
        "load, Ω",
        "rated power, W",
        (0.25, 32),
        (0, 1200),
        (
            Line(allowed, watts, "electrical", "amplifier's ratings"),
            Line(loads, heights, "sum", "ways to wire these coils", kind="points"),
        ),
        (
            Mark(amplifier.minimum, f"least load {amplifier.minimum:g} Ω", "limit"),
            Mark(network.load, f"wired: {network.load:.3g} Ω"),
        ),
    )


def _impedance(whole, load):
    return against_frequency(
        "What that load is on a box",
        "magnitude of impedance, Ω",
        (0.1, 200),
        (Line(FREQUENCY, np.abs(whole.impedance), "electrical", "wired so", "radiator"),),
        (Mark(load, f"rated {load:.3g} Ω", "limit", "y"),),
        yscale="log",
    )


def _readout(network, watts, count, number, ohm, refused, whole):
    loads = [f"{way.load:.3g}" for way in networks(ohm, number, count)]
    loads = list(dict.fromkeys(loads))
    ways = f"{', '.join(loads[:-1])} or {loads[-1]} Ω" if loads[1:] else f"{loads[0]} Ω only"
    magnitude = np.abs(whole.impedance)
    if refused:
        rated = (
            f"{_headed(network)} make {network.load:.3g} Ω, below what this amplifier allows: do "
            "not connect it."
        )
    else:
        rated = f"{_headed(network)} make {network.load:.3g} Ω, where the amplifier is rated " + (
            f"{watts:.0f} W, {watts / count:.0f} W for each driver."
            if count > 1
            else f"{watts:.0f} W."
        )
    return (
        rated,
        f"These coils can make {ways}. Every coil then carries the same current.",
        f"On a radiator box that is {magnitude.min():.2g} to {magnitude.max():.2g} Ω, "
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
    load = nominal(job.cold)
    return (f"As told, they are wired now {' in each, '.join(parts)}: {load:g} Ω.",)


EXPLAINERS = (
    Explainer(
        name="coil_wiring",
        question="How do I wire these coils, and what will the amplifier give?",
        controls=(
            Choice("coil", "Each coil", music.LOADS, "4 Ω"),
            Choice("coils", "Coils in a driver", tuple(COILS), "two"),
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
