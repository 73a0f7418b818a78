"""An isobaric pair: two drivers one behind the other, against one alone."""

from __future__ import annotations

from types import MappingProxyType

import numpy as np

from boxlab.base import cautions
from boxlab.base.units import disc_diameter, litres, to_mm
from boxlab.draw.cutaway import beside
from boxlab.draw.scene import Choice, Explainer, Number, Scene, Slider
from boxlab.explainers import _shared as shared
from boxlab.explainers import _side_by_side as pair
from boxlab.explainers._cuts import cut, face_to_face
from boxlab.gear.shelf import DRIVERS, OWN, one_driver
from boxlab.model.several import WIRINGS, between, isobaric

SHARES = MappingProxyType({"half the box": 0.5, "the same box": 1.0})
WIRED = WIRINGS[:2]


def sides(size, volume, share, build, wanted, amplifier, fb):
    """The pair, with 2.83 V on each of its drivers, and one driver alone in `volume` litres."""
    driver, small = one_driver() if size == OWN else DRIVERS[size], SHARES[share] * volume
    return tuple(
        pair.side(name, name, each, pair.boxed(build, v, size, fb), 1, wanted, amplifier)
        for name, each, v in (
            ("the pair", isobaric(driver), small),
            ("one driver", driver, volume),
        )
    )


def scene(size, volume, share, build, wiring, amplifier, frequency, space, wanted, fb) -> Scene:
    """A pair in `share` of `volume` litres against one driver; `amplifier` W into Re of either."""
    two, one = sides(size, volume, share, build, wanted, amplifier, fb)
    ring, ohm = float(between(one.driver, litres(space))), isobaric(one.driver, wiring).re
    volts, watt = gains(two, one, frequency)
    facts = _readout(two, one, wanted, amplifier, frequency, volts, watt)
    facts = (*facts, _wired(wiring, ohm, one.driver.re), _air(two, space, ring))
    small = shared.volume_number("", two.volume)
    return Scene(
        shows={each.short: shared.state(each.driver, each.box) for each in (two, one)},
        cutaway=_cutaway(two, one, frequency, space),
        title=f"An isobaric pair in {small.metric} against one driver in {volume:g} L, {build}",
        plots=pair.plots(two, one, build, wanted, frequency),
        readout=facts,
        numbers=(
            Number("pair over one, same volts on each", f"{volts:+.1f} dB"),
            Number("pair over one, for each watt", f"{watt:+.1f} dB"),
            Number("the pair: Re", f"{ohm:.2f} Ω"),
            Number("cones ring on the air between", f"{ring:.0f} Hz"),
            *pair.numbers(two, one, frequency),
        ),
        caption=(
            f"Two {size} drivers face to face, one behind the other, in {small.metric} "
            f"({small.imperial}; dark lines) against one in {volume:g} L "
            f"({shared.cubic_feet_text(volume)}; grey), {build}. {facts[0]} {facts[1]}"
        ),
        alt=pair.alt(two, one, wanted, frequency),
        code=_code(size, volume, share, build, amplifier, fb, wanted, frequency),
        warnings=(*_warnings(ring, frequency, space), *pair.beyond((two, one), wanted, frequency)),
        cautions=cautions.words("live output", "hot coil"),
    )


def gains(two, one, frequency):
    """dB of the pair over one at one frequency: with the same volts on each, and for each watt."""
    volts = two.at("level", frequency) - one.at("level", frequency)
    return volts, 10 * np.log10(one.at("watts", frequency) / two.at("watts", frequency))


def _readout(two, one, wanted, amplifier, frequency, volts, watt):
    return (
        f"For each watt at {frequency:g} Hz the pair gives {pair.differ(watt, 0)} than one driver "
        f"in its box; at the same volts on each driver, {pair.differ(volts, 0)}.",
        f"For {wanted:g} dB there: {pair.cost(two, frequency)}, against "
        f"{pair.cost(one, frequency)}; {1e3 * two.at('travel', frequency):.1f} mm of travel "
        f"against {1e3 * one.at('travel', frequency):.1f} mm.",
        (
            pair.not_known((two, one), frequency, amplifier)
            or f"Loudest there on {amplifier:g} W in all: the pair "
            f"{two.at('loudest', frequency):.1f} dB ({two.stopped_by(frequency)}), one "
            f"{one.at('loudest', frequency):.1f} dB ({one.stopped_by(frequency)})."
        )
        + f" f3: {two.f3:.1f} Hz and {one.f3:.1f} Hz.",
    )


def _wired(wiring, ohm, single):
    return (
        f"Wired in {wiring} the pair has {ohm:.2f} Ω of resistance, one driver {single:.2f} Ω. "
        "Face to face, one of the two is joined with its sign turned."
    )


def _air(two, space, ring):
    all_in = shared.volume_number("", two.volume + litres(space))
    return (
        f"With {space:g} L ({shared.cubic_feet_text(space)}) between the cones it takes "
        f"{all_in.metric} ({all_in.imperial}). They ring on that air at {ring:.0f} Hz, and are one "
        f"piston up to about {ring / 4:.0f} Hz."
    )


def _warnings(ring, frequency, space):
    if frequency <= ring / 4:
        return ()
    return (
        f"With {space:g} L between them the cones are one piston up to about {ring / 4:.0f} Hz; "
        f"what is said of {frequency:g} Hz takes that air as stiff.",
    )


def _cutaway(two, one, frequency, space):
    wide = float(disc_diameter(one.driver.sd))
    # what two cones enclose, each a blunted cone 0.22 of its width deep, as drawn
    cones = 2 * 0.22 * wide * one.driver.sd * (1 + 0.36 + 0.36**2) / 3
    ring = max(float(to_mm((litres(space) - cones) / one.driver.sd)), 10.0)
    return beside(
        face_to_face(cut(two.driver, two.box, frequency), ring),
        cut(one.driver, one.box, frequency),
    )


def _code(size, volume, share, build, amplifier, fb, wanted, frequency):
    return (
        "from boxlab.explainers import one_behind_the_other as pairs\n"
        f"two, one = pairs.sides({size!r}, {volume:g}, {share!r}, {build!r}, {wanted:g}, "
        f"{amplifier:g}, {fb:g})\n"
        f"print(pairs.gains(two, one, {frequency:g}))\n"
        "for each in (two, one):\n"
        f"    print(each.name, each.f3, each.at('loudest', {frequency:g}))"
    )


EXPLAINERS = (
    Explainer(
        name="one_behind_the_other",
        question="Two drivers, one behind the other: what does an isobaric pair buy?",
        controls=(
            Choice("size", "Drivers", tuple(DRIVERS), "ten-inch"),
            Slider("volume", "Box of one driver", 8, 60, 14, 0.5, "L"),
            Choice("share", "Pair in", tuple(SHARES), "half the box"),
            Choice("wiring", "Pair wired in", WIRED, "parallel"),
            Slider("amplifier", "Amplifier, into Re of either", 25, 1500, 300, 25, "W"),
            Slider("frequency", "Look at", 18, 120, 40, 0.5, "Hz"),
            Slider("space", "Air between the cones", 0.5, 10, 2, 0.1, "L", more=True),
            Choice("build", "Both boxes", pair.BUILDS, pair.BUILDS[0], more=True),
            Slider("wanted", "Level wanted at 1 m", 85, 112, 95, 0.5, "dB", more=True),
            Slider("fb", "Tuning, with radiators", 28, 45, 36, 0.5, "Hz", more=True),
        ),
        scene=scene,
        lesson="03-size-efficiency-extension.ipynb",
        anchor="One-driver-behind-the-other",
        answer=(
            "It halves the box: as low, and as loud at the same volts on each driver. It costs "
            "twice the watts, so 3 dB for each watt, a second driver, and no millimetre of travel "
            "is gained. The air between the cones has to be little."
        ),
        presets={
            "in the same box": {"share": "the same box"},
            "more air between": {"space": 8.0},
            "with radiators": {"build": "radiator", "volume": 28.0},
        },
    ),
)
