"""What a learner hands in: one small file, or a lesson as it was saved. Written, and read again.

It says for each prediction and exercise how far somebody came, never what was typed. A name is in
it only if the learner put it there. Files come from strangers' laptops, so each is read as if it
were hostile.
"""

from __future__ import annotations

import hashlib
import json
import re
import unicodedata
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path

from boxlab.base.safe_write import put
from boxlab.quiz.learner_word import DONE, FRESH, TRIED, Pupil
from boxlab.quiz.summary import results

KIND, SCHEMA = "boxlab results", 1
SHELF = "boxlab"  # where a saved lesson keeps them, in the notebook's metadata
LARGEST = {".json": 1_000_000, ".ipynb": 50_000_000}  # bytes; lessons come with pictures
MOST_KEYS, LONGEST_NAME = 2000, 40
STATES = (DONE, TRIED, FRESH)
_KEY = re.compile(r"""["']([a-z0-9][a-z0-9-]*)/[a-z0-9][a-z0-9-]*["']""")


@dataclass(frozen=True)
class Entry:
    """How far one learner came with one prediction or exercise."""

    state: str
    attempts: int = 0
    hints: int = 0
    solution: bool = False
    choice: str = ""
    solved: bool = False  # as an exercise; a prediction may have the same key

    @property
    def effort(self) -> tuple:
        """Orders two records of the same thing: the later one holds no less."""
        return self.solved, self.attempts, bool(self.choice), self.hints, self.solution


@dataclass(frozen=True)
class Learner:
    """One file that was handed in. `name` is "" where none was given; `mark` tells a copy."""

    file: str
    name: str
    entries: Mapping[str, Entry]
    mark: str = ""


def mark(pupil: Pupil) -> str:
    """The same for all that comes from one record, and says nothing else; "" for an empty one."""
    events = pupil.store.events
    return hashlib.sha256(events[0]["id"].encode()).hexdigest()[:16] if events else ""


def content(pupil: Pupil, name: str = "", sources: Iterable[str] | None = None) -> dict:
    """What is handed in, as plain data.

    Parameters
    ----------
    name : str, optional
        Put in if given; nothing else says whose it is.
    sources : iterable of str, optional
        Code cells of one lesson: only what belongs to it is put in.
    """
    entries = results(pupil)["results"]
    if sources is not None:
        code = "\n".join(sources)
        topics = set(_KEY.findall(code))
        closing = "quiz.assessment(" in code
        entries = {
            key: entry
            for key, entry in entries.items()
            if (closing if key.endswith(":closing") else key.partition("/")[0] in topics)
        }
    made = {"kind": KIND, "schema": SCHEMA, "id": mark(pupil), "results": entries}
    return made | ({"name": clean(name)} if clean(name) else {})


def hand_in(pupil: Pupil, path, name: str = "") -> Path:
    """Write the record to the file `path`, a new one or one that was handed in before.

    Parameters
    ----------
    path : str or Path
        A file that ends in .json, or a folder: there it gets a name that no other record has.

    Raises
    ------
    ValueError
        If the file name does not end in .json, or something else is there.
    """
    path = Path(path)
    if path.is_dir():
        path = path / f"results-{mark(pupil)[:6] or 'empty'}.json"
    if path.suffix.lower() != ".json":
        raise ValueError(f"--to {path}: give a file name that ends in .json, such as results.json")
    if path.exists():
        try:
            read(path)
        except ValueError as error:
            raise ValueError(f"--to {path}: something else is there ({error})") from None
    put(path, as_json(content(pupil, name)), f".{path.name}.")
    path.chmod(0o644)  # a file is private at first, and this one is to be given away
    return path


def as_json(made: dict) -> bytes:
    """The file's bytes."""
    return json.dumps(made, indent=1, ensure_ascii=False).encode("utf-8", "replace")


def clean(text: object) -> str:
    """A text from a file as one short line with nothing in it that could steer a terminal."""
    if not isinstance(text, str):
        return ""
    plain = "".join(" " if unicodedata.category(c)[0] in "CZ" else c for c in text[:500])
    plain = " ".join(plain.split())
    return plain if len(plain) <= LONGEST_NAME else plain[: LONGEST_NAME - 1] + "…"


def read(path: Path) -> Learner:
    """One handed-in file: results, or a lesson saved with them.

    Raises
    ------
    ValueError
        If it is neither; the message says why, in a few words.
    """
    found = _loaded(path)
    if path.suffix.lower() == ".ipynb":
        shelf = found.get("metadata") if isinstance(found, dict) else None
        if not isinstance(shelf, dict) or SHELF not in shelf:
            raise ValueError(
                "a notebook with nothing recorded in it; it is recorded when a lesson opened with "
                "boxlab/start.py is saved. Ask for a file from the button in 00-start-here"
            )
        found = shelf[SHELF]
    if not isinstance(found, dict) or not isinstance(found.get("results"), dict):
        raise ValueError("it holds no results; make one with `python -m boxlab results --to FILE`")
    schema = found.get("schema")
    if schema != SCHEMA or isinstance(schema, bool):
        raise ValueError(f"it says it has version {str(schema)[:12]!r}; this boxlab reads {SCHEMA}")
    if len(found["results"]) > MOST_KEYS:
        raise ValueError(f"it has more than {MOST_KEYS} entries")
    entries = {key: _entry(row) for key, row in found["results"].items()}
    return Learner(path.name, clean(found.get("name")), entries, clean(found.get("id")))


def _loaded(path: Path):
    most = LARGEST.get(path.suffix.lower(), LARGEST[".json"])
    try:
        if not path.is_file():
            raise ValueError("it is not a file")
        if path.stat().st_size > most:
            raise ValueError(f"it is larger than {most // 1_000_000} MB")
        return json.loads(path.read_bytes())
    except OSError as error:
        raise ValueError(f"it cannot be read: {error.strerror or error}") from None
    except (RecursionError, UnicodeDecodeError, json.JSONDecodeError):
        raise ValueError("it is not JSON, or was cut short") from None
    except ValueError as error:
        if "digit" in str(error):  # Python will not read a number of thousands of digits
            raise ValueError("it holds a number without end") from None
        raise


def _entry(row: object) -> Entry:
    if not isinstance(row, dict) or row.get("state") not in STATES:
        raise ValueError("an entry is not one that boxlab writes")
    counts = [row.get(name, 0) for name in ("attempts", "hints")]
    if not all(type(count) is int and 0 <= count < 10**6 for count in counts):
        raise ValueError("a count in it is not a whole number from 0 up")
    choice = row.get("choice", "")
    flags = [row.get(name, False) for name in ("solution", "solved")]
    if not isinstance(choice, str) or not all(type(flag) is bool for flag in flags):
        raise ValueError("an entry is not one that boxlab writes")
    return Entry(row["state"], *counts, flags[0], choice, flags[1])
