"""The live panel of an explainer: controls, a picture that follows the hand, a readout in words.

No physics here. A panel asks the explainer for the scene of the present state and shows it.

How it keeps up with a drag. The frame of the figure is kept; only curves are redrawn. A change is
drawn at once, before the kernel says that it is idle: JupyterLab sends the next value only then,
so no pictures pile up on the way to a slow page. Changes that did pile up on the way here come in
right behind a picture; they are taken in first and become one picture, and the last one always
lands. A finer picture for high-density screens follows when the hand rests.
"""

from __future__ import annotations

import asyncio
import threading
import time

from boxlab.draw import figures, palette
from boxlab.draw.raster import Sheet
from boxlab.draw.scene import Choice, Explainer, Scene
from boxlab.panel import panel_parts as parts
from boxlab.panel import settings_text
from boxlab.panel.panel_layout import Faceplate
from boxlab.panel.self_drive import drive_html, drive_text, driven, show
from boxlab.panel.share_text import render

QUIET = 0.004  # s: a change this long after a picture did not wait for it in a queue
SOON = 0.002  # s: time for waiting messages to come in before a picture is made
LATEST = 0.03  # s: but a picture is never put off longer than this
REST = 0.3  # s without a change before the fine picture


def _loop():
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
        self.sheet, self._fine = Sheet(1.0), Sheet(2.0, kept=1)
        self.scene: Scene | None = None  # the last that could be drawn
        self.refused = ""  # why the present settings cannot be drawn
        self.fault: Exception | None = None  # what went wrong in the lesson itself
        self.pictures = 0  # made so far
        self._state = explainer.start
        self._exact: dict[str, float] = {}  # values that were given, and not set by a slider
        self._held: tuple[dict, Scene] | None = None
        self._pixels = None
        self._due_since: float | None = None
        self._made = 0.0  # when the last picture was done
        self._timer = self._rest_timer = None
        self._gathering = False
        # JupyterLab may call in from a thread of its own while a cell runs in the main one.
        self._lock = threading.RLock()
        self.face = Faceplate(explainer, self)
        self.set(**state)

    @property
    def state(self) -> dict:
        """The present settings: name -> value, in the units of the controls."""
        return dict(self._state)

    @property
    def line(self) -> str:
        """The present settings as a line to paste: `port_or_radiator(volume=14, fb=45)`."""
        return settings_text.settings_line(self.explainer, self._state)

    def set(self, **changes) -> None:
        """Move controls, as a hand would, and redraw.

        Raises
        ------
        ValueError
            If a setting is unknown or out of its range. Nothing has moved then.
        """
        changes = settings_text.checked(self.explainer, changes)
        with self._lock:
            self._gathering = True  # one picture for all of them
            try:
                for name, value in changes.items():
                    self._state[name] = self._exact[name] = value
                    self.face.handles[name].value = value
            finally:
                self._gathering = False
            self.flush(always=True)

    def use(self, line: str) -> None:
        """Take in a settings line, such as `port_or_radiator(volume=14)`; see `read_settings`."""
        self.set(**settings_text.read_settings(self.explainer, line))

    def reset(self) -> None:
        """Back to the starting settings; a held curve stays until released."""
        self.set(**self.explainer.start)

    def hold(self) -> None:
        """Keep the present curves in grey, to compare with what comes next."""
        with self._lock:
            if self.scene is not None and not self.refused:
                self._held = (self.state, self.scene)
                self.face.hold_button.description = "release"
                self.flush(always=True)

    def release(self) -> None:
        """Let the held curves go."""
        with self._lock:
            self._held = None
            self.face.hold_button.description = "hold"
            self.flush(always=True)

    def drive(self) -> None:
        """Move every control to its ends and back through the real widgets, and show a table.

        Lessons run this under test: an error in a callback, or a picture whose curves are not
        those of the scene, raises here. The panel ends in its starting state. In a notebook the
        table is folded; elsewhere a line for each control is printed.
        """
        rows = list(driven(self))
        show(drive_text(self.explainer, rows), drive_html(self.explainer, rows))

    # What the faceplate calls.

    def moved(self, control, value) -> None:
        """A control has a new value: note it, and see that a picture follows soon."""
        with self._lock:
            if self._gathering:
                return
            if not isinstance(control, Choice):
                value = settings_text.control_value(control, value)
                exact = self._exact.pop(control.name, None)
                if exact is not None and abs(value - exact) <= 0.501 * control.step:
                    return  # no hand: a slider in a page goes to the step next to what was typed
            self._state[control.name] = value
            moment = time.monotonic()
            self._due_since = self._due_since or moment
            self._stop(self._timer)
            loop = _loop()
            if loop is None or moment - self._made > QUIET:
                self.flush()
            else:
                wait = min(SOON, max(0.0, self._due_since + LATEST - moment))
                self._timer = loop.call_later(wait, self.flush)

    def typed(self, control, text) -> None:
        """A value was typed: 14 or 0.5 ft3. One that does not fit stays in its box."""
        try:
            self.set(**{control.name: settings_text.typed(control, text)})
        except ValueError as error:
            self.face.readout.value = parts.error_html("That value does not fit.", str(error))

    def paste(self) -> None:
        """Use what is in the box for a settings line; what is wrong with it is said below it."""
        self.face.error.value = ""
        if not self.face.line.value.strip():
            return
        try:
            self.use(self.face.line.value)
        except ValueError as error:
            self.face.error.value = parts.error_html("That line was not used.", str(error))

    def hold_or_release(self) -> None:
        """What the button does: hold, or release what is held."""
        self.release() if self._held else self.hold()

    def preset(self, state) -> None:
        """The starting settings, with those of a preset in their place."""
        self.set(**(self.explainer.start | dict(state)))

    def folds(self, share: bool) -> None:
        """Fill the open folds; the share texts, which take longer, only if asked to."""
        with self._lock:
            if self.scene is None:
                return
            face = self.face
            if face.numbers_fold.open:
                held = self._held[1] if self._held else None
                face.numbers.value = parts.numbers_html(self.scene, held, face.units.value)
            if share and face.share_fold.open:
                face.share.value = self._share_now()

    # The making of a picture.

    def flush(self, always: bool = False) -> None:
        """Make the picture that is due, if one is, without waiting."""
        with self._lock:
            self._stop(self._timer)
            if self._due_since is None and not always:
                return
            self._due_since = self._timer = None
            self.refused, self.fault = "", None
            try:
                scene = self.explainer.told(**self._state)
                self.sheet.hold(self._held[1] if self._held else None)
                self._pixels = self.sheet.render(scene)
            except ValueError as error:
                self.refused = str(error) or "The model gives no reason."
            except Exception as error:
                self.fault = error
            if self.refused or self.fault:
                self._show_trouble()
                return
            self.scene = scene
            self.pictures += 1
            # The picture goes first: it is what the eye waits for.
            self.face.image.value = palette.encode(self._pixels, note=self.line)
            held = parts.held_text(self.explainer, self._held[0], self._state) if self._held else ""
            self.face.readout.value = parts.readout_html(scene, held)
            self.face.echo(self._state)
            self.folds(share=False)
            self._stop(self._rest_timer)
            loop = _loop()
            if loop is None:
                self.face.described.value = parts.described_html(scene)
            else:
                self._rest_timer = loop.call_later(REST, self._settle)
            self._made = time.monotonic()

    @staticmethod
    def _stop(timer) -> None:
        if timer is not None:
            timer.cancel()

    def _show_trouble(self) -> None:
        """Say what is wrong; the controls keep what was set, the last good picture goes pale."""
        if self.fault:
            what = "A fault in this lesson, not in your settings."
            words = f"{type(self.fault).__name__}: {self.fault}"
        else:
            what, words = "This cannot be built as set.", self.refused
        self.face.readout.value = parts.error_html(what, words)
        if self._pixels is not None:
            self.face.image.value = palette.encode(self._pixels, faded=True)
        self.face.echo(self._state)

    def _settle(self) -> None:
        """With the hand at rest: the fine picture, and the texts that take time to make."""
        with self._lock:
            if self._due_since is not None or self.refused or self.fault:
                return
            self.face.described.value = parts.described_html(self.scene)
            self._fine.hold(self._held[1] if self._held else None)
            pixels = self._fine.render(self.scene)
            self.face.image.value = palette.encode(pixels, level=9, note=self.line)
            self.folds(share=True)

    def _share_now(self) -> str:
        files = {kind: render(self.scene, kind, self.line) for kind in ("png", "svg")}
        return parts.share_html(
            self.explainer, self._state, self.scene, files, self.face.pages_address
        )

    def _repr_mimebundle_(self, include=None, exclude=None):
        """The live view; and for a page without a kernel, the picture and its description."""
        with self._lock:
            view = self.face.box._repr_mimebundle_()
            if self.refused or self.scene is None:
                return view | {"text/plain": f"{self.explainer.question}\n{self.refused}"}
            scene, settings = self.scene, settings_text.settings_text(self.explainer, self._state)
            note = f"As set: {settings}. Run this lesson to move the controls."
            words = [self.explainer.question, scene.alt, *scene.readout, scene.caption]
            words += [*(f"Caution: {said}" for said in scene.cautions), note]
            picture = figures.footed(scene, note)
            data, metadata = figures.bundle(picture, scene.alt, "\n".join(words))
            return view | data, metadata
