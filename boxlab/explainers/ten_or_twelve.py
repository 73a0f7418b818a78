"""Ten-inch against twelve-inch in the same net volume."""

from __future__ import annotations

import numpy as np

from boxlab.base.units import to_litres
from boxlab.draw.scene import Choice, Explainer, Scene, Slider
from boxlab.explainers import _shared as shared
from boxlab.explainers import _side_by_side as pair
from boxlab.explainers._cuts import two_boxes
from boxlab.gear.shelf import DRIVERS, OWN

SIZES = ("eight-inch", "ten-inch")


def sides(smaller, volume, build, wanted, amplifier, fb):
    """The twelve-inch driver and the smaller one, each in `volume` litres."""
    boxes = {size: pair.boxed(build, volume, size, fb) for size in ("twelve-inch", smaller)}
    return tuple(
        pair.side(_called(size), _called(size), DRIVERS[size], box, 1, wanted, amplifier)
        for size, box in boxes.items()
    )


def _called(size):
    return "own driver" if size == OWN else size


def _one(name):
    return name if name.startswith("own") else f"the {name} one"


def scene(smaller, volume, build, wanted, amplifier, frequency, fb) -> Scene:
    """Both drivers in the same net `volume` litres, for `wanted` dB, with `amplifier` W."""
    twelve, ten = sides(smaller, volume, build, wanted, amplifier, fb)
    facts = pair.known_first(_readout(twelve, ten, wanted, amplifier, frequency))
    return Scene(
        shows={each.short: shared.state(each.driver, each.box) for each in (twelve, ten)},
        cutaway=two_boxes(
            (twelve.driver, twelve.box),
            (ten.driver, ten.box),
            frequency,
            names=(twelve.name, ten.name),
        ),
        title=f"Twelve-inch against {_called(smaller)} in {volume:g} L, {build}",
        plots=pair.plots(twelve, ten, build, wanted, frequency),
        readout=facts,
        numbers=pair.numbers(twelve, ten, frequency),
        caption=(
            f"The twelve-inch driver (dark lines) and {_one(_called(smaller))} (grey), {build}, "
            f"each in {volume:g} L ({shared.cubic_feet_text(volume)}) net. {facts[0]} {facts[1]}"
        ),
        alt=pair.alt(twelve, ten, wanted, frequency),
        code=_code(smaller, volume, amplifier),
        warnings=pair.beyond((twelve, ten), wanted, frequency),
    )


def _swept(each):
    swept = float(to_litres(each.driver.sd * each.driver.xmax))
    return f"{swept:.2f} L" if np.isfinite(swept) else "what is not known"


def _readout(twelve, ten, wanted, amplifier, frequency):
    return (
        pair.not_known((twelve, ten), frequency, amplifier)
        or f"At {frequency:g} Hz with {amplifier:g} W, "
        f"{pair.loudest('the twelve-inch plays', twelve, frequency)} and "
        f"{pair.loudest(_one(ten.name), ten, frequency)}: "
        f"{abs(pair.ahead(twelve, ten, frequency)):.1f} dB apart.",
        f"For {wanted:g} dB there: {pair.cost(twelve, frequency)}, "
        f"{1e3 * twelve.at('travel', frequency):.1f} mm, against "
        f"{pair.cost(ten, frequency)}, "
        f"{1e3 * ten.at('travel', frequency):.1f} mm.",
        f"To Xmax the twelve-inch cone sweeps {_swept(twelve)}, {_one(ten.name)} "
        f"{_swept(ten)}. f3: {twelve.f3:.1f} Hz and {ten.f3:.1f} Hz.",
    )


def _code(smaller, volume, amplifier):
    return (
        "from boxlab import SealedBox, litres\n"
        "from boxlab.design.swept_volume import rate\n"
        "from boxlab.gear.scenario import DRIVERS\n"
        f'for size in ("twelve-inch", {smaller!r}):\n'
        f"    driver, box = DRIVERS[size], SealedBox(litres({volume:g}))\n"
        f"    r = rate(size, driver, box, power={amplifier:g}, load=driver.re)\n"
        "    print(size, r.f3, r.spl, r.limit)"
    )


EXPLAINERS = (
    Explainer(
        name="ten_or_twelve",
        question="Ten-inch or twelve-inch in the same box: what changes?",
        controls=(
            Choice("smaller", "Against the twelve", SIZES, "ten-inch"),
            Slider("volume", "Net volume", 10, 60, 28, 0.5, "L"),
            Choice("build", "Both boxes", pair.BUILDS, pair.BUILDS[0]),
            Slider("amplifier", "Amplifier, into the coil's Re", 25, 1500, 500, 25, "W"),
            Slider("frequency", "Look at", 18, 120, 30, 0.5, "Hz"),
            Slider("wanted", "Level wanted at 1 m", 85, 112, 95, 0.5, "dB"),
            Slider("fb", "Tuning, with radiators", 30, 40, 36, 0.5, "Hz", more=True),
        ),
        scene=scene,
        lesson="03-size-efficiency-extension.ipynb",
        anchor="Ten-inch-or-twelve-inch",
        answer=(
            "In the same box the twelve is louder where travel is the limit, by the ratio of the "
            "volumes swept. Where the amplifier is the limit, in a small sealed box, they are "
            "within a decibel or so: the box air is stiffer against a larger cone."
        ),
        presets={
            "28 L, sealed": {},
            "14 L, sealed": {"volume": 14.0},
            "few watts": {"amplifier": 50.0},
        },
    ),
)
