"""What stands round slides and papers: templates, the site's colours, and where they may go."""

from __future__ import annotations

from functools import cache
from html import escape
from pathlib import Path

HERE = Path(__file__).parent


@cache
def text(name: str) -> str:
    """A file of this folder."""
    return (HERE / name).read_text(encoding="utf-8")


@cache
def palette() -> str:
    """The site's colours, for light and for dark."""
    from boxlab.publish import site

    sheet = (Path(site.__file__).parent / "site.css").read_text(encoding="utf-8")
    return sheet.partition("\n* {")[0] + "\n"


def fill(name: str, **parts) -> str:
    """A template of this folder with each `@part@` put in."""
    page = text(name)
    for word, value in parts.items():
        page = page.replace(f"@{word}@", value)
    return page


def paper(title: str, body: str, generator: str) -> str:
    """A page to print, complete in itself. `body` is HTML."""
    style = palette() + text("paper.css")
    return fill("paper.html", title=escape(title), generator=generator, body=body, style=style)
