"""Keeps predictions and attempts in one small file on this machine, and nowhere else.

The file is a list of events that only grows: so two notebooks can write at once and neither loses
anything, and an unfinished write never harms what was there. It holds no name. Where it cannot
be written, everything stays in memory and `notice` says so.
"""

from __future__ import annotations

import contextlib
import json
import os
import uuid
from datetime import UTC, datetime
from pathlib import Path

import platformdirs

from boxlab.base import safe_write

SCHEMA = 1
FILE = "progress.json"
_FIELDS = {  # what lessons record beside id, at and what
    **dict.fromkeys(("key", "choice", "text", "seed", "verdict"), str),
    **dict.fromkeys(("step", "of", "count"), int),
}
PATIENCE = 3.0  # s to wait for another notebook that is just writing


def home() -> Path:
    """The folder that holds the progress file: $BOXLAB_HOME, or this system's data folder."""
    if chosen := os.environ.get("BOXLAB_HOME"):
        return Path(chosen).expanduser()
    return platformdirs.user_data_path("boxlab", appauthor=False)


class Store:
    """The learner's own record.

    Parameters
    ----------
    folder : Path, optional
        Where the file lives; looked up afresh each time if not given.
    """

    def __init__(self, folder: Path | None = None):
        self._folder = folder
        self._kept: list[dict] = []  # as last read from or written to the file
        self._pending: list[dict] = []  # not in the file yet
        self._stamp: tuple | None = None
        self.notice = ""  # what the learner should know about saving; "" when all is well

    @property
    def path(self) -> Path:
        """The file that keeps the record."""
        return (self._folder or home()) / FILE

    @property
    def saved(self) -> bool:
        """Whether everything recorded here is in the file."""
        return not self._pending

    @property
    def events(self) -> list[dict]:
        """Every event known, oldest first, those of other notebooks included."""
        stamp = self._state()
        if stamp != self._stamp:
            with contextlib.suppress(OSError):
                self._kept, self._stamp = _sound(self._read() or []), stamp
        return [*self._kept, *self._pending]

    def add(self, what: str, **fields) -> dict:
        """Record an event and save it. Never raises for a disk that cannot take it."""
        event = {
            "id": uuid.uuid4().hex,
            "at": datetime.now(UTC).isoformat(timespec="microseconds"),
            "what": what,
            **fields,
        }
        self._pending.append(event)
        self.save()
        return event

    def save(self) -> bool:
        """Merge what is pending into the file. False, with a notice, if that cannot be done."""
        self.notice = ""
        try:
            self.path.parent.mkdir(parents=True, exist_ok=True)
            with safe_write.lock(self.path.with_suffix(".lock"), PATIENCE):
                found = self._read(mend=True)
                if found is None:
                    return False
                have = {event["id"] for event in found}
                merged = [*found, *(e for e in self._pending if e["id"] not in have)]
                safe_write.swap(self.path, {"schema": SCHEMA, "events": merged})
                self._stamp = self._state()
        except OSError as error:
            reason = error.strerror or str(error)
            self.notice = (
                f"Not saved to {self.path} ({reason}). Your answers are kept while this notebook "
                "runs, and saving is tried again with the next one."
            )
            return False
        self._kept, self._pending = _sound(merged), []
        return True

    def forget(self) -> list[Path]:
        """Delete the file and every copy set aside; returns what was deleted.

        Raises
        ------
        OSError
            If the system will not let go of a file.
        """
        self._kept, self._pending, self._stamp, self.notice = [], [], None, ""
        gone = []
        if self.path.parent.is_dir():
            lock = self.path.with_suffix(".lock")
            with safe_write.lock(lock, PATIENCE):
                for path in sorted(self.path.parent.glob("progress.*")):
                    if path != lock:
                        path.unlink(missing_ok=True)
                        gone.append(path)
        return gone

    def _state(self) -> tuple | None:
        """What changes whenever the file does; None where there is no file."""
        try:
            status = self.path.stat()
        except OSError:
            return None
        return status.st_mtime_ns, status.st_size, status.st_ino

    def _read(self, mend: bool = False) -> list[dict] | None:
        """Events in the file; None if a newer boxlab wrote it. `mend` sets a broken file aside."""
        try:
            text = self.path.read_bytes()
        except FileNotFoundError:
            return []
        try:
            content = json.loads(text)
            schema = content["schema"]
            if isinstance(schema, int) and schema > SCHEMA:
                self.notice = (
                    f"{self.path} was written by a newer boxlab, so it is left alone. Your "
                    "answers are kept while this notebook runs. Update boxlab to save them."
                )
                return None
            events = content["events"]
            if (
                schema != SCHEMA
                or not isinstance(events, list)
                or not all(
                    isinstance(e["id"], str)
                    and isinstance(e["at"], str)
                    and isinstance(e["what"], str)
                    for e in events
                )
            ):
                raise ValueError
            return events
        except (ValueError, KeyError, TypeError, RecursionError):
            if mend:
                aside = safe_write.set_aside(self.path)
                self.notice = (
                    f"The progress file could not be read. It is kept as {aside.name} in "
                    f"{aside.parent}, and a new one has been started."
                )
            return list(self._kept)


def _sound(events: list[dict]) -> list[dict]:
    """The events that can be worked with; the file keeps the others too."""
    return [
        e
        for e in events
        if all(isinstance(e.get(n, t()), t) for n, t in _FIELDS.items())
        and e.get("seed", "").isascii()
    ]
