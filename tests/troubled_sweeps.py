"""Sweeps with the troubles of real ones, made by a small lumped circuit of its own.

Nothing of boxlab is used: impedances are summed in the mechanical domain, in SI, with numpy alone.
The troubles: a suspension that creeps, C(ω) = C0·(1 − κ·log10(jω/ω0)) (Knudsen and Jensen, J. Audio
Eng. Soc. 41 (1993) 3; the formula from memory); a cone edge or box wall with a narrow resonance of
its own; a test box that leaks. Each is what the fit is judged by, so "true" values are those of the
definition: fs is where the mechanical reactance is zero, and the Qs are taken there.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

BULK = 141880.28  # ρc² of dry air at 20 °C and 101 325 Pa: 1.4 times the pressure, nearly
FREQUENCY = np.geomspace(10, 1000, 160)
TROUBLES = ("none", "creep", "bump", "leak", "all")


@dataclass(frozen=True)
class Cone:
    """A driver: coil, motor, cone, and a suspension that may creep; a bump may sit on it."""

    re: float
    le: float
    k: float
    n: float
    bl: float
    m: float
    r: float
    c0: float
    sd: float
    kappa: float = 0.0
    f0: float = 30.0
    bump: dict = field(default_factory=dict)
    l2: float = 0.0  # a second inductance, with r2 across it
    r2: float = 1.0

    def compliance(self, f):
        return self.c0 * (1 - self.kappa * np.log10(1j * f / self.f0))

    def mechanics(self, f, added=0.0):
        w = 2 * np.pi * f
        return 1j * w * (self.m + added) + self.r + 1 / (1j * w * self.compliance(f))

    def sweep(self, f, load=0.0, added=0.0):
        """Impedance, Ω, with the mechanical impedance `load` (N·s/m) behind the cone."""
        w = 2 * np.pi * f
        mech = self.mechanics(f, added) + load
        bump = self.bump
        if bump.get("kind") == "rider":  # a small mass on a spring of its own, driven by the cone
            w0 = 2 * np.pi * bump["f"]
            mass = bump["m"]
            spring = mass * w0**2 / (1j * w) + mass * w0 / bump["q"]
            mech = mech + 1 / (1 / (1j * w * mass) + 1 / spring)
        shunted = 1 / (1 / (1j * w * self.l2) + 1 / self.r2) if self.l2 else 0.0
        z = self.re + 1j * w * self.le + self.k * (1j * w) ** self.n + shunted + self.bl**2 / mech
        if bump.get("kind") == "hump":  # seen in |Z| and in the phase, as a panel's resonance
            detune = bump["q"] * (f / bump["f"] - bump["f"] / f)
            z = z * (1 + bump["size"] / (1 + 1j * detune))
        if bump.get("kind") == "bare":  # in the magnitude alone, as a meter's own fault may be
            z = z * (1 + bump["size"] * np.exp(-0.5 * (np.log2(f / bump["f"]) / bump["w"]) ** 2))
        return z

    @property
    def rider(self):
        """Mass of a rider, kg; far below its own resonance it is part of the moving mass."""
        return self.bump["m"] if self.bump.get("kind") == "rider" else 0.0

    def resonance(self, volume=np.inf):
        """Where the mechanical reactance is zero, in free air or with a tight box behind, Hz."""
        low, high = 5.0, 400.0
        for _ in range(60):  # bisection
            f = np.sqrt(low * high)
            x = self.mechanics(f, self.rider) + self.sd**2 * BULK / volume / (2j * np.pi * f)
            low, high = (f, high) if x.imag < 0 else (low, f)
        return np.sqrt(low * high)

    def truth(self):
        """The small-signal set by definition, a dict in SI. A rider's mass moves along at fs."""
        fs = self.resonance()
        w, m = 2 * np.pi * fs, self.m + self.rider
        qms = w * m / self.mechanics(fs).real
        qes = w * m * self.re / self.bl**2
        cms = 1 / (w**2 * m)
        return {
            "re": self.re, "fs": fs, "qms": qms, "qes": qes, "qts": qms * qes / (qms + qes),
            "mms": m, "cms": cms, "bl": self.bl, "vas": BULK * self.sd**2 * cms,
        }  # fmt: skip


def a_cone(rng, trouble):
    """A driver at random, as bass drivers for vehicles go."""
    fs, qes, qms = rng.uniform(24, 42), rng.uniform(0.3, 0.7), rng.uniform(3, 8)
    sd, re = rng.uniform(0.02, 0.05), rng.uniform(1.8, 7)
    vas = rng.uniform(0.015, 0.06)
    c = vas / (BULK * sd**2)
    w = 2 * np.pi * fs
    m = 1 / (w**2 * c)
    lossy = rng.uniform() < 0.5
    le = re * (rng.uniform(0.03, 0.1) if lossy else rng.uniform(0.1, 0.4)) * 1e-3
    k, n = (re * rng.uniform(0.002, 0.006), rng.uniform(0.6, 0.75)) if lossy else (0.0, 0.7)
    kappa = rng.uniform(0.05, 0.15) if trouble in ("creep", "all") else 0.0
    r = max(w * m / qms - 0.682 * kappa * w * m, 0.1 * w * m / qms)
    bump = a_bump(rng, m) if trouble in ("bump", "all") else {}
    return Cone(re, le, k, n, np.sqrt(w * m * re / qes), m, r, c, sd, kappa, fs, bump)


def a_bump(rng, m):
    """3 to 10 % in |Z| at 150 to 350 Hz, in one of three ways."""
    f = rng.uniform(150, 350)
    size = rng.uniform(0.03, 0.10) * rng.choice([-1, 1])
    kind = rng.choice(["rider", "hump", "bare"])
    q = rng.uniform(6, 20)
    # a rider's share of the mass sets how far it is seen; see `scaled_rider`
    return {"kind": str(kind), "f": f, "size": size, "q": q, "w": rng.uniform(0.05, 0.2), "m": m}


def scaled_rider(cone, f=None):
    """The cone with a rider whose mass makes the greatest change of |Z| the wanted size."""
    if cone.bump.get("kind") != "rider":
        return cone
    f = np.geomspace(100, 500, 1500) if f is None else f
    bump = dict(cone.bump)
    plain = np.abs(_with(cone, {}).sweep(f))
    low, high = 1e-6, 1.0
    for _ in range(40):
        share = np.sqrt(low * high)
        trial = _with(cone, bump | {"m": share * cone.m})
        near = np.abs(np.log2(f / bump["f"])) < 0.5
        change = np.max(np.abs(np.abs(trial.sweep(f)) / plain - 1)[near])
        low, high = (share, high) if change < abs(bump["size"]) else (low, share)
    return _with(cone, bump | {"m": min(share, 0.05) * cone.m})


def _with(cone, bump):
    return Cone(**{k: v for k, v in vars(cone).items() if k != "bump"}, bump=bump)


def closed_load(cone, f, volume, leak_q=np.inf):
    """Mechanical impedance of a closed box; `leak_q` at its own resonance with the driver."""
    w = 2 * np.pi * f
    cab = volume / BULK
    t = cone.truth()
    wc = 2 * np.pi * t["fs"] * np.sqrt(1 + t["vas"] / volume)
    return cone.sd**2 / (1j * w * cab + wc * cab / leak_q)


def vented_load(cone, f, volume, fb, ql, vent):
    """Mechanical impedance of a box with a vent of acoustic impedance `vent(w)`."""
    w = 2 * np.pi * f
    cab = volume / BULK
    return cone.sd**2 / (1j * w * cab + 2 * np.pi * fb * cab / ql + 1 / vent(w))


@dataclass(frozen=True)
class Radiating:
    """A radiator of area `area`, m², mass, friction and a suspension that may creep."""

    area: float
    mass: float
    rms: float
    cms: float
    kappa: float = 0.0

    @property
    def fp(self):
        return 1 / (2 * np.pi * np.sqrt(self.mass * self.cms))

    def acoustic(self, w):
        c = self.cms * (1 - self.kappa * np.log10(1j * w / (2 * np.pi * self.fp)))
        return (1j * w * self.mass + self.rms + 1 / (1j * w * c)) / self.area**2


def port_impedance(volume, fb):
    mass = BULK / (volume * (2 * np.pi * fb) ** 2)
    return lambda w: 1j * w * mass


def a_radiator(rng, volume, fb, kappa):
    """A radiator that makes fb in this volume; its own resonance lies at 0.3 to 0.55 of that."""
    area = 0.035
    share = rng.uniform(0.3, 0.55)
    stiffness = BULK * area**2 / volume  # of the box air, N/m
    mass = stiffness / ((2 * np.pi * fb) ** 2 * (1 - share**2))
    cms = 1 / (mass * (2 * np.pi * share * fb) ** 2)
    return Radiating(area, mass, rng.uniform(0.5, 2), cms, kappa)


def tuning_of(volume, radiator):
    """fb of a radiator box by definition: its vent's reactance and the air's cancel."""
    cab = volume / BULK
    low, high = radiator.fp, 300.0
    for _ in range(60):
        mid = np.sqrt(low * high)
        w = 2 * np.pi * mid
        rises = (radiator.acoustic(w) + 1 / (1j * w * cab)).imag > 0
        low, high = (low, mid) if rises else (mid, high)
    return np.sqrt(low * high)


def read(rng, z, noise):
    """What a meter makes of an impedance: scatter in magnitude and phase; noise is relative."""
    scatter = rng.standard_normal(len(z)) + 1j * rng.standard_normal(len(z))
    z = z * np.exp(noise * scatter)
    return np.abs(z), np.degrees(np.angle(z))


@dataclass(frozen=True)
class Specimen:
    """One driver and one box, the sweeps of them, and what is true.

    `sweeps` holds (magnitude, phase) by name: free, loaded, boxed, box; phase is None for a meter
    that reads magnitude only.
    """

    frequency: np.ndarray
    sweeps: dict
    driver: dict
    box: dict
    added: float
    volume: float  # of the test box, m³
    sd: float
    build: str
    radiator: Radiating | None
    fc: float  # resonance in the test box, Hz


def specimen(seed, trouble, build="ported", radiator_creeps=False):
    """A driver, its sweeps and a box with one of `TROUBLES`, from a seed."""
    rng = np.random.default_rng([seed, TROUBLES.index(trouble)])
    cone = scaled_rider(a_cone(rng, trouble))
    true = cone.truth()
    f = FREQUENCY
    noise = 10 ** rng.uniform(-2.7, -2.0)  # 0.2 to 1 %
    added = rng.uniform(0.4, 0.8) * cone.m
    test_volume = true["vas"] / rng.uniform(0.8, 2.5)
    leak_q = rng.uniform(5, 20) if trouble in ("leak", "all") else np.inf
    volume = true["vas"] / rng.uniform(0.8, 3.5)
    fb, ql = rng.uniform(28, 48), rng.uniform(5, 20)
    radiator = None
    if build == "radiator":
        radiator = a_radiator(rng, volume, fb, cone.kappa if radiator_creeps else 0.0)
        vent = radiator.acoustic
        fb_true = tuning_of(volume, radiator)
    else:
        vent, fb_true = port_impedance(volume, fb), fb
    loads = {
        "free": cone.sweep(f),
        "loaded": cone.sweep(f, added=added),
        "boxed": cone.sweep(f, closed_load(cone, f, test_volume, leak_q)),
        "box": cone.sweep(f, vented_load(cone, f, volume, fb_true, ql, vent)),
    }
    phase = rng.uniform() < 0.67
    sweeps = {}
    for name, z in loads.items():
        magnitude, angle = read(rng, z, noise)
        sweeps[name] = (magnitude, angle if phase else None)
    box = {"fb": fb_true, "alpha": true["vas"] / volume, "ql": ql, "volume": volume,
           "fc": true["fs"] * np.sqrt(1 + true["vas"] / volume)}  # fmt: skip
    if radiator:
        box |= {"fp": radiator.fp, "radiator_mass": radiator.mass}
    return Specimen(f, sweeps, true, box, added, test_volume, cone.sd, build, radiator,
                    cone.resonance(test_volume))  # fmt: skip
