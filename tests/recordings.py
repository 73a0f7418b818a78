"""Recordings of an invented bench with known truth: nothing here is boxlab's own solver.

Impedances are summed in the mechanical domain with numpy alone; what both inputs hear is worked out
by Fourier sums over the whole signal, then sampled by a second clock, with unequal inputs, noise,
hum and few bits. Everything is invented.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace

import numpy as np
import soundfile
from scipy.fft import irfft, next_fast_len, rfft, rfftfreq
from scipy.interpolate import CubicSpline


@dataclass(frozen=True)
class Thing:
    """What is measured: a driver, perhaps in a box, or a plain resistor."""

    re: float = 3.4
    le: float = 0.8e-3
    n: float = 1.0  # exponent of the coil: 1 an inductance, 0.5 to 0.8 a lossy one
    bl: float = 14.0
    mass: float = 0.13
    spring: float = 5000.0  # N/m
    friction: float = 2.6
    box: float = 0.0  # N/m of the air in the box on the cone, 0 for free air
    vent: float = 0.0  # kg of the vent as seen by the cone, 0 for a sealed box
    vent_spring: float = 0.0  # N/m, likewise
    vent_friction: float = 1.0
    leak: float = np.inf  # N·s/m of a leak in the box, likewise
    resistance: float = 0.0  # Ω of a plain resistor instead

    def impedance(self, f):
        f = np.maximum(np.asarray(f, float), 1e-3)
        if self.resistance:
            return np.full(f.shape, self.resistance, complex)
        s = 2j * np.pi * f
        mechanics = s * self.mass + self.friction + self.spring / s
        if self.box:
            mechanics = mechanics + self.behind(f)
        coil = self.re + self.le * (1000 * 2 * np.pi) ** (1 - self.n) * s**self.n
        return coil + self.bl**2 / mechanics

    def behind(self, f):
        """What the box puts against the cone, N·s/m: its air, with vent and leak beside it."""
        s = 2j * np.pi * np.maximum(np.asarray(f, float), 1e-3)
        yields = s / self.box + 1 / self.leak
        if self.vent:
            yields = yields + 1 / (s * self.vent + self.vent_friction + self.vent_spring / s)
        return 1 / yields

    def flows(self, f, cone_area, vent_area):
        """Velocity of the cone, and outward velocity of the vent, m/s for a volt."""
        s = 2j * np.pi * np.maximum(np.asarray(f, float), 1e-3)
        mechanics = s * self.mass + self.friction + self.spring / s + self.behind(f)
        coil = self.impedance(f) - self.bl**2 / mechanics
        cone = self.bl / (coil * mechanics + self.bl**2)
        branch = s * self.vent + self.vent_friction + self.vent_spring / s
        return cone, -cone * self.behind(f) / branch * cone_area / vent_area

    @property
    def tuning(self):
        """Hz, where the vent's mass and all its springs are in balance."""
        return np.sqrt((self.box + self.vent_spring) / self.vent) / (2 * np.pi)


@dataclass(frozen=True)
class Bench:
    """The set-up: resistor, leads, two unequal inputs, clocks, noise, hum."""

    resistor: float = 10.0
    leads: float = 0.0
    gain: complex = 1.0  # second input against the first
    late: float = 0.0  # s, second input
    drift: float = 0.0  # of the recording clock, a ratio
    rate: float = 48000
    level: float = 0.7  # of full scale at the first input, for a signal of peak 1
    noise: float = 1e-4  # rms of full scale
    hum: float = 0.0  # amplitude of full scale
    mains: float = 50.02
    bits: int = 16
    seed: int = 1
    changes: dict = field(default_factory=dict)


def hears(x, rate, thing, bench):
    """Both inputs of the bench, shape (n, 2), for what is played, shape (n,)."""
    size = next_fast_len(len(x) + int(rate))
    f = rfftfreq(size, 1 / rate)
    z = thing.impedance(f) + bench.leads
    lines = rfft(x, size)
    share = z / (bench.resistor + z)
    turn = bench.gain * np.exp(-2j * np.pi * f * bench.late)
    both = [irfft(lines, size), irfft(lines * share * turn, size)]
    return sampled(np.column_stack(both)[: len(x)] * bench.level, rate, bench)


def on_one_node(x, rate, bench):
    """Both inputs on the same node: what is left is how unequal they are."""
    size = next_fast_len(len(x) + int(rate))
    f = rfftfreq(size, 1 / rate)
    lines = rfft(x, size)
    turn = bench.gain * np.exp(-2j * np.pi * f * bench.late)
    both = [irfft(lines, size), irfft(lines * turn, size)]
    return sampled(np.column_stack(both)[: len(x)] * bench.level, rate, bench)


def sampled(y, rate, bench):
    """The channels by another clock, with hum, noise and steps of so many bits."""
    rng = np.random.default_rng(bench.seed)
    if bench.drift or bench.rate != rate:
        t = np.arange(len(y)) / rate
        count = int(len(y) / rate * bench.rate / (1 + bench.drift)) - 2
        y = CubicSpline(t, y)(np.arange(count) / bench.rate * (1 + bench.drift))
    t = np.arange(len(y))[:, None] / bench.rate
    if bench.hum:
        phase = rng.uniform(0, 2 * np.pi, 2)
        for k, share in ((1, 1.0), (2, 0.3), (3, 0.5)):
            y = y + bench.hum * share * np.sin(2 * np.pi * k * bench.mains * t + phase)
    y = y + bench.noise * rng.standard_normal(y.shape)
    top = 1 - 2.0 ** (1 - bench.bits)
    return np.clip(np.round(y * 2 ** (bench.bits - 1)) / 2 ** (bench.bits - 1), -1, top)


def write(path, y, rate, bits=16):
    soundfile.write(path, y, int(rate), subtype=f"PCM_{bits}")
    return path


def any_thing(rng, kind=None):
    """A driver of our own, in free air or in one of three kinds of box."""
    kind = kind or rng.choice(["free", "sealed", "ported", "radiator"])
    mass, fs, qms = rng.uniform(0.03, 0.3), rng.uniform(20, 50), rng.uniform(3, 8)
    re = rng.uniform(1.5, 7.0)
    w = 2 * np.pi * fs
    thing = Thing(
        re=re, le=re * rng.uniform(0.1e-3, 0.5e-3), n=rng.choice([1.0, 0.6, 0.75]),
        bl=np.sqrt(w * mass * re / rng.uniform(0.3, 0.8)), mass=mass, spring=mass * w**2,
        friction=w * mass / qms,
    )  # fmt: skip
    if kind == "free":
        return thing
    box = thing.spring * rng.uniform(0.5, 3.0)
    if kind == "sealed":
        return replace(thing, box=box)
    fb = rng.uniform(28, 50)
    spring = 0.0 if kind == "ported" else box * rng.uniform(0.1, 0.3)
    vent = (box + spring) / (2 * np.pi * fb) ** 2
    friction = 2 * np.pi * fb * vent / rng.uniform(8, 25)
    return replace(thing, box=box, vent=vent, vent_spring=spring, vent_friction=friction)


def any_bench(rng, **changes):
    """A set-up as it may be: levels, rates, bits, clocks and inputs all differ."""
    found = Bench(
        resistor=float(rng.choice([4.7, 10.0, 22.0])), leads=0.0,
        gain=10 ** (rng.uniform(-0.5, 0.5) / 20), late=float(rng.choice([0.0, 1.0])) / 48000,
        drift=rng.uniform(-100e-6, 100e-6), rate=float(rng.choice([44100, 48000])),
        level=rng.uniform(0.4, 0.95), noise=10 ** rng.uniform(-5, -3.7),
        hum=float(rng.choice([0.0, 0.0, 10 ** rng.uniform(-4, -2.5)])),
        mains=float(rng.choice([50.0, 60.0])) + rng.uniform(-0.05, 0.05),
        bits=int(rng.choice([16, 24])), seed=int(rng.integers(1 << 30)),
    )  # fmt: skip
    return replace(found, **changes)
