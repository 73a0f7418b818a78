"""The full small-signal set of a driver: a sweep in free air, and one with added mass or in a box.

The free-air sweep gives Re, the coil, fs, Qms and Qes. What a sweep alone cannot give is any mass:
a known mass on the cone, or a known volume of air behind it, shifts the resonance and so sets the
scale for Mms, Cms, Bl and Vas. Both shifts: Mms = Δm/((fs/fs′)² − 1), and Vas = Vb·((fc/fs)² − 1).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from boxlab.base.checks import positive
from boxlab.measure.fit.amounts import sweep_and_amount
from boxlab.measure.fit.doubts import PLUS_MINUS
from boxlab.measure.fit.driver_found import UNKNOWN, DriverFit
from boxlab.measure.fit.estimate import Amount, Estimate, uncertain
from boxlab.measure.fit.features import within
from boxlab.measure.fit.least_squares import least_squares
from boxlab.measure.fit.motional import impedance
from boxlab.measure.fit.resonance import candidates, fit_curve
from boxlab.measure.fit.tuning import as_sweep
from boxlab.measure.read.value import Sweep
from boxlab.model.air import Air
from boxlab.model.relations import COIL


def fit_driver(
    sweep: object,
    sd: Amount | None = None,
    *,
    added_mass: object = None,
    known_volume: object = None,
    loaded: object = None,
    re: float | None = None,
    semi: bool | None = None,
    air: Air | None = None,
    xmax: float | None = None,
    pe: float | None = None,
    name: str = "",
) -> DriverFit:
    """Fit the small-signal parameters of a driver to its free-air sweep and a second one.

    >>> from boxlab.gear.demo_sweeps import demo_table
    >>> heavier = demo_table('added mass')
    >>> found = fit_driver(demo_table('free air'), 0.0335, added_mass=(heavier, 0.06))
    >>> f"{found.fs:.0f} Hz"
    '32 Hz'

    Parameters
    ----------
    sweep : sweep in free air, no baffle (a Sweep, or anything `read_sweep` takes)
    sd : effective cone area, m² (a number, or an Estimate with its uncertainty)
    added_mass : `(second sweep, kg)`, or the mass alone with `loaded=` the second sweep
    known_volume : `(second sweep, m³)` in a sealed box, or the volume with `loaded=`; needs sd
    loaded : the second sweep, where only one of the two methods is used
    re : coil resistance by a meter, Ω, if it is to be held; otherwise fitted for each sweep
    semi : True for semi-inductance, False for plain inductance, None to let the data choose
    air : Air; 20 °C at sea level if left out
    xmax, pe, name : excursion (m), power (W) and name for the Driver; no sweep tells them

    Masses and volumes may be Estimates or pairs `(value, u)`. With both methods the mass comes from
    the added mass, which does not need the area, and the words say what the volume makes of it.

    Raises
    ------
    ValueError
        If a second sweep is missing or shows no shift in the right direction.
    """
    air = Air() if air is None else air
    sweep = as_sweep(sweep)
    added, mass = sweep_and_amount("added_mass", added_mass, loaded, "kg", "boxlab.grams(40)")
    boxed, volume = sweep_and_amount(
        "known_volume", known_volume, loaded, "m³", "boxlab.litres(20)"
    )
    if loaded is not None and added is None and boxed is None:
        raise ValueError(
            "loaded is a second sweep: say added_mass= (kg) or known_volume= (m³) too."
        )
    if loaded is not None and added is loaded and boxed is loaded:
        raise ValueError(
            "with both methods give two sweeps: added_mass=(sweep2, kg), known_volume=(sweep3, m³)."
        )
    area = (float("nan"), 0.0) if sd is None else uncertain(sd)
    if sd is not None:
        positive("sd", area[0], "Cone area is in m²: use boxlab.cm2(350) for 350 cm².")
    elif boxed is not None:
        raise ValueError("known_volume needs the cone area sd, m²: use boxlab.cm2(350).")
    held = {} if re is None else {"re": positive("re", float(re), "Coil resistance is in ohms.")}
    part, first = _single_peak(sweep, held, semi, "the free-air sweep")
    parts, curves, start, fixed = [part], [sweep], {}, {}
    for name_, value in first.values.items():
        (fixed if name_ in held else start)[name_] = value
    roles = [""]
    for role, other in (("mass", added), ("alpha", boxed)):
        if other is None:
            continue
        other = as_sweep(other)
        piece, alone = _single_peak(other, held, semi, f"the sweep for {role}")
        ratio = _shift(role, first, alone)
        start[role] = ratio
        start[f"qms_{len(parts)}"] = first.values["qms"]
        if re is None:
            start[f"re_{len(parts)}"] = alone.values["re"]
        parts.append(piece)
        curves.append(other)
        roles.append(role)

    def model(values):
        return [
            _one(values, i, role, p.frequency)
            for i, (role, p) in enumerate(zip(roles, parts, strict=True))
        ]

    fit = least_squares(model, parts, start, fixed) if len(parts) > 1 else first
    fitted = tuple(
        Sweep.from_impedance(s.frequency, _one(fit.values, i, role, s.frequency), "fitted")
        for i, (role, s) in enumerate(zip(roles, curves, strict=True))
    )
    return _result(fit, roles, mass, volume, area, air, fitted, curves, xmax, pe, name)


def _one(values, i, role, frequency):
    """Impedance of sweep i from the shared values and its own."""
    v = {k: x for k, x in values.items() if k in (*COIL, "fs", "qms", "qes", "re")}
    if i:
        v["re"] = values.get(f"re_{i}", values["re"])
        v["qms"] = values[f"qms_{i}"]
        v["qes"] = values["qes"] * v["re"] / values["re"]
        v[role] = values[role]
    return impedance(frequency, **v)


def _single_peak(sweep, held, semi, what):
    part, fits, _ = candidates(sweep, held, semi=semi)
    if 1 not in fits:
        raise ValueError(f"{what}: no single resonance could be fitted to it.")
    values = fits[1].values
    start = {n: values[n] for n in fits[1].names if n not in COIL}
    fit, _ = fit_curve(part, start, held, semi=semi)
    if not within(fit["fs"], sweep):
        low, high = sweep.frequency[[0, -1]]
        raise ValueError(
            f"{what}, {low:.4g} to {high:.4g} Hz, shows no resonance. Sweep from half of it to ten "
            "times; if the range is right, a coil is open, the cone is held, or two coils are "
            "wired against each other."
        )
    return part, fit


def _shift(role, first, second):
    before, after = first["fs"], second["fs"]
    ratio = (before / after) ** 2 - 1 if role == "mass" else (after / before) ** 2 - 1
    if ratio <= 0:
        wrong, right = ("higher", "lower") if role == "mass" else ("lower", "higher")
        what = "added mass" if role == "mass" else "the box"
        raise ValueError(
            f"with {what} the resonance went {wrong}, from {before:.4g} to {after:.4g} Hz; it must "
            f"go {right}. Are the two sweeps swapped?"
        )
    return ratio


def _result(fit, roles, mass, volume, area, air, fitted, curves, xmax, pe, name):
    re, fs, qms, qes = (fit[n] for n in ("re", "fs", "qms", "qes"))
    nothing = Estimate(0.0, 0.0)
    le = fit["le"] if "le" in fit.values else Estimate(0.0, 0.0, "H")
    k, n, r2 = (fit[x] if x in fit.values else nothing for x in ("semi_k", "semi_n", "r2"))
    l2 = fit["l2"] if "l2" in fit.values else Estimate(0.0, 0.0, "H")
    qts = fit.estimate(lambda v: v["qms"] * v["qes"] / (v["qms"] + v["qes"]))
    if le < 0:
        le = Estimate(0.0, le.u, "H", "not distinguishable from none")
    words, routes, joint = [], {}, None
    modulus = air.bulk_modulus
    if "mass" in roles:
        routes["mass"] = _Scale(lambda v: mass[0] / v["mass"], [(mass, 1)])
        shift = fit.estimate(lambda v: 1 - 1 / np.sqrt(1 + v["mass"]))
        words.append(_shift_words("added mass lowered", shift, routes["mass"].mms(fit)))
    if "alpha" in roles:
        sd2 = area[0] ** 2

        def from_volume(v):
            return modulus * sd2 / ((2 * np.pi * v["fs"]) ** 2 * v["alpha"] * volume[0])

        routes["alpha"] = _Scale(from_volume, [(volume, 1), (area, 2)])
        shift = fit.estimate(lambda v: np.sqrt(1 + v["alpha"]) - 1)
        words.append(_shift_words("box raised", shift, routes["alpha"].mms(fit)))
    if len(routes) == 2:
        a, b = routes["mass"].mms(fit), routes["alpha"].mms(fit)
        gap = float(np.hypot(a.u, b.u))
        implied = area[0] * np.sqrt(a / b)
        agree = "agree within" if abs(a - b) < 2 * gap else "disagree by more than"
        words.append(
            f"The two masses {agree} their uncertainties; they would be equal with a cone area of "
            f"{implied * 1e4:.4g} cm² instead of {area[0] * 1e4:.4g} cm²."
        )
    scale = routes.get("mass") or routes.get("alpha")
    missing = {
        x: Estimate(float("nan"), unit=u, note=UNKNOWN)
        for x, u in (("mms", "kg"), ("cms", "m/N"), ("rms", "N·s/m"), ("bl", "T·m"), ("vas", "m³"))
    }
    if scale is None:
        words.append("One sweep gives no mass: add a known mass, or a known volume.")
        mech = missing
    else:
        w = 2 * np.pi
        m = scale.value
        mech = {
            "mms": scale.of(fit, m, 1, "kg"),
            "cms": scale.of(fit, lambda v: 1 / ((w * v["fs"]) ** 2 * m(v)), -1, "m/N"),
            "rms": scale.of(fit, lambda v: w * v["fs"] * m(v) / v["qms"], 1, "N·s/m"),
            "bl": scale.of(
                fit, lambda v: np.sqrt(w * v["fs"] * m(v) * v["re"] / v["qes"]), 0.5, "T·m"
            ),
            "vas": missing["vas"],
        }
        if np.isfinite(area[0]):
            own = _Scale(m, scale.inputs) if "mass" in routes else None

            def vas(v):
                return modulus * area[0] ** 2 / ((w * v["fs"]) ** 2 * m(v))

            joint = _joint(fit, vas)
            if own is not None:
                mech["vas"] = own.of(fit, vas, -1, "m³", extra=[(area, 2)])
            else:  # the area cancels: Vas = Vb·α
                mech["vas"] = _Scale(vas, [(volume, 1)]).of(fit, vas, 1, "m³")
    if fit.wild:
        words.append(f"{fit.wild} points lie far off (hum, a rattle?) and carry little weight.")
    if fit.widened > 1.6:
        words.append(
            "The curve is not quite that of this circuit (drift, a suspension that changes with "
            f"frequency): the uncertainties were widened by {fit.widened:.1f}."
        )
    if xmax is None or pe is None:
        words.append(
            "Excursion and power are not in a sweep: set xmax and pe before asking for limits."
        )
    words.append(PLUS_MINUS)
    sd = Estimate(area[0], area[1], "m²")
    return DriverFit(
        re, le, k, n, l2, r2, fs, qms, qes, qts, **mech, sd=sd, words=tuple(words), curves=fitted,
        fit=fit, air=air, joint=joint, xmax=xmax, pe=pe, name=name,
    )  # fmt: skip


def _joint(fit, vas):
    """Covariance of the logarithms of fs, Qms, Qes and Vas, shape (4, 4)."""
    rows = [lambda v, n=n: np.log(v[n]) for n in ("fs", "qms", "qes")]
    slopes = np.array([fit.slope(each) for each in (*rows, lambda v: np.log(vas(v)))])
    return slopes @ fit.covariance @ slopes.T


@dataclass(frozen=True)
class _Scale:
    """A function of the fit that sets the mass, and the given amounts it rests on.

    `inputs` are ((value, u), power): the uncertainty of a given amount adds to that of the fit.
    """

    value: object
    inputs: list

    def mms(self, fit):
        return self.of(fit, self.value, 1, "kg")

    def of(self, fit, function, power, unit, extra=()):
        inside = fit.estimate(function, unit)
        relative = sum((power * p * u / x) ** 2 for (x, u), p in self.inputs)
        relative += sum((p * u / x) ** 2 for (x, u), p in extra)
        u = float(np.hypot(inside.u, abs(inside) * np.sqrt(relative)))
        return Estimate(float(inside), u, unit)


def _shift_words(what, shift, mms):
    percent = 100 * float(shift)
    ratio = 1 / (1 - shift) if "lowered" in what else 1 + shift
    text = f"The {what} the resonance by {percent:.3g} %, which makes Mms {mms.scaled(1e3, 'g')}"
    if abs(percent) < 15:
        share = 100 * mms.u / mms
        return (
            f"{text}. A small shift: each 1 % of error in a frequency makes "
            f"{2 / abs(1 - ratio**-2):.0f} % in the mass (now {share:.2g} %). "
            "Aim for a shift of 25 to 50 %."
        )
    return text + "."
