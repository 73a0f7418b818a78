"""Where two to one comes from: four for equal sound, times how much quieter the tuning is."""

from __future__ import annotations

import numpy as np

from boxlab.design.radiator_need import equal_sound, most_needed, needed_ratio
from boxlab.draw.scene import Choice, Explainer, Line, Mark, Number, Plot, Scene, Slider
from boxlab.explainers import _shared as shared
from boxlab.explainers._cuts import cut
from boxlab.explainers._radiators import built
from boxlab.gear.shelf import DRIVERS, RADIATORS
from boxlab.model.response import solve

STEPS = np.geomspace(1, 4, 145)  # times the tuning


def scene(size, volume, fb, ql) -> Scene:
    """One box (litres, Hz, QL): swept volume for equal sound, and how equal the sound is."""
    driver = DRIVERS[size]
    box, warning = built(size, volume, fb, 1e3 * RADIATORS[size].xmax, "one", ql)
    tuned = float(box.tuning())
    r = solve(driver, box, tuned * STEPS, 1.0)
    sound = np.abs(r.volume_velocity)
    cone = np.abs(r.cone_volume_velocity) / sound / STEPS**2
    vent = np.abs(r.vent_volume_velocity) / sound / STEPS**2
    level = r.spl - r.spl[0]
    flat = float(needed_ratio(driver, box, tuned, equalised=True).ratio)
    need = needed_ratio(driver, box, tuned)
    drop = float(np.interp(np.log(np.sqrt(2)), np.log(STEPS), level))
    most = float(most_needed(driver, box))
    peak = int(np.argmax(cone))
    lossless = float(equal_sound(box))
    return Scene(
        shows={"radiator": shared.state(driver, box)},
        cutaway=cut(driver, box, tuned),
        title=f"Four, less {drop:.1f} dB, less suspension and losses: {need.ratio:.2f}",
        plots=(_equal(cone, vent, STEPS[peak]), _levels(level, need.cone_at / tuned)),
        readout=(
            f"For equal sound this box needs {flat:.2f} times the cone's swept volume: the cone "
            f"works hardest at {STEPS[peak]:.2f} times the tuning.",
            f"Without losses it would be {lossless:.2f}; without a suspension too, 4, at 1.41 "
            "times.",
            f"With the same voltage at all frequencies the tuning is {drop:.1f} dB quieter than "
            f"1.41 times it: at most 4 times {most / 4:.2f}, that is {most:.2f}. Computed: "
            f"{need.ratio:.2f}.",
        ),
        numbers=(
            Number("needed ratio, equalised flat to the tuning", f"{flat:.2f}"),
            Number("the same without losses", f"{lossless:.2f}"),
            Number("needed ratio, same voltage to the tuning", f"{need.ratio:.2f}"),
            Number("tuning below 1.41 times it", f"{drop:.1f} dB"),
            Number("4 times that level ratio", f"{most:.2f}"),
            shared.hertz("tuning", tuned),
            shared.hertz("cone runs out at", float(need.cone_at)),
            Number("largest cone sweep for equal sound", f"{cone[peak]:.3f}"),
            Number("radiator's at the tuning", f"{vent[0]:.3f}"),
        ),
        caption=(
            "Left: what cone (blue) and radiator (orange) must sweep for the same sound at each "
            "frequency, in units of what the tuning takes; grey, without losses and suspension, "
            "where the cone's most is a quarter, at 1.41 times the tuning. Right: how loud this "
            "box is at the same voltage. "
            f"Four, times the {drop:.1f} dB by which the tuning is quieter, is the most it can "
            f"need: {most:.2f}; with suspension and losses it needs {need.ratio:.2f}."
        ),
        alt=(
            "Two plots against frequency over tuning, 1 to 4. Left: swept volume for "
            f"equal sound, 0 to 1.2: the radiator falls from {vent[0]:.2f}, the cone rises to "
            f"{cone[peak]:.2f} at {STEPS[peak]:.2f} and falls again; grey lines show a "
            "vent without losses and suspension. Right: level against that at the tuning, −5 to "
            f"20 dB, {drop:.1f} dB at 1.41."
        ),
        code=(
            "from boxlab import RadiatorBox, litres\n"
            "from boxlab.design.radiator_need import most_needed, needed_ratio\n"
            "from boxlab.gear.scenario import DRIVERS, RADIATORS\n"
            f"driver = DRIVERS[{size!r}]\n"
            f"box = RadiatorBox.tuned(litres({volume:g}), {fb:g}, RADIATORS[{size!r}], ql={ql:g})\n"
            f"print(most_needed(driver, box), needed_ratio(driver, box, {fb:g}).ratio, "
            f"needed_ratio(driver, box, {fb:g}, equalised=True).ratio)"
        ),
        warnings=(warning,) if warning else (),
    )


def _equal(cone, vent, at):
    free = 1 / STEPS**4
    return Plot(
        "Swept volume for equal sound",
        "frequency over tuning",
        "swept volume, 1 = all of it at tuning",
        (1, 4),
        (0, 1.2),
        (
            Line(STEPS, (1 - 1 / STEPS**2) / STEPS**2, "quiet", "ideal"),
            Line(STEPS, free, "quiet", "ideal"),
            Line(STEPS, cone, "cone", "cone", "radiator"),
            Line(STEPS, vent, "vent", "radiator", "radiator"),
        ),
        (Mark(float(at), "cone's most"), Mark(0.25, "a quarter", "quiet", "y")),
        xscale="linear",
    )


def _levels(level, at):
    return Plot(
        "But how loud is it there?",
        "frequency over tuning",
        "level, dB re the tuning's",
        (1, 4),
        (-5, 20),
        (Line(STEPS, level, "sum", "", "radiator"),),
        (Mark(float(np.sqrt(2)), "1.41"), Mark(float(at), "cone runs out", "cone")),
        xscale="linear",
    )


EXPLAINERS = (
    Explainer(
        name="why_four",
        question="Where does two to one come from?",
        controls=(
            Choice("size", "Driver and radiator", tuple(DRIVERS), "ten-inch"),
            Slider("volume", "Net volume", 8, 60, 14, 0.5, "L"),
            Slider("fb", "Tuning", 24, 56, 36, 0.5, "Hz"),
            Slider("ql", "Leakage loss QL", 2, 100, 7, 0.5, ""),
        ),
        scene=scene,
        lesson="04-how-much-radiator.ipynb",
        anchor="Where-does-two-to-one-come-from",
        answer=(
            "For equal sound down to the tuning a radiator must sweep up to four times what the "
            "cone does, whatever the driver: four if its suspension is very soft. A compact box is "
            "about 4 to 6 dB quieter at its tuning than half an octave above, and suspension and "
            "losses take some more. That leaves about two."
        ),
        presets={"ten-inch, 14 L": {}, "no leak": {"ql": 100.0}},
    ),
)
