"""Two versions of one job file made at once, brought together line by line.

What one of them changed and the other did not is kept from both. A line that both changed
differently is a clash: a person has to say which holds.
"""

from __future__ import annotations

from difflib import SequenceMatcher

from boxlab.gear.job_keys import JobError


def merged(before: str, mine: str, file: str) -> str:
    """The text with what was changed in `mine` and in `file` since `before`.

    Raises
    ------
    JobError
        If both changed a line, each in its own way; the message shows both.

    >>> merged("a\\nb\\nc\\n", "a\\nB\\nc\\n", "a\\nb\\nc\\nd\\n").split()
    ['a', 'B', 'c', 'd']
    """
    if file in (before, mine):
        return mine
    if mine == before:
        return file
    base = before.splitlines(keepends=True)
    edits = sorted(
        [(*hunk, side) for side, text in enumerate((file, mine)) for hunk in _hunks(base, text)],
        key=lambda edit: (edit[0], edit[1], edit[3]),
    )
    out, at, last = [], 0, None
    for first, end, new, side in edits:
        if last is not None and (first, end, new) == last[:3]:
            continue  # both made the same change
        if last is not None and first < last[1]:
            raise _clash(last, (first, end, new, side))
        out += [*base[at:first], *_ended(new)]
        at, last = end, (first, end, new, side)
    return "".join(out + base[at:])


def _hunks(base, text):
    lines = text.splitlines(keepends=True)
    codes = SequenceMatcher(None, base, lines, autojunk=False).get_opcodes()
    found = []
    for tag, i, j, k, n in codes:
        if tag == "replace" and j - i == n - k:  # line for line: each is a change of its own
            found += [(i + m, i + m + 1, (lines[k + m],)) for m in range(j - i)]
        elif tag != "equal":
            found.append((i, j, tuple(lines[k:n])))
    return [(i, j, new) for i, j, new in found if new != tuple(base[i:j])]


def _ended(lines):
    """The lines, the last with an end: another version's may follow."""
    return [line if line.endswith("\n") else f"{line}\n" for line in lines]


def _clash(one, other):
    told = {side: " ".join("".join(new).split()) or "nothing" for *_, new, side in (one, other)}
    return JobError(
        f"The file was changed since it was opened here, in a line that you changed too. The file "
        f"says “{told[0]}”, and here stands “{told[1]}”."
    )
