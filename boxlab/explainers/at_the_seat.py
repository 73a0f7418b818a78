"""Sealed, ported and radiator box at the seat, and outdoors."""

from __future__ import annotations

import numpy as np

from boxlab.car.vehicle import LEAKY, TIGHT, at_seat, even_lift
from boxlab.draw.scene import Choice, Explainer, Line, Mark, Number, Scene, Slider
from boxlab.explainers import _cars as cars
from boxlab.explainers import _music as music
from boxlab.explainers import _shared as shared
from boxlab.explainers._cars import FREQUENCY
from boxlab.explainers._cuts import cut
from boxlab.explainers._shared import against_frequency
from boxlab.gear.shelf import DRIVERS
from boxlab.model.response import solve

WATCHED = (16, 20, 25, 31.5, 40, 50)  # Hz


def solved(size, fb, drive):
    """The answer of each build, by name."""
    return {
        build: solve(DRIVERS[size], music.box_of(build, size, fb), FREQUENCY, drive)
        for build in music.BUILDS
    }


def scene(size, car, fb, drive, build, frequency) -> Scene:
    """Three builds of one net volume in a cabin, at `drive` V."""
    cabin = cars.CARS[car]
    boxes = solved(size, fb, drive)
    seats = {name: at_seat(r, cabin) for name, r in boxes.items()}
    zone = seats[build].lift.valid[1]
    facts = _facts(boxes, seats, frequency)
    return Scene(
        shows=boxes,
        cutaway=cut(DRIVERS[size], music.box_of(build, size, fb), frequency, drive),
        title=f"At the seat: {size}, {car}",
        plots=(
            _three("Outdoors, 1 m", {n: r.spl for n, r in boxes.items()}, fb, zone),
            _three(
                "At the seat, middle of the band", {n: s.mid for n, s in seats.items()}, fb, zone
            ),
            _band(seats[build], build, zone),
            _lift(seats[build].lift, zone),
        ),
        readout=_readout(facts, boxes[build], build, frequency, zone, car),
        numbers=tuple(
            Number(
                f"{name} at {f:g} Hz: outdoors, at the seat",
                f"{shared.at(FREQUENCY, boxes[name].spl, f):.0f} dB, "
                f"{shared.at(FREQUENCY, seats[name].low, f):.0f} to "
                f"{shared.at(FREQUENCY, seats[name].high, f):.0f} dB",
            )
            for name in music.BUILDS
            for f in (20, 31.5, 50)
        ),
        caption=(
            f"The {size} driver in one net volume, sealed (dotted), ported (dashed) and with "
            f"a radiator (solid), {drive:g} V. Upper row: outdoors at 1 m, and at the seat of the "
            f"{car}. Lower left: the {build} box at the seat is a band. {facts['text']}"
        ),
        alt=(
            "Four plots against frequency, 10 to 200 Hz. Upper left: level outdoors in dB re "
            "20 µPa, 50 to 130, of a sealed, a ported and a radiator box. Upper right: the same at "
            "the seat in the middle of the band, all lifted towards low notes. Lower left: lowest "
            f"and highest level of the {build} box at the seat. Lower right: the cabin's lift as a "
            f"band, 0 to 40 dB. {facts['text']}"
        ),
        code=(
            "from boxlab import solve\n"
            "from boxlab.gear.scenario import DRIVERS\n"
            "from boxlab.explainers import _cars as cars, _music as music\n"
            "from boxlab.car.vehicle import at_seat\n"
            f"box = music.box_of({build!r}, {size!r}, {fb:g})\n"
            f"r = solve(DRIVERS[{size!r}], box, [{frequency:g}], {drive:g})\n"
            f"seat = at_seat(r, cars.CARS[{car!r}])\n"
            "print(r.spl, seat.low, seat.high)"
        ),
    )


def _plot(title, ylabel, ylim, lines, marks):
    return against_frequency(title, ylabel, ylim, lines, marks)


def _three(title, curves, fb, zone):
    return _plot(
        title,
        "level, dB re 20 µPa",
        (50, 130),
        tuple(
            Line(FREQUENCY, curves[name], "sum", name, name)
            for name in ("sealed", "ported", "radiator")
        ),
        (Mark(fb, f"tuning {fb:g} Hz"), Mark(zone, "zone ends", "limit")),
    )


def _band(seat, build, zone):
    return _plot(
        "At the seat, one of them: a band",
        "level, dB re 20 µPa",
        (50, 130),
        (
            Line(FREQUENCY, seat.outdoors, "quiet", "outdoors"),
            Line(FREQUENCY, seat.high, "sum", "high edge", build),
            Line(FREQUENCY, seat.low, "leak", "low edge", build),
        ),
        (Mark(zone, "zone ends", "limit"),),
    )


def _lift(lift, zone):
    return _plot(
        "What the cabin adds",
        "lift, dB re half space at 1 m",
        (0, 40),
        (
            Line(FREQUENCY, lift.high, "sum", "high edge"),
            Line(FREQUENCY, lift.low, "leak", "low edge"),
        ),
        (Mark(zone, "zone ends", "limit"),),
    )


def corner(level, down=6.0):
    """Lowest frequency, Hz, from which a level stays within `down` dB of that at 80 Hz, up to 80;
    10 Hz if it does so throughout."""
    part = FREQUENCY <= 80
    f, near = FREQUENCY[part], level[part] >= shared.at(FREQUENCY, level, 80.0) - down
    if near.all():
        return 10.0
    return float(f[np.flatnonzero(~near)[-1] + 1]) if near[-1] else float("nan")


def _facts(boxes, seats, frequency):
    out = {name: shared.at(FREQUENCY, r.spl, frequency) for name, r in boxes.items()}
    seat = {
        name: (shared.at(FREQUENCY, s.low, frequency), shared.at(FREQUENCY, s.high, frequency))
        for name, s in seats.items()
    }
    spread = max(out.values()) - min(out.values())
    best = max(out, key=out.get)
    text = (
        f"At {frequency:g} Hz the {best} box is the loudest of the three, by {spread:.0f} dB over "
        "the least, outdoors and at the seat alike."
    )
    return {"out": out, "seat": seat, "text": text}


def even(response, cabin, car):
    """Level in dB of a box at an even pressure in a cabin of one leak and one give."""
    return response.spl + even_lift(cabin, response.frequency, car)


def _readout(facts, response, build, frequency, zone, car):
    low, high = facts["seat"][build]
    inside = [corner(even(response, cars.CARS[car], each)) for each in (LEAKY, TIGHT)]
    outdoors = corner(response.spl)
    return (
        f"At {frequency:g} Hz the {build} box gives {facts['out'][build]:.0f} dB outdoors and "
        f"{low:.0f} to {high:.0f} dB at the seat.",
        facts["text"],
        f"Within 6 dB of 80 Hz: outdoors from {outdoors:.0f} Hz up, at the seat from "
        f"{_hertz(inside[0])} in a leaky {car} to {_hertz(inside[1])} in a tight one.",
        f"The cabin adds the same to all three boxes. Above about "
        f"{zone:.0f} Hz modes come in, which this picture leaves out.",
    )


def _hertz(value):
    return "10 Hz or less" if value <= 10 else f"{value:.0f} Hz"


EXPLAINERS = (
    Explainer(
        name="at_the_seat",
        question="Sealed, ported or radiator: what reaches the seat?",
        controls=(
            Choice("size", "Driver", tuple(DRIVERS), "ten-inch"),
            cars.CAR,
            Choice("build", "Band drawn for", music.BUILDS, "sealed"),
            Slider("fb", "Tuning of port and radiator", 38, 55, 45, 0.5, "Hz"),
            Slider("drive", "Drive", 2, 40, 10, 1, "V"),
            Slider("frequency", "Look at", 12, 80, 25, 1, "Hz"),
        ),
        scene=scene,
        lesson="08-in-the-car.ipynb",
        anchor="Which-box-suits-a-car",
        answer=(
            "The cabin adds the same to every box, most at the lowest notes. So a sealed box, "
            "which falls slowly, can come out nearly flat in a tight cabin, and a ported or "
            "radiator box still gives more around its tuning."
        ),
        presets={"van": {"car": "van"}, "radiator": {"build": "radiator"}},
    ),
)
