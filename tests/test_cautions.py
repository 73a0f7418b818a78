"""Each caution has one home, and stands wherever a number can hurt: panel, picture, text, paper."""

import json
import re
from pathlib import Path

import numpy as np
import pytest

from boxlab.base.cautions import CAUTIONS, words
from boxlab.draw import figures
from boxlab.draw.stage.state import Pool
from boxlab.draw.stage.state import state as made
from boxlab.explainers import all_explainers, explainer
from boxlab.panel import share_text
from boxlab.publish import question_index
from boxlab.publish.workshop import papers
from boxlab.quiz.exercises import all_exercises
from boxlab.sound.hearing import weighting

ROOT = Path(__file__).resolve().parents[1]

# where a number can hurt, and what has to be said there
PLACES = {
    "cable_and_fuse": ("supply", "far battery", "split", "licence"),
    "what_a_weak_supply_costs": ("supply", "licence"),
    "what_dba_hides": ("hearing",),
    "how_long_is_allowed": ("hearing",),
    "how_long_at_this_box": ("hearing",),
    "recoil": ("loose box",),
    "gap_to_volume": ("workshop", "loose box"),
    "does_it_go_in": ("workshop", "loose box"),
    "builds_for_the_gap": ("workshop", "loose box"),
    "brace_and_fill": ("workshop",),
    "meter_on_music": ("live output",),
    "coil_wiring": ("low load",),
    "unequal_inputs": ("sound card", "test signal"),
    "one_behind_the_other": ("live output", "hot coil"),
    "what_equalisation_costs": ("boost",),
    "what_heat_takes": ("hot coil", "hot wiring", "loud"),
}
# on the hand-over sheet; tests/test_sheet.py looks for them
SHEET = (
    "loud",
    "live output",
    "supply",
    "far battery",
    "split",
    "licence",
    "workshop",
    "loose box",
)
LESSONS = {
    "03-size-efficiency-extension": ("boost",),
    "04-how-much-radiator": ("loose box",),
    "05-reading-a-sweep": ("live output",),
    "06-fitting-the-space": ("workshop", "loose box"),
    "07-power-and-wiring": ("supply", "far battery", "split", "licence", "live output"),
    "08-in-the-car": ("loose box",),
    "09-how-loud-how-long": ("hearing", "peak"),
    "11-a-box-comes-in": SHEET,
    "12-measure-it-yourself": ("sound card", "test signal", "live output", "loud"),
}

IN_CLASS = ("class sound", "class weights", "class wiring", "class dust")
WORKSHOP = {  # pages for instructors
    "README.md": (*IN_CLASS, "class hands", "loose box"),
    "two-hour-class.md": IN_CLASS,
    "half-day.md": IN_CLASS,
    "four-evenings.md": IN_CLASS,
}


def shown(item):
    """Every form in which somebody may meet an answer, by what it is called."""
    scene, state = item(), item.start
    return {
        "panel": " ".join(made(scene, Pool(), [])["c"]),
        "command line": "\n".join(question_index.facts(item, state, scene)),
        "Markdown": share_text.paragraph(item, state, scene, "markdown"),
        "BBCode": share_text.paragraph(item, state, scene, "bbcode"),
        "in short": share_text.in_short(item, scene),
        "plain text": share_text.paragraph(item, state, scene),
        "index of pictures": question_index.entry(item, scene),
        "SVG": share_text.render(scene, "svg").decode(),
        "PNG": " ".join(text.get_text() for text in figures.footed(scene).texts),
    }


def plain(text):
    """Words alone: no markup, no line breaks."""
    text = re.sub(r"</?[a-z][^>]*>", " ", text).replace("&#x27;", "'").replace("&quot;", '"')
    return re.sub(r"[\s*]+", " ", text)


@pytest.mark.parametrize("name", PLACES)
def test_the_caution_stands_where_the_number_does(name):
    item = explainer(name)
    for form, text in shown(item).items():
        for caution in words(*PLACES[name]):
            inside = re.search(r"<desc>(.*?)</desc>", text, re.S)[1] if form == "SVG" else text
            assert caution in plain(inside), f"{name}, {form}"


def test_no_other_picture_has_cautions_and_each_caution_is_used():
    assert {item.name for item in all_explainers() if item().cautions} == set(PLACES)
    places = (*PLACES.values(), *LESSONS.values(), *WORKSHOP.values(), SHEET)
    used = {name for names in places for name in names}
    assert used == set(CAUTIONS)


@pytest.mark.parametrize("name", LESSONS)
def test_the_lesson_says_it_in_the_same_words(name):
    notebook = json.loads((ROOT / f"lessons/{name}.ipynb").read_text(encoding="utf-8"))
    text = "\n".join("".join(c["source"]) for c in notebook["cells"])
    for caution in words(*LESSONS[name]):
        assert caution in text


def test_no_lesson_tells_to_go_by_nose_or_ear():
    for path in sorted((ROOT / "lessons").glob("*.ipynb")):
        cells = json.loads(path.read_text(encoding="utf-8"))["cells"]
        text = plain("\n".join("".join(cell["source"]) for cell in cells))
        assert not re.search(r"by (the )?(smell|nose)|rais\w+ (it )?by (the )?ear", text, re.I), (
            path
        )


@pytest.mark.parametrize("name", WORKSHOP)
def test_instructors_read_it_in_the_same_words(name):
    text = (ROOT / "lessons/workshop" / name).read_text(encoding="utf-8")
    heed = plain(text.partition("\n## Cautions\n")[2].partition("\n## ")[0])
    for caution in words(*WORKSHOP[name]):
        assert caution in heed


def test_a_caution_is_written_in_one_home():
    rooms = {path: path.read_text(encoding="utf-8") for path in (ROOT / "boxlab").rglob("*.py")}
    for caution in CAUTIONS.values():
        for sentence in caution.split(". "):
            start = sentence.removeprefix("The ").rstrip(".")[:34]
            at = [path.name for path, text in rooms.items() if start in re.sub(r'"\s+"', "", text)]
            assert at == ["cautions.py"], start


def printed_lists():
    """Python that prints a list to saw by: cells of the lessons, and what a panel gives to copy."""
    for path in sorted((ROOT / "lessons").glob("*.ipynb")):
        for cell in json.loads(path.read_text(encoding="utf-8"))["cells"]:
            text = "".join(cell["source"])
            if cell["cell_type"] == "code" and "cut_list(" in text:
                yield text
    yield from (item().code for item in all_explainers() if "cut_list(" in item().code)


def test_a_printed_cut_list_ends_with_its_caution():
    found = list(printed_lists())
    assert len(found) >= 2
    for text in found:
        assert text.rstrip().splitlines()[-1].startswith('print("Caution:", *words("workshop")')


@pytest.mark.parametrize("topic", papers.CAUTIONS)
def test_a_worksheet_has_the_cautions_of_its_topic(topic, tmp_path):
    tasks = [e for e in all_exercises() if e.key.startswith(f"{topic}/")]
    assert tasks
    papers.write(tmp_path / "sheets", ["ada"], tasks)
    text = plain((tmp_path / "sheets/worksheets.html").read_text(encoding="utf-8"))
    for caution in words(*papers.CAUTIONS[topic]):
        assert caution in text


@pytest.mark.parametrize(("frequency", "level"), [(40, 140), (45, 138), (1000, 137)])
def test_no_time_is_granted_past_the_peak_limit(frequency, level):
    scene = explainer("what_dba_hides")(frequency=frequency, level=level)
    said = " ".join([*scene.readout, *(n.metric for n in scene.numbers)])
    assert "no time at all" in said.lower()
    assert not re.search(r"allow \d|\d min|\d h\b", said)
    assert words("peak")[0] in scene.cautions


def test_no_curve_grants_time_above_the_ceiling():
    for line in explainer("how_long_is_allowed")().plots[0].lines:
        np.testing.assert_array_equal(np.isfinite(line.y), line.x <= 115)


@pytest.mark.parametrize("level", [120, 136, 140])
def test_no_curve_grants_time_to_a_tone_past_the_limits(level):
    by_rule, by_dbc = explainer("what_dba_hides")(level=level).plots[1].lines
    granted = (level + weighting(by_rule.x) <= 115) & (level + 10 * np.log10(2) < 140)
    np.testing.assert_array_equal(np.isfinite(by_rule.y), granted)
    assert np.isfinite(by_dbc.y).any() == (level < 137)


def test_a_caution_that_is_not_there_is_named():
    with pytest.raises(ValueError, match="no caution is called 'dragons'"):
        words("dragons")
