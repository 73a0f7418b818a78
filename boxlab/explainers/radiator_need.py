"""How much radiator a box needs: the learner's own box on the spread of thousands."""

from __future__ import annotations

from functools import lru_cache
from types import MappingProxyType

import numpy as np

from boxlab.design.radiator_need import begins, factors, in_use, need_in
from boxlab.design.radiator_study import PROGRAMMES, study
from boxlab.draw.scene import Choice, Explainer, Line, Mark, Number, Plot, Scene, Slider
from boxlab.explainers import _shared as shared
from boxlab.explainers._cuts import cut
from boxlab.explainers._radiators import COUNTS, built, swept_number
from boxlab.explainers._shared import against_frequency
from boxlab.gear.scenario import USUAL_QL
from boxlab.gear.shelf import DRIVERS

DEFINED = MappingProxyType(
    {
        "from f3 or tuning up": "the same voltage at every frequency from f3 or the tuning up, "
        "whichever is lower, turned up until the cone just reaches Xmax",
        "from f3 up only": "the same voltage at every frequency from f3 up, turned up until the "
        "cone just reaches Xmax",
        "from 0.6 of that up": "the same voltage from 0.6 times the lower of f3 and tuning up, "
        "turned up until the cone just reaches Xmax",
        "3 dB into a cone limiter": "the same voltage from f3 or the tuning up, turned 3 dB past "
        "the cone's Xmax, with a limiter that holds the cone there",
        "6 dB into a cone limiter": "the same voltage from f3 or the tuning up, turned 6 dB past "
        "the cone's Xmax, with a limiter that holds the cone there",
        "any tone, cone at its Xmax": "steady tones from f3 or the tuning up, one at a time, each "
        "with the cone at Xmax",
        "equalised flat": "the same sound level at every frequency from f3 or the tuning up, by "
        "an equaliser, turned up until the cone just reaches Xmax",
    }
)
EDGES = np.arange(0, 8.01, 0.25)
DOTS = 300  # boxes shown one by one


@lru_cache(maxsize=len(PROGRAMMES))
def crowd(programme):
    """The study of many boxes for one programme, done once."""
    return study(**PROGRAMMES[programme])


def scene(size, volume, fb, programme, travel, count, ql) -> Scene:
    """One box (litres, Hz, mm, QL) with one programme, and the same programme for many boxes."""
    driver = DRIVERS[size]
    box, warning = built(size, volume, fb, travel, count, ql)
    need = need_in(driver, box, **PROGRAMMES[programme])
    has = float(box.count * box.radiator.vd / driver.vd)
    many = crowd(programme)
    alpha = float(driver.vas() / box.volume)
    ratio = float(need.ratio)
    marks = (Mark(ratio, f"this box {ratio:.2f}", "vent"), Mark(2.0, "two to one"))
    enough = "enough" if has >= ratio else "too little: it stops before the cone"
    low, middle, high = many.quartiles
    beyond = many.share_above(EDGES[-1])
    reason = _reason(driver, box, need, programme)
    return Scene(
        shows={"radiator": shared.state(driver, box)},
        cutaway=cut(driver, box, box.tuning()),
        title=f"{volume:g} L at {fb:g} Hz needs {ratio:.2f} times the driver's swept volume",
        plots=(
            _histogram(many, marks),
            _served(many, marks, has),
            _swept(driver, box, programme, has),
            _against_size(many, alpha, ratio),
        ),
        readout=(
            f"This box needs {ratio:.2f} times the driver's swept volume, most at "
            f"{need.radiator_at:.1f} Hz; the {has:.2f} fitted is {enough}.",
            f"Of {len(many.need.ratio)} random boxes half need {low:.2f} to {high:.2f}, the middle "
            f"one {middle:.2f}; {100 * many.share_above(2):.0f} % need more than two.",
            reason,
            f"The programme: {DEFINED[programme]}.",
        ),
        numbers=(
            Number("needed ratio of swept volumes", f"{ratio:.2f}"),
            Number("fitted ratio", f"{has:.2f}"),
            swept_number("driver's swept volume, one way", float(driver.vd)),
            swept_number("radiators' need, one way", float(ratio * driver.vd)),
            shared.hertz("radiators work hardest at", float(need.radiator_at)),
            shared.hertz("cone runs out first at", float(need.cone_at)),
            shared.hertz("tuning", float(box.tuning())),
            Number("Vas over net volume", f"{alpha:.1f}"),
            Number("boxes in the study", f"{len(many.need.ratio)}"),
            Number("lower quartile of the need", f"{low:.2f}"),
            Number("median of the need", f"{middle:.2f}"),
            Number("upper quartile of the need", f"{high:.2f}"),
            Number("share that needs over 2", f"{100 * many.share_above(2):.0f} %"),
            Number("share that needs over 3", f"{100 * many.share_above(3):.0f} %"),
            Number("share beyond the picture, over 8", f"{100 * beyond:.1f} %"),
        ),
        caption=(
            f"Radiators' swept volume over the driver's, both Sd·Xmax one way. Programme: "
            f"{DEFINED[programme]}. This box, {volume:g} L ({shared.cubic_feet_text(volume)}) at "
            f"{box.tuning():.1f} Hz with a {size} driver, needs {ratio:.2f}; of "
            f"{len(many.need.ratio)} random boxes half need {low:.2f} to {high:.2f}."
        ),
        alt=(
            "Four plots. Upper left: how many per cent of the random boxes need which ratio, 0 to "
            f"8, spread round a middle of {middle:.2f}; two to one and this box, {ratio:.2f}, are "
            "marked. Upper right: the share of boxes, 0 to 100 %, for which "
            "a ratio is enough, rising. Lower left: swept volume of cone and radiators against "
            "frequency, 10 to 200 Hz, in units of the driver's Sd times Xmax, 0 to 8; the cone "
            f"touches 1 at {need.cone_at:.0f} Hz, the radiators are highest at "
            f"{need.radiator_at:.0f} Hz. Lower right: needed ratio, 0 to 8, of {DOTS} of the boxes "
            "against Vas over net volume, 0.05 to 20, log axis, with a line for the middle."
        ),
        code=(
            "from boxlab import RadiatorBox, litres, mm\n"
            "from dataclasses import replace\n"
            "from boxlab.design.radiator_need import need_in\n"
            "from boxlab.gear.scenario import DRIVERS, RADIATORS\n"
            f"driver = DRIVERS[{size!r}]\n"
            f"radiator = replace(RADIATORS[{size!r}], xmax=mm({travel:g}))\n"
            f"box = RadiatorBox.tuned(litres({volume:g}), {fb:g}, radiator, "
            f"count={COUNTS[count]}, ql={ql:g})\n"
            f"print(need_in(driver, box{_options(programme)}).ratio)"
        ),
        warnings=(warning,) if warning else (),
    )


def _reason(driver, box, need, programme):
    """Where the ratio comes from; exact for programmes without a limiter."""
    if PROGRAMMES[programme].get("headroom"):
        plain = float(need_in(driver, box).ratio)
        return f"Without the push into the limiter it would be {plain:.2f}."
    parts = factors(driver, box, need)
    quieter = 1.0 if PROGRAMMES[programme].get("equalised") else float(parts.quieter)
    if parts.spread < 1.005:
        return "Cone and radiators are both at their worst at the same frequency."
    return (
        f"Why: the cone runs out {parts.spread:.2f} times higher, at {need.cone_at:.1f} Hz, and "
        f"{parts.spread:.2f}² = {parts.spread**2:.2f}. Times {quieter:.2f} for the level, "
        f"times {parts.radiator_share:.2f} for the radiators' share of the sound, over "
        f"{parts.cone_share:.2f} for the cone's."
    )


def _options(programme):
    """The options of a programme as they are typed, a comma before each."""
    typed = "".join(f", {name}={value!r}" for name, value in PROGRAMMES[programme].items())
    return typed.replace("=inf", "=float('inf')")


def _histogram(many, marks):
    share = 100 * np.histogram(many.need.ratio, EDGES)[0] / len(many.need.ratio)
    return Plot(
        "What many boxes need",
        "needed ratio, radiators over driver",
        "boxes, % per quarter",
        (0, 8),
        (0, 30),
        (Line((EDGES[1:] + EDGES[:-1]) / 2, share, "vent", "", kind="steps"),),
        marks,
        xscale="linear",
    )


def _served(many, marks, has):
    bought = np.linspace(0, 8, 161)
    served = 100 * np.searchsorted(np.sort(many.need.ratio), bought) / len(many.need.ratio)
    return Plot(
        "Boxes for which a ratio is enough",
        "ratio fitted, radiators over driver",
        "boxes served, %",
        (0, 8),
        (0, 100),
        (Line(bought, served, "vent"),),
        (*marks, Mark(has, f"fitted {has:.2f}", "limit")),
        xscale="linear",
    )


def _swept(driver, box, programme, has):
    options = dict(PROGRAMMES[programme])
    low = begins(driver, box, options.pop("edge", "lower"), options.pop("band", 1.0))
    use = in_use(driver, box, low, **options)
    return against_frequency(
        "This box, turned up to the cone's end",
        "swept, in driver's Sd·Xmax",
        (0, 8),
        (
            Line(use.frequency, use.cone, "cone", "cone"),
            Line(use.frequency, use.vent, "vent", "radiators", "radiator"),
        ),
        (
            Mark(1.0, "cone's end", "cone", "y"),
            Mark(has, "radiators' stop", "limit", "y"),
            Mark(float(box.tuning()), "tuning"),
        ),
    )


def _against_size(many, alpha, ratio):
    sizes = many.designs.driver.vas() / many.designs.box.volume
    steps = np.geomspace(0.05, 20, 14)
    bins = np.digitize(sizes, steps)
    middle = [np.median(many.need.ratio[bins == k]) for k in range(1, len(steps))]
    return Plot(
        "Need against the size of the box",
        "Vas of the driver over net volume",
        "needed ratio",
        (0.05, 20),
        (0, 8),
        (
            Line(
                sizes[:DOTS], many.need.ratio[:DOTS], "quiet", f"{DOTS} of the boxes", "", "points"
            ),
            Line(np.sqrt(steps[1:] * steps[:-1]), np.array(middle), "vent", "the middle one"),
        ),
        (Mark(alpha, "this box"), Mark(ratio, "", "vent", "y")),
    )


EXPLAINERS = (
    Explainer(
        name="radiator_need",
        question="How much radiator does this box need, and is two to one a law?",
        controls=(
            Choice("size", "Driver and radiator", tuple(DRIVERS), "ten-inch"),
            Slider("volume", "Net volume", 8, 60, 14, 0.5, "L"),
            Slider("fb", "Tuning", 24, 56, 36, 0.5, "Hz"),
            Choice(
                "programme",
                "Programme",
                tuple(PROGRAMMES),
                "from f3 or tuning up",
                help="What you play decides what the radiator must sweep.",
            ),
            Slider("travel", "Radiator Xmax, one way", 5, 40, 20, 0.5, "mm"),
            Choice("count", "Radiators", ("one", "two"), "one"),
            Slider("ql", "Leakage loss QL", 2, 50, USUAL_QL, 0.5, "", more=True),
        ),
        scene=scene,
        lesson="04-how-much-radiator.ipynb",
        anchor="See",
        answer=(
            "Two to one is the middle of a wide spread. With a level programme down to f3 or the "
            "tuning, half of thousands of boxes need 1.6 to 2.8 times the driver's swept volume, "
            "and more than half need over two. Equalised flat down to the tuning it is 2.7 to 3.6."
        ),
        presets={
            "ten-inch, 14 L": {},
            "roomy": {"volume": 42.0, "fb": 27.0},
            "equalised": {"programme": "equalised flat"},
            "below tuning": {"programme": "from 0.6 of that up"},
        },
    ),
)
