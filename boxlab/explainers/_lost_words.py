"""What is said of a box of which one radiator has other weights than the rest."""

from __future__ import annotations

import numpy as np

from boxlab.base.units import to_mm
from boxlab.explainers._shared import FREQUENCY

WORDS = ("no", "one", "two", "three", "four", "five")


def most(moving):
    """The largest travel of an answer's radiator, m, and where, Hz."""
    travel = getattr(moving, "excursion", None)
    travel = moving.vent_excursion if travel is None else travel
    place = int(np.argmax(travel))
    return float(travel[place]), float(FREQUENCY[place])


def same(f):
    """Whether all carry the same."""
    return f["left"] == f["fitted"]


def headline(f):
    """The message with its numbers."""
    if same(f):
        return f"All alike have one tuning, {f['fb']:.1f} Hz, and one null, {f['fp']:.1f} Hz."
    if f["n"] == 1:
        return (
            f"The only radiator tunes it to {f['tunings'][0]:.1f} Hz in place of {f['fb']:.1f} Hz."
        )
    return (
        f"The box is tuned to {f['tunings'][1]:.1f} Hz in place of {f['fb']:.1f} Hz, and has a "
        f"second null, at {_new_null(f):.1f} Hz."
    )


def _new_null(f):
    """The null that equal weights would not have, Hz."""
    return max(f["nulls"], key=lambda each: abs(each - f["fp"]))


def readout(f):
    """Short sentences, the most important first."""
    lines = [_tuned(f)]
    if not same(f):
        lines.append(
            f"Against equal weights it is up to {f['loss']:.1f} dB quieter, at {f['worst']:.0f} "
            f"Hz (15 to 120 Hz); at {f['fb']:.0f} Hz, where it should be tuned, it is "
            f"{abs(f['there']):.1f} dB {'louder' if f['there'] > 0 else 'quieter'}."
        )
    lines.append(_travels(f))
    before, after = (len(each) for each in f["peaks"])
    with_equal = "" if same(f) else f"; with equal weights, {WORDS[min(before, 5)]}"
    lines.append(
        f"The impedance has {WORDS[min(after, 5)]} peak{'s' * (after != 1)} below 100 Hz, at "
        f"{', '.join(f'{each:.0f}' for each in f['peaks'][1])} Hz{with_equal}."
    )
    return tuple(lines)


def _tuned(f):
    if same(f) or f["n"] == 1:
        return f"Tuning {f['tunings'][0]:.1f} Hz, null {f['nulls'][0]:.1f} Hz."
    low, high = f["tunings"]
    one, other = f["nulls"]
    return (
        f"Tunings {low:.1f} and {high:.1f} Hz, nulls {one:.1f} and {other:.1f} Hz; with equal "
        f"weights, tuning {f['fb']:.1f} Hz and null {f['fp']:.1f} Hz."
    )


def _travels(f):
    light, at = most(f["moving"][0])
    text = f"At {f['drive']:g} V the one goes up to {to_mm(light):.1f} mm, at {at:.0f} Hz"
    if f["n"] > 1:
        heavy, there = most(f["moving"][-1])
        rest = "the other" if f["n"] == 2 else "each of the others"
        text += f", {rest} up to {to_mm(heavy):.1f} mm, at {there:.0f} Hz"
    return f"{text}; with equal weights, {to_mm(most(f['r0'])[0]):.1f} mm."


def weights(f):
    """What lies on the radiators, for the caption."""
    one = f"{f['left']:g} g" if f["left"] else "nothing"
    if f["n"] == 1:
        return f"one radiator, with {one} on it in place of {f['fitted']:g} g"
    many = WORDS[f["n"]]
    return f"{many} radiators, {f['fitted']:g} g on each but one, which has {one}"


def why(f):
    """Why it is so, for the caption."""
    if f["n"] == 1:
        return "A single radiator without its weight only tunes higher."
    if same(f):
        return "With the same weights on all they move as one."
    return (
        "The lighter and the heavier resonate apart. Between their own resonances one goes out as "
        "the other comes in, and each has its null where it alone takes up what the cone gives."
    )
