"""The pieces of a panel: labelled controls, folds, and small pages of escaped HTML."""

from __future__ import annotations

import base64
import json

import ipywidgets as widgets

from boxlab.draw.scene import Choice, Explainer, Scene, Slider
from boxlab.panel import settings_text, share_text
from boxlab.panel.accessible import sheet
from boxlab.panel.settings_text import safe

FIRST_SIGHT = 6  # controls shown before "more"

# Colours come from the theme, so that text reads on a light and on a dark page. The picture keeps
# its white paper on both.
STYLE = sheet("""
.boxlab { max-width: 850px; color: var(--jp-content-font-color1, inherit); }
.boxlab .widget-label, .boxlab label { white-space: normal; overflow: visible; height: auto;
  line-height: 1.3; color: inherit; }
.boxlab .boxlab-typed input { flex: 0 0 6em; width: 6em; }
.boxlab .boxlab-typed { flex: 0 1 auto; min-width: 0; height: auto; }
.boxlab .boxlab-typed .widget-label { flex-shrink: 1; min-width: 0; }
.boxlab .widget-hslider { margin-top: 0; }
.boxlab .widget-html-content { line-height: 1.45; }
.boxlab .boxlab-q { font-weight: 600; font-size: 1.05em; margin: 0 0 .2em; }
.boxlab .boxlab-readout p { margin: 0 0 .1em; }
.boxlab .boxlab-readout p:first-child { font-weight: 600; }
.boxlab .boxlab-readout .warn, .boxlab .boxlab-bad { border-left: 4px solid #b75d10;
  padding-left: .5em; }
.boxlab .boxlab-bad { border-left-color: #c2255c; }
.boxlab .boxlab-caption { opacity: .85; margin: 0; }
.boxlab .boxlab-hidden { position: absolute; width: 1px; height: 1px; overflow: hidden;
  clip-path: inset(50%); white-space: nowrap; }
.boxlab table { border-collapse: collapse; }
.boxlab th, .boxlab td { text-align: left; padding: .15em .8em .15em 0;
  border-bottom: 1px solid var(--jp-border-color2, #ccc); }
.boxlab textarea { width: 100%; box-sizing: border-box; font-family: monospace; font-size: .92em;
  color: inherit; background: var(--jp-layout-color1, #fff);
  border: 1px solid var(--jp-border-color1, #999); }
.boxlab .widget-image { background: #fff; border-radius: 3px; height: auto; }
.boxlab a { color: var(--jp-content-link-color, #1a3a9a); text-decoration: underline; }
.boxlab button:focus-visible, .boxlab .noUi-handle:focus-visible, .boxlab input:focus-visible,
.boxlab textarea:focus-visible, .boxlab select:focus-visible, .boxlab a:focus-visible {
  outline: 3px solid var(--jp-brand-color1, #1a3a9a) !important; outline-offset: 2px; }
.boxlab .boxlab-typed input:focus-visible { outline-offset: -2px; } /* its row cuts off the rest */
""")


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


def name_of(control: Slider) -> str:
    """What a slider is called on screen, with its unit."""
    return f"{control.label}, {control.unit}" if control.unit else control.label


def units_of(explainer: Explainer) -> str:
    """JSON from the name of each slider to its unit."""
    sliders = [each for each in explainer.controls if isinstance(each, Slider)]
    return json.dumps({name_of(each): each.unit for each in sliders}, ensure_ascii=False)


def slider_box(control: Slider):
    """A slider under a labelled box to type in: (box, slider, typed, imperial reading).

    The label belongs to the box for typing; the slider is given the same name in the page.
    """
    whole = all(isinstance(each, int) for each in (control.low, control.start, control.step))
    slider = (widgets.IntSlider if whole else widgets.FloatSlider)(
        value=control.start, min=control.low, max=control.high, step=control.step, readout=False,
        tooltip=control.help or control.label, layout={"width": "98%"},
    )  # fmt: skip
    label = name_of(control)
    # A box for text, not for numbers: it takes 0.6 ft3, and keeps what cannot be read.
    tip = control.help or label
    if control.imperial:
        tip += f" ({control.imperial(control.start)} can be typed too)"
    typed = widgets.Text(
        value=settings_text.figure(control.start), continuous_update=False, description=label,
        tooltip=tip, style={"description_width": "auto"}, layout={"width": "auto"},
    )  # fmt: skip
    typed.add_class("boxlab-typed")
    reading = widgets.HTML(safe(control.imperial(control.start)) if control.imperial else "")
    row = widgets.HBox([typed, reading], layout={"align_items": "center"})
    return widgets.VBox([row, slider]), slider, typed, reading


def choice_box(control: Choice):
    """Buttons for a few short options, a list for others: (box, widget)."""
    few = len(control.options) <= 4 and sum(map(len, control.options)) <= 36
    style = {"description_width": "auto"} | ({"button_width": "auto"} if few else {})
    handle = (widgets.ToggleButtons if few else widgets.Dropdown)(
        options=control.options, value=control.start, description=control.label, style=style,
        tooltip=control.help or control.label, layout={"width": "auto"},
    )  # fmt: skip
    return widgets.VBox([handle], layout={"justify_content": "center"}), handle


def held_text(explainer: Explainer, before: dict, now: dict) -> str:
    """What the grey curves are: the settings `before`, where they differ from those of `now`."""
    moved = [
        f"{settings_text.inline(control.label)} "
        f"{settings_text.reading(control, before[control.name])}"
        for control in explainer.controls
        if before[control.name] != now[control.name]
    ]
    return f"Grey: held at {', '.join(moved) or 'the present settings'}."


def readout_html(scene: Scene, compared: str) -> str:
    """The readout in words, its warnings and cautions, and what is held."""
    rows = [f"<p>{safe(words)}</p>" for words in scene.readout]
    rows += [f"<p class='warn'>Careful: {safe(words)}</p>" for words in scene.warnings]
    rows += [f"<p class='warn'>Caution: {safe(words)}</p>" for words in scene.cautions]
    rows += [f"<p>{safe(compared)}</p>"] if compared else []
    return f"<div class='boxlab-readout' role='status' aria-live='polite'>{''.join(rows)}</div>"


def described_html(scene: Scene) -> str:
    """The caption, and the description of the picture for those who cannot see it."""
    return (
        f"<p class='boxlab-caption'>{safe(scene.caption)}</p>"
        f"<p class='boxlab-hidden'>Picture: {safe(scene.alt)}</p>"
    )


def error_html(what: str, words: str) -> str:
    """Trouble in plain words."""
    return f"<p class='boxlab-bad' role='alert'><strong>{safe(what)}</strong> {safe(words)}</p>"


def numbers_html(scene: Scene, held: Scene | None, system: str) -> str:
    """The numbers table in one unit system; with curves held, their numbers beside it."""

    def value(number):
        return safe(number.imperial if system == "inch" and number.imperial else number.metric)

    before = {number.name: value(number) for number in held.numbers} if held else {}
    head = "<th scope='col'>quantity</th><th scope='col'>now</th>"
    rows = ""
    for number in scene.numbers:
        rows += f"<tr><th scope='row'>{safe(number.name)}</th><td>{value(number)}</td>"
        rows += f"<td>{before.get(number.name, '')}</td></tr>" if held else "</tr>"
    head += "<th scope='col'>held</th>" if held else ""
    return f"<table><thead><tr>{head}</tr></thead><tbody>{rows}</tbody></table>"


def share_html(
    explainer: Explainer, state: dict, scene: Scene, files: dict[str, bytes], pages: str
) -> str:
    """Texts to copy and pictures to save; `files` holds those by their kind, "png" and "svg"."""
    name = settings_text.call_name(explainer)
    code = [] if scene.code.startswith(f"{name}(") else [("Python for the numbers", scene.code)]
    where = share_text.address(explainer, pages)
    texts = (
        ("Settings line", settings_text.settings_line(explainer, state)),
        *([("Link to the lesson", where)] if where else []),
        *code,
        ("In 40 words", share_text.in_short(explainer, scene, pages=pages, state=state)),
        *(
            (f"Paragraph in {title}", share_text.paragraph(explainer, state, scene, style, pages))
            for title, style in (
                ("Markdown", "markdown"),
                ("BBCode", "bbcode"),
                ("plain text", "plain"),
            )
        ),
        ("Picture with caption in Markdown", share_text.picture_markdown(explainer, scene, pages)),
        ("Description of the picture (alt text)", scene.alt),
    )
    rows = [min(9, text.count("\n") + 1 + len(text) // 95) for _, text in texts]
    areas = "".join(
        f"<label>{title}<textarea readonly rows='{height}'"
        f" data-lm-suppress-shortcuts='true'>{safe(text)}</textarea></label>"
        for (title, text), height in zip(texts, rows, strict=True)
    )
    offers = (
        ("png", "image/png", "Save the picture with its caption (PNG)"),
        ("svg", "image/svg+xml", "Save the picture for a page or a print (SVG)"),
    )
    saves = " · ".join(
        f"<a download='{safe(name)}.{kind}' href='data:{media};base64,"
        f"{base64.b64encode(files[kind]).decode('ascii')}'>{words}</a>"
        for kind, media, words in offers
    )
    return f"{areas}<p>{saves}</p>"
