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
PART = f"{RECORD}."  # begins the names of files that are half written
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
            if not all(map(_inside, prints)):
                raise ValueError
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
        if not _inside(name):
            raise ValueError(f"{name!r} does not lie inside the folder")
    marks = {name: _print(content) for name, content in data.items()}
    theirs = {
        name: "was changed by somebody" if name in old else "was there already"
        for name in {**old, **data}
        if _in_the_way(folder, name, [*old.get(name, ()), marks.get(name)])
    }
    mine = {name: mark for name, mark in marks.items() if name not in theirs}
    both = {name: [*old.get(name, ()), *([mine[name]] if name in mine else [])]
            for name in {**old, **mine}}  # fmt: skip
    folder.mkdir(parents=True, exist_ok=True)
    for inner in {(folder / name).parent for name in both}:
        for part in inner.glob(f"{PART}*.tmp"):  # half a file, of a run that was killed
            part.unlink()
    _record(folder, what, both)
    # Older files go first: on some disks a name that only changed its capitals is the same file.
    for name in old:
        if name not in data and name not in theirs:
            (folder / name).unlink(missing_ok=True)
            _prune(folder, (folder / name).parent)
    for name in mine:
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        put(folder / name, data[name], PART)
        (folder / name).chmod(0o644)
    _record(folder, what, {name: [mark] for name, mark in mine.items()})
    return [
        f"{folder / name} {why}; it stays as it is. Move it, and run this again."
        for name, why in theirs.items()
    ]


def _record(folder, what, files):
    content = {"made by": "boxlab", "what": what, "files": dict(sorted(files.items()))}
    put(folder / RECORD, json.dumps(content, indent=1).encode(), PART)


def _print(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()


def _inside(name: str) -> bool:
    path = PurePosixPath(name)
    return not (path.is_absolute() or ".." in path.parts or "\\" in name or ":" in name)


def _in_the_way(folder: Path, name: str, prints) -> bool:
    """Whether something stands at `name`, or above it, that is no file of ours with such prints."""
    path = folder / name
    above = [folder / part for part in list(PurePosixPath(name).parents)[:-1]]
    if any(each.is_symlink() or each.is_file() for each in above):
        return True
    if path.is_symlink() or path.is_dir():
        return True
    return path.exists() and _print(path.read_bytes()) not in prints


def _prune(folder: Path, inner: Path) -> None:
    """Remove folders that are empty now, up to `folder`."""
    while inner != folder and inner.is_dir() and not any(inner.iterdir()):
        inner.rmdir()
        inner = inner.parent
