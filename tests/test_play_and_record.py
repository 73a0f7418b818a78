"""Playing and recording through a virtual sound device: a server of our own with a null sink.

Skipped where pulseaudio, its ALSA plug-in or the extra `record` is missing.
"""

from __future__ import annotations

import importlib.util
import os
import shutil
import signal
import subprocess
import sys
import time

import numpy as np
import pytest
import recordings as bench
import soundfile

import boxlab
from boxlab.__main__ import main
from boxlab.measure.record import RecordingError, play

HAS_EXTRA = importlib.util.find_spec("sounddevice") is not None


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
    """The verb `record`, as it is typed."""
    command = [sys.executable, "-m", "boxlab", "record", *map(str, arguments)]
    return subprocess.run(command, env=server, capture_output=True, text=True, timeout=120)


def test_an_impedance_is_played_recorded_and_read(server, tmp_path):
    """What both inputs of the bench hear is played, so that it comes back through the device."""
    made = boxlab.test_signal("sweep", tmp_path / "s.wav", seconds=4, bits=24)
    x, rate = soundfile.read(made.path)
    thing = bench.any_thing(np.random.default_rng(1), "radiator")
    heard = bench.hears(x[:, 0], rate, thing, bench.Bench(noise=1e-6, bits=24))
    out = bench.write(tmp_path / "out.wav", heard, rate, 24)
    ended = run(server, out, "--to", tmp_path / "back.wav", "--level", -20)
    assert ended.returncode == 0, ended.stderr
    assert "peaks -20." in ended.stdout
    assert "Turn the amplifier all the way down" in ended.stdout
    back, _ = soundfile.read(tmp_path / "back.wav")
    assert 20 * np.log10(np.max(np.abs(back))) == pytest.approx(-20, abs=0.2)
    sweep = boxlab.read_recording(tmp_path / "back.wav", 10.0).between(10, 300)
    off = np.abs(sweep.magnitude / np.abs(thing.impedance(sweep.frequency)) - 1)
    assert np.median(off) < 0.003 and np.percentile(off, 95) < 0.01
    again = run(server, out, "--to", tmp_path / "back.wav")
    assert again.returncode == 2 and "stays as it is" in again.stderr


def test_an_input_on_which_nothing_arrives_stops_it(server, tmp_path):
    made = boxlab.test_signal("sweep", tmp_path / "s.wav", seconds=4)
    mute = ["pactl", "set-source-mute", "bench.monitor"]
    subprocess.run([*mute, "1"], env=server, check=True)
    ended = run(server, made.path, "--to", tmp_path / "back.wav")
    subprocess.run([*mute, "0"], env=server, check=True)
    assert ended.returncode and "Nothing arrives" in ended.stderr
    assert not (tmp_path / "back.wav").exists()


def test_every_sample_comes_back_once_and_in_order(server, tmp_path):
    """What is played counts its own samples, so that whatever is left out or doubled shows.

    Seen red with one stream for both ways: the first 65,528 samples were gone, and with blocks of
    4096 some hundred were left out every half second. With two streams 15 of 15 were whole, on two
    cores with a load of 14.
    """
    program = tmp_path / "counts.py"
    program.write_text(
        "import numpy as np\n"
        "from boxlab.measure.record import play\n"
        "data = (np.arange(1, 6 * 48000 + 1) % 30000 / 2**15)[:, None].repeat(2, 1)\n"
        "got = np.round(play._through(data, 48000, None)[:, 0] * 2**15).astype(int)\n"
        "inside = got[np.flatnonzero(got)[0]:np.flatnonzero(got)[-1] + 1]\n"
        "print(len(data), len(inside), *np.unique(np.diff(inside) % 30000))\n"
    )
    ended = subprocess.run(
        [sys.executable, program], env=server, capture_output=True, text=True, timeout=120
    )
    assert not ended.returncode, ended.stderr
    played, came, *steps = map(int, ended.stdout.split())
    assert steps == [1] and played - 2 <= came <= played


def test_a_gap_is_noticed_and_said(server, tmp_path):
    """The program is held still for three seconds in the middle, as a busy machine may do."""
    made = boxlab.test_signal("sweep", tmp_path / "s.wav", seconds=10)
    command = [sys.executable, "-m", "boxlab", "record", made.path, "--to", tmp_path / "back.wav"]
    running = subprocess.Popen(command, env=server, stderr=subprocess.PIPE, text=True)
    for _ in range(600):  # until it plays
        time.sleep(0.1)
        told = subprocess.run(
            ["pactl", "list", "short", "sink-inputs"], env=server, capture_output=True
        )
        if told.stdout.strip():
            break
    time.sleep(6 + play.RAMP)  # past the first two seconds, in the sweep
    os.kill(running.pid, signal.SIGSTOP)
    time.sleep(3)
    os.kill(running.pid, signal.SIGCONT)
    said = running.communicate(timeout=60)[1]
    assert running.returncode and "a part is missing" in said, said
    assert not (tmp_path / "back.wav").exists()


def test_a_gap_that_no_device_tells_of_is_found_in_what_came(tmp_path):
    made = boxlab.test_signal("sweep", tmp_path / "s.wav", seconds=4, bits=24)
    data, rate = soundfile.read(made.path)
    heard = np.concatenate([np.zeros((9000, 2)), 0.3 * data, np.zeros((30000, 2))])
    play._whole(data, heard, rate)
    gone = np.delete(heard, np.s_[150000:150133], axis=0)
    with pytest.raises(RecordingError, match=r"2\.8 ms between the marks"):
        play._whole(data, gone, rate)
    heard[150000:150133] = 0
    with pytest.raises(RecordingError, match=r"nothing at all at 3\.1"):
        play._whole(data, heard, rate)


def test_the_devices_are_listed(server):
    ended = run(server, "--devices")
    assert ended.returncode == 0 and "pulse" in ended.stdout
    assert run(server).returncode == 2
    wrong = run(server, __file__, "--to", "/tmp/never.wav")
    assert wrong.returncode == 2 and "no recording" in wrong.stderr


def test_without_the_extra_it_says_what_to_install(tmp_path, monkeypatch, capsys):
    made = boxlab.test_signal("sweep", tmp_path / "s.wav", seconds=4)
    monkeypatch.setitem(sys.modules, "sounddevice", None)
    with pytest.raises(RecordingError, match=r"boxlab\[record\]"):
        boxlab.play_and_record(made.path, tmp_path / "back.wav")
    with pytest.raises(ValueError, match="full scale"):
        boxlab.play_and_record(made.path, tmp_path / "back.wav", level=0)
    assert main(["record", str(made.path), "--to", str(tmp_path / "back.wav")]) == 2
    assert "boxlab[record]" in capsys.readouterr().err
