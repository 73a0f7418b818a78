"""Answers to the predictions of the lesson "port or radiator", with numbers from the model."""

from __future__ import annotations

from boxlab.quiz.exercises import answer_from_readout

_LINES = {  # prediction -> explainer, its settings, and the line of its readout that answers
    "above": ("port_or_radiator", {}, 0),
    "below": ("port_or_radiator", {}, 0),
    "null": ("null_of_the_radiator", {"softness": 1.2}, 0),
    "length": ("port_that_will_not_fit", {}, 1),
    "crossing": ("when_a_port_wins", {}, 0),
    "slot": ("slot_or_tube", {}, 0),
}
_RIGHT = {
    "above": "Neither, within half a decibel",
    "below": "The port",
    "null": "A softer suspension",
    "length": "About 70 cm (28 in)",
    "crossing": "About 28 L (1 ft³)",
    "slot": "As long, within 2 cm",
}
_OTHERS = {
    "above": {
        "The radiator": "No. Above the tuning its suspension hardly counts, and what is left, a "
        "mass, is what a port has too.",
        "The port": "By 0.3 dB: the radiator's suspension and its friction. Without them, in the "
        "model, less than 0.01 dB is left.",
    },
    "below": {
        "The radiator: it goes deeper": "The true half: it lets a *small* box be tuned low. At "
        "the same tuning it gives less below, not more.",
    },
    "null": {
        "More weights": "They move it down, but the tuning goes with it: the two stay as many "
        "octaves apart as before.",
        "A larger box": "It lowers the tuning, towards the null. The null itself does not know "
        "the box.",
    },
    "length": {
        "About 20 cm (8 in)": "In a box of 1.5 cubic feet it would be. Length goes as area over "
        "volume.",
        "About 40 cm (16 in)": "One of 75 mm would be; at 20 V its air already reaches 20 m/s.",
    },
    "crossing": {
        "About 15 L (0.5 ft³)": "True at 10 V: played softly, a narrow port will do.",
        "About 60 L (2.1 ft³)": "That is on the safe side: there even 40 V is quiet at this "
        "tuning.",
    },
    "slot": {
        "Half as long": "Half the length has too little air: it would tune this box to about 50 "
        "Hz.",
        "10 cm longer": "So long it would tune this box to between 34 and 35 Hz.",
    },
}


def answer(slug):
    """What `quiz.compare` needs for one prediction, the reason with numbers from the model.

    Kept here so that the lesson's own cells do not give answers away.
    """
    found = answer_from_readout(slug, _LINES, _RIGHT, _OTHERS)
    if slug == "null":
        found["because"] = "Twice as soft, 1.2 for 0.6 mm/N: " + found["because"]
    return found
