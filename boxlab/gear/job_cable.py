"""What the supply cable of a job feeds, and how it lies: one answer for the sheet and the question.

How a cable lies decides how much heat it can give away. Where the job does not say, it is taken as
closed in, for that is where cable in a car mostly lies, and it is the safe one of the two.

How much current flows at full power hangs on the amplifier's rails: held while the supply sags, it
draws more; following the supply, less. Where the job does not say which, the larger counts.
"""

from __future__ import annotations

from dataclasses import dataclass

from boxlab.car.ampacity import CLOSED, LAID, OPEN
from boxlab.car.cable import supply_current
from boxlab.car.wiring import nominal
from boxlab.gear.job import Job
from boxlab.model.power_stage import Supply

VOLTAGE, EFFICIENCY, DROP = 13.8, 0.75, 0.5  # V, ratio, V: said beside each number they make
REST = 12.0  # V: a battery without its alternator, under load; round
LIES = (
    "closed in is under carpet or trim, or in a conduit",
    f'write laid = "{LAID[0]}" or laid = "{CLOSED}" under [cable]',
)


@dataclass(frozen=True)
class Feed:
    """The most that the amplifier is rated for, and the supply it is fed from.

    `rated` is in W, `load` in Ω is that of this rating, `wired` that of the coils as they are wired
    (None where that is not known), `open` V without load, `resistance` Ω of the supply. `rails` is
    how they may be, "held" or "follow" or both where nobody said, each with the (W, V at the
    amplifier) that it comes to. `told` names what the job says of `voltage`, `efficiency` and
    `laid`; the rest is assumed.
    """

    rated: float
    load: float
    wired: float | None
    open: float
    resistance: float
    rails: dict[str, tuple[float, float]]
    efficiency: float
    laid: str
    told: frozenset[str]

    @property
    def _larger(self) -> str:
        return max(self.rails, key=self.amperes)

    @property
    def power(self) -> float:
        """W put out at the larger of the currents."""
        return self.rails[self._larger][0]

    @property
    def voltage(self) -> float:
        """V at the amplifier then."""
        return self.rails[self._larger][1]

    @property
    def current(self) -> float:
        """Current at full power, A, the larger where that hangs on something the job leaves out."""
        return self.amperes(self._larger)

    @property
    def least(self) -> float:
        """The smaller of the currents, A."""
        return min(self.amperes(each) for each in self.rails)

    def amperes(self, rails: str) -> float:
        """Current at full power, A, with rails that are "held" or "follow"."""
        power, volts = self.rails[rails]
        return float(supply_current(power, volts, self.efficiency))

    @property
    def words(self) -> str:
        """Which watts these are and why, from how many volts, and what that hangs on."""
        why = f"{self.rated:g} W into {self.load:g} Ω, the highest rating of the amplifier and so "
        why += "the most that it may draw"
        if self.wired is not None and self.wired != self.load:
            why += f", though this box is wired for {self.wired:g} Ω"
        return (
            f"{why}; at {100 * self.efficiency:g} % efficiency{self._how('efficiency')}, "
            f"{self.open:g} V{self._how('voltage')}{self._sags()}"
        )

    @property
    def may_rest(self) -> bool:
        """Whether it may draw more from a battery at rest, where nothing is said of the supply."""
        plain = self.least == self.current and not self.resistance
        return plain and "voltage" not in self.told and self.rails.keys() != {"follow"}

    def _sags(self):
        """What the current hangs on beside the rating, in words."""
        if self.least == self.current and not self.resistance:
            if not self.may_rest:
                return ""
            more = supply_current(self.rated, REST, self.efficiency)
            return (
                f"; with rails that are held and {REST:g} V at the amplifier it is {more:.0f} A: "
                "write [supply] if it plays without the engine"
            )
        told = {
            "held": "with rails that are held while the supply sags",
            "follow": "with rails that follow the supply",
        }
        behind = f" behind {1e3 * self.resistance:g} mΩ" if self.resistance else ""
        said = " or ".join(
            f"{self.amperes(each):.0f} A {told[each]} to {volts:.1f} V"
            for each, (_, volts) in self.rails.items()
        )
        beyond = ", more than this supply can give" * self._beyond
        which = (
            "; the job does not say which, and cable and fuse are for the larger (write regulated "
            "under [amplifier])"
        )
        return f"{behind}: {said}{beyond}{which * (len(self.rails) > 1)}"

    @property
    def _beyond(self):
        wanted = self.rated / self.efficiency
        return "held" in self.rails and bool(wanted > Supply(self.open, self.resistance).most)

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
    amplifier = job.tables.get("amplifier", {})
    said = {
        "voltage": cable.get("supply", supply.get("voltage")),
        "efficiency": amplifier.get("efficiency"),
        "laid": cable.get("laid"),
    }
    usual = {"voltage": VOLTAGE, "efficiency": EFFICIENCY, "laid": CLOSED}
    told = frozenset(name for name, value in said.items() if value is not None)
    taken = {name: said[name] if name in told else usual[name] for name in usual}
    volts, efficiency = taken["voltage"], taken["efficiency"]
    ohms = float(supply.get("resistance", 0.0))
    rails = _rails(float(power), Supply(volts, ohms), efficiency, job.amplifier.rated_at)
    if "regulated" in amplifier:
        kept = "held" if amplifier["regulated"] == "yes" else "follow"
        rails = {kept: rails[kept]}
    try:
        wired = nominal(job.cold)
    except ValueError:
        wired = None
    return Feed(
        float(power), float(load), wired, volts, ohms, rails, efficiency, taken["laid"], told
    )


def _rails(power, supply, efficiency, rated_at):
    """(W put out, V at the amplifier) with rails that are held, and with rails that follow."""
    wanted = power / efficiency
    held = supply.under(min(wanted, supply.most))
    # derived: V = V0 − R·I, with I = wanted·V/rated_at² of rails that follow
    follow = supply.voltage / (1 + supply.resistance * wanted / rated_at**2)
    return {
        "held": (power, float(held)),
        "follow": (power * float(follow / rated_at) ** 2, float(follow)),
    }
