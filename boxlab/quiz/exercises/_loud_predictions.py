"""Answers to the predictions of the lesson "how loud, how long", with numbers from the model."""

from __future__ import annotations

from boxlab.quiz.exercises import answer_from_readout

_LINES = {  # prediction -> explainer, its settings, and the line of its readout that answers
    "reading": ("what_dba_hides", {}, 0),
    "exchange": ("how_long_is_allowed", {}, 1),
    "mute": ("how_long_at_this_box", {}, 2),
    "lowest-note": ("bass_line_through_boxes", {}, 1),
    "laptop": ("what_a_small_speaker_loses", {}, 0),
}
_RIGHT = {
    "reading": "About 85 dBA",
    "exchange": "15 minutes",
    "mute": "By less than 1 dB",
    "lowest-note": "The sealed box",
    "laptop": "About 60 dB less",
}
_OTHERS = {
    "reading": {
        "120 dBA": "A meter set to no weighting (Z) reads that, and one set to C nearly.",
        "About 100 dBA": "That is what it reads near 100 Hz. The lower the tone, the more A hides.",
    },
    "exchange": {
        "30 minutes": "That is 97 dBA: half the time for every 3 dB, and 100 is two steps up.",
        "2 hours": "By OSHA that is so: it starts at 90 dBA and halves every 5 dB.",
    },
    "mute": {
        "By about 6 dB": "The bass would have to read far more than the rest, and in dBA it "
        "reads less.",
        "By about 15 dB": "The *level* falls by that and more, and so does a reading in dBC.",
    },
    "lowest-note": {
        "The radiator box": "At the same volts it beats the sealed box even there, by half a "
        "decibel. But it is turned down for the match, and this note lies below its tuning.",
        "The ported box": "At the same volts, yes. Turned down for the match it is second: below "
        "the tuning a port falls more slowly than a radiator, and faster than a sealed box.",
    },
    "laptop": {
        "About 10 dB less": "That would be half as loud. Look at how little air it can move.",
        "About 30 dB less": "A good desk speaker with a four-inch cone comes to about that.",
    },
}


def answer(slug):
    """What `quiz.compare` needs for one prediction, the reason with numbers from the model.

    Kept here so that the lesson's own cells do not give answers away.
    """
    return answer_from_readout(slug, _LINES, _RIGHT, _OTHERS)
