"""What the words of the hand-over sheet say beside a number, so that it can be understood."""

import base64
import html
import re
from dataclasses import replace
from functools import partial
from pathlib import Path

import numpy as np
import pytest
from any_job import job_of
from test_own_gear import TWELVE

from boxlab.gear.job_stops import full_power
from boxlab.model.response import solve
from boxlab.publish.sheet import page, parts

SUPPLY = '[supply]\nvoltage = "13.0 V"\nresistance = "30 mΩ"\n'
ALL_TOLD = 'rated_at = "13.8 V"\nregulated = "no"\nefficiency = "75 %"\n'
LEAVES = "what the supply leaves of it"


@pytest.fixture
def job(tmp_path):
    return partial(job_of, tmp_path)


def part_of(job, title):
    return next(part for part in parts(job) if part.title == title)


def rows_of(job, title):
    return {row.name: row for row in part_of(job, title).rows}


def ends(row):
    return [float(each) for each in re.findall(r"[\d.]+", row.metric)]


def test_what_the_supply_leaves_has_the_range_of_what_is_assumed_of_the_amplifier(job):
    """By hand: V = V0 - R·P/(η·V) if the rails are held, with P as rated; else P falls with V²."""
    row = rows_of(job(TWELVE + SUPPLY), "What stops it first")[LEAVES]
    assert row.how == "assumed"
    low, high = ends(row)
    volts = 13.0
    for _ in range(200):
        volts = 13.0 - 0.030 * 300 * (volts / 13.8) ** 2 / 0.75 / volts
    assert low == pytest.approx(300 * (volts / 13.8) ** 2, abs=1)
    assert high == pytest.approx(300, abs=1)  # held: what is rated, from more current
    for words in ("rails that follow the supply", "rated at 13.8 V", "75 %", "regulated"):
        assert words in row.note
    travel = rows_of(job(TWELVE + SUPPLY), "What stops it first")[TRAVEL]
    assert ends(travel)[1] > ends(travel)[0]


def test_what_the_job_says_of_its_amplifier_is_not_called_assumed(job):
    text = (TWELVE + SUPPLY).replace("[amplifier]\n", f"[amplifier]\n{ALL_TOLD}")
    row = rows_of(job(text), "What stops it first")[LEAVES]
    assert row.how == "computed" and len(ends(row)) == 1 and "assumed" not in row.note
    held = rows_of(job(text.replace('"no"', '"yes"')), "What stops it first")[LEAVES]
    assert ends(held) == [pytest.approx(300, abs=1)]


TRAVEL = "largest cone travel at full power"


def test_one_setting_for_the_band_and_one_tone_turned_up_are_told_apart(job):
    """With a high-pass the two differ: 25 Hz is held back at the one, and not at the other."""
    strong = TWELVE.replace('"300 W"', '"600 W"').replace('ohm" = "500', 'ohm" = "960')
    mine = job(strong + '[filters]\nhigh_pass = "35 Hz"\nhigh_pass_order = "4"\n')
    part = part_of(mine, "What stops it first")
    row = {each.name: each for each in part.rows}[TRAVEL]
    assert "Hz" in row.note and "one volume setting for the whole band" in row.note
    told = [words for words in part.words if "steady tone" in words and " Hz" in words]
    assert all("turned up by itself" in words for words in told)
    cone = [words for words in told if "the cone" in words]
    assert cone and max(ends(row)) < 1e3 * float(mine.driver.xmax)  # both are so, of one box
    full = full_power(mine)
    alone = np.min([volts[0] for volts in full.first.ceiling.voltages.values()])  # lowest tone
    assert alone > 1.2 * full.setting  # turned up beyond the setting of the whole band
    assert any("beyond that setting" in words for words in part.words)


def test_the_corner_names_the_level_that_it_is_below(job):
    """By two solved levels, without the coil's inductance: far above the tuning, and at f3."""
    mine = job(TWELVE)
    found = rows_of(mine, "What it does")["3 dB below its own flat level, outdoors"]
    bare = replace(mine.system, le=0.0, semi_k=0.0)
    flat = float(solve(bare, mine.box, [1e5]).spl[0])
    assert f"{flat:.1f} dB at 2.83 V" in found.note and "inductance" in found.note
    corner = float(solve(bare, mine.box, [np.mean(ends(found))]).spl[0])
    assert corner == pytest.approx(flat - 3.01, abs=0.4)  # a range, for what is assumed


ROOT = Path(__file__).parents[1]
SAY = (
    "README.md", "boxlab/publish/own_box.py", "boxlab/publish/sheet/__init__.py",
    "boxlab/panel/job_controls.py", "lessons/00-start-here.ipynb",
    "lessons/11-a-box-comes-in.ipynb",
)  # fmt: skip


def test_nothing_says_that_the_sheet_is_one_page_of_paper():
    """`tests/browser/test_job_desk_in_browser.py` prints it and counts."""
    for name in SAY:
        text = (ROOT / name).read_text(encoding="utf-8").casefold()
        assert not re.search(r"one page to print|is one page|the page to print", text), name
    assert "about five pages of A4" in (ROOT / SAY[-1]).read_text(encoding="utf-8")


def test_the_cut_list_says_what_it_keeps_free_and_that_the_front_is_a_blank(job):
    """By hand: a gap of 40 in less twice what is kept free; a face less than the blank by t·tan."""
    mine = job(TWELVE)
    part = part_of(mine, "Board and cut list")
    found = {row.name: row for row in part.rows}
    free = found["kept free on every side of the box"]
    assert free.how == "assumed" and ends(free) == [3.0]
    wide = ends(found["bottom"])[0] + 2 * 18.0 + 2 * ends(free)[0]
    assert wide == pytest.approx(40 * 25.4, abs=0.1)
    lean = float(re.search(r"bevel both ends ([\d.]+)°", found["front"].note)[1])
    less = float(re.search(r"each face is ([\d.]+) mm shorter", found["front"].note)[1])
    assert "blank" in found["front"].note
    assert less == pytest.approx(18 * np.tan(np.radians(lean)), abs=0.06)
    assert re.search(r"\(in inches: .*each face is [\d/]+ in shorter", found["front"].note)


def test_the_picture_claims_no_scale_that_a_screen_does_not_keep(job):
    text = html.unescape(page(job(TWELVE)))
    pictures = [base64.b64decode(each).decode() for each in re.findall(r"base64,([^\"]+)", text)]
    assert "1 : " not in "".join(pictures) and "to scale" in "".join(pictures[:1])
    assert "The radiators are not drawn" in text


def test_the_stack_of_washers_goes_on_one_bolt_and_bolt_and_nut_are_to_be_weighed(job):
    part = part_of(job(TWELVE.replace('"290 g"', '"300 g"')), "Weights on the radiators")
    stack = {row.name: row for row in part.rows}["as a stack of washers"]
    assert stack.metric == "81.0\u00a0mm, of 27 × M16"  # of 3 mm each
    assert stack.inch == "2.28\u00a0in, of 24 × 5/8 in"  # of 0.095 in each
    assert "27 × M16: 81 mm (3.19 in); or 24 × 5/8 in: 58 mm (2.28 in)" in stack.note
    assert "all on one bolt; bolt and nut not counted" in stack.note
    assert any("bolt and its nut" in words and "clear" in words for words in part.words)
    assert any("narrow" in words and "weigh yours" in words for words in part.words)


STACK, MOVING = "as a stack of washers", "the taller stack moving"
INSIDE = "depth inside, front to back, of the box that fills the gap"


@pytest.mark.parametrize(
    ("weights", "depth", "said"),
    [
        ("50 g", "", "are left for the radiator itself behind its board, by the height"),
        ("50 g", "40 mm", "room at any height"),
        ("50 g", "100 mm", "only where"),
        ("300 g", "140 mm", "no room"),
        ("2.0 kg", "", "no room"),
    ],
)
def test_a_stack_of_washers_is_held_against_the_depth_inside(weights, depth, said, job):
    """By hand: 8 in and 5 in deep outside, less slack and board, as far as the slope lets them."""
    front, _, radiator = TWELVE.partition("[radiator]")
    depth = f'depth = "{depth}"\n' if depth else ""
    radiator = radiator.replace('depth = "140 mm"\n', depth)
    mine = job(f"{front}[radiator]{radiator}".replace('"290 g"', f'"{weights}"'))
    part = part_of(mine, "Weights on the radiators")
    rows = {row.name: row for row in part.rows}
    narrow, wide = ends(rows[INSIDE])
    across = np.cos(np.arctan(3 / 16))  # of the sloping face
    lost = 3 + 18 + (3 + 18) / across
    assert wide == pytest.approx(203.2 - lost, abs=6) and narrow == pytest.approx(127 - lost, abs=6)
    tall = max(float(each) for each in re.findall(r"(\d+) mm", rows[STACK].note))
    needs = ends(rows[MOVING])[0]
    assert needs == pytest.approx(tall + 18 + 5, abs=1)  # travel, and to spare: nothing taken off
    words = next(each for each in part.words if "On the front or the back" in each)
    assert said in words
    if depth:
        own = float(re.search(r"[\d.]+", depth)[0]) - 18  # the flange lies outside its board
        assert ends(rows["the radiator itself, behind the inside of its board"])[0] == own
        assert f"together are {needs + own:.0f} mm" in words
        assert ("at any height" in words) == (needs + own <= narrow)
    else:
        assert "write depth under [radiator]" in words and "at any height" not in words


def test_table_sentence_and_caption_say_one_range_where_rails_are_unsaid(job):
    """Seen red: "2.0 to 3.7 dB" in the table, "2.0 dB" in words and the full watts in a caption."""
    strong = TWELVE.replace('"300 W"', '"600 W"').replace('ohm" = "500', 'ohm" = "960')
    mine = job(strong + SUPPLY)
    part = part_of(mine, "What stops it first")
    rows = {row.name: row for row in part.rows}
    below = rows["what stops the volume first, below full power"]
    said = re.search(r"and ([\d.]+ to [\d.]+) dB below full power", part.words[0])[1]
    assert [float(each) for each in said.split(" to ")] == pytest.approx(ends(below), abs=0.06)
    assert ends(below)[1] > ends(below)[0] + 0.2
    left = [f"{each:.0f} W" for each in ends(rows[LEAVES])]
    caption = re.search(r"First, level at 1 m with ([^.]*)\.", html.unescape(page(mine)))[1]
    assert all(each in caption for each in left) and "rails that are held" in caption
    assert "600 W into 4 Ω as rated" in caption
