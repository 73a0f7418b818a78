"""What the explainers of power share: one box, an amplifier, and the bass line through both."""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from boxlab.base.units import disc_area, mm
from boxlab.car import power
from boxlab.car.metering import admittance, metered
from boxlab.car.wiring import at_load
from boxlab.draw.scene import Choice, Slider
from boxlab.gear import shelf
from boxlab.gear.scenario import USUAL_QL
from boxlab.gear.shelf import CLASS_VOLUMES, DRIVERS, RADIATORS
from boxlab.model.coil_heat import warmed
from boxlab.model.enclosure import PortedBox, RadiatorBox, SealedBox
from boxlab.sound import programme

BUILDS = ("radiator", "ported", "sealed")
NOMINAL = 4.0  # Ω, rated impedance of the demo drivers' coils as they stand in the scenario
LOADS = ("1 Ω", "2 Ω", "4 Ω", "8 Ω")
FB = 45.0  # Hz

CREST = Slider(
    "crest", "Crest factor of the music", 6, 18, 12, 0.5, "dB",
    help="Peak over average. A sine has 3 dB, music usually 12 to 20.",
)  # fmt: skip
BUILD = Choice("build", "Box", BUILDS, BUILDS[0])
RATING = Slider("rating", "Rated power", 50, 1000, 300, 10, "W", help="A sine, into that load.")
LOAD = Choice("load", "Load the coils make", LOADS, "2 Ω")


def ohms(load):
    """Ω from "2 Ω"."""
    return float(load.split()[0])


def rated(job, load):
    """What the job's amplifier is rated for at this load, W; the most where it allows none such."""
    ratings = job.amplifier.ratings
    if load is None or load < min(ratings):
        return max(ratings.values())
    return float(job.amplifier.power(load))


def box_of(build, size=None, fb=None):
    """The box of this build: the open job's, or the class's for a size (ten-inch).

    The other builds of somebody's own box have its volume and tuning; the port is 100 mm wide.
    """
    job = shelf.current()
    if job is None or size not in (None, shelf.OWN):
        return _class_box(build, size or "ten-inch", fb or FB)
    mine = shelf.even_box(job)
    if fb is None and build == job.tables["box"]["kind"]:
        return mine
    if build == "sealed":
        return SealedBox(mine.volume)
    tuning, ql, count = float(mine.tuning()), float(job.ql.value), max(1, job.radiators)
    usual = tuning if np.isfinite(tuning) and tuning > 0 else FB
    if build == "radiator":
        unit = shelf.the_radiator()
        if fb is None:  # without weights a radiator tunes no higher than this
            fb = min(usual, float(RadiatorBox(mine.volume, unit, count=count).tuning()))
        return RadiatorBox.tuned(mine.volume, fb, unit, count=count, ql=ql)
    fb = fb or usual
    return PortedBox.tuned(mine.volume, fb, disc_area(mm(100)), ql=ql, max_length=3)


@lru_cache(maxsize=32)
def _class_box(build, size, fb):
    net = CLASS_VOLUMES[size]
    if build == "radiator":
        return RadiatorBox.tuned(net, fb, RADIATORS[size], ql=USUAL_QL)
    if build == "ported":
        return PortedBox.tuned(net, fb, disc_area(mm(100)), ql=USUAL_QL, max_length=3)
    return SealedBox(net)


def driver_of(load, size=None, hotter=None):
    """The driver with its coils wired for `load` Ω and `hotter` K above 20 °C.

    By default a coil is as warm as the open job says, or at 20 °C.
    """
    job = shelf.current()
    if job is None or size not in (None, shelf.OWN):
        return warmed(at_load(DRIVERS[size or "ten-inch"], NOMINAL, load), hotter or 0.0)
    shelf.note(shelf.OWN)
    told = job.tables["driver"].get("coil_temperature", 20.0) - 20.0
    return warmed(at_load(job.cold, job.load, load), told if hotter is None else hotter)


@lru_cache(maxsize=64)
def line_of(crest):
    """The bass line with this crest factor, dB."""
    line = programme.bass_line_with_crest(crest)
    line.flags.writeable = False
    return line


def at_the_rails(crest, rating, load, overdrive=0.0):
    """Volts on the terminals: the bass line to the rails of an amplifier, or past them."""
    rails = np.sqrt(2 * rating * load)
    return rails * power.clip(line_of(crest), overdrive)


def read(driver, box, volts, window):
    """A wattmeter on those volts."""
    return metered(driver, box, volts, programme.RATE, window)


@lru_cache(maxsize=32)
def conductance(driver, box, samples):
    """Re(1/Z) and |1/Z|² on the Fourier lines of a loop of `samples`, each shape (k,)."""
    y = admittance(driver, box, np.fft.rfftfreq(samples, 1 / programme.RATE))
    return np.real(y), np.abs(y) ** 2


def powers(volts):
    """Mean square of each Fourier line of a loop, V², shape (k,); together that of `volts`."""
    lines = 2 * np.abs(np.fft.rfft(volts) / volts.size) ** 2
    lines[0] /= 2
    if volts.size % 2 == 0:
        lines[-1] /= 2
    return lines


def averages(driver, box, volts):
    """Average power into the terminals and the part that heats the coil, W."""
    real, square = conductance(driver, box, volts.size)
    lines = powers(volts)
    return float(lines @ real), float(lines @ square) * driver.re
