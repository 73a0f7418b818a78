"""What has been typed but not handed in, kept so that a restarted kernel can show it again.

One small file beside the progress file serves all notebooks. Each writes only the boxes that it
saw change, under a mark of its own, so none undoes another's. It is written a moment after a
change, not at each letter. Where it cannot be written, a draft lasts as long as its notebook runs;
nothing is said of that here, because checking an answer says that saving fails.
"""

from __future__ import annotations

import asyncio
import atexit
import contextlib
import hashlib
import json
import os
import threading
import weakref
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path

from boxlab.base import safe_write

SCHEMA = 1
FILE = "progress.drafts.json"  # so called, it goes when the record is deleted
LOCK = "progress.lock"
REST = 0.5  # s from a change to the file, so that fast typing is written now and then
PATIENCE = 0.5  # s to wait for another notebook that is just writing
LONGEST = 60_000  # characters of one text; a longer one is not written
MOST = 400_000  # characters of all texts; the oldest go first
COUNT = 400
_KEYS = ("box", "page", "text", "at")
_all: weakref.WeakSet[Drafts] = weakref.WeakSet()


def now() -> str:
    """The time, so written that later is greater."""
    return datetime.now(UTC).isoformat(timespec="microseconds")


def later_than(*times: str) -> str:
    """The time, or just after the latest of `times` where a clock was set back since."""
    latest, present = max(times), now()
    if present > latest:
        return present
    moved = datetime.fromisoformat(latest) + timedelta(microseconds=1)
    return moved.isoformat(timespec="microseconds")


class Drafts:
    """Texts that stand in boxes.

    Parameters
    ----------
    folder : callable
        Returns the folder of the file; asked afresh each time.
    page : str, optional
        Which notebook this is; as Jupyter says if not given.
    """

    def __init__(self, folder: Callable[[], Path], page: str | None = None):
        self._folder = folder
        page = os.environ.get("JPY_SESSION_NAME", "") if page is None else page
        # A path may hold a name, and a mark is enough.
        self._page = hashlib.sha256(page.encode("utf-8", "replace")).hexdigest()[:12]
        self._own: dict[str, dict] = {}  # what was typed here, text None where it was handed in
        self._since: dict[str, str] = {}  # box -> when it was last handed in, as far as known
        self._due: set[str] = set()  # boxes that the file does not have as they are
        self._kept: list[dict] = []
        self._stamp: tuple | None = None
        self._path: Path | None = None
        self._timer: threading.Timer | None = None
        self._guard, self._writing = threading.Lock(), threading.Lock()
        _all.add(self)

    def get(self, box: str, since: str = "") -> str | None:
        """What was typed into a box later than `since` and not handed in; None if nothing was.

        What was typed in this notebook goes before what was typed in another.
        """
        self._since[box] = max(since, self._since.get(box, ""))
        own = self._own.get(box)
        if own is None:
            found = [entry for entry in self._read() if entry["box"] == box]
            found.sort(key=lambda entry: (entry["page"] == self._page, entry["at"]))
            own = found[-1] if found else {"text": None, "at": ""}
        return own["text"] if own["at"] > since else None

    def put(self, box: str, text: str | None) -> None:
        """Keep what stands in a box now; None if it has been handed in. Never raises for a disk.

        What has been handed in goes from the file at once, or a kernel that ends now would bring it
        back.
        """
        if text is None and self.get(box) is None:
            return
        with self._guard:
            at = later_than(self._since.get(box, ""), self._own.get(box, {}).get("at", ""))
            self._own[box] = {"box": box, "page": self._page, "text": text, "at": at}
            self._due.add(box)
            self._path = self._folder() / FILE  # where it belongs now, whenever it is written
        if text is None or not self._later():
            self.flush()

    def flush(self) -> bool:
        """Write what has changed. False if that cannot be done; the next change tries again."""
        with self._writing:
            with self._guard:
                self._stop()
                path, due = self._path, {box: self._own[box] for box in self._due}
                self._due.clear()
            if not due or self._merge(path, due):
                return True
            with self._guard:
                self._due |= set(due) & set(self._own)
            return False

    def _later(self) -> bool:
        """See to it that what is due is written soon; False if nobody would do it."""
        with self._guard:
            if self._timer is not None:
                return True
            try:
                asyncio.get_running_loop()
                # A thread of its own: a slow disk must not hold up the letters that come next.
                self._timer = threading.Timer(REST, self.flush)
                self._timer.daemon = True
                self._timer.start()
            except RuntimeError:  # no kernel, so nobody is typing; or no thread to be had
                self._timer = None
            return self._timer is not None

    def _stop(self) -> None:
        if self._timer is not None:
            self._timer.cancel()
            self._timer = None

    def _merge(self, path: Path, due: dict[str, dict]) -> bool:
        """Put `due` in the place of what the file has for these boxes of this notebook."""
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
            with safe_write.lock(path.with_name(LOCK), PATIENCE):
                found = self._load(path, mend=True)
                if found is None:
                    return False
                others = [e for e in found if e["page"] != self._page or e["box"] not in due]
                mine = [entry for entry in due.values() if entry["text"] is not None]
                entries = _bounded([*others, *mine])
                safe_write.swap(path, {"schema": SCHEMA, "drafts": entries})
        except OSError:
            return False
        return True

    def forget(self) -> None:
        """Let go of what was typed here; the file goes with the record that it stands beside."""
        with self._writing, self._guard:
            self._stop()
            self._own.clear()
            self._due.clear()

    def _read(self) -> list[dict]:
        """What the file holds, read again only if it has changed."""
        path = self._folder() / FILE
        with contextlib.suppress(OSError):
            status = path.stat()
            stamp = str(path), status.st_mtime_ns, status.st_size, status.st_ino
            if stamp != self._stamp:
                self._kept, self._stamp = self._load(path) or [], stamp
            return self._kept
        return []

    @staticmethod
    def _load(path: Path, mend: bool = False) -> list[dict] | None:
        """Drafts in a file; None if a newer boxlab wrote it. `mend` sets a broken file aside."""
        try:
            content = json.loads(path.read_bytes())
            if isinstance(content["schema"], int) and content["schema"] > SCHEMA:
                return None
            entries = [{key: entry[key] for key in _KEYS} for entry in content["drafts"]]
            if not all(isinstance(value, str) for entry in entries for value in entry.values()):
                raise ValueError
            return entries
        except FileNotFoundError:
            return []
        except (ValueError, KeyError, TypeError, RecursionError):
            if mend:
                safe_write.set_aside(path)
            return []


def _bounded(entries: list[dict]) -> list[dict]:
    """The newest that there is room for, the oldest first."""
    room, keep = MOST, []
    for entry in sorted(entries, key=lambda entry: entry["at"], reverse=True):
        size = len(entry["text"]) + len(entry["box"])
        if len(keep) < COUNT and size <= min(room, LONGEST):
            room -= size
            keep.append(entry)
    return keep[::-1]


def forget() -> None:
    """Let go of what was typed into any box of this notebook."""
    for drafts in list(_all):
        drafts.forget()


@atexit.register
def _at_the_end() -> None:
    """A kernel that is told to stop writes what it has not written yet."""
    for drafts in list(_all):
        drafts.flush()
