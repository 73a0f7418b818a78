"""The widgets of a panel, laid out: controls first, then words and picture, folds last."""

from __future__ import annotations

import os

import ipywidgets as widgets

from boxlab.draw.scene import Choice, Explainer
from boxlab.panel import share_text
from boxlab.panel.panel_parts import (
    FIRST_SIGHT,
    STYLE,
    Fold,
    choice_box,
    error_html,
    slider_box,
    units_of,
)
from boxlab.panel.settings_text import figure, safe


class Faceplate:
    """All widgets of a panel. It shows what it is told and calls `panel` when a hand is at work.

    `panel` must have the methods `moved(control, value)`, `typed(control, value)`,
    `hold_or_release()`, `reset()`, `preset(state)`, `paste()` and `folds(share)`.
    """

    def __init__(self, explainer: Explainer, panel):
        self.explainer, self.panel = explainer, panel
        self.handles: dict = {}
        self.typed: dict = {}
        self.readings: dict = {}
        self._echoing = False
        boxes = {control.name: self._control(control) for control in explainer.controls}
        first = [c.name for c in explainer.controls if not c.more][:FIRST_SIGHT]
        rest = [name for name in boxes if name not in first]
        self.image = widgets.Image(format="png", layout={"width": "820px", "max_width": "100%"})
        self.readout, self.described = widgets.HTML(), widgets.HTML()
        folds = [*self._more(boxes, rest), self._numbers(), self._share()]
        units = safe(units_of(explainer))
        question = f"<p class='boxlab-q' data-units='{units}'>{safe(explainer.question)}</p>"
        self.box = widgets.VBox(
            [
                widgets.HTML(STYLE + question),
                _grid([boxes[name] for name in first]),
                _row(self._buttons()),
                self.readout,
                self.image,
                self.described,
                _row([fold.button for fold in folds]),
                *(fold.box for fold in folds),
            ]
        )
        self.box.add_class("boxlab")

    def echo(self, state: dict) -> None:
        """Show the settings in the boxes for typing, and in inches and cubic feet beside them."""
        self._echoing = True
        for control in self.explainer.controls:
            if not isinstance(control, Choice):
                value = state[control.name]
                self.typed[control.name].value = figure(value)
                if control.imperial:
                    self.readings[control.name].value = safe(control.imperial(value))
        self._echoing = False

    def _control(self, control):
        def moved(change):
            self.panel.moved(control, change["new"])

        def typed(change):
            if not self._echoing:
                self.panel.typed(control, change["new"])

        if isinstance(control, Choice):
            box, handle = choice_box(control)
        else:
            box, handle, entry, reading = slider_box(control)
            self.typed[control.name], self.readings[control.name] = entry, reading
            entry.observe(typed, "value")
        self.handles[control.name] = handle
        handle.observe(moved, "value")
        return box

    def _buttons(self) -> list:
        panel = self.panel
        self.hold_button = _button(
            "hold", "keep these curves in grey to compare", panel.hold_or_release
        )
        buttons = [self.hold_button, _button("reset", "back to the starting settings", panel.reset)]
        if self.explainer.presets:
            buttons.append(widgets.Label("start from:"))
        for name, state in self.explainer.presets.items():
            buttons.append(
                _button(name, "start from these settings", lambda state=state: panel.preset(state))
            )
        return buttons

    def _more(self, boxes, rest) -> list[Fold]:
        return [Fold("more controls", [_grid([boxes[name] for name in rest])])] if rest else []

    def _numbers(self) -> Fold:
        self.numbers = widgets.HTML()
        self.units = widgets.ToggleButtons(
            options=["metric", "inch"], tooltips=["litres, millimetres", "cubic feet, inches"],
            description="units", style={"button_width": "5em", "description_width": "auto"},
        )  # fmt: skip
        self.units.observe(lambda change: self.panel.folds(share=False), "value")
        self.numbers_fold = Fold(
            "numbers", [self.units, self.numbers], lambda: self.panel.folds(share=False)
        )
        return self.numbers_fold

    def _share(self) -> Fold:
        self.share, self.error = widgets.HTML(), widgets.HTML()
        self.line = widgets.Text(
            description="settings line", placeholder="paste one here", continuous_update=False,
            layout={"width": "auto"}, style={"description_width": "initial"},
        )  # fmt: skip
        self.line.observe(lambda change: self.panel.paste(), "value")
        use = _button("use it", "set the controls from this line", self.panel.paste)
        self.pages = widgets.Text(
            value=os.environ.get(share_text.PAGES, ""), description="web pages are at",
            placeholder="https://… where these lessons are published, for full links",
            continuous_update=False, layout={"width": "auto"},
            style={"description_width": "initial"},
        )  # fmt: skip
        self.pages.observe(lambda change: self._published(), "value")
        self.share_fold = Fold(
            "share",
            [self.share, self.pages, self.line, use, self.error],
            lambda: self.panel.folds(share=True),
        )
        return self.share_fold

    def _published(self) -> None:
        self.error.value = ""
        self.panel.folds(share=True)

    @property
    def pages_address(self) -> str:
        """Where the web pages are, as typed; "" if nothing was, or if it is no address."""
        try:
            return share_text.checked_pages(self.pages.value)
        except ValueError as error:
            self.error.value = error_html("Links stay relative.", str(error))
            return ""


def _grid(boxes):
    columns = "repeat(auto-fit, minmax(330px, 1fr))"
    return widgets.GridBox(boxes, layout={"grid_template_columns": columns, "width": "100%"})


def _row(children):
    return widgets.HBox(children, layout={"flex_flow": "row wrap", "align_items": "center"})


def _button(name, tip, act):
    layout = {"width": "auto", "align_self": "flex-start"}
    button = widgets.Button(description=name, tooltip=tip, layout=layout)
    button.on_click(lambda _: act())
    return button
