"""The flows as arrows: cone, rear of the cone, vent, leak, and their sum."""

from __future__ import annotations

import numpy as np

from boxlab.base.units import litres, to_cubic_feet
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
from boxlab.gear.shelf import the_driver
from boxlab.model.motion import phasors

VOLTS = 10.0
HEAD = 2.2  # L/s, length of an arrow's head
REFERENCES = ("the cone", "the sum")


def scene(tone, moment, ql, qr, fb, build, reference) -> Scene:
    """Flows as arrows at one tone (Hz) and `moment` of its cycle (0 to 1)."""
    box, name = box_of(build, fb, ql, qr), mover(build)
    at = phasors(the_driver(), box, tone, VOLTS)
    flows = {"cone": at.cone_flow, "vent": at.vent_flow, "leak": at.leak_flow}
    flows["sum"] = sum(flows.values())
    level = flows["cone" if reference == REFERENCES[0] else "sum"]
    flows = {key: 1e3 * z * np.exp(-1j * np.angle(level)) for key, z in flows.items()}  # L/s
    flows["rear"] = -flows["cone"]
    labels = {
        "sum": "sum, what you hear",
        "cone": "cone, front",
        "rear": "cone, rear",
        "vent": name,
        "leak": "leak",
    }
    spin = np.exp(2j * np.pi * moment)
    chain = np.cumsum([flows["cone"], flows["vent"], flows["leak"]]) * spin
    arrows = (
        Line(chain.real, chain.imag, "quiet"),
        *(arrow(flows[key] * spin, key, labels[key], dash(build)) for key in labels),
    )
    time = np.linspace(0, 2, 241)
    waves = tuple(
        Line(time, np.real(flows[key] * np.exp(2j * np.pi * time)), key, labels[key], dash(build))
        for key in labels
    )
    angle = _apart(flows["vent"], flows["cone"])
    heard = _apart(flows["vent"], flows["sum"])
    cone_heard = _apart(flows["cone"], flows["sum"])
    sizes = {key: float(abs(z)) for key, z in flows.items()}
    return Scene(
        shows={build: shared.state(the_driver(), box, VOLTS)},
        cutaway=cut_of(the_driver(), build, fb, ql, qr, tone, VOLTS),
        title=f"Cone, {name} and their sum at {tone:g} Hz, tuning {fb:g} Hz",
        plots=(
            Plot(
                "Each flow as an arrow",
                "flow now, out of the box, L/s",
                "a quarter cycle ago, L/s",
                (-66, 66),
                (-48, 48),
                arrows,
                xscale="linear",
                equal=True,
            ),
            Plot(
                "The same flows in time",
                "time, cycles of the tone",
                "flow out of the box, L/s",
                (0, 2),
                (-48, 48),
                waves,
                (Mark(moment, "now"),),
                xscale="linear",
            ),
        ),
        readout=(
            f"{sizes['cone']:.1f} L/s from the front of the cone and {sizes['vent']:.1f} L/s from "
            f"the {name}, {abs(angle):.0f}° apart, leave {sizes['sum']:.1f} L/s to hear.",
            f"The {name} is {abs(heard):.1f}° from the sum; the front of the cone is "
            f"{abs(cone_heard):.0f}° from it"
            + (": it works against the sound." if abs(cone_heard) > 90 else "."),
            f"Against the rear of the cone the {name} is {180 - abs(angle):.0f}° behind.",
        ),
        numbers=(
            *(
                Number(
                    labels[key],
                    f"{sizes[key]:.2f} L/s",
                    f"{to_cubic_feet(litres(sizes[key])):.3f} ft³/s",
                )
                for key in labels
            ),
            Number("vent against the cone's front", f"{angle:.1f}°"),
            Number("vent against the sum", f"{heard:.1f}°"),
            Number("cone's front against the sum", f"{cone_heard:.1f}°"),
        ),
        caption=(
            f"{volume_text()} tuned to {fb:g} Hz, at {tone:g} Hz and "
            f"{VOLTS:g} V. Each arrow turns once a cycle, anticlockwise; the shadow it casts on "
            "the horizontal axis is its flow now. Laid end to end (grey), cone, vent and leak make "
            f"the sum. The {name} is {abs(angle):.0f}° ahead of the cone and "
            f"{abs(heard):.1f}° from the sum."
        ),
        alt=(
            f"Left: arrows from one point, in litres a second, ±66 by ±48. Front of the cone "
            f"{sizes['cone']:.1f}, its rear the same the other way, {name} {sizes['vent']:.1f} at "
            f"{angle:.0f} degrees anticlockwise from the cone, leak {sizes['leak']:.1f}, sum "
            f"{sizes['sum']:.1f}, nearly along the {name}. Right: cone, rear, {name} and sum as "
            "flow in litres a second, ±48, over two cycles."
        ),
        code=build_code(build, fb, ql, qr)
        + "from boxlab.model.motion import phasors\n"
        + f"print(phasors(TEN_INCH_DRIVER, box, {tone:g}, {VOLTS:g}).turned_to('cone'))",
    )


def arrow(z, role, label, build):
    """A line from 0 to the complex number z with an arrow's head at its end."""
    size = abs(z)
    head = min(HEAD, 0.6 * size)
    way = z / size if size else 1.0
    points = np.array([0, z, z - head * way * np.exp(0.45j), z, z - head * way * np.exp(-0.45j)])
    return Line(points.real, points.imag, role, label, build)


def _apart(one, other):
    """Angle of `one` ahead of `other`, degrees in (−180, 180]."""
    return float(np.degrees(np.angle(one * np.conj(other))))


EXPLAINERS = (
    Explainer(
        name="phasors",
        question="What do cone, vent and the rear of the cone add up to?",
        controls=(
            Slider("tone", "Tone", 18, 100, START_FB, 0.5, "Hz"),
            Slider(
                "moment", "Moment of the cycle", 0, 1, 0, 0.01, "", help="Turns the arrows in step."
            ),
            QL_CONTROL,
            BUILD_CONTROL,
            folded(FB_CONTROL),
            folded(QR_CONTROL),
            Choice("reference", "Lay level", REFERENCES, REFERENCES[0], more=True),
        ),
        scene=scene,
        lesson="02-phase-at-tuning.ipynb",
        anchor="Which-one-is-out-of-phase-with-the-sound",
        answer=(
            "The vent is in step with the sound at every frequency above its null. Below the "
            "tuning it is the front of the cone that works against the sound."
        ),
    ),
)
