"""What a warm coil costs: kelvins, ohms and decibels on music and on a steady tone, as a range."""

from __future__ import annotations

import numpy as np

from boxlab.base import cautions
from boxlab.draw.scene import Choice, Explainer, Line, Mark, Plot, Scene, Slider
from boxlab.draw.wanted import drawn
from boxlab.explainers import _heat_words as words
from boxlab.explainers import _music as music
from boxlab.explainers import _shared as shared
from boxlab.explainers._cuts import shown
from boxlab.explainers._shared import against_frequency
from boxlab.gear import shelf
from boxlab.gear.shelf import DRIVERS, remembered
from boxlab.model.coil_heat import HOTTEST, PER_KELVIN, usual_heat, warmed
from boxlab.model.response import solve
from boxlab.model.warm_coil import (
    coil_power,
    level_lost,
    lost_midband,
    settled,
    warming,
)
from boxlab.sound import programme

FREQUENCY = np.geomspace(15, 150, 201)  # Hz
TIME = np.geomspace(0.6, 12000, 120)  # s: a hundredth of a minute to 200 minutes
RATINGS = np.geomspace(10, 1000, 81)  # W
KELVIN = np.linspace(0.5, HOTTEST, 60)  # of the curve over the rating
ROOM = 20.0  # °C
SIGNALS = ("music", "steady tone")
CASES = (("coolest", "quiet"), ("typical", "electrical"), ("hottest", "limit"))


@remembered(32)
def spectrum(crest):
    """Lines of the bass line that matter: Hz and shares, each shape (n,)."""
    whole = programme.spectrum_of(music.line_of(crest))
    keep = whole.share > 1e-5 * whole.share.max()
    share = whole.share[keep]
    return whole.frequency[keep], share / share.sum()


def signal_of(signal, crest, frequency, rating, ohm):
    """(Hz, V rms, shares or None): music with its peaks at the amplifier's, or a full sine."""
    if signal == "music":
        lines, share = spectrum(crest)
        return lines, float(np.sqrt(2 * rating * ohm) / 10 ** (crest / 20)), share
    return float(frequency), float(np.sqrt(rating * ohm)), None


def heat_of(driver, size):
    """What is assumed of the heat of the driver, or of the job's drivers taken as one."""
    own = shelf.current() is not None and size == shelf.OWN
    return usual_heat(driver, shelf.current().count if own else 1)


def scene(size, build, rating, load, signal, crest, frequency, metal) -> Scene:
    """A coil on `rating` W at `load`, playing music of `crest` dB or a tone at `frequency` Hz."""
    ohm = music.ohms(load)
    driver, box = music.driver_of(ohm, size, 0.0), music.box_of(build, size)
    tone, volts, share = signal_of(signal, crest, frequency, rating, ohm)
    heat = heat_of(driver, size)
    rest = settled(driver, box, heat.all, tone, volts, share, metal)
    rise = warming(driver, box, heat.all, TIME, tone, volts, share, metal)
    lost = level_lost(driver, box, FREQUENCY, rest.kelvin, metal)
    most = lost_midband(rest.kelvin, metal)
    cold = float(coil_power(driver, box, tone, volts, share))
    f = {
        "cold": cold,
        "celsius": ROOM + rest.kelvin,
        "most": most,
        "watts": rest.watts,
        "re": rest.re,
        "here": np.array([shared.at(FREQUENCY, each, frequency) for each in lost]),
        "half": float(np.interp(rest.kelvin[1] / 2, rise.kelvin[1], TIME)),
        "minute": np.array([np.interp(60.0, TIME, each) for each in rise.kelvin]),
        "plays": f"music with {crest:g} dB of crest" if signal == "music" else f"{tone:g} Hz",
    }
    typical = warmed(driver, float(rest.kelvin[1]), metal)
    text = (
        f"After hours of {f['plays']} the coil is at {words.span(f['celsius'], 0)} °C, and at "
        f"most {words.span(most, 1)} dB is lost."
    )
    return Scene(
        **shown({build: shared.state(driver, box)}, frequency),
        title=f"{rating:g} W into {load}, {f['plays']}: what heat takes",
        plots=drawn(
            lambda: (
                _time_plot(rise),
                _lost_plot(lost, frequency),
                _level_plot(driver, typical, box, volts, build, frequency),
                _rating_plot(driver, box, heat.all, signal, crest, tone, share, ohm, metal, rating),
            )
        ),
        readout=words.readout(f, driver, heat, text, rating, load, frequency),
        numbers=words.numbers(f, driver, frequency),
        caption=(
            f"{shared.one(size).capitalize()} driver in its {build} box, {rating:g} W into {load}, "
            f"{f['plays']}. {text} "
            "How a coil loses its heat is assumed, and so each answer has a range."
        ),
        alt=(
            "Four plots. Upper left: coil over 20 °C in kelvin, 0 to 300, against minutes, 0.01 to "
            "200, log axis: a rise within seconds, a second one within an hour, for the coolest, "
            "typical and hottest assumption. Upper right: level lost in decibels, 0 to 6, against "
            "frequency, 15 to 150 Hz: least at the impedance peaks. Lower left: level in decibels, "
            "80 to 125, cold and warm. Lower right: most level lost in decibels, 0 to 6, against "
            f"rated power, 10 to 1000 W, log axis, rising. {text}"
        ),
        code=(
            "from boxlab.explainers import what_heat_takes as heat\n"
            "from boxlab.explainers import _music as music\n"
            "from boxlab.model.warm_coil import lost_midband, settled\n"
            f"driver = music.driver_of({ohm:g}, {size!r}, 0.0)\n"
            f"box = music.box_of({build!r}, {size!r})\n"
            f"tone, volts, share = heat.signal_of({signal!r}, {crest:g}, {frequency:g}, "
            f"{rating:g}, {ohm:g})\n"
            f"warm = settled(driver, box, heat.heat_of(driver, {size!r}).all, tone, volts, share, "
            f"{metal!r})\n"
            f"print(20 + warm.kelvin, warm.watts, lost_midband(warm.kelvin, {metal!r}))"
        ),
        warnings=words.warnings(rest.kelvin),
        cautions=cautions.words("hot coil", "hot wiring", "loud"),
    )


def _three(x, rows):
    """A line for each assumption."""
    return tuple(Line(x, row, role, name) for row, (name, role) in zip(rows, CASES, strict=True))


def _time_plot(rise):
    return Plot(
        "How warm the coil gets, from cold",
        "time, min",
        "coil above 20 °C, K",
        (0.01, 200),
        (0, 300),
        _three(TIME / 60, rise.kelvin),
        (Mark(words.GLUE, "hot for a coil", "limit", "y"),),
    )


def _lost_plot(lost, frequency):
    return against_frequency(
        "Level lost once it is warm",
        "level lost, dB",
        (0, 6),
        _three(FREQUENCY, lost),
        (Mark(frequency, f"{frequency:g} Hz"),),
        xlim=(15, 150),
    )


def _level_plot(driver, typical, box, volts, build, frequency):
    cold, warm = (solve(each, box, FREQUENCY, volts).spl for each in (driver, typical))
    return against_frequency(
        "Level at that voltage and 1 m",
        "level, dB re 20 µPa",
        (80, 125),
        (
            Line(FREQUENCY, cold, "sum", "cold", build),
            Line(FREQUENCY, warm, "electrical", "warm, typical", build),
        ),
        (Mark(frequency, f"{frequency:g} Hz"),),
        xlim=(15, 150),
    )


def _rating_plot(driver, box, heat, signal, crest, tone, share, ohm, metal, rating):
    """Each temperature has the one voltage that holds it: so the curve is found without search."""
    for_volt = coil_power(warmed(driver, KELVIN, metal), box, tone, 1.0, share)
    rows = []
    for resistance in np.ravel(heat.total):
        volts = np.sqrt(KELVIN / (resistance * for_volt))
        peak = volts * 10 ** (crest / 20) / np.sqrt(2) if signal == "music" else volts
        lost = lost_midband(KELVIN, metal)
        rows.append(np.interp(RATINGS, peak**2 / ohm, lost, right=np.nan))
    return Plot(
        "Most that is lost, by rated power",
        "rated power, W",
        "level lost, dB",
        (10, 1000),
        (0, 6),
        _three(RATINGS, rows),
        (Mark(rating, f"{rating:g} W"),),
    )


EXPLAINERS = (
    Explainer(
        name="what_heat_takes",
        question="How much level does a warm coil cost?",
        controls=(
            Choice("size", "Driver", tuple(DRIVERS), "ten-inch"),
            music.BUILD,
            music.RATING,
            music.LOAD,
            Choice("signal", "What plays", SIGNALS, "music"),
            music.CREST,
            Slider("frequency", "Tone, and look at", 18, 120, 60, 1, "Hz", more=True),
            Choice("metal", "Coil of", tuple(PER_KELVIN), "copper", more=True),
        ),
        scene=scene,
        lesson="07-power-and-wiring.ipynb",
        anchor="How-much-level-does-a-warm-coil-cost",
        answer=(
            "On music with 12 dB of crest, 300 W cost about 1 to 2 dB; pushed into clipping, or "
            "on a steady tone, 2 to 6 dB. How warm a coil gets is hardly ever printed: these are "
            "ranges under assumptions."
        ),
        presets={
            "a tone at full power": {"signal": "steady tone", "rating": 200.0},
            "turned up into clipping": {"crest": 6.0},
        },
    ),
)
