"""Port or radiator against the size of the box: where a port becomes the simpler answer."""

from __future__ import annotations

import numpy as np

from boxlab.base.units import disc_area, litres, mm, to_cm, to_grams, to_mm
from boxlab.draw.scene import Choice, Explainer, Line, Mark, Number, Plot, Scene, Slider
from boxlab.explainers import _shared as shared
from boxlab.explainers._cuts import shown
from boxlab.gear.shelf import DRIVERS, RADIATORS, leak
from boxlab.model.enclosure import PortedBox, RadiatorBox
from boxlab.model.port_equivalent import (
    largest_that_fits,
    pipe_length,
    smallest_quiet,
    tube_volume,
)
from boxlab.model.validity import PORT_SPEED, inside_edges
from boxlab.model.vents import Port

VOLUMES = np.geomspace(8, 120, 136)  # L
VOLUMES.flags.writeable = False
TOP = 120  # L, unless a larger box is looked at
ACROSS = "net volume, L"


def grid(volume):
    """The volumes looked at, L: to 120, or to twice a larger one."""
    return VOLUMES if volume <= TOP else np.geomspace(8, 2 * volume, 136)


def crossover(volumes, fits, quiet):
    """Smallest volume from which on a quiet port fits; NaN if none does."""
    good = np.asarray(fits) >= np.asarray(quiet)
    if not good[-1]:
        return float("nan")
    return float(volumes[0 if good.all() else np.flatnonzero(~good)[-1] + 1])


def weights_for(radiator, net, fb, count):
    """Weights for each radiator, kg; NaN where the bare one is already too heavy."""
    bare = RadiatorBox(net, radiator, count)
    # the moving mass goes as 1/fb², so the bare tuning gives the mass that fb asks for
    needed = radiator.mms * (bare.tuning() / fb) ** 2
    return np.where(needed >= radiator.mms, needed - radiator.mms, np.nan)


def scene(size, fb, drive, volume, speed) -> Scene:
    """The smallest quiet port and the largest that fits, for every volume; cursor at `volume` L."""
    volumes = grid(volume)
    top = float(volumes[-1])
    driver, radiator, net = DRIVERS[size], RADIATORS[size], litres(volumes)
    fits = to_mm(largest_that_fits(net, fb))
    diameter = smallest_quiet(driver, net, fb, drive, speed=speed, ql=leak(size))
    quiet = to_mm(diameter)
    area = disc_area(diameter)
    port = Port(area, np.maximum(pipe_length(net, fb, area), 0.0))
    share = tube_volume(area, port.length) / net
    weights = {n: to_grams(weights_for(radiator, net, fb, n)) for n in (1, 2)}
    cross = crossover(volumes, fits, quiet)
    here = Mark(volume, f"{volume:g} L")

    def read(curve):
        return shared.at(volumes, curve, volume)

    f = {
        "cross": cross,
        "top": top,
        "fits": read(fits),
        "quiet": read(quiet),
        "length": read(port.length),
        "share": read(share),
        "pipe": read(port.first_pipe_resonance()),
        "edge": float(inside_edges(litres(volume) * (1 + read(port.volume / net)))[0]),
        "one": read(weights[1]),
        "two": read(weights[2]),
    }
    marks = (here, *((Mark(cross, f"fits from {cross:.0f} L", "limit"),) if cross > 8 else ()))
    box = PortedBox(litres(volume), Port(disc_area(mm(f["quiet"])), f["length"]), ql=leak(size))
    return Scene(
        **shown({"port": shared.state(driver, box, drive)}, fb, drive),
        title=f"Port or radiator by size: {size} at {fb:g} Hz",
        plots=(
            Plot(
                "Diameter: it must be quiet and it must fit",
                ACROSS,
                "diameter, mm",
                (8, top),
                (0, 250),
                (
                    Line(volumes, fits, "limit", "largest to fit"),
                    Line(volumes, quiet, "vent", "smallest quiet", "ported"),
                ),
                marks,
            ),
            Plot(
                "Space the smallest quiet port takes",
                ACROSS,
                "share of the net volume, %",
                (8, top),
                (0, 100),
                (Line(volumes, 100 * share, "vent", "quiet port", "ported"),),
                (here,),
            ),
            Plot(
                "Its first pipe resonance",
                ACROSS,
                "frequency, Hz",
                (8, top),
                (0, 1000),
                (Line(volumes, port.first_pipe_resonance(), "vent", "quiet port", "ported"),),
                (here,),
            ),
            Plot(
                "Weights on each radiator",
                ACROSS,
                "weights, g",
                (8, top),
                (0, 400),
                (
                    Line(volumes, weights[1], "vent", "one radiator", "radiator"),
                    Line(volumes, weights[2], "quiet", "two radiators", "radiator"),
                ),
                (here,),
            ),
        ),
        readout=_readout(f, size, fb, drive, volume, speed),
        numbers=_numbers(f, speed),
        caption=_caption(f, size, fb, drive, speed),
        alt=(
            f"Four plots against net volume, 8 to {top:.0f} L, log axis. Upper left: the largest "
            "port diameter that fits straight and the smallest quiet one, 0 to 250 mm; the first "
            f"rises faster and they cross {_where(cross)}. Upper right: share of the "
            "net volume that the quiet port's tube takes, falling. Lower left: its first pipe "
            "resonance, 0 to 1000 Hz, rising. Lower right: weights in grams on one and on each of "
            "two radiators, falling with volume until the bare radiator is too heavy."
        ),
        code=shared.port_code(size, volume, fb, drive, speed),
    )


def _where(cross):
    return "nowhere" if np.isnan(cross) else f"at {cross:.0f} L"


def _caption(f, size, fb, drive, speed):
    start = f"The {size} driver at {fb:g} Hz and {drive:g} V, in boxes of 8 to {f['top']:.0f} L. "
    if np.isnan(f["cross"]):
        return start + f"No straight port keeps below {speed:g} m/s and fits, at any size shown."
    return start + (
        f"From about {f['cross']:.0f} L ({shared.cubic_feet_text(round(f['cross']))}) a straight "
        f"port fits that keeps below {speed:g} m/s; below that, it takes a radiator, or a noisy "
        "port, or a folded one."
    )


def _grams(value):
    if np.isnan(value):
        return ("too heavy when bare",)
    return f"{value:.0f} g", shared.ounces_text(value)


def _carries(value):
    if np.isnan(value):
        return "is too heavy even without weights"
    return f"carries {value:.0f} g of weights"


def _readout(f, size, fb, drive, volume, speed):
    cross = (
        f"{_none(f, volume)} has room for a straight port that is quiet at {drive:g} V "
        f"and {fb:g} Hz."
        if np.isnan(f["cross"])
        else f"At {drive:g} V and {fb:g} Hz a quiet straight port fits from about "
        f"{f['cross']:.0f} L ({shared.cubic_feet_text(round(f['cross']))})."
    )
    verdict = "it fits" if f["fits"] >= f["quiet"] else "it does not fit straight"
    return (
        cross,
        f"In {volume:g} L ({shared.cubic_feet_text(volume)}) the smallest quiet port is "
        f"{f['quiet']:.0f} mm ({shared.inches_text(f['quiet'])}) wide and "
        f"{to_cm(f['length']):.0f} cm long; {verdict}. It takes {100 * f['share']:.0f} % of the "
        f"net volume beside it, its wall included, and rings first at {f['pipe']:.0f} Hz.",
        f"With radiators instead: one {size} radiator {_carries(f['one'])}, each of two "
        f"{_carries(f['two'])}.",
    )


def _numbers(f, speed):
    return (
        Number("a quiet straight port fits from", *_cross_texts(f)),
        shared.length_number("largest diameter that fits", mm(f["fits"])),
        shared.length_number(f"smallest diameter below {speed:g} m/s", mm(f["quiet"])),
        shared.length_number("length of that port", f["length"]),
        shared.length_number("longest inside edge (8 : 6 : 5)", f["edge"]),
        Number("space it takes, of the net volume", f"{100 * f['share']:.0f} %"),
        shared.hertz("its first pipe resonance", f["pipe"]),
        Number("weights, one radiator", *_grams(f["one"])),
        Number("weights, each of two radiators", *_grams(f["two"])),
    )


def _none(f, volume):
    """What has no room for a quiet port: a box of the class's range, or the larger one asked of."""
    if volume <= TOP:
        return f"No box up to {TOP} L"
    return f"Neither {volume:g} L nor any box up to {f['top']:.0f} L"


def _cross_texts(f):
    cross, top = f["cross"], f["top"]
    if np.isnan(cross):
        return (f"over {top:.0f} L", f"over {top / 28.316847:.1f} ft³")
    return (f"{cross:.0f} L", shared.cubic_feet_text(round(cross)))


EXPLAINERS = (
    Explainer(
        name="when_a_port_wins",
        question="How large must a box be before a port is the better answer?",
        controls=(
            Choice("size", "Driver and radiator", tuple(DRIVERS), "ten-inch"),
            Slider("fb", "Tuning", 28, 60, 45, 0.5, "Hz"),
            Slider("drive", "Drive", 5, 40, 20, 1, "V"),
            Slider("volume", "Box looked at", 8, 120, 14, 0.5, "L"),
            Slider("speed", "Air speed allowed", 5, 30, PORT_SPEED, 1, "m/s", more=True),
        ),
        scene=scene,
        lesson="01-port-or-radiator.ipynb",
        anchor="When-is-a-port-still-the-better-answer",
        answer=(
            "From about one cubic foot at 45 Hz, and sooner if it need not play loud: there a port "
            "fits that is wide enough to be quiet. It costs less, needs no weights and has no stop."
        ),
        presets={
            "ten-inch at 45 Hz": {},
            "twelve-inch at 35 Hz": {"size": "twelve-inch", "fb": 35.0, "volume": 64.0},
        },
    ),
)
