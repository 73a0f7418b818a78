"""Predictions, exercises and progress for the lessons.

    quiz.predict(...)     commit to a prediction before seeing the answer
    quiz.compare(...)     set it against what happens
    quiz.exercise(...)    an exercise with the learner's own numbers
    quiz.learner()        choose the word those numbers come from
    quiz.progress()       what is done, what comes next
    quiz.overview()       the same for all lessons, in brief
    quiz.assessment(...)  a closing round of exercises from all lessons, and how it went
    quiz.hand_in()        make one file of it for an instructor
    quiz.forget()         delete everything recorded

Each call returns something to display: live where a kernel runs, and readable HTML and plain text
elsewhere. Those texts show the demo numbers and never anybody's progress.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from html import escape

from boxlab.base.progress import Store
from boxlab.quiz import static_html, summary
from boxlab.quiz.learner_word import Pupil
from boxlab.quiz.on_paper import answer_key, worksheet
from boxlab.quiz.static_html import Outcome, Question
from boxlab.quiz.task import DEMO, Exercise, Step, learner_seed

__all__ = [
    "Card",
    "Exercise",
    "Step",
    "answer_key",
    "assessment",
    "compare",
    "exercise",
    "forget",
    "hand_in",
    "learner",
    "numbers",
    "overview",
    "pick",
    "predict",
    "progress",
    "results",
    "worksheet",
]

_VIEW = "application/vnd.jupyter.widget-view+json"
pupil = Pupil(Store())


class Card:
    """Something to display: HTML and plain text for every page, a widget where a kernel runs.

    Parameters
    ----------
    html, text : str
        What a page with no kernel shows.
    build : callable, optional
        Makes the live object, which has a `box`. Called once, when first displayed.
    """

    def __init__(self, html: str, text: str, build: Callable | None = None):
        self.html, self.text = html, text
        self._build, self._live = build, None

    @property
    def live(self):
        """The live object behind the widget, or None for a card that only says something."""
        if self._live is None and self._build is not None:
            self._live = self._build()
        return self._live

    def __repr__(self):
        return self.text

    def _repr_mimebundle_(self, include=None, exclude=None):
        bundle = {"text/html": self.html, "text/plain": self.text}
        if self.live is not None:
            bundle[_VIEW] = (self.live.box._repr_mimebundle_() or {}).get(_VIEW)
        return {kind: value for kind, value in bundle.items() if value}


def predict(key: str, question: str, options: Sequence[str], reveal: str | None = None) -> Card:
    """Ask for a prediction and record it.

    Parameters
    ----------
    key : str
        "lesson/slug", the same as in `compare`.
    question : str
        In plain Markdown.
    options : sequence of str
        Two to ten different answers.
    reveal : str, optional
        Shown once the learner has committed: where to look.

    Raises
    ------
    ValueError
        If the key is malformed or the options are too few, too many or not all different.
    """
    asked = Question(key, question, tuple(options), reveal or "")
    pupil.questions[key] = asked
    return Card(
        static_html.question_html(asked),
        static_html.question_text(asked),
        lambda: _panel("Prediction", asked),
    )


def compare(key: str, right: str, because: str, others: Mapping[str, str] | None = None) -> Card:
    """Set the prediction made under `key` against what happens.

    Parameters
    ----------
    right : str
        The option that is true, word for word.
    because : str
        Why, with the number from the model.
    others : mapping of option to str, optional
        What to say to those who chose it: which half of it is right.

    Raises
    ------
    ValueError
        If nothing was asked under `key` in this notebook, or an option is unknown.
    """
    if key not in pupil.questions:
        raise ValueError(
            f"compare({key!r}): nothing was asked under this key yet; run the cell with "
            f"predict({key!r}, ...) above this one first"
        )
    outcome = Outcome(pupil.questions[key], right, because, dict(others or {}))
    return Card(
        static_html.outcome_html(outcome),
        static_html.outcome_text(outcome),
        lambda: _panel("Comparison", outcome),
    )


def exercise(ex: Exercise, given: int = 0) -> Card:
    """Show an exercise with the learner's numbers.

    Parameters
    ----------
    ex : Exercise
    given : int
        How many of its steps are filled in already: all for a worked example, some to fill in
        the rest, none to do it alone.

    Raises
    ------
    ValueError
        If `given` is negative or more than there are steps.
    """
    if not 0 <= given <= len(ex.blanks):
        raise ValueError(
            f"given = {given}: exercise {ex.key!r} has {len(ex.blanks)} steps, so expected 0 to "
            f"{len(ex.blanks)}"
        )
    ex.three_hints(ex.numbers())
    if given < len(ex.blanks):
        pupil.exercises[ex.place(given)] = ex
    return Card(
        static_html.exercise_html(ex, given),
        static_html.exercise_text(ex, given),
        lambda: _panel("Drill", ex, given),
    )


def numbers(ex: Exercise, learner: str = DEMO, given: int = 0):
    """The numbers that `ex` draws for a learner's word, where `given` steps are filled in."""
    return ex.numbers(learner, ex.place(given))


def pick(exercises: Iterable[Exercise], count: int, learner: str = DEMO) -> list[Exercise]:
    """A mixed choice, spread over the lessons, the same each time for the same word."""
    return summary.pick(list(exercises), count, learner_seed(learner))


def assessment(exercises: Iterable[Exercise], count: int = 8, sample: Iterable[str] = ()) -> Card:
    """A closing round: `count` exercises from several lessons, mixed for this learner.

    Parameters
    ----------
    exercises : iterable of Exercise
        What to choose from.
    sample : iterable of key, optional
        Which ones a page without a kernel shows, so that it stays as it is when exercises come.
    """
    every = list(exercises)
    known = {ex.key: ex for ex in every}
    shown = [known[key] for key in sample] or summary.pick(every, count, learner_seed(DEMO))

    return Card(
        "\n<hr>\n".join(static_html.exercise_html(ex, closing=True) for ex in shown),
        "\n\n".join(static_html.exercise_text(ex, closing=True) for ex in shown),
        lambda: _panel("Round", every, count),
    )


def learner(word: str | None = None) -> Card:
    """Set the word that a learner's numbers come from, or show a box to type it in.

    Any word will do; only a digest of it is kept, never the word.
    """
    if word is None:
        text = (
            "Your exercises can use your own numbers: run this cell in JupyterLab and choose a "
            "word. On this page they use the numbers for the word demo."
        )
        return Card(f"<p>{text}</p>", text, lambda: _panel("WordBox"))
    if not word.strip():
        raise ValueError(f"word = {word!r}: expected any word, such as 'walnut'")
    pupil.record("learner", seed=learner_seed(word))
    return _say(f"Your exercises now use the numbers for “{word.strip()}”. {pupil.store.notice}")


def progress(plan: Iterable[Exercise | str] = ()) -> Card:
    """What is done and what comes next.

    Parameters
    ----------
    plan : iterable of Exercise or key, optional
        What there is to do, in order. Without it, what this notebook has shown and what is on
        record.
    """
    names = {}
    for item in plan:
        key, name = (item, "") if isinstance(item, str) else (item.key, item.name)
        names[key] = name
    text = (
        "Your progress shows here when you run this cell in JupyterLab. It is kept in one small "
        "file on your own machine, without your name; quiz.forget() deletes it."
    )
    return Card(
        f"<p>{text}</p>",
        text,
        lambda: _panel("Live", lambda: summary.progress_html(pupil, names)),
    )


def overview() -> Card:
    """How far every lesson's exercises are done, and what to do next."""
    from boxlab.quiz.exercises import by_lesson

    text = (
        "Where you stand, lesson by lesson, and what to do next show here when you run this cell "
        "in JupyterLab."
    )
    return Card(
        f"<p>{text}</p>",
        text,
        lambda: _panel("Live", lambda: summary.overview_html(pupil, by_lesson())),
    )


def results() -> dict:
    """What was done, as plain data that can be saved as JSON: one entry for each key.

    It holds no name and nothing typed: state, attempts, hints used, whether the solution was
    opened before it was solved, and the option predicted.
    """
    return summary.results(pupil)


def hand_in() -> Card:
    """A button that makes one file of what was done, to be given to an instructor."""
    text = (
        "A button to hand in what you did shows here when you run this cell in JupyterLab. It "
        "makes one small file, with your name only if you type it, and sends nothing anywhere."
    )
    return Card(f"<p>{text}</p>", text, lambda: _panel("HandIn"))


def forget() -> Card:
    """Delete everything recorded on this machine: predictions, attempts, the learner's word."""
    path = pupil.store.path
    try:
        count = pupil.forget()
    except OSError as error:
        return _say(f"Could not delete {path} ({error.strerror or error}). Delete it by hand.")
    return _say(f"Forgotten: {count} entries in {path}. The exercises use the demo numbers again.")


def _panel(name: str, *parts):
    # ipywidgets only when something is shown, so that importing this stays light.
    from boxlab.quiz import drill, prediction_panel

    return getattr(drill if hasattr(drill, name) else prediction_panel, name)(pupil, *parts)


def _say(text: str) -> Card:
    return Card(f"<p>{escape(text.strip())}</p>", text.strip())
