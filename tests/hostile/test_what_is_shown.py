"""Whatever was typed is shown as text: a page has the same elements whoever typed what."""

import html5lib
import nbformat
import pytest
from nbformat.v4 import new_code_cell, new_notebook, new_output

from boxlab import quiz
from boxlab.bench import Panel
from boxlab.demo_sweeps import demo_table
from boxlab.exercises.port_or_radiator import port_length
from boxlab.progress import Store
from boxlab.pupil import Pupil
from boxlab.scenes import explainer
from boxlab.site.pages import notebook_page
from boxlab.sweepdesk import Desk

PLAIN = "walnut"
NASTY = [
    "<script>alert(1)</script>",
    "<img src=x onerror=alert(1)>",
    "</p></div></textarea></title><svg onload=alert(1)>",
    "\" autofocus onfocus=alert(1) x=\"",
    "' style='position:fixed' x='",
    "[x](javascript:alert(1))",
    "&lt;script&gt;&#60;b&#62;",
    "<!-- ", "]]>", "{{7*7}}", "$$x$$",
]  # fmt: skip


def elements(page):
    """Names and attribute names of every element, in order."""
    root = html5lib.parseFragment(page, namespaceHTMLElements=False)
    return [(node.tag, sorted(node.attrib)) for node in root.iter() if isinstance(node.tag, str)]


def words(page):
    return "".join(html5lib.parseFragment(page, namespaceHTMLElements=False).itertext())


@pytest.fixture(autouse=True)
def home(tmp_path, monkeypatch):
    monkeypatch.setenv("BOXLAB_HOME", str(tmp_path))
    monkeypatch.setattr(quiz, "pupil", Pupil(Store()))
    return tmp_path


def typed_into_a_drill(text):
    drill = quiz.exercise(port_length).live
    drill.fields[0].value = text
    drill.check()
    return drill.verdicts[0].value


def typed_as_a_word(text):
    box = quiz.learner().live
    box.word.value = text
    box.use()
    return box.status.value


def given_as_a_word(text):
    return quiz.learner(text).html


@pytest.mark.parametrize("text", NASTY)
@pytest.mark.parametrize("entry", [typed_into_a_drill, typed_as_a_word, given_as_a_word])
def test_answers_and_words(entry, text):
    page = entry(text)
    assert elements(page) == elements(entry(PLAIN))
    assert text.strip() in words(page)


@pytest.fixture(scope="module")
def panel():
    return Panel(explainer("first_experiment"))


@pytest.mark.parametrize("text", NASTY)
def test_settings_lines(panel, text):
    def said(line):
        panel.face.line.value = line
        return panel.face.error.value

    for line in ("first_experiment({}=3)", "first_experiment(volume='{}')", "{}"):
        page = said(line.replace("{}", text))
        assert elements(page) == elements(said(PLAIN))


@pytest.fixture(scope="module")
def desk(tmp_path_factory):
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("BOXLAB_HOME", str(tmp_path_factory.mktemp("home")))
        yield Desk()


@pytest.mark.parametrize("text", NASTY)
def test_tables_that_are_refused(desk, text):
    def said(words):
        desk.take(f"{words}.csv", f"{words}\n{words};{words}\n".encode())
        return desk.message.value

    assert elements(said(text)) == elements(said(PLAIN))


def test_tables_that_are_read(desk):
    """Names, headers, remarks and rows set aside; one reading with all of it, as a fit is slow."""

    def said(words):
        row = words.replace("\n", " ")
        table = demo_table("ported", separator=";").splitlines(keepends=True)
        lines = [f"# {row}\n", table[0].rstrip("\r\n") + f";{row}\n", *table[1:40], f"{row}\n"]
        assert desk.take(f"{row}.csv", "".join([*lines, *table[40:]]).encode()), desk.trouble
        assert desk.report.sweep.set_aside
        return desk.message.value + desk.said.value + desk.links.value

    nasty = "".join(NASTY[:5]).replace(";", "")
    assert elements(said(nasty)) == elements(said(PLAIN))


def test_a_saved_page_exported_as_a_web_page(tmp_path):
    """The answers that a learner's own page holds, on its way through the site."""

    def exported(text):
        card = quiz.learner(text)
        data = {"text/html": card.html, "text/plain": card.text}
        cell = new_code_cell("quiz.learner(word)", execution_count=1)
        cell.outputs = [new_output("execute_result", data, execution_count=1)]
        stdout = new_code_cell("print(word)", execution_count=2)
        stdout.outputs = [new_output("stream", name="stdout", text=text)]
        path = tmp_path / "page.ipynb"
        nbformat.write(new_notebook(cells=[cell, stdout]), path)
        return notebook_page(path).body

    for text in NASTY:
        page = exported(text)
        assert elements(page) == elements(exported(PLAIN)), text
