"""The same driver in a small and in a large box: where each is the right one."""

from __future__ import annotations

import numpy as np

from boxlab.base.units import to_litres
from boxlab.draw.scene import Choice, Explainer, Scene, Slider
from boxlab.explainers import _shared as shared
from boxlab.explainers import _side_by_side as pair
from boxlab.explainers._cuts import two_boxes
from boxlab.gear.shelf import DRIVERS


def sides(size, volume, times, build, wanted, amplifier, fb):
    """The two candidates, the small box first; the large one has `times` its volume."""
    driver = DRIVERS[size]
    return tuple(
        pair.side(f"{v:g} L", short, driver, pair.boxed(build, v, size, fb), 1, wanted, amplifier)
        for short, v in (("small box", volume), ("large box", round(volume * times, 1)))
    )


def scene(size, volume, times, build, wanted, amplifier, frequency, fb) -> Scene:
    """One driver in `volume` litres and in `times` as much, for `wanted` dB, with `amplifier` W."""
    one, other = sides(size, volume, times, build, wanted, amplifier, fb)
    facts = pair.known_first(_readout(one, other, wanted, amplifier, frequency))
    small, large = (shared.cubic_feet_text(to_litres(each.volume)) for each in (one, other))
    return Scene(
        shows={each.short: shared.state(each.driver, each.box) for each in (one, other)},
        cutaway=two_boxes(
            (one.driver, one.box),
            (other.driver, other.box),
            frequency,
            names=(one.name, other.name),
        ),
        title=f"The {size} driver in {one.name} and in {other.name}, {build}",
        plots=pair.plots(one, other, build, wanted, frequency),
        readout=facts,
        numbers=pair.numbers(one, other, frequency),
        caption=(
            f"The same {size} driver, {build}, in {one.name} ({small}, in dark lines) and in "
            f"{other.name} ({large}, grey). {facts[0]} {facts[1]}"
        ),
        alt=pair.alt(one, other, wanted, frequency),
        code=_code(size, volume, times, build, amplifier, fb),
        warnings=pair.beyond((one, other), wanted, frequency),
    )


def _readout(one, other, wanted, amplifier, frequency):
    cheaper = np.asarray(one.watts < other.watts)
    cross = pair.FREQUENCY[np.flatnonzero(~cheaper)[-1]] if not cheaper.all() else np.nan
    gap = pair.ahead(one, other, frequency)
    apart = f"{abs(gap):.1f} dB apart" if abs(gap) >= 0.05 else "the same"
    level = pair.differ(one.at("level", frequency), other.at("level", frequency))
    return (
        pair.not_known((one, other), frequency, amplifier)
        or f"At {frequency:g} Hz with {amplifier:g} W, "
        f"{pair.loudest(one.name + ' plays', one, frequency)} and "
        f"{pair.loudest(other.name, other, frequency)}: {apart}.",
        f"For {wanted:g} dB there: {pair.cost(one, frequency)} in {one.name}, "
        f"{pair.cost(other, frequency)} in {other.name}; travel "
        f"{1e3 * one.at('travel', frequency):.1f} mm and "
        f"{1e3 * other.at('travel', frequency):.1f} mm.",
        f"Same volts there: {one.name} gives {level} {'as' if level == 'the same' else 'than'} "
        f"{other.name}. f3: {one.f3:.1f} Hz and {other.f3:.1f} Hz.",
        f"Above {cross:.0f} Hz the small box draws fewer watts than the large one."
        if pair.FREQUENCY[0] < cross < pair.FREQUENCY[-1]
        else "Over the whole band the same box draws fewer watts.",
    )


def _code(size, volume, times, build, amplifier, fb):
    if build == "sealed":
        head, box = "SealedBox, litres", "SealedBox(litres(volume))"
    else:
        head = "RadiatorBox, litres"
        box = f"RadiatorBox.tuned(litres(volume), {fb:g}, RADIATORS[{size!r}], ql=7)"
    return (
        f"from boxlab import {head}\n"
        "from boxlab.design.swept_volume import rate\n"
        "from boxlab.gear.scenario import DRIVERS, RADIATORS\n"
        f"driver = DRIVERS[{size!r}]\n"
        f"for volume in ({volume:g}, {volume * times:g}):\n"
        f"    box = {box}\n"
        f'    r = rate("", driver, box, power={amplifier:g}, load=driver.re)\n'
        "    print(volume, r.f3, r.spl, r.limit)"
    )


EXPLAINERS = (
    Explainer(
        name="small_or_large",
        question="The same driver in a small or in a large box: which is right?",
        controls=(
            Choice("size", "Driver", tuple(DRIVERS), "ten-inch"),
            Slider("volume", "Small box", 8, 40, 14, 0.5, "L"),
            Slider("times", "Large box, as many times", 1.2, 4.0, 2.0, 0.1, ""),
            Choice("build", "Both boxes", pair.BUILDS, pair.BUILDS[0]),
            Slider("amplifier", "Amplifier, into the coil's Re", 25, 1500, 300, 25, "W"),
            Slider("frequency", "Look at", 18, 120, 40, 0.5, "Hz"),
            Slider("wanted", "Level wanted at 1 m", 85, 112, 100, 0.5, "dB", more=True),
            Slider("fb", "Tuning, with radiators", 28, 45, 36, 0.5, "Hz", more=True),
        ),
        scene=scene,
        lesson="03-size-efficiency-extension.ipynb",
        anchor="Is-the-larger-box-always-better",
        answer=(
            "Sealed and stopped by the cone's travel, both are equally loud: the small box pays "
            "in watts, not in decibels. With amplifier to spare and space dear, small is right; "
            "with few watts and low notes, large is."
        ),
        presets={
            "plenty of watts": {"amplifier": 1000.0},
            "few watts": {"amplifier": 50.0},
            "with radiators": {"build": "radiator"},
            "twelve-inch": {"size": "twelve-inch"},
        },
    ),
)
