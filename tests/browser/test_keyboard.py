"""Lessons without a mouse, as a screen reader has them, and in light and in dark."""

from __future__ import annotations

import re
from contextlib import ExitStack

import pytest
from conftest import PATIENCE, ROOT, opening

from boxlab.draw.scene import Choice, Slider
from boxlab.explainers import all_explainers
from boxlab.quiz.exercises.port_or_radiator import port_length

START = ROOT / "lessons" / "00-start-here.ipynb"
LESSON = ROOT / "lessons" / "01-port-or-radiator.ipynb"

# What has the focus: where it is, what it is called, and whether it can be seen to have it.
FOCUS = """async () => {
    const frame = () => new Promise(requestAnimationFrame);
    await frame();  // the page may scroll a cell into sight
    await frame();
    const e = document.activeElement, style = getComputedStyle(e);
    const labels = [...(e.labels || [])].map(label => label.textContent.trim());
    return {
        tag: e.tagName, slider: e.type === 'range', type: e.type || '',
        asked: e.type === 'radio' && !!e.closest('.boxlab-quiz'),
        ours: !!e.closest('.boxlab, .boxlab-stage, .boxlab-quiz, .jp-OutputArea details'),
        book: !!e.closest('.jp-Notebook'), value: e.getAttribute('aria-valuetext') || '',
        about: (e.closest('.boxlab-quiz, .boxlab-stage') || e).getAttribute('aria-label') || '',
        name: e.getAttribute('aria-label') || labels.join(' ') || e.textContent.trim() || e.title,
        outline: style.outlineStyle !== 'none' && parseFloat(style.outlineWidth) >= 1,
        href: e.getAttribute('href') || '',
    };
}"""

# Contrast as WCAG 2.1 works it out: the beginning of the two functions below.
CONTRAST = """() => {
    const parse = text => text.match(/[\\d.]+/g).map(Number);
    const over = (top, under) => {
        const a = top[3] === undefined ? 1 : top[3];
        return [0, 1, 2].map(i => a * top[i] + (1 - a) * under[i]);
    };
    const light = rgb => {
        const linear = v => v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4;
        const [r, g, b] = rgb.map(v => linear(v / 255));
        return 0.2126 * r + 0.7152 * g + 0.0722 * b;
    };
    const back = e => {
        if (!e) return [255, 255, 255];
        const colour = parse(getComputedStyle(e).backgroundColor);
        return colour[3] === 0 ? back(e.parentElement) : over(colour, back(e.parentElement));
    };
    const contrast = (ink, ground) => {
        const [a, b] = [light(over(ink, ground)), light(ground)];
        return (Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05);
    };
"""

# Text of ours with too little contrast to what is behind it: 1.4.3, 4.5 to 1.
FAINT = (
    CONTRAST
    + """
    const faint = [];
    let count = 0;
    const ours = '.boxlab, .boxlab-stage, .boxlab-quiz, details:not(.boxlab-stage *)';
    for (const root of document.querySelectorAll(`.jp-OutputArea :is(${ours})`)) {
        const walk = document.createTreeWalker(root, NodeFilter.SHOW_TEXT);
        while (walk.nextNode()) {
            const e = walk.currentNode.parentElement, box = e.getBoundingClientRect();
            const words = walk.currentNode.textContent.trim();
            if (!words || e.closest('style, .boxlab-hidden, .unseen, svg')) continue;
            if (!box.width || !box.height || e.closest('[disabled]')) continue;
            let seen = 1;
            for (let up = e; up; up = up.parentElement) seen *= +getComputedStyle(up).opacity;
            const ink = [...parse(getComputedStyle(e).color).slice(0, 3), seen];
            const ratio = contrast(ink, back(e));
            count += 1;
            if (ratio < 4.5) faint.push(`${ratio.toFixed(2)} ${words}`);
        }
    }
    return [count, faint];
}"""
)

# Contrast of the edges that show where a control is and how it stands: 1.4.11, 3 to 1.
EDGES = (
    CONTRAST
    + """
    const edges = [];
    const look = (selector, edge, ground) => {
        for (const e of document.querySelectorAll(`:is(.boxlab-stage, .boxlab-quiz) ${selector}`)) {
            if (!e.getBoundingClientRect().width) continue;
            const ink = parse(edge(getComputedStyle(e)).match(/rgba?\\([^)]*\\)/)[0]);
            edges.push([selector, contrast(ink, back(ground(e)))]);
        }
    };
    look('input[type=text]', style => style.borderTopColor, e => e.parentElement);
    look('.buttons button', style => style.borderTopColor, e => e.parentElement);
    look('.options span', style => style.borderTopColor, e => e.closest('.hand'));
    return edges;
}"""
)


class Keys:
    """A lesson open in JupyterLab, and hands that only have a keyboard."""

    def __init__(self, lesson):
        self.lesson, self.page, self.press = lesson, lesson.page, lesson.page.keyboard.press

    def run_all(self) -> None:
        """Shift-Enter from the first cell to the last, each when the one before is done."""
        book = "jupyterapp.shell.currentWidget.content.widgets"
        for index in range(self.page.evaluate(f"{book}.length")):
            self.press("Shift+Enter")
            self.page.wait_for_function(
                f"i => {book}[i].model.type !== 'code' || {book}[i].model.executionCount !== null",
                arg=index,
                timeout=PATIENCE,
            )
        self.page.locator(".boxlab-stage svg .axis").first.wait_for(timeout=PATIENCE)

    def to_top(self) -> None:
        self.press("Escape")
        for _ in range(self.page.evaluate("jupyterapp.shell.currentWidget.content.widgets.length")):
            self.press("ArrowUp")

    def focus(self) -> dict:
        return self.page.evaluate(FOCUS)

    def tab_to(self, wanted, stops) -> dict:
        """Tab until `wanted(focus)`; every stop on the way goes into `stops`."""
        for _ in range(80):
            self.press("Tab")
            stops.append(self.focus())
            if wanted(stops[-1]):
                return stops[-1]
        raise AssertionError(f"never reached; came by {[stop['name'] for stop in stops]}")

    def until(self, ready, arg=None) -> None:
        """Wait until this says yes in the page."""
        self.page.wait_for_function(ready, arg=arg, timeout=PATIENCE)

    def speaks(self, value) -> None:
        """Wait until what has the focus has this value for a screen reader."""
        self.until("text => document.activeElement.getAttribute('aria-valuetext') === text", value)


@pytest.fixture(scope="module")
def pages(profile, server):
    """`pages(path)`: a lesson run by keyboard from top to bottom, opened once for this file."""
    made = {}
    with ExitStack() as open_ones:

        def keys(path):
            if path not in made:
                lab = open_ones.enter_context(opening(profile, server))
                made[path] = Keys(lab(path))
                made[path].run_all()
            made[path].page.bring_to_front()
            return made[path]

        yield keys


def named(words):
    return lambda focus: words in focus["name"]


def test_a_whole_lesson_by_keyboard(pages):
    keys, stops = pages(START), []
    page = keys.page
    keys.to_top()

    keys.tab_to(lambda focus: focus["asked"], stops)
    keys.press("Space")
    keys.tab_to(named("Commit my prediction"), stops)
    keys.press("Enter")
    page.get_by_text(re.compile(r"^Your prediction:")).wait_for(timeout=PATIENCE)

    before = page.locator(".message").inner_text()
    keys.tab_to(lambda focus: focus["slider"], stops)
    for _ in range(3):
        keys.press("ArrowRight")
    page.wait_for_function(
        "before => document.querySelector('.message').innerText !== before",
        arg=before,
        timeout=PATIENCE,
    )
    keys.tab_to(lambda focus: focus["type"] == "text", stops)
    assert stops[-1]["name"]
    keys.tab_to(named("hold"), stops)
    keys.press("Space")
    page.get_by_role("button", name="release").wait_for(timeout=PATIENCE)
    keys.tab_to(lambda focus: focus["name"] == "share", stops)
    keys.press("Enter")
    page.get_by_label("Paragraph in plain text").wait_for(timeout=PATIENCE)
    keys.tab_to(lambda focus: focus["tag"] == "TEXTAREA", stops)
    keys.tab_to(named("Save the picture with its caption"), stops)
    keys.tab_to(lambda focus: focus["name"] == "settings line", stops)
    page.keyboard.type("nonsense")
    keys.press("Enter")
    page.get_by_text("That line was not used.").wait_for(timeout=PATIENCE)

    keys.tab_to(named("Every control at its ends"), stops)
    keys.press("Enter")
    assert page.locator("details[open] th", has_text="the panel says").is_visible()
    keys.tab_to(named("Any word"), stops)
    page.keyboard.type("walnut")
    keys.press("Enter")
    page.get_by_text("now use the numbers for “walnut”").wait_for(timeout=PATIENCE)
    keys.tab_to(lambda focus: "README" in focus["href"], stops)  # and out at the other end
    assert keys.lesson.errors() == []

    ours = [stop for stop in stops if stop["ours"]]
    assert len(ours) > 15
    assert [s for s in ours if not s["name"]] == []
    assert [s for s in ours if not s["outline"]] == []


def test_a_full_lesson_by_keyboard(pages):
    keys, stops = pages(LESSON), []
    page, press, tab_to = keys.page, keys.press, keys.tab_to
    keys.to_top()

    tab_to(named("In a hurry?"), stops)
    press("Enter")
    page.get_by_role("link", name="Will the port fit?").wait_for(timeout=PATIENCE)

    predict(keys, stops, 1)
    predict(keys, stops, 2)
    the_first_panel(keys, stops)
    asked = LESSON.read_text(encoding="utf-8").count("quiz.predict(")
    for count in range(3, asked + 1):
        predict(keys, stops, count)
    an_exercise(keys, stops)

    tab_to(named("For instructors"), stops)
    press("Enter")
    assert page.locator("details[open] th", has_text="What to do").is_visible()
    tab_to(lambda focus: not focus["book"], stops)  # out at the far end
    press("Shift+Tab")
    assert keys.focus()["book"]  # and back in
    assert keys.lesson.errors() == []

    groups = [stop for stop in stops if stop["asked"]]
    assert len(groups) == asked  # one stop for each group
    assert [stop for stop in stops if stop["ours"] and not stop["name"]] == []
    assert [stop for stop in stops if stop["book"] and not stop["outline"]] == []


def predict(keys, stops, count):
    """Choose the second option of the next prediction and commit it, as number `count`."""
    keys.tab_to(lambda focus: focus["asked"], stops)
    keys.press("ArrowDown")
    keys.tab_to(lambda focus: True, stops)
    assert stops[-1]["name"] == "Commit my prediction"
    keys.press("Enter")
    keys.until(
        """count => [...document.querySelectorAll('.boxlab-quiz')].filter(
            box => box.textContent.includes('Your prediction: B.')).length === count""",
        count,
    )


def the_first_panel(keys, stops):
    page, press = keys.page, keys.press
    readout = "document.querySelector('.boxlab-stage .told').innerText"
    before = page.evaluate(readout)
    keys.tab_to(lambda focus: focus["slider"] and focus["name"] == "Net volume", stops)
    keys.speaks("14 L")
    press("ArrowUp")
    press("ArrowRight")
    keys.speaks("15 L")
    keys.until(f"before => {readout} !== before", before)
    before = page.evaluate(readout)
    press("Shift+Tab")
    page.keyboard.type("20")
    press("Enter")
    keys.until(f"before => {readout} !== before", before)
    keys.tab_to(lambda focus: focus["slider"], stops)
    keys.speaks("20 L")

    keys.tab_to(named("more controls"), stops)
    press("Space")
    keys.tab_to(lambda focus: focus["slider"] and "compliance" in focus["name"], stops)
    press("Home")
    keys.speaks("0.2 mm/N")
    keys.tab_to(lambda focus: focus["name"] == "inch", stops)
    press("Space")
    page.get_by_role("button", name="metric", exact=True).first.wait_for(timeout=PATIENCE)
    keys.tab_to(lambda focus: focus["name"] == "numbers", stops)
    press("Enter")
    page.locator("td", has_text="ft³").first.wait_for(timeout=PATIENCE)
    keys.until(f"() => !/[0-9] mm/.test({readout})")


def an_exercise(keys, stops):
    """Answer the exercise with one blank wrongly, take all hints, go back and answer it right."""
    page, press = keys.page, keys.press
    right = port_length.blanks[0].right(port_length.numbers(place=port_length.place()))
    name = f"Exercise: {port_length.title}"
    keys.tab_to(lambda focus: focus["type"] == "text" and focus["about"] == name, stops)
    page.keyboard.type("12345")
    press("Enter")
    page.get_by_text("You typed “12345”").wait_for(timeout=PATIENCE)
    keys.tab_to(named("Hint 1 of 3"), stops)
    for count in (1, 2, 3):
        press("Enter")
        page.get_by_text(f"Hint {count} of 3.").wait_for(timeout=PATIENCE)
    press("Shift+Tab")
    press("Shift+Tab")
    assert keys.focus()["type"] == "text"
    page.keyboard.type(right)
    press("Enter")
    page.get_by_text(f"You typed “{right}”").wait_for(timeout=PATIENCE)
    page.get_by_role("alert").get_by_text("✓ Right.").wait_for(timeout=PATIENCE)


# What a screen reader is told.
ROLES = {"slider", "radio", "radiogroup", "button", "textbox", "combobox", "image"}


def told(page) -> list[tuple[str, str]]:
    """(role, name) of every control of ours in Chromium's accessibility tree."""
    tools = page.context.new_cdp_session(page)
    root = tools.send("DOM.getDocument")["root"]["nodeId"]
    ours = {"nodeId": root, "selector": ".boxlab-stage, .boxlab-quiz"}
    found = []
    for box in tools.send("DOM.querySelectorAll", ours)["nodeIds"]:
        tools.send("DOM.scrollIntoViewIfNeeded", {"nodeId": box})  # far away it is not laid out
        page.wait_for_timeout(60)
        nodes = tools.send("Accessibility.queryAXTree", {"nodeId": box})["nodes"]
        shown = [node for node in nodes if not node["ignored"]]
        found += [(node["role"]["value"], node["name"]["value"].strip()) for node in shown]
    return [(role, name) for role, name in found if role in ROLES]


def test_every_control_has_a_name_and_a_slider_its_value(pages):
    lesson = pages(LESSON).lesson
    page = lesson.page
    lesson.panel(4)
    page.evaluate(  # as it is at first, whatever was done to it before
        """() => [...document.querySelectorAll('.boxlab-stage button')]
            .filter(each => ['reset', 'metric'].includes(each.textContent))
            .forEach(each => each.click())"""
    )
    page.wait_for_function(  # a panel may come into the page only now, with its folds closed
        """() => [...document.querySelectorAll('.boxlab-stage')].every(box => {
            for (const fold of box.querySelectorAll('details')) fold.open = true;
            return box.querySelector('td') && box.querySelector('textarea');
        })""",
        polling=500,
        timeout=PATIENCE,
    )
    names = told(page)
    assert [each for each in names if not each[1]] == []
    items = [item for item in all_explainers() if item.lesson == LESSON.name]
    sliders = [c for item in items for c in item.controls if isinstance(c, Slider)]
    choices = [c for item in items for c in item.controls if isinstance(c, Choice)]
    few = [c for c in choices if len(c.options) <= 4 and len("".join(c.options)) <= 34]
    assert {name for role, name in names if role == "slider"} == {c.label for c in sliders}
    assert {name for c in few for name in c.options} <= {n for role, n in names if role == "radio"}
    assert {name for role, name in names if role == "combobox"} == {
        c.label for c in choices if c not in few
    }
    assert {role for role, _ in names} >= ROLES - {"combobox"}

    page.wait_for_function(
        """started => JSON.stringify([...document.querySelectorAll(
            '.boxlab-stage input[type=range]')].map(each =>
                [each.labels[0].textContent, each.getAttribute('aria-valuetext')].join(': ')
            ).sort()) === JSON.stringify(started)""",
        arg=sorted(f"{c.label}: {f'{c.start:g} {c.unit}'.strip()}" for c in sliders),
        timeout=PATIENCE,
    )

    # Without the labels this would be noticed.
    page.evaluate(
        "document.querySelectorAll('.boxlab-stage .named label').forEach(e => e.remove())"
    )
    assert {role for role, name in told(page) if not name} == {"slider"}


def test_words_stand_out_in_either_theme(pages):
    keys = pages(START)
    page, panel = keys.page, keys.lesson.panel()
    panel.evaluate("root => root.querySelectorAll('details').forEach(e => { e.open = true; })")
    page.get_by_label("Paragraph in plain text").wait_for(timeout=PATIENCE)
    theme_of = "theme => jupyterapp.commands.execute('apputils:change-theme', { theme })"
    for theme in ("JupyterLab Light", "JupyterLab Dark"):
        page.evaluate(theme_of, theme)
        keys.until("dark => document.body.dataset.jpThemeLight === String(!dark)", "Dark" in theme)
        count, faint = page.evaluate(FAINT)
        assert count > 40
        assert faint == []
        edges = page.evaluate(EDGES)
        assert len({selector for selector, _ in edges}) == 3
        assert [each for each in edges if each[1] < 3] == []
    page.evaluate(theme_of, "JupyterLab Light")
