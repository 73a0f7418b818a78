"""The recordings of the lesson "measure it yourself", made here and kept in lessons/recordings/.

An invented bench of an invented class: the solver is that of `recordings`, with numpy alone, and no
file was recorded. The bench has two unequal inputs, noise, hum, a clock of its own and 16 bits; the
box came out heavier than it was drawn. Run this file to write the recordings anew.
"""

from __future__ import annotations

import sys
import tempfile
from dataclasses import replace
from pathlib import Path

import numpy as np
import soundfile
from recordings import Bench, Thing, hears, on_one_node, sampled, write
from scipy.fft import irfft, next_fast_len, rfft, rfftfreq

FOLDER = Path(__file__).resolve().parents[1] / "lessons" / "recordings"
CONE, RADIATOR = AREAS = 0.0335, 0.0350  # m², the class's ten-inch driver and radiator
STIFF = 141_826.0  # Pa, ρc² at 20 °C
VOLUME = 13.4e-3  # m³; drawn were 14 L
WEIGHT = 0.112  # kg on the radiator; drawn for 45 Hz were 76 g
LEVELS = (-28.0, -22.0, -16.0, -10.0)  # dB of full scale, of the set at rising level
STIFFER = (1.0, 1.0, 1.12, 1.4)  # the cone's suspension at each of them
FULL = (60.0, 25.0)  # V and A that full scale stands for in the minute of music
RATE, SLOW = 8000, 4000  # samples a second: few, so that the files stay small


def box() -> Thing:
    """The box as it was built, all as seen by the cone."""
    air = STIFF * CONE**2 / VOLUME
    ratio = (CONE / RADIATOR) ** 2
    mass, spring = ratio * (0.100 + WEIGHT), ratio / 0.6e-3
    return Thing(
        re=3.4, le=1.2e-3, bl=15.0, mass=0.115, spring=1 / 0.22e-3, friction=4.5, box=air,
        vent=mass, vent_spring=spring, vent_friction=ratio * 1.5,
        leak=10 * air / np.sqrt((air + spring) / mass),
    )  # fmt: skip


BENCH = Bench(
    resistor=10.0, gain=10 ** (-0.31 / 20), late=0.4 / 48000, drift=35e-6, rate=RATE, level=0.5,
    noise=1e-4, hum=4e-4, mains=50.02,
)  # fmt: skip


def signal():
    """What was played, as `test_signal` writes it: (samples of peak 1, rate)."""
    import boxlab

    with tempfile.TemporaryDirectory() as folder:
        made = boxlab.test_signal("sweep", Path(folder) / "s.wav", seconds=6, bits=24)
        data, rate = soundfile.read(made.path)
    return data[:, 0] / np.max(np.abs(data)), rate


def filtered(x, rate, response):
    """`x` through a response given as a function of Hz."""
    size = next_fast_len(len(x) + 2 * int(rate))
    return irfft(rfft(x, size) * response(rfftfreq(size, 1 / rate)), size)[: len(x)]


def near(x, rate):
    """Microphone left and voltage right: close to the cone, and close to the radiator."""
    parts = [
        filtered(x, rate, lambda f, i=i: 2j * np.pi * f * AREAS[i] ** 0.5 * flow(f)[i])
        for i in (0, 1)
    ]
    loudest = max(np.max(np.abs(part)) for part in parts)
    for i, part in enumerate(parts):
        pair = np.column_stack([0.6 * part / loudest, 0.5 * x])
        yield sampled(pair, rate, replace(BENCH, seed=20 + i))


def flow(f):
    """Velocities of cone and radiator for a volt, m/s."""
    return box().flows(f, CONE, RADIATOR)


def music():
    """A minute of an invented bass line with a drum, as volts and amperes of full scale."""
    rng = np.random.default_rng(12)
    t = np.arange(60 * RATE) / RATE
    volts = np.zeros(len(t))
    line = (41.2, 41.2, 49.0, 55.0, 41.2, 61.7, 55.0, 49.0)  # E, G, A and B
    for beat in range(112):
        at = int(beat * 60 / 112 * RATE)
        length = int(rng.uniform(0.2, 0.5) * RATE)
        span = slice(at, min(at + length, len(t)))
        own = t[span] - t[at]
        note = np.exp(-own / 0.6) * np.sin(2 * np.pi * line[beat % 8] * own)
        note += 0.25 * np.exp(-own / 0.15) * np.sin(4 * np.pi * line[beat % 8] * own)
        volts[span] += rng.uniform(0.5, 1.0) * note * (1 - own / own[-1])
        if beat % 2 == 0:
            pitch = 48 + 60 * np.exp(-own / 0.02)
            volts[span] += 1.1 * np.exp(-own / 0.07) * np.sin(2 * np.pi * pitch * own)
    volts = np.tanh(1.6 * volts)  # as mixes are: the loudest moments held down
    volts *= 46 / np.max(np.abs(volts))  # the amplifier is just not at its end
    amperes = filtered(volts, RATE, lambda f: 1 / box().impedance(f))
    pair = np.column_stack([volts / FULL[0], amperes / FULL[1]])
    return sampled(pair, RATE, replace(BENCH, rate=SLOW, hum=2e-4, noise=2e-5, drift=0.0, seed=30))


def made() -> dict[str, tuple[np.ndarray, int]]:
    """Every recording by its name: samples of full scale, shape (n, 2), and samples a second."""
    x, rate = signal()
    found = {
        "both-inputs": on_one_node(x, rate, replace(BENCH, seed=2)),
        "known-resistor": hears(x, rate, Thing(resistance=6.8), replace(BENCH, seed=3)),
    }
    for i, (level, stiff) in enumerate(zip(LEVELS, STIFFER, strict=True), 1):
        thing = replace(box(), spring=box().spring * stiff)
        setup = replace(BENCH, level=10 ** (level / 20), seed=3 + i, noise=3e-5)
        found[f"box-{i}"] = hears(x, rate, thing, setup)
    for name, pair in zip(("near-cone", "near-radiator"), near(x, rate), strict=True):
        found[name] = pair
    return {name: (data, RATE) for name, data in found.items()} | {"music": (music(), SLOW)}


if __name__ == "__main__":
    FOLDER.mkdir(exist_ok=True)
    for name, (data, rate) in made().items():
        path = write(FOLDER / f"{name}.flac", data, rate)
        sys.stdout.write(f"{path.name}: {path.stat().st_size / 1e3:.0f} kB\n")
