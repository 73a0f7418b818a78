"""The one box of the lesson on phase: 14 L, ten-inch gear, a radiator or a port, two losses."""

from __future__ import annotations

from dataclasses import replace

from boxlab.base.units import disc_area, litres, mm, to_litres
from boxlab.draw.scene import Choice, Slider
from boxlab.explainers._cuts import VOLTS, cut
from boxlab.explainers._shared import cubic_feet_text
from boxlab.gear.scenario import USUAL_QL
from boxlab.gear.shelf import current, note, radiator_count, the_radiator
from boxlab.model.enclosure import PortedBox, RadiatorBox
from boxlab.model.losses import with_vent_q
from boxlab.model.port_equivalent import as_radiator

_CLASS_VOLUME = 14  # L
PORT = 75  # mm inside diameter
BUILDS = ("radiator", "port")
USUAL_QR = 37  # of the demo radiator's own friction in this box at 36 Hz
START_FB = 36

BUILD_CONTROL = Choice("build", "Vent", BUILDS, BUILDS[0])
FB_CONTROL = Slider("fb", "Tuning", 28, 45, START_FB, 0.5, "Hz")
QL_CONTROL = Slider(
    "ql", "Leak, as QL", 2, 30, USUAL_QL, 0.5, "", help="Lower leaks more. 7 is usual."
)
QR_CONTROL = Slider(
    "qr",
    "Friction, as QR",
    2,
    100,
    USUAL_QR,
    1,
    "",
    help="Of the radiator's suspension, or in the port. Lower rubs more.",
)


def folded(control):
    """The control kept under "more", for panels whose pictures need the room."""
    return replace(control, more=True)


def volume():
    """Net volume of the box spoken of, L: the open job's, else the class's."""
    job = current()
    return _CLASS_VOLUME if job is None else float(f"{to_litres(job.box.volume):.4g}")


def volume_text():
    """The same in both units: "14 L (0.49 ft³)"."""
    return f"{volume():g} L ({cubic_feet_text(volume())})"


def box_of(build, fb, ql=USUAL_QL, qr=USUAL_QR):
    """The box tuned to `fb` Hz with leak QL and with a vent whose friction has Q `qr` there.

    A port with friction is a radiator without suspension: its air is the moving mass.
    """
    net = litres(volume())
    if build == "radiator":
        box = RadiatorBox.tuned(net, fb, the_radiator(), count=radiator_count(), ql=ql)
    else:
        ported = PortedBox.tuned(net, fb, _port_area(), max_length=3)
        box = RadiatorBox(net, as_radiator(ported.port), ql=ql)
    return with_vent_q(box, qr)


def _port_area():
    """Of all ports of the open job's box, m²; the class's where it has none."""
    box = None if current() is None else current().box
    if isinstance(box, PortedBox):
        return float(box.port.area * box.count)
    note("demo")
    return disc_area(mm(PORT))


def cut_of(driver, build, fb, ql=USUAL_QL, qr=USUAL_QR, tone=None, volts=VOLTS):
    """The same box cut open, moving at `tone` Hz."""
    box = box_of(build, fb, ql, qr)
    if build == "radiator":
        return cut(driver, box, tone, volts)
    ported = PortedBox.tuned(litres(volume()), fb, _port_area(), ql=ql, max_length=3)
    return cut(driver, ported, tone, volts, solved=box)


def build_code(build, fb, ql, qr):
    """Lines of Python that make the same box."""
    rms = float(box_of(build, fb, ql, qr).radiator.rms)
    if build == "radiator":
        return (
            "from dataclasses import replace\n"
            "from boxlab import RadiatorBox, litres, solve\n"
            "from boxlab.gear.scenario import TEN_INCH_DRIVER, TEN_INCH_RADIATOR\n"
            f"radiator = replace(TEN_INCH_RADIATOR, rms={rms:.4g})\n"
            f"box = RadiatorBox.tuned(litres({volume():g}), {fb:g}, radiator, ql={ql:g})\n"
        )
    return (
        "from dataclasses import replace\n"
        "from boxlab import PortedBox, RadiatorBox, litres, solve\n"
        "from boxlab.model.port_equivalent import as_radiator\n"
        "from boxlab.gear.scenario import TEN_INCH_DRIVER\n"
        f"port = PortedBox.tuned(litres({volume():g}), {fb:g}, {_port_area():.6g}, "
        "max_length=3).port\n"
        f"box = RadiatorBox(litres({volume():g}), replace(as_radiator(port), rms={rms:.4g}), "
        f"ql={ql:g})\n"
    )


def dash(build):
    """The build of a line, for its dash."""
    return "ported" if build == "port" else "radiator"


def mover(build):
    """What moves in the vent, in words."""
    return "radiator" if build == "radiator" else "air in the port"
