"""Exercises of the lesson "reading a sweep": added mass, tuning, faults, volume, weights."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np

from boxlab.air import Air
from boxlab.demo_sweeps import FAULTS
from boxlab.exercise import Exercise, Step
from boxlab.quantities import digits
from boxlab.scenes.faults_in_a_sweep import CASE_COUNT, case, facts
from boxlab.sweep.budget import added_mass_budget
from boxlab.sweep.radiator import WASHERS, mass_to_add, radiator_from_tunings
from boxlab.units import cm2, grams, litres, to_cubic_feet, to_grams, to_litres, to_ounces

_MODULUS = Air().bulk_modulus


# Added mass, step by step.


def _draw_driver(rng):
    fs, mms = int(rng.integers(48, 76)) / 2, int(rng.integers(70, 160))
    added = 5 * round(mms * float(rng.uniform(0.4, 0.7)) / 5)
    return SimpleNamespace(
        fs=fs,
        added=added,
        loaded=round(fs / np.sqrt(1 + added / mms), 1),
        sd=5 * int(rng.integers(40, 100)),
    )


def _mms(n):
    return n.added / ((n.fs / n.loaded) ** 2 - 1)


def _cms(n):
    return 1e3 / ((2 * np.pi * n.fs) ** 2 * _mms(n) / 1e3)  # mm/N


def _vas(n):
    return float(to_litres(_MODULUS * cm2(n.sd) ** 2 * _cms(n) / 1e3))


added_mass = Exercise(
    "reading-a-sweep/added-mass",
    title="What does the cone weigh, and how soft does it hang?",
    draw=_draw_driver,
    prompt=lambda n: (
        f"A driver in free air resonates at {n.fs:g} Hz. With {n.added} g of modelling clay "
        f"({to_ounces(grams(n.added)):.1f} oz) on the cone it resonates at {n.loaded:g} Hz. Its "
        f"cone area is {n.sd} cm². Find moving mass, compliance and Vas. Take ρc² = 141 900 Pa."
    ),
    steps=(
        Step(
            "The ratio r of the two frequencies, squared",
            lambda n: (n.fs / n.loaded) ** 2,
            "",
            tolerance=0.005,
            slips={
                "That is the ratio itself. Mass goes with the square of frequency.": (
                    lambda n: n.fs / n.loaded
                ),
                "The other way up: the loaded cone is the slower one.": (
                    lambda n: (n.loaded / n.fs) ** 2
                ),
            },
        ),
        Step(
            "Moving mass",
            _mms,
            "g",
            tolerance=0.03,
            slips={
                "That is the mass with the clay on: take the clay off again.": (
                    lambda n: _mms(n) + n.added
                ),
                "You divided by r instead of by r − 1.": lambda n: n.added / (n.fs / n.loaded) ** 2,
            },
        ),
        Step(
            "Compliance",
            _cms,
            "mm/N",
            tolerance=0.03,
            slips={
                "You left out the 2π: ω = 2π·fs.": lambda n: _cms(n) * (2 * np.pi) ** 2,
            },
        ),
        Step(
            "Vas",
            _vas,
            "L",
            tolerance=0.04,
            slips={
                "The area counts twice: once for force from pressure, once for volume from "
                "travel.": lambda n: _vas(n) / cm2(n.sd),
            },
        ),
    ),
    hints=lambda n: (
        "The suspension is the same both times. So frequency squared times mass is too.",
        "r = (fs/fs′)², Mms = Δm/(r − 1), Cms = 1/((2π·fs)²·Mms), Vas = ρc²·Sd²·Cms, all in kg, "
        "m² and m/N.",
        f"r − 1 = {(n.fs / n.loaded) ** 2 - 1:.3f}; (2π·fs)² = "
        f"{digits((2 * np.pi * n.fs) ** 2)}; Sd² = {cm2(n.sd) ** 2:.3g} m⁴.",
    ),
    solution=lambda n: (
        f"r = ({n.fs:g}/{n.loaded:g})² = {(n.fs / n.loaded) ** 2:.4f}, so Mms = {n.added} g/(r − "
        f"1) = **{digits(_mms(n))} g**. Cms = 1/((2π·{n.fs:g})²·Mms) = **{_cms(n):.3f} mm/N**, "
        f"and Vas = ρc²·Sd²·Cms = **{_vas(n):.1f} L** "
        f"({to_cubic_feet(litres(_vas(n))):.2f} ft³)."
    ),
)


# What a reading error does.


def _draw_budget(rng):
    mms = 5 * int(rng.integers(14, 32))
    return SimpleNamespace(
        mms=mms,
        added=round(mms * float(rng.uniform(0.06, 0.25))),
        error=int(rng.integers(3, 9)) / 10,
    )


def _budget(n, added=None):
    added = n.added if added is None else added
    share = added_mass_budget(grams(added), grams(n.mms), n.error / 100).total
    return 100 * float(share)


too_small = Exercise(
    "reading-a-sweep/too-small",
    title="How sure is a mass found with too little clay?",
    draw=_draw_budget,
    prompt=lambda n: (
        f"A cone moves about {n.mms} g. You put {n.added} g on it, and read each resonance to "
        f"{n.error:g} % (one standard uncertainty). To how many per cent do you then know the "
        "moving mass?"
    ),
    answer=_budget,
    unit="%",
    tolerance=0.05,
    slips={
        "That is for one of the two resonances; both are uncertain, and they add as squares.": (
            lambda n: _budget(n) / np.sqrt(2)
        ),
        "Frequency enters squared, which doubles its error.": lambda n: _budget(n) / 2,
        "You forgot the small difference: divide by r − 1, which is Δm/Mms.": lambda n: (
            2 * np.sqrt(2) * n.error
        ),
    },
    hints=lambda n: (
        "The mass comes from r − 1, the small difference of two nearly equal numbers.",
        "δM/M = 2·√2·ε·(1 + Mms/Δm), with ε the error of one resonance.",
        f"1 + Mms/Δm = {1 + n.mms / n.added:.2f}.",
    ),
    solution=lambda n: (
        f"δM/M = 2·√2·{n.error:g} %·(1 + {n.mms}/{n.added}) = **{_budget(n):.1f} %**. With half "
        f"the moving mass on the cone it would be {_budget(n, n.mms / 2):.1f} %."
    ),
)


# Tuning from three resonances.


def _draw_peaks(rng):
    fs = float(rng.uniform(26, 36))
    fb = fs * float(rng.uniform(1.12, 1.4))
    alpha = float(rng.uniform(1.2, 3.5))
    total, product = fb**2 + fs**2 * (1 + alpha), fs * fb
    root = np.sqrt(total**2 - 4 * product**2)
    return SimpleNamespace(
        fl=round(float(np.sqrt((total - root) / 2)), 1),
        fh=round(float(np.sqrt((total + root) / 2)), 1),
        fc=round(fs * float(np.sqrt(1 + alpha)), 1),
    )


def _sum(n):
    return float(np.sqrt(n.fl**2 + n.fh**2 - n.fc**2))


three_peaks = Exercise(
    "reading-a-sweep/three-peaks",
    title="Where is the tuning, by the three resonances?",
    draw=_draw_peaks,
    prompt=lambda n: (
        f"A ported box shows peaks at {n.fl:g} and {n.fh:g} Hz. With the port stopped by a board "
        f"it shows one peak, at {n.fc:g} Hz. Where is it tuned?"
    ),
    answer=_sum,
    unit="Hz",
    tolerance=0.01,
    slips={
        "That is the middle of the two peaks on a log axis. The tuning is not there.": (
            lambda n: np.sqrt(n.fl * n.fh)
        ),
        "Take the root at the end: squares were added.": lambda n: _sum(n) ** 2,
        "The sealed peak has to be taken off, squared.": lambda n: np.hypot(n.fl, n.fh),
    },
    hints=lambda n: (
        "Three resonances of one box: two with the vent open, one with it shut.",
        "fb² = fL² + fH² − fC².",
        f"fL² + fH² = {digits(n.fl**2 + n.fh**2)} Hz², fC² = {digits(n.fc**2)} Hz².",
    ),
    solution=lambda n: (
        f"fb = √({n.fl:g}² + {n.fh:g}² − {n.fc:g}²) = **{_sum(n):.1f} Hz**. It needs no phase and "
        "no lowest point. The vent must be shut tight."
    ),
)


# What the build got wrong.


def _draw_volume(rng):
    drawn = int(rng.integers(24, 60)) / 2
    real = drawn * float(rng.uniform(0.78, 0.93))
    fs, vas = int(rng.integers(50, 72)) / 2, int(rng.integers(20, 60))
    return SimpleNamespace(
        drawn=drawn, fs=fs, vas=vas, fc=round(fs * float(np.sqrt(1 + vas / real)), 1)
    )


def _volume(n):
    return n.vas / ((n.fc / n.fs) ** 2 - 1)


volume = Exercise(
    "reading-a-sweep/volume",
    title="How large did the box come out?",
    draw=_draw_volume,
    prompt=lambda n: (
        f"A box was drawn for {n.drawn:g} L ({to_cubic_feet(litres(n.drawn)):.2f} ft³) net. The "
        f"driver has fs {n.fs:g} Hz and Vas {n.vas} L. With the radiator held still, the box "
        f"shows one peak, at {n.fc:g} Hz. What is the net volume really?"
    ),
    answer=_volume,
    unit="L",
    tolerance=0.02,
    slips={
        "You forgot to take 1 off: with no box at all the ratio would be 1.": (
            lambda n: n.vas / (n.fc / n.fs) ** 2
        ),
        "Square the ratio of the frequencies first.": lambda n: n.vas / (n.fc / n.fs - 1),
        "The other way round: a stiffer, smaller box raises the peak.": (
            lambda n: n.vas * ((n.fc / n.fs) ** 2 - 1)
        ),
    },
    hints=lambda n: (
        "The air of the box is a second spring beside the suspension. How much stiffer are both "
        "together than one?",
        "(fc/fs)² = 1 + Vas/Vb.",
        f"(fc/fs)² − 1 = {(n.fc / n.fs) ** 2 - 1:.3f}.",
    ),
    solution=lambda n: (
        f"Vas/Vb = ({n.fc:g}/{n.fs:g})² − 1 = {(n.fc / n.fs) ** 2 - 1:.3f}, so Vb = "
        f"**{_volume(n):.1f} L** ({to_cubic_feet(litres(_volume(n))):.2f} ft³), "
        f"{100 * (1 - _volume(n) / n.drawn):.0f} % less than drawn. Braces, the driver's back and "
        "the radiator's throat take room too."
    ),
)


# Weights for a tuning.


def _draw_weights(rng):
    first = int(rng.integers(76, 100)) / 2
    mass = int(rng.integers(110, 260))
    added = 10 * int(rng.integers(6, 12))
    return SimpleNamespace(
        first=first,
        added=added,
        second=round(first * float(np.sqrt(mass / (mass + added))), 1),
        wanted=round(first * float(rng.uniform(0.84, 0.93)) * 2) / 2,
    )


def _found(n):
    return radiator_from_tunings(n.first, n.second, grams(n.added)).mass


def _more(n):
    return float(to_grams(mass_to_add(n.wanted, n.first, _found(n))))


_M16 = float(to_grams(WASHERS["M16"].mass))

weights = Exercise(
    "reading-a-sweep/weights",
    title="How many grams, and how many washers?",
    draw=_draw_weights,
    prompt=lambda n: (
        f"A box with one radiator tunes to {n.first:g} Hz. With {n.added} g "
        f"({to_ounces(grams(n.added)):.1f} oz) more on the radiator it tunes to {n.second:g} Hz. "
        f"You want {n.wanted:g} Hz. Your M16 washers weigh {_M16:.1f} g each."
    ),
    steps=(
        Step(
            "What moves without the extra weights",
            lambda n: float(to_grams(_found(n))),
            "g",
            tolerance=0.03,
            slips={
                "That is with the extra weights on.": lambda n: (
                    float(to_grams(_found(n))) + n.added
                ),
                "Square the frequencies first.": lambda n: (
                    n.added * n.second / (n.first - n.second)
                ),
            },
        ),
        Step(
            "To add for the wanted tuning, in place of the extra weights",
            _more,
            "g",
            tolerance=0.05,
            absolute=2.0,
            slips={
                "That is all that moves at the wanted tuning; part of it is there already.": (
                    lambda n: _more(n) + float(to_grams(_found(n)))
                ),
            },
        ),
        Step(
            "Washers, to the nearest whole one",
            lambda n: float(round(_more(n) / _M16)),
            "",
            absolute=0.4,
        ),
    ),
    hints=lambda n: (
        "The springs are the same in all three cases, so frequency squared times mass is too.",
        "M = Δm·f₂²/(f₁² − f₂²); then M·((f₁/f)² − 1) for a wanted f.",
        f"f₁² = {digits(n.first**2)}, f₂² = {digits(n.second**2)} Hz²; "
        f"(f₁/f)² − 1 = {(n.first / n.wanted) ** 2 - 1:.3f}.",
    ),
    solution=lambda n: (
        f"M = {n.added}·{n.second:g}²/({n.first:g}² − {n.second:g}²) = "
        f"**{to_grams(_found(n)):.0f} g**. For {n.wanted:g} Hz add M·(({n.first:g}/{n.wanted:g})² "
        f"− 1) = **{_more(n):.0f} g**, which is **{round(_more(n) / _M16)}** M16 washers. Weigh "
        "yours; they are rarely all alike."
    ),
)


# Spot the fault.

NAMES = tuple(FAULTS)
_SAYS = {
    "leak": "A leak lowers both peaks and lifts the valley, with no jagged points and nothing "
    "moved sideways.",
    "loose radiator": "A loose radiator loses energy and buzzes just above the tuning: look for "
    "jagged points there.",
    "stuffing": "Stuffing makes the box act larger: the upper peak would have moved down.",
    "rattle": "A rattle far from the tuning leaves peaks and valley as they were.",
    "small volume": "A box too small moves the upper peak and the valley up.",
    "heavy radiator": "A heavy radiator moves valley and lower peak down, and hardly the upper "
    "one.",
    "rubbing coil": "A rubbing coil lowers both peaks but leaves the valley at its old depth.",
}


def _draw_case(rng):
    return SimpleNamespace(case=int(rng.integers(1, CASE_COUNT + 1)))


def _which(n):
    return NAMES.index(case(n.case).fault) + 1


def _table(n):
    a, b, rough = facts(n.case)
    rows = [
        f"- {name}: {getattr(a, f):.1f} Hz and {getattr(a, z):.1f} Ω when sound, now "
        f"{getattr(b, f):.1f} Hz and {getattr(b, z):.1f} Ω"
        for name, f, z in (
            ("lower peak", "fl", "zl"),
            ("valley", "fm", "zm"),
            ("upper peak", "fh", "zh"),
        )
    ]
    jags = ", ".join(f"{low:.0f} to {high:.0f} Hz" for low, high in rough)
    return "\n".join([*rows, f"- jagged: {jags or 'nowhere'}"])


def _slip(place):
    return lambda n: float(place) if place != _which(n) else -float(place)


fault = Exercise(
    "reading-a-sweep/fault",
    title="Spot the fault",
    draw=_draw_case,
    prompt=lambda n: (
        f"Set the panel above to **case {n.case}**. The radiator box was sound, tuned to 34 Hz; "
        "now something is wrong.\n\n"
        + _table(n)
        + "\n\nWhich is it? Type its number: "
        + ", ".join(f"**{i}** {name}" for i, name in enumerate(NAMES, 1))
        + "."
    ),
    answer=lambda n: float(_which(n)),
    unit="",
    absolute=0.3,
    slips={_SAYS[name]: _slip(place) for place, name in enumerate(NAMES, 1)},
    hints=lambda n: (
        "First ask: has anything moved sideways? Then: has it become lower and rounder? Last: "
        "are points jagged?",
        "Sideways is mass or volume. Lower peaks are losses: of the box if the valley is lifted, "
        "of the driver if it is not. Jagged is something that buzzes.",
        {
            True: "Something has moved sideways here.",
            False: "Nothing has moved sideways here.",
        }[case(n.case).fault in ("stuffing", "small volume", "heavy radiator")],
    ),
    solution=lambda n: f"It is **{_which(n)}, {case(n.case).fault}**. {case(n.case).reason}",
)

EXERCISES = (added_mass, too_small, three_peaks, volume, weights, fault)

_LINES = {  # prediction -> explainer, its settings, and the line of its readout that answers
    "lowest": ("where_is_the_tuning", {}, 0),
    "taller": ("where_is_the_tuning", {"fb": 28.0, "le": 0.0}, 0),
    "leak": ("faults_in_a_sweep", {"fault": "leak"}, 1),
    "clay": ("weigh_the_cone", {"added": 10}, 0),
    "weights": ("weights_for_a_tuning", {"wanted": 32.0}, 0),
}
_RIGHT = {
    "lowest": "A little below it",
    "taller": "A little above it",
    "leak": "The peaks come down, the valley comes up",
    "clay": "About 18 %",
    "weights": "About 90 g (3.2 oz)",
}
_OTHERS = {
    "lowest": {
        "Exactly at it": "That is so only without losses and without inductance. Set both away in "
        "the panel and see.",
        "A little above it": "It happens: where the upper peak is the taller one and the coil is "
        "small. You will meet that next.",
    },
    "taller": {
        "Exactly at it": "Without losses it would be: take QL up to 50 and the distance shrinks.",
        "A little below it": "That is where it was before. Without a coil to pull it down, only "
        "the losses are left, and they pull towards the taller peak.",
    },
    "leak": {
        "The tuning moves down": "Hardly: here by less than two in a hundred. A leak takes "
        "energy, not mass.",
        "The upper peak moves up": "That is what a box too small does.",
    },
    "clay": {
        "About 1 %": "That is what the two readings together are uncertain by, before the "
        "difference is taken.",
        "About 5 %": "With 60 g of clay it is about that. With 10 g the resonance hardly moves.",
    },
    "weights": {
        "About 40 g (1.4 oz)": "A fifth off the frequency wants more than a quarter on the mass: "
        "it goes with the square.",
        "About 160 g (5.6 oz)": "Twice the mass would bring the tuning down to 28 Hz.",
    },
}


def answer(slug):
    """What `quiz.compare` needs for one prediction, the reason with numbers from the model.

    Kept here so that the lesson's own cells do not give answers away.
    """
    from boxlab.scenes import explainer

    name, settings, line = _LINES[slug]
    because = explainer(name)(**settings).readout[line]
    return {"right": _RIGHT[slug], "because": because, "others": _OTHERS[slug]}
