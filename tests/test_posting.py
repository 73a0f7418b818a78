"""What is pasted elsewhere is true there: both unit systems, working links, the right settings."""

import re
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from made_up import MADE_UP

from boxlab.base import both_units
from boxlab.base.units import inches, mm, to_mm
from boxlab.explainers import all_explainers, explainer
from boxlab.panel import settings_text, share_text
from boxlab.publish import lesson_rules, notebooks


@pytest.mark.parametrize(
    ("said", "both"),
    [
        ("Net 14 L.", "Net 14 L (0.49 ft³)."),
        ("It is 2 000 mm long", "It is 2 000 mm (78.7 in) long"),
        ("300 × 200 × 100 mm", "300 × 200 × 100 mm (11.8 × 7.87 × 3.94 in)"),
        ("5 to 80 L", "5 to 80 L (0.18 to 2.8 ft³)"),
        ("12 and 14 mm", "12 and 14 mm (0.47 and 0.55 in)"),
        ("moves −3 mm", "moves −3 mm (−0.12 in)"),
        ("17 m/s, 1 kg, 20 °C", "17 m/s (56 ft/s), 1 kg (2.2 lb), 20 °C (68 °F)"),
        ("160 ± 6 g of weights", "160 ± 6 g (5.64 ± 0.21 oz) of weights"),
        ("20 ± 5 °C", "20 ± 5 °C (68.0 ± 9.0 °F)"),
        ("9.9 m/s² of shaking", "9.9 m/s² (32 ft/s²) of shaking"),
        ("3, 4 and 5 mm", "3, 4 and 5 mm (0.12, 0.16 and 0.20 in)"),
        ("330 cm², 65 g", "330 cm² (51.2 in²), 65 g (2.3 oz)"),
        # no length, mass or volume; or it is there already
        ("14 in all", "14 in all"),
        ("45.0 Hz, 90 dB, 300 W", "45.0 Hz, 90 dB, 300 W"),
        ("25 mm² of copper, 0.4 mm/N, 4e-6 m³", "25 mm² of copper, 0.4 mm/N, 4e-6 m³"),
        ("14 L (0.49 ft³) and f3 40 Hz", "14 L (0.49 ft³) and f3 40 Hz"),
        ("ten-inch in 0.5 ft³", "ten-inch in 0.5 ft³"),
        # a bracket that says something else
        ("one of 14 L (grey)", "one of 14 L (0.49 ft³) (grey)"),
        ("above 17 m/s (Small), 3.3 m³", "above 17 m/s (56 ft/s) (Small), 3.3 m³ (117 ft³)"),
        ("103 mm (4.0 in to 4.1 in) wide", "103 mm (4.0 in to 4.1 in) wide"),
    ],
)
def test_sentences_get_the_other_unit(said, both):
    assert share_text.both_units(said) == both
    assert share_text.both_units(both) == both


@given(st.floats(0.1, 5000))
def test_the_number_in_inches_is_the_same_length(length):
    text = share_text.both_units(f"{length:.4g} mm".replace("e+03", "000"))
    metric, _, inch = text.partition(" mm (")
    back = to_mm(inches(float(inch.removesuffix(" in)"))))
    assert back == pytest.approx(float(metric), rel=0.051)  # two digits at least
    assert mm(back) > 0


def test_the_answer_of_the_starting_state_is_not_said_of_another():
    start = share_text.paragraph(MADE_UP, MADE_UP.start, MADE_UP(), "markdown")
    assert MADE_UP.answer in start
    state = MADE_UP.start | {"volume": 30.0}
    moved = share_text.paragraph(MADE_UP, state, MADE_UP(volume=30.0), "markdown")
    assert MADE_UP.answer not in moved
    assert "Tuning 45.0 Hz in 30 L (1.1 ft³)." in moved
    assert MADE_UP.question in moved


@pytest.mark.parametrize("style", share_text.STYLES)
def test_a_paragraph_leads_back(style):
    text = share_text.paragraph(MADE_UP, MADE_UP.start, MADE_UP(drive=9.5), style, pages="")
    line = text.rpartition("boxlab settings: ")[2].strip("`")
    line = line.removeprefix("[code]").removesuffix("[/code]")
    assert settings_text.read_settings(MADE_UP, line) == MADE_UP.start
    assert "Lesson: 01-made-up, “why”\n" in text  # a link only where it leads somewhere
    published = share_text.paragraph(MADE_UP, MADE_UP.start, MADE_UP(), style, "https://b.example")
    where = "https://b.example/lessons/01-made-up.html#why"
    links = {
        "markdown": f"[01-made-up, “why”]({where})",
        "bbcode": f"[url={where}]01-made-up, “why”[/url]",
        "plain": f"Lesson: {where}\n",
    }
    assert links[style] in published
    assert "Careful: Made-up limits reached." in text
    assert "net volume 14.0 L (0.49 ft³)" in text


def test_the_address_of_the_pages_comes_from_the_caller_or_the_environment(monkeypatch):
    monkeypatch.setenv(share_text.PAGES, "https://example.org/a")
    assert share_text.address(MADE_UP) == "https://example.org/a/lessons/01-made-up.html#why"
    assert share_text.address(MADE_UP, "https://b.example/") == (
        "https://b.example/lessons/01-made-up.html#why"
    )
    assert share_text.address(MADE_UP, "") == "lessons/01-made-up.ipynb#why"
    assert share_text.address(replace(MADE_UP, lesson="")) == ""
    assert share_text.address(replace(MADE_UP, anchor="A-(b)"), "").endswith("#A-%28b%29")


@pytest.mark.parametrize("item", all_explainers(), ids=lambda item: item.name)
def test_every_link_leads_to_its_heading(item):
    if not item.lesson:
        pytest.skip("belongs to no lesson")
    text = f"[here]({share_text.address(item, '')})"
    assert list(lesson_rules.broken_links(text, notebooks.ROOT / "README.md")) == []


@pytest.mark.parametrize(
    "text",
    ["example.org", "javascript:alert(1)", "https://a b", 'https://a"onload="x', "https://a)"],
)
def test_what_is_no_address_is_refused(text):
    with pytest.raises(ValueError, match="begins with https://"):
        share_text.checked_pages(text)
    assert share_text.checked_pages(" https://example.org/x ") == "https://example.org/x"


def test_brackets_in_alt_text_do_not_end_it():
    scene = replace(MADE_UP(), alt="Levels [dB] of \\ boxes")
    text = share_text.picture_markdown(MADE_UP, scene, "")
    assert text.startswith("![Levels \\[dB\\] of \\\\ boxes](made_up.png)\n\n*The level")


STATES = [
    (explainer, changes)
    for explainer in all_explainers()
    for changes in ({}, *explainer.presets.values())
]
# A number, and what ties it to the quantity behind it, left out of the conversion.
CUT_OFF = re.compile(r"\d\s*(?:±|\+/-|,|;|/|to|and|or|x|×|by|–|-)\s*$")


@pytest.mark.parametrize(
    ("explainer", "changes"), STATES, ids=[f"{e.name}-{i}" for i, (e, _) in enumerate(STATES)]
)
def test_no_readout_is_misread_by_the_converter(explainer, changes):
    scene = explainer(**changes)
    for words in (*scene.readout, *scene.warnings):
        for found in both_units._QUANTITY.finditer(words):
            before = words[: found.start()]
            assert not CUT_OFF.search(before), f"only part of it is converted: {words}"
            if found[2] == "g":
                assert not re.search("shak|accelerat|gravit", words), f"not a mass: {words}"
    for row in scene.numbers:
        if share_text.both_units(row.metric) != row.metric:
            assert row.imperial, f"no inch unit beside {row.name}: {row.metric}"


@pytest.mark.parametrize("item", all_explainers(), ids=lambda item: item.name)
def test_a_link_survives_being_pasted_and_the_older_one_still_leads_there(item):
    where = share_text.address(item, "https://example.org/boxlab")
    assert re.search(r"[\w/-]$", where), "sites drop punctuation from the end of an address"
    assert item.anchor in lesson_rules.anchors(notebooks.LESSONS / item.lesson)


@pytest.mark.parametrize("name", sorted({item.lesson for item in all_explainers()}))
def test_headings_with_a_question_mark_keep_the_anchors_that_people_link_to(name):
    known = lesson_rules.anchors(notebooks.LESSONS / name)
    asked = {item.anchor for item in all_explainers() if item.lesson == name}
    older = {f"{anchor}?" for anchor in asked} & known
    assert {anchor.rstrip("?") for anchor in older} <= known
    assert len(older) >= len(asked) - 3  # nearly all are questions


@pytest.mark.parametrize("item", all_explainers(), ids=lambda item: item.name)
def test_forty_words_hold_whose_gear_the_number_and_the_link(item):
    scene = item()
    text = share_text.in_short(item, scene, pages="https://b.example")
    first, *cautions = text.split("\n")
    assert len(first.split()) <= share_text.SHORT
    assert share_text.AMOUNT.search(first.partition("More: ")[0])
    assert first.endswith(share_text.address(item, "https://b.example"))
    assert ("the invented gear of a class" in first) == (scene.gear != "")
    assert len(cautions) == len(scene.warnings) + len(scene.cautions)


def test_a_published_answer_links_to_the_page_where_it_moves_in_that_state():
    item = explainer("recoil")
    state = item.start | {"fb": 40.0}
    scene = item(**state)
    wanted = "https://b.example/q/recoil.html#fb=40"
    assert wanted in share_text.in_short(item, scene, pages="https://b.example", state=state)
    assert wanted in share_text.paragraph(item, state, scene, pages="https://b.example")
    assert "/q/" not in share_text.paragraph(item, state, scene, pages="")


def test_the_published_pages_are_not_linked_for_a_box_of_ones_own():
    item = explainer("recoil")
    own = replace(item(), gear="Gear: somebody's own.")
    assert share_text.live_address(item, item.start, own, "https://b.example") == ""
