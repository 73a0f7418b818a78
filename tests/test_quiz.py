"""Predictions, exercises and progress: live, on paper, and the same for everyone on a page."""

import asyncio
import json
import os
import subprocess
import sys
from dataclasses import replace
from html.parser import HTMLParser

import pytest
from hypothesis import given
from hypothesis import strategies as st

from boxlab import quiz
from boxlab.base.progress import Store
from boxlab.quiz import parts
from boxlab.quiz.answers import judge
from boxlab.quiz.learner_word import DONE, FRESH, TRIED, Pupil
from boxlab.quiz.parts import BEHIND
from boxlab.quiz.prose import inline, to_html, to_text
from boxlab.quiz.task import learner_seed

OPTIONS = ["In phase", "A quarter cycle apart", "Out of phase"]
VIEW = "application/vnd.jupyter.widget-view+json"
NASTY = '<img src=x onerror="alert(1)">'

swept = quiz.Exercise(
    "radiator/swept",
    title="How much air?",
    draw=lambda rng: {"area": int(rng.integers(200, 520)), "travel": int(rng.integers(5, 14))},
    prompt=lambda n: f"A cone of **{n['area']} cm²** moves {n['travel']} mm one way. How much air?",
    answer=lambda n: n["area"] * n["travel"] / 1e4,
    unit="L",
    hints=lambda n: ["An area times a travel.", "Use one unit of length.", "Nearly there."],
    solution=lambda n: f"V = S·x, so **{n['area'] * n['travel'] / 1e4:.3g} L**.",
    slips={"That is both ways.": lambda n: 2 * n["area"] * n["travel"] / 1e4},
)
ladder = quiz.Exercise(
    "radiator/ladder",
    draw=lambda rng: {"a": int(rng.integers(2, 9)), "b": int(rng.integers(20, 90))},
    prompt=lambda n: f"From {n['a']} and {n['b']}.",
    steps=[
        quiz.Step("Sum", lambda n: n["a"] + n["b"], "mm"),
        quiz.Step("Product", lambda n: n["a"] * n["b"], "mm2"),
    ],
    hints=lambda n: ["one", "two", "three"],
    solution=lambda n: "Add, then multiply.",
)
other = replace(swept, key="phase/other", title="Another")


@pytest.fixture
def pupil(tmp_path, monkeypatch):
    """A learner with an empty record."""
    fresh = Pupil(Store(tmp_path))
    monkeypatch.setattr(quiz, "pupil", fresh)
    return fresh


def ask():
    return quiz.predict("phase/at-tuning", "Where is the **vent**?", OPTIONS, reveal="Look below.")


def tell():
    return quiz.compare(
        "phase/at-tuning",
        right="A quarter cycle apart",
        because="the solved phase is 90°.",
        others={"In phase": "True well above tuning."},
    )


# predictions


def test_a_page_with_no_kernel_shows_the_question(pupil):
    card = ask()
    assert repr(card).splitlines()[0] == "Predict. Where is the vent?"
    for option in OPTIONS:
        assert option in card.html
        assert option in repr(card)
    assert "<strong>vent</strong>" in card.html
    told = tell()
    assert told.html.index("<details>") < told.html.index("B. A quarter cycle apart")
    assert "the solved phase is 90°." in repr(told)
    assert "True well above tuning." in told.html


def test_commit_then_compare(pupil):
    asked, told = ask().live, tell().live
    assert "not committed" in told.body.value
    asked.commit()
    assert "Choose one" in asked.status.value
    asked.choice.value = "In phase"
    assert "not committed" in told.body.value
    asked.commit()
    assert asked.choice.disabled
    assert "Look below." in asked.status.value
    assert "You predicted: <strong>A. In phase" in told.body.value
    assert "✗ It comes out differently." in told.body.value
    assert "True well above tuning." in told.body.value
    asked.commit()
    assert not asked.choice.disabled
    asked.choice.value = "A quarter cycle apart"
    asked.commit()
    assert "✓ So it is." in told.body.value
    kept = [event["choice"] for event in pupil.store.events]
    assert kept == ["In phase", "A quarter cycle apart"]


def test_a_prediction_is_still_there_after_a_restart(pupil, monkeypatch):
    first = ask().live
    first.choice.value = "Out of phase"
    first.commit()
    monkeypatch.setattr(quiz, "pupil", Pupil(Store(pupil.store.path.parent)))
    again = ask().live
    assert again.choice.value == "Out of phase"
    assert again.choice.disabled


def test_a_stored_option_that_the_lesson_no_longer_has_is_passed_over(pupil):
    pupil.record("prediction", key="phase/at-tuning", choice="Something else")
    assert not ask().live.choice.disabled


def test_mistakes_of_the_author_are_named(pupil):
    with pytest.raises(ValueError, match=r"run the cell with\s+predict"):
        tell()
    ask()
    with pytest.raises(ValueError, match="not an option"):
        quiz.compare("phase/at-tuning", right="in phase", because="")
    with pytest.raises(ValueError, match="options of"):
        quiz.predict("a/b", "?", ["one"])
    with pytest.raises(ValueError, match="options of"):
        quiz.predict("a/b", "?", ["one", "one"])
    with pytest.raises(ValueError, match="key = 'A b'"):
        quiz.predict("A b", "?", OPTIONS)
    with pytest.raises(ValueError, match="either answer or steps"):
        replace(swept, answer=None)
    with pytest.raises(ValueError, match="either answer or steps"):
        replace(swept, steps=ladder.steps)
    with pytest.raises(ValueError, match="unit = 'zork'"):
        replace(swept, unit="zork")
    with pytest.raises(ValueError, match="2 hints, expected 3"):
        quiz.exercise(replace(swept, hints=lambda n: ["a", "b"]))
    with pytest.raises(ValueError, match="given = 3"):
        quiz.exercise(ladder, given=3)
    with pytest.raises(ValueError, match="count = 0"):
        quiz.pick([swept], 0)
    with pytest.raises(ValueError, match="any word"):
        quiz.learner(" ")


# exercises


def test_numbers_are_the_same_in_every_process():
    code = (
        "from boxlab.quiz.task import Exercise, learner_seed\n"
        "e = Exercise('a/b', draw=lambda r: r.integers(0, 10**6, 3).tolist(), prompt=str,"
        " hints=list, solution=str, answer=sum)\n"
        "print(learner_seed('Walnut '), e.numbers(), e.numbers('walnut'))"
    )
    outputs = {
        subprocess.run(
            [sys.executable, "-c", code],
            env={**os.environ, "PYTHONHASHSEED": seed},
            capture_output=True,
            text=True,
            check=True,
        ).stdout
        for seed in ("0", "1")
    }
    (output,) = outputs
    assert output.startswith(learner_seed("walnut"))
    # Worksheets printed last year must still fit their answer key.
    assert swept.numbers() == {"area": 267, "travel": 7}


def test_learners_get_different_numbers_and_places_too():
    drawn = {str(swept.numbers(f"word {i}")) for i in range(40)}
    assert len(drawn) > 35
    places = [ladder.place(), ladder.place(1), ladder.place(2), ladder.place(closing=True)]
    assert len({str(ladder.numbers("demo", place)) for place in places}) == 4


def test_checking_touches_nothing(pupil):
    n = quiz.numbers(swept)
    right = n["area"] * n["travel"] / 1e4
    assert swept.check(f"{right:.4g}".replace(".", ","), n).right
    assert swept.check(f"{right * 1000:.5g} cm3", n).right
    assert swept.check(f"{2 * right:.4g} L", n).message == "That is both ways."
    m = quiz.numbers(ladder)
    assert ladder.check(f"{m['a'] * m['b'] / 100:g} cm2", m, step=1).right
    assert not pupil.store.path.exists()


def test_a_drill_from_first_try_to_solved(pupil):
    live = quiz.exercise(swept).live
    n = swept.numbers()
    right = n["area"] * n["travel"] / 1e4
    live.check()
    assert "Nothing typed yet." in live.verdicts[0].value
    assert pupil.standing("radiator/swept").state == FRESH
    live.fields[0].value = f"{2 * right:g}"
    live.check()
    assert "✗ Not yet." in live.verdicts[0].value
    assert "That is both ways." in live.verdicts[0].value
    assert live.fields[0].value == f"{2 * right:g}"
    assert pupil.standing("radiator/swept").state == TRIED
    for count in (1, 2, 3, 3):
        live.hint()
        assert live.hints.value.count("Hint") == count
    assert live.hint_button.disabled
    live.toggle()
    assert "V = S·x" in live.solution.value
    assert live.solution_button.description == "Hide solution"
    live.toggle()
    assert live.solution.value == ""
    live.fields[0].value = f"{right:g} L"
    live.fields[0]._handle_custom_msg({"event": "submit"}, [])  # Enter
    assert "✓ Right." in live.verdicts[0].value
    standing = pupil.standing("radiator/swept")
    assert (standing.state, standing.attempts, standing.hints, standing.solution) == (
        DONE, 2, 3, True,
    )  # fmt: skip


def test_what_was_typed_is_kept(pupil, monkeypatch):
    live = quiz.exercise(swept).live
    live.fields[0].value = NASTY
    live.check()
    assert NASTY not in live.verdicts[0].value
    assert "&lt;img" in live.verdicts[0].value
    live.fields[0].value = "half typ"
    assert quiz.exercise(swept).live.fields[0].value == "half typ"
    assert [e["text"] for e in pupil.store.events] == [NASTY]
    monkeypatch.setattr(quiz, "pupil", Pupil(Store(pupil.store.path.parent)))
    assert quiz.exercise(swept).live.fields[0].value == "half typ"


def test_worked_faded_own(pupil):
    worked, faded, own = (quiz.exercise(ladder, given=k) for k in (2, 1, 0))
    assert repr(worked).startswith("Worked example: Ladder")
    assert repr(faded).startswith("Fill in the rest: Ladder")
    assert "______" not in repr(worked)
    assert repr(faded).count("______") == 1
    assert repr(own).count("______") == 2
    assert "Hint" not in worked.html
    assert worked.live.fields == {}
    worked.live.toggle()
    assert pupil.store.events == []
    assert list(faded.live.fields) == [1]
    n = quiz.numbers(ladder, given=1)
    faded.live.fields[1].value = f"{n['a'] * n['b'] / 100:g} cm²"
    faded.live.check()
    assert "✓" in faded.live.verdicts[1].value
    assert pupil.standing(ladder.place(1)).state == DONE
    assert pupil.standing(ladder.key).state == FRESH
    n = quiz.numbers(ladder)
    own.live.fields[0].value = str(n["a"] + n["b"])
    own.live.check()
    assert own.live.verdicts[1].value == ""
    assert pupil.standing(ladder.key).state == TRIED
    own.live.fields[1].value = str(n["a"] * n["b"])
    own.live.check()
    assert pupil.standing(ladder.key).state == DONE


def test_a_word_changes_the_numbers_on_screen_and_is_kept_nowhere(pupil):
    live, box = quiz.exercise(swept).live, quiz.learner().live
    live.fields[0].value = "1"
    live.check()
    box.use()
    assert "Type a word" in box.status.value
    box.word.value = "Walnut <b>"
    box.use()
    assert live.numbers == swept.numbers("walnut <b>") != swept.numbers()
    assert live.fields[0].value == live.verdicts[0].value == ""
    assert "<b>" not in box.status.value
    assert "walnut" not in pupil.store.path.read_text().lower()
    quiz.learner("demo")
    assert live.fields[0].value == "1"


# what a page shows never depends on anybody


def test_committed_outputs_do_not_depend_on_progress(pupil):
    def pages():
        cards = [
            ask(),
            tell(),
            quiz.exercise(swept),
            quiz.exercise(ladder, 1),
            quiz.progress([swept, ladder]),
            quiz.learner(),
            quiz.assessment([swept, ladder, other], 2),
        ]
        bundles = [card._repr_mimebundle_() for card in cards]
        assert all(set(b) == {"text/html", "text/plain", VIEW} for b in bundles)
        return [(b["text/html"], b["text/plain"]) for b in bundles], cards

    before, cards = pages()
    live = [card.live for card in cards]
    live[0].choice.value = "In phase"
    live[0].commit()
    live[2].fields[0].value = "3"
    live[2].check()
    live[2].toggle()
    quiz.learner("walnut")
    assert len(pupil.store.events) == 4
    after, _ = pages()
    assert after == before


def test_the_page_folds_hints_and_solution(pupil):
    html = quiz.exercise(swept).html
    assert html.count("<details>") == 4
    before = html[: html.index("<details>")]
    assert "267 cm²" in before
    assert "0.1869" not in before
    assert "0.1869 L" in html
    assert "0.1869" not in repr(quiz.exercise(swept))


def test_importing_loads_no_widgets():
    code = (
        "import sys; from boxlab import quiz\n"
        "assert not {'ipywidgets', 'matplotlib', 'scipy', 'IPython'} & set(sys.modules)"
    )
    subprocess.run([sys.executable, "-c", code], check=True)


class Tags(HTMLParser):
    def __init__(self, page):
        super().__init__()
        self.seen = []
        self.feed(page)
        self.close()

    def handle_starttag(self, tag, attrs):
        self.seen.append((tag, dict(attrs)))


typed = st.text(max_size=60) | st.text(alphabet="<>&\"'*`_[]()#/abc script:-1.\n", max_size=60)
PLAIN_TAGS = {"p", "strong", "em", "code", "ul", "ol", "li", "a"}


@given(typed)
def test_nothing_typed_becomes_markup(text):
    for tag, attributes in Tags(to_html(text) + inline(text)).seen:
        assert tag in PLAIN_TAGS
        assert set(attributes) <= {"href"}
        assert not attributes.get("href", "").lower().startswith("javascript")
    shown = parts.verdict_html(judge(text, 1.0, "Hz"), text)
    assert {tag for tag, _ in Tags(shown).seen} <= {"div", "strong", "em"}
    assert isinstance(to_text(text), str)


def test_plain_markdown():
    assert to_html("a\nb\n\n- one\n- two\n\n1. x") == (
        "<p>a b</p>\n<ul><li>one</li><li>two</li></ul>\n<ol><li>x</li></ol>"
    )
    assert inline("*f* of **x**, `a*b*c`, 2*3*4") == (
        "<em>f</em> of <strong>x</strong>, <code>a*b*c</code>, 2*3*4"
    )
    assert inline("[phase](02-phase.ipynb#Why)") == '<a href="02-phase.ipynb#Why">phase</a>'
    assert "<a" not in inline("[x](javascript:alert(1))")


def luminance(colour):
    channels = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
    return sum(w * c for w, c in zip((0.2126, 0.7152, 0.0722), linear, strict=True))


@pytest.mark.parametrize("ground", ["#ffffff", "#111111"])
def test_edges_can_be_seen_in_both_themes(ground):
    # Contrast ratio of WCAG 2.1, success criterion 1.4.11: at least 3.
    for colour in parts.EDGES.values():
        low, high = sorted((luminance(colour), luminance(ground)))
        assert (high + 0.05) / (low + 0.05) >= 3


# worksheets, progress, results


def test_worksheet_and_key_come_from_the_same_numbers():
    sheet = quiz.worksheet([swept, ladder], "walnut *")
    key = quiz.answer_key([swept, ladder], "walnut *")
    n = swept.numbers("walnut *")
    assert f"{n['area']} cm²" in sheet
    assert "## 1. How much air?" in sheet
    assert sheet.count("____________") == 3
    assert "walnut \\*" in sheet
    answer = f"{n['area'] * n['travel'] / 1e4:.4g} L"
    assert f"- Answer: **{answer}**" in key
    assert answer not in sheet
    assert "means: That is both ways." in key


def test_progress_says_what_is_next(pupil):
    live = quiz.progress([swept, "phase/at-tuning"]).live
    assert "0 of 2 questions are done. Next: “<strong>How much air?</strong>”" in live.body.value
    asked = ask().live
    asked.choice.value = "In phase"
    asked.commit()
    assert "1 of 2 questions are done" in live.body.value
    drill = quiz.exercise(swept).live
    n = swept.numbers()
    drill.fields[0].value = str(n["area"] * n["travel"] / 1e4)
    drill.check()
    assert "2 of 2 questions are done. All done." in live.body.value
    assert "○" not in live.body.value
    quiz.exercise(ladder, 1).live.hint()
    assert "Next: “<strong>Ladder (fill in the rest)</strong>”" in live.body.value


def solve(drill):
    """Type every right answer into an exercise on screen."""
    for i, field in drill.fields.items():
        field.value = drill.exercise.blanks[i].right(drill.numbers)
    drill.check()


def test_the_overview_says_what_to_do_next(pupil, monkeypatch):
    lessons = {"04-radiator.ipynb": (swept, ladder), "05-other.ipynb": (other,)}
    monkeypatch.setattr("boxlab.quiz.exercises.by_lesson", lambda: lessons)
    live = quiz.overview().live
    body = live.body
    assert "Next: <strong>How much air?</strong> in 04-radiator." in body.value
    assert "<td>0 of 2</td>" in body.value
    begun = quiz.exercise(ladder).live
    begun.hint()
    assert "<li>Go on with <strong>Ladder</strong> in 04-radiator.</li>" in body.value
    peeked = quiz.exercise(swept).live
    peeked.toggle()
    solve(peeked)
    assert "Worth another go: <strong>How much air?</strong>" in body.value
    assert "<td>1 of 2</td>" in body.value
    solve(begun)
    solve(quiz.exercise(other).live)
    assert "All exercises are done" in body.value
    assert "Go on with" not in body.value


def test_a_prediction_does_not_do_the_exercise_of_the_same_key(pupil, monkeypatch):
    monkeypatch.setattr("boxlab.quiz.exercises.by_lesson", lambda: {"04-radiator.ipynb": (swept,)})
    asked = quiz.predict(swept.key, "How much?", OPTIONS).live
    asked.choice.value = OPTIONS[0]
    asked.commit()
    assert pupil.standing(swept.key).state == DONE
    assert pupil.standing(swept.key).worked == FRESH
    assert "Next: <strong>How much air?</strong>" in quiz.overview().live.body.value
    quiz.exercise(swept)
    assert "Next: “<strong>How much air?</strong>”" in quiz.progress([swept]).live.body.value


def test_a_closing_round_says_where_to_go_back_to(pupil, monkeypatch):
    lessons = {"04-radiator.ipynb": (swept, ladder), "05-other.ipynb": (other,)}
    monkeypatch.setattr("boxlab.quiz.exercises.by_lesson", lambda: lessons)
    live = quiz.assessment([swept, ladder, other], 3).live
    tail = live.tail.body
    assert "once you have begun" in tail.value
    drills = {drill.exercise.key: drill for drill in live.drills}
    solve(drills[swept.key])
    drills[ladder.key].hint()
    solve(drills[ladder.key])
    assert "2 of 3 solved</strong>, 1 without a hint" in tail.value
    assert f"<li>05-other: {other.name}</li>" in tail.value
    assert "04-radiator" not in tail.value
    solve(drills[other.key])
    assert "Nothing to go back to" in tail.value


def test_a_solution_that_was_opened_first_does_not_count(pupil):
    live = quiz.assessment([swept], 1).live
    live.drills[0].toggle()
    solve(live.drills[0])
    assert "0 of 1 solved" in live.tail.body.value
    assert f"<li>elsewhere: {swept.name}</li>" in live.tail.body.value


def test_what_a_page_shows_of_a_round_can_be_fixed():
    every = [swept, ladder, other]
    card = quiz.assessment(every, 2, sample=[other.key])
    assert other.name in card.text
    assert card.html == quiz.assessment(reversed(every), 2, sample=[other.key]).html
    assert ladder.name not in card.text


def test_every_exercise_belongs_to_a_lesson():
    from boxlab.quiz.exercises import all_exercises, by_lesson

    found = by_lesson()
    assert list(found) == sorted(found)
    assert {ex.key for items in found.values() for ex in items} == {
        ex.key for ex in all_exercises()
    }
    assert found["02-phase-at-tuning.ipynb"][0].key.startswith("phase/")


def test_results_hold_nothing_typed(pupil):
    drill = quiz.exercise(swept).live
    drill.fields[0].value = "my name is secret"
    drill.check()
    results = json.dumps(quiz.results())
    assert "secret" not in results
    assert quiz.results()["results"]["radiator/swept"]["attempts"] == 1


def test_forget(pupil):
    quiz.learner("walnut")
    live = quiz.exercise(swept).live
    live.fields[0].value = "3"
    live.check()
    assert "2 entries" in repr(quiz.forget())
    assert not pupil.store.path.exists()
    assert live.numbers == swept.numbers()
    assert quiz.results()["results"]["radiator/swept"]["state"] == FRESH


def test_trouble_with_saving_is_said_on_screen(tmp_path, monkeypatch):
    (tmp_path / "file").write_text("in the way")
    monkeypatch.setattr(quiz, "pupil", Pupil(Store(tmp_path / "file")))
    asked, drill = ask().live, quiz.exercise(swept).live
    asked.choice.value = "In phase"
    asked.commit()
    assert "Not saved" in asked.status.value
    assert asked.choice.disabled
    drill.fields[0].value = "3"
    drill.check()
    assert "Not saved" in drill.saving.value
    assert "Not saved" in repr(quiz.learner("walnut"))


def test_a_mixed_round_takes_the_lessons_in_turn(pupil):
    every = [swept, ladder, other, *(replace(swept, key=f"radiator/x{i}") for i in range(6))]
    chosen = quiz.pick(every, 4, "walnut")
    assert chosen == quiz.pick(reversed(every), 4, "walnut")
    assert {ex.key.partition("/")[0] for ex in chosen[:2]} == {"phase", "radiator"}
    assert len({tuple(ex.key for ex in quiz.pick(every, 4, str(i))) for i in range(20)}) > 10
    first = quiz.exercise(swept).live
    first.fields[0].value = "17"
    first.check()
    closing = quiz.assessment([swept], 3).live.drills
    assert [drill.fields[0].value for drill in closing] == [""]
    assert closing[0].numbers != first.numbers


def test_enter_waits_for_the_letters_behind_it(pupil):
    """A page says that Enter was pressed before it sends what stands in the box."""

    async def typed():
        drill = quiz.exercise(swept).live
        field, right = drill.fields[0], swept.blanks[0].right(drill.numbers)
        field.value = right[:1]
        field._handle_custom_msg({"event": "submit"}, [])
        for letters in (right[:2], right):
            await asyncio.sleep(0.8 * BEHIND)
            field.value = letters
        await asyncio.sleep(3 * BEHIND)
        return drill.verdicts[0].value

    assert "Right" in asyncio.run(typed())
    assert quiz.results()["results"]["radiator/swept"]["attempts"] == 1


def test_letters_that_come_long_after_enter_are_judged_too(pupil):
    """Seen on a computer with much to do: Enter, then after a second the rest of what was typed."""

    async def typed():
        drill = quiz.exercise(swept).live
        field, right = drill.fields[0], swept.blanks[0].right(drill.numbers)
        field.value = right[:1]
        field._handle_custom_msg({"event": "submit"}, [])
        await asyncio.sleep(3 * BEHIND)
        field.value = right
        await asyncio.sleep(3 * BEHIND)
        return drill.verdicts[0].value

    assert "Right" in asyncio.run(typed())


def test_one_check_is_one_attempt_and_the_first_choice_is_what_was_expected(pupil):
    """An exercise of several blanks once counted as many attempts as it has blanks."""
    key = "radiator/many"
    for step in range(3):
        pupil.record("attempt", key=key, step=step, seed="walnut", text="1", of=3, verdict="slip")
    pupil.record("attempt", key=key, step=1, seed="walnut", text="2", of=3, verdict="right")
    pupil.record("attempt", key=key, step=0, seed="oak", text="2", of=3, verdict="right")
    assert pupil.standing(key).attempts == 3
    for choice in ("A first thought", "After the answer was seen"):
        pupil.record("prediction", key="radiator/guess", choice=choice)
    assert pupil.standing("radiator/guess").choice == "A first thought"
