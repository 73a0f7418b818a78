"""What a learner has done, put together: a progress table, plain results, a mixed closing round."""

from __future__ import annotations

from collections.abc import Mapping
from html import escape

from boxlab.exercise import Exercise, learner_seed
from boxlab.prose import to_text
from boxlab.pupil import DONE, FRESH, TRIED, Pupil


def pick(exercises: list[Exercise], count: int, seed: str) -> list[Exercise]:
    """`count` exercises, taken from the lessons in turn; the same each time for the same seed."""
    if not count > 0:
        raise ValueError(f"count = {count}: expected at least 1")
    # Ordered by a digest of word and key: stable, and adding an exercise moves no other.
    shuffled = sorted(exercises, key=lambda ex: learner_seed(f"{seed}:{ex.key}"))
    rounds: dict[str, int] = {}
    order = []
    for place, ex in enumerate(shuffled):
        lesson = ex.key.partition("/")[0]
        rounds[lesson] = rounds.get(lesson, 0) + 1
        order.append((rounds[lesson], place, ex))
    return [ex for _, _, ex in sorted(order, key=lambda row: row[:2])[:count]]


def results(pupil: Pupil) -> dict:
    """One entry for each key, as plain data."""
    entries = {}
    for key in pupil.known_keys():
        standing = pupil.standing(key)
        entries[key] = {
            "state": standing.state,
            "attempts": standing.attempts,
            "hints": standing.hints,
            "solution": standing.solution,
            "choice": standing.choice,
        }
    return {"schema": 1, "results": entries}


_SIGNS = {DONE: "✓ done", TRIED: "◐ begun", FRESH: "○ not begun"}


def progress_html(pupil: Pupil, names: Mapping[str, str]) -> str:
    """What is done and what comes next, as HTML; `names` maps planned keys to titles."""
    keys = list(dict.fromkeys([*names, *pupil.known_keys()]))
    if not keys:
        return "<p>Nothing recorded yet. Begin with the first prediction of a lesson.</p>"
    standings = {key: pupil.standing(key) for key in keys}
    rows = []
    for key, standing in standings.items():
        lesson = key.rpartition("/")[0]
        effort = [f"{standing.attempts} tried"] if standing.attempts else []
        effort += [f"{standing.hints} hints"] if standing.hints else []
        effort += ["solution opened first"] if standing.solution else []
        rows.append(
            f"<tr><td>{escape(lesson)}</td><td>{escape(_name(pupil, key, names))}</td>"
            f"<td>{_SIGNS[standing.state]}</td><td>{', '.join(effort)}</td></tr>"
        )
    done = sum(s.state == DONE for s in standings.values())
    wanted = [key for key in keys if standings[key].state == TRIED] + [
        key for key in keys if standings[key].state == FRESH
    ]
    coming = (
        f"Next: <strong>{escape(_name(pupil, wanted[0], names))}</strong>"
        if wanted
        else "All done."
    )
    head = "".join(
        f'<th scope="col">{name}</th>' for name in ("Lesson", "Question", "State", "Effort")
    )
    notice = f"<p>{escape(pupil.store.notice)}</p>" if pupil.store.notice else ""
    return (
        f"<p>{done} of {len(keys)} done. {coming}</p>\n<table><thead><tr>{head}</tr></thead>"
        f"<tbody>{''.join(rows)}</tbody></table>\n<p>Kept in {escape(str(pupil.store.path))}; "
        f"quiz.forget() deletes it.</p>{notice}"
    )


def _name(pupil: Pupil, key: str, names: Mapping[str, str]) -> str:
    if names.get(key):
        return names[key]
    key, _, variant = key.partition(":")
    if variant:
        where = "closing round" if variant == "closing" else "fill in the rest"
        return f"{_name(pupil, key, names)} ({where})"
    if key in pupil.exercises:
        return to_text(pupil.exercises[key].name)
    if key in pupil.questions:
        return to_text(pupil.questions[key].question)
    return key.rpartition("/")[2].replace("-", " ").capitalize()
