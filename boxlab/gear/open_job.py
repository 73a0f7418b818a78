"""The job that is open: one at a time, for every lesson on this machine.

`start.py lessons --job FILE`, `job open FILE` and the job desk open one, until another is opened.
Only the path is kept.
"""

from __future__ import annotations

from pathlib import Path

from boxlab.base import progress, safe_write
from boxlab.gear.job import Job, read_job
from boxlab.gear.job_keys import JobError

FILE = "open-job.txt"


def path() -> Path | None:
    """Where the open job lies, or None where none is open."""
    try:
        text = (progress.home() / FILE).read_text(encoding="utf-8").strip()
    except OSError:
        return None
    return Path(text) if text else None


def set_path(chosen: Path | None) -> None:
    """Open the job at this path from now on; None for none.

    Raises
    ------
    OSError
        If that cannot be kept.
    """
    place = progress.home()
    place.mkdir(parents=True, exist_ok=True)
    text = "" if chosen is None else str(chosen.resolve())
    safe_write.put(place / FILE, text.encode(), ".open-job.")


def opened_job() -> Job | None:
    """The open job as it is now, or None where none is open.

    Raises
    ------
    JobError
        If it cannot be read any more.
    """
    found = path()
    if found is None:
        return None
    try:
        return read_job(found)
    except JobError as error:
        raise JobError(f"The open job: {error}") from None
