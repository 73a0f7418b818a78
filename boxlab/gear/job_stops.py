"""What stops a job's box, with all that the job says of its signal: filters, amplifier, supply.

Full power is one setting of the volume: the highest at which the amplifier, on its own supply and
behind the filters, is at its end nowhere in the band.
"""

from __future__ import annotations

import math
from collections.abc import Collection
from dataclasses import dataclass, replace

import numpy as np

from boxlab.base.quantities import span
from boxlab.car.build_value import stops_of
from boxlab.gear.job import Job
from boxlab.model.enclosure import SealedBox
from boxlab.model.first_stop import FirstStop, first_stop
from boxlab.model.limits import AMPLIFIER, CURRENT, SUPPLY
from boxlab.model.power_stage import Output
from boxlab.model.response import Response, solve

FIRST = {
    "amplifier": "the amplifier is at its end first",
    "amplifier's current": "the amplifier's current is at its end first",
    "supply": "the supply can give no more first",
    "cone excursion": "the cone is at the end of its travel first",
    "radiator excursion": "the radiators are at the end of their travel first",
    "air speed": "the port is noisy first",
    "heat": "the coil is at its rated heat first",
}
HIGHEST = 100.0  # Hz, of the programme


def watts(job: Job) -> tuple[float, float]:
    """(what the amplifier is rated at, W; the load of that, Ω) with the coils as they are wired.

    Raises
    ------
    ValueError
        If the job has no amplifier, or that load is below what the amplifier allows.
    """
    if job.amplifier is None:
        raise ValueError('no amplifier is given: write [amplifier] with "4 ohm" = "300 W".')
    if job.too_low:
        raise ValueError(job.too_low)
    return float(job.amplifier.power(job.load)), job.load


def lowest(box) -> float:
    """The lowest note of the programme, Hz: 0.7 of the tuning, 25 Hz for a sealed box."""
    return 25.0 if isinstance(box, SealedBox) else 0.7 * float(box.tuning())


SIGNAL = ("filters", "amplifier", "supply")  # what a job may say of its signal beside the watts


def counted(job: Job, of: Collection[str] = SIGNAL) -> str:
    """What of the job's signal is in these sums beside its watts, in words; "" for nothing."""
    told = []
    if "filters" in of and job.chain is not None:
        told.append(f"filters: {job.chain.words}")
    table, supply = job.tables.get("amplifier", {}), job.supply
    for key, unit in (("rail", "V"), ("current", "A")):
        if "amplifier" in of and key in table:
            told.append(f"the amplifier's {key}: {table[key]:g} {unit} peak")
    if "supply" in of and supply is not None:
        told.append(f"supply: {supply.voltage:g} V behind {1e3 * supply.resistance:g} mΩ")
    return "; ".join(told)


def held(job: Job) -> tuple[Job, ...]:
    """The job with an amplifier whose rails stay while the supply sags, where nothing is said."""
    amplifier = job.tables.get("amplifier", {})
    if job.amplifier is None or "supply" not in job.tables or "regulated" in amplifier:
        return ()
    tables = dict(job.tables) | {"amplifier": dict(amplifier) | {"regulated": "yes"}}
    return (replace(job, tables=tables),)


def assumed(job: Job) -> str:
    """What is assumed of the amplifier in sums on a supply that sags, in words; "" for nothing."""
    table, amplifier = job.tables.get("amplifier", {}), job.amplifier
    taken = {
        "regulated": "rails that follow the supply",
        "rated_at": f"rated at {amplifier.rated_at:g} V",
        "efficiency": f"{100 * amplifier.efficiency:g} % efficiency",
    }
    open_ = [key for key in taken if key not in table]
    if not open_:
        return ""
    keys = ", ".join(open_)
    return f"assumed: {', '.join(taken[key] for key in open_)} (write {keys} under [amplifier])"


@dataclass(frozen=True, eq=False)
class FullPower:
    """A job at full power. `setting` is V rms before the filters, `first` the whole band's stop."""

    power: float
    load: float
    setting: float
    solved: Response
    first: FirstStop

    @property
    def stops(self) -> tuple[tuple[float, float, str], ...]:
        """Stretches of the band by what stops a steady tone there: (from Hz, to Hz, limit)."""
        return stops_of(self.first.ceiling)

    @property
    def below(self) -> float:
        """How far the first stop lies below full power, dB; 0 where the amplifier is that stop."""
        return max(0.0, 20 * math.log10(self.setting / float(self.first.voltage)))


def turned_up(full: FullPower, *others: FullPower) -> str:
    """What stops the volume first, in one sentence; `others` give the range of what is assumed."""
    f, every = full.first.frequency, (full, *others)
    at = sorted(float(each.first.at) for each in every if each.first.limit == full.first.limit)
    below = sorted(each.below for each in every)
    far = f"{span(below[0], below[-1], 'dB', 1)} below full power"
    far = "at full power" if below[-1] < 0.05 else far
    more = dict.fromkeys(
        FIRST[str(each.first.limit)] for each in others if each.first.limit != full.first.limit
    )
    also = f" With other values of what is assumed: {'; or '.join(more)}." if more else ""
    return (
        f"Turned up over the whole band, {f[0]:.0f} to {f[-1]:.0f} Hz: "
        f"{FIRST[str(full.first.limit)]}, at {span(at[0], at[-1], 'Hz')} and {far}.{also}"
    )


def left_by_the_supply(job: Job, load: float) -> tuple[Output, ...]:
    """What its supply leaves of a steady tone into a plain load, Ω; a second value if unsaid.

    The second is with rails that are held while the supply sags; none without a supply.
    """
    if job.supply is None:
        return ()
    return tuple(each.stage(load).full_output(1 / load) for each in (job, *held(job)))


def full_power(job: Job, frequency=None) -> FullPower:
    """The job's box at full power over a band, Hz; that of the programme if left out.

    Raises
    ------
    ValueError
        If the job lacks an amplifier, driver or box, or the driver's xmax and pe.
    """
    power, load = watts(job)
    if frequency is None:
        frequency = np.geomspace(lowest(job.box), HIGHEST, 240)
    driver, box, chain = job.system, job.box, job.chain
    first = first_stop(driver, box, frequency, chain, stage=job.stage(load))
    allowed = first.ceiling.voltages
    setting = float(min(np.min(allowed[name]) for name in (AMPLIFIER, CURRENT, SUPPLY)))
    solved = solve(driver, box, frequency, setting, chain=chain)
    return FullPower(power, load, setting, solved, first)


def lines(job: Job) -> list[str]:
    """What stops the box first, in lines; none where the job does not say enough for it."""
    try:
        full = [full_power(each) for each in (job, *job.variants, *held(job))]
    except ValueError:
        return []
    told = counted(job)
    found = ["", "What stops it first (computed):", f"  {turned_up(*full)}"]
    return found + ([f"  Counted: {told}."] if told else [])
