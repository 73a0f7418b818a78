"""Every lesson keeps the rules of `boxlab.publish.lesson_rules`, and each can be seen to fail."""

import re

import pytest
from nbformat import v4

from boxlab.publish import lesson_rules, notebooks

LESSONS = notebooks.find()
NAMES = [path.stem for path in LESSONS]
PNG = {"image/png": "iVBORw0KGgo="}


@pytest.mark.parametrize("path", LESSONS, ids=NAMES)
@pytest.mark.parametrize("rule", lesson_rules.RULES, ids=lambda rule: rule.__name__)
def test_lesson_keeps(rule, path):
    assert list(rule(notebooks.read(path), path)) == []


def test_there_are_lessons():
    assert {"00-start-here", "01-port-or-radiator"} <= set(NAMES)


@pytest.mark.parametrize("path", LESSONS, ids=NAMES)
def test_readme_and_start_page_say_how_long_it_takes(path):
    for page in ("README.md", f"lessons/{lesson_rules.START}"):
        text = (notebooks.ROOT / page).read_text(encoding="utf-8")
        row = re.search(rf"\([^)]*{path.name}\).*\| *(\d+) *\|", text)
        if page == "README.md" or path.name != lesson_rules.START:
            assert row, f"{path.name} has no row with minutes in {page}"
            assert int(row.group(1)) == lesson_rules.minutes(notebooks.read(path))


@pytest.mark.parametrize("page", ["README.md", "DEVELOPERS.md", "figures/README.md"])
def test_links_of_the_pages_lead_somewhere(page):
    path = notebooks.ROOT / page
    assert list(lesson_rules.broken_links(path.read_text(encoding="utf-8"), path)) == []


# From here on: small notebooks that break one rule each.


def cell(source="x = 1", outputs=(), tags=(), count=1):
    metadata = {"tags": list(tags)} if tags else {}
    return v4.new_code_cell(source, outputs=list(outputs), execution_count=count, metadata=metadata)


def many(number, source="x = 1"):
    return [cell(source) for _ in range(number)]


def printed(text, name="stdout"):
    return v4.new_output("stream", name=name, text=text)


def shown(data, metadata=None):
    return v4.new_output("display_data", data=data, metadata=metadata or {})


def book(*cells, **metadata):
    return v4.new_notebook(
        cells=[v4.new_markdown_cell(c) if isinstance(c, str) else c for c in cells],
        metadata=metadata,
    )


def whole(parts=lesson_rules.ANATOMY, title="# Port or radiator?", time="Time needed: 30 minutes."):
    return book(f"{title}\n\n{time}", *(f"## {part}" for part in parts))


ALT = {"image/png": {"alt": "SPL from 10 to 200 Hz"}}
PANEL = 'Panel(explainer("phasors"))'
STEP = "Why\n\n**End of step {} of 2.** Next, some 15 minutes: [numbers](#Numbers)."
PASSES = [
    (lesson_rules.tried, book("Drag **Tone** up\nand down.", cell(PANEL), cell(), "", cell())),
    (lesson_rules.stepped, whole(parts=[*lesson_rules.ANATOMY, STEP.format(1)])),
    (lesson_rules.stepped, whole(time="Time needed: 10 minutes.")),
    (lesson_rules.saved, book(cell(outputs=[printed("1")]))),
    (lesson_rules.clean, book(cell(), language_info={"name": "python"})),
    (lesson_rules.quiet, book(cell(outputs=[printed("fine")]))),
    (lesson_rules.traceless, book(cell(outputs=[printed("12 dB at 1/3 octave")]))),
    (lesson_rules.compared, book(*many(19), cell("# NBVAL_SKIP\n# Why: it asks the clock\nx"))),
    (lesson_rules.short, book(*many(9, "x = 1\n" * 4), cell("x = 1\n" * 30))),
    (lesson_rules.no_plotting, book(cell("panel(port_or_radiator)"))),
    (lesson_rules.anatomy, whole()),
    (lesson_rules.pictures, book(cell(outputs=[shown(PNG, ALT)]), "*Figure: what it shows.*")),
    (
        lesson_rules.pictures,
        book(cell(outputs=[shown(PNG, ALT), shown({"text/markdown": "So. " * 9})])),
    ),
    (
        lesson_rules.links,
        book("[see](#Why) [code](../README.md) [web](https://example.org)", "## Why"),
    ),
]
FAILS = [
    (lesson_rules.tried, book("Drag **Volts**.", cell(PANEL)), "which control"),
    (lesson_rules.tried, book("Drag **Tone**.", cell(), cell(PANEL)), "which control"),
    (lesson_rules.stepped, whole(), "comes in steps"),
    (
        lesson_rules.stepped,
        whole(parts=[*lesson_rules.ANATOMY, STEP.format(1)], time="Time needed: 25 minutes."),
        "ask for 30 minutes",
    ),
    (lesson_rules.stepped, whole(parts=[*lesson_rules.ANATOMY, STEP.format(2)]), "numbered [2]"),
    (lesson_rules.saved, book(cell(count=None, outputs=[printed("1")])), "execution counts"),
    (lesson_rules.saved, book(cell(count=2, outputs=[printed("1")])), "execution counts"),
    (lesson_rules.saved, book(cell()), "no cell has a saved output"),
    (lesson_rules.clean, book(cell(), widgets={}), "widget state"),
    (
        lesson_rules.clean,
        book(cell(), language_info={"name": "python", "version": "3.11.7"}),
        "version",
    ),
    (lesson_rules.clean, book(cell(outputs=[shown({notebooks.WIDGET_VIEW: {}})])), "widget view"),
    (lesson_rules.quiet, book(cell(outputs=[printed("Warning: 1/0", "stderr")])), "stderr"),
    (
        lesson_rules.quiet,
        book(cell(outputs=[v4.new_output("error", ename="E", evalue="")])),
        "error",
    ),
    (lesson_rules.traceless, book(cell(outputs=[printed("in /home/ada/x.py")])), "absolute path"),
    (lesson_rules.traceless, book(cell(outputs=[printed("in C:\\Users")])), "absolute path"),
    (
        lesson_rules.traceless,
        book(cell(outputs=[printed("<X at 0x7f00deadbeef>")])),
        "memory address",
    ),
    (
        lesson_rules.traceless,
        book(cell(outputs=[shown({"text/plain": "Traceback (most recent call last):"})])),
        "traceback",
    ),
    (lesson_rules.compared, book(*many(18), cell("# NBVAL_SKIP\n# Why: a clock\nx")), "1 of 19"),
    (lesson_rules.compared, book(*many(19), cell("# NBVAL_SKIP\nx")), "does not say why"),
    (lesson_rules.compared, book(*many(19), cell(tags=["nbval-skip"])), "does not say why"),
    (lesson_rules.compared, book(*many(19), cell("# NBVAL_SKIP now\n# Why: x")), "turns it off"),
    (lesson_rules.short, book(*many(3, "x = 1\n" * 5)), "median"),
    (lesson_rules.short, book(*many(8), *many(2, "x = 1\n" * 16)), "one code cell in ten"),
    (lesson_rules.short, book(*many(99), cell("x = 1\n" * 31)), "31 lines"),
    (lesson_rules.no_plotting, book(cell("import matplotlib.pyplot as plt")), "plotting"),
    (lesson_rules.no_plotting, book(cell("ax.plot(x, y)")), "plotting"),
    (lesson_rules.anatomy, whole(title="# Port or radiator"), "ends with '?'"),
    (lesson_rules.anatomy, whole(title="# Port?\n\n# Radiator?"), "one title"),
    (lesson_rules.anatomy, whole(time="Soon done."), "time needed"),
    (lesson_rules.anatomy, whole(lesson_rules.ANATOMY[:-1]), "should be"),
    (lesson_rules.anatomy, whole(lesson_rules.ANATOMY[::-1]), "should be"),
    (lesson_rules.pictures, book(cell(outputs=[shown(PNG)]), "*Figure: it.*"), "without alt text"),
    (
        lesson_rules.pictures,
        book(cell(outputs=[shown(PNG, ALT)]), "Now look."),
        "without a caption",
    ),
    (lesson_rules.pictures, book("![](../figures/x.svg)"), "without alt text"),
    (lesson_rules.links, book("[see](#Because)", "## Why"), "no such heading"),
    (lesson_rules.links, book("[see](nowhere.ipynb)"), "leads nowhere"),
    (lesson_rules.links, book("[see](../../../etc)"), "leads"),
    (lesson_rules.links, book("[see](../README.md#nowhere)"), "no such heading"),
]


def on_disk(notebook, folder):
    """The path of a lesson with this content, in a project of its own."""
    (folder / "lessons").mkdir()
    (folder / "README.md").write_text("# A page\n")
    path = folder / "lessons" / "01-port.ipynb"
    notebooks.write(notebook, path)
    return path


@pytest.mark.parametrize(("rule", "notebook"), PASSES, ids=lambda x: getattr(x, "__name__", ""))
def test_rule_lets_a_good_lesson_pass(rule, notebook, tmp_path, monkeypatch):
    monkeypatch.setattr(lesson_rules, "ROOT", tmp_path)
    assert list(rule(notebook, on_disk(notebook, tmp_path))) == []


@pytest.mark.parametrize(
    ("rule", "notebook", "word"), FAILS, ids=lambda x: getattr(x, "__name__", x)
)
def test_rule_finds_a_fault(rule, notebook, word, tmp_path, monkeypatch):
    monkeypatch.setattr(lesson_rules, "ROOT", tmp_path)
    found = list(rule(notebook, on_disk(notebook, tmp_path)))
    assert len(found) == 1
    assert word in found[0]


def test_an_unlisted_lesson_is_found(tmp_path, monkeypatch):
    monkeypatch.setattr(lesson_rules, "ROOT", tmp_path)
    path = on_disk(book(), tmp_path)
    assert len(list(lesson_rules.listed(book(), path))) == 2
    notebooks.write(book("[one](01-port.ipynb)"), path.with_name(lesson_rules.START))
    (tmp_path / "README.md").write_text("[01](lessons/01-port.ipynb)")
    assert list(lesson_rules.listed(book(), path)) == []


def test_every_rule_is_proved():
    assert {case[0] for case in PASSES} == {case[0] for case in FAILS}
    assert {case[0] for case in PASSES} == set(lesson_rules.RULES) - {lesson_rules.listed}


# Running and tidying.


def test_running_twice_changes_nothing(tmp_path):
    source = "import ipywidgets\nprint(1)\nprint(2)\nipywidgets.IntSlider(3)"
    before = book("# Title", cell(source, count=7), cell("6 * 7", count=None), widgets={"x": 1})
    path = on_disk(before, tmp_path)
    assert notebooks.refresh(path)
    assert not notebooks.refresh(path)
    after = notebooks.read(path)
    code = [item for _, item in lesson_rules.code_cells(after)]
    assert [item.execution_count for item in code] == [1, 2]
    assert code[0].outputs[0].text == "1\n2\n"
    assert code[0].outputs[1].data == {"text/plain": "IntSlider(value=3)"}
    assert code[1].outputs[0].execution_count == 2
    assert list(lesson_rules.clean(after, path)) == []


def test_a_lesson_that_fails_is_left_as_it_was(tmp_path):
    path = on_disk(book(cell("1 / 0")), tmp_path)
    before = path.read_bytes()
    with pytest.raises(RuntimeError, match="ZeroDivisionError"):
        notebooks.refresh(path)
    assert path.read_bytes() == before
    assert list(path.parent.iterdir()) == [path]


def test_lessons_are_found_by_the_start_of_their_name():
    assert [path.stem for path in notebooks.find(["00"])] == ["00-start-here"]
    with pytest.raises(ValueError, match="no lesson is called 'bass'"):
        notebooks.find(["bass"])


def test_what_answers_a_prediction_is_folded_until_it_is_run():
    picture = [shown(PNG, ALT)]
    made = book(
        cell("panel", picture), cell('quiz.predict("a/b", "?", ["x", "y"])', picture),
        cell("panel", picture), cell('quiz.compare(\n  "a/b", right="x")', picture),
        cell("panel", picture),
    )  # fmt: skip
    for _ in range(2):
        notebooks.tidy(made)
        hidden = [each.metadata["jupyter"].get("outputs_hidden", False) for each in made.cells]
        assert hidden == [False, False, True, False, False]


def test_code_is_folded_but_where_a_tag_keeps_it_open():
    folded, kept = cell("1 + 1"), cell("1 + 1", tags=["open"])
    made = book(folded, kept)
    notebooks.tidy(made)
    assert made.cells[0].metadata["jupyter"] == {"source_hidden": True}
    assert "jupyter" not in made.cells[1].metadata
