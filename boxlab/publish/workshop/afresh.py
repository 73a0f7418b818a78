"""A laptop that remembers an earlier class starts afresh: everything put aside, nothing deleted."""

from __future__ import annotations

import datetime
import io
import subprocess
import zipfile
from pathlib import Path

from boxlab.base.progress import home
from boxlab.publish.notebooks import LESSONS, ROOT
from boxlab.publish.workshop.bundle import FRESH, WHEELS


def start(root: Path = ROOT, own: Path | None = None) -> list[str]:
    """Put record, drafts, changed lessons and handed-in files aside; lessons as they came.

    Returns
    -------
    list of str
        What was done, and what could not be, in plain words.
    """
    own = own or home()
    stamp = datetime.datetime.now().strftime("%Y-%m-%d-%H%M%S")
    aside = own.with_name(f"{own.name}-before-{stamp}")
    said = []
    if own.is_dir() and any(own.iterdir()):
        own.rename(aside)
        said.append("the record of what was predicted and tried")
    fresh, problem = as_they_came(root)
    for name, data in fresh.items():
        path = root / name
        if path.is_file() and path.read_bytes() == data:
            continue
        if path.is_file():
            _put_aside(path, aside)
            said.append(path.name)
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(data)
    for path in sorted((root / LESSONS.name).glob("results-*.json")):
        _put_aside(path, aside)
        said.append(path.name)
    if not said:
        return [*problem, "There was nothing to put aside: this laptop is as it came."]
    return [f"Put aside: {', '.join(said)}.", *problem, f"All of it lies in {aside}."]


def _put_aside(path: Path, aside: Path) -> None:
    aside.mkdir(parents=True, exist_ok=True)
    target = aside / path.name
    target.write_bytes(path.read_bytes())
    path.unlink()


def as_they_came(root: Path) -> tuple[dict[str, bytes], list[str]]:
    """(lessons by place, what is wrong): from the stick's archive, else from git."""
    archive = root / WHEELS / FRESH
    if archive.is_file():
        return unzipped(archive.read_bytes()), []
    try:
        made = subprocess.run(
            ["git", "-C", str(root), "archive", "--format=zip", "HEAD", LESSONS.name],
            capture_output=True, check=True,
        )  # fmt: skip
        return unzipped(made.stdout), []
    except (OSError, subprocess.CalledProcessError):
        return {}, [
            "Lessons that were changed stay as they are: this folder came neither from a stick nor "
            "from git. Copy the folder lessons anew from where you have it."
        ]


def unzipped(data: bytes) -> dict[str, bytes]:
    """The notebooks and pages of an archive, by their place."""
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        names = [n for n in archive.namelist() if n.startswith(f"{LESSONS.name}/") and n[-1] != "/"]
        return {name: archive.read(name) for name in names if ".." not in Path(name).parts}
