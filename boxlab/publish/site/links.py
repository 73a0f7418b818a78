"""Where a file of the repository stands on the site, and links that still lead there."""

from __future__ import annotations

import os
import re
from collections.abc import Collection
from html import escape, unescape
from pathlib import Path, PurePosixPath
from urllib.parse import quote, unquote

from boxlab.publish.site.marks import fragment

PICTURES = PurePosixPath("figures/README.md")
_TAG = re.compile(
    r"""(<(?:a|img|source|video|audio)\b[^>]*?\s(?:href|src|srcset)=)(["'])(.*?)\2""", re.S
)
SHOWN = {".py", ".toml", ".cfg", ".yml", ""}  # browsers would offer to save these


def place(path: PurePosixPath) -> PurePosixPath:
    """The site's file for a file of the repository, both from the top.

    >>> str(place(PurePosixPath("lessons/01-a.ipynb"))), str(place(PurePosixPath("LICENSE")))
    ('lessons/01-a.html', 'LICENSE.txt')
    """
    if path == PICTURES:
        return path.with_name("index.html")
    if path.suffix in (".ipynb", ".md"):
        return path.with_suffix(".html")
    return path.with_name(path.name + ".txt") if path.suffix in SHOWN else path


def between(here: PurePosixPath, there: PurePosixPath) -> str:
    """The relative link from one file of the site to another.

    >>> between(PurePosixPath("lessons/a.html"), PurePosixPath("index.html"))
    '../index.html'
    """
    return quote(os.path.relpath(there, here.parent).replace(os.sep, "/"))


def found(body: str) -> list[str]:
    """Every target that `body` links to or shows."""
    return [unescape(match[3]) for match in _TAG.finditer(body)]


class Links:
    """The links of one page of the repository under `root`.

    `aims` are the files it leads to, as (path from the top, anchor); `faults` what leads nowhere.
    """

    def __init__(self, root: Path, source: Path, own: Collection[str] = ()):
        self.root, self.source, self.own = root, source, set(own)
        self.aims: list[tuple[PurePosixPath, str]] = []
        self.faults: list[str] = []

    def mended(self, body: str) -> str:
        """The same HTML with links that hold on the site."""
        return _TAG.sub(lambda m: m[1] + m[2] + escape(self._mend(unescape(m[3]))) + m[2], body)

    def _mend(self, target: str) -> str:
        if re.match(r"[a-zA-Z][\w+.-]*:", target) or target in self.own:
            return target
        name, hash_, anchor = target.partition("#")
        name, anchor = unquote(name), unquote(anchor)
        file = (self.source.parent / name).resolve() if name else self.source
        if target.startswith("//") or not file.exists() or not file.is_relative_to(self.root):
            self.faults.append(f"a link to {target} leads nowhere")
            return target
        path = PurePosixPath(file.relative_to(self.root).as_posix())
        end = f"#{fragment(anchor)}" if hash_ else ""
        if file.is_dir():
            there = PurePosixPath("index.html")
            if path == PICTURES.parent:
                there = place(PICTURES)
            elif str(path) not in (".", "lessons"):
                self.faults.append(f"a link to the folder {target} leads to no page")
        else:
            self.aims.append((path, anchor))
            there = place(path)
        here = place(PurePosixPath(self.source.relative_to(self.root).as_posix()))
        return end if there == here and end else between(here, there) + end
