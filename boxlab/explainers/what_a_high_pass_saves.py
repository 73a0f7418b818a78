"""What a high-pass below the tuning saves, and what a boost costs: travel, level and watts."""

from __future__ import annotations

from dataclasses import replace
from types import MappingProxyType

import numpy as np

from boxlab.base.units import to_mm
from boxlab.draw.cutaway import beside
from boxlab.draw.scene import Choice, Explainer, Line, Mark, Scene, Slider
from boxlab.explainers import _filter_words as say
from boxlab.explainers import _music as music
from boxlab.explainers import _shared as shared
from boxlab.explainers._cuts import cut
from boxlab.explainers._shared import against_frequency
from boxlab.gear import shelf
from boxlab.gear.shelf import DRIVERS
from boxlab.model.chain import Chain, HighPass, Peak
from boxlab.model.first_stop import first_stop
from boxlab.model.response import solve

FREQUENCY = np.geomspace(10, 150, 241)  # Hz
TOP = 120.0  # Hz, highest note that the box is given
ORDERS = MappingProxyType({f"{6 * n} dB/octave": n for n in (1, 2, 3, 4, 6, 8)})


def scene(
    size, build, high_pass, order, boost, boost_at, boost_q, rating, load, lowest
) -> Scene:  # fmt: skip
    """One box without filters, behind a high-pass, and behind that with a boost."""
    ohm = music.ohms(load)
    driver, box = music.driver_of(ohm, size), music.box_of(build, size)
    f = _facts(
        driver, box, _chains(high_pass, ORDERS[order], boost, boost_at, boost_q),
        boost_at, lowest, power=rating, load=ohm,
    )  # fmt: skip
    return Scene(
        shows={build: f["as set"]},
        cutaway=beside(
            *(cut(driver, box, lowest, f["volume"], chain=chain) for chain in f["chains"][:2]),
            names=("no filter", "high-pass"),
        ),
        title=f"{size}, {build}: {f['chains'][2].words}",
        plots=(
            _travel(f, driver, lowest),
            _level(f, build, lowest),
            _watts(f, build, boost_at),
            _gain(f, build),
        ),
        headline=say.headline(f) if shelf.current() is None else say.own_headline(f),
        readout=say.readout(f, boost, boost_at),
        numbers=say.numbers(f, boost_at),
        caption=(
            f"The {size} driver in its {build} box: without filters (grey), behind the high-pass, "
            f"and with the boost as well. Notes of {lowest:g} to {TOP:g} Hz at {rating:g} W into "
            f"{load}. Travel and watts are at one volume for all three, the first stop without "
            f"filters; level is with each turned up to its own first stop. {say.saved(f)}"
        ),
        alt=(
            "Four plots against frequency, 10 to 150 Hz, log axis, each without filters, with the "
            "high-pass, and with the boost as well. Upper left: cone excursion at one volume, 0 to "
            "30 mm, with Xmax. Upper right: level, each at its first stop, 70 to 125 dB re 20 µPa. "
            "Lower left: watts at one volume, 0.1 to 1000, log axis. Lower right: gain of the "
            f"filters, −40 to 20 dB. {say.saved(f)}"
        ),
        code=_code(
            size, build, high_pass, ORDERS[order], boost, boost_at, boost_q, rating, ohm, lowest
        ),
        warnings=_warnings(f, box, high_pass),
    )


def _chains(high_pass, order, boost, boost_at, boost_q):
    cut = HighPass(high_pass, order=order)
    boosted = (cut, Peak(boost_at, boost, boost_q)) if boost else (cut,)
    return Chain(), Chain((cut,)), Chain(boosted)


def _facts(driver, box, chains, boost_at, lowest, **caps):
    band = FREQUENCY[(lowest <= FREQUENCY) & (FREQUENCY <= TOP)]
    stops = [first_stop(driver, box, band, chain, **caps) for chain in chains]
    volume = float(stops[0].voltage)  # the one that all three are compared at
    at_one = [solve(driver, box, FREQUENCY, volume, chain=chain) for chain in chains]
    setting = [20 * np.log10(float(stop.voltage) / volume) for stop in stops]
    here = np.isin(FREQUENCY, band)
    return {
        "chains": chains,
        "as set": at_one[2],
        "stops": stops,
        "travel": [r.cone_excursion for r in at_one],
        "watts": [r.power for r in at_one],
        "spl": [r.spl + up for r, up in zip(at_one, setting, strict=True)],
        "gain": [chain.gain_db(FREQUENCY) for chain in chains],
        "volume": volume,
        "saved": setting[1],
        "cost": setting[1] - setting[2],
        "most": [float(r.cone_excursion[here].max()) for r in at_one],
        "watts_there": [shared.at(FREQUENCY, r.power, boost_at) for r in at_one],
        "travel_there": [shared.at(FREQUENCY, r.cone_excursion, boost_at) for r in at_one],
        "there": [
            shared.at(FREQUENCY, r.spl, boost_at) + up
            for r, up in zip(at_one, setting, strict=True)
        ],
    }


def _lines(values, build):
    return (
        Line(FREQUENCY, values[0], "quiet", "no filter"),
        Line(FREQUENCY, values[1], "sum", "high-pass", build),
        Line(FREQUENCY, values[2], "electrical", "and boost or cut", build),
    )


def _plot(title, ylabel, ylim, lines, marks, yscale="linear"):
    return against_frequency(title, ylabel, ylim, lines, marks, yscale=yscale, xlim=(10, 150))


def _travel(f, driver, lowest):
    xmax = float(to_mm(driver.xmax))
    return _plot(
        "Cone travel, all at one volume",
        "cone excursion, mm peak",
        (0, 30),
        _lines([to_mm(x) for x in f["travel"]], ""),
        (Mark(xmax, f"Xmax {xmax:g} mm", "limit", "y"), Mark(lowest, "lowest note")),
    )


def _level(f, build, lowest):
    return _plot(
        "Level at 1 m, each at its first stop",
        "level, dB re 20 µPa",
        (70, 125),
        _lines(f["spl"], build),
        (Mark(lowest, "lowest note"),),
    )


def _watts(f, build, boost_at):
    return _plot(
        "Watts drawn, all at one volume",
        "electrical power, W",
        (0.1, 1000),
        _lines(f["watts"], build),
        (Mark(boost_at, f"{boost_at:g} Hz"),),
        "log",
    )


def _gain(f, build):
    return _plot("Gain of the filters", "gain, dB", (-40, 20), _lines(f["gain"], build), ())


def _warnings(f, box, high_pass):
    tuning = float(box.tuning())
    if np.isfinite(tuning) and high_pass > tuning:
        return (
            f"The high-pass at {high_pass:g} Hz lies above the tuning of {tuning:.0f} Hz: it takes "
            "away notes that the box can play.",
        )
    return ()


def _code(size, build, high_pass, order, boost, boost_at, boost_q, rating, ohm, lowest):
    return (
        "import numpy as np\n"
        "from boxlab import Chain, HighPass, Peak, first_stop\n"
        "from boxlab.explainers import _music as music\n"
        f"chain = Chain((HighPass({high_pass:g}, order={order}), "
        f"Peak({boost_at:g}, {boost:g}, {boost_q:g})))\n"
        f"driver, box = music.driver_of({ohm:g}, {size!r}), music.box_of({build!r}, {size!r})\n"
        f"stop = first_stop(driver, box, np.geomspace({lowest:g}, {TOP:g}, 241), chain,\n"
        f"                  power={rating:g}, load={ohm:g})\n"
        "print(stop.voltage, stop.limit, stop.at)"
    )


EXPLAINERS = (
    Explainer(
        name="what_a_high_pass_saves",
        question="What does a high-pass below the tuning save, and what does a boost cost?",
        controls=(
            Choice("size", "Driver", tuple(DRIVERS), "ten-inch"),
            music.BUILD,
            Slider("high_pass", "High-pass", 10, 60, 36, 0.5, "Hz", help="3 dB less there."),
            Choice("order", "Its slope", tuple(ORDERS), "24 dB/octave"),
            Slider("boost", "Boost", -12, 12, 6, 0.5, "dB", help="Below zero: a cut."),
            Slider("boost_at", "Boost at", 20, 100, 48, 0.5, "Hz"),
            Slider("boost_q", "Q of the boost", 0.3, 6, 1.5, 0.1, "", more=True),
            replace(music.RATING, more=True),
            replace(music.LOAD, more=True),
            Slider("lowest", "Lowest note", 10, 40, 20, 1, "Hz", more=True),
        ),
        scene=scene,
        lesson="07-power-and-wiring.ipynb",
        anchor="What-does-a-high-pass-save",
        answer=(
            "Below its tuning a box plays little and its cone moves most. A high-pass there takes "
            "the travel away and leaves the notes, so the volume can go up until something else "
            "stops it. A boost takes that room back, decibel by decibel, at its own frequency, and "
            "four times the watts for each 6 dB."
        ),
        presets={
            "no boost": {"boost": 0.0},
            "ported": {"build": "ported"},
            "sealed, boosted low": {"build": "sealed", "high_pass": 20.0, "boost_at": 32.0},
        },
    ),
)
