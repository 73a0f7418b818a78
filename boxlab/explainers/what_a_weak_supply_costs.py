"""What a supply that sags costs: volts at the amplifier, watts, and level where it is the stop."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from boxlab.base.cautions import words
from boxlab.base.units import to_feet
from boxlab.car.ampacity import ON_SALE, ampacity, least_fuse
from boxlab.car.cable import supply_current
from boxlab.car.supply import supply_by_cable
from boxlab.draw.scene import Choice, Explainer, Line, Mark, Plot, Scene, Slider
from boxlab.explainers import _music as music
from boxlab.explainers import _shared as shared
from boxlab.explainers import _supply_words as say
from boxlab.explainers._cuts import shown
from boxlab.explainers._filter_words import signed
from boxlab.explainers._shared import against_frequency
from boxlab.gear import shelf
from boxlab.gear.job_cable import laid_of
from boxlab.gear.shelf import DRIVERS
from boxlab.model.limits import AMPLIFIER, CURRENT, max_output
from boxlab.model.power_stage import PowerStage, Supply
from boxlab.model.response import solve

FREQUENCY = np.geomspace(15, 150, 241)  # Hz
LOOPS = np.linspace(0, 100, 101)  # mΩ
MOST = 200.0  # A; as an amplifier's limit it says nothing
RAILS = ("follow the supply", "are held")


def scene(
    size, build, rating, load, supply, loop, share, frequency, rails, current, rated_at,
    efficiency, length, battery,
) -> Scene:  # fmt: skip
    """An amplifier of `rating` W on a supply of `loop` mΩ, beside one that holds `rated_at` V."""
    ohm = music.ohms(load)
    driver, box = music.driver_of(ohm, size), music.box_of(build, size)
    held = PowerStage(
        math.sqrt(2 * rating * ohm), current if current < MOST else math.inf,
        rated_at=rated_at, efficiency=efficiency / 100, regulated=rails == RAILS[1],
    )  # fmt: skip
    weak = replace(held, supply=Supply(supply, loop / 1e3))
    f = _facts(driver, box, held, weak, share / 100, frequency)
    laid = laid_of(shelf.current())
    cables = _cables(weak, f, rating, length, battery / 1e3, laid)
    return Scene(
        **shown({build: shared.state(driver, box)}, frequency),
        title=(
            f"{rating:g} W on {supply:g} V behind {loop:g} mΩ: {signed(f['lost'])} at "
            f"{frequency:g} Hz"
        ),
        plots=(
            _volts(f, frequency, supply),
            _level(f, build, frequency),
            _amperes(f, frequency),
            _loops(weak, f, cables, loop),
        ),
        headline=say.headline(f, frequency),
        readout=say.readout(f, frequency, supply, share, rails == RAILS[1], cables, length, laid),
        numbers=say.numbers(f, frequency, share),
        caption=(
            f"{rating:g} W into {load} at {rated_at:g} V, on a supply of {supply:g} V behind a "
            f"loop of {loop:g} mΩ: battery, cable out and back, fuse and joints. The {size} driver "
            f"in its {build} box. Full output of a steady tone, and of music that averages "
            f"{share:g} % of that. {say.told(f, frequency)}"
        ),
        alt=(
            "Four plots. Upper left: volts at the amplifier at full output against frequency, 15 "
            "to 150 Hz, 8 to 15 V, on a steady tone and on music. Upper right: loudest level at "
            "1 m, 80 to 125 dB re 20 µPa, with the supply held and with this one. Lower left: "
            "amperes from the supply, 0 to 80, on a steady tone and on music. Lower right: "
            f"decibels lost at {frequency:g} Hz against the resistance of the loop, 0 to 100 mΩ, "
            f"−4 to 1 dB, with points for cables of {length:g} m ({to_feet(length):.0f} ft) that "
            f"bear the heat. {say.told(f, frequency)}"
        ),
        code=(
            "from boxlab import PowerStage, Supply, max_output\n"
            "from boxlab.explainers import _music as music\n"
            f"stage = PowerStage({float(held.rail):.6g}, supply=Supply({supply:g}, {loop / 1e3:g}),"
            f"\n                   rated_at={rated_at:g}, efficiency={efficiency / 100:g}, "
            f"regulated={rails == RAILS[1]},\n"
            f"                   current={_python(held.current)})\n"
            f"driver, box = music.driver_of({ohm:g}, {size!r}), music.box_of({build!r}, {size!r})\n"
            f"top = max_output(driver, box, [{frequency:g}], stage=stage)\n"
            "print(top.spl, top.limit)"
        ),
        warnings=say.warnings(f),
        cautions=words("supply", "licence"),
    )


def _python(value):
    return f"{value:g}" if math.isfinite(value) else 'float("inf")'


def _facts(driver, box, held, weak, share, frequency):
    conductance = solve(driver, box, FREQUENCY, 1.0).power  # at 1 V, so in siemens
    music_stage = replace(weak, share=share)
    steady, average = weak.full_output(conductance), music_stage.full_output(conductance)
    tops = [max_output(driver, box, FREQUENCY, stage=stage) for stage in (held, weak, music_stage)]
    full = held.rail / math.sqrt(2)

    def there(curve):
        return shared.at(FREQUENCY, curve, frequency)

    near = int(np.argmin(np.abs(np.log(FREQUENCY / frequency))))
    return {
        "steady": steady,
        "average": average,
        "tops": tops,
        "conductance_there": there(conductance),
        "lost": 20 * math.log10(there(steady.voltage) / full),
        "lost_on_music": 20 * math.log10(there(average.voltage) / full),
        "watts": there(steady.power),
        "full_watts": full**2 * there(conductance),
        "volts": there(steady.supply_voltage),
        "music_volts": there(average.supply_voltage),
        "amperes": there(steady.drawn),
        "music_amperes": there(average.drawn),
        "spl": [there(top.spl) for top in tops],
        "short_of_current": tops[1].voltages[CURRENT][near] < tops[1].voltages[AMPLIFIER][near],
        "stops": [str(top.limit[near]) for top in tops],
    }


def _lost(stage, conductance):
    return 20 * np.log10(stage.full_output(conductance).voltage * math.sqrt(2) / stage.rail)


def _cables(weak, f, rating, length, battery, laid):
    """(label, mΩ of the loop, dB lost) with each cable that bears the heat behind its fuse."""
    volts, found = weak.supply.voltage, []
    full = supply_current(rating, volts, weak.efficiency)
    try:
        fuse = least_fuse(max(full, float(np.max(f["steady"].drawn))))
    except ValueError:
        return found
    for cable in ON_SALE["mm²"]:
        if ampacity(cable, laid=laid) >= fuse:
            loop = supply_by_cable(volts, battery, cable, length)
            lost = float(_lost(replace(weak, supply=loop), f["conductance_there"]))
            found.append((cable.label, 1e3 * float(loop.resistance), lost))
    return found


def _plot(title, ylabel, ylim, lines, marks):
    return against_frequency(title, ylabel, ylim, lines, marks, xlim=(15, 150))


def _volts(f, frequency, supply):
    return _plot(
        "Volts at the amplifier, full output",
        "supply, V",
        (8, 15),
        (
            Line(FREQUENCY, f["steady"].supply_voltage, "electrical", "steady tone"),
            Line(FREQUENCY, f["average"].supply_voltage, "sum", "music"),
        ),
        (Mark(supply, f"{supply:g} V", "limit", "y"), Mark(frequency, f"{frequency:g} Hz")),
    )


def _level(f, build, frequency):
    held, weak, _ = f["tops"]
    return _plot(
        "Loudest steady tone at 1 m",
        "level, dB re 20 µPa",
        (80, 125),
        (
            Line(FREQUENCY, held.spl, "quiet", "supply held"),
            Line(FREQUENCY, weak.spl, "sum", "this supply", build),
        ),
        (Mark(frequency, f"{frequency:g} Hz"),),
    )


def _amperes(f, frequency):
    return _plot(
        "From the supply, full output",
        "current, A",
        (0, 80),
        (
            Line(FREQUENCY, f["steady"].drawn, "electrical", "steady tone"),
            Line(FREQUENCY, f["average"].drawn, "sum", "music"),
        ),
        (Mark(frequency, f"{frequency:g} Hz"),),
    )


def _loops(weak, f, cables, loop):
    stage = replace(weak, supply=Supply(weak.supply.voltage, LOOPS / 1e3))
    ohms = np.array([each[1] for each in cables])
    lost = np.array([each[2] for each in cables])
    shown = [each for each in cables[:1] if each[1] <= LOOPS[-1]]
    return Plot(
        "Lost, by the loop's resistance",
        "battery, cable and joints, mΩ",
        "against the rating, dB",
        (0, 100),
        (-4, 1),
        (
            Line(LOOPS, _lost(stage, f["conductance_there"]), "electrical", "steady tone"),
            Line(ohms, lost, "electrical", "cables", kind="points"),
        ),
        (Mark(loop, f"{loop:g} mΩ", "limit"), *(Mark(each[1], each[0]) for each in shown)),
        xscale="linear",
    )


EXPLAINERS = (
    Explainer(
        name="what_a_weak_supply_costs",
        question="What does a weak supply cost?",
        controls=(
            Choice("size", "Driver", tuple(DRIVERS), "ten-inch"),
            replace(music.RATING, start=500, high=2000),
            music.LOAD,
            Slider("supply", "Supply without load", 11, 15, 13.8, 0.1, "V"),
            Slider(
                "loop", "Battery, cable and joints", 0, 100, 40, 1, "mΩ",
                help="Out and back: the volts lost over the amperes drawn.",
            ),
            Slider("frequency", "Look at", 18, 120, 50, 1, "Hz"),
            Slider("share", "Music averages, of a full sine", 2, 100, 15, 1, "%", more=True),
            replace(music.BUILD, more=True),
            Choice("rails", "The amplifier's rails", RAILS, RAILS[0], more=True),
            Slider("current", "Most it can give, peak", 5, MOST, MOST, 1, "A", more=True),
            Slider("rated_at", "Rated at", 11, 15, 13.8, 0.1, "V", more=True),
            Slider("efficiency", "Amplifier efficiency", 40, 95, 75, 1, "%", more=True),
            Slider(
                "length", "Cable one way", 0.2, 8, 5, 0.1, "m", more=True
            ),
            Slider("battery", "Of which the battery", 2, 40, 8, 1, "mΩ", more=True),
        ),
        scene=scene,
        lesson="07-power-and-wiring.ipynb",
        anchor="What-does-a-weak-supply-cost",
        answer=(
            "Watts go with the square of the volts at the amplifier, so 1.8 V lost of 13.8 V are "
            "1.2 dB. That is on a steady tone; music draws a part of the current and loses a part "
            "of that. Where travel is the first stop, it costs nothing that is heard."
        ),
        presets={
                "thin cable": {"loop": 70.0},
                "engine off": {"supply": 12.4},
                "rails held": {"rails": RAILS[1]},
            },
    ),
)  # fmt: skip
