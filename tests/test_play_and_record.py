"""Playing and recording through a virtual sound device: a server of our own with a null sink.

Skipped where pulseaudio, its ALSA plug-in or the extra `record` is missing.
"""

from __future__ import annotations

import importlib.util
import os
import shutil
import subprocess
import sys
import time

import numpy as np
import pytest
import recordings as bench
import soundfile

import boxlab
from boxlab.measure.record import RecordingError

HAS_EXTRA = importlib.util.find_spec("sounddevice") is not None
PROGRAM = """
import sys, boxlab
boxlab.play_and_record(sys.argv[1], sys.argv[2], level=float(sys.argv[3]))
"""


@pytest.fixture(scope="module")
def server(tmp_path_factory):
    """Environment of a server whose one output comes back as its one input."""
    if not HAS_EXTRA or not shutil.which("pulseaudio") or not shutil.which("pactl"):
        pytest.skip("needs pulseaudio and boxlab[record]")
    home = tmp_path_factory.mktemp("pa")
    (home / ".asoundrc").write_text("pcm.!default { type pulse }\nctl.!default { type pulse }\n")
    own = os.environ | {"HOME": str(home), "XDG_RUNTIME_DIR": str(home)}
    command = [
        "pulseaudio", "-n", "--daemonize=no", "--exit-idle-time=-1", "--use-pid-file=no",
        "-L", "module-native-protocol-unix", "-L", "module-null-sink sink_name=bench rate=48000",
    ]  # fmt: skip
    running = subprocess.Popen(command, env=own, stderr=subprocess.DEVNULL)
    for _ in range(50):
        time.sleep(0.1)
        chosen = ["pactl", "set-default-source", "bench.monitor"]
        if not subprocess.run(chosen, env=own, capture_output=True).returncode:
            break
    yield own
    running.terminate()
    running.wait()


def run(server, *arguments):
    command = [sys.executable, "-c", PROGRAM, *map(str, arguments)]
    return subprocess.run(command, env=server, capture_output=True, text=True, timeout=120)


def until_whole(server, out, back, tries=6):
    """A busy machine leaves gaps, which are refused in words; then it is recorded again."""
    for _ in range(tries):
        back.unlink(missing_ok=True)
        ended = run(server, out, back, -20)
        if "too busy" in ended.stderr:
            continue
        try:
            boxlab.read_recording(back, 10.0)
        except RecordingError as error:
            assert "left out or doubled" in str(error)
            continue
        break
    return ended


def test_an_impedance_is_played_recorded_and_read(server, tmp_path):
    """What both inputs of the bench hear is played, so that it comes back through the device."""
    made = boxlab.test_signal("sweep", tmp_path / "s.wav", seconds=4, bits=24)
    x, rate = soundfile.read(made.path)
    thing = bench.any_thing(np.random.default_rng(1), "radiator")
    heard = bench.hears(x[:, 0], rate, thing, bench.Bench(noise=1e-6, bits=24))
    out = bench.write(tmp_path / "out.wav", heard, rate, 24)
    ended = until_whole(server, out, tmp_path / "back.wav")
    assert ended.returncode == 0, ended.stderr
    assert "Turn the amplifier all the way down" in ended.stdout
    back, _ = soundfile.read(tmp_path / "back.wav")
    assert 20 * np.log10(np.max(np.abs(back))) == pytest.approx(-20, abs=0.2)
    sweep = boxlab.read_recording(tmp_path / "back.wav", 10.0).between(10, 300)
    off = np.abs(sweep.magnitude / np.abs(thing.impedance(sweep.frequency)) - 1)
    assert np.median(off) < 0.003 and np.percentile(off, 95) < 0.01
    again = run(server, out, tmp_path / "back.wav", -20)
    assert again.returncode and "stays as it is" in again.stderr


def test_an_input_on_which_nothing_arrives_stops_it(server, tmp_path):
    made = boxlab.test_signal("sweep", tmp_path / "s.wav", seconds=4)
    mute = ["pactl", "set-source-mute", "bench.monitor"]
    subprocess.run([*mute, "1"], env=server, check=True)
    ended = run(server, made.path, tmp_path / "back.wav", -40)
    subprocess.run([*mute, "0"], env=server, check=True)
    assert ended.returncode and "Nothing arrives" in ended.stderr
    assert not (tmp_path / "back.wav").exists()


def test_without_the_extra_it_says_what_to_install(tmp_path, monkeypatch):
    made = boxlab.test_signal("sweep", tmp_path / "s.wav", seconds=4)
    monkeypatch.setitem(sys.modules, "sounddevice", None)
    with pytest.raises(RecordingError, match=r"boxlab\[record\]"):
        boxlab.play_and_record(made.path, tmp_path / "back.wav")
    with pytest.raises(ValueError, match="full scale"):
        boxlab.play_and_record(made.path, tmp_path / "back.wav", level=0)
