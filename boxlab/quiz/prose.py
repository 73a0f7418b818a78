"""Plain Markdown, as used in questions and solutions, to HTML and to plain text.

Only what those texts need: paragraphs, "- " and "1. " lists, **bold**, *italic*, `code` and
[links](#anchor). Everything else is shown as typed; nothing typed ever becomes markup.
"""

from __future__ import annotations

import re
from html import escape

_BULLET = re.compile(r"(?:-|\d{1,2}\.)\s+")
_LINK = re.compile(r"\[([^\]\n]+)\]\(((?:https?://|#|[\w./-]+\.(?:ipynb|html|md))[^\s()<>]*)\)")


def to_html(text: str) -> str:
    """Markdown to HTML, safe to place in a page whatever `text` holds.

    >>> to_html("**f** < 2 `x`")
    '<p><strong>f</strong> &lt; 2 <code>x</code></p>'
    """
    blocks = []
    for block in re.split(r"\n\s*\n", text.strip()):
        paragraph, items, ordered = [], [], False
        for line in block.strip().splitlines():
            line = line.strip()
            if bullet := _BULLET.match(line):
                ordered = ordered or not line.startswith("-")
                items.append(line[bullet.end() :])
            elif items:
                items[-1] += " " + line
            else:
                paragraph.append(line)
        if paragraph:
            blocks.append(f"<p>{inline(' '.join(paragraph))}</p>")
        if items:
            tag = "ol" if ordered else "ul"
            rows = "".join(f"<li>{inline(item)}</li>" for item in items)
            blocks.append(f"<{tag}>{rows}</{tag}>")
    return "\n".join(blocks)


def inline(text: str) -> str:
    """One run of text to HTML, without a paragraph round it."""
    parts = re.split(r"`([^`]+)`", text)
    for i, part in enumerate(parts):
        if i % 2:
            parts[i] = f"<code>{escape(part)}</code>"
        else:
            part = escape(part)
            part = _LINK.sub(r'<a href="\2">\1</a>', part)
            part = re.sub(r"\*\*(?=\S)(.+?)(?<=\S)\*\*", r"<strong>\1</strong>", part)
            parts[i] = re.sub(r"(?<![\w*])\*(?=\S)([^*]+?)(?<=\S)\*(?![\w*])", r"<em>\1</em>", part)
    return "".join(parts)


def to_text(text: str) -> str:
    """Markdown to plain text: the marks go, the words and line breaks stay.

    >>> to_text("**f** is `x`")
    'f is x'
    """
    text = _LINK.sub(r"\1 (\2)", text.strip())
    text = re.sub(r"\*\*(?=\S)(.+?)(?<=\S)\*\*", r"\1", text)
    return re.sub(r"`([^`]+)`", r"\1", text)
