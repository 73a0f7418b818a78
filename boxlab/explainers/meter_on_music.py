"""Why a wattmeter on music reads far below the amplifier's rating."""

from __future__ import annotations

import numpy as np

from boxlab.base.cautions import words
from boxlab.car import power
from boxlab.car.wiring import Amplifier
from boxlab.draw.scene import Explainer, Line, Mark, Number, Plot, Scene, Slider
from boxlab.explainers import _music as music
from boxlab.explainers import _shared as shared
from boxlab.explainers._cuts import NOTE, shown
from boxlab.explainers._shared import FREQUENCY, against_frequency
from boxlab.model.response import solve
from boxlab.sound import programme

BAND = (25, 120)  # Hz, where a bass box is asked for sines


def scene(rating, load, build, crest, overdrive, window, hotter) -> Scene:
    """An amplifier of `rating` W at `load`, playing the bass line, and a meter on it."""
    ohm = music.ohms(load)
    driver, box = music.driver_of(ohm, hotter=hotter), music.box_of(build)
    volts = music.at_the_rails(crest, rating, ohm, overdrive)
    reading = music.read(driver, box, volts, window)
    r = solve(driver, box, FREQUENCY, np.sqrt(rating * ohm))
    return Scene(
        **shown({build: shared.state(driver, box)}, NOTE),
        title=f"{rating:g} W into {load}, on music",
        plots=(
            _impedance(r, ohm, build),
            _sine(r, rating, build),
            _volts(reading, rating, ohm),
            _meter(reading, rating),
        ),
        readout=_readout(r, reading, rating, load, crest, overdrive, build),
        numbers=_numbers(driver, box, r, reading, rating, ohm),
        caption=(
            f"An amplifier of {rating:g} W into {load} on a {build} box ({_state(overdrive)}). "
            f"Upper left, the box's impedance and the load on the label; upper right, what a sine "
            f"at full voltage draws. Below, the volts of the bass line and the wattmeter: "
            f"{reading.average:.0f} W on average, at most {reading.highest:.0f} W."
        ),
        alt=(
            "Four plots. Upper left: magnitude of impedance in ohms, 1 to 100, log, against "
            f"frequency, 10 to 200 Hz; it is at or above about {np.abs(r.impedance).min():.1f} Ω "
            f"and reaches {np.abs(r.impedance).max():.0f} Ω. Upper right: watts that a sine at "
            "full voltage draws, 1 to 2000, log axis, against frequency, below the rating nearly "
            "everywhere. Lower left: volts of a bass line over 2.6 seconds between the rails. "
            f"Lower right: the meter in watts over 5.2 seconds, log axis, at most "
            f"{reading.highest:.0f} W against a rating of {rating:g} W."
        ),
        code=_code(rating, ohm, crest, overdrive, window, build, hotter),
        warnings=_warnings(reading, driver, hotter),
        cautions=words("live output"),
    )


def _state(overdrive):
    return f"turned {overdrive:g} dB past clip" if overdrive else "peaks just at clip"


def _impedance(r, ohm, build):
    return against_frequency(
        "What the label calls ohms",
        "magnitude of impedance, Ω",
        (0.5, 200),
        (Line(FREQUENCY, np.abs(r.impedance), "electrical", "this box", build),),
        (Mark(ohm, f"rated {ohm:g} Ω", "limit", "y"),),
        yscale="log",
    )


def _sine(r, rating, build):
    return against_frequency(
        "A sine at full voltage draws",
        "electrical power, W",
        (1, 2000),
        (Line(FREQUENCY, r.power, "electrical", "real power", build),),
        (Mark(rating, f"rated {rating:g} W", "limit", "y"),),
        yscale="log",
    )


def _volts(reading, rating, ohm):
    step = slice(0, reading.time.size // 2, 16)
    rails = np.sqrt(2 * rating * ohm)
    return Plot(
        "Volts on music",
        "time, s",
        "amplifier output, V",
        (0, 2.6),
        (-140, 140),
        (Line(reading.time[step], reading.volts[step], "electrical", "bass line"),),
        (
            Mark(rails, f"rails ±{rails:.0f} V", "limit", "y"),
            Mark(-rails, "", "limit", "y"),
        ),
        xscale="linear",
    )


def _meter(reading, rating):
    step = slice(0, None, 80)
    shown = np.maximum(reading.shown[step], 1e-3)
    return Plot(
        "What the wattmeter shows",
        "time, s",
        "power, W",
        (0, 5.2),
        (1, 2000),
        (Line(reading.time[step], shown, "electrical", "meter"),),
        (
            Mark(rating, f"rated {rating:g} W", "limit", "y"),
            Mark(reading.average, f"average {reading.average:.0f} W", "quiet", "y"),
        ),
        xscale="linear",
        yscale="log",
    )


def _readout(r, reading, rating, load, crest, overdrive, build):
    alone = 200 / 10 ** (crest / 10)
    inside = (r.frequency >= BAND[0]) & (r.frequency <= BAND[1])
    top = float(r.power[inside].max())
    where = float(r.frequency[inside][r.power[inside].argmax()])
    low, at = float(r.power[inside].min()), float(r.frequency[inside][r.power[inside].argmin()])
    cut = power.clipping(music.line_of(crest), overdrive)
    into = 100 * reading.average / (rating * cut.sine)
    return (
        f"Of {rating:g} W rated into {load} the meter shows {reading.average:.0f} W on average, "
        f"at most {reading.highest:.0f} W.",
        f"Crest factor: into a resistor of {load}, {crest:g} dB at clip leave {alone:.0f} % of the "
        f"rating"
        + (f", clipping brings it to {100 * cut.sine:.0f} %." if overdrive else ".")
        + f" Impedance: of that, the {build} box takes {into:.0f} %.",
        f"Even a steady sine at full voltage, {BAND[0]} to {BAND[1]} Hz, draws only {low:.0f} W "
        f"(at {at:.0f} Hz) to {top:.0f} W (at {where:.0f} Hz).",
        f"At one instant it does pass {reading.watts.max():.0f} W. A meter that averages "
        "does not show that.",
    )


def _numbers(driver, box, r, reading, rating, ohm):
    amp = Amplifier({ohm: rating})
    noise = {
        "pink noise 20 to 200 Hz, crest 6 dB": programme.pink_noise(),
        "IEC 60268-1 noise to 200 Hz, crest 6 dB": programme.programme_noise(),
    }
    magnitude = np.abs(r.impedance)
    rows = [
        Number("rated power", f"{rating:.0f} W"),
        Number("least impedance, 10 to 200 Hz", f"{magnitude.min():.2f} Ω"),
        Number("largest impedance", f"{magnitude.max():.1f} Ω"),
        Number("bass line: average power", f"{reading.average:.0f} W"),
        Number(f"bass line: highest on a {reading.window:g} s meter", f"{reading.highest:.0f} W"),
        Number(
            f"bass line: volts squared over {ohm:g} Ω",
            f"{np.mean(reading.volts**2) / ohm:.0f} W",
        ),
        Number("bass line: rms volts times rms amperes", f"{reading.apparent:.0f} W"),
        Number("bass line: volts rms", f"{np.sqrt(np.mean(reading.volts**2)):.1f} V"),
    ]
    for name, spectrum in noise.items():
        got = power.on_programme(driver, box, amp, ohm, spectrum)
        rows.append(Number(f"{name}: average", f"{got.average:.0f} W"))
    return tuple(rows)


def _warnings(reading, driver, hotter):
    heat = float(np.mean(reading.amperes**2)) * driver.re
    if heat <= driver.pe:
        return ()
    return (
        f"{heat:.0f} W of heat in a coil rated for {driver.pe:g} W: this driver does not live "
        "long.",
    )


def _code(rating, ohm, crest, overdrive, window, build, hotter):
    return (
        "from boxlab.explainers import _music as music\n"
        f"driver = music.driver_of({ohm:g}, hotter={hotter:g})\n"
        f"box = music.box_of({build!r})\n"
        f"volts = music.at_the_rails({crest:g}, {rating:g}, {ohm:g}, {overdrive:g})\n"
        f"meter = music.read(driver, box, volts, {window:g})\n"
        "print(meter.average, meter.highest)"
    )


EXPLAINERS = (
    Explainer(
        name="meter_on_music",
        question="Why does a wattmeter on music read far below the amplifier's rating?",
        controls=(
            music.RATING,
            music.LOAD,
            music.BUILD,
            music.CREST,
            Slider("overdrive", "Turned up past clip", 0, 20, 0, 1, "dB"),
            Slider("window", "Meter averages over", 0.05, 2.0, 0.3, 0.05, "s"),
            Slider(
                "hotter", "Coil above 20 °C", 0, 200, 0, 10, "K", more=True,
                help="A hot coil has more resistance and takes less.",
            ),
        ),
        scene=scene,
        lesson="07-power-and-wiring.ipynb",
        anchor="See",
        answer=(
            "A rating is a steady sine into a resistor. Music has peaks four times its average "
            "and more, and a box's impedance is above the label nearly everywhere. An amplifier "
            "of 300 W, unclipped, shows some tens of watts; that is not a fault."
        ),
        presets={
                "300 W into 2 Ω": {},
                "squeezed music": {"crest": 9.0},
                "driven hard": {"crest": 9.0, "overdrive": 6.0},
            },
    ),
)  # fmt: skip
