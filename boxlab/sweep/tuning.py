"""Which box a sweep is of, and where its tuning is, by every route that the trade uses."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from boxlab.checks import positive
from boxlab.sweep.estimate import Estimate, uncertain
from boxlab.sweep.fitting import Fit
from boxlab.sweep.reading import read_sweep
from boxlab.sweep.resonance import candidates, fit_curve, fit_tuned, fitted
from boxlab.sweep.shape import Extreme, extreme, zero_crossing
from boxlab.sweep.value import Sweep

_NAN = float("nan")


@dataclass(frozen=True)
class Route:
    """One way to read the tuning off a sweep.

    `shift` is how far, in Hz, this route should land from the tuning, computed from the fitted
    model; `coil` and `loss` are the parts of it that inductance and losses make.
    """

    name: str
    value: Estimate
    words: str
    shift: float = _NAN
    coil: float = _NAN
    loss: float = _NAN

    @property
    def corrected(self):
        """The value with its computed shift taken off, an Estimate."""
        if not np.isfinite(self.shift):
            return self.value
        return Estimate(self.value - self.shift, self.value.u, "Hz", self.value.note)


@dataclass(frozen=True, eq=False)
class Tuning:
    """What `find_tuning` found. Frequencies in Hz and magnitudes in Ω, as Estimates.

    With two peaks `fl`, `fm` and `fh` are the lower peak, the least magnitude between, and the
    upper peak, and `fb` is the tuning. With one peak those are NaN and `resonance` is the peak.
    """

    box: str  # "sealed or free air", or "ported or radiator"
    peaks: int
    fb: Estimate
    fl: Estimate
    fm: Estimate
    fh: Estimate
    zl: Estimate
    zm: Estimate
    zh: Estimate
    resonance: Estimate
    peak_impedance: Estimate
    routes: tuple[Route, ...]
    words: tuple[str, ...]
    curve: Sweep = field(repr=False)
    fit: Fit = field(repr=False)

    def markdown(self):
        """The routes as a table to print."""
        rows = [
            "| route | reads, Hz | expected off by, Hz | of which coil | of which loss |",
            "|---|---|---|---|---|",
        ]
        for route in self.routes:
            parts = [_signed(v) for v in (route.shift, route.coil, route.loss)]
            rows.append(f"| {route.name} | {_bare(route.value)} | {' | '.join(parts)} |")
        return "\n".join(rows) + "\n"


def as_sweep(source):
    """A Sweep as it is; anything else is read."""
    return source if isinstance(source, Sweep) else read_sweep(source)


def find_tuning(sweep, *, sealed=None, fs=None, re=None, semi=None):
    """Find out which box a sweep is of, and the tuning by several routes.

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
    two = 2 in fits and (1 not in fits or ease[2] < ease[1] - 10) and _shows_two(fits[2], part)
    if two:
        fit, _ = fit_tuned(part, _motion(fits[2]), fixed, semi=semi)
        two = 1 not in fits or _shows_two(fit, part)
    if not two:
        if 1 not in fits:
            raise ValueError("no resonance could be fitted to this sweep.")
        fit, _ = fit_curve(part, _motion(fits[1]), fixed, semi=semi)
    curve = Sweep.from_impedance(sweep.frequency, fitted(fit, sweep.frequency), "fitted")
    if not two:
        return _one_peak(sweep, fit, curve, fs)
    return _two_peaks(sweep, fit, curve, sealed, fs, semi)


def _motion(fit):
    """Fitted values without the coil's, as starting values."""
    return {n: fit.values[n] for n in fit.names if n not in ("le", "semi_k", "semi_n")}


def turning_points(fit, low, high, keep_coil=True, keep_loss=True):
    """Lower peak, least magnitude and upper peak of the fitted curve, Hz; NaN where not there."""
    v = dict(fit.values)
    if not keep_coil:
        v |= {"le": 0.0, "semi_k": 0.0}
    if not keep_loss:
        v |= {"leak": 0.0, "drag": 0.0}
    f = np.geomspace(low, high, 4000)
    level = np.log(np.abs(fitted(_Values(v), f)))
    tops = _turns(f, level)
    fb = v["fb"]
    below, above = [t for t in tops if t[0] < fb], [t for t in tops if t[0] > fb]
    # With losses the least magnitude may slip past the tuning, and so may a low, flat peak.
    if not below or not above:
        if len(tops) < 2:
            return _NAN, _NAN, _NAN
        lower, upper = sorted(tops, key=lambda t: -t[1])[:2]
        below, above = [min(lower, upper)], [max(lower, upper)]
    fl, fh = max(below, key=lambda t: t[1])[0], max(above, key=lambda t: t[1])[0]
    dips = [t for t in _turns(f, -level) if fl < t[0] < fh]
    return fl, (max(dips, key=lambda t: t[1])[0] if dips else _NAN), fh


@dataclass(frozen=True)
class _Values:
    values: dict


def _turns(f, level):
    """Local maxima on a fine grid, (frequency, level), sharpened by a parabola."""
    x = np.log(f)
    found = []
    for i in np.flatnonzero((level[1:-1] > level[:-2]) & (level[1:-1] >= level[2:])) + 1:
        a, b, c = level[i - 1], level[i], level[i + 1]
        bend = a - 2 * b + c
        shift = 0.5 * (a - c) / bend if bend else 0.0
        found.append((float(np.exp(x[i] + shift * (x[1] - x[0]))), float(b)))
    return found


def _shows_two(fit, part):
    """True if the fitted curve has two peaks that the data could show."""
    v = fit.values
    low, high = part.frequency[0], part.frequency[-1]
    if not (low * 0.8 < v["fb"] < high):
        return False
    fl, fm, fh = turning_points(fit, low / 3, high * 1.2)
    if not np.isfinite(fl + fm + fh) or fl < low / 2.2 or fm < low or fh > high:
        return False
    z = np.abs(fitted(fit, [fl, fm, fh]))
    if fl < low:
        z[0] = np.abs(fitted(fit, [low]))[0]
    return min(z[0], z[2]) / z[1] > 1 + max(0.03, 3 * fit.scatter[0] / np.sqrt(5))


def _one_peak(sweep, fit, curve, fs):
    resonance = fit["fs"]
    top = extreme(sweep, resonance / 1.6, resonance * 1.6, 1)
    words = [f"One peak, at {_bare(resonance)} Hz by the fit: a sealed box or free air."]
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
            f"The highest magnitude itself is at {_bare(top.frequency)} Hz; coil inductance and "
            "scatter move it off the resonance."
        )
    words += _warnings(sweep, fit, resonance, resonance)
    nothing = Estimate(_NAN, unit="Hz", note="one peak only: there is no vent to be tuned")
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
    bare = turning_points(fit, *span, keep_coil=False)
    routes.append(
        Route(
            "least magnitude",
            valley.frequency,
            "The lowest point between the peaks.",
            fm0 - fb,
            fm0 - bare[1],
            bare[1] - fb,
        )
    )
    crossing = zero_crossing(sweep, lower.frequency, upper.frequency)
    with_all, no_coil = _zero(fit, fl0, fh0), _zero(fit, fl0, fh0, keep_coil=False)
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
        routes.append(_sum_route(fit, lower, upper, (fl0, fh0), bare, sealed, semi))
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
                "For ports only: with a radiator it reads high by √(1 + α/(1 + δ)).",
            )
        )
    words = [
        f"Two peaks, at {_bare(lower.frequency)} and {_bare(upper.frequency)} Hz: a box with a "
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


def _zero(fit, low, high, keep_coil=True):
    v = dict(fit.values) if keep_coil else fit.values | {"le": 0.0, "semi_k": 0.0}
    f = np.geomspace(low, high, 4000)
    reactance = fitted(_Values(v), f).imag
    rising = np.flatnonzero((reactance[:-1] < 0) & (reactance[1:] >= 0))
    if len(rising) == 0:
        return _NAN
    i = rising[0]
    share = reactance[i] / (reactance[i] - reactance[i + 1])
    return float(f[i] * (f[i + 1] / f[i]) ** share)


def _sum_route(fit, lower, upper, points, bare, sealed, semi):
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

    all_in, no_coil = read(points), read((bare[0], bare[2]))
    return Route(
        name, Estimate(value, spread, "Hz"), words, all_in - v["fb"], all_in - no_coil,
        no_coil - v["fb"],
    )  # fmt: skip


def _explain(route, fb):
    text = f"By {route.name}: {_bare(route.value)} Hz"
    off = route.value - fb
    if route.name == "full model fit":
        return text + "."
    text += f", {abs(off):.2g} Hz {'above' if off > 0 else 'below'} the fit"
    if not np.isfinite(route.shift):
        return text + "."
    text += (
        f"; the fitted circuit expects {_signed(route.shift)} Hz, of which {_signed(route.coil)} "
        f"by the coil's inductance and {_signed(route.loss)} by losses"
    )
    over = abs(off - route.shift)
    reach = 2 * np.hypot(route.value.u, fb.u)
    return text + (". The rest is within the scatter." if over <= reach else
                   f". That leaves {over:.2g} Hz that neither explains.")  # fmt: skip


def troubles(fit):
    """What the residuals of a fit say about the curve, in words."""
    words = []
    if fit.widened > 1.6:
        words.append(
            "Neighbouring points are off to the same side: the circuit does not describe all of "
            "this curve (drift, a leak elsewhere, a panel), so the uncertainties were widened by "
            f"{fit.widened:.1f}."
        )
    if fit.wild:
        words.append(f"{fit.wild} points lie far off (hum, a rattle?) and carry little weight.")
    return words


def _warnings(sweep, fit, lowest, highest):
    words = troubles(fit)
    if sweep.frequency[0] > 0.8 * lowest:
        words.append("Start the sweep lower: at half the lowest peak.")
    if sweep.frequency[-1] < 2 * highest:
        words.append("End the sweep higher: coil inductance needs four times the highest peak.")
    if "leak" in fit.names:
        leak = fit["leak"]
        if leak > 2 * leak.u and leak > 0:
            words.append(f"Losses of the box, taken as one leak: QL about {1 / leak:.2g}.")
    return words


def _signed(value):
    return f"{value:+.2f}" if np.isfinite(value) else "–"


def _bare(estimate):
    text = str(estimate)
    return text.replace(f" {estimate.unit}", "", 1) if estimate.unit else text
