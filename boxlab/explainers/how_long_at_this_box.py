"""What a meter at the seat reads from one box on programme, and the time the rules allow it."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from boxlab.base.cautions import words
from boxlab.base.units import to_mm
from boxlab.car.vehicle import Cabin, cabin_lift
from boxlab.draw.scene import Choice, Explainer, Line, Mark, Number, Plot, Scene, Slider
from boxlab.explainers import _shared as shared
from boxlab.explainers._cuts import NOTE, shown
from boxlab.explainers._music import box_of
from boxlab.explainers._shared import against_frequency
from boxlab.gear.demo_listening import BUILDS
from boxlab.gear.shelf import DRIVERS, remembered
from boxlab.model.response import solve
from boxlab.sound import programme
from boxlab.sound.hearing import (
    HOUR,
    NIOSH,
    OSHA,
    PEAK,
    above_ceiling,
    allowed_time,
    clock,
    permitted,
    third_octaves,
    weighted_level,
    weighting,
)

PLACES = ("in the cabin", "outdoors at 1 m")
PROGRAMMES = ("bass line", "pink noise, 20 to 200 Hz")
BANDS = third_octaves(20, 250)
DRIVES = np.geomspace(1, 30, 60)
RAIL = 300.0  # W of a sine into the coil's resistance: what the warning compares with
REST = 1000.0  # Hz: there all weightings agree, so the rest of the music counts alike in each


@lru_cache(maxsize=2)
def spectrum_of(name):
    """The programme called `name`, as a `Spectrum`."""
    if name == PROGRAMMES[0]:
        return programme.spectrum_of(programme.bass_line())
    return programme.pink_noise()


@dataclass(frozen=True, eq=False)
class Seat:
    """One box at 1 V rms of programme: level of each line at the seat, dB, for each edge of the
    cabin's band, and the largest travel, m peak, by rms and crest factor.
    """

    frequency: np.ndarray
    low: np.ndarray
    mid: np.ndarray
    high: np.ndarray
    travel: float

    def reading(self, volts, kind, edge="mid"):
        """One reading of the bass alone, dB with weighting `kind`."""
        return weighted_level(self.frequency, getattr(self, edge), kind) + 20 * np.log10(volts)

    def bands(self, volts):
        """Level in each of BANDS, dB, for the middle of the cabin's band."""
        place = np.round(10 * np.log10(self.frequency / BANDS[0])).astype(int)
        inside = (place >= 0) & (place < BANDS.size)
        power = np.zeros(BANDS.size)
        np.add.at(power, place[inside], 10 ** (self.mid[inside] / 10))
        return 10 * np.log10(np.maximum(power, 1e-12)) + 20 * np.log10(volts)


@remembered(64)
def at_seat(size, build, place, sound, length):
    """The `Seat` of these settings."""
    driver, spectrum = DRIVERS[size], spectrum_of(sound)
    r = solve(driver, box_of(build, size), spectrum.frequency, 1.0)
    outdoors = r.spl + 10 * np.log10(spectrum.share)
    rms = np.sqrt(np.sum(spectrum.share * r.cone_excursion**2) / 2)
    edges = [np.zeros_like(outdoors)] * 3
    if place == PLACES[0]:
        lift = cabin_lift(Cabin(length=length), spectrum.frequency)
        edges = [lift.low, lift.mid, lift.high]
    travel = float(rms * 10 ** (spectrum.crest / 20))
    return Seat(spectrum.frequency, *(outdoors + edge for edge in edges), travel)


def both(bass, rest):
    """A reading of the bass and of the rest of the music together, dB."""
    return 10 * np.log10(10 ** (bass / 10) + 10 ** (rest / 10))


def scene(size, build, place, sound, drive, rest, length) -> Scene:
    """One box at `drive` V rms of programme, with `rest` dBA of everything above the bass."""
    seat = at_seat(size, build, place, sound, length)
    bass = {kind: float(seat.reading(drive, kind)) for kind in "ZAC"}
    whole = {kind: float(both(bass[kind], rest)) for kind in "ZAC"}
    span = [float(seat.reading(drive, "Z", edge)) for edge in ("low", "high")]
    muted = whole["A"] - rest
    times = _times(whole, span[1] + spectrum_of(sound).crest)
    bands = seat.bands(drive)
    return Scene(
        **shown({build: shared.state(DRIVERS[size], box_of(build, size))}, NOTE, drive),
        title=f"A {build} box at {drive:g} V rms, {place}",
        plots=(_band_plot(bands, place), _time_plot(seat, drive, rest)),
        headline=(
            f"{place.capitalize()} this makes {whole['Z']:.0f} dB: by dBA NIOSH allows "
            f"{times['NIOSH']} a day, if dBC counted {times['dBC']}."
        ),
        readout=(
            f"{place.capitalize()}: {whole['Z']:.0f} dB, which reads {whole['A']:.1f} dBA and "
            f"{whole['C']:.1f} dBC.",
            f"By dBA, NIOSH allows {times['NIOSH']} and OSHA {times['OSHA']}; if dBC "
            f"counted, NIOSH would allow {times['dBC']}.",
            f"Mute the bass and the dBA reading falls by {muted:.1f} dB, to {rest:g}; the level "
            f"itself falls by {whole['Z'] - rest:.0f} dB.",
            _band_words(place, bass, span),
        ),
        numbers=_numbers(bass, whole, span, rest, seat.travel * drive, muted, times),
        caption=(
            f"{shared.one(size).capitalize()} driver in its usual {build} box, the {sound} "
            f"at {drive:g} V rms, {place}, "
            f"with the rest of the music at {rest:g} dBA. Left, the bass in third octaves, as it "
            f"is and A-weighted. Right, the time NIOSH allows as you turn the bass up."
        ),
        alt=(
            "Left: level in third octaves in dB, 20 to 120, against frequency, 20 to 250 Hz; the "
            "A-weighted steps lie far below the unweighted ones, most at the left. Right: allowed "
            "time in hours, 0.01 to 100, log axis, against volts, 1 to 30; the line for dBA stays "
            "nearly flat until the bass outweighs the rest, the line for dBC falls steadily."
        ),
        code=_code(size, build, place, sound, drive, rest, length),
        warnings=_warnings(size, sound, drive, seat, whole),
        cautions=words(*(("peak",) if times["peak"] >= PEAK else ()), "hearing"),
    )


def _times(whole, peak):
    """Times in words, and the highest peak that they go by: of the bass, in the tightest cabin."""
    return {
        "NIOSH": clock(permitted(whole["A"], NIOSH, peak)),
        "OSHA": clock(permitted(whole["A"], OSHA, peak)),
        "dBC": clock(0 if peak >= PEAK else float(allowed_time(whole["C"]))),
        "peak": peak,
    }


def _band_words(place, bass, span):
    if place != PLACES[0]:
        return f"The bass alone is {bass['Z']:.0f} dB and reads {bass['A']:.0f} dBA."
    return (
        f"The bass alone reads {bass['A']:.0f} dBA. Its level is {span[0]:.0f} dB in a leaky "
        f"cabin and {span[1]:.0f} dB in a tight one; the rest is for the middle of that band."
    )


def _band_plot(bands, place):
    return against_frequency(
        f"The bass {place}",
        "third-octave level, dB re 20 µPa",
        (20, 120),
        (
            Line(BANDS, bands, "sum", "as it is", kind="steps"),
            Line(BANDS, bands + weighting(BANDS), "limit", "A-weighted", kind="steps"),
        ),
        xlim=(20, 250),
    )


def _time_plot(seat, drive, rest):
    hours = {
        kind: allowed_time(both(seat.reading(1, kind) + 20 * np.log10(DRIVES), rest)) / HOUR
        for kind in "AC"
    }
    return Plot(
        "Turning the bass up",
        "drive, V rms of programme",
        "NIOSH time in a day, h",
        (1, 30),
        (0.01, 100),
        (
            Line(DRIVES, hours["A"], "limit", "by dBA, the rule"),
            Line(DRIVES, hours["C"], "quiet", "if dBC counted, no rule"),
        ),
        (Mark(drive, f"{drive:g} V"), Mark(8, "8 h", "quiet", "y")),
        yscale="log",
    )


def _numbers(bass, whole, span, rest, travel, muted, times):
    return (
        Number("bass alone, unweighted", f"{bass['Z']:.1f} dB"),
        Number("  in a leaky and in a tight cabin", f"{span[0]:.1f} to {span[1]:.1f} dB"),
        Number("bass alone, dBC", f"{bass['C']:.1f} dBC"),
        Number("bass alone, dBA", f"{bass['A']:.1f} dBA"),
        Number("rest of the music", f"{rest:.1f} dBA"),
        Number("together, dBA", f"{whole['A']:.1f} dBA"),
        Number("together, dBC", f"{whole['C']:.1f} dBC"),
        Number("dBA reading falls, bass muted", f"{muted:.1f} dB"),
        Number("NIOSH, from dBA", times["NIOSH"]),
        Number("OSHA, from dBA", times["OSHA"]),
        Number("NIOSH, if dBC counted (no rule)", times["dBC"]),
        Number("highest peaks of the bass", f"{times['peak']:.0f} dB"),
        Number(
            "cone travel on peaks, about", f"{to_mm(travel):.0f} mm", f"{travel / 0.0254:.2f} in"
        ),
    )


def _warnings(size, sound, drive, seat, whole):
    driver, notes = DRIVERS[size], []
    peak = drive * 10 ** (spectrum_of(sound).crest / 20)
    needed = peak**2 / (2 * driver.re)
    if needed > RAIL:
        notes.append(
            f"The peaks reach {peak:.0f} V. Without clipping that takes an amplifier rated "
            f"{needed:.0f} W into {driver.re:g} Ω."
        )
    if seat.travel * drive > driver.xmax:
        notes.append(
            f"The peaks ask the cone for about {to_mm(seat.travel * drive):.0f} mm, past its Xmax "
            f"of {to_mm(driver.xmax):.0f} mm: a real box gives less than this, and distorts."
        )
    if above_ceiling(whole["A"]):
        notes.append("Above 115 dBA: no unprotected time at all, whatever the formula gives.")
    return tuple(notes)


def _code(size, build, place, sound, drive, rest, length):
    return (
        "from boxlab.sound.hearing import clock, permitted\n"
        "from boxlab.explainers.how_long_at_this_box import at_seat, both\n"
        f"seat = at_seat({size!r}, {build!r}, {place!r}, {sound!r}, {length:g})\n"
        "for kind in 'AC':\n"
        f"    reading = both(seat.reading({drive:g}, kind), {rest:g})\n"
        "    print(kind, reading, clock(permitted(reading)))"
    )


EXPLAINERS = (
    Explainer(
        name="how_long_at_this_box",
        question="How long may you listen at the level this box makes?",
        controls=(
            Choice("size", "Driver", tuple(DRIVERS), "ten-inch"),
            Choice("build", "Box", BUILDS, BUILDS[0]),
            Choice("place", "Where you sit", PLACES, PLACES[0]),
            Slider("drive", "Bass drive", 1, 30, 10, 0.5, "V"),
            Slider(
                "rest", "Rest of the music, above 250 Hz", 40, 110, 88, 1, "dBA",
                help="At your ears. 40 dBA is as good as nothing: the bass alone.",
            ),
            Choice("sound", "Bass programme", PROGRAMMES, PROGRAMMES[0], more=True),
            Slider("length", "Cabin length", 1.5, 5, 2.6, 0.1, "m", more=True),
        ),
        scene=scene,
        lesson="09-how-loud-how-long.ipynb",
        anchor="How-long-at-the-level-this-box-makes",
        answer=(
            "By the rules, the music above the bass decides: muting the bass moves the dBA "
            "reading by a decibel while the level falls by twenty. By dBC it would be minutes, "
            "not hours. No rule is made for this; take the shorter time."
        ),
        presets={
                "the bass alone": {"rest": 40.0},
                "turned up": {"drive": 20.0, "rest": 94.0},
                "outdoors": {"place": PLACES[1]},
            },
    ),
)  # fmt: skip
