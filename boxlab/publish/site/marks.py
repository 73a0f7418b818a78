"""Markdown to HTML as the site wants it: stable anchors, drawn formulas, tables that scroll."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from html import escape, unescape
from urllib.parse import quote

from nbconvert.filters.markdown_mistune import IPythonRenderer, MarkdownWithMath

from boxlab.publish.question_index import anchor as page_id
from boxlab.publish.site import maths

__all__ = ["Heading", "Writer", "fragment", "linked", "notebook_id", "page_id"]

PUNCTUATION = "?!.,:;"


@dataclass(frozen=True)
class Heading:
    """A place that a link can lead to."""

    level: int
    text: str
    id: str


def notebook_id(text: str) -> str:
    """The anchor that JupyterLab gives a heading, so that a link works there and here.

    >>> notebook_id("Will the port fit?")
    'Will-the-port-fit?'
    """
    return text.strip().replace(" ", "-")


def fragment(name: str) -> str:
    """An anchor as it is written in a link."""
    return quote(name, safe="-._~!$&'()*+,;=:@/?")


class Writer(IPythonRenderer):
    """Renders one page's Markdown; `headings` and `faults` fill up as it goes."""

    def __init__(self, anchor: Callable[[str], str], attachments=None):
        super().__init__(escape=False, attachments=attachments, exclude_anchor_links=True)
        self.anchor = anchor
        self.headings: list[Heading] = []
        self.taken: set[str] = set()
        self.named: set[str] = set()  # anchors written out in the text at hand
        self.faults: list[str] = []

    def html(self, source: str, attachments=None) -> str:
        """The Markdown `source` as HTML."""
        self.attachments = attachments or {}
        self.named = set(re.findall(r"""<a\s+(?:id|name)=["']([^"']+)""", source))
        return MarkdownWithMath(renderer=self).render(source)

    def heading(self, text: str, level: int, **attrs) -> str:
        """A heading, with its anchor and a link to itself that can be copied.

        Many a site drops punctuation from the end of a pasted address, so the link leads to an
        anchor without it.
        """
        words = re.sub(r'<svg[^>]*data-tex="([^"]*)".*?</svg>', r"$\1$", text)
        words = unescape(re.sub(r"<[^>]+>", "", words)).strip()
        name = first = self.anchor(words)
        count = 2
        while name in self.taken:  # two of the same name: a link leads to the first
            name, count = f"{first}-{count}", count + 1
        aim = name.rstrip(PUNCTUATION) or name
        if aim in self.taken and aim not in self.named:
            aim = name
        elif aim != name and aim not in self.named:
            text += f'<a id="{escape(aim)}"></a>'
        self.taken |= {name, aim}
        self.headings.append(Heading(level, words, aim))
        return linked(text, words, level, name, aim)

    def table(self, text: str) -> str:
        """A table that scrolls by itself where the screen is narrow."""
        return f"<table>\n{text}</table>\n"

    def block_math(self, body: str) -> str:
        """A formula on a line of its own."""
        return self._formula(body, display=True)

    def inline_math(self, body: str) -> str:
        """A formula in the text."""
        return self._formula(body)

    def latex_environment(self, name: str, body: str) -> str:
        """An environment is more than matplotlib can set; its source is shown."""
        return self._formula(rf"\begin{{{name}}}{body}\end{{{name}}}", display=True)

    def _formula(self, tex: str, display: bool = False) -> str:
        try:
            return maths.drawn(tex, display)
        except maths.Unset as fault:
            self.faults.append(str(fault))
            return f"<code>{escape(tex)}</code>"


def linked(html: str, words: str, level: int, name: str, aim: str = "") -> str:
    """A heading of the site; its link to itself leads to `aim`, or to its `name`."""
    aim = escape(fragment(aim or name))
    return (
        f'<h{level} id="{escape(name)}">{html} <a class="here" href="#{aim}" '
        f'aria-label="Link to: {escape(words)}">#</a></h{level}>\n'
    )
