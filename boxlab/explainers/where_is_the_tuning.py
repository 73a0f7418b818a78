"""Where the tuning is in an impedance curve, and how far the two usual readings lie from it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from boxlab.base.units import disc_area, litres, mh, mm
from boxlab.draw.scene import Choice, Explainer, Line, Mark, Number, Plot, Scene, Slider
from boxlab.explainers import _shared as shared
from boxlab.explainers._cuts import cut
from boxlab.explainers._shared import FREQUENCY, against_frequency
from boxlab.explainers.port_or_radiator import trio
from boxlab.gear import shelf
from boxlab.gear.scenario import USUAL_QL
from boxlab.gear.shelf import remembered, the_driver
from boxlab.measure.fit.landmarks import landmarks
from boxlab.model.enclosure import PortedBox, RadiatorBox
from boxlab.model.response import solve

BUILDS = ("radiator", "ported")
_FINE = np.geomspace(8, 160, 701)
_COILS = np.linspace(0, 4, 9)  # mH
_LOSSES = np.geomspace(3, 50, 11)  # QL
_LEVELS = (0, 60)
_OFF = (-8, 8)


def box_for(build, volume, fb, ql):
    """The box and a warning, or "", for settings as the panel gives them."""
    if shelf.current() is not None:
        return _mine(shelf.current(), build, litres(volume), fb, ql), ""
    three = trio("ten-inch", volume, fb, 50, 0.6, "one", ql)
    if build == "ported":
        return three.ported, ""
    return three.radiator, three.warning


def _mine(job, build, volume, fb, ql):
    """A box of the open job's: its radiators, or a port, whose width changes nothing here."""
    if build == "ported":
        return PortedBox.tuned(volume, fb, disc_area(mm(50)), ql=ql, max_length=3)
    count = max(1, job.radiators)
    return RadiatorBox.tuned(volume, fb, shelf.the_radiator(), count=count, ql=ql)


def _lossless(box):
    box = replace(box, ql=np.inf)
    return (
        replace(box, radiator=replace(box.radiator, rms=0.0)) if hasattr(box, "radiator") else box
    )


@remembered(64)
def _bare(build, volume, fb, ql):
    """Tuning, and curves without inductance: with losses, without any, and for each of _LOSSES."""
    box, _ = box_for(build, volume, fb, ql)
    each = replace(box, ql=_LOSSES)
    driver = replace(the_driver(), le=0.0)
    curves = [solve(driver, b, _FINE).impedance for b in (box, _lossless(box), each)]
    return float(box.tuning()), *curves


def _coil(le):
    return 2j * np.pi * _FINE * mh(le)


def offsets(build, volume, fb, le, ql):
    """How far the lowest point and the zero of the phase lie from the tuning, Hz (signed).

    Returns landmarks, tuning, and three pairs: all in, by the coil alone, by losses alone.
    """
    tuning, lossy, tight, _ = _bare(build, volume, fb, ql)
    found = landmarks(_FINE, lossy + _coil(le))
    others = (landmarks(_FINE, tight + _coil(le)), landmarks(_FINE, lossy))
    return found, tuning, *((m.fm - tuning, m.fz - tuning) for m in (found, *others))


def _sweeps(build, volume, fb, le, ql):
    """The offsets against inductance, shape (9, 2), and against QL, shape (11, 2)."""
    tuning, lossy, _, each = _bare(build, volume, fb, ql)
    by_coil = [landmarks(_FINE, lossy + _coil(x)) for x in _COILS]
    by_loss = [landmarks(_FINE, z + _coil(le)) for z in each]
    return tuple(
        np.array([(m.fm - tuning, m.fz - tuning) for m in ms]) for ms in (by_coil, by_loss)
    )


def scene(build, volume, fb, le, ql) -> Scene:
    """The curve of one box (litres, Hz, mH, QL) with its tuning and what is read for it."""
    box, warning = box_for(build, volume, fb, ql)
    driver = replace(the_driver(), le=mh(le))
    z = solve(driver, box, FREQUENCY).impedance
    found, tuning, (low, zero), coil, loss = offsets(build, volume, fb, le, ql)
    by_coil, by_loss = _sweeps(build, volume, fb, le, ql)
    return Scene(
        shows={build: shared.state(driver, box)},
        cutaway=cut(driver, box, tuning),
        title=f"{build}, {volume:g} L: tuned to {tuning:.1f} Hz, lowest at {found.fm:.1f} Hz",
        plots=(
            _magnitude(z, build, found, tuning),
            _phase(z, build, found, tuning),
            _off("Against the coil's inductance", "inductance, mH", _COILS, by_coil, build, le),
            _off("Against the box's losses", "QL", _LOSSES, by_loss, build, ql),
        ),
        readout=_readout(found, tuning, low, zero, coil, loss, le, ql),
        numbers=_numbers(found, tuning, coil, loss),
        caption=(
            f"Impedance of the ten-inch demo driver in {volume:g} L "
            f"({shared.cubic_feet_text(volume)}), {build}, tuned to {tuning:.1f} Hz. Between the "
            f"peaks the lowest point lies {_side(low)} the tuning, and the phase is zero "
            f"{_side(zero)} it."
        ),
        alt=(
            "Four plots. Upper left: magnitude of impedance in ohms, 0 to 60, against frequency, "
            f"10 to 200 Hz, with peaks at {found.fl:.1f} and {found.fh:.1f} Hz and the lowest "
            f"point between at {found.fm:.1f} Hz; the tuning is {tuning:.1f} Hz. Upper right: "
            f"phase, −90 to 90 degrees, {_rise(found.fz)} between the "
            "peaks. Lower left: distance of both readings from the tuning, −8 to 8 Hz, against "
            "inductance, 0 to 4 mH. Lower right: the same against QL, 3 to 50."
        ),
        code=_code(build, volume, fb, le, ql),
        warnings=(warning,) if warning else (),
    )


def _rise(zero):
    return "not reaching zero" if np.isnan(zero) else f"rising through zero at {zero:.1f} Hz"


def _side(off):
    if np.isnan(off):
        return "nowhere near"
    if abs(off) < 0.05:
        return "within 0.1 Hz of"
    return f"{abs(off):.1f} Hz {'above' if off > 0 else 'below'}"


def _magnitude(z, build, found, tuning):
    return against_frequency(
        "Impedance",
        "magnitude of impedance, Ω",
        _LEVELS,
        (Line(FREQUENCY, np.abs(z), "electrical", "", build),),
        (
            Mark(found.fl, "fL"),
            Mark(tuning, "tuning", "vent"),
            Mark(found.fm, "lowest", "limit"),
            Mark(found.fh, "fH"),
        ),
    )


def _phase(z, build, found, tuning):
    return against_frequency(
        "Phase",
        "phase of impedance, degrees",
        (-90, 90),
        (Line(FREQUENCY, np.degrees(np.angle(z)), "electrical", "", build),),
        (
            Mark(0.0, "", "quiet", "y"),
            Mark(tuning, "tuning", "vent"),
            *([] if np.isnan(found.fz) else [Mark(found.fz, "zero phase", "limit")]),
        ),
        yticks=(-90, -45, 0, 45, 90),
    )


def _off(title, label, x, both, build, now):
    scale = "linear" if label.startswith("ind") else "log"
    return Plot(
        title,
        label,
        "off the tuning, Hz",
        (float(x[0]), float(x[-1])),
        _OFF,
        (
            Line(x, both[:, 0], "electrical", "lowest point", build),
            Line(x, both[:, 1], "limit", "zero phase", kind="points"),
        ),
        (Mark(now, "now"), Mark(0.0, "the tuning", "vent", "y")),
        xscale=scale,
    )


def _readout(found, tuning, low, zero, coil, loss, le, ql):
    taller = "lower" if found.zl > found.zh else "upper"
    wrong = 100 * ((tuning / found.fm) ** 2 - 1)
    return (
        f"The tuning is {tuning:.1f} Hz: the lowest point lies {_side(low)} it, zero phase "
        f"{_side(zero)} it.",
        f"Peaks at {found.fl:.1f} and {found.fh:.1f} Hz, {found.zl:.0f} and {found.zh:.0f} Ω: the "
        f"{taller} one is taller. Valley {found.zm:.1f} Ω.",
        f"Of the lowest point's distance, the {le:g} mH alone make {_signed(coil[0])} and the "
        f"losses alone (QL {ql:g}) {_signed(loss[0])}. Of the zero phase's: {_signed(coil[1])} and "
        f"{_signed(loss[1])}.",
        f"If you take the lowest point for the tuning, you put the vent's mass "
        f"{abs(wrong):.0f} % {'too large' if wrong > 0 else 'too small'}.",
    )


def _signed(off, digits=1):
    if np.isnan(off):
        return "no zero there"
    # adding zero turns a rounded −0 into +0
    return f"{round(off, digits) + 0.0:+.{digits}f} Hz".replace("-", "−")


def _numbers(found, tuning, coil, loss):
    def signed(name, value):
        return Number(name, _signed(value, 2))

    zero = (
        Number("zero phase", "none") if np.isnan(found.fz) else shared.hertz("zero phase", found.fz)
    )

    return (
        shared.hertz("tuning", tuning),
        shared.hertz("lower peak fL", found.fl),
        shared.hertz("lowest point between fM", found.fm),
        zero,
        shared.hertz("upper peak fH", found.fh),
        Number("impedance at fL, fM, fH", f"{found.zl:.1f}, {found.zm:.1f}, {found.zh:.1f} Ω"),
        signed("lowest point off the tuning", found.fm - tuning),
        signed("  by the coil alone", coil[0]),
        signed("  by losses alone", loss[0]),
        signed("zero phase off the tuning", found.fz - tuning),
        signed("  by the coil alone", coil[1]),
        signed("  by losses alone", loss[1]),
    )


def _code(build, volume, fb, le, ql):
    head = (
        "from dataclasses import replace\n"
        "import numpy as np\n"
        "from boxlab import PortedBox, RadiatorBox, cm2, litres, mh, solve\n"
        "from boxlab.gear.scenario import TEN_INCH_DRIVER, TEN_INCH_RADIATOR\n"
        "from boxlab.measure.fit.landmarks import landmarks\n"
    )
    made = (
        f"box = RadiatorBox.tuned(litres({volume:g}), {fb:g}, TEN_INCH_RADIATOR, ql={ql:g})\n"
        if build == "radiator"
        else f"box = PortedBox.tuned(litres({volume:g}), {fb:g}, cm2(19.6), ql={ql:g})\n"
    )
    return (
        head + made + f"driver = replace(TEN_INCH_DRIVER, le=mh({le:g}))\n"
        "f = np.geomspace(8, 160, 701)\n"
        "print(box.tuning(), landmarks(f, solve(driver, box, f).impedance))"
    )


EXPLAINERS = (
    Explainer(
        name="where_is_the_tuning",
        question="Where in an impedance curve is the tuning?",
        controls=(
            Choice("build", "Box", BUILDS, "radiator"),
            Slider("volume", "Net volume", 10, 40, 14, 0.5, "L"),
            Slider("fb", "Tuning", 26, 55, 45, 0.5, "Hz"),
            Slider("le", "Coil inductance", 0.0, 4.0, 1.2, 0.1, "mH"),
            Slider(
                "ql",
                "Losses of the box, QL",
                3,
                50,
                USUAL_QL,
                0.5,
                "",
                help="7 is a usual box, 3 a leaky one, 50 almost without loss.",
            ),
        ),
        scene=scene,
        lesson="05-reading-a-sweep.ipynb",
        anchor="See",
        answer=(
            "Between the two peaks, near the lowest point but not at it: coil inductance pulls "
            "that point down, and losses pull it towards the taller peak."
        ),
        presets={
            "no coil, no loss": {"le": 0.0, "ql": 50.0},
            "losses only, upper peak taller": {"fb": 28.0, "le": 0.0},
            "a large coil": {"le": 3.0},
        },
    ),
)
