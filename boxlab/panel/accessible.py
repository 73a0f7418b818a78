"""Names and states for screen readers and keys, where ipywidgets has no way to give them.

The buttons of one choice are not a group there, and each radio button is a stop of its own for
Tab. `accessible.js` puts that right in the page. It comes with the style sheet that each desk and
question holds anyway, as what is to be done once the sheet is in place. So it needs no package, no
widget and no message more, and works wherever the sheet does. A page whose policy forbids such
scripts shows the questions without those names.
"""

from __future__ import annotations

from functools import cache
from html import escape
from pathlib import Path

SCRIPT = Path(__file__).with_name("accessible.js")
# JupyterLab's own edges are paler than 3:1, and there a pressed button is only a shade darker. This
# grey has 4:1 on white and more on its dark ground.
_EDGES = """
.boxlab, .boxlab-quiz { --jp-widgets-input-border-color: #76808a; }
.boxlab .widget-toggle-button.mod-active {
  box-shadow: inset 0 -3px 0 var(--jp-ui-font-color1, #212121); }
"""


@cache
def _script() -> str:
    return escape(SCRIPT.read_text(encoding="utf-8"))


def sheet(css: str) -> str:
    """A style element of these rules, and edges to see, that also names what is in its box.

    The box is the nearest element of class `boxlab` or `boxlab-quiz`. In it, a group of radio
    buttons takes its name from the element of class `boxlab-asked`.
    """
    return f'<style onload="{_script()}">{_EDGES}{css}</style>'
