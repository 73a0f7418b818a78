"""Panels without a browser: real widgets, real callbacks, a made-up explainer."""

import asyncio
import base64
import io
import re
import warnings
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from made_up import MADE_UP
from PIL import Image

from boxlab.draw.scene import Slider
from boxlab.explainers import all_explainers
from boxlab.panel import settings_text
from boxlab.panel.live_panel import Panel
from boxlab.panel.self_drive import LEFT


@pytest.fixture
def panel():
    return Panel(MADE_UP)


def handle(panel, name):
    return panel.face.handles[name]


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
    monkeypatch.setattr("boxlab.draw.live_plot.Drawn.update", lambda self, plot: None)
    with pytest.raises(AssertionError, match="does not show"):
        panel.drive()


def test_drive_finds_a_control_that_does_not_land(panel, monkeypatch):
    handle(panel, "volume").unobserve_all()
    with pytest.raises(AssertionError, match="did not land"):
        panel.drive()


def test_moving_a_slider_changes_picture_and_words(panel):
    before = panel.face.image.value
    handle(panel, "volume").value = 33.0
    assert panel.state["volume"] == 33
    assert "in 33 L" in panel.face.readout.value
    assert panel.face.image.value != before
    assert panel.face.typed["volume"].value == "33"
    assert panel.face.readings["volume"].value == "1.17 ft³"


def test_many_changes_make_one_picture_and_the_last_lands():
    async def drag():
        panel = Panel(MADE_UP)
        made = panel.pictures
        for value in range(6, 66):
            handle(panel, "volume").value = float(value)
        await asyncio.sleep(0.2)
        return panel, panel.pictures - made

    panel, made = asyncio.run(drag())
    assert 1 <= made <= 3
    assert panel.state["volume"] == 65
    assert "in 65 L" in panel.face.readout.value


def test_a_stream_of_changes_is_not_put_off_for_ever(monkeypatch):
    monkeypatch.setattr("boxlab.panel.live_panel.SOON", 0.05)
    monkeypatch.setattr("boxlab.panel.live_panel.LATEST", 0.1)

    async def drag():
        panel = Panel(MADE_UP)
        made = panel.pictures
        for value in range(6, 66):
            handle(panel, "volume").value = float(value)
            await asyncio.sleep(0.005)  # always sooner than the pause that the panel waits for
        return panel.pictures - made

    assert asyncio.run(drag()) >= 2


def test_at_rest_the_picture_is_finer():
    async def rest():
        panel = Panel(MADE_UP)
        coarse = panel.face.image.value
        await asyncio.sleep(0.8)
        return coarse, panel.face.image.value

    coarse, fine = asyncio.run(rest())
    assert fine[16:24] == bytes.fromhex("0000066800000460")  # 1640 x 1120
    assert coarse[16:24] == bytes.fromhex("0000033400000230")  # 820 x 560
    assert len(coarse) < 60_000


def test_what_the_model_refuses_is_said_and_nothing_is_lost(panel, capsys):
    panel.set(volume=70.0)
    handle(panel, "tuning").value = 90.0
    assert panel.state == MADE_UP.start | {"volume": 70, "tuning": 90}
    assert "no &lt;made-up&gt; box holds that" in panel.face.readout.value
    assert "<made-up>" not in panel.face.readout.value
    assert handle(panel, "tuning").value == 90
    assert panel.face.typed["tuning"].value == "90"
    faded = panel.face.image.value
    handle(panel, "tuning").value = 45.0
    assert "in 70 L" in panel.face.readout.value
    assert panel.face.image.value != faded
    assert capsys.readouterr().err == ""


def test_a_fault_of_the_lesson_is_told_apart():
    def broken(**state):
        if state["volume"] != 14:
            raise TypeError("half a thing")
        return MADE_UP.scene(**state)

    panel = Panel(replace(MADE_UP, scene=broken))
    handle(panel, "volume").value = 20.0
    assert "not in your settings" in panel.face.readout.value
    assert isinstance(panel.fault, TypeError)


def test_warnings_are_shown_not_printed(panel, capsys, recwarn):
    panel.set(q=1.9, drive=9.5)
    assert "past what the made-up maths means" in panel.face.readout.value
    assert "Careful: Made-up limits reached." in panel.face.readout.value
    assert capsys.readouterr().err == ""
    assert not recwarn.list


def test_other_warnings_are_not_swallowed():
    def careless(**state):
        np.log(np.array([state["volume"] - 14.0]))
        return MADE_UP.scene(**state)

    with warnings.catch_warnings(), pytest.warns(RuntimeWarning, match="divide by zero"):
        warnings.simplefilter("default")
        Panel(replace(MADE_UP, scene=careless))


def test_hold_compare_release(panel):
    panel.hold()
    panel.set(volume=30.0)
    held = panel.face.image.value
    assert "held at net volume 14 L (0.49 ft³)" in panel.face.readout.value
    panel.face.numbers_fold.button.value = True
    assert "<th scope='col'>held</th>" in panel.face.numbers.value
    panel.release()
    assert panel.face.image.value != held
    assert "held" not in panel.face.readout.value


def test_typed_value_out_of_range_stays_and_says_why(panel):
    panel.face.typed["volume"].value = "3000"
    assert "Net volume goes from 5 to 80 L" in panel.face.readout.value
    assert panel.face.typed["volume"].value == "3000"
    assert panel.state["volume"] == 14


@pytest.mark.parametrize(
    ("text", "litres"),
    [("0.6 ft3", 16.99), ("0,6 cu ft", 16.99), ("1000 cubic inches", 16.39), ("20 L", 20),
     ("14,5", 14.5), (" 30 ", 30), ("20000 cc", 20)],
)  # fmt: skip
def test_typed_with_a_unit_it_is_converted(panel, text, litres):
    panel.face.typed["volume"].value = text
    assert panel.state["volume"] == litres
    assert panel.face.typed["volume"].value == f"{litres:g}"
    assert handle(panel, "volume").value == litres


def test_a_slider_does_not_round_what_was_typed(panel):
    """In a page the slider goes to its step next to it, and says so as if a hand had moved it."""
    panel.use("volume=28.32")
    handle(panel, "volume").value = 28.5
    assert panel.state["volume"] == 28.32
    assert panel.face.typed["volume"].value == "28.32"
    handle(panel, "volume").value = 29
    assert panel.state["volume"] == 29
    handle(panel, "volume").value = 28.5
    assert panel.state["volume"] == 28.5
    panel.set(volume=28.25)  # half-way: one step to either side
    handle(panel, "volume").value = 28.5
    assert panel.state["volume"] == 28.25
    handle(panel, "volume").value = 28
    assert panel.state["volume"] == 28
    panel.set(volume=28.32)
    panel.set(volume=28.5)
    assert panel.state["volume"] == 28.5
    assert panel.face.typed["volume"].value == "28.5"


@pytest.mark.parametrize(
    ("text", "why"),
    [("", "Nothing typed yet"), ("big", "no number"), ("3 in", "does not fit"),
     ("5 ft3", "goes from 0.177 to 2.83 ft³"), ("20 sacks", "do not know the unit")],
)  # fmt: skip
def test_typed_text_that_does_not_fit_stays_and_says_why(panel, text, why):
    panel.face.typed["volume"].value = text
    assert why in panel.face.readout.value
    assert panel.face.typed["volume"].value == text
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


def test_numbers_in_either_unit_system(panel):
    panel.face.numbers_fold.button.value = True
    assert "14.0 L" in panel.face.numbers.value
    panel.face.units.value = "inch"
    assert "0.49 ft³" in panel.face.numbers.value
    assert "45.0 Hz" in panel.face.numbers.value


def test_presets_and_reset(panel):
    panel.preset(MADE_UP.presets["large"])
    assert (panel.state["volume"], panel.state["tuning"]) == (40, 30)
    panel.reset()
    assert panel.state == MADE_UP.start


def test_at_most_six_controls_at_first_sight():
    extra = tuple(Slider(f"x{n}", f"Extra {n}", 0, 1, 0.5, 0.1, "") for n in range(8))

    def scene(**state):
        return MADE_UP.scene(**{k: v for k, v in state.items() if not k.startswith("x")})

    panel = Panel(replace(MADE_UP, controls=MADE_UP.controls + extra, scene=scene))
    grids = [box for box in panel.face.box.children if type(box).__name__ == "GridBox"]
    assert len(grids) == 1
    assert len(grids[0].children) == 6


def test_share_texts_and_picture(panel):
    panel.face.share_fold.button.value = True
    text = panel.face.share.value
    assert "made_up(volume=14, tuning=45" in text
    assert "0.49 ft³" in text
    assert "download='made_up.png'" in text
    assert "download='made_up.svg'" in text
    assert "&lt; 9 &amp; rising" in text
    assert "< 9 &" not in text
    for words in ("lessons/01-made-up.ipynb#why", f"![{MADE_UP().alt}](made_up.png)"):
        assert settings_text.safe(words) in text


def saved(panel, kind):
    """The file that the link under the share texts saves."""
    data = re.search(rf"made_up\.{kind}' href='data:[^,]*,([^']*)'", panel.face.share.value)[1]
    return base64.b64decode(data)


def test_saved_pictures_say_how_they_were_made(panel):
    panel.set(volume=21.0)
    panel.face.share_fold.button.value = True
    note = Image.open(io.BytesIO(saved(panel, "png"))).text["Comment"]
    assert note == panel.line
    assert f"<desc>{MADE_UP().alt}</desc>".encode() in saved(panel, "svg")


def test_links_are_whole_once_the_address_of_the_pages_is_given(panel):
    panel.face.share_fold.button.value = True
    panel.face.pages.value = "https://example.org/boxlab/"
    assert "https://example.org/boxlab/lessons/01-made-up.html#why" in panel.face.share.value
    panel.face.pages.value = "javascript:alert(1)"
    assert "Links stay relative" in panel.face.error.value
    assert "javascript" not in panel.face.share.value
    assert panel.face.pages.value == "javascript:alert(1)"
    panel.face.pages.value = ""
    assert panel.face.error.value == ""


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
        ("made_up(volume='14 L')", "no quotes and no unit"),
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


def test_a_bad_line_keeps_what_was_typed(panel):
    panel.face.line.value = "made_up(<b>volume</b>=3)"
    assert panel.face.line.value == "made_up(<b>volume</b>=3)"
    assert "was not used" in panel.face.error.value
    assert panel.state == MADE_UP.start
    panel.face.line.value = "volume=22"
    assert panel.state["volume"] == 22
    assert panel.face.error.value == ""


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


def test_unknown_settings_move_nothing(panel):
    with pytest.raises(ValueError, match="no setting 'size'"):
        panel.set(volume=20.0, size=3)
    assert panel.state == MADE_UP.start
