"""A bass line through sealed, radiator and ported boxes, matched in loudness: what differs."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from boxlab.base.units import litres
from boxlab.draw.scene import Choice, Explainer, Line, Mark, Number, Plot, Scene, Slider
from boxlab.explainers import _shared as shared
from boxlab.explainers._cuts import shown
from boxlab.explainers._shared import FREQUENCY, against_frequency, cubic_feet_text
from boxlab.gear import shelf
from boxlab.gear.demo_listening import box_of
from boxlab.gear.scenario import USUAL_QL
from boxlab.gear.shelf import DRIVERS, RADIATORS, remembered
from boxlab.model.enclosure import RadiatorBox
from boxlab.model.response import solve
from boxlab.sound.hearing import weighting
from boxlab.sound.programme import E1, NOTES, bass_line, spectrum_of

ORDER = ("sealed", "radiator", "ported")
MATCHES = ("C", "A", "Z")
TONES = tuple(sorted({E1 * 2 ** (semitones / 12) for _, _, semitones in NOTES}))  # Hz, of the line
NAMES = {-2: "D", 0: "E", 3: "G", 5: "A", 7: "B"}  # semitones above E1


def name_of(tone):
    """The note of a frequency of TONES, as "E (41.2 Hz)"."""
    return f"{NAMES[round(12 * np.log2(tone / E1))]} ({tone:.1f} Hz)"


@lru_cache(maxsize=1)
def line():
    """The bass line's own spectrum."""
    return spectrum_of(bass_line())


@dataclass(frozen=True, eq=False)
class Matched:
    """One box after the match. `curve` is over FREQUENCY and `tones` over TONES, dB re the line as
    sent; `loudness` is what it gave at 1 V rms before the match, dB with the chosen weighting.
    """

    loudness: float
    curve: np.ndarray
    tones: np.ndarray


def nearest(build, size, volume, fb):
    """The box as asked for; with a radiator too heavy for the tuning, that radiator bare."""
    net, job = float(litres(volume)), shelf.current()
    count, ql = (1, USUAL_QL)
    if job is not None and size == shelf.OWN:
        count, ql = max(1, job.radiators), float(job.ql.value)
    bare = RadiatorBox(net, RADIATORS[size], count=count, ql=ql)
    if build == "radiator" and bare.tuning() < fb:
        return bare
    return box_of(build, size, net, fb, count, ql)


@remembered(64)
def matched(size, build, volume, fb, kind):
    """A `Matched` for a box of `volume` L tuned to `fb` Hz."""
    driver, box, sent = DRIVERS[size], nearest(build, size, volume, fb), line()
    weight = weighting(sent.frequency, kind)
    through = solve(driver, box, sent.frequency, 1.0).spl
    given = _sum(sent.share, through + weight)
    gain = _sum(sent.share, weight) - given
    return Matched(
        given,
        solve(driver, box, FREQUENCY, 1.0).spl + gain,
        solve(driver, box, TONES, 1.0).spl + gain,
    )


def _sum(share, decibels):
    return float(10 * np.log10(np.sum(share * 10 ** (decibels / 10))))


def scene(size, volume, fb, kind) -> Scene:
    """The three boxes of one net volume on the bass line, matched by the weighting `kind`."""
    boxes = {build: matched(size, build, volume, fb, kind) for build in ORDER}
    apart = boxes["ported"].tones - boxes["radiator"].tones
    sealed = boxes["sealed"].tones - boxes["radiator"].tones
    worst = int(np.abs(apart).argmax())
    louder = boxes["radiator"].loudness - boxes["sealed"].loudness
    scale = "dB" + {"Z": ""}.get(kind, kind)
    return Scene(
        **shown(
            {each: shared.state(DRIVERS[size], nearest(each, size, volume, fb)) for each in ORDER},
            fb,
        ),
        title=f"A bass line through {volume:g} L, matched in {scale}",
        plots=(_curves(boxes), _tones(boxes)),
        readout=(
            f"Matched in {scale}, radiator and port differ by at most {abs(apart[worst]):.1f} dB, "
            f"on {name_of(TONES[worst])}.",
            f"Sealed against radiator: {_signed(sealed[0])} dB on {name_of(TONES[0])}, "
            f"{_signed(sealed[1])} dB on {name_of(TONES[1])}, {_signed(sealed[-1])} dB on "
            f"{name_of(TONES[-1])}.",
            f"Before the match, at the same volts, the radiator box was {louder:.1f} dB louder "
            "than the sealed one on this line.",
        ),
        numbers=tuple(
            Number(
                f"{name_of(tone)}: sealed, radiator, ported",
                ", ".join(f"{_signed(boxes[build].tones[k])}" for build in ORDER) + " dB",
            )
            for k, tone in enumerate(TONES)
        ),
        caption=(
            f"The {size} driver in {volume:g} L ({cubic_feet_text(volume)}), radiator and port "
            f"tuned to {fb:g} Hz, turned up or down until the bass line reads the same in {scale}. "
            "Left, what each box then does at every frequency; right, to the fundamental of each "
            "note. 0 dB is the line as sent."
        ),
        alt=(
            "Two plots of level in dB against the bass line as sent. Left, −30 to 15 dB: against "
            "frequency, 10 to 200 Hz, log axis, for sealed, radiator and port; radiator and port "
            "lie together above the tuning. Right, −15 to 10 dB: the five notes of the line, 36.7 "
            f"to 61.7 Hz; sealed is {_signed(sealed[0])} dB against the radiator on the lowest."
        ),
        code=(
            "from boxlab.explainers.bass_line_through_boxes import TONES, matched\n"
            "for build in ('sealed', 'radiator', 'ported'):\n"
            f"    print(build, matched({size!r}, build, {volume:g}, {fb:g}, {kind!r}).tones)"
        ),
        warnings=_warnings(size, volume, fb),
    )


def _warnings(size, volume, fb):
    reached = float(nearest("radiator", size, volume, fb).tuning())
    if reached > fb - 0.05:
        return ()
    return (
        f"With no weights at all the {size} radiator tunes {volume:g} L to {reached:.1f} Hz, which "
        f"is what is drawn. {fb:g} Hz needs a lighter radiator or a smaller box.",
    )


def _signed(decibels):
    return f"{decibels:+.1f}".replace("-", "−")


def _curves(boxes):
    return against_frequency(
        "What each box does, after the match",
        "level, dB re the line as sent",
        (-30, 15),
        tuple(Line(FREQUENCY, boxes[build].curve, "sum", build, build) for build in ORDER),
        (Mark(TONES[0], "lowest note"), Mark(TONES[-1], "highest")),
    )


def _tones(boxes):
    return Plot(
        "The notes of the line",
        "fundamental, Hz",
        "level, dB re the line as sent",
        (34, 66),
        (-15, 10),
        tuple(Line(np.array(TONES), boxes[build].tones, "sum", build, build) for build in ORDER),
        tuple(Mark(tone, name_of(tone).split()[0]) for tone in TONES),
        xscale="linear",
    )


EXPLAINERS = (
    Explainer(
        name="bass_line_through_boxes",
        question="What do three boxes do to a bass line, matched in loudness?",
        controls=(
            Choice("size", "Driver", tuple(DRIVERS), "ten-inch"),
            Slider("volume", "Net volume", 10, 40, 14, 0.5, "L"),
            Slider("fb", "Tuning", 34, 60, 45, 0.5, "Hz"),
            Choice(
                "kind", "Matched by weighting", MATCHES, "C", more=True,
                help="C is nearest to the ear at a high level; none is a model of hearing.",
            ),
        ),
        scene=scene,
        lesson="09-how-loud-how-long.ipynb",
        anchor="What-does-it-sound-like",
        answer=(
            "Matched in loudness, a radiator and a port at the same tuning are within a decibel on "
            "every note of a bass line, and a sealed box of that size within two or three. What it "
            "lacks is loudness: about 2.5 dB at the same volts."
        ),
        presets={"ten-inch, 14 L": {}, "tuned low": {"fb": 36.0}},
    ),
)  # fmt: skip
