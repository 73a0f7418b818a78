"""Questions that answer back: the widgets behind `boxlab.quiz`.

Each class holds one `box` to display and a `refresh()` that brings it up to date with the record.
Verdicts are said in words; the coloured edge only repeats them. Whatever was typed is escaped.
"""

from __future__ import annotations

import base64
from html import escape
from pathlib import Path

import ipywidgets as w

from boxlab.quiz import handing_in
from boxlab.quiz.learner_word import Pupil
from boxlab.quiz.parts import button, frame, html, note, on_enter, saving
from boxlab.quiz.prose import inline, to_html, to_text
from boxlab.quiz.static_html import Outcome, Question, fold, right_html
from boxlab.quiz.task import learner_seed


class Prediction:
    """Choose, commit, and see the choice stand."""

    def __init__(self, pupil: Pupil, question: Question):
        self.pupil, self.question = pupil, question
        labels = [(to_text(question.letter(option)), option) for option in question.options]
        self.choice = w.RadioButtons(
            options=labels, value=None, layout=w.Layout(width="100%", height="auto")
        )
        asked = f"<div class='boxlab-asked'>{to_html(question.question)}</div>"
        self.button = button("Commit my prediction", self.commit, "Record your choice", main=True)
        self.status = html()
        self.box = frame(
            html(f"<p><strong>Predict.</strong></p>{asked}"),
            self.choice,
            self.button,
            self.status,
        )
        self._changing, self._asked = False, False
        pupil.watch(self)
        self.refresh()

    def commit(self) -> None:
        """Record the choice; on a recorded one, open it again."""
        if self.choice.disabled:
            self._changing = True
            self.refresh()
        elif self.choice.value is None:
            self.status.value = note("Choose one of the options first.")
        else:
            self._changing, self._asked = False, True
            self.pupil.record("prediction", key=self.question.key, choice=self.choice.value)

    def refresh(self) -> None:
        """Show what the record holds of this prediction."""
        committed = self.pupil.prediction(self.question)
        closed = bool(committed) and not self._changing
        self.choice.disabled = closed
        self.button.button_style = "" if closed else "primary"
        self.button.description = "Change my prediction" if closed else "Commit my prediction"
        if closed:
            self.choice.value = committed
            said = f"Your prediction: <strong>{inline(self.question.letter(committed))}</strong>"
            body = f"<p>{said}</p>{to_html(self.question.reveal)}"
            # Spoken when it was just asked for, not each time the page is opened.
            self.status.value = note(body, speak=self._asked) + saving(self.pupil)
        else:
            self.status.value = ""


class Comparison:
    """The prediction beside what happens; closed until there is one."""

    def __init__(self, pupil: Pupil, outcome: Outcome):
        self.pupil, self.outcome = pupil, outcome
        self.body = html()
        self.box = frame(self.body)
        pupil.watch(self)
        self.refresh()

    def refresh(self) -> None:
        """Show the outcome beside what was predicted, once something was."""
        outcome, question = self.outcome, self.outcome.question
        chosen = self.pupil.prediction(question)
        start = f"<p><strong>Compare with your prediction:</strong> {inline(question.question)}</p>"
        if not chosen:
            self.body.value = (
                f"{start}<p>You have not committed to a prediction yet. Go back up, choose one "
                "and commit; this then opens by itself.</p>"
                + fold("Open it without a prediction", right_html(outcome))
            )
            return
        said = f"<p>You predicted: <strong>{inline(question.letter(chosen))}</strong></p>"
        if chosen == outcome.right:
            verdict = note(
                f"<strong>✓ So it is.</strong>{to_html(outcome.because)}", "right", speak=False
            )
        else:
            about = (
                to_html("**About your choice.** " + outcome.others[chosen])
                if chosen in outcome.others
                else ""
            )
            verdict = note(
                f"<strong>✗ It comes out differently.</strong>{right_html(outcome)}{about}",
                "slip",
                speak=False,
            )
        self.body.value = start + said + verdict


class WordBox:
    """Where a learner may set the word that their numbers come from."""

    def __init__(self, pupil: Pupil):
        self.pupil = pupil
        self.word = w.Text(
            description="Any word:",
            placeholder="not your name",
            style={"description_width": "initial"},
            value=pupil.drafts.get("word") or "",
        )
        self.word.observe(lambda change: pupil.drafts.put("word", change["new"] or None), "value")
        on_enter(self.word, self.use)
        self.status = html()
        self.box = frame(
            html("<p>Your word sets the numbers in your exercises. The same word gives the same "
                  "numbers on every machine. Once you use it, only a scrambled form of it is "
                  "kept.</p>"),
            w.HBox([self.word, button("Use this word", self.use, "Draw new numbers", main=True)],
                   layout=w.Layout(flex_flow="row wrap")),
            self.status,
        )  # fmt: skip

    def use(self) -> None:
        """Take the typed word; every exercise on screen changes its numbers."""
        word = self.word.value.strip()
        if not word:
            self.status.value = note("Type a word first.")
            return
        self.pupil.record("learner", seed=learner_seed(word))
        self.pupil.drafts.put("word", None)
        self.status.value = note(
            f"Your exercises now use the numbers for “{escape(word)}”."
        ) + saving(self.pupil)


class HandIn:
    """A button that makes one file of the record, and says where it lies."""

    def __init__(self, pupil: Pupil):
        self.pupil, self.status = pupil, html()
        self.name = w.Text(
            description="Name, if you like:",
            placeholder="may stay empty",
            style={"description_width": "initial"},
        )
        on_enter(self.name, self.make)
        make = button("Make my file", self.make, "One small file, beside this page", main=True)
        bar = w.HBox([self.name, make], layout=w.Layout(flex_flow="row wrap"))
        said = (
            "<p>One small file holds which predictions you made and which exercises you solved: "
            "nothing that you typed, and no name but the one you put here. It goes nowhere unless "
            "you give it away.</p>"
        )
        self.box = frame(html(said), bar, self.status)

    def make(self) -> None:
        """Write the file beside this page, and offer it for another place."""
        made = handing_in.content(self.pupil, self.name.value)
        if not made["results"]:
            self.status.value = note("Nothing is recorded yet, so there is nothing to hand in.")
            return
        try:
            path = handing_in.hand_in(self.pupil, Path.cwd(), self.name.value)
            said = (
                f"<strong>{escape(path.name)}</strong> is made. It lies beside this page, in "
                f"{escape(str(path.parent))}. Give your instructor that file."
            )
            name = path.name
        except (OSError, ValueError) as error:
            said, name = f"It could not be written here ({escape(str(error))}).", "results.json"
        data = base64.b64encode(handing_in.as_json(made)).decode("ascii")
        self.status.value = note(
            f"<p>{said} <a download='{escape(name)}' href='data:application/json;base64,{data}'>"
            f"Save it in another place</a></p>"
        )


class Live:
    """HTML that is made anew whenever something is recorded."""

    def __init__(self, pupil: Pupil, make):
        self.make, self.body = make, html()
        self.box = frame(self.body)
        pupil.watch(self)
        self.refresh()

    def refresh(self) -> None:
        """Make the content anew."""
        self.body.value = self.make()
