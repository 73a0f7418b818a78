"""The radiator's stop as the limit of loudness, and what more travel would buy."""

from __future__ import annotations

import numpy as np

from boxlab.base.units import to_mm
from boxlab.design.radiator_choices import programme_limit
from boxlab.design.radiator_need import needed_ratio, working_low
from boxlab.draw.scene import Choice, Explainer, Line, Mark, Number, Plot, Scene, Slider
from boxlab.explainers import _shared as shared
from boxlab.explainers._cuts import cut
from boxlab.explainers._radiators import COUNTS, built
from boxlab.explainers._shared import FREQUENCY, against_frequency
from boxlab.explainers._stops import STOPS, WORDS, coloured, pieces
from boxlab.gear.scenario import USUAL_QL
from boxlab.gear.shelf import DRIVERS
from boxlab.model.limits import max_output
from boxlab.model.response import solve

SWEPT = np.geomspace(0.25, 6, 97)


def scene(size, volume, fb, travel, power, count, ql) -> Scene:
    """What stops one radiator box (litres, Hz, mm, W, QL), tone by tone and with a programme."""
    driver = DRIVERS[size]
    box, warning = built(size, volume, fb, travel, count, ql)
    amplifier = {"power": power, "load": driver.re}
    top = max_output(driver, box, FREQUENCY, **amplifier)
    used = solve(driver, box, FREQUENCY, 1.0)
    tuned = float(box.tuning())
    low = float(working_low(driver, box))
    has = float(box.count * box.radiator.vd / driver.vd)
    need = needed_ratio(driver, box, low)
    now, what = (x[0] for x in programme_limit(driver, box, low=low, **amplifier))
    volts, limit = programme_limit(driver, box, SWEPT, low=low, **amplifier)
    # with next to no radiator its stop counts; with a huge one all else does
    (little, free), _ = programme_limit(driver, box, [1e-6, 1e6], low=low, **amplifier)
    useful = float(1e-6 * free / little)
    unit = solve(driver, box, 2 * tuned, 1.0).spl.item()
    level, most = unit + 20 * np.log10(now), unit + 20 * np.log10(free)
    lost = most - level
    verdict = (
        f"More swept volume would buy up to {lost:.1f} dB, by a ratio of {useful:.2f}"
        if lost > 0.05
        else f"More swept volume buys nothing; {useful:.2f} would do"
    )
    return Scene(
        shows={"radiator": shared.state(driver, box)},
        cutaway=cut(driver, box, tuned),
        title=f"{WORDS[what].capitalize()} first, fitted ratio {has:.2f}",
        plots=(
            _loudest(top, tuned),
            _allowed(top, tuned),
            _travels(driver, box, used, top),
            _bought(volts, limit, unit, has, useful),
        ),
        readout=(
            f"With {power:g} W the programme finds the {WORDS[what]} first, at {level:.1f} dB. "
            f"{verdict}.",
            f"That is at {now:.1f} V, with a programme from {low:.1f} Hz up; the level is that at "
            f"{2 * tuned:.0f} Hz.",
            f"Fitted ratio {has:.2f}. To use the cone to its Xmax takes {need.ratio:.2f} and "
            f"{need.voltage:.0f} V, {need.voltage**2 / driver.re:.0f} W into the coil's "
            "resistance.",
            f"Steady tones one at a time: {pieces(FREQUENCY, top.limit, 0.9 * tuned, 120)}.",
        ),
        numbers=(
            Number("first to end", WORDS[what]),
            Number("volume knob then", f"{now:.1f} V"),
            Number("level an octave above the tuning", f"{level:.1f} dB"),
            Number("fitted ratio", f"{has:.2f}"),
            Number("useful ratio with this amplifier", f"{useful:.2f}"),
            Number("needed ratio, amplifier without limit", f"{need.ratio:.2f}"),
            Number("volts that take the cone to Xmax", f"{need.voltage:.1f} V"),
            Number("lost to the radiator's stop", f"{lost:.1f} dB"),
            shared.travel_number("travel to fit for no loss", useful / has * box.radiator.xmax),
            shared.hertz("programme from", low),
            shared.hertz("tuning", tuned),
        ),
        caption=(
            f"{shared.one(size).capitalize()} driver with {count} "
            f"radiator{'s' * (box.count > 1)} of {travel:g} mm in {volume:g} L "
            f"({shared.cubic_feet_text(volume)}) at {tuned:.1f} Hz, {power:g} W "
            "amplifier. The colour says what stops the sound. Lower right: a level programme "
            "against the swept volume fitted; it rises 6 dB for each doubling while the radiator "
            "is the stop, then no further."
        ),
        alt=(
            "Four plots. Upper left: the loudest steady tone in dB re 20 µPa, 70 to 125, against "
            "frequency, 10 to 200 Hz, log axis; "
            f"{pieces(FREQUENCY, top.limit, 0.9 * tuned, 120)}. Upper right: the volts that cone, "
            "radiator, amplifier and coil heat would each allow alone, 1 to 1000, log axis; the "
            "lowest counts. Lower left: travel at that level as per cent of Xmax for cone and "
            "radiator, 0 to 120. Lower right: level of a programme in dB, 80 to 125, against the "
            f"fitted ratio, 0.25 to 6, log axis: rising to {useful:.2f}, flat beyond."
        ),
        code=(
            "from boxlab import RadiatorBox, litres, mm\n"
            "from dataclasses import replace\n"
            "from boxlab.design.radiator_choices import programme_limit\n"
            "from boxlab.gear.scenario import DRIVERS, RADIATORS\n"
            f"radiator = replace(RADIATORS[{size!r}], xmax=mm({travel:g}))\n"
            f"box = RadiatorBox.tuned(litres({volume:g}), {fb:g}, radiator, "
            f"count={COUNTS[count]}, ql={ql:g})\n"
            f"driver = DRIVERS[{size!r}]\n"
            f"print(programme_limit(driver, box, power={power:g}, load=driver.re))"
        ),
        warnings=(warning,) if warning else (),
    )


def _loudest(top, tuned):
    return against_frequency(
        "Loudest steady tone, and what stops it",
        "level, dB re 20 µPa, 1 m",
        (70, 125),
        coloured(FREQUENCY, top.spl, top.limit),
        (Mark(tuned, f"tuning {tuned:.1f} Hz"),),
    )


def _allowed(top, tuned):
    return against_frequency(
        "Volts that each would allow alone",
        "V rms",
        (1, 1000),
        tuple(
            Line(FREQUENCY, top.voltages[name], role, label, "radiator")
            for name, role, label, _ in STOPS
        ),
        (Mark(tuned, "tuning"),),
        yscale="log",
    )


def _travels(driver, box, used, top):
    cone = 100 * used.cone_excursion * top.voltage / driver.xmax
    radiator = 100 * used.vent_excursion * top.voltage / box.radiator.xmax
    stop = to_mm(box.radiator.xmax)
    return against_frequency(
        "Travel used there",
        "travel, % of own Xmax",
        (0, 120),
        (
            Line(FREQUENCY, cone, "cone", "cone"),
            Line(FREQUENCY, radiator, "vent", "radiator", "radiator"),
        ),
        (Mark(100, f"Xmax {to_mm(driver.xmax):.0f} mm, stop {stop:.0f} mm", "limit", "y"),),
    )


def _bought(volts, limit, unit, has, useful):
    return Plot(
        "Programme: what more swept volume buys",
        "fitted ratio, radiators over driver",
        "level, dB re 20 µPa, 1 m",
        (0.25, 6),
        (80, 125),
        coloured(SWEPT, unit + 20 * np.log10(volts), limit),
        (Mark(has, f"fitted {has:.2f}", "vent"), Mark(useful, f"useful {useful:.2f}")),
    )


EXPLAINERS = (
    Explainer(
        name="radiator_stop",
        question="When does the radiator's stop set the loudness?",
        controls=(
            Choice("size", "Driver and radiator", tuple(DRIVERS), "ten-inch"),
            Slider("volume", "Net volume", 8, 40, 14, 0.5, "L"),
            Slider("fb", "Tuning", 26, 56, 36, 0.5, "Hz"),
            Slider("travel", "Radiator Xmax, one way", 4, 40, 13, 0.5, "mm"),
            Slider("power", "Amplifier, into the coil's Re", 25, 1500, 500, 25, "W"),
            Choice("count", "Radiators", ("one", "two"), "one"),
            Slider("ql", "Leakage loss QL", 3, 30, USUAL_QL, 0.5, "", more=True),
        ),
        scene=scene,
        lesson="04-how-much-radiator.ipynb",
        anchor="What-happens-at-the-stop",
        answer=(
            "Round the tuning the radiator moves most and the cone least, so a small radiator "
            "stops the sound there first. Up to the needed ratio each doubling of swept volume "
            "buys 6 dB; beyond it nothing. With a small amplifier less is enough."
        ),
        presets={
            "13 mm": {},
            "20 mm": {"travel": 20.0},
            "two": {"count": "two"},
            "150 W": {"power": 150.0},
        },
    ),
)
