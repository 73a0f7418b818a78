"""Where the cone moves least and the vent most: travel against frequency, and flow over flow."""

from __future__ import annotations

import numpy as np

from boxlab.draw.scene import Choice, Explainer, Line, Mark, Number, Scene
from boxlab.explainers._one_box import (
    BUILD_CONTROL,
    FB_CONTROL,
    QL_CONTROL,
    QR_CONTROL,
    box_of,
    build_code,
    cut_of,
    dash,
    mover,
    volume_text,
)
from boxlab.explainers._shared import FREQUENCY, against_frequency, hertz, travel_number
from boxlab.gear.shelf import DRIVERS
from boxlab.model.response import solve

VOLTS = 10.0
CLOSE = np.geomspace(0.5, 2, 2001)  # times the tuning


def scene(ql, qr, fb, build, driver) -> Scene:
    """Cone and vent at one voltage, for QL, QR and tuning (Hz)."""
    moving, box, name = DRIVERS[driver], box_of(build, fb, ql, qr), mover(build)
    r = solve(moving, box, FREQUENCY, VOLTS)
    f = extremes(moving, box)
    tall = 10 if build == "radiator" else 100
    return Scene(
        shows={build: r},
        cutaway=cut_of(moving, build, fb, ql, qr, fb, VOLTS),
        title=f"Cone least at {f['cone']:.1f} Hz, tuning {fb:g} Hz",
        plots=(
            against_frequency(
                f"Travel at {VOLTS:g} V",
                "excursion, mm peak",
                (0, tall),
                (
                    Line(FREQUENCY, 1e3 * r.vent_excursion, "vent", name, dash(build)),
                    Line(FREQUENCY, 1e3 * r.cone_excursion, "cone", "cone", dash(build)),
                ),
                (Mark(fb, f"tuning {fb:g} Hz"),),
            ),
            against_frequency(
                f"Air moved at {VOLTS:g} V",
                "volume flow, L/s peak",
                (0, 60),
                (
                    Line(FREQUENCY, flow(r.vent_volume_velocity), "vent", name, dash(build)),
                    Line(FREQUENCY, flow(r.cone_volume_velocity), "cone", "cone", dash(build)),
                    Line(FREQUENCY, flow(r.volume_velocity), "sum", "sum, what you hear", ""),
                ),
                (Mark(fb, f"tuning {fb:g} Hz"),),
            ),
        ),
        readout=(
            f"The cone moves least at {f['cone']:.1f} Hz, {_off(f['cone'], fb)} the tuning.",
            f"The {name} moves {f['times']:.1f} times as much air as the cone at most, at "
            f"{f['ratio']:.1f} Hz; at the tuning it makes nearly all the sound.",
            f"But in litres a second it peaks at {f['flow']:.1f} Hz, and in travel it goes on "
            f"rising below the tuning: {1e3 * f['at']:.1f} mm there, {1e3 * f['half']:.1f} mm an "
            "octave down.",
        ),
        numbers=(
            hertz("tuning", fb),
            hertz("cone travels least at", f["cone"]),
            hertz("vent's flow over cone's flow is most at", f["ratio"]),
            Number("and is then", f"{f['times']:.2f}"),
            hertz("vent's flow at one voltage is most at", f["flow"]),
            travel_number("vent's travel at the tuning", f["at"]),
            travel_number("vent's travel an octave below", f["half"]),
            travel_number("cone's travel at the tuning", f["cone_at"]),
            travel_number("cone's travel an octave below", f["cone_half"]),
        ),
        caption=(
            f"{volume_text()} tuned to {fb:g} Hz, QL {ql:g}, QR {qr:g}, at "
            f"{VOLTS:g} V. The cone moves least close to the tuning. The {name} is at its most "
            "only in comparison with the cone: its own travel goes on rising as the notes get "
            "lower."
        ),
        alt=(
            f"Left: peak excursion in mm, 0 to {tall}, against frequency, 10 to 200 Hz, log axis. "
            f"The cone has a deep dip at {f['cone']:.1f} Hz; the {name} rises steadily towards low "
            "frequencies. Right: volume flow in litres a second, 0 to 60: cone with the same dip, "
            f"{name} with a broad top at {f['flow']:.1f} Hz, and their sum, which meets the "
            f"{name}'s curve near the tuning of {fb:g} Hz."
        ),
        code=build_code(build, fb, ql, qr)
        + f"r = solve(TEN_INCH_DRIVER, box, [{fb / 2:g}, {fb:g}], {VOLTS:g})\n"
        + "print(1e3 * r.cone_excursion, 1e3 * r.vent_excursion)",
    )


def flow(u):
    """Peak flow in litres a second of an rms phasor in m³/s."""
    return 1e3 * np.sqrt(2) * np.abs(u)


def extremes(driver, box):
    """Where cone and vent have their least and most within an octave of the tuning, Hz and m."""
    fb = float(box.tuning())
    f = fb * CLOSE
    r = solve(driver, box, f, VOLTS)
    near = (CLOSE > 0.75) & (CLOSE < 1.35)  # well above, the cone's travel falls again
    times = np.abs(r.vent_volume_velocity / r.cone_volume_velocity)
    at, half = (solve(driver, box, x, VOLTS) for x in (fb, fb / 2))
    return {
        "cone": float(f[near][np.argmin(r.cone_excursion[near])]),
        "ratio": float(f[np.argmax(times)]),
        "times": float(times.max()),
        "flow": float(f[np.argmax(np.abs(r.vent_volume_velocity))]),
        "at": float(at.vent_excursion),
        "half": float(half.vent_excursion),
        "cone_at": float(at.cone_excursion),
        "cone_half": float(half.cone_excursion),
    }


def _off(found, fb):
    percent = 100 * (found / fb - 1)
    return f"{abs(percent):.1f} % {'above' if percent >= 0 else 'below'}"


EXPLAINERS = (
    Explainer(
        name="least_and_most",
        question="At tuning, does the cone move least and the vent most?",
        controls=(
            QL_CONTROL,
            QR_CONTROL,
            FB_CONTROL,
            BUILD_CONTROL,
            Choice("driver", "Driver", tuple(DRIVERS), "ten-inch", more=True),
        ),
        scene=scene,
        lesson="02-phase-at-tuning.ipynb",
        anchor="Cone-least,-vent-most",
        answer=(
            "Cone least: yes, within about two per cent of the tuning. Vent most: only compared "
            "with the cone. At one voltage a radiator's travel goes on rising below the tuning."
        ),
    ),
)
