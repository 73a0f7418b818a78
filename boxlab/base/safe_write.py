"""Writes small files that a crash, a full disk or a second notebook cannot spoil."""

from __future__ import annotations

import contextlib
import json
import os
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path


def swap(path: Path, content: dict) -> None:
    """Put `content` into the file as JSON; a crash leaves the old or the new.

    Raises
    ------
    OSError
        If the system will not take it; what was there stays.
    """
    # Named as what belongs to the record, so that an unfinished one goes when that is deleted.
    put(path, json.dumps(content, indent=1).encode(), "progress.")


def put(path: Path, data: bytes, prefix: str) -> None:
    """Write beside the file, under a name with this prefix, flush to disk, then swap.

    Raises
    ------
    OSError
        If the system will not take it; what was there stays, and nothing is left beside it.
    """
    handle, name = tempfile.mkstemp(prefix=prefix, suffix=".tmp", dir=path.parent)
    try:
        with open(handle, "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        os.replace(name, path)
    except BaseException:
        with contextlib.suppress(OSError):
            os.unlink(name)
        raise


def put_new(path: Path, data: bytes) -> None:
    """Write a file that is not there yet; one that could not be written whole is taken away.

    Raises
    ------
    FileExistsError
        If something is there; it stays as it is.
    OSError
        If the system will not take it.
    """
    with path.open("xb") as file:
        try:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        except BaseException:
            file.close()
            with contextlib.suppress(OSError):
                path.unlink()
            raise


def set_aside(path: Path) -> Path:
    """Give a file that cannot be read a name of its own, and return that."""
    aside = path.with_name(path.name + ".broken")
    count = 1
    while aside.exists():
        count += 1
        aside = path.with_name(f"{path.name}.broken-{count}")
    os.replace(path, aside)
    return aside


@contextlib.contextmanager
def lock(path: Path, patience: float) -> Iterator[None]:
    """Hold the lock file, waiting `patience` seconds for others to let go of it.

    The system lets go of it if this process dies.

    Raises
    ------
    OSError
        If it cannot be had.
    """
    with open(path, "a+b") as file:
        until = time.monotonic() + patience
        while not _try_lock(file):
            if time.monotonic() > until:
                raise TimeoutError(None, "another notebook is busy with it")
            time.sleep(0.02)
        try:
            yield
        finally:
            _unlock(file)


if sys.platform == "win32":
    import msvcrt

    def _try_lock(file) -> bool:
        file.seek(0)
        try:
            msvcrt.locking(file.fileno(), msvcrt.LK_NBLCK, 1)
        except OSError:
            return False
        return True

    def _unlock(file) -> None:
        file.seek(0)
        msvcrt.locking(file.fileno(), msvcrt.LK_UNLCK, 1)
else:
    import errno
    import fcntl

    def _try_lock(file) -> bool:
        try:
            fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except OSError as error:
            # A file system without locks (some network folders): merging still does its best.
            return error.errno not in (errno.EAGAIN, errno.EACCES)
        return True

    def _unlock(file) -> None:
        fcntl.flock(file, fcntl.LOCK_UN)
