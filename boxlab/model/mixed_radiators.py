"""A box whose radiators differ: by a lost weight, or because they were never the same.

Each is a branch of its own from the box air to the outside, so n of them bring up to n tunings and
n nulls, one between each two tunings and the lowest below all (derived: the box air is one spring
that couples them, and a spring moves each resonance up as far as the next at most).

Boxes with two chambers (band-pass) are out of the scope of this library: they need a second
volume of air, and a solve that knows on which side of the driver each vent lies.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from boxlab.base.array_types import Values
from boxlab.base.checks import not_negative, positive, same_shape
from boxlab.model.driver import beside
from boxlab.model.enclosure import Box, RadiatorBox
from boxlab.model.radiator import Radiator
from boxlab.model.response import Response

_FIELDS = ("sd", "mms", "cms", "rms", "xmax", "added_mass")


@dataclass(frozen=True, eq=False)
class MixedRadiatorBox(Box):
    """A box of net volume m³ with radiators that may differ, and leakage loss `ql`.

    Parameters
    ----------
    volume : net volume, m³
    radiators : tuple of Radiator, one for each; where all are equal, it answers to the bit as
        `RadiatorBox` does
    ql, qa : leakage and absorption, each as a Q at the highest tuning, where all radiators go out
        together; inf for none

    Raises
    ------
    ValueError
        For a volume or ql that is not above zero, no radiators, or anything else among them.

    >>> from boxlab import MixedRadiatorBox, grams, litres
    >>> from boxlab.gear.scenario import TEN_INCH_RADIATOR as radiator
    >>> box = MixedRadiatorBox.weighted(litres(20), radiator, [grams(150), 0.0])
    >>> box.nulls.round(1), box.tunings().round(1)
    (array([13. , 20.5]), array([15.4, 58.6]))
    """

    volume: float | np.ndarray
    radiators: tuple[Radiator, ...]
    ql: float | np.ndarray = math.inf
    qa: float | np.ndarray = math.inf

    def __post_init__(self):
        example = "MixedRadiatorBox(volume, (radiator, radiator.with_mass(0.0)))"
        if not isinstance(self.radiators, tuple | list) or not self.radiators:
            raise ValueError(
                "radiators must be a tuple of Radiator, one for each, got "
                f"{self.radiators if self.radiators == () else type(self.radiators).__name__}. "
                f"For example: {example}."
            )
        wrong = [each for each in self.radiators if not isinstance(each, Radiator)]
        if wrong:
            raise ValueError(
                f"radiators holds a {type(wrong[0]).__name__}: each must be a Radiator. "
                f"For example: {example}."
            )
        self._store("radiators", tuple(self.radiators))
        self._store_volume()
        masses = {f"radiator {n + 1}": r.sd * r.moving_mass for n, r in enumerate(self.radiators)}
        same_shape("MixedRadiatorBox", volume=self.volume, **self._store_losses(), **masses)

    @classmethod
    def weighted(cls, volume, radiator, added_mass, *, ql=math.inf, qa=math.inf):
        """A box whose radiators differ in their weights alone.

        Parameters
        ----------
        volume, ql, qa : as for the class
        radiator : Radiator; its own weights are replaced
        added_mass : a list or tuple, kg on each radiator, and so as many as there are
        """
        if not isinstance(added_mass, tuple | list) or not added_mass:
            raise ValueError(
                f"added_mass = {added_mass!r}: give a list with the weights on each radiator, kg, "
                "such as [0.15, 0.0]. Where all have the same, use RadiatorBox."
            )
        if not isinstance(radiator, Radiator):
            raise ValueError(f"radiator must be a Radiator, got {type(radiator).__name__}.")
        hint = "Mass is in kilograms: use boxlab.grams(60) for 60 g."
        masses = [not_negative("added_mass", each, hint) for each in added_mass]
        return cls(volume, tuple(radiator.with_mass(mass) for mass in masses), ql, qa)

    @property
    def count(self):
        """How many radiators there are."""
        return len(self.radiators)

    @property
    def alike(self):
        """The `RadiatorBox` that it is, where all radiators are equal; else None."""
        first, *others = self.radiators
        for other in others:
            if not all(np.array_equal(getattr(first, n), getattr(other, n)) for n in _FIELDS):
                return None
        return RadiatorBox(self.volume, first, self.count, self.ql, self.qa)

    def vents(self, air=None):
        """Its acoustic branches: one for each radiator, or one of all where they are equal."""
        if self.alike is not None:
            return self.alike.vents(air)
        return tuple(radiator.vent(1) for radiator in self.radiators)

    def vent(self, air=None):
        """The one branch of all its radiators, where they are equal.

        Raises
        ------
        ValueError
            Where they differ: no one mass on one spring acts as they do.
        """
        if self.alike is None:
            raise ValueError(
                "The radiators differ, and act as no single vent: use vents(), one for each."
            )
        return self.alike.vent(air)

    @property
    def nulls(self):
        """The radiators' own resonances, Hz, in rising order, shape designs' + (n,).

        At each the output has a null; equal ones have one in common.
        """
        return np.sort(self._each(lambda radiator: radiator.fp), axis=-1)

    def tunings(self, air=None):
        """Every tuning, Hz, in rising order, shape designs' + (n,).

        Resonances of the radiators on their suspensions and the box air that they share, without
        loss and with the cone held (derived: eigenvalues of stiffness over mass). In the highest
        all go out together; in the others some go in while others go out. Equal radiators have
        tunings at their own resonance that nothing drives.
        """
        mass, cms, area = (
            self._each(lambda radiator, name=name: getattr(radiator, name))
            for name in ("moving_mass", "cms", "sd")
        )
        push = area / np.sqrt(mass)
        air_spring = 1 / np.asarray(self.compliance(air))[..., None, None]
        stiffness = push[..., :, None] * push[..., None, :] * air_spring
        own = 1 / (cms * mass)
        stiffness = stiffness + own[..., None, :] * np.eye(self.count)
        return np.sqrt(np.maximum(np.linalg.eigvalsh(stiffness), 0.0)) / (2 * np.pi)

    def tuning(self, air=None):
        """The highest tuning, Hz: all radiators on the spring of the box air; `tunings` has all."""
        if self.alike is not None:
            return self.alike.tuning(air)
        return self.tunings(air)[..., -1][()]

    def _each(self, value):
        """A value of each radiator, along a last axis after the designs'."""
        found = [value(radiator) for radiator in self.radiators]
        return np.stack(np.broadcast_arrays(self.volume, *found)[1:], axis=-1).astype(float)


def coupled_tunings(
    f1: ArrayLike, f2: ArrayLike, fp1: ArrayLike, fp2: ArrayLike
) -> tuple[Values, Values]:
    """Tunings of two radiators that share a box, lower and higher, Hz, from those of each alone.

    Formula: fb = √((f1² + f2²)/2 + √((f1² − f2²)²/4 + (f1² − fp1²)·(f2² − fp2²)))

    That is the higher one; the lower has a minus for the middle plus (derived: the roots of two
    masses on their suspensions and one spring of air). Several equal radiators count as one.

    Parameters
    ----------
    f1, f2 : Hz, tuning of the box with the first alone free to move, and with the second
    fp1, fp2 : Hz, their own resonances

    Raises
    ------
    ValueError
        For a frequency that is not above zero, or a tuning below the radiator's own resonance.

    >>> [round(float(f), 1) for f in coupled_tunings(40.0, 30.0, 20.0, 12.0)]
    [15.3, 47.6]
    """
    hint = "It is a frequency in hertz."
    f1, f2 = (positive(n, f, hint) for n, f in (("f1", f1), ("f2", f2)))
    fp1, fp2 = (not_negative(n, f, hint) for n, f in (("fp1", fp1), ("fp2", fp2)))
    for name, tuned, own in (("1", f1, fp1), ("2", f2, fp2)):
        if np.any(np.asarray(tuned) < own):
            raise ValueError(
                f"f{name} = {np.min(tuned):g} Hz lies below fp{name} = {np.max(own):g} Hz: the air "
                "of a box only moves a radiator's resonance up. Check which is which."
            )
    middle = (f1**2 + f2**2) / 2
    apart = np.sqrt((f1**2 - f2**2) ** 2 / 4 + (f1**2 - fp1**2) * (f2**2 - fp2**2))
    return np.sqrt(np.maximum(middle - apart, 0.0)), np.sqrt(middle + apart)


@dataclass(frozen=True, eq=False)
class Moving:
    """How one radiator moves in an answer of `solve`; arrays as those of the answer.

    radiator : Radiator; velocity : m/s rms, complex, outward positive; excursion : m peak, one way;
    phase : against the cone, both outward, degrees, NaN where the cone stands still
    """

    radiator: Radiator
    velocity: np.ndarray
    excursion: np.ndarray
    phase: np.ndarray


def each_radiator(response: Response) -> tuple[Moving, ...]:
    """How each radiator moves, in the order of the box, as a tuple of `Moving`.

    >>> from boxlab.gear.scenario import TEN_INCH_DRIVER, TEN_INCH_RADIATOR
    >>> from boxlab.model.response import solve
    >>> box = MixedRadiatorBox.weighted(0.02, TEN_INCH_RADIATOR, [0.15, 0.0])
    >>> len(each_radiator(solve(TEN_INCH_DRIVER, box, [20.0, 40.0])))
    2

    Parameters
    ----------
    response : of a RadiatorBox of one design's count, or a MixedRadiatorBox, from `solve`

    Raises
    ------
    ValueError
        For a box without radiators, or counts that differ from design to design.
    """
    box, q = response.box, response._circuit
    if isinstance(box, RadiatorBox) and np.ndim(box.count) == 0:
        radiators = (box.radiator,) * box.count
    elif isinstance(box, MixedRadiatorBox):
        radiators = box.radiators
    else:
        raise ValueError(
            "each_radiator takes an answer for a RadiatorBox with one count, or a "
            f"MixedRadiatorBox; this is for {'free air' if box is None else type(box).__name__}."
        )
    split = q.split if q.mixed else [1 / len(radiators)] * len(radiators)
    still = response.cone_velocity == 0
    found = []
    for radiator, share in zip(radiators, split, strict=True):
        velocity = -q.sd * q.drive * share / beside(radiator.sd, response.frequency)
        turn = np.degrees(np.angle(velocity * np.conj(response.cone_velocity)))
        found.append(
            Moving(
                radiator,
                velocity[()],
                (np.sqrt(2) / q.omega * np.abs(velocity))[()],
                np.where(still, np.nan, np.where(turn <= -180, turn + 360, turn))[()],
            )
        )
    return tuple(found)
