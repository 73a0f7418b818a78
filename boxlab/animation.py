"""Two pistons in slow motion, in step with their waveforms, as one small animated PNG.

It plays wherever a picture shows: in a saved notebook, on an exported page, with no kernel. For
who would rather not have motion, and for paper, `moments` draws the same as four stills.

The file is an ordinary PNG in our inks (its first frame, for old viewers) with the later frames in
the chunks acTL, fcTL and fdAT of the PNG specification, third edition (W3C, 2025). Pixels that do
not change are transparent in a later frame, which keeps the file small.
"""

from __future__ import annotations

import base64
import struct
import zlib
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise

import numpy as np
from matplotlib import rc_context
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.patches import Polygon, Rectangle

from boxlab import inks
from boxlab.camera import film
from boxlab.enclosure import RadiatorBox
from boxlab.figures import DPI, WIDTH
from boxlab.motion import phasors
from boxlab.plots import STYLE
from boxlab.units import to_mm

CYCLE = 2.4  # s on screen for one cycle of the slow motion
STEPS = 30  # frames a cycle
LARGEST = 120  # frames that a film may need until it repeats
RADIATOR = "radiator"
SAME = 255  # index that no ink uses: "as in the frame before"


@dataclass(frozen=True, eq=False)
class Track:
    """One pair of pistons: positions as parts of their peaks, and the curves they write."""

    title: str
    cone: np.ndarray  # shape (frames,)
    vent: np.ndarray
    at: np.ndarray  # where each frame stands on the time axis
    time: np.ndarray  # shape (m,)
    cone_curve: np.ndarray
    vent_curve: np.ndarray
    name: str  # of the vent
    axis: str = "time, cycles"
    dots: bool = False  # mark every frame on the curves


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
        tracks.append(_steady(_title(tone, name), ahead, turn, vent))
        told.append(_told(at, tone, ahead, vent))
    caption = (
        "*Slow motion. Up is outward; blue is the cone; each is drawn to its own "
        "size. " + " ".join(f"At {text}." for text in told) + "*"
    )
    alt = "Two pistons side by side in the top of a box move up and down, dots on their " + (
        "waveforms move with them. " + " ".join(f"At {text}." for text in told)
    )
    return _render(tracks, CYCLE / STEPS, alt, caption)


def moments(driver, box, frequency, voltage=2.83) -> Movie:
    """Four stills of one cycle: at the start, and a quarter, a half and three quarters on."""
    at, ahead, vent = _pair(driver, box, frequency, voltage)
    names = ("start", "¼ cycle later", "½ cycle later", "¾ cycle later")
    tracks = [_steady(name, ahead, np.array([k / 4]), vent) for k, name in enumerate(names)]
    text = _told(at, frequency, ahead, vent)
    alt = (
        "Four stills of one cycle, a quarter apart. Cone fully out; then at rest on its way in; "
        f"fully in; at rest on its way out. At {text}."
    )
    return _render(tracks, 1.0, alt, f"*Stills, a quarter cycle apart. At {text}.*")


def filmed(driver, box, frequency, rate, voltage=2.83) -> Movie:
    """The same motion twice: in life, slowed down, and as film of `rate` frames a second has it.

    Raises
    ------
    ValueError
        If the film does not come round to its first frame within 120 frames, or stands still.
    """
    _, ahead, vent = _pair(driver, box, frequency, voltage)
    frames = Fraction(frequency / rate).limit_denominator(1000).denominator
    if not 2 < frames <= LARGEST:
        raise ValueError(
            f"{frequency:g} Hz at {rate:g} frames a second repeats after {frames} frames; choose a "
            f"tone whose film repeats after 3 to {LARGEST}, such as {rate + 1:g} Hz at {rate:g}"
        )
    f = film(frequency, rate, 1.0, np.exp(1j * ahead), frames)
    rounds = abs(f.frequency) * frames / rate
    at_frames = np.arange(frames) / frames * rounds
    fine = np.linspace(0, rounds, 241)
    back = np.sign(f.frequency)
    life = Track(
        f"In life, slowed {frequency / abs(f.frequency):.0f} times",
        np.cos(2 * np.pi * at_frames),
        np.cos(2 * np.pi * at_frames + ahead),
        at_frames,
        fine,
        np.cos(2 * np.pi * fine),
        np.cos(2 * np.pi * fine + ahead),
        vent,
    )
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
    order = {"first": "the cone leads", "second": f"the {vent} leads", "neither": "no order shows"}
    text = (
        f"{frequency:g} Hz filmed at {rate:g} frames a second looks like {abs(f.frequency):g} Hz"
        + (" running backwards" if back < 0 else "")
        + f": in life the {vent} is {f.true_phase:.0f}° ahead, on film {order[f.leads]}"
    )
    alt = f"The same two pistons twice, side by side: left in life, right on film. {text}."
    return _render((life, seen), 1 / rate, alt, f"*{text}.*")


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


def _steady(title, ahead, turn, vent):
    fine = np.linspace(0, 1, 121)
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


# --- drawing


def _render(tracks, seconds, alt, caption) -> Movie:
    """Draw all tracks side by side, frame by frame."""
    with rc_context(STYLE):
        figure = Figure(figsize=(WIDTH, 2.7), dpi=DPI * 1.5, facecolor=inks.PAPER)
        canvas = FigureCanvasAgg(figure)
        cells = figure.subplots(
            1, len(tracks),
            gridspec_kw={"left": 0.01, "right": 0.99, "top": 0.9, "bottom": 0.02, "wspace": 0.05},
        )  # fmt: skip
        stages = [_Stage(ax, track) for ax, track in zip(np.ravel(cells), tracks, strict=True)]
        canvas.draw()
        paper = canvas.copy_from_bbox(figure.bbox)
        frames = []
        for k in range(len(tracks[0].cone)):
            canvas.restore_region(paper)
            for stage in stages:
                stage.pose(k, canvas.get_renderer())
            frames.append(inks.indices(inks.packed(canvas)))
    width, height = (round(side * DPI) for side in figure.get_size_inches())
    data = encode(frames, seconds) if len(frames) > 1 else inks.encode(frames[0], level=9)
    return Movie(data, width, height, alt, caption, len(frames))


class _Stage:
    """One box with its two pistons, and the waveforms at the same height beside it."""

    CONE, VENT, HALF = -1.42, -0.62, 0.27  # centres of the openings, half their width
    LEFT, RIGHT = 0.12, 2.0  # of the waveforms
    PEAK, FLOOR = 0.62, -1.85  # height of a piston's peak, and of the bottom of the box

    def __init__(self, ax, track):
        self.ax, self.track = ax, track
        ax.set_xlim(-1.95, 2.1)
        ax.set_ylim(-2.25, 0.85)
        ax.axis("off")
        ax.set_title(track.title, fontsize=9.5, fontweight="bold", color=inks.INK, loc="left")
        self._scale = (self.RIGHT - self.LEFT) / track.time[-1]
        self._fixed()
        self._moving = []

    def _line(self, x, y, colour, width=1.6, **look):
        return self.ax.plot(x, y, color=colour, lw=width, **look)[0]

    def _x(self, time):
        return self.LEFT + self._scale * np.asarray(time)

    def _fixed(self):
        track, ax = self.track, self.ax
        wall, low, centre = inks.AXIS, self.FLOOR, self.CONE
        lids = (
            (-1.9, centre - self.HALF),
            (centre + self.HALF, self.VENT - self.HALF),
            (self.VENT + self.HALF, -0.15),
        )
        for left, right in lids:
            self._line((left, right), (0, 0), wall, 3, solid_capstyle="butt")
        self._line((-1.9, -1.9, -0.15, -0.15), (0.02, low, low, 0.02), wall, 3)
        for left in (centre - 0.17, centre + 0.07):  # the magnet, on both sides of the coil
            ax.add_patch(Rectangle((left, low), 0.1, 1.3, facecolor=inks.GRID, edgecolor=wall))
        self._line((self.LEFT, self.RIGHT), (0, 0), inks.GRID, 1)
        for curve, at_frames, role in (
            (track.vent_curve, track.vent, "vent"),
            (track.cone_curve, track.cone, "cone"),
        ):
            colour = inks.COLOURS[role]
            self._line(self._x(track.time), self.PEAK * curve, colour, 1.4)
            if track.dots:
                self._line(
                    self._x(track.at), self.PEAK * at_frames, colour, 0, marker="o", ms=2.2, mew=0
                )
        label = track.name if track.name == RADIATOR else "port"
        words = {"fontsize": 8, "ha": "center", "va": "top"}
        ax.text(centre - 0.1, low - 0.07, "cone", color=inks.COLOURS["cone"], **words)
        ax.text(self.VENT + 0.08, low - 0.07, label, color=inks.COLOURS["vent"], **words)
        ax.text(self._x(track.time[-1] / 2), -0.85, track.axis, color=inks.INK, **words)
        for part in np.arange(0, track.time[-1] + 1e-9, 0.25 * track.time[-1]):
            self._line(self._x([part, part]), (-0.04, 0.04), inks.AXIS, 0.8)

    def pose(self, k, renderer):
        """Draw what moves, as it stands in frame k."""
        track, ax = self.track, self.ax
        cone, vent = self.PEAK * track.cone[k], self.PEAK * track.vent[k]
        now = self._x(track.at[k])
        blue, orange = inks.COLOURS["cone"], inks.COLOURS["vent"]
        half, plate = self.HALF, 0.15
        parts = [
            self._line((now, now), (-0.75, 0.75), inks.GHOST, 1),
            self._line((self.VENT + plate, now), (vent, vent), orange, 0.9, ls=(0, (2, 2))),
            self._line((self.CONE + plate, now), (cone, cone), blue, 0.9, ls=(0, (2, 2))),
        ]
        for centre, height, colour in ((self.CONE, cone, blue), (self.VENT, vent, orange)):
            for side in (-1, 1):  # the surround, from the rim to the moving edge
                edge = centre + side * half, centre + side * plate
                parts.append(self._line(edge, (0, height), colour, 1.4))
            parts.append(
                self._line((centre - plate, centre + plate), (height, height), colour, 4.5)
            )
            parts.append(self._line((now,), (height,), colour, marker="o", ms=6))
        # the cone's neck down to its coil, and the weight under a radiator
        patches = [
            Polygon(
                [
                    (self.CONE - plate, cone),
                    (self.CONE + plate, cone),
                    (self.CONE + 0.05, cone - 0.45),
                    (self.CONE - 0.05, cone - 0.45),
                ],
                facecolor="none", edgecolor=blue, lw=1.4,
            ),
            Rectangle((self.CONE - 0.05, cone - 1.2), 0.1, 0.75, facecolor=blue, lw=0),
        ]  # fmt: skip
        if track.name == RADIATOR:
            patches.append(
                Rectangle((self.VENT - 0.06, vent - 0.18), 0.12, 0.18, facecolor=orange, lw=0)
            )
        parts += [ax.add_patch(patch) for patch in patches]
        for artist in parts:
            artist.draw(renderer)
            artist.remove()


# --- the file


def encode(frames, seconds) -> bytes:
    """An animated PNG of table indices, each of shape (height, width), `seconds` a frame.

    It repeats without end. The bytes depend on the frames alone.
    """
    height, width = frames[0].shape
    delay = Fraction(seconds).limit_denominator(1000)
    serial = iter(range(2 * len(frames)))
    see_through = bytes([255] * SAME + [0])

    def control(left, top, wide, high):
        return inks.chunk(
            b"fcTL",
            struct.pack(
                ">IIIIIHHBB", next(serial), wide, high, left, top,
                delay.numerator, delay.denominator, 0, 1,
            ),
        )  # fmt: skip

    parts = [
        b"\x89PNG\r\n\x1a\n",
        inks.chunk(b"IHDR", struct.pack(">IIBBBBB", width, height, 8, 3, 0, 0, 0)),
        inks.chunk(b"acTL", struct.pack(">II", len(frames), 0)),
        inks.chunk(b"PLTE", inks.table()[0].tobytes()),
        inks.chunk(b"tRNS", see_through),
        control(0, 0, width, height),
        inks.chunk(b"IDAT", _packed_rows(frames[0])),
    ]
    for before, frame in pairwise(frames):
        changed = before != frame
        rows, columns = (np.flatnonzero(changed.any(axis=axis)) for axis in (1, 0))
        top, bottom = (rows[0], rows[-1] + 1) if rows.size else (0, 1)
        left, right = (columns[0], columns[-1] + 1) if columns.size else (0, 1)
        piece = np.where(changed, frame, SAME).astype(np.uint8)[top:bottom, left:right]
        parts.append(control(left, top, right - left, bottom - top))
        parts.append(inks.chunk(b"fdAT", struct.pack(">I", next(serial)) + _packed_rows(piece)))
    return b"".join([*parts, inks.chunk(b"IEND", b"")])


def _packed_rows(pixels):
    rows = np.zeros((pixels.shape[0], pixels.shape[1] + 1), np.uint8)  # filter 0 before each row
    rows[:, 1:] = pixels
    return zlib.compress(rows.tobytes(), 9)
