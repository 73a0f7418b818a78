"""The rules that every lesson keeps, each a function that says what is wrong, and where.

`python -m boxlab lessons --check` prints what they find and tests/test_lessons.py fails on it.
Cells are numbered from 1, in the order in which a reader meets them.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from statistics import median
from urllib.parse import unquote

from boxlab.explainers import explainer
from boxlab.publish.notebooks import ROOT, WIDGET_VIEW, read

# The headings of a lesson, in this order. They are link targets, so they never change.
ANATOMY = (
    "A claim you will hear",
    "Predict",
    "See",
    "Why",
    "Numbers",
    "Try it",
    "In the shop",
    "Key points",
    "Sources",
)
START = "00-start-here.ipynb"
EXEMPT_TAGS = {"nbval-skip", "nbval-ignore-output", "raises-exception", "nbval-raises-exception"}
EXEMPT_MARKER = re.compile(r"^\s*#\s*NBVAL_(SKIP|IGNORE_OUTPUT|RAISES_EXCEPTION)(.*)$", re.M)
TRACES = {
    "an absolute path": re.compile(r"(?<![\w.])(/(home|root|tmp|Users|work|usr)/\w|[A-Z]:\\\w)"),
    "a traceback": re.compile(r"Traceback \(most recent call last\)"),
    "a memory address": re.compile(r"\b0x[0-9a-f]{7,}\b"),
}


def code_cells(notebook):
    """(number, cell) of each code cell that has something in it."""
    for number, cell in enumerate(notebook.cells, 1):
        if cell.cell_type == "code" and cell.source.strip():
            yield number, cell


def words(notebook):
    """(number, text) of each markdown cell, without its code blocks."""
    for number, cell in enumerate(notebook.cells, 1):
        if cell.cell_type == "markdown":
            yield number, re.sub(r"^(```|~~~).*?^\1", "", cell.source, flags=re.M | re.S)


def headings(notebook, level=None) -> list[str]:
    """The headings of `notebook` as plain text; all of them, or those of one level."""
    marks = r"#{1,6}" if level is None else "#" * level
    pattern = re.compile(rf"^{marks}[ \t]+(.+?)[ \t#]*$", re.M)
    return [
        re.sub(r"[*`]", "", text) for _, cell in words(notebook) for text in pattern.findall(cell)
    ]


def saved(notebook, path) -> Iterator[str]:
    """Outputs are kept, from one run from top to bottom."""
    cells = list(code_cells(notebook))
    counts = [cell.execution_count for _, cell in cells]
    if counts != list(range(1, len(cells) + 1)):
        yield f"execution counts are {counts}, not 1 to {len(cells)}"
    if cells and not any(cell.outputs for _, cell in cells):
        yield "no cell has a saved output"


def clean(notebook, path) -> Iterator[str]:
    """Nothing is kept that a page cannot show or that changes from machine to machine."""
    if "widgets" in notebook.metadata:
        yield "the notebook's metadata holds widget state"
    if "version" in notebook.metadata.get("language_info", {}):
        yield "the notebook's metadata holds the version of the Python it ran on"
    for number, cell in code_cells(notebook):
        for output in cell.outputs:
            if WIDGET_VIEW in output.get("data", {}):
                yield f"cell {number} keeps a widget view, dead on a page without a kernel"


def quiet(notebook, path) -> Iterator[str]:
    """No cell fails or complains."""
    for number, cell in code_cells(notebook):
        for output in cell.outputs:
            if output.output_type == "error":
                yield f"cell {number} shows an error: {output.ename}: {output.evalue}"
            if output.get("name") == "stderr":
                yield f"cell {number} writes to stderr: {output.text.strip()[:80]}"


def traceless(notebook, path) -> Iterator[str]:
    """No output gives away the machine it was made on."""
    for number, cell in code_cells(notebook):
        for output in cell.outputs:
            data = output.get("data", {})
            texts = [output.get("text", "")]
            texts += [str(value) for kind, value in data.items() if not kind.startswith("image/")]
            for what, pattern in TRACES.items():
                if any(pattern.search(text) for text in texts):
                    yield f"cell {number} shows {what}"


def compared(notebook, path) -> Iterator[str]:
    """At most one code cell in twenty escapes comparison, and each says why."""
    cells = list(code_cells(notebook))
    exempt = 0
    for number, cell in cells:
        marker = EXEMPT_MARKER.search(cell.source)
        if marker and marker.group(2).strip():
            yield f"cell {number}: text after the marker turns it off; put it on a line of its own"
        if marker or EXEMPT_TAGS & set(cell.metadata.get("tags", ())):
            exempt += 1
            if not re.search(r"^\s*# Why: \w", cell.source, re.M):
                yield f"cell {number} is not compared and does not say why ('# Why: ...')"
    if exempt > 0.05 * len(cells):
        yield f"{exempt} of {len(cells)} code cells are not compared; one in twenty is the most"


def short(notebook, path) -> Iterator[str]:
    """Little code in view: half the cells within 4 lines, nine in ten within 15, none over 30."""
    sizes = [
        sum(bool(line.strip()) for line in cell.source.splitlines())
        for _, cell in code_cells(notebook)
    ]
    if not sizes:
        return
    if median(sizes) > 4:
        yield f"the median code cell has {median(sizes):g} lines; 4 is the most"
    if sum(size > 15 for size in sizes) > 0.1 * len(sizes):
        yield "more than one code cell in ten has over 15 lines"
    if max(sizes) > 30:
        yield f"a code cell has {max(sizes)} lines; 30 is the most"


def no_plotting(notebook, path) -> Iterator[str]:
    """Lessons ask for pictures; they do not draw them."""
    for number, cell in code_cells(notebook):
        if re.search(r"matplotlib|pyplot|\bplt\.|\.plot\(", cell.source):
            yield f"cell {number} has plotting code; draw in boxlab/draw/ or boxlab/explainers/"


def anatomy(notebook, path) -> Iterator[str]:
    """A numbered lesson asks one question and has the same headings in the same order."""
    titles = headings(notebook, 1)
    if len(titles) != 1:
        yield f"a notebook has one title; this has {len(titles)}"
    if not re.match(r"(?!00)\d\d-", path.name):
        return
    if titles and not titles[0].rstrip().endswith("?"):
        yield f"the title is the lesson's question and ends with '?'; this is {titles[0]!r}"
    if minutes(notebook) is None:
        yield "the time needed is not stated before the first part ('Time needed: 40 minutes')"
    found = [text for text in headings(notebook, 2) if text in ANATOMY]
    if found != list(ANATOMY):
        yield f"the parts are {', '.join(found) or 'none'}; they should be {', '.join(ANATOMY)}"


def minutes(notebook) -> int | None:
    """The time that a lesson says it needs, in minutes."""
    for _, text in words(notebook):
        stated = re.search(r"(\d+)\s*minutes", re.split(r"^## ", text, flags=re.M)[0])
        if stated:
            return int(stated.group(1))
        if re.search(r"^## ", text, re.M):
            return None
    return None


def pictures(notebook, path) -> Iterator[str]:
    """Each picture has alt text, and a caption that everybody can see."""
    for number, cell in code_cells(notebook):
        captioned = any(len(text) > 20 for text in _visible_text(cell))
        for following in notebook.cells[number : number + 1]:
            captioned |= bool(re.match(r"[*_\s]*Figure\b", following.source))
        for output in cell.outputs:
            for kind in output.get("data", {}):
                if not kind.startswith("image/"):
                    continue
                if not str(output.metadata.get(kind, {}).get("alt", "")).strip():
                    yield f"cell {number} shows a picture without alt text"
                if not captioned:
                    yield f"cell {number} shows a picture without a caption to be seen under it"
    for number, text in words(notebook):
        if re.search(r"!\[\s*\]\(", text):
            yield f"cell {number} shows a picture without alt text"


def _visible_text(cell):
    """What a reader sees as words, as Markdown or HTML, under a code cell."""
    for output in cell.outputs:
        for kind in ("text/markdown", "text/html"):
            yield output.get("data", {}).get(kind, "")


def anchors(path) -> set[str]:
    """The names that a link into the notebook or Markdown file `path` may end in."""
    if path.suffix == ".ipynb":
        notebook = read(path)
        text = "\n".join(text for _, text in words(notebook))
        titles = {title.strip().replace(" ", "-") for title in headings(notebook)}
    else:
        text = path.read_text(encoding="utf-8")
        found = re.findall(r"^#{1,6}\s+(.+?)\s*$", text, re.M)
        titles = {re.sub(r"[^\w\- ]", "", title).lower().replace(" ", "-") for title in found}
    return titles | set(re.findall(r"""<a\s+(?:id|name)=["']([^"']+)""", text))


def broken_links(text, path) -> Iterator[str]:
    """Each local link in the Markdown `text` of the file `path` that leads nowhere."""
    for target in re.findall(r"\]\(\s*<?([^)\s>]+)>?[^)]*\)|(?:href|src)=[\"']([^\"']+)", text):
        target = unquote("".join(target))
        if re.match(r"[a-z]+:", target):
            continue
        name, _, anchor = target.partition("#")
        file = (path.parent / name).resolve() if name else path
        if not file.exists():
            yield f"a link to {target} leads nowhere"
        elif not file.is_relative_to(ROOT):
            yield f"a link to {target} leads out of the project"
        elif anchor and anchor not in anchors(file):
            yield f"a link to {target}: there is no such heading"


def links(notebook, path) -> Iterator[str]:
    """Every local link and anchor leads somewhere."""
    for number, text in words(notebook):
        yield from (f"cell {number}: {fault}" for fault in broken_links(text, path))


def listed(notebook, path) -> Iterator[str]:
    """The README and the start page both lead to the lesson."""
    name = path.relative_to(ROOT / "lessons").as_posix()
    if f"(lessons/{name}" not in (ROOT / "README.md").read_text(encoding="utf-8"):
        yield "README.md does not list it"
    start = ROOT / "lessons" / START
    if path != start and not (start.is_file() and f"({name}" in start.read_text(encoding="utf-8")):
        yield f"{START} does not list it"


_PANEL = re.compile(r'Panel\((?:with_job\()?explainer\("(\w+)"')
_STEP = re.compile(r"^(?:\*\*End of step (\d+) of (\d+)\.\*\*.*\]\(#|### Step (\d+)\b)", re.M)


def tried(notebook, path) -> Iterator[str]:
    """Right above each panel stands what to try on it, by the name of a control."""
    above = ""
    for number, cell in enumerate(notebook.cells, 1):
        found = _PANEL.search(cell.source) if cell.cell_type == "code" else None
        if found:
            labels = [control.label for control in explainer(found[1]).controls]
            if not any(f"**{label}**" in above for label in labels):
                yield f"cell {number}: nothing right above the panel says which control to move"
        above = re.sub(r"\s+", " ", cell.source) if cell.cell_type == "markdown" else ""


def stepped(notebook, path) -> Iterator[str]:
    """A lesson of more than twenty minutes comes in steps, and takes as long as they do."""
    if (minutes(notebook) or 0) <= 20 or "See" not in headings(notebook, 2):
        return
    ends = [found for _, text in words(notebook) for found in _STEP.findall(text)]
    places = [int(end or begin) for end, _, begin in ends]
    if not places:
        yield "a lesson of more than twenty minutes comes in steps: '**End of step 1 of 3.** ...'"
    elif places != list(range(1, len(places) + 1)) or {int(of) for end, of, _ in ends if of} - {
        len(places) + 1
    }:
        yield f"the steps are numbered {places} of {ends[-1][1]}"
    each = [int(n) for _, text in words(notebook) for n in re.findall(r"Next, some (\d+) m", text)]
    if each and minutes(notebook) != (asked := 5 * round((15 + sum(each)) / 5)):
        yield f"its steps, the first of 15, ask for {asked} minutes, it says {minutes(notebook)}"


RULES = (
    saved,
    clean,
    quiet,
    traceless,
    compared,
    short,
    no_plotting,
    anatomy,
    pictures,
    links,
    listed,
    tried,
    stepped,
)


def faults(path) -> list[str]:
    """Everything that breaks a rule in the lesson in the file `path`, in plain words."""
    path = Path(path).resolve()
    notebook = read(path)
    return [fault for rule in RULES for fault in rule(notebook, path)]
