"""What the losses of a box are made of: leak, absorption and the vent's friction, where a sweep
can tell.

All three lower and widen the same two peaks, so that their sum, 1/QB at the tuning, is mostly what
a sweep fixes. The three are fitted together; the uncertainty of each, which holds how far the
others could stand in for it, says whether it is told. What cannot be told is not given, and
the measurement is named that would tell, worked out from how such a sweep hangs on each.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from boxlab.measure.fit.estimate import Estimate, at_least, plus_minus
from boxlab.measure.fit.least_squares import Fit, least_squares, noise
from boxlab.measure.fit.motional import PARAMETERS, coil, impedance, motional
from boxlab.measure.fit.starting_values import VENTS, with_radiator
from boxlab.measure.read.value import Sweep
from boxlab.model.relations import COIL

PARTS = {"leak": ("QL", "leak"), "absorb": ("QA", "absorption"), "drag": ("QP", "vent's friction")}
CLEAR = 0.12  # u of one part over the sum of all, up to which it is told (our own choice)
TREND = 1.4  # `Fit.widened` from which the circuit does not describe the sweep (our own choice)
# A suspension is not the same at every frequency and level, so a driver's own sweep holds in the
# box to no better than this share (our own assumption).
_AT_LEAST = {"fs": 0.02, "qms": 0.1, "qes": 0.03}
_LACK = 0.05  # share of the sum that a creeping suspension was seen to move it by
BLOCKED = "a sweep of the same box with its vent blocked"
_ITS_OWN = {
    "vent's friction": "radiators' friction", "its vent blocked": "its radiators blocked",
    "the vent blocked": "the radiators blocked",
}  # fmt: skip
OWN = "the driver's own sweep in free air"


@dataclass(frozen=True, eq=False)
class BoxLosses:
    """Losses as Qs at the tuning: `total` is 1/(1/QL + 1/QA + 1/QP), the others are its parts.

    An Estimate is NaN, with the reason in `.note`, where the sweeps cannot tell; inf, with the
    bound in `.note`, where a part is told to be small. Of radiators, `qp` is the friction of their
    suspensions.
    """

    total: Estimate
    ql: Estimate
    qa: Estimate
    qp: Estimate
    words: tuple[str, ...]

    @property
    def told(self):
        """Names of the parts that the sweeps tell."""
        return tuple(n for n in ("ql", "qa", "qp") if not np.isnan(getattr(self, n)))


def loss_parts(
    sweep: Sweep,
    fit: Fit,
    priors: dict[str, tuple[float, float]] | None = None,
    blocked: Sweep | None = None,
    radiator: bool = False,
) -> BoxLosses | None:
    """Fit leak, absorption and the vent's friction together, from where `fit` ended.

    Parameters
    ----------
    sweep : Sweep of the box as it is
    fit : the `Fit` that `fit_box` ended with
    priors : as it had them, parameter -> (value, u)
    blocked : Sweep of the same box with its vent blocked, if there is one
    radiator : whether the vent is a radiator. Its own resonance then counts, even where a port's
        circuit describes the sweep as well: with it goes the scale of all losses

    Returns
    -------
    BoxLosses, or None where the three cannot be fitted together.

    >>> f = np.geomspace(10, 200, 150)
    >>> own = {"re": 3.4, "fs": 32.0, "qms": 5.0, "qes": 0.5}
    >>> box = own | {"alpha": 2.0, "fb": 35.0, "leak": 0.1}
    >>> sweep = Sweep.from_impedance(f, impedance(f, **box, drag=0.025))
    >>> fit = least_squares(lambda v: [impedance(f, **v)], [sweep], box, own)
    >>> loss_parts(sweep, fit).words[0]
    'Losses together: QB 8.00 ± 0.41 at the tuning.'
    """
    driver = {n: fit.values[n] for n in _AT_LEAST if n in fit.values}
    given = {n: each for n, each in (priors or {}).items() if n in fit.names}
    unknown = [n for n in driver if n in fit.names and n not in given]
    loose = dict(given)
    for name, least in _AT_LEAST.items():
        centre, u = given.get(name, (fit.values[name], 0.0))
        # an unknown driver makes one family of losses and drivers with the very same curve
        loose[name] = (centre, centre if name in unknown else max(u, least * centre))
    start = {n: fit.values[n] for n in fit.names} | driver
    if radiator and "fp" not in start and "fp_share" not in start:
        start |= VENTS["radiator"][0] | start
        if set(unknown) == set(driver):
            start = with_radiator(start, start["fp_share"])
            loose |= {n: (start[n], start[n]) for n in unknown}
    if "fp_share" in start:
        loose["fp_share"] = VENTS["radiator"][1]["fp_share"]
    found = None
    if blocked is not None:
        found = _together([sweep, blocked], fit, start, loose)
    both = found is not None and _agrees(found, loose)
    if not both:
        found = _together([sweep], fit, start, loose)
    if found is None:
        return None
    words = () if both or blocked is None else (
        "With the vent blocked this is not the same box and driver, within the scatter: that sweep "
        "is left out.",
    )  # fmt: skip
    losses = _losses(found, sweep, fit, unknown, both, _agrees(found, loose), words)
    return _of_radiators(losses) if radiator else losses


def _of_radiators(losses):
    """The same losses in the words of a box that has radiators and no port."""
    said = []
    for words in losses.words:
        for vent, own in _ITS_OWN.items():
            words = words.replace(vent, own)
        said.append(words)
    return replace(losses, words=tuple(said))


def _together(sweeps, fit, start, priors):
    start = start | {
        "leak": fit.values.get("leak", 0.1) / 2, "absorb": 0.02, "drag": 0.02,
    }  # fmt: skip
    if len(sweeps) > 1:
        start["re_1"] = fit.values["re"]  # a coil is seldom as warm again
    held = {n: v for n, v in fit.values.items() if n not in start}
    model, scatter = _model(sweeps), noise(sweeps[0])
    try:
        rough = least_squares(model, sweeps, start, held, priors, rough=True, scatter=scatter)
        begin = {n: rough.values[n] for n in rough.names}
        return least_squares(model, sweeps, begin, held, priors, warm=True)
    except (ValueError, np.linalg.LinAlgError):
        return None


def _agrees(found, priors):
    """Whether the circuit describes the sweeps: no trend in what is left, no value pulled away."""
    pulled = [abs(np.log(found.values[n] / c)) > 2 * u / c for n, (c, u) in priors.items()]
    return found.widened < TREND and not any(pulled)


def _model(sweeps):
    def model(values):
        own = {n: v for n, v in values.items() if n != "re_1"}
        z = [impedance(sweeps[0].frequency, **own)]
        if len(sweeps) > 1:
            z.append(_shut(sweeps[1].frequency, values))
        return z

    return model


def _shut(f, values):
    """Impedance with the vent blocked; the coil may have another resistance, `re_1`."""
    its_coil = {n: values[n] for n in COIL if n in values}
    rest = {n: v for n, v in values.items() if n not in (*COIL, "re_1")}
    return coil(f, values.get("re_1", values["re"]), **its_coil) + motional(f, **rest, blocked=True)


def _friction(v):
    """1/QP, from the friction over the vent's mass and the air's share of all that springs."""
    share = v.get("fp", 0.0) / v["fb"] + v.get("fp_share", 0.0)
    return v["drag"] / (1 - share**2)


def _losses(found, sweep, plain, unknown, both, agrees, words):
    each = {
        "leak": found.estimate(lambda v: v["leak"]),
        "absorb": found.estimate(lambda v: v["absorb"]),
        "drag": found.estimate(_friction),
    }
    sum_ = found.estimate(lambda v: v["leak"] + v["absorb"] + _friction(v))
    as_leak = plain.values.get("leak", 0.0) + _friction({"drag": 0.0} | plain.values)
    sum_ = Estimate(sum_, np.hypot(sum_.u, 0.5 * (sum_ - as_leak)))  # which circuit is not known
    if not agrees:  # and what the circuit lacks moves the sum, too
        sum_ = Estimate(sum_, np.hypot(sum_.u, _LACK * sum_))
    if not sum_ > 2 * sum_.u:
        least = 1 / max(sum_ + 2 * sum_.u, 1e-6)
        note = f"not distinguishable from no loss; {at_least(least)}"
        if least < 2:  # says nothing of any box
            note = "not identifiable from this sweep"
        total, nothing = Estimate(np.inf, np.inf, note=note), Estimate(np.nan, note=note)
        return BoxLosses(total, *3 * [nothing], (*words, f"Losses together: {note}."))
    total = Estimate(1 / sum_, sum_.u / sum_**2)
    clear = {name: bool(agrees and part.u < CLEAR * sum_) for name, part in each.items()}
    told = {name: _as_q(part, clear[name]) for name, part in each.items()}
    words = [*words, f"Losses together: QB {total} at the tuning."]
    known = [f"{PARTS[n][0]} ({PARTS[n][1]}) {_said(told[n])}" for n in PARTS if clear[n]]
    if known:
        words.append(f"Told apart: {', '.join(known)}.")
    hidden = [f"{PARTS[n][0]} ({PARTS[n][1]})" for n in PARTS if not clear[n]]
    if hidden:
        would = _would_tell(found, sweep, sum_, unknown, both) if agrees else (
            "What is left of the sweep has a trend that the circuit does not know, as a suspension "
            "that creeps, so that no part of it is to be trusted."
        )  # fmt: skip
        words.append(f"Not told apart: {', '.join(hidden)}. {would}")
    return BoxLosses(total, told["leak"], told["absorb"], told["drag"], tuple(words))


def _as_q(part, clear):
    if not clear:
        return Estimate(np.nan, note="not identifiable: the other losses can stand in for it")
    if part > 2 * part.u:
        return Estimate(1 / part, part.u / part**2)
    least = 1 / max(part + 2 * part.u, 1e-6)
    return Estimate(np.inf, np.inf, note=at_least(least))


def _said(q):
    """In words: a part is told against the sum of all, so that a small one may have a wide ±."""
    return plus_minus(q, q.u) if np.isfinite(q) else q.note


def _would_tell(found, sweep, sum_, unknown, both):
    """Which measurement would tell all three: from the information that it would add."""
    at = [found.names.index(name) for name in PARTS]
    here = np.linalg.pinv(found.covariance, rcond=1e-13, hermitian=True)
    more = {}
    if unknown:
        own = np.zeros(len(found.names))
        for name in unknown:
            own[found.names.index(name)] = 1 / _AT_LEAST[name] ** 2  # they are fitted by logarithm
        more[OWN] = np.diag(own)
    if not both:
        more[BLOCKED] = _information(found, sweep)
    if len(more) > 1:
        more[f"{OWN} and {BLOCKED}"] = sum(more.values())
    for name, added in more.items():
        spread = np.linalg.pinv(here + added, rcond=1e-13, hermitian=True)
        if np.all(np.sqrt(np.diag(spread))[at] < 0.8 * CLEAR * sum_):
            return f"This would tell: {name}."
    best = list(more)[-1] if more else ""
    also = f"{best} with " if best else ""
    return f"To tell them takes {also}less scatter or more points round the peaks."


def _information(found, sweep):
    """What a sweep with the vent blocked, of as many points and the same scatter, would add."""
    f, width = sweep.frequency, found.widened

    def z(i, step):
        name = found.names[i]
        value = found.values[name]
        moved = value * np.exp(step) if PARAMETERS[name][2] else value + step
        return np.log(_shut(f, found.values | {name: moved}))

    slope = np.array([(z(i, 1e-5) - z(i, -1e-5)) / 2e-5 for i in range(len(found.names))])
    parts = [slope.real / found.scatter[0]]
    if sweep.phase is not None:
        parts.append(slope.imag / found.scatter[1])
    return sum(part @ part.T for part in parts) / width**2
