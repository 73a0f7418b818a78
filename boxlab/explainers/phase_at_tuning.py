"""Phase of the vent against the cone: near opposite, a quarter cycle, near in step."""

from __future__ import annotations

import numpy as np

from boxlab.draw.scene import Choice, Explainer, Line, Mark, Number, Plot, Scene, Slider
from boxlab.explainers import _shared as shared
from boxlab.explainers._one_box import (
    BUILD_CONTROL,
    FB_CONTROL,
    QL_CONTROL,
    QR_CONTROL,
    START_FB,
    box_of,
    build_code,
    cut_of,
    dash,
    folded,
    mover,
    volume_text,
)
from boxlab.explainers._shared import FREQUENCY, against_frequency
from boxlab.gear.shelf import DRIVERS
from boxlab.model.motion import delays, phase_at_tuning, phase_views, phasors, steady
from boxlab.model.response import solve

FINE = np.geomspace(10, 200, 4001)


def scene(tone, ql, qr, fb, build, driver) -> Scene:
    """Phase against frequency, and the motion at one tone (Hz), for QL, QR and tuning (Hz)."""
    box, moving = box_of(build, fb, ql, qr), DRIVERS[driver]
    views = phase_views(solve(moving, box, FREQUENCY))
    ideal = solve(moving, box_of(build, fb, np.inf, np.inf), FREQUENCY).vent_phase
    here = phase_views(solve(moving, box, tone))
    front = float(here.front)
    at = float(phase_at_tuning(moving, box))
    name = mover(build)
    return Scene(
        shows={build: shared.state(moving, box)},
        cutaway=cut_of(moving, build, fb, ql, qr, tone),
        title=f"Phase of the {name} at {tone:g} Hz, tuning {fb:g} Hz",
        plots=(
            against_frequency(
                f"Phase of the {name} against ...",
                "phase, degrees (plus: ahead)",
                (-200, 200),
                (
                    Line(FREQUENCY, joined(ideal), "quiet", "front, no loss", dash(build)),
                    Line(FREQUENCY, joined(views.total), "sum", "the sound", dash(build)),
                    Line(FREQUENCY, joined(views.rear), "rear", "rear of cone", dash(build)),
                    Line(FREQUENCY, joined(views.front), "vent", "front of cone", dash(build)),
                    Line(np.array([tone]), np.array([front]), "vent", "", "", "points"),
                ),
                (Mark(fb, f"tuning {fb:g} Hz"), Mark(tone, "tone" if tone != fb else "", "vent")),
                yticks=(-180, -90, 0, 90, 180),
            ),
            _waves(moving, box, tone, build, front),
        ),
        readout=_readout(moving, box, tone, fb, name, at, here),
        numbers=_numbers(tone, ql, qr, fb, at, here),
        caption=(
            f"{volume_text()} tuned to {fb:g} Hz, QL {ql:g}, QR {qr:g}. "
            f"Left: phase of the {name} against the cone's front, its rear, and the sound. At the "
            f"tuning it is {at:.1f}° ahead of the front, whatever the driver. Right: one tone, "
            f"{tone:g} Hz; each motion is drawn to its own size."
        ),
        alt=(
            f"Left: phase of the {name} in degrees, −200 to 200, against frequency, 10 to 200 Hz, "
            "log axis. Against the front of the cone it falls from near 180 well below the tuning "
            f"of {fb:g} Hz through {at:.1f} at the tuning towards 0 above; without loss it would "
            "be a step. Against the rear of the cone it is the same curve 180 lower. Against the "
            "sound it stays near 0. Right: cone and "
            f"{name} over two cycles of {tone:g} Hz, each to its own size, the {name} {front:.0f} "
            "degrees ahead."
        ),
        code=build_code(build, fb, ql, qr)
        + f"print(solve(TEN_INCH_DRIVER, box, [{fb:g}, {tone:g}]).vent_phase)",
    )


def joined(phase):
    """Phase for drawing, degrees: a curve near ±180 stays in one piece, a true jump is a gap."""
    curve = np.unwrap(phase, period=360.0)
    curve = curve - 360 * np.round(np.median(curve) / 360)
    # above 200 or below −200 the other name of the same angle is in sight
    curve = np.where(curve > 200, curve - 360, np.where(curve < -200, curve + 360, curve))
    jumps = np.abs(np.diff(curve)) > 300
    return np.where(np.append(jumps, False), np.nan, curve)


def _waves(driver, box, tone, build, front):
    at = phasors(driver, box, tone).turned_to("cone")
    m = steady(at, cycles=2, samples=120)
    cycles = m.time * tone
    crest = 1 - front / 360
    return Plot(
        "The motion at this tone",
        "time, cycles of the tone",
        "out, as a part of its own peak",
        (0, 2),
        (-1.5, 1.5),
        (
            Line(cycles, m.vent / np.abs(at.vent), "vent", mover(build), dash(build)),
            Line(cycles, m.cone / np.abs(at.cone), "cone", "front of cone", dash(build)),
        ),
        (Mark(1.0, "cone", "cone"), Mark(crest, mover(build), "vent")),
        xscale="linear",
        yticks=(-1, 0, 1),
    )


def edges(driver, box):
    """Where the phase against the front passes 150, 135, 45 and 30 degrees, Hz."""
    phase = np.unwrap(solve(driver, box, FINE).vent_phase, period=360.0)
    phase = phase - 360 * np.round(np.median(phase) / 360)
    ratio = FINE / float(box.tuning())
    near = (ratio > 0.3) & (ratio < 4)
    return tuple(
        float(np.interp(-angle, -phase[near], FINE[near], left=np.nan, right=np.nan))
        for angle in (150, 135, 45, 30)
    )


def _span(low, high):
    return f"from {low:.1f} to {high:.1f} Hz" if low == low and high == high else "over a wide band"


def _readout(driver, box, tone, fb, name, at, here):
    opposite, low, high, step = edges(driver, box)
    front = float(here.front)
    early, late = front / 360 / tone * 1e3, delays(front, tone)[:2] * 1e3
    ahead = f"{abs(front):.0f}° {'ahead of' if front >= 0 else 'behind'} the front of the cone"
    return (
        f"At the tuning, {fb:g} Hz, the {name} is {at:.1f}° ahead of the front of the cone and "
        f"{180 - at:.1f}° behind its rear.",
        f"At {tone:g} Hz it is {ahead} and {abs(float(here.total)):.1f}° from the sound. In time: "
        f"{abs(early):.1f} ms {'early' if early >= 0 else 'late'}; a steady tone looks the same if "
        f"you call it {late[0]:.1f} ms or {late[1]:.1f} ms late.",
        f"Within 45° of a quarter cycle {_span(low, high)}. "
        + (f"Below {opposite:.1f} Hz within 30° of opposite. " if opposite == opposite else "")
        + (f"Above {step:.1f} Hz within 30° of in step." if step == step else ""),
    )


def _numbers(tone, ql, qr, fb, at, here):
    return (
        Number("phase at tuning against the front of the cone", f"{at:.2f}°"),
        Number("90° + atan(1/(QL + QR))", f"{90 + np.degrees(np.arctan(1 / (ql + qr))):.2f}°"),
        Number(f"at {tone:g} Hz against the front", f"{float(here.front):.1f}°"),
        Number(f"at {tone:g} Hz against the rear", f"{float(here.rear):.1f}°"),
        Number(f"at {tone:g} Hz against the sound", f"{float(here.total):.1f}°"),
        Number(
            f"front of the cone against the sound at {tone:g} Hz", f"{float(here.cone_total):.1f}°"
        ),
        Number("tuning", f"{fb:g} Hz"),
    )


EXPLAINERS = (
    Explainer(
        name="phase_at_tuning",
        question="Is the vent in phase with the cone, or out of phase?",
        controls=(
            Slider("tone", "Tone", 12, 120, START_FB, 0.5, "Hz"),
            QL_CONTROL,
            QR_CONTROL,
            BUILD_CONTROL,
            folded(FB_CONTROL),
            Choice(
                "driver",
                "Driver",
                tuple(DRIVERS),
                "ten-inch",
                more=True,
                help="It has no part in the phase. Try it.",
            ),
        ),
        scene=scene,
        lesson="02-phase-at-tuning.ipynb",
        anchor="See",
        answer=(
            "Neither. Against the front of the cone the vent is near opposite well below the "
            "tuning, a quarter cycle ahead at the tuning (90°, a degree or two more with friction "
            "and leak), and near in step well above it."
        ),
    ),
)
