"""Answers to the predictions of the lesson "fitting the space"."""

from __future__ import annotations

_LINES = {  # prediction -> explainer, its settings, and the line of its readout that answers
    "left": ("gap_to_volume", {}, 0),
    "spare": ("does_it_go_in", {}, None),
    "weakest": ("builds_for_the_gap", {}, 0),
    "fill": ("brace_and_fill", {}, 2),
    "best": ("pick_from_the_front", {}, 2),
}
_RIGHT = {
    "left": "About half, 19 L",
    "spare": "About 35 mm (1.4 in)",
    "weakest": "Sealed",
    "fill": "It goes up by about 1 Hz",
    "best": "About one in ten",
}
_OTHERS = {
    "left": {
        "Nearly all, 32 L": "That is the gap without the bracket and the slack. Board then takes "
        "a third of the gap, and the driver its share.",
        "About 70 %, 25 L": "That is about what a deep box of the same material keeps. A shallow "
        "one has more wall for its air.",
    },
    "spare": {
        "About 80 mm (3.1 in)": "That is the middle of the gap less the driver. Slack, two boards "
        "and breathing room behind the magnet still come off, and the rim sits higher up.",
        "It does not go in": "A driver that is 40 mm deeper would not.",
    },
    "weakest": {
        "Ported": "With no limit on its air it would draw level. The port that fits here is "
        "stopped by its own air at 94 dB.",
        "With a radiator": "True from about 34 Hz up, and on average over the band. Below its "
        "tuning a radiator box falls fast.",
    },
    "fill": {
        "It goes down by about 5 Hz": "In a boomy box (high Q) fill would lower f3. This one is "
        "well damped already.",
        "It stays as it is": "Nearly. It acts larger, so it is damped more and sags earlier.",
    },
    "best": {
        "Exactly one": "Only if you name one thing that counts. With depth, loudness and size "
        "there is no one best box.",
        "About half": "Most boxes are beaten by another in all three at once: too light, too heavy "
        "or too small a radiator.",
    },
}


def answer(slug):
    """What `quiz.compare` needs for one prediction, the reason with numbers from the model."""
    from boxlab.explainers import explainer

    name, settings, line = _LINES[slug]
    scene = explainer(name)(**settings)
    if line is None:
        row = next(number for number in scene.numbers if number.name.startswith("magnet"))
        because = f"From the magnet to the wall behind: {row.metric} ({row.imperial}) to spare."
    else:
        because = scene.readout[line]
    return {"right": _RIGHT[slug], "because": because, "others": _OTHERS[slug]}
