"""Low and loud: the volume that must be swept, and how far a cone has to travel for it."""

from __future__ import annotations

from types import MappingProxyType

import numpy as np

from boxlab.base.units import to_cubic_inches, to_inches, to_litres, to_mm
from boxlab.design.swept_volume import cone_share, swept_volume
from boxlab.draw.scene import Choice, Explainer, Line, Mark, Number, Scene, Slider
from boxlab.explainers import _shared as shared
from boxlab.explainers._cuts import cut
from boxlab.explainers._shared import FREQUENCY, against_frequency
from boxlab.gear.shelf import (
    CLASS_VOLUMES,
    DRIVERS,
    RADIATORS,
    driver_count,
    leak,
    radiator_count,
)
from boxlab.model.enclosure import RadiatorBox
from boxlab.model.response import solve

COUNTS = MappingProxyType({"one": 1, "two": 2, "four": 4})


def scene(size, count, spl, frequency, fb) -> Scene:
    """What `spl` dB at 1 m takes at `frequency` Hz, sealed and with radiators tuned to `fb` Hz."""
    driver, n = DRIVERS[size], COUNTS[count]
    box = RadiatorBox.tuned(
        CLASS_VOLUMES[size], fb, RADIATORS[size], count=radiator_count(size), ql=leak(size)
    )
    facts = _facts(driver, box, n, spl, frequency)
    short = spl - float(solve(driver, box, [frequency], 1.0).spl[0]) - 20 * np.log10(n)
    count = driver_count(size, n)
    return Scene(
        shows={"radiator": shared.state(driver, box)},
        cutaway=cut(driver, box, frequency, 10 ** (short / 20)),
        title=f"{spl:g} dB at {frequency:g} Hz: what must move",
        plots=(
            _volume_plot(facts, spl, frequency),
            _travel_plot(facts, driver, frequency, fb),
            _loudest_plot(facts, frequency, spl),
            _radiator_plot(facts, box, frequency, fb),
        ),
        readout=_readout(facts, driver, size, count, spl, frequency, fb),
        numbers=_numbers(facts, driver, spl, frequency),
        caption=_caption(facts, size, count, spl, frequency, fb),
        alt=_alt(facts, spl, frequency),
        code=_code(spl, frequency),
    )


def _facts(driver, box, n, spl, frequency):
    needed = swept_volume(FREQUENCY, spl)
    here = float(swept_volume(frequency, spl))
    share = cone_share(driver, box, FREQUENCY)
    share_here = float(cone_share(driver, box, [frequency])[0])
    r = solve(driver, box, FREQUENCY)
    # the radiator's travel for each metre of cone travel
    ratio = r.vent_excursion / r.cone_excursion
    limit = driver.sd * driver.xmax
    loudest = spl + 20 * np.log10(n * limit / needed)
    helped = np.minimum(
        loudest - 20 * np.log10(share),
        spl + 20 * np.log10(n * driver.sd * box.radiator.xmax / (ratio * share * needed)),
    )
    cone = needed / (n * driver.sd)
    return {
        "needed": needed,
        "here": here,
        "limit": n * limit,
        "sealed": cone,
        "helped": cone * share,
        "radiator": cone * share * ratio,
        "sealed_here": here / (n * driver.sd),
        "helped_here": here / (n * driver.sd) * share_here,
        "share": share_here,
        "loudest": loudest,
        "loudest_helped": helped,
        "loudest_here": float(spl + 20 * np.log10(n * limit / here)),
        "helped_loudest_here": shared.at(FREQUENCY, helped, frequency),
        "volume": float(box.volume),
    }


def _volume_plot(f, spl, frequency):
    limit = float(to_litres(f["limit"]))
    return against_frequency(
        "Volume to sweep, peak, one way",
        "volume, L",
        (0.001, 10),
        (
            Line(FREQUENCY, to_litres(f["needed"]), "sum", f"for {spl:g} dB", ""),
            Line(np.array([frequency]), np.array([to_litres(f["here"])]), "sum", "", "", "points"),
        ),
        (Mark(limit, f"cone to Xmax: {limit:.2f} L", "limit", "y"), Mark(frequency, "")),
        yscale="log",
    )


def _travel_plot(f, driver, frequency, fb):
    xmax = float(to_mm(driver.xmax))
    return against_frequency(
        "Travel of each cone for that",
        "cone excursion, mm peak",
        (0, 40),
        (
            Line(FREQUENCY, to_mm(f["sealed"]), "cone", "sealed", "sealed"),
            Line(FREQUENCY, to_mm(f["helped"]), "cone", "with a radiator", "radiator"),
        ),
        (
            Mark(xmax, f"Xmax {xmax:g} mm", "limit", "y"),
            Mark(frequency, f"{frequency:g} Hz"),
            Mark(fb, f"tuning {fb:g} Hz", "vent"),
        ),
    )


def _loudest_plot(f, frequency, spl):
    return against_frequency(
        "Loudest by travel alone, any wattage",
        "level at 1 m, dB re 20 µPa",
        (70, 130),
        (
            Line(FREQUENCY, f["loudest"], "sum", "sealed", "sealed"),
            Line(FREQUENCY, f["loudest_helped"], "sum", "with a radiator", "radiator"),
        ),
        (Mark(spl, f"{spl:g} dB wanted", "limit", "y"), Mark(frequency, f"{frequency:g} Hz")),
    )


def _radiator_plot(f, box, frequency, fb):
    stop = float(to_mm(box.radiator.xmax))
    return against_frequency(
        "Travel of each radiator for that",
        "radiator excursion, mm peak",
        (0, 40),
        (Line(FREQUENCY, to_mm(f["radiator"]), "vent", "", "radiator"),),
        (
            Mark(stop, f"Xmax {stop:g} mm", "limit", "y"),
            Mark(frequency, f"{frequency:g} Hz"),
            Mark(fb, f"tuning {fb:g} Hz", "vent"),
        ),
    )


def _litres(volume):
    return f"{to_litres(volume):.2f} L ({to_cubic_inches(volume):.3g} in³)"


def _mm(value):
    return f"{to_mm(value):.1f} mm ({to_inches(value):.2f} in)"


def _readout(f, driver, size, count, spl, frequency, fb):
    enough = "enough" if f["sealed_here"] <= driver.xmax else "not enough"
    many = count != "one"
    cones = f"{count} {size} cone{'s' * many} to Xmax sweep{'s' * (not many)}"
    return (
        f"{spl:g} dB at {frequency:g} Hz takes {_litres(f['here'])} swept each way; {cones} "
        f"{_litres(f['limit'])}: {enough}.",
        f"Sealed, each cone travels {_mm(f['sealed_here'])} of its {to_mm(driver.xmax):g} mm; "
        f"beside a radiator tuned to {fb:g} Hz {_mm(f['helped_here'])}.",
        f"Loudest at {frequency:g} Hz by travel: sealed {f['loudest_here']:.1f} dB, with a "
        f"radiator {f['helped_loudest_here']:.1f} dB, whatever the amplifier.",
        "An octave lower: four times the volume. 6 dB louder: twice.",
    )


def _numbers(f, driver, spl, frequency):
    octave = float(swept_volume(frequency / 2, spl))
    return (
        Number(
            "to sweep, one way",
            f"{to_litres(f['here']):.2f} L",
            f"{to_cubic_inches(f['here']):.3g} in³",
        ),
        Number(
            "an octave lower", f"{to_litres(octave):.2f} L", f"{to_cubic_inches(octave):.3g} in³"
        ),
        Number(
            "the cones sweep at Xmax",
            f"{to_litres(f['limit']):.2f} L",
            f"{to_cubic_inches(f['limit']):.3g} in³",
        ),
        shared.travel_number("travel of each cone, sealed", f["sealed_here"]),
        shared.travel_number("travel of each cone, radiator", f["helped_here"]),
        shared.travel_number("Xmax, one way", driver.xmax),
        Number("loudest by travel, sealed", f"{f['loudest_here']:.1f} dB"),
        Number("loudest by travel, radiator", f"{f['helped_loudest_here']:.1f} dB"),
    )


def _caption(f, size, count, spl, frequency, fb):
    each = "s, each in a box of its own," if count != "one" else ""
    return (
        f"For {spl:g} dB at 1 m (half space, steady tone) at {frequency:g} Hz, "
        f"{_litres(f['here'])} must be swept each way. With {count} {size} driver{each} that is "
        f"{_mm(f['sealed_here'])} of travel sealed (dotted) and {_mm(f['helped_here'])} beside a "
        f"radiator tuned to {fb:g} Hz (solid)."
    )


def _alt(f, spl, frequency):
    return (
        "Four plots against frequency, 10 to 200 Hz, log axis. Upper left: volume to sweep for "
        f"{spl:g} dB, 0.001 to 10 L, log axis, a straight line falling fourfold each octave; "
        f"{to_litres(f['here']):.2f} L at {frequency:g} Hz. Upper right: travel of each cone, 0 to "
        "40 mm, sealed and with a radiator, which has a dip at its tuning. Lower left: loudest "
        "level by travel alone, 70 to 130 dB re 20 µPa. Lower right: travel of each radiator, 0 "
        "to 40 mm."
    )


def _code(spl, frequency):
    return (
        "from boxlab import to_litres, to_mm\n"
        "from boxlab.design.swept_volume import swept_volume\n"
        "from boxlab.gear.scenario import TEN_INCH_DRIVER as driver\n"
        f"volume = swept_volume({frequency:g}, {spl:g})\n"
        "print(to_litres(volume), to_mm(volume / driver.sd))"
    )


EXPLAINERS = (
    Explainer(
        name="low_and_loud",
        question="Low and loud: how much air must move?",
        controls=(
            Slider("spl", "Level wanted at 1 m", 85, 120, 105, 0.5, "dB"),
            Slider("frequency", "Frequency", 16, 80, 40, 0.5, "Hz"),
            Choice("size", "Driver", tuple(DRIVERS), "ten-inch"),
            Choice("count", "How many", tuple(COUNTS), "one"),
            Slider("fb", "Tuning of the radiator box", 30, 50, 36, 0.5, "Hz"),
        ),
        scene=scene,
        lesson="03-size-efficiency-extension.ipynb",
        anchor="How-much-air-must-move",
        answer=(
            "Low and loud is volume swept: an octave lower takes four times as much, 6 dB more "
            "takes twice. No box size, wattage or equaliser changes that; more cone, more travel "
            "or a radiator does."
        ),
    ),
)
