"""What instructors get: run sheets that add up, slides that hold, sheets and key that agree."""

import json
import re
from html import escape
from pathlib import Path, PurePosixPath

import html5lib
import nbformat
import pytest
from made_up import MADE_UP

from boxlab.__main__ import main
from boxlab.draw.stage import table
from boxlab.explainers import explainer
from boxlab.publish import lesson_rules
from boxlab.publish.workshop import (
    advice,
    classroom,
    deck,
    laptop,
    papers,
    report,
    runsheet,
    slide,
)
from boxlab.publish.workshop.lesson import Lesson, lessons
from boxlab.quiz import handing_in, static_html
from boxlab.quiz.exercises import all_exercises, exercise
from boxlab.quiz.learner_word import DONE, FRESH
from boxlab.quiz.prose import to_text

LESSONS = lessons()
RUN = [lesson for lesson in LESSONS if lesson.asks]
SHEETS = runsheet.sheets()
KEYS = [ex.key for ex in all_exercises()]


@pytest.fixture(scope="module", autouse=True)
def coarse():
    """What moves on a page has few states: full tables are tried in `test_stage.py`."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(table, "PATIENCE", 0.0)
        yield


def strict(text):
    """The page parsed as a browser does; any fault in it fails."""
    return html5lib.HTMLParser(strict=True, namespaceHTMLElements=False).parse(text)


def from_outside(text):
    """Whatever the page would fetch, or send, from or to anywhere."""
    return loads(strict(text), text)


def loads(tree, text):
    """The same, of a page that is parsed already."""
    found = [each.get("src", "") for each in tree.iter() if each.get("src")]
    found += [each.get("href") for each in tree.iter("link")]
    outside = [where for where in found if not where.startswith("data:")]
    return outside + re.findall(r"@import|url\(|fetch\(|XMLHttp|WebSocket|sendBeacon", text)


# --- lessons read back


@pytest.mark.parametrize("lesson", RUN, ids=lambda lesson: lesson.slug)
def test_questions_are_read_back_as_the_lesson_says_them(lesson):
    assert lesson.faults == ()
    said = {
        output.data["text/plain"]
        for cell in lesson.notebook.cells
        for output in cell.get("outputs", ())
        if "text/plain" in output.get("data", {})
    }
    for ask in lesson.asks:
        assert static_html.question_text(ask.question) in said
        assert static_html.outcome_text(ask.outcome) in said
        assert ask.anchor in lesson_rules.anchors(lesson.path)
        assert ask.pictures


def with_a_class(lesson):
    """Minutes that a lesson takes with a class, by its note for instructors."""
    return int(re.match(r"\d+", lesson.aside.minutes)[0])


def test_each_lesson_gives_aims_claim_and_advice():
    for lesson in RUN:
        if lesson.slug.startswith("00"):
            continue
        assert len(lesson.aims) >= 3
        assert slide.claims(lesson), lesson.slug
        assert {"Take care", "Key points"} == {each.title for each in slide.closing(lesson)}
        parts = lesson.aside.parts
        assert sum(int(minutes) for minutes, _, _ in parts) == with_a_class(lesson), lesson.slug
        assert len(lesson.aside.paragraphs) >= 2
        assert set(lesson.exercises) <= set(KEYS) and len(lesson.exercises) >= 2


def made_lesson(path, *cells):
    book = nbformat.v4.new_notebook()
    for source, output in cells:
        if output is None:
            book.cells.append(nbformat.v4.new_markdown_cell(source))
            continue
        cell = nbformat.v4.new_code_cell(source)
        cell.outputs = [nbformat.v4.new_output("display_data", {"text/plain": output})]
        book.cells.append(cell)
    nbformat.write(book, path)
    return Lesson(path)


def test_what_cannot_be_read_is_named(tmp_path):
    lesson = made_lesson(
        tmp_path / "01-a.ipynb",
        ("# One?\n\n## Predict", None),
        ('quiz.predict("a/one", "Which?", ["x", "y"])', ""),
        ('quiz.compare("a/one", right="x", because="so.")', ""),
        ('quiz.predict("a/two", "Which?", ["x: y", "x"])',
         "Predict. Which?\n  A. x: y\n  B. x\nCommit to one before you read on."),
        ('quiz.compare("a/three", right="x", because="so.")', ""),
        ("%magic", ""),
    )  # fmt: skip
    assert [ask.key for ask in lesson.asks] == ["a/two"]
    faults = " ".join(lesson.faults)
    assert "cell 2: a/one has no saved question" in faults
    assert "cell 5: compares 'a/three'" in faults
    assert "a/two: never compared" in faults
    assert len(lesson.faults) == 3


def test_an_option_with_a_colon_keeps_its_own_word(tmp_path):
    text = (
        "Compare with your prediction: Which?\nWhat happens: B. x\nSo.\n"
        "If you chose A. x: y: half of it.\n\nAnd more."
    )
    question = static_html.Question("a/two", "Which?", ("x: y", "x"))
    lesson = made_lesson(
        tmp_path / "01-a.ipynb",
        ('quiz.predict("a/two", "Which?", ["x: y", "x"])', static_html.question_text(question)),
        ('quiz.compare("a/two", right="x", because="So.")', text),
    )
    (ask,) = lesson.asks
    assert ask.outcome.right == "x"
    assert ask.outcome.because == "So."
    assert ask.outcome.others == {"x: y": "half of it.\n\nAnd more."}


# --- run sheets


def test_there_are_the_three_classes():
    totals = {}
    for sheet in SHEETS:
        totals.setdefault(sheet.path.stem, []).append(sheet.sum)
    assert totals == {"two-hour-class": [120], "half-day": [240], "four-evenings": [120] * 4}


@pytest.mark.parametrize("sheet", SHEETS, ids=lambda sheet: sheet.slug)
def test_a_run_sheet_holds(sheet):
    assert runsheet.faults(sheet, LESSONS, KEYS) == []
    assert any("Break" in row.title for row in sheet.rows)
    assert sum(len(row.asks) for row in sheet.rows) >= 6
    assert any(row.papers for row in sheet.rows)


@pytest.mark.parametrize("path", sorted(runsheet.FOLDER.glob("*.md")), ids=lambda path: path.stem)
def test_links_of_the_workshop_pages_lead_somewhere(path):
    text = path.read_text(encoding="utf-8")
    assert list(lesson_rules.broken_links(text, path)) == []
    if runsheet.read(path):
        for part in ("## Aims", "## Before", "## Cautions", "**Hearing.**", "**Wiring.**"):
            assert part in text


def test_commands_of_the_workshop_pages_exist():
    pages = [*runsheet.FOLDER.glob("*.md"), lesson_rules.ROOT / "README.md"]
    used = {
        found
        for page in pages
        for found in re.findall(r"-m boxlab ([a-z]+)", page.read_text(encoding="utf-8"))
    }
    assert {"check", "slides", "worksheet", "results", "class"} <= used
    for name in used:
        with pytest.raises(SystemExit) as stopped:
            main([name, "--help"])
        assert stopped.value.code == 0


def test_answers_are_what_the_lessons_say():
    assert advice.stale(LESSONS) == []


def test_every_lesson_has_a_place_in_the_four_evenings():
    """Each is asked from, and what does not fit in is for home, with the sums that say why."""
    text = (runsheet.FOLDER / "four-evenings.md").read_text(encoding="utf-8")
    asked = {key for sheet in SHEETS if sheet.path.stem == "four-evenings"
             for row in sheet.rows for key in row.asks}  # fmt: skip
    for lesson in RUN:
        assert asked & {ask.key for ask in lesson.asks}, lesson.slug
    home = {lesson.slug[:2]: with_a_class(lesson) for lesson in RUN if lesson.aside}
    apart = sum(home.pop(each) for each in ("08", "09", "11", "12"))
    home.pop("00", None)
    breaks = 10 * 4
    assert f"ask for {apart} minutes more" in text
    assert f"the eight others ask for {sum(home.values())}" in text
    assert f"breaks have {4 * 120 - breaks}" in text.replace("\n", " ")
    for path in (runsheet.FOLDER / f"{name}.md" for name in ("two-hour-class", "half-day")):
        assert path.read_text(encoding="utf-8").count("If time runs short") == 1
    assert text.count("If time runs short") == 4


def test_stale_answers_are_noticed(tmp_path):
    path = tmp_path / "answers.md"
    assert advice.stale(LESSONS, path)
    advice.write(LESSONS, path)
    assert advice.stale(LESSONS, path) == []
    text = path.read_text(encoding="utf-8")
    path.write_text(text.replace("There it moves most", "There it rests", 1), encoding="utf-8")
    assert "There it moves most" in advice.stale(LESSONS, path)[0]


GOOD = """# A class: 20 minutes

| At | Minutes | What you do | Ask | On paper |
|---|---|---|---|---|
| 0:00 | 15 | **One.** Go. | [`start-here/rest`](../00-start-here.ipynb#Your-first-experiment) | |
| 0:15 | 5 | **Two.** Go. | | `port-or-radiator/null` |
"""


@pytest.mark.parametrize(
    ("old", "new", "word"),
    [
        ("| 5 |", "| 6 |", "add up to 21, the heading says 20"),
        ("20 minutes", "some time", "no heading"),
        ("0:15", "0:14", "should begin at 0:15"),
        ("start-here/rest", "start-here/best", "no lesson asks 'start-here/best'"),
        ("#Your-first-experiment", "#Units", "so link it there"),
        ("port-or-radiator/null", "port-or-radiator/nil", "no exercise"),
        ("port-or-radiator/null", "port-or-radiator/weights", "Two takes 10.4 minutes, and has 5"),
    ],
)
def test_a_run_sheet_that_does_not_hold_is_noticed(tmp_path, monkeypatch, old, new, word):
    path = runsheet.FOLDER / "made-up.md"
    monkeypatch.setattr(Path, "read_text", _reader(path, GOOD))
    assert runsheet.faults(*runsheet.read(path), LESSONS, KEYS) == []
    monkeypatch.setattr(Path, "read_text", _reader(path, GOOD.replace(old, new)))
    assert word in " ".join(runsheet.faults(*runsheet.read(path), LESSONS, KEYS))


def _reader(path, text, plain=Path.read_text):
    return lambda self, **how: text if self == path else plain(self, **how)


@pytest.mark.parametrize(
    "line", ["| soon | 5 | a | | |", "| 0:15 | five | a | | |", "| 0:15 | 5 |"]
)
def test_a_line_that_is_none_is_named(tmp_path, line):
    path = tmp_path / "plan.md"
    path.write_text(GOOD + line + "\n", encoding="utf-8")
    with pytest.raises(ValueError, match=r"plan\.md, line 7: expected"):
        runsheet.read(path)


# --- slides


@pytest.fixture
def drawn_once(monkeypatch):
    """Every explainer is one small picture: what is drawn has tests of its own."""
    monkeypatch.setattr(slide, "explainer", lambda name: MADE_UP)
    monkeypatch.setattr(slide.figures, "svg", lambda figure: "<svg/>")
    monkeypatch.setattr(slide.figures, "draw", lambda scene, figure: None)
    slide._drawn.cache_clear()
    yield
    slide._drawn.cache_clear()


@pytest.mark.parametrize("lesson", RUN, ids=lambda lesson: lesson.slug)
def test_slides_of_a_lesson(lesson, drawn_once):
    made = deck.lesson_deck(lesson)
    text = deck.page(made)
    tree = strict(text)
    assert loads(tree, text) == []
    ids = [each.get("id") for each in tree.iter() if each.get("id")]
    assert len(ids) == len(set(ids))
    assert all(image.get("alt") for image in tree.iter("img"))
    assert "default-src 'none'" in text
    plain = re.sub(r"<(style|script|svg|code)\b.*?</\1>|data:[^\"]*", "", text, flags=re.S)
    assert "$" not in plain and "@" not in plain and "**" not in plain
    for ask in lesson.asks:
        found = {each.kind: each.body for each in made.slides if each.ask == ask.key}
        body = found["ask"]
        asked = found.get("vote", body)  # with others it is asked first, on a slide of its own
        assert asked.index('class="question"') < asked.index('data-step="1"')
        assert 'data-step="3"' in body and body.index('data-step="3"') < body.index('data-step="2"')
        assert body.count('<li class="right">') == 1
        for each in found.values():
            assert each.count('class="letter"') == len(ask.question.options)
        if "vote" in found:
            assert ask.outcome.because not in asked and 'class="right"' not in asked
            assert "<img" not in asked


def test_both_questions_are_asked_before_either_is_answered(drawn_once):
    made = next(deck.sheet_deck(s, LESSONS) for s in SHEETS if s.slug == "two-hour-class")
    row = [(each.kind, each.ask) for each in made.slides if each.plan == "0:20"]
    above, below = "port-or-radiator/above", "port-or-radiator/below"
    assert row == [("vote", above), ("vote", below), ("ask", above), ("ask", below)]


def test_slides_hold_the_cautions_and_name_the_place_of_the_panel():
    made = next(deck.sheet_deck(s, LESSONS) for s in SHEETS if s.slug == "half-day")
    welcome = next(each for each in made.slides if each.plan == "0:00")
    for word in ("Hearing.", "Wiring.", "Saws and dust.", "Hands and feet."):
        assert f"<strong>{word}</strong>" in welcome.body  # for all to read along
    cable = next(each for each in made.slides if each.ask == "power-and-wiring/cable")
    for words in explainer("cable_and_fuse")().cautions:
        assert f"<strong>Read aloud.</strong> {escape(words)}" in cable.notes
    above = next(each for each in made.slides if each.ask.endswith("/below") and each.shown)
    assert "01-port-or-radiator.ipynb, under “See”" in above.notes


def test_the_why_of_a_class_has_its_formulas(drawn_once):
    for sheet in SHEETS:
        made = deck.sheet_deck(sheet, LESSONS)
        for row in sheet.rows:
            if row.title == "Why":
                shown = [each for each in made.slides if each.plan == row.at]
                assert len(shown) == 3 and all('class="formula' in each.body for each in shown)
    with_why = {sheet.path.stem for sheet in SHEETS for row in sheet.rows if row.title == "Why"}
    assert with_why == {"two-hour-class", "half-day", "four-evenings"}


def test_what_moves_lies_beside_the_slides(tmp_path, drawn_once, monkeypatch):
    def tables(items, say):
        yield from ((PurePosixPath(f"q/{item.name}.js"), "1") for item in items)

    monkeypatch.setattr(deck.questions, "tables", tables)
    monkeypatch.setattr(deck, "explainer", lambda name: MADE_UP)
    assert deck.write(tmp_path / "out", ["00"]) == []
    text = (tmp_path / "out" / "00-start-here.html").read_text(encoding="utf-8")
    for file in ("stage.js", "stage.css", f"q/{MADE_UP.name}.js"):
        assert (tmp_path / "out" / file).is_file()
    assert 'data-table="./q/first_experiment.js"' in text
    assert sorted(from_outside(text)) == ["stage.css", "stage.js"]
    assert deck.write(tmp_path / "still", ["00"], live=False) == []
    assert from_outside((tmp_path / "still" / "00-start-here.html").read_text("utf-8")) == []


@pytest.mark.parametrize("sheet", SHEETS, ids=lambda sheet: sheet.slug)
def test_slides_of_a_class_follow_its_run_sheet(sheet, drawn_once):
    made = deck.sheet_deck(sheet, LESSONS)
    assert from_outside(deck.page(made)) == []
    asked = [each.ask for each in made.slides if each.kind == "ask"]
    assert asked == [key for row in sheet.rows for key in row.asks]
    plans = [each.plan for each in made.slides if each.plan]
    assert sorted(set(plans)) == sorted(row.at for row in sheet.rows)
    assert plans == sorted(plans)


def test_the_picture_is_the_explainers_own():
    ask = next(ask for lesson in LESSONS for ask in lesson.asks if ask.key == "start-here/rest")
    figure = slide.drawn(ask.pictures[-1])

    scene = explainer("first_experiment")()
    assert f'alt="{escape(scene.alt)}"' in figure and escape(scene.caption) in figure


def test_slides_are_written_and_other_things_are_left_alone(tmp_path, drawn_once, capsys):
    assert main(["slides", "00", "--still", "--to", str(tmp_path / "new")]) == 0
    assert main(["slides", "00", "--still", "--to", str(tmp_path / "new")]) == 0
    said = capsys.readouterr().out
    assert "made 00-start-here.html" in said
    front = (tmp_path / "new" / "index.html").read_text(encoding="utf-8")
    assert from_outside(front) == []
    assert 'href="00-start-here.html"' in front
    (tmp_path / "mine.txt").write_text("x")
    assert main(["slides", "00", "--still", "--to", str(tmp_path)]) == 2
    assert main(["slides", "00", "--still", "--to", str(tmp_path / "mine.txt")]) == 2
    assert main(["slides", "nothing", "--still", "--to", str(tmp_path / "new")]) == 2
    said = capsys.readouterr().err
    assert "it holds other things" in said and "that is a file" in said
    assert "no lesson is called 'nothing'" in said


def test_a_class_by_its_name_makes_its_own_deck_alone(tmp_path, drawn_once, capsys):
    target = tmp_path / "new"
    assert main(["slides", "two-hour-class", "--still", "--to", str(target)]) == 0
    assert sorted(path.name for path in target.glob("*.html")) == [
        "index.html", "two-hour-class.html"
    ]  # fmt: skip
    assert main(["slides", "00", "four-evenings-2", "--still", "--to", str(target)]) == 0
    assert sorted(path.name for path in target.glob("*.html")) == [
        "00-start-here.html", "four-evenings-2.html", "index.html"
    ]  # fmt: skip
    with pytest.raises(SystemExit):
        main(["slides", "--help"])
    told = " ".join(capsys.readouterr().out.split())
    assert "slides two-hour-class --to" in told and "three minutes" not in told


# --- worksheets


def cells(row):
    return ["".join(cell.itertext()) for cell in row.iter() if cell.tag in ("td", "th")]


def test_sheets_and_key_agree_with_the_check(tmp_path):
    words = ["ada", "ben", "Ünal <3"]
    chosen = papers.chosen(["01", "04"])
    papers.write(tmp_path / "out", words, chosen)
    pages = {
        path.stem: path.read_text(encoding="utf-8") for path in (tmp_path / "out").glob("*.html")
    }
    assert all(from_outside(text) == [] for text in pages.values())
    given = list(strict(pages["worksheets"]).iter("section"))
    key = list(strict(pages["key"]).iter("section"))
    assert len(given) == 3 and len(key) == 4
    tables = list(key[0].iter("table"))
    for place, ex in enumerate(chosen):
        for word, row in zip(words, list(tables[place].iter("tr"))[1:], strict=True):
            name, *right = cells(row)
            assert name == word
            numbers = ex.numbers(word)
            for step, typed in enumerate(right):
                assert ex.check(typed, numbers, step).right, (ex.key, word, typed)
    own = {str([ex.numbers(word) for ex in chosen]) for word in words}
    assert len(own) == len(words)
    for word, sheet, answers in zip(words, given, key[1:], strict=True):
        text, solved = "".join(sheet.itertext()), "".join(answers.itertext())
        marks = [each.text for each in sheet.iter("span") if each.get("class") == "whose"]
        assert marks == [word] * len(chosen)  # a sheet may run over several pages
        assert "same numbers" in text and "same numbers" not in solved
        assert f"Numbers for: {word}" in text and f"Numbers for: {word}" in solved
        problems = [each for each in sheet.iter("div") if each.get("class") == "problem"]
        assert len(problems) == len(chosen)
        for ex, problem in zip(chosen, problems, strict=True):
            body = "".join(problem.itertext())
            assert body.count("____________") == len(ex.blanks)
            for step in ex.blanks:
                assert step.right(ex.numbers(word)) in solved


def test_a_word_gives_the_same_sheets_again(tmp_path):
    first, second = (
        [
            path.read_bytes()
            for path in papers.write(tmp_path / name, ["ada"], papers.chosen(["01"]))
        ]
        for name in "ab"
    )
    assert first == second


@pytest.mark.parametrize(
    ("text", "words"),
    [("ada, ben ,  cem", ["ada", "ben", "cem"]), ("3", ["sheet-1", "sheet-2", "sheet-3"]),
     ("3, ada", ["3", "ada"]), ("Ann Lee,", ["Ann Lee"])],
)  # fmt: skip
def test_learners(text, words):
    assert papers.learners(text) == words


@pytest.mark.parametrize(
    ("text", "word"),
    [("", "expected names"), (" , ", "expected names"), ("Ada, ben, ada", "same numbers"),
     ("201", "200 sheets"), ("9999", "200 sheets"), ("x" * 61, "60 are the most")],
)  # fmt: skip
def test_learners_that_cannot_be(text, word):
    with pytest.raises(ValueError, match=word):
        papers.learners(text)


def test_exercises_are_those_asked_for():
    two = next(sheet for sheet in SHEETS if sheet.slug == "two-hour-class")
    planned = papers.planned("two-hour-class")
    assert planned == [key for row in two.rows for key in row.papers]
    assert [ex.key for ex in papers.chosen([], planned)] == planned
    assert {ex.key.split("/")[0] for ex in papers.chosen(["04"])} == {"how-much-radiator"}
    with pytest.raises(ValueError, match="no run sheet"):
        papers.planned("three-hour-class")
    with pytest.raises(ValueError, match="have no exercises"):
        papers.chosen(["00"])
    with pytest.raises(ValueError, match="no exercise has the key"):
        papers.chosen([], ["port-or-radiator/nil"])


def test_worksheet_verb(tmp_path, capsys):
    folder = str(tmp_path / "out")
    assert main(["worksheet", "--learners", "2", "--for", "two-hour-class", "--to", folder]) == 0
    assert "key.html" in capsys.readouterr().out
    assert main(["worksheet", "--learners", "", "--lessons", "01", "--to", folder]) == 2
    assert "--learners ''" in capsys.readouterr().err


# --- the class


def entry(state=DONE, **more):
    return {"state": state, "attempts": 1, "hints": 0, "solution": False, "choice": ""} | more


def handed_in(folder, file, results, **more):
    content = {"kind": "boxlab results", "schema": 1, "results": results} | more
    (folder / file).write_text(json.dumps(content), encoding="utf-8")


def test_a_class_is_counted(tmp_path, capsys):
    asks = {ask.key: ask for lesson in LESSONS for ask in lesson.asks}
    question = asks["port-or-radiator/null"]
    right, wrong = question.outcome.right, "More weights"
    for i in range(4):
        results = {
            "port-or-radiator/null": entry(choice=wrong if i < 3 else right, attempts=0),
            "port-or-radiator/weights": entry(
                DONE if i == 0 else "tried", attempts=2 + i, hints=i, solved=i == 0
            ),
            "port-or-radiator/weights:given-2": entry(),
            "port-or-radiator/weights:closing": entry(attempts=1 + i, solved=i != 2),
            "phase/film": entry(FRESH, attempts=0),
        }
        handed_in(tmp_path, f"{i}.json", results, **({"name": "Ada"} if i == 0 else {}))
    assert main(["class", str(tmp_path), "--to", str(tmp_path / "c.html")]) == 0
    said = capsys.readouterr().out
    assert "4 learners" in said
    tables = {
        table.title: table
        for table in report.summary(classroom.collect(tmp_path)[0], LESSONS, all_exercises())
    }
    (row,) = [row for row in tables["Predictions"].rows if "port-or-radiator/null" in row[0]]
    assert row[1:] == ("4", "1", "A. More weights (3)")
    (row,) = tables["Exercises"].rows
    assert row[1:] == ("4", "1", "3.5", "1.5", "0")
    assert [cells[1] for cells in tables["Come back to"].rows] == ["25%", "25%"]
    assert tables["Learners"].rows[0] == ("Ada", "1", "1", "1")
    (row,) = tables["Closing questions"].rows  # once lost, as their keys end in :closing
    assert row[1:4] == ("4", "3", "2.5")
    assert to_text(question.question.question) in said and "…" not in said  # whole
    assert tables["Learners"].rows[1][0] == "learner 2"
    assert from_outside((tmp_path / "c.html").read_text(encoding="utf-8")) == []


HOSTILE = {
    "empty": b"",
    "cut": b'{"schema": 1, "results": {"a/b": ',
    "binary": bytes(range(256)),
    "list": b"[1, 2]",
    "null": b"null",
    "other": b'{"events": []}',
    "results-list": b'{"schema": 1, "results": []}',
    "newer": b'{"schema": 99, "results": {}}',
    "true": b'{"schema": true, "results": {}}',
    "deep": b"[" * 200_000,
    "deep-dict": b'{"results": ' * 50_000,
    "digits": b'{"schema": 1, "results": {"a/b": {"state": "done", "attempts": '
    + b"9" * 5000
    + b"}}}",
    "negative": b'{"schema": 1, "results": {"a/b": {"state": "done", "attempts": -1}}}',
    "huge": b'{"schema": 1, "results": {"a/b": {"state": "done", "attempts": 1e308}}}',
    "nan": b'{"schema": 1, "results": {"a/b": {"state": "done", "hints": NaN}}}',
    "bool": b'{"schema": 1, "results": {"a/b": {"state": "done", "attempts": true}}}',
    "state": b'{"schema": 1, "results": {"a/b": {"state": ["done"], "attempts": 1}}}',
    "choice": b'{"schema": 1, "results": {"a/b": {"state": "done", "choice": {"x": 1}}}}',
    "solution": b'{"schema": 1, "results": {"a/b": {"state": "done", "solution": "yes"}}}',
    "row": b'{"schema": 1, "results": {"a/b": "done"}}',
    "large": b'{"schema": 1, "results": {}, "x": "' + b"a" * 1_100_000 + b'"}',
    "many": json.dumps({"schema": 1, "results": {f"a/{i}": entry() for i in range(2001)}}).encode(),
}


@pytest.mark.parametrize("name", HOSTILE)
def test_a_hostile_file_is_named_and_left_out(tmp_path, capsys, name):
    (tmp_path / f"{name}.json").write_bytes(HOSTILE[name])
    handed_in(tmp_path, "good.json", {"port-or-radiator/weights": entry()})
    assert main(["class", str(tmp_path)]) == 1
    said = capsys.readouterr().out
    assert "1 learner in" in said
    line = next(line for line in said.splitlines() if line.startswith("left out"))
    assert line.startswith(f"left out {name}.json: ") and len(line) < 140


def test_what_a_name_or_a_key_holds_steers_nothing(tmp_path, capsys):
    bad = "\x1b]0;owned\x07\x1b[31m<script>alert(1)</script>\u202e\n" + "long" * 300
    results = {bad: entry(), "port-or-radiator/null": entry(choice=bad)}
    handed_in(tmp_path, "a.json", results, name=bad)
    handed_in(tmp_path, "b.json", {"port-or-radiator/weights": entry()}, name=["x"])
    page = tmp_path / "c.html"
    assert main(["class", str(tmp_path), "--to", str(page)]) == 0
    said = capsys.readouterr().out
    assert not re.search(r"[\x00-\x09\x0b-\x1f\u202e]", said)
    assert max(len(line) for line in said.splitlines()) < 200
    text = page.read_text(encoding="utf-8")
    strict(text)
    assert "<script" not in text and "&lt;script&gt;" in text


def test_folders_links_and_twins_among_the_files(tmp_path, capsys):
    for name, mark in (("a.json", "12"), ("b.json", "12"), ("e.json", "13"), ("f.json", "")):
        handed_in(tmp_path, name, {"port-or-radiator/weights": entry()}, id=mark)
    handed_in(tmp_path, "g.json", {"port-or-radiator/weights": entry()})
    (tmp_path / "c.json").mkdir()
    (tmp_path / "d.json").symlink_to(tmp_path / "nowhere")
    (tmp_path / "notes.txt").write_text("not mine")
    learners, joined, out = classroom.collect(tmp_path)
    assert [each.file for each in learners] == ["a.json", "e.json", "f.json", "g.json"]
    assert [line.split(":")[0] for line in out] == ["c.json", "d.json"]
    assert joined == ["b.json: from the same record as a.json; one learner"]


def test_no_files_and_no_folder(tmp_path, capsys):
    assert main(["class", str(tmp_path)]) == 2
    assert "ends in .json" in capsys.readouterr().err
    assert main(["class", str(tmp_path / "nowhere")]) == 2
    assert "no such folder" in capsys.readouterr().err
    handed_in(tmp_path, "a.json", {})
    assert main(["class", str(tmp_path), "--to", str(tmp_path / "c.txt")]) == 2
    assert main(["class", str(tmp_path)]) == 0
    said = capsys.readouterr().out
    assert said.startswith("1 learner in") and "Nothing yet" in said


def test_results_are_handed_in_with_no_name_and_nothing_typed(tmp_path, monkeypatch, capsys):
    monkeypatch.setenv("BOXLAB_HOME", str(tmp_path / "home"))
    from boxlab import quiz
    from boxlab.base.progress import Store
    from boxlab.quiz.learner_word import Pupil

    own = Pupil(Store())
    monkeypatch.setattr(quiz, "pupil", own)
    own.record("prediction", key="port-or-radiator/null", choice="More weights")
    own.record("attempt", key="port-or-radiator/weights", step=0, of=4, text="secret 12 g",
               verdict="right", seed=own.seed)  # fmt: skip
    file = tmp_path / "mine.json"
    assert main(["results", "--to", str(file)]) == 0
    text = file.read_text(encoding="utf-8")
    assert "secret" not in text and "name" not in json.loads(text)
    learner = handing_in.read(file)
    assert not learner.entries["port-or-radiator/null"].solved
    assert learner.name == "" and learner.entries["port-or-radiator/weights"].attempts == 1
    assert main(["results", "--to", str(file), "--name", " Ada\n Lee "]) == 0
    assert handing_in.read(file).name == "Ada Lee"
    assert classroom.collect(tmp_path)[1:] == ([], [])
    other = tmp_path / "other.json"
    other.write_text("{}")
    assert main(["results", "--to", str(other)]) == 2
    assert other.read_text() == "{}"
    assert main(["results", "--to", str(tmp_path / "mine.txt")]) == 2
    assert "ends in .json" in capsys.readouterr().err


# --- the laptop


def test_free_memory_is_read_where_the_system_tells(tmp_path):
    source = tmp_path / "meminfo"
    source.write_text("MemTotal: 8000000 kB\nMemAvailable:   2500000 kB\n")
    assert laptop.free_memory(source) == 2.5
    source.write_text("nothing")
    assert laptop.free_memory(source) is None


def test_a_full_laptop_is_not_ready(monkeypatch):
    monkeypatch.setattr(laptop, "free_memory", lambda: 0.3)
    with pytest.raises(RuntimeError, match=r"0\.3 GB of memory"):
        laptop.room()
    monkeypatch.setattr(laptop, "free_memory", lambda: None)
    assert "does not say" in laptop.room()
    monkeypatch.setattr(laptop, "DISK", 1e9)
    with pytest.raises(RuntimeError, match="GB of disk"):
        laptop.room()


def test_sliders_of_another_age_are_noticed(monkeypatch):
    assert "ipywidgets 8." in laptop.widgets()
    monkeypatch.setattr(laptop.metadata, "version", lambda name: "7.7.1")
    with pytest.raises(RuntimeError, match=r"ipywidgets 7\.7\.1"):
        laptop.widgets()


def test_the_first_lesson_runs_with_the_network_shut():
    assert "with the network shut" in laptop.lesson()


def test_a_lesson_that_wants_the_network_would_be_noticed(tmp_path, monkeypatch):
    made_lesson(
        tmp_path / "00-start-here.ipynb",
        ('import urllib.request\nurllib.request.urlopen("http://192.0.2.1/")', ""),
    )
    monkeypatch.setattr(laptop, "LESSONS", tmp_path)
    with pytest.raises(RuntimeError, match="the network is shut"):
        laptop.lesson()


def test_jupyterlab_starts_and_stops():
    assert "needs nothing from outside" in laptop.server()


def test_a_server_that_stops_is_explained(monkeypatch):
    command = [laptop.sys.executable, "-c", "raise SystemExit('no room left')"]
    monkeypatch.setattr(laptop, "_command", lambda port: command)
    with pytest.raises(RuntimeError, match="JupyterLab stopped: no room left"):
        laptop.server()


def test_quick_check_leaves_the_long_trials_out(monkeypatch, capsys):
    from boxlab.publish import laptop_check

    monkeypatch.setattr(laptop_check, "TRIALS", (("One", lambda: "fine"),))
    monkeypatch.setattr(laptop, "TRIALS", (("Two", lambda: "fine"),))
    assert main(["check", "--quick"]) == 0
    assert "Two" not in capsys.readouterr().out
    assert main(["check"]) == 0
    assert "Two" in capsys.readouterr().out


def test_exercises_named_on_run_sheets_have_names():
    for sheet in SHEETS:
        for row in sheet.rows:
            assert row.paper_names() == [exercise(key).name for key in row.papers]
