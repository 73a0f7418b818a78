"""A box from its sweep: tuning, compliance ratio, losses; a radiator's resonance and mass.

What can be told depends on what is known. A lossless two-peak curve fixes fb, fL² + fH² and fL·fH.
For a port those are fb, fs and α. A radiator has one unknown more, its own resonance fp, so that it
shows only where the driver is known from its own sweep (relations: fL² + fH² = fb² + fs²(1 + α) and
fL·fH = fs·fb·√(1 + α/(1 + δ)), with δ = C_AP/C_AB; derived from the circuit).
"""

from __future__ import annotations

import numpy as np

from boxlab.base.checks import counted, positive
from boxlab.measure.fit import faults
from boxlab.measure.fit.box_found import BoxFit
from boxlab.measure.fit.box_size import hanging, moving_part, volume_of
from boxlab.measure.fit.doubts import PLUS_MINUS, troubles
from boxlab.measure.fit.driver_found import DriverFit
from boxlab.measure.fit.estimate import Amount, Estimate, at_least, uncertain
from boxlab.measure.fit.loss_parts import loss_parts
from boxlab.measure.fit.motional import impedance
from boxlab.measure.fit.resonance import candidates, fit_curve, fit_tuned
from boxlab.measure.fit.tuning import as_sweep, find_tuning
from boxlab.measure.read.value import Sweep
from boxlab.model.air import Air
from boxlab.model.driver import Driver
from boxlab.model.radiator import Radiator

BUILDS = ("sealed", "ported", "radiator")
_DRAG = 0.4  # a radiator's friction is seldom given to better than this share (our own assumption)
_NEEDS_DRIVER = (
    "not identifiable from this sweep alone: give the driver (fit_driver's answer is best)"
)


def fit_box(
    sweep: object,
    driver: Driver | DriverFit | None = None,
    *,
    build: str | None = None,
    volume: Amount | None = None,
    radiator: Radiator | None = None,
    radiator_area: float | None = None,
    count: int | None = None,
    vas: Amount | None = None,
    fs: Amount | None = None,
    qms: Amount | None = None,
    qes: Amount | None = None,
    re: Amount | None = None,
    semi: bool | None = None,
    air: Air | None = None,
    blocked: object = None,
) -> BoxFit:
    """Fit the box that a sweep was taken in.

    >>> from boxlab.gear.demo_sweeps import demo_table
    >>> fit_box(demo_table('ported'), vas=0.035).build
    'ported'

    Parameters
    ----------
    sweep : Sweep (or anything `read_sweep` takes)
    driver : Driver (its fs, Qms, Qes and Vas are held) or the DriverFit of its own sweep (they are
        fitted within their uncertainties); without one they are fitted freely
    build : "sealed", "ported" or "radiator"; without it one peak is sealed, two are ported, or
        radiator if a radiator or its area is given. A curve alone cannot tell port from radiator
    volume : net volume, m³, where it is known; otherwise Vas/α
    radiator : Radiator, for its area and friction; its mass and compliance are not used
    radiator_area : effective area of one radiator, m², where no Radiator is given
    count : how many radiators, where their area is given: mass and compliance hang on it
    vas, fs, qms, qes, re : known values in place of the driver's: a plain number is held, an
        Estimate or a pair (value, u) is fitted within its uncertainty
    semi, air : as in `find_tuning`, and Air; 20 °C at sea level if left out
    blocked : Sweep of the same box with its vent blocked, to tell its losses apart: see `BoxLosses`

    Raises
    ------
    ValueError
        If the sweep does not show the peaks of that build, or the count is missing.
    """
    air = Air() if air is None else air
    sweep = as_sweep(sweep)
    build = _build(build, radiator, radiator_area)
    if build == "radiator" and not (radiator is None and radiator_area is None):
        count = counted("count", count, "radiators share the box")
    driver_vas, (fixed, priors, vas) = vas, _known(driver, vas, fs, qms, qes, re, air)
    found = find_tuning(sweep, re=fixed.get("re"), semi=semi)
    faults.refuse(sweep, found, driver, re)
    build = build or ("sealed" if found.peaks == 1 else "ported")
    alone = all(each is None for each in (driver_vas, fs, qms, qes))
    joint = driver.joint if alone and isinstance(driver, DriverFit) else None
    if build == "sealed":
        return _sealed(sweep, fixed, priors, vas, volume, semi, found, joint)
    if found.peaks == 1:
        raise ValueError(
            f"the sweep shows one peak, at {found.resonance:.4g} Hz, so no {build} box: a tuned "
            "box has two. Start the sweep lower, or use build='sealed'."
        )
    part = candidates(sweep, {k: v for k, v in fixed.items() if k == "re"}, semi=semi)[0]
    begin = {
        n: found.fit.values[n]
        for n in ("re", "fs", "qms", "qes", "alpha", "fb", "leak")
        if n in found.fit.values
    }
    begin |= {n: centre for n, (centre, _) in priors.items()}
    held = dict(fixed)
    words = []
    known = {"fs", "qms", "qes"} <= fixed.keys() | priors.keys()
    area = radiator.sd if radiator is not None else radiator_area
    if build == "radiator":
        fit, words = _radiator(part, begin, held, priors, semi, known, found)
        if known and radiator is not None and radiator.rms > 0:
            mass, _ = moving_part(fit, vas, volume, area, count, air, priors, joint)
            if mass.identifiable and mass > 0:  # the friction, now that the mass is known
                drag = float(radiator.rms / (2 * np.pi * fit.values["fb"] * mass))
                fit, words = _radiator(part, begin, held, priors, semi, known, found, drag)
    else:
        begin = {k: v for k, v in begin.items() if k not in held}
        fit, _ = fit_tuned(part, begin, held, priors, semi, ("leak", "leak and friction"))
    blocked = None if blocked is None else as_sweep(blocked)
    losses = loss_parts(part, fit, priors, blocked, build == "radiator")
    return _result(
        build, sweep, fit, words, vas, volume, area, count, known, air, losses, priors, joint
    )


def _build(build, radiator, area):
    if build is not None and build not in BUILDS:
        raise ValueError(f"build = {build!r}: choose one of {', '.join(BUILDS)}.")
    if radiator is not None and not isinstance(radiator, Radiator):
        raise ValueError(f"radiator must be a Radiator, got {type(radiator).__name__}.")
    if area is not None:
        positive("radiator_area", area, "Area is in m²: use boxlab.cm2(350).")
    return build or ("radiator" if radiator is not None or area is not None else None)


def _known(driver, vas, fs, qms, qes, re, air):
    """Split what is known into held values and priors, and Vas as (value, u) or None."""
    fixed, priors = {}, {}
    told = {"fs": fs, "qms": qms, "qes": qes, "re": re}
    if isinstance(driver, DriverFit):
        told = {n: getattr(driver, n) if v is None and n != "re" else v for n, v in told.items()}
        if vas is None and np.isfinite(driver.vas):
            vas = driver.vas
    elif isinstance(driver, Driver):
        told = {n: getattr(driver, n) if v is None and n != "re" else v for n, v in told.items()}
        vas = driver.vas(air) if vas is None else vas
    elif driver is not None:
        raise ValueError(
            f"driver must be a Driver or the answer of fit_driver, got {type(driver).__name__}."
        )
    for name, value in told.items():
        if value is None:
            continue
        centre, u = uncertain(value)
        if not np.isfinite(centre):  # Qms of a driver without friction
            centre = 1e4
        positive(name, centre)
        if u > 0:
            priors[name] = (centre, u)
        else:
            fixed[name] = centre
    return fixed, priors, None if vas is None else uncertain(vas)


def _sealed(sweep, fixed, priors, vas, volume, semi, found, joint):
    """One peak: fc, Qtc, and, with the driver known, α and the volume."""
    held = {k: v for k, v in fixed.items() if k == "re"}
    part, fits, _ = candidates(sweep, held, semi=semi)
    if 1 not in fits:
        raise ValueError("no single resonance could be fitted to this sweep.")
    start = {n: v for n, v in fits[1].values.items() if n in ("re", "fs", "qms", "qes")}
    fit, _ = fit_curve(part, {k: v for k, v in start.items() if k not in held}, held, semi=semi)
    fc = fit["fs"]
    qtc = fit.estimate(lambda v: v["qms"] * v["qes"] / (v["qms"] + v["qes"]))
    words = [f"One peak at {fc}, Qtc {qtc}."]
    if found.peaks == 2:
        words.append("This sweep shows two peaks: is the box sealed? A leak looks like a low port.")
    alpha = Estimate(np.nan, note=_NEEDS_DRIVER)
    own = fixed.get("fs") or priors.get("fs", (None,))[0]
    if own:
        own_u = priors.get("fs", (own, 0.0))[1]
        ratio = (fc / own) ** 2
        alpha = Estimate(ratio - 1, 2 * ratio * np.hypot(fc.u / fc, own_u / own))
        if alpha < 0:
            words.append(
                f"The peak lies below the driver's own {own:.4g} Hz: check fs, or the box."
            )
    words += (*troubles(fit), PLUS_MINUS)
    more = 0.0
    if joint is not None and own:  # an fs that is too high makes Vas too large and α too small
        more = 4 * (1 + alpha) / alpha * joint[0, -1]
    volume_ = volume_of(alpha, vas, volume, more)
    nan = Estimate(np.nan)
    curve = Sweep.from_impedance(
        sweep.frequency, impedance(sweep.frequency, **fit.values), "fitted"
    )
    return BoxFit(
        "sealed", nan, alpha, nan, Estimate(own, 0.0, "Hz") if own else nan, fit["qms"], fit["qes"],
        fc, qtc, volume_, nan, nan, nan, nan, tuple(words), curve, fit,
    )  # fmt: skip


def _radiator(part, begin, held, priors, semi, known, found, drag=None):
    """Fit with the radiator's own resonance free, where the driver is known; else as a port.

    A radiator always has some friction. Left out, or held at a value, it would bend fs and fp
    to make up for it and the stated uncertainties would know nothing of that.
    """
    words = []
    if drag is not None:
        priors = priors | {"drag": (drag, _DRAG * drag)}
    if not known:
        words.append(
            "Without the driver's own fs, Qms and Qes a radiator's resonance and mass are not "
            "identifiable from this sweep; tuning and losses are."
        )
        begin = {k: v for k, v in begin.items() if k not in held}
        return fit_tuned(part, begin, held, priors, semi)[0], words
    best = None
    for share in (0.25, 0.5, 0.75):
        start = begin | {"fp": share * found.fb, "drag": drag or 0.02}
        start = {k: v for k, v in start.items() if k not in held}
        own = _positions(found, held, priors)
        start |= {k: v for k, v in own.items() if k in start and share == 0.5}
        try:
            fit, _ = fit_tuned(part, start, held, priors, semi, ("leak",))
        except (ValueError, np.linalg.LinAlgError):
            continue
        if fit.values["fp"] < 0.99 * fit.values["fb"] and (best is None or fit.score < best.score):
            best = fit
    if best is None:
        raise ValueError("no radiator box could be fitted to this sweep: is it a ported box?")
    return best, words


def _positions(found, held, priors):
    """α and fp from the peaks alone, by the lossless relations at the head of this module."""
    fs = held.get("fs") or priors["fs"][0]
    total, product = found.fl**2 + found.fh**2, found.fl * found.fh
    alpha = (total - found.fb**2) / fs**2 - 1
    pull = (product / (fs * found.fb)) ** 2 - 1
    if not (alpha > 0 and 0 < pull < alpha):
        return {}
    delta = alpha / pull - 1
    return {"alpha": alpha, "fp": found.fb / np.sqrt(1 + delta)}


def _result(build, sweep, fit, words, vas, volume, area, count, known, air, losses, priors, joint):
    fb, alpha = fit["fb"], fit["alpha"]
    leak = fit["leak"]
    if leak > 2 * leak.u:
        ql = Estimate(1 / leak, leak.u / leak**2)
    else:
        least = 1 / max(leak + 2 * leak.u, 1e-6)
        ql = Estimate(np.inf, np.inf, note=f"not distinguishable from no loss; {at_least(least)}")
    nan = Estimate(np.nan)
    fp = delta = mass = cms = nan
    if build == "radiator":
        fp = mass = Estimate(np.nan, note=_NEEDS_DRIVER)
        alpha = alpha if known else Estimate(np.nan, note=_NEEDS_DRIVER)
    more = hanging(fit, priors, joint, lambda v: 1 / v["alpha"], 1)
    size = volume_of(alpha, vas, volume, more)
    if build == "radiator" and known:
        fp = fit["fp"]
        delta = fit.estimate(lambda v: (v["fb"] / v["fp"]) ** 2 - 1)
        if not fp.identifiable:
            words.append(
                "The radiator's own resonance is not identifiable from this sweep: its suspension "
                "is soft against the box air, so that the curve hardly differs from a port's."
            )
        mass, cms = moving_part(fit, vas, volume, area, count, air, priors, joint)
    if build == "radiator" and not known and losses and np.isfinite(ql):
        # where its own resonance may lie moves the scale of every loss, and no curve shows it
        ql = Estimate(ql, np.hypot(ql.u, ql * losses.total.u / losses.total))
    fs = fit["fs"]
    fc = fit.estimate(lambda v: v["fs"] * np.sqrt(1 + v["alpha"]), "Hz")
    if build == "radiator" and not known:
        fs = fc = Estimate(np.nan, unit="Hz", note=_NEEDS_DRIVER)
    words = [f"Tuning {fb}, QL {ql if np.isfinite(ql) else ql.note}.", *words]
    words += (*troubles(fit), *(losses.words if losses else ()))
    if "fs" in fit.names and "leak" in fit.names and abs(fit.correlation("qms", "leak")) > 0.97:
        words.append("Losses of the driver and of the box cannot be told apart in this sweep.")
    words.append(PLUS_MINUS)
    curve = Sweep.from_impedance(
        sweep.frequency, impedance(sweep.frequency, **fit.values), "fitted"
    )
    return BoxFit(
        build, fb, alpha, ql, fs, fit["qms"], fit["qes"], fc, nan, size, fp, delta, mass, cms,
        tuple(words), curve, fit, losses,
    )  # fmt: skip
