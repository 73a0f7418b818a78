"""Answers to the predictions of the lesson "power and wiring", with numbers from the model."""

from __future__ import annotations

from boxlab.quiz.exercises import answer_from_readout

_LINES = {  # prediction -> explainer, its settings, and the line of its readout that answers
    "meter": ("meter_on_music", {}, 0),
    "coils": ("coil_wiring", {}, 1),
    "stops": ("heat_or_travel", {}, 0),
    "clipping": ("clipping_and_heat", {}, 0),
    "cable": ("cable_and_fuse", {}, 0),
    "filter": ("what_a_high_pass_saves", {}, 0),
    "supply": ("what_a_weak_supply_costs", {}, 3),
    "warm": ("what_heat_takes", {}, 0),
}
_RIGHT = {
    "meter": "About 25 W",
    "coils": "No: 2 or 8 Ω",
    "stops": "The cone's travel",
    "clipping": "Five times as much",
    "cable": "4 AWG (21 mm²)",
    "filter": "About 6 dB",
    "supply": "About 1.2 dB",
    "warm": "About 1 to 2 dB",
}
_OTHERS = {
    "meter": {
        "About 300 W": "That is a steady sine into a resistor. It says what the rails are, and "
        "nobody listens to it.",
        "About 150 W": "That is a cautious half of the rating. This meter comes to it "
        "with music squeezed to 6 dB, or turned up 6 dB past clip.",
    },
    "coils": {
        "Yes, in series": "Series adds: 8 Ω.",
        "Yes, in parallel": "Parallel divides: 2 Ω. Four ohms would need coils of 2 or of 8 Ω.",
    },
    "stops": {
        "The heat in the coil": "At 100 Hz you would be right, given a larger amplifier.",
        "The amplifier": "It has watts to spare at this note, and that is the danger.",
    },
    "clipping": {
        "The same: the rails have not moved": "The peaks are the same. The average is not, and "
        "heat goes by the average.",
        "Ten times as much": "Without rails it would be: 10 dB is ten times. Clipping holds it "
        "back.",
    },
    "cable": {
        "10 AWG (5 mm²)": "By the volts alone it would do for one metre. Over five it loses five "
        "times as much, and behind a fuse of 60 A it grows too hot at any length.",
        "0 AWG (53 mm²)": "It will do, and costs copper: the loss is a sixth of a volt.",
    },
    "filter": {
        "Not at all": "No single note can get louder, that is true. But what stopped the volume "
        "was a note that this box hardly plays.",
        "About 3 dB": "That is what a high-pass at 20 Hz with 12 dB per octave leaves room for.",
    },
    "supply": {
        "About 0.6 dB": "That would be so if watts went with the volts. They go with their square.",
        "About 3 dB": "That is half the watts. It takes a supply that sags to 9.8 V.",
    },
    "warm": {
        "Less than 0.5 dB": "Near an impedance peak it can be that little, for there the ohms of "
        "the coil count for little.",
        "About 6 dB": "That is a steady tone at full power, on the hottest assumption.",
    },
}


def answer(slug):
    """What `quiz.compare` needs for one prediction, the reason with numbers from the model.

    Kept here so that the lesson's own cells do not give answers away.
    """
    return answer_from_readout(slug, _LINES, _RIGHT, _OTHERS)
