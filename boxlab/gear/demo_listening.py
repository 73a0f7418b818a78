"""Boxes of the evening class to listen to, and small speakers that cannot play them (invented)."""

from __future__ import annotations

from boxlab.base.units import disc_area, mm
from boxlab.gear.scenario import USUAL_QL
from boxlab.gear.shelf import CLASS_VOLUMES, DRIVERS, RADIATORS, remembered
from boxlab.model.driver import Driver
from boxlab.model.enclosure import PortedBox, RadiatorBox, SealedBox

BUILDS = ("radiator", "ported", "sealed")
CONE, TRAVEL = mm(28), mm(0.6)  # of the small speaker
PORT = mm(100)  # inside diameter; how long it is, and whether it fits, is another lesson


@remembered(64)
def box_of(build, size="ten-inch", volume=None, fb=45.0, count=1, ql=USUAL_QL):
    """The demo box of one build: net `volume` in m³ (the usual one if None), tuning in Hz.

    `count` is of radiators; `ql` the leak.

    Raises
    ------
    ValueError
        If no weights tune it so: the bare radiator is already too heavy.
    """
    net = CLASS_VOLUMES[size] if volume is None else volume
    if build == "radiator":
        return RadiatorBox.tuned(net, fb, RADIATORS[size], count=count, ql=ql)
    if build == "ported":
        return PortedBox.tuned(net, fb, disc_area(PORT), ql=ql, max_length=3)
    return SealedBox(net)


@remembered(1)
def shelf(size="ten-inch"):
    """What the lesson plays, name -> (driver, box): one driver, one volume, three builds."""
    return {build: (DRIVERS[size], box_of(build, size)) for build in ("sealed", *BUILDS[:2])}


def small_speaker(resonance=450.0, cone=CONE, travel=TRAVEL):
    """An invented small speaker, mounted so that its back is shut off: give Hz, m and m.

    `resonance` is that of the mounted speaker; `solve` takes it with no box (None). It has the
    Q of a maximally flat response. The defaults are plausible for a laptop and belong to none.
    """
    # Vas scales only how loud it is for a volt, not what travel allows: a plain cube of the cone.
    return Driver.from_datasheet(
        fs=resonance, qes=0.85, qms=4.2, vas=2.0 * cone**3, sd=disc_area(cone), re=6.5,
        xmax=travel, pe=2.0, name="small demo speaker (invented)",
    )  # fmt: skip
