"""A panel in real JupyterLab: picture and words follow mouse, keys and typing."""

from __future__ import annotations

import pytest
from conftest import PATIENCE, metric, opening
from made_up import MADE_UP

expect = pytest.importorskip("playwright.sync_api").expect
CELLS = (
    "from made_up import MADE_UP\nfrom boxlab.explainers import explainer\n"
    "from boxlab.panel.live_panel import Panel\nPanel(MADE_UP)",
    "Panel(MADE_UP)",
    "Panel(explainer('null_of_the_radiator'))",
)


@pytest.fixture(scope="module")
def opened(profile, server):
    """One page with three panels, for this file."""
    with opening(profile, server) as lab:
        lesson = lab(cells=CELLS)
        assert lesson.run_all()
        yield lesson
        assert lesson.errors() == []


@pytest.fixture
def live(opened):
    """The page and its first panel as it is at first, whatever the test before did to it."""
    opened.page.set_viewport_size({"width": 1280, "height": 1500})
    panel = opened.panel()
    panel.evaluate("root => root.querySelectorAll('details').forEach(e => { e.open = false; })")
    panel.locator(".tabs button").first.click()
    panel.get_by_role("button", name="reset").click()
    opened.shows(panel, MADE_UP())
    return opened, panel


def typed(panel, label):
    return panel.get_by_role("textbox", name=f"{label}, typed")


def said(panel, words):
    expect(panel.locator(".message")).to_contain_text(words, timeout=PATIENCE)


def test_first_slider_by_keyboard(live):
    lesson, panel = live
    lesson.press(panel, 0, "ArrowRight", 3)
    lesson.shows(panel, MADE_UP(volume=15.5))
    expect(panel.locator("[role=status]")).to_have_text(metric(MADE_UP(volume=15.5).message))
    assert lesson.errors() == []


def test_drag_by_mouse_lands_on_the_exact_value(live):
    lesson, panel = live
    lesson.drag(panel, 0, 0.9)
    panel.evaluate(
        """async root => {
            const same = () => root.stage.now.at.every((v, k) => v === root.stage.wanted[k]);
            for (let i = 0; i < 200 && !(root.stage.wanted[0] > 60 && same()); i++)
                await new Promise(go => setTimeout(go, 50));
        }"""
    )
    value = float(typed(panel, "Net volume").input_value())
    assert 60 < value < 80
    lesson.shows(panel, MADE_UP(volume=value))


def test_a_drag_draws_from_what_came_ahead_of_the_hand(live):
    """With no word from the kernel in between: each frame has a state next to what is set."""
    lesson, panel = live
    panel.locator("input[type=range]").first.focus()
    frames = panel.evaluate(
        """async root => {
            const { stage } = root, slider = root.querySelector("input[type=range]");
            for (let i = 0; i < 200 && !(stage.line && stage.line.states.length > 30); i++)
                await new Promise(go => setTimeout(go, 50));
            const sent = [], send = stage.model.send.bind(stage.model);
            stage.model.send = (told) => { if (told.ask) sent.push(told.ask); send(told); };
            const seen = [];
            for (let i = 0; i < 60; i++) {
                slider.value = 10 + i;
                slider.dispatchEvent(new Event("input"));
                await new Promise(requestAnimationFrame);
                await new Promise(go => setTimeout(go));
                seen.push([stage.wanted[0], stage.state.at[0], sent.length]);
            }
            stage.model.send = send;
            return seen;
        }"""
    )
    assert len({shown for _, shown, _ in frames}) > 20
    # forty steps of one ratio from 5 to 80 L at least: the widest is 5.4 L
    assert max(abs(wanted - shown) for wanted, shown, _ in frames) <= 2.8
    assert frames[-1][2] <= 1  # asked for the exact one at most where the hand began
    lesson.shows(panel, MADE_UP(volume=69.0))


def test_typed_values_in_any_unit_and_out_of_range(live):
    lesson, panel = live
    box = typed(panel, "Net volume")
    for text, litres in (("30", 30), ("1 ft3", 28.32), ("20000 cc", 20)):
        box.fill(text)
        box.press("Enter")
        said(panel, f"in {litres:g} L")
        expect(box).to_have_value(f"{litres:g}")
    lesson.shows(panel, MADE_UP(volume=20))
    box.fill("3000")
    box.press("Enter")
    expect(panel.get_by_text("Net volume goes from 5 to 80 L")).to_be_visible(timeout=PATIENCE)
    assert box.input_value() == "3000"
    lesson.press(panel, 1, "ArrowRight")  # another control: what was typed stays
    said(panel, "Tuning 45.5 Hz")
    assert box.input_value() == "3000"
    panel.get_by_role("button", name="reset").click()
    said(panel, "Tuning 45.0 Hz in 14 L")


def test_what_is_typed_right_after_a_move_counts(live):
    """The move is still on its way, or waits for the hand to rest, when the typed value goes."""
    lesson, panel = live
    for text in ("20", "40"):
        panel.evaluate(
            """(root, text) => {
                const slider = root.querySelector("input[type=range]");
                for (let i = 0; i < 5; i++) {
                    slider.value = 30 + i;
                    slider.dispatchEvent(new Event("input"));
                }
                const box = root.querySelector("input[type=text]");
                box.value = text;
                box.dispatchEvent(new Event("change"));
            }""",
            text,
        )
        lesson.page.wait_for_timeout(1500)
        assert panel.evaluate("r => [r.stage.wanted[0], r.stage.now.at[0]]") == [int(text)] * 2
        expect(typed(panel, "Net volume")).to_have_value(text)


def test_typed_in_inches_where_the_box_shows_inches(live):
    _, panel = live
    panel.get_by_role("button", name="inch").click()
    box = typed(panel, "Net volume")
    expect(box).to_have_value("0.49")
    box.fill("1")
    box.press("Enter")
    said(panel, "in 1.00 ft³")
    assert panel.evaluate("root => root.stage.now.at[0]") == 28.32
    expect(box).to_have_value("1.00")
    panel.get_by_role("button", name="metric").click()


def test_two_panels_in_a_page_share_the_units_and_no_names(live):
    lesson, one = live
    two = lesson.panel(1)
    one.get_by_role("button", name="inch").click()
    expect(typed(two, "Net volume")).to_have_value("0.49")
    names = lesson.page.evaluate(
        "() => [...document.querySelectorAll('.boxlab-stage [id]')].map(each => each.id)"
    )
    assert len(names) > 10 and len(names) == len(set(names))
    two.get_by_role("button", name="metric").click()
    expect(typed(one, "Net volume")).to_have_value("14")


def test_settings_line_in_and_texts_out(live):
    _, panel = live
    panel.locator("summary", has_text="share").click()
    line = panel.get_by_label("settings line", exact=True)
    line.fill("made_up(volume=21, box='ported')")
    line.press("Enter")
    said(panel, "in 21 L")
    expect(panel.get_by_label("Settings line", exact=True)).to_have_value(
        "made_up(volume=21, tuning=45, q=0.7, drive=4, box='ported', limit=8, slope=4)",
        timeout=PATIENCE,
    )
    assert panel.locator("a[download]").evaluate_all("all => all.map(a => a.download)") == [
        "made_up.png", "made_up.svg",
    ]  # fmt: skip
    line.fill("__import__('os').system('true')")
    line.press("Enter")
    expect(panel.get_by_role("alert")).to_contain_text("was not used", timeout=PATIENCE)
    assert line.input_value().startswith("__import__")
    said(panel, "in 21 L")


def test_hold_keeps_grey_curves_and_their_numbers(live):
    lesson, panel = live
    panel.locator("summary", has_text="numbers").click()
    panel.get_by_role("button", name="hold").click()
    lesson.press(panel, 0, "ArrowRight", 20)
    said(panel, "in 24 L")
    assert panel.locator(".ghosts path").count() == 2
    expect(panel.locator("td.held").first).to_have_text("14.0 L")
    expect(panel.get_by_text("Grey: held at net volume 14 L: ")).to_be_visible()
    panel.get_by_role("button", name="How far it moves").click()
    assert panel.locator(".ghosts path").count() == 2
    panel.get_by_role("button", name="release").click()
    assert panel.locator(".ghosts path").count() == 0


def test_all_of_use_is_in_sight_on_a_laptop(live):
    lesson, _ = live
    lesson.page.set_viewport_size({"width": 1366, "height": 625})
    panel = lesson.panel(2)
    top = panel.bounding_box()["y"]
    for what in (".hands .hand >> nth=-1", ".figure .plot", ".figure .cut", ".buttons", ".message"):
        box = panel.locator(what).first.bounding_box()
        assert box["y"] + box["height"] - top <= 500, what


@pytest.mark.parametrize("width", [1280, 900, 700])
def test_no_label_or_box_is_cut_off(live, width):
    lesson, panel = live
    lesson.page.set_viewport_size({"width": width, "height": 1200})
    lesson.page.wait_for_function(
        """width => new Promise(go => requestAnimationFrame(() => setTimeout(go))).then(() =>
            document.querySelector('.boxlab-stage').getBoundingClientRect().right <= width)""",
        arg=width,
    )
    for label in panel.locator(".hand label[for]").all():
        assert label.evaluate("e => e.scrollWidth <= e.clientWidth + 1 || !e.clientWidth")
    for control in MADE_UP.controls[:4]:
        name, box = panel.locator("label", has_text=control.label), typed(panel, control.label)
        box.scroll_into_view_if_needed()
        assert box.bounding_box()["width"] > 40
        edges, entry = name.bounding_box(), box.bounding_box()
        assert edges["x"] + edges["width"] <= entry["x"] + 1
        # Nothing lies over either of them, where they begin and where they end.
        for part in (name, box):
            assert part.evaluate(
                """e => {
                    const r = e.getBoundingClientRect(), y = r.y + r.height / 2;
                    const seen = x => e.contains(document.elementFromPoint(x, y));
                    return seen(r.x + 2) && seen(r.right - 2);
                }"""
            )


def test_a_kernel_that_is_gone_is_said(live):  # the last, as it ends the page's kernel
    lesson, panel = live
    lesson.server.end_kernels([lesson.name])
    lesson.press(panel, 3, "ArrowRight", 30)  # of which the page holds no states yet
    note = panel.locator(".held-instead")
    expect(note).to_contain_text("kernel", timeout=PATIENCE)
    assert typed(panel, "Drive").input_value() == "7"
