"""What one learner has done, as the questions on screen need to know it.

Sits between the record on disk and the widgets: which numbers are theirs, what they predicted,
what is solved. Nothing here draws and nothing here reaches a committed output.
"""

from __future__ import annotations

import weakref
from collections import Counter
from dataclasses import dataclass

from boxlab.base import drafts
from boxlab.base.progress import Store
from boxlab.quiz.static_html import Question
from boxlab.quiz.task import DEMO, Exercise, learner_seed

DONE, TRIED, FRESH = "done", "tried", "not begun"


@dataclass(frozen=True)
class Standing:
    """How far the learner has come with one key."""

    key: str
    state: str  # DONE, TRIED or FRESH
    attempts: int = 0
    hints: int = 0
    solution: bool = False  # the solution was opened before the last attempt or without one
    choice: str = ""
    solved: bool = False  # as an exercise: a prediction under the same key does not count

    @property
    def worked(self) -> str:
        """The state as an exercise, whatever was predicted under the same key."""
        if self.solved:
            return DONE
        return TRIED if self.attempts or self.hints or self.solution else FRESH


class Pupil:
    """The learner at this notebook.

    Parameters
    ----------
    store : Store
        Where events are kept.
    """

    def __init__(self, store: Store):
        self.store = store
        self.questions: dict[str, Question] = {}
        self.exercises: dict[str, Exercise] = {}
        self.drafts = drafts.Drafts(lambda: self.store.path.parent)  # typed but not checked yet
        self._watching: weakref.WeakSet = weakref.WeakSet()

    @property
    def seed(self) -> str:
        """The digest of the learner's word; the word itself is kept nowhere."""
        for event in reversed(self.store.events):
            if event["what"] == "learner" and isinstance(event.get("seed"), str):
                return event["seed"]
        return learner_seed(DEMO)

    def watch(self, listener) -> None:
        """Call `listener.refresh()` whenever something is recorded, as long as it lives."""
        self._watching.add(listener)

    def record(self, what: str, **fields) -> None:
        """Keep an event and let everything on screen know."""
        self.store.add(what, **fields)
        self.refresh()

    def refresh(self) -> None:
        """Let everything on the page that shows this learner's record show it anew."""
        for listener in list(self._watching):
            listener.refresh()

    def forget(self) -> int:
        """Delete everything recorded; returns how many events there were."""
        count = len(self.store.events)
        drafts.forget()  # first: a draft on its way must not come after the files are gone
        self.store.forget()
        self.refresh()
        return count

    def _of(self, key: str, what: str) -> list[dict]:
        return [e for e in self.store.events if e["what"] == what and e.get("key") == key]

    def prediction(self, question: Question) -> str:
        """The option last committed to, or ""."""
        for event in reversed(self._of(question.key, "prediction")):
            if event.get("choice") in question.options:
                return event["choice"]
        return ""

    def last_typed(self, key: str, step: int, seed: str = "") -> str:
        """What stands in the box: a draft, else the last attempt with these numbers."""
        seed, attempt = seed or self.seed, {}
        for event in reversed(self._of(key, "attempt")):
            if event.get("step") == step and event.get("seed") == seed:
                attempt = event
                break
        draft = self.drafts.get(f"{key} {step} {seed}", since=attempt.get("at", ""))
        return str(attempt.get("text", "")) if draft is None else draft

    def typing(self, key: str, step: int, seed: str, text: str) -> None:
        """Keep what stands in a box before it is checked."""
        if text != self.last_typed(key, step, seed):
            self.drafts.put(f"{key} {step} {seed}", text)

    def attempt(self, key: str, step: int, seed: str, text: str, **fields) -> None:
        """Record an answer that was checked; once it is in the file, it is a draft no more."""
        self.record("attempt", key=key, step=step, seed=seed, text=text, **fields)
        if self.store.saved:
            self.drafts.put(f"{key} {step} {seed}", None)

    def known_keys(self) -> list[str]:
        """Keys shown in this notebook, then those only on record, in order of appearance."""
        stored = [e["key"] for e in self.store.events if isinstance(e.get("key"), str)]
        return list(dict.fromkeys([*self.questions, *self.exercises, *stored]))

    def standing(self, key: str) -> Standing:
        """How far the learner has come with `key`."""
        attempts = self._of(key, "attempt")
        predictions = self._of(key, "prediction")
        solutions = self._of(key, "solution")
        rights: dict = {}
        solved = ""
        for event in attempts:
            if event.get("verdict") == "right":
                steps = rights.setdefault(event.get("seed"), set())
                steps.add(event.get("step", 0))
                if len(steps) >= event.get("of", 1):
                    solved = solved or event["at"]
        if solved or predictions:
            state = DONE
        else:
            state = TRIED if attempts or solutions or self._of(key, "hint") else FRESH
        return Standing(
            key,
            state,
            attempts=_checks(attempts),
            hints=max((e.get("count", 0) for e in self._of(key, "hint")), default=0),
            solution=any(not solved or e["at"] < solved for e in solutions),
            choice=str(predictions[0].get("choice", "")) if predictions else "",  # as expected
            solved=bool(solved),
        )


def _checks(attempts) -> int:
    """How often Check was pressed: each press judges every box that is filled in, once."""
    counts: Counter = Counter((e.get("seed"), e.get("step", 0)) for e in attempts)
    most: dict = {}
    for (seed, _), count in counts.items():
        most[seed] = max(count, most.get(seed, 0))
    return sum(most.values())
