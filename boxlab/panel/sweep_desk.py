"""A bench for a learner's own sweep: upload or paste it, see it against the design, take it away.

No physics here: `sweep_report` fits and words, `sweep_store` keeps the copies.
"""

from __future__ import annotations

import base64
import warnings
from dataclasses import fields, replace
from functools import cache

import ipywidgets as widgets

from boxlab.base import progress
from boxlab.base.drafts import Drafts
from boxlab.base.typed_values import UnreadableError, in_unit
from boxlab.draw import figures
from boxlab.gear.demo_sweeps import CASES, measure, table, with_fault
from boxlab.measure import read_sweep
from boxlab.measure.fit import faults
from boxlab.panel import sweep_store
from boxlab.panel.panel_parts import STYLE, Fold, error_html, upload
from boxlab.panel.settings_text import figure, safe
from boxlab.panel.sweep_plan import BUILDS, LABELS, Plan
from boxlab.panel.sweep_report import report

LIMIT = 2_000_000  # bytes; a thousand lines have some 30 000
QUESTION = "Your own sweep: what does it say, and how does it differ from the design?"
TOO_LARGE = (  # a page cannot tell the kernel of a file that is cut off on its way
    f"A text file, {LIMIT / 1e6:g} MB at most. If nothing happens, yours was far too large to come "
    "through: run this cell again, and nothing that was kept is lost."
)
UNITS = "<p>Another unit can stand behind a number: 0.5 ft3, 52 in2, 3.5 oz.</p>"
PASTED = "sweep pasted"  # the paste box among the drafts
_OF_RADIATOR = ("radiator_sd", "mass", "compliance")


def sample():
    """The table that lies on the desk at first: the class's box, built a little too small."""
    case = with_fault(CASES["radiator"], "small volume", 0.5)
    return "class-box.csv", table(measure(case, seed=5)).encode()


@cache
def _sample_report():
    name, data = sample()
    return report(read_sweep({"name": name, "content": data}), Plan())


class Desk:
    """Display it as the last line of a cell. `report` is the last sweep that could be read."""

    def __init__(self):
        self.report = None
        self.trouble = ""  # why the last table could not be used
        self.fault = None  # what went wrong in the desk itself
        self._sweep = None
        self._wrong = ""  # what was put right in the last table
        self._note = ""  # where its copy lies
        self._drafts = Drafts(progress.home)
        self._make()
        made = _sample_report()
        self._sweep = made.sweep
        self._show(made)

    # What a learner does.

    def take(self, name, data):
        """Keep and read a table: its name and its bytes. Returns True if it could be used."""
        name, self._note = sweep_store.plain(name), ""
        if len(data) > LIMIT:
            self._fail(
                f"{name} was not read.",
                f"It has {len(data) / 1e6:.1f} MB, and the limit is {LIMIT / 1e6:g} MB: a sweep "
                "has a few hundred lines. Is it a recording? Export the impedance as text.",
            )
            return False
        self._sample = False
        self._keep(name, bytes(data))
        return self._read(name, bytes(data))

    def paste(self, *_):
        """Take in what is in the paste box; it stays there. Until it can be read, so it does if the
        kernel is restarted."""
        text = self.pasted.value
        if not text.strip():
            self._fail("Nothing to read.", "Paste the rows of your table into the box first.")
            return
        if self.take("pasted.txt", text.encode(errors="replace")):
            self._drafts.put(PASTED, None)

    def redraw(self, *_):
        """Hold the sweep on the desk against the design as it now stands."""
        for name in _OF_RADIATOR:
            self.boxes[name].layout.display = None if self.build.value == "radiator" else "none"
        if self._sweep is None:
            return
        self._try("The design cannot be used as set.", lambda: report(self._sweep, self.plan()))

    def _still_ours(self):
        """The boxes in use that still hold the class's values, by their labels."""
        return [
            LABELS[name][0]
            for name, box in self.boxes.items()
            if box.layout.display != "none" and box.value == figure(getattr(Plan(), name))
        ]

    def plan(self):
        """The design in the boxes, a Plan.

        Raises
        ------
        ValueError
            If what stands in one of them is no number with a unit that fits.
        """
        typed = {name: self._typed(name) for name in self.boxes}
        return replace(Plan(), build=self.build.value, **typed)

    def _typed(self, name):
        """What stands in a box; what cannot be read is named, and the last value that could counts.

        One box that is being changed does not stop the others.
        """
        label, unit = LABELS[name]
        try:
            self._good[name] = in_unit(self.boxes[name].value, unit)[0]
            self._bad.pop(name, None)
        except UnreadableError as error:
            self._bad[name] = (
                f"{label}: {error} Until then it is {figure(self._good[name])} {unit}."
            )
        return self._good[name]

    # How it is made.

    def _make(self):
        plan = Plan()
        self._bad: dict[str, str] = {}
        self._good = {each.name: getattr(plan, each.name) for each in fields(Plan)}
        self._sample = True
        kinds = ".csv,.txt,.tsv,.dat,.asc,text/plain"
        self.upload = upload("choose a file", accept=kinds, multiple=False)
        self.pasted = widgets.Textarea(
            description="or paste here",
            placeholder="20; 6.5; 31\n25; 8.2; 40",
            value=self._drafts.get(PASTED) or "",
            layout={"width": "98%", "height": "6em"},
            style={"description_width": "auto"},
        )
        self.use = widgets.Button(description="read what I pasted", layout={"width": "auto"})
        self.earlier = widgets.Dropdown(
            description="earlier", options=[("–", "")], layout={"width": "auto"}
        )
        self.build = widgets.ToggleButtons(
            options=BUILDS, value=plan.build, description="box", style={"button_width": "auto"}
        )
        self.boxes = {
            each.name: widgets.Text(
                value=figure(getattr(plan, each.name)),
                description=", ".join(filter(None, LABELS[each.name])),
                style={"description_width": "auto"},
                layout={"width": "auto"},
                continuous_update=False,
            )
            for each in fields(Plan)
            if each.name != "build"
        }
        for box in self.boxes.values():
            box.add_class("boxlab-typed")
        self.compare = widgets.Button(
            description="compare with this design", button_style="primary"
        )
        self.compare.layout.width = "auto"
        self.message, self.image = widgets.HTML(), widgets.Image(format="png")
        self.said, self.links = widgets.HTML(), widgets.HTML()
        self.text = widgets.Textarea(
            description="results", layout={"width": "98%", "height": "12em"}
        )  # not disabled: a keyboard has to reach it to copy
        grid = widgets.HBox(list(self.boxes.values()), layout={"flex_flow": "row wrap"})
        design = Fold("the box as designed", [self.build, grid, widgets.HTML(UNITS), self.compare])
        results = Fold("results as Markdown", [self.text])
        self.box = widgets.VBox(
            [
                widgets.HTML(STYLE + f"<p class='boxlab-q'>{safe(QUESTION)}</p>"),
                widgets.HBox([self.upload, self.earlier], layout={"flex_flow": "row wrap"}),
                widgets.HTML(f"<p>{TOO_LARGE}</p>"),
                self.pasted, self.use, self.message, design.button, design.box, self.image,
                self.said, self.links, results.button, results.box,
            ]
        )  # fmt: skip
        self.box.add_class("boxlab")
        for button in (self.use, self.compare, design.button, results.button):
            button.layout.align_self = "flex-start"
        self.upload.observe(self._uploaded, "value")
        self.pasted.observe(lambda c: self._drafts.put(PASTED, c["new"] or None), "value")
        self.use.on_click(self.paste)
        self.compare.on_click(self.redraw)
        self.build.observe(self.redraw, "value")
        self.earlier.observe(self._again, "value")
        self._list()

    def _uploaded(self, change):
        for file in change["new"].values() if isinstance(change["new"], dict) else change["new"]:
            self.take(file.get("name", "upload.txt"), file["content"])

    def _again(self, change):
        if not change["new"]:
            return
        try:
            data = change["new"].read_bytes()
        except OSError as trouble:
            self._fail("That copy cannot be read.", str(trouble))
            return
        self._read(sweep_store.title(change["new"]).rsplit(",", 1)[0], data)

    def _list(self):
        options = [("–", ""), *((sweep_store.title(p), p) for p in sweep_store.kept()[:30])]
        self.earlier.options = options

    def _keep(self, name, data):
        try:
            path = sweep_store.keep(name, data)
        except OSError as trouble:
            self._note = error_html(
                "No copy could be kept.", f"{trouble}. The sweep stays on this page only."
            )
            return
        self._list()
        self._note = f"<p>A copy is kept as {safe(str(path))}.</p>"

    def _read(self, name, data):
        def made():
            sweep, self._wrong = faults.righted(read_sweep({"name": name, "content": data}))
            self._sweep = sweep
            return report(sweep)  # alone: the design in the boxes is the class's until it is said

        return self._try(f"{name} could not be used.", made)

    def _try(self, what, make):
        """Show what `make()` reports, or say why not. Returns True if it is shown."""
        self.fault = None
        try:
            with warnings.catch_warnings(record=True) as caught:
                warnings.simplefilter("always", UserWarning)
                made = make()
            said = [*filter(None, [self._wrong]), *self._bad.values()]
            said += [str(w.message) for w in caught]
            ours = [] if made.plan is None or self._sample else self._still_ours()
            if ours:
                said.insert(0, f"these are still the class's values, not yours: {', '.join(ours)}.")
            self._show(made, list(dict.fromkeys(said)))
        except ValueError as trouble:
            self._fail(what, str(trouble))
        except Exception as fault:
            self.fault = fault
            said = f"{type(fault).__name__}: {fault}"
            self._fail("A fault in this lesson, not in what you gave it.", said)
        return not self.trouble

    def _fail(self, what, why):
        """Say it; what was typed or uploaded stays, and so does the last picture."""
        self.trouble = f"{what} {why}"
        self.message.value = error_html(what, why) + self._note

    def _show(self, made, said=()):
        scene = made.scene()
        self.image.value = figures.png(figures.footed(scene), density=1.5, level=6)
        self.report, self.trouble = made, ""
        self.message.value = self._note
        notes = [f"Careful: {words}" for words in said]
        notes += [f"How it was read: {'; '.join(made.sweep.notes)}."] if made.sweep.notes else []
        notes += [
            f"Line {line.number} was set aside ({line.why}): {line.text[:60]}"
            for line in made.sweep.set_aside[:5]
        ]
        rows = "".join(f"<p>{safe(words)}</p>" for words in (*scene.readout, *notes))
        self.said.value = f"<div class='boxlab-readout' role='status'>{rows}</div>"
        self.text.value = made.markdown()
        stem = safe((made.sweep.name or "sweep").rsplit(".", 1)[0])
        self.links.value = (
            f"<p>{_link(f'{stem}-compared.csv', made.csv(), 'text/csv', 'Save the curves (CSV)')}"
            f" · {_link(f'{stem}.md', made.markdown(), 'text/markdown', 'Save the results')}</p>"
        )

    def _repr_mimebundle_(self, include=None, exclude=None):
        """The live desk; without a kernel, the sample sweep and what was found in it."""
        scene = self.report.scene()
        note = "Run this lesson to put your own sweep here."
        text = "\n".join([QUESTION, scene.alt, *scene.readout, note])
        picture = figures.footed(scene, note)
        data, metadata = figures.bundle(picture, scene.alt, text)
        return self.box._repr_mimebundle_() | data, metadata


def _link(name, text, kind, words):
    data = base64.b64encode(text.encode()).decode("ascii")
    return f"<a download='{name}' href='data:{kind};charset=utf-8;base64,{data}'>{words}</a>"
