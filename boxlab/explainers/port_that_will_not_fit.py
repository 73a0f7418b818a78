"""Will the port fit? Length, space, air speed and pipe resonance against diameter."""

from __future__ import annotations

import numpy as np

from boxlab.base.units import disc_area, litres, mm, to_cm, to_litres, to_mm
from boxlab.draw.scene import Choice, Explainer, Line, Mark, Number, Plot, Scene, Slider
from boxlab.explainers import _shared as shared
from boxlab.explainers._cuts import cut
from boxlab.gear.shelf import DRIVERS, leak
from boxlab.model.enclosure import PortedBox
from boxlab.model.port_equivalent import (
    CAREFUL_SPEED,
    folded,
    largest_that_fits,
    longest_edge,
    lowest_tuning,
    pipe_length,
    smallest_quiet,
    tube_volume,
    usual_length,
    vent_flow,
)
from boxlab.model.validity import PORT_SPEED, inside_edges
from boxlab.model.vents import Port

DIAMETER = np.linspace(30, 160, 131)  # mm
ACROSS = ("port, inside diameter, mm", (30, 160))


def ports(volume, fb, diameter):
    """Ports of these diameters (mm) that tune volume L to fb, their air treated as a pipe."""
    area = disc_area(mm(diameter))
    return Port(area, np.clip(pipe_length(litres(volume), fb, area), 0, 2.9))


def scene(volume, fb, diameter, drive, size, speed) -> Scene:
    """Every diameter for one box (L, Hz, V, m/s); `diameter` mm is the one looked at."""
    driver, net = DRIVERS[size], litres(volume)
    all_of_them = ports(volume, fb, DIAMETER)
    flow = float(vent_flow(driver, net, fb, drive, ql=leak(size)))
    fits = float(to_mm(largest_that_fits(net, fb)))
    quiet = float(to_mm(smallest_quiet(driver, net, fb, drive, speed=speed, ql=leak(size))))
    one = ports(volume, fb, diameter)
    usual = float(usual_length(net, fb, one.area))
    edge = float(longest_edge(net, one))
    here = Mark(diameter, f"{diameter:g} mm")
    f = {
        "fits": fits,
        "quiet": quiet,
        "usual": usual,
        "length": float(one.length),
        "edge": edge,
        "share": float(tube_volume(one.area, one.length) / net),
        "taken": float(tube_volume(one.area, one.length)),
        "pipe": float(one.first_pipe_resonance()),
        "speed": flow / float(one.area),
        "lowest": float(lowest_tuning(net, one.area)),
        "fold": _fold(one, inside_edges(net + tube_volume(one.area, one.length))),
    }
    return Scene(
        shows={"port": shared.state(driver, PortedBox(net, one, ql=leak(size)), drive)},
        cutaway=cut(driver, PortedBox(net, one, ql=leak(size)), fb, drive),
        title=f"A port for {volume:g} L at {fb:g} Hz",
        plots=(
            _length_plot(net, fb, all_of_them, f, here),
            _speed_plot(flow, all_of_them, f, here, speed),
            _space_plot(net, all_of_them, here),
            _pipe_plot(all_of_them, here),
        ),
        readout=_readout(f, volume, fb, diameter, drive, speed),
        numbers=_numbers(f, diameter, speed),
        caption=(
            f"Every port that tunes {volume:g} L ({shared.cubic_feet_text(volume)}) to {fb:g} Hz: "
            f"straight, it fits up to {fits:.0f} mm ({shared.inches_text(fits)}); with the {size} "
            f"driver at {drive:g} V its air keeps below {speed:g} m/s from {quiet:.0f} mm "
            f"({shared.inches_text(quiet)})."
        ),
        alt=(
            "Four plots against port diameter, 30 to 160 mm. Upper left: port length, 0 to 200 cm, "
            "rising steeply, by the usual formula and with its air as a pipe, and the longest "
            f"inside edge of the box, which the port passes near {fits:.0f} mm. Upper right: air "
            f"speed, 0 to 60 m/s, falling; it comes under {speed:g} m/s at {quiet:.0f} mm. Lower "
            "left: space the tube takes, wall included, 0 to 150 per cent of the net volume, "
            "rising. Lower right: first pipe resonance, 0 to 1000 Hz, falling."
        ),
        code=shared.port_code(size, volume, fb, drive, speed),
    )


def _fold(port, edges):
    """How the tube is folded, in words; its length counts along the centre line."""
    try:
        legs, leg = folded(port.area, port.length, edges)
    except ValueError:
        return "It is too wide or too long to be folded in a box of 8 : 6 : 5."
    if legs == 1:
        return "It needs no fold."
    return (
        f"Folded it lies in {legs} legs of about {to_cm(leg):.0f} cm, {to_cm(port.length):.0f} cm "
        "along its centre line."
    )


def _length_plot(net, fb, port, f, here):
    return Plot(
        "Length it needs",
        ACROSS[0],
        "length, cm",
        ACROSS[1],
        (0, 200),
        (
            Line(
                DIAMETER,
                to_cm(usual_length(net, fb, port.area)),
                "quiet",
                "usual formula",
                "sealed",
            ),
            Line(DIAMETER, to_cm(port.length), "vent", "air as a pipe", "ported"),
            Line(DIAMETER, to_cm(longest_edge(net, port)), "limit", "inside edge"),
        ),
        (Mark(f["fits"], f"fits up to {f['fits']:.0f} mm", "limit"), here),
        xscale="linear",
    )


def _speed_plot(flow, port, f, here, speed):
    return Plot(
        "Air speed at its worst frequency",
        ACROSS[0],
        "air speed, m/s peak",
        ACROSS[1],
        (0, 60),
        (Line(DIAMETER, flow / port.area, "vent", "air in the port", "ported"),),
        (
            Mark(speed, f"{speed:g} m/s", "limit", "y"),
            Mark(f["quiet"], f"quiet from {f['quiet']:.0f} mm", "limit"),
            here,
        ),
        xscale="linear",
    )


def _space_plot(net, port, here):
    return Plot(
        "Space the tube takes",
        ACROSS[0],
        "share of the net volume, %",
        ACROSS[1],
        (0, 150),
        (
            Line(np.array(ACROSS[1]), np.full(2, 100.0), "quiet", "as much as the box"),
            Line(
                DIAMETER, 100 * tube_volume(port.area, port.length) / net, "vent", "tube", "ported"
            ),
        ),
        (here,),
        xscale="linear",
    )


def _pipe_plot(port, here):
    return Plot(
        "Where the pipe itself rings first",
        ACROSS[0],
        "first pipe resonance, Hz",
        ACROSS[1],
        (0, 1000),
        (Line(DIAMETER, port.first_pipe_resonance(), "vent", "port", "ported"),),
        (here,),
        xscale="linear",
    )


def _readout(f, volume, fb, diameter, drive, speed):
    fits, quiet = f["fits"], f["quiet"]
    both = (
        f"Any diameter from {quiet:.0f} to {fits:.0f} mm ({shared.inches_text(quiet)} to "
        f"{shared.inches_text(fits)}) fits straight and keeps below {speed:g} m/s at {drive:g} V."
        if quiet <= fits
        else f"No diameter does both: straight it fits up to {fits:.0f} mm "
        f"({shared.inches_text(fits)}), and at {drive:g} V it keeps below {speed:g} m/s from "
        f"{quiet:.0f} mm ({shared.inches_text(quiet)})."
    )
    return (
        both,
        f"At {diameter:g} mm: {to_cm(f['usual']):.0f} cm by the usual formula, "
        f"{to_cm(f['length']):.0f} cm with its air as a pipe; the box's longest inside edge is "
        f"{to_cm(f['edge']):.0f} cm. Air speed {f['speed']:.0f} m/s.",
        f"Folded or straight, the tube takes {to_litres(f['taken']):.1f} L beside the net "
        f"{volume:g} L ({100 * f['share']:.0f} %, its wall included), and the pipe rings first at "
        f"{f['pipe']:.0f} Hz. {f['fold']}",
        f"If {volume:g} L must hold the port too, {diameter:g} mm cannot tune below "
        f"{f['lowest']:.0f} Hz, not even with the whole box turned into pipe."
        if f["lowest"] > fb
        else f"If {volume:g} L must hold the port too, {diameter:g} mm could at the very most "
        f"reach {f['lowest']:.0f} Hz, with the whole box turned into pipe.",
    )


def _numbers(f, diameter, speed):
    return (
        shared.length_number("looked at: inside diameter", mm(diameter)),
        shared.length_number("largest that fits straight", mm(f["fits"])),
        shared.length_number(f"smallest below {speed:g} m/s", mm(f["quiet"])),
        shared.length_number("length, usual formula", f["usual"]),
        shared.length_number("length, air as a pipe", f["length"]),
        shared.length_number("longest inside edge (8 : 6 : 5)", f["edge"]),
        shared.volume_number("space the tube takes", f["taken"]),
        shared.hertz("first pipe resonance", f["pipe"]),
        Number("air speed", f"{f['speed']:.1f} m/s", f"{f['speed'] / 0.3048:.0f} ft/s"),
        shared.hertz("lowest tuning, box and port in that space", f["lowest"]),
    )


EXPLAINERS = (
    Explainer(
        name="port_that_will_not_fit",
        question="Will a port fit that tunes this box and keeps quiet?",
        controls=(
            Slider("volume", "Net volume", 10, 72, 14, 0.5, "L"),
            Slider("fb", "Tuning", 34, 60, 45, 0.5, "Hz"),
            Slider("diameter", "Port, inside diameter", 30, 160, 100, 1, "mm"),
            Slider("drive", "Drive", 2, 40, 20, 1, "V"),
            Choice("size", "Driver", tuple(DRIVERS), "ten-inch", more=True),
            Slider(
                "speed",
                "Air speed allowed",
                5,
                30,
                PORT_SPEED,
                1,
                "m/s",
                more=True,
                help=f"{PORT_SPEED:g} is the usual figure, {CAREFUL_SPEED:g} a careful one.",
            ),
        ),
        scene=scene,
        lesson="01-port-or-radiator.ipynb",
        anchor="Will-the-port-fit",
        answer=(
            "In 14 L at 45 Hz no straight port is both short enough to fit and wide "
            "enough to be quiet when played loud. A folded one takes 19 to 44 % of the box again, "
            "its wall included, at 20 to 32 V."
        ),
        presets={
            "ten-inch, 14 L": {},
            "ten-inch, 28.5 L": {"volume": 28.5},
            "twelve-inch, 64 L": {"size": "twelve-inch", "volume": 64.0, "fb": 35.0},
        },
    ),
)
