"""The same driver in a small and in a large box: where each is the right one."""

from __future__ import annotations

from types import MappingProxyType

import numpy as np

from boxlab.scenario import DRIVERS
from boxlab.scene import Choice, Explainer, Scene, Slider
from boxlab.scenes import _shared as shared
from boxlab.scenes import _side_by_side as pair


def sides(size, small, large, build, wanted, amplifier, fb):
    """The two candidates, the small box first."""
    driver = DRIVERS[size]
    return tuple(
        pair.side(f"{v:g} L", driver, pair.boxed(build, v, size, fb), 1, wanted, amplifier)
        for v in (small, large)
    )


def scene(size, small, large, build, wanted, amplifier, frequency, fb) -> Scene:
    """One driver in `small` and in `large` litres, for `wanted` dB, with `amplifier` W."""
    if small >= large:
        raise ValueError(
            f"The small box has {small:g} L and the large one {large:g} L: make the small smaller "
            "or the large larger."
        )
    one, other = sides(size, small, large, build, wanted, amplifier, fb)
    facts = _readout(one, other, wanted, amplifier, frequency)
    return Scene(
        title=f"The {size} driver in {small:g} L and in {large:g} L, {build}",
        plots=pair.plots(one, other, build, wanted, frequency),
        readout=facts,
        numbers=pair.numbers(one, other, frequency),
        caption=(
            f"The same {size} driver, {build}, in {small:g} L ({shared.cubic_feet_text(small)}, in "
            f"colour) and in {large:g} L ({shared.cubic_feet_text(large)}, grey). {facts[1]} "
            f"{facts[2]}"
        ),
        alt=pair.alt(one, other, wanted, frequency),
        code=_code(size, small, large, build, amplifier, fb),
    )


def _readout(one, other, wanted, amplifier, frequency):
    cheaper = np.asarray(one.watts < other.watts)
    cross = pair.FREQUENCY[np.flatnonzero(~cheaper)[-1]] if not cheaper.all() else np.nan
    closest = one.at("loudest", frequency) - other.at("loudest", frequency)
    return (
        f"Same volts at {frequency:g} Hz: {one.name} gives "
        f"{pair.differ(one.at('level', frequency), other.at('level', frequency))} than "
        f"{other.name}".replace("the same than", "the same as")
        + f". f3: {one.f3:.1f} Hz and {other.f3:.1f} Hz.",
        f"For {wanted:g} dB at {frequency:g} Hz: {pair.cost(one, frequency)} in {one.name}, "
        f"{pair.cost(other, frequency)} in {other.name}; travel "
        f"{1e3 * one.at('travel', frequency):.1f} mm and "
        f"{1e3 * other.at('travel', frequency):.1f} mm.",
        f"Loudest there with {amplifier:g} W: {one.at('loudest', frequency):.1f} dB "
        f"({one.stopped_by(frequency)}) and {other.at('loudest', frequency):.1f} dB "
        f"({other.stopped_by(frequency)}), {abs(closest):.1f} dB apart.",
        f"Above {cross:.0f} Hz the small box draws fewer watts than the large one."
        if pair.FREQUENCY[0] < cross < pair.FREQUENCY[-1]
        else "Over the whole band the same box draws fewer watts.",
    )


def _code(size, small, large, build, amplifier, fb):
    if build == "sealed":
        head, box = "SealedBox, litres", "SealedBox(litres(volume))"
    else:
        head = "RadiatorBox, litres"
        box = f"RadiatorBox.tuned(litres(volume), {fb:g}, RADIATORS[{size!r}], ql=7)"
    return (
        f"from boxlab import {head}\n"
        "from boxlab.reach import rate\n"
        "from boxlab.scenario import DRIVERS, RADIATORS\n"
        f"for volume in ({small:g}, {large:g}):\n"
        f"    box = {box}\n"
        f'    r = rate("", DRIVERS[{size!r}], box, power={amplifier:g})\n'
        "    print(volume, r.f3, r.spl, r.limit)"
    )


EXPLAINERS = (
    Explainer(
        name="small_or_large",
        question="The same driver in a small or in a large box: which is right?",
        controls=(
            Choice("size", "Driver", tuple(DRIVERS), "ten-inch"),
            Slider("small", "Small box", 8, 40, 14, 0.5, "L", imperial=shared.cubic_feet_text),
            Slider("large", "Large box", 10, 80, 28, 0.5, "L", imperial=shared.cubic_feet_text),
            Choice("build", "Both boxes", pair.BUILDS, pair.BUILDS[0]),
            Slider("amplifier", "Amplifier, into the coil's Re", 25, 1500, 300, 25, "W"),
            Slider("frequency", "Look at", 18, 120, 40, 0.5, "Hz"),
            Slider("wanted", "Level wanted at 1 m", 85, 112, 100, 0.5, "dB", more=True),
            Slider("fb", "Tuning, with radiators", 28, 45, 36, 0.5, "Hz", more=True),
        ),
        scene=scene,
        lesson="03-size-efficiency-extension.ipynb",
        anchor="Is-the-larger-box-always-better?",
        answer=(
            "Sealed and stopped by the cone's travel, both are equally loud: the small box pays "
            "in watts, not in decibels. With amplifier to spare and space dear, small is right; "
            "with few watts and low notes, large is."
        ),
        presets=MappingProxyType(
            {
                "plenty of watts": {"amplifier": 1000.0},
                "few watts": {"amplifier": 50.0},
                "with radiators": {"build": "radiator"},
                "twelve-inch, 14 or 40 L": {"size": "twelve-inch", "large": 40.0},
            }
        ),
    ),
)
