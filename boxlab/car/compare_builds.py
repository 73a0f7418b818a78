"""One gap, one driver, three builds side by side: sealed, ported and with radiators.

Each gets the air that is left once its own parts are in: a port takes its tube, radiators take
their baskets. What cannot be built is kept, with the reason in words.
"""

from __future__ import annotations

import math
import warnings
from dataclasses import replace

import numpy as np

from boxlab.base.checks import not_negative, positive
from boxlab.base.units import disc_area, disc_diameter
from boxlab.car.arrangement import all_placed, arranged, weights_and_sag
from boxlab.car.build_value import Build
from boxlab.car.clearance import Clearance, Mounting, clearances, depth_behind, place, spacing
from boxlab.car.joinery import Carcass
from boxlab.model.air import Air
from boxlab.model.driver import Driver
from boxlab.model.enclosure import PortedBox, RadiatorBox, SealedBox
from boxlab.model.limits import max_output
from boxlab.model.passband import passband
from boxlab.model.port_equivalent import WALL
from boxlab.model.radiator import Radiator
from boxlab.model.vents import PORT_SPEED, end_correction_of

WEIGHT_ACROSS = 0.03  # m, of the largest washers in a stack


def port_in(
    available: float, fb: float, area: float, count: int = 1, wall: float = WALL,
    air: Air | None = None,
) -> tuple[float, float]:  # fmt: skip
    """Net volume and port length when `count` round ports stand inside, as `(m³, m)`.

    The tube takes room, which asks for a longer tube: with L = n·S·c²/(ωb²·V) − ends and
    V = available − n·S_outer·L that is a quadratic in V.

    Raises
    ------
    ValueError
        If no length does: it says how large the box would have to be.

    >>> volume, length = port_in(0.025, 40.0, 0.005)
    >>> round(1e3 * volume, 1), round(1e3 * length)  # L, mm
    (23.0, 347)

    Parameters
    ----------
    available : m³ for the port and the net volume
    fb : Hz
    area : m² of one port
    count : of ports
    wall : m, of the tube
    air : Air; 20 °C at sea level if left out
    """
    air = Air() if air is None else air
    available = positive("available", available, "Give m³: boxlab.litres(20).")
    area = positive("port area", area, "Give m²: boxlab.cm2(80).")
    fb = positive("fb", fb, "Tuning is in hertz.")
    outer = count * disc_area(disc_diameter(area) + 2 * not_negative("wall", wall))
    stiff = count * area * air.speed_of_sound**2 / (2 * np.pi * fb) ** 2
    ends = end_correction_of(area)
    half = (available + outer * ends) / 2
    root = half**2 - outer * stiff
    if root < 0:
        needed = 2 * math.sqrt(outer * stiff) - outer * ends
        raise ValueError(
            f"no port of {area * 1e4:.0f} cm² tunes {available * 1e3:.1f} L to {fb:g} Hz: its own "
            f"tube eats the air it needs; {needed * 1e3:.1f} L is the least. Use less port area, a "
            "higher tuning, or a radiator."
        )
    volume = half + math.sqrt(root)
    length = stiff / volume - ends
    if length < 0:
        raise ValueError(
            f"{available * 1e3:.1f} L with {area * 1e4:.0f} cm² of port tunes below {fb:g} Hz even "
            "with no tube. Use more port area or a lower tuning."
        )
    return float(volume), float(length)


def compare_builds(
    carcass: Carcass, driver: Driver, driver_part: Mounting, *, fb: float, port_area: float,
    radiator: Radiator | None = None, radiator_part: Mounting | None = None,
    power: float | None = None, voltage: float | None = None, load: float | None = None,
    air_speed: float = PORT_SPEED, band: tuple[float, float] = (25.0, 100.0), brace: float = 0.0,
    ql: float = math.inf, count: int = 1, driver_at: tuple[float, float] = (0.0, 0.0),
    radiator_face: str | None = None, radiator_at: tuple[float, float] = (0.0, 0.0),
    air: Air | None = None,
) -> tuple[Build, ...]:  # fmt: skip
    """Sealed, ported and radiator builds of the same gap, driver, tuning and amplifier.

    >>> from boxlab import cm2
    >>> from boxlab.car.joinery import Carcass, Gap
    >>> from boxlab.gear.demo_parts import DRIVER_PARTS
    >>> from boxlab.gear.scenario import TEN_INCH_DRIVER
    >>> gap = Carcass(Gap(0.6, 0.36, 0.25, 0.2))
    >>> given = (gap, TEN_INCH_DRIVER, DRIVER_PARTS['ten-inch'])
    >>> builds = compare_builds(*given, fb=38.0, port_area=cm2(50))
    >>> [build.kind for build in builds]
    ['sealed', 'ported']

    Parameters
    ----------
    carcass : boxlab.car.joinery.Carcass
    driver, driver_part : Driver and its `boxlab.car.clearance.Mounting`
    fb : tuning in Hz for the ported and the radiator build
    port_area : m² of one round port
    radiator, radiator_part : Radiator and its Mounting, whose `count` says how many; left out, no
        such build
    power, voltage, load, air_speed : as for `max_output`
    band : lowest and highest Hz to play
    brace : m³ taken by braces
    ql, air : as for the boxes
    count : number of ports
    driver_at, radiator_at : place of the (first) one on its face, m from the middle: along, up
    radiator_face : panel that holds the radiator; left out, its clearance is not checked

    Returns
    -------
    tuple of Build
    """
    air = Air() if air is None else air
    f = np.geomspace(*(positive("band", edge, "Give hertz.") for edge in band), 200)
    if not f[0] < f[-1]:
        raise ValueError(f"band = {band}: give the lowest and the highest frequency, in Hz")
    parts = {
        "driver": driver_part.displacement(carcass.thickness(carcass.baffle)),
        "brace": brace,
    }
    mounted = clearances(carcass, driver_part, place(carcass, *driver_at))
    makers = {
        "sealed": lambda: _sealed(carcass, parts),
        "ported": lambda: _ported(carcass, parts, fb, port_area, count, ql, air),
    }
    if radiator is not None:
        if radiator_part is None:
            raise ValueError("give radiator_part too: the radiators take room inside the box")
        makers["radiator"] = lambda: _radiator(carcass, parts, fb, radiator, radiator_part, ql, air)
    found = []
    for kind, make in makers.items():
        with warnings.catch_warnings(record=True) as heard:
            warnings.simplefilter("always")
            try:
                box, shares, fits, mass = make()
            except ValueError as error:
                found.append(Build(kind, None, problem=str(error)))
                continue
            ceiling = max_output(
                driver,
                box,
                f,
                power=power,
                voltage=voltage,
                load=load,
                air_speed=air_speed,
                air=air,
            )
            extra = ()
            if kind == "radiator":
                extra = _radiator_fits(
                    carcass, driver_part, driver_at, radiator_part, radiator_face, radiator_at,
                    box.radiator,
                )  # fmt: skip
            found.append(
                Build(
                    kind=kind,
                    box=box,
                    shares=shares,
                    tuning=float(box.tuning(air)),
                    f3=float(passband(driver, box, air).f3),
                    ceiling=ceiling,
                    fits=(*mounted, *fits, *extra),
                    added_mass=mass,
                    notes=tuple(str(w.message) for w in heard),
                )
            )
    return tuple(found)


def _sealed(carcass, parts):
    shares = carcass.shares(**parts)
    return SealedBox(shares.net), shares, (), 0.0


def _ported(carcass, parts, fb, area, count, ql, air):
    available = carcass.shares(**parts).net
    volume, length = port_in(available, fb, area, count, air=air)
    shares = carcass.shares(**parts, port=available - volume)
    box = PortedBox.tuned(volume, fb, area, count=count, ql=ql, air=air, max_length=3)
    inner, outer = carcass.inner, disc_diameter(area) + 2 * WALL
    sizes = sorted((inner.width, inner.height, min(inner.depth_bottom, inner.depth_top)))
    # Common practice, no published source: one diameter free at the inner end.
    run = Clearance("straight port", sizes[2], length + disc_diameter(area))
    across = Clearance("port tube between the walls", sizes[0], outer)
    beside = Clearance(f"{count} port tubes side by side", sizes[1], count * outer)
    return box, shares, (run, across, *((beside,) if count > 1 else ())), 0.0


def _radiator(carcass, parts, fb, radiator, part, ql, air):
    shares = carcass.shares(**parts, radiators=part.displacement(carcass.board))
    box = RadiatorBox.tuned(shares.net, fb, radiator, count=part.count, ql=ql, air=air)
    return box, shares, (), float(box.radiator.added_mass)


def _radiator_fits(carcass, driver_part, driver_at, part, face, at, radiator):
    if face is None:
        return ()
    thick = carcass.baffle_board if face == carcass.baffle else None
    other = replace(carcass, baffle=face, baffle_board=thick)
    same = face == carcass.baffle
    taken = ((*driver_at, driver_part.outer),) if same else ()
    found = clearances(other, part, place(other, *at))
    if same and math.dist(driver_at, at):
        found += (spacing(driver_part, part, math.dist(driver_at, at)),)
    places = arranged(other, part, part.count, at, taken)
    if part.count > 1:
        found += (all_placed(other, part, part.count, at, taken),)
        for number, spot in enumerate(places[1:], 2):
            each = clearances(other, part, place(other, *spot))
            found += tuple(replace(c, what=f"{c.what} (number {number})") for c in each)
    depths = [depth_behind(other, place(other, *spot), WEIGHT_ACROSS) for spot in places]
    return found + weights_and_sag(other, part, radiator, face, *depths)
