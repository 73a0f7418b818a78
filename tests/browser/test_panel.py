"""A panel in real JupyterLab: the picture and the words follow mouse, keys and typing."""

from __future__ import annotations

import io
import re

import numpy as np
import pytest
from conftest import PATIENCE, write_notebook
from made_up import MADE_UP
from PIL import Image

from boxlab.draw import palette
from boxlab.draw.raster import Sheet

CELL = "from made_up import MADE_UP\nfrom boxlab.panel.live_panel import Panel\nPanel(MADE_UP)"


@pytest.fixture
def live(lab):
    lesson = lab(cells=[CELL])
    lesson.run_all()
    return lesson, lesson.panel()


def said(lesson, panel, words, timeout=PATIENCE):
    panel.locator(".boxlab-readout", has_text=words).wait_for(timeout=timeout)
    return lesson.readout(panel)


def shows(lesson, panel, **state):
    """Wait until the picture is, to the pixel, the one that the library draws of these settings."""
    wanted = palette.encode(Sheet(2.0).render(MADE_UP(**state)))
    wanted = np.asarray(Image.open(io.BytesIO(wanted)).convert("RGB"))
    for _ in range(300):
        picture = Image.open(io.BytesIO(lesson.picture(panel))).convert("RGB")
        if picture.size == wanted.shape[1::-1] and (np.asarray(picture) == wanted).all():
            return
        lesson.page.wait_for_timeout(100)
    raise AssertionError(f"the picture is not that of {state or 'the start'}")


def test_first_slider_by_keyboard(live):
    lesson, panel = live
    shows(lesson, panel)
    lesson.press(panel, 0, "ArrowRight", 3)
    said(lesson, panel, MADE_UP(volume=15.5).readout[0])
    shows(lesson, panel, volume=15.5)
    assert lesson.errors() == []


def test_drag_by_mouse_lands_on_the_last_value(live):
    lesson, panel = live
    lesson.drag(panel, 0, 0.9)
    typed = panel.locator(".boxlab-typed input").nth(0)
    values = [-1.0, 0.0]
    while len(values) < 100 and not 60 < values[-1] == values[-2]:
        lesson.page.wait_for_timeout(600)
        values.append(float(typed.input_value()))
    value = values[-1]
    assert 60 < value < 80
    said(lesson, panel, MADE_UP(volume=value).readout[0])
    shows(lesson, panel, volume=value)


def test_typed_value_and_a_value_out_of_range(live):
    lesson, panel = live
    box = panel.get_by_role("textbox", name=re.compile("Net volume"))
    box.fill("30")
    box.press("Enter")
    said(lesson, panel, "in 30 L")
    box.fill("1 ft3")
    box.press("Enter")
    said(lesson, panel, "in 28.32 L")
    lesson.page.wait_for_timeout(1000)  # in which the slider goes to its next step, 28.5
    assert box.input_value() == "28.32"
    shows(lesson, panel, volume=28.32)
    box.fill("3000")
    box.press("Enter")
    panel.locator(".boxlab-bad", has_text="goes from 5 to 80 L").wait_for(timeout=PATIENCE)
    assert box.input_value() == "3000"


def test_settings_line_in_and_out(live):
    lesson, panel = live
    panel.get_by_role("button", name="share").click()
    line = panel.get_by_label("settings line", exact=True)
    line.fill("made_up(volume=21, box='ported')")
    line.press("Enter")
    said(lesson, panel, "in 21 L")
    shown = panel.locator("textarea", has_text="made_up(volume=21, tuning=45").first
    shown.wait_for(timeout=PATIENCE)
    line.fill("__import__('os').system('true')")
    line.press("Enter")
    panel.locator(".boxlab-bad").wait_for(timeout=PATIENCE)
    assert line.input_value().startswith("__import__")
    said(lesson, panel, "in 21 L")


def test_stripped_page_shows_the_picture(lab, server):
    """Saved outputs without the widget view still show the PNG, before anything is run."""
    import nbformat

    from boxlab.panel.live_panel import Panel

    data, metadata = Panel(MADE_UP)._repr_mimebundle_()
    data.pop("application/vnd.jupyter.widget-view+json", None)
    path = server.folder / "stripped.ipynb"
    write_notebook(path, CELL)
    book = nbformat.read(path, as_version=4)
    book.cells[0].outputs = [
        nbformat.v4.new_output("execute_result", data, metadata=metadata, execution_count=1)
    ]
    nbformat.write(book, path)
    lesson = lab(path)
    picture = lesson.page.locator(".jp-RenderedImage img")
    picture.wait_for(timeout=PATIENCE)
    assert picture.bounding_box()["width"] > 500


@pytest.mark.parametrize("width", [1280, 1150, 700])
def test_no_label_or_box_is_cut_off(lab, width):
    lesson = lab(cells=[CELL], viewport={"width": width, "height": 1200})
    lesson.run_all()
    panel = lesson.panel()
    sliders = [control for control in MADE_UP.controls if hasattr(control, "low")]
    for control in sliders[:4]:
        box = panel.get_by_role("textbox", name=re.compile(re.escape(control.label)))
        label = panel.locator("label", has_text=control.label).first
        assert box.bounding_box()["width"] > 40
        edges, entry = label.bounding_box(), box.bounding_box()
        assert edges["x"] + edges["width"] <= entry["x"] + 1
        # Nothing of the words is hidden: the label is as tall and wide as its text needs.
        assert label.evaluate("e => e.scrollWidth <= e.clientWidth + 1")
        assert label.evaluate("e => e.scrollHeight <= e.clientHeight + 1")
        box.scroll_into_view_if_needed()
        # Nothing lies over either of them, where they begin and where they end.
        for part in (label, box):
            assert part.evaluate(
                """e => {
                    const r = e.getBoundingClientRect(), y = r.y + r.height / 2;
                    const seen = x => e.contains(document.elementFromPoint(x, y));
                    return seen(r.x + 4) && seen(r.right - 4);
                }"""
            )
