"""Exercises on filming a box: what a frame rate and a sensor make of it."""

from __future__ import annotations

from types import SimpleNamespace

from boxlab.model.camera import apparent_frequency, seen_phase
from boxlab.quiz.task import Exercise, Step


def _draw_film(rng):
    rate = int(rng.choice([24, 25, 30, 50, 60]))
    times = int(rng.integers(1, 3)) if rate < 40 else 1
    off = int(rng.integers(1, 5)) * (1 if rng.random() < 0.4 else -1)
    return SimpleNamespace(
        rate=rate, tone=rate * times + off, nearest=rate * times, lead=int(rng.integers(90, 96))
    )


def _apparent(n):
    return float(apparent_frequency(n.tone, n.rate))


def _seen(n):
    return float(seen_phase(n.tone, n.rate, n.lead))


film = Exercise(
    "phase/film",
    title="What will the film show?",
    draw=_draw_film,
    prompt=lambda n: (
        f"A box plays {n.tone} Hz at its tuning. In life the radiator is {n.lead}° ahead of the "
        f"front of the cone. You film both, side by side, at {n.rate} frames a second. What does "
        "the film show?"
    ),
    steps=(
        Step(
            "Nearest whole multiple of the frame rate",
            lambda n: n.nearest,
            "Hz",
            0.001,
            formula="nearest = rate·round(tone/rate)",
        ),
        Step(
            "Apparent frequency (minus: runs backwards)",
            _apparent,
            "Hz",
            slips={
                "That takes away one frame rate; take the nearest multiple.": lambda n: (
                    n.tone - n.rate if n.nearest != n.rate else n.tone
                ),
            },
            formula="seen = tone − nearest",
        ),
        Step(
            "One cycle on film takes",
            lambda n: 1 / abs(_apparent(n)),
            "s",
            slips={"That is a cycle in life.": lambda n: 1 / n.tone},
            formula="cycle = 1/abs(seen)",
        ),
        Step(
            "Radiator against cone on film (minus: behind)",
            _seen,
            "deg",
            absolute=0.5,
            slips={
                "Look at the sign of the apparent frequency: a film that runs backwards turns "
                "the order round.": lambda n: -_seen(n),
            },
            formula="angle = lead·seen/abs(seen)",
        ),
    ),
    letters=lambda n: {"rate": n.rate, "tone": n.tone, "lead": n.lead},
    hints=lambda n: (
        "A film cannot tell a tone from the same tone with whole cycles added or taken away "
        "between two frames. Which multiple of the frame rate lies nearest?",
        "Apparent frequency = tone − nearest multiple. One cycle takes 1 over its size. Below "
        "zero the film runs backwards, and every phase changes its sign.",
        f"{n.tone} / {n.rate} = {n.tone / n.rate:.2f}. Round that to a whole number, multiply it "
        f"by {n.rate}, and take the result away from {n.tone}.",
    ),
    solution=lambda n: (
        f"{n.tone} − {n.nearest} = **{_apparent(n):g} Hz**: each cycle takes "
        f"{1 / abs(_apparent(n)):.2f} s"
        + (
            f" and the film runs backwards, so the radiator seems to be behind: "
            f"**{_seen(n):.0f}°**."
            if _apparent(n) < 0
            else f" and the order is the true one: **{_seen(n):.0f}°** ahead."
        )
    ),
)


def _draw_shutter(rng):
    return SimpleNamespace(
        tone=int(rng.integers(28, 46)),
        readout=int(rng.integers(8, 28)),
        share=5 * int(rng.integers(6, 18)),
    )


def _turned(n, share=True):
    return 360 * n.tone * n.readout / 1e3 * (n.share / 100 if share else 1)


shutter = Exercise(
    "phase/shutter",
    title="How much does the sensor turn it?",
    draw=_draw_shutter,
    prompt=lambda n: (
        f"A phone reads its picture from top to bottom in {n.readout} ms. The radiator sits below "
        f"the cone, by {n.share} % of the picture's height. At {n.tone} Hz, by how many degrees "
        "does that alone put the radiator ahead (in life's order, before any film runs backwards)?"
    ),
    answer=_turned,
    unit="deg",
    formula="angle = 360·tone·share·readout",
    letters=lambda n: {"tone": n.tone, "share": n.share / 100, "readout": n.readout / 1e3},
    slips={
        "You took the whole picture's time; the two are only part of it apart.": lambda n: _turned(
            n, share=False
        ),
        "That is in cycles, not in degrees.": lambda n: _turned(n) / 360,
    },
    hints=lambda n: (
        "The radiator's lines are read later. In that time it moves on. How much later?",
        f"{n.share} % of {n.readout} ms. Which part of a cycle of {n.tone} Hz is that?",
        f"{n.share * n.readout / 100:.1f} ms · {n.tone} Hz = "
        f"{n.share * n.readout * n.tone / 1e5:.3f} cycles; a cycle is 360°.",
    ),
    solution=lambda n: (
        f"{n.share} % of {n.readout} ms is {n.share * n.readout / 100:.1f} ms, in which "
        f"{n.tone} Hz turns **{_turned(n):.0f}°**"
        + (
            ": enough to turn a quarter cycle's order round."
            if 90 < _turned(n) % 360 < 270
            else "."
        )
    ),
)


def _draw_rate(rng):
    return SimpleNamespace(fb=int(rng.integers(28, 46)), seconds=int(rng.choice([2, 4, 5])))


set_rate = Exercise(
    "phase/set-rate",
    title="Which frame rate shows the truth, slowly?",
    draw=_draw_rate,
    prompt=lambda n: (
        f"Your box is tuned to {n.fb} Hz and plays that. An app lets you choose any frame rate. "
        f"You want one frame a cycle or so, each cycle on film to take {n.seconds} s, and the "
        "order true. How many frames a second?"
    ),
    answer=lambda n: n.fb - 1 / n.seconds,
    formula="rate = tone − 1/cycle",
    letters=lambda n: {"tone": n.fb, "cycle": n.seconds},
    tolerance=1e-4,
    absolute=0.02,
    slips={
        "That shows the same slow motion, but backwards.": lambda n: n.fb + 1 / n.seconds,
        "At that rate the film stands still.": lambda n: n.fb,
        "The apparent frequency is one over the seconds of a cycle.": lambda n: n.fb - n.seconds,
    },
    hints=lambda n: (
        "The apparent frequency is the tone less the frame rate. How large should it be, and of "
        "which sign?",
        f"A cycle of {n.seconds} s is {1 / n.seconds:g} Hz; above zero for the true order.",
        f"Tone less rate = +{1 / n.seconds:g} Hz.",
    ),
    solution=lambda n: (
        f"{n.fb} − {1 / n.seconds:g} = **{n.fb - 1 / n.seconds:g} frames a second**. A little "
        "slower than the tone, never faster."
    ),
)
