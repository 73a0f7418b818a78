"""Two pistons in slow motion, in step with their waveforms, as one small animated PNG.

It plays wherever a picture shows: in a saved notebook, on an exported page, with no kernel. For
who would rather not have motion, and for paper, `moments` draws the same as four stills.
"""

from __future__ import annotations

import base64
from dataclasses import dataclass
from fractions import Fraction

import numpy as np

from boxlab.base.units import to_mm
from boxlab.draw import apng, palette
from boxlab.draw.figures import DPI, WIDTH
from boxlab.draw.piston_view import HEIGHT, RADIATOR, Track, frames
from boxlab.model.camera import film
from boxlab.model.enclosure import RadiatorBox
from boxlab.model.motion import phasors

CYCLE = 2.4  # s on screen for one cycle of the slow motion
STEPS = 30  # frames a cycle
WAVE = np.linspace(0, 1, 121)  # of a cycle, for the curve that the dots ride on
LARGEST = 120  # frames that a film may need until it repeats


@dataclass(frozen=True)
class Movie:
    """A picture to show, moving or still: PNG bytes, size in CSS pixels, words."""

    png: bytes
    width: int
    height: int
    alt: str
    caption: str
    frames: int

    def _repr_mimebundle_(self, include=None, exclude=None):
        data = {
            "image/png": base64.b64encode(self.png).decode("ascii"),
            "text/plain": f"{'Animation' if self.frames > 1 else 'Figure'}: {self.alt}",
        }
        size = {"width": self.width, "height": self.height}
        return data, {"image/png": {"alt": self.alt} | size}


def show(movie: Movie) -> None:
    """Display a movie in a lesson with its caption under it."""
    from IPython.display import display

    data, metadata = movie._repr_mimebundle_()
    display(data, metadata=metadata, raw=True)
    display({"text/markdown": movie.caption, "text/plain": movie.caption}, raw=True)


def pistons(driver, box, frequencies, names=None, voltage=2.83) -> Movie:
    """Cone and vent of one box at one or more tones (Hz), each slowed to the same pace.

    `names` says what each tone is, "an octave below tuning". Each piston is drawn to its own size,
    for at the tuning the cone hardly moves; the caption says how far each goes.
    """
    tracks, told = [], []
    for tone, name in _named(frequencies, names):
        at, ahead, vent = _pair(driver, box, tone, voltage)
        turn = np.linspace(0, 1, STEPS, endpoint=False)
        tracks.append(_in_life(_title(tone, name), ahead, turn, WAVE, vent))
        told.append(_told(at, tone, ahead, vent))
    caption = (
        "*Slow motion. Up is outward; blue is the cone; each is drawn to its own "
        "size. " + " ".join(f"At {text}." for text in told) + "*"
    )
    alt = "Two pistons side by side in the top of a box move up and down, dots on their " + (
        "waveforms move with them. " + " ".join(f"At {text}." for text in told)
    )
    return _movie(tracks, CYCLE / STEPS, alt, caption)


def moments(driver, box, frequency, voltage=2.83) -> Movie:
    """Four stills of one cycle: at the start, and a quarter, a half and three quarters on."""
    at, ahead, vent = _pair(driver, box, frequency, voltage)
    names = ("start", "¼ cycle later", "½ cycle later", "¾ cycle later")
    tracks = [_in_life(name, ahead, np.array([k / 4]), WAVE, vent) for k, name in enumerate(names)]
    text = _told(at, frequency, ahead, vent)
    alt = (
        "Four stills of one cycle, a quarter apart. Cone fully out; in the middle, moving in; "
        f"fully in; in the middle, moving out. At {text}."
    )
    return _movie(tracks, 1.0, alt, f"*Stills, a quarter cycle apart. At {text}.*")


def filmed(driver, box, frequency, rate, voltage=2.83) -> Movie:
    """The same motion twice: in life, slowed down, and as film of `rate` frames a second has it.

    Raises
    ------
    ValueError
        If the film does not come round to its first frame within 120 frames, or stands still.
    """
    _, ahead, vent = _pair(driver, box, frequency, voltage)
    f, tracks = film_tracks(frequency, rate, ahead, vent)
    order = {"first": "the cone leads", "second": f"the {vent} leads", "neither": "no order shows"}
    text = (
        f"{frequency:g} Hz filmed at {rate:g} frames a second looks like {abs(f.frequency):g} Hz"
        + (" running backwards" if f.frequency < 0 else "")
        + f": in life the {vent} is {f.true_phase:.0f}° ahead, on film {order[f.leads]}"
    )
    alt = f"The same two pistons twice, side by side: left in life, right on film. {text}."
    return _movie(tracks, 1 / rate, alt, f"*{text}.*")


def film_tracks(frequency, rate, ahead, vent):
    """The film of two pistons, the second `ahead` rad: the `Film`, and tracks in life and on film.

    Raises
    ------
    ValueError
        As `filmed`.
    """
    count = Fraction(frequency / rate).limit_denominator(1000).denominator
    if not 2 < count <= LARGEST:
        raise ValueError(
            f"{frequency:g} Hz at {rate:g} frames a second repeats after {count} frames; choose a "
            f"tone whose film repeats after 3 to {LARGEST}, such as {rate + 1:g} Hz at {rate:g}"
        )
    f = film(frequency, rate, 1.0, np.exp(1j * ahead), count)
    rounds = abs(f.frequency) * count / rate
    at_frames = np.arange(count) / count * rounds
    fine = np.linspace(0, rounds, 241)
    back = np.sign(f.frequency)
    slowed = f"In life, slowed {frequency / abs(f.frequency):.0f} times"
    life = _in_life(slowed, ahead, at_frames, fine, vent)
    seen = Track(
        f"On film, {rate:g} frames a second",
        f.first,
        f.second,
        at_frames,
        fine,
        np.cos(2 * np.pi * fine),
        np.cos(2 * np.pi * fine + back * ahead),
        vent,
        "time, cycles on film",
        dots=True,
    )
    return f, (life, seen)


def _named(frequencies, names):
    tones = np.atleast_1d(np.asarray(frequencies, dtype=float))
    names = [""] * len(tones) if names is None else list(names)
    if len(names) != len(tones):
        raise ValueError(f"{len(tones)} frequencies but {len(names)} names; give one for each.")
    return zip(tones, names, strict=True)


def _pair(driver, box, tone, voltage):
    at = phasors(driver, box, tone, voltage).turned_to("cone")
    if not abs(at.vent):
        raise ValueError("box has no vent that moves; give a ported or a radiator box.")
    suspended = isinstance(box, RadiatorBox) and np.isfinite(box.radiator.cms)
    return at, float(np.angle(at.vent)), RADIATOR if suspended else "air in the port"


def _title(tone, name):
    return f"{tone:g} Hz" + (f", {name}" if name else "")


def _told(at, tone, ahead, vent):
    cone, other = (f"{to_mm(abs(z)):.2g} mm" for z in (at.cone, at.vent))
    return (
        f"{tone:g} Hz the {vent} is {np.degrees(ahead):.0f}° ahead of the cone; the cone moves "
        f"{cone}, the {vent} {other}"
    )


def _in_life(title, ahead, turn, fine, vent):
    """Cone and vent at the cycles `turn`, over their waves at the cycles `fine`."""
    return Track(
        title,
        np.cos(2 * np.pi * turn),
        np.cos(2 * np.pi * turn + ahead),
        turn,
        fine,
        np.cos(2 * np.pi * fine),
        np.cos(2 * np.pi * fine + ahead),
        vent,
    )


def _movie(tracks, seconds, alt, caption) -> Movie:
    drawn = frames(tracks)
    png = apng.encode(drawn, seconds) if len(drawn) > 1 else palette.encode(drawn[0])
    return Movie(png, round(WIDTH * DPI), round(HEIGHT * DPI), alt, caption, len(drawn))
