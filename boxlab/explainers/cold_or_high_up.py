"""Cold and height: what thinner, colder air does to the tuning of a port and of a radiator."""

from __future__ import annotations

from types import MappingProxyType

import numpy as np

from boxlab.base.units import to_feet, to_grams, to_mm
from boxlab.draw.scene import Choice, Explainer, Line, Mark, Number, Plot, Scene, Slider
from boxlab.explainers import _music as music
from boxlab.explainers import _shared as shared
from boxlab.explainers._cuts import shown
from boxlab.explainers._shared import against_frequency
from boxlab.gear.shelf import DRIVERS
from boxlab.model.air import Air
from boxlab.model.enclosure import PortedBox, RadiatorBox
from boxlab.model.response import solve

FREQUENCY = np.geomspace(15, 150, 201)  # Hz
TEMPERATURES = np.linspace(-30, 50, 81)  # °C
HEIGHTS = np.linspace(0, 4000, 81)  # m
DRIVE = 10.0  # V
PSI = 6894.757  # Pa
WORKSHOP = Air()  # in which boxes are reckoned and mostly built
BUILDS = ("ported", "radiator", "sealed")
NAMES = MappingProxyType({"ported": "port", "radiator": "radiator", "sealed": "sealed: resonance"})


def tuning(driver, box, air):
    """What a box is tuned to, Hz: its vent, or where it has none the cone on suspension and air."""
    if box.vent(air) is None:
        return driver.fs * np.sqrt(1 + driver.vas(air) / box.volume)
    return box.tuning(air)


def shift(driver, box, air):
    """How far a tuning moves from the workshop's air, %; shape of the air."""
    return 100 * (tuning(driver, box, air) / tuning(driver, box, WORKSHOP) - 1)


def scene(size, temperature, altitude, humidity) -> Scene:
    """Three boxes of one driver at `temperature` °C and `altitude` m, air of `humidity` %."""
    driver = DRIVERS[size]
    boxes = {build: music.box_of(build, size) for build in BUILDS}
    here = Air.at_altitude(altitude, temperature, humidity / 100)
    moved = {build: float(shift(driver, box, here)) for build, box in boxes.items()}
    at = {build: float(tuning(driver, box, here)) for build, box in boxes.items()}
    was = {build: float(tuning(driver, box, WORKSHOP)) for build, box in boxes.items()}
    place = f"{temperature:g} °C and {altitude:g} m up".replace("-", "−")
    text = (
        f"At {place} the port's tuning moves by {_signed(moved['ported'])} %, the radiator's by "
        f"{_signed(moved['radiator'])} %."
    )
    return Scene(
        **shown(
            {build: shared.state(driver, box, DRIVE, here) for build, box in boxes.items()},
            was["ported"],
            DRIVE,
        ),
        title=f"At {place}: {size}",
        plots=(
            _shifts(
                "By temperature", "temperature, °C", TEMPERATURES, temperature, driver, boxes,
                Air.at_altitude(np.full(TEMPERATURES.shape, float(altitude)), TEMPERATURES),
            ),
            _shifts(
                "By height above the sea", "height, m", HEIGHTS, altitude, driver, boxes,
                Air.at_altitude(HEIGHTS, np.full(HEIGHTS.shape, float(temperature))),
            ),
            _levels("ported", driver, boxes["ported"], here, at["ported"]),
            _levels("radiator", driver, boxes["radiator"], here, at["radiator"]),
        ),
        readout=(
            text,
            f"Port: {was['ported']:.1f} Hz becomes {at['ported']:.1f} Hz. {_port(boxes, here)} "
            "Its mass and its spring are both air, so only the speed of sound counts.",
            f"Radiator: {was['radiator']:.1f} Hz becomes {at['radiator']:.1f} Hz. "
            f"{_weights(boxes, here)} Its mass stays, and the spring of the air goes with the "
            "pressure, hardly with the cold.",
            f"Sealed, the resonance goes from {was['sealed']:.1f} to {at['sealed']:.1f} Hz.",
            "Left out, as no figures were found: rubber, foam and cloth stiffen in the cold. A "
            "cold radiator may well tune higher than this, and a cold cone move less, until they "
            "have played themselves warm.",
        ),
        numbers=_numbers(was, at, here),
        caption=(
            f"Three boxes for one {size} driver, worked out at 20 °C at sea level, and played at "
            f"{place}. {text}"
        ),
        alt=(
            "Four plots. Upper left: change of tuning in per cent, −25 to 15, against temperature, "
            "−30 to 50 °C: the port's rises, the radiator's stays level. Upper right: the same "
            "against height, 0 to 4000 m: the radiator's falls, the port's stays level. Lower "
            "left and right: level in decibels, 70 to 110, against frequency, 15 to 150 Hz, of "
            f"the port box and the radiator box, in the workshop and there. {text}"
        ),
        code=(
            "from boxlab import Air\n"
            "from boxlab.explainers import _music as music\n"
            f"air = Air.at_altitude({altitude:g}, {temperature:g}, {humidity / 100:g})\n"
            'for build in ("ported", "radiator"):\n'
            f"    box = music.box_of(build, {size!r})\n"
            "    print(build, box.tuning(), box.tuning(air))"
        ),
    )  # fmt: skip


def _signed(value):
    """Per cent with its sign; nothing at all has none."""
    return f"{value:+.1f}".replace("-", "−") if abs(value) >= 0.05 else "0.0"


def _shifts(title, label, across, now, driver, boxes, air):
    return Plot(
        title,
        label,
        "change of tuning, %",
        (float(across[0]), float(across[-1])),
        (-25, 15),
        tuple(
            Line(across, shift(driver, box, air), role, NAMES[build], build)
            for (build, box), role in zip(boxes.items(), ("vent", "sum", "cone"), strict=True)
        ),
        (
            Mark(now, f"{now:g} {label.rpartition(', ')[2]}".replace("-", "−")),
            Mark(0, "", "quiet", "y"),
        ),
        xscale="linear",
    )


def _levels(build, driver, box, here, fb):
    there = solve(driver, box, FREQUENCY, DRIVE, here).spl
    return against_frequency(
        f"{build.capitalize()} box: level at {DRIVE:g} V and 1 m",
        "level, dB re 20 µPa",
        (70, 110),
        (
            Line(FREQUENCY, solve(driver, box, FREQUENCY, DRIVE).spl, "quiet", "20 °C, sea level"),
            Line(FREQUENCY, there, "sum", "there", build),
        ),
        (Mark(fb, f"{fb:.1f} Hz"),),
        xlim=(15, 150),
    )


def _port(boxes, here):
    """What a port would need for its old tuning."""
    box = boxes["ported"]
    try:
        made = PortedBox.tuned(
            box.volume, float(box.tuning()), box.port.area, count=box.count, max_length=10,
            end_correction=box.port.end_correction, air=here,
        )  # fmt: skip
    except ValueError:
        return "No length of it gives the old tuning there."
    change = float(to_mm(made.port.length - box.port.length))
    if abs(change) < 1:
        return "It needs no other length."
    return f"The old tuning would ask for a port {abs(change):.0f} mm {_way(change)}."


def _way(change):
    return "longer" if change > 0 else "shorter"


def _weights(boxes, here):
    """What a radiator would need for its old tuning."""
    box = boxes["radiator"]
    bare = box.radiator.with_mass(0.0)
    highest = float(RadiatorBox(box.volume, bare, count=box.count).tuning(here))
    if highest < float(box.tuning()):
        return f"Without any weights it reaches {highest:.1f} Hz there."
    made = RadiatorBox.tuned(box.volume, float(box.tuning()), bare, count=box.count, air=here)
    change = float(to_grams(made.radiator.added_mass - box.radiator.added_mass))
    if abs(change) < 0.5:
        return "It needs no other weights."
    what = "added to" if change > 0 else "taken off"
    return f"The old tuning would ask for {abs(change):.0f} g {what} each radiator."


def _numbers(was, at, here):
    pressure, speed = here.pressure, here.speed_of_sound
    rows = [
        Number("air pressure there", f"{pressure / 100:.0f} hPa", f"{pressure / PSI:.2f} psi"),
        Number("density of the air there", f"{here.density:.3f} kg/m³"),
        Number("speed of sound there", f"{speed:.1f} m/s", f"{to_feet(speed):.0f} ft/s"),
    ]
    for build in BUILDS:
        rows.append(shared.hertz(f"{NAMES[build]}, 20 °C at sea level", was[build]))
        rows.append(shared.hertz(f"{NAMES[build]}, there", at[build]))
    return tuple(rows)


EXPLAINERS = (
    Explainer(
        name="cold_or_high_up",
        question="What do cold and altitude do to a tuning?",
        controls=(
            Choice("size", "Driver", tuple(DRIVERS), "ten-inch"),
            Slider("temperature", "Temperature of the air", -30, 50, -10, 1, "°C"),
            Slider("altitude", "Height above the sea", 0, 4000, 1500, 50, "m"),
            Slider("humidity", "Humidity", 0, 100, 0, 5, "%", more=True),
        ),
        scene=scene,
        lesson="08-in-the-car.ipynb",
        anchor="What-do-cold-and-altitude-do-to-a-tuning",
        answer=(
            "Cold lowers the tuning of a port, 5 % at −10 °C, and hardly that of a radiator; "
            "height lowers that of a radiator, some 8 % at 1500 m, and not that of a port. "
            "Suspensions that stiffen in the cold come on top."
        ),
        presets={
            "hot car at the sea": {"temperature": 50.0, "altitude": 0.0},
            "a pass in winter": {"temperature": -20.0, "altitude": 2500.0},
        },
    ),
)
