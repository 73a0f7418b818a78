"""What a learner has done, put together: tables, plain results, a mixed round, what comes next."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from html import escape

from boxlab.quiz.learner_word import DONE, FRESH, TRIED, Pupil
from boxlab.quiz.prose import inline, to_text
from boxlab.quiz.task import Exercise, learner_seed


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
            "solved": standing.solved,
        }
    return {"schema": 1, "results": entries}


_SIGNS = {DONE: "✓ done", TRIED: "◐ begun", FRESH: "○ not begun"}


def progress_html(pupil: Pupil, names: Mapping[str, str]) -> str:
    """What is done and what comes next, as HTML; `names` maps planned keys to titles."""
    keys = list(dict.fromkeys([*names, *pupil.known_keys()]))
    if not keys:
        return "<p>Nothing recorded yet. Begin with the first prediction of a lesson.</p>"
    standings = {key: pupil.standing(key) for key in keys}
    states = {k: s.worked if k in pupil.exercises else s.state for k, s in standings.items()}
    rows = []
    for key, standing in standings.items():
        lesson = key.rpartition("/")[0]
        effort = [f"{standing.attempts} tried"] if standing.attempts else []
        effort += [f"{standing.hints} hints"] if standing.hints else []
        effort += ["solution opened first"] if standing.solution else []
        rows.append(
            f"<tr><td>{escape(lesson)}</td><td>{escape(_name(pupil, key, names))}</td>"
            f"<td>{_SIGNS[states[key]]}</td><td>{', '.join(effort)}</td></tr>"
        )
    done = sum(state == DONE for state in states.values())
    wanted = [key for key in keys if states[key] == TRIED] + [
        key for key in keys if states[key] == FRESH
    ]
    coming = (
        f"Next: “<strong>{escape(_name(pupil, wanted[0], names))}</strong>”, in the table below."
        if wanted
        else "All done."
    )
    head = "".join(
        f'<th scope="col">{name}</th>' for name in ("Lesson", "Question", "State", "Effort")
    )
    return (
        f"<p>{done} of {len(keys)} questions are done. {coming}</p>\n"
        f"<table><thead><tr>{head}</tr></thead>"
        f"<tbody>{''.join(rows)}</tbody></table>\n<p>Kept in {escape(str(pupil.store.path))}; "
        f"quiz.forget() deletes it.</p>{_notice(pupil)}"
    )


def overview_html(pupil: Pupil, lessons: Mapping[str, Iterable[Exercise]]) -> str:
    """How far each lesson's exercises are done, and what to do next; `lessons` by file name."""
    rows, begun, fresh, again = [], [], [], []
    for file, items in lessons.items():
        standings = [pupil.standing(ex.key) for ex in items]
        done = sum(each.worked == DONE for each in standings)
        rows.append(f"<tr><td>{_lesson(file)}</td><td>{done} of {len(standings)}</td></tr>")
        for ex, each in zip(items, standings, strict=True):
            place = f"<strong>{inline(ex.name)}</strong> in {_lesson(file)}"
            if each.worked == TRIED:
                begun.append(f"Go on with {place}.")
            elif each.worked == FRESH:
                fresh.append(f"Next: {place}.")
            elif each.solution or each.hints == 3:
                how = "the solution was open" if each.solution else "all three hints were open"
                again.append(f"Worth another go: {place}; {how}.")
    steps = [*begun[:2], *fresh[:1], *again[:2]]
    if not begun and not fresh:
        steps.append("All exercises are done. Take the self-check.")
    listed = "".join(f"<li>{step}</li>" for step in steps)
    return (
        f"<p><strong>What to do next</strong></p>\n<ul>{listed}</ul>\n"
        '<table><thead><tr><th scope="col">Lesson</th><th scope="col">Exercises done</th></tr>'
        f"</thead><tbody>{''.join(rows)}</tbody></table>{_notice(pupil)}"
    )


def round_html(pupil: Pupil, items: Iterable[Exercise], lessons: Mapping[str, str]) -> str:
    """How a closing round went, and where to go back to; `lessons` has the lesson of each key."""
    alone, helped, back, begun = 0, 0, {}, False
    for ex in items:
        standing = pupil.standing(ex.place(closing=True))
        begun |= standing.state != FRESH
        if standing.state == DONE and not standing.solution:
            helped += bool(standing.hints)
            alone += not standing.hints
            continue
        back.setdefault(lessons.get(ex.key, ""), []).append(inline(ex.name))
    if not begun:
        return "<p>How you did shows here, once you have begun.</p>"
    count = alone + helped + sum(map(len, back.values()))
    said = f"<p><strong>{alone + helped} of {count} solved</strong>, {alone} without a hint.</p>"
    if not back:
        return f"{said}\n<p>Nothing to go back to. Teach it to somebody.</p>"
    places = "".join(
        f"<li>{_lesson(file) or 'elsewhere'}: {', '.join(names)}</li>"
        for file, names in sorted(back.items())
    )
    return f"{said}\n<p>Not solved, or with the solution open. Go back to:</p>\n<ul>{places}</ul>"


def _lesson(file: str) -> str:
    return escape(file.removesuffix(".ipynb"))


def _notice(pupil: Pupil) -> str:
    return f"<p>{escape(pupil.store.notice)}</p>" if pupil.store.notice else ""


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
