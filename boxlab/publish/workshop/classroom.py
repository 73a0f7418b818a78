"""What a class did, from what its learners handed in. Everything stays on this machine.

One learner may hand in several files: results, and lessons that were saved. They are known by
their mark and counted as one. A bad file never stops the rest.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from boxlab.quiz.handing_in import LARGEST, Learner, clean, read

MOST_FILES = 1000


def collect(folder) -> tuple[list[Learner], list[str], list[str]]:
    """(learners, what was put together, what was left out and why) of a folder's files.

    Raises
    ------
    ValueError
        If there is no such folder, or nothing in it that could be handed in.
    """
    folder = Path(folder)
    if not folder.is_dir():
        raise ValueError(
            f"{folder}: there is no such folder; give the one with the learners' files"
        )
    files = sorted(path for path in folder.iterdir() if path.suffix.lower() in LARGEST)
    if not files:
        raise ValueError(
            f"{folder}: no file in it ends in .json or .ipynb. Each learner makes one with the "
            "button “Make my file” on the first page, or with "
            "`python -m boxlab results --to FILE`."
        )
    found, joined, out = [], [], []
    for path in files[:MOST_FILES]:
        name = clean(path.name)
        try:
            learner = replace(read(path), file=name)
        except ValueError as error:
            out.append(f"{name}: {error}")
            continue
        same = next((i for i, each in enumerate(found) if _same(each, learner)), None)
        if same is None:
            found.append(learner)
        else:
            joined.append(f"{name}: from the same record as {found[same].file}; one learner")
            found[same] = _both(found[same], learner)
    if len(files) > MOST_FILES:
        out.append(f"{len(files) - MOST_FILES} files more: {MOST_FILES} are the most")
    return found, joined, out


def _same(one: Learner, other: Learner) -> bool:
    """Whether two files are one learner's; two names on one laptop are two learners."""
    named = one.name and other.name and one.name.casefold() != other.name.casefold()
    return bool(one.mark) and one.mark == other.mark and not named


def _both(one: Learner, other: Learner) -> Learner:
    """Everything in two files of one learner; of the same thing, what came further."""
    entries = dict(one.entries)
    for key, entry in other.entries.items():
        if key not in entries or entry.effort > entries[key].effort:
            entries[key] = entry
    return replace(one, name=one.name or other.name, entries=entries)


def choices(learners: Sequence[Learner], key: str, options: Sequence[str]) -> Counter:
    """How many chose each option of the prediction `key`; what is no option counts as ""."""
    known = {" ".join(option.split()): option for option in options}
    return Counter(
        known.get(" ".join(each.entries[key].choice.split()), "")
        for each in learners
        if key in each.entries and each.entries[key].choice
    )
