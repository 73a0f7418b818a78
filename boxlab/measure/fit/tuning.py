"""Which box a sweep is of, and where its tuning is, by every route that the trade uses."""

from __future__ import annotations

import numpy as np

from boxlab.base.checks import positive
from boxlab.measure.fit.doubts import PLUS_MINUS, troubles
from boxlab.measure.fit.estimate import Amount, Estimate, uncertain
from boxlab.measure.fit.features import (
    shoulder,
    shows_two,
    turning_points,
    vented,
    within,
    zero_phase,
)
from boxlab.measure.fit.motional import fitted
from boxlab.measure.fit.resonance import candidates, fit_curve, fit_tuned
from boxlab.measure.fit.shape import Extreme, extreme, peaks, zero_crossing
from boxlab.measure.fit.tuning_found import Route, Tuning, bare, signed
from boxlab.measure.read.sweep import read_sweep
from boxlab.measure.read.value import Sweep
from boxlab.model.relations import COIL

_NAN = float("nan")


def as_sweep(source: object) -> Sweep:
    """A Sweep as it is; any other `source` is read by `read_sweep`.

    >>> as_sweep("20 6.5\\n25 8.2\\n32 30\\n").magnitude
    array([ 6.5,  8.2, 30. ])
    """
    return source if isinstance(source, Sweep) else read_sweep(source)


def find_tuning(
    sweep: object, *, sealed: object = None, fs: Amount | None = None, re: float | None = None,
    semi: bool | None = None,
) -> Tuning:  # fmt: skip
    """Find out which box a sweep is of, and the tuning by several routes.

    >>> from boxlab.gear.demo_sweeps import demo_table
    >>> f"{find_tuning(demo_table('radiator')).fb:.0f} Hz"
    '34 Hz'

    Parameters
    ----------
    sweep : Sweep (or anything `read_sweep` takes)
    sealed : resonance of the same box with its vent or radiator blocked, Hz, as a number, an
        Estimate, or the sweep of it; allows the route √(fL² + fH² − fC²)
    fs : resonance of the driver in free air, Hz; allows the route fL·fH/fs (ports only), and tells
        a sealed box from free air
    re : coil resistance, Ω, if it was measured with a meter
    semi : True for semi-inductance, False for plain inductance, None to let the data choose

    Raises
    ------
    ValueError
        If the sweep has too few points to fit a resonance.
    """
    sweep = as_sweep(sweep)
    fixed = {} if re is None else {"re": positive("re", float(re), "Coil resistance is in ohms.")}
    part, fits, ease = candidates(sweep, fixed, semi=semi)
    better = 2 in fits and (1 not in fits or ease[2] < ease[1] - 10) and vented(fits[2])
    two = better and shows_two(fits[2], part)
    if two:
        fit, _ = fit_tuned(part, _motion(fits[2]), fixed, semi=semi)
        two = vented(fit) and (1 not in fits or shows_two(fit, part))
    if not two:
        if 1 not in fits:
            raise ValueError("no resonance could be fitted to this sweep.")
        fit, _ = fit_curve(part, _motion(fits[1]), fixed, semi=semi)
    curve = Sweep.from_impedance(sweep.frequency, fitted(fit, sweep.frequency), "fitted")
    if not two:
        hidden = shoulder(fits, ease, part) if better else None
        if not within(fit["fs"], sweep) and hidden is None:
            return _none(sweep, fit, curve)
        return _one_peak(sweep, fit, curve, fs, hidden)
    return _two_peaks(sweep, fit, curve, sealed, fs, semi)


def _motion(fit):
    """Fitted values without the coil's, as starting values."""
    return {n: fit.values[n] for n in fit.names if n not in COIL}


def _none(sweep, fit, curve):
    """No resonance in this sweep: nothing is announced that lies outside it or has no peak."""
    low, high = sweep.frequency[[0, -1]]
    rises = sweep.magnitude[-1] > 1.5 * sweep.magnitude[0]
    looks = "only rises" if rises else "falls from its start" if peaks(sweep)[1] else "is flat"
    words = [
        f"No resonance in this sweep, {low:.4g} to {high:.4g} Hz: |Z| {looks} within it.",
        "Sweep from half the lowest resonance you expect, 10 Hz for most boxes, to 200 Hz or more.",
        "If the range is right, nothing moves: a coil that is open, a cone that is held, or two "
        "coils wired against each other show just this.",
    ]
    nothing = Estimate(_NAN, unit="Hz", note="not in this sweep")
    ohms = Estimate(_NAN, unit="Ω", note="not in this sweep")
    return Tuning(
        "not in this sweep", 0, nothing, nothing, nothing, nothing, ohms, ohms, ohms, nothing,
        ohms, (), tuple(words), curve, fit,
    )  # fmt: skip


def _one_peak(sweep, fit, curve, fs, hidden=None):
    resonance = fit["fs"]
    top = extreme(sweep, resonance / 1.6, resonance * 1.6, 1)
    words = [f"One peak, at {bare(resonance)} Hz by the fit: a sealed box or free air."]
    box = "sealed or free air"
    if fs is not None:
        ratio = resonance / float(fs)
        box = "sealed" if ratio > 1.08 else "free air" if ratio < 1.04 else box
        words.append(
            f"That is {ratio:.2f} times the {float(fs):.4g} Hz given for free air: {box}."
            if box != "sealed or free air"
            else f"That is {ratio:.2f} times the {float(fs):.4g} Hz given for free air: too close "
            "to tell a large sealed box from free air."
        )
    else:
        words.append("The shape alone cannot tell the two apart; give fs of the driver for that.")
    if np.isfinite(top.frequency) and abs(top.frequency / resonance - 1) > 0.005:
        words.append(
            f"The highest magnitude itself is at {bare(top.frequency)} Hz; coil inductance and "
            "scatter move it off the resonance."
        )
    if peaks(sweep)[1]:
        words.append(
            "The curve falls from its very start: a second peak may lie below. "
            "Start the sweep lower."
        )
    words += _warnings(sweep, fit, resonance, resonance)
    note = "one peak only: there is no vent to be tuned"
    if hidden is not None:
        box, note = (
            "sealed, free air, or a box with a very lossy vent",
            "a shoulder, no second peak",
        )
        words[:2] = [
            f"One peak and a shoulder, at {bare(resonance)} Hz by a fit with one resonance; two "
            "resonances describe the curve clearly better. Either a box whose vent has much loss, "
            f"tuned to about {hidden:.0f} Hz, or something else that moves: block the vent, sweep "
            "again and compare."
        ]
    nothing = Estimate(_NAN, unit="Hz", note=note)
    ohms = Estimate(_NAN, unit="Ω")
    return Tuning(
        box, 1, nothing, nothing, nothing, nothing, ohms, ohms, ohms, resonance, top.magnitude,
        (), tuple(words), curve, fit,
    )  # fmt: skip


def _two_peaks(sweep, fit, curve, sealed, fs, semi):
    low, high = sweep.frequency[0], sweep.frequency[-1]
    span = (low / 3, high * 1.2)
    fl0, fm0, fh0 = turning_points(fit, *span)
    lower = _peak(sweep, fit, fl0, low / 2, np.sqrt(fl0 * fm0))
    upper = _peak(sweep, fit, fh0, np.sqrt(fm0 * fh0), fh0 * 1.5)
    valley = extreme(sweep, np.sqrt(fl0 * fm0), np.sqrt(fm0 * fh0), -1)
    fb = fit["fb"]
    routes = [Route("full model fit", fb, "All of the curve against the circuit.", 0.0, 0.0, 0.0)]
    plain = turning_points(fit, *span, keep_coil=False)
    routes.append(
        Route(
            "least magnitude",
            valley.frequency,
            "The lowest point between the peaks.",
            fm0 - fb,
            fm0 - plain[1],
            plain[1] - fb,
        )
    )
    crossing = zero_crossing(sweep, lower.frequency, upper.frequency)
    with_all, no_coil = zero_phase(fit, fl0, fh0), zero_phase(fit, fl0, fh0, keep_coil=False)
    if np.isfinite(crossing):
        routes.append(
            Route(
                "zero phase",
                crossing,
                "Where the phase rises through zero between the peaks.",
                with_all - fb,
                with_all - no_coil,
                no_coil - fb,
            )
        )
    if sealed is not None:
        routes.append(_sum_route(fit, lower, upper, (fl0, fh0), plain, sealed, semi))
    if fs is not None:
        value, u = uncertain(fs)
        product = lower.frequency * upper.frequency / value
        relative = np.hypot(
            np.hypot(lower.frequency.u / lower.frequency, upper.frequency.u / upper.frequency),
            u / value,
        )
        routes.append(
            Route(
                "fL·fH/fs",
                Estimate(product, product * relative, "Hz"),
                "It is for ports only; with a radiator it reads high.",  # by √(1 + α/(1 + δ))
            )
        )
    words = [
        f"Two peaks, at {bare(lower.frequency)} and {bare(upper.frequency)} Hz: a box with a "
        "port or a radiator. Impedance alone cannot tell which.",
        *(_explain(route, fb) for route in routes if np.isfinite(route.value)),
        *_warnings(sweep, fit, fl0, fh0),
    ]
    best = fb
    if not fb.identifiable:
        words.append("The fit does not fix the tuning; the least magnitude stands in for it.")
        best = valley.frequency
    nothing = Estimate(_NAN, unit="Hz", note="two peaks: see fl and fh")
    return Tuning(
        "ported or radiator", 2, best, lower.frequency, valley.frequency, upper.frequency,
        lower.magnitude, valley.magnitude, upper.magnitude, nothing,
        max(lower.magnitude, upper.magnitude), tuple(routes), tuple(words), curve, fit,
    )  # fmt: skip


def _peak(sweep, fit, expected, low, high):
    """A peak from the data where the sweep covers both its sides, else from the fitted curve."""
    if expected > sweep.frequency[0] * 1.04:
        return extreme(sweep, low, high, 1)
    u = expected * max(fit["fb"].u / fit["fb"], fit["fs"].u / fit["fs"])
    z = float(np.abs(fitted(fit, [expected]))[0])
    note = "from the fit: the peak lies at or below the start of the sweep"
    return Extreme(Estimate(expected, u, "Hz", note), Estimate(z, z * 0.1, "Ω", note))


def _sum_route(fit, lower, upper, points, plain, sealed, semi):
    """√(fL² + fH² − fC²), exact without losses and inductance."""
    if not isinstance(sealed, float | int | tuple):
        closed = find_tuning(as_sweep(sealed), semi=semi)
        if closed.peaks != 1:
            raise ValueError(
                "sealed: that sweep has two peaks, so its vent was not closed. Measure the box "
                "with the port stopped or the radiator held still, or give fc in Hz."
            )
        sealed = closed.resonance
    fc, u = uncertain(sealed)
    fl, fh = lower.frequency, upper.frequency
    square = fl**2 + fh**2 - fc**2
    name = "√(fL² + fH² − fC²)"
    words = "From the two peaks and the sealed resonance of the same box."
    if square <= 0:
        note = f"fC = {fc:.4g} Hz is too high for these peaks: not the same box, or not closed"
        return Route(name, Estimate(_NAN, unit="Hz", note=note), words)
    value = np.sqrt(square)
    spread = np.sqrt((fl * fl.u) ** 2 + (fh * fh.u) ** 2 + (fc * u) ** 2) / value
    v = fit.values
    own = v["fs"] ** 2 * (1 + v["alpha"])  # fC² of the fitted circuit

    def read(pair):
        return np.sqrt(max(pair[0] ** 2 + pair[1] ** 2 - own, 0.0))

    all_in, no_coil = read(points), read((plain[0], plain[2]))
    return Route(
        name, Estimate(value, spread, "Hz"), words, all_in - v["fb"], all_in - no_coil,
        no_coil - v["fb"],
    )  # fmt: skip


def _explain(route, fb):
    text = f"By {route.name}: {bare(route.value)} Hz"
    off = route.value - fb
    if route.name == "full model fit":
        return text + "."
    text += f", {abs(off):.2g} Hz {'above' if off > 0 else 'below'} the fit"
    if not np.isfinite(route.shift):
        return f"{text}. {route.words}"
    text += (
        f"; the fitted circuit expects {signed(route.shift)} Hz, of which {signed(route.coil)} "
        f"by the coil's inductance and {signed(route.loss)} by losses"
    )
    over = abs(off - route.shift)
    reach = 2 * np.hypot(route.value.u, fb.u)
    return text + (". The rest is within the scatter." if over <= reach else
                   f". That leaves {over:.2g} Hz that neither explains.")  # fmt: skip


def _warnings(sweep, fit, lowest, highest):
    words = troubles(fit)
    if sweep.frequency[0] > 0.8 * lowest:
        words.append("Start the sweep lower: at half the lowest peak.")
    if sweep.frequency[-1] < 2 * highest:
        words.append("End the sweep higher: coil inductance needs four times the highest peak.")
    if "creep" in fit.names:
        creep = f"{100 * fit.values['creep']:.0f} % a decade"
        words.append(
            f"The suspension creeps, {creep} softer towards low notes; the ± allows for it."
        )
    if "leak" in fit.names and fit["leak"] > max(0.0, 2 * fit["leak"].u):
        words.append(f"Losses of the box, taken as one leak: QL about {1 / fit['leak']:.2g}.")
    return [*words, PLUS_MINUS]
