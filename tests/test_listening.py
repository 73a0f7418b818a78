"""Rendered sound against differential equations; loudness match; WAV files."""

import io

import numpy as np
import pytest
from scipy.io import wavfile
from scipy.signal import lsim

from boxlab.model.air import Air
from boxlab.model.driver import Driver
from boxlab.model.enclosure import PortedBox, SealedBox
from boxlab.sound import listening as li
from boxlab.sound.programme import RATE, bass_line

DRIVER = Driver.from_datasheet(
    fs=30, qes=0.5, qms=5, vas=0.04, sd=0.035, re=3.5, xmax=0.01, pe=300, le=1e-3
)
SEALED = SealedBox(0.02)
PORTED = PortedBox.tuned(0.03, 35, 0.005, max_length=3)
BOXES = {"sealed": (DRIVER, SEALED), "ported": (DRIVER, PORTED)}


def test_render_against_the_sealed_box_in_time():
    # Current, place and speed of the cone as states; the far field is ρSd·dv/dt / 2πr.
    signal, d, air = bass_line(), DRIVER, Air()
    volts = np.tile(signal, 3)
    stiff = 1 / d.cms + air.density * air.speed_of_sound**2 * d.sd**2 / SEALED.volume
    a = [
        [-d.re / d.le, 0, -d.bl / d.le],
        [0, 0, 1],
        [d.bl / d.mms, -stiff / d.mms, -d.rms / d.mms],
    ]
    pick = np.array([a[2]]) * air.density * d.sd / (2 * np.pi)
    _, p, _ = lsim((a, [[1 / d.le], [0], [0]], pick, [[0]]), volts, np.arange(volts.size) / RATE)
    expected = p[-signal.size :]
    got = li.render(signal, d, SEALED)
    assert np.max(np.abs(got - expected)) < 0.01 * np.max(np.abs(expected))


def test_render_of_a_tone_has_the_level_of_the_response():
    t = np.arange(RATE) / RATE
    p = li.render(np.sqrt(2) * np.sin(2 * np.pi * 40 * t), DRIVER, PORTED, voltage=2.83)
    from boxlab.model.response import solve

    level = 20 * np.log10(np.sqrt(np.mean(p**2)) / 20e-6)
    assert level == pytest.approx(solve(DRIVER, PORTED, [40.0]).spl[0], abs=1e-6)


@pytest.mark.parametrize("sound", ["bass line", "sweep"])
@pytest.mark.parametrize("kind", ["A", "C", "Z"])
def test_versions_are_matched_and_peak_limited(sound, kind):
    heard = li.audition(BOXES, sound, kind=kind, peak=0.4)
    levels = [li.loudness(v, heard.rate, kind) for v in heard.sounds.values()]
    assert np.ptp(levels) < 1e-9
    assert max(np.abs(v).max() for v in heard.sounds.values()) == pytest.approx(0.4)
    assert set(heard.sounds) == {"as played", "sealed", "ported"}
    assert "Small speakers cannot" in heard.caution


def test_gains_tell_which_box_was_louder():
    heard = li.audition(BOXES, kind="Z")
    a, b = (li.render(bass_line(), *BOXES[name]) for name in BOXES)
    louder = 10 * np.log10(np.mean(b**2) / np.mean(a**2))
    assert heard.gains["sealed"] - heard.gains["ported"] == pytest.approx(louder)


def test_loudness_of_a_tone():
    # C-weighting at 31.62 Hz is −3.0 dB (IEC 61672-1); a full sine is −3.01 dB re 1.
    n = 80_000
    t = np.arange(n) / 8000
    tone = np.sin(2 * np.pi * 31.6 * t)
    assert li.loudness(tone, 8000, "C") == pytest.approx(-3.01 - 3.03, abs=0.05)
    assert li.loudness(tone, 8000, "Z") == pytest.approx(-3.01, abs=0.01)


def test_sweep_spends_equal_time_in_each_octave():
    tone = li.sweep(20, 160, 6.0)
    crossings = np.flatnonzero((tone[:-1] < 0) & (tone[1:] >= 0)) / RATE
    f = 1 / np.diff(crossings)
    at = np.interp([2.0, 4.0], crossings[1:], f)
    assert at == pytest.approx([40, 80], rel=0.03)


def test_wav_reads_back():
    heard = li.audition(BOXES)
    rate, samples = wavfile.read(io.BytesIO(heard.wav("ported")))
    assert rate == heard.rate
    assert samples / 32767 == pytest.approx(heard.sounds["ported"], abs=2e-5)


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: li.audition({}), "at least one"),
        (lambda: li.audition(BOXES, "song"), "choose 'bass line' or 'sweep'"),
        (lambda: li.audition(BOXES, peak=1.5), "would clip"),
        (lambda: li.audition(BOXES, np.zeros(100)), "silent"),
        (lambda: li.audition(BOXES).wav("radiator"), "there is as played, sealed, ported"),
        (lambda: li.render(np.zeros((2, 100)), DRIVER, SEALED), "one channel"),
        (lambda: li.sweep(200, 20), "low below high"),
        (lambda: li.wav_bytes(np.array([1.2])), "Turn it down"),
        (lambda: li.wav_bytes(np.array([np.nan])), "Turn it down"),
    ],
)
def test_bad_input_says_what_to_do(call, words):
    with pytest.raises(ValueError, match=words):
        call()
