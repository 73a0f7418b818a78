"""An exercise on screen: boxes to fill in, a check, hints, the solution."""

from __future__ import annotations

from collections.abc import Sequence

import ipywidgets as w

from boxlab.quiz import summary
from boxlab.quiz.learner_word import Pupil
from boxlab.quiz.parts import (
    button,
    frame,
    html,
    note,
    on_enter,
    saving,
    verdict_html,
    when_at_rest,
)
from boxlab.quiz.prediction_panel import Live
from boxlab.quiz.prose import inline, to_html, to_text
from boxlab.quiz.static_html import heading, solution_html
from boxlab.quiz.task import Exercise


class Drill:
    """One exercise with this learner's numbers: boxes, check, hints, solution."""

    def __init__(self, pupil: Pupil, exercise: Exercise, given: int = 0, closing: bool = False):
        self.pupil, self.exercise, self.given = pupil, exercise, given
        self.place = exercise.place(given, closing)
        self.prompt, self.hints, self.solution = html(), html(), html()
        self.saving = html()
        self.fields: dict[int, w.Text] = {}
        self.verdicts: dict[int, w.HTML] = {}
        self.lines: dict[int, w.HTML] = {}
        rows: list[w.Widget] = []
        for i, step in enumerate(exercise.blanks):
            if i < given:
                self.lines[i] = html()
                rows.append(self.lines[i])
                continue
            label = to_text(step.label) + (f" in {step.symbol}" if step.symbol else "")
            text = w.Text(
                description=label + ":",
                placeholder="number, unit",
                style={"description_width": "initial"},
                layout=w.Layout(width="auto", max_width="30em"),
            )
            text.observe(lambda change, i=i: self._typing(i, change["new"]), "value")
            on_enter(text, self.check)
            self.fields[i], self.verdicts[i] = text, html()
            rows += [text, self.verdicts[i]]
        self.check_button = button("Check", self._checked, "Check what you typed", main=True)
        self.hint_button = button("Hint", self.hint, "Show the next of three hints")
        self._way = "solution" if self.fields else "how it goes"
        self.solution_button = button("", self.toggle, "Open or close it")
        buttons = [self.check_button, self.hint_button] if self.fields else []
        bar = w.HBox([*buttons, self.solution_button], layout=w.Layout(flex_flow="row wrap"))
        self.box = frame(
            self.prompt, *rows, bar, self.hints, self.solution, self.saving,
        )  # fmt: skip
        self._seed, self._shown, self._open = "", 0, False
        pupil.watch(self)
        self.refresh()

    def _typing(self, step: int, text: str) -> None:
        self.pupil.typing(self.place, step, self._seed, text)

    def _checked(self) -> None:
        when_at_rest(self.fields.values(), self.check)

    def check(self) -> None:
        """Judge every box that holds something, say so beside it, and record it."""
        filled = {i: text.value for i, text in self.fields.items() if text.value.strip()}
        for i, verdict in self.verdicts.items():
            if i not in filled:
                message = "Nothing typed yet." if not filled else ""
                verdict.value = note(message) if message else ""
        for i, typed in filled.items():
            verdict = self.exercise.check(typed, self.numbers, i)
            self.verdicts[i].value = verdict_html(verdict, typed)
            self.pupil.attempt(
                self.place, i, self._seed, typed, of=len(self.fields), verdict=verdict.kind
            )

    def hint(self) -> None:
        """Show one hint more."""
        if self._shown < 3:
            self._shown += 1
            self.pupil.record("hint", key=self.place, count=self._shown)
        self._show_hints()

    def toggle(self) -> None:
        """Show the solution, or hide it again."""
        self._open = not self._open
        if self._open and self.fields:
            self.pupil.record("solution", key=self.place)
        self._show_solution()

    def _show_hints(self) -> None:
        hints = self.exercise.three_hints(self.numbers)[: self._shown]
        self.hints.value = "".join(
            note(f"<strong>Hint {i} of 3.</strong>{to_html(hint)}", speak=i == self._shown)
            for i, hint in enumerate(hints, 1)
        )
        self.hint_button.description = f"Hint {self._shown + 1} of 3" if self._shown < 3 else "Hint"
        self.hint_button.disabled = self._shown == 3

    def _show_solution(self) -> None:
        self.solution_button.description = f"{'Hide' if self._open else 'Show'} {self._way}"
        way = solution_html(self.exercise, self.numbers)
        body = f"<strong>{self._way.capitalize()}.</strong>{way}"
        self.solution.value = note(body) if self._open else ""

    def refresh(self) -> None:
        """Take up new numbers if the learner's word has changed."""
        self.saving.value = saving(self.pupil)
        if self.pupil.seed == self._seed:
            return
        self._seed, self._shown, self._open = self.pupil.seed, 0, False
        self.numbers = self.exercise.numbers_for(self._seed, self.place)
        self.prompt.value = (
            f"<p><strong>{inline(heading(self.exercise, self.given))}</strong></p>"
            f"{to_html(self.exercise.prompt(self.numbers))}"
        )
        for i, line in self.lines.items():
            step = self.exercise.blanks[i]
            right = inline(step.right(self.numbers))
            line.value = f"{inline(step.label)}: <strong>{right}</strong>"
        for i, text in self.fields.items():
            text.value = self.pupil.last_typed(self.place, i)
            self.verdicts[i].value = ""
        self._show_hints()
        self._show_solution()


class Round:
    """A closing round: exercises mixed for this learner, and below them how it went."""

    def __init__(self, pupil: Pupil, every: Sequence[Exercise], count: int):
        from boxlab.quiz.exercises import by_lesson  # heavy, and only this needs it

        own = summary.pick(list(every), count, pupil.seed)
        for ex in own:
            pupil.exercises[ex.place(closing=True)] = ex
        lessons = {ex.key: file for file, items in by_lesson().items() for ex in items}
        self.drills = tuple(Drill(pupil, ex, closing=True) for ex in own)
        self.tail = Live(pupil, lambda: summary.round_html(pupil, own, lessons))
        self.box = w.VBox([*(drill.box for drill in self.drills), self.tail.box])
