"""Faults of wiring and weights that a sweep shows, in plain words, to be said before any number.

A box is fitted on what is known of its driver. A coil that is not wired as that says makes every
fitted number wrong and none of them odd, so it is looked for first.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from boxlab.measure.fit.estimate import Amount, uncertain
from boxlab.measure.fit.shape import smooth
from boxlab.measure.fit.tuning import find_tuning
from boxlab.measure.fit.tuning_found import Tuning
from boxlab.measure.read.value import Sweep

if TYPE_CHECKING:
    from boxlab.measure.fit.driver_found import DriverFit
    from boxlab.measure.fit.least_squares import Fit
    from boxlab.model.driver import Driver

# measured over known resistance -> what makes it so; each within a sixth
_COILS = (
    (4.0, "its two coils are in series instead of in parallel"),
    (2.0, "one of two coils in parallel is dead or not connected, or one driver of two is"),
    (
        0.5,
        "only one of two coils in series is connected, or one is bridged, or two drivers are in "
        "parallel instead of one",
    ),
    (0.25, "its two coils are in parallel instead of in series"),
)
_AGREE = 0.04  # two readings of one coil agree within this share (our own choice)
_NEAR = 1.15  # a known resistance holds within this: leads, warmth and a meter's own error


def resistance_of(sweep: Sweep, fit: Fit | None) -> float:
    """The coil's resistance, Ω, by a `fit` in which it was free, or by the sweep's least magnitude.

    >>> from types import SimpleNamespace
    >>> sweep = Sweep([20.0, 32.0, 60.0], [4.6, 38.0, 4.1])
    >>> resistance_of(sweep, None), resistance_of(sweep, SimpleNamespace(values={"re": 3.4}))
    (4.1, 3.4)
    """
    re = fit.values.get("re", np.nan) if fit is not None else np.nan
    least = float(np.min(sweep.magnitude))
    return float(re) if 0.3 * least < re < 1.2 * least else least


def coil_fault(measured: float, known: Amount) -> str:
    """What is wrong with the coils, "" if nothing is.

    Parameters
    ----------
    measured : coil resistance as the sweep shows it, Ω
    known : as it should be as wired: a number, an Estimate or a pair (value, u), Ω

    >>> coil_fault(3.5, 3.4)
    ''
    >>> coil_fault(0.86, 3.4)[:21]
    'The coil measures 0.8'
    """
    known, u = uncertain(known)
    ratio = measured / known
    if 1 / _NEAR <= ratio <= _NEAR or abs(measured - known) < 2 * u:
        return ""
    shown = f"The coil measures {measured:.2g} Ω where {known:.2g} Ω was expected: "
    for share, why in _COILS:
        if abs(np.log(ratio / share)) < np.log(7 / 6):
            return shown + f"{ratio:.2g} times as much, as if {why}. Check the wiring first."
    return shown + (
        "another driver, a loose lead, or long thin cable in the measurement. Measure the coil "
        "with a meter first."
    )


def apart(measured: float, known: float, u: float = 0.0) -> str:
    """How far a coil's ohms are from what is known of it and what makes it so, "" if they agree.

    Less than makes a fault of wiring, more than a meter and a fit are off by.

    Parameters
    ----------
    measured, known : resistance as a sweep shows it and as known, Ω
    u : standard uncertainty of the one that was fitted, Ω

    >>> apart(3.95, 3.70)[:24], apart(3.72, 3.70)
    ('0.25 ohm (6.8 %) apart. ', '')
    """
    off = measured - known
    if abs(off) <= max(_AGREE * known, 3 * u) or not known / _NEAR <= measured <= known * _NEAR:
        return ""
    return (
        f"{abs(off):.2g} ohm ({100 * abs(off) / known:.1f} %) apart. Probably contact or lead "
        f"resistance in one of the two, or a coil that was warm"
    )


def turned(sweep: Sweep) -> bool:
    """Whether every phase of a sweep has the wrong sign.

    Where the magnitude of an impedance rises with frequency its phase is positive, where it falls
    negative: about π/2 for each 6 dB per octave (Bode's relation, from memory).

    Parameters
    ----------
    sweep : Sweep; without a phase, or with less than 12 points, it is taken as it is

    >>> from boxlab.gear.demo_sweeps import demo_table
    >>> from boxlab.measure.read.sweep import read_sweep
    >>> turned(read_sweep(demo_table("ported")))
    False
    """
    if sweep.phase is None or len(sweep) < 12:
        return False
    frequency, level, _ = smooth(sweep)
    slope = np.gradient(level, np.log(frequency))
    phase = np.interp(frequency, sweep.frequency, sweep.phase)
    size = np.sqrt(np.sum(slope**2) * np.sum(phase**2))
    return bool(size > 0 and np.sum(slope * phase) < -0.5 * size)


def righted(sweep: Sweep) -> tuple[Sweep, str]:
    """A sweep with its phases turned round where every one has the wrong sign, and that in words.

    Parameters
    ----------
    sweep : Sweep; one that is right comes back as it is, with ""

    >>> f = np.geomspace(20, 200, 40)
    >>> right = Sweep.from_impedance(f, 3.4 + 34 / (1 + 5j * (f / 60 - 60 / f)))
    >>> back, words = righted(replace(right, phase=-right.phase))
    >>> bool(np.all(back.phase == right.phase)), words[:32], righted(right)[1]
    (True, 'every phase has the wrong sign: ', '')
    """
    if not turned(sweep):
        return sweep, ""
    return replace(sweep, phase=-sweep.phase), (
        "every phase has the wrong sign: it is negative where the ohms rise with frequency. "
        "All were turned round; look at how the leads or the columns were set."
    )


def opposed(measured: float, known: Amount) -> str:
    """What it means that a sweep shows no resonance at all: `measured` and `known` as `coil_fault`.

    >>> opposed(3.45, 3.4)[:48], opposed(0.86, 3.4)[:26]
    ('The coil is as expected and nothing moves: two c', 'The coil measures 0.86 Ω w')
    """
    fault = coil_fault(measured, known)
    return fault or (
        "The coil is as expected and nothing moves: two coils, or two drivers, are wired against "
        "each other, or the cone is held. Turn the leads of one coil round."
    )


def missing_weight(fb: float, designed: float, moving: float, added: float, count: int) -> str:
    """Whether a tuning looks as if one radiator had no weights; "" if not.

    Parameters
    ----------
    fb, designed : measured and designed tuning, Hz
    moving, added : mass of one radiator with its weights, and the weights alone, kg
    count : how many radiators

    Radiators in one box act by the sum of 1/mass while the air is their spring.

    >>> missing_weight(42.9, 35.0, moving=0.200, added=0.100, count=2)[:61]
    'The tuning is 42.9 Hz where 35.0 Hz was meant, as if the weig'
    >>> missing_weight(35.2, 35.0, moving=0.200, added=0.100, count=2)
    ''
    """
    if not added > 0 or count < 2:
        return ""
    mean = ((count - 1) / moving + 1 / (moving - added)) / count
    expected = float(designed) * np.sqrt(moving * mean)
    if abs(fb / expected - 1) > 0.02 or abs(fb / designed - 1) < 0.02:
        return ""
    return (
        f"The tuning is {float(fb):.1f} Hz where {float(designed):.1f} Hz was meant, as if the "
        f"weights of one of the {count} radiators ({added * 1e3:.0f} g) were missing. Look there "
        "first."
    )


def refuse(
    sweep: Sweep, found: Tuning, driver: Driver | DriverFit | None, re: Amount | None
) -> None:
    """No box is fitted on a driver that is not wired as known: every number would be wrong.

    Parameters
    ----------
    sweep : Sweep of the box
    found : what `find_tuning` made of it
    driver, re : what is known of the coil: a driver with its own `re`, or ohms in place of that

    Raises
    ------
    ValueError
        If the coil is another than the known one, or nothing moves.

    >>> from types import SimpleNamespace
    >>> flat = Sweep([20.0, 32.0, 60.0], [0.9, 0.9, 0.9])
    >>> found = SimpleNamespace(peaks=0, fit=None, words=())
    >>> refuse(flat, found, SimpleNamespace(re=3.4), None)  # doctest: +ELLIPSIS
    Traceback (most recent call last):
    ValueError: The coil measures 0.9 Ω where 3.4 Ω was expected: 0.26 times as much...
    """
    known = re if re is not None else getattr(driver, "re", None)
    free = found if known is None or re is None else find_tuning(sweep)
    measured = resistance_of(sweep, free.fit)
    if known is not None and (fault := coil_fault(measured, known)):
        raise ValueError(fault)
    if found.peaks == 0:
        told = [] if known is None else [opposed(measured, known)]
        raise ValueError(" ".join([*told, *found.words]))
