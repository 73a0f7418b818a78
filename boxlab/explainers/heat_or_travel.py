"""Heat or travel: which of the two stops a steady note, and how many watts that takes."""

from __future__ import annotations

import numpy as np

from boxlab.base.quantities import span
from boxlab.base.units import to_litres, to_mm
from boxlab.car.power import power_limits
from boxlab.draw.scene import Choice, Explainer, Line, Mark, Number, Scene, Slider
from boxlab.explainers import _music as music
from boxlab.explainers import _shared as shared
from boxlab.explainers._cuts import cut
from boxlab.explainers._shared import against_frequency, cubic_feet_text
from boxlab.gear import shelf
from boxlab.gear.shelf import DRIVERS
from boxlab.model.limits import AIR_SPEED, CONE, RADIATOR, max_output
from boxlab.model.response import solve

FREQUENCY = np.geomspace(15, 150, 241)  # Hz


def _where(size, build):
    """The box in words: the class's usual one, or one with the net volume of the open job's."""
    if size != shelf.OWN:
        return f"its usual small {build} box"
    volume = float(music.box_of(build, size).volume)
    return f"a {build} box of {to_litres(volume):.4g} L ({cubic_feet_text(to_litres(volume))})"


def scene(size, build, rating, load, fb, frequency) -> Scene:
    """What an amplifier of `rating` W at `load` runs into first, over frequency."""
    ohm = music.ohms(load)
    driver, box = music.driver_of(ohm, size), music.box_of(build, size, fb)
    limits = power_limits(driver, box, FREQUENCY)
    top = max_output(driver, box, FREQUENCY, power=rating, load=ohm)
    full = solve(driver, box, FREQUENCY, np.sqrt(rating * ohm))
    facts = _facts(limits, top, full, frequency)
    return Scene(
        shows={build: full},
        cutaway=cut(driver, box, frequency, np.sqrt(rating * ohm)),
        title=f"{rating:g} W into {load}: {size}, {build}",
        plots=(
            _watts(limits, full, build, frequency),
            _level(top, driver, box, build, frequency),
            _travel(full, driver, box, build, frequency),
            _heat(full, driver, build, frequency),
        ),
        readout=_readout(facts, limits, top, rating, frequency),
        numbers=(
            Number(f"watts drawn at {frequency:g} Hz, full voltage", f"{facts['drawn']:.0f} W"),
            Number(f"watts at {frequency:g} Hz until travel stops it", f"{facts['moving']:.0f} W"),
            Number(f"watts at {frequency:g} Hz until heat stops it", f"{facts['heat']:.0f} W"),
            Number(f"loudest at {frequency:g} Hz", f"{facts['spl']:.1f} dB"),
            shared.travel_number(f"cone travel at {frequency:g} Hz, full voltage", facts["cone"]),
        ),
        caption=(
            f"The {size} driver in {_where(size, build)}, {rating:g} W into {load}. Upper "
            "left: watts that a steady note may draw before the travel is used up, and before the "
            f"coil is too hot, with what the amplifier gives. {facts['text']}"
        ),
        alt=(
            "Four plots against frequency, 15 to 150 Hz. Upper left: watts, 1 to 10000, log axis: "
            "allowed by travel, allowed by heat, drawn from the amplifier at full voltage. Upper "
            "right: loudest level, 80 to 125 dB re 20 µPa. Lower left: cone and radiator travel at "
            "full voltage in millimetres, 0 to 60, with Xmax. Lower right: heat in the coil at "
            f"full voltage, 0 to 1000 W, with its rating. {facts['text']}"
        ),
        code=(
            "from boxlab.car.power import power_limits\n"
            "from boxlab.explainers import _music as music\n"
            f"limits = power_limits(music.driver_of({ohm:g}, {size!r}),\n"
            f"                      music.box_of({build!r}, {size!r}, {fb:g}), [{frequency:g}])\n"
            "print(limits.stops, limits.heat_power, limits.excursion_power)"
        ),
    )


def _facts(limits, top, full, frequency):
    def here(curve):
        return shared.at(FREQUENCY, curve, frequency)

    near = np.argmin(np.abs(np.log(FREQUENCY / frequency)))
    stop = str(top.limit[near])
    facts = {
        "drawn": here(full.power),
        "moving": here(limits.excursion_power),
        "heat": here(limits.heat_power),
        "spl": here(top.spl),
        "cone": here(full.cone_excursion),
        "stop": stop,
    }
    facts["text"] = (
        f"At {frequency:g} Hz the first to stop a steady note is {_name(stop)}, at "
        f"{facts['spl']:.1f} dB."
    )
    return facts


def _name(stop):
    return "the amplifier" if stop == "amplifier" else stop


def _plot(title, ylabel, ylim, lines, marks, yscale="linear"):
    return against_frequency(title, ylabel, ylim, lines, marks, yscale=yscale, xlim=(15, 150))


def _watts(limits, full, build, frequency):
    return _plot(
        "Watts before something stops it",
        "electrical power, W",
        (1, 10000),
        (
            Line(FREQUENCY, limits.excursion_power, "cone", "until travel is used up", build),
            Line(FREQUENCY, limits.heat_power, "limit", "until the coil is too hot", build),
            Line(FREQUENCY, full.power, "electrical", "amplifier, full voltage", build),
        ),
        (Mark(frequency, f"{frequency:g} Hz"),),
        "log",
    )


def _level(top, driver, box, build, frequency):
    free = max_output(driver, box, FREQUENCY)
    return _plot(
        "Loudest steady note at 1 m",
        "level, dB re 20 µPa",
        (80, 125),
        (
            Line(FREQUENCY, free.spl, "quiet", "any amplifier"),
            Line(FREQUENCY, top.spl, "sum", "this amplifier", build),
        ),
        (Mark(frequency, f"{frequency:g} Hz"),),
    )


def _travel(full, driver, box, build, frequency):
    lines = [Line(FREQUENCY, to_mm(full.cone_excursion), "cone", "cone", build)]
    marks = [Mark(float(to_mm(driver.xmax)), f"cone {to_mm(driver.xmax):g} mm", "limit", "y")]
    if build == "radiator":
        lines.append(Line(FREQUENCY, to_mm(full.vent_excursion), "vent", "radiator", build))
        stop = float(to_mm(box.radiator.xmax))
        marks.append(Mark(stop, f"radiator {stop:g} mm", "limit", "y"))
    return _plot(
        "Travel at full voltage", "excursion, mm peak", (0, 60), tuple(lines), tuple(marks)
    )


def _heat(full, driver, build, frequency):
    heat = np.abs(full.current) ** 2 * driver.re
    return _plot(
        "Heat in the coil at full voltage",
        "power, W",
        (0, 1000),
        (Line(FREQUENCY, heat, "electrical", "in the coil", build),),
        (
            Mark(frequency, f"{frequency:g} Hz"),
            Mark(driver.pe, f"coil rated {driver.pe:g} W", "limit", "y"),
        ),
    )


def _readout(facts, limits, top, rating, frequency):
    names = np.asarray(top.limit)

    def where(*kinds):
        stretches = shared.spans(FREQUENCY, np.isin(names, kinds))
        return " and ".join(span(low, high, "Hz") for low, high in stretches)

    travel, heat, amplifier = where(CONE, RADIATOR), where("heat"), where("amplifier")
    air = where(AIR_SPEED)
    return (
        f"At {frequency:g} Hz travel allows {facts['moving']:.0f} W and heat "
        f"{facts['heat']:.0f} W; this amplifier gives {facts['drawn']:.0f} W.",
        f"{facts['text']}",
        "First to stop a steady note: "
        + "; ".join(
            f"{what} {at}"
            for what, at in (
                ("travel", travel),
                ("air speed in the port", air),
                ("the amplifier", amplifier),
                ("heat", heat),
            )
            if at
        )
        + ".",
        f"With any amplifier, travel is the first limit below {limits.changeover[-1]:.0f} Hz but "
        "for a stretch at the tuning; heat above."
        if limits.changeover.size > 1
        else f"With any amplifier, travel is the first limit below {limits.changeover[0]:.0f} Hz, "
        "heat above."
        if limits.changeover.size
        else "With any amplifier, one limit comes first throughout.",
    )


EXPLAINERS = (
    Explainer(
        name="heat_or_travel",
        question="Heat or travel: what stops a bass driver first?",
        controls=(
            Choice("size", "Driver", tuple(DRIVERS), "ten-inch"),
            music.BUILD,
            music.RATING,
            music.LOAD,
            Slider("fb", "Tuning", 38, 55, 45, 0.5, "Hz"),
            Slider("frequency", "Look at", 18, 120, 30, 1, "Hz"),
        ),
        scene=scene,
        lesson="07-power-and-wiring.ipynb",
        anchor="Heat-or-travel",
        answer=(
            "Low notes run out of travel long before the coil is hot; high ones the other way "
            "round. The watts on a driver's label are the heat, and say nothing about 30 Hz."
        ),
        presets={"sealed": {"build": "sealed"}},
    ),
)
