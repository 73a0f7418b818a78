"""First modes: where the box stands and where you sit, along the length of a cabin."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from boxlab.car.cabin_waves import along_the_cabin
from boxlab.car.vehicle import pressure_lift
from boxlab.draw.scene import Explainer, Line, Mark, Number, Plot, Scene, Slider
from boxlab.draw.surroundings import cabin_cut
from boxlab.explainers import _cars as cars
from boxlab.explainers import _shared as shared
from boxlab.explainers._cars import FREQUENCY
from boxlab.explainers._shared import against_frequency
from boxlab.model.air import Air

SHARES = np.linspace(0, 1, 81)
SEATS = (0.2, 0.7)  # of the length, from the front: where heads are, our own choice
LOSS = 0.3
SECTION = cars.CARS["saloon"]  # for width, height and what fills it


def at_seat(frequency, length, box, seat, loss):
    """Level at a seat over the same box outdoors at 1 m, dB; `box` and `seat` in % of the length.

    The sealed, rigid pressure zone of the cabin's air times the waves along its length.
    """
    volume = replace(SECTION, length=length).volume
    zone = pressure_lift(frequency, volume)
    along = along_the_cabin(frequency, length, length * (box / 100), length * (seat / 100), loss)
    return 20 * np.log10(np.abs(zone * along))


def seats_apart(frequency, length, box, loss):
    """Loudest over softest place between the frontmost and the rearmost head, dB."""
    return np.ptp(at_seat(frequency, length, box, 100 * np.linspace(*SEATS, 26), loss))


def scene(length, box, seat, frequency, loss) -> Scene:
    """Waves along a cabin of `length` m; box and seat in per cent of it, from the front."""
    here = at_seat(FREQUENCY, length, box, seat, loss)
    even = 20 * np.log10(np.abs(pressure_lift(FREQUENCY, replace(SECTION, length=length).volume)))
    first = Air().speed_of_sound / (2 * length)
    shape = at_seat(frequency, length, box, 100 * SHARES, loss)
    now = float(at_seat(frequency, length, box, seat, loss))
    here_to_there = [seats_apart(f, length, box, loss) for f in (frequency, first / 2, first / 4)]
    return Scene(
        cutaway=cabin_cut(length, SECTION.height, box / 100, seat / 100),
        title=f"{length:g} m long, seat at {seat:g} %: {_signed(now)} dB at {frequency:g} Hz",
        plots=(_by_frequency(here, even, first, frequency), _by_place(shape, box, seat)),
        readout=(
            f"At {frequency:g} Hz this seat gets {_signed(now)} dB over the same box outdoors; "
            f"from head to head it differs by {here_to_there[0]:.0f} dB.",
            f"The first length mode of {length:g} m ({cars.feet_text(length)}) is at {first:.0f} "
            f"Hz. There the middle of the cabin is the quiet place.",
            f"Heads are taken to be at {100 * SEATS[0]:.0f} to {100 * SEATS[1]:.0f} % of the "
            f"length. At {first / 2:.0f} Hz, half the first mode, they differ by "
            f"{here_to_there[1]:.0f} dB, at a quarter of it by {here_to_there[2]:.1f} dB.",
            "Length only, hard and tight: width, height, seats, glass and leaks are left out. It "
            "shows the kind of thing that happens, not your car.",
        ),
        numbers=(
            shared.hertz("first length mode", first),
            shared.hertz("half of it", first / 2),
            Number(f"this seat at {frequency:g} Hz", f"{_signed(now)} dB"),
            Number(f"loudest over softest head at {frequency:g} Hz", f"{here_to_there[0]:.1f} dB"),
            Number(f"the same at {first / 2:.1f} Hz", f"{here_to_there[1]:.1f} dB"),
            Number(f"the same at {first / 4:.1f} Hz", f"{here_to_there[2]:.1f} dB"),
        ),
        caption=(
            f"Waves along a cabin of {length:g} m ({cars.feet_text(length)}), box at {box:g} % and "
            f"seat at {seat:g} % of the length from the front. Left, the level at the seat over "
            f"the same box outdoors, with the even pressure zone; right, along the cabin at "
            f"{frequency:g} Hz."
        ),
        alt=(
            "Two plots of lift in dB over the same box outdoors at 1 m, −20 to 40. Left: over "
            "frequency, 10 to 200 Hz: this seat follows the falling line of the even pressure "
            f"zone at low notes and leaves it near the first mode at {first:.0f} Hz. Right: over "
            f"the place along the cabin, 0 to 100 %, at {frequency:g} Hz, with box and seat."
        ),
        code=(
            "from boxlab.explainers.where_you_sit import at_seat\n"
            f"print(at_seat({frequency:g}, {length:g}, {box:g}, {seat:g}, {loss:g}))"
        ),
    )


def _signed(value):
    return f"{value:+.1f}".replace("-", "−")


def _by_frequency(here, even, first, frequency):
    return against_frequency(
        "At this seat, over the box outdoors",
        "lift, dB re half space at 1 m",
        (-20, 40),
        (
            Line(FREQUENCY, even, "quiet", "even pressure zone"),
            Line(FREQUENCY, here, "sum", "this seat"),
        ),
        (
            Mark(first, f"first mode {first:.0f} Hz"),
            Mark(first / 2, "half of it", "limit"),
            Mark(frequency, f"{frequency:g} Hz"),
        ),
    )


def _by_place(shape, box, seat):
    return Plot(
        "Along the cabin at that note",
        "from the front, % of the length",
        "lift, dB re half space at 1 m",
        (0, 100),
        (-20, 40),
        (Line(100 * SHARES, shape, "sum", "that note"),),
        (Mark(box, "box", "cone"), Mark(seat, "seat")),
        xscale="linear",
    )


EXPLAINERS = (
    Explainer(
        name="where_you_sit",
        gear=False,
        question="Where do you sit in the cabin's first modes?",
        controls=(
            cars.metre_slider("length", "Cabin length inside", 1.6, 5.0, 2.6),
            Slider("box", "Box, from the front", 0, 100, 95, 1, "%"),
            Slider("seat", "Seat, from the front", 0, 100, 45, 1, "%"),
            Slider("frequency", "Look at", 15, 160, 66, 1, "Hz"),
            Slider(
                "loss", "Losses, 1/Q", 0.05, 0.8, LOSS, 0.05, "", more=True,
                help="Our own choice: no published value was found. Trim and people take more.",
            ),
        ),
        scene=scene,
        lesson="08-in-the-car.ipynb",
        anchor="Where-do-the-first-modes-lie",
        answer=(
            "The first length mode is at c/2L: 66 Hz for 2.6 m. There the middle of the cabin "
            "is the quiet place and the ends are loud. An even pressure zone lies well below: at a "
            "quarter of that, heads differ by about 1 dB."
        ),
        presets={"lean forward": {"seat": 30.0}, "a van": {"length": 4.2}},
    ),
)  # fmt: skip
