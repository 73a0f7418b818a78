"""The live panel of an explainer: the stage in a notebook, with this kernel behind it.

No physics here. The page asks for the state that is set, one question at a time, and shows the
answer. All that it says comes in one row of messages, so that what was set last counts. When a
hand comes to a control it asks for the states along it too: those are worked out in short pieces,
so that a question in between never waits long.
"""

from __future__ import annotations

import asyncio
import threading
import time
import zlib

import anywidget
import traitlets

from boxlab.draw import figures
from boxlab.draw.scene import Explainer, Scene
from boxlab.draw.stage import script, table
from boxlab.draw.stage.state import Pool, refused, state
from boxlab.panel import settings_text, share_text
from boxlab.panel.self_drive import drive_html, drive_text, driven, show

AHEAD = 81  # places along a slider that the kernel works out before the hand is there,
ENOUGH = 41  # or so many, if they take
LONG = 0.5  # s or more
PIECE = 0.04  # s of working ahead before other messages have their turn
NO_PAGES = (
    "No link yet that others can open: it needs these lessons as web pages somewhere. "
    "`python -m boxlab site --to pages` makes them; publish that folder and type its address here."
)


class View(anywidget.AnyWidget):
    """What page and kernel share: the question, and the present state."""

    _esm = script.module()
    _css = script.style()
    about = traitlets.Dict().tag(sync=True)
    now = traitlets.Bytes().tag(sync=True)


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
        self.scene: Scene | None = None  # the last that could be drawn
        self.refused = ""  # why the present settings cannot be drawn
        self.fault: Exception | None = None  # what went wrong in the lesson itself
        self._state = explainer.start
        self._running: asyncio.Task | None = None
        # JupyterLab may call in from a thread of its own while a cell runs in the main one.
        self._lock = threading.RLock()
        self.view = View(about=table.about(explainer))
        self.set(**state)
        self.view.on_msg(lambda view, told, buffers: self.hear(told))

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
        with self._lock:
            self._state |= settings_text.checked(self.explainer, changes)
            self._answer(moved_here=True)

    def use(self, line: str) -> None:
        """Take in a settings line, such as `port_or_radiator(volume=14)`; see `read_settings`."""
        self.set(**settings_text.read_settings(self.explainer, line))

    def reset(self) -> None:
        """Back to the starting settings; held curves in the page stay until released."""
        self.set(**self.explainer.start)

    def drive(self) -> None:
        """Move every control to its ends and back as a page does, and show a table.

        Lessons run this under test: an error in a callback, or an answer that is not the scene's,
        raises here. The panel ends in its starting state. In a notebook the table is folded;
        elsewhere a line for each control is printed.
        """
        rows = list(driven(self))
        show(drive_text(self.explainer, rows), drive_html(self.explainer, rows))

    def hear(self, told: dict) -> None:
        """A message of the page: values that a hand has set, states to work out, text, a wish."""
        if "ask" in told:
            self._moved(told["ask"])
        elif "ahead" in told:
            self._run_ahead(told["ahead"], told["place"], told["values"])
        elif "typed" in told:
            self._typed(told["typed"], told["text"])
        elif "paste" in told:
            self.view.send({"pasted": self._used(told["paste"])})
        elif "share" in told:
            self._share(told["share"], bool(told.get("inch")))

    def _moved(self, values: list) -> None:
        with self._lock:
            try:
                asked = dict(zip(self._state, values, strict=True))
                self._state |= settings_text.checked(self.explainer, asked)
            except ValueError as error:
                self._send(refused(str(error), values), Pool())
            else:
                self._answer()

    def _answer(self, moved_here: bool = False) -> None:
        """Work out the present state and let the page have it; its hands follow what moved here."""
        values, pool = list(self._state.values()), Pool()
        self.refused, self.fault = "", None
        try:
            scene = self.explainer.told(**self._state)
            made = state(scene, pool, values)
            self.scene = scene
        except ValueError as error:
            self.refused = str(error) or "The model gives no reason."
            made = refused(self.refused, values)
        except Exception as error:
            self.fault = error
            words = f"{type(error).__name__}: {error}"
            made = {"at": values, "no": f"A fault in this lesson, not in your settings. {words}"}
        self._send(made | ({"set": 1} if moved_here else {}), pool)

    def _send(self, made: dict, pool: Pool) -> None:
        self.view.now = table.whole({"states": [made]}, pool)

    def _run_ahead(self, name: int, place: int, values: list) -> None:
        """Work out the states along one control; the page keeps them under `name`."""
        control = self.explainer.controls[place]
        wanted = [
            [*values[:place], value, *values[place + 1 :]]
            for value in coarse_first(table.places(control, AHEAD))
        ]
        if self._running:
            self._running.cancel()
        try:
            self._running = asyncio.get_running_loop().create_task(self._pieces(name, wanted))
        except RuntimeError:  # no loop: nobody waits meanwhile
            for _ in self._worked_out(name, wanted):
                pass

    async def _pieces(self, name: int, wanted: list) -> None:
        for _ in self._worked_out(name, wanted):
            await asyncio.sleep(0.001)

    def _worked_out(self, name: int, wanted: list):
        """Send the wanted states in pieces that take about `PIECE` each; yields after each."""
        late, spare = time.monotonic() + LONG, len(wanted) - ENOUGH
        while wanted:
            if len(wanted) <= spare and time.monotonic() > late:
                return
            until, pool, made = time.monotonic() + PIECE, Pool(), []
            while wanted and time.monotonic() < until:
                try:
                    settings = dict(zip(self._state, wanted.pop(0), strict=True))
                    made.append(table.one(self.explainer, settings, pool))
                except Exception:  # the answer for that state itself says what is wrong
                    return
            packed = zlib.compress(table.whole({"states": made}, pool), 1)
            self.view.send({"ahead": name}, [packed])
            yield

    def _typed(self, place: int, text: str) -> None:
        """A value was typed: 14 or 0.5 ft3. What does not fit stays in its box."""
        control = self.explainer.controls[place]
        try:
            self.set(**{control.name: settings_text.typed(control, text)})
        except ValueError as error:
            self.view.send({"typed": place, "wrong": str(error)})
        else:
            self.view.send({"typed": place})

    def _used(self, line: str) -> str:
        """Use a settings line that was pasted; "" or what is wrong with it."""
        try:
            if line.strip():
                self.use(line)
        except ValueError as error:
            return f"That line was not used. {error}"
        return ""

    def _share(self, pages: str, inch: bool) -> None:
        """Send texts to copy and pictures to save, with links to where the pages are."""
        with self._lock:
            if self.scene is None or self.refused or self.fault:
                return
            scene, line, wrong = self.scene, self.line, "" if pages.strip() else NO_PAGES
            try:
                pages = share_text.checked_pages(pages)
            except ValueError as error:
                pages, wrong = "", f"Links stay relative. {error}"
            texts = share_text.texts(self.explainer, self._state, scene, pages, inch)
        name = settings_text.call_name(self.explainer)
        offers = (
            ("png", "image/png", "Save the picture with its caption (PNG)"),
            ("svg", "image/svg+xml", "Save the picture for a page or a print (SVG)"),
        )
        files = [(f"{name}.{kind}", media, words) for kind, media, words in offers]
        pictures = [share_text.render(scene, kind, line) for kind, _, _ in offers]
        self.view.send({"share": texts, "files": files, "wrong": wrong}, pictures)

    def _repr_mimebundle_(self, include=None, exclude=None):
        """The live view; and for a page without a kernel, the picture and its description."""
        with self._lock:
            view, _ = self.view._repr_mimebundle_()
            if self.refused or self.scene is None:
                return view | {"text/plain": f"{self.explainer.question}\n{self.refused}"}
            scene, settings = self.scene, settings_text.settings_text(self.explainer, self._state)
            note = f"As set: {settings}. Run this lesson to move the controls."
            words = [self.explainer.question, scene.alt, *scene.readout, scene.caption]
            words += [*(f"Caution: {said}" for said in scene.cautions), note]
            picture = figures.footed(scene, note)
            data, metadata = figures.bundle(picture, scene.alt, "\n".join(words))
            return view | data, metadata


def coarse_first(values: list) -> list:
    """The same values, so that the first few lie all along the range.

    >>> coarse_first([0, 1, 2, 3, 4, 5])
    [0, 4, 2, 1, 3, 5]
    """
    order: dict = {}
    step = 1
    while 2 * step < len(values):
        step *= 2
    while step:
        order |= dict.fromkeys(range(0, len(values), step))
        step //= 2
    return [values[place] for place in order]
