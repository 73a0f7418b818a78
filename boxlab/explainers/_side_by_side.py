"""Two candidates side by side: the four plots, the facts and the words that such pictures share.

The first candidate has the colours and the dash of its build; the second, the one compared with,
is thin, solid and grey.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from boxlab.base.units import litres, to_mm
from boxlab.draw.scene import Line, Mark, Number
from boxlab.explainers import _shared as shared
from boxlab.explainers._shared import against_frequency
from boxlab.gear.shelf import RADIATORS, leak, radiator_count
from boxlab.model.driver import Driver
from boxlab.model.enclosure import RadiatorBox, SealedBox
from boxlab.model.limits import UnknownLimitError, max_output
from boxlab.model.passband import passband
from boxlab.model.response import solve

FREQUENCY = np.geomspace(15, 150, 201)  # Hz
BUILDS = ("sealed", "radiator")
WATCHED = (20, 30, 40, 60, 80)  # Hz, rows of the numbers table


@dataclass(frozen=True, eq=False)
class Side:
    """One candidate: `count` equal boxes close together, each with one driver.

    Arrays are over FREQUENCY; `level` is at 2.83 V on each driver; `watts` (drawn in all),
    `rating` (of the amplifier that gives those volts, in W into the coils' Re) and `travel` are
    for the level asked for; `loudest` and `stop` are for the amplifier power each driver gets.
    `short` names it in the keys of plots, without numbers: a key that changes as a slider moves
    takes longer to draw than all curves.
    """

    name: str
    short: str
    driver: Driver
    box: SealedBox | RadiatorBox
    count: int
    f3: float
    level: np.ndarray
    loudest: np.ndarray
    stop: np.ndarray
    watts: np.ndarray
    rating: np.ndarray
    travel: np.ndarray

    @property
    def volume(self):
        """Net volume of all boxes together, m³."""
        return self.count * self.box.volume

    def at(self, curve, frequency):
        """One of the curves at one frequency."""
        return shared.at(FREQUENCY, getattr(self, curve), frequency)

    def stopped_by(self, frequency):
        """What stops it at the point of the grid next to `frequency`."""
        return str(self.stop[np.argmin(np.abs(np.log(FREQUENCY / frequency)))])


def boxed(build, volume, size, fb):
    """A box of `volume` litres for a driver of `size`; with `build` "radiator" tuned to `fb` Hz."""
    if build == "sealed":
        return SealedBox(litres(volume))
    n = radiator_count(size)
    return RadiatorBox.tuned(litres(volume), fb, RADIATORS[size], count=n, ql=leak(size))


def side(name, short, driver, box, count, wanted, power) -> Side:
    """Solve one candidate for `wanted` dB at 1 m, with `power` W of amplifier for each driver."""
    r = solve(driver, box, FREQUENCY)
    together = 20 * np.log10(count)  # pressures of boxes close together add
    try:
        top = max_output(driver, box, FREQUENCY, power=power, load=driver.re)
        highest, stop = top.spl + together, np.asarray(top.limit)
    except UnknownLimitError:  # all else is known without it
        highest, stop = np.full(FREQUENCY.shape, np.nan), np.full(FREQUENCY.shape, "not known")
    scale = 10 ** ((wanted - r.spl - together) / 20)
    return Side(
        name=name,
        short=short,
        driver=driver,
        box=box,
        count=count,
        f3=float(passband(driver, box).f3),
        level=r.spl + together,
        loudest=highest,
        stop=stop,
        watts=count * r.power * scale**2,
        rating=count * (r.voltage * scale) ** 2 / driver.re,
        travel=r.cone_excursion * scale,
    )


def plots(one, other, build, wanted, frequency):
    """Level, loudest level, watts and travel of both, with a cursor at `frequency` Hz."""
    here = Mark(frequency, f"{frequency:g} Hz")
    stop = float(to_mm(one.driver.xmax))

    def pair(curve, role, scale=1.0):
        return (
            Line(FREQUENCY, scale * getattr(other, curve), "quiet", other.short, ""),
            Line(FREQUENCY, scale * getattr(one, curve), role, one.short, build),
        )

    def plot(title, ylabel, ylim, lines, marks=(), yscale="linear"):
        return against_frequency(
            title, ylabel, ylim, lines, (here, *marks), yscale=yscale, xlim=(15, 150)
        )

    return (
        plot(
            "Level for 2.83 V on each driver",
            "level, dB re 20 µPa",
            (65, 105),
            pair("level", "sum"),
        ),
        plot(
            "Loudest, with this amplifier",
            "level, dB re 20 µPa",
            (80, 125),
            pair("loudest", "sum"),
        ),
        plot(
            f"Watts drawn for {wanted:g} dB",
            "electrical power, W",
            (0.1, 10000),
            pair("watts", "electrical"),
            yscale="log",
        ),
        plot(
            f"Travel of each cone for {wanted:g} dB",
            "cone excursion, mm peak",
            (0, 30),
            pair("travel", "cone", 1e3),
            (Mark(stop, f"Xmax {stop:g} mm", "limit", "y"),) if np.isfinite(stop) else (),
        ),
    )


def headed(text):
    """With a capital first letter, and the rest left alone: litres keep their L."""
    return text[:1].upper() + text[1:]


def differ(a, b, unit="dB"):
    """How a stands to b in words: "2.7 dB more", "the same"."""
    gap = a - b
    if abs(gap) < 0.05:
        return "the same"
    return f"{abs(gap):.1f} {unit} {'more' if gap > 0 else 'less'}"


def loudest(name, each, frequency):
    """How loud one of them gets at a frequency, and what stops it there."""
    return f"{name} {each.at('loudest', frequency):.1f} dB ({each.stopped_by(frequency)})"


def not_known(sides, frequency, amplifier):
    """That nothing says how loud they get, where a driver's limits are not known; else ""."""
    if all(np.isfinite(each.loudest).all() for each in sides):
        return ""
    return (
        f"How loud they get at {frequency:g} Hz on {amplifier:g} W is not known: that hangs on "
        "xmax and pe of the driver."
    )


def known_first(sentences):
    """The same sentences, with what is not known after what is."""
    return tuple(sorted(sentences, key=lambda each: "is not known" in each))


def ahead(one, other, frequency):
    """By how many decibels the first is louder: the gap of the levels as they are read."""
    first, second = (round(each.at("loudest", frequency), 1) for each in (one, other))
    return first - second + 0.0


def beyond(sides, wanted, frequency):
    """What of the level wanted at one frequency is more than these drivers bear, as warnings."""
    found = []
    for each in sides:
        watts, travel = each.at("watts", frequency), each.at("travel", frequency)
        pe, stop = each.count * float(each.driver.pe), float(each.driver.xmax)
        past = [f"{watts_text(watts)} of {watts_text(pe)} rated"] if watts > pe else []
        past += [f"{to_mm(travel):.1f} mm of {to_mm(stop):.1f} mm Xmax"] if travel > stop else []
        if past:
            found.append(f"{each.name}: {' and '.join(past)}")
    if not found:
        return ()
    return (
        f"{wanted:g} dB at {frequency:g} Hz is more than the driver bears in {'; '.join(found)}.",
    )


def watts_text(value):
    """Watts with the digits that matter."""
    return f"{value:.0f} W" if value >= 10 else f"{value:.1f} W"


def cost(each, frequency):
    """What the level wanted takes there: watts drawn, and the amplifier that can give them."""
    return (
        f"{watts_text(each.at('watts', frequency))} drawn from an amplifier of "
        f"{watts_text(each.at('rating', frequency))}"
    )


def numbers(one, other, frequency):
    """Rows of both candidates, one after the other, and what is loudest along the band."""
    rows = []
    for each in (one, other):
        rows += [
            shared.volume_number(f"{each.name}: net volume, all", each.volume),
            shared.hertz(f"{each.name}: f3", each.f3),
            Number(
                f"{each.name}: watts drawn at {frequency:g} Hz",
                watts_text(each.at("watts", frequency)),
            ),
            Number(
                f"{each.name}: amplifier for that, into Re",
                watts_text(each.at("rating", frequency)),
            ),
            shared.travel_number(
                f"{each.name}: travel at {frequency:g} Hz", each.at("travel", frequency)
            ),
        ]
    rows += [
        Number(
            f"loudest at {f:g} Hz, {one.name} / {other.name}",
            f"{one.at('loudest', f):.1f} / {other.at('loudest', f):.1f} dB",
        )
        for f in WATCHED
        if np.isfinite(one.at("loudest", f) + other.at("loudest", f))
    ]
    return tuple(rows)


def alt(one, other, wanted, frequency):
    """What the four plots show, for someone who cannot see them."""
    levels = [each.at("loudest", frequency) for each in (one, other)]
    known = np.isfinite(levels).all()
    highest = f"; {levels[0]:.1f} and {levels[1]:.1f}" if known else ", not known"
    return (
        f"Four plots against frequency, 15 to 150 Hz, log axis, each with {one.name} in dark lines "
        f"and {other.name} in grey. Upper left: level for 2.83 V, 65 to 105 dB re 20 µPa; at "
        f"{frequency:g} Hz {one.at('level', frequency):.1f} and "
        f"{other.at('level', frequency):.1f}. Upper right: loudest level, 80 to 125 dB{highest}. "
        f"Lower left: watts for {wanted:g} dB, 0.1 to 10000, log axis; "
        f"{watts_text(one.at('watts', frequency))} and "
        f"{watts_text(other.at('watts', frequency))}. Lower right: cone excursion for it, 0 to 30 "
        f"mm; {to_mm(one.at('travel', frequency)):.1f} and "
        f"{to_mm(other.at('travel', frequency)):.1f}."
    )
