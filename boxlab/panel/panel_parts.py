"""The pieces of a desk: its style, folds, and small pages of escaped HTML."""

from __future__ import annotations

import ipywidgets as widgets

from boxlab.panel.accessible import sheet
from boxlab.panel.settings_text import safe

# Colours come from the theme, so that text reads on a light and a dark page. A picture keeps
# its white paper on both.
STYLE = sheet("""
.boxlab { max-width: 850px; color: var(--jp-content-font-color1, inherit); }
.boxlab .widget-label, .boxlab label { white-space: normal; overflow: visible; height: auto;
  line-height: 1.3; color: inherit; }
.boxlab .widget-html-content { line-height: 1.45; }
.boxlab .boxlab-q { font-weight: 600; font-size: 1.05em; margin: 0 0 .2em; }
.boxlab .boxlab-readout p { margin: 0 0 .1em; }
.boxlab .boxlab-readout p:first-child { font-weight: 600; }
.boxlab .boxlab-readout .warn, .boxlab .boxlab-bad { border-left: 4px solid #b75d10;
  padding-left: .5em; }
.boxlab .boxlab-bad { border-left-color: #c2255c; }
.boxlab table { border-collapse: collapse; }
.boxlab th, .boxlab td { text-align: left; padding: .15em .8em .15em 0;
  border-bottom: 1px solid var(--jp-border-color2, #ccc); }
.boxlab textarea { width: 100%; box-sizing: border-box; font-family: monospace; font-size: .92em;
  color: inherit; background: var(--jp-layout-color1, #fff);
  border: 1px solid var(--jp-border-color1, #999); }
.boxlab .boxlab-upload { font-size: 0; }
.boxlab .boxlab-upload i, .boxlab .boxlab-upload::after {
  font-size: var(--jp-widgets-font-size, 13px); }
.boxlab .boxlab-upload::after { content: attr(title); content: attr(title) / ""; }
.boxlab .widget-image { background: #fff; border-radius: 3px; height: auto; }
.boxlab a { color: var(--jp-content-link-color, #1a3a9a); text-decoration: underline; }
.boxlab button:focus-visible, .boxlab input:focus-visible,
.boxlab textarea:focus-visible, .boxlab select:focus-visible, .boxlab a:focus-visible {
  outline: 3px solid var(--jp-brand-color1, #1a3a9a) !important; outline-offset: 2px; }
""")


def upload(words: str, **more) -> widgets.FileUpload:
    """A button that takes files. Its own label ends in a count, which is always 0 at rest, and so
    its title is shown in place of that."""
    made = widgets.FileUpload(description=words, tooltip=words, layout={"width": "auto"}, **more)
    made.add_class("boxlab-upload")
    return made


class Fold:
    """A button that shows and hides a part of the panel. `open` tells which."""

    def __init__(self, title: str, children, opened=None):
        self.title, self._opened = title, opened
        self.button = widgets.ToggleButton(
            description=f"▸ {title}", tooltip=f"show or hide {title}", layout={"width": "auto"}
        )
        self.button.add_class("boxlab-fold")
        self.box = widgets.VBox(children, layout={"display": "none", "width": "100%"})
        self.button.observe(self._turned, "value")

    @property
    def open(self) -> bool:
        """True while its content shows."""
        return self.button.value

    def _turned(self, change) -> None:
        self.button.description = f"{'▾' if self.open else '▸'} {self.title}"
        if self.open and self._opened:
            self._opened()
        self.box.layout.display = "flex" if self.open else "none"


def error_html(what: str, words: str) -> str:
    """Trouble in plain words."""
    return f"<p class='boxlab-bad' role='alert'><strong>{safe(what)}</strong> {safe(words)}</p>"
