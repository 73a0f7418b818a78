"""Answers to the predictions of the lesson on size, efficiency and extension."""

from __future__ import annotations

from boxlab.quiz.exercises import answer_from_readout

_LINES = {  # prediction -> explainer, its settings, and the line of its readout that answers
    "octave": ("pick_two", {}, 3),
    "ceiling": ("ceiling_of_k", {}, 0),
    "boost": ("what_equalisation_costs", {}, 0),
    "air": ("low_and_loud", {}, 3),
    "larger": ("small_or_large", {"amplifier": 1000.0}, 0),
    "two": ("one_or_two", {}, 0),
    "behind": ("one_behind_the_other", {}, 2),
    "twelve": ("ten_or_twelve", {"volume": 14.0, "amplifier": 300.0}, 0),
}
_RIGHT = {
    "octave": "9 dB less",
    "ceiling": "About 1 in 100",
    "boost": "ten times the watts",
    "air": "four times as far",
    "larger": "Neither",
    "two": "3 dB more",
    "behind": "3 dB less",
    "twelve": "less than 1 dB",
}
_OTHERS = {
    "octave": {
        "as much": "It can be as loud, with eight times the watts. Not for each watt.",
        "3 dB less": "That would be an efficiency in step with f3. It goes with the cube: an "
        "octave is three times 3 dB.",
    },
    "ceiling": {
        "None": "For sealed boxes, yes, and for all that are smooth. Look at what these ones do "
        "before f3.",
        "About 1 in 4": "Most do not come near: half of them stay under 0.41 of it.",
    },
    "boost": {
        "twice the watts": "That is 3 dB.",
        "three times the watts": "The volts, and with them the travel, go up 3.2 times. Watts go "
        "as volts squared.",
    },
    "air": {
        "twice as far": "Then the cone has the same speed. The same *sound* needs the same "
        "acceleration, and that takes four times the travel.",
        "eight times as far": "Eight is for the box at the same efficiency. Travel goes as 1/f².",
    },
    "larger": {
        "The large box": "For the first watts, yes. Both end at the same cone, at the same Xmax: "
        "1 dB at 300 W, nothing at 1000 W.",
        "The small box": "It is not louder, and it draws more watts to get there.",
    },
    "two": {
        "the same level": "Each gets half the watts, 3 dB less, but their pressures add: 6 dB "
        "more.",
        "6 dB more": "If each keeps its own watts, yes. That is twice the bill.",
    },
    "behind": {
        "the same level": "At the same volts on each, yes. But that is twice the watts: the second "
        "motor pushes, and no more air is moved.",
        "3 dB more": "That is two boxes side by side, twice the cone on twice the air. Here the "
        "cone is that of one.",
    },
    "twelve": {
        "about 2 dB": "In twice the box it would be: there the air is softer.",
        "about 5 dB": "By travel alone, yes: 4.6 dB. But neither cone gets there on 300 W.",
    },
}


def answer(slug):
    """What `quiz.compare` needs for one prediction, the reason with numbers from the model.

    Kept here so that the lesson's own cells do not give answers away.
    """
    return answer_from_readout(slug, _LINES, _RIGHT, _OTHERS)
