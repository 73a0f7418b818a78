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
        self.faults: list[str] = []

    def html(self, source: str, attachments=None) -> str:
        """The Markdown `source` as HTML."""
        self.attachments = attachments or {}
        return MarkdownWithMath(renderer=self).render(source)

    def heading(self, text: str, level: int, **attrs) -> str:
        """A heading, with its anchor and a link to itself that can be copied."""
        words = re.sub(r'<svg[^>]*data-tex="([^"]*)".*?</svg>', r"$\1$", text)
        words = unescape(re.sub(r"<[^>]+>", "", words)).strip()
        taken = {each.id for each in self.headings}
        name = first = self.anchor(words)
        count = 2
        while name in taken:  # two of the same name: a link leads to the first
            name, count = f"{first}-{count}", count + 1
        self.headings.append(Heading(level, words, name))
        return linked(text, words, level, name)

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


def linked(html: str, words: str, level: int, name: str) -> str:
    """A heading of the site."""
    return (
        f'<h{level} id="{escape(name)}">{html} <a class="here" href="#{escape(fragment(name))}" '
        f'aria-label="Link to: {escape(words)}">#</a></h{level}>\n'
    )
