"""The electric part of a job: amplifier, supply, and the filters before them."""

from __future__ import annotations

from dataclasses import replace
from functools import cached_property

from boxlab.car.wiring import Amplifier, nominal
from boxlab.gear.job_keys import JobError
from boxlab.gear.job_parts import coil_share, drivers_of, shares_of
from boxlab.model.chain import Chain, HighPass, LowPass, Peak, Shelf
from boxlab.model.driver import Driver
from boxlab.model.power_stage import PowerStage, Supply


class Electric:
    """What `Job` knows of its amplifier, supply and filters; `_table(section)` gives the tables."""

    @cached_property
    def cold(self) -> Driver:
        """All drivers as one with their coils at 20 °C: what a meter reads, and a load is told by.

        Raises
        ------
        JobError
            As for `system`.
        """
        table = self._table("driver")
        table.pop("coil_temperature", None)
        return drivers_of(self.driver, table)

    @property
    def coil(self) -> float:
        """The rated load of one voice coil, Ω, by its resistance.

        Raises
        ------
        JobError
            As for `system`.
        """
        share = coil_share(self._table("driver"))
        return nominal(replace(self.driver, re=self.driver.re / share))

    @cached_property
    def load(self) -> float:
        """The rated load of all coils as they are wired, Ω: so many of `coil`, and no round figure.

        Raises
        ------
        JobError
            As for `system`.
        """
        table = self._table("driver")
        return self.coil * coil_share(table) * shares_of(table)[0]

    @property
    def too_low(self) -> str:
        """Why these coils are no load for its amplifier, in words; "" where they may be one."""
        try:
            load, amplifier = self.load, self.amplifier
        except ValueError:
            return ""
        if amplifier is None or load >= amplifier.minimum * (1 - 1e-9):
            return ""
        least = f"{amplifier.minimum:.3g} Ω"
        return (
            f"As told, the coils are wired for {load:.3g} Ω, and the amplifier is rated for "
            f"{least} or more: wire them for {least} or more, or use one rated for {load:.3g} Ω."
        )

    @cached_property
    def amplifier(self) -> Amplifier | None:
        """The amplifier, or None where the job says nothing of its power."""
        table = self._table("amplifier")
        if "ratings" not in table:
            return None
        names = ("ratings", "minimum", "rail", "current", "rated_at", "efficiency")
        given = {name: table[name] for name in names if name in table}
        return Amplifier(**given, regulated=table.get("regulated") == "yes")

    @cached_property
    def supply(self) -> Supply | None:
        """The supply that sags, or None where the job says nothing of its resistance.

        Raises
        ------
        JobError
            If its voltage or resistance is missing, or cannot be.
        """
        table = self._table("supply")
        if not table:
            return None
        missing = [name for name in ("voltage", "resistance") if name not in table]
        if missing:
            raise JobError(
                f"supply: {' and '.join(missing)} is missing: write voltage, at the battery "
                'without load, and resistance of battery and cable together: "13.8 V", "20 mΩ".'
            )
        try:
            return Supply(**table)
        except ValueError as error:
            raise JobError(f"supply: {error}") from None

    def stage(self, load, share=1.0) -> PowerStage | None:
        """What its amplifier puts out into a rated `load`, Ω, on its own supply; None without one.

        Raises
        ------
        ValueError
            As `boxlab.car.wiring.Amplifier.power`.
        """
        amplifier = self.amplifier
        return None if amplifier is None else amplifier.stage(load, self.supply, share)

    @cached_property
    def chain(self) -> Chain | None:
        """The filters before the amplifier, or None where the job has none.

        Raises
        ------
        JobError
            If a filter's frequency, gain or Q is missing, or cannot be.
        """
        table = self._table("filters")
        if not table:
            return None
        stages = []
        try:
            for name, kind in (("high_pass", HighPass), ("low_pass", LowPass)):
                if _asked(table, name, (name,)):
                    order, q = table.get(f"{name}_order", 2), table.get(f"{name}_q")
                    stages.append(kind(table[name], order, q))
            if _asked(table, "boost", ("boost", "boost_at", "boost_q")):
                stages.append(Peak(table["boost_at"], table["boost"], table["boost_q"]))
            if _asked(table, "shelf", ("shelf", "shelf_at")):
                q = {"q": table["shelf_q"]} if "shelf_q" in table else {}
                stages.append(Shelf(table["shelf_at"], table["shelf"], **q))
        except JobError:
            raise
        except ValueError as error:
            raise JobError(f"filters: {error}") from None
        return Chain(tuple(stages))


_EXAMPLE = {
    "high_pass": '"28 Hz"', "low_pass": '"80 Hz"', "boost": '"6 dB"', "boost_at": '"40 Hz"',
    "boost_q": '"1"', "shelf": '"4 dB"', "shelf_at": '"35 Hz"',
}  # fmt: skip


def _asked(table, name, needed):
    """Whether a job has this filter; part of one is refused."""
    has = [key for key in table if key == name or key.startswith(f"{name}_")]
    missing = [key for key in needed if key not in table]
    if has and missing:
        told = ", ".join(f"{key} = {_EXAMPLE[key]}" for key in missing)
        raise JobError(f"filters: {has[0]} is there and {missing[0]} is missing: write {told}.")
    return bool(has)
