"""A job: what came in, by the figures that a person or a named measurement gave, and no others.

`read_job` makes the model's own values of a job file; `known` says of each how it is known. What is
measured stands apart, under `measured`, and goes before what is typed.
"""

from __future__ import annotations

import math
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property
from pathlib import Path
from types import MappingProxyType

from boxlab.car.joinery import Gap
from boxlab.gear import job_parts
from boxlab.gear.job_chain import Electric
from boxlab.gear.job_keys import KINDS, JobError, parse
from boxlab.model.air import Air
from boxlab.model.completion import (
    DRIVER_FIGURES,
    RADIATOR_FIGURES,
    Completed,
    complete_driver,
    complete_radiator,
)
from boxlab.model.driver import Driver
from boxlab.model.enclosure import PortedBox, RadiatorBox, SealedBox
from boxlab.model.mixed_radiators import MixedRadiatorBox
from boxlab.model.radiator import Radiator
from boxlab.model.relations import COIL, Known, corners

USUAL_QL = Known(
    7.0, "assumed", 5.0, 10.0,
    "leaks usually leave a QL of 5 to 10 (Small, Vented-box loudspeaker systems III, 1973)",
)  # fmt: skip


@dataclass(frozen=True, eq=False)
class Job(Electric):
    """One job as read. `tables` holds what was given, in SI; `path` is where it was read from.

    `driver`, `radiator` and `box` are the model's own values and raise `JobError` where the job
    does not say enough; `problems` lists what stops each. `known` maps "driver.fs" and the like to
    (value, how it is known).
    """

    tables: Mapping[str, object] = field(default_factory=dict)
    path: Path | None = None
    changes: Mapping[str, float] = field(default_factory=dict)  # for the range of an answer

    @property
    def name(self) -> str:
        """What the job is called."""
        said = self._table("job").get("name", "")
        return said or (self.path.name.removesuffix(".job.toml") if self.path else "a job")

    def _table(self, section) -> dict:
        return dict(self.tables.get(section, {}))

    def _figures(self, section, names) -> dict[str, Known]:
        """Given and measured figures of a section, measured before given, changes before both."""
        given = {n: Known(v, "given") for n, v in self._table(section).items() if n in names}
        measured = self.tables.get("measured", {}).get(section, {})
        if set(measured) & set(COIL):  # a coil as it was measured is one whole
            given = {n: k for n, k in given.items() if n not in COIL}
        given |= {n: k for n, k in measured.items() if n in names}
        if "size" in given:  # the completion takes it in inches
            given["size"] = Known(given["size"].value / 0.0254, "given")
        mark = f"{section}."
        changed = {n.removeprefix(mark): v for n, v in self.changes.items() if n.startswith(mark)}
        return given | {n: Known(v, "given") for n, v in changed.items()}

    @cached_property
    def driver_data(self) -> Completed:
        """The completed figures of one driver."""
        return complete_driver(**self._figures("driver", DRIVER_FIGURES))

    @cached_property
    def radiator_data(self) -> Completed:
        """The completed figures of one bare radiator."""
        return complete_radiator(**self._figures("radiator", RADIATOR_FIGURES))

    @property
    def count(self) -> int:
        """How many drivers there are."""
        return self._table("driver").get("count", 1)

    @property
    def radiators(self) -> int:
        """How many radiators there are; 0 where the box has none."""
        table = self._table("radiator")
        added = table.get("added_mass")
        usual = len(added) if isinstance(added, list) else 1
        return table.get("count", usual) if "radiator" in self.tables else 0

    @property
    def weights(self) -> tuple[float, ...]:
        """The weights on each radiator, kg, one for each; they may differ.

        Raises
        ------
        JobError
            If a list of weights is not as long as there are radiators.
        """
        return job_parts.weights_of(self._table("radiator"), self.radiators)

    @cached_property
    def driver(self) -> Driver:
        """One driver.

        Raises
        ------
        JobError
            If the job does not say enough, or contradicts itself.
        """
        values = {n: k.value for n, k in self._insist("driver", self.driver_data).known.items()}
        take = ("re", *COIL, "bl", "mms", "cms", "rms", "sd", "xmax", "pe")
        name = self._table("driver").get("name", "the driver of the job")
        return Driver(**{n: values[n] for n in take if n in values}, name=name)

    @cached_property
    def system(self) -> Driver:
        """All drivers as one, wired and mounted as the job says, their coils as warm as it says."""
        return job_parts.drivers_of(self.driver, self._table("driver"))

    @property
    def faces(self) -> int:
        """How many drivers face outward: of an isobaric pair, one."""
        return 1 if self._table("driver").get("mounted") == "isobaric" else self.count

    @cached_property
    def radiator(self) -> Radiator:
        """One radiator with its weights; where they differ from one to the next, with their mean.

        `box` has each with its own.

        Raises
        ------
        JobError
            If the job has none, or does not say enough.
        """
        if "radiator" not in self.tables:
            raise JobError("The job has no radiator: write [radiator] with mms and sd or size.")
        values = {n: k.value for n, k in self._insist("radiator", self.radiator_data).known.items()}
        added = sum(self.weights) / len(self.weights)
        return Radiator(
            sd=values["sd"], mms=values["mms"], cms=values["cms"], rms=values["rms"],
            xmax=values.get("xmax", math.inf), added_mass=added,
            name=self._table("radiator").get("name", "the radiator of the job"),
        )  # fmt: skip

    def _insist(self, section, data):
        try:
            return data.insist(section)
        except ValueError as error:
            raise JobError(str(error)) from None

    def _box_known(self, key):
        measured = self.tables.get("measured", {})
        found = measured.get("after", {}).get(key) or measured.get("box", {}).get(key)
        given = self._table("box").get(key)
        known = found or (None if given is None else Known(given, "given"))
        if f"box.{key}" in self.changes:
            return Known(self.changes[f"box.{key}"], "given")
        return known

    @cached_property
    def ql(self) -> Known:
        """The leak of the box as QL, given, measured or assumed."""
        return self._box_known("ql") or USUAL_QL

    @cached_property
    def box(self) -> SealedBox | PortedBox | RadiatorBox | MixedRadiatorBox:
        """The box; a MixedRadiatorBox where the weights on its radiators differ.

        Raises
        ------
        JobError
            If kind or volume are missing, or the vent is not known.
        """
        table = self._table("box")
        volume = self._box_known("volume")
        if volume is None:
            raise JobError('The net volume is missing: write volume = "0.77 ft3" under [box].')
        kind = table.get("kind")
        if kind is None:
            raise JobError(f"The kind of box is missing: write kind, one of {', '.join(KINDS)}.")
        try:
            losses = job_parts.losses_of(kind, self._box_known, self.ql)
            if kind == "sealed":
                return SealedBox(volume.value)
            if kind == "radiator":
                return job_parts.radiator_box(volume.value, self.radiator, self.weights, **losses)
            fb, ends = self._box_known("fb"), self.changes.get("box.ends")
            return job_parts.ported_box(volume.value, table, fb and fb.value, ends, **losses)
        except JobError:
            raise
        except ValueError as error:
            raise JobError(f"box: {error}") from None

    @cached_property
    def air(self) -> Air:
        """The air that the job is asked about; its box is tuned in that of 20 °C at sea level."""
        return job_parts.air_of(self._table("air"))

    @cached_property
    def gap(self) -> Gap | None:
        """The gap for the box, or None where the job has no gap."""
        table = self._table("gap")
        missing = [key for key in ("width", "height", "depth_bottom") if key not in table]
        if table and missing:
            raise JobError(f"gap: {', '.join(missing)} is missing.")
        return Gap(**table) if table else None

    @property
    def measurements(self) -> tuple[dict, ...]:
        """What was measured, as listed in the file, in order."""
        return tuple(self.tables.get("measurement", ()))

    @cached_property
    def known(self) -> Mapping[str, Known]:
        """ "section.name" -> (value, how it is known); bare names find the driver's first."""
        out = job_parts.Names(job_parts.joined_unsaid(self._table("driver")))
        parts = [("driver", self.driver_data)] if "driver" in self.tables else []
        parts += [("radiator", self.radiator_data)] if "radiator" in self.tables else []
        for section, data in parts:
            out |= {f"{section}.{name}": known for name, known in data.known.items()}
            for name, value in self._table(section).items():
                out.setdefault(f"{section}.{name}", Known(value, "given"))
        for section in (
            "box", "amplifier", "supply", "filters", "gap", "cabin", "cable", "air",
        ):  # fmt: skip
            for name, value in self._table(section).items():
                if name != "ratings":
                    out[f"{section}.{name}"] = (
                        self._box_known(name) if section == "box" else Known(value, "given")
                    )
        for load, power in self._table("amplifier").get("ratings", {}).items():
            out[f"amplifier.{load:g} ohm"] = Known(power, "given")
        measured = self.tables.get("measured", {})
        for name, known in (measured.get("box", {}) | measured.get("after", {})).items():
            out[f"box.{name}"] = known
        if self._table("box").get("kind") in ("ported", "radiator"):
            out.setdefault("box.ql", self.ql)
        return out

    @property
    def assumed(self) -> dict[str, Known]:
        """What had to be assumed for the model, by "section.name"."""
        return {name: known for name, known in self.known.items() if known.how == "assumed"}

    @property
    def problems(self) -> tuple[str, ...]:
        """What stops the driver, the radiator or the box from being used, in sentences."""
        found = []
        wanted = ("driver", "radiator", "box", "amplifier", "supply", "filters", "gap", "air")
        for name in [n for n in wanted if n in self.tables] or ["driver"]:
            try:
                getattr(self, {"filters": "chain", "driver": "system"}.get(name, name))
            except ValueError as error:
                found.append(str(error))
        return tuple(dict.fromkeys(found))

    @cached_property
    def variants(self) -> tuple[Job, ...]:
        """This job with what is assumed at the ends of its range, for the range of an answer."""
        names = {n: k for n, k in self.assumed.items() if k.high > k.low}
        return tuple(replace(self, changes=change) for change in corners(names))


def read_job(path) -> Job:
    """Read a job file.

    Parameters
    ----------
    path : str or Path of NAME.job.toml

    Raises
    ------
    JobError
        If it cannot be read; the message names the line or the key and what to write instead.
    """
    path = Path(path)
    try:
        document = tomllib.loads(path.read_text(encoding="utf-8"))
    except FileNotFoundError:
        raise JobError(f"There is no {path}. Make one: python -m boxlab job new NAME") from None
    except UnicodeDecodeError:
        raise JobError(f"{path} is not text. A job file is plain text (UTF-8).") from None
    except tomllib.TOMLDecodeError as error:
        raise JobError(
            f'{path}: {error}. Each line is key = "quantity with unit", under a [section].'
        ) from None
    except OSError as error:
        raise JobError(f"{path} cannot be read: {error.strerror or error}.") from None
    return Job(MappingProxyType(parse(document)), path)
