"""What is said of a film of cone and radiator: readout, caption, alt text, warnings."""

from __future__ import annotations

from types import MappingProxyType

from boxlab.explainers._one_box import volume_text

LIFE, FRAMES = 6, 30  # frames shown in life and on film
HIDDEN = "hide it, I predict first"
GUESSES = MappingProxyType(
    {"radiator leads": "second", "cone leads": "first", "no order": "neither"}
)
NAMES = MappingProxyType({end: words for words, end in GUESSES.items()})


def period(f):
    """How long one cycle takes on film."""
    return "for ever" if abs(f.frequency) < 1e-9 else f"{1 / abs(f.frequency):.2f} s"


def slower(f, tone):
    """How many times slower than life the film moves."""
    return "it stands still" if abs(f.frequency) < 1e-9 else f"{tone / abs(f.frequency):.1f} times"


def motion(f, tone):
    """What the film of a tone does, as the end of a sentence."""
    if abs(f.frequency) < 1e-9:
        return "stands still"
    if f.orderless:
        return "only flips over from frame to frame"
    slow = f"shows {abs(f.frequency):.1f} Hz"
    if abs(tone / f.frequency) > 1.05:
        slow += f", {abs(tone / f.frequency):.1f} times slower than life"
    return slow + (", running backwards" if f.frequency < 0 else "")


def hidden_words(tone, rate, f):
    """The readout while the film is hidden."""
    return (
        f"You film {tone:g} Hz at {rate:g} frames a second. In life the radiator is "
        f"{f.true_phase:.0f}° ahead of the cone.",
        "What will the film show? Choose under Prediction: radiator leads, cone leads, or no "
        "order to be seen. Then move tone or frame rate, and predict again.",
    )


def words(f, tone, rate, guess, later, blur):
    """The readout: verdict on a prediction if there is one, motion, order, and what turned it."""
    verdict = ()
    if guess in GUESSES:
        right = GUESSES[guess] == f.leads
        verdict = (
            f"You said: {guess}. " + ("Right." if right else f"The film says: {NAMES[f.leads]}."),
        )
    order = f"In life the radiator is {f.true_phase:.0f}° ahead of the cone; on film "
    if f.orderless:
        order += "no order can be seen."
    else:
        order += f"{abs(f.phase):.0f}° {'ahead' if f.phase >= 0 else 'behind'}."
        order += " The film has turned their order round." if f.flipped else ""
    extra = ()
    if later:
        extra += (
            f"The radiator is read {abs(later):.1f} ms {'after' if later > 0 else 'before'} the "
            f"cone: that alone turns it by {0.36 * tone * later:.0f}°.",
        )
    if abs(blur) < 0.995:
        upside = ", upside down" if blur < 0 else ""
        extra += (f"The exposure leaves {100 * abs(blur):.0f} % of the motion{upside}.",)
    film_words = f"At {rate:g} frames a second the film of {tone:g} Hz {motion(f, tone)}."
    return (*verdict, film_words, order, *extra)


def caption(f, tone, rate, fb, hidden):
    """The caption."""
    start = (
        f"A box of {volume_text()} with a radiator, tuned to {fb:g} Hz, "
        f"plays {tone:g} Hz, filmed at {rate:g} frames a second. "
    )
    if hidden:
        return start + "The film stays hidden until you predict what it shows."
    return start + f"The film {motion(f, tone)}; on it the order is: {NAMES[f.leads]}."


def alt(f, tone, rate, hidden):
    """The text alternative."""
    start = (
        f"Four plots. Upper left: cone and radiator in life over {LIFE} frames, the radiator "
        f"{f.true_phase:.0f} degrees ahead, dots at each frame. "
    )
    if hidden:
        return start + "The other three are hidden until a prediction is chosen."
    return start + (
        f"Upper right: the same on film over {FRAMES} frames, which {motion(f, tone)}. Lower left:"
        " apparent frequency, −60 to 100 Hz, against tone, 15 to 100 Hz: a saw that falls below "
        f"zero where the film runs backwards; at {tone:g} Hz it is {f.frequency:.1f} Hz. Lower "
        "right: phase of the radiator against the cone, −200 to 200 degrees, in life and on film: "
        "of opposite sign wherever the saw is below zero."
    )


def warnings(rate, readout, exposure):
    """What the sensor cannot do at this frame rate."""
    frame = 1e3 / rate
    return tuple(
        f"A frame at {rate:g} a second lasts {frame:.1f} ms. The {what} cannot take longer, so "
        f"{frame:.1f} ms is used."
        for what, given in (("read-out", readout), ("exposure", exposure))
        if given > frame * (1 + 1e-9)
    )
