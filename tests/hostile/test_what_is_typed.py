"""Numbers and lines that a learner may type: taken as they are meant, or refused in words."""

import math
from pathlib import Path

import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st
from page_side import Page

from boxlab.base import checks
from boxlab.draw.scene import Choice
from boxlab.explainers import all_explainers, explainer
from boxlab.panel import settings_text
from boxlab.panel.live_panel import Panel
from boxlab.publish import pictures
from boxlab.quiz.answers import MARKS, judge
from boxlab.quiz.task import learner_seed

HERE = Path(__file__).parent
LINES = (HERE / "settings_lines.txt").read_text(encoding="utf-8").splitlines()
NUMBERS = (HERE / "typed_numbers.txt").read_text(encoding="utf-8").splitlines()
ITEMS = all_explainers()
quick = settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])
typed = st.text(max_size=60) | st.sampled_from(LINES + NUMBERS)
huge = st.sampled_from([10**308, 10**309, -(10**400), 10**4299, 10**5000, -(10**6000), 2**1024])
numbers = st.floats() | st.integers() | huge


def within(item, state):
    """Every setting is one that its control can have."""
    for control in item.controls:
        if control.name not in state:
            continue
        value = state[control.name]
        if isinstance(control, Choice):
            assert value in control.options
        else:
            assert math.isfinite(value) and control.low <= value <= control.high
    assert set(state) <= set(item.start)


def taken_or_refused(item, line):
    """A settings line sets what its controls can have, or is refused in words."""
    try:
        state = settings_text.read_settings(item, line)
    except ValueError as refusal:
        assert len(str(refusal)) > 20
    else:
        within(item, state)


@pytest.mark.parametrize("line", LINES)
def test_hostile_lines_set_nothing_out_of_range(line):
    taken_or_refused(explainer("first_experiment"), line)


@quick
@given(st.sampled_from(ITEMS), st.data())
def test_any_value_for_any_setting_of_any_panel(item, data):
    name = data.draw(st.sampled_from([*item.start, "size"]))
    value = data.draw(st.floats() | st.integers() | st.booleans() | typed | st.just(10**800))
    taken_or_refused(item, f"{settings_text.call_name(item)}({name}={value!r})")


@quick
@given(st.sampled_from(ITEMS), st.data())
def test_any_number_for_any_setting_from_python(item, data):
    name = data.draw(st.sampled_from([*item.start]))
    value = data.draw(numbers | st.none() | st.binary() | st.text() | st.just("x" * 10**6))
    try:
        state = settings_text.checked(item, {name: value})
    except ValueError as refusal:
        assert name in str(refusal) and len(str(refusal)) < 1000
        assert "digits" not in str(refusal) or abs(value) >= 2**1024
    else:
        within(item, state)


@quick
@given(st.sampled_from([checks.number, checks.positive, checks.not_negative]), numbers)
def test_any_number_for_a_part_of_a_box(check, value):
    try:
        clean = check("volume", value, hint="Volume is in m³.")
    except ValueError as refusal:
        assert "volume" in str(refusal) and "Volume is in m³." in str(refusal)
    else:
        assert clean == pytest.approx(value, rel=1e-12) and math.isfinite(clean)


DIGITS = st.characters(categories=["Nd", "Nl", "No"])
ROWS = st.text(DIGITS | st.sampled_from("0123456789.,-+eE×^*/ ½'_()"), max_size=40)


@quick
@given(ROWS | st.builds("{}{}".format, st.integers(0, 9), ROWS), st.sampled_from(["Hz", "", "in"]))
@example("1e999", "")
@example("-1e999 Hz", "Hz")
@example("1" * 200, "Hz")
@example("9" * 200 + "/" + "1", "")
@example("1/" + "9" * 198, "")
@example("1e308 1/1", "")
@example("٤٥٫٢", "Hz")
@example("４５，２", "Hz")
@example("²³", "")
@example("10^" + "9" * 50, "")
@example("1" * 10**6, "Hz")
def test_any_digits_get_a_verdict(text, unit):
    verdict = judge(text, 45.0, unit)
    assert verdict.kind in MARKS and verdict.message
    assert verdict.value is None or math.isfinite(verdict.value)


@quick
@given(st.sampled_from(ITEMS), typed, typed)
def test_any_text_behind_set_on_the_command_line(item, left, right):
    for text in (left, f"{left}={right}", f"{next(iter(item.start))}={right}"):
        try:
            state = pictures.settings(item, [text])
            item_state = settings_text.checked(item, state)
        except ValueError as refusal:
            assert len(str(refusal)) > 20
        else:
            within(item, item_state)


@quick
@given(typed)
@example("../scenes/first_experiment")
@example("boxlab")
@example("_shared")
@example("os")
def test_any_name_of_a_picture(name):
    try:
        found = explainer(name)
    except ValueError as refusal:
        assert "no picture is called" in str(refusal)
    else:
        assert found in ITEMS


@pytest.fixture(scope="module")
def panel():
    return Panel(explainer("first_experiment"))


@settings(max_examples=40, deadline=None)
@given(st.floats() | st.sampled_from([math.nan, math.inf, -math.inf, 1e308, -0.0, 5e-324]))
def test_any_number_typed_beside_a_slider(panel, value):
    """It lands, or the box keeps it, the panel says why and stays as it was."""
    control = next(c for c in panel.explainer.controls if c.name == "volume")
    before, text = panel.state, repr(value)
    wrong = Page(panel).type("volume", text)
    assert panel.fault is None
    within(panel.explainer, panel.state)
    if control.low <= value <= control.high:
        assert panel.state[control.name] == pytest.approx(value, rel=1e-9, abs=1e-12)
    else:
        assert wrong
        assert panel.state == before
        assert panel.line == settings_text.settings_line(panel.explainer, before)
    panel.reset()


@quick
@given(typed)
def test_any_text_typed_beside_a_slider(panel, text):
    before = panel.state
    wrong = Page(panel).type("volume", text)
    assert panel.fault is None
    within(panel.explainer, panel.state)
    if wrong:
        assert panel.state == before
    panel.reset()


@pytest.mark.parametrize("text", NUMBERS)
@pytest.mark.parametrize("unit", ["Hz", "", "dB", "in"])
def test_hostile_answers_get_a_verdict(text, unit):
    verdict = judge(text, 45.0, unit)
    assert verdict.kind in MARKS and verdict.message
    assert verdict.value is None or math.isfinite(verdict.value)


@quick
@given(st.text(max_size=80))
@example("\ud800")
@example("x" * 100_000)
def test_any_word_gives_numbers_that_are_always_the_same(word):
    seed = learner_seed(word)
    assert seed == learner_seed(f" {word}\t") and len(seed) == 16 and seed.isascii()
