"""Solutions of the same circuit that share no algebra with the library.

Each takes the plain parameters of a driver and a box and nothing computed by the library. The
signs are the public ones: every velocity and every flow is positive out of the box, `p` is the
excess pressure inside it, phasors are rms with exp(+jwt).
"""

import math
import os
import shutil
import subprocess
import tempfile
from dataclasses import dataclass, replace

import numpy as np
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

NGSPICE = shutil.which("ngspice")


@dataclass(frozen=True)
class Circuit:
    """The plain numbers of one driver in one box."""

    re: float
    le: float
    bl: float
    mms: float
    cms: float
    rms: float
    sd: float
    volume: float
    density: float
    speed: float
    semi_k: float = 0.0
    semi_n: float = 0.7
    vent_area: float = 0.0
    vent_mass: float = 0.0  # kg, one vent
    vent_cms: float = np.inf
    vent_rms: float = 0.0
    count: int = 0
    ql: float = np.inf
    source_resistance: float = 0.0
    voltage: float = 2.83
    unlike: tuple = ()  # of vents that differ, one each: (area, mass, cms, rms), in place of vent_*
    tuned: float = 0.0  # Hz, of such vents
    absorption: float = 0.0  # Pa.s/m3, in series with the air of the box

    @property
    def vents(self):
        """(area, mass, cms, rms) of each vent."""
        same = (self.vent_area, self.vent_mass, self.vent_cms, self.vent_rms)
        return self.unlike or (same,) * self.count

    @property
    def box_compliance(self):
        return self.volume / (self.density * self.speed**2)

    @property
    def tuning(self):
        """Hz: the vents' mass on their own suspension and the air of the box together."""
        if self.tuned:
            return self.tuned
        per_vent = self.vent_area**2 * self.count / self.box_compliance + 1 / self.vent_cms
        return np.sqrt(per_vent / self.vent_mass) / (2 * np.pi)

    @property
    def leak_resistance(self):
        """Pa.s/m3, or inf: Small 1973, QL = w_b C_AB R_AL."""
        if self.count == 0 or np.isinf(self.ql):
            return np.inf
        return self.ql / (2 * np.pi * self.tuning * self.box_compliance)

    def semi_inductance(self, frequency):
        """Leach 2002: the lossy coil K (jw)^n."""
        return self.semi_k * (2j * np.pi * np.asarray(frequency)) ** self.semi_n


def highest_tuning(vents, volume, air):
    """Hz, of vents (area, mass, cms, rms) that differ: the last root of a box without losses.

    Derived: the sum of (S²/(M·C_AB))/(w² - wp²) is 1, and one root lies above every wp.
    """
    compliance = volume / (air.density * air.speed_of_sound**2)
    terms = [(s**2 / m / compliance, 1 / (m * cms)) for s, m, cms, _ in vents]
    free, reach = max(own for _, own in terms), sum(pull for pull, _ in terms)
    root = brentq(
        lambda x: sum(pull / (x - own) for pull, own in terms) - 1,
        free + 1e-9 * reach, free + 1.001 * reach, xtol=1e-9,
    )  # fmt: skip
    return np.sqrt(root) / (2 * np.pi)


def circuit(driver, box, air, source_resistance=0.0, voltage=2.83):
    """Read the numbers of the public objects; compute nothing from them but the mass of a vent."""
    vent = {}
    if hasattr(box, "radiators"):
        unlike = tuple((r.sd, r.mms + r.added_mass, r.cms, r.rms) for r in box.radiators)
        vent = {"unlike": unlike, "tuned": highest_tuning(unlike, box.volume, air)}
    elif hasattr(box, "port"):
        slug = air.density * box.port.area * (box.port.length + box.port.end_correction)
        vent = {"vent_area": box.port.area, "vent_mass": slug}
    elif hasattr(box, "radiator"):
        moving = box.radiator
        vent = {
            "vent_area": moving.sd,
            "vent_mass": moving.mms + moving.added_mass,
            "vent_cms": moving.cms,
            "vent_rms": moving.rms,
        }
    if vent:
        vent |= {"count": box.count, "ql": box.ql}
    c = Circuit(
        **{name: getattr(driver, name) for name in ("re", "le", "bl", "mms", "cms", "rms", "sd")},
        semi_k=driver.semi_k,
        semi_n=driver.semi_n,
        volume=box.volume,
        density=air.density,
        speed=air.speed_of_sound,
        source_resistance=source_resistance,
        voltage=voltage,
        **vent,
    )
    # Absorption and a port's friction by Small's own definitions, at the circuit's own tuning.
    wb = 2 * np.pi * c.tuning if vent else 0.0
    if np.isfinite(getattr(box, "qa", np.inf)):
        c = replace(c, absorption=1 / (wb * c.box_compliance * box.qa))
    if np.isfinite(getattr(box, "qp", np.inf)):
        c = replace(c, vent_rms=wb * c.vent_mass / box.qp)  # of one slug of air
    return c


def answers(c, frequency, current, velocity, pressure, vent_flow, leak_flow):
    """The public quantities from the unknowns every route solves for."""
    return {
        "impedance": c.voltage / current - c.source_resistance,
        "cone_velocity": velocity,
        "cone_volume_velocity": c.sd * velocity,
        "vent_volume_velocity": vent_flow,
        "leak_volume_velocity": leak_flow,
        "box_pressure": pressure,
        # far field, half space, one metre: p = jw rho U exp(-jkr) / (2 pi r)
        "pressure": 1j
        * frequency
        * c.density
        * (c.sd * velocity + vent_flow + leak_flow)
        * np.exp(-2j * np.pi * frequency / c.speed),
    }


def matrix_solution(c, frequency):
    """Kirchhoff and Newton written down row by row, one row per law and one per vent.

    Unknowns: coil current, cone velocity, box pressure, leak flow, then each vent's velocity.
    """
    frequency = np.asarray(frequency, dtype=float)
    s = 2j * np.pi * frequency
    size = 4 + c.count
    a = np.zeros((frequency.size, size, size), dtype=complex)
    current, cone, pressure, leak, vents = 0, 1, 2, 3, slice(4, size)

    # Kirchhoff round the coil
    a[:, 0, current] = c.source_resistance + c.re + s * c.le + c.semi_inductance(frequency)
    a[:, 0, cone] = c.bl
    # Newton for the cone: motor and box pressure push it out
    a[:, 1, current] = c.bl
    a[:, 1, pressure] = c.sd
    a[:, 1, cone] = -(s * c.mms + c.rms + 1 / (s * c.cms))
    # the air of the box: what flows out lowers its pressure
    a[:, 2, pressure] = 1 / (c.absorption + 1 / (s * c.box_compliance))
    a[:, 2, cone] = c.sd
    a[:, 2, leak] = 1.0
    a[:, 2, vents] = [area for area, *_ in c.vents]
    # the leak
    a[:, 3, leak] = 1.0
    a[:, 3, pressure] = -1.0 / c.leak_resistance
    # Newton for each vent
    for row, (area, mass, cms, rms) in enumerate(c.vents, 4):
        a[:, row, row] = s * mass + rms + 1 / cms / s
        a[:, row, pressure] = -area

    b = np.zeros((frequency.size, size, 1), dtype=complex)
    b[:, 0] = c.voltage
    # Balance columns, then rows: the units differ by many powers of ten.
    columns = 1 / np.abs(a).max(axis=1, keepdims=True)
    rows = 1 / np.abs(a * columns).max(axis=2, keepdims=True)
    x = np.linalg.solve(rows * a * columns, rows * b) * columns.swapaxes(1, 2)
    x = x[..., 0]
    each = x[:, vents] * [area for area, *_ in c.vents]
    vent_flow = each.sum(axis=1)
    leak_flow = x[:, 3] if np.isfinite(c.leak_resistance) else np.zeros(frequency.size)
    found = answers(c, frequency, x[:, 0], x[:, 1], x[:, 2], vent_flow, leak_flow)
    return found | ({"each_vent": each} if c.unlike else {})


def number(value):
    """All digits, as plain text."""
    return repr(float(value))


def netlist(c, frequency, output, sweep=None):
    """A SPICE deck. Current stands for coil current, velocity [m/s] and flow [litre/s]; voltage
    for voltage, force [N] and pressure [kPa]. The acoustic units keep element values near one.

    One analysis for each frequency, because the semi-inductance is altered between them; or, for
    a circuit without it, all in the one analysis that `sweep` asks for, such as "dec 100 10 200".
    """
    flow, pascal = 1e3, 1e3
    ohm = flow / 1.0 * pascal  # Pa.s/m3 in one unit of the acoustic part
    lines = [
        "moving-coil driver in a box",
        f"V1 in 0 DC 0 AC {number(c.voltage)}",
        f"Rs in term {number(c.source_resistance)}" if c.source_resistance else "Vs in term 0",
        "Vi term e1 0",
        f"Re e1 e2 {number(c.re)}",
        f"Le e2 e3 {number(c.le)}" if c.le else "Ve e2 e3 0",
        "Rk e3 e4 1" if c.semi_k else "Vk e3 e4 0",
        "Lk e4 e5 1" if c.semi_k else "Vl e4 e5 0",
        f"Hemf e5 0 Vv {number(c.bl)}",
        f"Hforce m1 0 Vi {number(c.bl)}",
        "Vv m1 m2 0",
        f"Lm m2 m3 {number(c.mms)}",
        f"Rm m3 m4 {number(c.rms)}" if c.rms else "Vm m3 m4 0",
        f"Cm m4 m5 {number(c.cms)}",
        f"Ebox m5 0 box 0 {number(-c.sd * pascal)}",
        f"Fcone box 0 Vv {number(c.sd * flow)}",
        f"Cbox box air {number(c.box_compliance * ohm)}",
        f"Rair air 0 {number(c.absorption / ohm)}" if c.absorption else "Vair air 0 0",
        "Rdc box 0 1e10",  # gives the operating point a path, too large to matter
    ]
    if np.isfinite(c.leak_resistance):
        lines += ["Vleak box k1 0", f"Rleak k1 0 {number(c.leak_resistance / ohm)}"]
    else:
        lines += ["Vleak 0 k1 0", "Rleak k1 0 1"]
    for n, (area, mass, cms, rms) in enumerate(c.vents):
        per = area**2
        lines += [
            f"Vp{n} box p{n}a 0",
            f"Lp{n} p{n}a p{n}b {number(mass / per / ohm)}",
            f"Rp{n} p{n}b p{n}c {number(rms / per / ohm)}" if rms else f"Vr{n} p{n}b p{n}c 0",
            f"Cp{n} p{n}c 0 {number(cms * per * ohm)}" if np.isfinite(cms) else f"Vc{n} p{n}c 0 0",
        ]
    vent = " ".join(f"i(Vp{n})" for n in range(c.count))
    lines += [".control", "set numdgt=16", "set wr_singlescale", "set appendwrite"]
    wanted = f"wrdata {output} i(Vi) i(Vv) v(box) i(Vleak) {vent}"
    if sweep:
        assert not c.semi_k
        return "\n".join([*lines, f"ac {sweep}", wanted, "quit", ".endc", ".end", ""])
    for f, semi in zip(frequency, c.semi_inductance(frequency), strict=True):
        if c.semi_k:
            lines += [
                f"alter Rk = {number(semi.real)}",
                f"alter Lk = {number(semi.imag / (2 * np.pi * f))}",
            ]
        lines += [f"ac lin 1 {number(f)} {number(f)}"]
        lines += [wanted]
        lines += ["destroy all"]
    return "\n".join([*lines, "quit", ".endc", ".end", ""])


def ngspice_solution(c, frequency, sweep=None):
    """Run the deck in ngspice. Raises FileNotFoundError where ngspice is not installed.

    With `sweep`, its points must be those of `frequency`.
    """
    frequency = np.asarray(frequency, dtype=float)
    with tempfile.TemporaryDirectory() as folder:
        deck = os.path.join(folder, "deck.cir")
        with open(deck, "w") as file:
            file.write(netlist(c, frequency, "out", sweep))
        done = subprocess.run(
            [NGSPICE or "ngspice", "-b", deck],
            cwd=folder,
            capture_output=True,
            text=True,
            timeout=60,
        )
        path = os.path.join(folder, "out")
        if not os.path.exists(path):
            raise RuntimeError(f"ngspice wrote nothing:\n{done.stdout}\n{done.stderr}")
        table = np.loadtxt(path, ndmin=2)
    assert table.shape == (frequency.size, 1 + 2 * (4 + c.count)), table.shape
    np.testing.assert_allclose(table[:, 0], frequency, rtol=1e-9)
    x = table[:, 1::2] + 1j * table[:, 2::2]
    pressure, leak = x[:, 2] * 1e3, x[:, 3] * 1e-3
    each = x[:, 4:] * 1e-3
    found = answers(c, frequency, x[:, 0], x[:, 1], pressure, each.sum(axis=1), leak)
    return found | ({"each_vent": each} if c.unlike else {})


def settled_solution(c, frequency, seconds, periods=6):
    """Integrate Newton and Kirchhoff in time at one frequency until only the sine is left.

    Needs le > 0 and no semi-inductance (a fractional power has no finite set of states).
    Returns the rms phasors of the last whole periods, fitted to a sine and cosine.
    """
    w = 2 * np.pi * frequency
    stiffness = 1 / c.box_compliance
    resistance = c.source_resistance + c.re
    peak = np.sqrt(2) * c.voltage

    def slope(t, y):
        i, x, v, xr, vr, leaked = y.tolist()  # plain floats: three times as fast
        pressure = -stiffness * (c.sd * x + c.count * c.vent_area * xr + leaked)
        vent = 0.0
        if c.count:
            vent = (c.vent_area * pressure - c.vent_rms * vr - xr / c.vent_cms) / c.vent_mass
        return [
            (peak * math.cos(w * t) - resistance * i - c.bl * v) / c.le,
            v,
            (c.bl * i + c.sd * pressure - c.rms * v - x / c.cms) / c.mms,
            vr,
            vent,
            pressure / c.leak_resistance,
        ]

    stop = np.ceil(seconds * frequency) / frequency
    t = np.linspace(stop - periods / frequency, stop, 40 * periods, endpoint=False)
    run = solve_ivp(slope, (0, stop), np.zeros(6), "DOP853", t_eval=t, rtol=1e-9, atol=1e-13)
    assert run.success, run.message
    i, x, v, xr, vr, leaked = run.y
    # the coil has a mean of its own in every state with a leak, so a constant is fitted too
    basis = np.column_stack([np.cos(w * t), np.sin(w * t), np.ones_like(t)])

    def phasor(signal):
        cosine, sine, _ = np.linalg.lstsq(basis, signal, rcond=None)[0]
        return (cosine - 1j * sine) / np.sqrt(2)

    pressure = -stiffness * (c.sd * x + c.count * c.vent_area * xr + leaked)
    leak_flow = phasor(pressure) / c.leak_resistance
    vent_flow = c.count * c.vent_area * phasor(vr)
    return answers(c, frequency, phasor(i), phasor(v), phasor(pressure), vent_flow, leak_flow)
