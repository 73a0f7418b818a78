"""Least squares on one or several sweeps at once, with uncertainties one can stand by.

Residuals are relative: the logarithm of the magnitude ratio and, where there is a phase, the phase
difference in radians, each divided by the scatter found in it. The loss is Cauchy's, so that a few
bad points (hum, a rattle) lose their say. Parameters that must be positive are fitted by their
logarithm. The covariance is that of an M-estimate (Huber, Robust Statistics, 1981; from memory),
widened where neighbouring residuals agree, because then the model, not the noise, is what is wrong.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from boxlab.measure.fit.estimate import Estimate
from boxlab.measure.fit.motional import PARAMETERS
from boxlab.measure.read.value import Sweep

_REACH = 2.385  # Cauchy's loss keeps 95 % of least squares' efficiency on Gaussian scatter
_FLOOR = 1e-7  # relative scatter of a computed sweep, so that no weight is infinite
_LOSS = (-0.05, 5.0)
_BOUNDS = {"le": (-1e-4, 0.5), "semi_n": (0.2, 1.0), "leak": _LOSS, "absorb": _LOSS, "drag": _LOSS,
           "creep": (-0.05, 0.4)}  # fmt: skip
_STEP = {"le": 1e-4, "semi_n": 1.0, "leak": 1.0, "drag": 1.0, "absorb": 1.0, "creep": 1.0}


@dataclass(frozen=True, eq=False)
class Fit:
    """The result of a fit: values by name, their covariance, and how well it describes the data."""

    names: tuple[str, ...]  # the fitted ones
    values: dict  # all, fitted or held
    point: np.ndarray  # fitted parameters as the solver sees them
    covariance: np.ndarray
    score: float  # Bayes information criterion at the scatter given to `least_squares`
    scatter: tuple[float, ...]  # relative, per channel
    rows: int
    wild: int  # points that the robust loss turned down
    widened: float  # factor on u for residuals that hang together
    common: Mapping[str, float] = field(default_factory=dict)  # of the sweeps: see `Sweep`

    def estimate(self, function, unit="", note=""):
        """The value of `function(values)` with the uncertainty carried over from the fit."""
        here, slope = float(function(self.values)), self.slope(function)
        u = np.sqrt(max(slope @ self.covariance @ slope, 0.0))
        return Estimate(here, np.hypot(u, self.common.get(unit, 0.0) * here), unit, note)

    def slope(self, function):
        """How `function(values)` changes with each fitted parameter as the solver sees it."""
        slope = np.zeros(len(self.names))
        for i, (name, at) in enumerate(zip(self.names, self.point, strict=True)):
            step = 1e-4 * _STEP.get(_kind(name), 1.0)
            ends = [function(self.values | {name: _outside(name, at + s)}) for s in (step, -step)]
            slope[i] = (ends[0] - ends[1]) / (2 * step)
        return slope

    def __getitem__(self, name):
        """A parameter as an Estimate; held ones have no uncertainty."""
        unit = PARAMETERS[_kind(name)][1]
        if name not in self.names:
            return Estimate(self.values[name], 0.0, unit, "held")
        return self.estimate(lambda values: values[name], unit)

    def correlation(self, first, second):
        """Correlation of two fitted parameters, −1 to 1."""
        i, j = self.names.index(first), self.names.index(second)
        spread = np.sqrt(self.covariance[i, i] * self.covariance[j, j])
        return float(self.covariance[i, j] / spread) if spread else 0.0


def _kind(name):
    """`re_1` is the re of the second sweep."""
    return name.rsplit("_", 1)[0] if name.rsplit("_", 1)[-1].isdigit() else name


def _is_log(name):
    return PARAMETERS[_kind(name)][2]


def _inside(name, value):
    return np.log(value) if _is_log(name) else value


def _outside(name, value):
    return np.exp(np.clip(value, -20, 20)) if _is_log(name) else value


def noise(sweep: Sweep) -> tuple[float, ...]:
    """Relative scatter of a `sweep`'s magnitude, and of its phase in radians, by third differences.

    Differences remove what is smooth; the median makes light of single bad points. A third
    difference of independent values has 20 times their variance.

    >>> f, scatter = np.geomspace(10, 200, 500), np.random.default_rng(1).normal(size=500)
    >>> float(noise(Sweep(f, (5 + f / 100) * (1 + 0.01 * scatter)))[0].round(2))
    0.01
    """
    found = []
    phase = None if sweep.phase is None else np.unwrap(np.radians(sweep.phase))
    for values in (np.log(sweep.magnitude), phase):
        if values is None:
            continue
        if len(values) < 6:
            found.append(0.02)
            continue
        steps = np.diff(values, 3)
        found.append(max(float(np.median(np.abs(steps))) * 1.4826 / np.sqrt(20), _FLOOR))
    return tuple(found)


def least_squares(
    model: Callable[[dict], list], sweeps: Sequence[Sweep], start: dict, fixed: dict | None = None,
    priors: dict | None = None, *, rough: bool = False, warm: bool = False,
    scatter: tuple[float, ...] | None = None,
) -> Fit:  # fmt: skip
    """Fit `model(values) -> [Z of each sweep]`, Ω, to `sweeps`, from `start`, a dict of values.

    `fixed` holds values that are not fitted; `priors` maps a fitted name to (value, u). With
    `rough` the fit stops after the first robust pass: for choosing among starts and models. With
    `warm` that pass is left out, because `start` is the outcome of one.
    `scatter` sets the scatter (magnitude, phase) for the first pass and the score.

    Raises
    ------
    ValueError
        If there are fewer numbers in the sweeps than parameters.

    >>> f = np.array([20.0, 50.0, 100.0, 200.0])
    >>> sweep = Sweep.from_impedance(f, 3.4 + 2j * np.pi * f * 1e-3)
    >>> coil = lambda v: [v["re"] + 2j * np.pi * f * v["le"]]
    >>> fit = least_squares(coil, [sweep], {"re": 5.0, "le": 3e-4})
    >>> round(fit["re"], 3), round(fit["le"], 6)
    (3.4, 0.001)
    """
    from scipy.optimize import least_squares as solve
    from scipy.special import stdtrit

    fixed, priors = dict(fixed or {}), dict(priors or {})
    names = tuple(name for name in start if name not in fixed)
    channels = _channels(sweeps)
    rows = sum(len(values) for _, values, _ in channels)
    if rows <= len(names):
        raise ValueError(
            f"{rows} numbers cannot fix {len(names)} unknowns: measure at more frequencies."
        )
    sigma = _starting_scatter(sweeps, scatter)

    logs = np.array([_is_log(name) for name in names])

    def spread(points):
        """Values for one point (p,) or many (m, p), with a last axis for frequency."""
        points = np.asarray(points)
        plain = np.where(logs, np.exp(np.clip(points, -20, 20)), points)
        return fixed | {name: plain[..., i, None] for i, name in enumerate(names)}

    def residuals(points):
        z = model(spread(points))
        parts = []
        for (which, values, is_phase), s in zip(channels, sigma, strict=True):
            if is_phase:
                parts.append(np.angle(z[which] * np.exp(-1j * values)) / s)
            else:
                parts.append((np.log(np.abs(z[which])) - values) / s)
        for name, (centre, u) in priors.items():
            i = names.index(name)
            shift = np.asarray(points)[..., i, None] - _inside(name, centre)
            parts.append(shift / (u / centre if _is_log(name) else u))
        return np.concatenate(parts, axis=-1)

    steps = np.array([1e-5 * _STEP.get(_kind(name), 1.0) for name in names])

    def jacobian(point):
        shift = np.diag(steps)
        both = residuals(np.concatenate([point + shift, point - shift]))
        half = len(names)
        return ((both[:half] - both[half:]) / (2 * steps[:, None])).T

    def loss(shape):
        """A robust loss for the data, plain squares for the priors, which are not in doubt."""

        def rho(z):
            value = np.stack([z, np.ones_like(z), np.zeros_like(z)])
            value[:, :rows] = shape(z[:rows])
            return value

        return rho

    low, high = (np.array(e, dtype=float) for e in zip(*(_limits(n) for n in names), strict=True))
    point = np.array([_inside(name, start[name]) for name in names], dtype=float)
    point = np.clip(point, low + 1e-9, high - 1e-9)
    step_scale = np.array([_STEP.get(_kind(name), 1.0) for name in names]) * 0.1
    settings = {"bounds": (low, high), "x_scale": step_scale, "jac": jacobian}
    if not warm:
        first = solve(
            residuals, point, loss=loss(_soft), f_scale=3.0, max_nfev=25, ftol=1e-4, xtol=1e-5,
            **settings,
        )  # fmt: skip
        point = first.x
    common = {u: max(s.common.get(u, 0.0) for s in sweeps) for s in sweeps for u in s.common}
    if rough:
        cost = 2 * first.cost
        return Fit(
            names,
            fixed | {n: float(_outside(n, v)) for n, v in zip(names, first.x, strict=True)},
            first.x,
            np.full((len(names), len(names)), np.nan),
            cost + len(names) * np.log(rows),
            tuple(sigma), rows, 0, 1.0, common,
        )  # fmt: skip
    for tolerance in (1e-4, 1e-9):
        sigma = _spread_of(residuals(point)[:rows], channels, sigma, len(names), rows)
        found = solve(
            residuals, point, loss=loss(_cauchy), f_scale=_REACH, max_nfev=60,
            ftol=tolerance, xtol=tolerance, gtol=1e-12, **settings,
        )  # fmt: skip
        point = found.x
    r, jac = residuals(point), jacobian(point)
    covariance, wild, widened = _covariance(r, jac, channels, rows, stdtrit)
    return Fit(
        names,
        fixed | {n: float(_outside(n, v)) for n, v in zip(names, point, strict=True)},
        point,
        covariance,
        2 * found.cost + len(names) * np.log(rows),
        tuple(sigma), rows, wild, widened, common,
    )  # fmt: skip


def _soft(z):
    root = np.sqrt(1 + z)
    return 2 * (root - 1), 1 / root, -0.5 / root**3


def _cauchy(z):
    return np.log1p(z), 1 / (1 + z), -1 / (1 + z) ** 2


def _limits(name):
    return _BOUNDS.get(_kind(name), (-18.0, 18.0) if _is_log(name) else (-np.inf, np.inf))


def _channels(sweeps):
    channels = []
    for i, sweep in enumerate(sweeps):
        channels.append((i, np.log(sweep.magnitude), False))
        if sweep.phase is not None:
            channels.append((i, np.radians(sweep.phase), True))
    return channels


def _starting_scatter(sweeps, scatter):
    sigma = []
    for sweep in sweeps:
        found = scatter or noise(sweep)
        ends = (found[0],) if sweep.phase is None else (found[0], found[-1])
        sigma += [max(each, 1e-3) for each in ends]
    return sigma


def _spread_of(residuals, channels, sigma, parameters, rows):
    """Scatter of each channel by the median of its residuals, corrected for what was fitted."""
    found, at = [], 0
    for (_, values, _), s in zip(channels, sigma, strict=True):
        middle = float(np.median(np.abs(residuals[at : at + len(values)]))) * 1.4826 * s
        at += len(values)
        found.append(max(middle * np.sqrt(rows / max(rows - parameters, 1)), _FLOOR))
    return found


def _covariance(r, jac, channels, rows, quantile):
    free = max(rows - jac.shape[1], 1)
    squeeze = 1 / (1 + (r / _REACH) ** 2)
    pull, data = r * squeeze, slice(0, rows)
    stiffness = squeeze**2 * (1 - (r / _REACH) ** 2)
    variance = np.sum(pull[data] ** 2) / free / max(np.mean(stiffness[data]), 0.1) ** 2
    normal = jac[data].T @ jac[data]
    if len(r) > rows:  # a prior keeps its own variance whatever the data's scatter
        normal = normal + variance * (jac[rows:].T @ jac[rows:])
    scale = np.sqrt(np.maximum(np.diag(normal), 1e-300))
    inverse = np.linalg.pinv(normal / np.outer(scale, scale), rcond=1e-13, hermitian=True)
    covariance = variance * inverse / np.outer(scale, scale)
    widened = _hanging_together(pull[data], channels)
    student = float(quantile(free, 0.975)) / 1.959964
    wild = int(np.sum(np.abs(r[data]) > 4 * np.sqrt(variance)))
    return covariance * (widened * student) ** 2, wild, widened


def _hanging_together(pull, channels):
    """Factor on u for correlated residuals: √((1+ρ)/(1−ρ)), where ρ is more than chance."""
    worst, at = 0.0, 0
    for _, values, _ in channels:
        part = pull[at : at + len(values)]
        at += len(values)
        if len(part) > 8 and np.any(part):
            rho = float(np.sum(part[1:] * part[:-1]) / np.sum(part**2))
            if rho > 2.5 / np.sqrt(len(part)):
                worst = max(worst, min(rho, 0.95))
    return float(np.sqrt((1 + worst) / (1 - worst)))
