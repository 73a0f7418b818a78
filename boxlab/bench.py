"""The live panel of an explainer: controls, a picture that follows the hand, a readout in words.

No physics here. A panel asks the explainer for the scene of the present state and shows it.

How it keeps up with a drag: a change of a control only notes that a picture is due. The picture is
made a moment later, once the messages that wait have been taken in, so several changes become one
picture and the last one always lands. The frame of the figure is kept; only curves are redrawn. A
finer picture for high-density screens follows when the hand rests.
"""

from __future__ import annotations

import asyncio
import threading
import time
import warnings

import ipywidgets as widgets
import numpy as np

from . import figures, inks, share
from .panel_parts import (
    FIRST_SIGHT,
    STYLE,
    Fold,
    choice_box,
    described_html,
    error_html,
    numbers_html,
    readout_html,
    share_html,
    slider_box,
)  # fmt: skip
from .raster import Sheet
from .scene import Choice, Explainer, Scene

SOON = 0.002  # s: time for waiting messages to come in before a picture is made
LATEST = 0.03  # s: but a picture is never put off longer than this
REST = 0.3  # s without a change before the fine picture


def asyncio_loop():
    """The event loop this runs in, as in a kernel; None outside of one."""
    try:
        return asyncio.get_running_loop()
    except RuntimeError:
        return None


class Panel:
    """A live panel: display it as the last line of a cell.

    Parameters
    ----------
    explainer : Explainer
        The question, its controls and the function that answers it.
    **state
        Settings to begin with, where they differ from the explainer's own.

    Raises
    ------
    ValueError
        If a setting is unknown or out of its range.
    """

    def __init__(self, explainer: Explainer, **state):
        self.explainer = explainer
        self._lock = threading.RLock()
        self._quick, self._fine = Sheet(1.0), None
        self._held: tuple[dict, Scene] | None = None
        self._pixels: np.ndarray | None = None
        self._due_since: float | None = None
        self._timer = self._rest_timer = None
        self._syncing = self._gathering = False
        self.fault: Exception | None = None
        self.pictures = 0  # made so far; the benches count them
        self._state = explainer.start
        self.scene: Scene | None = None
        self._build()
        self.set(**state)

    # --- what a lesson uses -------------------------------------------------------------------

    @property
    def state(self) -> dict:
        """The present settings: name -> value, in the units of the controls."""
        return dict(self._state)

    @property
    def line(self) -> str:
        """The present settings as a line to paste: `port_or_radiator(volume=14, fb=45)`."""
        return share.settings_line(self.explainer, self._state)

    def set(self, **changes) -> None:
        """Move controls, as a hand would, and redraw.

        Raises
        ------
        ValueError
            If a setting is unknown or out of its range. Nothing has moved then.
        """
        changes = share.checked(self.explainer, changes)
        with self._lock:
            self._gathering = True  # one picture for all of them
            try:
                for name, value in changes.items():
                    self._handles[name].value = value
            finally:
                self._gathering = False
            self._ask_for_picture(now=True)

    def reset(self) -> None:
        """Back to the starting settings; a held curve stays until released."""
        self.set(**self.explainer.start)

    def hold(self) -> None:
        """Keep the present curves in grey, to compare with what comes next."""
        with self._lock:
            if self.scene is not None:
                self._held = (self.state, self.scene)
                self._hold_button.description = "release"
                self._ask_for_picture(now=True)

    def release(self) -> None:
        """Let the held curves go."""
        with self._lock:
            self._held = None
            self._hold_button.description = "hold"
            self._ask_for_picture(now=True)

    def use(self, line: str) -> None:
        """Take in a settings line, such as `port_or_radiator(volume=14)`; see `read_settings`."""
        self.set(**share.read_settings(self.explainer, line))

    def drive(self) -> None:
        """Move every control to its ends and back through the real widgets, and print a table.

        Lessons run this under test: an error in a callback, or a picture whose curves are not
        those of the scene, raises here. The panel ends in its starting state.
        """
        print(f"{'control':<16} {'value':>12}  readout")
        for name, value, words in self._driven():
            shown = value if isinstance(value, str) else f"{value:.6g}"
            print(f"{name:<16} {shown:>12}  {words}")

    def _driven(self):
        self.reset()
        for control in self.explainer.controls:
            ends = control.options if isinstance(control, Choice) else (control.low, control.high)
            for value in (*ends, control.start):
                self._handles[control.name].value = value
                self._ask_for_picture(now=True)
                if self.fault:
                    raise self.fault
                if self.state[control.name] != value:
                    raise AssertionError(f"{control.name} was set to {value!r} and did not land")
                if self._refused:
                    words = f"refused: {self._refused}"
                else:
                    self._agree()
                    words = self.scene.readout[0]
                yield control.name, value, words
        self.reset()
        if self.state != self.explainer.start:
            raise AssertionError("the panel did not come back to its starting state")

    def _agree(self) -> None:
        """Raise AssertionError unless the curves on the figure are those the explainer gives."""
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", UserWarning)
            scene = self.explainer(**self.state)
        for drawn, plot in zip(self._quick.drawn, scene.plots, strict=True):
            for curve, line in zip(drawn.curves, plot.lines, strict=False):
                if line.kind == "fill":
                    same = np.array_equal(curve.get_xy()[1 : len(line.x) + 1, 1], line.y, True)
                else:
                    same = np.array_equal(curve.get_data(), (line.x, line.y), True)
                if not (same and curve.get_visible()):
                    raise AssertionError(f"{plot.title}: the picture does not show {line.label!r}")

    # --- the making of a picture --------------------------------------------------------------

    def _ask_for_picture(self, now: bool = False) -> None:
        with self._lock:
            if self._gathering:
                return
            moment = time.monotonic()
            if self._due_since is None:
                self._due_since = moment
            if self._timer is not None:
                self._timer.cancel()
                self._timer = None
            loop = asyncio_loop()
            if now or loop is None:
                self._flush()
                return
            wait = min(SOON, max(0.0, self._due_since + LATEST - moment))
            self._timer = loop.call_later(wait, self._flush)

    def _flush(self) -> None:
        """Make the picture that is due, if one is."""
        with self._lock:
            if self._due_since is None:
                return
            self._due_since, self._timer = None, None
            self._refused, self.fault = "", None
            try:
                scene, said = self._answer()
                self._quick.hold(self._held[1] if self._held else None)
                self._pixels = self._quick.render(scene)
            except ValueError as error:
                self._refused = str(error)
            except Exception as error:
                self.fault = error
            if self._refused or self.fault:
                self._show_trouble()
                return
            self.scene = scene
            self._image.value = inks.encode(self._pixels, note=self.line)
            self.pictures += 1
            self._readout.value = readout_html(scene, said, self._compared())
            self._echo()
            if asyncio_loop() is None:
                self._described.value = described_html(scene)
            self._refresh_folds()
            self._wait_for_rest()

    def _answer(self) -> tuple[Scene, tuple[str, ...]]:
        """The scene of the present state, and what the model warned of, each thing once."""
        with warnings.catch_warnings(record=True) as caught:
            warnings.simplefilter("always", UserWarning)
            scene = self.explainer(**self._state)
        said = dict.fromkeys(scene.warnings)
        for warning in caught:
            if issubclass(warning.category, UserWarning):
                said[str(warning.message)] = None
            else:
                warnings.warn_explicit(
                    warning.message, warning.category, warning.filename, warning.lineno
                )
        return scene, tuple(said)

    def _echo(self) -> None:
        """Show the settings beside the sliders, after the picture: it is what the eye waits for."""
        self._syncing = True
        for control in self.explainer.controls:
            if not isinstance(control, Choice):
                value = self._state[control.name]
                self._typed[control.name].value = value
                if control.imperial:
                    self._readings[control.name].value = share.safe(control.imperial(value))
        self._syncing = False

    def _show_trouble(self) -> None:
        """Say what is wrong; the controls keep what was set, the last good picture goes pale."""
        if self.fault:
            words = f"{type(self.fault).__name__}: {self.fault}"
            self._readout.value = error_html("A fault in this lesson, not in your settings.", words)
        else:
            self._readout.value = error_html("This cannot be built as set.", self._refused)
        if self._pixels is not None:
            self._image.value = inks.encode(self._pixels, faded=True)
        self._echo()

    def _wait_for_rest(self) -> None:
        if self._rest_timer is not None:
            self._rest_timer.cancel()
            self._rest_timer = None
        loop = asyncio_loop()
        if loop is not None:
            self._rest_timer = loop.call_later(REST, self._settle)

    def _settle(self) -> None:
        """With the hand at rest: the fine picture, and the fold that takes time to make."""
        with self._lock:
            self._rest_timer = None
            if self._due_since is not None or self._refused or self.fault:
                return
            self._described.value = described_html(self.scene)
            if self._fine is None:
                self._fine = Sheet(2.0)
            self._fine.hold(self._held[1] if self._held else None)
            self._image.value = inks.encode(self._fine.render(self.scene), level=9, note=self.line)
            if self._share_fold.open:
                self._share.value = self._share_now()

    def _compared(self) -> str:
        if not self._held:
            return ""
        before = self._held[0]
        moved = [
            f"{share.inline(control.label)} {share.reading(control, before[control.name])}"
            for control in self.explainer.controls
            if before[control.name] != self._state[control.name]
        ]
        return f"Grey: held at {', '.join(moved) or 'the present settings'}."

    # --- widgets ------------------------------------------------------------------------------

    def _build(self) -> None:
        self._refused = ""
        self._handles, self._typed, self._readings, boxes = {}, {}, {}, {}
        for control in self.explainer.controls:
            if isinstance(control, Choice):
                boxes[control.name], handle = choice_box(control)
            else:
                box, handle, typed, reading = slider_box(control)
                boxes[control.name] = box
                self._typed[control.name], self._readings[control.name] = typed, reading
                typed.observe(self._on_typed(control), "value")
            self._handles[control.name] = handle
            handle.observe(self._on_moved(control), "value")
        first = [c.name for c in self.explainer.controls if not c.more][:FIRST_SIGHT]
        rest = [c.name for c in self.explainer.controls if c.name not in first]

        self._image = widgets.Image(format="png", layout={"width": "820px", "max_width": "100%"})
        self._readout, self._numbers, self._share = widgets.HTML(), widgets.HTML(), widgets.HTML()
        self._described, self._error = widgets.HTML(), widgets.HTML()
        self._units = widgets.ToggleButtons(
            options=["metric", "inch"], tooltips=["litres, millimetres", "cubic feet, inches"],
            style={"button_width": "5em"},
        )  # fmt: skip
        self._units.observe(lambda change: self._refresh_folds(), "value")
        self._hold_button = self._button(
            "hold", "keep these curves in grey to compare", self._hold_or_release
        )
        reset = self._button("reset", "back to the starting settings", self.reset)
        presets = [
            self._button(name, "start from these settings", lambda state=state: self._preset(state))
            for name, state in self.explainer.presets.items()
        ]
        if presets:
            presets.insert(0, widgets.Label("start from:"))
        self._line = widgets.Text(
            description="settings line", placeholder="paste one here", continuous_update=False,
            layout={"width": "auto"}, style={"description_width": "initial"},
        )  # fmt: skip
        self._line.observe(lambda change: self._on_line(), "value")
        use = self._button("use it", "set the controls from this line", self._on_line)
        more = Fold("more controls", [self._grid([boxes[name] for name in rest])])
        self._numbers_fold = Fold("numbers", [self._units, self._numbers], self._refresh_folds)
        self._share_fold = Fold(
            "share",
            [self._share, self._line, use, self._error],
            lambda: self._refresh_folds(share_too=True),
        )
        folds = [more] if rest else []
        folds += [self._numbers_fold, self._share_fold]
        row = {"flex_flow": "row wrap", "align_items": "center"}
        self.box = widgets.VBox(
            [
                widgets.HTML(
                    STYLE + f"<p class='boxlab-q'>{share.safe(self.explainer.question)}</p>"
                ),
                self._grid([boxes[name] for name in first]),
                widgets.HBox([self._hold_button, reset, *presets], layout=row),
                self._readout,
                self._image,
                self._described,
                widgets.HBox([fold.button for fold in folds], layout=row),
                *(fold.box for fold in folds),
            ]
        )
        self.box.add_class("boxlab")

    @staticmethod
    def _grid(boxes):
        return widgets.GridBox(
            boxes,
            layout={
                "grid_template_columns": "repeat(auto-fit, minmax(330px, 1fr))",
                "width": "100%",
            },
        )

    @staticmethod
    def _button(name, tip, act):
        button = widgets.Button(
            description=name, tooltip=tip, layout={"width": "auto", "align_self": "flex-start"}
        )
        button.on_click(lambda _: act())
        return button

    def _on_moved(self, control):
        def moved(change):
            with self._lock:
                value = change["new"]
                if not isinstance(control, Choice):
                    value = share.control_value(control, value)
                self._state[control.name] = value
                self._ask_for_picture()

        return moved

    def _on_typed(self, control):
        def typed(change):
            if self._syncing:
                return
            try:
                self.set(**{control.name: change["new"]})
            except ValueError as error:
                # What was typed stays in its box; the picture stays as it was.
                self._readout.value = error_html("That value does not fit.", str(error))

        return typed

    def _hold_or_release(self) -> None:
        self.release() if self._held else self.hold()

    def _preset(self, state) -> None:
        self.set(**(self.explainer.start | dict(state)))

    def _on_line(self) -> None:
        self._error.value = ""
        if not self._line.value.strip():
            return
        try:
            self.use(self._line.value)
        except ValueError as error:
            self._error.value = error_html("That line was not used.", str(error))

    def _refresh_folds(self, share_too: bool = False) -> None:
        with self._lock:
            if self.scene is None:
                return
            if self._numbers_fold.open:
                held = self._held[1] if self._held else None
                self._numbers.value = numbers_html(self.scene, held, self._units.value)
            if share_too and self._share_fold.open:
                self._share.value = self._share_now()

    def _share_now(self) -> str:
        note = "Settings: " + self.line
        picture = figures.png(figures.footed(self.scene, note))
        return share_html(self.explainer, self._state, self.scene, picture)

    # --- display ------------------------------------------------------------------------------

    def _repr_mimebundle_(self, include=None, exclude=None):
        """The live view; and for a page without a kernel, the picture and its description."""
        with self._lock:
            if self._refused or self.scene is None:
                return {"text/plain": f"{self.explainer.question}\n{self._refused}"}
            scene = self.scene
            note = (
                f"As set: {share.settings_text(self.explainer, self._state)}. "
                "Run this lesson to move the controls."
            )
            words = [self.explainer.question, scene.alt, *scene.readout, scene.caption, note]
            data, metadata = figures.bundle(
                figures.footed(scene, note), scene.alt, "\n".join(words)
            )
            return self.box._repr_mimebundle_() | data, metadata
