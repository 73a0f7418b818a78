"""Worksheets and keys: learners find what they need on the sheet, instructors in the key."""

import re
from dataclasses import replace

import pytest
from by_hand import all_worked

from boxlab.__main__ import main
from boxlab.base.quantities import find_unit
from boxlab.publish.workshop import runsheet
from boxlab.quiz import answer_key, inch_units, worksheet
from boxlab.quiz.exercises import all_exercises
from boxlab.quiz.on_paper import EXAMPLE, in_unit, slips
from boxlab.quiz.round_inches import sayer

ON_SHEETS = sorted({key for s in runsheet.sheets() for row in s.rows for key in row.papers})
UNITS = "|".join(sorted(map(re.escape, inch_units.INSTEAD), key=len)[::-1])
METRIC = re.compile(
    rf"\d ?\**(?:{UNITS})(?![\w²³/])|\d ?\**L/s|in cm|"
    r"\b(?:deci|centi|milli)?(?:metre|litre|gram)s?\b"
)
# where levels are stated in every country; what a formula takes, which the sheet says
STAY = re.compile(r"\b1 m\b|(?:metres a second|all in metres, square metres and cubic metres)")


@pytest.mark.parametrize("item", all_exercises(), ids=lambda item: item.key)
@pytest.mark.parametrize("inch", [False, True])
def test_a_sheet_carries_formulas_units_and_an_example(item, inch):
    asked, mark, example = worksheet([item], "ada", inch).partition(EXAMPLE)
    for step in item.blanks:
        unit = inch_units.unit(step.symbol) if inch else step.symbol
        blank = f"{step.label}: ____________ {unit}".rstrip()
        assert (f"- {blank}, by `{step.formula}`" if step.formula else f"- {blank}") in asked
    assert mark and len(example) > 80
    if item.key == "port-or-radiator/weights":
        assert ("1 oz = 0.02835 kg" in asked) == inch  # formulas take SI


@pytest.mark.parametrize("item", all_exercises(), ids=lambda item: item.key)
def test_an_example_never_has_the_learners_numbers(item):
    for word in ("demo", "walnut"):
        shown = item.prompt(item.numbers(word))
        assert worksheet([item], word).count(shown) == 1


@pytest.mark.parametrize("item", all_exercises(), ids=lambda item: item.key)
def test_nothing_metric_is_left_where_inches_are_chosen(item):
    for word in ("ada", "ben"):
        asked, _, example = worksheet([item], word, inch=True).partition(EXAMPLE)
        for text in (asked, example.partition("\n\n")[0], answer_key([item], word, inch=True)):
            text = STAY.sub("", re.sub(r"^Formulas take.*", "", text, flags=re.M))
            assert METRIC.findall(text) == []


def test_an_example_in_inches_goes_into_si_and_back():
    item = next(each for each in all_exercises() if each.key == "port-or-radiator/weights")
    _, _, example = worksheet([item], "ada", inch=True).partition(EXAMPLE)
    for inch, si, unit in re.findall(r"([\d.]+) \S+ = ([\d.  ]+) (m³|m²|kg|m/N|Pa)", example):
        there = re.search(rf"{re.escape(inch)} (\S+) = {re.escape(si)} {unit}", example)[1]
        size = find_unit(there).size
        assert float(inch) * size == pytest.approx(float(re.sub(r"[  ]", "", si)), rel=6e-4)
    assert example.count(" = 0.1 kg") == 1  # a mass that the formulas take in kilograms
    for step in item.blanks:
        assert re.search(rf"{step.label} [\d.]+ {inch_units.unit(step.symbol)}", example)


@pytest.mark.parametrize("item", all_exercises(), ids=lambda item: item.key)
def test_a_sheet_says_what_its_formulas_take(item):
    """Minutes asked for, seconds out of the formula: the sheet has to say so."""
    if any(find_unit(step.symbol).size != 1 for step in item.blanks):
        assert "Formulas take and give m, m², m³, kg, s" in worksheet([item], "ada")


@pytest.mark.parametrize("item", all_exercises(), ids=lambda item: item.key)
def test_what_the_key_says_in_inches_is_right_in_the_lesson(item):
    numbers = item.numbers("ada")
    for place, step in enumerate(item.blanks):
        said = in_unit(step, float(step.answer(numbers)), True)
        assert item.check(said, numbers, place).right, said


@pytest.mark.parametrize("item", all_exercises(), ids=lambda item: item.key)
def test_no_number_of_a_key_is_both_right_and_a_slip(item):
    numbers = item.numbers("ada")
    key = answer_key([item], "ada")
    for place, step in enumerate(item.blanks):
        right, off = float(step.answer(numbers)), step.allowed(numbers)
        low, high = in_unit(step, right - off, False), in_unit(step, right + off, False)
        assert f"- {step.label}: **{step.right(numbers)}**; from {low} to {high} counts" in key
        for say, wrong in slips(step, numbers):
            assert f"{in_unit(step, wrong, False)} under “{step.label}” means: {say}" in key
            assert not right - off <= wrong <= right + off
            assert not item.check(in_unit(step, wrong, False), numbers, place).right
    for count, hint in enumerate(item.three_hints(numbers), 1):
        assert f"{count}. {hint}" in key


def test_texts_in_inches():
    assert inch_units.text("m = 0.145 kg (0.32 lb), **76.45 g** and 1 200 × 300 mm.") == (
        "m = 0.3197 lb, **2.697 oz** and 47.24 × 11.81 in."
    )
    assert inch_units.text("2 × 300 cm² × 23 mm") == "2 × 46.5 in² × 0.9055 in"
    assert (
        inch_units.text("4 AWG at 60 Hz, 3 W, f3 40 Hz (low)")
        == "4 AWG at 60 Hz, 3 W, f3 40 Hz (low)"
    )
    assert inch_units.value(175.1268, "N/m") == pytest.approx(1.0, rel=1e-6)
    assert find_unit("lb/in") is find_unit("lbf/in") is not None


def test_the_verb_prints_inches(tmp_path):
    order = ["worksheet", "--learners", "ada", "--for", "two-hour-class", "--units", "inch"]
    assert main([*order, "--to", str(tmp_path / "out")]) == 0
    for name in ("worksheets.html", "key.html"):
        text = (tmp_path / "out" / name).read_text(encoding="utf-8")
        assert " oz" in text and "lbf/in" in text


def off_on_the_sheet(item, word):
    """How far a learner who works with the sheet's round inches is off: of what still counts."""
    numbers = item.numbers(word)
    exact = list(inch_units.quantities(item.prompt(numbers)))
    say = sayer(item, numbers)
    letters = dict(item.letters(numbers)) if item.letters else {}
    for plain, symbol in exact:
        in_si, in_inches = find_unit(symbol).into_si(plain), inch_units.value(plain, symbol)
        shown = say(f"{plain:.12g} {symbol}").partition(" ")[0]
        for name, value in letters.items():
            if isinstance(value, int | float) and value == pytest.approx(in_si, rel=1e-9):
                letters[name] = value * float(shown.replace(" ", "")) / in_inches
    off, turned = [], replace(item, letters=lambda _: letters)
    for step, value in zip(item.blanks, all_worked(turned, numbers), strict=True):
        if value is not None:
            by_hand = find_unit(step.unit).from_si(value)
            off.append(abs(by_hand - step.answer(numbers)) / step.allowed(numbers))
    return off


@pytest.mark.parametrize("item", all_exercises(), ids=lambda item: item.key)
def test_round_inches_lead_to_what_counts_in_the_lesson(item):
    for word in ("ada", "ben", "demo", "walnut", "birch", "kay"):
        assert all(each < 0.95 for each in off_on_the_sheet(item, word)), word


def test_inches_on_a_sheet_are_round_where_that_hardly_matters():
    (item,) = (each for each in all_exercises() if each.key == "port-or-radiator/weights")
    asked, _, _ = worksheet([item], "ada", inch=True).partition(EXAMPLE)
    assert "to tune 0.53 ft³" in asked and "Sd = 54.3 in²" in asked


def test_factors_into_si_stand_once_on_a_sheet():
    sheet = worksheet(all_exercises(), "ada", inch=True)
    assert sheet.count("1 oz = 0.02835 kg") == 1 < sheet.count(" oz")
