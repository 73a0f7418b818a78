"""Keeps a copy of every table a learner uploads or pastes, so that nothing of theirs is lost.

The copies lie beside the progress file, in the folder `sweeps`, byte for byte as they came. They
leave this machine only if their owner takes them.
"""

from __future__ import annotations

import hashlib
import re
from datetime import datetime
from pathlib import Path

from boxlab.base import progress, safe_write

_NAME = re.compile(r"\d{8}-\d{6}-[0-9a-f]{10}-.+", re.DOTALL)


def folder() -> Path:
    """The folder that holds the copies: $BOXLAB_HOME/sweeps, or in this system's data folder."""
    return progress.home() / "sweeps"


def keep(name: str, data: bytes, at: datetime | None = None) -> Path:
    """Store `data` under the time and its name, and return the path; the same bytes once only.

    Raises
    ------
    OSError
        If the folder cannot be written.
    """
    place = folder()
    place.mkdir(parents=True, exist_ok=True)
    mark = hashlib.sha256(data).hexdigest()[:10]
    for old in kept():
        if old.name.split("-", 3)[2] == mark:
            return old
    stamp = (at or datetime.now()).strftime("%Y%m%d-%H%M%S")
    path = place / f"{stamp}-{mark}-{plain(name)}"
    safe_write.put(path, data, ".new-")
    return path


def kept() -> list[Path]:
    """The copies, newest first; none if the folder cannot be read."""
    try:
        copies = (p for p in folder().iterdir() if _NAME.fullmatch(p.name) and p.is_file())
        return sorted(copies, reverse=True)
    except OSError:
        return []


def title(path: Path) -> str:
    """What a copy is called in a list: its name and when it came.

    >>> title(Path("20260105-193000-0123456789-my box.csv"))
    'my box.csv, 2026-01-05 19:30'
    """
    day, time, _, name = path.name.split("-", 3)
    return f"{name}, {day[:4]}-{day[4:6]}-{day[6:]} {time[:2]}:{time[2:4]}"


def plain(name: str) -> str:
    """A file name without folders or characters that some system refuses; short, never empty.

    >>> plain("../../etc/my <box>.csv")
    'my _box_.csv'
    """
    last = re.split(r"[\\/]", name)[-1]
    clean = re.sub(r"[^\w .()+-]", "_", last)
    # No system takes a name of more than 255 bytes, and the time and the mark stand before it.
    clean = clean.encode()[-160:].decode(errors="ignore").strip(" .")
    return clean or "sweep.txt"


def beside(path: Path, name: str, data: bytes) -> str:
    """Keep a file beside `path` under its name, or a new one where that is taken; returns it.

    Raises
    ------
    OSError
        If it cannot be written.
    """
    stem, dot, ending = name.rpartition(".")
    for number in range(1, 1000):
        chosen = name if number == 1 else f"{stem or ending}-{number}{dot}{ending}"
        target = path.with_name(chosen)
        if target.exists():
            if target.read_bytes() == data:
                return chosen
            continue
        safe_write.put_new(target, data)
        return chosen
    raise OSError(f"there are a thousand files called {name}")
