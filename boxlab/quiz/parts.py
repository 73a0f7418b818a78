"""The pieces that every question on screen is made of."""

from __future__ import annotations

import asyncio
import math
import time
from html import escape

import ipywidgets as w

from boxlab.panel.accessible import sheet
from boxlab.quiz.answers import MARKS, Verdict
from boxlab.quiz.learner_word import Pupil

# Edges keep 3:1 contrast on white and on JupyterLab's dark ground.
EDGES = {"right": "#2f8f4e", "slip": "#c2571a", "near": "#9a7400", "plain": "#76808a"}
BEHIND = 0.25  # s, within which letters held back by the page usually come
LATE = 5.0  # s, within which they still may, on a computer with much to do
_STYLE = sheet("""
.boxlab-quiz { border-left: 4px solid #76808a; padding: 2px 0 6px 12px; max-width: 46em; }
.boxlab-quiz .widget-html-content { line-height: 1.45; }
.boxlab-quiz p { margin: 0.3em 0; }
.boxlab-quiz summary { cursor: pointer; }
.boxlab-quiz th, .boxlab-quiz td { text-align: left; padding: 2px 12px 2px 0; }
.boxlab-quiz code { white-space: pre-wrap; }
.boxlab-quiz .widget-radio { width: 100%; max-width: 100%; height: auto; }
.boxlab-quiz .widget-radio-box { height: auto; width: 100%; margin: 0; }
.boxlab-quiz .widget-radio-box label { height: auto; min-height: 24px; white-space: normal;
  line-height: 1.4; padding: 3px 0; display: flex; flex-direction: row-reverse;
  justify-content: flex-end; align-items: flex-start; gap: 8px; }
.boxlab-quiz .widget-radio-box input { height: 1.4em; flex: none; margin: 0; }
.boxlab-quiz button:focus-visible, .boxlab-quiz input:focus-visible,
.boxlab-quiz summary:focus-visible { outline: 2px solid currentColor !important;
  outline-offset: 2px; }
.boxlab-quiz .widget-text .widget-label, .boxlab-quiz .widget-text label { width: auto;
  max-width: 100%; white-space: normal; }
.boxlab-quiz .widget-text { height: auto; flex-wrap: wrap; }
.boxlab-quiz .widget-text input { flex: 1 0 13em; }
""")


def html(value: str = "") -> w.HTML:
    """A widget that shows HTML."""
    return w.HTML(value, layout=w.Layout(margin="0"))


def button(label: str, act, tooltip: str, main: bool = False) -> w.Button:
    """A button as wide as its words that calls `act()`."""
    made = w.Button(
        description=label,
        tooltip=tooltip,
        button_style="primary" if main else "",
        layout=w.Layout(width="auto", min_width="7em", align_self="flex-start"),
    )
    made.on_click(lambda _: act())
    return made


def frame(*children) -> w.VBox:
    """One question's parts under each other, in the look that all questions share."""
    box = w.VBox([html(_STYLE), *children])
    box.add_class("boxlab-quiz")
    return box


def note(body: str, edge: str = "plain", speak: bool = True) -> str:
    """A message, spoken by screen readers as it appears if `speak`. `body` is HTML."""
    role = ' role="alert"' if speak else ""
    return (
        f'<div{role} style="border-left: 4px solid {EDGES[edge]}; padding: 2px 8px; '
        f'margin: 4px 0;">{body}</div>'
    )


def verdict_html(verdict: Verdict, typed: str) -> str:
    """A verdict and the answer that it is about."""
    edge = {"right": "right", "near": "near", "slip": "slip", "off": "slip"}.get(verdict.kind)
    quoted = escape(typed.strip())
    said = f"<em>You typed “{quoted}”.</em> " if quoted else ""
    return note(
        f"<strong>{MARKS[verdict.kind]}</strong> {said}{escape(verdict.message)}", edge or "plain"
    )


def saving(pupil: Pupil) -> str:
    """What the learner should know about saving, as HTML."""
    return f"<p>{escape(pupil.store.notice)}</p>" if pupil.store.notice else ""


def when_at_rest(texts, act) -> None:
    """Call `act()` once all that was typed into the text boxes has come in."""

    # The page says at once that Enter or a button was pressed, but holds letters back while the
    # kernel is busy with earlier ones. So wait until the boxes have been at rest for a moment.
    def values():
        return [text.value for text in texts]

    def look(before):
        now = values()
        if now == before:
            act()
        else:
            asyncio.get_running_loop().call_later(BEHIND, look, now)

    try:
        asyncio.get_running_loop().call_later(BEHIND, look, values())
    except RuntimeError:  # no kernel, so nothing is on its way
        act()


def on_enter(text: w.Text, act) -> None:
    """Call `act()` when Enter is pressed in a text box, with all that was typed in its value.

    Should more letters of what was typed come in after that, it is called again.
    """
    pressed = {"at": -math.inf, "acted on": ""}

    def do():
        pressed["acted on"] = text.value
        act()

    def entered(_, content, __):
        if isinstance(content, dict) and content.get("event") == "submit":
            pressed["at"] = time.monotonic()
            when_at_rest([text], do)

    def more(change):
        had = pressed["acted on"]
        late = time.monotonic() < pressed["at"] + LATE
        if had and late and change["old"] == had and change["new"].startswith(had):
            when_at_rest([text], do)

    text.on_msg(entered)
    text.observe(more, "value")
