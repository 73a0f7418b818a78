"""Whatever was typed is shown as text: a page has the same elements whoever typed what."""

from dataclasses import replace

import html5lib
import nbformat
import numpy as np
import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.text import Text
from nbformat.v4 import new_code_cell, new_notebook, new_output

from boxlab import PortedBox, cm2, litres, quiz
from boxlab.base.progress import Store
from boxlab.car.carcass_view import draw_box
from boxlab.car.clearance import Mounting
from boxlab.car.joinery import Carcass, Gap
from boxlab.car.solids import Block
from boxlab.draw import figures
from boxlab.draw.animation import pistons
from boxlab.draw.scene import Line, Mark, Plot, Scene
from boxlab.gear.demo_sweeps import demo_table
from boxlab.gear.scenario import DRIVERS
from boxlab.panel.sweep_desk import Desk
from boxlab.publish.site.pages import notebook_page
from boxlab.quiz.exercises.port_or_radiator import port_length
from boxlab.quiz.learner_word import Pupil

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


# Pictures: dollar signs enclose formulas for matplotlib, and some of these are none that it knows.

MONEY = [
    "$5 port, $9 radiator",
    "$\\frac{$",
    "$$",
    "a$b$c",
    "\\$",
    "$\\nonsense$ $x^$",
    "_^{}\\ %&#~",
]


def named(text):
    """A scene with `text` wherever a scene can have words."""
    x = np.array([20.0, 100.0])
    line = Line(x, x, "sum", text)
    plot = Plot(
        text, text, text, (20, 100), (20, 100), (line, replace(line, role="cone")),
        (Mark(50, text), Mark(60, text, "quiet", "y")),
    )  # fmt: skip
    return Scene(text, (plot, replace(plot, title="other")), (text,), (), text, text, text)


def letters(figure):
    return [each for each in figure.findobj(Text) if "$" in each.get_text()]


@pytest.mark.parametrize("text", MONEY)
def test_names_in_pictures_are_no_formulas(text, tmp_path):
    scene = named(text)
    figure = figures.footed(scene, text)
    assert not any(each.get_parse_math() for each in letters(figure))
    assert figures.png(figure)[1:4] == b"PNG"
    assert figures.save(scene, tmp_path / "a.svg").stat().st_size > 1000


@pytest.mark.parametrize("text", MONEY)
def test_names_on_axes_of_somebody_else(text):
    figure = Figure()
    figures.draw_plot(figure.subplots(), named(text).plots[0])
    FigureCanvasAgg(figure).draw()
    assert not any(each.get_parse_math() for each in letters(figure))


@pytest.mark.parametrize("text", MONEY)
def test_names_in_drawings_and_films(text):
    arch = Block.at(width=0.1, depth=0.1, height=0.1, name=text)
    part = Mounting(text, outer=0.265, cutout=0.232, depth=0.085)
    figure = Figure()
    ax = draw_box(
        figure.subplots(), Carcass(Gap(0.8, 0.42, 0.35, 0.20, (arch,))), "side", [(part, None)]
    )
    FigureCanvasAgg(figure).draw()
    assert text in [each.get_text() for each in ax.texts]
    movie = pistons(
        DRIVERS["ten-inch"], PortedBox.tuned(litres(20), 40, cm2(80), max_length=3), [40], [text]
    )
    assert movie._repr_mimebundle_()


def test_what_makes_these_tests_fail():
    figure = Figure()
    figure.text(0, 0, MONEY[5])
    with pytest.raises(ValueError, match="nonsense"):
        FigureCanvasAgg(figure).draw()
