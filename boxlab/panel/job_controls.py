"""The boxes and buttons of the job desk. No physics and no files here."""

from __future__ import annotations

from collections.abc import Callable

import ipywidgets as widgets

from boxlab.gear.job_keys import WHAT
from boxlab.panel.first_questions import Questions
from boxlab.panel.panel_parts import STYLE, error_html, upload
from boxlab.panel.settings_text import safe

QUESTION = "Your own box: what came in, what it measures, what it does?"
UNITS = ("metric", "inch")


class Controls:
    """`box` is what is displayed. `acts` are what the buttons do, by their words."""

    def __init__(self, name: str, text: str, answer: Callable, acts: dict[str, Callable]):
        auto = {"description_width": "auto"}
        self.name = widgets.Text(
            description="job", placeholder="pickup", value=name,
            layout={"width": "30em", "max_width": "98%"}, style=auto,
        )  # fmt: skip
        self.text = widgets.Textarea(
            description="the file", layout={"width": "98%", "height": "13em"}, style=auto,
            value=text,
        )  # fmt: skip
        self.what = widgets.Dropdown(
            description="it is", options=WHAT, value="as found", layout={"width": "auto"},
            style=auto,
        )  # fmt: skip
        self.extra = widgets.Text(
            description="with", placeholder="60 g on cone or radiator; 10 ohm for a recording",
            layout={"width": "24em", "max_width": "98%"}, style=auto,
        )  # fmt: skip
        self.upload = upload("drop a measurement", multiple=True)
        self.units = widgets.Dropdown(
            description="in", options=UNITS, layout={"width": "auto"}, style=auto
        )
        self.message, self.said = widgets.HTML(), widgets.HTML()
        self.questions = Questions(answer)
        wrap = {"flex_flow": "row wrap"}
        actions = [
            _button("save and check", acts, "Put the text into the file", main=True),
            _button("measure", acts, "Fit what the measurements tell"),
        ]
        if "hand-over sheet" in acts:
            told = "A file beside the job, some five pages to print"
            actions += [_button("hand-over sheet", acts, told), self.units]
        self.box = widgets.VBox(
            [
                widgets.HTML(STYLE + f"<p class='boxlab-q'>{safe(QUESTION)}</p>"),
                widgets.HBox(
                    [self.name, _button("open", acts, "Open that file"),
                     _button("new", acts, "Make a file of that name")], layout=wrap,
                ),
                self.questions.box,
                self.text, widgets.HBox(actions, layout=wrap),
                widgets.HBox([self.what, self.extra, self.upload], layout=wrap),
                self.message, self.said,  # in sight beside the buttons that they answer
            ]
        )  # fmt: skip
        self.box.add_class("boxlab")

    def busy(self, words: str) -> None:
        """Say what is being worked out."""
        self.message.value = f"<p role='status'>{safe(words)} …</p>"

    def tell(self, words: str, lines) -> None:
        """Show words, and below them what the job says now."""
        rows = "".join(f"<p>{safe(line)}</p>" for line in words.split("\n"))
        self.message.value = f"<div class='boxlab-readout' role='status'>{rows}</div>"
        self.said.value = f"<pre style='white-space: pre-wrap'>{safe(chr(10).join(lines))}</pre>"

    def fail(self, what: str, why: str) -> None:
        """Show what was not done, and why."""
        self.message.value = error_html(what, why)


def _button(words, acts, help, main=False):
    made = widgets.Button(
        description=words, tooltip=help, layout={"width": "auto"},
        button_style="primary" if main else "",
    )  # fmt: skip
    made.on_click(acts[words])
    return made
