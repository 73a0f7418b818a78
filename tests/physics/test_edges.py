"""The boxes behind every explainer's sliders against a matrix.

Explainers are found, not listed, so a new one is tried here without being named.
"""

import itertools
from dataclasses import fields, is_dataclass, replace

import numpy as np
import pytest
from independent import circuit, matrix_solution

from boxlab import each_radiator, solve
from boxlab.draw.scene import Choice
from boxlab.explainers import all_explainers
from boxlab.model import response

EXPLAINERS = {item.name: item for item in all_explainers()}
BOXES = 1000
EACH = 3  # boxes at most from one setting


def random_state(explainer, rng):
    """A setting from anywhere in the space of all controls."""
    return {
        control.name: str(rng.choice(control.options))
        if isinstance(control, Choice)
        else float(rng.uniform(control.low, control.high))
        for control in explainer.controls
    }


def lone(thing, at, shape):
    """One design out of many: each array of a record, and of records within it, at one place."""
    if is_dataclass(thing):
        return replace(
            thing, **{f.name: lone(getattr(thing, f.name), at, shape) for f in fields(thing)}
        )
    if isinstance(thing, np.ndarray):
        return np.broadcast_to(thing, shape)[at].item()
    return thing


def boxes_behind_the_sliders(monkeypatch, rng):
    """(driver, box, frequency, voltage, air, distance, source_resistance, chain), as scenes ask."""
    asked = []

    class Recorder(response.Circuit):
        @classmethod
        def of(cls, *given):
            made = super().of(*given)
            if given[1] is not None:  # free air is no box
                asked.append((given, made.shape))
            return made

    monkeypatch.setattr(response, "Circuit", Recorder)
    silent = set()
    for name in itertools.cycle(EXPLAINERS):
        if len(silent) == len(EXPLAINERS):
            return
        if name in silent:
            continue
        asked.clear()
        try:
            EXPLAINERS[name](**random_state(EXPLAINERS[name], rng))
        except ValueError:
            continue
        if not asked:
            silent.add(name)
        for place in rng.permutation(len(asked))[:EACH]:
            (driver, box, omega, *drive), whole = asked[place]
            shape = whole[: len(whole) - min(np.ndim(omega), 1)]
            at = tuple(int(rng.integers(n)) for n in shape)
            frequency = np.asarray(omega) / (2 * np.pi)
            if frequency.ndim:
                frequency = np.broadcast_to(frequency, (*shape, frequency.shape[-1]))[at]
            few = np.unique(rng.choice(np.atleast_1d(frequency), 8))
            yield (*(lone(thing, at, shape) for thing in (driver, box)), few,
                   *(lone(thing, at, shape) for thing in drive))  # fmt: skip


@pytest.mark.filterwarnings("ignore::boxlab.base.checks.UnitWarning")
def test_a_thousand_boxes_behind_the_sliders_against_a_matrix(monkeypatch):
    # derived: numpy.linalg.solve of Kirchhoff's and Newton's laws, with no algebra of the library
    rng, checked = np.random.default_rng(7), set()
    for driver, box, frequency, *drive in boxes_behind_the_sliders(monkeypatch, rng):
        voltage, air, distance, source, chain = drive
        r = solve(driver, box, frequency, *drive)
        want = matrix_solution(circuit(driver, box, air, source, voltage), frequency)
        each = want.pop("each_vent", None)  # where radiators differ
        if each is not None and chain is None:
            flows = [m.radiator.sd * m.velocity for m in each_radiator(r)]
            np.testing.assert_allclose(np.stack(flows, axis=-1), each, rtol=1e-7, atol=1e-12)
        if chain is not None:  # its response, which has tests of its own, drives all of it
            gain = chain.response(frequency)
            want = {n: v if n == "impedance" else v * gain for n, v in want.items()}
        flows = sum(np.abs(want[n]) for n in want if n.endswith("volume_velocity"))
        for name, value in want.items():
            reference = np.abs(value)
            got = getattr(r, name)
            if name == "pressure":
                got = (
                    got
                    * distance
                    * np.exp(2j * np.pi * frequency * (distance - 1) / air.speed_of_sound)
                )
                # where the parts cancel, no route keeps more than they have
                reference = np.maximum(reference, 1e-3 * frequency * air.density * flows)
            if name.startswith("cone"):  # without losses it stands still at the tuning
                size = driver.sd if name == "cone_velocity" else 1.0
                reference = np.maximum(reference, 1e-3 * flows / size)
            worst = np.max(np.abs(got - value) - 1e-9 * reference)
            assert worst <= 0, f"{name} of {driver} in {box} at {frequency} Hz"
        checked.add((driver, box, voltage))
        if len(checked) == BOXES:
            return
    raise AssertionError(f"only {len(checked)} boxes")
