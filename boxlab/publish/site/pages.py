"""One notebook or Markdown file as a page: its title, its headings, its HTML and its pictures."""

from __future__ import annotations

import base64
import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property
from html import escape
from io import BytesIO
from pathlib import Path

from boxlab.publish import lesson_rules
from boxlab.publish.notebooks import read
from boxlab.publish.site import questions
from boxlab.publish.site.marks import Heading, Writer, notebook_id, page_id

HERE = Path(__file__).parent
WIDE = 600  # pixels: a picture that a phone shows a part of at a time, not shrunk
_STILL = "On this page nothing has to be run."
LONG = 30  # lines of printed output before it is folded
KINDS = {
    "image/gif": "gif", "image/apng": "png", "image/webp": "webp", "image/png": "png",
    "image/jpeg": "jpg", "image/svg+xml": "svg",
}  # fmt: skip
PRIORITY = ["text/html", "text/markdown", *KINDS, "text/latex", "text/plain"]


@dataclass(frozen=True)
class Page:
    """A page before it is wrapped into the site's frame. Links are still the source's own."""

    source: Path
    title: str
    body: str
    headings: tuple[Heading, ...]
    minutes: int | None = None
    files: Mapping[str, bytes] = field(default_factory=dict)  # pictures, by name beside the page
    faults: tuple[str, ...] = ()

    @cached_property
    def anchors(self) -> set[str]:
        """Every name that a link into the page may end in."""
        return {each.id for each in self.headings} | set(re.findall(r'\bid="([^"]+)"', self.body))


class Pictures:
    """Takes the pictures out of a notebook's outputs and gives HTML in their place."""

    def __init__(self, stem: str):
        self.folder, self.files, self.faults = f"{stem}.files", {}, []

    def _keep(self, data: bytes, kind: str, note: str = "") -> str:
        number = len([name for name in self.files if "still" not in name]) + (not note)
        name = f"{self.folder}/{number:02}{note}.{kind}"
        self.files[name] = data
        return name

    def html(self, output) -> str:
        """The output's picture with its alt text, and its description in words to unfold."""
        kind = next((kind for kind in KINDS if kind in output.data), None)
        if kind is None:
            return ""
        data = output.data[kind]
        data = data.encode() if kind == "image/svg+xml" else base64.b64decode(data)
        about = output.metadata.get(kind, {})
        alt = about.get("alt", "").strip()
        if not alt:
            self.faults.append("a picture has no alt text")
        name = self._keep(data, KINDS[kind])
        size = "".join(f' {side}="{about[side]}"' for side in ("width", "height") if side in about)
        image = f'<img src="{name}" alt="{escape(alt)}"{size}>'
        still = first_frame(data) if kind != "image/svg+xml" else None
        if still:
            calm = self._keep(still, "png", "-still")
            image = (
                f'<picture class="moving"><source srcset="{calm}" '
                f'media="(prefers-reduced-motion: reduce)">{image}</picture>'
            )
        wide = " wide" if about.get("width", WIDE) >= WIDE else ""
        words = output.data.get("text/plain", "")
        if not words or words.startswith("<"):
            words = ""
        told = f'<details class="told"><summary>In words</summary>{_paragraphs(words)}</details>'
        return (
            f'\n<figure class="drawn{wide}"><div class="scroll">'
            f'<a href="{name}" title="Open the picture by itself">{image}</a></div>'
            f"{told if words else ''}</figure>\n"
        )


def _shown(html: str, cell) -> str:
    """The outputs of a cell; where they are those of a panel, a place where it moves."""
    found = questions.panel_in(cell.source)
    if not found or "<img" not in html:
        return html
    before, begins, rest = html.partition('\n<figure class="drawn')
    figure, end, after = rest.partition("</figure>\n")
    return f"{before}\n{questions.place(*found, begins.strip() + figure + end)}{after}"


def first_frame(data: bytes) -> bytes | None:
    """The first frame of a moving picture as PNG; None if the picture does not move."""
    from PIL import Image

    with Image.open(BytesIO(data)) as image:
        if not getattr(image, "is_animated", False):
            return None
        still = BytesIO()
        image.seek(0)
        image.convert("RGBA").save(still, "PNG")
    return still.getvalue()


def printed(text: str) -> str:
    """What a cell printed; folded where it is long."""
    text = text.rstrip("\n")
    if not text.strip():
        return ""
    block = f'<div class="scroll"><pre class="out">{escape(text, quote=False)}</pre></div>'
    count = text.count("\n") + 1
    if count <= LONG:
        return f"\n{block}\n"
    return f"\n<details><summary>Output, {count} lines</summary>{block}</details>\n"


def _paragraphs(text: str) -> str:
    return "".join(f"<p>{escape(line, quote=False)}</p>" for line in text.splitlines() if line)


def notebook_page(path: Path) -> Page:
    """The notebook in the file `path` as a page, with nbconvert as the engine."""
    notebook = read(path)
    writer, pictures = Writer(notebook_id), Pictures(path.stem)
    body, _ = _exporter(writer, pictures).from_notebook_node(notebook)
    faults = tuple(writer.faults + pictures.faults)
    return Page(
        path, _title(writer, path), scrolling(body), tuple(writer.headings),
        lesson_rules.minutes(notebook), pictures.files, faults,
    )  # fmt: skip


def markdown_page(path: Path) -> Page:
    """The Markdown in the file `path` as a page."""
    writer = Writer(page_id)
    body = writer.html(path.read_text(encoding="utf-8"))
    title, faults = _title(writer, path), tuple(writer.faults)
    return Page(path, title, scrolling(body), tuple(writer.headings), faults=faults)


def no_keys(text: str) -> str:
    """A lesson's words for a page, where there is nothing to run and often no keyboard.

    >>> no_keys("You need a calculator. Run the cells from top to bottom with Shift-Enter.")
    'You need a calculator. On this page nothing has to be run.'
    """
    text = re.sub(r"^- After \*\*Shift-Enter\*\*.*\n", "", text, flags=re.M)
    text = re.sub(r"^Click into the grey cell(?:.+\n?)+", f"{_STILL}\n", text, flags=re.M)
    return re.sub(r"Run\s+the\s+cells\s[\w\s]+\bwith\s+Shift-Enter\.", _STILL, text)


def _title(writer: Writer, path: Path) -> str:
    return next((each.text for each in writer.headings if each.level == 1), path.stem)


def quiet(body: str) -> str:
    """The same HTML without scripts inside tags, which the site's policy forbids.

    The names of widgets that are not here are not missed; `site.js` sees to the players.
    """
    handler = re.compile(r"(<(?:style|audio)\b[^>]*?)\s+on\w+=(?:\"[^\"]*\"|'[^']*')")
    while handler.search(body):
        body = handler.sub(r"\1", body)
    return body


def scrolling(body: str) -> str:
    """The same HTML; tables scroll by themselves where the screen is narrow."""
    body = quiet(body)
    body = re.sub(r"<table\b", '<div class="scroll"><table', body)
    return body.replace("</table>", "</table></div>")


def _exporter(writer: Writer, pictures: Pictures):
    from nbconvert.exporters.templateexporter import TemplateExporter
    from nbconvert.filters import Highlight2HTML
    from traitlets.config import Config

    class Pages(TemplateExporter):
        """Our own template over nbconvert's; nothing of its own look."""

        file_extension = ".html"
        output_mimetype = "text/html"

        def _template_name_default(self):
            return "cells"

    exporter = Pages(
        config=Config(NbConvertBase={"display_data_priority": PRIORITY}),
        extra_template_basedirs=[str(HERE)],
    )
    exporter.register_filter(
        "words", lambda cell: writer.html(no_keys(cell.source), cell.get("attachments"))
    )
    exporter.register_filter("markdown", writer.html)
    exporter.register_filter("printed", printed)
    exporter.register_filter("picture", pictures.html)
    exporter.register_filter("shown", _shown)
    exporter.register_filter("highlight_code", Highlight2HTML(pygments_lexer="python"))
    return exporter
