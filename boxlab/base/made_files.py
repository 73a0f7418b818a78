"""Folders of made files: what we wrote and recorded may go again, and nothing else ever does.

Beside the files stands a record with their names and fingerprints. A newer set takes the place of
an older one; a file that somebody changed or added since stays as it is, and is named. The record
is written before the files, so a run that is killed half-way can be run again.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from pathlib import Path, PurePosixPath

from boxlab.base.safe_write import put

RECORD = ".boxlab-made.json"
ELSEWHERE = ("CNAME", "Thumbs.db", "desktop.ini")  # what a hoster or a system puts into any folder


def check_free(folder, what: str) -> dict[str, list[str]]:
    """Whether a set of `what` ("slides") may go to `folder`; returns what is recorded there.

    Raises
    ------
    ValueError
        If it is a file, or holds things and no record of such a set.
    """
    folder = Path(folder)
    if folder.exists() and not folder.is_dir():
        raise ValueError(f"--to {folder}: that is a file; give a folder for the {what}")
    if not folder.exists():
        return {}
    record = folder / RECORD
    if record.is_file():
        try:
            content = json.loads(record.read_text(encoding="utf-8"))
            kind, files = content["what"], content["files"]
            prints = {str(name): [str(mark) for mark in marks] for name, marks in files.items()}
        except (ValueError, KeyError, TypeError, AttributeError):
            raise ValueError(
                f"--to {folder}: its record {RECORD} cannot be read, so nothing there is touched. "
                "Give a new folder."
            ) from None
        if kind != what:
            raise ValueError(f"--to {folder}: it holds {kind}; give another folder for the {what}")
        return prints
    others = [p.name for p in folder.iterdir() if p.name[0] != "." and p.name not in ELSEWHERE]
    if others:
        raise ValueError(
            f"--to {folder}: it holds other things, such as {sorted(others)[0]}. Give a folder "
            f"that is new or empty, or one with {what} that boxlab made and recorded."
        )
    return {}


def write_set(folder, what: str, files: Mapping[str, bytes | str]) -> list[str]:
    """Put `files`, relative name -> content, into `folder` in place of an older set.

    Returns
    -------
    list of str
        What was left as it is, in plain words: files that somebody changed, or that stood there.

    Raises
    ------
    ValueError
        As `check_free`.
    """
    folder = Path(folder)
    old = check_free(folder, what)
    data = {n: c.encode() if isinstance(c, str) else bytes(c) for n, c in files.items()}
    for name in data:
        path = PurePosixPath(name)
        if path.is_absolute() or ".." in path.parts:
            raise ValueError(f"{name!r} does not lie inside the folder")
    marks = {name: _print(content) for name, content in data.items()}
    left = []
    for name in [*data, *(name for name in old if name not in data)]:
        path = folder / name
        if path.exists() and _print(path.read_bytes()) not in [*old.get(name, ()), marks.get(name)]:
            whose = "was changed by somebody" if name in old else "was there already"
            left.append(f"{path} {whose}; it stays as it is. Move it, and run this again.")
            marks.pop(name, None)
    folder.mkdir(parents=True, exist_ok=True)
    both = {
        name: [*old.get(name, ()), *([marks[name]] if name in marks else [])]
        for name in {**old, **marks}
    }
    _record(folder, what, both)
    for name, content in data.items():
        if name in marks:
            (folder / name).parent.mkdir(parents=True, exist_ok=True)
            put(folder / name, content, ".boxlab-")
            (folder / name).chmod(0o644)
    stays = {str(Path(line.split(" was ")[0])) for line in left}
    for name in old:
        if name not in data and str(folder / name) not in stays:
            (folder / name).unlink(missing_ok=True)
            _prune(folder, (folder / name).parent)
    _record(folder, what, {name: [mark] for name, mark in marks.items()})
    return left


def _record(folder, what, files):
    content = {"made by": "boxlab", "what": what, "files": dict(sorted(files.items()))}
    put(folder / RECORD, json.dumps(content, indent=1).encode(), ".boxlab-")


def _print(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()


def _prune(folder: Path, inner: Path) -> None:
    """Remove folders that are empty now, up to `folder`."""
    while inner != folder and inner.is_dir() and not any(inner.iterdir()):
        inner.rmdir()
        inner = inner.parent
