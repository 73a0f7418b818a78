"""Two small boxes against one: what the second one brings, and what it costs."""

from __future__ import annotations

from types import MappingProxyType

import numpy as np

from boxlab.base.units import to_feet
from boxlab.design.swept_volume import pair_gain
from boxlab.draw.cutaway import beside
from boxlab.draw.scene import Choice, Explainer, Number, Scene, Slider
from boxlab.explainers import _shared as shared
from boxlab.explainers import _side_by_side as pair
from boxlab.explainers._cuts import cut
from boxlab.gear.shelf import DRIVERS

AGAINST = MappingProxyType({"one of the two": 1, "one box, twice the size": 2})


def sides(size, volume, against, build, wanted, amplifier, fb):
    """Two boxes, and the one they are held against; all share one amplifier's watts."""
    driver, times = DRIVERS[size], AGAINST[against]
    two = pair.boxed(build, volume, size, fb)
    single = pair.boxed(build, times * volume, size, fb)
    return (
        pair.side(f"two of {volume:g} L", "two boxes", driver, two, 2, wanted, amplifier / 2),
        pair.side(f"one of {times * volume:g} L", "one box", driver, single, 1, wanted, amplifier),
    )


def scene(size, volume, against, build, wanted, amplifier, frequency, spacing, fb) -> Scene:
    """Two boxes of `volume` litres, `spacing` m apart, against one; `amplifier` W in all."""
    two, one = sides(size, volume, against, build, wanted, amplifier, fb)
    facts = pair.known_first(_readout(two, one, wanted, amplifier, frequency, spacing))
    return Scene(
        shows={each.short: shared.state(each.driver, each.box) for each in (two, one)},
        cutaway=beside(
            *(cut(each.driver, each.box, frequency) for each in (two, two, one)),
            names=("one of two", "the other", "one box"),
        ),
        title=f"{pair.headed(two.name)} against {one.name}, {size}, {build}",
        plots=pair.plots(two, one, build, wanted, frequency),
        readout=facts,
        numbers=(
            *pair.numbers(two, one, frequency),
            Number(
                f"gain in efficiency at {frequency:g} Hz",
                f"{10 * np.log10(pair_gain(frequency, spacing)):.2f} dB",
            ),
        ),
        caption=(
            f"{pair.headed(two.name)} ({shared.cubic_feet_text(volume)} each) in dark lines "
            f"against {one.name} (grey), same {size} drivers, {build}, on {amplifier:g} W in all. "
            f"{facts[0]} {facts[2]}"
        ),
        alt=pair.alt(two, one, wanted, frequency),
        code=_code(size, volume, amplifier, spacing, frequency),
        warnings=pair.beyond((two, one), wanted, frequency),
    )


def _readout(two, one, wanted, amplifier, frequency, spacing):
    gain = 10 * np.log10(float(pair_gain(frequency, spacing)))
    return (
        pair.not_known((two, one), frequency, amplifier)
        or f"At {frequency:g} Hz on {amplifier:g} W in all, "
        f"{pair.loudest('two boxes play', two, frequency)} and "
        f"{pair.loudest('one', one, frequency)}: two bring {_brought(two, one, frequency)}.",
        f"For {wanted:g} dB there: {pair.cost(two, frequency)} in all, against "
        f"{pair.cost(one, frequency)}; "
        f"{1e3 * two.at('travel', frequency):.1f} mm of travel against "
        f"{1e3 * one.at('travel', frequency):.1f} mm.",
        f"Same volts there: two give "
        f"{pair.differ(two.at('level', frequency), one.at('level', frequency))} than "
        f"{one.name}, for {_ratio(two, one, frequency)} the watts.",
        f"Standing {spacing:g} m ({to_feet(spacing):.1f} ft) apart they gain {gain:.1f} dB of "
        f"efficiency at {frequency:g} Hz; 3 dB is all there is. f3 is {two.f3:.1f} Hz, of one "
        f"alone {one.f3:.1f} Hz.",
    )


def _brought(two, one, frequency):
    gap = pair.ahead(two, one, frequency)
    return pair.differ(gap, 0.0) if gap else "nothing"


def _ratio(two, one, frequency):
    """Watts of the two over watts of the one at the same volts, as text."""
    gap = two.at("level", frequency) - one.at("level", frequency)
    ratio = two.at("watts", frequency) / one.at("watts", frequency) * 10 ** (gap / 10)
    return "twice" if abs(ratio - 2) < 0.005 else f"{ratio:.1f} times"


def _code(size, volume, amplifier, spacing, frequency):
    return (
        "from boxlab import SealedBox, litres\n"
        "from boxlab.design.swept_volume import pair_gain, rate\n"
        "from boxlab.gear.scenario import DRIVERS\n"
        f"driver, box = DRIVERS[{size!r}], SealedBox(litres({volume:g}))\n"
        "for count in (1, 2):\n"
        f'    r = rate("", driver, box, count, power={amplifier:g} / count, load=driver.re)\n'
        "    print(count, r.f3, r.spl, r.limit)\n"
        f"print(pair_gain({frequency:g}, {spacing:g}))"
    )


EXPLAINERS = (
    Explainer(
        name="one_or_two",
        question="Two small boxes or one: what does the second bring?",
        controls=(
            Choice("size", "Drivers", tuple(DRIVERS), "ten-inch"),
            Slider("volume", "Each of two", 8, 40, 14, 0.5, "L"),
            Choice("against", "Against", tuple(AGAINST), "one of the two"),
            Choice("build", "All boxes", pair.BUILDS, pair.BUILDS[0]),
            Slider("amplifier", "Amplifier, all drivers, into Re", 50, 2000, 300, 25, "W"),
            Slider("frequency", "Look at", 18, 120, 40, 0.5, "Hz"),
            Slider("spacing", "Distance between the two", 0.3, 4.0, 0.5, 0.1, "m", more=True),
            Slider("wanted", "Level wanted at 1 m", 85, 112, 100, 0.5, "dB", more=True),
            Slider("fb", "Tuning, with radiators", 30, 45, 36, 0.5, "Hz", more=True),
        ),
        scene=scene,
        lesson="03-size-efficiency-extension.ipynb",
        anchor="Two-small-boxes-or-one",
        answer=(
            "Close together, two boxes give 6 dB more at the same volts for twice the watts, so 3 "
            "dB more on the same watts, and half the travel at the same level. The corner stays "
            "where it was. k stays too: twice the box, twice the efficiency."
        ),
    ),
)
