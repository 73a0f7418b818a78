"""Answers to the predictions of the lesson "in the car", with numbers from the model."""

from __future__ import annotations

from boxlab.quiz.exercises import answer_from_readout

_LINES = {  # prediction -> explainer, its settings, and the line of its readout that answers
    "lift": ("cabin_band", {}, 0),
    "best": ("at_the_seat", {}, 2),
    "cars": ("same_box_two_cars", {}, 2),
    "seat": ("where_you_sit", {}, 1),
    "wall": ("near_the_walls", {}, 3),
    "cold": ("cold_or_high_up", {}, 0),
}
_RIGHT = {
    "lift": "9 to 22 dB, depending on car and seat",
    "best": "The sealed one",
    "cars": "Either may be: you cannot know",
    "seat": "In the middle",
    "wall": "Nothing that is not in the lift already",
    "cold": "The radiator's",
}
_OTHERS = {
    "lift": {
        "12 dB, as in every car": "12 dB is a *slope*, for each octave down, of a sealed and rigid "
        "cabin. It is not an amount.",
        "0 to 6 dB: a car is too small for bass": "A car is small against the wave, and that is "
        "just why it is lifted: the air has nowhere to go.",
    },
    "best": {
        "The radiator box": "It is louder around its tuning. Below it, it falls by more than the "
        "cabin gives back.",
        "The ported box": "It too is louder around its tuning, and reaches lower than the radiator "
        "box. It still falls by some 20 dB an octave, and the cabin gives back 12 at best.",
    },
    "cars": {
        "Always the hatchback": "With both equally tight it does, by 4.4 dB. Nobody told you how "
        "tight they are, or where you sit.",
        "Always the estate": "It has more air, and air is what is pumped: more of it, less lift.",
    },
    "seat": {
        "At the front end": "There the pressure is high: the wave turns round at the glass.",
        "At the rear, beside the box": "There it is high too.",
    },
    "wall": {
        "6 dB, 3 for each wall": "Outdoors, or in a house, about that much power. In a shut cabin "
        "below its first mode all walls are near already.",
        "3 dB": "That is the power that one more wall brings, outdoors.",
    },
    "cold": {
        "The port's": "In the cold alone you would be right. It is the height that moves the "
        "radiator.",
        "Both alike": "Both springs are the air in the box. But the mass of a port is air too, "
        "and that of a radiator is not.",
    },
}


def answer(slug):
    """What `quiz.compare` needs for one prediction, the reason with numbers from the model.

    Kept here so that the lesson's own cells do not give answers away.
    """
    return answer_from_readout(slug, _LINES, _RIGHT, _OTHERS)
