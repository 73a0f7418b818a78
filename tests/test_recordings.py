"""Impedance from recordings of an invented bench, against the truth it was made from."""

from __future__ import annotations

import os
from dataclasses import replace

import numpy as np
import pytest
import recordings as bench
import soundfile

import boxlab
from boxlab.__main__ import main
from boxlab.gear.job_measured import measure
from boxlab.measure.record import RecordingError, open_recording, test_signal, test_signals

MANY = int(os.environ.get("BOXLAB_RECORDINGS", "10"))  # 200 takes four minutes


@pytest.fixture(scope="module")
def played(tmp_path_factory):
    """Short signals as `test_signal` writes them: {kind: (samples, rate)}."""
    folder = tmp_path_factory.mktemp("signals")
    found = {}
    for kind in ("sweep", "tones"):
        made = boxlab.test_signal(kind, folder / f"{kind}.wav", seconds=8, bits=24)
        data, rate = soundfile.read(made.path)
        found[kind] = data[:, 0] / np.max(np.abs(data)), rate
    return found


def measured(played, thing, setup, folder, kind="sweep", **given):
    """A sweep of `thing` on this bench, its inputs compared on one node first."""
    x, rate = played[kind]
    one = bench.write(
        folder / "one.wav", bench.hears(x, rate, thing, setup), setup.rate, setup.bits
    )
    node = bench.on_one_node(x, rate, replace(setup, seed=setup.seed + 1))
    two = bench.write(folder / "two.wav", node, setup.rate, setup.bits)
    return boxlab.read_recording(one, setup.resistor, calibration=two, **given)


def off(sweep, thing, low=10, high=300):
    """Relative error of |Z| within the band."""
    keep = (sweep.frequency >= low) & (sweep.frequency <= high)
    true = np.abs(thing.impedance(sweep.frequency[keep]))
    return np.abs(sweep.magnitude[keep] / true - 1), keep


def test_many_recordings_are_right_within_what_they_say(played, tmp_path):
    """Levels, depths, rates, clocks to 100 ppm, hum, coils and boxes of all kinds."""
    rng = np.random.default_rng(16)
    errors, within, tunings = [], [], []
    for number in range(MANY):
        thing, setup = bench.any_thing(rng), bench.any_bench(rng)
        kind = "tones" if number % 4 == 3 else "sweep"
        setup = replace(setup, noise=min(setup.noise, 5e-5)) if kind == "tones" else setup
        sweep = measured(played, thing, setup, tmp_path, kind)
        error, keep = off(sweep, thing)
        assert keep.sum() > 30
        errors.append(error)
        doubt = sweep.uncertainty[keep] / sweep.magnitude[keep]
        within.append(np.mean(error < 2 * doubt))
        if thing.vent:
            found = boxlab.find_tuning(sweep.between(10, 200))
            if found.peaks == 2 and found.fb.identifiable:
                tunings.append(abs(float(found.fb) - thing.tuning) / (2 * found.fb.u))
    errors = np.concatenate(errors)
    assert np.median(errors) < 0.003
    assert np.percentile(errors, 95) < 0.01
    assert np.mean(within) > 0.95
    outside = sum(each > 1 for each in tunings)
    assert len(tunings) > MANY / 4 and outside <= 1 + 0.05 * len(tunings), tunings
    assert max(tunings) < 3


def test_phase_comes_with_the_magnitude(played, tmp_path):
    thing = bench.any_thing(np.random.default_rng(5), "radiator")
    sweep = measured(played, thing, bench.Bench(gain=1.04, late=1 / 48000), tmp_path)
    true = np.degrees(np.angle(thing.impedance(sweep.frequency)))
    keep = (sweep.frequency > 10) & (sweep.frequency < 300)
    assert np.percentile(np.abs(sweep.phase - true)[keep], 95) < 0.5


def test_a_resistor_in_place_of_the_device_does_as_calibration(played, tmp_path):
    """The bench is checked on a resistor first: 10 Ω reads 10 Ω; the leads are taken off."""
    x, rate = played["sweep"]
    setup = bench.Bench(gain=0.93, leads=0.08)
    files = {}
    for name, thing in (
        ("known", bench.Thing(resistance=10.0)),
        ("short", bench.Thing(resistance=1e-9)),
        ("driver", bench.Thing()),
        ("six", bench.Thing(resistance=6.8)),
    ):
        files[name] = bench.write(
            tmp_path / f"{name}.wav", bench.hears(x, rate, thing, setup), rate
        )
    six = boxlab.read_recording(files["six"], 10.0, calibration=files["known"])
    assert np.median(six.magnitude) == pytest.approx(6.88, rel=0.015)
    node = bench.write(tmp_path / "node.wav", bench.on_one_node(x, rate, setup), rate)
    exact = boxlab.read_recording(
        files["six"], (10.0, 0.001), calibration=node, short=files["short"]
    )
    assert np.median(exact.magnitude) == pytest.approx(6.8, rel=0.001)
    assert any("80 mΩ" in words for words in exact.notes)
    driver = boxlab.read_recording(files["driver"], 10.0, calibration=node, short=files["short"])
    assert np.median(off(driver, bench.Thing())[0]) < 0.001


def test_without_calibration_the_doubt_of_the_inputs_is_told(played, tmp_path):
    x, rate = played["sweep"]
    thing, setup = bench.Thing(), bench.Bench(gain=10 ** (0.1 / 20))
    path = bench.write(tmp_path / "a.wav", bench.hears(x, rate, thing, setup), rate)
    sweep = boxlab.read_recording(path, 10.0)
    error, keep = off(sweep, thing)
    assert np.mean(error < 2 * sweep.uncertainty[keep] / sweep.magnitude[keep]) > 0.95
    assert any("not compared" in words for words in sweep.notes)


def test_a_table_saved_from_a_recording_keeps_its_uncertainty(played, tmp_path):
    """Its own at each point, and what all points share, to the digits of the table."""
    sweep = measured(played, bench.Thing(), bench.Bench(gain=1.03), tmp_path)
    table = tmp_path / "it.csv"
    table.write_text(sweep.to_text(), encoding="utf-8")
    again = boxlab.read_sweep(table)
    assert sweep.common and dict(again.common) == pytest.approx(dict(sweep.common), rel=1e-3)
    assert again.uncertainty == pytest.approx(sweep.uncertainty, rel=1e-4)
    assert again.magnitude == pytest.approx(sweep.magnitude, rel=1e-5)
    assert again.phase == pytest.approx(sweep.phase, abs=1e-3)
    one, two = (boxlab.find_tuning(each) for each in (sweep, again))
    assert two.fit["re"].u == pytest.approx(one.fit["re"].u, rel=0.02)
    assert dict(again.between(10, 200).common) == dict(again.common)
    plain = boxlab.read_sweep(boxlab.Sweep(sweep.frequency, sweep.magnitude).to_text())
    assert plain.uncertainty is None and not plain.common


def spoilt(kind, x, rate, thing, setup, rng):
    """A recording with one thing wrong."""
    y = bench.hears(x, rate, thing, setup)
    if kind == "clipped by the converter":
        return np.clip(y * 2, -1, 1)
    if kind == "clipped before it":
        return np.clip(y, -0.6 * np.max(np.abs(y)), 0.6 * np.max(np.abs(y)))
    if kind == "swapped":
        return y[:, ::-1]
    if kind == "dead device":
        return y * [1, 0] + 1e-5 * rng.standard_normal(y.shape)
    if kind == "dead total":
        return y * [0, 1] + 1e-5 * rng.standard_normal(y.shape)
    if kind == "both the same":
        return y[:, [0, 0]]
    if kind == "turned":
        return y * [1, -1]
    if kind == "cut short":
        return y[: int(len(y) * rng.uniform(0.3, 0.75))]
    if kind == "begun late":
        return y[int(len(y) * rng.uniform(0.3, 0.6)) :]
    if kind == "hole":
        at = int(len(y) * rng.uniform(0.4, 0.6))
        return np.concatenate([y[:at], y[at + int(0.13 * rate) :]])
    if kind == "silence in it":  # and as many samples left out, so that the marks agree
        at = int(len(y) * rng.uniform(0.3, 0.6))
        y[at : at + int(rng.uniform(0.003, 0.1) * rate)] = 0
        return y
    if kind == "rate of another file":
        return bench.sampled(y, rate, replace(setup, rate=44100, drift=0))
    if kind == "loud hum":
        return bench.sampled(y, rate, replace(setup, rate=rate, drift=0, hum=0.15))
    raise AssertionError(kind)


SPOILT = (
    "clipped by the converter", "clipped before it", "swapped", "dead device", "dead total",
    "both the same", "turned", "cut short", "begun late", "hole", "loud hum", "silence in it",
)  # fmt: skip


@pytest.mark.parametrize("fault", SPOILT)
def test_a_spoilt_recording_is_refused_or_said_never_silently_wrong(fault, played, tmp_path):
    rng = np.random.default_rng(SPOILT.index(fault))
    x, rate = played["sweep"]
    for _ in range(max(2, MANY // 11)):
        thing = bench.any_thing(rng)
        setup = bench.Bench(level=0.7, rate=rate, seed=int(rng.integers(1 << 30)))
        data = spoilt(fault, x, rate, thing, setup, rng)
        path = bench.write(tmp_path / "it.wav", data, rate)
        try:
            sweep = boxlab.read_recording(path, setup.resistor)
        except RecordingError as error:
            assert len(str(error)) > 40
            continue
        error, keep = off(sweep, thing)
        told = [words for words in sweep.notes if "not compared" not in words]
        wrong = np.mean(error > 2 * sweep.uncertainty[keep] / sweep.magnitude[keep]) > 0.1
        assert told or not wrong, (fault, np.median(error))


@pytest.mark.parametrize(
    ("fault", "words"),
    [
        ("clipped by the converter", "clipped"),
        ("clipped before it", "clipped"),
        ("swapped", "swapped"),
        ("dead device", r"channel 2 \(device\)"),
        ("dead total", r"channel 1 \(total\)"),
        ("both the same", "no current"),
        ("turned", "polarity"),
        ("hole", "left out or doubled"),
        ("silence in it", "break off to nothing"),
        ("rate of another file", "another rate"),
    ],
)
def test_each_fault_is_named_with_what_to_do(fault, words, played, tmp_path):
    rng = np.random.default_rng(3)
    x, rate = played["sweep"]
    data = spoilt(fault, x, rate, bench.Thing(), bench.Bench(), rng)
    path = bench.write(tmp_path / "it.wav", data, rate)
    with pytest.raises(RecordingError, match=words):
        boxlab.read_recording(path, 10.0)


def test_what_is_cut_drifts_or_hums_is_told(played, tmp_path):
    x, rate = played["sweep"]
    y = bench.hears(x, rate, bench.Thing(), bench.Bench())
    cases = {
        "cut short": (y[: int(0.6 * len(y))], rate),
        "clocks differ": (bench.hears(x, rate, bench.Thing(), bench.Bench(drift=80e-6)), rate),
        "hum of 50.0": (bench.hears(x, rate, bench.Thing(), bench.Bench(hum=0.003)), rate),
    }
    for words, (data, at) in cases.items():
        path = bench.write(tmp_path / "it.wav", data, at)
        sweep = boxlab.read_recording(path, 10.0)
        assert any(words in note for note in sweep.notes), (words, sweep.notes)


@pytest.mark.parametrize("ending", ["wav", "flac"])
@pytest.mark.parametrize("bits", [16, 24])
def test_every_depth_and_kind_of_file_is_read(ending, bits, played, tmp_path):
    x, rate = played["sweep"]
    y = bench.hears(x, rate, bench.Thing(), bench.Bench(bits=bits, noise=1e-6))
    path = bench.write(tmp_path / f"it.{ending}", y, rate, bits)
    assert np.median(off(boxlab.read_recording(path, 10.0), bench.Thing())[0]) < 1e-3


def test_what_is_no_recording_is_refused_in_words(tmp_path):
    (tmp_path / "a.wav").write_text("frequency,impedance\n20,4\n", encoding="utf-8")
    mono = tmp_path / "mono.wav"
    soundfile.write(mono, np.zeros(48000), 48000)
    short = tmp_path / "short.wav"
    soundfile.write(short, np.zeros((480, 2)), 48000)
    for path, words in (
        (tmp_path / "none.wav", "There is no"),
        (tmp_path / "a.wav", "WAV or FLAC"),
        (mono, "stereo"),
        (short, "too short"),
    ):
        with pytest.raises(RecordingError, match=words):
            boxlab.read_recording(path, 10.0)
    with pytest.raises(ValueError, match="resistor"):
        boxlab.read_recording(mono, -3)
    with pytest.raises(ValueError, match="channels"):
        boxlab.read_recording(mono, 10, channels=("left", "right"))


class TestSignals:
    """What is played: levels, bands, marks, files that are there."""

    @pytest.mark.parametrize("kind", test_signals.KINDS)
    def test_peak_rate_and_marks(self, kind, tmp_path):
        made = test_signal(kind, tmp_path / "s.wav", level=-15, seconds=5)
        data, rate = soundfile.read(made.path)
        assert rate == made.rate == 48000 and len(data) / rate == pytest.approx(made.seconds)
        assert (data[:, 0] == data[:, 1]).all()
        assert 20 * np.log10(np.max(np.abs(data))) == pytest.approx(-15, abs=0.1)
        assert not np.any(data[: int(0.99 * rate)])
        from boxlab.measure.record.marks import find_marks

        marks = find_marks(data[:, 0], rate)
        apart = marks.last - marks.first
        assert apart == pytest.approx(round(apart), abs=1e-5)
        assert abs(marks.drift) < 1e-6

    def test_the_energy_of_a_sweep_is_in_its_band(self, tmp_path):
        made = test_signal("sweep", tmp_path / "s.wav", low=10, high=200)
        data, rate = soundfile.read(made.path)
        body = data[int(2.2 * rate) : int(11.9 * rate), 0]
        lines = np.abs(np.fft.rfft(body)) ** 2
        f = np.fft.rfftfreq(len(body), 1 / rate)
        inside = lines[(f > 9) & (f < 220)].sum() / lines.sum()
        assert inside > 0.995

    def test_many_tones_have_low_peaks(self):
        wave = test_signals.tones(5, 1000, 4, 48000)
        crest = 20 * np.log10(np.max(np.abs(wave)) / np.sqrt(np.mean(wave**2)))
        assert crest < 14

    @pytest.mark.parametrize(
        ("given", "words"),
        [
            ({"kind": "noise"}, "choose one of"),
            ({"kind": "sweep", "low": 100, "high": 50}, "low comes first"),
            ({"kind": "sweep", "level": 0}, "full scale"),
            ({"kind": "sweep", "bits": 8}, "16 or 24"),
            ({"kind": "sweep", "seconds": 2.5}, "whole seconds"),
            ({"kind": "steps", "steps": 1}, "2 to 20"),
        ],
    )
    def test_what_cannot_be_is_refused(self, given, words, tmp_path):
        with pytest.raises(ValueError, match=words):
            test_signal(path=tmp_path / "a.wav", **given)

    def test_a_file_that_is_there_stays(self, tmp_path):
        path = tmp_path / "a.wav"
        path.write_text("mine")
        with pytest.raises(ValueError, match="stays as it is"):
            test_signal("sweep", path)
        assert path.read_text() == "mine"
        with pytest.raises(ValueError, match=r"\.wav or \.flac"):
            test_signal("sweep", tmp_path / "a.mp3")


def test_a_recording_can_be_given_as_it_is(played):
    x, rate = played["sweep"]
    y = bench.hears(x, rate, bench.Thing(), bench.Bench())
    made = boxlab.measure.record.Recording(y, rate, "in memory")
    assert open_recording(made) is made
    assert boxlab.read_recording(made, 10.0).name == "in memory"


def test_the_verbs_write_a_signal_and_read_what_was_recorded(played, tmp_path, capsys):
    path = tmp_path / "s.wav"
    assert main(["signal", "sweep", "--to", str(path), "--high", "500"]) == 0
    assert "Never connect" in capsys.readouterr().out
    assert main(["signal", "sweep", "--to", str(path)]) == 2  # it stays
    x, rate = played["sweep"]
    thing = bench.any_thing(np.random.default_rng(1), "radiator")
    box = bench.write(tmp_path / "b.wav", bench.hears(x, rate, thing, bench.Bench()), rate)
    table = tmp_path / "b.csv"
    capsys.readouterr()
    assert main(["heard", "impedance", str(box), "--resistor", "10", "--to", str(table)]) == 0
    assert "full model fit" in capsys.readouterr().out
    again = boxlab.read_sweep(table)
    assert np.median(off(again, thing)[0]) < 0.003
    assert main(["heard", "impedance", str(box), "--resistor", "10", "--to", str(table)]) == 1
    assert main(["heard", "impedance", str(box)]) == 2
    capsys.readouterr()
    assert main(["heard", "phase", str(box)]) == 0
    assert main(["heard", "music", str(box), "--volts", "60V", "--amperes", "20A"]) == 0
    told = capsys.readouterr().out
    assert "on average" in told and "Never connect" in told and "lasting harm" in told


def test_a_set_at_rising_level_and_other_benches_are_read_as_typed(played, tmp_path, capsys):
    """Seen red: none of these could be typed, and a swapped pair was told to do so in Python."""
    x, rate = played["sweep"]
    thing = bench.any_thing(np.random.default_rng(1), "radiator")
    files = []
    for level in (0.05, 0.3):
        y = bench.hears(x, rate, thing, bench.Bench(level=level, noise=1e-5))
        files.append(str(bench.write(tmp_path / f"{level}.wav", y, rate, 24)))
    assert main(["heard", "rising", *files, "--resistor", "10", "0.01"]) == 0
    told = capsys.readouterr().out
    assert "nothing changes" in told and "all the way down" in told
    assert told.count("dB of full scale") == 3
    y = bench.hears(x, rate, thing, bench.Bench(gain=1.05))
    turned = bench.write(tmp_path / "turned.wav", y[:, ::-1], rate)
    known = bench.hears(x, rate, bench.Thing(resistance=4.7), bench.Bench(gain=1.05))
    other = bench.write(tmp_path / "known.wav", known[:, ::-1], rate)
    typed = ["heard", "impedance", str(turned), "--resistor", "10"]
    assert main(typed) == 2 and "--swapped" in capsys.readouterr().err
    table = tmp_path / "it.csv"
    more = ["--swapped", "--inputs", str(other), "4.7ohm", "--to", str(table)]
    assert main([*typed, *more]) == 0
    assert "a resistor of 4.7 Ω" in capsys.readouterr().out
    assert np.median(off(boxlab.read_sweep(table), thing)[0]) < 0.003


def test_a_job_takes_recordings_where_it_takes_tables(played, tmp_path):
    """Driver in free air and with a mass on it, then the box, all recorded; nothing typed twice."""
    x, rate = played["sweep"]
    rng = np.random.default_rng(11)
    cone = bench.any_thing(rng, "free")
    box = 1.5 * cone.spring
    vent = box / (2 * np.pi * 36.0) ** 2
    setup = bench.Bench(gain=1.03)
    things = {
        "free": cone,
        "mass": replace(cone, mass=cone.mass + 0.06),
        "box": replace(cone, box=box, vent=vent, vent_friction=2 * np.pi * 36 * vent / 15),
    }
    for name, thing in things.items():
        bench.write(tmp_path / f"{name}.wav", bench.hears(x, rate, thing, setup), rate)
    bench.write(tmp_path / "one.wav", bench.on_one_node(x, rate, setup), rate)
    sd = 0.0330
    rows = "".join(
        f'[[measurement]]\nfile = "{name}.wav"\nwhat = "{what}"\nresistor = "10 ohm"\n'
        f'both_inputs = "one.wav"\n{more}\n'
        for name, what, more in (
            ("free", "free air", ""),
            ("mass", "added mass", 'added_mass = "60 g"'),
            ("box", "as found", ""),
        )
    )
    path = tmp_path / "it.job.toml"
    path.write_text(
        f'[driver]\nsd = "{1e4 * sd:g} cm2"\n[box]\nkind = "ported"\n{rows}', encoding="utf-8"
    )
    found = measure(boxlab.read_job(path))
    driver, inside = found.values["driver"], found.values["box"]
    assert not found.faults, found.faults
    for name, true in (
        ("mms", cone.mass),
        ("re", cone.re),
        ("bl", cone.bl),
        ("fs", np.sqrt(cone.spring / cone.mass) / (2 * np.pi)),
    ):
        assert abs(float(driver[name]) - true) < max(3 * driver[name].u, 0.01 * true), name
    assert abs(float(inside["fb"]) - 36.0) < max(3 * inside["fb"].u, 0.02)
    volume = boxlab.Air().bulk_modulus * sd**2 / box
    assert float(inside["volume"]) == pytest.approx(volume, rel=0.05)
    path.write_text(path.read_text().replace('resistor = "10 ohm"\n', "", 1), encoding="utf-8")
    assert "resistor = " in measure(boxlab.read_job(path)).unread[0]
