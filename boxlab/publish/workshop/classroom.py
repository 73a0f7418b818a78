"""What a class did, from the small files its learners hand in. Everything stays on this machine.

A file holds what `boxlab.quiz.results` gives: for each prediction and exercise how far somebody
came, never what was typed. A name is in it only if the learner put it there. Files come from
strangers' laptops, so each is read as if it were hostile, and a bad one never stops the rest.
"""

from __future__ import annotations

import json
import secrets
import unicodedata
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from boxlab.base.safe_write import put
from boxlab.quiz.learner_word import DONE, FRESH, TRIED

KIND, SCHEMA = "boxlab results", 1
LARGEST = 1_000_000  # bytes of one file
MOST_FILES, MOST_KEYS, LONGEST_NAME = 1000, 2000, 40
STATES = (DONE, TRIED, FRESH)


@dataclass(frozen=True)
class Entry:
    """How far one learner came with one prediction or exercise."""

    state: str
    attempts: int = 0
    hints: int = 0
    solution: bool = False
    choice: str = ""
    solved: bool = False  # as an exercise; a prediction may have the same key


@dataclass(frozen=True)
class Learner:
    """One file that was handed in. `name` is "" where none was given; `mark` tells a copy."""

    file: str
    name: str
    entries: Mapping[str, Entry]
    mark: str = ""


def hand_in(path, name: str = "", results: Mapping | None = None) -> Path:
    """Write the results recorded on this machine to the file `path`, to be handed in.

    Parameters
    ----------
    path : str or Path
        A new file that ends in .json, or a folder to put "results.json" in.
    name : str, optional
        Put into the file if given; nothing else in it says whose it is.
    results : mapping, optional
        What `boxlab.quiz.results` gave; asked for afresh if left out.

    Raises
    ------
    ValueError
        If the file name does not end in .json, or the file is there and is not such a file.
    """
    if results is None:
        from boxlab import quiz

        results = quiz.results()
    path = Path(path)
    if path.is_dir():
        path = path / "results.json"
    if path.suffix.lower() != ".json":
        raise ValueError(f"--to {path}: give a file name that ends in .json, such as results.json")
    if path.exists():
        try:
            read(path)
        except ValueError as error:
            raise ValueError(f"--to {path}: something else is there ({error})") from None
    # A number drawn by lot: a file that comes twice is counted once, and it tells nothing else.
    content = {"kind": KIND, "schema": SCHEMA, "id": secrets.token_hex(8)}
    content["results"] = dict(results["results"])
    if clean(name):
        content["name"] = clean(name)
    put(path, json.dumps(content, indent=1, ensure_ascii=False).encode(), f".{path.name}.")
    return path


def clean(text: object) -> str:
    """A text from a file as one short line with nothing in it that could steer a terminal."""
    if not isinstance(text, str):
        return ""
    plain = "".join(" " if unicodedata.category(c)[0] in "CZ" else c for c in text[:500])
    plain = " ".join(plain.split())
    return plain if len(plain) <= LONGEST_NAME else plain[: LONGEST_NAME - 1] + "…"


def read(path: Path) -> Learner:
    """One handed-in file.

    Raises
    ------
    ValueError
        If it is not one; the message says why, in a few words.
    """
    try:
        if not path.is_file():
            raise ValueError("it is not a file")
        if path.stat().st_size > LARGEST:
            raise ValueError(f"it is larger than {LARGEST // 1_000_000} MB; results are a few kB")
        content = json.loads(path.read_bytes())
    except OSError as error:
        raise ValueError(f"it cannot be read: {error.strerror or error}") from None
    except (RecursionError, UnicodeDecodeError, json.JSONDecodeError):
        raise ValueError("it is not JSON, or was cut short") from None
    except ValueError as error:
        if "digit" in str(error):  # Python will not read a number of thousands of digits
            raise ValueError("it holds a number without end") from None
        raise
    if not isinstance(content, dict) or not isinstance(content.get("results"), dict):
        raise ValueError("it holds no results; make one with `python -m boxlab results --to FILE`")
    schema = content.get("schema")
    if schema != SCHEMA or isinstance(schema, bool):
        raise ValueError(f"it says it has version {str(schema)[:12]!r}; this boxlab reads {SCHEMA}")
    if len(content["results"]) > MOST_KEYS:
        raise ValueError(f"it has more than {MOST_KEYS} entries")
    entries = {key: _entry(row) for key, row in content["results"].items()}
    return Learner(path.name, clean(content.get("name")), entries, clean(content.get("id")))


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


def collect(folder) -> tuple[list[Learner], list[str]]:
    """(learners, what was left out and why) of the .json files in `folder`.

    Raises
    ------
    ValueError
        If there is no such folder, or no .json file in it.
    """
    folder = Path(folder)
    if not folder.is_dir():
        raise ValueError(
            f"{folder}: there is no such folder; give the one with the learners' files"
        )
    files = sorted(path for path in folder.iterdir() if path.suffix.lower() == ".json")
    if not files:
        raise ValueError(
            f"{folder}: no file in it ends in .json. Each learner makes one with "
            "`python -m boxlab results --to FILE`."
        )
    found, out, met = [], [], {}
    for path in files[:MOST_FILES]:
        try:
            learner = read(path)
        except ValueError as error:
            out.append(f"{clean(path.name)}: {error}")
            continue
        if learner.mark and learner.mark in met:
            out.append(f"{clean(path.name)}: a copy of {clean(met[learner.mark])}; counted once")
            continue
        met[learner.mark] = path.name
        found.append(learner)
    if len(files) > MOST_FILES:
        out.append(f"{len(files) - MOST_FILES} files more: {MOST_FILES} are the most")
    return found, out


def choices(learners: Sequence[Learner], key: str, options: Sequence[str]) -> Counter:
    """How many chose each option of the prediction `key`; what is no option counts as ""."""
    known = {" ".join(option.split()): option for option in options}
    return Counter(
        known.get(" ".join(each.entries[key].choice.split()), "")
        for each in learners
        if key in each.entries and each.entries[key].choice
    )
