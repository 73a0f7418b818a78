"""Answers to the predictions of the lesson on phase at tuning, with numbers from the model."""

from __future__ import annotations

_RIGHT = {
    "at-tuning": "A quarter cycle apart",
    "loss": "stays near a quarter cycle",
    "sound": "The front of the cone",
    "travel": "Below the tuning",
    "burst": "in, against the cone",
    "camera": "The cone",
}
_FILM = {"fb": 30, "rate": 30}


def _line(name, line=0, **settings):
    from boxlab.explainers import explainer

    return explainer(name)(**settings).readout[line]


def _because(slug):
    """The line of a readout that answers."""
    if slug == "at-tuning":
        return _line("phase_at_tuning")
    if slug == "loss":
        return "Even with QL 2 and QR 2, a wreck: " + _line("phase_at_tuning", ql=2, qr=2)
    if slug == "sound":
        return " ".join(_line("phasors", line, tone=18) for line in (0, 1))
    if slug == "travel":
        return _line("least_and_most", 2)
    if slug == "burst":
        return _line("tone_burst", 1)
    return " ".join(_line("what_a_camera_sees", line, tone=29, **_FILM) for line in (0, 1))


def _others(slug):
    """What to say to those who chose another option."""
    if slug == "at-tuning":
        return {
            "In step": "True well above the tuning: " + _line("phase_at_tuning", 1, tone=72),
            "Opposite": "True well below: " + _line("phase_at_tuning", 1, tone=18),
            "It depends on the driver": "Not by a hair: all three drivers give the same curve.",
        }
    if slug == "loss":
        return {
            "goes towards opposite": "The right way, but by 14° for a wreck and 1.3° for ours.",
            "goes towards in step": "Losses round the corner of the curve; its middle stays.",
        }
    if slug == "sound":
        return {
            "The radiator": "It lies along the sum at every tone above its null. Drag the tone "
            "and see.",
            "Neither": "Then their flows would add up; they nearly cancel.",
            "Both": "They cannot both: the sum has to lie along one of them.",
        }
    if slug == "travel":
        return {
            "At the tuning": "What peaks there is the radiator's flow *over the cone's*: "
            + _line("least_and_most", 1),
            "Above the tuning": "There it hardly moves: it is too heavy.",
        }
    if slug == "burst":
        return {
            "out, with the cone": "In step with the cone is where it gets to well above the "
            "tuning.",
            "out, a cycle later": "It has done a whole swing by then. Look at the upper right.",
        }
    return {
        "The radiator, as in life": "At 31 Hz it would: "
        + _line("what_a_camera_sees", 1, tone=31, **_FILM),
        "Nobody: it stands still": "At exactly 30 Hz it would. At 29 it creeps, backwards.",
    }


def answer(slug):
    """What `quiz.compare` needs for one prediction, the reason with numbers from the model.

    Kept here so that the lesson's own cells do not give answers away.
    """
    return {"right": _RIGHT[slug], "because": _because(slug), "others": _others(slug)}
