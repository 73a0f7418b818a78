"""Panels without a browser: the real messages of a page, a made-up explainer."""

import asyncio
import io
import re
import time
import warnings
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from made_up import MADE_UP
from page_side import Page, laid_out
from PIL import Image

from boxlab.draw.scene import Slider
from boxlab.explainers import all_explainers
from boxlab.panel import settings_text
from boxlab.panel.live_panel import Panel
from boxlab.panel.self_drive import LEFT


@pytest.fixture
def panel():
    return Panel(MADE_UP)


@pytest.fixture
def page(panel):
    return Page(panel)


def test_drive_prints_a_line_for_each_control_and_comes_back(panel, capsys):
    panel.drive()
    rows = capsys.readouterr().out.splitlines()
    assert len(rows) == 1 + len(MADE_UP.controls)
    assert rows[1].strip() == (
        "Net volume, 5 to 80 L: Tuning 45.0 Hz in 5 L. … Tuning 45.0 Hz in 80 L."
    )
    assert rows[5].strip().startswith("Box, radiator to sealed: ")
    assert panel.state == MADE_UP.start


def test_in_a_notebook_a_drive_is_a_folded_table_of_every_value(panel, monkeypatch):
    shown = []
    monkeypatch.setattr("IPython.get_ipython", lambda: "a shell")
    monkeypatch.setattr("IPython.display.display", lambda data, **more: shown.append(data))
    panel.drive()
    (bundle,) = shown
    assert set(bundle) == {"text/html", "text/plain"}
    page = bundle["text/html"]
    assert page.startswith("<details><summary>")
    assert page.count("<tr>") == 1 + 3 * 6 + 4
    bare = page.replace(f" {LEFT}", "")
    assert "<th scope='row'>Net volume</th><td>5 L</td><td>Tuning 45.0 Hz in 5 L.</td>" in bare
    assert "<made-up>" not in page


def test_drive_prints_the_same_each_time(panel, capsys):
    panel.drive()
    first = capsys.readouterr().out
    Panel(MADE_UP, volume=20.0).drive()
    assert capsys.readouterr().out == first


def test_drive_raises_what_a_callback_raises():
    def broken(**state):
        if state["volume"] > 50:
            raise KeyError("no such thing")
        return MADE_UP.scene(**state)

    with pytest.raises(KeyError):
        Panel(replace(MADE_UP, scene=broken)).drive()


def test_drive_finds_a_picture_that_does_not_follow(panel, monkeypatch):
    kept = panel.view.now
    panel._send = lambda made, pool: setattr(panel.view, "now", kept)
    with pytest.raises(AssertionError, match="does not show"):
        panel.drive()


def test_drive_finds_a_control_that_does_not_land(panel, monkeypatch):
    panel.hear = lambda told: None
    with pytest.raises(AssertionError, match="did not land"):
        panel.drive()


def test_moving_a_slider_changes_picture_and_words(panel, page):
    before = panel.view.now
    page.move(volume=33)
    assert panel.state["volume"] == 33
    assert "in 33 L" in page.words
    assert page.now["at"] == list(panel.state.values())
    assert (
        laid_out(panel.view.now)[1][0].shape != laid_out(before)[1][0].shape
        or (laid_out(panel.view.now)[1][0] != laid_out(before)[1][0]).any()
    )


def test_what_a_page_cannot_have_set_is_refused_in_words(panel, page):
    page.move(volume=3000)
    assert "Net volume goes from 5 to 80 L" in page.words
    panel.hear({"ask": [1, 2]})
    assert "cannot be built" in page.words
    assert panel.state == MADE_UP.start
    page.move(volume=20)
    assert "in 20 L" in page.words


def test_ahead_of_the_hand_come_the_states_along_its_control(panel, page):
    states = page.ahead("volume")
    place = page.place("volume")
    values = [state["at"][place] for state in states]
    assert len(values) == len(set(values)) > 30
    assert {5, 14, 80} <= set(values)
    assert max(values[:4]) - min(values[:4]) > 30  # the first few lie all along
    others = [state["at"][:place] + state["at"][place + 1 :] for state in states]
    start = list(panel.state.values())
    assert others == [start[:place] + start[place + 1 :]] * len(values)
    assert panel.state == MADE_UP.start  # nothing has moved
    page.move(volume=values[1])
    assert page.now["h"] == states[1]["h"]
    refused = [state for state in page.ahead("tuning") if "no" in state]
    assert all("cannot be built" in state["no"] for state in refused)
    boxes = [state["at"][page.place("box")] for state in page.ahead("box")]
    assert sorted(boxes) == ["ported", "radiator", "sealed"]


def test_working_ahead_lets_questions_in_between():
    def slow(**state):
        time.sleep(0.01)
        return MADE_UP.scene(**state)

    async def session():
        page = Page(Panel(replace(MADE_UP, scene=slow)))
        told = {"ahead": 7, "place": 0, "values": list(page.panel.state.values())}
        page.panel.hear(told)
        began = time.monotonic()
        await asyncio.sleep(0.005)  # another message waits
        waited = time.monotonic() - began
        while not page.panel._running.done():
            await asyncio.sleep(0.005)
        count, states = len(page.sent), len(page.came())
        page.sent.clear()
        page.panel.hear(told)
        await asyncio.sleep(0)
        page.panel.hear(told | {"ahead": 8})  # the hand has gone elsewhere
        await asyncio.sleep(1.0)
        return waited, count, states, [each["ahead"] for each, _ in page.sent]

    waited, count, states, names = asyncio.run(session())
    assert waited < 0.3
    assert count > 3
    assert names.count(7) <= 1 and names.count(8) > 3
    assert 41 <= states < 70  # all of 81 places would take 0.8 s


def test_what_the_model_refuses_is_said_and_nothing_is_lost(panel, page, capsys):
    panel.set(volume=70.0)
    page.move(tuning=90)
    assert panel.state == MADE_UP.start | {"volume": 70, "tuning": 90}
    assert "no <made-up> box holds that" in page.words
    assert panel.scene is not None  # the last good one
    page.move(tuning=45)
    assert "in 70 L" in page.words
    assert capsys.readouterr().err == ""


def test_a_fault_of_the_lesson_is_told_apart():
    def broken(**state):
        if state["volume"] != 14:
            raise TypeError("half a thing")
        return MADE_UP.scene(**state)

    panel = Panel(replace(MADE_UP, scene=broken))
    page = Page(panel)
    assert len(page.ahead("tuning")) > 30  # the fault is not on this line
    assert len(page.ahead("volume")) <= 3
    page.move(volume=20)
    assert "not in your settings" in page.words
    assert isinstance(panel.fault, TypeError)


def test_warnings_are_shown_not_printed(panel, page, capsys, recwarn):
    panel.set(q=1.9, drive=9.5)
    assert any("past what the made-up maths means" in words for words in page.now["w"])
    assert any("Made-up limits reached." in words for words in page.now["w"])
    assert capsys.readouterr().err == ""
    assert not recwarn.list


def test_other_warnings_are_not_swallowed():
    def careless(**state):
        np.log(np.array([state["volume"] - 14.0]))
        return MADE_UP.scene(**state)

    with warnings.catch_warnings(), pytest.warns(RuntimeWarning, match="divide by zero"):
        warnings.simplefilter("default")
        Panel(replace(MADE_UP, scene=careless))


def test_typed_value_out_of_range_says_why(panel, page):
    assert "Net volume goes from 5 to 80 L" in page.type("volume", "3000")
    assert panel.state["volume"] == 14


@pytest.mark.parametrize(
    ("text", "litres"),
    [("0.6 ft3", 16.99), ("0,6 cu ft", 16.99), ("1000 cubic inches", 16.39), ("20 L", 20),
     ("14,5", 14.5), (" 30 ", 30), ("20000 cc", 20)],
)  # fmt: skip
def test_typed_with_a_unit_it_is_converted(panel, page, text, litres):
    assert page.type("volume", text) == ""
    assert panel.state["volume"] == litres
    assert page.now["at"][page.place("volume")] == litres
    assert page.now["set"]  # so the page's own hands follow


@pytest.mark.parametrize(
    ("text", "why"),
    [("", "Nothing typed yet"), ("big", "no number"), ("3 in", "does not fit"),
     ("5 ft3", "goes from 0.177 to 2.83 ft³"), ("20 sacks", "do not know the unit")],
)  # fmt: skip
def test_typed_text_that_does_not_fit_says_why(panel, page, text, why):
    assert why in page.type("volume", text)
    assert panel.state["volume"] == 14


def test_what_stands_beside_a_box_can_be_typed_into_it():
    """The reading in cubic feet, inches or pounds comes back as the value it stands for."""
    found = [(c, v) for item in all_explainers() for c in item.controls for v in values(c)]
    assert len(found) > 100
    for control, value in found:
        text = control.imperial(value)
        shown = re.match(r"-?\d+\.?(\d*)", text)
        back = settings_text.typed(control, text)
        # It was rounded to the last digit shown, and so was a start to the slider's own steps.
        half = 0.51 * 10.0 ** -len(shown[1]) * abs(back / float(shown[0] or 1) if back else 1)
        assert back == pytest.approx(value, rel=1e-3, abs=half), (control.label, text)


def values(control):
    """The start and ends of a slider that has a reading in the other system."""
    if not getattr(control, "imperial", None):
        return ()
    return control.low, control.start, control.high


def test_a_count_takes_whole_numbers_only():
    slider = Slider("count", "Boxes", 1, 4, 1, 1, "")
    item = replace(MADE_UP, controls=(*MADE_UP.controls, slider))
    with pytest.raises(ValueError, match="needs a whole number"):
        settings_text.checked(item, {"count": 2.5})
    assert settings_text.checked(item, {"count": 2.0}) == {"count": 2}


def test_presets_and_reset(panel):
    panel.hear({"ask": panel.view.about["presets"]["large"]})
    assert (panel.state["volume"], panel.state["tuning"]) == (40, 30)
    panel.reset()
    assert panel.state == MADE_UP.start


def test_share_texts_and_pictures_that_say_how_they_were_made(panel, page):
    panel.set(volume=21.0)
    texts, files, wrong = page.share()
    assert texts["Settings line"] == panel.line
    assert panel.line.startswith("made_up(volume=21, tuning=45")
    assert "0.74 ft³" in texts["Paragraph in BBCode"]
    assert not [title for title in texts if title.startswith("Link")]  # a path is no link
    assert f"![{MADE_UP().alt}](made_up.png)" in texts["Picture with caption in Markdown"]
    assert Image.open(io.BytesIO(files["made_up.png"])).text["Comment"] == panel.line
    assert "<desc>" in files["made_up.svg"].decode()
    assert "No link yet that others can open" in wrong and "boxlab site" in wrong


def test_links_are_whole_once_the_address_of_the_pages_is_given(page):
    texts, _, _ = page.share("https://example.org/boxlab/")
    where = "https://example.org/boxlab/"
    assert texts["Link to the lesson"] == f"{where}lessons/01-made-up.html#why"
    assert not page.share("https://example.org/boxlab/")[2]
    texts, _, wrong = page.share("javascript:alert(1)")
    assert "Links stay relative" in wrong
    assert not any("javascript" in text for text in texts.values())


def test_nothing_is_shared_of_what_cannot_be_built(panel, page):
    panel.set(volume=70.0, tuning=90.0)
    page.sent.clear()
    panel.hear({"share": ""})
    assert page.sent == []


def test_bundle_for_a_page_without_a_kernel(panel):
    data, metadata = panel._repr_mimebundle_()
    assert set(data) == {
        "image/png",
        "text/plain",
        "application/vnd.jupyter.widget-view+json",
    }
    assert metadata["image/png"]["alt"] == MADE_UP().alt
    assert MADE_UP.question in data["text/plain"]
    again, _ = Panel(MADE_UP)._repr_mimebundle_()
    assert again["text/plain"] == data["text/plain"]
    assert again["image/png"] == data["image/png"]


def test_settings_line_comes_back(panel):
    panel.set(volume=21.5, box="ported", slope=6)
    line = panel.line
    other = Panel(MADE_UP)
    other.use(line)
    assert other.state == panel.state
    assert type(other.state["slope"]) is int


@pytest.mark.parametrize(
    ("line", "words"),
    [
        ("", "Nothing to read"),
        ("made_up(volume=__import__('os'))", "only a plain number"),
        ("__import__('os').system('true')", "not a settings line"),
        ("exec('x')", "for 'exec'"),
        ("made_up(14)", "needs its name"),
        ("made_up(volume=14,5)", "does not read|needs its name"),
        ("made_up(**{'volume': 3})", "no meaning"),
        ("made_up(volume=[14])", "only a plain number"),
        ("made_up(volume=-(-14))", "only a plain number"),
        ("made_up(volume=True)", "a number is needed"),
        ("made_up(volume='14 Hz')", "Hz"),
        ("made_up(volume='many')", "number"),
        ("made_up(volume=1e999)", "goes from 5 to 80"),
        ("made_up(volume=1400)", "goes from 5 to 80 L"),
        ("made_up(volume=7, volume=8)", "twice"),
        ("made_up(size=3)", "no setting 'size'"),
        ("made_up(box='tin')", "choose one of 'radiator'"),
        ("made_up(box=3)", "choose one of"),
        ("made_up(" * 300, "characters|does not read"),
        ("(" * 900, "does not read"),
        ("volume=" + "-" * 900 + "1", "does not read|only a plain number"),
        ("made_up(volume=14\0)", "does not read"),
        ("x" * 5000, "too long"),
    ],
)
def test_hostile_settings_lines(line, words):
    with pytest.raises(ValueError, match=words):
        settings_text.read_settings(MADE_UP, line)


def test_a_bad_line_is_not_used(panel, page):
    assert "was not used" in page.paste("made_up(<b>volume</b>=3)")
    assert panel.state == MADE_UP.start
    assert page.paste("volume=22") == ""
    assert panel.state["volume"] == 22
    assert page.paste("  ") == ""


@settings(max_examples=200, deadline=None)
@given(st.text(max_size=80) | st.text("made_upvoli=(),.'-+0123456789 \n*[]", max_size=60))
def test_any_text_is_read_or_refused_in_words(text):
    try:
        state = settings_text.read_settings(MADE_UP, text)
    except ValueError as error:
        assert str(error)
    else:
        assert set(state) <= set(MADE_UP.start)


@settings(max_examples=60, deadline=None)
@given(
    st.fixed_dictionaries(
        {
            "volume": st.floats(5, 80),
            "slope": st.integers(2, 6),
            "box": st.sampled_from(["radiator", "ported", "sealed"]),
        }
    )
)
def test_any_state_survives_its_settings_line(state):
    state = settings_text.checked(MADE_UP, state)
    assert (
        settings_text.read_settings(MADE_UP, settings_text.settings_line(MADE_UP, state)) == state
    )


@pytest.mark.parametrize("volume", [5, 14.0, 21.5, 80])
def test_a_line_in_inches_sets_what_it_was_written_for(volume):
    state = MADE_UP.start | {"volume": volume, "drive": 9.9}
    line = settings_text.settings_line(MADE_UP, state, inch=True)
    assert re.search(r"volume='[\d.]+ ft³', tuning=45,", line)
    assert settings_text.read_settings(MADE_UP, line) == state
    assert settings_text.read_settings(MADE_UP, "volume='0.5 ft3'") == {"volume": 14.16}


def test_a_page_in_inches_gets_its_settings_line_in_inches(page):
    texts, _, _ = page.share(inch=True)
    assert texts["Settings line"].startswith("made_up(volume='0.494405 ft³', tuning=45,")
    assert page.paste(texts["Settings line"]) == ""
    assert page.panel.state == MADE_UP.start


def test_unknown_settings_move_nothing(panel):
    with pytest.raises(ValueError, match="no setting 'size'"):
        panel.set(volume=20.0, size=3)
    assert panel.state == MADE_UP.start
