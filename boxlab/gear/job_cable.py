"""What the supply cable of a job feeds, and how it lies: one answer for the sheet and the question.

How a cable lies decides how much heat it can give away. Where the job does not say, it is taken as
closed in, for that is where cable in a car mostly lies, and it is the safe one of the two.
"""

from __future__ import annotations

from dataclasses import dataclass

from boxlab.car.ampacity import CLOSED, LAID, OPEN
from boxlab.car.cable import supply_current
from boxlab.car.wiring import nominal
from boxlab.gear.job import Job

VOLTAGE, EFFICIENCY, DROP = 13.8, 0.75, 0.5  # V, ratio, V: said beside each number they make
LIES = (
    "closed in is under carpet or trim, or in a conduit",
    f'write laid = "{LAID[0]}" or laid = "{CLOSED}" under [cable]',
)


@dataclass(frozen=True)
class Feed:
    """The most that the amplifier is rated for, and the supply it is fed from.

    `power` is in W, `load` in Ω is that of this rating, `wired` that of the coils as they are wired
    (None where that is not known), `voltage` in V. `told` names what the job says of `voltage`,
    `efficiency` and `laid`; the rest is assumed.
    """

    power: float
    load: float
    wired: float | None
    voltage: float
    efficiency: float
    laid: str
    told: frozenset[str]

    @property
    def current(self) -> float:
        """Current at full power, A."""
        return float(supply_current(self.power, self.voltage, self.efficiency))

    @property
    def words(self) -> str:
        """Which watts these are and why, and from how many volts."""
        why = f"{self.power:g} W into {self.load:g} Ω, the most that the amplifier may draw for"
        if self.wired is not None and self.wired != self.load:
            why += f", though this box is wired for {self.wired:g} Ω"
        return (
            f"{why}; at {100 * self.efficiency:g} % efficiency{self._how('efficiency')}, "
            f"{self.voltage:g} V{self._how('voltage')}"
        )

    def _how(self, name):
        return "" if name in self.told else " (assumed)"


def laid_of(job: Job | None) -> str:
    """How a cable lies: as the job says, else closed in; with no job as in the lesson, free."""
    if job is None:
        return OPEN
    return job.tables.get("cable", {}).get("laid", CLOSED)


def feed_of(job: Job) -> Feed | None:
    """What the cable of a job feeds; None where the job has no amplifier."""
    if job.amplifier is None:
        return None
    load, power = max(job.amplifier.ratings.items(), key=lambda each: each[1])
    cable, supply = job.tables.get("cable", {}), job.tables.get("supply", {})
    said = {
        "voltage": cable.get("supply", supply.get("voltage")),
        "efficiency": job.tables.get("amplifier", {}).get("efficiency"),
        "laid": cable.get("laid"),
    }
    usual = {"voltage": VOLTAGE, "efficiency": EFFICIENCY, "laid": CLOSED}
    told = frozenset(name for name, value in said.items() if value is not None)
    taken = {name: said[name] if name in told else usual[name] for name in usual}
    try:
        wired = nominal(job.cold)
    except ValueError:
        wired = None
    return Feed(float(power), float(load), wired, **taken, told=told)
