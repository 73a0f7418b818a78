"""Tuning against level from invented recordings that get louder: what limps, and from where on."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import recordings as bench
import soundfile

import boxlab
from boxlab.gear.job_measured import measure
from boxlab.measure.record import Recording, RecordingError

LEVELS = (-30.0, -24.0, -18.0, -12.0)  # dB of full scale, peak at the first input
THING = bench.any_thing(np.random.default_rng(2), "radiator")


@pytest.fixture(scope="module")
def signal(tmp_path_factory):
    made = boxlab.test_signal("sweep", tmp_path_factory.mktemp("s") / "s.wav", seconds=6, bits=24)
    data, rate = soundfile.read(made.path)
    return data[:, 0] / np.max(np.abs(data)), rate


def heard(signal, thing, level, number=0):
    setup = bench.Bench(level=10 ** (level / 20), noise=2e-5, bits=24, seed=number)
    return Recording(bench.hears(*signal, thing, setup), signal[1], f"level {number}")


def rising(signal, change):
    """One recording for each level; `change` makes what is measured of the number of the step."""
    return [heard(signal, change(i), level, i) for i, level in enumerate(LEVELS)]


def read(signal, change):
    return boxlab.tuning_against_level(rising(signal, change), (10.0, 0.01))


def test_a_box_that_does_not_change_is_told_to_hold(signal):
    found = read(signal, lambda i: THING)
    assert np.diff(found.level) == pytest.approx(6.0, abs=0.1)
    assert len(found.words) == 1 and "nothing changes" in found.words[0]
    for tuning in found.tuning:
        assert abs(float(tuning) - THING.tuning) < 3 * tuning.u


def test_a_suspension_that_stiffens_is_named_with_its_level(signal):
    stiffer = (1.0, 1.0, 1.12, 1.3)
    found = read(signal, lambda i: replace(THING, spring=THING.spring * stiffer[i]))
    assert len(found.words) == 1
    first = f"From −{abs(found.level[2]):.0f} dB"
    assert found.words[0].startswith(first) and "cone's suspension is stiffer" in found.words[0]
    grown = float(found.cone[3] / found.cone[0]) ** 2
    assert grown == pytest.approx(1.3, rel=0.1)  # of the sum of suspension and a part of the box


def test_a_vent_that_loses_is_named_with_its_level(signal):
    rubs = (1.0, 1.0, 1.0, 4.0)
    found = read(signal, lambda i: replace(THING, vent_friction=THING.vent_friction * rubs[i]))
    assert len(found.words) == 1
    assert "port or radiator limps" in found.words[0]
    assert found.words[0].startswith(f"From −{abs(found.level[3]):.0f} dB")
    assert float(found.loss[3] / found.loss[0]) == pytest.approx(4.0, rel=0.15)


def test_a_radiator_that_stiffens_moves_the_tuning_and_is_not_taken_for_the_cone(signal):
    stiffer = (1.0, 1.1, 1.3, 1.6)
    found = read(signal, lambda i: replace(THING, vent_spring=THING.vent_spring * stiffer[i]))
    assert len(found.words) == 1 and "the tuning rises" in found.words[0], found.words
    true = [replace(THING, vent_spring=THING.vent_spring * each).tuning for each in stiffer]
    assert np.array(found.tuning, float) == pytest.approx(true, rel=1e-3)


def test_a_sealed_box_has_its_resonance_told(signal):
    sealed = replace(THING, vent=0.0)
    softer = (1.0, 1.0, 0.8, 0.7)
    found = read(signal, lambda i: replace(sealed, spring=sealed.spring * softer[i]))
    assert "softer" in found.words[0] and np.isnan(found.loss[0])
    assert "resonance stays" in read(signal, lambda i: sealed).words[0]


def test_the_order_does_not_matter_and_what_cannot_be_is_refused(signal):
    made = rising(signal, lambda i: THING)
    found = boxlab.tuning_against_level(made[::-1], (10.0, 0.01))
    assert [sweep.name for sweep in found.sweeps] == [each.name for each in made]
    with pytest.raises(ValueError, match="two or more"):
        boxlab.tuning_against_level(made[:1], 10.0)
    with pytest.raises(RecordingError, match="Turn up the amplifier"):
        boxlab.tuning_against_level([made[0], made[0]], 10.0)
    other = heard(signal, replace(THING, vent=0.0), -12.0)
    with pytest.raises(RecordingError, match="one and the same box"):
        boxlab.tuning_against_level([made[0], other], 10.0)


def test_a_job_takes_a_set_of_recordings_at_rising_level(signal, tmp_path):
    stiffer = (1.0, 1.0, 1.15, 1.4)
    rows = []
    for i, level in enumerate(LEVELS):
        thing = replace(THING, spring=THING.spring * stiffer[i])
        made = heard(signal, thing, level, i)
        bench.write(tmp_path / f"{i}.wav", made.data, made.rate, 24)
        rows.append(
            f'[[measurement]]\nfile = "{i}.wav"\nwhat = "rising level"\nresistor = "10 ohm"\n'
        )
    path = tmp_path / "it.job.toml"
    path.write_text('[box]\nkind = "radiator"\n' + "".join(rows), encoding="utf-8")
    told = " ".join(measure(boxlab.read_job(path)).words)
    assert "rising level" in told and "cone's suspension is stiffer" in told
    path.write_text('[box]\nkind = "radiator"\n' + rows[0], encoding="utf-8")
    assert any("rising level" in words for words in measure(boxlab.read_job(path)).missing)
