"""Reading what people type, and saying how an answer is off."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from boxlab.base.quantities import UNITS, digits, find_unit
from boxlab.base.typed_values import LONGEST, UnreadableError, read
from boxlab.quiz.answers import MARKS, judge

ALL = [unit for units in UNITS.values() for unit in units]


@pytest.mark.parametrize(
    ("text", "value", "symbol"),
    [
        ("45,2", 45.2, None),
        ("45.2 Hz", 45.2, "Hz"),
        ("0.5 ft3", 0.5, "ft³"),
        ("14 L", 14, "L"),
        ("14l", 14, "L"),
        ("1e-3", 1e-3, None),
        ("2×10⁻³ m²", 2e-3, "m²"),
        ("2 x 10^-3 m^2", 2e-3, "m²"),
        ("10^-3", 1e-3, None),
        ("1.234,5", 1234.5, None),
        ("1,234.5", 1234.5, None),
        ("1 234,5 mm", 1234.5, "mm"),
        ("1½ in", 1.5, "in"),
        ('10-1/4"', 10.25, "in"),
        ("6 ft 3 in", 6.25, "ft"),
        ("2 lb 8 oz", 2.5, "lb"),
        ("12 sq. in.", 12, "in²"),
        ("0.5 cubic feet", 0.5, "ft³"),
        ("−3 dB", -3, "dB"),
        ("103.5 dBA", 103.5, "dB"),
        ("103,5 dB(A)", 103.5, "dB"),
        ("2:1", 2, None),
        ("about 12 %", 12, "%"),
        ("fb = 45 HZ", 45, "Hz"),
        ("3 ohms", 3, "Ω"),
        ("5 Pa·s²/m³", 5, "kg/m⁴"),
    ],
)
def test_reads_what_people_write(text, value, symbol):
    reading = read(text)
    assert reading.value == pytest.approx(value, rel=1e-12)
    assert (reading.unit and reading.unit.symbol) == symbol


@pytest.mark.parametrize(
    ("text", "word"),
    [
        ("", "Nothing typed"),
        ("  ", "Nothing typed"),
        ("about fifty", "no number"),
        ("nan", "no number"),
        ("inf Hz", "no number"),
        ("1e999", "too large"),
        ("40-50 Hz", "more than one"),
        ("5 ± 1", "more than one"),
        ("1.2.3", "which number"),
        ("1/0", "divides by zero"),
        ("4 zorks", '"zorks"'),
        ("9" * (LONGEST + 1), "very long"),
        ("9" * LONGEST, None),
    ],
)
def test_nonsense_gets_a_clear_word(text, word):
    if word is None:
        assert read(text).value == pytest.approx(1e200)
        return
    with pytest.raises(UnreadableError, match=word):
        read(text)


def test_a_thousands_comma_is_read_both_ways():
    assert judge("1,234", 1.234, "kg").right
    verdict = judge("1,234", 1234, "g")
    assert verdict.right
    assert verdict.value == 1234
    assert "1234" in verdict.message


@given(st.text(max_size=300))
def test_any_text_gets_a_verdict(text):
    verdict = judge(text, 45.2, "Hz")
    assert verdict.kind in MARKS
    assert str(verdict).strip()


@given(st.text(alphabet="0123456789.,' -+/:eE×x*^=~()\"%mftinHzdBL²³½⁻", max_size=40))
def test_text_that_is_nearly_a_number_gets_a_verdict(text):
    for unit in ("Hz", "ft³", "dB", "°", "", "m"):
        assert str(judge(text, 3.0, unit))


sensible = st.floats(1e-6, 1e6).map(lambda x: float(f"{x:.6g}"))


@given(answer=sensible, negative=st.booleans(), comma=st.booleans(), data=st.data())
def test_the_right_answer_passes_in_any_unit_of_its_kind(answer, negative, comma, data):
    asked = data.draw(st.sampled_from(ALL))
    given_unit = data.draw(st.sampled_from(UNITS[asked.kind]))
    answer = -answer if negative else answer
    typed = f"{given_unit.from_si(asked.into_si(answer)):.12g}"
    if comma:
        typed = typed.replace(".", ",")
    if given_unit.symbol or asked.symbol == "":
        text = f"{typed} {given_unit.symbol}"
        assert judge(text, answer, asked.symbol, absolute=1e-5 * abs(answer)).right
    assert judge(f"{answer:.8g}", answer, asked.symbol, absolute=1e-5 * abs(answer)).right


@given(answer=sensible, asked=st.sampled_from(ALL))
def test_printed_answers_are_accepted_back(answer, asked):
    assert judge(
        f"{digits(answer)} {asked.symbol}", answer, asked.symbol, absolute=answer / 50
    ).right


@given(answer=sensible, data=st.data())
def test_digits_of_another_unit_are_recognised(answer, data):
    asked = data.draw(st.sampled_from([u for u in ALL if len(UNITS[u.kind]) > 1]))
    others = [
        u
        for u in UNITS[asked.kind]
        if abs(math.log(u.size / asked.size)) > 0.05 and u.zero == asked.zero
    ]
    if not others or asked.kind == "angle":
        return
    other = data.draw(st.sampled_from(others))
    typed = f"{other.from_si(asked.into_si(answer)):.8g}"
    verdict = judge(typed, answer, asked.symbol, tolerance=0.01)
    assert verdict.kind == "slip"
    assert f"right in {other.symbol or 'plain numbers'}" in verdict.message or any(
        f"right in {u.symbol}" in verdict.message
        for u in others
        if abs(math.log(u.size / other.size)) < 0.03
    )


@pytest.mark.parametrize(
    ("text", "answer", "unit", "words"),
    [
        ("350", 0.035, "m²", "right in cm²"),
        ("350 m²", 0.035, "m²", "right in cm², not in m²"),
        ("3.5", 0.035, "m²", "squared"),
        ("14.16", 0.5, "ft³", "right in L"),
        ("0.5", 14.16, "L", "right in ft³"),
        ("0.014", 14, "L", "right in m³"),
        ("1400", 14, "mL", "not cubed"),
        ("254", 10, "in", "right in mm"),
        ("20", 10, "mm", "peak-to-peak for one way"),
        ("5", 10, "mm", "one way for peak-to-peak"),
        ("0.1414", 0.1, "m/s", "peak value for an rms"),
        ("7.07", 10, "V", "rms value for a peak"),
        ("28.28", 10, "V", "peak-to-peak for rms"),
        ("4", 1, "W", "four times"),
        ("283", 45, "Hz", "right in rad/s"),
        ("6.283", 1, "ms", "2π"),
        ("0.02533", 1, "g", "(2π)²"),
        ("-5", 5, "mm", "sign"),
        ("12", 0.12, "", "right in %"),
        ("0.12", 12, "%", "right in plain numbers"),
        ("4.5 kHz", 4.5, "Hz", "not in kHz"),
        ("3000", 3, "N", "decimal point"),
        ("2", 0.5, "", "upside down"),
        ("12", 6, "dB", "10·log10"),
        ("20", 40, "dB", "20·log10"),
        ("96", 90, "dB", "6 dB too high"),
        ("87", 90, "dB", "3 dB too low"),
        ("-20", 20, "dB", "sign"),
        ("90", -90, "deg", "which of the two leads"),
        ("270", -90, "deg", "whole turn"),
        ("-85", 95, "deg", "half a turn"),
        ("1.571", 90, "deg", "right in rad"),
    ],
)
def test_slips_are_named(text, answer, unit, words):
    verdict = judge(text, answer, unit)
    assert verdict.kind == "slip"
    assert words in verdict.message


@pytest.mark.parametrize(
    ("text", "answer", "unit", "kind"),
    [
        ("46.2", 45, "Hz", "near"),
        ("91.2", 90, "dB", "near"),
        ("94", 90, "deg", "near"),
        ("45 mm", 45, "Hz", "kind"),
        ("45 %", 45, "Hz", "kind"),
        ("117", 45, "Hz", "off"),
        ("-117", 45, "Hz", "off"),
        ("0", 45, "Hz", "off"),
        ("what?", 45, "Hz", "unclear"),
        ("90.4", 90, "dB", "right"),
        ("91.9", 90, "deg", "right"),
        ("45.8", 45, "Hz", "right"),
    ],
)
def test_kinds_of_verdict(text, answer, unit, kind):
    assert judge(text, answer, unit).kind == kind


def test_the_slips_of_the_question_come_first():
    slips = [("You left out the suspension.", 20.0)]
    assert judge("20.1", 10, "g", slips=slips).message == "You left out the suspension."
    slips = [("first", 20.0), ("second", 20.2)]
    assert judge("20.2", 10, "g", slips=slips).message == "second"
    assert judge("10.1", 10, "g", slips=[("too close to tell", 10.15)]).right


def test_an_answer_that_nothing_could_match_is_refused():
    with pytest.raises(ValueError, match="give absolute"):
        judge("0", 0.0, "mm")
    assert judge("0,001", 0.0, "mm", absolute=0.01).right
    with pytest.raises(ValueError, match="finite"):
        judge("0", math.nan, "mm")
    with pytest.raises(ValueError, match="zork"):
        judge("0", 1.0, "zork")


def test_unit_sizes_agree_with_the_library():
    from boxlab.base import units

    for symbol, convert in (
        ("L", units.litres),
        ("ft³", units.cubic_feet),
        ("in³", units.cubic_inches),
        ("in", units.inches),
        ("ft", units.feet),
        ("cm²", units.cm2),
        ("in²", units.square_inches),
        ("g", units.grams),
        ("oz", units.ounces),
        ("lb", units.pounds),
        ("mH", units.mh),
        ("mm/N", units.mm_per_newton),
    ):
        assert find_unit(symbol).size == pytest.approx(convert(1.0), rel=1e-12)


def test_every_unit_is_found_by_its_own_symbol():
    for unit in ALL:
        assert find_unit(unit.symbol) == unit


@pytest.mark.parametrize("factor", [1e-6, 1e-3, 0.3, 3.0, 1e3, 1e6])
def test_a_slip_of_any_size_is_known_when_rounded(factor):
    slips = [("Forgot the square.", 37.31 * factor)]
    verdict = judge(f"{37.3 * factor:.4g}".replace("e", "E"), 37.31, "Hz", slips=slips)
    assert str(verdict) == "✗ Not yet. Forgot the square."
    far = judge(f"{39.0 * factor:.4g}", 37.31, "Hz", slips=slips)
    assert "square" not in far.message
