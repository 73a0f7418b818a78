"""What one asks of a box before anything is fitted, as a row of choices. No physics here."""

from __future__ import annotations

from collections.abc import Callable

import ipywidgets as widgets

from boxlab.gear.job import Job
from boxlab.gear.job_keys import COIL_WIRINGS, KINDS, MOUNTED
from boxlab.model.several import WIRINGS

UNSAID = "not said"
COUNTS = tuple(range(1, 9))
QUESTIONS = (  # section, key, words, answers
    ("box", "kind", "box", KINDS),
    ("driver", "count", "drivers", COUNTS),
    ("driver", "wiring", "joined in", WIRINGS),
    ("driver", "mounted", "mounted", MOUNTED),
    ("driver", "coils", "coils in each", COUNTS[:4]),
    ("driver", "coil_wiring", "coils joined in", COIL_WIRINGS),
    ("radiator", "count", "radiators", COUNTS),
)


class Questions:
    """The row is `box`. `answer(section, key, value)` is called when a person chooses; value None
    stands for "not said"."""

    def __init__(self, answer: Callable[[str, str, object], object]):
        self._answer, self._showing = answer, False
        self.choices = {(s, k): self._choice(s, k, *more) for s, k, *more in QUESTIONS}
        self.box = widgets.HBox(
            [widgets.HTML("<b>Ask first:</b>"), *self.choices.values()],
            layout={"flex_flow": "row wrap"},
        )
        self.show(None)

    def show(self, job: Job | None) -> None:
        """Set every choice to what the job says, and show those that its box has."""
        tables = {} if job is None else job.tables
        self._showing = True
        for (section, key), choice in self.choices.items():
            said = tables.get(section, {}).get(key, UNSAID)
            if said not in choice.options:  # sixteen drivers, say
                choice.options = (*choice.options, said)
            choice.value = said
        driver = tables.get("driver", {})
        for place, wanted in (
            (("driver", "wiring"), driver.get("count", 1) > 1),
            (("driver", "mounted"), driver.get("count", 1) == 2),
            (("driver", "coil_wiring"), driver.get("coils", 1) > 1),
            (("radiator", "count"), tables.get("box", {}).get("kind") == "radiator"),
        ):
            self.choices[place].layout.display = None if wanted else "none"
        self._showing = False

    def _choice(self, section, key, words, answers):
        made = widgets.Dropdown(
            description=words, options=(UNSAID, *answers), layout={"width": "auto"},
            style={"description_width": "auto"},
        )  # fmt: skip
        made.observe(lambda change: self._chosen(section, key, change["new"]), "value")
        return made

    def _chosen(self, section, key, said):
        if not self._showing:
            self._answer(section, key, None if said == UNSAID else said)
