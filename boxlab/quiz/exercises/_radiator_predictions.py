"""Answers to the predictions of the lesson on how much radiator, with numbers from the model."""

from __future__ import annotations

_LINES = {  # prediction -> explainer, its settings, and the line of its readout that answers
    "share": ("radiator_need", {}, 1),
    "below": ("radiator_need", {"programme": "from 0.6 of that up"}, 0),
    "weights": ("radiator_choices", {}, 2),
    "stop": ("radiator_stop", {}, 0),
    "recoil": ("recoil", {"mounting": "one, on the opposite face"}, 0),
    "soft": ("softer_suspension", {}, 2),
}
_RIGHT = {
    "share": "More than half",
    "below": "goes down",
    "lower": "hardly changes",
    "weights": "more than twice as much",
    "stop": "Two or three dB",
    "recoil": "stays as it was",
    "soft": "The sag of a radiator that faces up or down",
}
_OTHERS = {
    "share": {
        "None: two is the rule because it is enough": "It is enough for 44 % of them. For four in "
        "five you need three.",
        "About one in five": "That many need more than three.",
    },
    "below": {
        "goes up: the radiator has more to do down there": "So has the cone, and it runs out "
        "first. The knob must come down by 7 dB, and the ratio with it.",
        "stays": "It would, if the cone were not let loose below the tuning.",
    },
    "lower": {
        "nearly doubles: travel goes as 1/f²": "It does for the same sound. But tuned lower, the "
        "box is quieter at its tuning, and the two nearly cancel.",
        "halves": "No. But you saw that the box gets quieter down there.",
    },
    "weights": {
        "about half: they share the work": "They share the travel. But two areas on the same box "
        "air make it twice as stiff to each of them.",
        "the same": "Then the box would tune higher, for the same reason.",
    },
    "stop": {
        "6 dB: twice the travel": "So it would be with 1000 W, nearly. Here the amplifier ends it "
        "first.",
        "Nothing": "True from a ratio of 1.52 on; this radiator has 1.13.",
    },
    "recoil": {
        "nearly cancels": "An octave higher it does, from 148 to 30 N. At the tuning the radiator "
        "is a quarter cycle from the cone, and the cone hardly moves.",
        "doubles": "Nor that: the cone's share is 9 N of 119.",
    },
    "soft": {
        "The needed ratio: it moves more freely": "It hardly changes: ",
        "The sound above the tuning": "There the suspension hardly counts: ",
    },
}


def _medians():
    """Median need of the crowd as it is, and retuned half an octave lower; both same voltage."""
    import numpy as np

    from boxlab.design.radiator_need import needed_ratio
    from boxlab.design.radiator_study import retuned, study

    crowd = study().designs
    boxes = (crowd.box, retuned(crowd.box, 0.7))
    return [np.median(needed_ratio(crowd.driver, box, box.tuning()).ratio) for box in boxes]


def answer(slug):
    """What `quiz.compare` needs for one prediction, the reason with numbers from the model.

    Kept here so that the lesson's own cells do not give answers away.
    """
    from boxlab.explainers import explainer

    others = dict(_OTHERS[slug])
    if slug == "lower":
        now, lower = _medians()
        because = (
            f"the middle one goes from {now:.2f} to {lower:.2f}; nine in ten change by less than a "
            "quarter."
        )
        return {"right": _RIGHT[slug], "because": because, "others": others}
    name, settings, line = _LINES[slug]
    readout = explainer(name)(**settings).readout
    because = readout[line]
    if slug == "below":
        because = "the middle one goes from 2.12 to 1.37. The demo box: " + because
    if slug == "soft":
        first, second = others
        others = {first: others[first] + readout[1], second: others[second] + readout[0]}
    return {"right": _RIGHT[slug], "because": because, "others": others}
