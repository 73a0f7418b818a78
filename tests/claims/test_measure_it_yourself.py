"""Every claim and number in the prose of the lesson "measure it yourself"."""

import re

import numpy as np
import pytest
import soundfile
from class_recordings import BENCH, CONE, FOLDER, FULL, LEVELS, RADIATOR, box, made
from said import about, claim, code_of, read

import boxlab
from boxlab import RadiatorBox, litres
from boxlab.explainers import explainer
from boxlab.explainers.near_field_and_model import of_recordings
from boxlab.gear.scenario import TEN_INCH_DRIVER, TEN_INCH_RADIATOR, USUAL_QL
from boxlab.measure.record import RecordingError
from boxlab.measure.record.impedance import read_as

INPUTS = FOLDER / "both-inputs.flac"
BOXES = [FOLDER / f"box-{number}.flac" for number in (1, 2, 3, 4)]


@pytest.fixture(scope="module")
def louder():
    return boxlab.tuning_against_level(BOXES, 10.0, calibration=INPUTS)


@pytest.fixture(scope="module")
def near():
    files = (FOLDER / "near-cone.flac", FOLDER / "near-radiator.flac")
    return boxlab.near_field(*files, CONE, RADIATOR, low=15)


def test_the_files_are_what_the_generator_makes_and_small():
    """Sample by sample; one step of 16 bits is left to rounding from machine to machine."""
    found = made()
    kept = {path.stem: path for path in FOLDER.glob("*.flac")}
    assert set(kept) == set(found)
    assert sum(path.stat().st_size for path in kept.values()) < 1.2e6
    for name, (data, rate) in found.items():
        samples, kept_rate = soundfile.read(kept[name])
        assert soundfile.info(kept[name]).subtype == "PCM_16" and kept_rate == rate
        assert samples.shape == data.shape
        assert np.max(np.abs(samples - data)) < 1.5 / 2**15


def test_a_known_resistor_reads_wrong_first_and_then_right():
    path = FOLDER / "known-resistor.flac"
    raw = boxlab.read_recording(path, 10.0).between(20, 200)
    known = 6.8
    claim("and a resistor of {} Ω. It is read without the first", known)
    claim("Uncompared, it is {} % off", 100 * (1 - raw.magnitude.mean() / known))
    assert any("not compared" in words for words in raw.notes)
    right = boxlab.read_recording(path, 10.0, calibration=INPUTS).between(20, 200)
    assert right.magnitude.mean() == pytest.approx(known, rel=0.002)
    doubt = 100 * right.uncertainty.mean() / known
    claim("The ± that is left is that of the series resistor itself: {} %", doubt)
    claim("until a known resistor reads right within {} %", doubt)
    claim("It has to come out within {} %", doubt)
    ohms, watts = BENCH.resistor, 5
    claim(
        "The resistor of {} Ω and {} W bears {} V. Twice that is {} times the watts",
        ohms,
        watts,
        np.sqrt(ohms * watts),
        4,
    )


def test_three_tenths_of_a_decibel_are_a_fifth_on_a_tall_peak():
    share, x = 10 ** (0.3 / 20) - 1, 40 / (40 + 10)
    first = share / (1 - x)  # and x·share²/(1 − x)² more, derived
    claim(
        "At 40 Ω behind 10 Ω, $1 - x$ is {}: {} % become {} %, and to second order {} %",
        1 - x,
        100 * share,
        100 * first,
        100 * (first + x * first**2),
    )
    claim(
        "{} dB is {} % of a voltage, and {} Ω would be that much. But what counts is the small "
        "difference between the two voltages, and of that it is {}",
        0.3,
        100 * share,
        40 * (1 + share),
        about(first, 0.15),
    )
    peak = read("unequal_inputs")[1]
    assert float(read_as(40.0, 10.0, 0.3)) == pytest.approx(peak, abs=0.05)
    claim("About {} Ω ¶ About {} dB ¶", peak, -read("near_field_and_model")[0])
    apart = -20 * np.log10(40 / (10 + 40) * (1 + 10 / 80))  # 80 Ω would share the volts so
    claim("That takes {} dB", apart)
    assert explainer("unequal_inputs")(apart=0.0).readout[0].startswith("A peak of 40 Ω is read as")
    assert float(read_as(40.0, 10.0, 0.0)) == pytest.approx(40.0, rel=1e-12)


def test_the_box_is_tuned_lower_than_drawn_and_its_suspension_stiffens(louder):
    assert np.diff(louder.level) == pytest.approx(np.diff(LEVELS), abs=0.05)
    claim("Four recordings, each {} dB louder than the one before", np.diff(louder.level).mean())
    for tuning in louder.tuning:
        assert abs(tuning - box().tuning) < 2 * tuning.u < 0.01  # seen red: 3.3 and 4.9 u
        assert f"{tuning:.1f}" == "41.8"
    assert len(louder.words) == 1 and "suspension is stiffer" in louder.words[0]
    assert f"−{abs(louder.level[2]):.0f} dB" in louder.words[0]  # from the third on
    told = " ".join(louder.sweeps[0].notes)
    assert "clocks differ" in told and "hum" in told and "left out" in told


def test_the_impedance_is_that_of_the_bench(louder):
    sweep = louder.sweeps[1].between(10, 300)
    off = np.abs(sweep.magnitude / np.abs(box().impedance(sweep.frequency)) - 1)
    assert np.median(off) < 0.003 and np.percentile(off, 95) < 0.01


def test_turned_channels_are_refused_with_what_to_do():
    with pytest.raises(RecordingError, match="device', 'total'"):
        boxlab.read_recording(BOXES[0], 10.0, channels=("device", "total"))


def test_ohms_and_sound_agree_on_one_box(near):
    left = {}
    for fb in (45.0, 41.8):
        made_box = RadiatorBox.tuned(litres(14), fb, TEN_INCH_RADIATOR, ql=USUAL_QL)
        level = boxlab.solve(TEN_INCH_DRIVER, made_box, near.frequency, 2.83).spl
        left[fb] = np.percentile(np.abs(near.against(level)[1]), 90)
        assert "Recorded" in of_recordings(near, TEN_INCH_DRIVER, made_box).headline
    assert left[41.8] < 0.4 < 1.5 < left[45.0]
    claim("the sum is the box's response up to some {} Hz", about(near.highest))
    ka = 1.0  # derived: at the middle of a piston 2ρcu·sin(ka/2), where ρcu·ka is taken for it
    claim("At $ka = 1$ the error is {} dB", -20 * np.log10(2 * np.sin(ka / 2) / ka))
    assert near.highest == pytest.approx(517, abs=2) and 1e3 * near.closest > 11


def test_summed_as_heard_the_port_is_too_loud_and_the_sum_wrong_below_100_hz():
    item = explainer("near_field_and_model")
    right, wrong = item(), item(weigh="as heard")
    sums = [scene.plots[1].lines[0] for scene in (right, wrong)]
    f = sums[0].x
    assert np.max(np.abs(sums[1].y[(f > 40) & (f < 100)])) > 6
    assert np.max(np.abs(sums[0].y[(f > 40) & (f < 100)])) < 2
    assert np.max(np.abs(sums[1].y[(f > 250) & (f < 400)])) < 3
    far = item(distance=100).plots[1].lines[0]
    assert np.max(np.abs(far.y[(f > 40) & (f < 300)])) > 3
    cone, port = 1e4 * CONE, 50
    ratio = 1e-4 * cone / boxlab.disc_area(1e-3 * port)
    claim("A cone of {} cm² and a round port of {} mm (2 in), both heard from close by", cone, port)
    assert read("near_field_and_model")[0] == pytest.approx(-10 * np.log10(ratio), abs=0.05)


def test_a_minute_of_music_takes_a_ninth_of_the_rating():
    rating, load = float(re.search(r"rating=(\d+)", code_of("12"))[1]), 4
    found = boxlab.amplifier_on_music(FOLDER / "music.flac", *FULL, rating=rating)
    claim("just below the amplifier's end: rated {} W at {} Ω", rating, load)
    claim("dB ¶ About {} W ¶", found.average)
    claim("Half the rating would be a steady tone {} dB below its end", 10 * np.log10(2))
    samples, rate = soundfile.read(FOLDER / "music.flac")
    assert len(samples) / rate == pytest.approx(60, abs=0.1)
    truth = np.mean(samples[:, 0] * FULL[0] * samples[:, 1] * FULL[1])
    assert found.average == pytest.approx(truth, rel=0.01)
    assert np.max(np.abs(samples[:, 0])) * FULL[0] < np.sqrt(2 * rating * load)  # below the rails


def test_a_job_lays_its_own_recordings_over_its_own_box(tmp_path):
    """The job's driver, radiator and files; without the files it says that there are none."""
    from boxlab.explainers._own import with_job

    rows = "".join(
        f'[[measurement]]\nfile = "{FOLDER / name}.flac"\nwhat = "{what}"\n'
        for name, what in (
            ("near-cone", "close to the cone"),
            ("near-radiator", "close to the radiator or port"),
        )
    )
    text = (
        '[driver]\nre = "3.4 ohm"\nle = "1.2 mH"\nbl = "15 T m"\nmms = "115 g"\n'
        'cms = "0.22 mm/N"\nrms = "4.5 N s/m"\nsd = "335 cm2"\nxmax = "12 mm"\n'
        '[radiator]\ncount = 1\nsd = "350 cm2"\nmms = "100 g"\ncms = "0.6 mm/N"\n'
        'rms = "1.5 N s/m"\nxmax = "20 mm"\nadded_mass = "112 g"\n'
        '[box]\nkind = "radiator"\nvolume = "13.4 L"\nql = "10"\n'
    )
    path = tmp_path / "it.job.toml"
    path.write_text(text + rows, encoding="utf-8")
    scene = with_job(explainer("near_field_and_model"), boxlab.read_job(path))()
    assert "Recorded, the sum follows the model within 0." in " ".join(scene.readout)
    assert any(line.label == "recorded" for line in scene.plots[0].lines)
    assert "invented" not in scene.caption
    path.write_text(text, encoding="utf-8")
    alone = with_job(explainer("near_field_and_model"), boxlab.read_job(path))()
    assert "model alone" in " ".join(alone.readout)
    assert not any(line.label == "recorded" for line in alone.plots[0].lines)
