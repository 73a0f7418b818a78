"""Exercises and predictions of the lesson "a box comes in": coils by the meter, weights, stops."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from types import MappingProxyType, SimpleNamespace

import numpy as np

from boxlab.base.units import to_grams, to_litres
from boxlab.explainers import explainer
from boxlab.explainers._own import with_job
from boxlab.gear.job import Job, read_job
from boxlab.gear.job_measured import Measured, measure
from boxlab.measure.fit.radiator_mass import mass_to_add
from boxlab.model.response import Response, solve
from boxlab.quiz.exercises import LESSONS, answers_of
from boxlab.quiz.task import Exercise, Step

FOLDER = LESSONS / "a-box-comes-in"
DOOR, BENCH, HANDED = "1-at-the-door", "2-on-the-bench", "3-handed-over"
WANTED = 36.6  # Hz


@cache
def stage(name: str) -> tuple[Job, Measured]:
    """The job at one of its three stages, as its file says, and what its sweeps tell."""
    job = read_job(FOLDER / f"{name}.job.toml")
    return job, measure(job)


def measured(name: str) -> Job:
    """The job at that stage with what its sweeps tell, marked as measured."""
    job, found = stage(name)
    return found.into(job)


# Coils by the meter.


def _draw_coils(rng):
    return SimpleNamespace(coil=int(rng.integers(14, 42)) / 10, spare=int(rng.integers(2, 6)) / 10)


coils = Exercise(
    "a-box-comes-in/coils",
    title="What should the meter read, and what does it read with one coil off?",
    draw=_draw_coils,
    prompt=lambda n: (
        f"A driver has two coils of {n.coil:g} Ω each, side by side. The meter's own leads have "
        f"{n.spare:g} Ω, which the meter adds to everything it reads."
    ),
    steps=(
        Step(
            "What the meter reads with both coils in order",
            lambda n: n.coil / 2 + n.spare,
            "Ω",
            slips={
                "You left out the meter's leads.": lambda n: n.coil / 2,
                "That is two coils in series.": lambda n: 2 * n.coil + n.spare,
            },
            formula="both = coil/2 + leads",
        ),
        Step(
            "What it reads with one coil off",
            lambda n: n.coil + n.spare,
            "Ω",
            slips={"You left out the meter's leads.": lambda n: n.coil},
            formula="one = coil + leads",
        ),
    ),
    letters=lambda n: {"coil": n.coil, "leads": n.spare},
    hints=lambda n: (
        "Two equal resistances side by side let twice the current through. One alone is itself.",
        "Both: coil/2. One off: coil. Then add what the leads have, once.",
        f"Half of {n.coil:g} is {n.coil / 2:g}; the leads come on top of it.",
    ),
    solution=lambda n: (
        f"Both: {n.coil:g}/2 + {n.spare:g} = **{n.coil / 2 + n.spare:.2f} Ω**. One off: "
        f"{n.coil:g} + {n.spare:g} = **{n.coil + n.spare:.2f} Ω**. Touch the leads together first, "
        "and take what the meter shows off every reading."
    ),
)

# Weights.


def _draw_weights(rng):
    found = int(rng.integers(80, 104)) / 2
    return SimpleNamespace(
        found=found,
        wanted=round(found * float(rng.uniform(0.78, 0.9)) * 2) / 2,
        moving=5 * int(rng.integers(40, 90)),
        on=5 * int(rng.integers(12, 30)),
    )


def _more(n):
    return float(mass_to_add(n.wanted, n.found, n.moving))


weights = Exercise(
    "a-box-comes-in/weights",
    title="How much does each radiator carry in the end?",
    draw=_draw_weights,
    prompt=lambda n: (
        f"A box with two radiators tunes to {n.found:g} Hz. The fit says that each moves "
        f"{n.moving} g, and {n.on} g of that are weights. It is to tune to {n.wanted:g} Hz."
    ),
    steps=(
        Step(
            "What has to be added to each",
            _more,
            "g",
            tolerance=0.03,
            slips={
                "Mass goes with the square of the frequencies' ratio.": lambda n: (
                    n.moving * (n.found / n.wanted - 1)
                ),
                "That is the whole mass; take off what moves already.": lambda n: (
                    n.moving * (n.found / n.wanted) ** 2
                ),
                "Each radiator gets all of it: both tune together.": lambda n: _more(n) / 2,
            },
            formula="more = m·(found/wanted)² − m",
        ),
        Step(
            "Weights on each then",
            lambda n: n.on + _more(n),
            "g",
            tolerance=0.03,
            formula="weights = on + more",
        ),
    ),
    letters=lambda n: vars(n) | {"m": n.moving / 1e3, "on": n.on / 1e3},
    hints=lambda n: (
        "The stiffness stays. So tuning² × mass stays as well.",
        "New mass = mass now × (tuning now / tuning wanted)². The difference goes on.",
        f"The square of the ratio is {(n.found / n.wanted) ** 2:.3f}.",
    ),
    solution=lambda n: (
        f"{n.moving} × ({n.found:g}/{n.wanted:g})² − {n.moving} = **{_more(n):.0f} g** more, so "
        f"**{n.on + _more(n):.0f} g** on each. The same on both, or the box gets two tunings."
    ),
)

# Litres.


def _draw_litres(rng):
    return SimpleNamespace(
        vas=int(rng.integers(40, 95)),
        alpha=int(rng.integers(15, 40)) / 10,
        off=int(rng.integers(3, 8)),
    )


litres = Exercise(
    "a-box-comes-in/litres",
    title="How large is the box, and how large after the ruler was read again?",
    draw=_draw_litres,
    prompt=lambda n: (
        f"The driver's two sweeps and a cone area by the ruler give Vas = {n.vas} L. The sweep of "
        f"the box gives α = {n.alpha:g}. Then you read the ruler again: the area that you used was "
        f"{n.off} % too large. The sweeps stay as they are."
    ),
    steps=(
        Step(
            "Net volume with the first area",
            lambda n: n.vas / n.alpha,
            "L",
            tolerance=0.01,
            slips={"The box is smaller than Vas here: divide.": lambda n: n.vas * n.alpha},
            formula="V = Vas/α",
        ),
        Step(
            "Net volume with the right one",
            lambda n: n.vas / n.alpha / (1 + n.off / 100) ** 2,
            "L",
            tolerance=0.01,
            slips={
                "Vas goes with the square of the area.": lambda n: (
                    n.vas / n.alpha / (1 + n.off / 100)
                ),
                "Smaller area, smaller volume.": lambda n: n.vas / n.alpha * (1 + n.off / 100) ** 2,
            },
            formula="V2 = V/(1 + e)², e is how far the area was off",
        ),
    ),
    letters=lambda n: {"Vas": n.vas / 1e3, "α": n.alpha, "e": n.off / 100},
    hints=lambda n: (
        "α is how many times the driver's Vas is larger than the box.",
        "Vb = Vas/α, and Vas holds the area twice: once for force, once for volume.",
        f"The square of 1.0{n.off} is {(1 + n.off / 100) ** 2:.4f}.",
    ),
    solution=lambda n: (
        f"{n.vas}/{n.alpha:g} = **{n.vas / n.alpha:.1f} L**; divided by 1.0{n.off}² it is "
        f"**{n.vas / n.alpha / (1 + n.off / 100) ** 2:.1f} L**. The ± of the fit does not count "
        "that."
    ),
)

EXERCISES = (coils, weights, litres)

# Predictions: values that the model says of this job, by their names in the words.


def coils_on_and_off(f) -> dict[str, Response]:
    """The box at the frequencies `f`, Hz, at the same volts: with both coils, and with one off."""
    job = measured(BENCH)
    one = replace(job.driver, re=2 * job.driver.re)
    drivers = {"with both coils": job.driver, "with one coil off": one}
    return {said: solve(driver, job.box, f) for said, driver in drivers.items()}


def _coil():
    f = np.linspace(30, 80, 101)
    both, one = (each.spl for each in coils_on_and_off(f).values())
    lost = both - one
    least, most = lost.argmin(), lost.argmax()
    return {"least": lost[least], "note": f[least], "most": lost[most], "other": f[most]}


def _alone():
    job, _ = stage(BENCH)
    rows = [row for row in job.measurements if row["what"] == "as found"]
    found = measure(replace(job, tables=MappingProxyType({**job.tables, "measurement": rows})))
    told = found.values["box"]
    names = {"fb": "the tuning", "volume": "the volume", "ql": "the losses"}
    return {"told": ", ".join(names[name] for name in told), "fb": float(told["fb"])}


def _weights():
    _, found = stage(BENCH)
    fb, volume = found.values["box"]["fb"], found.values["box"]["volume"]
    each = float(found.values["radiator"]["mms"]) + stage(BENCH)[0].weights[0]
    more = float(to_grams(mass_to_add(WANTED, fb, each)))
    each, litres = float(to_grams(each)), to_litres(volume)
    return {"each": each, "fb": fb, "wanted": WANTED, "more": more, "litres": litres}


def _stops():
    plain = stage(HANDED)[0]
    tables = {k: v for k, v in plain.tables.items() if k not in ("filters", "supply")}
    after = replace(measured(HANDED), tables=MappingProxyType(tables | _measured_tables(HANDED)))
    return {"said": with_job(explainer("heat_or_travel"), after)(frequency=30.0).readout[0]}


def _measured_tables(name):
    return {"measured": measured(name).tables["measured"]}


answer = answers_of(
    __name__, {"coil": _coil, "alone": _alone, "weights": _weights, "stops": _stops}
)
