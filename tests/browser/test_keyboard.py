"""The first lesson without a mouse, with names for what has the focus, in light and in dark."""

from __future__ import annotations

import pytest
from conftest import ROOT

START = ROOT / "lessons" / "00-start-here.ipynb"
PATIENCE = 60_000  # ms

# What has the focus: where it is, what it is called, and whether it can be seen to have it.
FOCUS = """() => {
    const e = document.activeElement, style = getComputedStyle(e);
    const labels = [...(e.labels || [])].map(label => label.textContent.trim());
    return {
        tag: e.tagName, slider: e.classList.contains('noUi-handle'), type: e.type || '',
        ours: !!e.closest('.boxlab, .boxlab-quiz, .jp-OutputArea details'),
        name: labels.join(' ') || e.getAttribute('aria-label') || e.textContent.trim() || e.title,
        outline: style.outlineStyle !== 'none' && parseFloat(style.outlineWidth) >= 1,
        href: e.getAttribute('href') || '',
    };
}"""

# Text of ours with too little contrast to what is behind it: WCAG 2.1, 1.4.3, 4.5 to 1.
FAINT = """() => {
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
    const faint = [];
    let count = 0;
    for (const root of document.querySelectorAll('.boxlab, .boxlab-quiz, .jp-OutputArea details')) {
        const walk = document.createTreeWalker(root, NodeFilter.SHOW_TEXT);
        while (walk.nextNode()) {
            const e = walk.currentNode.parentElement, box = e.getBoundingClientRect();
            const words = walk.currentNode.textContent.trim();
            if (!words || e.closest('style, .boxlab-hidden')) continue;
            if (!box.width || !box.height || e.closest('[disabled]')) continue;
            let seen = 1;
            for (let up = e; up; up = up.parentElement) seen *= +getComputedStyle(up).opacity;
            const ground = back(e), ink = [...parse(getComputedStyle(e).color).slice(0, 3), seen];
            const [a, b] = [light(over(ink, ground)), light(ground)];
            const ratio = (Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05);
            count += 1;
            if (ratio < 4.5) faint.push(`${ratio.toFixed(2)} ${words}`);
        }
    }
    return [count, faint];
}"""


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
        self.page.locator(".boxlab img.widget-image").first.wait_for(timeout=PATIENCE)

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
            self.page.wait_for_timeout(60)  # the page may scroll a cell into sight
            stops.append(self.focus())
            if wanted(stops[-1]):
                return stops[-1]
        raise AssertionError(f"never reached; came by {[stop['name'] for stop in stops]}")


@pytest.fixture
def keys(lab):
    return Keys(lab(START))


def named(words):
    return lambda focus: words in focus["name"]


def test_a_whole_lesson_by_keyboard(keys):
    page, stops = keys.page, []
    keys.run_all()
    keys.to_top()

    keys.tab_to(lambda focus: focus["type"] == "radio", stops)
    keys.press("Space")
    keys.tab_to(named("Commit my prediction"), stops)
    keys.press("Enter")
    page.get_by_text("Your prediction:").wait_for(timeout=PATIENCE)

    before = page.locator(".boxlab-readout").inner_text()
    keys.tab_to(lambda focus: focus["slider"], stops)
    for _ in range(3):
        keys.press("ArrowRight")
    page.wait_for_function(
        "before => document.querySelector('.boxlab-readout').innerText !== before",
        arg=before,
        timeout=PATIENCE,
    )
    keys.tab_to(lambda focus: focus["type"] == "number", stops)
    assert stops[-1]["name"]
    keys.tab_to(named("hold"), stops)
    keys.press("Space")
    page.get_by_role("button", name="release").wait_for(timeout=PATIENCE)
    keys.tab_to(named("share"), stops)
    keys.press("Enter")
    page.get_by_label("Paragraph in plain text").wait_for(timeout=PATIENCE)
    keys.tab_to(lambda focus: focus["tag"] == "TEXTAREA", stops)
    keys.tab_to(named("Save the picture with its caption"), stops)
    keys.tab_to(named("settings line"), stops)
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
    # A slider's knob gets no name from the widget library. The labelled box above it is its twin.
    assert [s for s in ours if not s["name"] and not s["slider"]] == []
    assert [s for s in ours if not s["outline"]] == []


@pytest.mark.parametrize("theme", ["JupyterLab Light", "JupyterLab Dark"])
def test_words_stand_out_in_either_theme(keys, theme):
    page = keys.page
    page.evaluate(f"jupyterapp.commands.execute('apputils:change-theme', {{theme: '{theme}'}})")
    page.wait_for_function(
        "dark => document.body.dataset.jpThemeLight === String(!dark)",
        arg="Dark" in theme,
        timeout=PATIENCE,
    )
    keys.run_all()
    panel = keys.lesson.panel()
    for name in ("numbers", "share"):
        panel.get_by_role("button", name=name).click()
    page.get_by_label("Paragraph in plain text").wait_for(timeout=PATIENCE)
    count, faint = page.evaluate(FAINT)
    assert count > 40
    assert faint == []
