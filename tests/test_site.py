"""The site: links and anchors hold, nothing comes from outside, and faults are named."""

import os
import re
import shutil
import signal
import subprocess
import sys
from dataclasses import replace
from functools import cache
from io import BytesIO
from pathlib import Path, PurePosixPath
from urllib.parse import unquote, urlsplit

import html5lib
import nbformat
import pytest
from made_up import MADE_UP
from nbformat.v4 import (
    new_code_cell,
    new_markdown_cell,
    new_notebook,
    new_output,
)
from PIL import Image

from boxlab.__main__ import main
from boxlab.draw.scene import Explainer
from boxlab.draw.stage import table
from boxlab.explainers import all_explainers
from boxlab.publish import lesson_rules, question_index
from boxlab.publish.notebooks import LESSONS, ROOT, find
from boxlab.publish.site import build, maths, pages
from boxlab.publish.site.listing import Site
from boxlab.publish.site.spoken import spoken

START = """# Start here

Time needed: 10 minutes. See [one](01-one.ipynb), [its answer](01-one.ipynb#Will-it-fit?), the
[README](../README.md#how-to-run), the [pictures](../figures/README.md),
the [plan](workshop/plan.md)
and [the code](../boxlab/thing.py). Elsewhere: [a paper](https://example.org/paper).
"""
ONE = r"""# One or two?

Time needed: 40 minutes. [Down](#Will-it-fit?)

<a id="Will-it-fit"></a>

## Will it fit?

$$f_b = \frac{c}{2\pi}\sqrt{\frac{S}{V L}}$$

with $f_b$ in Hz, a table

| a | b |
|---|---|
| 1 | 2 |

and <code>x < y</code>.

## Will it fit?
"""


def moving(frames=3):
    """A small GIF that moves."""
    pictures = [Image.new("RGB", (20, 10), (60 * i, 0, 0)) for i in range(frames)]
    data = BytesIO()
    pictures[0].save(data, "GIF", save_all=True, append_images=pictures[1:], duration=40, loop=0)
    return data.getvalue()


def still():
    data = BytesIO()
    Image.new("RGB", (820, 400)).save(data, "PNG")
    return data.getvalue()


def shown(kind, data, alt="A red field.", text="Figure: in words", **size):
    """A display of a picture as a notebook keeps it."""
    import base64

    coded = base64.b64encode(data).decode()
    return new_output(
        "display_data", {kind: coded, "text/plain": text}, metadata={kind: {"alt": alt, **size}}
    )


def code(source, *outputs):
    cell = new_code_cell(source)
    cell.outputs = list(outputs)
    return cell


def write(path, *cells):
    path.parent.mkdir(parents=True, exist_ok=True)
    notebook = new_notebook(cells=list(cells))
    for cell in notebook.cells:
        cell.pop("id", None)
    notebook.nbformat_minor = 4
    nbformat.write(notebook, path)


def write_repository(root):
    """A small repository: two lessons, a plan, a README, some code."""
    write(root / "lessons/00-start-here.ipynb", new_markdown_cell(START))
    write(
        root / "lessons/01-one.ipynb",
        new_markdown_cell(ONE),
        code("x = '<b>'", new_output("stream", name="stdout", text="short <i>\n")),
        code("long()", new_output("stream", name="stdout", text="row\n" * 50)),
        code("panel", shown("image/png", still(), width=820, height=400)),
        code("film", shown("image/gif", moving(), alt="Two pistons, one late.")),
        code("ask()", new_output("execute_result", {
            "text/html": "<p>Which?</p><details><summary>Hint</summary><p>One.</p></details>",
            "text/plain": "Which?"})),
    )  # fmt: skip
    (root / "lessons/workshop").mkdir()
    (root / "lessons/workshop/plan.md").write_text(
        "# The plan\n\n## First, this\n\n[up](../01-one.ipynb) [here](#first-this)\n"
    )
    (root / "README.md").write_text(
        "# A try\n\n## How to run\n\n[lessons](lessons/) [pictures](figures/) [law](LICENSE)\n"
    )
    (root / "LICENSE").write_text("Free.\n")
    (root / "figures").mkdir()
    (root / "figures/README.md").write_text("# Pictures\n")
    (root / "boxlab").mkdir()
    (root / "boxlab/thing.py").write_text("1\n")
    return root


ITEM = Explainer(
    "made_up", "Which way is up?", MADE_UP.controls, MADE_UP.scene,
    lesson="01-one.ipynb", anchor="Will-it-fit", answer="That way.",
)  # fmt: skip
STRAY = Explainer(
    "stray", "Where does it belong?", MADE_UP.controls, MADE_UP.scene, lesson="09-none.ipynb"
)


@pytest.fixture(scope="module", autouse=True)
def coarse():
    """What moves on a page has few states: full tables are tried in `test_stage.py`."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(table, "PATIENCE", 0.0)
        yield


@pytest.fixture
def repository(tmp_path):
    """A repository that a test may change."""
    return write_repository(tmp_path / "repository")


@pytest.fixture(scope="module")
def built(tmp_path_factory):
    """The site of an unchanged one, which has no faults."""
    top = tmp_path_factory.mktemp("site")
    assert build(top / "site", write_repository(top / "repository"), (ITEM, STRAY)) == []
    return top / "site"


page_of = cache(pages.notebook_page)


def parsed(path):
    """The page as a tree; a page that is not well-formed HTML fails."""
    parser = html5lib.HTMLParser(namespaceHTMLElements=False)
    tree = parser.parse(path.read_text(encoding="utf-8"))
    assert parser.errors == [], path.name
    return tree


def every_page(folder):
    return {path.resolve(): parsed(path) for path in sorted(folder.rglob("*.html"))}


def ids(tree):
    return [element.get("id") for element in tree.iter() if element.get("id")]


def targets(tree):
    for element in tree.iter():
        for name in ("href", "src", "srcset"):
            if element.get(name) is not None:
                yield element.tag, element.get(name)


def test_every_page_is_there_and_is_well_formed(built):
    names = {path.relative_to(built.resolve()).as_posix() for path in every_page(built)}
    assert names == {
        "index.html", "README.html", "figures/index.html", "lessons/00-start-here.html",
        "lessons/01-one.html", "lessons/workshop/plan.html", "q/made_up.html", "q/stray.html",
    }  # fmt: skip


def test_every_link_and_anchor_leads_somewhere(built):
    trees = every_page(built)
    count = 0
    for path, tree in trees.items():
        for _, target in targets(tree):
            if urlsplit(target).scheme:
                continue
            name, _, anchor = target.partition("#")
            file = (path.parent / unquote(name)).resolve() if name else path
            assert file.is_file(), f"{path.name}: {target}"
            assert not anchor or unquote(anchor) in ids(trees[file]), f"{path.name}: {target}"
            count += 1
    assert count > 60


def test_nothing_is_loaded_from_outside(built):
    for path, tree in every_page(built).items():
        for tag, target in targets(tree):
            assert tag == "a" or urlsplit(target).scheme in ("", "data"), f"{path.name}: {target}"
        text = path.read_text(encoding="utf-8")
        assert not re.search(r"@import|url\(|fetch\(|XMLHttp", text)
        assert "default-src 'none'" in text
        policy = re.search(r"script-src ([^;\"]+)", text)[1]
        assert policy.split() == ["'self'", "file:"]  # and so no script inside a page
        assert not re.search(r"<script(?![^>]* src=)| on[a-z]+=", text)


def test_ids_are_unique(built):
    for path, tree in every_page(built).items():
        names = ids(tree)
        assert len(names) == len(set(names)), path.name


def test_anchors_are_those_of_the_source(built):
    lesson = ids(parsed(built / "lessons/01-one.html"))
    assert {"One-or-two?", "Will-it-fit?", "Will-it-fit?-2"} <= set(lesson)
    assert "first-this" in ids(parsed(built / "lessons/workshop/plan.html"))


def test_links_to_copy_end_in_no_punctuation_and_lead_to_their_heading(built):
    trees = every_page(built)
    for path, tree in trees.items():
        own = [a.get("href") for a in tree.iter("a") if a.get("class") == "here"]
        listed = [a.get("href") for part in tree.iter("nav") for a in part.iter("a")]
        for target in own + [each for each in listed if "#" in each]:
            assert re.search(r"[\w/-]$", target), f"{path.name}: {target}"
    front = [a.get("href") for a in trees[(built / "index.html").resolve()].iter("a")]
    assert [target for target in front if target.endswith("?")] == []
    lesson = trees[(built / "lessons/01-one.html").resolve()]
    links = [a.get("href") for a in lesson.iter("a") if a.get("class") == "here"]
    assert links == ["#One-or-two", "#Will-it-fit", "#Will-it-fit?-2"]


def test_no_question_of_the_lessons_is_asked_twice_on_the_front_page():
    read = {
        PurePosixPath("lessons") / path.name: page_of(path)
        for path in find() if path.parent == LESSONS
    }  # fmt: skip
    site = Site(read, all_explainers())
    groups = site.groups(PurePosixPath("index.html"))
    asked = [each.link for group in groups for each in group.questions]
    aims = {unquote(link).rstrip("?") for link in asked}
    assert len(asked) > 50 and len(aims) == len(asked)


def test_a_site_that_is_killed_leaves_nothing_elsewhere(repository, tmp_path):
    (tmp_path / "tmp").mkdir()
    code = """
import os, signal, sys
from boxlab.publish.site import build
def say(words):
    if words.startswith("made lessons/01"):
        os.kill(os.getpid(), signal.SIGKILL)
build(sys.argv[1] + "/site", sys.argv[1] + "/repository", (), say)
"""
    done = subprocess.run(
        [sys.executable, "-c", code, str(tmp_path)],
        env=os.environ | {"TMPDIR": str(tmp_path / "tmp")},
    )
    assert done.returncode == -signal.SIGKILL
    assert list((tmp_path / "tmp").iterdir()) == []
    assert sorted(path.name for path in tmp_path.iterdir()) == ["repository", "tmp"]


@pytest.mark.parametrize("path", find(), ids=lambda path: path.stem)
def test_lessons_become_pages_without_faults(path):
    page = page_of(path)
    assert page.faults == ()
    assert lesson_rules.anchors(path) <= page.anchors
    assert "$" not in re.sub(r"<(pre|svg|code)\b.*?</\1>", "", page.body, flags=re.S)
    tree = html5lib.HTMLParser(strict=True, namespaceHTMLElements=False).parseFragment(page.body)
    images = list(tree.iter("img"))
    assert all(image.get("alt") for image in images)
    assert page.minutes or path.parent != LESSONS


def test_code_is_folded_and_pictures_have_words(built):
    text = (built / "lessons/01-one.html").read_text(encoding="utf-8")
    assert text.count('<details class="code"><summary>Code</summary>') == 5
    assert "<details open" not in text
    assert 'alt="Two pistons, one late."' in text
    assert text.count("<summary>In words</summary>") == 2
    assert "short &lt;i&gt;" in text
    assert "Output, 50 lines" in text
    assert "<summary>Hint</summary>" in text


def test_a_picture_that_moves_still_moves_and_can_be_still(built):
    folder = built / "lessons/01-one.files"
    with Image.open(folder / "02.gif") as film, Image.open(folder / "02-still.png") as calm:
        assert film.n_frames == 3
        assert not getattr(calm, "is_animated", False)
        assert calm.convert("RGB").getpixel((0, 0)) == (0, 0, 0)  # the first frame
    assert "(prefers-reduced-motion: reduce)" in (built / "lessons/01-one.html").read_text()


def entries(part):
    """First line of each entry -> its link and all its words."""
    found = [item for item in part.iter("li") if item.get("class") == "entry"]
    return {
        item.find("a").text: (item.find("a").get("href"), "".join(item.itertext()))
        for item in found
    }


def test_the_front_page_says_what_people_ask(built):
    page = parsed(built / "index.html")
    (asked,) = (part for part in page.iter("div") if part.get("id") == "asked")
    links = {words: link for words, (link, _) in entries(asked).items()}
    assert links == {
        "Which way is up?": "q/made_up.html",
        "Where does it belong?": "q/stray.html",
        "Will it fit?": "lessons/01-one.html#Will-it-fit?-2",  # the first is answered by an item
    }
    assert [part.find("a").text for part in asked.iter("h3")] == ["One or two?", "Pictures"]
    words = entries(asked)["Which way is up?"][1]
    assert "That way." in words
    assert "Here: Tuning 45.0 Hz in 14 L (0.49 ft³)." in words  # the answer has no number


def test_the_front_page_knows_the_words_that_people_ask_in(repository, tmp_path):
    """Was: "polyfill" found a question on the command line, and nothing on the site."""
    items = (replace(ITEM, name="brace_and_fill"), STRAY)
    assert build(tmp_path / "site", repository, items) == []
    page = parsed(tmp_path / "site/index.html")
    also = {
        item.find("a").text: item.get("data-also")
        for item in page.iter("li")
        if item.get("class") == "entry"
    }
    assert {"polyfill", "stuffing"} <= set(also["Which way is up?"].split())
    assert also["Where does it belong?"] is None and also["Will it fit?"] is None
    every = set(" ".join(question_index.also(item) for item in all_explainers()).split())
    assert {"polyfill", "stuffing", "rise", "bigger", "washer"} <= every


def test_readers_are_led_to_how_the_lessons_are_run(repository, tmp_path):
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    assert "\n## Open the lessons\n" in text
    assert "python3 boxlab/start.py lessons" in text.split("## Open the lessons")[1]
    (repository / "README.md").write_text("# A try\n\n## How to run\n\n## Open the lessons\n")
    build(tmp_path / "site", repository, ())
    for name, link in (("index", "README.html"), ("lessons/01-one", "../README.html")):
        page = (tmp_path / f"site/{name}.html").read_text(encoding="utf-8")
        assert f'<a href="{link}#open-the-lessons">run the lessons' in page


def test_each_lesson_shows_its_picture_on_the_front_page(built):
    images = list(parsed(built / "index.html").iter("img"))
    assert [image.get("src") for image in images] == ["index.files/made_up.png"]
    with Image.open(built / "index.files/made_up.png") as small:
        assert small.width == 560


def test_the_front_page_lists_lessons_and_what_lies_beside_them(built):
    listed = {words.strip(): row for words, row in entries(parsed(built / "index.html")).items()}
    assert listed["One or two?"][0] == "lessons/01-one.html"
    assert listed["The plan"][0] == "lessons/workshop/plan.html"
    text = (built / "index.html").read_text(encoding="utf-8")
    assert "40 minutes" in text
    assert ">First, this</a>" in text


def test_pictures_come_with_texts_to_paste(built):
    text = (built / "figures/index.html").read_text(encoding="utf-8")
    for name in ("made_up.svg", "made_up.png"):
        assert (built / "figures" / name).is_file()
        assert f'href="{name}" download' in text
    assert f"![{MADE_UP().alt}](made_up.png)" in text
    assert re.search(r"../lessons/01-one.html#Will-it-fit\b[^?]", text)


def contents(folder):
    return {p.relative_to(folder): p.read_bytes() for p in folder.rglob("*") if p.is_file()}


def test_building_again_gives_the_same_and_drops_what_is_gone(built, repository, tmp_path):
    site = tmp_path / "site"
    shutil.copytree(built, site)
    (site / "lessons/mine.html").write_text("mine")
    build(site, repository, (ITEM, STRAY))
    assert contents(site) == contents(built) | {Path("lessons/mine.html"): b"mine"}
    build(site, repository, (ITEM,))
    assert not (site / f"figures/{STRAY.name}.svg").exists()


def test_a_site_inside_the_lessons_does_not_read_itself(repository):
    pages = repository / "lessons/pages"
    build(pages, repository, (ITEM,))
    first = contents(pages)
    build(pages, repository, (ITEM,))
    assert contents(pages) == first


def test_a_folder_with_other_things_is_left_alone(repository, tmp_path):
    (tmp_path / "mine").mkdir()
    (tmp_path / "mine/index.html").write_text("<p>mine</p>")
    with pytest.raises(ValueError, match="holds other things"):
        build(tmp_path / "mine", repository, (ITEM,))
    assert (tmp_path / "mine/index.html").read_text() == "<p>mine</p>"
    assert [path.name for path in tmp_path.iterdir() if path.name.startswith(".")] == []


@pytest.mark.parametrize(
    ("words", "fault"),
    [
        ("[x](nowhere.ipynb)", "nowhere.ipynb leads nowhere"),
        ("[x](01-one.ipynb#Nothing)", "#Nothing: there is no such heading"),
        ("[x](../../outside.md)", "outside.md leads nowhere"),
        ("[x](../boxlab)", "leads to no page"),
        (r"$\nosuchthing$", r"\nosuchthing cannot be drawn"),
    ],
)
def test_faults_are_named(words, fault, repository, tmp_path):
    (tmp_path / "outside.md").write_text("x")
    write(repository / "lessons/02-bad.ipynb", new_markdown_cell(f"# Bad?\n\n{words}"))
    (found,) = build(tmp_path / "site", repository, ())
    assert found.startswith("lessons/02-bad.ipynb: ")
    assert fault in found


def test_a_picture_without_alt_text_is_a_fault(repository, tmp_path):
    bad = code("panel", shown("image/png", still(), alt=" "))
    write(repository / "lessons/02-bad.ipynb", bad)
    assert build(tmp_path / "site", repository, ()) == [
        "lessons/02-bad.ipynb: a picture has no alt text"
    ]


def test_no_lessons_is_said_plainly(tmp_path):
    with pytest.raises(ValueError, match="there are no lessons"):
        build(tmp_path / "site", tmp_path, ())


def test_the_command_says_what_is_wrong(repository, tmp_path, monkeypatch, capsys):
    few = (repository, (ITEM,), print, "", 0.1)
    monkeypatch.setattr("boxlab.publish.site.build.__defaults__", few)
    target = tmp_path / "site"
    assert main(["site", "--to", str(target)]) == 0
    assert "open index.html" in capsys.readouterr().out
    shutil.rmtree(repository / "lessons/workshop")
    assert main(["site", "--to", str(target)]) == 1
    assert "plan.md leads nowhere" in capsys.readouterr().out
    assert main(["site", "--to", str(repository)]) == 2


@pytest.mark.parametrize(
    ("tex", "words"),
    [
        (r"V_b = 14", "V sub b equals 14"),
        (r"\frac{1}{2\pi\sqrt{m\,C_{ms}}}",
         "fraction 1 over 2 pi square root of m C sub ms end root end fraction"),
        (r"x^{-2} \leq \mathrm{Hz}", "x to the power minus 2 is at most Hz"),
        (r"\sqrt[3]{V}", "root 3 of V end root"),
        (r"\left(a+b\right)^2", "( a plus b ) squared"),
        (r"\bar{x} \unheard y", "x bar unheard y"),
        (r"f_{", "f sub"),
    ],
)  # fmt: skip
def test_formulas_in_words(tex, words):
    assert spoken(tex).strip() == words


def test_a_formula_is_drawn_in_the_colour_and_size_of_the_text():
    small, large = maths.drawn("f_b"), maths.drawn(r"\frac{f_b}{2}", display=True)
    assert 'aria-label="f sub b"' in small
    assert "fill=" not in small + large
    heights = [float(re.search(r"height:([\d.]+)em", text)[1]) for text in (small, large)]
    assert 0.6 < heights[0] < 1.3 < heights[1] < 3
    depth = float(re.search(r"vertical-align:(-[\d.]+)em", small)[1])
    assert -0.4 < depth < -0.1  # the index hangs below the line


def light_and_dark():
    """The colours of the style, by name, for both themes."""
    style = (
        (ROOT / "boxlab/publish/site/site.css").read_text(encoding="utf-8").split("@media print")[0]
    )
    parts = re.findall(r":root \{(.*?)\}", style, re.S)
    assert len(parts) == 2
    return [dict(re.findall(r"--(\w+): (#\w{6})", part)) for part in parts]


def contrast(one, other):
    """The ratio of WCAG 2.2, success criterion 1.4.3; the definition is from memory."""

    def luminance(colour):
        parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
        linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts]
        return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]

    low, high = sorted((luminance(one), luminance(other)))
    return (high + 0.05) / (low + 0.05)


@pytest.mark.parametrize("theme", light_and_dark(), ids=["light", "dark"])
def test_text_stands_out_from_the_paper(theme):
    for ground in ("paper", "wash"):
        for name in ("ink", "soft", "link", "string", "number", "focus"):
            assert contrast(theme[name], theme[ground]) >= 4.5, (name, ground)


def test_an_installed_boxlab_brings_the_templates():
    import tomllib

    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    patterns = project["tool"]["setuptools"]["package-data"]["boxlab.publish.site"]
    folder = ROOT / "boxlab/publish/site"
    brought = {path for pattern in patterns for path in folder.glob(pattern)}
    files = {
        path for path in folder.rglob("*") if path.is_file() and path.suffix not in (".py", ".pyc")
    }
    assert files == brought


@pytest.mark.parametrize("path", find(()), ids=lambda path: path.stem)
def test_a_page_asks_for_no_key_that_does_nothing_there(path):
    for cell in lesson_rules.read(path).cells:
        if cell.cell_type == "markdown":
            assert "Shift-Enter" not in pages.no_keys(cell.source)
