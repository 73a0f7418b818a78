"""What equalising a sealed box to a lower corner buys, and what it costs in watts and travel."""

from __future__ import annotations

import numpy as np

from boxlab.base.cautions import words
from boxlab.base.units import litres, to_inches, to_mm
from boxlab.design.swept_volume import equalise
from boxlab.draw.scene import Choice, Explainer, Line, Mark, Number, Scene, Slider
from boxlab.explainers import _shared as shared
from boxlab.explainers._cuts import cut
from boxlab.explainers._shared import against_frequency
from boxlab.gear.shelf import DRIVERS
from boxlab.model.enclosure import SealedBox
from boxlab.model.limits import max_output
from boxlab.model.passband import passband
from boxlab.model.response import solve

FREQUENCY = np.geomspace(10, 200, 241)  # Hz


def scene(size, volume, f3, level, amplifier) -> Scene:
    """One sealed box as it is and equalised (litres, Hz, dB at 1 m, W into the coil's Re)."""
    driver, box = DRIVERS[size], SealedBox(litres(volume))
    facts = _facts(driver, box, f3, level, amplifier)
    return Scene(
        shows={"sealed": shared.state(driver, box)},
        cutaway=cut(driver, box, f3, facts["volts"]),
        title=f"{size} sealed in {volume:g} L, equalised to {f3:g} Hz at {level:g} dB",
        plots=(
            _level_plot(facts, f3),
            _boost_plot(facts, f3),
            _power_plot(facts, f3),
            _travel_plot(facts, driver, f3),
        ),
        readout=_readout(facts, f3, level, amplifier),
        numbers=_numbers(facts, box, driver),
        caption=_caption(facts, size, volume, f3, level),
        alt=_alt(facts, f3, level),
        code=_code(size, volume, f3, level),
        warnings=_warnings(facts, driver),
        cautions=words("boost"),
    )


def _facts(driver, box, f3, level, amplifier):
    eq = equalise(driver, box, f3, level, FREQUENCY)
    use = f3 <= FREQUENCY  # below the corner a high-pass filter takes over
    at_f3 = equalise(driver, box, f3, level, [f3])
    unit = solve(driver, box, FREQUENCY, 1.0)
    plain = eq.voltage * 10 ** (-eq.boost / 20)
    top = max_output(driver, box, FREQUENCY[use], power=amplifier, load=driver.re)
    spare = 20 * np.log10(top.voltage / eq.voltage[use])
    worst = int(np.argmin(spare))
    return {
        "eq": eq,
        "use": use,
        "plain_spl": unit.spl + 20 * np.log10(plain),
        "plain_travel": unit.cone_excursion * plain,
        "box_f3": float(passband(driver, box).f3),
        "boost": float(at_f3.boost[0]),
        "power": float(at_f3.power[0]),
        "plain_power": float(at_f3.plain_power[0]),
        "volts": float(at_f3.voltage[0]),
        "rating": float(at_f3.voltage[0] ** 2 / driver.re),
        "travel": float(at_f3.cone_excursion[0]),
        "plain_at": float(at_f3.cone_excursion[0] * 10 ** (-at_f3.boost[0] / 20)),
        "spare": float(spare[worst]),
        "stop": str(np.asarray(top.limit)[worst]),
        "where": float(FREQUENCY[use][worst]),
        "xmax": float(driver.xmax),
    }


def _marks(f, f3):
    return (Mark(f3, f"new f3 {f3:g} Hz"),)


def _level_plot(f, f3):
    return against_frequency(
        "Sound level at 1 m, half space",
        "level, dB re 20 µPa",
        (60, 120),
        (
            Line(FREQUENCY, f["plain_spl"], "quiet", "as it is", ""),
            Line(FREQUENCY[f["use"]], f["eq"].spl[f["use"]], "sum", "equalised", "sealed"),
        ),
        (*_marks(f, f3), Mark(f["box_f3"], f"own f3 {f['box_f3']:.1f} Hz")),
    )


def _boost_plot(f, f3):
    return against_frequency(
        "What the equaliser adds",
        "boost, dB",
        (-10, 30),
        (Line(FREQUENCY[f["use"]], f["eq"].boost[f["use"]], "electrical", "", ""),),
        _marks(f, f3),
    )


def _power_plot(f, f3):
    eq, use = f["eq"], f["use"]
    return against_frequency(
        "Watts for that",
        "electrical power, W",
        (0.1, 10000),
        (
            Line(FREQUENCY[use], eq.plain_power[use], "quiet", "as it is", ""),
            Line(FREQUENCY[use], eq.power[use], "electrical", "equalised", "sealed"),
        ),
        _marks(f, f3),
        yscale="log",
    )


def _travel_plot(f, driver, f3):
    use, xmax = f["use"], float(to_mm(driver.xmax))
    return against_frequency(
        "Cone travel for that",
        "cone excursion, mm peak",
        (0, 30),
        (
            Line(FREQUENCY[use], to_mm(f["plain_travel"][use]), "quiet", "as it is", ""),
            Line(FREQUENCY[use], to_mm(f["eq"].cone_excursion[use]), "cone", "equalised", "sealed"),
        ),
        (Mark(xmax, f"Xmax {xmax:g} mm", "limit", "y"), *_marks(f, f3)),
    )


def _mm(value):
    return f"{to_mm(value):.1f} mm ({to_inches(value):.2f} in)"


def _readout(f, f3, level, amplifier):
    return (
        f"{f['boost']:.1f} dB more at {f3:g} Hz take {_watts(f['power'])} instead of "
        f"{_watts(f['plain_power'])}, and {_mm(f['travel'])} of travel instead of "
        f"{_mm(f['plain_at'])}.",
        f"That is {f['volts']:.1f} V, from an amplifier of {_watts(f['rating'])} into the coil's "
        "resistance: the box draws only part of what the amplifier must be able to give.",
        f"The box's own f3 is {f['box_f3']:.1f} Hz; equalised, the level at {f3:g} Hz is "
        f"{level - 3.01:.1f} dB, 3 dB under the {level:g} dB of the rest.",
        (
            f"With {amplifier:g} W: {f['spare']:.1f} dB to spare"
            if f["spare"] >= 0
            else f"With {amplifier:g} W it cannot be done: {-f['spare']:.1f} dB too loud"
        )
        + f"; first stop: {f['stop']}, at {f['where']:.0f} Hz.",
        "Ten times the watts for each 10 dB of boost, and three times the travel.",
    )


def _watts(value):
    return f"{value:.0f} W" if value >= 10 else f"{value:.1f} W"


def _numbers(f, box, driver):
    return (
        shared.volume_number("net volume", box.volume),
        shared.hertz("own f3 of the box", f["box_f3"]),
        Number("boost at the new f3", f"{f['boost']:+.1f} dB"),
        Number("watts there, as it is", _watts(f["plain_power"])),
        Number("watts there, equalised", _watts(f["power"])),
        Number("volts there, equalised", f"{f['volts']:.1f} V"),
        Number("amplifier for those volts, into Re", _watts(f["rating"])),
        shared.travel_number("cone travel there, as it is", f["plain_at"]),
        shared.travel_number("cone travel there, equalised", f["travel"]),
        shared.travel_number("Xmax, one way", driver.xmax),
        Number("to spare, all limits", f"{f['spare']:+.1f} dB"),
        Number("first stop", f["stop"]),
    )


def _caption(f, size, volume, f3, level):
    return (
        f"The {size} driver sealed in {volume:g} L ({shared.cubic_feet_text(volume)}), as it is "
        f"(grey) and equalised to {f3:g} Hz, for {level:g} dB at 1 m. The equaliser adds "
        f"{f['boost']:.1f} dB there and asks for {_watts(f['power'])} instead of "
        f"{_watts(f['plain_power'])}."
    )


def _alt(f, f3, level):
    return (
        "Four plots against frequency, 10 to 200 Hz, log axis. Upper left: level in dB re 20 µPa, "
        f"60 to 120, as it is and equalised to fall 3 dB at {f3:g} Hz. Upper right: boost, −10 to "
        f"30 dB, {f['boost']:.1f} dB at {f3:g} Hz. Lower left: watts, 0.1 to 10000, log axis, with "
        f"and without. Lower right: cone excursion, 0 to 30 mm, with and without; "
        f"{to_mm(f['travel']):.1f} mm at {f3:g} Hz against an Xmax of {to_mm(f['xmax']):g} mm."
    )


def _warnings(f, driver):
    if f["travel"] > driver.xmax:
        return (
            f"{_mm(f['travel'])} is past Xmax: the model is linear and does not know that the "
            "cone stops. Less level, a higher corner, or more cone.",
        )
    return ()


def _code(size, volume, f3, level):
    return (
        "from boxlab import SealedBox, litres\n"
        "from boxlab.design.swept_volume import equalise\n"
        "from boxlab.gear.scenario import DRIVERS\n"
        f"eq = equalise(DRIVERS[{size!r}], SealedBox(litres({volume:g})), {f3:g}, {level:g})\n"
        "print(eq.boost[0], eq.plain_power[0], eq.power[0], eq.cone_excursion[0])"
    )


EXPLAINERS = (
    Explainer(
        name="what_equalisation_costs",
        question="What does equalising a small sealed box buy, and what does it cost?",
        controls=(
            Choice("size", "Driver", tuple(DRIVERS), "ten-inch"),
            Slider("volume", "Net volume", 8, 60, 14, 0.5, "L"),
            Slider("f3", "Corner wanted", 18, 60, 30, 0.5, "Hz"),
            Slider("level", "Level wanted at 1 m", 85, 112, 100, 0.5, "dB"),
            Slider("amplifier", "Amplifier, into the coil's Re", 50, 1500, 300, 25, "W"),
        ),
        scene=scene,
        lesson="03-size-efficiency-extension.ipynb",
        anchor="What-does-equalising-cost",
        answer=(
            "It buys any corner you like at a low enough level. It costs watts, ten times for each "
            "10 dB, and it gives the cone no more travel: the loudest low note stays where the "
            "cone's travel puts it."
        ),
        presets={
            "down to 30 Hz": {},
            "down to 20 Hz": {"f3": 20.0},
            "twelve-inch, 28 L": {"size": "twelve-inch", "volume": 28.0},
        },
    ),
)
