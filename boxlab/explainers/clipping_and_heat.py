"""What clipping does to heat: the same bass line turned up past the rails."""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from boxlab.car import power
from boxlab.draw.scene import Explainer, Line, Mark, Number, Plot, Scene, Slider
from boxlab.explainers import _music as music
from boxlab.explainers import _shared as shared
from boxlab.explainers._cuts import NOTE, shown
from boxlab.explainers._shared import against_frequency
from boxlab.sound.programme import RATE

PAST = np.arange(0, 20.5, 2.0)  # dB
BANDS = 1000 * 10 ** (np.arange(-16, 1) / 10)  # Hz, third octaves, 25 Hz to 1 kHz


@lru_cache(maxsize=32)
def turned_up(crest):
    """Fourier powers of the bass line over PAST, rails at 1 V; and what `clipping` says of each."""
    line = music.line_of(crest)
    cut = np.stack([music.powers(power.clip(line, past)) for past in PAST])
    return cut, tuple(power.clipping(line, past) for past in PAST)


def heat(powers, crest, load, build):
    """Watts of heat in the coil on 1 W, from Fourier powers of the bass line, rails at 1 V."""
    driver, box = music.driver_of(load), music.box_of(build)
    square = music.conductance(driver, box, music.line_of(crest).size)[1]
    return 2 * load * powers @ square * driver.re


def rise(crest, load, build):
    """Watts of heat over PAST for an amplifier of 1 W: cut, and with rails that never cut."""
    cut = heat(turned_up(crest)[0], crest, load, build)
    return cut, cut[0] * 10 ** (PAST / 10)


def scene(rating, load, build, crest, overdrive, pe) -> Scene:
    """Heat in the coil for an amplifier of `rating` W at `load`, turned up past its rails."""
    ohm = music.ohms(load)
    cut, clean = (rating * watts for watts in rise(crest, ohm, build))
    line = music.line_of(crest)
    got = power.clipping(line, overdrive)
    powers = music.powers(power.clip(line, overdrive))
    now = float(rating * heat(powers, crest, ohm, build))
    needed = rating * 10 ** (overdrive / 10)
    return Scene(
        **shown({build: shared.state(music.driver_of(ohm), music.box_of(build))}, NOTE),
        title=f"{overdrive:g} dB past clip on {rating:g} W",
        plots=(
            _wave(line, rating, ohm, overdrive),
            _heat(cut, clean, overdrive, pe),
            _spectrum(crest, powers),
            _crest(crest, overdrive),
        ),
        readout=_readout(got, now, float(cut[0]), rating, needed, overdrive, pe, cut),
        numbers=(
            Number("heat in the coil at clip", f"{cut[0]:.0f} W"),
            Number(f"heat in the coil {overdrive:g} dB past clip", f"{now:.0f} W"),
            Number("times the heat", f"{now / cut[0]:.2f}"),
            Number("crest factor left", f"{got.crest:.1f} dB"),
            Number("time at the rails", f"{100 * got.clipped:.1f} %"),
            Number("rating that would play this unclipped", f"{needed:.0f} W"),
            Number("heat in the coil with that one", f"{cut[0] * 10 ** (overdrive / 10):.0f} W"),
        ),
        caption=(
            f"A bass line with {crest:g} dB of crest on {rating:g} W into {load}, turned "
            f"{overdrive:g} dB past clip. Upper right: heat in the coil rises from {cut[0]:.0f} W "
            f"at clip to {now:.0f} W; with larger rails the same knob gives the grey line."
        ),
        alt=(
            "Four plots. Upper left: volts over 0.65 seconds, the wanted wave and the wave cut "
            "flat at the rails. Upper right: heat in the coil in watts, 1 to 10000, log axis, "
            "against decibels past clip, 0 to 20; cut it levels off, unclipped it goes on rising. "
            "Lower left: level of third octaves, 25 to 1000 Hz, clean and clipped: clipping adds "
            "above 200 Hz. Lower right: crest factor in decibels, falling, and share of time at "
            "the rails in per cent, rising, against decibels past clip."
        ),
        code=(
            "from boxlab.explainers import _music as music\n"
            f"driver, box = music.driver_of({ohm:g}), music.box_of({build!r})\n"
            f"for past in (0, {overdrive:g}):\n"
            f"    volts = music.at_the_rails({crest:g}, {rating:g}, {ohm:g}, past)\n"
            "    print(past, music.averages(driver, box, volts))"
        ),
        warnings=(
            (f"{now:.0f} W of heat is more than the {pe:g} W this coil is rated for.",)
            if now > pe
            else ()
        ),
    )


def _wave(line, rating, ohm, overdrive):
    rails, part = np.sqrt(2 * rating * ohm), slice(0, 5200, 8)
    time = np.arange(line.size)[part] / RATE
    wanted = rails * line[part] * 10 ** (overdrive / 20)
    return Plot(
        "Wanted, and what the rails allow",
        "time, s",
        "amplifier output, V",
        (0, 0.65),
        (-150, 150),
        (
            Line(time, np.clip(wanted, -150, 150), "quiet", "wanted"),
            Line(time, np.clip(wanted, -rails, rails), "electrical", "given"),
        ),
        (Mark(rails, f"rails ±{rails:.0f} V", "limit", "y"), Mark(-rails, "", "limit", "y")),
        xscale="linear",
    )


def _heat(cut, clean, overdrive, pe):
    return Plot(
        "Heat in the coil",
        "past clip, dB",
        "power, W",
        (0, 20),
        (1, 10000),
        (
            Line(PAST, clean, "quiet", "larger rails, no clipping"),
            Line(PAST, cut, "electrical", "clipped"),
        ),
        (Mark(overdrive, "here"), Mark(pe, f"coil rated {pe:g} W", "limit", "y")),
        xscale="linear",
        yscale="log",
    )


def third_octaves(powers, crest):
    """Level of each third octave over the whole, dB, shape of BANDS; of Fourier powers."""
    f = np.fft.rfftfreq(music.line_of(crest).size, 1 / RATE)
    edges = np.append(BANDS * 10**-0.05, BANDS[-1] * 10**0.05)
    sums = np.histogram(f, edges, weights=powers)[0]
    return 10 * np.log10(np.maximum(sums / powers.sum(), 1e-9))


def _spectrum(crest, powers):
    return against_frequency(
        "Third octaves, over the whole",
        "level, dB re the total",
        (-60, 0),
        (
            Line(BANDS, third_octaves(turned_up(crest)[0][0], crest), "quiet", "clean"),
            Line(BANDS, third_octaves(powers, crest), "electrical", "clipped"),
        ),
        xlim=(20, 1000),
    )


def _crest(crest, overdrive):
    got = turned_up(crest)[1]
    return Plot(
        "What is left between peak and average",
        "past clip, dB",
        "crest factor, dB; time at the rails, %",
        (0, 20),
        (0, 60),
        (
            Line(PAST, np.array([g.crest for g in got]), "sum", "crest factor, dB"),
            Line(PAST, np.array([100 * g.clipped for g in got]), "limit", "time at the rails, %"),
        ),
        (Mark(overdrive, "here"),),
        xscale="linear",
    )


def _readout(got, now, at_clip, rating, needed, overdrive, pe, cut):
    over = np.interp(np.log(pe), np.log(cut), PAST)
    burn = (
        f"Without clipping, too, the coil's {pe:g} W are passed."
        if cut[0] > pe
        else f"The coil's {pe:g} W are passed about {over:.0f} dB past clip."
        if cut[-1] > pe
        else f"On this amplifier the coil's {pe:g} W are never passed: 20 dB past clip it is "
        f"{cut[-1]:.0f} W."
    )
    return (
        f"At clip {at_clip:.0f} W heat the coil; {overdrive:g} dB past it {now:.0f} W, "
        f"{now / at_clip:.1f} times as much.",
        f"The crest factor is down to {got.crest:.1f} dB, and {100 * got.clipped:.0f} % of the "
        "time is spent at the rails.",
        burn,
        f"To play it {overdrive:g} dB louder without clipping takes {needed:.0f} W of rating, and "
        f"{at_clip * 10 ** (overdrive / 10):.0f} W of heat: more than clipped. A coil burns "
        "from average power, not from the corners of the wave.",
    )


EXPLAINERS = (
    Explainer(
        name="clipping_and_heat",
        question="What does clipping do to the heat in the coil?",
        controls=(
            Slider("overdrive", "Turned up past clip", 0, 20, 10, 1, "dB"),
            Slider("rating", "Rated power", 50, 1000, 300, 10, "W"),
            music.CREST,
            Slider("pe", "Coil rated for", 50, 600, 200, 10, "W"),
            music.LOAD,
            music.BUILD,
        ),
        scene=scene,
        lesson="07-power-and-wiring.ipynb",
        anchor="Does-clipping-kill",
        answer=(
            "Clipping itself burns no coil: the average power does, and turning up past clip "
            "raises it several times over. A larger amplifier with the knob at the same place "
            "heats more, not less."
        ),
        presets={"the small one": {"rating": 100.0, "overdrive": 16.0}},
    ),
)
